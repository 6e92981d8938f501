"""Stage `wires`: the conductors of every circuit, one for each leg and role.

The leg of a stop runs from the stop it follows. Feed-like roles come from the nearest earlier stop they pass (a shunt
in the return is not one); return-like roles lead from the stop back to the nearest earlier stop they pass (a
single-pole switch is not one), or to the device the circuit names for its return.
"""

from collections.abc import Iterable, Mapping

from core.analysis.results import End, Wire
from core.model import Assumptions, Cable, Circuit, Device, Role, Stop, WireKind, size_order_problem

#: Last letter of a wire's id, by role.
LETTER: dict[str, str] = {
    "feed": "F",
    "switched": "S",
    "return": "R",
    "line": "L",
    "neutral": "N",
    "protective_earth": "E",
    "data": "D",
    "antenna": "A",
    "bond": "B",
    "spare": "X",
}
BACKWARD: frozenset[str] = frozenset({"return", "neutral", "protective_earth"})
#: Roles of which a leg between two-way switches has two.
FORWARD: frozenset[str] = frozenset({"feed", "switched", "line"})

#: Devices that take current on one side and give it on another.
CONVERTING: frozenset[str] = frozenset({"charger", "converter", "inverter"})


def legs(circuit: Circuit) -> list[tuple[Stop, Stop]]:
    """(earlier stop, stop) of every leg, in the order of the circuit. Stops that follow nothing known are left out:
    the codec refuses such files."""
    by_id = {stop.id: stop for stop in circuit.stops}
    return [(by_id[stop.after], stop) for stop in circuit.stops[1:] if stop.after in by_id]


def passes(stop: Stop, role: Role) -> bool:
    """Whether a conductor of this role ends at the stop. A protective earth comes to every one."""
    if stop.role != "series" or role == "protective_earth" or stop.poles == "all":
        return True
    return (stop.poles == "return") == (role in BACKWARD)


def earlier(circuit: Circuit, stop: Stop, role: Role) -> Stop | None:
    """The stop before this one to which its conductor of that role leads; None when it has no such conductor."""
    if not passes(stop, role):
        return None
    by_id = {s.id: s for s in circuit.stops}
    here = by_id.get(stop.after or "")
    while here is not None and not passes(here, role):
        here = by_id.get(here.after or "")
    return here


def _switched(circuit: Circuit, stop: Stop, devices: Mapping[str, Device]) -> bool:
    """Whether the feed of this leg lies behind a switch of the same circuit."""
    by_id = {s.id: s for s in circuit.stops}
    here = by_id.get(stop.after or "")
    while here is not None:
        device = devices.get(here.device)
        if here.role == "series" and device is not None and device.kind == "switch":
            return True
        here = by_id.get(here.after or "")
    return False


def kind_of(circuit: Circuit, assumptions: Assumptions) -> str | None:
    """Id of the wire kind of a circuit: its own, or the plan's for its separation group."""
    if circuit.wire_kind is not None:
        return circuit.wire_kind
    by_group = {
        "mains": assumptions.mains_kind,
        "dc_power": assumptions.wire_kind,
        "signal": assumptions.signal_kind,
        "antenna": assumptions.antenna_kind,
    }
    return by_group[circuit.group]


def _end(device: Device, stop: Stop | None, role: Role, beyond: bool = False) -> End:
    """The end of a conductor at a device; `beyond` says that it lies on the stop's side away from the source.

    Where nobody named the port: the first of the conductor's role, beyond a stop the one that leads out.
    """
    port = stop.port if stop is not None else None
    if port is None:
        port = next((p.id for p in device.ports if p.role == role), None)
    if beyond and stop is not None and (stop.role == "series" or stop.port is None):
        port = _outlet(device, stop, role, port)
    return End(device=device.id, port=port, way=stop.way if stop is not None else None, node=device.node)


def _outlet(device: Device, stop: Stop, role: Role, inlet: str | None) -> str | None:
    """The port on the far side of what is passed (the second stud of a fuse, a shunt or a switch), and the output of a
    source that has an input too; the inlet itself where there is no other."""
    fitting = ("feed", "switched") if role == "feed" else (role,)
    others = [p.id for p in device.ports if p.role in fitting and p.id != inlet]
    # Of more than two (two-way switches) nobody can say which before it is told.
    if stop.role == "series" and len(others) == 1:
        return others[0]
    if stop.role == "source" and device.kind in CONVERTING and others:
        return others[-1]
    return inlet


