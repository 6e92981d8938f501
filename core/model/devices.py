"""Devices, their ports and electrical data, and the small parts wires end in."""

from typing import Annotated, Literal, NamedTuple

from msgspec import Meta

from core.model.body import Point
from core.model.channels import Place
from core.model.ids import CableId, CircuitId, Id, Name, NodeId, Note, SurfaceId, WireKindId
from core.model.record import Record

Role = Literal["feed", "return", "switched", "line", "neutral", "protective_earth", "data", "antenna", "bond", "spare"]
System = Literal["dc12", "dc24", "dc48", "ac230", "ac120", "solar", "signal"]
#: Nominal volts of a system; None where the device says its own.
NOMINAL_V: dict[str, float] = {"dc12": 12.0, "dc24": 24.0, "dc48": 48.0, "ac230": 230.0, "ac120": 120.0}

DeviceKind = Literal[
    "light",
    "fan",
    "pump",
    "heater",
    "fridge",
    "socket",
    "usb",
    "charger",
    "converter",
    "inverter",
    "battery",
    "solar",
    "shunt",
    "switch",
    "fuse",
    "fuse_block",
    "panelboard",
    "bus_bar",
    "sensor",
    "antenna",
    "speaker",
    "alarm",
    "shore_inlet",
    "mains_outlet",
    "rcd",
    "appliance",
    "other",
]
#: Devices that one feed enters and several leave.
DISTRIBUTION: frozenset[str] = frozenset({"fuse_block", "panelboard", "bus_bar"})
#: Devices with two sides of different voltage.
ADAPTERS: frozenset[str] = frozenset({"inverter", "charger", "converter"})
#: Devices that can feed a circuit.
SOURCES: frozenset[str] = DISTRIBUTION | {
    "battery",
    "charger",
    "converter",
    "inverter",
    "solar",
    "shore_inlet",
    "rcd",
    "fuse",
    "shunt",
    "switch",
}


class Port(Record, frozen=True, kw_only=True):
    """A place on a device where a conductor ends, relative to the middle of the footprint."""

    id: Id
    name: Name = ""
    role: Role
    at_mm: Point = (0.0, 0.0)
    terminal: Name = ""
    stud_mm: float | None = None
    entry_deg: float | None = None
    end_allowance_mm: Annotated[float, Meta(ge=0)] | None = None
    #: What its maker lets the terminal carry, A.
    largest_a: Annotated[float, Meta(gt=0)] | None = None


class Way(Record, frozen=True, kw_only=True):
    """One protected outlet of a distribution point."""

    id: Id
    name: Name = ""
    largest_a: Annotated[float, Meta(gt=0)]
    fuse_family: Name = "blade_regular"


class CableTableRow(Record, frozen=True, kw_only=True):
    """A row of the maker's cable table: up to this length use at least this section, on this system (None: on any)."""

    up_to_mm: Annotated[float, Meta(gt=0)]
    section_mm2: Annotated[float, Meta(gt=0)]
    fuse_a: Annotated[float, Meta(gt=0)] | None = None
    system: System | None = None


class Electrical(Record, frozen=True, kw_only=True):
    """What a device draws or gives. Give a current, or a power; a power is constant unless `resistive`.

    Numbers that cannot be (a negative current, zero volts) are let in: they count as nothing, and a finding names them.
    """

    #: What it works on; of a charger, converter or inverter: what goes in.
    system: System = "dc12"
    #: Other systems it works on without a change, at the current that gives the same power.
    also: tuple[System, ...] = ()
    #: What a charger, converter or inverter gives.
    output: System | None = None
    current_a: float | None = None
    power_w: float | None = None
    peak_a: float | None = None
    #: Drawn at its input all the time it is on, without a load of its own: an inverter's standby.
    idle_a: float | None = None
    efficiency: float = 1.0
    resistive: bool = False
    duty: float = 1.0
    lowest_v: float | None = None
    heat_w: float = 0.0
    largest_fuse_a: float | None = None
    critical: bool = False
    maker_table: tuple[CableTableRow, ...] = ()
    #: What the lengths of the maker's table are: one-way, or plus and minus together.
    maker_lengths: Literal["one_way", "there_and_back"] = "one_way"
    #: Short-circuit current of a source (battery).
    short_circuit_a: float | None = None
    #: Largest current a source or a distribution point can give.
    rating_a: float | None = None
    typical: bool = False


