"""What every group of records draws: for each key its layer, its inputs and the function that makes marks of them."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from core.edits.dimensions import attached
from core.geometry.joints import node_places
from core.geometry.plane import Polyline
from core.model import Channel, Device, InPenetration, Node, Place, Point
from core.pages import sheet_bundles as wiring
from core.pages import sheet_devices as devices
from core.pages import sheet_surfaces as ground
from core.pages import sheet_things as things
from core.pages.marks import AnyMark
from core.pages.sheet_base import THINNEST_BUNDLE_MM, World, ids_of
from core.pages.sheet_bundles import Pill
from core.pages.sheet_labels import Labels
from core.pages.sheet_trunks import Trunks

#: Layer, key, inputs, and the function that makes marks of the inputs.
Part = tuple[str, str, tuple[Any, ...], Callable[..., Any]]
Parts = Iterator[Part]
_PREFIXES = ("outline", "fold", "caption", "name", "fall", "pill", "crossings", "finding", "route")


def record_of(key: str) -> str:
    """The id of the record (or wire) that a key of the drawing stands for."""
    prefix, colon, rest = key.partition(":")
    return rest if colon and prefix in _PREFIXES else key


def things_of(world: World) -> tuple[Any, ...]:
    p = world.plan
    things_of = (p.pictures, p.images, p.ribs, p.openings, p.boxes, p.zones, p.panels, p.moving_parts, p.metal_edges)
    return (*things_of, p.penetrations, p.dimensions, world.layout)


def text_parts(world: World, labels: Labels) -> Parts:
    device_ids = frozenset(device.id for device in world.plan.devices)
    for key, marks in labels.texts.items():
        yield text_layer(key, device_ids), key, (marks,), _same


def text_layer(key: str, device_ids: frozenset[str]) -> str:
    """Names of devices stand on their boxes, those of cabinets and openings below the bundles."""
    if key.startswith("caption:"):
        return "captions"
    return "device_names" if record_of(key) in device_ids else "names"


def _same(marks: tuple[AnyMark, ...]) -> tuple[AnyMark, ...]:
    return marks


def ground_parts(world: World, folds: dict[str, tuple[Point, Point]]) -> Parts:
    plan, lines = world.plan, tuple(folds.values())
    for surface in plan.surfaces:
        place = world.place(surface.id)
        if place is None:
            continue
        yield "ground", surface.id, (surface, place), ground.ground_marks
        yield "outlines", f"outline:{surface.id}", (surface, place, lines), ground.outline_marks
        if surface.id in folds:
            yield "folds", f"fold:{surface.id}", (surface, folds[surface.id]), ground.fold_marks
        elif surface.apart is not None:
            yield "folds", f"fold:{surface.id}", (ground.apart_marks(world, surface),), _same
    for seam in plan.seams:
        yield "folds", seam.id, (ground.seam_marks(world, seam),), _same


def thing_parts(world: World) -> Parts:
    plan, k, full = world.plan, world.k, world.is_full
    images = ids_of(plan.images)

    def lying(
        layer: str,
        records: Iterable[Any],
        make: Callable[..., Any],
        before: Callable[[Any], tuple[Any, ...]],
        *after: Any,
    ) -> Parts:
        """Records on placed surfaces: the inputs are the record, what `before` adds, the placement, and `after`."""
        for record in records:
            if (place := world.place(record.surface)) is not None:
                yield layer, record.id, (record, *before(record), place, *after), make

    yield from lying("pictures", plan.pictures, things.picture_marks, lambda p: (images.get(p.image),))
    yield from lying("ribs", plan.ribs, things.rib_marks, _nothing)
    yield from lying("openings", plan.openings, things.opening_marks, _nothing, k)
    yield from lying("boxes", plan.boxes, things.box_marks, _nothing)
    yield from lying("zones", plan.zones, things.zone_marks, _nothing, k, full)
    yield from lying("panels", plan.panels, things.panel_marks, _nothing)
    yield from lying("panels", plan.moving_parts, things.moving_part_marks, _nothing)
    yield from lying("metal_edges", plan.metal_edges, things.metal_edge_marks, _nothing, k, full)
    for hole in plan.penetrations:
        yield "nodes", hole.id, (things.penetration_marks(hole, world),), _same
    if not world.is_low:
        measured = tuple(attached(plan, dimension) for dimension in plan.dimensions)
        yield from lying("dimensions", measured, things.dimension_marks, _nothing, k)


def _nothing(_record: Any) -> tuple[Any, ...]:
    return ()


class Index:
    """What the parts of wiring and devices look up about the whole plan, kept while its inputs are the same objects."""

    def __init__(self) -> None:
        self._ticks: tuple[object, dict[str, tuple[float, ...]]] = (None, {})
        self._meeting: tuple[object, dict[str, list[str]]] = (None, {})
        self._colours: tuple[tuple[object, ...], dict[str, int]] = ((), {})
        self._channels: tuple[object, dict[str, int]] = (None, {})
        self._nodes: tuple[object, dict[str, int]] = (None, {})

    def channels(self, world: World) -> dict[str, int]:
        """The number of each channel in the plan, by its id."""
        if self._channels[0] is not world.plan.channels:
            self._channels = (world.plan.channels, {c.id: n for n, c in enumerate(world.plan.channels)})
        return self._channels[1]

    def nodes(self, world: World) -> dict[str, int]:
        """The number of each node in the plan, by its id."""
        if self._nodes[0] is not world.plan.nodes:
            self._nodes = (world.plan.nodes, {node.id: n for n, node in enumerate(world.plan.nodes)})
        return self._nodes[1]

    def ticks(self, world: World) -> dict[str, tuple[float, ...]]:
        """Places of securing points, by channel."""
        if self._ticks[0] is not world.securing:
            found: dict[str, list[float]] = {}
            for row in world.securing:
                found.setdefault(row.channel, []).append(row.at_mm)
            self._ticks = (world.securing, {channel: tuple(places) for channel, places in found.items()})
        return self._ticks[1]

    def meeting(self, world: World) -> dict[str, list[str]]:
        """Ids of the channels that end at a node, by node."""
        if self._meeting[0] is not world.plan.channels:
            found: dict[str, list[str]] = {}
            for channel in world.plan.channels:
                for end in (channel.start, channel.end):
                    found.setdefault(end, []).append(channel.id)
            self._meeting = (world.plan.channels, found)
        return self._meeting[1]

    def colours(self, world: World, trunks: Trunks) -> dict[str, int]:
        """The colour of the widest bundle at a node, by node."""
        inputs = (world.plan.channels, world.bundles, trunks)
        if len(self._colours[0]) != 3 or any(a is not b for a, b in zip(self._colours[0], inputs, strict=True)):
            at_node: dict[str, tuple[int, float]] = {}
            for channel in world.plan.channels:
                bundle = world.bundles.get(channel.id)
                if bundle is not None:
                    wide = wiring.drawn_width_mm(bundle, world.k)
                    for end in (channel.start, channel.end):
                        if end not in at_node or wide > at_node[end][1]:
                            at_node[end] = (trunks.by_channel[channel.id].colour, wide)
            self._colours = (inputs, {node: colour for node, (colour, _) in at_node.items()})
        return self._colours[1]


def wiring_parts(world: World, trunks: Trunks, labels: Labels, index: Index) -> Parts:
    ticks, meeting = index.ticks(world), index.meeting(world)
    for channel in world.plan.channels:
        yield from channel_parts(world, channel, trunks, labels.pills.get(channel.id, ()), ticks.get(channel.id, ()))
    if world.is_low:
        return
    at, channels = index.channels(world), world.plan.channels
    for node in world.plan.nodes:
        yield node_part(world, node, [channels[at[each]] for each in meeting.get(node.id, ())], trunks)
    by_channel: dict[str, list[Any]] = {}
    for crossing in world.crossings:
        by_channel.setdefault(crossing.channel, []).append(crossing)
    for name, rows in by_channel.items():
        yield "crossings", f"crossings:{name}", (tuple(rows), world.k), wiring.crossing_marks


def channel_parts(
    world: World, channel: Channel, trunks: Trunks, pills: tuple[Pill, ...], ticks: tuple[float, ...]
) -> Parts:
    """A channel with what lies in it, and its pills."""
    k = world.k
    path, bundle = world.paths.get(channel.id), world.bundles.get(channel.id)
    if path is None:
        return
    colour = trunks.by_channel[channel.id].colour if channel.id in trunks.by_channel else 0
    if not path.sheet_mm:
        ends = world.node_spots.get(channel.start), world.node_spots.get(channel.end)
        layer = "channels" if bundle is None else "bundles"
        yield layer, channel.id, (channel, *ends, bundle, colour, k), wiring.measured_channel_marks
    elif bundle is None:
        yield "channels", channel.id, (channel, path, k, world.detail), wiring.free_channel_marks
    else:
        inputs = (channel, path, bundle, colour, ticks, pills, k, world.detail)
        yield "bundles", channel.id, inputs, wiring.bundle_marks
        if pills:
            yield "pills", f"pill:{channel.id}", (channel.id, colour, pills, k), wiring.pills_marks


def node_part(world: World, node: Node, meeting: list[Channel], trunks: Trunks) -> Part:
    """A node; `meeting` are the channels that end there."""
    spot = world.node_spots.get(node.id)
    spots = wiring.distinct(spot.sheet_mm) if spot is not None else ()
    carrying = [(c, bundle) for c in meeting if (bundle := world.bundles.get(c.id)) is not None]
    widths = tuple(wiring.drawn_width_mm(bundle, world.k) for _, bundle in carrying)
    surfaces = {channel.surface for channel, _ in carrying if channel.surface is not None}
    widest = max(carrying, key=lambda pair: (pair[1].diameter_laid_mm, pair[0].id), default=None)
    colour = trunks.by_channel[widest[0].id].colour if widest is not None else 0
    inputs = (node, spots, widths, colour, len(surfaces) > 1, world.k)
    return "nodes", node.id, inputs, wiring.node_marks


def device_parts(world: World, trunks: Trunks, index: Index) -> Parts:
    plan, k = world.plan, world.k
    colours = index.colours(world, trunks)
    for device in plan.devices:
        yield from one_device_parts(world, device, colours)
    for point in plan.earth_points:
        if (place := world.place(point.surface)) is not None:
            yield "devices", point.id, (point, place, k), devices.earth_point_marks
    for photo in plan.photos:
        if photo.surface is not None and (place := world.place(photo.surface)) is not None:
            yield "devices", photo.id, (photo, place, k), things.photo_marks
    for splice in plan.splices:
        yield "devices", splice.id, (splice, _spots(world, splice.place), k), devices.splice_marks
    for connector in plan.connectors:
        yield "devices", connector.id, (connector, _spots(world, connector.place), k), devices.connector_marks


def one_device_parts(world: World, device: Device, colours: Mapping[str, int]) -> Parts:
    """A device, and the wires from its entry to its node in the colour of the bundle there."""
    place, k = world.place(device.surface), world.k
    if place is None:
        return
    if device.node is not None and not world.is_low:
        spot = world.node_spots.get(device.node)
        spots = spot.sheet_mm if spot is not None else ()
        entry = devices.entry_on_sheet(device, place)
        inputs = (device.id, entry, spots, colours.get(device.node), THINNEST_BUNDLE_MM * k)
        yield "falls", f"fall:{device.id}", inputs, devices.fall_marks
    yield "devices", device.id, (device, place, k, world.detail), devices.device_marks


def _spots(world: World, place: Place) -> tuple[Point, ...]:
    """Where a small part lies on the sheet."""
    sheet = world.analysis.sheet
    if isinstance(place, InPenetration):
        hole = next((hole for hole in world.plan.penetrations if hole.id == place.penetration), None)
        on_sheet = [] if hole is None else [sheet.to_sheet(hole.a, hole.a_mm)]
    else:
        on_sheet = [sheet.to_sheet(spot.surface, spot.point) for spot in node_places(sheet.joints, place)]
    return tuple(p for p in on_sheet if p is not None)


def route_lines(world: World, wire: str) -> tuple[tuple[Polyline, ...], tuple[float, ...]]:
    """The way of a wire over folds and seams, falls included: lines on the sheet and their bend radii."""
    analysis, plan = world.analysis, world.plan
    route, known = analysis.routes.get(wire), analysis.wires.get(wire)
    if route is None or known is None:
        return (), ()
    on_way = {step.channel for step in route.steps}
    channels = {channel.id: channel for channel in plan.channels if channel.id in on_way}
    lines: list[Polyline] = []
    radii: list[float] = []
    for step in route.steps:
        path, channel = world.paths.get(step.channel), channels.get(step.channel)
        if path is not None and channel is not None and len(path.sheet_mm) > 1:
            bundle = world.bundles.get(step.channel)
            wide = wiring.drawn_width_mm(bundle, world.k) if bundle else THINNEST_BUNDLE_MM * world.k
            lines.append(path.sheet_mm)
            radii.append(wiring.bend_radius_mm(channel, wide))
    at_ends = (known.from_.device, known.to.device)
    by_id = {device.id: device for device in plan.devices if device.id in at_ends}
    for end in (known.from_, known.to):
        device, spot = by_id.get(end.device), world.node_spots.get(end.node or "")
        place = world.place(device.surface) if device is not None else None
        if device is not None and place is not None and spot is not None and spot.sheet_mm:
            entry = devices.entry_on_sheet(device, place)
            near = min(spot.sheet_mm, key=lambda p: (p[0] - entry[0]) ** 2 + (p[1] - entry[1]) ** 2)
            lines.append((near, entry))
            radii.append(0.0)
    return tuple(lines), tuple(radii)
