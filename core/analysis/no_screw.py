"""Where nothing may be screwed through a panel: strips over what lies behind it, and bays of which nobody knows.

A strip reaches to both sides of a channel by the radius of what lies in it, by how well its place is known, and by how
far the bundle can hang out between its securing points.
"""

from collections.abc import Collection
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, sqrt
from typing import Any, Literal

from core.analysis.analysis import Analysis
from core.analysis.crossings import SHELTERED
from core.geometry.entry import entry_point
from core.geometry.plane import Polyline, length_mm
from core.harness.fastening import RESERVE_MM, panel_screw_mm
from core.model import Channel, Device, Panel, Surface

#: How far a bundle may lie beside its drawn place (mm; our choice: a careful builder with a tape).
PLACE_TOLERANCE_MM = 10.0
#: Slack of a bundle between two securing points, part of the span (common practice, no source).
SLACK = 0.005
#: Bands are as wide as a multiple of twice this.
STEP_MM = 5.0
#: What is measured through the air of such channels is not behind a panel.
NOT_BEHIND = frozenset({"furniture", "exterior", "underfloor", "engine_bay"})
#: A bundle of wires is this much thicker than the circle of the same copper and insulation (from the packing of equal
#: circles, density about 0.7; memory).
LOOSENESS = 1.2


@dataclass(frozen=True)
class Band:
    """One forbidden area of a panel, in the millimetres of its surface. `bay`: the way is not known, all of it counts.

    `screw_mm` is the longest screw that cannot reach what lies there; None where the depth is not known.
    """

    channel: str
    name: str
    kind: Literal["band", "bay"]
    outlines_mm: tuple[Polyline, ...]
    half_mm: float
    screw_mm: float | None


def sag_mm(span_mm: float, slack: float = SLACK) -> float:
    """How far a line that is longer than its span by a part `slack` hangs out in the middle.

    Shallow parabola: length = span + 8 sag² / (3 span) (handbooks of mechanics; from memory).
    """
    return span_mm * sqrt(3.0 * slack / 8.0)


def skin_screw_mm(surface: Surface) -> float | None:
    """The longest screw that does not reach the skin where nothing lies behind; None where the depth is not known."""
    total = sum(layer.thickness_mm for layer in surface.build_up)
    return max(0.0, total - RESERVE_MM) if total > 0 else None


def no_screw_bands(analysis: Analysis, panel: Panel, only: Collection[str] | None = None) -> tuple[Band, ...]:
    """The forbidden areas of one panel, channel by channel, then falls to devices. Empty for a panel without area.
    `only` are the ids of the channels and devices that are asked for; None asks for all."""
    from shapely import Polygon

    if len(panel.outline) < 3:
        return ()
    board = Polygon(panel.outline).buffer(0)
    found: list[Band | None] = []
    for channel in analysis.plan.channels:
        if only is not None and channel.id not in only:
            continue
        radius = radius_mm(analysis, channel)
        if radius is not None:
            found.append(_of_channel(analysis, panel, board, channel, radius))
    found += [
        _of_fall(analysis, board, device)
        for device in analysis.plan.devices
        if device.surface == panel.surface and (only is None or device.id in only)
    ]
    return tuple(band for band in found if band is not None)


def radius_mm(analysis: Analysis, channel: Channel) -> float | None:
    """Half of what lies there; None for a channel in which nothing lies and nothing will be pulled unseen."""
    bundle = analysis.bundles.get(channel.id)
    widths = [bundle.diameter_laid_mm] if bundle is not None else []
    if channel.bore is not None and (bundle is not None or channel.spare_duct or channel.kind in SHELTERED):
        widths += [channel.bore.width_mm, channel.bore.height_mm or 0.0]
    conduit = next((row for row in analysis.plan.conduit_kinds if row.id == channel.conduit), None)
    if conduit is not None:
        widths.append(conduit.od_mm or conduit.bore_mm)
    return max(widths) / 2 if widths else None


