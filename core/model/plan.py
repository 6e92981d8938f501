"""The plan: one immutable value that holds everything. Undo is a list of earlier plans."""

from collections.abc import Iterator
from typing import Annotated, Any, Literal

from msgspec import Meta

from core.model.body import (
    Box,
    Dimension,
    Image,
    KeepOutZone,
    MetalEdge,
    MovingJoint,
    MovingPart,
    Opening,
    Panel,
    Penetration,
    Picture,
    Point,
    Rib,
    Seam,
    Surface,
)
from core.model.catalogue import ConduitKind, FixingKind, GrommetKind, TapeKind, WireKind, WrapStyle
from core.model.channels import Channel, Node, PassThrough, SecuringPoint
from core.model.circuits import Circuit
from core.model.devices import Cable, Connector, Device, EarthPoint, Splice
from core.model.ids import (
    ChannelId,
    CircuitId,
    DeviceId,
    Id,
    ImageId,
    Name,
    Note,
    PanelId,
    SurfaceId,
    WireKindId,
    WrapStyleId,
)
from core.model.profile import ProfileUse
from core.model.record import Record

#: Number of the file format this program writes. Raise it with a step in `core.files.migrate`.
FORMAT: Literal[1] = 1


class Assumptions(Record, frozen=True, kw_only=True):
    """What holds where nothing else is said. Temperatures in C, lengths in mm."""

    ambient_c: Annotated[float, Meta(ge=-60, le=150)] = 30.0
    #: Roof and wall voids in the sun.
    void_ambient_c: Annotated[float, Meta(ge=-60, le=150)] = 60.0
    #: Temperature of the copper for which drop is counted.
    conductor_c: Annotated[float, Meta(ge=-60, le=250)] = 60.0
    wire_kind: WireKindId | None = None
    mains_kind: WireKindId | None = None
    signal_kind: WireKindId | None = None
    antenna_kind: WireKindId | None = None
    wrap: WrapStyleId | None = None
    #: How much thicker than packed tight a bundle lies: by hand, combed straight, loose (common practice, no source).
    lay_factor: Annotated[float, Meta(ge=1, le=2)] = 1.1
    combed_factor: Annotated[float, Meta(ge=1, le=2)] = 1.05
    loose_factor: Annotated[float, Meta(ge=1, le=2)] = 1.25
    end_allowance_mm: Annotated[float, Meta(ge=0)] = 150.0
    #: End at a fuse block, panelboard or bus bar, where wires are dressed to their ways.
    panel_allowance_mm: Annotated[float, Meta(ge=0)] = 300.0
    service_loop_mm: Annotated[float, Meta(ge=0)] = 50.0
    #: Wherever a wire comes in from outside. None in a plan that does not say; new plans say it.
    drip_loop_mm: Annotated[float, Meta(ge=0)] = 0.0
    tolerance_percent: Annotated[float, Meta(ge=0, le=50)] = 3.0
    #: The measuring tolerance is never less than this.
    tolerance_least_mm: Annotated[float, Meta(ge=0)] = 100.0
    #: Cut lengths are rounded up to a multiple of this; 0 is not rounded. What that adds is an allowance.
    round_up_mm: Annotated[float, Meta(ge=0)] = 10.0
    kerf_mm: Annotated[float, Meta(ge=0)] = 5.0
    tape_reserve_percent: Annotated[float, Meta(ge=0)] = 10.0
    #: Conduit, sleeve and edge trim bought beyond what is used.
    waste_percent: Annotated[float, Meta(ge=0)] = 5.0
    #: Small parts (ties, terminals, grommets, fuses) bought beyond what is used, rounded up to whole parts.
    spares_percent: Annotated[float, Meta(ge=0)] = 10.0
    #: The shop's own rate, for wrapping a metre of bundle closely.
    wrap_minutes_per_m: Annotated[float, Meta(ge=0)] = 4.0
    #: The shop's own rate, for cutting, labelling and pulling; the kits of a day follow it.
    pieces_per_day: Annotated[float, Meta(ge=1, le=1000)] = 30.0
    #: Who sells what nobody else is named for.
    supplier: Name = ""


class Vehicle(Record, frozen=True, kw_only=True):
    """Words about the vehicle for the papers; its shape is the surfaces."""

    description: Name = ""
    driver_side: Literal["left", "right"] = "right"
    note: Note = ""


class Customer(Record, frozen=True, kw_only=True):
    name: Name = ""
    reference: Name = ""
    note: Note = ""


class Waiver(Record, frozen=True, kw_only=True):
    """A finding set aside: its code and subjects, with a typed reason."""

    id: Id
    code: Id
    subjects: tuple[Id, ...] = ()
    reason: Note
    by: Name = ""
    on: str = ""


class AsPulled(Record, frozen=True, kw_only=True):
    """What was really pulled for a wire: `wire` is the derived id; the route it took is frozen here."""

    id: Id
    wire: Id
    channels: tuple[ChannelId, ...] = ()
    section_mm2: float | None = None
    #: As used, from lug to lug: what was cut off at the ends does not count.
    length_mm: Annotated[float, Meta(ge=0)] | None = None
    spare: bool = False
    on: str = ""
    by: Name = ""
    note: Note = ""


class TestResult(Record, frozen=True, kw_only=True):
    __test__ = False  # not a test case

    id: Id
    circuit: CircuitId
    kind: Literal["continuity", "polarity", "voltage", "insulation"]
    device: DeviceId | None = None
    value: float | None = None
    unit: str = ""
    passed: bool
    on: str = ""
    by: Name = ""
    note: Note = ""


