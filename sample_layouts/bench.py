"""A bench to make sample plans on: the edits of `core.edits`, one after the other, by names and sheet millimetres.

Points are mm of the sheet as it will be read (nose to the left, floor in the middle), so that a sample's module reads
like its drawing. Ids are kept by the name a person gave.
"""

from collections.abc import Sequence
from typing import Any

from core.analysis.engine import analyse
from core.edits.body import raise_wall
from core.edits.change import add, made, new_id
from core.edits.channels import add_pass_through, draw_channel, join_crossing
from core.edits.circuits import connect
from core.edits.devices import connect_to_nearest, place_device, set_node
from core.edits.kinds import use_kind, use_wrap
from core.edits.network import channel_lines
from core.edits.records import set_field
from core.edits.start import new_plan
from core.files.library import Library, load_library
from core.geometry.foldout import Layout, lay_out
from core.geometry.joints import join
from core.geometry.plane import Placement, nearest_on
from core.model import Channel, Plan, Point, Record, Surface, find

#: What a hole, an edge and a wall are protected with where a sample says nothing else.
USUAL_PROTECTION = {
    "rib": ("hole", "grommet"),
    "box_wall": ("hole", "bushing"),
    "panel_edge": ("edge", "edge_trim"),
    "opening": ("edge", "edge_trim"),
    "metal_edge": ("edge", "edge_trim"),
    "wheel_arch": ("edge", "split_conduit"),
}


def rectangle(x: float, y: float, wide: float, high: float) -> tuple[Point, ...]:
    return ((x, y), (x + wide, y), (x + wide, y + high), (x, y + high))


