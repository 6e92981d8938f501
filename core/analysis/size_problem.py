"""The joint sizing problem of a plan: conductors, fuses, paths of drop, with the way back from index to wire."""

from dataclasses import dataclass

from core.analysis.loads import own_draw
from core.analysis.results import Wire
from core.analysis.rules import number, source
from core.analysis.size_inputs import SizeInputs
from core.analysis.supply import Supply, chain
from core.analysis.wires import BACKWARD, carrying
from core.electrical.ampacity import BY_LOADING, altitude_factor, ampacity_table, covered_table, grouping_table
from core.electrical.protection import FuseTable, families, fuse_table
from core.electrical.sizing import (
    Conductor,
    DropPath,
    Floor,
    Protection,
    SizeTable,
    SizingProblem,
    SizingRules,
    Stretch,
    size_table,
)
from core.model import CableTableRow, Circuit, Device, Stop, WireKind, WireSize

#: Roles that carry no load current: never counted for grouping.
IDLE = frozenset({"protective_earth", "data", "antenna", "bond", "spare"})
#: Groups whose conductors carry information: sized by nothing but what they are made in.
INFORMS = frozenset({"signal", "antenna"})
#: A rule for low voltage ends here (33 CFR 183.455: below 50 V).
LOW_VOLTS = 50.0


@dataclass(frozen=True)
class PathInfo:
    """What a `DropPath` stands for: whose limit it is, in volts of a base, and where that number is from."""

    circuit: str
    stop: str
    at_peak: bool
    base_v: float
    limit_v: float
    why: str
    wires: tuple[str, ...]


def size_name(row: WireSize) -> str:
    """A size as it is sold."""
    return f"{row.gauge_awg} AWG" if row.gauge_awg is not None else f"{row.section_mm2:g} mm²"


def maker_rows(device: Device, system: str | None) -> tuple[CableTableRow, ...]:
    """The rows of the maker's table that count on a system, short lengths first."""
    on = system or device.electrical.system
    rows = [row for row in device.electrical.maker_table if row.system in (None, on)]
    return tuple(sorted(rows, key=lambda r: r.up_to_mm))


@dataclass(frozen=True)
class MakerAnswer:
    """The maker's table for one load: the length as the maker counts it and the row; `outside` beyond the last one."""

    length_mm: float
    row: CableTableRow
    outside: bool


