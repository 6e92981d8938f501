"""Checks of screws through panels: fixings, devices and cabinets that lie over what runs behind the panel."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import cos, radians, sin
from typing import Any

from core.analysis.analysis import Analysis
from core.analysis.crossings import BEHIND
from core.analysis.no_screw import Band, no_screw_bands, radius_mm
from core.analysis.obstacles import taped
from core.analysis.results import Finding, SecuringRow
from core.geometry.plane import Polyline, point_at
from core.harness.fastening import SCREWS_MM, panel_screw_mm
from core.model import Box, Device, Panel, Point, Surface

#: A cabinet's side this near to a wall stands against it and is screwed to it (mm; our choice).
AGAINST_MM = 30.0
#: No band is wider than this to either side of its channel (mm).
AROUND_MM = 150.0
#: Less than this of a band under something is the edge of it (mm2; our choice).
LEAST_MM2 = 100.0
#: Where more than this share of a footprint lies over bands, screws hardly have another place (our choice).
MOST_OF_IT = 0.5
#: A wall is steeper than this (vertical share of its normal); floors and ceilings are told from the front instead.
UPRIGHT = 0.5
COMMON = "common practice"


@dataclass(frozen=True)
class _Over:
    """Something that is screwed on, as it lies on the panel's surface, and whose bands are its own affair."""

    id: str
    name: str
    outline: Polyline
    own: frozenset[str]

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        xs, ys = zip(*self.outline, strict=True)
        return min(xs), min(ys), max(xs), max(ys)

    @cached_property
    def shape(self) -> Any:
        from shapely import Polygon

        return Polygon(self.outline).buffer(0)


def in_bands(analysis: Analysis) -> Iterable[Finding]:
    """Every fixing, device and cabinet that would be screwed through a panel into what lies behind it."""
    by_surface: dict[str, list[SecuringRow]] = {}
    for row in analysis.securing:
        channel = analysis.channels[row.channel]
        if channel.surface and channel.kind not in BEHIND and (row.screw_mm is not None or row.threaded):
            by_surface.setdefault(channel.surface, []).append(row)
    devices: dict[str, list[Device]] = {}
    for device in analysis.plan.devices:
        devices.setdefault(device.surface, []).append(device)
    for panel in analysis.plan.panels:
        surface = analysis.surfaces.get(panel.surface)
        if surface is None or len(panel.outline) < 3:
            continue
        things = [*_devices(analysis, devices.get(panel.surface, ())), *_cabinets(analysis, surface)]
        rows = by_surface.get(panel.surface, [])
        near = _near(analysis, panel, things, rows)
        bands = no_screw_bands(analysis, panel, near) if near else ()
        if bands:
            yield from _fixings(analysis, panel, bands, rows)
            yield from _things(analysis, panel, surface, bands, things)


def _near(analysis: Analysis, panel: Panel, things: Sequence[_Over], rows: Sequence[SecuringRow]) -> list[str]:
    """Channels on the panel's surface that usual screws can reach and that come near to anything screwed on."""
    boxes = [(thing.bounds, thing.own) for thing in things]
    for row in rows:
        path = analysis.paths[row.channel]
        if len(path.local_mm) > 1:
            x, y = point_at(path.local_mm, row.at_mm / taped(path))
            boxes.append(((x, y, x, y), frozenset({row.channel})))
    found = []
    for channel in analysis.plan.channels:
        path = analysis.paths[channel.id]
        if path.surface != panel.surface or not path.local_mm:
            continue
        radius = radius_mm(analysis, channel)
        deep = channel.depth_mm is not None and not path.provisional
        if radius is None or (deep and panel_screw_mm(channel.depth_mm or 0.0, 2 * radius) >= max(SCREWS_MM)):
            continue
        reach = AROUND_MM if not path.provisional else float("inf")
        xs, ys = [p[0] for p in path.local_mm], [p[1] for p in path.local_mm]
        left, low, right, high = min(xs) - reach, min(ys) - reach, max(xs) + reach, max(ys) + reach
        if any(
            channel.id not in own and a <= right and c >= left and b <= high and d >= low for (a, b, c, d), own in boxes
        ):
            found.append(channel.id)
    return found


def _shape(band: Band) -> Any:
    from shapely import Polygon, union_all

    return union_all([Polygon(outline).buffer(0) for outline in band.outlines_mm])


def _fixings(analysis: Analysis, panel: Panel, bands: Sequence[Band], rows: Sequence[SecuringRow]) -> Iterable[Finding]:
    from shapely import Point as Spot

    shapes = [(band, _shape(band)) for band in bands]
    for row in rows:
        path = analysis.paths[row.channel]
        at = point_at(path.local_mm, row.at_mm / taped(path)) if len(path.local_mm) > 1 else None
        hit = next((b for b, s in shapes if at and b.channel != row.channel and s.covers(Spot(*at))), None)
        if hit is None or (hit.screw_mm is not None and row.screw_mm is not None and row.screw_mm <= hit.screw_mm):
            continue
        points = [p.id for p in analysis.plan.securing_points if p.channel == row.channel and p.at_mm == row.at_mm]
        yield Finding(
            code="screw.fixing",
            severity="warning",
            subjects=(row.channel, hit.channel, panel.id, *points),
            message=f"{analysis.word(row.channel)}: the fixing at {row.at_mm:.0f} mm is screwed through {panel.name} "
            f"where the bundle of {hit.name} lies behind it.",
            value=row.screw_mm,
            limit=hit.screw_mm,
            unit="mm",
            source=COMMON,
            remedy="a bonded mount there, or move the fixing out of the band that is marked on the panel",
        )


