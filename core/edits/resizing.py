"""Resize vehicle: the whole body longer, wider or higher at a cut. What lies beyond it moves, what spans it grows.

The body is cut by a plane across the vehicle and pulled apart. Every corner beyond the plane moves by the same
distance, surfaces and folds are derived anew from where their corners come to lie, and everything drawn follows.
"""

from collections.abc import Sequence
from math import dist
from typing import Literal, NamedTuple

from core.edits.change import listed, put_all, refuse, title
from core.edits.stretching import DRAWN, Carrier, Cut, frame_of
from core.edits.surfaces import propose_seams
from core.geometry.foldout import Layout, Point3, lay_out
from core.model import Plan, Surface

Axis = Literal["length", "width", "height"]
AXES: dict[Axis, int] = {"length": 0, "width": 1, "height": 2}
#: A pose that is off by more than this says that the folds of the body do not follow.
OFF_MM = 1.0


class Resized(NamedTuple):
    """What became longer with the body, and what was typed from the tape and stays as it is."""

    grown: tuple[str, ...]
    kept: tuple[str, ...]

    def __str__(self) -> str:
        parts = []
        if self.grown:
            parts.append(f"Grown along: {listed(self.grown)}.")
        if self.kept:
            parts.append(f"Typed lengths stay: {listed(self.kept)}.")
        return " ".join(parts)


def body_size_mm(plan: Plan) -> dict[Axis, float]:
    """Length, width and height over all of the folded-up body (insides and what hangs on the floor)."""
    layout = lay_out(plan.surfaces)
    points = _body_points(plan, layout)
    if not points:
        return {"length": 0.0, "width": 0.0, "height": 0.0}
    return {name: max(p[i] for p in points) - min(p[i] for p in points) for name, i in AXES.items()}


def resize_body(plan: Plan, axis: Axis, size_mm: float, at_mm: float | None = None) -> tuple[Plan, Resized]:
    """Resize body to a length, width or height over all.

    `at_mm` is where it is cut, in mm of the vehicle from the front, the left or the floor. Without it the cut goes
    where it meets the least, near the middle; a width is shared out on both sides of the middle.
    """
    now = body_size_mm(plan)[axis]
    if now <= 0:
        refuse("There is no body to resize yet.")
    if not size_mm > 0:
        refuse(f"A vehicle has a {axis} of more than 0 mm; {size_mm:g} mm is not.")
    if axis != "width" or at_mm is not None:
        return stretch(plan, axis, size_mm - now, at_mm)
    layout = lay_out(plan.surfaces)
    values = [p[1] for p in _body_points(plan, layout)]
    middle = (min(values) + max(values)) / 2
    half = (size_mm - now) / 2
    right = _best_cut(plan, layout, 1, half, middle)
    plan, first = stretch(plan, axis, half, right)
    left = 2 * middle - right - max(-half, 0.0)
    plan, second = stretch(plan, axis, half, left)
    return plan, Resized(
        tuple(dict.fromkeys((*first.grown, *second.grown))), tuple(dict.fromkeys((*first.kept, *second.kept)))
    )


def stretch(plan: Plan, axis: Axis, by_mm: float, at_mm: float | None = None) -> tuple[Plan, Resized]:
    """Stretch body by a distance (shorten it, where negative) at a plane across the vehicle.

    Refuses where a surface would get no room, where pulled wires would change, or where folds do not follow.
    """
    if abs(by_mm) < 1e-9:
        return plan, Resized((), ())
    layout = lay_out(plan.surfaces)
    number = AXES[axis]
    cut = Cut(number, _best_cut(plan, layout, number, by_mm) if at_mm is None else at_mm, by_mm)
    if by_mm < 0:
        _check_room(plan, layout, cut)
    frames = {surface.id: frame_of(surface, layout, cut) for surface in plan.surfaces if surface.id in layout.laid}
    work = Carrier(plan, layout, cut, frames)
    after = work.surfaces()
    _check_poses(plan, after, work)
    result, grown = work.drawn(put_all(plan, "surfaces", after))
    result, kept = work.network(result)
    return propose_seams(result), Resized(tuple(grown), tuple(kept))


