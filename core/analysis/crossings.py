"""Stage `crossings`: where a bundle passes something that can rub it, how bad that is, and what protects it."""

from collections.abc import Mapping, Sequence

from core.analysis.covers import Cover, Parts, conduit_cover, edge_cover, through_or_over
from core.analysis.obstacles import Obstacle, near, taped
from core.analysis.passages import Member, find_passages
from core.analysis.places import SAME_POINT_MM, Sheet, sheet_point
from core.analysis.results import Bundle, ChannelPath, Crossing, NodeSpot, WrapRow
from core.geometry.plane import crossings as cross
from core.geometry.plane import nearest_on
from core.harness.crossing import severity
from core.model import Channel, MovingJoint, Node, PassThrough, Penetration, Surface

#: A pass-through protects what lies this near to it along the channel (mm; our choice: a hand's breadth).
REACH_MM = 60.0
#: Channels whose wall itself lies between bundle and edge.
SHELTERED = frozenset({"closed_conduit", "split_conduit", "trunking"})
#: Channels behind or below what stands and moves in the room.
BEHIND = frozenset({"behind_panel", "void", "underfloor", "exterior", "engine_bay"})
IN_THE_ROOM = frozenset({"box_wall", "moving_part"})


def _passed_by(channel: Channel, obstacle: Obstacle) -> bool:
    """Whether the bundle does not meet the thing although its line is crossed."""
    if channel.runs_inside == obstacle.id or obstacle.kind == "batten":
        return True
    return channel.kind in BEHIND and obstacle.kind in IN_THE_ROOM


def _protected(obstacle: Obstacle, at_mm: float, passes: Sequence[PassThrough], sheltered: bool) -> bool:
    here = (p for p in passes if abs(p.at_mm - at_mm) <= REACH_MM + obstacle.half_mm and p.protection != "none")
    return obstacle.protected or sheltered or any(here)


def _cover(obstacle: Obstacle, bundle_mm: float, angle_deg: float, parts: Parts) -> Cover:
    if obstacle.zone:
        away = f"{obstacle.clearance_mm:g} mm away from" if obstacle.clearance_mm > 0 else "out of"
        return Cover(f"keep {away} {obstacle.name}", "", obstacle.clearance_mm)
    if obstacle.kind in ("rib", "box_wall", "wheel_arch"):
        through = obstacle.kind != "wheel_arch"
        metal = obstacle.kind == "rib"
        width = 2 * obstacle.half_mm
        return through_or_over(parts, bundle_mm, obstacle.sheet_mm, width, through, metal, obstacle.walls)
    if obstacle.kind in ("metal_edge", "opening", "panel_edge"):
        return edge_cover(bundle_mm, angle_deg)
    if obstacle.kind == "moving_part":
        return Cover("route it outside what moves, or give it a moving joint", "flexible")
    return conduit_cover(parts, bundle_mm)


def _on_surface(
    channel: Channel,
    path: ChannelPath,
    obstacles: tuple[Obstacle, ...],
    passes: Sequence[PassThrough],
    parts: Parts,
    sheltered: bool,
    thick: float,
) -> list[Crossing]:
    rows = []
    scale = taped(path)
    for obstacle in near(obstacles, path.local_mm):
        if _passed_by(channel, obstacle):
            continue
        for meeting in cross(path.local_mm, obstacle.line_mm):
            if obstacle.axis_mm and nearest_on(obstacle.axis_mm, meeting.point).distance_mm <= SAME_POINT_MM:
                continue
            at = meeting.a_mm * scale
            protected = _protected(obstacle, at, passes, sheltered)
            cover = _cover(obstacle, thick, meeting.angle_deg, parts)
            rows.append(
                Crossing(
                    channel=channel.id,
                    at_mm=at,
                    with_=obstacle.id,
                    kind=obstacle.kind,
                    angle_deg=meeting.angle_deg,
                    severity=severity(obstacle.kind, meeting.angle_deg, protected, obstacle.moving or channel.moving),
                    remedy=cover.words,
                    size_mm=cover.size_mm,
                    sheet_mm=sheet_point(path, at),
                    protected=protected,
                    remedy_kind=cover.kind,
                    part=cover.part,
                    length_mm=cover.length_mm,
                    walls=obstacle.walls,
                )
            )
    return rows


def _once(rows: Sequence[Crossing], channels: Sequence[Channel], paths: Mapping[str, ChannelPath]) -> list[Crossing]:
    """Channels that meet right on a rib, edge or wall pass it together: one crossing, protected if any of them is, and
    sized for the thickest."""
    by_id = {channel.id: channel for channel in channels}
    kept: dict[tuple[str, str], Crossing] = {}
    found: list[Crossing] = []
    for row in rows:
        channel, length = by_id[row.channel], paths[row.channel].length_mm
        node = (
            channel.start if row.at_mm <= SAME_POINT_MM else channel.end if row.at_mm >= length - SAME_POINT_MM else ""
        )
        if not node:
            found.append(row)
            continue
        old = kept.get((node, row.with_))
        if old is None or (row.protected, row.size_mm or 0.0) > (old.protected, old.size_mm or 0.0):
            kept[node, row.with_] = row
    return [*found, *kept.values()]


def find_crossings(
    channels: tuple[Channel, ...],
    nodes: tuple[Node, ...],
    surfaces: tuple[Surface, ...],
    penetrations: tuple[Penetration, ...],
    pass_throughs: tuple[PassThrough, ...],
    joints: tuple[MovingJoint, ...],
    sheet: Sheet,
    spots: Mapping[str, NodeSpot],
    paths: Mapping[str, ChannelPath],
    bundles: Mapping[str, Bundle],
    wrapped: tuple[WrapRow, ...],
    obstacles: Mapping[str, tuple[Obstacle, ...]],
    parts: Parts,
) -> tuple[Crossing, ...]:
    """Stage `crossings`: by channel and place, only channels that hold a wire."""
    passes: dict[str, list[PassThrough]] = {}
    for row in pass_throughs:
        passes.setdefault(row.channel, []).append(row)
    wraps = {row.channel: row for row in wrapped}
    found: list[Crossing] = []
    members: dict[str, list[Member]] = {}
    for channel in channels:
        bundle, path = bundles.get(channel.id), paths[channel.id]
        if bundle is None:
            continue
        wrap = wraps.get(channel.id)
        thick = max(bundle.diameter_laid_mm, wrap.outside_mm if wrap is not None else 0.0)
        for node in (channel.start, channel.end):
            members.setdefault(node, []).append((channel, bundle, thick))
        if path.surface is not None:
            here = obstacles.get(path.surface, ())
            # Conduit slipped over the bundle shelters it as a channel of that kind does.
            sheltered = channel.kind in SHELTERED or (wrap is not None and wrap.sheltered)
            found.extend(_on_surface(channel, path, here, passes.get(channel.id, []), parts, sheltered, thick))
    found = _once(found, channels, paths)
    found.extend(find_passages(nodes, surfaces, penetrations, joints, sheet, spots, members, parts))
    return tuple(sorted(found, key=lambda c: (c.channel, c.at_mm, c.with_)))
