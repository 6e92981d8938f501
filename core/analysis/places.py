"""Stages `sheet` and `places`: where surfaces, nodes and channels lie, on the sheet and in the vehicle."""

from collections.abc import Mapping
from dataclasses import dataclass

from core.analysis.results import ChannelPath, NodeSpot
from core.geometry.entry import entry_point
from core.geometry.foldout import Layout, Overlap, lay_out, overlaps
from core.geometry.joints import Joints, Spot, join, meeting_places, node_places
from core.geometry.plane import length_mm, point_at
from core.geometry.seams import SeamState, seam_letters, seam_state
from core.geometry.shortest import surface_path_length
from core.model import (
    Channel,
    Device,
    InPenetration,
    Node,
    Penetration,
    Point,
    Seam,
    Surface,
)

#: A node and a drawn point nearer than this are one point (mm).
SAME_POINT_MM = 0.5


@dataclass(frozen=True)
class Sheet:
    """The vehicle laid flat: placements and poses, where surfaces meet, how well seams close."""

    layout: Layout
    joints: Joints
    overlaps: tuple[Overlap, ...]
    seam_states: Mapping[str, SeamState]
    seam_letters: Mapping[str, str]

    def to_sheet(self, surface: str, p: Point) -> Point | None:
        """A local point on the sheet; None for a surface that cannot be placed."""
        laid = self.layout.laid.get(surface)
        return laid.place.to_sheet(p) if laid is not None else None


def make_sheet(surfaces: tuple[Surface, ...], seams: tuple[Seam, ...]) -> Sheet:
    """Stage `sheet`."""
    layout = lay_out(surfaces)
    return Sheet(
        layout=layout,
        joints=join(surfaces, seams),
        overlaps=overlaps(layout, surfaces),
        seam_states={seam.id: seam_state(seam, surfaces, layout) for seam in seams},
        seam_letters=seam_letters(seams),
    )


def _spots(sheet: Sheet, node: Node, penetrations: Mapping[str, Penetration]) -> tuple[Spot, ...]:
    if isinstance(node.place, InPenetration):
        hole = penetrations.get(node.place.penetration)
        if hole is None:
            return ()
        here = (*meeting_places(sheet.joints, hole.a, hole.a_mm), *meeting_places(sheet.joints, hole.b, hole.b_mm))
        return tuple({spot.surface: spot for spot in reversed(here)}.values())[::-1]
    return node_places(sheet.joints, node.place)


def node_spots(sheet: Sheet, nodes: tuple[Node, ...], penetrations: tuple[Penetration, ...]) -> dict[str, NodeSpot]:
    """Stage `nodes`: every surface a node lies on. A node whose place does not exist has no spots."""
    holes = {p.id: p for p in penetrations}
    result = {}
    for node in nodes:
        spots = _spots(sheet, node, holes)
        on_sheet = (sheet.to_sheet(spot.surface, spot.point) for spot in spots)
        result[node.id] = NodeSpot(
            node=node.id,
            spots=tuple((spot.surface, spot.point) for spot in spots),
            sheet_mm=tuple(p for p in on_sheet if p is not None),
        )
    return result


def _spot_on(spot: NodeSpot | None, surface: str) -> Point | None:
    return next((p for s, p in spot.spots if s == surface), None) if spot is not None else None


def _path(sheet: Sheet, spots: Mapping[str, NodeSpot], channel: Channel) -> ChannelPath:
    local: tuple[Point, ...] = ()
    problem = ""
    if channel.surface is not None:
        start, end = (_spot_on(spots.get(node), channel.surface) for node in (channel.start, channel.end))
        if start is None or end is None:
            missing = channel.start if start is None else channel.end
            problem = f"node {missing} does not lie on surface {channel.surface}"
        else:
            local = (start, *channel.via_mm, end)
    elif channel.measured_mm is None:
        problem = "neither a surface nor a measured length"
    drawn = length_mm(local) if local else 0.0
    on_sheet = [sheet.to_sheet(channel.surface, p) for p in local] if channel.surface is not None else []
    return ChannelPath(
        channel=channel.id,
        surface=channel.surface if local else None,
        local_mm=local,
        sheet_mm=tuple(p for p in on_sheet if p is not None) if None not in on_sheet else (),
        length_mm=channel.measured_mm if channel.measured_mm is not None else drawn,
        provisional=channel.known == "assumed" or channel.state == "unknown",
        problem=problem,
    )


def channel_paths(sheet: Sheet, spots: Mapping[str, NodeSpot], channels: tuple[Channel, ...]) -> dict[str, ChannelPath]:
    """Stage `paths`: how every channel lies."""
    return {channel.id: _path(sheet, spots, channel) for channel in channels}


def sheet_point(path: ChannelPath, at_mm: float) -> Point | None:
    """The sheet point `at_mm` from the start of a channel; a length typed from the tape is spread over the drawing."""
    if len(path.sheet_mm) < 2:
        return None
    drawn = length_mm(path.sheet_mm)
    scale = drawn / path.length_mm if path.length_mm > 0 else 0.0
    return point_at(path.sheet_mm, at_mm * scale)


@dataclass(frozen=True)
class Fall:
    """Wire between a device's entry and the node it joins. `length_mm` None: it cannot be told (finding)."""

    device: str
    length_mm: float | None
    typed: bool


def falls(sheet: Sheet, spots: Mapping[str, NodeSpot], devices: tuple[Device, ...]) -> dict[str, Fall]:
    """Stage `falls`: for every device with a node, straight along the surface (over folds where the node lies on a
    neighbouring surface), or the length typed."""
    result = {}
    for device in devices:
        if device.node is None:
            continue
        length = device.fall_mm
        spot = spots.get(device.node)
        if length is None and spot is not None and spot.spots:
            here = _spot_on(spot, device.surface)
            entry = entry_point(device)
            if here is not None:
                length = length_mm((entry, here))
            else:
                length = surface_path_length(sheet.joints, [(device.surface, entry), spot.spots[0]])
        result[device.id] = Fall(device.id, length, device.fall_mm is not None)
    return result
