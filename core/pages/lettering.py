"""Which shipped cut a mark's font is, and how much room a text mark takes."""

from math import cos, radians, sin
from typing import Literal

from core.model import Point
from core.pages.marks import TextMark
from core.text import cap_height_mm, text_width_mm

MarkFont = Literal["label", "label_medium", "label_bold", "text", "text_medium", "text_bold"]

#: Font names of marks to the keys of `core.text.FONTS`.
CUTS: dict[str, str] = {
    "label": "drawing",
    "label_medium": "drawing-medium",
    "label_bold": "drawing-semibold",
    "text": "text",
    "text_medium": "text-medium",
    "text_bold": "text-semibold",
}


def width_mm(text: str, font: str, size_mm: float) -> float:
    """Width of one line of text in a font of the marks."""
    return text_width_mm(text, CUTS[font], size_mm)


def cap_mm(font: str, size_mm: float) -> float:
    """Height of a capital in a font of the marks."""
    return cap_height_mm(CUTS[font], size_mm)


def corners(mark: TextMark) -> tuple[Point, Point, Point, Point]:
    """The four corners of a text's room, capitals and descenders, counter-clockwise from the lower left, turned."""
    wide, cap = width_mm(mark.text, mark.font, mark.size_mm), cap_mm(mark.font, mark.size_mm)
    left = -{"left": 0.0, "middle": wide / 2, "right": wide}[mark.anchor]
    base = -{"base": 0.0, "middle": cap / 2, "top": cap}[mark.baseline]
    low, high = base - 0.25 * mark.size_mm, base + cap
    c, s = cos(radians(mark.turn_deg)), sin(radians(mark.turn_deg))
    x0, y0 = mark.at_mm

    def turned(x: float, y: float) -> Point:
        return (x0 + x * c - y * s, y0 + x * s + y * c)

    return turned(left, low), turned(left + wide, low), turned(left + wide, high), turned(left, high)
