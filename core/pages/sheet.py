"""The fold-out sheet as marks: what the canvas, the fold-out page, SVG and DXF draw.

`sheet_marks` gives the marks of every record in the order of drawing. `SheetDrawing` does the same and remembers: a
record whose inputs are the same objects (or equal ones) gets the very same tuple of marks again, so that whoever
shows them can see by identity what changed.

Keys are ids of records; a record that is drawn in two layers has keys with a prefix: ``outline:``, ``fold:``,
``caption:``, ``name:``, ``fall:``, ``pill:``, ``crossings:``, ``finding:`` (number), ``route:`` (wire).
`record_of` gives the id.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from core.analysis.analysis import Analysis
from core.analysis.results import Bundle
from core.geometry.joints import node_places
from core.geometry.plane import Polyline, Segment
from core.model import Channel, InPenetration, Node, Place, Point
from core.pages import sheet_bundles as wiring
from core.pages import sheet_devices as devices
from core.pages import sheet_surfaces as ground
from core.pages import sheet_things as things
from core.pages.marks import AnyMark
from core.pages.sheet_base import THINNEST_BUNDLE_MM, Detail, World, ids_of
from core.pages.sheet_callouts import Callout, callout_marks, place_callouts, wanted_callouts
from core.pages.sheet_hold import hold_labels
from core.pages.sheet_labels import Labels, place_labels
from core.pages.sheet_trunks import Trunks, find_trunks

__all__ = ["LAYERS", "Drawn", "SheetDrawing", "Trunks", "find_trunks", "record_of", "sheet_marks"]

#: From the lowest to the highest.
LAYERS: tuple[str, ...] = (
    "ground",
    "pictures",
    "ribs",
    "openings",
    "boxes",
    "zones",
    "panels",
    "metal_edges",
    "outlines",
    "folds",
    "names",
    "dimensions",
    "channels",
    "falls",
    "bundles",
    "nodes",
    "route",
    "crossings",
    "pills",
    "devices",
    "device_names",
    "captions",
    "findings",
)
_PREFIXES = ("outline", "fold", "caption", "name", "fall", "pill", "crossings", "finding", "route")


@dataclass(frozen=True)
class Drawn:
    """Marks of one key and the layer they lie in."""

    layer: str
    marks: tuple[AnyMark, ...]


def record_of(key: str) -> str:
    """The id of the record (or wire) that a key of the drawing stands for."""
    prefix, colon, rest = key.partition(":")
    return rest if colon and prefix in _PREFIXES else key


def sheet_marks(
    analysis: Analysis, detail: Detail = "full", scale: float = 20.0, highlight: str | None = None
) -> dict[str, tuple[AnyMark, ...]]:
    """Marks by key in drawing order, in millimetres of the sheet.

    `scale` is the paper's: 20 for 1:20. Sizes of text and symbols are made for it, so that they come out in the sizes
    of `sheet_base` on paper. `highlight` is the id of a wire whose whole way is lit.
    """
    drawn = SheetDrawing().draw(analysis, detail, scale, highlight)
    return {key: one.marks for key, one in drawn.items()}


class SheetDrawing:
    """Draws sheets and remembers the last one, record by record. Not shared between threads."""

    def __init__(self) -> None:
        self._memo: dict[str, tuple[tuple[Any, ...], Drawn]] = {}
        self._labels: tuple[World, Labels] | None = None
        self._callouts: tuple[tuple[Any, ...], tuple[Callout, ...]] | None = None
        self._trunks: tuple[tuple[Channel, ...], Mapping[str, Bundle], Trunks] | None = None

    def draw(
        self, analysis: Analysis, detail: Detail = "full", scale: float = 20.0, highlight: str | None = None
    ) -> dict[str, Drawn]:
        """Everything of one state, in the order of `LAYERS`. Keys that draw nothing are left out."""
        world = World.of(analysis, detail, scale)
        old, self._memo = self._memo, {}
        by_layer: dict[str, dict[str, Drawn]] = {layer: {} for layer in LAYERS}
        for layer, key, inputs, make in self._parts(world, highlight):
            known = old.get(key)
            # Equal inputs give equal marks; records are the same object nearly always, so this is quick.
            if known is not None and known[1].layer == layer and known[0] == inputs:
                entry = known
            else:
                entry = (inputs, Drawn(layer, make(*inputs)))
            self._memo[key] = entry
            if entry[1].marks:
                by_layer[layer][key] = entry[1]
        return {key: one for layer in LAYERS for key, one in by_layer[layer].items()}

    def trunks(self, analysis: Analysis) -> Trunks:
        """Names and colours of the bundles, remembered while channels and bundles stay."""
        channels, bundles = analysis.plan.channels, analysis.bundles
        if self._trunks is None or self._trunks[0] is not channels or self._trunks[1] is not bundles:
            self._trunks = (channels, bundles, find_trunks(channels, bundles))
        return self._trunks[2]

    def _parts(
        self, world: World, highlight: str | None
    ) -> Iterator[tuple[str, str, tuple[Any, ...], Callable[..., Any]]]:
        trunks = self.trunks(world.analysis)
        folds = ground.fold_lines(world)
        labels = self._labels_of(world, trunks, tuple(folds.values()))
        yield from _ground_parts(world, folds)
        yield from _thing_parts(world)
        yield from _wiring_parts(world, trunks, labels)
        yield from _device_parts(world, trunks)
        device_ids = frozenset(device.id for device in world.plan.devices)
        for key, marks in labels.texts.items():
            yield _text_layer(key, device_ids), key, (marks,), _same
        if highlight is not None:
            inputs = (highlight, *_route_lines(world, highlight), world.k)
            yield "route", f"route:{highlight}", inputs, wiring.route_marks
        if world.is_full:
            for callout in self._callouts_of(world, labels):
                yield "findings", f"finding:{callout.number}", (callout, world.k), callout_marks

    def _labels_of(self, world: World, trunks: Trunks, folds: tuple[Segment, ...]) -> Labels:
        """Labels placed anew; while something is dragged they stay as they are and go along with what moves."""
        last = self._labels
        if last is not None:
            before, labels = last
            if (before.detail, before.k) == (world.detail, world.k) and _same_things(before, world):
                return labels
            if world.analysis.provisional and before.plan.surfaces is world.plan.surfaces and before.k == world.k:
                return hold_labels(before, labels, world, trunks)
        labels = place_labels(world, trunks, folds)
        self._labels = (world, labels)
        return labels

    def _callouts_of(self, world: World, labels: Labels) -> tuple[Callout, ...]:
        known = self._callouts
        if known is not None and world.analysis.provisional and known[0][2] == world.k:
            return known[1]
        texts = [mark for marks in labels.texts.values() for mark in marks]
        inputs = (*wanted_callouts(world, texts), world.k)
        if known is None or known[0] != inputs:
            known = self._callouts = (inputs, place_callouts(*inputs))
        return known[1]


def _same_things(a: World, b: World) -> bool:
    """True where nothing has changed that labels stand on or beside."""
    p, q, r, s = a.plan, b.plan, a.analysis, b.analysis
    return (
        p.devices is q.devices
        and p.channels is q.channels
        and p.boxes is q.boxes
        and p.openings is q.openings
        and p.zones is q.zones
        and p.panels is q.panels
        and p.dimensions is q.dimensions
        and r.sheet is s.sheet
        and r.paths is s.paths
        and r.bundles is s.bundles
        and r.crossings is s.crossings
    )


def _text_layer(key: str, device_ids: frozenset[str]) -> str:
    """Names of devices stand on their boxes, those of cabinets and openings below the bundles."""
    if key.startswith("caption:"):
        return "captions"
    return "device_names" if record_of(key) in device_ids else "names"


def _same(marks: tuple[AnyMark, ...]) -> tuple[AnyMark, ...]:
    return marks


Parts = Iterator[tuple[str, str, tuple[Any, ...], Callable[..., Any]]]


def _ground_parts(world: World, folds: dict[str, tuple[Point, Point]]) -> Parts:
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


def _thing_parts(world: World) -> Parts:
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
        yield from lying("dimensions", plan.dimensions, things.dimension_marks, _nothing, k)


def _nothing(_record: Any) -> tuple[Any, ...]:
    return ()


def _wiring_parts(world: World, trunks: Trunks, labels: Labels) -> Parts:
    analysis, k = world.analysis, world.k
    ticks: dict[str, list[float]] = {}
    for row in analysis.securing:
        ticks.setdefault(row.channel, []).append(row.at_mm)
    meeting: dict[str, list[tuple[Channel, Bundle | None]]] = {}
    for channel in world.plan.channels:
        path, bundle = analysis.paths.get(channel.id), analysis.bundles.get(channel.id)
        for end in (channel.start, channel.end):
            meeting.setdefault(end, []).append((channel, bundle))
        if path is None:
            continue
        colour = trunks.by_channel[channel.id].colour if channel.id in trunks.by_channel else 0
        if not path.sheet_mm:
            ends = analysis.node_spots.get(channel.start), analysis.node_spots.get(channel.end)
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
    for crossing in analysis.crossings:
        by_channel.setdefault(crossing.channel, []).append(crossing)
    for name, rows in by_channel.items():
        yield "crossings", f"crossings:{name}", (tuple(rows), k), wiring.crossing_marks


def _node_part(
    world: World, node: Node, meeting: list[tuple[Channel, Bundle | None]], trunks: Trunks
) -> tuple[str, str, tuple[Any, ...], Callable[..., Any]]:
    spot = world.analysis.node_spots.get(node.id)
    spots = wiring.distinct(spot.sheet_mm) if spot is not None else ()
    carrying = [(channel, bundle) for channel, bundle in meeting if bundle is not None]
    widths = tuple(wiring.drawn_width_mm(bundle, world.k) for _, bundle in carrying)
    surfaces = {channel.surface for channel, _ in carrying if channel.surface is not None}
    widest = max(carrying, key=lambda pair: (pair[1].diameter_laid_mm, pair[0].id), default=None)
    colour = trunks.by_channel[widest[0].id].colour if widest is not None else 0
    inputs = (node, spots, widths, colour, len(surfaces) > 1, world.k)
    return "nodes", node.id, inputs, wiring.node_marks


def _device_parts(world: World, trunks: Trunks) -> Parts:
    plan, k = world.plan, world.k
    at_node: dict[str, tuple[int, float]] = {}
    for channel in plan.channels:
        bundle = world.analysis.bundles.get(channel.id)
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
            spot = world.analysis.node_spots.get(device.node)
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


def _route_lines(world: World, wire: str) -> tuple[tuple[Polyline, ...], tuple[float, ...]]:
    """The way of a wire over folds and seams, falls included: lines on the sheet and their bend radii."""
    analysis, plan = world.analysis, world.plan
    route, known = analysis.routes.get(wire), analysis.wires.get(wire)
    if route is None or known is None:
        return (), ()
    channels = {channel.id: channel for channel in plan.channels}
    lines: list[Polyline] = []
    radii: list[float] = []
    for step in route.steps:
        path, channel = analysis.paths.get(step.channel), channels.get(step.channel)
        if path is not None and channel is not None and len(path.sheet_mm) > 1:
            bundle = analysis.bundles.get(step.channel)
            wide = wiring.drawn_width_mm(bundle, world.k) if bundle else THINNEST_BUNDLE_MM * world.k
            lines.append(path.sheet_mm)
            radii.append(wiring.bend_radius_mm(channel, wide))
    by_id = {device.id: device for device in plan.devices}
    for end in (known.from_, known.to):
        device, spot = by_id.get(end.device), analysis.node_spots.get(end.node or "")
        place = world.place(device.surface) if device is not None else None
        if device is not None and place is not None and spot is not None and spot.sheet_mm:
            entry = devices.entry_on_sheet(device, place)
            near = min(spot.sheet_mm, key=lambda p: (p[0] - entry[0]) ** 2 + (p[1] - entry[1]) ** 2)
            lines.append((near, entry))
            radii.append(0.0)
    return tuple(lines), tuple(radii)
