"""What every group of records draws: for each key its layer, its inputs and the function that makes marks of them."""

from collections.abc import Callable, Iterable, Iterator
from typing import Any

from core.analysis.results import Bundle
from core.edits.dimensions import attached
from core.geometry.joints import node_places
from core.geometry.plane import Polyline
from core.model import Channel, InPenetration, Node, Place, Point
from core.pages import sheet_bundles as wiring
from core.pages import sheet_devices as devices
from core.pages import sheet_surfaces as ground
from core.pages import sheet_things as things
from core.pages.marks import AnyMark
from core.pages.sheet_base import THINNEST_BUNDLE_MM, World, ids_of
from core.pages.sheet_labels import Labels
from core.pages.sheet_trunks import Trunks

#: Layer, key, inputs, and the function that makes marks of the inputs.
Parts = Iterator[tuple[str, str, tuple[Any, ...], Callable[..., Any]]]
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
        yield _text_layer(key, device_ids), key, (marks,), _same


def _text_layer(key: str, device_ids: frozenset[str]) -> str:
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


def wiring_parts(world: World, trunks: Trunks, labels: Labels) -> Parts:
    k = world.k
    ticks: dict[str, list[float]] = {}
    for row in world.securing:
        ticks.setdefault(row.channel, []).append(row.at_mm)
    meeting: dict[str, list[tuple[Channel, Bundle | None]]] = {}
    for channel in world.plan.channels:
        path, bundle = world.paths.get(channel.id), world.bundles.get(channel.id)
        for end in (channel.start, channel.end):
            meeting.setdefault(end, []).append((channel, bundle))
        if path is None:
            continue
        colour = trunks.by_channel[channel.id].colour if channel.id in trunks.by_channel else 0
        if not path.sheet_mm:
            ends = world.node_spots.get(channel.start), world.node_spots.get(channel.end)
            layer = "channels" if bundle is None else "bundles"
            yield layer, channel.id, (channel, *ends, bundle, colour, k), wiring.measured_channel_marks
        elif bundle is None:
            yield "channels", channel.id, (channel, path, k, world.detail), wiring.free_channel_marks
        else:
            at = tuple(ticks.get(channel.id, ()))
            pills = labels.pills.get(channel.id, ())
            inputs = (channel, path, bundle, colour, at, pills, k, world.detail)
            yield "bundles", channel.id, inputs, wiring.bundle_marks
            if pills:
                yield "pills", f"pill:{channel.id}", (channel.id, colour, pills, k), wiring.pills_marks
    if world.is_low:
        return
    for node in world.plan.nodes:
        yield _node_part(world, node, meeting.get(node.id, []), trunks)
    by_channel: dict[str, list[Any]] = {}
    for crossing in world.crossings:
        by_channel.setdefault(crossing.channel, []).append(crossing)
    for name, rows in by_channel.items():
        yield "crossings", f"crossings:{name}", (tuple(rows), k), wiring.crossing_marks


def _node_part(
    world: World, node: Node, meeting: list[tuple[Channel, Bundle | None]], trunks: Trunks
) -> tuple[str, str, tuple[Any, ...], Callable[..., Any]]:
    spot = world.node_spots.get(node.id)
    spots = wiring.distinct(spot.sheet_mm) if spot is not None else ()
    carrying = [(channel, bundle) for channel, bundle in meeting if bundle is not None]
    widths = tuple(wiring.drawn_width_mm(bundle, world.k) for _, bundle in carrying)
    surfaces = {channel.surface for channel, _ in carrying if channel.surface is not None}
    widest = max(carrying, key=lambda pair: (pair[1].diameter_laid_mm, pair[0].id), default=None)
    colour = trunks.by_channel[widest[0].id].colour if widest is not None else 0
    inputs = (node, spots, widths, colour, len(surfaces) > 1, world.k)
    return "nodes", node.id, inputs, wiring.node_marks


def device_parts(world: World, trunks: Trunks) -> Parts:
    plan, k = world.plan, world.k
    at_node: dict[str, tuple[int, float]] = {}
    for channel in plan.channels:
        bundle = world.bundles.get(channel.id)
        if bundle is not None:
            for end in (channel.start, channel.end):
                wide = wiring.drawn_width_mm(bundle, k)
                if end not in at_node or wide > at_node[end][1]:
                    at_node[end] = (trunks.by_channel[channel.id].colour, wide)
    for device in plan.devices:
        place = world.place(device.surface)
        if place is None:
            continue
        if device.node is not None and not world.is_low:
            spot = world.node_spots.get(device.node)
            spots = spot.sheet_mm if spot is not None else ()
            colour = at_node.get(device.node, (None, 0.0))[0]
            entry = devices.entry_on_sheet(device, place)
            inputs = (device.id, entry, spots, colour, THINNEST_BUNDLE_MM * k)
            yield "falls", f"fall:{device.id}", inputs, devices.fall_marks
        yield "devices", device.id, (device, place, k, world.detail), devices.device_marks
    for point in plan.earth_points:
        if (place := world.place(point.surface)) is not None:
            yield "devices", point.id, (point, place, k), devices.earth_point_marks
    for splice in plan.splices:
        yield "devices", splice.id, (splice, _spots(world, splice.place), k), devices.splice_marks
    for connector in plan.connectors:
        yield "devices", connector.id, (connector, _spots(world, connector.place), k), devices.connector_marks


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
    channels = {channel.id: channel for channel in plan.channels}
    lines: list[Polyline] = []
    radii: list[float] = []
    for step in route.steps:
        path, channel = world.paths.get(step.channel), channels.get(step.channel)
        if path is not None and channel is not None and len(path.sheet_mm) > 1:
            bundle = world.bundles.get(step.channel)
            wide = wiring.drawn_width_mm(bundle, world.k) if bundle else THINNEST_BUNDLE_MM * world.k
            lines.append(path.sheet_mm)
            radii.append(wiring.bend_radius_mm(channel, wide))
    by_id = {device.id: device for device in plan.devices}
    for end in (known.from_, known.to):
        device, spot = by_id.get(end.device), world.node_spots.get(end.node or "")
        place = world.place(device.surface) if device is not None else None
        if device is not None and place is not None and spot is not None and spot.sheet_mm:
            entry = devices.entry_on_sheet(device, place)
            near = min(spot.sheet_mm, key=lambda p: (p[0] - entry[0]) ** 2 + (p[1] - entry[1]) ** 2)
            lines.append((near, entry))
            radii.append(0.0)
    return tuple(lines), tuple(radii)