def _devices(analysis: Analysis, devices: Sequence[Device]) -> Iterable[_Over]:
    ending: dict[str, set[str]] = {}
    for channel in analysis.plan.channels if devices else ():
        for node in (channel.start, channel.end):
            ending.setdefault(node, set()).add(channel.id)
    for device in devices:
        a, b = device.width_mm / 2, device.height_mm / 2
        c, s = cos(radians(device.turn_deg)), sin(radians(device.turn_deg))
        corners = tuple(
            (device.at_mm[0] + x * c - y * s, device.at_mm[1] + x * s + y * c)
            for x, y in ((-a, -b), (a, -b), (a, b), (-a, b))
        )
        # The channels that end at the device bring its own wires, and whoever fits it has them in hand.
        own = ending.get(device.node, set()) if device.node else set()
        yield _Over(device.id, device.name, corners, frozenset({*own, device.id}))


def _cabinets(analysis: Analysis, wall: Surface) -> Iterable[_Over]:
    for box in analysis.plan.boxes:
        if box.kind == "wheel_arch" or len(box.outline) < 3:
            continue
        outlines = [box.outline] if box.surface == wall.id else _against(analysis, box, wall)
        for outline in outlines:
            inside = {x.id for x in analysis.plan.channels if x.surface in box.faces} if box.faces else set()
            yield _Over(box.id, box.name, outline, frozenset(inside))


def _against(analysis: Analysis, box: Box, wall: Surface) -> Iterable[Polyline]:
    """Sides of a box that stand against a wall, as outlines on the wall."""
    laid = analysis.sheet.layout.laid
    here, there = laid.get(box.surface), laid.get(wall.id)
    if here is None or there is None or here.root != there.root:
        return
    low, high = box.base_mm, box.base_mm + box.height_mm
    for p, q in zip(box.outline, (*box.outline[1:], box.outline[0]), strict=True):
        side = [here.pose.to_vehicle(at, h) for at, h in ((p, low), (q, low), (q, high), (p, high))]
        local = [there.pose.to_local(corner) for corner in side]
        if all(abs(height) <= AGAINST_MM for _, _, height in local):
            yield tuple((x, y) for x, y, _ in local)


def _things(
    analysis: Analysis, panel: Panel, surface: Surface, bands: Sequence[Band], things: Sequence[_Over]
) -> Iterable[Finding]:
    from shapely import Polygon

    board = Polygon(panel.outline).buffer(0)
    shapes = [(band, _shape(band)) for band in bands]
    found: dict[str, tuple[_Over, float, float, dict[str, Band], list[Any]]] = {}
    for thing in things:
        on = thing.shape.intersection(board)
        for band, shape in shapes:
            hit = on.intersection(shape) if band.channel not in thing.own else None
            if hit is None or hit.area <= LEAST_MM2 or (band.screw_mm or 0.0) >= max(SCREWS_MM):
                continue
            old = found.get(thing.id, (thing, 0.0, 0.0, {}, []))
            found[thing.id] = (thing, old[1] + hit.area, on.area, {**old[3], band.channel: band}, [*old[4], hit])
    for thing, covered, whole, hit_bands, hits in found.values():
        device = thing.id in analysis.devices
        screws = [band.screw_mm for band in hit_bands.values()]
        longest = min((s for s in screws if s is not None), default=None) if None not in screws else None
        where = _where(analysis, surface, hits) + (f" longer than {longest:.0f} mm" if longest else "")
        names = " and ".join(dict.fromkeys(band.name for band in hit_bands.values()))
        yield Finding(
            code="screw.device" if device else "screw.cabinet",
            severity="warning" if covered > MOST_OF_IT * whole else "note",
            subjects=(thing.id, panel.id, *hit_bands),
            message=f"{thing.name} {'is screwed to' if device else 'stands against'} {panel.name} over the bundle of "
            f"{names}: no screw {where}.",
            value=covered / 100,
            limit=0.0,
            unit="cm²",
            source=COMMON,
            remedy="put its screws beside the band that is marked on the panel, glue it, or lead the channel elsewhere",
        )


def _where(analysis: Analysis, surface: Surface, hits: Sequence[Any]) -> str:
    """The stretch that is not screwed into: by height above the floor on a wall, from the front elsewhere."""
    pose = analysis.sheet.layout.laid[surface.id].pose
    upright = abs(pose.normal[2]) < UPRIGHT
    axis = 2 if upright else 0
    told = []
    for hit in hits:
        left, low, right, high = hit.bounds
        corners: list[Point] = [(left, low), (right, low), (right, high), (left, high)]
        values = [pose.to_vehicle(corner)[axis] for corner in corners]
        told.append((round(min(values)), round(max(values))))
    spans = " and ".join(f"{a:,} to {b:,}" for a, b in dict.fromkeys(sorted(told)))
    return f"at {spans} mm {'above the floor' if upright else 'from the front'}"
