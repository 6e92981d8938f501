"""How wide a text is in the shipped fonts, where it breaks into lines, and how numbers are written on paper.

Widths are the sums of the letters' advances, without kerning: who draws a text that was measured here turns kerning
off. The table `resources/fonts/advances.json` is generated from the shipped fonts.
"""

from __future__ import annotations

import json
import unicodedata
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Literal, TypedDict

from core.resources import resource

TEXT_FAMILY = "Loomwright Text"
DRAWING_FAMILY = "Loomwright Drawing"


@dataclass(frozen=True, slots=True)
class Cut:
    """One font file: family and style as Qt and SVG name them, weight on the scale of CSS and OpenType."""

    file: str
    family: str
    style: Literal["Regular", "Medium", "SemiBold", "Bold", "Italic"]
    weight: int

    @property
    def is_italic(self) -> bool:
        return self.style == "Italic"


FONTS = {
    "text": Cut("LoomwrightText-Regular.ttf", TEXT_FAMILY, "Regular", 400),
    "text-medium": Cut("LoomwrightText-Medium.ttf", TEXT_FAMILY, "Medium", 500),
    "text-semibold": Cut("LoomwrightText-SemiBold.ttf", TEXT_FAMILY, "SemiBold", 600),
    "text-bold": Cut("LoomwrightText-Bold.ttf", TEXT_FAMILY, "Bold", 700),
    "text-italic": Cut("LoomwrightText-Italic.ttf", TEXT_FAMILY, "Italic", 400),
    "drawing": Cut("LoomwrightDrawing-Regular.ttf", DRAWING_FAMILY, "Regular", 400),
    "drawing-medium": Cut("LoomwrightDrawing-Medium.ttf", DRAWING_FAMILY, "Medium", 500),
    "drawing-semibold": Cut("LoomwrightDrawing-SemiBold.ttf", DRAWING_FAMILY, "SemiBold", 600),
}
# A letter that the drawing font lacks (Greek, Cyrillic) is taken from the text font of about the same weight.
STAND_INS = {"drawing": "text", "drawing-medium": "text-medium", "drawing-semibold": "text-semibold"}

# Sign that none of our fonts has, so that the machine chooses the font: an estimate, in parts of the em.
UNKNOWN_ADVANCE_EM = 0.6
MINUS = "\N{MINUS SIGN}"
NARROW_SPACE = "\N{NARROW NO-BREAK SPACE}"


class Measures(TypedDict):
    """One cut in `advances.json`, lengths in units of its em; `advances` maps a width to all letters that have it."""

    units_per_em: int
    ascent: int
    descent: int
    cap_height: int
    x_height: int
    advances: dict[str, str]


@cache
def _all_measures() -> dict[str, Measures]:
    table: dict[str, Measures] = json.loads(resource("fonts/advances.json").read_text(encoding="utf-8"))
    return table


@cache
def _advances_em(font: str) -> dict[str, float]:
    """Letter to advance in parts of the em, stand-ins included."""
    if font not in FONTS:
        raise KeyError(f"no font {font!r}; there are {', '.join(FONTS)}")
    measures = _all_measures()[font]
    own = {
        letter: int(width) / measures["units_per_em"]
        for width, letters in measures["advances"].items()
        for letter in letters
    }
    return (_advances_em(STAND_INS[font]) | own) if font in STAND_INS else own


def ascent_mm(font: str, size_mm: float) -> float:
    """From the base line up to the top of the line."""
    return size_mm * _all_measures()[font]["ascent"] / _all_measures()[font]["units_per_em"]


def descent_mm(font: str, size_mm: float) -> float:
    """From the base line down to the bottom of the line, positive."""
    return size_mm * _all_measures()[font]["descent"] / _all_measures()[font]["units_per_em"]


def cap_height_mm(font: str, size_mm: float) -> float:
    """Height of a capital letter; digits are as high."""
    return size_mm * _all_measures()[font]["cap_height"] / _all_measures()[font]["units_per_em"]


def x_height_mm(font: str, size_mm: float) -> float:
    """Height of a small x."""
    return size_mm * _all_measures()[font]["x_height"] / _all_measures()[font]["units_per_em"]


