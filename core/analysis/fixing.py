"""Stage `fixing`: the fewest securing points every channel needs, and the stretches nothing can be fixed to."""

from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from functools import lru_cache

from core.analysis.fixing_terms import FixingTerms, Terms
from core.analysis.grounds import (
    BEND_REACH_MM,
    THROUGH_MM,
    Banned,
    Grounds,
    Hold,
    Lined,
    banned_stretches,
    bend_stretches,
    ground_of,
    hole_stretches,
    windows_at,
)
from core.analysis.motion import rides, swept_outline
from core.analysis.obstacles import Obstacle
from core.analysis.places import Fall, Sheet
from core.analysis.results import Bundle, ChannelPath, SecuringGap, SecuringRow, WrapRow
from core.analysis.rules import number
from core.analysis.turns import Turn
from core.harness.fastening import bolt_mm, drilled_mm, part_of
from core.harness.securing import Securing, Stretch, place
from core.model import (
    Channel,
    Circuit,
    Device,
    FixingKind,
    KeepOutZone,
    MovingPart,
    Opening,
    Outline,
    PassThrough,
    Profile,
    Rib,
    SecuringPoint,
    Surface,
)

#: From, to (mm).
Stretched = tuple[float, float]
#: How near to a breakout every branch is held (mm; common practice, no source).
BREAKOUT_REACH_MM = 150.0
#: Conduits are held round their outside, this much wider than their bore where nobody says (mm; our choice).
CONDUIT_WALL_MM = 4.0
LEAST_HELD_MM = 1.0
#: Fixings with a screw; on bare skin it goes into a rivet nut.
SCREWED = frozenset({"p_clip", "saddle", "screw", "tie_mount"})


def held_mm(channel: Channel, bundle: Bundle, wrapped: WrapRow | None, conduit_od: Mapping[str, float]) -> float:
    """Diameter that a fixing goes round: the conduit, or the bundle with its wrap."""
    if channel.kind == "trunking":
        return LEAST_HELD_MM  # held by its back, whatever lies in it
    outside = conduit_od.get(channel.conduit or "")
    if outside is not None:
        return outside
    if channel.bore is not None and channel.kind in ("closed_conduit", "split_conduit"):
        return channel.bore.width_mm + CONDUIT_WALL_MM
    if wrapped is not None and wrapped.outside_mm > 0:
        return wrapped.outside_mm
    return bundle.diameter_laid_mm


@dataclass(frozen=True)
class _Local:
    """What lies on one surface and bans securing points there."""

    openings: tuple[Opening, ...] = ()
    zones: tuple[KeepOutZone, ...] = ()
    swept: tuple[tuple[MovingPart, Outline], ...] = ()


def _by_surface(
    surfaces: Mapping[str, Surface],
    openings: Sequence[Opening],
    zones: Sequence[KeepOutZone],
    parts: Sequence[MovingPart],
) -> dict[str, _Local]:
    names = {o.surface for o in openings} | {z.surface for z in zones} | {p.surface for p in parts}
    return {
        name: _Local(
            tuple(o for o in openings if o.surface == name),
            tuple(z for z in zones if z.surface == name),
            tuple((p, swept_outline(p)) for p in parts if p.surface == name and not rides(p, surfaces[name])),
        )
        for name in names
    }


def _lined(
    pass_throughs: Sequence[PassThrough], channels: Sequence[Channel], paths: Mapping[str, ChannelPath]
) -> dict[str, list[Lined]]:
    """Holes by channel; one near the end of a channel is told to those that go on from there as well."""
    found: dict[str, list[Lined]] = {}
    holes = [row for row in pass_throughs if row.kind != "edge"]
    if not holes:
        return found
    by_id = {channel.id: channel for channel in channels}
    at_node: dict[str, list[Channel]] = {}
    for channel in channels:
        for node in {channel.start, channel.end}:
            at_node.setdefault(node, []).append(channel)
    for row in holes:
        channel, size = by_id[row.channel], row.hole_mm or 0.0
        found.setdefault(channel.id, []).append(Lined(row.at_mm, size))
        for node, away in ((channel.start, row.at_mm), (channel.end, paths[channel.id].length_mm - row.at_mm)):
            for other in at_node[node] if away <= THROUGH_MM else ():
                if other.id != channel.id:
                    beyond = -away if other.start == node else paths[other.id].length_mm + away
                    found.setdefault(other.id, []).append(Lined(beyond, size))
    return found


