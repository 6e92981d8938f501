"""Where surfaces meet: folds and seams seen alike, and where a point of one surface lies on the others.

A joint is two equally long lines that run against each other: what lies `d` mm after the start of one lies `d` mm
before the end of the other. Lengths alone count here, so a seam that does not close maps true to the tape.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from types import MappingProxyType
from typing import Literal

from core.geometry.edges import line_of, outline_of, point_on_edge
from core.geometry.plane import SAME_MM, Point, Segment, between, distance_mm
from core.model import InPenetration, OnSurface, Penetration, Place, Seam, Surface
from core.model.body import Passage

#: A point this near to a joint's line lies on it.
ON_LINE_MM = 0.5
#: Seams whose lengths differ a little give two images of one place; nearer than this they are one.
SAME_PLACE_MM = 10.0
#: More surfaces than this meet in no point of a vehicle; stops seams that wind like a staircase.
MOST_PLACES = 64
NO_PENETRATIONS: Mapping[str, Penetration] = MappingProxyType({})


def length_tolerance_mm(length_mm: float) -> float:
    """How much the two lines of a seam may differ: 5 mm, or 0.5 % where that is more (tape and sheet metal)."""
    return max(5.0, 0.005 * length_mm)


@dataclass(frozen=True, slots=True)
class Joint:
    """Two surfaces that meet. `via` is the child's id for a fold, the seam's id for a seam.

    `slack_mm` is what one of the lines is longer than the other, past the end of a's stretch (positive, a is longer)
    or before the start of b's (negative); points there belong to the stretch's end.
    """

    via: str
    kind: Literal["fold", "seam"]
    a: str
    a_line: Segment
    b: str
    b_line: Segment
    passage: Passage
    joint: str | None
    slack_mm: float = 0.0

    def turned(self) -> "Joint":
        """The same joint seen from b, without its slack."""
        return replace(self, a=self.b, a_line=self.b_line, b=self.a, b_line=self.a_line, slack_mm=0.0)


@dataclass(frozen=True, slots=True)
class Meeting:
    """The place of a point on a neighbouring surface, and the fold or seam by which it is reached."""

    surface: str
    point: Point
    via: str
    kind: Literal["fold", "seam"]
    passage: Passage
    joint: str | None


@dataclass(frozen=True, slots=True)
class Spot:
    """A point of a surface, in that surface's millimetres."""

    surface: str
    point: Point


@dataclass(frozen=True)
class Joints:
    """All joints of a plan, ready to be asked by surface. A value: make a new one when the surfaces change."""

    surfaces: Mapping[str, Surface]
    all: tuple[Joint, ...]

    @cached_property
    def _by_surface(self) -> dict[str, tuple[tuple[Joint, bool], ...]]:
        """Joint and whether this surface is its a side."""
        found: dict[str, list[tuple[Joint, bool]]] = {}
        for joint in self.all:
            found.setdefault(joint.a, []).append((joint, True))
            found.setdefault(joint.b, []).append((joint, False))
        return {surface: tuple(sides) for surface, sides in found.items()}

    def of(self, surface: str) -> tuple[Joint, ...]:
        """The joints of a surface, each seen from it: the surface is `a`."""
        return tuple(joint if first else joint.turned() for joint, first in self.sides(surface))

    def sides(self, surface: str) -> tuple[tuple[Joint, bool], ...]:
        return self._by_surface.get(surface, ())

    def surface(self, surface: str) -> Surface:
        return self.surfaces[surface]

    def outline(self, surface: str) -> tuple[Point, ...]:
        return outline_of(self.surfaces[surface])

    def holes(self, surface: str) -> tuple[tuple[Point, ...], ...]:
        return self.surfaces[surface].holes

    def plus(self, joint: Joint) -> "Joints":
        return Joints(self.surfaces, (*self.all, joint))


def join(surfaces: Sequence[Surface], seams: Sequence[Seam]) -> Joints:
    """The joints of all folds and seams; what has a missing surface or line is left out."""
    by_id = {surface.id: surface for surface in surfaces}
    joints = [fold_joint(surface, by_id) for surface in by_id.values()]
    joints += [seam_joint(seam, by_id) for seam in seams]
    return Joints(by_id, tuple(joint for joint in joints if joint is not None))


def fold_joint(child: Surface, by_id: Mapping[str, Surface]) -> Joint | None:
    """The stretch that parent and child share. A child shifted or longer than its line hangs over, unjoined."""
    fold = child.fold
    if fold is None or fold.parent not in by_id:
        return None
    onto, line = line_of(by_id[fold.parent], fold.parent_line), line_of(child, fold.line)
    if onto is None or line is None:
        return None
    size_a, size_b, shift = distance_mm(*onto), distance_mm(*line), fold.shift_mm
    low, high = max(0.0, shift), min(size_a, shift + size_b)
    if high - low <= SAME_MM:
        return None
    a_line = (between(*onto, low / size_a), between(*onto, high / size_a))
    b_line = (between(*line, 1.0 - (high - shift) / size_b), between(*line, 1.0 - (low - shift) / size_b))
    return Joint(child.id, "fold", fold.parent, a_line, child.id, b_line, fold.passage, fold.joint)