def _roles(circuit: Circuit, stop: Stop) -> Iterable[Role]:
    """The conductors of a leg, with its travellers: as many of its feed-like roles as the stop asks for."""
    for role in circuit.conductors:
        yield from (role,) * (stop.feeds if role in FORWARD else 1)


def carrying(wires: Iterable[Wire]) -> list[Wire]:
    """The conductors of which current flows at one time: of travellers, and of the cores of a data cable, one a leg."""
    found: dict[tuple[str, str, Role], Wire] = {}
    for wire in wires:
        found.setdefault((wire.circuit, wire.stop, wire.role), wire)
    return list(found.values())


def _circuit_wires(
    circuit: Circuit,
    devices: Mapping[str, Device],
    kinds: Mapping[str, WireKind],
    assumptions: Assumptions,
    in_cable: Mapping[tuple[str, Role], Cable],
) -> Iterable[Wire]:
    own_kind = kind_of(circuit, assumptions)
    for _, stop in legs(circuit):
        leads: dict[frozenset[str], str] = {}
        used: dict[str, int] = {}
        for role in _roles(circuit, stop):
            if circuit.return_path.kind != "wire" and role == "return":
                continue
            before = earlier(circuit, stop, role)
            if before is None:
                continue
            actual: Role = "switched" if role == "feed" and _switched(circuit, stop, devices) else role
            if role in BACKWARD:
                to_device = devices[before.device]
                to_stop: Stop | None = before if before.role != "source" else None
                if before.role == "source" and role == "return" and circuit.return_path.device is not None:
                    to_device = devices[circuit.return_path.device]
                from_, to = _end(devices[stop.device], stop, role), _end(to_device, to_stop, role, beyond=True)
                if to_stop is None and to_device.id == before.device:
                    # The way of a fuse block holds the feed only; a converter gives its return at its output.
                    port = _outlet(to_device, before, role, to.port)
                    to = End(device=to.device, port=port, way=None, node=to.node)
            else:
                from_ = _end(devices[before.device], before, role, beyond=True)
                to = _end(devices[stop.device], stop, role)
            way = frozenset({from_.device, to.device})
            if role in BACKWARD and circuit.return_apart:
                way = frozenset({*way, f"{role} apart"})
            letter = LETTER[actual]
            used[letter] = used.get(letter, 0) + 1
            suffix = letter if used[letter] == 1 else f"{letter}{used[letter]}"
            wire_id = f"{circuit.id}-{stop.id}{suffix}"
            cable = in_cable.get((circuit.id, role))
            kind = cable.kind if cable is not None else own_kind
            if kind is None or kind not in kinds:
                continue  # a finding says that the circuit has no wire kind
            yield Wire(
                id=wire_id,
                circuit=circuit.id,
                stop=stop.id,
                role=actual,
                from_=from_,
                to=to,
                kind=kind,
                cable=cable.id if cable is not None else f"{circuit.id}-{stop.id}" if circuit.as_cable else None,
                cores=kinds[kind].cores,
                group=circuit.group,
                parallel=circuit.parallel,
                waypoints=stop.waypoints,
                lead=leads.setdefault(way, wire_id),
            )


def derive(
    circuits: tuple[Circuit, ...],
    devices: tuple[Device, ...],
    cables: tuple[Cable, ...],
    kinds: tuple[WireKind, ...],
    assumptions: Assumptions,
) -> dict[str, Wire]:
    """Every wire of the plan by id, in the order of circuits and legs. A circuit without a usable kind has none."""
    device_by_id = {device.id: device for device in devices}
    kind_by_id = {kind.id: kind for kind in kinds if not size_order_problem(kind)}
    in_cable = {(core.circuit, core.role): cable for cable in cables for core in cable.cores if core.circuit}
    return {
        wire.id: wire
        for circuit in circuits
        for wire in _circuit_wires(circuit, device_by_id, kind_by_id, assumptions, in_cable)
    }
