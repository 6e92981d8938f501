"""Stage `meshes`: feeders that form a ring or join two sources, solved as a DC network with the user's sizes.

Meshes are checked, never sized: the current in each feeder follows from the resistances, so a size has to be chosen
first. Until every one is chosen, each feeder of the mesh is taken to carry all of it. Plus and minus conductors are
solved apart: a bank whose plus is taken from one battery and whose minus from the other loads both alike.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from msgspec.structs import replace

from core.analysis.loads import own_draw
from core.analysis.results import CircuitLoad, Mesh, MeshNode, Route, Wire
from core.analysis.supply import CHARGERS, PASSES_ON, Supply, base_volts, chain
from core.analysis.wires import BACKWARD, carrying
from core.electrical.conductors import resistance_ohm_per_m
from core.electrical.mesh import Branch, Draw, Solution, Source, solve
from core.model import NOMINAL_V, Assumptions, Circuit, Device, WireKind

#: A joint of two terminals that lie on one another still has some resistance (ohm).
JOINT_OHM = 1e-5
_TOP = ""


@dataclass(frozen=True)
class Feed:
    """One stretch of a feeder between two devices that hand current on: its circuit, stop, ends and wires."""

    circuit: str
    stop: str
    a: str
    b: str
    stops: tuple[str, ...]


def _feeds(supply: Supply) -> list[Feed]:
    """Every stretch between distribution points and sources, chargers left out: they do not set the voltage."""
    found = []
    for circuit in supply.circuits.values():
        source = supply.source(circuit)
        charges = source.kind in CHARGERS and (source.kind != "converter" or supply.charges(circuit))
        if circuit.kind == "bond" or circuit.group in ("signal", "antenna") or charges:
            continue
        for stop in circuit.stops[1:]:
            device = supply.devices[stop.device]
            if stop.role == "series" or not (device.kind in PASSES_ON or device.kind == "battery"):
                continue
            back = [stop.id]
            start = source.id
            for before in reversed(chain(circuit, stop)[:-1]):
                if before.role != "series":
                    start = before.device
                    break
                back.append(before.id)
            if start != device.id:
                found.append(Feed(circuit.id, stop.id, start, device.id, tuple(back)))
    return found


def _meshed(feeds: list[Feed], supply: Supply) -> list[tuple[list[Feed], list[str]]]:
    """(feeds, sources) of every mesh: what stays joined whichever one feed is taken away."""
    if not feeds:
        return []
    import networkx as nx

    graph: nx.MultiGraph[str] = nx.MultiGraph()
    for i, feed in enumerate(feeds):
        graph.add_edge(feed.a, feed.b, key=str(i))
    batteries = {n for n in graph if supply.devices[n].kind == "battery"}
    sources: set[str] = set()
    for part in nx.connected_components(graph):
        # Batteries set the voltage; where there is none, whatever else can feed does.
        own = part & batteries or {
            n for n in part if supply.devices[n].kind in ("converter", "shore_inlet", "inverter")
        }
        sources |= own
    for i, source in enumerate(sorted(sources)):
        graph.add_edge(_TOP, source, key=f"source {i}")
    simple: nx.Graph[str] = nx.Graph(graph)
    single = {frozenset(pair) for pair in nx.bridges(simple) if graph.number_of_edges(*pair) == 1}
    meshed = [feed for feed in feeds if frozenset((feed.a, feed.b)) not in single]
    parts: nx.Graph[str] = nx.Graph((feed.a, feed.b) for feed in meshed)
    found = []
    for inside in sorted((set(p) for p in nx.connected_components(parts)), key=min):
        entries = sorted(n for n in inside if n in sources or _fed_from_outside(n, inside, feeds, supply))
        found.append(([feed for feed in meshed if feed.a in inside], entries))
    return found


def _fed_from_outside(node: str, inside: set[str], feeds: list[Feed], supply: Supply) -> bool:
    """Whether a feeder that is no part of the mesh leads to this node from something that is fed."""
    for feed in feeds:
        if feed.b == node and feed.a not in inside and supply.origin(supply.circuits[feed.circuit]) is not None:
            return True
    return False


def solve_meshes(
    circuits: tuple[Circuit, ...],
    devices: tuple[Device, ...],
    kinds: tuple[WireKind, ...],
    wires: Mapping[str, Wire],
    routes: Mapping[str, Route],
    loads: Mapping[str, CircuitLoad],
    assumptions: Assumptions,
    pulled_mm2: Mapping[str, float],
) -> tuple[Mapping[str, CircuitLoad], tuple[Mesh, ...]]:
    """Stage `meshes`: the loads with the currents of meshed feeders in them, and what was solved."""
    supply = Supply(circuits, devices)
    feeds = _feeds(supply)
    if not feeds:
        return loads, ()
    groups = _meshed(feeds, supply)
    if not groups:
        return loads, ()
    by_leg: dict[tuple[str, str], list[Wire]] = {}
    for wire in wires.values():
        by_leg.setdefault((wire.circuit, wire.stop), []).append(wire)
    work = _Work(supply, {k.id: k for k in kinds}, by_leg, routes, assumptions, pulled_mm2)
    new_loads, meshes = dict(loads), []
    for members, sources in groups:
        meshes.append(work.mesh(members, sources, new_loads))
    return new_loads, tuple(meshes)


class _Work:
    def __init__(
        self,
        supply: Supply,
        kinds: Mapping[str, WireKind],
        by_leg: Mapping[tuple[str, str], list[Wire]],
        routes: Mapping[str, Route],
        assumptions: Assumptions,
        pulled_mm2: Mapping[str, float],
    ) -> None:
        self.supply, self.kinds, self.by_leg, self.routes = supply, kinds, by_leg, routes
        self.assumptions, self.pulled_mm2 = assumptions, pulled_mm2

    def _ohms(self, feed: Feed) -> tuple[float, float] | None:
        """Plus and minus of a feed; None where a wire has no size of the user's or no route. The body as a return
        counts as nothing, as everywhere else."""
        total = {"plus": 0.0, "minus": 0.0}
        circuit = self.supply.circuits[feed.circuit]
        for stop in feed.stops:
            for wire in carrying(self.by_leg.get((feed.circuit, stop), [])):
                if wire.role not in ("feed", "switched", "return", "line", "neutral"):
                    continue
                section, route = self.pulled_mm2.get(wire.id, circuit.section_mm2), self.routes[wire.id].route_mm
                if section is None or route is None:
                    return None
                sizes = self.kinds[wire.kind].sizes
                row = min(sizes, key=lambda r: abs(r.section_mm2 - section))
                r20 = row.r20_ohm_per_km * row.section_mm2 / section
                ohm_per_m = resistance_ohm_per_m(r20, self.assumptions.conductor_c) / wire.parallel
                total["minus" if wire.role in BACKWARD else "plus"] += ohm_per_m * route / 1000
        return max(total["plus"], JOINT_OHM), max(total["minus"], JOINT_OHM)

    def _home(self, circuit: Circuit, start: str, nodes: set[str]) -> str:
        """The device of the mesh at which the minus of what leaves `start` comes home: the one that the circuit
        names, or the one that its return bus leads back to."""
        at = circuit.return_path.device
        if circuit.return_path.kind != "wire" or at is None or circuit.stops[0].device != start:
            return start
        seen: set[str] = set()
        while at not in nodes and at not in seen:
            seen.add(at)
            feeder = next((c for c in self.supply.reaching.get(at, []) if c.group == circuit.group), None)
            if feeder is None:
                return start
            at = feeder.return_path.device or feeder.stops[0].device
        return at if at in nodes else start

    def mesh(self, members: list[Feed], sources: list[str], loads: dict[str, CircuitLoad]) -> Mesh:
        """Solve one mesh and lay its currents over `loads`."""
        names = tuple(dict.fromkeys(feed.circuit for feed in members))
        nodes = sorted({n for feed in members for n in (feed.a, feed.b)})
        ports = self._ports(nodes, set(names), loads)
        ohms = [self._ohms(feed) for feed in members]
        missing = any(ohm is None for ohm in ohms)
        if not sources or missing:
            self._carry_all(members, ports, loads)
            problem = "nothing feeds it" if not sources else "not every feeder of it has a size and a route"
            return Mesh(feeders=names, sources=tuple(sources), problem=problem)
        plus: dict[str, int | None] = {n: i for i, n in enumerate(nodes)}
        minus: dict[str, int | None] = {n: len(nodes) + i for i, n in enumerate(nodes)}
        minus[sources[0]] = None  # where volts are counted from
        known = [ohm or (JOINT_OHM, JOINT_OHM) for ohm in ohms]
        forth = [Branch(plus[f.a], plus[f.b], ohm[0]) for f, ohm in zip(members, known, strict=True)]
        home = [self._home(self.supply.circuits[f.circuit], f.a, set(nodes)) for f in members]
        # A feed whose minus comes home at the device it leads to (through another feeder) has no minus of its own.
        back = [
            Branch(minus[f.b], minus[h], ohm[1]) if f.b != h else None
            for f, h, ohm in zip(members, home, known, strict=True)
        ]
        minus_row = {i: len(forth) + k for k, i in enumerate(i for i, b in enumerate(back) if b is not None)}
        volts = self._volts(sources, names)
        # All sources stand at one voltage: which battery is fuller no plan can know.
        found = solve(
            2 * len(nodes),
            [*forth, *(b for b in back if b is not None)],
            [Source(plus[s], volts, self._inner_ohm(s, volts), minus[s]) for s in sources],
            [Draw(plus[p.node], p.average_a, minus[p.home]) for p in ports],
        )

        def between(node: str, home: str) -> float | None:
            high = plus[node]
            low = minus[home]
            at_high = found.volts[high] if high is not None else 0.0
            at_low = found.volts[low] if low is not None else 0.0
            return at_high - at_low if at_high is not None and at_low is not None else None

        # As everywhere else, drop is counted from the terminals: what a battery loses inside it is its own affair.
        highest = max(at for s in sources if (at := between(s, s)) is not None)
        lost: dict[tuple[str, str], tuple[float, float]] = {}
        for port, inner in zip(ports, found.inner_ohm, strict=True):
            at = between(port.node, port.home)
            lost[(port.node, port.home)] = (max(highest - at, 0.0) if at is not None else 0.0, inner or 0.0)
        drawn = {n: sum(p.average_a for p in ports if p.node == n) for n in nodes}
        rows = [MeshNode(device=n, drop_v=lost[(n, n)][0], inner_ohm=lost[(n, n)][1], drawn_a=drawn[n]) for n in nodes]
        for i, feed in enumerate(members):
            out = _worst(found, i, ports)
            coming = _worst(found, minus_row[i], ports) if i in minus_row else out
            self._put(loads, feed, out, coming, solved=True)
        self._before(set(nodes), lost, set(names), loads)
        amps = tuple((f.circuit, f.stop, found.amps[i]) for i, f in enumerate(members))
        return Mesh(feeders=names, sources=tuple(sources), nodes=tuple(rows), amps=amps, solved=True)

    def _volts(self, sources: list[str], names: tuple[str, ...]) -> float:
        for source in sources:
            device = self.supply.devices[source]
            nominal = NOMINAL_V.get(device.electrical.output or "", 0.0) or base_volts(device)
            if nominal > 0:
                return nominal
        return max((self.supply.volts(self.supply.circuits[n]) for n in names), default=0.0) or NOMINAL_V["dc12"]

    def _inner_ohm(self, source: str, volts: float) -> float:
        """A battery's inner resistance from its short-circuit current; others hold their voltage."""
        short = self.supply.devices[source].electrical.short_circuit_a
        return volts / short if short is not None and short > 0 else 0.0

    def _ports(self, nodes: list[str], inside: set[str], loads: Mapping[str, CircuitLoad]) -> list["_Port"]:
        """What hangs on the mesh, by where it leaves and where it comes home; every device has a port of its own."""
        by_place: dict[tuple[str, str], list[tuple[float, float, float]]] = {}
        for node in nodes:
            own = own_draw(self.supply.devices[node])
            by_place[(node, node)] = [(own.running_a, own.peak_a, own.diverse_a)]
            for circuit in self.supply.leaving.get(node, []):
                if circuit.id not in inside and circuit.kind != "bond":
                    row = loads[circuit.id]
                    place = (node, self._home(circuit, node, set(nodes)))
                    by_place.setdefault(place, []).append((row.current_a, row.peak_a, row.diverse_a))
        return [
            _Port(
                *place,
                average_a=sum(diverse for _, _, diverse in rows),
                running_a=max(running - diverse for running, _, diverse in [*rows, (0.0, 0.0, 0.0)]),
                peak_a=max(peak - diverse for _, peak, diverse in [*rows, (0.0, 0.0, 0.0)]),
            )
            for place, rows in by_place.items()
        ]

    def _carry_all(self, members: list[Feed], ports: list["_Port"], loads: dict[str, CircuitLoad]) -> None:
        average = sum(port.average_a for port in ports)
        running = average + max(port.running_a for port in ports)
        peak = average + max(port.peak_a for port in ports)
        for feed in members:
            self._put(loads, feed, (running, peak, average), (running, peak, average), solved=False)

    def _put(
        self,
        loads: dict[str, CircuitLoad],
        feed: Feed,
        out: tuple[float, float, float],
        coming: tuple[float, float, float],
        *,
        solved: bool,
    ) -> None:
        """Lay (running, peak, average) of a feed's plus and minus over its circuit."""
        old, circuit = loads[feed.circuit], self.supply.circuits[feed.circuit]
        typed = circuit.current_a or 0.0  # a current that somebody typed is the least
        running, peak = max(out[0], typed), max(out[1], typed)
        legs = {stop: (a, p) for stop, a, p in old.legs}
        returns = {stop: (a, p) for stop, a, p in old.returns}
        for stop in feed.stops:
            legs[stop] = (running, peak)
            returns[stop] = (max(coming[0], typed), max(coming[1], typed))
        first = circuit.stops[0].id
        at_source = any(s.after == first and s.id in feed.stops for s in circuit.stops[1:])
        loads[feed.circuit] = replace(
            old,
            current_a=running if at_source else old.current_a,
            peak_a=peak if at_source else old.peak_a,
            diverse_a=out[2] if at_source else old.diverse_a,
            legs=tuple((stop, a, p) for stop, (a, p) in legs.items()),
            returns=tuple((stop, a, p) for stop, (a, p) in returns.items()),
            in_mesh=solved,
        )

    def _before(
        self,
        nodes: set[str],
        lost: Mapping[tuple[str, str], tuple[float, float]],
        inside: set[str],
        loads: dict[str, CircuitLoad],
    ) -> None:
        """Circuits behind the mesh: their way up ends at it, with what is lost before."""
        for name, load in list(loads.items()):
            if name in inside:
                loads[name] = replace(load, upstream=())
                continue
            way = [*load.upstream, name]
            below = [i for i, c in enumerate(way) if self.supply.circuits[c].stops[0].device in nodes]
            below = [i for i in below if way[i] not in inside]
            if not below:
                continue
            top = self.supply.circuits[way[below[0]]]
            changed = replace(load, upstream=tuple(way[below[0] : -1]))
            if top.id == name:
                node = top.stops[0].device
                drop_v, ohm = lost.get((node, self._home(top, node, nodes)), lost[(node, node)])
                changed = replace(changed, before_v=drop_v, before_ohm=ohm)
            loads[name] = changed


@dataclass(frozen=True)
class _Port:
    """A place where current leaves the mesh and comes home: the average, and the largest single current and peak on
    top of it."""

    node: str
    home: str
    average_a: float
    running_a: float
    peak_a: float


def _worst(found: Solution, branch: int, ports: list[_Port]) -> tuple[float, float, float]:
    """(running, peak, average) of one branch: the averages, with the worst single current on top."""
    amps = found.amps[branch]
    shares = [share[branch] for share in found.shares]
    running = max([abs(amps + p.running_a * s) for p, s in zip(ports, shares, strict=True)] + [abs(amps)])
    peak = max([abs(amps + p.peak_a * s) for p, s in zip(ports, shares, strict=True)] + [running])
    return running, peak, abs(amps)
