"""Remedies for circuits: sizes, fuses, ways, points that carry too much, cables with too few cores."""

from collections.abc import Callable, Iterable, Sequence

from core.analysis.analysis import Analysis
from core.analysis.rules import number
from core.analysis.wires import kind_of
from core.edits.change import get, put, refuse, replaced
from core.edits.circuit_ends import FAMILY_AT, USUAL_FAMILY
from core.edits.circuits import connect, remove_stop, set_protective, set_section, set_way
from core.edits.kinds import ASSUMED, default_wire, use_kind
from core.electrical.protection import families, ratings, smallest_of_at_least
from core.files.library import Library
from core.model import Circuit, Device, Plan, WireKind, size_order_problem
from core.studies.remedies.remedy import Case, Remedy, Work, edit
from core.studies.ways import offers

#: Circuits of a point that are tried for moving to another one.
MOST_MOVED = 6


def size(case: Case) -> Iterable[Remedy]:
    """Automatic size, the smallest size that holds, an automatic fuse, a fuse between load and ampacity."""
    finding, analysis = case.finding, case.analysis
    circuit = analysis.circuits.get(finding.subjects[0])
    if circuit is None:
        return
    name = circuit.name
    for each in (circuit, *(analysis.circuits[c] for c in reversed(analysis.loads[circuit.id].upstream))):
        yield from _thicker(each, analysis, case)
    if circuit.protective.rating_a is not None:
        yield Remedy(
            f"Let the fuse of {name} be chosen",
            lambda plan: set_protective(plan, circuit.id, rating_a=None),
            f"the smallest standard rating for its current, instead of {circuit.protective.rating_a:g} A set by hand",
        )
    if finding.code in ("size.fuse", "size.ampacity", "size.minimum", "size.fuse_table"):
        yield from _other_fuse(circuit, analysis)
    if circuit.smallest_section_mm2 is not None:
        yield Remedy(
            f"Take the smallest size off {name}",
            lambda plan: put(plan, "circuits", replaced(get(plan, "circuits", circuit.id), smallest_section_mm2=None)),
            "the rules alone choose",
        )


def _thicker(circuit: Circuit, analysis: Analysis, case: Case) -> Iterable[Remedy]:
    now = circuit.section_mm2
    if now is None and case.finding.code == "size.drop_ends":  # the rules chose, and are content without the ends
        now = min(analysis.sized[w].section_mm2 for w, row in analysis.wires.items() if row.circuit == circuit.id)
    if now is None:
        return
    kind = next((k for k in analysis.plan.wire_kinds if k.id == kind_of(circuit, analysis.plan.assumptions)), None)
    larger = [row.section_mm2 for row in kind.sizes if row.section_mm2 > now * (1 + 1e-6)] if kind else []
    chosen = _first(larger, lambda mm2: case.helps(set_section(analysis.plan, circuit.id, mm2)))
    if chosen is not None:
        metres = (analysis.circuit_sizes[circuit.id].there_and_back_mm or 0.0) / 1000
        yield Remedy(
            f"Make {circuit.name} {chosen:g} mm²",
            lambda plan: set_section(plan, circuit.id, chosen),
            f"{now:g} mm² now; {metres:.1f} m there and back",
        )
    if circuit.section_mm2 is None:
        return
    yield Remedy(
        f"Let the size of {circuit.name} be chosen",
        lambda plan: set_section(plan, circuit.id, None),
        f"the smallest that every rule allows, instead of {now:g} mm² set by hand",
    )


def _first(rising: Sequence[float], holds: Callable[[float], bool]) -> float | None:
    """The first of rising sizes for which something holds; what holds for one holds for all larger ones."""
    low, high = 0, len(rising)
    while low < high:
        middle = (low + high) // 2
        if holds(rising[middle]):
            high = middle
        else:
            low = middle + 1
    return rising[low] if low < len(rising) else None


def _wanted_a(circuit: Circuit, analysis: Analysis) -> float:
    return analysis.loads[circuit.id].current_a * number(analysis.profile, "fuse.factor")


def _held_families(circuit: Circuit, analysis: Analysis) -> tuple[str, ...]:
    """Families that may protect the circuit: that of its way alone where it has one, else all of its sort."""
    source = analysis.devices[circuit.stops[0].device]
    way = next((w for w in source.ways if w.id == circuit.stops[0].way), None)
    if way is not None and circuit.protective.device is None:
        return (way.fuse_family,)
    breaker = circuit.protective.kind == "circuit_breaker"
    same = (circuit.protective.family,) if circuit.protective.family in families() else ()
    return tuple(dict.fromkeys((*same, *(f for f in families() if f.startswith("breaker") is breaker))))


