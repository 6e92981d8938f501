"""Points, polylines and rigid placements in the plane. Millimetres and degrees, nothing of a plan."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import acos, atan2, cos, degrees, hypot, radians, sin

Point = tuple[float, float]
Segment = tuple[Point, Point]
Polyline = tuple[Point, ...]

#: Two points nearer than this are one point. A thousandth of what anybody can mark, a million times the rounding.
SAME_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Placement:
    """A turn followed by a shift: where a flat thing lies on the sheet. Lengths are kept."""

    x_mm: float = 0.0
    y_mm: float = 0.0
    cos: float = 1.0
    sin: float = 0.0

    @staticmethod
    def turned(x_mm: float, y_mm: float, turn_deg: float) -> "Placement":
        """Origin at (x, y), turned counter-clockwise. Quarter turns are exact."""
        quarters, rest = divmod(turn_deg, 90.0)
        if rest == 0.0:
            c, s = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarters) % 4]
        else:
            c, s = cos(radians(turn_deg)), sin(radians(turn_deg))
        return Placement(x_mm, y_mm, c, s)

    @property
    def turn_deg(self) -> float:
        return degrees(atan2(self.sin, self.cos))

    def to_sheet(self, p: Point) -> Point:
        return self.x_mm + self.cos * p[0] - self.sin * p[1], self.y_mm + self.sin * p[0] + self.cos * p[1]

    def to_local(self, p: Point) -> Point:
        x, y = p[0] - self.x_mm, p[1] - self.y_mm
        return self.cos * x + self.sin * y, self.cos * y - self.sin * x

    def line_to_sheet(self, line: Sequence[Point]) -> Polyline:
        return tuple(self.to_sheet(p) for p in line)

    def then(self, outer: "Placement") -> "Placement":
        """This placement seen through `outer`: ``a.then(b).to_sheet(p) == b.to_sheet(a.to_sheet(p))``."""
        x_mm, y_mm = outer.to_sheet((self.x_mm, self.y_mm))
        return Placement(
            x_mm,
            y_mm,
            outer.cos * self.cos - outer.sin * self.sin,
            outer.sin * self.cos + outer.cos * self.sin,
        )

    def inverse(self) -> "Placement":
        x_mm, y_mm = self.to_local((0.0, 0.0))
        return Placement(x_mm, y_mm, self.cos, -self.sin)


IDENTITY = Placement()


def placed_against(line: Segment, onto: Segment, shift_mm: float = 0.0) -> Placement:
    """Lay `line` against `onto`, running the other way, its end `shift_mm` after the start of `onto`.

    This is how a child surface lies beside its parent on the sheet, and how a face is unfolded over an edge.
    Neither line may be without length.
    """
    ux, uy = _unit(onto)
    ex, ey = _unit(line)
    # The turn that takes e to -u: the quotient of the two as complex numbers.
    c, s = -(ux * ex + uy * ey), -(uy * ex - ux * ey)
    size = hypot(c, s)
    c, s = c / size, s / size
    end_x, end_y = onto[0][0] + ux * shift_mm, onto[0][1] + uy * shift_mm
    bx, by = line[1]
    return Placement(end_x - (c * bx - s * by), end_y - (s * bx + c * by), c, s)


def _unit(line: Segment) -> Point:
    x, y = line[1][0] - line[0][0], line[1][1] - line[0][1]
    size = hypot(x, y)
    return x / size, y / size


def distance_mm(p: Point, q: Point) -> float:
    return hypot(q[0] - p[0], q[1] - p[1])


def between(p: Point, q: Point, t: float) -> Point:
    """The point a part `t` (0..1) of the way from p to q."""
    return p[0] + (q[0] - p[0]) * t, p[1] + (q[1] - p[1]) * t


def side_of(line: Segment, p: Point) -> float:
    """Twice the area of the triangle line, p: positive where p is on the left of the line."""
    (ax, ay), (bx, by) = line
    return (bx - ax) * (p[1] - ay) - (by - ay) * (p[0] - ax)


def along_mm(line: Sequence[Point]) -> tuple[float, ...]:
    """Running length at every vertex, starting with 0."""
    total, result = 0.0, [0.0]
    for p, q in zip(line, line[1:], strict=False):
        total += distance_mm(p, q)
        result.append(total)
    return tuple(result)


def length_mm(line: Sequence[Point]) -> float:
    return sum(distance_mm(p, q) for p, q in zip(line, line[1:], strict=False))


def point_at(line: Sequence[Point], at_mm: float) -> Point:
    """The point `at_mm` along the polyline; before the start or past the end, that end."""
    rest = at_mm
    for p, q in zip(line, line[1:], strict=False):
        size = distance_mm(p, q)
        if rest <= size and size > 0.0:
            return between(p, q, max(rest, 0.0) / size)
        rest -= size
    return line[-1]


def part(line: Sequence[Point], from_mm: float, to_mm: float) -> Polyline:
    """The stretch of the polyline between two distances from its start, with the vertices between them."""
    lengths = along_mm(line)
    inner = [p for p, at in zip(line, lengths, strict=True) if from_mm + SAME_MM < at < to_mm - SAME_MM]
    return (point_at(line, from_mm), *inner, point_at(line, to_mm))


@dataclass(frozen=True, slots=True)
class Nearest:
    point: Point
    along_mm: float
    distance_mm: float


def nearest_on(line: Sequence[Point], p: Point) -> Nearest:
    """The point of the polyline nearest to p; of several the one nearest to the start."""
    best = Nearest(line[0], 0.0, distance_mm(line[0], p))
    start_mm = 0.0
    for a, b in zip(line, line[1:], strict=False):
        size = distance_mm(a, b)
        if size * size > 0.0:  # the square of a tiny length is 0
            t = ((p[0] - a[0]) * (b[0] - a[0]) + (p[1] - a[1]) * (b[1] - a[1])) / (size * size)
            t = min(max(t, 0.0), 1.0)
            foot = between(a, b, t)
            away = distance_mm(foot, p)
            if away < best.distance_mm:
                best = Nearest(foot, start_mm + t * size, away)
        start_mm += size
    return best


def offset(line: Sequence[Point], by_mm: float, closed: bool = False) -> Polyline:
    """The parallel of a polyline at `by_mm`, to the left of its direction where positive, with mitred corners.

    Vertices that fall together are dropped first. A mitre is never longer than four times the offset: a hairpin gets
    a blunt corner. The result may cross itself where the offset is larger than the line's own bends.
    """
    points = [p for p, before in zip(line, (None, *line), strict=False) if before is None or p != before]
    if closed and len(points) > 1 and points[0] == points[-1]:
        points.pop()
    if len(points) < 2:
        return tuple(points)
    pairs = list(zip(points, points[1:], strict=False)) + ([(points[-1], points[0])] if closed else [])
    normals = [(-_unit(pair)[1], _unit(pair)[0]) for pair in pairs]
    result: list[Point] = []
    for index, (x, y) in enumerate(points):
        before = normals[index - 1] if index or closed else normals[0]
        after = normals[index] if index < len(normals) else normals[-1]
        mx, my = before[0] + after[0], before[1] + after[1]
        # |m|^2 = 2 + 2 cos(turn); the mitre along m has length by / cos(turn / 2) = 2 by / |m|.
        square = mx * mx + my * my
        if square > 0.25:
            result.append((x + 2 * by_mm * mx / square, y + 2 * by_mm * my / square))
        else:
            result.append((x + by_mm * before[0], y + by_mm * before[1]))
            result.append((x + by_mm * after[0], y + by_mm * after[1]))
    return tuple(result)


@dataclass(frozen=True, slots=True)
class Crossing:
    """A point that two polylines share, where it lies along each, and the angle between them (0 to 90)."""

    point: Point
    a_mm: float
    b_mm: float
    angle_deg: float


def crossings(a: Sequence[Point], b: Sequence[Point]) -> tuple[Crossing, ...]:
    """All points that two polylines share, touching ones included, in the order of `a`.

    A crossing at a vertex is one crossing, with the larger of the angles there. Where the two run along each other
    the ends of the common stretch are given, with angle 0.
    """
    found: list[Crossing] = []
    a_from = 0.0
    b_boxes = [(min(p[0], q[0]), max(p[0], q[0]), min(p[1], q[1]), max(p[1], q[1])) for p, q in _pairs(b)]
    b_along = along_mm(b)
    for p, q in _pairs(a):
        size = distance_mm(p, q)
        left, right = min(p[0], q[0]) - SAME_MM, max(p[0], q[0]) + SAME_MM
        low, high = min(p[1], q[1]) - SAME_MM, max(p[1], q[1]) + SAME_MM
        for (r, s), box, b_from in zip(_pairs(b), b_boxes, b_along, strict=False):
            if box[0] > right or box[1] < left or box[2] > high or box[3] < low:
                continue
            for point, at_a, at_b, angle in _meet((p, q), (r, s)):
                found.append(Crossing(point, a_from + at_a, b_from + at_b, angle))
        a_from += size
    found.sort(key=lambda c: (c.a_mm, c.b_mm, -c.angle_deg))
    return _merged(found)


def _merged(found: list[Crossing]) -> tuple[Crossing, ...]:
    """One crossing where neighbouring segments report the same one."""
    result: list[Crossing] = []
    for crossing in found:
        for index, other in enumerate(result):
            if abs(other.a_mm - crossing.a_mm) < 4 * SAME_MM and abs(other.b_mm - crossing.b_mm) < 4 * SAME_MM:
                if crossing.angle_deg > other.angle_deg:
                    result[index] = Crossing(other.point, other.a_mm, other.b_mm, crossing.angle_deg)
                break
        else:
            result.append(crossing)
    return tuple(result)


def _pairs(line: Sequence[Point]) -> list[Segment]:
    return list(zip(line, line[1:], strict=False))


def _meet(a: Segment, b: Segment) -> list[tuple[Point, float, float, float]]:
    """Points shared by two segments: (point, mm along a, mm along b, angle)."""
    (px, py), (rx, ry) = a[0], b[0]
    dx, dy, ex, ey = a[1][0] - px, a[1][1] - py, b[1][0] - rx, b[1][1] - ry
    size_a, size_b = hypot(dx, dy), hypot(ex, ey)
    if size_a < SAME_MM or size_b < SAME_MM:
        return []
    dx, dy, ex, ey = dx / size_a, dy / size_a, ex / size_b, ey / size_b
    sine = dx * ey - dy * ex
    wx, wy = rx - px, ry - py
    # Nearly parallel: judged by how far the shorter of the two strays from the other's line.
    if abs(sine) * min(size_a, size_b) < SAME_MM:
        if abs(wx * dy - wy * dx) > SAME_MM:
            return []
        direction = 1.0 if dx * ex + dy * ey > 0 else -1.0
        from_b = wx * dx + wy * dy
        ends = sorted((from_b, from_b + direction * size_b))
        low, high = max(0.0, ends[0]), min(size_a, ends[1])
        if low > high + SAME_MM:
            return []
        places = [low] if high - low < SAME_MM else [low, high]
        result = []
        for at in places:
            at_b = min(max((at - from_b) * direction, 0.0), size_b)
            result.append(((px + dx * at, py + dy * at), at, at_b, 0.0))
        return result
    at_a, at_b = (wx * ey - wy * ex) / sine, (wx * dy - wy * dx) / sine
    # An end that touches may miss by rounding: put it on the segment, look for the foot on the other, and measure.
    if not 0.0 <= at_b <= size_b:
        at_b = min(max(at_b, 0.0), size_b)
        at_a = (wx + ex * at_b) * dx + (wy + ey * at_b) * dy
    if not 0.0 <= at_a <= size_a:
        at_a = min(max(at_a, 0.0), size_a)
        at_b = min(max((dx * at_a - wx) * ex + (dy * at_a - wy) * ey, 0.0), size_b)
    point = (px + dx * at_a, py + dy * at_a)
    if distance_mm(point, (rx + ex * at_b, ry + ey * at_b)) > SAME_MM:
        return []
    angle = degrees(acos(min(abs(dx * ex + dy * ey), 1.0)))
    return [(point, at_a, at_b, angle)]
