"""Stage `materials`: everything to buy, each with its quantity and the reason for it.

Small parts are bought with the plan's spares and in whole packs; what is sold by length with the plan's waste.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from math import ceil

from core.analysis.crossings import REACH_MM
from core.analysis.cutting import rolls_of, sorts, spool_name
from core.analysis.results import (
    Bundle,
    ChannelPath,
    CircuitSize,
    Crossing,
    CutPiece,
    CutRow,
    Material,
    Route,
    SecuringRow,
    SizedWire,
    SpoolPlan,
    Wire,
    WrapRow,
)
from core.analysis.wire_ends import SHRINK_LENGTH_MM, heat_shrink, labels, terminals
from core.electrical.protection import family_words
from core.harness.crossing import edge_trim_length_mm, gland_for, grommet_for, split_conduit_for
from core.harness.fastening import tie_width_mm
from core.harness.securing import part_for
from core.model import (
    Assumptions,
    Channel,
    Circuit,
    ConduitKind,
    Device,
    FixingKind,
    GrommetKind,
    PassThrough,
    Penetration,
    TapeKind,
    WireKind,
)
from core.text import counted

FIXING_WORDS = {
    "tie_mount": "tie mount",
    "p_clip": "P-clip",
    "saddle": "saddle",
    "edge_clip": "edge clip",
    "fir_tree_clip": "fir-tree clip",
    "bonded_mount": "bonded mount",
    "clip": "clip",
    "cable_tie": "cable tie",
    "bracket": "bracket",
    "screw": "screw through the back of the trunking",
    "adhesive": "adhesive pad for the back of trunking",
}
#: Fixings that hold the bundle by a cable tie of its own.
TIED = frozenset({"tie_mount", "bonded_mount", "edge_clip", "fir_tree_clip", "cable_tie"})
#: Ties other than these are for the engine bay or for taking off again; they are not what is meant by a cable tie.
SPECIAL_TIES = ("stainless", "releasable")
#: Draw string beyond a spare duct at either end (mm; common practice, no source).
STRING_BEYOND_MM = 500.0
#: A hole drilled for a grommet is as large as the catalogue says, to this (mm).
SAME_HOLE_MM = 0.5
CONDUITS = frozenset({"closed_conduit", "split_conduit"})


@dataclass(frozen=True)
class Needs:
    """What the other stages say, gathered for the shopping list."""

    wires: Mapping[str, Wire]
    routes: Mapping[str, Route]
    sized: Mapping[str, SizedWire]
    pieces: tuple[CutPiece, ...]
    cut: tuple[CutRow, ...]
    spool_plans: tuple[SpoolPlan, ...]
    wrap: tuple[WrapRow, ...]
    securing: tuple[SecuringRow, ...]
    crossings: tuple[Crossing, ...]
    paths: Mapping[str, ChannelPath]
    bundles: Mapping[str, Bundle]
    sizes: Mapping[str, CircuitSize]


@dataclass(frozen=True)
class Shelf:
    """What can be bought: the plan's own kinds, else those of the library."""

    wires: tuple[WireKind, ...]
    tapes: tuple[TapeKind, ...]
    conduits: tuple[ConduitKind, ...]
    grommets: tuple[GrommetKind, ...]
    fixings: tuple[FixingKind, ...]


def _pieces(item: str, used: int, why: str, a: Assumptions, pack: int = 1, price: float | None = None) -> Material:
    """A small part: as many as are used and the plan's spares, in whole packs."""
    wanted = used + ceil(used * a.spares_percent / 100 - 1e-9)
    packs = ceil(wanted / pack) if pack > 1 else 0
    bought = packs * pack if packs else wanted
    spare = f", {wanted - used} spare" if wanted > used else ""
    return Material(
        item=item,
        quantity=wanted,
        unit="pieces",
        why=f"{why}: {used} in use{spare}",
        pack=pack,
        packs=packs,
        price=None if price is None else price * bought,
    )


