"""Stage `sizes`: the smallest wire and fuse of every circuit, and the rule that decided, from one joint problem."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from core.analysis.colours import wire_colour
from core.analysis.loads import own_draw
from core.analysis.results import CircuitLoad, CircuitSize, Route, SizedWire, Wire
from core.analysis.rules import number, source
from core.analysis.wires import BACKWARD
from core.electrical.ampacity import AmpacityTable, ampacity_table, covered_table, grouping_table
from core.electrical.conductors import resistance_ohm_per_m
from core.electrical.protection import families
from core.electrical.sizing import (
    Conductor,
    DropPath,
    Fault,
    Floor,
    Fuse,
    Protection,
    Sized,
    SizeTable,
    SizingProblem,
    SizingResult,
    SizingRules,
    Stretch,
    size,
)
from core.model import Assumptions, Channel, Circuit, Device, Profile, Stop, WireKind, WireSize

#: Roles that carry no load current: never counted for grouping.
IDLE = frozenset({"protective_earth", "data", "antenna", "bond", "spare"})


@dataclass(frozen=True)
class Sizes:
    """Everything the stage says: wires, circuits, and what does not hold."""

    sized: Mapping[str, SizedWire]
    circuits: Mapping[str, CircuitSize]
    #: (circuit, wire or "", fault)
    faults: tuple[tuple[str, str, Fault], ...]


@lru_cache(maxsize=256)
def _table(kind: WireKind, ampacity_id: str, conductor_c: float, parallel: int) -> SizeTable:
    """The size table of a kind; conductors in parallel share the current evenly."""
    table: AmpacityTable = ampacity_table(ampacity_id)
    bases = [table.base(row.section_mm2, kind.insulation_c) for row in kind.sizes]
    column = next((b.insulation_c for b in bases if b is not None), kind.insulation_c)
    return SizeTable(
        sections_mm2=tuple(row.section_mm2 for row in kind.sizes),
        r_ohm_per_m=tuple(resistance_ohm_per_m(row.r20_ohm_per_km, conductor_c) / parallel for row in kind.sizes),
        ampacity_a=tuple((b.ampacity_a if b is not None else 0.0) * parallel for b in bases),
        insulation_c=column,
        base_c=table.base_c,
    )


def _chain(circuit: Circuit, stop: Stop) -> list[str]:
    """Stop ids from the source's first follower down to this stop."""
    by_id = {s.id: s for s in circuit.stops}
    chain: list[str] = []
    here: Stop | None = stop
    while here is not None and here.role != "source" and here.id not in chain:
        chain.append(here.id)
        here = by_id.get(here.after or "")
    return chain[::-1]


def _limit_percent(circuit: Circuit, device: Device | None, profile: Profile) -> tuple[float, str]:
    """Percent of the base voltage that may be lost from source to load and back, and where that number is from."""
    if circuit.drop_percent is not None:
        return circuit.drop_percent, "set for this circuit"
    critical = device is not None and device.electrical.critical
    rule = "drop.critical" if critical or circuit.kind == "feeder" else "drop.other"
    return number(profile, rule), source(profile, rule)


