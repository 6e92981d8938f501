"""A surface as somebody sees it who stands in front of it: turned upright, with two edges to measure from.

A surface is drawn as seen from the room side, so a view only turns it: what is right of a door's edge on the wall is
right of it on paper, by the same millimetres.
"""

from dataclasses import dataclass
from math import atan2, degrees, hypot
from typing import Literal

from core.geometry.edges import outline_of
from core.geometry.foldout import Pose
from core.geometry.plane import Placement, Point, Polyline
from core.model import Surface

#: A surface whose steepest way leaves the level by less than this (its sine) is looked at like a floor.
LEVEL_SINE = 0.35
#: An edge is upright or level when it leaves that by less than this over its length (its sine).
STRAIGHT_SINE = 0.02
#: An edge this much shorter than the longest one can still be measured from, where it lies on the better side.
GOOD_ENOUGH = 0.5

Way = Literal["left", "right", "down", "up"]
#: Words for the ways of the vehicle's axes: x to the rear, y to the vehicle's right, z up.
AXES = (("rear", "front"), ("vehicle right", "vehicle left"), ("upper", "lower"))


@dataclass(frozen=True, slots=True)
class Datum:
    """A fixed face to measure from: the line x = `at_mm` (letter A) or y = `at_mm` (letter B) of the view.

    `straight` is False where no edge runs along that line and only a corner touches it.
    """

    letter: Literal["A", "B"]
    at_mm: float
    name: str
    straight: bool


@dataclass(frozen=True, slots=True)
class Upright:
    """A surface turned upright. `sides` says which side of the vehicle the left, right, lower and upper end is."""

    place: Placement
    outline: Polyline
    sides: dict[Way, str]
    a: Datum
    b: Datum

    def to_view(self, p: Point) -> Point:
        return self.place.to_sheet(p)

    def measured(self, p: Point) -> tuple[float, float]:
        """Distances of a point of the surface from both datums, as the tape gives them (never negative)."""
        x, y = self.to_view(p)
        return abs(x - self.a.at_mm), abs(y - self.b.at_mm)


def upright(surface: Surface, pose: Pose) -> Upright:
    """The view of a surface. Walls have the vehicle's upper end up, level surfaces its rear at the right."""
    return upright_part(outline_of(surface), pose)


def upright_part(outline_mm: Polyline, pose: Pose) -> Upright:
    """The same view with the datums of a part of the surface, a panel: `outline_mm` in the surface's millimetres."""
    across, along = pose.x_axis, pose.y_axis
    rise = (across[2], along[2])
    level = hypot(*rise) < LEVEL_SINE
    towards = (across[0], along[0]) if level else rise
    turn = (0.0 if level else 90.0) - degrees(atan2(towards[1], towards[0])) if hypot(*towards) > 1e-9 else 0.0
    near = round(turn / 90.0) * 90.0
    place = Placement.turned(0.0, 0.0, near if abs(turn - near) < 1e-6 else turn)
    outline = place.line_to_sheet(outline_mm)
    sides = _sides(pose, place)
    return Upright(place, outline, sides, _datum_a(outline, sides), _datum_b(outline, sides))


def _sides(pose: Pose, place: Placement) -> dict[Way, str]:
    """The vehicle's word for each way of the view."""
    found: dict[Way, str] = {}
    ways: tuple[tuple[Way, Point], ...] = (("left", (-1, 0)), ("right", (1, 0)), ("down", (0, -1)), ("up", (0, 1)))
    for way, (dx, dy) in ways:
        # The way of the paper in the surface's own axes: the placement turned back.
        local = (dx * place.cos + dy * place.sin, -dx * place.sin + dy * place.cos)
        vector = [local[0] * a + local[1] * b for a, b in zip(pose.x_axis, pose.y_axis, strict=True)]
        axis = max(range(3), key=lambda index: abs(vector[index]))
        found[way] = AXES[axis][0 if vector[axis] > 0 else 1]
    return found


def _datum_a(outline: Polyline, sides: dict[Way, str]) -> Datum:
    """The front end where there is one, otherwise the left one."""
    left = sides["right"] != "front"
    at, straight = _face(outline, 0, low=left)
    return Datum("A", at, f"{sides['left' if left else 'right']} edge", straight)


def _datum_b(outline: Polyline, sides: dict[Way, str]) -> Datum:
    """The lower end: nearest to the floor, or to the person."""
    at, straight = _face(outline, 1, low=True)
    return Datum("B", at, f"{sides['down']} edge", straight)


def _face(outline: Polyline, axis: int, low: bool) -> tuple[float, bool]:
    """Where a long straight edge across `axis` lies, the outermost of the good ones on the wanted side."""
    edges = []
    for p, q in zip(outline, (*outline[1:], *outline[:1]), strict=True):
        size = hypot(q[0] - p[0], q[1] - p[1])
        if size > 0 and abs(q[axis] - p[axis]) <= STRAIGHT_SINE * size:
            edges.append((size, (p[axis] + q[axis]) / 2))
    ends = [p[axis] for p in outline]
    outermost = min(ends) if low else max(ends)
    middle = (min(ends) + max(ends)) / 2
    here = [(size, at) for size, at in edges if (at <= middle) == low]
    if not here:
        return outermost, False
    longest = max(size for size, _ in here)
    good = [at for size, at in here if size >= GOOD_ENOUGH * longest]
    return (min(good) if low else max(good)), True
