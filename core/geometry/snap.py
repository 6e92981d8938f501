"""What the pointer means: the end, crossing or edge near it, said in a word. Pure; the caller gives what is near.

Points come before lines and lines before the grid, so that a corner wins over the edges that make it however near
the edges are. Among points the nearest wins.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

from core.geometry.plane import SAME_MM, Point, Segment, between, crossings, distance_mm, nearest_on

END, CROSSING, MIDDLE, PERPENDICULAR = "end", "crossing", "middle", "perpendicular"
EDGE, ALIGNED, GRID = "edge", "aligned", "grid"
#: All words, the one that wins at equal distance first.
WORDS = (END, CROSSING, MIDDLE, PERPENDICULAR, EDGE, ALIGNED, GRID)
#: An alignment line reaches this far; longer than any vehicle.
FAR_MM = 100_000.0


@dataclass(frozen=True, slots=True)
class Targets:
    """What may be snapped to, in the same millimetres as the pointer.

    `points` are ends without a line (nodes, device corners). `from_point` is the last point drawn: it gives feet of
    perpendiculars. `aligned_to` are points above, below or beside which the new one may lie; `grid_mm` None is no
    grid. Keep `segments` to what is near the pointer: every pair of them is looked at for a crossing.
    """

    points: tuple[Point, ...] = ()
    segments: tuple[Segment, ...] = ()
    grid_mm: float | None = None
    from_point: Point | None = None
    aligned_to: tuple[Point, ...] = ()


@dataclass(frozen=True, slots=True)
class Snap:
    """The point meant, what it is, and how far the pointer is from it."""

    point: Point
    word: str
    distance_mm: float


def snap(p: Point, targets: Targets, radius_mm: float) -> Snap | None:
    """The best target within `radius_mm` of p, or None; the caller makes the radius from a distance on the screen."""
    near = tuple(segment for segment in targets.segments if nearest_on(segment, p).distance_mm <= radius_mm)
    for tier in (_points(targets, near), _lines(p, targets, near, radius_mm), _grid(p, targets)):
        found = [Snap(point, word, distance_mm(p, point)) for point, word in tier]
        found = [one for one in found if one.distance_mm <= radius_mm]
        if found:
            # A hair's difference does not decide: the word does.
            return min(found, key=lambda one: (round(one.distance_mm, 6), WORDS.index(one.word)))
    return None


def _points(targets: Targets, near: tuple[Segment, ...]) -> Iterator[tuple[Point, str]]:
    for point in targets.points:
        yield point, END
    for segment in near:
        yield segment[0], END
        yield segment[1], END
        yield between(*segment, 0.5), MIDDLE
        if targets.from_point is not None:
            foot = nearest_on(segment, targets.from_point)
            inner = SAME_MM < foot.along_mm < distance_mm(*segment) - SAME_MM
            if inner and foot.distance_mm > SAME_MM:
                yield foot.point, PERPENDICULAR
    for a, b in combinations(near, 2):
        for crossing in crossings(a, b):
            if crossing.angle_deg > 0.0:
                yield crossing.point, CROSSING


def _lines(p: Point, targets: Targets, near: tuple[Segment, ...], radius_mm: float) -> Iterator[tuple[Point, str]]:
    """On an edge, or in line with a point; where both hold, their crossing is meant."""
    level = _nearest_level(p[1], [q[1] for q in targets.aligned_to], radius_mm)
    upright = _nearest_level(p[0], [q[0] for q in targets.aligned_to], radius_mm)
    both = False
    if level is not None and upright is not None:
        both = True
        yield (upright, level), ALIGNED
    for segment in near:
        for line in _guides(p, level, upright):
            for crossing in crossings(segment, line):
                if crossing.angle_deg > 0.0 and distance_mm(crossing.point, p) <= radius_mm:
                    both = True
                    yield crossing.point, ALIGNED
    if both:
        return
    for segment in near:
        yield nearest_on(segment, p).point, EDGE
    if near:
        return
    if level is not None:
        yield (p[0], level), ALIGNED
    if upright is not None:
        yield (upright, p[1]), ALIGNED


def _guides(p: Point, level: float | None, upright: float | None) -> Iterator[Segment]:
    if level is not None:
        yield (p[0] - FAR_MM, level), (p[0] + FAR_MM, level)
    if upright is not None:
        yield (upright, p[1] - FAR_MM), (upright, p[1] + FAR_MM)


def _nearest_level(value: float, levels: list[float], radius_mm: float) -> float | None:
    best = min(levels, key=lambda level: abs(level - value), default=None)
    return best if best is not None and abs(best - value) <= radius_mm else None


def _grid(p: Point, targets: Targets) -> Iterator[tuple[Point, str]]:
    pitch = targets.grid_mm
    if pitch is not None and pitch > 0.0:
        yield (round(p[0] / pitch) * pitch, round(p[1] / pitch) * pitch), GRID
