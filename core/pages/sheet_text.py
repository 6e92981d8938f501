"""The room that text takes on the sheet."""

from math import cos, radians, sin

from core.pages.lettering import CUTS, Font, width_mm
from core.pages.marks import TextMark
from core.pages.sheet_placement import Quad
from core.text import cap_height_mm


def cap_mm(font: Font, size_mm: float) -> float:
    """Height of a capital in a font of the marks."""
    return cap_height_mm(CUTS[font], size_mm)


def corners(mark: TextMark) -> Quad:
    """The four corners of a text's room, capitals and descenders, counter-clockwise from the lower left, turned."""
    wide, cap = width_mm(mark.text, mark.font, mark.size_mm), cap_mm(mark.font, mark.size_mm)
    left = -{"left": 0.0, "middle": wide / 2, "right": wide}[mark.anchor]
    base = -{"base": 0.0, "middle": cap / 2, "top": cap}[mark.baseline]
    low, high = base - 0.25 * mark.size_mm, base + cap
    c, s = cos(radians(mark.turn_deg)), sin(radians(mark.turn_deg))
    x0, y0 = mark.at_mm
    at = ((left, low), (left + wide, low), (left + wide, high), (left, high))
    a, b, d, e = ((x0 + x * c - y * s, y0 + x * s + y * c) for x, y in at)
    return (a, b, d, e)
