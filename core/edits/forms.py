"""Daisy chain, star, two-way switching, spare wires, data run, antenna run: the forms a circuit can take."""

from collections.abc import Sequence

from core.edits.change import add, free_name, get, made, new_id, put, refuse, replaced
from core.edits.circuits import connect
from core.edits.kinds import use_default_wire, use_kind
from core.files.library import Library
from core.model import (
    Circuit,
    Device,
    Plan,
    Protective,
    Role,
    SeparationGroup,
    Stop,
    WireKind,
    fresh_id,
)

#: More wires side by side than this are a slip of the hand.
MOST_SPARES = 24


def _trunk(circuit: Circuit) -> tuple[list[Stop], list[Stop]]:
    """The source with the series parts in front of every load, and all other stops. Refuses parts elsewhere."""
    trunk = [circuit.stops[0]]
    while True:
        after = [stop for stop in circuit.stops[1:] if stop.after == trunk[-1].id]
        if len(after) != 1 or after[0].role != "series":
            break
        trunk.append(after[0])
    rest = [stop for stop in circuit.stops if stop not in trunk]
    if any(stop.role == "series" for stop in rest):
        refuse(f"Circuit “{circuit.name}” has switches or fuses between its loads; its form is set wire by wire.")
    return trunk, rest


def daisy_chain(plan: Plan, circuit_id: str, device_ids: Sequence[str] | None = None) -> Plan:
    """Daisy chain: each load follows the one before, in this order, by default that of the circuit."""
    circuit: Circuit = get(plan, "circuits", circuit_id)
    trunk, loads = _trunk(circuit)
    if device_ids is not None:
        by_device = {stop.device: stop for stop in loads}
        if sorted(by_device) != sorted(device_ids):
            refuse(f"The order of circuit “{circuit.name}” must name each of its loads once.")
        loads = [by_device[device] for device in device_ids]
    stops = [*trunk]
    for stop in loads:
        stops.append(_after(stop, stops[-1].id))
    return put(plan, "circuits", replaced(circuit, stops=tuple(stops)))


def star(plan: Plan, circuit_id: str) -> Plan:
    """Star: every load has a leg of its own from the source, or from the last switch or fuse in front of them."""
    circuit: Circuit = get(plan, "circuits", circuit_id)
    trunk, loads = _trunk(circuit)
    stops = (*trunk, *(_after(stop, trunk[-1].id) for stop in loads))
    return put(plan, "circuits", replaced(circuit, stops=stops))


def _after(stop: Stop, before: str) -> Stop:
    """The stop after another one. Waypoints belong to the leg, so they go where the leg is another one."""
    return stop if stop.after == before else replaced(stop, after=before, waypoints=())


def add_spares(
    plan: Plan,
    from_id: str,
    to_id: str,
    count: int,
    library: Library | None = None,
    section_mm2: float | None = None,
    group: SeparationGroup = "dc_power",
    name: str | None = None,
) -> tuple[Plan, str]:
    """Add spare wires between two devices: pulled now, connected to nothing, for what comes later."""
    start: Device = get(plan, "devices", from_id)
    end: Device = get(plan, "devices", to_id)
    if start.id == end.id:
        refuse(f"Spare wires from “{start.name}” need another end.")
    if not 1 <= count <= MOST_SPARES:
        refuse(f"Spare wires are 1 to {MOST_SPARES}; {count} are not.")
    plan, kind = use_default_wire(plan, group, library)
    _check_size(kind, section_mm2)
    named = name.strip() if name and name.strip() else f"Spare to {end.name}"
    spare: Role = "spare"
    circuit = made(
        Circuit,
        id=new_id(plan, "circuits"),
        name=free_name(named, (each.name for each in plan.circuits)),
        kind="spare",
        group=group,
        stops=(made(Stop, id="0", device=start.id, role="source"), made(Stop, id="1", device=end.id, after="0")),
        conductors=(spare,) * count,
        protective=Protective(kind="none", reason="Not in use."),
        section_mm2=section_mm2,
    )
    return add(plan, "circuits", circuit), circuit.id


def _check_size(kind: WireKind, section_mm2: float | None) -> None:
    if section_mm2 is not None and all(abs(row.section_mm2 - section_mm2) > 1e-6 for row in kind.sizes):
        sizes = ", ".join(f"{row.section_mm2:g}" for row in kind.sizes)
        refuse(f"“{kind.name}” is not made with {section_mm2:g} mm²; it comes in {sizes} mm².")


