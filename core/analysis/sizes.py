"""Stage `sizes`: the smallest wire and fuse of every circuit, and the rule that decided, from one joint problem."""

from collections.abc import Mapping
from dataclasses import dataclass

from msgspec.structs import replace

from core.analysis.colours import wire_colour
from core.analysis.results import CircuitLoad, CircuitSize, Route, SizedWire, Wire
from core.analysis.rules import number, source
from core.analysis.size_problem import IDLE, INFORMS, PathInfo, SizeProblem
from core.analysis.supply import chain
from core.analysis.wires import BACKWARD, carrying
from core.electrical.ampacity import ampacity_table
from core.electrical.protection import fuse_table
from core.electrical.sizing import Conductor, Fault, PathDrop, Rule, Sized, SizingResult, size
from core.model import Assumptions, Channel, Circuit, Device, Profile, Role, WireKind, WireSize

__all__ = ["IDLE", "Sizes", "compute", "reason", "rule_source", "table_told", "worst_paths"]


@dataclass(frozen=True)
class Sizes:
    """Everything the stage says: wires, circuits, and what does not hold."""

    sized: Mapping[str, SizedWire]
    circuits: Mapping[str, CircuitSize]
    #: (circuit, wire or "", fault)
    faults: tuple[tuple[str, str, Fault], ...]


def _size_row(kind: WireKind, answer: Sized) -> WireSize:
    """The catalogue's row; a section set by hand that the kind does not have gets the next thicker one's outside."""
    if answer.index >= 0:
        return kind.sizes[answer.index]
    return next((row for row in kind.sizes if row.section_mm2 >= answer.section_mm2), kind.sizes[-1])


def table_told(work: SizeProblem) -> str:
    """The ampacity table as it is shown."""
    return work.ampacity.title + ("" if work.ampacity.known == "read" else " (from memory)")


def rule_source(profile: Profile, circuit: Circuit, role: Role | None, rule: Rule) -> str:
    """The source of a rule of sizing as it is shown; `role` None is the circuit's fuse itself."""
    table = ampacity_table(profile.ampacity_table)
    ampacity = table.title + ("" if table.known == "read" else " (from memory)")
    match rule:
        case "ampacity" | "bond fuse":
            return ampacity
        case "fuse":
            return source(profile, "fuse.factor") if role is None else ampacity
        case "fuse table" if profile.fuse_table:
            return f"{fuse_table(profile.fuse_table).title} (values from memory)"
        case "minimum size":
            mains = circuit.group == "mains"
            least = "wire.min_mains_mm2" if mains else "wire.min_section_mm2"
            return source(profile, "bond.min_section_mm2" if role == "bond" else least)
        case "maker's table":
            return "the device's maker"
    return source(profile, "drop.critical" if circuit.kind == "feeder" else "drop.other")


def _derated(work: SizeProblem, answer: Sized) -> str:
    """The ampacity with its factors: "16.8 A (60 A of the table x 0.7 grouping x 0.4 ambient)"."""
    shown = [f"{factor.value:.2g} {factor.name}" for factor in answer.factors if abs(factor.value - 1) > 5e-3]
    product = " x ".join([f"{answer.base_ampacity_a:g} A of {table_told(work)}", *shown])
    return f"{answer.ampacity_a:.1f} A ({product})"