class _Problem:
    """Collects conductors, protections and paths, with the way back from index to wire."""

    def __init__(
        self,
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
    ) -> None:
        self.circuits = {c.id: c for c in circuits}
        self.devices = {d.id: d for d in devices}
        self.kinds = {k.id: k for k in kinds}
        self.wires, self.routes, self.loads = wires, routes, loads
        self.profile, self.assumptions = profile, assumptions
        self.channel_number = {c.id: i for i, c in enumerate(channels)}
        self.stretches = tuple(
            Stretch(lengths[c.id], ambients[c.id], min(c.covered_mm, lengths[c.id])) for c in channels
        )
        self.number = {wire_id: i for i, wire_id in enumerate(wires)}
        self.by_leg: dict[tuple[str, str], list[Wire]] = {}
        for wire in wires.values():
            self.by_leg.setdefault((wire.circuit, wire.stop), []).append(wire)
        self.circuit_number = {c.id: i for i, c in enumerate(circuits)}
        self.protected = [c for c in circuits if c.protective.kind != "none"]
        self.protection_number = {c.id: i for i, c in enumerate(self.protected)}
        self.pulled_mm2 = pulled_mm2
        self.path_of: list[tuple[str, str, bool]] = []

    def currents(self, wire: Wire) -> tuple[float, float]:
        if wire.role in IDLE:
            return 0.0, 0.0
        legs = {stop: (run, peak) for stop, run, peak in self.loads[wire.circuit].legs}
        return legs.get(wire.stop, (0.0, 0.0))

    def conductor(self, wire: Wire) -> Conductor:
        circuit = self.circuits[wire.circuit]
        kind = self.kinds[wire.kind]
        running, peak = self.currents(wire)
        route = self.routes[wire.id]
        floors: tuple[Floor, ...] = ()
        device = self.devices[next(s.device for s in circuit.stops if s.id == wire.stop)]
        if route.route_mm is not None and device.electrical.maker_table:
            rows = sorted(device.electrical.maker_table, key=lambda r: r.up_to_mm)
            row = next((r for r in rows if route.route_mm <= r.up_to_mm), rows[-1])
            floors = (Floor(row.section_mm2),)
        smallest = 0.0 if wire.role in ("data", "antenna") else number(self.profile, "wire.min_section_mm2")
        return Conductor(
            table=_table(kind, self.profile.ampacity_table, self.assumptions.conductor_c, wire.parallel),
            length_mm=route.route_mm or 0.0,
            current_a=running,
            peak_a=peak,
            circuit=self.circuit_number[circuit.id],
            protection=None if wire.role in IDLE else self.protection_number.get(circuit.id),
            route=tuple(self.channel_number[s.channel] for s in route.steps),
            ambient_c=self.assumptions.ambient_c,
            counts=wire.role not in IDLE,
            fixed_mm2=self.pulled_mm2.get(wire.id, circuit.section_mm2),
            minimum_mm2=max(smallest, circuit.smallest_section_mm2 or 0.0),
            floors=floors,
            bond_of=self._can_fault_into(circuit) if wire.role == "bond" else (),
        )

    def _can_fault_into(self, bond: Circuit) -> tuple[int, ...]:
        """Protections that can feed a fault into a bond: those of its own kind of system, mains or not."""
        mains = bond.group == "mains"
        return tuple(i for i, c in enumerate(self.protected) if (c.group == "mains") == mains)

    def protection(self, circuit: Circuit) -> Protection:
        family = families().get(circuit.protective.family)
        return Protection(
            current_a=self.loads[circuit.id].current_a,
            ratings_a=family.ratings_a if family is not None else (),
            factor=number(self.profile, "fuse.factor"),
            fixed_a=circuit.protective.rating_a,
        )

    def _series(self, circuit: Circuit, stop: Stop) -> list[Wire] | None:
        """Conductors in series from the circuit's source to a stop and back; None when one has no route."""
        chain = _chain(circuit, stop)
        series = [w for s in chain for w in self.by_leg.get((circuit.id, s), []) if w.role not in IDLE]
        if any(self.routes[w.id].route_mm is None for w in series):
            return None
        return series

    def _upstream(self, circuit: Circuit) -> list[Wire] | None:
        """The feeders' conductors in series, as far as they serve the device this circuit starts at."""
        found: list[Wire] = []
        below = circuit
        for feeder_id in reversed(self.loads[circuit.id].upstream):
            feeder = self.circuits[feeder_id]
            stop = next((s for s in feeder.stops[1:] if s.device == below.stops[0].device), None)
            part = self._series(feeder, stop) if stop is not None else None
            if part is None:
                return None
            found = part + found
            below = feeder
        return found

    def series(self, circuit: Circuit, stop: Stop) -> list[Wire] | None:
        own, up = self._series(circuit, stop), self._upstream(circuit)
        return None if own is None or up is None or not own else up + own

    def paths(self) -> tuple[DropPath, ...]:
        paths: list[DropPath] = []
        for circuit in self.circuits.values():
            base_v = self.loads[circuit.id].base_v
            if base_v <= 0 or circuit.kind in ("signal", "antenna", "bond", "spare"):
                continue
            for stop in circuit.stops[1:]:
                device = self.devices[stop.device]
                if stop.role != "load" or device.electrical.maker_table:
                    continue
                series = self.series(circuit, stop)
                if series is None:
                    continue
                percent, _ = _limit_percent(circuit, device, self.profile)
                running = tuple(self.currents(w)[0] for w in series)
                paths.append(DropPath(tuple(self.number[w.id] for w in series), running, base_v * percent / 100))
                self.path_of.append((circuit.id, stop.id, False))
                draw = own_draw(device)
                own_peak = draw.peak_a - draw.running_a
                if device.electrical.lowest_v is not None and own_peak > 0 and device.electrical.lowest_v < base_v:
                    extra = tuple(a + own_peak for a in running)
                    paths.append(DropPath(paths[-1].conductors, extra, base_v - device.electrical.lowest_v))
                    self.path_of.append((circuit.id, stop.id, True))
        return tuple(paths)

    def together(self) -> tuple[tuple[int, ...], ...]:
        """Feed and return of a circuit get one section, and so do the cores of a cable.

        Conductors without load current (bonds, spares) are left out unless they are cores of the same cable.
        """
        groups: dict[tuple[str, str, str], list[int]] = {}
        for wire in self.wires.values():
            if wire.role in IDLE and wire.cable is None and wire.role != "protective_earth":
                continue
            groups.setdefault((wire.circuit, wire.kind, wire.cable or ""), []).append(self.number[wire.id])
        return tuple(tuple(g) for g in groups.values() if len(g) > 1)

    def solve(self) -> tuple[SizingProblem, SizingResult]:
        rules = SizingRules(
            grouping=grouping_table(self.profile.grouping_table),
            shared_min_mm=number(self.profile, "grouping.min_shared_mm"),
            covered=covered_table(),
        )
        problem = SizingProblem(
            conductors=tuple(self.conductor(w) for w in self.wires.values()),
            stretches=self.stretches,
            protections=tuple(self.protection(c) for c in self.protected),
            paths=self.paths(),
            rules=rules,
            together=self.together(),
        )
        return problem, size(problem)


