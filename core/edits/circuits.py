"""Connect a device as a circuit, add load, add switch, remove stop, and what a circuit is protected and sized by."""

from collections.abc import Sequence
from typing import Any

from core.edits.change import add, changed, free_name, get, made, new_id, put, refuse, replaced
from core.edits.kinds import ASSUMED, use_default_wire, use_kind
from core.files.library import Library
from core.model import (
    ADAPTERS,
    DISTRIBUTION,
    NOMINAL_V,
    SOURCES,
    Circuit,
    Device,
    Plan,
    Protective,
    Role,
    SeparationGroup,
    Stop,
    Way,
    WireKind,
    WireSize,
    find,
    fresh_id,
)
from core.model.circuits import Poles
from core.units import awg_section_mm2

#: Devices that sit in the feed of a circuit when something follows them.
IN_SERIES: frozenset[str] = frozenset({"switch", "fuse", "rcd", "shunt"})
SYSTEM_GROUP: dict[str, SeparationGroup] = {
    "dc12": "dc_power",
    "dc24": "dc_power",
    "dc48": "dc_power",
    "solar": "dc_power",
    "ac230": "mains",
    "ac120": "mains",
    "signal": "signal",
}
#: Fuse family to begin with where the source has no ways: common practice, no source. Names of the table of ratings.
FAMILY_AT = {"battery": "on_post", "bus_bar": "strip_large"}
SYSTEM_WORDS = {
    "dc12": "12 V DC",
    "dc24": "24 V DC",
    "dc48": "48 V DC",
    "ac230": "230 V mains",
    "ac120": "120 V mains",
    "solar": "a solar string",
    "signal": "signals",
}


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
        _check_ends(source, loads)
    group: SeparationGroup = "dc_power" if bond else _group(source, loads)
    plan, wire = use_default_wire(plan, group, library)
    way = None if bond else _way(plan, source, way_id, loads)
    chosen = kind if kind is not None else _kind(source, loads, group)
    conductors, as_cable = _conductors(group, chosen, wire)
    named = name.strip() if name is not None and name.strip() else _name(plan, loads)
    circuit = made(
        Circuit,
        id=new_id(plan, "circuits"),
        name=named,
        kind=chosen,
        group=group,
        stops=_chain(source, way, loads),
        conductors=conductors,
        protective=_protective(source, way, group, chosen),
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
    roles, as_cable = _conductors(circuit.group, circuit.kind, kind)
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


def _check_ends(source: Device, loads: Sequence[Device]) -> None:
    informs = any(_informs(device) for device in (source, *loads))
    if source.kind not in SOURCES and not source.ways and not informs:
        refuse(f"“{source.name}” cannot feed a circuit; start at a fuse block, battery, charger or another source.")
    if not loads:
        refuse(f"A circuit from “{source.name}” needs something to feed.")
    if any(load.id == source.id for load in loads):
        refuse(f"“{source.name}” cannot feed itself.")
    for index, load in enumerate(loads):
        if any(load.id == other.id for other in loads[:index]):
            refuse(f"“{load.name}” is in the circuit twice.")


def _informs(device: Device) -> bool:
    """Whether what comes or goes there is information, so that any device may stand at the other end."""
    return device.kind == "antenna" or device.electrical.system == "signal"


def _group(source: Device, loads: Sequence[Device]) -> SeparationGroup:
    """The one separation group of all loads. Refuses mixed systems, and a source of another system."""
    if any(device.kind == "antenna" for device in (source, *loads)):
        return "antenna"
    # which side of an adapter a circuit is on is said by the device at its other end
    known = [load for load in loads if load.kind not in ADAPTERS]
    systems = {load.electrical.system: load for load in reversed(known)}
    if len(systems) > 1:
        (a, first), (b, other) = list(systems.items())[::-1][:2]
        refuse(
            f"“{first.name}” is on {SYSTEM_WORDS[a]} and “{other.name}” on {SYSTEM_WORDS[b]}; "
            "one circuit cannot feed both."
        )
    wanted, load = next(iter(systems.items()), (None, None))
    if source.electrical.system == "signal" or wanted == "signal":
        return "signal"
    if load is None or wanted is None:  # only devices with a voltage on each side
        if source.kind in ADAPTERS:
            return "mains" if source.kind == "inverter" else "dc_power"
        return SYSTEM_GROUP[source.electrical.system]
    group = SYSTEM_GROUP[wanted]
    if source.kind in ADAPTERS:
        if (source.kind == "inverter") != (group == "mains"):
            gives = "mains" if source.kind == "inverter" else "direct current"
            refuse(f"“{load.name}” needs {SYSTEM_WORDS[wanted]}; “{source.name}” gives {gives}.")
    elif source.electrical.system != wanted:
        gives = SYSTEM_WORDS[source.electrical.system]
        refuse(f"“{load.name}” needs {SYSTEM_WORDS[wanted]}; “{source.name}” gives {gives}.")
    return group


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
    wanted_a = sum(_rough_a(load) for load in loads)
    return next((each for each in free if each.largest_a >= wanted_a), free[0])


def _rough_a(load: Device) -> float:
    """Enough to choose a way by; the analysis knows better."""
    data = load.electrical
    if data.current_a is not None:
        return data.current_a
    return (data.power_w or 0.0) / NOMINAL_V.get(data.system, 12.0)


def _kind(source: Device, loads: Sequence[Device], group: SeparationGroup) -> str:
    if group in ("signal", "antenna"):
        return group
    if source.kind == "solar":
        return "solar_string"
    last = loads[-1]
    if last.kind in DISTRIBUTION:
        return "feeder"
    if "battery" in (source.kind, last.kind):
        return "battery_lead"
    return "branch"


def _conductors(group: SeparationGroup, kind: str, wire: WireKind) -> tuple[tuple[Role, ...], bool]:
    """Roles of the conductors of a leg, and whether they are the cores of one cable."""
    if kind == "bond":
        return ("bond",), False
    if group == "mains":
        return ("line", "neutral", "protective_earth"), True
    if group == "antenna":
        return ("antenna",), False
    if group == "signal":
        data: Role = "data"
        return ((data,) * wire.cores, True) if wire.cores > 1 else ((data, "return"), False)
    return ("feed", "return"), wire.cores > 1


def _protective(source: Device, way: Way | None, group: SeparationGroup, kind: str) -> Protective:
    if kind == "bond":
        return Protective(kind="none", reason="A bond carries no current in use.")
    if kind == "solar_string":
        return Protective(kind="none", reason="The string itself limits its current; see the panel's data.")
    if kind == "spare" or group in ("signal", "antenna"):
        return Protective(kind="none", reason="Carries information, not power." if kind != "spare" else "Not in use.")
    held_by = source.id if source.kind == "fuse" else None
    if group == "mains":
        made_for = "breaker" if source.electrical.system == "ac120" else "breaker_iec"
        return made(Protective, kind="circuit_breaker", family=way.fuse_family if way else made_for, device=held_by)
    family = way.fuse_family if way is not None else FAMILY_AT.get(source.kind, "blade")
    return made(Protective, family=family, device=held_by)


def _name(plan: Plan, loads: Sequence[Device]) -> str:
    """After what is fed; switches and fuses on the way give no name."""
    fed = [load for load in loads if load.kind not in IN_SERIES] or [loads[-1]]
    wanted = fed[0].name if len(fed) == 1 else f"{fed[0].name} and {len(fed) - 1} more"
    return free_name(wanted, (circuit.name for circuit in plan.circuits))


def _chain(source: Device, way: Way | None, loads: Sequence[Device]) -> tuple[Stop, ...]:
    stops = [made(Stop, id="0", device=source.id, way=way.id if way else None, role="source")]
    for number, load in enumerate(loads, start=1):
        series = load.kind in IN_SERIES and number < len(loads)
        stops.append(
            made(
                Stop,
                id=str(number),
                device=load.id,
                role="series" if series else "load",
                poles=_poles(load) if series else "feed",
                after=stops[-1].id,
            )
        )
    return tuple(stops)


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
    group = _group(source, [*loads, device])
    if group != circuit.group:
        refuse(f"“{device.name}” does not belong on circuit “{circuit.name}”: another kind of wire feeds it.")


def _poles(device: Device) -> Poles:
    """Which conductors pass a part in series: an RCD all, a shunt the return, anything else the feed."""
    match device.kind:
        case "rcd":
            return "all"
        case "shunt":
            return "return"
        case _:
            return "feed"


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
    passed = poles or ("all" if circuit.group == "mains" else _poles(device))
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
    _check_ends(source, loads)
    _group(source, [load for load in loads if load.kind not in IN_SERIES])
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
