"""Rounded corners of path and area marks, as vertices with bulges: one geometry for painter, SVG and DXF.

The bulge of a vertex is the tangent of a quarter of the angle of the arc that leads to the next vertex, positive
counter-clockwise, 0 for a straight line: the form that DXF polylines are stored in.
"""

from collections.abc import Sequence
from math import acos, atan, atan2, cos, degrees, hypot, pi, sin, sqrt, tan

from core.model import Point

#: (x, y, bulge)
Vertex = tuple[float, float, float]
#: A turn smaller than this (radians) stays a corner: its arc could not be seen.
SMALLEST_TURN = 1e-6


def fillet(points_mm: Sequence[Point], radius_mm: float, closed: bool = False) -> tuple[Vertex, ...]:
    """The polyline with an arc of `radius_mm` at every inner point (every point when closed).

    Where two neighbours are too near for the whole radius each corner takes as much as fits: half of the stretch
    between two corners, all of it at an open end. Repeated points are dropped.
    """
    points = _distinct(points_mm, closed)
    count = len(points)
    if radius_mm <= 0 or count < 3:
        return tuple((x, y, 0.0) for x, y in points)
    vertices: list[Vertex] = []
    for index, (x, y) in enumerate(points):
        if not closed and index in (0, count - 1):
            vertices.append((x, y, 0.0))
            continue
        before, after = points[index - 1], points[(index + 1) % count]
        ax, ay, bx, by = before[0] - x, before[1] - y, after[0] - x, after[1] - y
        a_mm, b_mm = hypot(ax, ay), hypot(bx, by)
        turn = atan2(-ax * by + ay * bx, -ax * bx - ay * by)
        if abs(turn) < SMALLEST_TURN or pi - abs(turn) < SMALLEST_TURN:
            vertices.append((x, y, 0.0))
            continue
        a_free = a_mm if not closed and index == 1 else a_mm / 2
        b_free = b_mm if not closed and index == count - 2 else b_mm / 2
        tangent = min(radius_mm * tan(abs(turn) / 2), a_free, b_free)
        vertices.append((x + ax * tangent / a_mm, y + ay * tangent / a_mm, tan(turn / 4)))
        vertices.append((x + bx * tangent / b_mm, y + by * tangent / b_mm, 0.0))
    return tuple(vertices)


def _distinct(points_mm: Sequence[Point], closed: bool) -> list[Point]:
    points: list[Point] = []
    for point in points_mm:
        if not points or point != points[-1]:
            points.append(point)
    if closed and len(points) > 1 and points[0] == points[-1]:
        points.pop()
    return points


def arc(start: Vertex, end: Vertex) -> tuple[Point, float, float, float]:
    """Centre, radius, start angle and swept angle (degrees, counter-clockwise positive) of the arc of a bulge."""
    x, y, bulge = start
    sweep = 4 * atan(bulge)
    chord = hypot(end[0] - x, end[1] - y)
    radius = chord / (2 * abs(sin(sweep / 2)))
    # From the middle of the chord to the centre, to the left of the chord for a counter-clockwise arc.
    offset = radius * cos(sweep / 2) * (1 if bulge > 0 else -1)
    nx, ny = -(end[1] - y) / chord, (end[0] - x) / chord
    centre = ((x + end[0]) / 2 + nx * offset, (y + end[1]) / 2 + ny * offset)
    return centre, radius, degrees(atan2(y - centre[1], x - centre[0])), degrees(sweep)


def flatten(vertices: Sequence[Vertex], closed: bool = False, sagitta_mm: float = 0.05) -> tuple[Point, ...]:
    """The vertices as a plain polyline whose chords leave the arcs by at most `sagitta_mm`."""
    points: list[Point] = []
    for index, vertex in enumerate(vertices):
        points.append(vertex[:2])
        if vertex[2] == 0 or (index == len(vertices) - 1 and not closed):
            continue
        centre, radius, start_deg, sweep_deg = arc(vertex, vertices[(index + 1) % len(vertices)])
        step = 2 * acos(max(0.0, 1 - sagitta_mm / radius)) if radius > sagitta_mm else pi / 2
        count = max(1, int(abs(sweep_deg) * pi / 180 / step) + 1)
        for part in range(1, count):
            angle = (start_deg + sweep_deg * part / count) * pi / 180
            points.append((centre[0] + radius * cos(angle), centre[1] + radius * sin(angle)))
    return tuple(points)


def length_mm(vertices: Sequence[Vertex]) -> float:
    """Length of the open line with its arcs."""
    total = 0.0
    for start, end in zip(vertices, vertices[1:], strict=False):
        if start[2] == 0:
            total += sqrt((end[0] - start[0]) ** 2 + (end[1] - start[1]) ** 2)
        else:
            _, radius, _, sweep_deg = arc(start, end)
            total += radius * abs(sweep_deg) * pi / 180
    return total
