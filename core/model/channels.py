"""Where wires may lie: nodes, channels, and what is fixed to channels."""

from typing import Annotated, Literal

from msgspec import Meta

from core.model.body import Known, OpenState, Outline, Point
from core.model.ids import (
    ChannelId,
    CircuitId,
    ConduitKindId,
    Id,
    MovingJointId,
    Name,
    NodeId,
    Note,
    PenetrationId,
    RibId,
    SurfaceId,
    WrapStyleId,
)
from core.model.record import Record

SeparationGroup = Literal["mains", "dc_power", "signal", "antenna"]
GROUPS: tuple[SeparationGroup, ...] = ("mains", "dc_power", "signal", "antenna")
WireState = Literal["planned", "pulled", "locked"]


class OnSurface(Record, frozen=True, kw_only=True, tag_field="place", tag="surface"):
    surface: SurfaceId
    at_mm: Point


class OnLine(Record, frozen=True, kw_only=True, tag_field="place", tag="line"):
    """`at_mm` along the edge of `surface` that starts at corner `edge`; lies on every surface that meets there."""

    surface: SurfaceId
    edge: Id
    at_mm: Annotated[float, Meta(ge=0)]


class InPenetration(Record, frozen=True, kw_only=True, tag_field="place", tag="penetration"):
    penetration: PenetrationId


Place = OnSurface | OnLine | InPenetration


class Node(Record, frozen=True, kw_only=True):
    """A point where channels meet."""

    id: Id
    name: Name = ""
    place: Place


class Bore(Record, frozen=True, kw_only=True):
    """Inside of a channel: a circle (`width_mm` only) or a rectangle."""

    width_mm: Annotated[float, Meta(gt=0)]
    height_mm: Annotated[float, Meta(gt=0)] | None = None


ChannelKind = Literal[
    "open",
    "behind_panel",
    "closed_conduit",
    "split_conduit",
    "trunking",
    "void",
    "furniture",
    "underfloor",
    "exterior",
    "engine_bay",
]


Lay = Literal["by_hand", "combed", "loose"]


class InnerConduit(Record, frozen=True, kw_only=True):
    """A conduit that lies in the bundle beside its wires: round the wires of some circuits, or empty for later ones."""

    conduit: ConduitKindId
    circuits: tuple[CircuitId, ...] = ()
    draw_string: bool = False


class Channel(Record, frozen=True, kw_only=True):
    """A path between two nodes along one surface, or a measured one (`measured_mm`, surface None)."""

    id: Id
    name: Name = ""
    start: NodeId
    end: NodeId
    surface: SurfaceId | None = None
    via_mm: Outline = ()
    #: Inside radius asked for at every via point; 0 is not said: as large as the drawn legs let it be.
    bend_mm: Annotated[float, Meta(ge=0)] = 0.0
    #: Length typed from the tape; wins over the drawn length.
    measured_mm: Annotated[float, Meta(ge=0)] | None = None
    known: Known = "measured"
    kind: ChannelKind = "open"
    bore: Bore | None = None
    conduit: ConduitKindId | None = None
    groups: tuple[SeparationGroup, ...] = ("dc_power", "signal", "antenna")
    state: OpenState = "open"
    ambient_c: Annotated[float, Meta(ge=-60, le=250)] | None = None
    #: Stretch of the channel wholly surrounded by heat insulation.
    covered_mm: Annotated[float, Meta(ge=0)] = 0.0
    visible: bool = False
    moving: bool = False
    joint: MovingJointId | None = None
    spare_duct: bool = False
    draw_string: bool = False
    #: Depth below the panel face; None is unknown.
    depth_mm: Annotated[float, Meta(ge=0)] | None = None
    runs_inside: RibId | None = None
    wires: WireState = "planned"
    wrap: WrapStyleId | None = None
    #: How the wires are laid side by side; the plan's assumptions have a factor for each.
    lay: Lay = "by_hand"
    #: Conduits in the bundle, each a round thing of its own diameter.
    inner: tuple[InnerConduit, ...] = ()
    #: Diameter of the bundle as it was measured. It tells the hand of who made it: the factor of its lay follows.
    measured_diameter_mm: Annotated[float, Meta(gt=0)] | None = None
    note: Note = ""


FixingKindName = Literal[
    "tie_mount", "p_clip", "saddle", "edge_clip", "fir_tree_clip", "bonded_mount", "clip", "cable_tie", "bracket",
    "screw", "adhesive",
]  # fmt: skip


class SecuringPoint(Record, frozen=True, kw_only=True):
    """A securing point placed by the user, `at_mm` from the start of its channel."""

    id: Id
    channel: ChannelId
    at_mm: Annotated[float, Meta(ge=0)]
    kind: FixingKindName = "tie_mount"


Protection = Literal["none", "grommet", "edge_trim", "split_conduit", "bushing", "gland", "cable_entry_box"]


class PassThrough(Record, frozen=True, kw_only=True):
    """A hole, edge or gland passed by a channel, `at_mm` from its start, with its protection."""

    id: Id
    channel: ChannelId
    at_mm: Annotated[float, Meta(ge=0)]
    kind: Literal["hole", "edge", "gland"] = "hole"
    hole_mm: Annotated[float, Meta(ge=0)] | None = None
    protection: Protection = "none"
