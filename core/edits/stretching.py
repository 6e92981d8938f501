"""What a cut through the body does to every record: surfaces, folds, what is drawn, channels. Used by `resizing`."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan2, degrees, dist
from typing import Any

from msgspec.structs import replace

from core.edits.change import get, put_all, refuse, title
from core.edits.network import channel_line
from core.geometry.edges import edge_of, line_of, outline_of
from core.geometry.foldout import Layout, Point3, Pose, cross, dot, sub
from core.geometry.joints import join
from core.geometry.plane import Polyline, length_mm, nearest_on, point_at
from core.geometry.polygon import is_simple
from core.model import Fold, Inside, Line, OnEdge, OnLine, OnSurface, Plan, Point, Surface

#: A corner of a surface may stray this far from its plane.
FLAT_MM = 1.0
#: Surfaces that slant across the cut by more than this (sine of the angle) would change their shape: across the length
#: hardly any (a body that narrows to the front), across height and width a wall that leans.
MOST_SLANT = (0.02, 0.35, 0.35)
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


@dataclass(frozen=True, slots=True)
class Cut:
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


def frame_of(surface: Surface, layout: Layout, cut: Cut) -> Pose:
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


class Carrier:
    """Carries surfaces, what is drawn on them, and channels over to where they come to lie.

    `surfaces` goes first: the rest is told by the surfaces as they are afterwards.
    """

    def __init__(self, plan: Plan, layout: Layout, cut: Cut, frames: dict[str, Pose]) -> None:
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
                c if (q := self.point(surface.id, c.at_mm)) == c.at_mm else replace(c, at_mm=q) for c in surface.corners
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
        plan = self._placed(plan, "photos", "surface", ("at_mm",))
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