def _other_fuse(circuit: Circuit, analysis: Analysis) -> Iterable[Remedy]:
    """Ratings between what the load asks for and what the thinnest conductor carries, of this and other families."""
    carried = [
        row.ampacity_a or 0.0
        for wire in analysis.wires.values()
        if wire.circuit == circuit.id and (row := analysis.sized[wire.id]).fuse_a is not None
    ]
    if not carried:
        return
    wanted, most = _wanted_a(circuit, analysis), min(carried)
    for family in _held_families(circuit, analysis):
        rating = smallest_of_at_least(wanted, ratings(family)) if family in families() else None
        if rating is None or rating > most:
            continue
        title = families()[family].title
        yield Remedy(
            f"Protect {circuit.name} with {rating:g} A, {title}",
            edit(
                set_protective,
                circuit.id,
                family=family,
                rating_a=None if family == circuit.protective.family else rating,
            ),
            f"its load asks for {wanted:.1f} A, its wire carries {most:.1f} A",
        )


def missing_fuse(case: Case) -> Iterable[Remedy]:
    finding, analysis = case.finding, case.analysis
    circuit = analysis.circuits[finding.subjects[0]]
    source = analysis.devices[circuit.stops[0].device]
    way = next((w for w in source.ways if w.id == circuit.stops[0].way), None)
    mains = circuit.group == "mains"
    usual = "breaker" if mains else FAMILY_AT.get(source.kind, USUAL_FAMILY)
    family = way.fuse_family if way is not None else usual
    kind = "circuit_breaker" if mains or family.startswith("breaker") else "fuse"
    title = families()[family].title if family in families() else family
    yield Remedy(
        f"Protect {circuit.name} at {source.name}",
        lambda plan: set_protective(plan, circuit.id, kind=kind, family=family, rating_a=None, reason=""),
        f"{title}, the smallest rating for its current",
    )


def holder(case: Case) -> Iterable[Remedy]:
    """A larger way of the same point, of another point, or one that somebody smaller can swap."""
    finding, analysis = case.finding, case.analysis
    circuit = analysis.circuits[finding.subjects[0]]
    source = analysis.devices[circuit.stops[0].device]
    fuse_a = analysis.circuit_sizes[circuit.id].fuse_a or 0.0
    used = {c.stops[0].way: c for c in analysis.plan.circuits if c.stops[0].device == source.id and c.stops[0].way}
    for way in sorted(source.ways, key=lambda w: w.largest_a):
        if way.largest_a < fuse_a:
            continue
        word = f"{way.name or way.id} of {source.name}"
        if way.id not in used:
            yield Remedy(
                f"Move {circuit.name} to way {word}",
                edit(set_way, circuit.id, source.id, way.id),
                f"it holds up to {way.largest_a:g} A; {fuse_a:g} A is wanted",
            )
            break
    yield from moves(circuit, analysis, fuse_a)
    own = next((w for w in source.ways if w.id == circuit.stops[0].way), None)
    for way in source.ways:
        other = used.get(way.id)
        if own is None or other is None or other.id == circuit.id or way.largest_a < fuse_a:
            continue
        if (analysis.circuit_sizes[other.id].fuse_a or 0.0) <= own.largest_a:
            yield Remedy(
                f"Swap the ways of {circuit.name} and {other.name}",
                edit(swapped, circuit.id, other.id),
                f"way {way.name or way.id} holds up to {way.largest_a:g} A",
            )
            break
    if own is not None and own.largest_a >= _wanted_a(circuit, analysis):
        family = families().get(own.fuse_family)
        fitting = [a for a in (family.ratings_a if family else ()) if a <= own.largest_a]
        if fitting:
            yield Remedy(
                f"Protect {circuit.name} with {max(fitting):g} A",
                lambda plan: set_protective(plan, circuit.id, rating_a=max(fitting)),
                f"all that the way holds; the load asks for {_wanted_a(circuit, analysis):.1f} A",
            )


def moves(circuit: Circuit, analysis: Analysis, fuse_a: float) -> Iterable[Remedy]:
    """The circuit on a way of another point, the nearest three."""
    load = next((analysis.devices[s.device] for s in circuit.stops[1:] if s.role == "load"), None)
    if load is None:
        return
    for offer in offers(analysis, load, fuse_a, but=(circuit.stops[0].device,))[:3]:
        way = offer.way.id if offer.way is not None else None
        yield Remedy(
            f"Move {circuit.name} to {offer.source.name}",
            edit(set_way, circuit.id, offer.source.id, way),
            offer.words,
        )


