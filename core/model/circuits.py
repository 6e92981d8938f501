"""Circuits: an ordered tree from a source through series parts and taps to loads."""

from typing import Annotated, Literal

from msgspec import Meta

from core.model.channels import SeparationGroup
from core.model.devices import Role
from core.model.ids import DeviceId, Id, Name, NodeId, Note, WireKindId
from core.model.record import Record

CircuitKind = Literal["branch", "feeder", "battery_lead", "link", "bond", "solar_string", "signal", "antenna", "spare"]


Poles = Literal["feed", "return", "all"]


class Stop(Record, frozen=True, kw_only=True):
    """One place a circuit comes to. The first stop is the source; every other one follows an earlier stop.

    The leg of a stop is the stretch of conductors from `after` to it. A "series" stop is passed by some conductors
    only: `poles` "feed" by the feed (a switch, an in-line fuse), "return" by the return (a shunt), "all" by every one
    (an RCD, a double-pole switch).
    """

    id: Id
    device: DeviceId
    port: Id | None = None
    way: Id | None = None
    role: Literal["source", "series", "tap", "load"] = "load"
    poles: Poles = "feed"
    after: Id | None = None
    #: Feed conductors of the leg: two travellers between two-way switches, of which one carries at a time.
    feeds: Annotated[int, Meta(ge=1, le=4)] = 1
    #: Nodes the leg has to pass, in this order.
    waypoints: tuple[NodeId, ...] = ()


class ReturnPath(Record, frozen=True, kw_only=True):
    """How current comes back: a return wire (to `device`, or to the source itself), or the chassis."""

    kind: Literal["wire", "chassis", "none"] = "wire"
    device: DeviceId | None = None


class Protective(Record, frozen=True, kw_only=True):
    """The protective device of a circuit: automatic or fixed rating, or none with a reason."""

    kind: Literal["fuse", "circuit_breaker", "none"] = "fuse"
    family: Name = "blade_regular"
    rating_a: Annotated[float, Meta(gt=0)] | None = None
    #: Where it sits: the device that holds it, None is the source's way.
    device: DeviceId | None = None
    #: Distance along the wire from the source, None is at the source.
    distance_mm: Annotated[float, Meta(ge=0)] | None = None
    reason: Note = ""


class Circuit(Record, frozen=True, kw_only=True):
    id: Id
    name: Name
    kind: CircuitKind = "branch"
    group: SeparationGroup = "dc_power"
    stops: Annotated[tuple[Stop, ...], Meta(min_length=1)]
    conductors: tuple[Role, ...] = ("feed", "return")
    return_path: ReturnPath = ReturnPath()
    #: Feed and return lie in the same channels unless told.
    return_apart: bool = False
    protective: Protective = Protective()
    wire_kind: WireKindId | None = None
    #: All conductors of a leg are the cores of one cable of `wire_kind`.
    as_cable: bool = False
    section_mm2: Annotated[float, Meta(gt=0)] | None = None
    smallest_section_mm2: Annotated[float, Meta(gt=0)] | None = None
    parallel: Annotated[int, Meta(ge=1, le=8)] = 1
    drop_percent: Annotated[float, Meta(gt=0)] | None = None
    #: Current that flows where no load says it (spare wires, links, sources).
    current_a: float | None = None
    #: A circuit connected before the main switch.
    always_live: bool = False
    colour: Name = ""
    note: Note = ""