class SizeProblem:
    """Collects conductors, protections and paths. `problem` is what is solved."""

    def __init__(self, given: SizeInputs) -> None:
        self.supply = Supply(given.circuits, given.devices)
        self.circuits, self.devices = self.supply.circuits, self.supply.devices
        self.kinds = {k.id: k for k in given.kinds}
        self.wires, self.routes, self.loads = given.wires, given.routes, given.loads
        self.profile, self.assumptions, self.pulled_mm2 = given.profile, given.assumptions, given.pulled_mm2
        profile, wires, channels, lengths = given.profile, given.wires, given.channels, given.lengths
        self.ampacity = ampacity_table(profile.ampacity_table)
        self.fuses: FuseTable | None = fuse_table(profile.fuse_table) if profile.fuse_table else None
        self._tables: dict[tuple[str, int, bool], SizeTable] = {}
        self._channel_number = {c.id: i for i, c in enumerate(channels)}
        self.number = {wire_id: i for i, wire_id in enumerate(wires)}
        self.by_leg: dict[tuple[str, str], list[Wire]] = {}
        for wire in wires.values():
            self.by_leg.setdefault((wire.circuit, wire.stop), []).append(wire)
        self._circuit_number = {c.id: i for i, c in enumerate(given.circuits)}
        self._currents = {
            (load.circuit, stop): (running, peak) for load in given.loads.values() for stop, running, peak in load.legs
        }
        self._returns = {
            (load.circuit, stop): (running, peak)
            for load in given.loads.values()
            for stop, running, peak in load.returns
        }
        self.protected = [c for c in given.circuits if c.protective.kind != "none"]
        self.protection_number = {c.id: i for i, c in enumerate(self.protected)}
        self.makers: dict[tuple[str, str], MakerAnswer] = {}
        self._maker_floors: dict[tuple[str, str], float] = {}
        self._find_makers()
        self.path_infos: list[PathInfo] = []
        self.problem = SizingProblem(
            conductors=tuple(self._conductor(w) for w in wires.values()),
            stretches=tuple(
                Stretch(lengths[c.id], given.ambients[c.id], min(c.covered_mm, lengths[c.id]), c.kind == "engine_bay")
                for c in channels
            ),
            protections=self._protections(),
            paths=self._paths(),
            rules=self._rules(),
            together=self._together(),
        )

    # --- currents and lengths ---------------------------------------------------------------------------------------

    def currents(self, wire: Wire) -> tuple[float, float]:
        """Running and peak amperes of a wire."""
        if wire.role in IDLE:
            return 0.0, 0.0
        leg = (wire.circuit, wire.stop)
        own = self._currents.get(leg, (0.0, 0.0))
        return self._returns.get(leg, own) if wire.role in BACKWARD else own

    def own_series(self, circuit: Circuit, stop: Stop) -> list[Wire] | None:
        """Conductors in series from the circuit's source to a stop and back; None when one has no route."""
        along = (w for s in chain(circuit, stop) for w in self.by_leg.get((circuit.id, s.id), []))
        series = carrying(w for w in along if w.role not in IDLE)
        return None if any(self.routes[w.id].route_mm is None for w in series) else series

    def _upstream(self, circuit: Circuit) -> tuple[list[Wire], Circuit] | None:
        """The feeders' conductors in series, as far as they lead to where this circuit starts, and the top feeder."""
        found: list[Wire] = []
        below = circuit
        for feeder_id in reversed(self.loads[circuit.id].upstream):
            feeder = self.circuits[feeder_id]
            stop = next((s for s in feeder.stops[1:] if s.device == below.stops[0].device), None)
            part = self.own_series(feeder, stop) if stop is not None else None
            if part is None:
                return None
            found = part + found
            below = feeder
        return found, below

    def series(self, circuit: Circuit, stop: Stop) -> tuple[list[Wire], Circuit] | None:
        """All conductors from the original source to a stop and back, and the circuit they start with."""
        own, up = self.own_series(circuit, stop), self._upstream(circuit)
        if own is None or up is None or not own:
            return None
        series = up[0] + own
        home = self._home(circuit, {w.id for w in series})
        return None if home is None else (series + home, up[1])

    def _home(self, circuit: Circuit, known: set[str]) -> list[Wire] | None:
        """The returns of other feeders that this circuit's current, or that of a feeder before it, comes home by."""
        found: list[Wire] = []
        for each in (circuit, *self.supply.upstream(circuit)):
            for feeder, stop in self.supply.homeward(each):
                if self.loads[feeder.id].in_mesh:
                    continue  # what is lost in a mesh is counted with the place where it ends
                part = self.own_series(feeder, stop)
                if part is None:
                    return None
                new = [w for w in part if w.role in BACKWARD and w.id not in known]
                known |= {w.id for w in new}
                found += new
        return found

    def _find_makers(self) -> None:
        for circuit in self.circuits.values():
            system = self.supply.system(circuit)
            for stop in circuit.stops[1:]:
                device = self.devices[stop.device]
                rows = maker_rows(device, system) if stop.role == "load" else ()
                series = self.own_series(circuit, stop) if rows else None
                if not series:
                    continue
                both = device.electrical.maker_lengths == "there_and_back"
                length_mm = sum(self.routes[w.id].route_mm or 0.0 for w in series if both or w.role not in BACKWARD)
                row = next((r for r in rows if length_mm <= r.up_to_mm + 1e-6), None)
                answer = MakerAnswer(length_mm, row or rows[-1], row is None)
                self.makers[(circuit.id, stop.id)] = answer
                for s in chain(circuit, stop):
                    key = (circuit.id, s.id)
                    self._maker_floors[key] = max(self._maker_floors.get(key, 0.0), answer.row.section_mm2)

    # --- conductors -------------------------------------------------------------------------------------------------

    def table(self, kind: WireKind, parallel: int, low_volts: bool) -> SizeTable:
        """The size table of a kind; conductors in parallel share the current evenly."""
        key = (kind.id, parallel, low_volts)
        if key not in self._tables:
            self._tables[key] = size_table(
                tuple(row.section_mm2 for row in kind.sizes),
                tuple(row.r20_ohm_per_km for row in kind.sizes),
                self.ampacity,
                kind.insulation_c,
                self.assumptions.conductor_c,
                number(self.profile, "terminal.temperature_c"),
                names=tuple(size_name(row) for row in kind.sizes),
                fuses=self.fuses if low_volts else None,
                parallel=parallel,
            )
        return self._tables[key]

    def _minimum(self, wire: Wire, circuit: Circuit) -> float:
        own = circuit.smallest_section_mm2 or 0.0
        if wire.role == "bond":
            return max(own, number(self.profile, "bond.min_section_mm2"))
        if wire.role in ("data", "antenna") or circuit.group in INFORMS:
            return own
        rule = "wire.min_mains_mm2" if circuit.group == "mains" else "wire.min_section_mm2"
        return max(own, number(self.profile, rule))

    def _conductor(self, wire: Wire) -> Conductor:
        circuit = self.circuits[wire.circuit]
        informs = circuit.group in INFORMS
        running, peak = (0.0, 0.0) if informs else self.currents(wire)
        route = self.routes[wire.id]
        floor = self._maker_floors.get((wire.circuit, wire.stop), 0.0) if wire.role not in IDLE else 0.0
        low_volts = circuit.group == "dc_power" and self.loads[circuit.id].base_v < LOW_VOLTS
        return Conductor(
            table=self.table(self.kinds[wire.kind], wire.parallel, low_volts),
            length_mm=route.route_mm or 0.0,
            current_a=running,
            peak_a=peak,
            circuit=self._circuit_number[circuit.id],
            protection=None if wire.role in IDLE or informs else self.protection_number.get(circuit.id),
            route=tuple(self._channel_number[s.channel] for s in route.steps),
            ambient_c=self.assumptions.ambient_c,
            counts=wire.role not in IDLE and not informs,
            parallel=wire.parallel,
            fixed_mm2=self.pulled_mm2.get(wire.id, circuit.section_mm2),
            minimum_mm2=self._minimum(wire, circuit),
            floors=(Floor(floor),) if floor > 0 else (),
            bond_of=self._can_fault_into(circuit) if wire.role == "bond" else (),
        )

    def _can_fault_into(self, bond: Circuit) -> tuple[int, ...]:
        """Protections that can feed a fault into a bond: those of its own kind of system, mains or not."""
        mains = bond.group == "mains"
        return tuple(i for i, c in enumerate(self.protected) if (c.group == "mains") == mains)

    def _together(self) -> tuple[tuple[int, ...], ...]:
        """Feed and return of a circuit get one section, and so do the cores of a cable.

        Conductors without load current (bonds, spares) are left out unless they are cores of the same cable.
        """
        groups: dict[tuple[str, str, str], list[int]] = {}
        for wire in self.wires.values():
            if wire.role in IDLE and wire.cable is None and wire.role != "protective_earth":
                continue
            groups.setdefault((wire.circuit, wire.kind, wire.cable or ""), []).append(self.number[wire.id])
        return tuple(tuple(g) for g in groups.values() if len(g) > 1)

    # --- fuses ------------------------------------------------------------------------------------------------------

    def _fed_protections(self) -> dict[str, list[int]]:
        """The protections next behind each protected circuit."""
        fed: dict[str, list[int]] = {}
        for i, circuit in enumerate(self.protected):
            above = [c for c in self.supply.upstream(circuit) if c.id in self.protection_number]
            if above:
                fed.setdefault(above[-1].id, []).append(i)
        return fed

    def _protections(self) -> tuple[Protection, ...]:
        fed = self._fed_protections()
        share = number(self.profile, "fuse.ampacity_share")
        found = []
        for circuit in self.protected:
            family = families().get(circuit.protective.family)
            load = self.loads[circuit.id]
            fixed_a, factor = circuit.protective.rating_a, number(self.profile, "fuse.factor")
            if fixed_a is None:
                fixed_a = self.maker_fuse_a(circuit)
                factor = factor if fixed_a is None else 1.0  # the maker knows his device
            found.append(
                Protection(
                    current_a=load.current_a,
                    ratings_a=family.ratings_a if family is not None else (),
                    factor=factor,
                    fixed_a=fixed_a,
                    ampacity_share=share if load.base_v < LOW_VOLTS else 1.0,
                    least_a=self._least_a(circuit, load.peak_a),
                    feeds=tuple(fed.get(circuit.id, ())),
                )
            )
        return tuple(found)

    def maker_fuse_a(self, circuit: Circuit) -> float | None:
        """The fuse that the maker's table of the circuit's only load names."""
        fuses = [self.makers[(circuit.id, s.id)].row.fuse_a for s in circuit.stops if (circuit.id, s.id) in self.makers]
        loads = [s for s in circuit.stops if s.role in ("load", "tap")]
        return fuses[0] if len(fuses) == len(loads) == 1 else None

    def _least_a(self, circuit: Circuit, peak_a: float) -> float:
        """A fuse that lets the peak through, as far as its holder and the makers of the loads allow."""
        most = [self.devices[s.device].electrical.largest_fuse_a for s in circuit.stops if s.role == "load"]
        ways = self.supply.source(circuit).ways
        most += [way.largest_a for way in ways if way.id == circuit.stops[0].way]
        return max(number(self.profile, "fuse.min_a"), min([peak_a, *(a for a in most if a is not None)]))

    # --- drop -------------------------------------------------------------------------------------------------------

    def limit(self, circuit: Circuit, device: Device, base_v: float) -> tuple[float, str]:
        """Volts that may be lost from source to load and back, and where that number is from."""
        if circuit.drop_percent is not None:
            limit_v, why = base_v * circuit.drop_percent / 100, f"{circuit.drop_percent:g} % set for this circuit"
        else:
            rule = "drop.critical" if device.electrical.critical or circuit.kind == "feeder" else "drop.other"
            percent = number(self.profile, rule)
            limit_v, why = base_v * percent / 100, f"{percent:g} % of {base_v:g} V, {source(self.profile, rule)}"
        least = self._lowest(circuit, device)
        if least is not None and 0 < base_v - least < limit_v:
            limit_v, why = base_v - least, f"{device.name} works down to {least:g} V, its maker's limit"
        return limit_v, why

    def _lowest(self, circuit: Circuit, device: Device) -> float | None:
        own = device.electrical.lowest_v
        if not self.supply.works_on(device, circuit):
            return None
        return own * self.supply.adapts(device, circuit) if own is not None else None

    def _paths(self) -> tuple[DropPath, ...]:
        paths: list[DropPath] = []
        for circuit in self.circuits.values():
            load = self.loads[circuit.id]
            if load.base_v <= 0 or load.in_mesh or circuit.kind in ("signal", "antenna", "bond", "spare"):
                continue
            for stop in circuit.stops[1:]:
                device = self.devices[stop.device]
                if stop.role not in ("load", "tap") or (circuit.id, stop.id) in self.makers:
                    continue
                found = self.series(circuit, stop)
                if found is not None:
                    self._add_paths(paths, circuit, stop, device, *found)
        return tuple(paths)

    def _add_paths(
        self, paths: list[DropPath], circuit: Circuit, stop: Stop, device: Device, series: list[Wire], top: Circuit
    ) -> None:
        base_v, before = self.loads[circuit.id].base_v, self.loads[top.id]
        limit_v, why = self.limit(circuit, device, base_v)
        indices, names = tuple(self.number[w.id] for w in series), tuple(w.id for w in series)
        running = tuple(self.currents(w)[0] for w in series)
        paths.append(DropPath(indices, running, limit_v, before.before_v))
        self.path_infos.append(PathInfo(circuit.id, stop.id, False, base_v, limit_v, why, names))
        draw, least = own_draw(device), self._lowest(circuit, device)
        extra = (draw.peak_a - draw.running_a) / self.supply.adapts(device, circuit)
        if least is not None and extra > 0 and 0 < least < base_v:
            limit_v, why = base_v - least, f"{device.name} starts down to {least:g} V, its maker's limit"
            before_v = before.before_v + extra * before.before_ohm
            paths.append(DropPath(indices, tuple(a + extra for a in running), limit_v, before_v))
            self.path_infos.append(PathInfo(circuit.id, stop.id, True, base_v, limit_v, why, names))

    def _rules(self) -> SizingRules:
        profile = self.profile
        covered = number(profile, "covered.base_c") == self.ampacity.base_c
        by_circuits = profile.grouping_table.startswith("bs7671")
        by_loading = profile.grouping_table == BY_LOADING and not self.ampacity.already_grouped
        return SizingRules(
            # A table for wires in a bundle has the grouping in it.
            grouping=None if by_loading or self.ampacity.already_grouped else grouping_table(profile.grouping_table),
            count_by="circuits" if by_circuits else "conductors",
            shared_min_mm=number(profile, "grouping.min_shared_mm"),
            loaded_share=number(profile, "grouping.loaded_percent") / 100,
            covered=covered_table() if covered else None,
            conductor_factor=number(profile, "ampacity.factor"),
            engine_factors=profile.ampacity_table == "cfr183",
            by_loading=by_loading,
            altitude=altitude_factor(number(profile, "altitude.m")),
        )
