"""Where labels go: the first candidate that lies on nothing else. Pure geometry of turned rectangles.

The method is the usual greedy one of map lettering: obstacles first, then labels in the order of their importance,
each with its candidate places from best to worst.
"""

from collections.abc import Iterable, Sequence
from math import cos, floor, hypot, radians, sin
from typing import NamedTuple

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


#: Rectangles that only touch share no area.
TOUCH_MM = 1e-9


class _Taken(NamedTuple):
    """A quadrilateral with its upright bounds, by which most of what lies elsewhere is told at once."""

    left: float
    low: float
    right: float
    high: float
    quad: Quad
    is_upright: bool


def _taken(quad: Quad) -> _Taken:
    left, low, right, high = bounds(quad)
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = quad
    return _Taken(left, low, right, high, quad, y0 == y1 and x1 == x2 and y2 == y3 and x3 == x0)


def _is_clear(one: _Taken, others: Iterable[_Taken]) -> bool:
    """Whether none of the others shares an area with it."""
    left, low, right, high = one.left + TOUCH_MM, one.low + TOUCH_MM, one.right - TOUCH_MM, one.high - TOUCH_MM
    for other in others:
        if other[0] >= right or other[2] <= left or other[1] >= high or other[3] <= low:
            continue
        if (one.is_upright and other.is_upright) or overlap(one.quad, other.quad):
            return False
    return True


class Room:
    """What is taken on the sheet, in a grid of squares of `cell_mm`. What covers very many squares stands beside it:
    a plan may be a thousand kilometres long, and the grid must not be."""

    def __init__(self, cell_mm: float) -> None:
        self._cell_mm = cell_mm
        self._cells: dict[tuple[int, int], list[_Taken]] = {}
        self._large: list[_Taken] = []

    def take(self, quad: Quad) -> None:
        cells = self._covered(quad)
        one = _taken(quad)
        if cells is None:
            self._large.append(one)
            return
        for cell in cells:
            self._cells.setdefault(cell, []).append(one)

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
        one = _taken(quad)
        if not _is_clear(one, self._large):
            return False
        cells = self._covered(quad)
        if cells is None:
            return all(_is_clear(one, row) for row in self._cells.values())
        return all(_is_clear(one, self._cells.get(cell, ())) for cell in cells)

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