def reason(
    work: SizeProblem, wire: Wire, answer: Sized, fuse_a: float | None, worst: tuple[PathInfo, PathDrop] | None
) -> str:
    """The sentence that says which rule decided a size, with its numbers and source."""
    wires = list(work.wires)
    beside = "" if wires[answer.decided_at] == wire.id else f", as {wires[answer.decided_at]} needs it"
    profile = work.profile
    match answer.decided_by:
        case "voltage drop" if worst is not None:
            info, drop = worst
            at = "at its peak" if info.at_peak else "there and back"
            hot = f"copper at {work.assumptions.conductor_c:g} °C"
            return f"voltage drop: {drop.drop_v:.2f} V {at}, {info.limit_v:.2f} V allowed ({info.why}), {hot}"
        case "fuse" if fuse_a is not None:
            return f"carries its {fuse_a:g} A fuse{beside}: {_derated(work, answer)}"
        case "fuse table" if fuse_a is not None and work.fuses is not None:
            known = "" if work.fuses.known == "read" else " (from memory)"
            return f"the smallest size that {work.fuses.title}{known} allows a {fuse_a:g} A fuse on{beside}"
        case "minimum size":
            mains = work.circuits[wire.circuit].group == "mains"
            rule = "wire.min_mains_mm2" if mains else "wire.min_section_mm2"
            rule = "bond.min_section_mm2" if wire.role == "bond" else rule
            if wire.role in ("data", "antenna") or work.circuits[wire.circuit].group in ("signal", "antenna"):
                return "the smallest size of its kind: it carries information"
            enough = f"; carries {_derated(work, answer)}" if answer.ampacity_a > 0 else ""
            enough += f" behind a {fuse_a:g} A fuse" if enough and fuse_a is not None and wire.role not in IDLE else ""
            own, least = work.circuits[wire.circuit].smallest_section_mm2 or 0.0, number(profile, rule)
            if answer.index == 0 and answer.section_mm2 > max(own, least) * 1.01:
                return f"the smallest size this wire is made in{enough}"
            if own > least:
                return f"smallest size set for this circuit, {own:g} mm²{enough}"
            return f"smallest size allowed, {least:g} mm² ({source(profile, rule)}){enough}"
        case "maker's table":
            return "the maker's cable table: " + "; ".join(
                f"{row.length_mm / 1000:.2f} m "
                + ("plus and minus together" if _both(work, circuit, stop) else "one way")
                + (
                    f" is beyond its last row, {row.row.up_to_mm / 1000:g} m"
                    if row.outside
                    else f", {row.row.section_mm2:g} mm² up to {row.row.up_to_mm / 1000:g} m"
                )
                for (circuit, stop), row in work.makers.items()
                if circuit == wire.circuit
            )
        case "bond fuse":
            return "as large as the largest fuse that can feed a fault into it asks for: " + _derated(work, answer)
        case "fixed":
            return "already pulled" if wire.id in work.pulled_mm2 else "set by hand"
    return f"running current {answer_current(work, wire):.1f} A{beside}: {_derated(work, answer)}"


def answer_current(work: SizeProblem, wire: Wire) -> float:
    return work.currents(wire)[0]


def _both(work: SizeProblem, circuit: str, stop: str) -> bool:
    device = next(s.device for s in work.circuits[circuit].stops if s.id == stop)
    return work.devices[device].electrical.maker_lengths == "there_and_back"


def worst_paths(work: SizeProblem, result: SizingResult) -> dict[str, tuple[PathInfo, PathDrop]]:
    """The path that uses most of its limit, by wire."""
    worst: dict[str, tuple[PathInfo, PathDrop]] = {}
    shares: dict[str, float] = {}
    for info, path in zip(work.path_infos, result.paths, strict=True):
        share = path.drop_v / path.limit_v if path.limit_v > 0 else 1e9
        for wire in info.wires:
            if share > shares.get(wire, -1.0):
                shares[wire], worst[wire] = share, (info, path)
    return worst


def compute(
    circuits: tuple[Circuit, ...],
    devices: tuple[Device, ...],
    kinds: tuple[WireKind, ...],
    channels: tuple[Channel, ...],
    wires: Mapping[str, Wire],
    routes: Mapping[str, Route],
    loads: Mapping[str, CircuitLoad],
    lengths: Mapping[str, float],
    ambients: Mapping[str, float],
    profile: Profile,
    assumptions: Assumptions,
    pulled_mm2: Mapping[str, float],
) -> Sizes:
    """Stage `sizes`. Lengths and ambient temperatures are by channel; `pulled_mm2` are sections already pulled."""
    work = SizeProblem(
        circuits, devices, kinds, channels, wires, routes, loads, lengths, ambients, profile, assumptions, pulled_mm2
    )
    result = size(work.problem)
    fuse_of = {c.id: result.fuses[i].rating_a for i, c in enumerate(work.protected)}
    faults: list[tuple[str, str, Fault]] = []
    volts: dict[tuple[str, str], tuple[float, float]] = {}
    for info, path in zip(work.path_infos, result.paths, strict=True):
        if not info.at_peak:
            volts[(info.circuit, info.stop)] = (path.drop_v, path.limit_v)
        at = work.devices[next(s.device for s in work.circuits[info.circuit].stops if s.id == info.stop)].name
        when = " when it starts" if info.at_peak else ""
        for fault in path.faults:
            told = replace(fault, message=f"to {at}{when} {fault.message}", source=info.why)
            faults.append((info.circuit, "", told))
    for circuit, fuse in zip(work.protected, result.fuses, strict=True):
        faults.extend((circuit.id, "", fault) for fault in fuse.faults)
    percents = _percents(work, volts)
    worst = worst_paths(work, result)

    sized: dict[str, SizedWire] = {}
    for wire, conductor, answer in zip(wires.values(), work.problem.conductors, result.conductors, strict=True):
        circuit, kind = work.circuits[wire.circuit], work.kinds[wire.kind]
        row = _size_row(kind, answer)
        running, peak = work.currents(wire)
        fuse_a = fuse_of.get(wire.circuit) if wire.role not in IDLE else None
        load = work.devices[next(s.device for s in circuit.stops if s.id == wire.stop)]
        routed = routes[wire.id].route_mm is not None
        faults.extend((wire.circuit, wire.id, fault) for fault in answer.faults)
        sized[wire.id] = SizedWire(
            wire=wire.id,
            section_mm2=answer.section_mm2,
            gauge_awg=row.gauge_awg if answer.index >= 0 else None,
            od_mm=row.od_mm,
            r_ohm_per_m=conductor.table.r_ohm_per_m[answer.index],
            mass_g_per_m=row.mass_g_per_m,
            price_per_m=row.price_per_m,
            colour=wire_colour(wire, circuit, load, kind),
            current_a=running,
            peak_a=peak,
            ampacity_a=answer.ampacity_a if _has_ampacity(wire, circuit, answer) else None,
            factors=answer.factors,
            grouped=answer.grouped,
            drop_v=_own_drop_v(conductor, answer, running) if routed else None,
            drop_percent=percents.get(wire.id) if routed and wire.role not in IDLE else None,
            decided_by=answer.decided_by,
            reason=reason(work, wire, answer, fuse_of.get(wire.circuit), worst.get(wire.id)),
            fuse_a=fuse_a,
            base_ampacity_a=answer.base_ampacity_a,
        )
    sizes = {circuit.id: _circuit_size(circuit, work, fuse_of.get(circuit.id), volts) for circuit in circuits}
    return Sizes(sized, sizes, tuple(faults))