def swapped(plan: Plan, one: str, other: str) -> Plan:
    """Two circuits with their ways exchanged; each takes the fuse family of the way it comes to."""
    a, b = get(plan, "circuits", one), get(plan, "circuits", other)
    ends = {}
    for circuit, target in ((a, b.stops[0]), (b, a.stops[0])):
        source: Device = get(plan, "devices", target.device)
        way = next((w for w in source.ways if w.id == target.way), None)
        if way is None:
            refuse(f"“{source.name}” has no such way.")
        stops = (replaced(circuit.stops[0], device=target.device, way=way.id), *circuit.stops[1:])
        protective = circuit.protective
        if protective.kind != "none" and protective.device is None:
            protective = replaced(protective, family=way.fuse_family)
        ends[circuit.id] = replaced(circuit, stops=stops, protective=protective)
    return put(plan, "circuits", *ends.values())


def device_fuse(case: Case) -> Iterable[Remedy]:
    """The largest fuse the maker allows where it carries the circuit; else a circuit of its own for the device."""
    finding, analysis = case.finding, case.analysis
    circuit, device = analysis.circuits[finding.subjects[0]], analysis.devices[finding.subjects[1]]
    most = device.electrical.largest_fuse_a or 0.0
    fitting = [
        (family, a)
        for family in _held_families(circuit, analysis)
        for a in (ratings(family) if family in families() else ())
        if _wanted_a(circuit, analysis) <= a <= most
    ]
    if fitting:
        family, rating = fitting[-1] if fitting[0][0] != circuit.protective.family else max(
            (f for f in fitting if f[0] == circuit.protective.family), key=lambda f: f[1]
        )  # fmt: skip
        yield Remedy(
            f"Protect {circuit.name} with {rating:g} A",
            lambda plan: set_protective(plan, circuit.id, family=family, rating_a=rating),
            f"{device.name} allows {most:g} A; the circuit asks for {_wanted_a(circuit, analysis):.1f} A",
        )
    stop = next((s for s in circuit.stops[1:] if s.device == device.id and s.role == "load"), None)
    others = [s for s in circuit.stops[1:] if s.role == "load" and s.device != device.id]
    if stop is None or not others:
        return
    for offer in offers(analysis, device, 0.0)[:3]:
        way = offer.way.id if offer.way is not None else None

        def own(plan: Plan, source: str = offer.source.id, way: str | None = way) -> Plan:
            plan = remove_stop(plan, circuit.id, stop.id)
            return connect(plan, source, way, [device.id], library=case.library)[0]

        yield Remedy(f"Give {device.name} a circuit of its own", own, f"on {offer.words}")


def distance(case: Case) -> Iterable[Remedy]:
    finding, analysis = case.finding, case.analysis
    circuit = analysis.circuits[finding.subjects[0]]
    limit = finding.limit or 0.0
    yield Remedy(
        f"Move the fuse of {circuit.name} to {limit:.0f} mm",
        lambda plan: set_protective(plan, circuit.id, distance_mm=limit),
        "as near to its source as the rule asks",
    )
    yield Remedy(
        f"Put the fuse of {circuit.name} at its source",
        lambda plan: set_protective(plan, circuit.id, distance_mm=None),
        "no unprotected wire at all",
    )


def overloaded(case: Case) -> Iterable[Remedy]:
    """Move the smallest circuit that relieves the point, else the largest one that can move."""
    finding, analysis = case.finding, case.analysis
    device = analysis.devices[finding.subjects[0]]
    excess = (finding.value or 0.0) - (finding.limit or 0.0)
    own = [c for c in analysis.plan.circuits if c.stops[0].device == device.id and c.kind != "bond"]
    amps = {c.id: analysis.loads[c.id].current_a for c in own}
    enough = sorted((c for c in own if amps[c.id] >= excess), key=lambda c: (amps[c.id], c.id))
    for circuit in enough[:MOST_MOVED]:
        for remedy in moves(circuit, analysis, analysis.circuit_sizes[circuit.id].fuse_a or amps[circuit.id]):
            yield Remedy(remedy.label, remedy.apply, f"{amps[circuit.id]:.1f} A less on {device.name}; {remedy.gain}")
            break


def parallel(case: Case) -> Iterable[Remedy]:
    finding, analysis = case.finding, case.analysis
    circuit = analysis.circuits[finding.subjects[0]]

    def one(plan: Plan) -> Plan:
        return put(plan, "circuits", replaced(get(plan, "circuits", circuit.id), parallel=1, section_mm2=None))

    yield Remedy(f"One conductor for {circuit.name}", one, f"thick enough alone, instead of {circuit.parallel}")


def cores(case: Case) -> Iterable[Remedy]:
    """A cable with enough cores, or single wires where it is not mains."""
    finding, analysis = case.finding, case.analysis
    circuit = analysis.circuits[finding.subjects[0]]
    needed = round(finding.value or 0)
    for kind in _cables(analysis, case.library, circuit, needed)[:2]:
        yield Remedy(
            f"Use {kind.name} for {circuit.name}",
            edit(_with_kind, circuit.id, kind, as_cable=True),
            f"{kind.cores} cores; {needed} are needed",
        )
    if circuit.group != "mains":
        single = _single(analysis, case.library, circuit)
        if single is not None:
            yield Remedy(
                f"Single wires for {circuit.name}",
                edit(_with_kind, circuit.id, single, as_cable=False),
                single.name,
            )


