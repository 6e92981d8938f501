"""How far marks reach, and how far a point is from them. Millimetres of the sheet."""

from collections.abc import Iterable, Sequence
from math import cos, hypot, inf, radians, sin

from core.geometry.plane import crossings, nearest_on
from core.geometry.polygon import point_in
from core.model import Point
from core.pages.marks import AnyMark, AreaMark, CircleMark, ImageMark, LineMark, PathMark, TextMark
from core.pages.sheet_text import corners

#: Closed lines whose inside belongs to the thing.
FILLED_LINES = frozenset({"zone", "box:above"})

Rect = tuple[float, float, float, float]


def extent(marks: Iterable[AnyMark]) -> Rect | None:
    """Left, low, right, high of all marks, true widths included, pens that keep their pixels not; None for no marks."""
    left = low = inf
    right = high = -inf
    for mark in marks:
        points, out = _points(mark)
        for x, y in points:
            left, low, right, high = min(left, x - out), min(low, y - out), max(right, x + out), max(high, y + out)
    return None if left == inf else (left, low, right, high)


def _points(mark: AnyMark) -> tuple[Sequence[Point], float]:
    match mark:
        case LineMark() | PathMark():
            return mark.points_mm, (mark.width_mm or 0.0) / 2
        case AreaMark():
            return mark.outline_mm, 0.0
        case CircleMark():
            return (mark.centre_mm,), mark.radius_mm
        case TextMark():
            return corners(mark), mark.size_mm * 0.1
        case ImageMark():
            return picture_corners(mark), 0.0


def distance(marks: Iterable[AnyMark], p: Point) -> float:
    """From a point to the nearest mark; 0 on or inside it."""
    return min((_distance(mark, p) for mark in marks), default=inf)


def _distance(mark: AnyMark, p: Point) -> float:
    match mark:
        case LineMark(closed=True):
            if mark.style in FILLED_LINES and point_in(mark.points_mm, p):
                return 0.0
            return nearest_on((*mark.points_mm, mark.points_mm[0]), p).distance_mm
        case LineMark() | PathMark():
            return max(0.0, nearest_on(mark.points_mm, p).distance_mm - (mark.width_mm or 0.0) / 2)
        case AreaMark():
            if point_in(mark.outline_mm, p) and not any(point_in(hole, p) for hole in mark.holes_mm):
                return 0.0
            return nearest_on((*mark.outline_mm, mark.outline_mm[0]), p).distance_mm
        case CircleMark():
            return max(0.0, hypot(p[0] - mark.centre_mm[0], p[1] - mark.centre_mm[1]) - mark.radius_mm)
        case TextMark():
            box = corners(mark)
            return 0.0 if point_in(box, p) else nearest_on((*box, box[0]), p).distance_mm
        case ImageMark():
            outline = picture_corners(mark)
            return 0.0 if point_in(outline, p) else nearest_on((*outline, outline[0]), p).distance_mm


def all_within(marks: Iterable[AnyMark], outline: Sequence[Point]) -> bool:
    """True where every point of every mark lies inside an outline, and no line of a mark leaves it in between."""
    edge = (*outline, outline[0])
    for mark in marks:
        points, out = _points(mark)
        if not all(point_in(outline, p) for p in points):
            return False
        if out and any(nearest_on(edge, p).distance_mm < out for p in points):
            return False
        if len(points) > 1 and crossings(tuple(points), edge):
            return False
    return True


def picture_corners(mark: ImageMark) -> tuple[Point, ...]:
    """Counter-clockwise from the lower left one, about which it is turned."""
    c, s = cos(radians(mark.turn_deg)), sin(radians(mark.turn_deg))
    (x, y), w, h = mark.at_mm, mark.width_mm, mark.height_mm
    return tuple((x + c * a - s * b, y + s * a + c * b) for a, b in ((0, 0), (w, 0), (w, h), (0, h)))


def meets(marks: Iterable[AnyMark], area: Rect) -> bool:
    """True where a mark and a rectangle (left, low, right, high) share a point."""
    left, low, right, high = area
    edge = ((left, low), (right, low), (right, high), (left, high), (left, low))
    middle = ((left + right) / 2, (low + high) / 2)
    for mark in marks:
        if isinstance(mark, CircleMark):
            x, y = mark.centre_mm
            if hypot(x - min(max(x, left), right), y - min(max(y, low), high)) <= mark.radius_mm:
                return True
            continue
        points, _ = _points(mark)
        line = (
            (*points, points[0]) if isinstance(mark, AreaMark | ImageMark) or getattr(mark, "closed", False) else points
        )
        if any(left <= x <= right and low <= y <= high for x, y in points) or crossings(line, edge):
            return True
        if isinstance(mark, AreaMark) and point_in(mark.outline_mm, middle):
            return True
    return False