class Bench:
    """A plan on its way, and the ids of what was made by the names it was given."""

    def __init__(self, name: str, plan_id: str, profile_id: str = "van-metric") -> None:
        self.library: Library = load_library()
        self.plan: Plan = new_plan(self.library, name, profile_id, plan_id)
        self.devices: dict[str, str] = {}
        self.circuits: dict[str, str] = {}
        self.channels: dict[str, tuple[str, ...]] = {}
        self.holes: dict[str, str] = {}
        self._laid: tuple[tuple[Surface, ...], Layout] | None = None

    def local(self, surface: str, at: Point) -> Point:
        """A point of the sheet in the surface's own millimetres, without the noise of the turn."""
        x, y = self._place(surface).to_local(at)
        return round(x, 3) + 0.0, round(y, 3) + 0.0

    def _place(self, surface: str) -> Placement:
        if self._laid is None or self._laid[0] is not self.plan.surfaces:
            self._laid = (self.plan.surfaces, lay_out(self.plan.surfaces))
        return self._laid[1].place(surface)

    def line(self, surface: str, *points: Point) -> tuple[Point, ...]:
        return tuple(self.local(surface, point) for point in points)

    def area(self, surface: str, x: float, y: float, wide: float, high: float) -> tuple[Point, ...]:
        """A rectangle of the sheet in the surface's own millimetres."""
        return self.line(surface, *rectangle(x, y, wide, high))

    def did(self, result: tuple[Plan, str]) -> str:
        """Take the plan an edit gave; its new id goes on."""
        self.plan, fresh = result
        return fresh

    def wall(self, parent: str, edge: str, high: float, name: str, **more: Any) -> str:
        """Raise a wall; fields of the surface beyond those of the edit are set after it."""
        edit = {key: more.pop(key) for key in ("lean_deg", "from_mm", "to_mm") if key in more}
        surface = self.did(raise_wall(self.plan, parent, edge, high, name, **edit))
        if more:
            self.plan = set_field(self.plan, surface, **more)
        return surface

    def record(self, collection: str, record: type[Record], /, **fields: Any) -> str:
        """Add a record that has no edit of its own yet."""
        fresh = new_id(self.plan, collection)
        self.plan = add(self.plan, collection, made(record, id=fresh, **fields))
        return fresh

    # --- kinds ---------------------------------------------------------------------------------------------------

    def kinds(self, *kind_ids: str) -> None:
        """Copy kinds of wire, conduit and fixing, and wrap styles with their tapes, from the library."""
        have = {
            kind.id: kind
            for kind in (*self.library.wire_kinds, *self.library.conduit_kinds, *self.library.fixing_kinds)
        }
        for kind_id in kind_ids:
            if kind_id in have:
                self.plan = use_kind(self.plan, have[kind_id])
            else:
                self.plan = use_wrap(self.plan, self.library, kind_id)

    # --- devices -------------------------------------------------------------------------------------------------

    def device(self, template: str, name: str, surface: str, at: Point, turn_deg: float = 0.0, **more: Any) -> str:
        row = next(each for each in self.library.devices if each.id == template)
        device_id = self.did(place_device(self.plan, row, surface, self.local(surface, at), name))
        if "electrical" in more:
            electrical = find(self.plan, "devices", device_id).electrical
            changed = {**{field: getattr(electrical, field) for field in electrical.__struct_fields__}}
            more["electrical"] = type(electrical)(**{**changed, **more["electrical"]})
        turn = turn_deg - self._place(surface).turn_deg
        if turn % 360:
            more["turn_deg"] = round(turn % 360, 6)
        if more:
            self.plan = set_field(self.plan, device_id, **more)
        self.devices[name] = device_id
        return device_id

    def join(self, *names: str, to: str | None = None) -> None:
        """Join devices to the channel nearest to each, or to the nearest one of the name `to`."""
        for name in names:
            allowed = {channel.id for channel in self.plan.channels if to is None or channel.name == to}
            self.plan, _ = connect_to_nearest(self.plan, self.devices[name], allowed=allowed.__contains__)

    def join_as(self, name: str, other: str) -> None:
        """Join a device to the node another one joins."""
        node = find(self.plan, "devices", self.devices[other]).node
        self.plan = set_node(self.plan, self.devices[name], node)

    # --- channels ------------------------------------------------------------------------------------------------

    def channel(self, name: str, *points: Point, surface: str | None = None, **fields: Any) -> tuple[str, ...]:
        """Draw a channel by a stroke on the sheet; every piece of it gets the name."""
        self.plan, pieces = draw_channel(self.plan, points, surface, name=name, **fields)
        self.channels[name] = (*self.channels.get(name, ()), *pieces)
        return pieces

    def named(self, name: str) -> tuple[Channel, ...]:
        """All channels of a name, those included that came of splitting."""
        return tuple(channel for channel in self.plan.channels if channel.name == name)

    def cross(self, a: str, b: str, surface: str, at: Point) -> None:
        """Join two channels where they cross near a point of the sheet."""
        point = self.local(surface, at)
        first, second = (self._nearest(name, surface, point) for name in (a, b))
        self.plan, _ = join_crossing(self.plan, first, second, point)

    def _nearest(self, name: str, surface: str, point: Point) -> str:
        lines = channel_lines(self.plan, join(self.plan.surfaces, self.plan.seams), surface)
        return min(
            (channel.id for channel in self.named(name) if channel.id in lines),
            key=lambda each: nearest_on(lines[each], point).distance_mm,
        )

    def protect(self, but: Sequence[str] = ()) -> None:
        """A grommet, edge trim or split conduit wherever a bundle would rub, except in channels named `but`."""
        analysis = analyse(self.plan, self.library, "quick")
        names = {channel.id: channel.name for channel in self.plan.channels}
        for row in analysis.crossings:
            if row.protected or row.kind not in USUAL_PROTECTION or names[row.channel] in but:
                continue
            kind, protection = USUAL_PROTECTION[row.kind]
            if kind == "hole":
                protection = row.remedy_kind  # a wall thicker than any grommet's groove takes a bushing
            hole_mm = row.size_mm if kind == "hole" else None
            self.plan, _ = add_pass_through(
                self.plan, row.channel, round(row.at_mm, 1), kind, round(hole_mm, 1) if hole_mm else None, protection
            )

    # --- circuits ------------------------------------------------------------------------------------------------

    def circuit(
        self,
        name: str,
        source: str,
        loads: Sequence[str],
        way: str | None = None,
        kind: str | None = None,
        protective: dict[str, Any] | None = None,
        **more: Any,
    ) -> str:
        """Connect devices by their names; fields of the circuit, and of its protective device, are set after it."""
        ids = [self.devices[load] for load in loads]
        source_id = self.devices[source]
        circuit_id = self.did(connect(self.plan, source_id, way, ids, name, kind, self.library))
        if protective is not None:
            held = protective.get("device")
            if held is not None:
                protective["device"] = self.devices[held]
            before = find(self.plan, "circuits", circuit_id).protective
            fields = {field: getattr(before, field) for field in before.__struct_fields__}
            more["protective"] = type(before)(**{**fields, **protective})
        if more:
            self.plan = set_field(self.plan, circuit_id, **more)
        self.circuits[name] = circuit_id
        return circuit_id
