"""Stage `meshes`: feeders that form a ring or join two sources, solved as a DC network with the user's sizes.

Meshes are checked, never sized: the current in each feeder follows from the resistances, so a size has to be chosen
first. Until every one is chosen, each feeder of the mesh is taken to carry all of it.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import networkx as nx
from msgspec.structs import replace

from core.analysis.loads import own_draw
from core.analysis.results import CircuitLoad, Mesh, MeshNode, Route, Wire
from core.analysis.supply import CHARGERS, PASSES_ON, Supply, base_volts, chain
from core.analysis.wires import carrying
from core.electrical.conductors import resistance_ohm_per_m
from core.electrical.mesh import LEAST_OHM, Branch, Source, solve
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
    if len(feeds) < 2:
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

    def _ohm(self, feed: Feed) -> float | None:
        """Feed and return in series; None where a wire has no size of the user's or no route."""
        total = 0.0
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
                total += ohm_per_m * route / 1000
        return max(total, JOINT_OHM, LEAST_OHM)

    def mesh(self, members: list[Feed], sources: list[str], loads: dict[str, CircuitLoad]) -> Mesh:
        """Solve one mesh and lay its currents over `loads`."""
        names = tuple(dict.fromkeys(feed.circuit for feed in members))
        nodes = sorted({n for feed in members for n in (feed.a, feed.b)})
        number = {n: i for i, n in enumerate(nodes)}
        drawn = {n: self._drawn(n, set(names), loads) for n in nodes}
        ohms = [self._ohm(feed) for feed in members]
        missing = sorted({feed.circuit for feed, ohm in zip(members, ohms, strict=True) if ohm is None})
        if not sources or missing:
            self._carry_all(members, drawn, loads)
            problem = "nothing feeds it" if not sources else "not every feeder of it has a size and a route"
            return Mesh(feeders=names, sources=tuple(sources), problem=problem)
        branches = [Branch(number[f.a], number[f.b], ohm or JOINT_OHM) for f, ohm in zip(members, ohms, strict=True)]
        volts = self._volts(sources, names)
        # All sources stand at one voltage: which battery is fuller no plan can know.
        found = solve(
            len(nodes),
            branches,
            [Source(number[s], volts, self._inner_ohm(s, volts)) for s in sources],
            {number[n]: average for n, (average, _, _) in drawn.items()},
        )
        # As everywhere else, drop is counted from the terminals: what a battery loses inside it is its own affair.
        highest = max(at for n in sources if (at := found.volts[number[n]]) is not None)
        rows = []
        for node in nodes:
            at, inner = found.volts[number[node]], found.inner_ohm[number[node]]
            rows.append(
                MeshNode(
                    device=node,
                    drop_v=max(highest - at, 0.0) if at is not None else 0.0,
                    inner_ohm=inner or 0.0,
                    drawn_a=drawn[node][0],
                )
            )
        self._lay_over(members, found.amps, found.shares, drawn, number, loads)
        self._before({row.device: row for row in rows}, set(names), loads)
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

    def _drawn(self, node: str, inside: set[str], loads: Mapping[str, CircuitLoad]) -> tuple[float, float, float]:
        """What hangs on a node besides the mesh: the average, and the largest single current and peak above it."""
        rows = [loads[c.id] for c in self.supply.leaving.get(node, []) if c.id not in inside and c.kind != "bond"]
        own = own_draw(self.supply.devices[node])
        average = sum(row.diverse_a for row in rows) + own.diverse_a
        extra = max([row.current_a - row.diverse_a for row in rows] + [own.running_a - own.diverse_a])
        peak = max([row.peak_a - row.diverse_a for row in rows] + [own.peak_a - own.diverse_a])
        return average, max(extra, 0.0), max(peak, 0.0)

    def _carry_all(
        self, members: list[Feed], drawn: Mapping[str, tuple[float, float, float]], loads: dict[str, CircuitLoad]
    ) -> None:
        average = sum(row[0] for row in drawn.values())
        running = average + max(row[1] for row in drawn.values())
        peak = average + max(row[2] for row in drawn.values())
        for feed in members:
            self._put(loads, feed, running, peak, average, solved=False)

    def _lay_over(
        self,
        members: list[Feed],
        amps: tuple[float, ...],
        shares: Mapping[int, tuple[float, ...]],
        drawn: Mapping[str, tuple[float, float, float]],
        number: Mapping[str, int],
        loads: dict[str, CircuitLoad],
    ) -> None:
        for i, feed in enumerate(members):
            at = [(drawn[n], shares.get(number[n], ())) for n in drawn]
            running = max([abs(amps[i] + row[1] * share[i]) for row, share in at if share] + [abs(amps[i])])
            peak = max([abs(amps[i] + row[2] * share[i]) for row, share in at if share] + [running])
            self._put(loads, feed, running, peak, abs(amps[i]), solved=True)

    def _put(
        self, loads: dict[str, CircuitLoad], feed: Feed, running: float, peak: float, average: float, *, solved: bool
    ) -> None:
        old = loads[feed.circuit]
        # A current that somebody typed is the least: a link wired diagonally carries more than the network says.
        typed = self.supply.circuits[feed.circuit].current_a or 0.0
        running, peak = max(running, typed), max(peak, typed)
        legs = {stop: (a, p) for stop, a, p in old.legs}
        for stop in feed.stops:
            legs[stop] = (running, peak)
        first = self.supply.circuits[feed.circuit].stops[0].id
        at_source = any(s.after == first and s.id in feed.stops for s in self.supply.circuits[feed.circuit].stops[1:])
        loads[feed.circuit] = replace(
            old,
            current_a=running if at_source else old.current_a,
            peak_a=peak if at_source else old.peak_a,
            diverse_a=average if at_source else old.diverse_a,
            legs=tuple((stop, a, p) for stop, (a, p) in legs.items()),
            in_mesh=solved,
        )

    def _before(self, nodes: Mapping[str, MeshNode], inside: set[str], loads: dict[str, CircuitLoad]) -> None:
        """Circuits behind the mesh: their way up ends at it, with what is lost before."""
        for name, load in list(loads.items()):
            if name in inside:
                loads[name] = replace(load, upstream=())
                continue
            way = [*load.upstream, name]
            below = [
                i for i, c in enumerate(way) if self.supply.circuits[c].stops[0].device in nodes and c not in inside
            ]
            if not below:
                continue
            top = way[below[0]]
            node = nodes[self.supply.circuits[top].stops[0].device]
            lost = {"before_v": node.drop_v, "before_ohm": node.inner_ohm} if top == name else {}
            loads[name] = replace(load, upstream=tuple(way[below[0] : -1]), **lost)
