"""Connect a device as a circuit, add load, add switch, remove stop, and what a circuit is protected and sized by."""

from collections.abc import Sequence
from typing import Any

from core.edits.change import add, changed, free_name, get, made, new_id, put, refuse, replaced
from core.edits.circuit_ends import (
    IN_SERIES,
    chain_of,
    check_ends,
    conductors_of,
    group_of,
    kind_of,
    poles_of,
    protective_of,
    rough_a,
)
from core.edits.kinds import ASSUMED, use_default_wire, use_kind
from core.files.library import Library
from core.model import Circuit, Device, Plan, SeparationGroup, Stop, Way, WireSize, find, fresh_id
from core.model.circuits import Poles
from core.units import awg_section_mm2


def connect(
    plan: Plan,
    source_id: str,
    way_id: str | None,
    load_ids: Sequence[str],
    name: str | None = None,
    kind: str | None = None,
    library: Library | None = None,
) -> tuple[Plan, str]:
    """Connect: a circuit from a source through its loads, in this order (a daisy chain where there are several).

    Without `way_id` the first free way of the source is taken that can carry the loads. Group, conductors and wire
    kind follow from the system of the loads; the kind of circuit is a feeder to a distribution point, a battery lead
    from or to a battery, else a branch. A switch, fuse, RCD or shunt that is not last lies in series.
    """
    source: Device = get(plan, "devices", source_id)
    loads: list[Device] = [get(plan, "devices", each) for each in load_ids]
    bond = kind == "bond"  # joins metal, feeds nothing: any two devices, no way
    if bond and len(loads) == 0:
        refuse(f"A bond from “{source.name}” needs another end.")
    if not bond:
        check_ends(source, loads)
    group: SeparationGroup = "dc_power" if bond else group_of(source, loads)
    plan, wire = use_default_wire(plan, group, library)
    way = None if bond else _way(plan, source, way_id, loads)
    chosen = kind if kind is not None else kind_of(source, loads, group)
    conductors, as_cable = conductors_of(group, chosen, wire)
    named = name.strip() if name is not None and name.strip() else _name(plan, loads)
    circuit = made(
        Circuit,
        id=new_id(plan, "circuits"),
        name=named,
        kind=chosen,
        group=group,
        stops=chain_of(source, way, loads),
        conductors=conductors,
        protective=protective_of(source, way, group, chosen),
        as_cable=as_cable,
    )
    if library is not None and (group in ("signal", "antenna") or chosen == "solar_string"):
        plan, circuit = _with_usual_wire(plan, circuit, (source, *loads), library)
    return add(plan, "circuits", circuit), circuit.id


def _with_usual_wire(plan: Plan, circuit: Circuit, ends: Sequence[Device], library: Library) -> tuple[Plan, Circuit]:
    """The circuit with the kind of wire the catalogue names for one of its devices. Only where the device decides it
    (coax, data, solar cable): power goes by what the plan assumes."""
    wanted = [
        kind for device in ends for row in library.devices if row.id == device.made_from for kind in row.wire_kinds
    ]
    kinds = {kind.id: kind for kind in (*library.wire_kinds, *plan.wire_kinds)}
    kind = next((kinds[each] for each in wanted if each in kinds and kinds[each].group == circuit.group), None)
    if kind is None or kind.id == getattr(plan.assumptions, ASSUMED[circuit.group]):
        return plan, circuit
    roles, as_cable = conductors_of(circuit.group, circuit.kind, kind)
    changed_to = replaced(circuit, wire_kind=kind.id, conductors=roles, as_cable=as_cable)
    return use_kind(plan, kind), changed_to


def free_ways(plan: Plan, source_id: str) -> tuple[Way, ...]:
    """The ways of a distribution point that feed no circuit yet, in its order."""
    source: Device = get(plan, "devices", source_id)
    used = _used_ways(plan, source_id)
    return tuple(way for way in source.ways if way.id not in used)


def _used_ways(plan: Plan, source_id: str) -> dict[str, Circuit]:
    return {
        circuit.stops[0].way: circuit
        for circuit in plan.circuits
        if circuit.stops and circuit.stops[0].device == source_id and circuit.stops[0].way is not None
    }


