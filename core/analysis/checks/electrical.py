"""Checks of sizes and of the kinds of wire: what sizing could not meet, maker's tables, points that carry too much."""

from collections.abc import Iterable

from core.analysis.analysis import Analysis
from core.analysis.left_in import left_in_mm
from core.analysis.results import Finding, Wire
from core.analysis.rules import number, source
from core.analysis.size_problem import IDLE, maker_rows
from core.analysis.size_words import rule_source
from core.analysis.supply import chain
from core.analysis.wires import BACKWARD, carrying, kind_of, legs
from core.electrical.protection import families
from core.electrical.sizing import Rule
from core.model import Circuit, Stop, size_order_problem

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
_ROLE_WORDS = {"protective_earth": "protective earth"}
#: Sections are compared with the rounding of catalogues: 53.4 is 53.48 mm2.
_ROUNDING = 1 - 2e-3


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
                value=0.0,
                limit=1.0,
                unit="kinds",
                source="the plan itself",
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
                value=1.0,
                limit=0.0,
                unit="problems",
                source="the data of the kind: thicker copper has less resistance",
                remedy="put its sizes in order, from thin to thick",
            )


def sizing_faults(analysis: Analysis) -> Iterable[Finding]:
    """One finding for each circuit and rule: the worst of its conductors, which it names."""
    worst: dict[tuple[str, str], tuple[float, Finding]] = {}
    for circuit, wire, fault in analysis.faults:
        if not wire and fault.rule == "fuse" and analysis.circuits[circuit].protective.family not in families():
            continue  # another check says that there is no such family
        code, severity = CODES[fault.rule]
        told = analysis.word(circuit)
        if wire:
            role = analysis.wires[wire].role
            told = f"{told}, {_ROLE_WORDS.get(role, role)} {wire}"
        finding = Finding(
            code=code,
            severity="error" if severity == "error" else "warning",
            subjects=(circuit,),
            message=f"{told}: {fault.message}.",
            value=fault.value,
            limit=fault.limit,
            unit=fault.unit,
            source=fault.source or _source(analysis, circuit, wire, fault.rule),
            remedy=_remedy(fault.rule),
        )
        gap = abs(fault.value - fault.limit)
        key = (circuit, code)
        if key not in worst or gap > worst[key][0]:
            worst[key] = (gap, finding)
    return [row[1] for row in worst.values()]


def drop_with_ends(analysis: Analysis) -> Iterable[Finding]:
    """Circuits whose drop holds over the route, but not with all that is left in the vehicle at the ends."""
    left = left_in_mm(analysis.pieces)
    by_leg: dict[tuple[str, str], list[Wire]] = {}
    for wire in analysis.wires.values():
        by_leg.setdefault((wire.circuit, wire.stop), []).append(wire)

    def more_v(circuit: Circuit, stop: Stop) -> float:
        along = carrying(w for s in chain(circuit, stop) for w in by_leg.get((circuit.id, s.id), []))
        rows = [(analysis.sized[w.id], left.get(w.id, 0.0)) for w in along if w.role not in IDLE]
        return sum(row.current_a * row.r_ohm_per_m * mm / 1000 for row, mm in rows)

    for circuit in analysis.plan.circuits:
        before_v, below = 0.0, circuit
        for name in reversed(analysis.loads[circuit.id].upstream):
            feeder = analysis.circuits[name]
            joined = next((s for s in feeder.stops[1:] if s.device == below.stops[0].device), None)
            before_v += more_v(feeder, joined) if joined is not None else 0.0
            below = feeder
        worst: tuple[float, float, str] | None = None
        for stop in circuit.stops[1:]:
            drop_v, limit_v = next(
                ((v, limit) for s, v, limit, _ in analysis.circuit_sizes[circuit.id].drops if s == stop.id), (None, 0.0)
            )
            if drop_v is None or not 0 < drop_v <= limit_v:
                continue  # no way, or another finding says that it is too much
            whole_v = drop_v + before_v + more_v(circuit, stop)
            if whole_v > limit_v + 1e-9 and (worst is None or whole_v - limit_v > worst[0] - worst[1]):
                worst = (whole_v, limit_v, stop.device)
        if worst is not None:
            yield Finding(
                code="size.drop_ends",
                severity="note",
                subjects=(circuit.id,),
                message=f"{circuit.name}: over the route the drop to {analysis.word(worst[2])} holds; with the ends "
                f"and loops left in the vehicle {worst[0]:.2f} V are lost, {worst[1]:.2f} V allowed.",
                value=worst[0],
                limit=worst[1],
                unit="V",
                source="common practice: what stays in the vehicle carries current",
                remedy="cut the ends short when they are made off, or one size up",
            )


def _source(analysis: Analysis, circuit: str, wire: str, rule: Rule) -> str:
    role = analysis.wires[wire].role if wire else None
    return rule_source(analysis.profile, analysis.circuits[circuit], role, rule)


def _remedy(rule: str) -> str:
    return {
        "voltage drop": "a thicker wire, a shorter way, or a secondary bus nearer to the load",
        "ampacity": "a thicker wire, fewer loaded wires in the bundle, or a cooler way",
        "fuse": "a smaller fuse, a fuse of another family, or a thicker wire",
        "fuse table": "a smaller fuse, or a thicker wire",
        "fixed": "take the size off the circuit to have it chosen, or choose a larger one",
    }.get(rule, "choose a larger size")


