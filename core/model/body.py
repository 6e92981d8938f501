"""The vehicle body: surfaces, folds, seams and what lies on them.

A surface is a flat simple polygon in its own millimetres, counter-clockwise as seen by somebody standing on the
room side, y up. Points are ``(x_mm, y_mm)`` in those coordinates.
"""

from typing import Annotated, Literal

from msgspec import Meta

from core.model.ids import BoxId, DrawnId, Id, ImageId, MovingJointId, MovingPartId, Name, Note, SurfaceId
from core.model.record import Record

Point = tuple[float, float]
Outline = tuple[Point, ...]

Material = Literal["steel", "aluminium", "plywood", "timber", "composite", "plastic", "glass", "insulation", "other"]
#: Materials whose cut edges rub through insulation.
METALS: frozenset[str] = frozenset({"steel", "aluminium"})
Known = Literal["measured", "assumed"]
Passage = Literal["free", "moving_joint", "none"]
#: Whether a hollow (rib, pillar, channel) lets a wire through.
OpenState = Literal["open", "blocked", "unknown"]


class Corner(Record, frozen=True, kw_only=True):
    """A corner of a surface. The edge that starts here is named by this id."""

    id: Id
    at_mm: Point


class OnEdge(Record, frozen=True, kw_only=True, tag_field="line", tag="edge"):
    """A stretch of the edge that starts at corner `edge`; `to_mm` None means to the end of the edge."""

    edge: Id
    from_mm: Annotated[float, Meta(ge=0)] = 0.0
    to_mm: float | None = None


class Inside(Record, frozen=True, kw_only=True, tag_field="line", tag="inside"):
    """A straight line drawn inside a surface."""

    start_mm: Point
    end_mm: Point


Line = OnEdge | Inside


class Fold(Record, frozen=True, kw_only=True):
    """Where a surface turns out of the sheet from its parent.

    `line` lies on this surface and runs against `parent_line`; `shift_mm` is the distance from the start of the
    parent line to the end of the child's line. `fold_deg` is positive towards the room (a vertical wall 90).
    """

    line: Line
    parent: SurfaceId
    parent_line: Line
    fold_deg: float
    shift_mm: float = 0.0
    passage: Passage = "free"
    joint: MovingJointId | None = None


class Apart(Record, frozen=True, kw_only=True):
    """Own place on the sheet of a surface that would overlap: its origin and its turn, counter-clockwise."""

    at_mm: Point
    turn_deg: float = 0.0


class Layer(Record, frozen=True, kw_only=True):
    """One layer of the build-up between skin and panel face, from the skin on."""

    material: Material
    thickness_mm: Annotated[float, Meta(ge=0)]
    name: Name = ""


class Surface(Record, frozen=True, kw_only=True):
    id: Id
    name: Name
    role: Literal["floor", "wall", "ceiling", "end", "door", "face", "arch", "other"] = "wall"
    corners: tuple[Corner, ...]
    holes: tuple[Outline, ...] = ()
    fold: Fold | None = None
    apart: Apart | None = None
    side: Literal["inside", "outside", "board"] = "inside"
    material: Material = "steel"
    thickness_mm: Annotated[float, Meta(ge=0)] = 1.0
    build_up: tuple[Layer, ...] = ()
    known: Known = "measured"
    note: Note = ""


class Seam(Record, frozen=True, kw_only=True):
    """Two lines that coincide in the vehicle but not on the sheet; `b_line` runs against `a_line`.

    Mapping keeps the distance: `d` mm after the start of a is `d` mm before the end of b.
    """

    id: Id
    a: SurfaceId
    a_line: Line
    b: SurfaceId
    b_line: Line
    passage: Passage = "free"
    joint: MovingJointId | None = None
    #: "proposed" seams come from the pose, "drawn" ones were made by hand.
    origin: Literal["proposed", "drawn"] = "proposed"


class Hatch(Record, frozen=True, kw_only=True):
    """An opening of a box through which it can be reached: which side, and its size."""

    side: Literal["top", "front", "rear", "left", "right"]
    width_mm: float
    height_mm: float


class Box(Record, frozen=True, kw_only=True):
    """A wheel arch, cabinet or seat base that stands on a surface: footprint, height above that surface."""

    id: Id
    name: Name
    surface: SurfaceId
    kind: Literal["cabinet", "wheel_arch", "seat_base", "bed", "other"] = "cabinet"
    outline: Outline
    height_mm: Annotated[float, Meta(ge=0)]
    #: Distance between the surface and the box, 0 where it stands on it.
    base_mm: Annotated[float, Meta(ge=0)] = 0.0
    fixed: bool = True
    hatches: tuple[Hatch, ...] = ()
    faces: tuple[SurfaceId, ...] = ()
    material: Material = "plywood"
    wall_mm: Annotated[float, Meta(ge=0)] = 15.0
    note: Note = ""