def run_data(
    plan: Plan,
    from_id: str,
    to_ids: Sequence[str],
    library: Library,
    kind_id: str | None = None,
    name: str | None = None,
) -> tuple[Plan, str]:
    """Run data: a signal cable or wire from a device through others (a bus where there are several).

    `kind_id` names a kind of wire of the plan or the library; without it that of the plan's signals. A cable lends all
    its cores, a single wire gets a return beside it.
    """
    plan, circuit_id = connect(plan, from_id, None, to_ids, name, "signal", library)
    return _with_kind(plan, circuit_id, kind_id, library, "signal")


def run_antenna(
    plan: Plan, antenna_id: str, to_id: str, library: Library, kind_id: str | None = None, name: str | None = None
) -> tuple[Plan, str]:
    """Run antenna: one coax from an antenna to its radio or router, in one piece."""
    plan, circuit_id = connect(plan, antenna_id, None, [to_id], name, "antenna", library)
    return _with_kind(plan, circuit_id, kind_id, library, "antenna")


def _with_kind(
    plan: Plan, circuit_id: str, kind_id: str | None, library: Library, group: SeparationGroup
) -> tuple[Plan, str]:
    circuit: Circuit = get(plan, "circuits", circuit_id)
    if circuit.group != group:
        refuse(f"Circuit “{circuit.name}” carries {circuit.group.replace('_', ' ')}, no {group}.")
    if kind_id is None:
        return plan, circuit_id
    kind = next((k for k in (*plan.wire_kinds, *library.wire_kinds) if k.id == kind_id), None)
    if kind is None or kind.group != group:
        refuse(f"There is no kind of wire {kind_id} for {group}.")
    data: Role = "data"
    roles: tuple[Role, ...] = circuit.conductors
    if group == "signal":
        roles = (data,) * kind.cores if kind.cores > 1 else (data, "return")
    fresh = replaced(circuit, wire_kind=kind.id, conductors=roles, as_cable=kind.cores > 1)
    return put(use_kind(plan, kind), "circuits", fresh), circuit_id


def switch_two_way(plan: Plan, circuit_id: str, first_id: str, second_id: str, before_stop: str | None = None) -> Plan:
    """Two-way switching (three-way in US words): two switches in series before a stop, by default the first load.

    Two travellers join the switches, so the leg between them has two feed conductors; one carries at a time.
    """
    from core.edits.circuits import add_switch

    if first_id == second_id:
        refuse("Two-way switching needs two switches.")
    for each in (first_id, second_id):
        device: Device = get(plan, "devices", each)
        if device.kind != "switch":
            refuse(f"“{device.name}” is no switch.")
    plan, first = add_switch(plan, circuit_id, first_id, before_stop)
    circuit: Circuit = get(plan, "circuits", circuit_id)
    follows = next(stop.id for stop in circuit.stops if stop.after == first)
    plan, second = add_switch(plan, circuit_id, second_id, follows)
    circuit = get(plan, "circuits", circuit_id)
    stops = tuple(replaced(stop, feeds=2) if stop.id == second else stop for stop in circuit.stops)
    return put(plan, "circuits", replaced(circuit, stops=stops))


def add_intermediate(plan: Plan, circuit_id: str, switch_id: str) -> Plan:
    """Add intermediate switch (four-way in US words) between the two of a two-way circuit: two travellers each side."""
    circuit: Circuit = get(plan, "circuits", circuit_id)
    device: Device = get(plan, "devices", switch_id)
    last = next((stop for stop in reversed(circuit.stops) if stop.feeds == 2), None)
    if last is None:
        refuse(f"Circuit “{circuit.name}” is not switched from two places yet.")
    if device.kind != "switch" or any(stop.device == switch_id for stop in circuit.stops):
        refuse(f"“{device.name}” is no switch, or in circuit “{circuit.name}” already.")
    fresh = made(
        Stop,
        id=fresh_id("", {stop.id for stop in circuit.stops}),
        device=switch_id,
        role="series",
        poles=last.poles,
        after=last.after,
        feeds=2,
    )
    at = circuit.stops.index(last)
    stops = (*circuit.stops[:at], fresh, replaced(last, after=fresh.id), *circuit.stops[at + 1 :])
    return put(plan, "circuits", replaced(circuit, stops=stops))
