"""Stage `sizes`: the smallest wire and fuse of every circuit, and the rule that decided, from one joint problem."""

from collections.abc import Mapping
from dataclasses import dataclass

from msgspec.structs import replace

from core.analysis.colours import wire_colour
from core.analysis.results import CircuitSize, SizedWire, Wire
from core.analysis.size_inputs import SizeInputs
from core.analysis.size_problem import IDLE, INFORMS, PathInfo, SizeProblem
from core.analysis.size_words import reason
from core.analysis.supply import chain
from core.analysis.wires import BACKWARD, carrying
from core.electrical.drop import conductor_drop_v
from core.electrical.sizing import Conductor, Fault, PathDrop, Sized, SizingResult, size
from core.model import Circuit, WireKind, WireSize

__all__ = ["IDLE", "Sizes", "compute", "worst_paths"]


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


def compute(given: SizeInputs) -> Sizes:
    """Stage `sizes`."""
    work, wires, routes = SizeProblem(given), given.wires, given.routes
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
            r_ohm_per_m=answer.r_ohm_per_m,
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
            reason=reason(work, wire, result, worst.get(wire.id)),
            fuse_a=fuse_a,
            base_ampacity_a=answer.base_ampacity_a,
        )
    sizes = {circuit.id: _circuit_size(circuit, work, fuse_of.get(circuit.id), volts) for circuit in given.circuits}
    return Sizes(sized, sizes, tuple(faults))


def _has_ampacity(wire: Wire, circuit: Circuit, answer: Sized) -> bool:
    """Not for what carries information, nor where the table is silent. Too hot to carry anything is a number: 0."""
    informs = wire.role in ("data", "antenna") or circuit.group in INFORMS
    return not informs and answer.base_ampacity_a > 0


def _own_drop_v(conductor: Conductor, answer: Sized, running_a: float) -> float:
    """Drop of one conductor at its current; that of a signal wire too, which sizing does not count."""
    if conductor.current_a == running_a:
        return answer.drop_v
    return conductor_drop_v(running_a, conductor.length_mm, answer.r_ohm_per_m)


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