def _body_points(plan: Plan, layout: Layout) -> list[Point3]:
    return [
        layout.pose(surface.id).to_vehicle(corner.at_mm)
        for surface in plan.surfaces
        if layout.root is not None and layout.joined(surface.id, layout.root) and surface.side == "inside"
        for corner in surface.corners
    ]


def _best_cut(plan: Plan, layout: Layout, number: int, by_mm: float, above_mm: float | None = None) -> float:
    """Of the places between all corners the one whose plane meets the fewest drawn things; of equals the middle one.

    For shortening only places with so much room; `above_mm` leaves only those beyond it.
    """
    points = _body_points(plan, layout)
    low, high = min(p[number] for p in points), max(p[number] for p in points)
    spans: list[tuple[float, float]] = []
    marks = {low, high, *(round(p[number], 3) for p in points)}
    for collection, field in DRAWN.items():
        for record in getattr(plan, collection):
            if record.surface in layout.laid and collection != "moving_parts":
                pose = layout.pose(record.surface)
                values = [pose.to_vehicle(p)[number] for p in getattr(record, field)]
                marks |= {round(min(values), 3), round(max(values), 3)}
                if collection != "ribs":
                    spans.append((min(values), max(values)))
    for surface in plan.surfaces:
        if surface.id in layout.laid:
            pose = layout.pose(surface.id)
            values = [pose.to_vehicle(c.at_mm)[number] for c in surface.corners]
            if surface.role in ("arch", "face") or abs(pose.normal[number]) > 1e-6:
                spans.append((min(values), max(values)))
    floor = low if above_mm is None else above_mm
    room = max(-by_mm, 0.0)
    places = sorted(mark for mark in {*marks, floor} if floor <= mark <= high)
    middles = [(a + b - room) / 2 for a, b in zip(places, places[1:], strict=False) if b - a > 1.0 + room]
    middle = (floor + high) / 2
    return min(
        middles or [middle],
        key=lambda at: (sum(a < at + room and at < b for a, b in spans), abs(at + room / 2 - middle)),
    )


def _check_room(plan: Plan, layout: Layout, cut: Cut) -> None:
    """Shortening takes away a slice: no corner and nothing drawn may lie in it, or it would be turned inside out."""
    low, high = cut.at_mm, cut.at_mm - cut.by_mm
    for surface in plan.surfaces:
        if surface.id in layout.laid:
            pose = layout.pose(surface.id)
            if any(low < pose.to_vehicle(corner.at_mm)[cut.number] < high - 1e-6 for corner in surface.corners):
                refuse(f"A slice of {-cut.by_mm:,.0f} mm at {cut.at_mm:,.0f} mm cannot go: {surface.name} ends in it.")
    for collection, field in DRAWN.items():
        for record in getattr(plan, collection):
            if record.surface in layout.laid:
                pose = layout.pose(record.surface)
                if any(low < pose.to_vehicle(p)[cut.number] < high - 1e-6 for p in getattr(record, field)):
                    refuse(
                        f"A slice of {-cut.by_mm:,.0f} mm at {cut.at_mm:,.0f} mm cannot go: "
                        f"the {title(collection, record)} lies in it."
                    )


def _check_poses(plan: Plan, after: Sequence[Surface], work: Carrier) -> None:
    """The folds must bring every corner where the cut moved it."""
    layout = lay_out(after)
    for surface in plan.surfaces:
        if surface.id not in layout.laid or surface.id not in work.frames:
            continue
        pose, new = work.layout.pose(surface.id), layout.pose(surface.id)
        for corner, moved in zip(surface.corners, work.after[surface.id].corners, strict=True):
            wanted = work.cut.moved(pose.to_vehicle(corner.at_mm))
            if dist(new.to_vehicle(moved.at_mm), wanted) > OFF_MM:
                refuse(f"{surface.name} does not follow: it is folded to what lies on the other side of the cut.")
