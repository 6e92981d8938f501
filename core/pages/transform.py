"""Marks moved and scaled: from the sheet to paper."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import cos, radians, sin

import msgspec

from core.model import Point
from core.pages.lettering import CUTS
from core.pages.marks import AnyMark, AreaMark, CircleMark, ImageMark, LineMark, PathMark, TextMark
from core.text import cap_height_mm, text_width_mm


@dataclass(frozen=True)
class Rect:
    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.top - self.bottom


def moved(marks: Iterable[AnyMark], scale: float, dx_mm: float, dy_mm: float) -> tuple[AnyMark, ...]:
    """Every length times `scale`, then moved. Line weights that the style gives stay as they are on paper."""

    def at(point: Point) -> Point:
        return point[0] * scale + dx_mm, point[1] * scale + dy_mm

    def width(mark: LineMark | PathMark) -> float | None:
        return None if mark.width_mm is None else mark.width_mm * scale

    result: list[AnyMark] = []
    for mark in marks:
        match mark:
            case LineMark():
                points = tuple(map(at, mark.points_mm))
                result.append(msgspec.structs.replace(mark, points_mm=points, width_mm=width(mark)))
            case PathMark():
                points = tuple(map(at, mark.points_mm))
                radius = mark.radius_mm * scale
                result.append(msgspec.structs.replace(mark, points_mm=points, radius_mm=radius, width_mm=width(mark)))
            case AreaMark():
                outline = tuple(map(at, mark.outline_mm))
                holes = tuple(tuple(map(at, hole)) for hole in mark.holes_mm)
                radius = mark.radius_mm * scale
                result.append(msgspec.structs.replace(mark, outline_mm=outline, holes_mm=holes, radius_mm=radius))
            case CircleMark():
                radius = mark.radius_mm * scale
                result.append(msgspec.structs.replace(mark, centre_mm=at(mark.centre_mm), radius_mm=radius))
            case TextMark():
                size = mark.size_mm * scale
                result.append(msgspec.structs.replace(mark, at_mm=at(mark.at_mm), size_mm=size))
            case ImageMark():
                wide, high = mark.width_mm * scale, mark.height_mm * scale
                at_mm = at(mark.at_mm)
                result.append(msgspec.structs.replace(mark, at_mm=at_mm, width_mm=wide, height_mm=high))
    return tuple(result)


def bounds(marks: Iterable[AnyMark]) -> Rect | None:
    """The smallest upright rectangle round all marks, texts measured, line widths that are drawn to scale included."""
    left = bottom = float("inf")
    right = top = float("-inf")
    for mark in marks:
        for x, y in corners(mark):
            left, right, bottom, top = min(left, x), max(right, x), min(bottom, y), max(top, y)
    return None if left > right else Rect(left, bottom, right, top)


def corners(mark: AnyMark) -> tuple[Point, ...]:
    """Points whose rectangle holds the mark."""
    match mark:
        case LineMark() | PathMark():
            half = (mark.width_mm or 0.0) / 2
            if not half:
                return mark.points_mm
            return tuple(p for x, y in mark.points_mm for p in ((x - half, y - half), (x + half, y + half)))
        case AreaMark():
            return mark.outline_mm
        case CircleMark():
            (x, y), r = mark.centre_mm, mark.radius_mm
            return ((x - r, y - r), (x + r, y + r))
        case TextMark():
            width = text_width_mm(mark.text, CUTS[mark.font], mark.size_mm)
            cap = cap_height_mm(CUTS[mark.font], mark.size_mm)
            x = {"left": 0.0, "middle": -width / 2, "right": -width}[mark.anchor]
            y = {"base": 0.0, "middle": -cap / 2, "top": -cap}[mark.baseline]
            return _turned(mark.at_mm, x, y - cap * 0.3, x + width, y + cap, mark.turn_deg)
        case ImageMark():
            return _turned(mark.at_mm, 0.0, 0.0, mark.width_mm, mark.height_mm, mark.turn_deg)


def _turned(at: Point, x0: float, y0: float, x1: float, y1: float, turn_deg: float) -> tuple[Point, ...]:
    c, s = cos(radians(turn_deg)), sin(radians(turn_deg))
    return tuple((at[0] + c * x - s * y, at[1] + s * x + c * y) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1)))