class Photo(Record, frozen=True, kw_only=True):
    """A photo of the work: of the wall behind a panel, and pinned to `at_mm` of a surface where it has one."""

    id: Id
    image: ImageId
    panel: PanelId | None = None
    surface: SurfaceId | None = None
    at_mm: Point = (0.0, 0.0)
    caption: Note = ""
    taken_on: str = ""


class Supply(Record, frozen=True, kw_only=True):
    """Who sells an item of the shopping list, by the item's words there, in what packs and at what price; wins over
    what its kind says."""

    id: Id
    item: Name
    supplier: Name
    order_number: Name = ""
    #: How much is sold together, in the item's unit.
    pack: Annotated[int, Meta(ge=1)] | None = None
    #: For one of its unit, in the money of the plan.
    price: Annotated[float, Meta(ge=0)] | None = None


class StockSpool(Record, frozen=True, kw_only=True):
    """Wire on the shelf: kind, size, what is left on it."""

    id: Id
    kind: WireKindId
    section_mm2: Annotated[float, Meta(gt=0)]
    colour: Name = ""
    left_mm: Annotated[float, Meta(ge=0)]


class Revision(Record, frozen=True, kw_only=True):
    id: Id
    letter: Name
    on: str = ""
    note: Note = ""


class Variant(Record, frozen=True, kw_only=True):
    """Another plan kept inside the file under a name. A variant holds no variants."""

    id: Id
    name: Name
    plan: "Plan"


class Plan(Record, frozen=True, kw_only=True, weakref=True):
    format: Literal[1]
    id: Id
    name: Name
    note: Note = ""
    build_for: Literal["self", "customer"] = "self"
    customer: Customer = Customer()
    vehicle: Vehicle = Vehicle()
    profile: ProfileUse
    assumptions: Assumptions = Assumptions()
    surfaces: tuple[Surface, ...] = ()
    seams: tuple[Seam, ...] = ()
    boxes: tuple[Box, ...] = ()
    ribs: tuple[Rib, ...] = ()
    openings: tuple[Opening, ...] = ()
    metal_edges: tuple[MetalEdge, ...] = ()
    zones: tuple[KeepOutZone, ...] = ()
    panels: tuple[Panel, ...] = ()
    images: tuple[Image, ...] = ()
    pictures: tuple[Picture, ...] = ()
    dimensions: tuple[Dimension, ...] = ()
    penetrations: tuple[Penetration, ...] = ()
    moving_parts: tuple[MovingPart, ...] = ()
    moving_joints: tuple[MovingJoint, ...] = ()
    nodes: tuple[Node, ...] = ()
    channels: tuple[Channel, ...] = ()
    securing_points: tuple[SecuringPoint, ...] = ()
    pass_throughs: tuple[PassThrough, ...] = ()
    devices: tuple[Device, ...] = ()
    splices: tuple[Splice, ...] = ()
    connectors: tuple[Connector, ...] = ()
    earth_points: tuple[EarthPoint, ...] = ()
    cables: tuple[Cable, ...] = ()
    circuits: tuple[Circuit, ...] = ()
    wire_kinds: tuple[WireKind, ...] = ()
    tape_kinds: tuple[TapeKind, ...] = ()
    conduit_kinds: tuple[ConduitKind, ...] = ()
    grommet_kinds: tuple[GrommetKind, ...] = ()
    fixing_kinds: tuple[FixingKind, ...] = ()
    wrap_styles: tuple[WrapStyle, ...] = ()
    waivers: tuple[Waiver, ...] = ()
    as_pulled: tuple[AsPulled, ...] = ()
    test_results: tuple[TestResult, ...] = ()
    photos: tuple[Photo, ...] = ()
    spools: tuple[StockSpool, ...] = ()
    supplies: tuple[Supply, ...] = ()
    revisions: tuple[Revision, ...] = ()
    variants: tuple[Variant, ...] = ()


#: Names of the plan's collections: fields that hold records with ids.
COLLECTIONS: tuple[str, ...] = (
    "surfaces",
    "seams",
    "boxes",
    "ribs",
    "openings",
    "metal_edges",
    "zones",
    "panels",
    "images",
    "pictures",
    "dimensions",
    "penetrations",
    "moving_parts",
    "moving_joints",
    "nodes",
    "channels",
    "securing_points",
    "pass_throughs",
    "devices",
    "splices",
    "connectors",
    "earth_points",
    "cables",
    "circuits",
    "wire_kinds",
    "tape_kinds",
    "conduit_kinds",
    "grommet_kinds",
    "fixing_kinds",
    "wrap_styles",
    "waivers",
    "as_pulled",
    "test_results",
    "photos",
    "spools",
    "supplies",
    "revisions",
    "variants",
)


def records(plan: Plan) -> Iterator[tuple[str, Any]]:
    """Every record of the plan that has an id, with the name of its collection, in file order."""
    for collection in COLLECTIONS:
        for record in getattr(plan, collection):
            yield collection, record


def ids(plan: Plan) -> set[str]:
    """Every id of the plan, corners of surfaces not included (they are unique in their surface only)."""
    return {record.id for _, record in records(plan)}


def find(plan: Plan, collection: str, record_id: str) -> Any:
    """The record of that id in one collection. Raises KeyError naming both."""
    for record in getattr(plan, collection):
        if record.id == record_id:
            return record
    raise KeyError(f"{collection} has no {record_id}")