@lru_cache(maxsize=8192)
def _width_em(text: str, font: str) -> float:
    advances = _advances_em(font)
    total = 0.0
    for letter in text:
        advance = advances.get(letter)
        total += _unknown_advance_em(letter) if advance is None else advance
    return total


def _unknown_advance_em(letter: str) -> float:
    if unicodedata.category(letter) in ("Mn", "Me", "Cf", "Cc"):
        return 0.0
    return 1.0 if unicodedata.east_asian_width(letter) in ("W", "F") else UNKNOWN_ADVANCE_EM


def text_width_mm(text: str, font: str, size_mm: float) -> float:
    """Width of one line of text, in mm, set without kerning.

    `font` is a key of FONTS (KeyError otherwise), `size_mm` the size of the em. Exact for every sign that the shipped
    fonts have; an estimate for others. Line ends have no width: break the text first.
    """
    return _width_em(text, font) * size_mm


def wrap(text: str, font: str, size_mm: float, width_mm: float) -> tuple[str, ...]:
    """The text in lines no wider than `width_mm`, broken at blanks; a word that is wider is broken where it must be.

    Line ends in the text stay; several blanks count as one where a line breaks. At least one letter goes on each line,
    so the result ends even where nothing fits. An empty text gives one empty line.
    """
    lines: list[str] = []
    for paragraph in text.splitlines() or [""]:
        line = ""
        for word in paragraph.split(" "):
            longer = f"{line} {word}" if line else word
            if text_width_mm(longer, font, size_mm) <= width_mm:
                line = longer
                continue
            if line:
                lines.append(line)
            *whole, line = _broken(word, font, size_mm, width_mm)
            lines += whole
        lines.append(line)
    return tuple(lines)


def _broken(word: str, font: str, size_mm: float, width_mm: float) -> list[str]:
    """One word in pieces that fit."""
    pieces = [""]
    for letter in word:
        if pieces[-1] and text_width_mm(pieces[-1] + letter, font, size_mm) > width_mm:
            pieces.append("")
        pieces[-1] += letter
    return pieces


def shorten(text: str, font: str, size_mm: float, width_mm: float) -> str:
    """The text, or its beginning with an ellipsis, no wider than `width_mm`; empty where not even that fits."""
    if text_width_mm(text, font, size_mm) <= width_mm:
        return text
    for count in range(len(text) - 1, -1, -1):
        short = text[:count].rstrip() + "…"
        if text_width_mm(short, font, size_mm) <= width_mm:
            return short
    return ""


def number(value: float, decimals: int = 0) -> str:
    """A number for people: thousands set apart by a narrow space, a real minus, no minus before nothing.

    `3700` -> `3 700`; four digits are grouped too, as in the tables beside them. Not for files that programs read.
    Raises ValueError for what is not finite.
    """
    if value != value or value in (float("inf"), float("-inf")):
        raise ValueError(f"cannot write {value} as a number")
    written = f"{abs(value):,.{decimals}f}".replace(",", NARROW_SPACE)
    is_nothing = not any(digit in "123456789" for digit in written)
    return written if value >= 0 or is_nothing else MINUS + written


def trimmed(value: float, decimals: int) -> str:
    """Like `number`, without zeros at the end of the decimals: `2.50` -> `2.5`, `4.00` -> `4`."""
    written = number(value, decimals)
    return written.rstrip("0").rstrip(".") if "." in written else written


def mm(value_mm: float) -> str:
    """A measure on a drawing: whole millimetres without unit, `3 700`, as is usual on drawings (ISO 129-1)."""
    return number(value_mm)


def metres(value_mm: float, decimals: int = 2) -> str:
    """A length in metres for a table, from millimetres: `3 700` mm -> `3.70`."""
    return number(value_mm / 1000.0, decimals)


def counted(count: int, one: str, many: str = "") -> str:
    """`1 circuit`, `2 circuits`; `many` where an s is not enough."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def sentence(words: str) -> str:
    """Words as a sentence: a capital first, a stop at the end; nothing stays nothing."""
    words = words.strip()
    return words[:1].upper() + words[1:] + ("" if words.endswith((".", "!", "?")) else ".") if words else ""