class Rib(Record, frozen=True, kw_only=True):
    """A rib, bow or pillar on a surface: its centre line, width, depth, and whether wire can run inside it."""

    id: Id
    name: Name = ""
    surface: SurfaceId
    kind: Literal["rib", "pillar", "batten"] = "rib"
    line_mm: Outline
    width_mm: Annotated[float, Meta(gt=0)]
    depth_mm: Annotated[float, Meta(ge=0)] = 0.0
    state: OpenState = "unknown"
    material: Material = "steel"


class Opening(Record, frozen=True, kw_only=True):
    id: Id
    name: Name
    surface: SurfaceId
    kind: Literal["window", "door", "hatch", "roof_fan", "vent", "other"] = "window"
    outline: Outline
    cut_edge: bool = True


class MetalEdge(Record, frozen=True, kw_only=True):
    """A raw edge of sheet metal drawn on a surface."""

    id: Id
    name: Name = ""
    surface: SurfaceId
    line_mm: Outline
    protected: bool = False


class KeepOutZone(Record, frozen=True, kw_only=True):
    id: Id
    name: Name = ""
    surface: SurfaceId
    kind: Literal["hot", "wet", "moving", "airbag", "gas", "fuel", "brake", "sharp", "other"]
    outline: Outline
    clearance_mm: Annotated[float, Meta(ge=0)] = 0.0
    #: How far the zone reaches from the surface into the room.
    height_mm: Annotated[float, Meta(ge=0)] = 0.0


class CloseOut(Record, frozen=True, kw_only=True):
    """State of a panel: what was looked at and ticked, open or closed on a day by somebody, with a typed reason where
    checks were overridden. `overridden` are the checks that were not done then, in words."""

    labels_done: bool = False
    secured_done: bool = False
    closed_on: str = ""
    closed_by: Name = ""
    override_reason: Note = ""
    overridden: tuple[str, ...] = ()


class Panel(Record, frozen=True, kw_only=True):
    """A board that will cover a wall."""

    id: Id
    name: Name
    surface: SurfaceId
    outline: Outline
    material: Material = "plywood"
    thickness_mm: Annotated[float, Meta(ge=0)] = 4.0
    close_out: CloseOut | None = None


class Image(Record, frozen=True, kw_only=True):
    """Picture bytes, stored once by content hash (the id)."""

    id: Id
    media_type: Literal["image/png", "image/jpeg"]
    data: bytes


class Picture(Record, frozen=True, kw_only=True):
    """An underlay: where an image lies on a surface, scaled so that a pixel is `mm_per_pixel` wide."""

    id: Id
    name: Name = ""
    surface: SurfaceId
    image: ImageId
    at_mm: Point
    mm_per_pixel: Annotated[float, Meta(gt=0)]
    turn_deg: float = 0.0
    opacity: Annotated[float, Meta(ge=0, le=1)] = 0.6
    locked: bool = False


class Anchor(Record, frozen=True, kw_only=True):
    """What an end of a dimension is attached to: a corner of a surface by its id, or a corner of an outline or line by
    its number from 0."""

    record: DrawnId
    corner: Id


class Dimension(Record, frozen=True, kw_only=True):
    """Between two points of a surface. An attached end lies where its anchor is; `from_mm` and `to_mm` say where it
    was put, and count where the anchor has gone."""

    id: Id
    surface: SurfaceId
    from_mm: Point
    to_mm: Point
    offset_mm: float = 0.0
    from_on: Anchor | None = None
    to_on: Anchor | None = None


class Penetration(Record, frozen=True, kw_only=True):
    """A hole that joins one point of surface a with one point of surface b through a thickness."""

    id: Id
    name: Name = ""
    a: SurfaceId
    a_mm: Point
    b: SurfaceId
    b_mm: Point
    thickness_mm: Annotated[float, Meta(ge=0)] = 1.0
    hole_mm: Annotated[float, Meta(ge=0)] | None = None
    protection: Literal["none", "grommet", "gland", "bushing", "cable_entry_box"] = "none"


class MovingPart(Record, frozen=True, kw_only=True):
    """A drawer, door, bed or slide: turns about an axis or slides along it, by its travel."""

    id: Id
    name: Name
    surface: SurfaceId
    outline: Outline
    box: BoxId | None = None
    axis_mm: tuple[Point, Point] | None = None
    slide_mm: Point | None = None
    travel_deg: float = 0.0


class MovingJoint(Record, frozen=True, kw_only=True):
    """Where a bundle flexes: the wire needed when open and when closed."""

    id: Id
    name: Name
    part: MovingPartId | None = None
    open_mm: Annotated[float, Meta(ge=0)]
    closed_mm: Annotated[float, Meta(ge=0)]