def _cables(analysis: Analysis, library: Library, circuit: Circuit, needed: int) -> list[WireKind]:
    kinds = {k.id: k for k in (*library.wire_kinds, *analysis.plan.wire_kinds)}
    fitting = [
        k for k in kinds.values() if k.group == circuit.group and k.cores >= needed > 1 and not size_order_problem(k)
    ]
    held = {k.id for k in analysis.plan.wire_kinds}
    return sorted(fitting, key=lambda k: (k.cores, k.id not in held))


def _single(analysis: Analysis, library: Library, circuit: Circuit) -> WireKind | None:
    kinds = (*analysis.plan.wire_kinds, *library.wire_kinds)
    return next((k for k in kinds if k.group == circuit.group and k.cores == 1 and not size_order_problem(k)), None)


def _with_kind(plan: Plan, circuit_id: str, kind: WireKind, as_cable: bool) -> Plan:
    plan = use_kind(plan, kind)
    circuit = get(plan, "circuits", circuit_id)
    return put(plan, "circuits", replaced(circuit, wire_kind=kind.id, as_cable=as_cable, section_mm2=None))


def earth(case: Case) -> Iterable[Remedy]:
    finding, analysis = case.finding, case.analysis
    circuit = analysis.circuits[finding.subjects[0]]
    roles = (*circuit.conductors, "protective_earth")
    for kind in _cables(analysis, case.library, circuit, len(roles))[:1]:

        def earthed(plan: Plan, kind: WireKind = kind) -> Plan:
            plan = _with_kind(plan, circuit.id, kind, True)
            return put(plan, "circuits", replaced(get(plan, "circuits", circuit.id), conductors=roles))

        yield Remedy(
            f"Give {circuit.name} a protective earth",
            earthed,
            f"{kind.name}; mains work is for a licensed person under the local code",
        )


def no_kind(case: Case) -> Iterable[Remedy]:
    finding, analysis = case.finding, case.analysis
    circuit = analysis.circuits[finding.subjects[0]]
    usable = [k for k in analysis.plan.wire_kinds if k.group == circuit.group and not size_order_problem(k)]
    kind = default_wire(case.library, circuit.group)
    for each in dict.fromkeys((*usable[:1], *((kind,) if kind is not None else ()))):

        def assume(plan: Plan, each: WireKind = each) -> Plan:
            plan = use_kind(plan, each)
            now = get(plan, "circuits", circuit.id)
            if getattr(plan.assumptions, ASSUMED[circuit.group]) is None:
                plan = replaced(plan, assumptions=replaced(plan.assumptions, **{ASSUMED[circuit.group]: each.id}))
            return put(plan, "circuits", replaced(now, wire_kind=each.id))

        yield Remedy(f"Use {each.name} for {circuit.name}", assume, f"and for all {circuit.group.replace('_', ' ')}")


def kind_order(case: Case) -> Iterable[Remedy]:
    finding, analysis = case.finding, case.analysis
    kind = next(k for k in analysis.plan.wire_kinds if k.id == finding.subjects[0])
    tidy = replaced(kind, sizes=tuple(sorted(kind.sizes, key=lambda s: s.section_mm2)))
    shipped = next((k for k in case.library.wire_kinds if k.id == kind.id and not size_order_problem(k)), None)
    if not size_order_problem(tidy):
        yield Remedy(
            f"Put the sizes of {kind.name} in order",
            lambda plan: put(plan, "wire_kinds", tidy),
            "from thin to thick; no number changes",
        )
    if shipped is not None:
        yield Remedy(
            f"Take {shipped.name} from the case.library again",
            lambda plan: put(plan, "wire_kinds", shipped),
            "its own sizes",
        )


#: What a size can fail by (`core.analysis.checks.electrical.CODES`).
SIZE_RULES = ("fixed", "minimum", "ampacity", "fuse", "fuse_table", "maker", "drop", "drop_ends", "bond")

REMEDIES: dict[str, Work] = {
    **dict.fromkeys((f"size.{rule}" for rule in SIZE_RULES), size),
    "fuse.missing": missing_fuse,
    "fuse.holder": holder,
    "fuse.device": device_fuse,
    "fuse.distance": distance,
    "point.overloaded": overloaded,
    "size.parallel": parallel,
    "cable.cores": cores,
    "mains.earth": earth,
    "circuit.no_kind": no_kind,
    "kind.order": kind_order,
}
