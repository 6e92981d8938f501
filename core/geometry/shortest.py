"""The shortest way over folded surfaces: faces are unfolded into one plane, where the way is a straight line.

Exact for every sequence of at most `max_faces` different surfaces through whose lines the straight line passes. A
way that bends round a corner (of an L, a hole, a window) is no straight line and is not looked for.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from core.geometry.joints import Joint, Joints, meeting_places
from core.geometry.plane import (
    IDENTITY,
    SAME_MM,
    Placement,
    Point,
    Segment,
    between,
    distance_mm,
    nearest_on,
    placed_against,
    side_of,
)
from core.geometry.polygon import segment_inside

#: Directions nearer than this count as the same, as a share of the product of their lengths.
SAME_DIRECTION = 1e-12


@dataclass(frozen=True, slots=True)
class SurfacePath:
    """A straight way over unfolded surfaces: its length, and for each surface passed where it enters and leaves."""

    length_mm: float
    pieces: tuple[tuple[str, Point, Point], ...]

    @property
    def surfaces(self) -> tuple[str, ...]:
        return tuple(piece[0] for piece in self.pieces)


def shortest_surface_path(
    joints: Joints, start: tuple[str, Point], goal: tuple[str, Point], max_faces: int = 6
) -> SurfacePath | None:
    """The shortest straight way from `start` to `goal` over at most `max_faces` surfaces, joints free or not.

    None where there is none. Each surface is passed at most once, as on a convex body (M. Sharir, A. Schorr, "On
    shortest paths in polyhedral spaces", 1986: a shortest path meets a face at most once; from memory).
    """
    if start[0] not in joints.surfaces or goal[0] not in joints.surfaces:
        return None
    search = _Search(joints, goal, max_faces)
    search.go(start[0], start[1], IDENTITY, (start[0],), (), None)
    return search.best


#: The cone of directions still open from the start, as its clockwise and its counter-clockwise side.
Cone = tuple[Point, Point]


class _Search:
    def __init__(self, joints: Joints, goal: tuple[str, Point], max_faces: int) -> None:
        self.joints = joints
        self.goal_surface, self.goal = goal
        self.max_faces = max_faces
        self.best: SurfacePath | None = None
        self.sides = {surface: joints.of(surface) for surface in joints.surfaces}

    def go(
        self,
        surface: str,
        start: Point,
        place: Placement,
        faces: tuple[str, ...],
        gates: tuple[tuple[Segment, Placement], ...],
        cone: Cone | None,
    ) -> None:
        """`place` lays the surface into the plane of the first one; `gates` are the lines passed, laid there, each
        with the place of the surface behind it."""
        if surface == self.goal_surface:
            self._arrive(start, place, faces, gates)
        if len(faces) >= self.max_faces:
            return
        for joint in self.sides[surface]:
            if joint.b in faces:
                continue
            gate = (place.to_sheet(joint.a_line[0]), place.to_sheet(joint.a_line[1]))
            if self.best is not None and nearest_on(gate, start).distance_mm >= self.best.length_mm:
                continue
            narrowed = _narrowed(start, gate, cone)
            if narrowed is False:
                continue
            beyond = _unfolded(joint, place)
            self.go(joint.b, start, beyond, (*faces, joint.b), (*gates, (gate, beyond)), narrowed)

    def _arrive(
        self,
        start: Point,
        place: Placement,
        faces: tuple[str, ...],
        gates: tuple[tuple[Segment, Placement], ...],
    ) -> None:
        end = place.to_sheet(self.goal)
        length = distance_mm(start, end)
        if self.best is not None and length >= self.best.length_mm:
            return
        pieces = []
        here, at, share = IDENTITY, start, 0.0
        for face, (gate, beyond) in zip(faces, gates, strict=False):
            passed = _share(start, end, gate, share)
            if passed is None:
                return
            share = passed
            through = between(start, end, share)
            pieces.append((face, here.to_local(at), here.to_local(through)))
            here, at = beyond, through
        pieces.append((faces[-1], here.to_local(at), here.to_local(end)))
        for face, p, q in pieces:
            if not segment_inside(self.joints.outline(face), self.joints.holes(face), _rounded(p), _rounded(q)):
                return
        self.best = SurfacePath(length, tuple(pieces))


def _unfolded(joint: Joint, place: Placement) -> Placement:
    """The place of the surface beyond a joint, laid flat against this one."""
    return placed_against(joint.b_line, joint.a_line).then(place)


def _rounded(p: Point) -> Point:
    """Off by rounding at an edge is not outside."""
    return round(p[0], 7), round(p[1], 7)


def _narrowed(start: Point, gate: Segment, cone: Cone | None) -> Cone | Literal[False] | None:
    """The directions from `start` through the gate that the cone leaves open; False where none is left.

    None means all: the start lies on the gate, so it may leave it in every direction.
    """
    if nearest_on(gate, start).distance_mm <= SAME_MM:
        return cone
    sides = [(p[0] - start[0], p[1] - start[1]) for p in gate]
    low, high = sides if _turn(*sides) >= 0 else (sides[1], sides[0])
    if cone is None:
        return low, high
    low = cone[0] if _turn(low, cone[0]) > 0 else low
    high = cone[1] if _turn(high, cone[1]) < 0 else high
    slack = SAME_DIRECTION * (abs(low[0]) + abs(low[1])) * (abs(high[0]) + abs(high[1]))
    return (low, high) if _turn(low, high) >= -slack else False


def _turn(a: Point, b: Point) -> float:
    return a[0] * b[1] - a[1] * b[0]


def _share(start: Point, end: Point, gate: Segment, least: float) -> float | None:
    """How far along start-end the gate is passed (0..1, not before `least`); None where it is missed."""
    size, width = distance_mm(start, end), distance_mm(*gate)
    if size <= SAME_MM:
        return least if nearest_on(gate, start).distance_mm <= SAME_MM else None
    before, after = side_of(gate, start) / width, side_of(gate, end) / width
    if abs(before - after) <= SAME_MM:  # along the gate: through it where the way first touches it
        if abs(before) > SAME_MM:
            return None
        shares = sorted(_foot(start, end, p) for p in gate)
        share = max(shares[0], least)
        return share if share <= min(shares[1], 1.0) else None
    share = before / (before - after)
    slack = SAME_MM / size
    if not least - slack <= share <= 1.0 + slack:
        return None
    share = min(max(share, least), 1.0)
    return share if nearest_on(gate, between(start, end, share)).distance_mm <= SAME_MM else None


def _foot(start: Point, end: Point, p: Point) -> float:
    dx, dy = end[0] - start[0], end[1] - start[1]
    return ((p[0] - start[0]) * dx + (p[1] - start[1]) * dy) / (dx * dx + dy * dy)


def surface_path_length(joints: Joints, path: Sequence[tuple[str, Point]], max_faces: int = 4) -> float | None:
    """Length of a polyline whose corners are given as (surface, point).

    Between corners on one surface it is straight. Between two surfaces nothing is added where both are one place, as
    at a fold or seam; else the shortest straight way over at most `max_faces` surfaces counts. None: no such way.
    """
    total = 0.0
    for (surface, p), (next_surface, q) in zip(path, path[1:], strict=False):
        if surface == next_surface:
            total += distance_mm(p, q)
            continue
        spots = (spot for spot in meeting_places(joints, surface, p) if spot.surface == next_surface)
        if any(distance_mm(spot.point, q) <= 1.0 for spot in spots):
            continue
        way = shortest_surface_path(joints, (surface, p), (next_surface, q), max_faces)
        if way is None:
            return None
        total += way.length_mm
    return total
