"""Checks of circuits: sizes, fuses, points that carry too much, mains."""

from collections.abc import Iterable

from core.analysis.analysis import Analysis
from core.analysis.results import Finding
from core.analysis.rules import number, source
from core.analysis.wires import kind_of, legs
from core.model import Circuit, size_order_problem

CODES = {
    "fuse table": ("size.fuse_table", "error"),
    "fixed": ("size.fixed", "warning"),
    "minimum size": ("size.minimum", "error"),
    "ampacity": ("size.ampacity", "error"),
    "fuse": ("size.fuse", "error"),
    "bond fuse": ("size.bond", "error"),
    "maker's table": ("size.maker", "warning"),
    "voltage drop": ("size.drop", "warning"),
}
#: Conductors below this are not laid in parallel (mm2; NEC 310.10 has 1/0 AWG, from memory).
SMALLEST_PARALLEL_MM2 = 53.5
MAINS_CAUTION = "Mains can kill. Have it designed, installed and tested by a licensed person under the local code."


def without_kind(analysis: Analysis) -> Iterable[Finding]:
    kinds = {k.id for k in analysis.plan.wire_kinds if not size_order_problem(k)}
    for circuit in analysis.plan.circuits:
        kind = kind_of(circuit, analysis.plan.assumptions)
        if kind is None or kind not in kinds:
            yield Finding(
                code="circuit.no_kind",
                severity="error",
                subjects=(circuit.id,),
                message=f"{circuit.name} has no kind of wire, and the plan names none for its group, "
                f"{circuit.group.replace('_', ' ')}.",
                remedy="choose a kind of wire for the circuit or for the plan",
            )


def unusable_kinds(analysis: Analysis) -> Iterable[Finding]:
    for kind in analysis.plan.wire_kinds:
        problem = size_order_problem(kind)
        if problem:
            yield Finding(
                code="kind.order",
                severity="error",
                subjects=(kind.id,),
                message=f"{kind.name} cannot be used: {problem}.",
                remedy="put its sizes in order, from thin to thick",
            )


def sizing_faults(analysis: Analysis) -> Iterable[Finding]:
    """One finding for each circuit and rule: the worst of its conductors."""
    worst: dict[tuple[str, str], tuple[float, str, Finding]] = {}
    for circuit, wire, fault in analysis.faults:
        code, severity = CODES[fault.rule]
        finding = Finding(
            code=code,
            severity="error" if severity == "error" else "warning",
            subjects=(circuit,),
            message=f"{analysis.word(circuit)}{f', {wire}' if wire else ''}: {fault.message}",
            value=fault.value,
            limit=fault.limit,
            unit=fault.unit,
            source=analysis.profile.name,
            remedy=_remedy(fault.rule),
        )
        gap = abs(fault.value - fault.limit)
        key = (circuit, code)
        if key not in worst or gap > worst[key][0]:
            worst[key] = (gap, wire, finding)
    return [row[2] for row in worst.values()]


def _remedy(rule: str) -> str:
    return {
        "voltage drop": "a thicker wire, a shorter way, or a secondary bus nearer to the load",
        "ampacity": "a thicker wire, fewer loaded wires in the bundle, or a cooler way",
        "fuse": "a fuse of another family, or a thicker wire",
        "fixed": "take the size off the circuit to have it chosen, or choose a larger one",
    }.get(rule, "choose a larger size")


def protective_devices(analysis: Analysis) -> Iterable[Finding]:
    for circuit in analysis.plan.circuits:
        if circuit.protective.kind != "none" or circuit.protective.reason:
            continue
        if circuit.kind in ("signal", "antenna", "bond", "spare", "solar_string"):
            continue
        yield Finding(
            code="fuse.missing",
            severity="error",
            subjects=(circuit.id,),
            message=f"{circuit.name} has no fuse and no reason is given.",
            remedy="choose a fuse, or write down why there is none",
            source="33 CFR 183.455(a)",
        )


def fuse_limits(analysis: Analysis) -> Iterable[Finding]:
    """The fuse against what holds it and what it feeds."""
    for circuit in analysis.plan.circuits:
        fuse = analysis.circuit_sizes[circuit.id].fuse_a
        if fuse is None:
            continue
        source_stop = circuit.stops[0]
        ways = {w.id: w for w in analysis.devices[source_stop.device].ways}
        way = ways.get(source_stop.way or "")
        if way is not None and fuse > way.largest_a:
            yield Finding(
                code="fuse.holder",
                severity="error",
                subjects=(circuit.id, source_stop.device),
                message=f"{circuit.name}: a {fuse:g} A fuse is too large for way {way.name or way.id} "
                f"({way.largest_a:g} A at most).",
                value=fuse,
                limit=way.largest_a,
                unit="A",
                remedy="feed it from a larger way or straight from the bus bar",
            )
        for stop in circuit.stops[1:]:
            device = analysis.devices[stop.device]
            most = device.electrical.largest_fuse_a
            if most is not None and fuse > most and stop.role == "load":
                yield Finding(
                    code="fuse.device",
                    severity="error",
                    subjects=(circuit.id, device.id),
                    message=f"{circuit.name}: the maker of {device.name} allows a fuse of {most:g} A at most, "
                    f"it is {fuse:g} A.",
                    value=fuse,
                    limit=most,
                    unit="A",
                    remedy="a circuit of its own with a smaller fuse",
                )


