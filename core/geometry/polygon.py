"""Areas: outlines as corner tuples without the first one repeated, counter-clockwise where that matters."""

from collections.abc import Sequence
from dataclasses import dataclass

from core.geometry.plane import (
    SAME_MM,
    Point,
    Polyline,
    Segment,
    along_mm,
    between,
    crossings,
    distance_mm,
    nearest_on,
    side_of,
)


def signed_area_mm2(outline: Sequence[Point]) -> float:
    """Area by the shoelace formula, positive where the corners run counter-clockwise."""
    if len(outline) < 3:
        return 0.0
    # About the first corner: an outline far from the origin loses no digits.
    ox, oy = outline[0]
    twice = 0.0
    for (px, py), (qx, qy) in sides(outline):
        twice += (px - ox) * (qy - oy) - (qx - ox) * (py - oy)
    return twice / 2.0


def sides(outline: Sequence[Point]) -> list[Segment]:
    """The edges in order, the closing one last."""
    return list(zip(outline, (*outline[1:], outline[0]), strict=True)) if outline else []


def ring(outline: Sequence[Point]) -> Polyline:
    """The outline as a closed polyline."""
    return (*outline, outline[0]) if outline else ()


def is_simple(outline: Sequence[Point]) -> bool:
    """True where the outline has at least three corners, an area, and no two edges that meet but at their corner."""
    count = len(outline)
    if count < 3 or abs(signed_area_mm2(outline)) < SAME_MM:
        return False
    edges = sides(outline)
    if any(distance_mm(p, q) < SAME_MM for p, q in edges):
        return False
    for i in range(count):
        for j in range(i + 1, count):
            meetings = crossings(edges[i], edges[j])
            neighbours = j == i + 1 or (i == 0 and j == count - 1)
            if not neighbours:
                if meetings:
                    return False
            elif len(meetings) > 1:  # folded back on itself; a triangle's edges are neighbours on both sides
                return False
    return True


def point_in(outline: Sequence[Point], p: Point, edge_mm: float = SAME_MM) -> bool:
    """True inside the outline and within `edge_mm` of its edge."""
    return on_boundary(outline, p, edge_mm) or _winds(outline, p)


def on_boundary(outline: Sequence[Point], p: Point, within_mm: float = SAME_MM) -> bool:
    return bool(outline) and nearest_on(ring(outline), p).distance_mm <= within_mm


def _winds(outline: Sequence[Point], p: Point) -> bool:
    """Even-odd rule by a ray to the right."""
    odd = False
    x, y = p
    for (ax, ay), (bx, by) in sides(outline):
        if (ay > y) != (by > y) and x < ax + (y - ay) * (bx - ax) / (by - ay):
            odd = not odd
    return odd


def inside(outline: Sequence[Point], holes: Sequence[Sequence[Point]], p: Point) -> bool:
    """True on the material: inside the outline, in no hole. All edges count as in."""
    return point_in(outline, p) and not any(_winds(hole, p) and not on_boundary(hole, p) for hole in holes)


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of a polyline: from, to along it, and its points."""

    from_mm: float
    to_mm: float
    points: Polyline


def clip(line: Sequence[Point], outline: Sequence[Point], holes: Sequence[Sequence[Point]] = ()) -> tuple[Stretch, ...]:
    """The stretches of the polyline that lie inside the outline and in no hole, in order. Edges count as in."""
    marks = set(along_mm(line))
    for edge in (outline, *holes):
        marks.update(crossing.a_mm for crossing in crossings(line, ring(edge)))
    result: list[Stretch] = []
    points = _points_at(line, sorted(marks))
    open_from: int | None = None
    for index in range(len(points) - 1):
        middle = between(points[index][1], points[index + 1][1], 0.5)
        within = inside(outline, holes, middle)
        if within and open_from is None:
            open_from = index
        elif not within and open_from is not None:
            result.append(_stretch(points[open_from : index + 1]))
            open_from = None
    if open_from is not None:
        result.append(_stretch(points[open_from:]))
    return tuple(stretch for stretch in result if stretch.to_mm - stretch.from_mm > SAME_MM)


def _points_at(line: Sequence[Point], marks: Sequence[float]) -> list[tuple[float, Point]]:
    """(distance, point) at every mark; marks that fall together with the one before are dropped."""
    lengths = along_mm(line)
    result: list[tuple[float, Point]] = []
    index = 0
    for at in marks:
        if result and at - result[-1][0] < SAME_MM:
            continue
        while index < len(line) - 2 and lengths[index + 1] < at:
            index += 1
        size = lengths[index + 1] - lengths[index] if len(line) > 1 else 0.0
        t = (at - lengths[index]) / size if size > 0.0 else 0.0
        result.append((at, between(line[index], line[min(index + 1, len(line) - 1)], min(max(t, 0.0), 1.0))))
    return result


def _stretch(points: Sequence[tuple[float, Point]]) -> Stretch:
    """Marks on one straight line are melted into one segment."""
    kept = [points[0][1]]
    for (_, before), (_, here), (_, after) in zip(points, points[1:], points[2:], strict=False):
        off = abs(side_of((before, after), here))
        if off > SAME_MM * distance_mm(before, after) or _turns_back(before, here, after):
            kept.append(here)
    kept.append(points[-1][1])
    return Stretch(points[0][0], points[-1][0], tuple(kept))


def _turns_back(before: Point, here: Point, after: Point) -> bool:
    return (here[0] - before[0]) * (after[0] - here[0]) + (here[1] - before[1]) * (after[1] - here[1]) < 0


def segment_inside(outline: Sequence[Point], holes: Sequence[Sequence[Point]], p: Point, q: Point) -> bool:
    """True where the whole straight line from p to q lies on the material, edges included."""
    size = distance_mm(p, q)
    if size <= SAME_MM:
        return inside(outline, holes, p)
    found = clip((p, q), outline, holes)
    return len(found) == 1 and found[0].to_mm - found[0].from_mm > size - 4 * SAME_MM


def centre(outline: Sequence[Point]) -> Point:
    """A point well inside: the centroid, or where that lies outside (an L), the middle of the widest level stretch."""
    area = signed_area_mm2(outline)
    if abs(area) < SAME_MM:
        count = max(len(outline), 1)
        return sum(p[0] for p in outline) / count, sum(p[1] for p in outline) / count
    ox, oy = outline[0]
    x = y = 0.0
    for (px, py), (qx, qy) in sides([(px - ox, py - oy) for px, py in outline]):
        cross = px * qy - qx * py
        x += (px + qx) * cross
        y += (py + qy) * cross
    middle = (ox + x / (6 * area), oy + y / (6 * area))
    if point_in(outline, middle):
        return middle
    left, right = min(p[0] for p in outline) - 1.0, max(p[0] for p in outline) + 1.0
    widest = max(
        (stretch for level in _levels(outline) for stretch in clip(((left, level), (right, level)), outline)),
        key=lambda stretch: stretch.to_mm - stretch.from_mm,
        default=None,
    )
    return middle if widest is None else between(widest.points[0], widest.points[-1], 0.5)


def _levels(outline: Sequence[Point]) -> list[float]:
    heights = sorted({p[1] for p in outline})
    return [(low + high) / 2 for low, high in zip(heights, heights[1:], strict=False)]
