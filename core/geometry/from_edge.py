"""Places told by distances from edges: "300 from the door edge, 850 up from the floor". Millimetres in the plane."""

from collections.abc import Sequence

from core.geometry.plane import SAME_MM, Point, Segment, distance_mm, nearest_on, side_of

#: Edges that turn from each other by less than this (sine of the angle) tell no place.
PARALLEL = 0.01


def distance_from(line: Segment, p: Point) -> float:
    """Distance of a point from the straight line of an edge, positive on its left. The edge has a length."""
    return side_of(line, p) / distance_mm(*line)


def at_distances(first: tuple[Segment, float], second: tuple[Segment, float], near: Point) -> Point | None:
    """The point at a distance from each of two edges, on the sides of `near`; None where they are parallel."""
    (a, a_mm), (b, b_mm) = first, second
    ends = [_parallel(a, a_mm, near), _parallel(b, b_mm, near)]
    (px, py), (qx, qy) = ends[0]
    (rx, ry), (sx, sy) = ends[1]
    dx, dy, ex, ey = qx - px, qy - py, sx - rx, sy - ry
    turn = dx * ey - dy * ex
    if abs(turn) < PARALLEL * distance_mm(*ends[0]) * distance_mm(*ends[1]):
        return None
    t = ((rx - px) * ey - (ry - py) * ex) / turn
    return px + dx * t, py + dy * t


def at_distance(edge: Segment, away_mm: float, near: Point) -> Point:
    """`near` brought to a distance from one edge, square to it, staying on its side."""
    now = distance_from(edge, near)
    (ax, ay), (bx, by) = edge
    size = distance_mm(*edge)
    more = (away_mm if now >= 0 else -away_mm) - now
    return near[0] - (by - ay) / size * more, near[1] + (bx - ax) / size * more


def shift_to_distance(edge: Segment, away_mm: float, shape: Sequence[Point]) -> Point:
    """By how much a shape must be moved, square to the edge, so that its nearest point lies at that distance.

    It stays on the side of the edge on which most of it lies.
    """
    values = [distance_from(edge, p) for p in shape]
    sign = 1.0 if max(values) >= -min(values) else -1.0
    nearest = min(value * sign for value in values)
    (ax, ay), (bx, by) = edge
    size = distance_mm(*edge)
    more = (away_mm - nearest) * sign
    return -(by - ay) / size * more, (bx - ax) / size * more


def along_edge(edge: Segment, from_start_mm: float, away_mm: float, near: Point) -> Point:
    """The point so far along an edge and so far off it, on the side of `near`."""
    (ax, ay), (bx, by) = edge
    size = distance_mm(*edge)
    ux, uy = (bx - ax) / size, (by - ay) / size
    sign = 1.0 if distance_from(edge, near) >= 0 else -1.0
    return ax + ux * from_start_mm - uy * away_mm * sign, ay + uy * from_start_mm + ux * away_mm * sign


def _parallel(edge: Segment, away_mm: float, near: Point) -> Segment:
    (ax, ay), (bx, by) = edge
    size = distance_mm(*edge)
    away = away_mm if distance_from(edge, near) >= 0 else -away_mm
    nx, ny = -(by - ay) / size * away, (bx - ax) / size * away
    return (ax + nx, ay + ny), (bx + nx, by + ny)


def nearest_edge(edges: Sequence[Segment], p: Point, within_mm: float) -> Segment | None:
    """The edge nearest to a point, within reach; edges without a length are passed over."""
    best: tuple[float, Segment] | None = None
    for edge in edges:
        if distance_mm(*edge) > SAME_MM:
            away = nearest_on(edge, p).distance_mm
            if away <= within_mm and (best is None or away < best[0]):
                best = (away, edge)
    return None if best is None else best[1]