def _way(plan: Plan, source: Device, way_id: str | None, loads: Sequence[Device]) -> Way | None:
    used = _used_ways(plan, source.id)
    if way_id is not None:
        way = next((each for each in source.ways if each.id == way_id), None)
        if way is None:
            refuse(f"“{source.name}” has no way {way_id}.")
        if way_id in used:
            refuse(f"Way {way.name or way.id} of “{source.name}” feeds “{used[way_id].name}” already.")
        return way
    if not source.ways:
        return None
    free = [each for each in source.ways if each.id not in used]
    if not free:
        refuse(f"“{source.name}” has no free way: all {len(source.ways)} are in use.")
    wanted_a = sum(rough_a(load) for load in loads)
    return next((each for each in free if each.largest_a >= wanted_a), free[0])


def _name(plan: Plan, loads: Sequence[Device]) -> str:
    """After what is fed; switches and fuses on the way give no name."""
    fed = [load for load in loads if load.kind not in IN_SERIES] or [loads[-1]]
    wanted = fed[0].name if len(fed) == 1 else f"{fed[0].name} and {len(fed) - 1} more"
    return free_name(wanted, (circuit.name for circuit in plan.circuits))


# --- a circuit that is there -------------------------------------------------------------------------------------


def _stop(circuit: Circuit, stop_id: str) -> Stop:
    found = next((stop for stop in circuit.stops if stop.id == stop_id), None)
    if found is None:
        refuse(f"Circuit “{circuit.name}” has no stop {stop_id}.")
    return found


def _fresh_stop(circuit: Circuit) -> str:
    return fresh_id("", {stop.id for stop in circuit.stops})


def add_load(
    plan: Plan, circuit_id: str, device_id: str, after_stop: str | None = None, role: str = "load"
) -> tuple[Plan, str]:
    """Add load to a circuit after one of its stops, by default after the last. Gives the id of the new stop."""
    circuit: Circuit = get(plan, "circuits", circuit_id)
    device: Device = get(plan, "devices", device_id)
    after = _stop(circuit, after_stop) if after_stop is not None else circuit.stops[-1]
    _check_fits(plan, circuit, device)
    stop = made(Stop, id=_fresh_stop(circuit), device=device_id, role=role, after=after.id)
    return put(plan, "circuits", replaced(circuit, stops=(*circuit.stops, stop))), stop.id


def _check_fits(plan: Plan, circuit: Circuit, device: Device) -> None:
    if any(stop.device == device.id for stop in circuit.stops):
        refuse(f"“{device.name}” is in circuit “{circuit.name}” already.")
    source: Device = find(plan, "devices", circuit.stops[0].device)
    loads = [find(plan, "devices", stop.device) for stop in circuit.stops[1:] if stop.role == "load"]
    group = group_of(source, [*loads, device])
    if group != circuit.group:
        refuse(f"“{device.name}” does not belong on circuit “{circuit.name}”: another kind of wire feeds it.")


def add_switch(
    plan: Plan, circuit_id: str, device_id: str, before_stop: str | None = None, poles: Poles | None = None
) -> tuple[Plan, str]:
    """Add switch (or in-line fuse, shunt, RCD) in series before a stop, by default before the first load.

    `poles` None: an RCD, and any switch on mains, is passed by every conductor, a shunt by the return; else the feed.
    """
    circuit: Circuit = get(plan, "circuits", circuit_id)
    device: Device = get(plan, "devices", device_id)
    if any(stop.device == device_id for stop in circuit.stops):
        refuse(f"“{device.name}” is in circuit “{circuit.name}” already.")
    if len(circuit.stops) < 2:
        refuse(f"Circuit “{circuit.name}” feeds nothing that could be switched.")
    before = _stop(circuit, before_stop) if before_stop is not None else circuit.stops[1]
    if before.role == "source":
        refuse(f"Nothing can lie before the source of circuit “{circuit.name}”.")
    passed = poles or ("all" if circuit.group == "mains" else poles_of(device))
    fresh = made(Stop, id=_fresh_stop(circuit), device=device_id, role="series", poles=passed, after=before.after)
    index = circuit.stops.index(before)
    stops = (*circuit.stops[:index], fresh, replaced(before, after=fresh.id), *circuit.stops[index + 1 :])
    return put(plan, "circuits", replaced(circuit, stops=stops)), fresh.id


