"""Resize vehicle: the whole body longer, wider or higher at a cut. What lies beyond it moves, what spans it grows.

The body is cut by a plane across the vehicle and pulled apart. Every corner beyond the plane moves by the same
distance, surfaces and folds are derived anew from where their corners come to lie, and everything drawn follows.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan2, degrees, dist
from typing import Any, Literal, NamedTuple

from msgspec.structs import replace

from core.edits.change import get, listed, put_all, refuse, title
from core.edits.network import channel_line
from core.edits.surfaces import propose_seams
from core.geometry.edges import edge_of, line_of, outline_of
from core.geometry.foldout import Layout, Point3, Pose, cross, dot, lay_out, sub
from core.geometry.joints import join
from core.geometry.plane import Polyline, length_mm, nearest_on, point_at
from core.geometry.polygon import is_simple
from core.model import Fold, Inside, Line, OnEdge, OnLine, OnSurface, Plan, Point, Surface

Axis = Literal["length", "width", "height"]
AXES: dict[Axis, int] = {"length": 0, "width": 1, "height": 2}
#: A corner of a surface may stray this far from its plane.
FLAT_MM = 1.0
#: Surfaces that slant across the cut by more than this (sine of the angle) would change their shape: across the length
#: hardly any (a body that narrows to the front), across height and width a wall that leans.
MOST_SLANT = (0.02, 0.35, 0.35)
#: A pose that is off by more than this says that the folds of the body do not follow.
OFF_MM = 1.0
#: What is drawn by an outline or a line, and by which field.
DRAWN = {
    "boxes": "outline",
    "openings": "outline",
    "zones": "outline",
    "panels": "outline",
    "moving_parts": "outline",
    "ribs": "line_mm",
    "metal_edges": "line_mm",
}


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
    cut = _Cut(number, _best_cut(plan, layout, number, by_mm) if at_mm is None else at_mm, by_mm)
    if by_mm < 0:
        _check_room(plan, layout, cut)
    frames = {surface.id: _frame(surface, layout, cut) for surface in plan.surfaces if surface.id in layout.laid}
    work = _Work(plan, layout, cut, frames)
    after = work.surfaces()
    _check_poses(plan, after, work)
    result, grown = work.drawn(put_all(plan, "surfaces", after))
    result, kept = work.network(result)
    return propose_seams(result), Resized(tuple(grown), tuple(kept))


@dataclass(frozen=True, slots=True)
class _Cut:
    """A plane across an axis of the vehicle; what lies beyond it moves."""

    number: int
    at_mm: float
    by_mm: float

    def moved(self, p: Point3) -> Point3:
        if p[self.number] <= self.at_mm:
            return p
        q = list(p)
        q[self.number] += self.by_mm
        return q[0], q[1], q[2]


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


def _check_room(plan: Plan, layout: Layout, cut: _Cut) -> None:
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


def _frame(surface: Surface, layout: Layout, cut: _Cut) -> Pose:
    """Where the surface is after the cut: the same axes where it keeps its plane, else turned as little as it must."""
    pose = layout.pose(surface.id)
    corners = [pose.to_vehicle(corner.at_mm) for corner in surface.corners]
    moved = [cut.moved(p) for p in corners]
    whole = [q[cut.number] - p[cut.number] for p, q in zip(corners, moved, strict=True)]
    if max(whole) - min(whole) < 1e-9:  # as one: on this side of the cut, or beyond it
        origin = list(pose.origin)
        origin[cut.number] += whole[0]
        return Pose((origin[0], origin[1], origin[2]), pose.x_axis, pose.y_axis, pose.normal)
    normal = pose.normal
    slant = abs(normal[cut.number])
    if slant > MOST_SLANT[cut.number]:
        refuse(f"{surface.name} slants across the cut: the body changes its shape there. Cut elsewhere, or redraw it.")
    if slant > 1e-9:
        normal = _unit(_newell(moved))
    off = max(abs(dot(sub(p, moved[0]), normal)) for p in moved)
    if off > FLAT_MM:
        refuse(f"{surface.name} would not stay flat: it slants across the cut. Cut elsewhere, or redraw it.")
    along = dot(pose.x_axis, normal)
    x = _unit((
        pose.x_axis[0] - along * normal[0], pose.x_axis[1] - along * normal[1], pose.x_axis[2] - along * normal[2]
    ))  # fmt: skip
    # The corner nearest to the origin keeps its own millimetres.
    nearest = min(range(len(corners)), key=lambda k: (whole[k] != 0.0, dist(corners[k], pose.origin)))
    y = cross(normal, x)
    px, py = surface.corners[nearest].at_mm
    q = moved[nearest]
    origin3 = (q[0] - px * x[0] - py * y[0], q[1] - px * x[1] - py * y[1], q[2] - px * x[2] - py * y[2])
    return Pose(origin3, x, y, normal)


def _newell(points: Sequence[Point3]) -> Point3:
    total = (0.0, 0.0, 0.0)
    for p, q in zip(points, (*points[1:], points[0]), strict=True):
        c = cross(sub(p, points[0]), sub(q, points[0]))
        total = (total[0] + c[0], total[1] + c[1], total[2] + c[2])
    return total


def _unit(a: Point3) -> Point3:
    size = dot(a, a) ** 0.5
    return a[0] / size, a[1] / size, a[2] / size


class _Work:
    """Carries surfaces, what is drawn on them, and channels over to where they come to lie."""

    def __init__(self, plan: Plan, layout: Layout, cut: _Cut, frames: dict[str, Pose]) -> None:
        self.plan, self.layout, self.cut, self.frames = plan, layout, cut, frames
        self.by_id = {surface.id: surface for surface in plan.surfaces}
        self.after = self.by_id

    def point(self, surface: str, p: Point) -> Point:
        """Where a point of a surface lies afterwards, in its millimetres; itself where nothing changed."""
        if surface not in self.frames:
            return p
        moved = self.cut.moved(self.layout.pose(surface).to_vehicle(p))
        x, y, _ = self.frames[surface].to_local(moved)
        q = (round(x, 4) + 0.0, round(y, 4) + 0.0)
        return p if abs(q[0] - p[0]) < 1e-3 and abs(q[1] - p[1]) < 1e-3 else q

    def points(self, surface: str, line: Sequence[Point]) -> tuple[Point, ...]:
        return tuple(self.point(surface, p) for p in line)

    def along(self, surface: str, edge: str, at_mm: float) -> float:
        """A distance along an edge, afterwards."""
        before, after = edge_of(self.by_id[surface], edge), edge_of(self.after[surface], edge)
        if before is None or after is None:
            return at_mm
        size = dist(*before)
        if at_mm <= 0 or size <= 0:
            return at_mm
        p = point_at(before, at_mm)
        q = self.point(surface, p)
        return at_mm if q == p and before == after else nearest_on(after, q).along_mm

    def surfaces(self) -> tuple[Surface, ...]:
        changed = []
        for surface in self.plan.surfaces:
            if surface.id not in self.frames:
                changed.append(surface)
                continue
            corners = tuple(
                c if (q := self.point(surface.id, c.at_mm)) == c.at_mm else replace(c, at_mm=q)
                for c in surface.corners
            )
            holes = tuple(self.points(surface.id, hole) for hole in surface.holes)
            same = all(a is b for a, b in zip(corners, surface.corners, strict=True)) and holes == surface.holes
            changed.append(surface if same else replace(surface, corners=corners, holes=holes))
            if not is_simple(outline_of(changed[-1])):
                refuse(f"The outline of {surface.name} would cross or touch itself.")
        self.after = {surface.id: surface for surface in changed}
        result = tuple(self._refolded(surface) for surface in changed)
        self.after = {surface.id: surface for surface in result}
        return result

    def line(self, surface: str, line: Line) -> Line:
        if isinstance(line, Inside):
            start, end = self.points(surface, (line.start_mm, line.end_mm))
            return line if (start, end) == (line.start_mm, line.end_mm) else Inside(start_mm=start, end_mm=end)
        low = self.along(surface, line.edge, line.from_mm)
        high = None if line.to_mm is None else self.along(surface, line.edge, line.to_mm)
        return line if (low, high) == (line.from_mm, line.to_mm) else OnEdge(edge=line.edge, from_mm=low, to_mm=high)

    def _refolded(self, surface: Surface) -> Surface:
        fold = surface.fold
        if fold is None or surface.id not in self.frames or fold.parent not in self.frames:
            return surface
        line, onto = self.line(surface.id, fold.line), self.line(fold.parent, fold.parent_line)
        new = self._fold(surface, replace(fold, line=line, parent_line=onto))
        return surface if new == fold else replace(surface, fold=new)

    def _fold(self, surface: Surface, fold: Fold) -> Fold:
        """Angle and shift from where both come to lie; those it has stay where they hold."""
        own, onto = line_of(surface, fold.line), line_of(self.after[fold.parent], fold.parent_line)
        if own is None or onto is None:
            refuse(f"The fold of {surface.name} would have no length left.")
        pose, parent = self.frames[surface.id], self.frames[fold.parent]
        start = parent.to_vehicle(onto[0])
        u = _unit(sub(parent.to_vehicle(onto[1]), start))
        leaves = cross(pose.normal, _unit(sub(pose.to_vehicle(own[1]), pose.to_vehicle(own[0]))))
        fold_deg = degrees(atan2(dot(leaves, parent.normal), dot(leaves, cross(u, parent.normal))))
        shift = dot(sub(pose.to_vehicle(own[1]), start), u)
        same_turn = abs((fold_deg - fold.fold_deg + 180.0) % 360.0 - 180.0) < 1e-4
        return replace(
            fold,
            fold_deg=fold.fold_deg if same_turn else round(fold_deg, 6),
            shift_mm=fold.shift_mm if abs(shift - fold.shift_mm) < 1e-3 else round(shift, 4),
        )

    def drawn(self, plan: Plan) -> tuple[Plan, list[str]]:
        """What is drawn on surfaces, carried along; the names of what grew."""
        grown = []
        for collection, field in DRAWN.items():
            changed = []
            for record in getattr(plan, collection):
                points = self.points(record.surface, getattr(record, field))
                more: dict[str, Any] = {}
                if collection == "moving_parts" and record.axis_mm is not None:
                    more["axis_mm"] = self.points(record.surface, record.axis_mm)
                if points != getattr(record, field):
                    if abs(length_mm(points) - length_mm(getattr(record, field))) > 0.01 and collection != "ribs":
                        grown.append(record.name or title(collection, record))
                    changed.append(replace(record, **{field: points}, **more))
                else:
                    changed.append(record)
            plan = put_all(plan, collection, changed)
        plan = self._placed(plan, "devices", "surface", ("at_mm",))
        plan = self._placed(plan, "earth_points", "surface", ("at_mm",))
        plan = self._placed(plan, "pictures", "surface", ("at_mm",))
        plan = self._placed(plan, "dimensions", "surface", ("from_mm", "to_mm"))
        plan = self._placed(plan, "penetrations", "a", ("a_mm",))
        plan = self._placed(plan, "penetrations", "b", ("b_mm",))
        seams = []
        for seam in plan.seams:
            a, b = self.line(seam.a, seam.a_line), self.line(seam.b, seam.b_line)
            seams.append(seam if a == seam.a_line and b == seam.b_line else replace(seam, a_line=a, b_line=b))
        return put_all(plan, "seams", seams), grown

    def _placed(self, plan: Plan, collection: str, on: str, fields: Sequence[str]) -> Plan:
        changed = []
        for record in getattr(plan, collection):
            surface = getattr(record, on, None)
            new = {} if surface is None else {field: self.point(surface, getattr(record, field)) for field in fields}
            same = all(value == getattr(record, field) for field, value in new.items())
            changed.append(record if same else replace(record, **new))
        return put_all(plan, collection, changed)

    def network(self, plan: Plan) -> tuple[Plan, list[str]]:
        """Nodes and channels carried along, and what lies on channels; names of those with typed lengths."""
        joints = join(self.plan.surfaces, self.plan.seams)
        before = {c.id: channel_line(self.plan, joints, c) for c in self.plan.channels}
        for collection in ("nodes", "splices", "connectors"):
            plan = put_all(plan, collection, (self._node(record) for record in getattr(plan, collection)))
        channels = []
        for channel in plan.channels:
            via = () if channel.surface is None else self.points(channel.surface, channel.via_mm)
            channels.append(channel if via == channel.via_mm else replace(channel, via_mm=via))
        plan = put_all(plan, "channels", channels)
        joints = join(plan.surfaces, plan.seams)
        after = {c.id: channel_line(plan, joints, c) for c in plan.channels}
        kept = []
        for channel in plan.channels:
            old, new = before[channel.id], after[channel.id]
            if old is None or new is None or abs(length_mm(old) - length_mm(new)) < 0.01:
                continue
            if channel.wires != "planned":
                refuse(f"The wires in {title('channels', channel)} are {channel.wires}; its length does not change.")
            if channel.measured_mm is not None:
                kept.append(channel.name or title("channels", channel))
        for collection in ("securing_points", "pass_throughs"):
            rows = [
                self._slid(record, get(plan, "channels", record.channel).surface, before, after)
                for record in getattr(plan, collection)
            ]
            plan = put_all(plan, collection, rows)
        return plan, kept

    def _node(self, record: Any) -> Any:
        place = record.place
        if isinstance(place, OnSurface):
            at = self.point(place.surface, place.at_mm)
            return record if at == place.at_mm else replace(record, place=replace(place, at_mm=at))
        if isinstance(place, OnLine):
            at_mm = self.along(place.surface, place.edge, place.at_mm)
            return record if at_mm == place.at_mm else replace(record, place=replace(place, at_mm=at_mm))
        return record

    def _slid(
        self, record: Any, surface: str | None, before: dict[str, Polyline | None], after: dict[str, Polyline | None]
    ) -> Any:
        """Something on a channel keeps its place on the surface, not its distance from the channel's start."""
        old, new = before[record.channel], after[record.channel]
        if old is None or new is None or surface is None or old == new:
            return record
        at_mm = nearest_on(new, self.point(surface, point_at(old, record.at_mm))).along_mm
        return record if abs(at_mm - record.at_mm) < 1e-3 else replace(record, at_mm=at_mm)


def _check_poses(plan: Plan, after: Sequence[Surface], work: _Work) -> None:
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
