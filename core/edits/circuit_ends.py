"""What a circuit is by the devices at its ends: its group, kind, conductors, stops and protective device."""

from collections.abc import Sequence

from core.edits.change import made, refuse
from core.model import (
    ADAPTERS,
    DISTRIBUTION,
    NOMINAL_V,
    SOURCES,
    Device,
    Protective,
    Role,
    SeparationGroup,
    Stop,
    Way,
    WireKind,
)
from core.model.circuits import Poles

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
USUAL_FAMILY = "blade_regular"
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


def check_ends(source: Device, loads: Sequence[Device]) -> None:
    """Refuses a source that feeds nothing, a device that is fed twice or by itself, and a circuit without a load."""
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


def group_of(source: Device, loads: Sequence[Device]) -> SeparationGroup:
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


def rough_a(load: Device) -> float:
    """Enough to choose a way by; the analysis knows better."""
    data = load.electrical
    if data.current_a is not None:
        return data.current_a
    return (data.power_w or 0.0) / NOMINAL_V.get(data.system, 12.0)


def kind_of(source: Device, loads: Sequence[Device], group: SeparationGroup) -> str:
    """Kind of a new circuit: a feeder to a distribution point, a battery lead from or to a battery, else a branch."""
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


def conductors_of(group: SeparationGroup, kind: str, wire: WireKind) -> tuple[tuple[Role, ...], bool]:
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


def protective_of(source: Device, way: Way | None, group: SeparationGroup, kind: str) -> Protective:
    """What protects a new circuit: a fuse of the family its way or source takes, a breaker on mains, else why none."""
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
    family = way.fuse_family if way is not None else FAMILY_AT.get(source.kind, USUAL_FAMILY)
    return made(Protective, family=family, device=held_by)


def chain_of(source: Device, way: Way | None, loads: Sequence[Device]) -> tuple[Stop, ...]:
    """Source and loads as stops, one behind the other; what is not last and can switch or break lies in series."""
    stops = [made(Stop, id="0", device=source.id, way=way.id if way else None, role="source")]
    for number, load in enumerate(loads, start=1):
        series = load.kind in IN_SERIES and number < len(loads)
        stops.append(
            made(
                Stop,
                id=str(number),
                device=load.id,
                role="series" if series else "load",
                poles=poles_of(load) if series else "feed",
                after=stops[-1].id,
            )
        )
    return tuple(stops)


def poles_of(device: Device) -> Poles:
    """Which conductors pass a part in series: an RCD all, a shunt the return, anything else the feed."""
    match device.kind:
        case "rcd":
            return "all"
        case "shunt":
            return "return"
        case _:
            return "feed"