def empty_limits(analysis: Analysis) -> Iterable[Finding]:
    """Fields of the profile that nobody has filled in: said once, with what stands in meanwhile."""
    empty = [row for row in analysis.profile.limits if row.value is None]
    if empty:
        rows = "; ".join(f"{row.rule} {row.used:g} {row.unit}" for row in empty)
        yield Finding(
            code="profile.empty",
            severity="note",
            subjects=(),
            message=f"{len(empty)} limits of {analysis.profile.name} were not read and are yours to fill in. "
            f"What stands in meanwhile: {rows}.",
            value=float(len(empty)),
            limit=0.0,
            unit="limits",
            source=", ".join(dict.fromkeys(row.source for row in empty)),
            remedy="fill them in from your own copy of the standard",
        )


def maker_tables(analysis: Analysis) -> Iterable[Finding]:
    """Cable tables of makers: longer than the last row, or without a row for the system the device is on."""
    for circuit in analysis.plan.circuits:
        system = analysis.supply.system(circuit)
        for stop in circuit.stops[1:]:
            device = analysis.devices[stop.device]
            if stop.role != "load" or not device.electrical.maker_table:
                continue
            rows = maker_rows(device, system)
            if not rows:
                yield Finding(
                    code="maker.rows",
                    severity="warning",
                    subjects=(circuit.id, device.id),
                    message=f"The maker's cable table of {device.name} has no row for the voltage it is on; general "
                    "rules are used.",
                    value=0.0,
                    limit=1.0,
                    unit="rows",
                    source="the device's maker",
                    remedy="add the maker's rows for it",
                )
                continue
            length = maker_length_mm(analysis, circuit, stop)
            if length is not None and length > rows[-1].up_to_mm + 1e-6:
                both = device.electrical.maker_lengths == "there_and_back"
                yield Finding(
                    code="maker.outside",
                    severity="error",
                    subjects=(circuit.id, device.id),
                    message=f"{device.name} is {length / 1000:.2f} m of cable away"
                    f"{', plus and minus together' if both else ' one way'}: outside the maker's table, which ends at "
                    f"{rows[-1].up_to_mm / 1000:g} m.",
                    value=length,
                    limit=rows[-1].up_to_mm,
                    unit="mm",
                    source="the device's maker",
                    remedy="a shorter way, or the maker's word for a thicker cable",
                )


def maker_length_mm(analysis: Analysis, circuit: Circuit, stop: Stop) -> float | None:
    """The way from the circuit's source to a load as its maker counts it; None where a wire has no route."""
    both = analysis.devices[stop.device].electrical.maker_lengths == "there_and_back"
    steps = {s.id for s in chain(circuit, stop)}
    total = 0.0
    for wire in analysis.wires.values():
        if wire.circuit != circuit.id or wire.stop not in steps or wire.role in IDLE:
            continue
        route = analysis.routes[wire.id].route_mm
        if route is None:
            return None
        total += route if both or wire.role not in BACKWARD else 0.0
    return total


def _is_fed(circuit: Circuit) -> bool:
    """Not what only passes through or comes back: a link carries the same current on its way to the next battery."""
    return circuit.kind not in ("bond", "link", "spare") and any(r not in BACKWARD for r in circuit.conductors)


def _together(draws: Iterable[tuple[float, float]]) -> float:
    """The averages of (average, running), with the largest single one whole."""
    rows = list(draws)
    return sum(average for average, _ in rows) + max((running - average for average, running in rows), default=0.0)


def overloaded_points(analysis: Analysis) -> Iterable[Finding]:
    """Distribution points and sources that are asked for more than they can give."""
    for device in analysis.plan.devices:
        electrical = device.electrical
        fed = [analysis.loads[c.id] for c in analysis.supply.leaving.get(device.id, []) if _is_fed(c)]
        told, total, limit, unit = "", 0.0, 0.0, ""
        if electrical.rating_a is not None and device.kind not in ("charger", "solar"):
            total, limit, unit = _together((row.diverse_a, row.current_a) for row in fed), electrical.rating_a, "A"
            told = f"is rated {limit:g} A; its circuits run at {total:.1f} A together"
        elif device.kind in ("inverter", "converter") and electrical.power_w:
            # Its feed is sized for that power, whatever hangs on it.
            total = _together((row.diverse_a * row.base_v, row.current_a * row.base_v) for row in fed)
            limit, unit = electrical.power_w, "W"
            told = f"gives {limit:,.0f} W, for which its feed is sized; its circuits ask for {total:,.0f} W together"
        if told and total > limit * (1 + 1e-9):
            yield Finding(
                code="point.overloaded",
                severity="warning",
                subjects=(device.id,),
                message=f"{device.name} {told}.",
                value=total,
                limit=limit,
                unit=unit,
                source="the device's data",
                remedy="move circuits to another point, or check what really runs at the same time",
            )


def small_parallel(analysis: Analysis) -> Iterable[Finding]:
    for circuit in analysis.plan.circuits:
        small = [
            analysis.sized[w.id].section_mm2
            for w in analysis.wires.values()
            if w.circuit == circuit.id and w.parallel > 1
        ]
        least = number(analysis.profile, "parallel.min_section_mm2")
        if small and min(small) < least * _ROUNDING:
            yield Finding(
                code="size.parallel",
                severity="warning",
                subjects=(circuit.id,),
                message=f"{circuit.name}: {circuit.parallel} conductors of {min(small):g} mm² in parallel.",
                value=min(small),
                limit=least,
                unit="mm2",
                source=source(analysis.profile, "parallel.min_section_mm2"),
                remedy="one thicker conductor",
            )


def _cores_needed(circuit: Circuit) -> int:
    roles = [r for r in circuit.conductors if not (r == "return" and circuit.return_path.kind != "wire")]
    return len(roles) + max(stop.feeds for stop in circuit.stops) - 1


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
                source=kind.standard or "the cable's data",
                remedy="choose a cable with more cores",
            )