def _size_row(kind: WireKind, answer: Sized) -> WireSize:
    """The catalogue's row; a section set by hand that the kind does not have gets the next thicker one's outside."""
    if answer.index >= 0:
        return kind.sizes[answer.index]
    return next((row for row in kind.sizes if row.section_mm2 >= answer.section_mm2), kind.sizes[-1])


def _reason(answer: Sized, wire: Wire, fuse_a: float | None, profile: Profile, limit: tuple[float, str]) -> str:
    """The sentence that says which rule decided a size."""
    match answer.decided_by:
        case "voltage drop":
            return f"voltage drop: at most {limit[0]:g} % from source to load and back ({limit[1]})"
        case "fuse":
            return f"carries its {fuse_a:g} A fuse: ampacity {answer.ampacity_a:.1f} A ({profile.ampacity_table})"
        case "ampacity":
            return f"ampacity {answer.ampacity_a:.1f} A for the running current ({profile.ampacity_table})"
        case "minimum size":
            return f"smallest size allowed ({source(profile, 'wire.min_section_mm2')})"
        case "maker's table":
            return "the maker's cable table for this length"
        case "bond fuse":
            return "as large as the largest fuse that can feed a fault into it asks for"
        case "fixed":
            return "set by hand" if wire.role != "spare" else "set by hand for a spare"


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
    work = _Problem(
        circuits, devices, kinds, channels, wires, routes, loads, lengths, ambients, profile, assumptions, pulled_mm2
    )
    problem, result = work.solve()
    fuse_of = {c.id: result.fuses[i] for i, c in enumerate(work.protected)}
    volts: dict[tuple[str, str], tuple[float, float]] = {}
    faults: list[tuple[str, str, Fault]] = []
    for (circuit_id, stop_id, at_peak), path in zip(work.path_of, result.paths, strict=True):
        if not at_peak:
            volts[(circuit_id, stop_id)] = (path.drop_v, path.limit_v)
        faults.extend((circuit_id, "", fault) for fault in path.faults)
    for circuit_id, fuse in fuse_of.items():
        faults.extend((circuit_id, "", fault) for fault in fuse.faults)

    worst: dict[str, float] = {}
    for circuit in circuits:
        base_v = loads[circuit.id].base_v
        for stop in circuit.stops[1:]:
            drop = volts.get((circuit.id, stop.id))
            if drop is None or base_v <= 0:
                continue
            for step in _chain(circuit, stop):
                for wire in work.by_leg.get((circuit.id, step), []):
                    worst[wire.id] = max(worst.get(wire.id, 0.0), 100 * drop[0] / base_v)

    sized: dict[str, SizedWire] = {}
    for wire, answer in zip(wires.values(), result.conductors, strict=True):
        circuit, kind = work.circuits[wire.circuit], work.kinds[wire.kind]
        row = _size_row(kind, answer)
        running, peak = work.currents(wire)
        own_fuse = fuse_of.get(wire.circuit)
        fuse_a = own_fuse.rating_a if own_fuse is not None and wire.role not in IDLE else None
        load = work.devices[next(s.device for s in circuit.stops if s.id == wire.stop)]
        routed = routes[wire.id].route_mm is not None
        faults.extend((wire.circuit, wire.id, fault) for fault in answer.faults)
        sized[wire.id] = SizedWire(
            wire=wire.id,
            section_mm2=answer.section_mm2,
            gauge_awg=row.gauge_awg if answer.index >= 0 else None,
            od_mm=row.od_mm,
            r_ohm_per_m=problem.conductors[len(sized)].table.r_ohm_per_m[answer.index],
            mass_g_per_m=row.mass_g_per_m,
            price_per_m=row.price_per_m,
            colour=wire_colour(wire, circuit, load, kind),
            current_a=running,
            peak_a=peak,
            ampacity_a=answer.ampacity_a,
            factors=answer.factors,
            grouped=answer.grouped,
            drop_v=answer.drop_v if routed else None,
            drop_percent=worst.get(wire.id) if routed and wire.role not in IDLE else None,
            decided_by=answer.decided_by,
            reason=_reason(answer, wire, fuse_a, profile, _limit_percent(circuit, load, profile)),
            fuse_a=fuse_a,
        )
    sizes = {circuit.id: _circuit_size(circuit, work, fuse_of, volts) for circuit in circuits}
    return Sizes(sized, sizes, tuple(faults))