def _has_ampacity(wire: Wire, circuit: Circuit, answer: Sized) -> bool:
    """Not for what carries information, nor where the table is silent. Too hot to carry anything is a number: 0."""
    informs = wire.role in ("data", "antenna") or circuit.group in INFORMS
    return not informs and answer.base_ampacity_a > 0


def _own_drop_v(conductor: Conductor, answer: Sized, running_a: float) -> float:
    """Drop of one conductor at its current; that of a signal wire too, which sizing does not count."""
    if conductor.current_a == running_a:
        return answer.drop_v
    return running_a * conductor.table.r_ohm_per_m[answer.index] * conductor.length_mm / 1000


def _percents(work: SizeProblem, volts: Mapping[tuple[str, str], tuple[float, float]]) -> dict[str, float]:
    """The worst drop of the loads behind each wire, percent of the base voltage from source to load and back."""
    worst: dict[str, float] = {}
    for circuit in work.circuits.values():
        base_v = work.loads[circuit.id].base_v
        for stop in circuit.stops[1:]:
            drop = volts.get((circuit.id, stop.id))
            if drop is None or base_v <= 0:
                continue
            for step in chain(circuit, stop):
                for wire in work.by_leg.get((circuit.id, step.id), []):
                    worst[wire.id] = max(worst.get(wire.id, 0.0), 100 * drop[0] / base_v)
    return worst


def _circuit_size(
    circuit: Circuit,
    work: SizeProblem,
    fuse_a: float | None,
    volts: Mapping[tuple[str, str], tuple[float, float]],
) -> CircuitSize:
    """Fuse, drops and lengths of one circuit; the lengths are those of its farthest load."""
    drops: list[tuple[str, float | None, float, float | None]] = []
    ways: list[tuple[float, float]] = []
    for stop in circuit.stops[1:]:
        if stop.role not in ("load", "tap"):
            continue
        along = carrying(w for s in chain(circuit, stop) for w in work.by_leg.get((circuit.id, s.id), []))
        lengths = [(w, work.routes[w.id].route_mm) for w in along if w.role not in ("protective_earth", "bond")]
        total: float | None = None
        if lengths and all(mm is not None for _, mm in lengths):
            out = sum(mm or 0.0 for w, mm in lengths if w.role not in BACKWARD)
            total = sum(mm or 0.0 for _, mm in lengths)
            ways.append((out, total))
        drop, limit = volts.get((circuit.id, stop.id), (None, 0.0))
        drops.append((stop.id, drop, limit, total))
    farthest = max(ways, default=None)
    return CircuitSize(
        circuit=circuit.id,
        fuse_a=fuse_a,
        drops=tuple(drops),
        one_way_mm=farthest[0] if farthest else None,
        there_and_back_mm=farthest[1] if farthest else None,
    )
