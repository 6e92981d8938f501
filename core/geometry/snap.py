"""What the pointer means: the end, crossing or edge near it, said in a word. Pure; the caller gives what is near.

Points come before lines and lines before the grid, so that a corner wins over the edges that make it however near
the edges are. Among points the nearest wins.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

from core.geometry.plane import SAME_MM, Point, Segment, between, crossings, distance_mm, nearest_on

END, CROSSING, MIDDLE, PERPENDICULAR = "end", "crossing", "middle", "perpendicular"
EDGE, ALIGNED, PARALLEL, SQUARE, IN_LINE, GRID = "edge", "aligned", "parallel", "square", "in line", "grid"
#: All words, the one that wins at equal distance first.
WORDS = (END, CROSSING, MIDDLE, PERPENDICULAR, EDGE, ALIGNED, PARALLEL, SQUARE, IN_LINE, GRID)
#: A guide reaches this far; longer than any vehicle.
FAR_MM = 100_000.0
#: Two guides of the same direction (sine of the angle) are one.
SAME_DIRECTION = 1e-4
#: Guides looked at; a person holds no more lines in mind.
MOST_GUIDES = 12


@dataclass(frozen=True, slots=True)
class Targets:
    """What may be snapped to, in the same millimetres as the pointer.

    `points` are ends without a line (nodes, device corners). `from_point` is the last point drawn: it gives feet of
    perpendiculars. `aligned_to` are points above, below or beside which the new one may lie; `grid_mm` None is no
    grid. Keep `segments` to what is near the pointer: every pair of them is looked at for a crossing. `things` names
    what each segment is (rib, fold, wheel arch), in their order.

    `guides` are lines that a new one may run along: parallel or square to them from `from_point`, or on in their own
    line. Give those the pointer rested on last, and those that meet `from_point`.
    """

    points: tuple[Point, ...] = ()
    segments: tuple[Segment, ...] = ()
    grid_mm: float | None = None
    from_point: Point | None = None
    aligned_to: tuple[Point, ...] = ()
    things: tuple[str, ...] = ()
    guides: tuple[Segment, ...] = ()


@dataclass(frozen=True, slots=True)
class Snap:
    """The point meant, what it is, and how far the pointer is from it. `thing` is what it is a point of, if named."""

    point: Point
    word: str
    distance_mm: float
    thing: str = ""

    @property
    def words(self) -> str:
        """What is shown beside the pointer: "end of rib", "on fold", "parallel"."""
        if not self.thing:
            return self.word
        if self.word == EDGE:
            return f"on {self.thing}"
        joined = "to" if self.word in (PERPENDICULAR, PARALLEL, SQUARE) else "with" if self.word == IN_LINE else "of"
        return f"{self.word} {joined} {self.thing}"


def snap(p: Point, targets: Targets, radius_mm: float) -> Snap | None:
    """The best target within `radius_mm` of p, or None; the caller makes the radius from a distance on the screen."""
    near = tuple(
        (segment, targets.things[number] if number < len(targets.things) else "")
        for number, segment in enumerate(targets.segments)
        if nearest_on(segment, p).distance_mm <= radius_mm
    )
    for tier in (_points(targets, near), _lines(p, targets, near, radius_mm), _grid(p, targets)):
        found = [Snap(point, word, distance_mm(p, point), thing) for point, word, thing in tier]
        found = [one for one in found if one.distance_mm <= radius_mm]
        if found:
            # A hair's difference does not decide: the word does.
            return min(found, key=lambda one: (round(one.distance_mm, 6), WORDS.index(one.word)))
    return None


_Near = tuple[tuple[Segment, str], ...]
_Meant = Iterator[tuple[Point, str, str]]


def _points(targets: Targets, near: _Near) -> _Meant:
    for point in targets.points:
        yield point, END, ""
    for segment, thing in near:
        yield segment[0], END, thing
        yield segment[1], END, thing
        yield between(*segment, 0.5), MIDDLE, thing
        if targets.from_point is not None:
            foot = nearest_on(segment, targets.from_point)
            inner = SAME_MM < foot.along_mm < distance_mm(*segment) - SAME_MM
            if inner and foot.distance_mm > SAME_MM:
                yield foot.point, PERPENDICULAR, thing
    for (a, one), (b, other) in combinations(near, 2):
        for crossing in crossings(a, b):
            if crossing.angle_deg > 0.0:
                yield crossing.point, CROSSING, f"{one} and {other}" if one and other else one or other


def _lines(p: Point, targets: Targets, near: _Near, radius_mm: float) -> _Meant:
    """On an edge, or on a guide; where both hold, their crossing is meant."""
    guides = _guides(p, targets, radius_mm)
    both = False
    for (a, word), (b, _) in combinations(guides, 2):
        met = _met(a, b)
        if met is not None and distance_mm(met, p) <= radius_mm:
            both = True
            yield met, word, ""
    for segment, _ in near:
        for guide, word in guides:
            for crossing in crossings(segment, guide):
                if crossing.angle_deg > 0.0 and distance_mm(crossing.point, p) <= radius_mm:
                    both = True
                    yield crossing.point, word, ""
    if both:
        return
    for segment, thing in near:
        yield nearest_on(segment, p).point, EDGE, thing
    if near:
        return
    for guide, word in guides:
        yield nearest_on(guide, p).point, word, ""


def _guides(p: Point, targets: Targets, radius_mm: float) -> list[tuple[Segment, str]]:
    """Lines without end near the pointer, each with its word; the nearest level and upright one, and those along and
    across the given ones."""
    found: list[tuple[Segment, str]] = []
    level = _nearest_level(p[1], [q[1] for q in targets.aligned_to], radius_mm)
    upright = _nearest_level(p[0], [q[0] for q in targets.aligned_to], radius_mm)
    if level is not None:
        found.append((((p[0] - FAR_MM, level), (p[0] + FAR_MM, level)), ALIGNED))
    if upright is not None:
        found.append((((upright, p[1] - FAR_MM), (upright, p[1] + FAR_MM)), ALIGNED))
    for guide in targets.guides[:MOST_GUIDES]:
        size = distance_mm(*guide)
        if size <= SAME_MM:
            continue
        (ax, ay), (bx, by) = guide
        ux, uy = (bx - ax) / size, (by - ay) / size
        if not SAME_MM < nearest_on(guide, p).along_mm < size - SAME_MM:
            found.append((_endless(guide[0], ux, uy), IN_LINE))
        if targets.from_point is not None:
            found.append((_endless(targets.from_point, ux, uy), PARALLEL))
            found.append((_endless(targets.from_point, -uy, ux), SQUARE))
    return [each for each in found if nearest_on(each[0], p).distance_mm <= radius_mm]


def _endless(through: Point, ux: float, uy: float) -> Segment:
    x, y = through
    return (x - ux * FAR_MM, y - uy * FAR_MM), (x + ux * FAR_MM, y + uy * FAR_MM)


def _met(a: Segment, b: Segment) -> Point | None:
    """Where two guides cross; None where they run the same way."""
    (px, py), (qx, qy) = a
    (rx, ry), (sx, sy) = b
    dx, dy, ex, ey = qx - px, qy - py, sx - rx, sy - ry
    turn = dx * ey - dy * ex
    if abs(turn) < SAME_DIRECTION * distance_mm(*a) * distance_mm(*b):
        return None
    t = ((rx - px) * ey - (ry - py) * ex) / turn
    return round(px + dx * t, 6), round(py + dy * t, 6)


def _nearest_level(value: float, levels: list[float], radius_mm: float) -> float | None:
    best = min(levels, key=lambda level: abs(level - value), default=None)
    return best if best is not None and abs(best - value) <= radius_mm else None


def _grid(p: Point, targets: Targets) -> _Meant:
    pitch = targets.grid_mm
    if pitch is not None and pitch > 0.0:
        yield (round(p[0] / pitch) * pitch, round(p[1] / pitch) * pitch), GRID, ""