def remove_stop(plan: Plan, circuit_id: str, stop_id: str) -> Plan:
    """Remove stop: what followed it follows what it followed."""
    circuit: Circuit = get(plan, "circuits", circuit_id)
    stop = _stop(circuit, stop_id)
    if stop.role == "source":
        refuse(f"Circuit “{circuit.name}” cannot lose its source; delete the circuit instead.")
    rest = without_stops(circuit, {stop_id})
    if rest is None:
        refuse(f"Circuit “{circuit.name}” would feed nothing; delete the circuit instead.")
    return put(plan, "circuits", rest)


def without_stops(circuit: Circuit, gone: set[str]) -> Circuit | None:
    """The circuit without these stops, the chain closed over them; None when no source or nothing fed is left."""
    by_id = {stop.id: stop for stop in circuit.stops}
    kept = []
    for stop in circuit.stops:
        if stop.id in gone:
            continue
        after = stop.after
        while after is not None and after in gone:
            after = by_id[after].after
        kept.append(replaced(stop, after=after))
    if not kept or kept[0].role != "source" or not any(stop.role in ("load", "tap") for stop in kept):
        return None
    return replaced(circuit, stops=tuple(kept))


def set_way(plan: Plan, circuit_id: str, source_id: str, way_id: str | None) -> Plan:
    """Move circuit to another way or another source."""
    circuit: Circuit = get(plan, "circuits", circuit_id)
    source: Device = get(plan, "devices", source_id)
    first = circuit.stops[0]
    if first.device == source_id and first.way == way_id:
        return plan
    loads: list[Device] = [find(plan, "devices", stop.device) for stop in circuit.stops[1:]]
    check_ends(source, loads)
    group_of(source, [load for load in loads if load.kind not in IN_SERIES])
    others = replaced(plan, circuits=tuple(each for each in plan.circuits if each.id != circuit_id))
    way = _way(others, source, way_id, loads)
    moved = replaced(first, device=source_id, way=way.id if way else None, port=None)
    protective = circuit.protective
    if way is not None and protective.kind != "none" and protective.device is None:
        protective = replaced(protective, family=way.fuse_family)
    return put(plan, "circuits", replaced(circuit, stops=(moved, *circuit.stops[1:]), protective=protective))


def set_protective(plan: Plan, circuit_id: str, **changes: Any) -> Plan:
    """Set protective device: kind, family, rating, where it sits. None at all needs a reason."""
    circuit: Circuit = get(plan, "circuits", circuit_id)
    protective = changed(circuit.protective, **changes)
    if protective.kind == "none" and not protective.reason.strip():
        refuse(f"Circuit “{circuit.name}” may go without a fuse or breaker only with a reason.")
    if protective.device is not None:
        get(plan, "devices", protective.device)
    return put(plan, "circuits", replaced(circuit, protective=protective))


def set_section(plan: Plan, circuit_id: str, section_mm2: float | None) -> Plan:
    """Set section of every conductor of a circuit; None sizes it by itself again. Only sizes its wire kind has; a
    section that is a gauge (ASTM B258) takes the size sold under that gauge."""
    circuit: Circuit = get(plan, "circuits", circuit_id)
    if section_mm2 is None:
        return put(plan, "circuits", replaced(circuit, section_mm2=None))
    _, kind = (
        (plan, get(plan, "wire_kinds", circuit.wire_kind))
        if circuit.wire_kind
        else use_default_wire(plan, circuit.group, None)
    )
    sold = next((size.section_mm2 for size in kind.sizes if _is_size(size, section_mm2)), None)
    if sold is None:
        sizes = ", ".join(f"{size.section_mm2:g}" for size in kind.sizes)
        refuse(f"“{kind.name}” is not made with {section_mm2:g} mm²; it comes in {sizes} mm².")
    return put(plan, "circuits", replaced(circuit, section_mm2=float(sold)))


def _is_size(size: WireSize, section_mm2: float) -> bool:
    """Whether a size is meant: by its section, or by the section that ASTM B258 gives its gauge. Wire of a gauge of
    SAE J1127/J1128 holds less copper than that."""
    if abs(size.section_mm2 - section_mm2) <= 1e-6:
        return True
    return size.gauge_awg is not None and abs(awg_section_mm2(size.gauge_awg) - section_mm2) <= 1e-3 * section_mm2
