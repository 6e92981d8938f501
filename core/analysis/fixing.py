"""Stage `fixing`: the fewest securing points every channel needs, and the stretches nothing can be fixed to."""

from collections.abc import Mapping

from core.analysis.obstacles import Obstacle, near
from core.analysis.results import Bundle, ChannelPath, SecuringGap, SecuringRow
from core.analysis.rules import number
from core.geometry.plane import along_mm, crossings
from core.geometry.polygon import clip
from core.harness.bend import turn_angles_deg
from core.harness.securing import Stretch, place
from core.model import METALS, Channel, Circuit, Device, Opening, Profile, SecuringPoint, Surface

#: Costs only rank the ways to fix: a rib first, then a batten, a board, bare skin with a bonded mount (our choice).
COST = {"rib": 1.0, "batten": 1.0, "board": 1.3, "skin": 2.0}
#: A turn from which on the bundle is held on both sides (degrees), and how near to it (mm; common practice, no source).
BEND_TURN_DEG = 30.0
BEND_REACH_MM = 100.0
#: Channels that are held by their own saddles.
DUCTS = frozenset({"closed_conduit", "split_conduit", "trunking"})


def span_rule(channel: Channel, battery: bool) -> str:
    """Which span of the profile holds: battery leads and cabinet wiring have their own."""
    if battery:
        return "securing.battery_span_mm"
    return "securing.cabinet_span_mm" if channel.kind == "furniture" else "securing.span_mm"


def _kind(channel: Channel, where: str, surface: Surface | None, bundle_mm: float) -> str:
    if channel.kind in DUCTS:
        return "saddle"
    if where == "rib":
        return "p_clip" if bundle_mm > 12.0 else "tie_mount"
    if where == "skin":
        return "bonded_mount"
    return "p_clip" if surface is not None and bundle_mm > 20.0 else "tie_mount"


def _stretches(
    channel: Channel, path: ChannelPath, bundle_mm: float, surface: Surface | None, obstacles: tuple[Obstacle, ...]
) -> list[Stretch]:
    """Where the channel can be fixed, and how. A measured channel can be fixed anywhere (furniture, void)."""
    if surface is None:
        return [Stretch(0.0, path.length_mm, COST["board"], _kind(channel, "board", None, bundle_mm))]
    where = "skin" if surface.material in METALS and surface.side != "board" else "board"
    rows = [Stretch(0.0, path.length_mm, COST[where], _kind(channel, where, surface, bundle_mm))]
    for obstacle in near(obstacles, path.local_mm):
        if obstacle.kind not in ("rib", "batten"):
            continue
        for meeting in crossings(path.local_mm, obstacle.line_mm):
            low, high = meeting.a_mm - obstacle.half_mm, meeting.a_mm + obstacle.half_mm
            rows.append(
                Stretch(
                    max(0.0, low), min(path.length_mm, high), COST["rib"], _kind(channel, "rib", surface, bundle_mm)
                )
            )
    return rows


def _forbidden(path: ChannelPath, openings: list[Opening]) -> list[tuple[float, float]]:
    """Stretches over an opening: nothing to fix to."""
    return [
        (stretch.from_mm, stretch.to_mm) for opening in openings for stretch in clip(path.local_mm, opening.outline)
    ]


def _windows(path: ChannelPath) -> list[tuple[float, float]]:
    """One securing point on either side of every sharp bend."""
    if len(path.local_mm) < 3:
        return []
    along = along_mm(path.local_mm)
    rows = []
    for i, turn in enumerate(turn_angles_deg(path.local_mm), start=1):
        if turn >= BEND_TURN_DEG:
            before = max(along[i - 1], along[i] - BEND_REACH_MM)
            after = min(along[i + 1], along[i] + BEND_REACH_MM)
            rows += [(before, along[i]), (along[i], after)]
    return rows


def find_fixing(
    channels: tuple[Channel, ...],
    surfaces: tuple[Surface, ...],
    openings: tuple[Opening, ...],
    circuits: tuple[Circuit, ...],
    devices: tuple[Device, ...],
    points: tuple[SecuringPoint, ...],
    paths: Mapping[str, ChannelPath],
    bundles: Mapping[str, Bundle],
    wire_circuits: Mapping[str, str],
    obstacles: Mapping[str, tuple[Obstacle, ...]],
    profile: Profile,
) -> tuple[tuple[SecuringRow, ...], tuple[SecuringGap, ...]]:
    """Stage `fixing`: rows and gaps by channel; only channels that hold a wire. Points of the user are kept."""
    surface_by_id = {s.id: s for s in surfaces}
    battery = {c.id for c in circuits if c.kind == "battery_lead"}
    with_device = {d.node for d in devices if d.node is not None}
    own: dict[str, list[SecuringPoint]] = {}
    for point in points:
        own.setdefault(point.channel, []).append(point)
    holes: dict[str, list[Opening]] = {}
    for opening in openings:
        holes.setdefault(opening.surface, []).append(opening)
    first = number(profile, "securing.first_mm")
    rows: list[SecuringRow] = []
    gaps: list[SecuringGap] = []
    for channel in channels:
        path, bundle = paths[channel.id], bundles.get(channel.id)
        users = {p.at_mm: p for p in own.get(channel.id, [])}
        if bundle is None or path.length_mm <= 0 or path.problem:
            rows += [SecuringRow(channel=channel.id, at_mm=p.at_mm, kind=p.kind, user=True) for p in users.values()]
            continue
        rule = span_rule(channel, any(wire_circuits[w] in battery for w in bundle.wires))
        span = number(profile, rule)
        surface = surface_by_id.get(path.surface or "")
        ends = tuple(first if node in with_device else span / 2 for node in (channel.start, channel.end))
        answer = place(
            path.length_mm,
            _stretches(channel, path, bundle.diameter_laid_mm, surface, obstacles.get(path.surface or "", ())),
            span,
            forbidden=_forbidden(path, holes.get(path.surface or "", [])),
            windows=_windows(path),
            fixed=tuple(at for at in users if at <= path.length_mm),
            end_mm=(ends[0], ends[1]),
        )
        if channel.moving:
            continue
        for placed in answer.points:
            kind = users[placed.at_mm].kind if placed.user else placed.kind
            rows.append(SecuringRow(channel=channel.id, at_mm=placed.at_mm, kind=kind, user=placed.user))
        gaps += [
            SecuringGap(channel=channel.id, from_mm=g.from_mm, to_mm=g.to_mm, limit_mm=span, brackets_mm=g.brackets_mm)
            for g in answer.gaps
        ]
    return tuple(rows), tuple(gaps)