def _metres(item: str, used_mm: float, why: str, a: Assumptions, price: float | None = None) -> Material:
    """What is sold by length: what is used and the plan's waste, up to the next 0.1 m."""
    metres = ceil(used_mm / 1000 * (1 + a.waste_percent / 100) * 10 - 1e-9) / 10
    waste = f" and {a.waste_percent:g} % waste" if a.waste_percent > 0 else ""
    return Material(
        item=item,
        quantity=metres,
        unit="m",
        why=f"{why}: {used_mm / 1000:.2f} m{waste}",
        price=None if price is None else price * metres,
    )


def _wires(needs: Needs, shelf: Shelf) -> Iterable[Material]:
    kinds = {k.id: k for k in shelf.wires}
    spools = {row.piece: row.spool for row in needs.cut}
    plans = {(p.kind, p.section_mm2, p.colour): p for p in needs.spool_plans}
    for (kind, section, colour), members in sorted(sorts(needs.pieces).items()):
        metres = ceil(sum(p.cut_mm for p in members) / 100) / 10
        count = len({spools[p.piece] for p in members if spools.get(p.piece)})
        plan = plans.get((kind, section, colour))
        new = f", {plan.new_spools} of them new with {plan.spool_mm / 1000:g} m" if plan and plan.new_spools else ""
        price = needs.sized[members[0].wires[0]].price_per_m
        yield Material(
            item=spool_name(kinds[kind], section, colour),
            quantity=metres,
            unit="m",
            why=f"{counted(len(members), 'piece')} off {counted(count, 'spool')}{new}",
            price=None if price is None else price * metres,
        )


def _wraps(channels: Sequence[Channel], needs: Needs, shelf: Shelf, a: Assumptions) -> Iterable[Material]:
    for tape in shelf.tapes:
        count = rolls_of(tape, needs.wrap, a)
        if count:
            used = sum(r.tape_mm for r in needs.wrap if r.tape == tape.id)
            yield Material(
                item=tape.name,
                quantity=count,
                unit="rolls",
                why=f"{used / 1000:.1f} m of tape and {a.tape_reserve_percent:g} % reserve, no stretch from two rolls "
                "that fits on one",
                price=None if tape.price is None else tape.price * count,
            )
    over: Counter[str] = Counter()
    ducts = {c.id for c in channels if c.kind in CONDUITS}  # bought with their channels
    for row in needs.wrap:
        if row.part and row.channel not in ducts:
            over[row.part] += ceil(row.part_mm)
    prices = {c.name: c.price for c in shelf.conduits}
    for name, length in sorted(over.items()):
        yield _metres(name, length, "over bundles", a, prices.get(name))


def _ducts(channels: Sequence[Channel], needs: Needs, shelf: Shelf, a: Assumptions) -> Iterable[Material]:
    """Conduit and trunking of channels that hold wires, and of spare ducts with their draw strings."""
    by_id = {c.id: c for c in shelf.conduits}
    lengths: Counter[tuple[str, float | None]] = Counter()
    string = 0.0
    for channel in channels:
        bundle, length = needs.bundles.get(channel.id), needs.paths[channel.id].length_mm
        if bundle is None and not channel.spare_duct:
            continue
        conduit = by_id.get(channel.conduit or "")
        if conduit is None and channel.kind == "split_conduit" and bundle is not None:
            conduit = split_conduit_for(bundle.diameter_laid_mm, shelf.conduits)
        if channel.kind in CONDUITS and conduit is not None:
            lengths[conduit.name, conduit.price] += ceil(length)
        elif channel.kind in CONDUITS or channel.kind == "trunking":
            word = channel.kind.replace("_", " ")
            bore = channel.bore
            size = "" if bore is None else f", inside {bore.width_mm:g}"
            size += "" if bore is None else " mm" if bore.height_mm is None else f" x {bore.height_mm:g} mm"
            lengths[f"{word}{size}", None] += ceil(length)
        if channel.draw_string:
            string += length + 2 * STRING_BEYOND_MM
    for (name, price), length in sorted(lengths.items(), key=lambda item: item[0][0]):
        yield _metres(name, length, "channels laid in it", a, price)
    if string > 0:
        yield _metres("draw string", string, "left in ducts for later wires", a)


