"""Text marks measured with the shipped fonts."""

from typing import Literal

from core.pages.marks import TextMark
from core.text import shorten, text_width_mm, wrap

Font = Literal["label", "label_medium", "label_bold", "text", "text_medium", "text_bold"]
Anchor = Literal["left", "middle", "right"]

#: Names of marks' fonts to keys of `core.text.FONTS`.
CUTS: dict[str, str] = {
    "label": "drawing",
    "label_medium": "drawing-medium",
    "label_bold": "drawing-semibold",
    "text": "text",
    "text_medium": "text-medium",
    "text_bold": "text-bold",
}


def width_mm(text: str, font: Font, size_mm: float) -> float:
    return text_width_mm(text, CUTS[font], size_mm)


def lines(text: str, font: Font, size_mm: float, width: float) -> tuple[str, ...]:
    """The text broken into lines no wider than `width` mm."""
    return wrap(text, CUTS[font], size_mm, width)


def fitted(text: str, font: Font, size_mm: float, width: float) -> str:
    """The text, cut with an ellipsis where it is wider than `width` mm."""
    return shorten(text, CUTS[font], size_mm, width)


def text_mark(
    x: float,
    y: float,
    text: str,
    size_mm: float,
    *,
    font: Font = "label",
    style: str = "text",
    anchor: Anchor = "left",
) -> TextMark:
    """A line of text on its base line at (x, y)."""
    return TextMark(style=style, at_mm=(x, y), text=text, size_mm=size_mm, anchor=anchor, font=font)
