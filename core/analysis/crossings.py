"""Stage `crossings`: where a bundle passes something that can rub it, how bad that is, and what protects it."""

from collections.abc import Mapping

from core.analysis.obstacles import Obstacle, near
from core.analysis.places import SAME_POINT_MM, sheet_point
from core.analysis.results import Bundle, ChannelPath, Crossing, NodeSpot
from core.geometry.plane import crossings as cross
from core.geometry.plane import nearest_on
from core.harness.crossing import edge_trim_length_mm, grommet_for, hole_needed_mm, severity, split_conduit_for
from core.model import (
    Channel,
    ConduitKind,
    GrommetKind,
    InPenetration,
    Node,
    PassThrough,
    Penetration,
    Point,
)

#: A pass-through protects what lies this near to it along the channel (mm; our choice: a hand's breadth).
REACH_MM = 60.0
#: Channels whose wall itself lies between bundle and edge.
SHELTERED = frozenset({"closed_conduit", "split_conduit", "trunking"})


def _protected(channel: Channel, obstacle: Obstacle, at_mm: float, passes: list[PassThrough]) -> bool:
    near = (p for p in passes if abs(p.at_mm - at_mm) <= REACH_MM + obstacle.half_mm and p.protection != "none")
    return obstacle.protected or channel.kind in SHELTERED or any(near)


def _remedy(
    obstacle: Obstacle,
    bundle_mm: float,
    angle_deg: float,
    grommets: tuple[GrommetKind, ...],
    conduits: tuple[ConduitKind, ...],
) -> tuple[str, float | None]:
    """What protects the bundle there, in words, and its size in mm (hole, strip length or bore)."""
    if obstacle.zone:
        return f"keep {obstacle.clearance_mm:g} mm away from {obstacle.name}", obstacle.clearance_mm
    if obstacle.kind in ("rib", "box_wall", "wheel_arch"):
        grommet = grommet_for(bundle_mm, obstacle.sheet_mm, grommets)
        if grommet is not None and obstacle.kind != "wheel_arch":
            return f"through it: grommet for a {grommet.hole_mm:g} mm hole; over it: split conduit", grommet.hole_mm
        conduit = split_conduit_for(bundle_mm, conduits)
        name = conduit.name if conduit is not None else "split conduit"
        return f"{name} over the edge, or a lined hole of {hole_needed_mm(bundle_mm):.0f} mm", hole_needed_mm(bundle_mm)
    if obstacle.kind in ("metal_edge", "opening", "panel_edge"):
        length = edge_trim_length_mm(bundle_mm, angle_deg)
        return f"edge trim, {length:.0f} mm long", length
    if obstacle.kind == "moving_part":
        return "route it outside what moves, or give it a moving joint", None
    conduit = split_conduit_for(bundle_mm, conduits)
    return (f"split conduit {conduit.name}", conduit.bore_mm) if conduit is not None else ("split conduit", None)


def _on_surface(
    channel: Channel,
    path: ChannelPath,
    bundle: Bundle,
    obstacles: tuple[Obstacle, ...],
    passes: list[PassThrough],
    grommets: tuple[GrommetKind, ...],
    conduits: tuple[ConduitKind, ...],
) -> list[Crossing]:
    rows = []
    for obstacle in near(obstacles, path.local_mm):
        if channel.runs_inside == obstacle.id or obstacle.kind == "batten":
            continue
        for meeting in cross(path.local_mm, obstacle.line_mm):
            if obstacle.axis_mm and nearest_on(obstacle.axis_mm, meeting.point).distance_mm <= SAME_POINT_MM:
                continue
            protected = _protected(channel, obstacle, meeting.a_mm, passes)
            remedy, size = _remedy(obstacle, bundle.diameter_laid_mm, meeting.angle_deg, grommets, conduits)
            rows.append(
                Crossing(
                    channel=channel.id,
                    at_mm=meeting.a_mm,
                    with_=obstacle.id,
                    kind=obstacle.kind,
                    angle_deg=meeting.angle_deg,
                    severity=severity(obstacle.kind, meeting.angle_deg, protected, obstacle.moving or channel.moving),
                    remedy=remedy,
                    size_mm=size,
                    sheet_mm=sheet_point(path, meeting.a_mm),
                    protected=protected,
                )
            )
    return rows


def _holes(
    nodes: tuple[Node, ...],
    penetrations: Mapping[str, Penetration],
    spots: Mapping[str, NodeSpot],
    members: Mapping[str, list[tuple[Channel, Bundle]]],
    grommets: tuple[GrommetKind, ...],
) -> list[Crossing]:
    """Every penetration is one crossing, sized by the largest bundle on either side of it."""
    rows = []
    for node in nodes:
        if not isinstance(node.place, InPenetration) or node.id not in members:
            continue
        hole = penetrations[node.place.penetration]
        channel, bundle = max(members[node.id], key=lambda m: m[1].diameter_laid_mm)
        protected = hole.protection != "none"
        grommet = grommet_for(bundle.diameter_laid_mm, hole.thickness_mm, grommets)
        need = grommet.hole_mm if grommet is not None else hole_needed_mm(bundle.diameter_laid_mm)
        where: tuple[Point, ...] = spots[node.id].sheet_mm
        rows.append(
            Crossing(
                channel=channel.id,
                at_mm=0.0 if channel.start == node.id else bundle.length_mm,
                with_=hole.id,
                kind="hole",
                angle_deg=90.0,
                severity=severity("hole", 90.0, protected, channel.moving),
                remedy=f"{need:.0f} mm hole with grommet, deburr and paint; a gland where it goes outside",
                size_mm=need,
                sheet_mm=where[0] if where else None,
                protected=protected,
            )
        )
    return rows


def find_crossings(
    channels: tuple[Channel, ...],
    nodes: tuple[Node, ...],
    penetrations: tuple[Penetration, ...],
    pass_throughs: tuple[PassThrough, ...],
    spots: Mapping[str, NodeSpot],
    paths: Mapping[str, ChannelPath],
    bundles: Mapping[str, Bundle],
    obstacles: Mapping[str, tuple[Obstacle, ...]],
    grommets: tuple[GrommetKind, ...],
    conduits: tuple[ConduitKind, ...],
) -> tuple[Crossing, ...]:
    """Stage `crossings`: by channel and place, only channels that hold a wire."""
    passes: dict[str, list[PassThrough]] = {}
    for row in pass_throughs:
        passes.setdefault(row.channel, []).append(row)
    found: list[Crossing] = []
    members: dict[str, list[tuple[Channel, Bundle]]] = {}
    for channel in channels:
        bundle, path = bundles.get(channel.id), paths[channel.id]
        if bundle is None:
            continue
        for node in (channel.start, channel.end):
            members.setdefault(node, []).append((channel, bundle))
        if path.surface is not None:
            here = obstacles.get(path.surface, ())
            found.extend(_on_surface(channel, path, bundle, here, passes.get(channel.id, []), grommets, conduits))
    found.extend(_holes(nodes, {p.id: p for p in penetrations}, spots, members, grommets))
    return tuple(sorted(found, key=lambda c: (c.channel, c.at_mm, c.with_)))