def tie_for(bundle_mm: float, fixings: Iterable[FixingKind], heavy: bool = False) -> FixingKind | None:
    """The plain cable tie that goes round a bundle: of the usual width for it, the shortest that reaches; else the next
    wider one, else a narrower one. None when all are too short. A tie without a width is taken as wide enough."""
    wanted = tie_width_mm(bundle_mm, heavy)
    fitting = [
        f
        for f in fixings
        if f.kind == "cable_tie"
        and f.largest_bundle_mm >= bundle_mm
        and not any(word in f.name for word in SPECIAL_TIES)
    ]

    def rank(f: FixingKind) -> tuple[bool, float, float]:
        width = f.width_mm if f.width_mm is not None else wanted
        return width < wanted, abs(width - wanted), f.largest_bundle_mm

    return min(fitting, key=rank, default=None)


def _fitting(row: SecuringRow, needs: Needs, shelf: Shelf) -> str:
    """The catalogue's part for a fixing placed by hand, by its kind and bundle; else its word with the bundle."""
    bundle = needs.bundles.get(row.channel)
    holds_mm = row.holds_mm or (bundle.diameter_laid_mm if bundle is not None else 0.0)
    part = part_for(holds_mm, (f for f in shelf.fixings if f.kind == row.kind))
    word = FIXING_WORDS.get(row.kind, row.kind)
    return part.name if part is not None else f"{word} for a bundle of {holds_mm:.0f} mm"


def _fixings(
    channels: Sequence[Channel], needs: Needs, shelf: Shelf, pitch_mm: float, a: Assumptions
) -> Iterable[Material]:
    by_name = {f.name: f for f in shelf.fixings}
    parts: Counter[str] = Counter()
    screws: Counter[str] = Counter()
    ties: Counter[str] = Counter()

    def tie(bundle_mm: float, count: int, heavy: bool = False) -> None:
        part = tie_for(bundle_mm, shelf.fixings, heavy)
        ties[part.name if part is not None else f"cable tie for a bundle of {bundle_mm:.0f} mm"] += count

    for row in needs.securing:
        name = FIXING_WORDS["adhesive"] if row.kind == "adhesive" else row.part or _fitting(row, needs, shelf)
        if row.kind != "screw":
            parts[name] += 1
        if row.threaded:
            screws[f"rivet nut M{row.bolt_mm:g}"] += 1
            screws[f"screw M{row.bolt_mm:g} with washer, for a rivet nut"] += 1
        elif row.screw_mm is not None:
            screws[f"screw, {row.bolt_mm:g} mm, {row.screw_mm:g} mm long at the most"] += 1
        if row.kind in TIED and row.holds_mm > 0:
            tie(row.holds_mm, 1, row.heavy)
    covered = {row.channel for row in needs.wrap}
    for channel in channels:
        bundle = needs.bundles.get(channel.id)
        if bundle is None or channel.id in covered or channel.kind in (*CONDUITS, "trunking") or len(bundle.items) < 2:
            continue
        tie(bundle.diameter_laid_mm, int(bundle.length_mm / pitch_mm))
    for name, count in sorted(parts.items()):
        part = by_name.get(name)
        pack, price = (part.pack, part.price) if part is not None else (1, None)
        yield _pieces(name, count, "securing points", a, pack, price)
    for name, count in sorted(ties.items()):
        part = by_name.get(name)
        pack, price = (part.pack, part.price) if part is not None else (1, None)
        if count:
            yield _pieces(name, count, f"mounts, and bundles without wrap every {pitch_mm:.0f} mm", a, pack, price)
    for name, count in sorted(screws.items()):
        yield _pieces(name, count, "mounts, clips, saddles and trunking", a)


@dataclass(frozen=True)
class Placed:
    """What the plan says is put into holes and over edges already."""

    pass_throughs: tuple[PassThrough, ...]
    penetrations: tuple[Penetration, ...]
    #: Pass-throughs that name one of the penetrations once more.
    twice: frozenset[str] = frozenset()