def _circuit_size(
    circuit: Circuit,
    work: _Problem,
    fuse_of: Mapping[str, Fuse],
    volts: Mapping[tuple[str, str], tuple[float, float]],
) -> CircuitSize:
    """Fuse, drops and lengths of one circuit; the lengths are those of its farthest load."""
    drops: list[tuple[str, float | None, float, float | None]] = []
    ways: list[tuple[float, float]] = []
    for stop in circuit.stops[1:]:
        if stop.role != "load":
            continue
        chain = [w for s in _chain(circuit, stop) for w in work.by_leg.get((circuit.id, s), [])]
        lengths = [(w, work.routes[w.id].route_mm) for w in chain if w.role not in ("protective_earth", "bond")]
        total: float | None = None
        if lengths and all(mm is not None for _, mm in lengths):
            out = sum(mm or 0.0 for w, mm in lengths if w.role not in BACKWARD)
            total = sum(mm or 0.0 for _, mm in lengths)
            ways.append((out, total))
        drop, limit = volts.get((circuit.id, stop.id), (None, 0.0))
        drops.append((stop.id, drop, limit, total))
    farthest = max(ways, default=None)
    fuse = fuse_of.get(circuit.id)
    return CircuitSize(
        circuit=circuit.id,
        fuse_a=fuse.rating_a if fuse is not None else None,
        drops=tuple(drops),
        one_way_mm=farthest[0] if farthest else None,
        there_and_back_mm=farthest[1] if farthest else None,
    )