def _of_channel(analysis: Analysis, panel: Panel, board: Any, channel: Channel, radius: float) -> Band | None:
    path = analysis.paths[channel.id]
    name = analysis.word(channel.id)
    if path.surface is None:
        if channel.kind in NOT_BEHIND:
            return None
        ends = [
            at
            for node in (channel.start, channel.end)
            for surface, at in analysis.node_spots[node].spots
            if surface == panel.surface
        ]
        return _bay(analysis, panel, board, channel.id, name, tuple(ends)) if len(ends) == 2 else None
    if path.surface != panel.surface or len(path.local_mm) < 2:
        return None
    if path.provisional:
        return _bay(analysis, panel, board, channel.id, name, path.local_mm)
    drawn = length_mm(path.local_mm)
    share = drawn / path.length_mm if path.length_mm > 0 else 0.0
    held = sorted(row.at_mm * share for row in analysis.securing if row.channel == channel.id)
    marks = [0.0, *(at for at in held if 0.0 < at < drawn), drawn]
    longest = max(high - low for low, high in pairwise(marks)) / share if share else 0.0
    half = _half_mm(radius, 0.0 if channel.kind in SHELTERED else sag_mm(longest))
    outlines = _strip(path.local_mm, half, board)
    screw = panel_screw_mm(channel.depth_mm, 2 * radius) if channel.depth_mm is not None else None
    return Band(channel.id, name, "band", outlines, half, screw) if outlines else None


def _of_fall(analysis: Analysis, board: Any, device: Device) -> Band | None:
    """Wires between a device on the same surface and its node; one typed longer than the straight line hangs out."""
    if device.node is None:
        return None
    spot = next((at for surface, at in analysis.node_spots[device.node].spots if surface == device.surface), None)
    here = [row.id for row in analysis.wires.values() if device.id in (row.from_.device, row.to.device)]
    straight = (spot, entry_point(device)) if spot is not None else None
    if straight is None or not here:
        return None
    span = length_mm(straight)
    fall = analysis.falls[device.id].length_mm or span
    radius = LOOSENESS * sqrt(sum(analysis.sized[wire].od_mm ** 2 for wire in here)) / 2
    slack = max(SLACK, (fall - span) / span) if span > 0 else SLACK
    half = _half_mm(radius, sag_mm(span, slack))
    outlines = _strip(straight, half, board) if span > 0 else ()
    return Band(device.id, f"to {device.name}", "band", outlines, half, None) if outlines else None


def _half_mm(radius: float, sag: float) -> float:
    """Half the width of a strip, rounded up to what can be marked: one width for a whole channel, at its worst span."""
    return ceil((radius + PLACE_TOLERANCE_MM + sag) / STEP_MM - 1e-9) * STEP_MM


def _strip(line: Polyline, half: float, board: Any) -> tuple[Polyline, ...]:
    """The strip round a line with square ends and corners, as far as it lies on the board."""
    from shapely import LineString

    if length_mm(line) <= 0:
        return ()
    return _outlines(LineString(line).buffer(half, cap_style="square", join_style="mitre").intersection(board))


def _bay(analysis: Analysis, panel: Panel, board: Any, channel: str, name: str, line: Polyline) -> Band | None:
    """All bays between ribs that the line touches: where it really runs there nobody knows."""
    from shapely import LineString, union_all

    ribs = [
        LineString(rib.line_mm).buffer(rib.width_mm / 2, cap_style="flat")
        for rib in analysis.plan.ribs
        if rib.surface == panel.surface and len(rib.line_mm) > 1
    ]
    bays = board.difference(union_all(ribs)) if ribs else board
    way = LineString(line).buffer(1.0)
    touched = [bay for bay in getattr(bays, "geoms", (bays,)) if bay.intersects(way)]
    if not touched and board.intersects(way):
        touched = [board]
    # A rib between two such bays is no safer than they are: the bundle goes through it somewhere.
    area = union_all(touched).buffer(0.0) if touched else None
    outlines = _outlines(area) if area is not None else ()
    return Band(channel, name, "bay", outlines, 0.0, None) if outlines else None


def _outlines(area: Any) -> tuple[Polyline, ...]:
    """Outer rings of an area of any kind; a hole in a strip is too small to be aimed at and counts as strip."""
    parts = getattr(area, "geoms", (area,))
    return tuple(
        tuple(map(tuple, shape.exterior.coords[:-1]))
        for shape in parts
        if shape.geom_type == "Polygon" and shape.area > 1
    )