def _in_conduit(channels: Sequence[Channel], needs: Needs, shelf: Shelf) -> set[str]:
    """Channels whose wires lie in conduit all along, which is bought with the channel or its wrap."""
    names = {c.name for c in shelf.conduits}
    ducts = {c.id for c in channels if c.kind in CONDUITS and c.id in needs.bundles}
    return ducts | {row.channel for row in needs.wrap if row.part in names}


def _in_hole(word: str, hole_mm: float | None, bundle_mm: float, shelf: Shelf) -> str:
    """The part for a hole of that size: the catalogue's grommet made for it, else the word with the hole."""
    if word == "gland":
        gland = gland_for(bundle_mm) if bundle_mm > 0 else None
        if gland is not None:
            return f"Gland {gland.name}, for a cable of {gland.least_mm:g} to {gland.largest_mm:g} mm"
    if word == "grommet":
        fit = grommet_for(bundle_mm, 0.0, shelf.grommets) if hole_mm is None else None
        made = [g for g in shelf.grommets if hole_mm is not None and abs(g.hole_mm - hole_mm) <= SAME_HOLE_MM]
        fit = min(made, key=lambda g: abs(g.hole_mm - (hole_mm or 0.0)), default=fit)
        if fit is not None:
            return fit.name
    size = f"{hole_mm:g} mm hole" if hole_mm is not None else f"for a bundle of {bundle_mm:.0f} mm"
    return f"{word[:1].upper()}{word[1:].replace('_', ' ')}, {size}"


def _placed(
    placed: Placed,
    needs: Needs,
    shelf: Shelf,
    in_conduit: AbstractSet[str],
    holes: Counter[str],
    strips: Counter[str],
) -> float:
    """Count what was placed into `holes` and `strips`; the edge trim in mm."""
    trim = 0.0
    for row in placed.pass_throughs:
        if row.id in placed.twice:
            continue
        bundle = needs.bundles.get(row.channel)
        bundle_mm = bundle.diameter_laid_mm if bundle is not None else 0.0
        if row.protection in ("grommet", "gland", "bushing", "cable_entry_box"):
            holes[_in_hole(row.protection, row.hole_mm, bundle_mm, shelf)] += 1
        elif row.protection in ("edge_trim", "split_conduit"):
            near = [c for c in needs.crossings if c.channel == row.channel and abs(c.at_mm - row.at_mm) <= REACH_MM]
            length = max((c.length_mm for c in near), default=0.0) or edge_trim_length_mm(bundle_mm, 90.0)
            if row.protection == "edge_trim":
                trim += length
            elif row.channel not in in_conduit:
                conduit = split_conduit_for(bundle_mm, shelf.conduits)
                strips[conduit.name if conduit is not None else "split conduit"] += ceil(length)
    through = {c.with_: c.channel for c in needs.crossings if c.kind == "hole"}
    for hole in placed.penetrations:
        if hole.protection != "none":
            bundle = needs.bundles.get(through.get(hole.id, ""))
            bundle_mm = bundle.diameter_laid_mm if bundle is not None else 0.0
            holes[_in_hole(hole.protection, hole.hole_mm, bundle_mm, shelf)] += 1
    return trim


def _covers(
    channels: Sequence[Channel], placed: Placed, needs: Needs, shelf: Shelf, a: Assumptions
) -> Iterable[Material]:
    """Edge trim, grommets, bushings, glands and short lengths of split conduit: what is placed, and what is missing."""
    holes: Counter[str] = Counter()
    strips: Counter[str] = Counter()
    trim = _placed(placed, needs, shelf, _in_conduit(channels, needs, shelf), holes, strips)
    bare = [c for c in needs.crossings if not c.protected and c.remedy_kind]
    trim += sum(c.length_mm for c in bare if c.remedy_kind == "edge_trim")
    if trim > 0:
        yield _metres("edge trim", trim, "edges that bundles cross", a)
    grommets = {g.name: g for g in shelf.grommets}
    for row in bare:
        if row.remedy_kind in ("grommet", "bushing", "gland"):
            bundle = needs.bundles[row.channel]
            holes[row.part or _in_hole(row.remedy_kind, row.size_mm, bundle.diameter_laid_mm, shelf)] += 1
        elif row.remedy_kind == "split_conduit" and row.length_mm > 0:
            strips[row.part or "split conduit"] += ceil(row.length_mm)
    for name, count in sorted(holes.items()):
        grommet = grommets.get(name)
        pack, price = (grommet.pack, grommet.price) if grommet is not None else (1, None)
        yield _pieces(name, count, "ribs, walls and holes", a, pack, price)
    prices = {c.name: c.price for c in shelf.conduits}
    for name, length in sorted(strips.items()):
        yield _metres(name, length, "short lengths over edges", a, prices.get(name))


