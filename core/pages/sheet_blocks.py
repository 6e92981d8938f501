"""Blocks of text on the sheet: lines below each other, and the room they take."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from core.model import Point
from core.pages.lettering import Font
from core.pages.marks import TextMark
from core.pages.sheet_placement import Quad, bounds, upright
from core.pages.sheet_text import corners

Anchor = Literal["left", "middle", "right"]


@dataclass(frozen=True)
class Line:
    """One line of a label."""

    text: str
    size_mm: float
    font: Font
    style: str = "text"


def block_marks(subject: str, at: Point, lines: Sequence[Line], anchor: Anchor) -> tuple[TextMark, ...]:
    """Lines below each other; `at` is on the base line of the first."""
    marks = []
    y = at[1]
    for number, line in enumerate(lines):
        if number:
            y -= line.size_mm * 1.32
        marks.append(
            TextMark(
                style=line.style,
                subject=subject,
                at_mm=(at[0], y),
                text=line.text,
                size_mm=line.size_mm,
                anchor=anchor,
                font=line.font,
            )
        )
    return tuple(marks)


def block_quad(at: Point, lines: Sequence[Line], anchor: Anchor) -> Quad:
    """The room a block takes."""
    points = [corner for mark in block_marks("", at, lines, anchor) for corner in corners(mark)]
    return upright(*bounds(points))
