"""Moves, turns and mirrors in the plane, as one value. Millimetres and degrees."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan2, degrees, hypot

from core.geometry.plane import Placement, Point, Polyline, Segment


@dataclass(frozen=True, slots=True)
class Motion:
    """x' = a x - f b y + dx, y' = b x + f a y + dy with a² + b² = 1 and f = -1 where it mirrors. Lengths are kept."""

    a: float = 1.0
    b: float = 0.0
    flip: bool = False
    dx_mm: float = 0.0
    dy_mm: float = 0.0

    def at(self, p: Point) -> Point:
        x, y = p[0], -p[1] if self.flip else p[1]
        return self.a * x - self.b * y + self.dx_mm, self.b * x + self.a * y + self.dy_mm

    def line(self, points: Sequence[Point]) -> Polyline:
        return tuple(self.at(p) for p in points)

    def area(self, points: Sequence[Point]) -> Polyline:
        """An outline, counter-clockwise again where it was mirrored."""
        moved = self.line(points)
        return tuple(reversed(moved)) if self.flip else moved

    @property
    def turn_deg(self) -> float:
        return degrees(atan2(self.b, self.a))

    def then(self, after: "Motion") -> "Motion":
        """First this, then `after`."""
        dx, dy = after.at((self.dx_mm, self.dy_mm))
        b = -self.b if after.flip else self.b
        return Motion(
            after.a * self.a - after.b * b, after.b * self.a + after.a * b, self.flip != after.flip, dx, dy
        )  # fmt: skip

    def inverse(self) -> "Motion":
        if self.flip:  # a mirror is its own inverse but for the shift
            x, y = self.a * self.dx_mm + self.b * self.dy_mm, self.b * self.dx_mm - self.a * self.dy_mm
            return Motion(self.a, self.b, True, -x, -y)
        x, y = self.a * self.dx_mm + self.b * self.dy_mm, -self.b * self.dx_mm + self.a * self.dy_mm
        return Motion(self.a, -self.b, False, -x, -y)

    def on(self, place: Placement) -> "Motion":
        """This motion of the sheet as one of a surface's own millimetres, the surface lying at `place`."""
        onto = Motion(place.cos, place.sin, False, place.x_mm, place.y_mm)
        return onto.then(self).then(onto.inverse())


def shift(by_mm: Point) -> Motion:
    return Motion(dx_mm=float(by_mm[0]), dy_mm=float(by_mm[1]))


def turn(about_mm: Point, turn_deg: float) -> Motion:
    """Counter-clockwise about a point. Quarter turns are exact."""
    place = Placement.turned(0.0, 0.0, turn_deg)
    x, y = about_mm
    c, s = place.cos, place.sin
    return Motion(c, s, False, x - c * x + s * y, y - s * x - c * y)


def mirror(line: Segment) -> Motion:
    """Mirror at the straight line through two points. Raises ValueError where they are one."""
    (px, py), (qx, qy) = line
    size = hypot(qx - px, qy - py)
    if size < 1e-9:
        raise ValueError("a mirror needs two points that lie apart")
    ux, uy = (qx - px) / size, (qy - py) / size
    c, s = ux * ux - uy * uy, 2 * ux * uy  # twice the line's angle
    return Motion(c, s, True, px - c * px - s * py, py - s * px + c * py)
