"""Where labels go: the first candidate that lies on nothing else. Pure geometry of turned rectangles.

The method is the usual greedy one of map lettering: obstacles first, then labels in the order of their importance,
each with its candidate places from best to worst.
"""

from collections.abc import Iterable, Sequence
from math import cos, floor, hypot, radians, sin

from core.model import Point

#: Four corners in order.
Quad = tuple[Point, Point, Point, Point]
#: Squares of the grid one thing is written into, and pieces one line is cut into; anything larger stands beside it.
MOST_SQUARES = 1_000
MOST_PIECES = 1_000


def upright(x0: float, y0: float, x1: float, y1: float) -> Quad:
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def turned(centre: Point, wide: float, high: float, turn_deg: float) -> Quad:
    """A rectangle about its middle, turned counter-clockwise."""
    c, s = cos(radians(turn_deg)), sin(radians(turn_deg))
    ax, ay, bx, by = c * wide / 2, s * wide / 2, -s * high / 2, c * high / 2
    x, y = centre
    return (
        (x - ax - bx, y - ay - by),
        (x + ax - bx, y + ay - by),
        (x + ax + bx, y + ay + by),
        (x - ax + bx, y - ay + by),
    )


def along(start: Point, end: Point, wide: float) -> Quad:
    """The strip of width `wide` about a straight line."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    size = hypot(dx, dy) or 1.0
    nx, ny = -dy / size * wide / 2, dx / size * wide / 2
    return (
        (start[0] - nx, start[1] - ny),
        (end[0] - nx, end[1] - ny),
        (end[0] + nx, end[1] + ny),
        (start[0] + nx, start[1] + ny),
    )


def overlap(a: Quad, b: Quad) -> bool:
    """True where two convex quadrilaterals share an area; touching is no overlap. By separating axes."""
    return not (_separated(a, b) or _separated(b, a))


def _separated(a: Quad, b: Quad) -> bool:
    for index in range(4):
        x, y = a[index]
        nx, ny = a[(index + 1) % 4][1] - y, x - a[(index + 1) % 4][0]
        reach_a = [(p[0] - x) * nx + (p[1] - y) * ny for p in a]
        reach_b = [(p[0] - x) * nx + (p[1] - y) * ny for p in b]
        if max(reach_a) <= min(reach_b) + 1e-9 or max(reach_b) <= min(reach_a) + 1e-9:
            return True
    return False


def bounds(points: Iterable[Point]) -> tuple[float, float, float, float]:
    """Left, low, right, high. Raises ValueError for no points."""
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


class Room:
    """What is taken on the sheet, in a grid of squares of `cell_mm`. What covers very many squares stands beside it:
    a plan may be a thousand kilometres long, and the grid must not be."""

    def __init__(self, cell_mm: float) -> None:
        self._cell_mm = cell_mm
        self._cells: dict[tuple[int, int], list[Quad]] = {}
        self._large: list[Quad] = []

    def take(self, quad: Quad) -> None:
        cells = self._covered(quad)
        if cells is None:
            self._large.append(quad)
            return
        for cell in cells:
            self._cells.setdefault(cell, []).append(quad)

    def take_line(self, points: Sequence[Point], wide: float) -> None:
        """Take a polyline, cut in pieces so that a long slanted one does not fill the grid."""
        for start, end in zip(points, points[1:], strict=False):
            size = hypot(end[0] - start[0], end[1] - start[1])
            wanted = size / (4 * self._cell_mm)
            # What is too large for the grid stands beside it as one strip.
            count = max(1, int(wanted)) if wanted <= MOST_PIECES else 1
            for part in range(count):
                t, u = part / count, (part + 1) / count
                self.take(
                    along(
                        (start[0] + (end[0] - start[0]) * t, start[1] + (end[1] - start[1]) * t),
                        (start[0] + (end[0] - start[0]) * u, start[1] + (end[1] - start[1]) * u),
                        wide,
                    )
                )

    def is_free(self, quad: Quad) -> bool:
        if any(overlap(quad, other) for other in self._large):
            return False
        cells = self._covered(quad)
        if cells is None:
            return not any(overlap(quad, other) for row in self._cells.values() for other in row)
        seen: set[int] = set()
        for cell in cells:
            for other in self._cells.get(cell, ()):
                if id(other) not in seen:
                    seen.add(id(other))
                    if overlap(quad, other):
                        return False
        return True

    def place(self, candidates: Iterable[Quad]) -> int | None:
        """Take the first free candidate; its number, or None where none is free."""
        for number, quad in enumerate(candidates):
            if self.is_free(quad):
                self.take(quad)
                return number
        return None

    def _covered(self, quad: Quad) -> list[tuple[int, int]] | None:
        """The squares under the bounding box of a quadrilateral; None where they are too many."""
        left, low, right, high = (value / self._cell_mm for value in bounds(quad))
        if (right - left + 2) * (high - low + 2) > MOST_SQUARES:
            return None
        return [(i, j) for i in range(floor(left), floor(right) + 1) for j in range(floor(low), floor(high) + 1)]


class Rooms(Room):
    """A room, and beside it what a label should not lie on but may (`soft`)."""

    def __init__(self, cell_mm: float) -> None:
        super().__init__(cell_mm)
        self.soft = Room(cell_mm)

    def place(self, candidates: Iterable[Quad]) -> int | None:
        """The first candidate that is free in both, else the first that is free at all."""
        second: tuple[int, Quad] | None = None
        for number, quad in enumerate(candidates):
            if not self.is_free(quad):
                continue
            if self.soft.is_free(quad):
                self.take(quad)
                return number
            second = second or (number, quad)
        if second is None:
            return None
        self.take(second[1])
        return second[0]
