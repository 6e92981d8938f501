"""Check of the room that a device's own data asks for around it: for air, for hands, for what grows hot."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import cos, hypot, radians, sin
from typing import Any

from core.analysis.analysis import Analysis
from core.analysis.crossings import BEHIND
from core.analysis.results import Finding
from core.model import Box, Device, Point

#: So many of the things in the way are named, the nearest first.
NAMED = 3
#: Nearer than asked by less than this is the pencil, not the device (mm; our choice).
PENCIL_MM = 0.5

#: Free mm, and the id of what stands there.
Near = tuple[float, str]
Bounds = tuple[float, float, float, float]


@dataclass(frozen=True)
class _Standing:
    """A device as it stands on its surface."""

    device: Device

    @cached_property
    def corners(self) -> tuple[Point, ...]:
        turn, (x, y) = radians(self.device.turn_deg), self.device.at_mm
        a, b, c, s = self.device.width_mm / 2, self.device.height_mm / 2, cos(turn), sin(turn)
        return tuple((x + c * u - s * v, y + s * u + c * v) for u, v in ((-a, -b), (a, -b), (a, b), (-a, b)))

    @cached_property
    def bounds(self) -> Bounds:
        return _bounds(self.corners)

    @cached_property
    def shape(self) -> Any:
        from shapely import Polygon

        return Polygon(self.corners)

    def reaches(self, bounds: Bounds, more_mm: float = 0.0) -> bool:
        """Whether anything within these bounds can be too near: most of a surface is far away."""
        left, low, right, high = self.bounds
        far = self.device.clearance_mm + more_mm
        return (
            bounds[0] <= right + far and bounds[2] >= left - far and bounds[1] <= high + far and bounds[3] >= low - far
        )

    def crowded(self, gap_mm: float) -> bool:
        return gap_mm < self.device.clearance_mm - PENCIL_MM


def device_clearances(analysis: Analysis) -> Iterable[Finding]:
    """Devices with less free room than their data asks for: other devices and boxes on the same surface, for a heater
    bundles too.

    Distances are in mm from footprint to footprint, to the inner wall of a box the device stands in, and to the outside
    of a bundle as it is laid. Of two devices that ask for room the one that asks for more says it. Bundles stand in
    nobody's air and are led past devices everywhere; only near heat are they in danger, and there a bundle with a wire
    of the heater is its own affair, as is what lies behind a panel. Across a fold nothing is measured.
    """
    asking = {d.surface for d in analysis.plan.devices if d.clearance_mm > PENCIL_MM}
    if not asking:
        return
    standing: dict[str, list[_Standing]] = defaultdict(list)
    for device in analysis.plan.devices:
        if device.surface in asking:
            standing[device.surface].append(_Standing(device))
    for row in standing.values():
        for each in row:
            if each.device.clearance_mm > PENCIL_MM:
                found = sorted((*_beside(each, row), *_boxes(analysis, each), *_bundles(analysis, each)))
                if found:
                    yield _finding(analysis, each.device, found)


def _finding(analysis: Analysis, device: Device, found: Sequence[Near]) -> Finding:
    told = [f"{analysis.word(other)} at {gap:.0f} mm" for gap, other in found[:NAMED]]
    more = f" and {len(found) - NAMED} more" if len(found) > NAMED else ""
    typical = ", typical of its kind" if device.electrical.typical else ""
    return Finding(
        code="device.clearance",
        severity="warning",
        subjects=(device.id, *(other for _, other in found)),
        message=f"{device.name} asks for {device.clearance_mm:.0f} mm free around it, where there is "
        f"{', '.join(told)}{more}.",
        value=found[0][0],
        limit=device.clearance_mm,
        unit="mm",
        source=f"clearance in the data of the device{typical}",
        remedy="move them apart, or put in the clearance that the maker of the device states",
    )


def _beside(one: _Standing, row: Iterable[_Standing]) -> Iterator[Near]:
    device = one.device
    for each in row:
        other = each.device
        if other.id == device.id or other.outdoors != device.outdoors or not one.reaches(each.bounds):
            continue
        # Of two that ask for the same the first says it.
        if (other.clearance_mm, device.id) > (device.clearance_mm, other.id):
            continue
        gap = one.shape.distance(each.shape)
        if one.crowded(gap):
            yield gap, other.id


def _boxes(analysis: Analysis, one: _Standing) -> Iterator[Near]:
    device = one.device
    for box in analysis.plan.boxes:
        if box.surface != device.surface or device.outdoors or len(box.outline) < 3:
            continue
        if one.reaches(_bounds(box.outline)):
            gap = _to_box(one, box)
            if one.crowded(gap):
                yield gap, box.id


def _to_box(one: _Standing, box: Box) -> float:
    from shapely import Point as Spot
    from shapely import Polygon

    outline = Polygon(box.outline).buffer(0)
    hollow = box.base_mm <= 0 and box.kind != "wheel_arch"
    if hollow and outline.contains(Spot(*one.device.at_mm)):
        return max(0.0, float(outline.boundary.distance(one.shape)) - box.wall_mm)
    return hypot(outline.distance(one.shape), max(0.0, box.base_mm - one.device.depth_mm))


def _bundles(analysis: Analysis, one: _Standing) -> Iterator[Near]:
    from shapely import LineString

    device = one.device
    if device.kind != "heater" or device.outdoors:
        return
    wires = (w.id for w in analysis.wires.values() if device.id in (w.from_.device, w.to.device))
    own = {step.channel for wire in wires for step in analysis.routes[wire].steps}
    for channel in analysis.plan.channels:
        line, bundle = analysis.paths[channel.id].local_mm, analysis.bundles.get(channel.id)
        if bundle is None or analysis.paths[channel.id].surface != device.surface or len(line) < 2:
            continue
        if channel.kind in BEHIND or channel.id in own or device.node in (channel.start, channel.end):
            continue
        radius_mm = bundle.diameter_laid_mm / 2
        if one.reaches(_bounds(line), radius_mm):
            gap = max(0.0, one.shape.distance(LineString(line)) - radius_mm)
            if one.crowded(gap):
                yield gap, channel.id


def _bounds(line: Sequence[Point]) -> Bounds:
    xs, ys = [p[0] for p in line], [p[1] for p in line]
    return min(xs), min(ys), max(xs), max(ys)
