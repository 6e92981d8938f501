"""A line drawn on the sheet, cut where it passes folds and seams into pieces on surfaces.

Across a fold whose two surfaces lie side by side on the sheet the line goes on at once. At a seam it stops, and
`goes_on` says at which place of which surface it continues. Where it leaves every surface it stops at the edge.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

from core.geometry.foldout import Layout
from core.geometry.joints import Joints, Meeting, across, may_pass
from core.geometry.plane import SAME_MM, Point, Polyline, between, crossings, distance_mm, length_mm
from core.geometry.polygon import inside, point_in, ring

#: How far ahead of an edge one looks for the surface that lies beyond it.
AHEAD_MM = 0.01
#: The two sides of a joint lie on each other on the sheet when they are this near.
SIDE_BY_SIDE_MM = 0.5


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece of the line: its surface, its points there, and the folds or seams it came by and leaves by."""

    surface: str
    points: Polyline
    via_in: str | None
    via_out: str | None


@dataclass(frozen=True, slots=True)
class StrokePieces:
    """`message` is empty where the whole line was used; else it says where it stopped and why."""

    pieces: tuple[Piece, ...]
    goes_on: tuple[Meeting, ...]
    message: str


def true_length_mm(pieces: Sequence[Piece]) -> float:
    return sum(length_mm(piece.points) for piece in pieces)


def surfaces_at(joints: Joints, layout: Layout, p: Point) -> tuple[str, ...]:
    """The surfaces under a point of the sheet, edges included; surfaces apart lie on top and come first."""
    found = [
        laid.surface for laid in layout.laid.values() if point_in(joints.outline(laid.surface), laid.place.to_local(p))
    ]
    return tuple(sorted(found, key=lambda surface: not layout.laid[surface].apart))


def cut_stroke(
    joints: Joints, layout: Layout, points_on_sheet: Sequence[Point], start_surface: str | None = None
) -> StrokePieces:
    """Cut a polyline given in millimetres of the sheet.

    `start_surface` settles where it starts when surfaces lie on each other there; else the one on top that the first
    step enters is taken. The last point may lie on a joint: then `goes_on` names its places on the neighbours too.
    """
    points = [p for p, before in zip(points_on_sheet, (None, *points_on_sheet), strict=False) if p != before]
    if not points:
        return StrokePieces((), (), "Nothing was drawn.")
    here = start_surface if start_surface in layout.laid else _start(joints, layout, points)
    if here is None:
        return StrokePieces((), (), "The line starts outside every surface.")
    return _Walk(joints, layout, points, here).run()


def _start(joints: Joints, layout: Layout, points: Sequence[Point]) -> str | None:
    """The surface under the first point; at an edge the one that the line enters."""
    under = surfaces_at(joints, layout, points[0])
    if len(points) > 1:
        for surface in under:
            if _enters(joints, layout, surface, points[0], points[1]):
                return surface
    return under[0] if under else None


def _enters(joints: Joints, layout: Layout, surface: str, p: Point, q: Point) -> bool:
    """True where a step from p towards q, both of the sheet, lies on the surface."""
    size = distance_mm(p, q)
    if size <= SAME_MM:
        return False
    place = layout.place(surface)
    step = place.to_local(between(p, q, min(AHEAD_MM / size, 1.0)))
    return inside(joints.outline(surface), joints.holes(surface), step)


class _Walk:
    """Follows the line over the surfaces; `todo` are the points of the sheet still to be reached."""

    def __init__(self, joints: Joints, layout: Layout, points: Sequence[Point], start: str) -> None:
        self.joints = joints
        self.layout = layout
        self.todo = list(points[1:])
        self.surface = start
        self.drawn = [layout.place(start).to_local(points[0])]
        self.via_in: str | None = None
        self.pieces: list[Piece] = []
        #: Surfaces entered since the line last got on: it must not be handed round in a circle at one corner.
        self.tried: set[str] = {start}

    def run(self) -> StrokePieces:
        while self.todo:
            goal = self.layout.place(self.surface).to_local(self.todo[0])
            stop = self._last_inside(self.drawn[-1], goal)
            if stop is None:
                self.drawn.append(goal)
                self.todo.pop(0)
                self.tried = {self.surface}
                continue
            if distance_mm(stop, self.drawn[-1]) > SAME_MM:
                self.drawn.append(stop)
                self.tried = {self.surface}
            meetings = across(self.joints, self.surface, stop)
            onward = self._onward(stop, meetings)
            if onward is None:
                return self._stopped(stop, meetings)
            self._close(onward.via)
            self.via_in, self.surface, self.drawn = onward.via, onward.surface, [onward.point]
            self.tried.add(onward.surface)
        meetings = across(self.joints, self.surface, self.drawn[-1])
        self._close(None)
        return StrokePieces(tuple(self.pieces), meetings, "")

    def _last_inside(self, p: Point, q: Point) -> Point | None:
        """Where the way from p to q first leaves the surface; None where it never does."""
        size = distance_mm(p, q)
        if size <= SAME_MM:
            return None
        outline, holes = self.joints.outline(self.surface), self.joints.holes(self.surface)
        marks = {0.0, size}
        for edge in (outline, *holes):
            marks.update(crossing.a_mm for crossing in crossings((p, q), ring(edge)))
        places = sorted(marks)
        for low, high in zip(places, places[1:], strict=False):
            if high - low > SAME_MM and not inside(outline, holes, between(p, q, (low + high) / 2 / size)):
                return between(p, q, low / size)
        return None

    def _onward(self, stop: Point, meetings: Sequence[Meeting]) -> Meeting | None:
        """The neighbour that lies beyond the edge on the sheet, so that the drawn line simply goes on."""
        at = self.layout.place(self.surface).to_sheet(stop)
        best, nearest = None, inf
        # Where four surfaces meet in a corner the one beyond it is two joints away.
        further = [m for near in meetings if may_pass(near) for m in across(self.joints, near.surface, near.point)]
        for meeting in (*meetings, *further):
            if meeting.surface in self.tried or meeting.surface not in self.layout.laid or not may_pass(meeting):
                continue
            away = distance_mm(self.layout.place(meeting.surface).to_sheet(meeting.point), at)
            if away < min(nearest, SIDE_BY_SIDE_MM) and _enters(
                self.joints, self.layout, meeting.surface, at, self.todo[0]
            ):
                best, nearest = meeting, away
        return best

    def _close(self, via_out: str | None) -> None:
        if length_mm(self.drawn) > SAME_MM:
            self.pieces.append(Piece(self.surface, tuple(self.drawn), self.via_in, via_out))

    def _stopped(self, stop: Point, meetings: tuple[Meeting, ...]) -> StrokePieces:
        surface = self.joints.surface(self.surface)
        self._close(None)
        barred = [meeting for meeting in meetings if not may_pass(meeting)]
        if any(point_in(hole, stop) for hole in surface.holes):
            message = f"Stops at a hole in {surface.name}."
        elif meetings and len(barred) == len(meetings):
            other = self.joints.surface(barred[0].surface).name
            reason = (
                "only a moving joint may pass there, and none is set"
                if barred[0].passage == "moving_joint"
                else "no wire may pass there"
            )
            message = f"Stops at the edge between {surface.name} and {other}: {reason}."
        elif meetings:
            names = " and ".join(dict.fromkeys(self.joints.surface(m.surface).name for m in meetings if may_pass(m)))
            message = f"Stops at the edge of {surface.name}; it goes on at {names}, which is drawn elsewhere."
        else:
            message = f"Stops at the edge of {surface.name}: no fold or seam joins it to another surface there."
        return StrokePieces(tuple(self.pieces), meetings, message)