def seam_joint(seam: Seam, by_id: Mapping[str, Surface]) -> Joint | None:
    """The joint of a seam, from the start of its first line on as far as both lines reach."""
    if seam.a not in by_id or seam.b not in by_id:
        return None
    a_line, b_line = line_of(by_id[seam.a], seam.a_line), line_of(by_id[seam.b], seam.b_line)
    if a_line is None or b_line is None:
        return None
    size_a, size_b = distance_mm(*a_line), distance_mm(*b_line)
    size = min(size_a, size_b)
    more = size_a - size_b
    a_line = (a_line[0], between(*a_line, size / size_a) if more > 0 else a_line[1])
    b_line = (between(*b_line, 1.0 - size / size_b) if more < 0 else b_line[0], b_line[1])
    slack = more if abs(more) <= length_tolerance_mm(max(size_a, size_b)) else 0.0
    return Joint(seam.id, "seam", seam.a, a_line, seam.b, b_line, seam.passage, seam.joint, slack)


def may_pass(where: Joint | Meeting) -> bool:
    """A bundle may pass here: freely, or over a moving joint that is named."""
    return where.passage == "free" or (where.passage == "moving_joint" and where.joint is not None)


def _image(joint: Joint, first: bool, p: Point) -> Point | None:
    """Where p of one side lies on the other; None where p is not on the joint."""
    here, there = (joint.a_line, joint.b_line) if first else (joint.b_line, joint.a_line)
    (ax, ay), (bx, by) = here
    dx, dy = bx - ax, by - ay
    square = dx * dx + dy * dy
    t = ((p[0] - ax) * dx + (p[1] - ay) * dy) / square
    off = abs((p[0] - ax) * dy - (p[1] - ay) * dx)
    if off > ON_LINE_MM * square**0.5:
        return None
    past = ON_LINE_MM / square**0.5
    more = joint.slack_mm / square**0.5
    # The longer line's rest lies past the end of a, or before the start of b.
    low = -past - (max(-more, 0.0) if not first else 0.0)
    high = 1.0 + past + (max(more, 0.0) if first else 0.0)
    if not low <= t <= high:
        return None
    return between(there[1], there[0], min(max(t, 0.0), 1.0))


def across(joints: Joints, surface: str, p: Point) -> tuple[Meeting, ...]:
    """Where a point of a surface lies on its neighbours, by each fold or seam on whose line it is."""
    found = []
    for joint, first in joints.sides(surface):
        point = _image(joint, first, p)
        if point is not None:
            other = joint.b if first else joint.a
            found.append(Meeting(other, point, joint.via, joint.kind, joint.passage, joint.joint))
    return tuple(found)


def meeting_places(joints: Joints, surface: str, p: Point) -> tuple[Spot, ...]:
    """Every place where a point of a surface lies, itself first, then by folds and seams in both directions and on
    round corners. Places of one surface nearer than 10 mm count as one: the one reached first, over folds where
    possible."""
    found = [Spot(surface, p)]
    index = 0
    while index < len(found) and len(found) < MOST_PLACES:
        here = found[index]
        index += 1
        for meeting in sorted(across(joints, here.surface, here.point), key=lambda m: m.kind):
            known = any(
                spot.surface == meeting.surface and distance_mm(spot.point, meeting.point) < SAME_PLACE_MM
                for spot in found
            )
            if not known:
                found.append(Spot(meeting.surface, meeting.point))
    return tuple(found)


def node_places(
    joints: Joints, place: Place, penetrations: Mapping[str, Penetration] = NO_PENETRATIONS
) -> tuple[Spot, ...]:
    """Every surface and point where a node lies; none where its surface, edge or penetration is missing.

    A node in a penetration lies on both surfaces that the hole joins.
    """
    if isinstance(place, InPenetration):
        hole = penetrations.get(place.penetration)
        if hole is None:
            return ()
        ends = ((hole.a, hole.a_mm), (hole.b, hole.b_mm))
        spots = (spot for end in ends if end[0] in joints.surfaces for spot in meeting_places(joints, *end))
        return tuple(dict.fromkeys(spots))
    if place.surface not in joints.surfaces:
        return ()
    if isinstance(place, OnSurface):
        return meeting_places(joints, place.surface, place.at_mm)
    point = point_on_edge(joints.surfaces[place.surface], place.edge, place.at_mm)
    return () if point is None else meeting_places(joints, place.surface, point)


def point_on(
    joints: Joints,
    place: Place,
    surface: str,
    near: Point | None = None,
    penetrations: Mapping[str, Penetration] = NO_PENETRATIONS,
) -> Point | None:
    """Where a node lies on one given surface; of several such places the one nearest to `near`. None: not there."""
    spots = [spot.point for spot in node_places(joints, place, penetrations) if spot.surface == surface]
    if not spots:
        return None
    return spots[0] if near is None else min(spots, key=lambda q: distance_mm(q, near))
