"""Stage `materials`: everything to buy, each with its quantity and the reason for it.

Small parts are bought with the plan's spares and in whole packs; what is sold by length with the plan's waste.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from math import ceil

from msgspec.structs import replace

from core.analysis.bought_fixings import fixings
from core.analysis.buying import CONDUITS, Needs, Placed, Shelf, metres, pieces
from core.analysis.crossings import REACH_MM
from core.analysis.cutting import rolls_of, sorts, spool_name
from core.analysis.results import (
    CircuitSize,
    Material,
)
from core.analysis.wire_ends import SHRINK_LENGTH_MM, heat_shrink, labels, terminals
from core.electrical.protection import family_words
from core.harness.crossing import edge_trim_length_mm, gland_for, grommet_for, split_conduit_for
from core.model import (
    Assumptions,
    Channel,
    Circuit,
    Device,
    PassThrough,
    Supply,
)
from core.text import counted

#: Draw string beyond a spare duct at either end (mm; common practice, no source).
STRING_BEYOND_MM = 500.0
#: What a hole is lined with.
LINED = frozenset({"grommet", "gland", "bushing", "cable_entry_box"})
#: A hole drilled for a grommet is as large as the catalogue says, to this (mm).
SAME_HOLE_MM = 0.5


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
        yield metres(name, length, "over bundles", a, prices.get(name))


def _ducts(channels: Sequence[Channel], needs: Needs, shelf: Shelf, a: Assumptions) -> Iterable[Material]:
    """Conduit and trunking of channels that hold wires, and of spare ducts with their draw strings."""
    by_id = {c.id: c for c in shelf.conduits}
    lengths: Counter[tuple[str, float | None]] = Counter()
    string = 0.0
    for channel in channels:
        bundle, length = needs.bundles.get(channel.id), needs.paths[channel.id].length_mm
        if bundle is None and not channel.spare_duct and not channel.inner:
            continue
        conduit = by_id.get(channel.conduit or "")
        if conduit is None and channel.kind == "split_conduit" and bundle is not None:
            conduit = split_conduit_for(bundle.diameter_laid_mm, shelf.conduits)
        if bundle is None and not channel.spare_duct:
            pass  # only what lies in it is laid
        elif channel.kind in CONDUITS and conduit is not None:
            lengths[conduit.name, conduit.price] += ceil(length)
        elif channel.kind in CONDUITS or channel.kind == "trunking":
            word = channel.kind.replace("_", " ")
            bore = channel.bore
            size = "" if bore is None else f", inside {bore.width_mm:g}"
            size += "" if bore is None else " mm" if bore.height_mm is None else f" x {bore.height_mm:g} mm"
            lengths[f"{word}{size}", None] += ceil(length)
        for inner in channel.inner:
            within = by_id.get(inner.conduit)
            if within is not None:
                lengths[within.name, within.price] += ceil(length)
            if inner.draw_string:
                string += length + 2 * STRING_BEYOND_MM
        if channel.draw_string:
            string += length + 2 * STRING_BEYOND_MM
    for (name, price), length in sorted(lengths.items(), key=lambda item: item[0][0]):
        yield metres(name, length, "channels laid in it", a, price)
    if string > 0:
        yield metres("draw string", string, "left in ducts for later wires", a)


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


def _linings(row: PassThrough, placed: Placed, needs: Needs) -> int:
    """How often a lining that was placed is bought: in each wall of a hollow rib, unless there is one for each."""
    walls, own = 1, 0
    for crossing in needs.crossings:
        if crossing.channel == row.channel and abs(crossing.at_mm - row.at_mm) <= REACH_MM and crossing.walls > walls:
            walls = crossing.walls
            lined = (p for p in placed.pass_throughs if p.channel == row.channel and p.protection in LINED)
            own = sum(abs(crossing.at_mm - p.at_mm) <= REACH_MM for p in lined)
    return walls if own == 1 else 1


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
        if row.protection in LINED:
            holes[_in_hole(row.protection, row.hole_mm, bundle_mm, shelf)] += _linings(row, placed, needs)
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
        yield metres("edge trim", trim, "edges that bundles cross", a)
    grommets = {g.name: g for g in shelf.grommets}
    for row in bare:
        if row.remedy_kind in ("grommet", "bushing", "gland"):
            bundle = needs.bundles[row.channel]
            holes[row.part or _in_hole(row.remedy_kind, row.size_mm, bundle.diameter_laid_mm, shelf)] += row.walls
        elif row.remedy_kind == "split_conduit" and row.length_mm > 0:
            strips[row.part or "split conduit"] += ceil(row.length_mm)
    for name, count in sorted(holes.items()):
        grommet = grommets.get(name)
        pack, price = (grommet.pack, grommet.price) if grommet is not None else (1, None)
        yield pieces(name, count, "ribs, walls and holes", a, pack, price)
    prices = {c.name: c.price for c in shelf.conduits}
    for name, length in sorted(strips.items()):
        yield metres(name, length, "short lengths over edges", a, prices.get(name))


def _ends(needs: Needs, devices: Sequence[Device], a: Assumptions) -> Iterable[Material]:
    by_id = {d.id: d for d in devices}
    routed = {w.id: w for w in needs.wires.values() if needs.routes[w.id].route_mm is not None}
    for name, count in sorted(terminals(routed, needs.sized, by_id).items()):
        yield pieces(name, count, "ends of wires", a)
    for width, count in sorted(heat_shrink(routed, needs.sized, by_id).items()):
        why = f"{counted(count, 'end')}, {SHRINK_LENGTH_MM:.0f} mm each"
        yield metres(f"heat-shrink 2:1, {width:g} mm", count * SHRINK_LENGTH_MM, why, a)
    count = labels(needs.pieces, needs.routes, needs.crossings)
    if count:
        why = "both ends of every wire and cable, and where it passes a panel or a hole"
        yield pieces("label, wrap-around", count, why, a)


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
        yield pieces(f"fuse {amps:g} A, {family_words(family)}", count, "in the holders of their circuits", a)
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
    supplies: tuple[Supply, ...] = (),
) -> tuple[Material, ...]:
    """Stage `materials`. `tie_pitch_mm` is the profile's distance of ties on a bundle without wrap; `supplies` say how
    single items are sold."""
    a = assumptions
    rows = (
        *_wires(needs, shelf),
        *_wraps(channels, needs, shelf, a),
        *_ducts(channels, needs, shelf, a),
        *fixings(channels, needs, shelf, tie_pitch_mm, a),
        *_covers(channels, placed, needs, shelf, a),
        *_ends(needs, devices, a),
        *_fuses(circuits, needs.sizes, devices, a),
    )
    sold = {row.item: row for row in supplies if row.pack is not None or row.price is not None}
    return tuple(_as_sold(row, sold[row.item]) if row.item in sold else row for row in rows)


def _as_sold(row: Material, sold: Supply) -> Material:
    """The item in the packs and at the price that the plan's owner has typed."""
    pack = sold.pack if sold.pack is not None else row.pack
    packs = ceil(row.quantity / pack - 1e-9) if pack > 1 else 0
    bought = packs * pack if packs else row.quantity
    price = row.price
    if sold.price is not None:
        price = sold.price * bought
    elif price is not None and sold.pack is not None:
        before = row.packs * row.pack if row.packs else row.quantity
        price = price / before * bought if before else price
    return replace(row, pack=pack, packs=packs, price=price)