#: Of the numbers that can be wrong: field, what it is called, unit, whether zero means nothing, the most there is.
_LIMITS: tuple[tuple[str, str, str, bool, float | None], ...] = (
    ("current_a", "running current", "A", False, None),
    ("power_w", "power", "W", False, None),
    ("peak_a", "peak current", "A", False, None),
    ("idle_a", "idle draw", "A", False, None),
    ("lowest_v", "lowest voltage", "V", True, None),
    ("rating_a", "rating", "A", True, None),
    ("efficiency", "efficiency", "times", True, 1.0),
    ("duty", "duty", "times", False, 1.0),
    ("heat_w", "heat", "W", False, None),
    ("largest_fuse_a", "largest fuse", "A", True, None),
    ("short_circuit_a", "short-circuit current", "A", True, None),
)


class Impossible(NamedTuple):
    """A number of a device that cannot be: what it is called, its value, the limit it passes, its unit."""

    words: str
    value: float
    limit: float
    unit: str


def impossible(electrical: Electrical) -> tuple[Impossible, ...]:
    """The numbers that cannot be: below zero, zero where that means nothing, shares above one."""
    found = []
    for field, words, unit, no_zero, most in _LIMITS:
        value = getattr(electrical, field)
        if value is None:
            continue
        if value < 0 or (no_zero and value == 0):
            found.append(Impossible(words, value, 0.0, unit))
        elif most is not None and value > most:
            found.append(Impossible(words, value, most, unit))
    return tuple(found)


class Device(Record, frozen=True, kw_only=True):
    """A device on a surface: middle of its footprint, turn, size and depth; `entry_mm` is relative to the middle."""

    id: Id
    name: Name
    kind: DeviceKind = "other"
    surface: SurfaceId
    at_mm: Point
    turn_deg: float = 0.0
    width_mm: Annotated[float, Meta(gt=0)] = 100.0
    height_mm: Annotated[float, Meta(gt=0)] = 100.0
    depth_mm: Annotated[float, Meta(ge=0)] = 0.0
    entry_mm: Point = (0.0, 0.0)
    node: NodeId | None = None
    #: Wire between node and entry, typed; None is the straight line along the surface.
    fall_mm: Annotated[float, Meta(ge=0)] | None = None
    end_allowance_mm: Annotated[float, Meta(ge=0)] | None = None
    clearance_mm: Annotated[float, Meta(ge=0)] = 0.0
    #: Weather reaches it: its wires come in with a drip loop.
    outdoors: bool = False
    electrical: Electrical = Electrical()
    ports: tuple[Port, ...] = ()
    ways: tuple[Way, ...] = ()
    #: Id of the device of the catalogue it was made from, for advice and wire; what it is now is said above.
    made_from: Name = ""
    note: Note = ""


class Splice(Record, frozen=True, kw_only=True):
    id: Id
    name: Name = ""
    place: Place
    access: Note = ""


class Connector(Record, frozen=True, kw_only=True):
    id: Id
    name: Name = ""
    place: Place
    poles: Annotated[int, Meta(ge=1)] = 2
    width_mm: float | None = None
    access: Note = ""


class EarthPoint(Record, frozen=True, kw_only=True):
    """A place on the body where bonds are bolted."""

    id: Id
    name: Name = ""
    surface: SurfaceId
    at_mm: Point
    node: NodeId | None = None
    access: Note = ""


class Core(Record, frozen=True, kw_only=True):
    """One core of a cable and the circuit and role it serves; no circuit is a spare core."""

    colour: Name
    circuit: CircuitId | None = None
    role: Role = "spare"


class Cable(Record, frozen=True, kw_only=True):
    """Several cores in one sheath, cut as one piece."""

    id: Id
    name: Name = ""
    kind: WireKindId
    cores: tuple[Core, ...] = ()


__all__ = [
    "ADAPTERS",
    "DISTRIBUTION",
    "NOMINAL_V",
    "SOURCES",
    "Cable",
    "CableId",
    "CableTableRow",
    "Connector",
    "Core",
    "Device",
    "DeviceKind",
    "EarthPoint",
    "Electrical",
    "Port",
    "Role",
    "Splice",
    "System",
    "Way",
]