def _windows(bends: Sequence[Banned], terms: Terms, length_mm: float) -> dict[tuple[float, float], str]:
    """Places where a point is wanted at hand, with a word for each."""
    rows = dict.fromkeys(windows_at(bends, length_mm), "bend")
    for what, first in zip(terms.near, (True, False), strict=True):
        reach = min(BREAKOUT_REACH_MM if what == "breakout" else BEND_REACH_MM, length_mm)
        if what:
            rows.setdefault((0.0, reach) if first else (length_mm - reach, length_mm), what)
    return rows


def _rows(
    channel: Channel,
    answer: Securing,
    holds: Sequence[Hold],
    users: Mapping[float, SecuringPoint],
    banned: Sequence[Banned],
    terms: Terms,
    held: float,
    heavy: bool,
    fixings: Sequence[FixingKind],
) -> list[SecuringRow]:
    rows = []
    for placed in answer.points:
        hold = holds[int(placed.kind)] if placed.kind else None
        user = users.get(placed.at_mm)
        problem = ""
        if user is not None:
            problem = next((b.why for b in banned if b.from_mm < placed.at_mm < b.to_mm), "")
            if hold is None and user.kind != "bracket":
                problem = problem or "where nothing can be fixed to"
        if hold is not None and user is not None and user.kind != hold.kind:
            hold = _as_wished(hold, user, held, fixings)
        part = hold.part if hold is not None else None
        rows.append(
            SecuringRow(
                channel=channel.id,
                at_mm=placed.at_mm,
                kind=user.kind if user is not None else hold.kind if hold is not None else "bracket",
                user=user is not None,
                part=part.name if part is not None else "",
                hole_mm=_drilled(hold) if hold is not None else None,
                bolt_mm=bolt_mm(part.hole_mm if part is not None else None),
                threaded=hold is not None and _threaded(hold),
                heavy=heavy,
                on=hold.on if hold is not None else "",
                screw_mm=hold.screw_mm if hold is not None else None,
                holds_mm=held,
                why=_why(terms, hold),
                problem=problem,
            )
        )
    return rows


def _as_wished(hold: Hold, user: SecuringPoint, held: float, fixings: Sequence[FixingKind]) -> Hold:
    """The hold with the kind of fixing that the user chose there, of which the smallest part that fits is taken."""
    found = part_of((user.kind,), held, fixings)
    screw = hold.screw_mm if user.kind in SCREWED else None
    return replace(hold, kind=user.kind, part=found[1] if found is not None else None, screw_mm=screw)


def _threaded(hold: Hold) -> bool:
    """Whether its screw goes into a rivet nut: everything screwed to bare sheet metal does."""
    return hold.ground == "skin" and hold.kind in SCREWED


def _drilled(hold: Hold) -> float | None:
    """The hole to be drilled for a fixing; None for what is glued, clipped or tied."""
    if hold.kind not in SCREWED:
        return hold.part.hole_mm if hold.part is not None and hold.kind == "fir_tree_clip" else None
    return drilled_mm(bolt_mm(hold.part.hole_mm if hold.part is not None else None), _threaded(hold))


def _why(terms: Terms, hold: Hold | None) -> str:
    screw = f"; screw no longer than {hold.screw_mm:g} mm" if hold is not None and hold.screw_mm is not None else ""
    if hold is not None and _threaded(hold):
        screw = "; into a rivet nut"
    return f"at most {terms.span_mm:.0f} mm apart, {terms.source}{screw}"


def _gap_why(from_mm: float, to_mm: float, banned: Sequence[Banned], bare: str) -> str:
    """The longest banned stretch within a gap says why nothing is fixed there, else what the bare surface is."""
    inside = [(min(b.to_mm, to_mm) - max(b.from_mm, from_mm), b.why) for b in banned]
    length, why = max(inside, default=(0.0, ""))
    return why if length > 0 else bare


def _bare(holds: Sequence[Hold], surface: Surface | None, thick_mm: float) -> str:
    """Why a surface by itself holds nothing, "" where it does."""
    ground = ground_of(surface)
    if ground == "nothing":
        return f"on {surface.material}, which holds no fixing" if surface is not None else ""
    if any(hold.ground == ground for hold in holds):
        return ""
    return f"where no part of the catalogue for a {ground} takes {thick_mm:.0f} mm"


@lru_cache(maxsize=20_000)
def _placed(
    length_mm: float,
    stretches: tuple[Stretch, ...],
    span_mm: float,
    banned: tuple[Stretched, ...],
    windows: tuple[Stretched, ...],
    users: tuple[float, ...],
    ends_mm: tuple[float, float],
) -> Securing:
    """An edit changes a few channels; the others are remembered."""
    return place(length_mm, stretches, span_mm, forbidden=banned, windows=windows, fixed=users, end_mm=ends_mm)