def _ends(needs: Needs, devices: Sequence[Device], a: Assumptions) -> Iterable[Material]:
    by_id = {d.id: d for d in devices}
    routed = {w.id: w for w in needs.wires.values() if needs.routes[w.id].route_mm is not None}
    for name, count in sorted(terminals(routed, needs.sized, by_id).items()):
        yield _pieces(name, count, "ends of wires", a)
    for width, count in sorted(heat_shrink(routed, needs.sized, by_id).items()):
        why = f"{counted(count, 'end')}, {SHRINK_LENGTH_MM:.0f} mm each"
        yield _metres(f"heat-shrink 2:1, {width:g} mm", count * SHRINK_LENGTH_MM, why, a)
    count = labels(needs.pieces, needs.routes, needs.crossings)
    if count:
        why = "both ends of every wire and cable, and where it passes a panel or a hole"
        yield _pieces("label, wrap-around", count, why, a)


def fuse_count(circuit: Circuit, devices: Mapping[str, Device]) -> int:
    """Fuses of a circuit: one in every in-line holder on its way, and one at its source or in the device that its
    protection names. A link between two batteries with a holder at either end takes two."""
    in_line = {s.device for s in circuit.stops[1:] if s.role == "series" and devices[s.device].kind == "fuse"}
    own = circuit.protective.device
    if not in_line or (own is not None and own not in in_line) or circuit.protective.distance_mm is not None:
        return len(in_line) + 1
    return len(in_line)


def _fuses(
    circuits: Sequence[Circuit], sizes: Mapping[str, CircuitSize], devices: Sequence[Device], a: Assumptions
) -> Iterable[Material]:
    by_id = {d.id: d for d in devices}
    fuses: Counter[tuple[str, float]] = Counter()
    breakers: Counter[float] = Counter()
    for c in circuits:
        amps = sizes[c.id].fuse_a
        if amps is None:
            continue
        if c.protective.kind == "fuse":
            fuses[c.protective.family, amps] += fuse_count(c, by_id)
        elif c.protective.kind == "circuit_breaker":
            breakers[amps] += 1
    for (family, amps), count in sorted(fuses.items()):
        yield _pieces(f"fuse {amps:g} A, {family_words(family)}", count, "in the holders of their circuits", a)
    for amps, count in sorted(breakers.items()):
        yield Material(
            item=f"circuit breaker {amps:g} A",
            quantity=count,
            unit="pieces",
            why=f"one a circuit, {count} in use; look first what the board came with",
        )


def materials(
    needs: Needs,
    shelf: Shelf,
    placed: Placed,
    channels: tuple[Channel, ...],
    circuits: tuple[Circuit, ...],
    devices: tuple[Device, ...],
    assumptions: Assumptions,
    tie_pitch_mm: float,
) -> tuple[Material, ...]:
    """Stage `materials`. `tie_pitch_mm` is the profile's distance of ties on a bundle without wrap."""
    a = assumptions
    return (
        *_wires(needs, shelf),
        *_wraps(channels, needs, shelf, a),
        *_ducts(channels, needs, shelf, a),
        *_fixings(channels, needs, shelf, tie_pitch_mm, a),
        *_covers(channels, placed, needs, shelf, a),
        *_ends(needs, devices, a),
        *_fuses(circuits, needs.sizes, devices, a),
    )
