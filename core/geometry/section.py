"""The cross-section of a body: a closed figure from floor, walls and roof, measured as a tape does.

Points are (y, z) in mm: y from the middle to the vehicle's right, z up from the floor. A curve becomes strips that are
together as long as the tape says along it.
"""

from dataclasses import dataclass
from math import asin, atan2, ceil, cos, hypot, sin, tau

from core.geometry.plane import Point, Polyline, distance_mm, length_mm

#: A bend flatter than this in mm off the straight line is no bend.
STRAIGHT_MM = 3.0
#: A roof whose arc is longer than its chord by less than this is flat.
FLAT_MM = 0.5
#: One strip more for every so much of a turn: three strips for the roof of a van.
TURN_PER_STRIP = 0.35
MOST_STRIPS = 9


@dataclass(frozen=True, slots=True)
class Section:
    """`wall` runs up the vehicle's right from the floor to the roof; `roof` from the right wall over to the left."""

    wall: Polyline
    roof: Polyline

    @property
    def outline(self) -> Polyline:
        """Counter-clockwise as seen by somebody who looks to the front and has the vehicle's right at the right."""
        left = tuple((-y, z) for y, z in reversed(self.wall[:-1]))
        return (*self.wall, *self.roof[1:], *left)


def section(
    floor_mm: float,
    shoulder_mm: float,
    shoulder_height_mm: float,
    roof_mm: float,
    side_height_mm: float,
    centre_height_mm: float,
    wall_strips: int = 2,
) -> Section:
    """The section of three widths and three heights.

    Two strips bend at the shoulder, more follow the arc through floor, shoulder and roof edge; a wall that is straight
    within 3 mm is one strip. The roof is an arc over its edges, in an odd number of strips so that one lies level in
    the middle, or flat where that makes no difference to the tape.
    """
    low, middle, high = (floor_mm / 2, 0.0), (shoulder_mm / 2, shoulder_height_mm), (roof_mm / 2, side_height_mm)
    size = distance_mm(low, high)
    off = abs((high[0] - low[0]) * (middle[1] - low[1]) - (high[1] - low[1]) * (middle[0] - low[0])) / size
    if wall_strips <= 1 or off < STRAIGHT_MM:
        wall: Polyline = (low, high)
    elif wall_strips == 2:
        wall = (low, middle, high)
    else:
        wall = arc(low, middle, high, wall_strips)
    return Section(wall, _roof(high, centre_height_mm))


def _roof(edge: Point, centre_height_mm: float) -> Polyline:
    left, rise, width = (-edge[0], edge[1]), centre_height_mm - edge[1], 2 * edge[0]
    if rise <= 0 or arc_length_mm(width, rise) - width < FLAT_MM:
        return edge, left
    turned = 4 * atan2(rise, width / 2)
    strips = min(max(3, ceil(turned / TURN_PER_STRIP) | 1), MOST_STRIPS)
    return arc(edge, (0.0, centre_height_mm), left, strips if turned > 1.0 else 3)


def arc_length_mm(chord_mm: float, rise_mm: float) -> float:
    """Length of the circular arc over a chord: 2 r asin(c / 2r) with r = (c² / 4 + h²) / 2h (h up to c / 2)."""
    radius = (chord_mm * chord_mm / 4 + rise_mm * rise_mm) / (2 * rise_mm)
    return 2 * radius * asin(min(1.0, chord_mm / (2 * radius)))


def arc(a: Point, b: Point, c: Point, strips: int) -> Polyline:
    """`strips` straight pieces from a to c for the circle through a, b and c, together as long as the arc.

    The inner points stand a hair outside the circle for that: half the sagitta of a piece or so. a, b, c on one line
    give that line.
    """
    (ax, ay), (bx, by), (cx, cy) = a, b, c
    d = 2 * (ax * (by - cy) + bx * (cy - ay) + cx * (ay - by))
    if abs(d) < 1e-9 or strips < 2:
        return a, c
    sa, sb, sc = ax * ax + ay * ay, bx * bx + by * by, cx * cx + cy * cy
    ux = (sa * (by - cy) + sb * (cy - ay) + sc * (ay - by)) / d
    uy = (sa * (cx - bx) + sb * (ax - cx) + sc * (bx - ax)) / d
    radius = hypot(ax - ux, ay - uy)
    start, middle, end = (atan2(y - uy, x - ux) for x, y in (a, b, c))
    sweep, to_middle = (end - start) % tau, (middle - start) % tau
    if to_middle > sweep:
        sweep -= tau

    def pieces(at_mm: float) -> Polyline:
        inner = (start + sweep * k / strips for k in range(1, strips))
        return (a, *((ux + at_mm * cos(t), uy + at_mm * sin(t)) for t in inner), c)

    low, high, wanted = radius, radius * 1.2, radius * abs(sweep)
    for _ in range(60):
        at_mm = (low + high) / 2
        low, high = (at_mm, high) if length_mm(pieces(at_mm)) < wanted else (low, at_mm)
    return pieces((low + high) / 2)


def places_of(length_mm: float, pitch_mm: float, first_mm: float) -> tuple[float, ...]:
    """Where ribs stand along a length: from the first on at every pitch, none in the last 20 mm."""
    if pitch_mm <= 0:
        return ()
    count = max(0, ceil((length_mm - 20.0 - first_mm) / pitch_mm))
    return tuple(first_mm + k * pitch_mm for k in range(count))