def find_fixing(
    channels: tuple[Channel, ...],
    surfaces: tuple[Surface, ...],
    openings: tuple[Opening, ...],
    zones: tuple[KeepOutZone, ...],
    parts: tuple[MovingPart, ...],
    ribs: tuple[Rib, ...],
    circuits: tuple[Circuit, ...],
    devices: tuple[Device, ...],
    points: tuple[SecuringPoint, ...],
    pass_throughs: tuple[PassThrough, ...],
    fixings: tuple[FixingKind, ...],
    conduit_od: Mapping[str, float],
    sheet: Sheet,
    falls: Mapping[str, Fall],
    paths: Mapping[str, ChannelPath],
    bundles: Mapping[str, Bundle],
    wrapped: tuple[WrapRow, ...],
    turns: tuple[Turn, ...],
    wire_circuits: Mapping[str, str],
    endings: AbstractSet[tuple[str, str]],
    obstacles: Mapping[str, tuple[Obstacle, ...]],
    profile: Profile,
) -> tuple[tuple[SecuringRow, ...], tuple[SecuringGap, ...]]:
    """Stage `fixing`: rows and gaps by channel; only channels that hold a wire. Points of the user are kept.

    `endings` are (node, channel) of every wire that leaves the channel at the node for a device.
    """
    surface_by_id = {s.id: s for s in surfaces}
    here = _by_surface(surface_by_id, openings, zones, parts)
    grounds = Grounds(ribs, fixings)
    terms_of = FixingTerms(channels, circuits, devices, falls, bundles, wire_circuits, endings, turns, sheet, profile)
    # A bend that is held on both sides, as every one is here, may be this tight.
    tight = number(profile, "bend.bundle_supported_multiple")
    wraps = {row.channel: row for row in wrapped}
    own: dict[str, list[SecuringPoint]] = {}
    for point in points:
        own.setdefault(point.channel, []).append(point)
    lined = _lined(pass_throughs, channels, paths)
    rows: list[SecuringRow] = []
    gaps: list[SecuringGap] = []
    for channel in channels:
        path, bundle = paths[channel.id], bundles.get(channel.id)
        users = {p.at_mm: p for p in own.get(channel.id, [])}
        if bundle is None or path.length_mm <= 0 or path.problem or channel.moving:
            why = "on a stretch that moves" if channel.moving else ""
            rows += [
                SecuringRow(channel=channel.id, at_mm=p.at_mm, kind=p.kind, user=True, problem=why)
                for p in users.values()
            ]
            continue
        terms = terms_of.of(channel, path, bundle)
        thick = held_mm(channel, bundle, wraps.get(channel.id), conduit_od)
        surface, local = surface_by_id.get(path.surface or ""), here.get(path.surface or "", _Local())
        holes, heavy = lined.get(channel.id, ()), terms_of.heavy(bundle)
        stretches, holds = grounds.along(
            channel, path, thick, surface, obstacles.get(path.surface or "", ()), holes, heavy
        )
        bends = bend_stretches(channel, path, tight * thick, thick, terms.span_mm)
        banned = [
            *bends,
            *banned_stretches(path, local.openings, local.zones, local.swept),
            *hole_stretches(holes, thick),
        ]
        bare = _bare(holds, surface, thick)
        windows = _windows(bends, terms, path.length_mm)
        answer = _placed(
            path.length_mm,
            tuple(stretches),
            terms.span_mm,
            tuple((b.from_mm, b.to_mm) for b in banned),
            tuple(windows),
            tuple(at for at in users if at <= path.length_mm),
            terms.ends_mm,
        )
        rows += _rows(channel, answer, holds, users, banned, terms, thick, heavy, fixings)
        rows += [
            SecuringRow(channel=channel.id, at_mm=at, kind=p.kind, user=True, problem="past the channel's end")
            for at, p in users.items()
            if at > path.length_mm
        ]
        gaps += [
            SecuringGap(
                channel=channel.id,
                from_mm=g.from_mm,
                to_mm=g.to_mm,
                limit_mm=g.span_mm,
                brackets_mm=g.brackets_mm,
                rule=terms.rule if g.span_mm >= terms.span_mm / 2 else "securing.first_mm",
                why=_gap_why(g.from_mm, g.to_mm, banned, bare),
            )
            for g in answer.gaps
        ]
        gaps += [
            SecuringGap(
                channel=channel.id,
                from_mm=low,
                to_mm=high,
                limit_mm=high - low,
                why=_gap_why(low, high, banned, bare),
                near=windows[low, high],
            )
            for low, high in answer.missed
            if (low, high) in windows and not any(g.from_mm <= low and g.to_mm >= high for g in answer.gaps)
        ]
    return tuple(rows), tuple(gaps)