def fuse_distance(analysis: Analysis) -> Iterable[Finding]:
    """How far along the wire from its source a circuit's protective device sits."""
    for circuit in analysis.plan.circuits:
        at = circuit.protective.distance_mm
        if at is None or circuit.protective.kind == "none":
            continue
        battery = analysis.devices[circuit.stops[0].device].kind == "battery"
        rule = "fuse.distance_battery_mm" if battery and circuit.as_cable else "fuse.distance_mm"
        most = number(analysis.profile, rule)
        if at > most:
            yield Finding(
                code="fuse.distance",
                severity="error",
                subjects=(circuit.id,),
                message=f"{circuit.name}: the fuse sits {at:.0f} mm along the wire from its source.",
                value=at,
                limit=most,
                unit="mm",
                source=source(analysis.profile, rule),
                remedy="move the fuse nearer to the source",
            )


def overloaded_points(analysis: Analysis) -> Iterable[Finding]:
    """Distribution points and sources that are asked for more than they can give."""
    for device in analysis.plan.devices:
        rating = device.electrical.rating_a
        fed = [c for c in analysis.plan.circuits if c.stops[0].device == device.id and c.kind != "bond"]
        total = sum(analysis.loads[c.id].current_a for c in fed)
        if rating is not None and total > rating * (1 + 1e-9) and device.kind not in ("charger", "solar"):
            yield Finding(
                code="point.overloaded",
                severity="warning",
                subjects=(device.id,),
                message=f"{device.name} is rated {rating:g} A; its circuits run at {total:.1f} A together.",
                value=total,
                limit=rating,
                unit="A",
                remedy="move circuits to another point, or check what really runs at the same time",
            )


def small_parallel(analysis: Analysis) -> Iterable[Finding]:
    for circuit in analysis.plan.circuits:
        small = [
            analysis.sized[w.id].section_mm2
            for w in analysis.wires.values()
            if w.circuit == circuit.id and w.parallel > 1
        ]
        if small and min(small) < SMALLEST_PARALLEL_MM2:
            yield Finding(
                code="size.parallel",
                severity="warning",
                subjects=(circuit.id,),
                message=f"{circuit.name}: {circuit.parallel} conductors of {min(small):g} mm² in parallel.",
                value=min(small),
                limit=SMALLEST_PARALLEL_MM2,
                unit="mm2",
                source="NEC 310.10, from memory",
                remedy="one thicker conductor",
            )


def _cores_needed(circuit: Circuit) -> int:
    return len([r for r in circuit.conductors if not (r == "return" and circuit.return_path.kind != "wire")])


def cable_cores(analysis: Analysis) -> Iterable[Finding]:
    kinds = {k.id: k for k in analysis.plan.wire_kinds}
    for circuit in analysis.plan.circuits:
        kind = kinds.get(kind_of(circuit, analysis.plan.assumptions) or "")
        if circuit.as_cable and kind is not None and legs(circuit) and _cores_needed(circuit) > kind.cores:
            yield Finding(
                code="cable.cores",
                severity="error",
                subjects=(circuit.id,),
                message=f"{circuit.name} needs {_cores_needed(circuit)} cores, {kind.name} has {kind.cores}.",
                value=float(_cores_needed(circuit)),
                limit=float(kind.cores),
                unit="cores",
                remedy="choose a cable with more cores",
            )


def mains(analysis: Analysis) -> Iterable[Finding]:
    """The caution every plan with mains carries, and what mains circuits must have."""
    circuits = [c for c in analysis.plan.circuits if c.group == "mains"]
    if circuits:
        yield Finding(
            code="caution.mains",
            severity="note",
            subjects=tuple(c.id for c in circuits),
            message=f"{len(circuits)} mains circuits, not for approval. {MAINS_CAUTION}",
        )
    for circuit in circuits:
        if circuit.kind != "bond" and "protective_earth" not in circuit.conductors:
            yield Finding(
                code="mains.earth",
                severity="error",
                subjects=(circuit.id,),
                message=f"{circuit.name} has no protective earth.",
                remedy="use a cable with a protective earth core",
                source="IEC 60364-7-721 (title known, text not read)",
            )
