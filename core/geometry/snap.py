"""What the pointer means: the end, crossing or edge near it, said in a word. Pure; the caller gives what is near.

Points come before lines and lines before the grid, so that a corner wins over the edges that make it however near
the edges are. Among points the nearest wins.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
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
    perpendiculars. `aligned_to` are points above, below or beside which the new one may lie, within `align_mm` (the
    snap's own radius where it is None); `grid_mm` None is no grid. Keep `segments` to what is near the pointer: every
    pair of them is looked at for a crossing. `things`, `aligned_things` and `guide_things` name what each segment,
    point or guide is (rib, fold, light), in their order; "" and missing ones have no name.

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
    aligned_things: tuple[str, ...] = ()
    guide_things: tuple[str, ...] = ()
    align_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Snap:
    """The point meant, what it is, and how far the pointer is from it. `thing` is what it is a point of, if named;
    `also` says in words what else holds there."""

    point: Point
    word: str
    distance_mm: float = 0.0
    thing: str = ""
    also: str = ""

    @property
    def words(self) -> str:
        """What is shown beside the pointer: "end of rib", "on fold", "parallel", "in line with light"."""
        told = said(self.word, self.thing)
        return f"{told}, {self.also}" if self.also else told


def said(word: str, thing: str) -> str:
    """A word with the thing it is about: "middle of rib 3", "on fold", "in line with light"."""
    if not thing:
        return word
    if word == EDGE:
        return f"on {thing}"
    if word == ALIGNED:
        return f"in line with {thing}"
    joined = "to" if word in (PERPENDICULAR, PARALLEL, SQUARE) else "with" if word == IN_LINE else "of"
    return f"{word} {joined} {thing}"


def snap(p: Point, targets: Targets, radius_mm: float) -> Snap | None:
    """The best target within `radius_mm` of p, or None; the caller makes the radius from a distance on the screen."""
    near = tuple(
        (segment, _named(targets.things, number))
        for number, segment in enumerate(targets.segments)
        if nearest_on(segment, p).distance_mm <= radius_mm
    )
    for tier in (_points(targets, near), _lines(p, targets, near, radius_mm), _grid(p, targets)):
        found = [replace(one, distance_mm=distance_mm(p, one.point)) for one in tier]
        found = [one for one in found if one.distance_mm <= radius_mm]
        if found:
            # A hair's difference does not decide: the word does.
            return min(found, key=lambda one: (round(one.distance_mm, 6), WORDS.index(one.word)))
    return None


_Near = tuple[tuple[Segment, str], ...]


def _named(names: tuple[str, ...], number: int) -> str:
    return names[number] if number < len(names) else ""


def _points(targets: Targets, near: _Near) -> Iterator[Snap]:
    for point in targets.points:
        yield Snap(point, END)
    for segment, thing in near:
        yield Snap(segment[0], END, thing=thing)
        yield Snap(segment[1], END, thing=thing)
        yield Snap(between(*segment, 0.5), MIDDLE, thing=thing)
        if targets.from_point is not None:
            foot = nearest_on(segment, targets.from_point)
            inner = SAME_MM < foot.along_mm < distance_mm(*segment) - SAME_MM
            if inner and foot.distance_mm > SAME_MM:
                yield Snap(foot.point, PERPENDICULAR, thing=thing)
    for (a, one), (b, other) in combinations(near, 2):
        for crossing in crossings(a, b):
            if crossing.angle_deg > 0.0:
                both = f"{one} and {other}" if one and other and one != other else one or other
                yield Snap(crossing.point, CROSSING, thing=both)


@dataclass(frozen=True, slots=True)
class _Guide:
    """A line without end, near the pointer."""

    line: Segment
    word: str
    thing: str

    @property
    def words(self) -> str:
        return said(self.word, self.thing)


def _lines(p: Point, targets: Targets, near: _Near, radius_mm: float) -> Iterator[Snap]:
    """On an edge, or on a guide; where both hold, their crossing is meant."""
    guides = _guides(p, targets, radius_mm)
    both = False
    for a, b in combinations(guides, 2):
        met = _met(a.line, b.line)
        if met is not None and distance_mm(met, p) <= radius_mm:
            both = True
            yield Snap(met, a.word, thing=a.thing, also=b.words if b.words != a.words else "")
    for segment, thing in near:
        for guide in guides:
            for crossing in crossings(segment, guide.line):
                if crossing.angle_deg > 0.0 and distance_mm(crossing.point, p) <= radius_mm:
                    both = True
                    yield Snap(crossing.point, guide.word, thing=guide.thing, also=thing and said(EDGE, thing))
    if both:
        return
    for segment, thing in near:
        yield Snap(nearest_on(segment, p).point, EDGE, thing=thing)
    if near:
        return
    for guide in guides:
        yield Snap(nearest_on(guide.line, p).point, guide.word, thing=guide.thing)


def _guides(p: Point, targets: Targets, radius_mm: float) -> list[_Guide]:
    """Lines without end near the pointer; the nearest level and upright one, and those along and across the given
    ones."""
    found: list[_Guide] = []
    reach = radius_mm if targets.align_mm is None else targets.align_mm
    for across in (1, 0):
        number = _nearest_level(p[across], [q[across] for q in targets.aligned_to], reach)
        if number is not None:
            ux, uy = (1.0, 0.0) if across else (0.0, 1.0)
            at = targets.aligned_to[number]
            through = (p[0], at[1]) if across else (at[0], p[1])
            found.append(_Guide(_endless(through, ux, uy), ALIGNED, _named(targets.aligned_things, number)))
    for number, guide in enumerate(targets.guides[:MOST_GUIDES]):
        size, thing = distance_mm(*guide), _named(targets.guide_things, number)
        if size <= SAME_MM:
            continue
        (ax, ay), (bx, by) = guide
        ux, uy = (bx - ax) / size, (by - ay) / size
        if not SAME_MM < nearest_on(guide, p).along_mm < size - SAME_MM:
            found.append(_Guide(_endless(guide[0], ux, uy), IN_LINE, thing))
        if targets.from_point is not None:
            found.append(_Guide(_endless(targets.from_point, ux, uy), PARALLEL, thing))
            found.append(_Guide(_endless(targets.from_point, -uy, ux), SQUARE, thing))
    return [each for each in found if nearest_on(each.line, p).distance_mm <= radius_mm]


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


def _nearest_level(value: float, levels: list[float], radius_mm: float) -> int | None:
    """The number of the level nearest to a value, within reach."""
    best = min(range(len(levels)), key=lambda number: abs(levels[number] - value), default=None)
    return best if best is not None and abs(levels[best] - value) <= radius_mm else None


def _grid(p: Point, targets: Targets) -> Iterator[Snap]:
    pitch = targets.grid_mm
    if pitch is not None and pitch > 0.0:
        yield Snap((round(p[0] / pitch) * pitch, round(p[1] / pitch) * pitch), GRID)
