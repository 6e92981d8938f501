"""What an analysis says, as values. Lengths in mm, sections in mm2, A, V; every length is one-way unless it says so.

Records of one stage refer to records of the plan and of other stages by id. A wire is one conductor between two
terminals, so its current is constant; each leg of a daisy chain is a wire of its own.
"""

from typing import Literal

import msgspec

from core.electrical.ampacity import Factor
from core.model import Point, Role, SeparationGroup

Severity = Literal["note", "warning", "error"]


class Value(msgspec.Struct, frozen=True, kw_only=True):
    """Base of every result: a frozen value."""


class Finding(Value, frozen=True, kw_only=True):
    """Something wrong or missing: numbers, limit, source, and the remedy in words."""

    code: str
    severity: Severity
    subjects: tuple[str, ...]
    message: str
    value: float | None = None
    limit: float | None = None
    unit: str = ""
    source: str = ""
    remedy: str = ""
    #: Reason of the waiver that sets this finding aside, "" when there is none.
    waived: str = ""


class ChannelPath(Value, frozen=True, kw_only=True):
    """A channel as it lies: `local_mm` on `surface`, `sheet_mm` on the sheet; both empty for a measured channel
    without a surface. `problem` says why a channel cannot be used (its nodes do not lie on its surface ...)."""

    channel: str
    surface: str | None
    local_mm: tuple[Point, ...]
    sheet_mm: tuple[Point, ...]
    length_mm: float
    provisional: bool
    problem: str = ""


class NodeSpot(Value, frozen=True, kw_only=True):
    """Every (surface, local point) a node lies on, the first one its own."""

    node: str
    spots: tuple[tuple[str, Point], ...]
    sheet_mm: tuple[Point, ...]


class End(Value, frozen=True, kw_only=True):
    """One end of a wire: the device, its port or way, and the node the device's wires join."""

    device: str
    port: str | None
    way: str | None
    node: str | None


class Wire(Value, frozen=True, kw_only=True):
    """One conductor between two terminals, before it has a route and a size."""

    id: str
    circuit: str
    #: The stop at the far end of the leg this conductor belongs to.
    stop: str
    role: Role
    from_: End
    to: End
    kind: str
    #: Id of the cable this conductor is a core of: wires with the same cable are cut as one piece.
    cable: str | None
    cores: int
    group: SeparationGroup
    parallel: int
    waypoints: tuple[str, ...]
    #: Wires of the same leg that must share one route have the same lead (the id of the first).
    lead: str


class Step(Value, frozen=True, kw_only=True):
    channel: str
    forward: bool


class Route(Value, frozen=True, kw_only=True):
    """The way of one wire: falls at both ends and the channels between. Not routable: no steps and a problem."""

    wire: str
    steps: tuple[Step, ...]
    from_fall_mm: float
    to_fall_mm: float
    #: Wire in the moving joints that are passed, at their open length, and through the thickness of holes.
    joint_mm: float = 0.0
    #: None when the wire cannot be routed.
    route_mm: float | None
    provisional: bool
    #: Held by an as-pulled record or a pulled channel.
    held: bool = False
    problem: str = ""


class Allowance(Value, frozen=True, kw_only=True):
    name: str
    length_mm: float


class SizedWire(Value, frozen=True, kw_only=True):
    """A wire with its size and the rule that decided it."""

    wire: str
    section_mm2: float
    gauge_awg: str | None
    od_mm: float
    r_ohm_per_m: float
    mass_g_per_m: float
    price_per_m: float | None
    colour: str
    current_a: float
    peak_a: float
    #: None where nobody asks (a wire that informs) and where the table has no value for its size.
    ampacity_a: float | None
    factors: tuple[Factor, ...]
    grouped: int
    #: Own drop at current_a over route_mm; None when not routable.
    drop_v: float | None
    #: Whole way from source to load and back, percent of the base voltage.
    drop_percent: float | None
    decided_by: str
    #: The sentence for the facts panel: which rule, with its numbers and source.
    reason: str
    fuse_a: float | None
    #: Of the table, without the factors.
    base_ampacity_a: float = 0.0


class CircuitLoad(Value, frozen=True, kw_only=True):
    """Currents of one circuit: running and peak at its source, and per stop behind it."""

    circuit: str
    current_a: float
    peak_a: float
    base_v: float
    #: (stop, running, peak) of the leg that ends at the stop.
    legs: tuple[tuple[str, float, float], ...]
    #: (stop, running, peak) of returns that carry more than their feed: what else comes home on their bus.
    returns: tuple[tuple[str, float, float], ...] = ()
    #: Ids of the circuits from the original source down to this one's feeder, nearest last.
    upstream: tuple[str, ...]
    #: What a feeder in front of it reckons with on the average.
    diverse_a: float = 0.0
    #: Lost before its source in a mesh of feeders that is solved as a network; `before_ohm` is what each further
    #: ampere at its source loses on top.
    before_v: float = 0.0
    before_ohm: float = 0.0
    #: A feeder in a mesh that is solved as a network.
    in_mesh: bool = False


class MeshNode(Value, frozen=True, kw_only=True):
    """A distribution point in a mesh: volts lost from the sources to it, ohms the network has there, amperes drawn."""

    device: str
    drop_v: float
    inner_ohm: float
    drawn_a: float


class Mesh(Value, frozen=True, kw_only=True):
    """Feeders that form a ring or join several sources. `amps` are (feeder, stop, amperes), positive away from the
    feeder's own source. Not `solved`: a section is missing or nothing feeds it, and `problem` says which."""

    feeders: tuple[str, ...]
    sources: tuple[str, ...]
    nodes: tuple[MeshNode, ...] = ()
    amps: tuple[tuple[str, str, float], ...] = ()
    solved: bool = False
    problem: str = ""


class CircuitSize(Value, frozen=True, kw_only=True):
    """Fuse and drops of one circuit."""

    circuit: str
    fuse_a: float | None
    #: (load stop, volts, limit volts, there-and-back mm); volts None when not routable.
    drops: tuple[tuple[str, float | None, float, float | None], ...]
    one_way_mm: float | None
    there_and_back_mm: float | None


class BundleItem(Value, frozen=True, kw_only=True, gc=False):
    """One round thing in a bundle: a wire, a cable or a conduit, with the wires in it, its diameter and its place."""

    label: str
    wires: tuple[str, ...]
    od_mm: float
    colour: str
    centre_mm: Point
    #: Of a conduit in the bundle its kind, and the diameters of what lies in it; "" and none for wires and cables.
    conduit: str = ""
    inside_mm: tuple[float, ...] = ()


class Bundle(Value, frozen=True, kw_only=True):
    """Wires lying together in one channel."""

    channel: str
    length_mm: float
    wires: tuple[str, ...]
    items: tuple[BundleItem, ...]
    diameter_tight_mm: float
    diameter_laid_mm: float
    #: Share of the bore; None without a bore.
    fill_percent: float | None
    fill_limit_percent: float | None
    mass_g_per_m: float


class SecuringRow(Value, frozen=True, kw_only=True):
    channel: str
    at_mm: float
    kind: str
    user: bool
    #: Name of the part of the catalogue that takes the bundle, "" when there is none of that kind.
    part: str = ""
    #: Rib, batten, edge or surface it is fixed to, "" for a channel that lies on none.
    on: str = ""
    #: The longest screw that comes through nothing; None where none is used.
    screw_mm: float | None = None
    #: Hole to be drilled for its screw, rivet nut or foot, None where none is.
    hole_mm: float | None = None
    #: Diameter of its screw, where there is one.
    bolt_mm: float = 4.0
    #: Its screw goes into a rivet nut in bare skin.
    threaded: bool = False
    #: It holds a battery cable.
    heavy: bool = False
    #: Diameter that is held: the bundle with its wrap, or its conduit.
    holds_mm: float = 0.0
    #: The spacing that holds here and its rule, in words.
    why: str = ""
    #: What is wrong with a point of the user ("inside a bend", ...), "" when nothing is.
    problem: str = ""


class SecuringGap(Value, frozen=True, kw_only=True):
    """A stretch longer than the allowed span that nothing can be fixed to."""

    channel: str
    from_mm: float
    to_mm: float
    limit_mm: float
    #: Where brackets would close the gap; empty where nothing may be fixed at all.
    brackets_mm: tuple[float, ...] = ()
    #: Code of the profile's limit that is not met.
    rule: str = "securing.span_mm"
    #: Why nothing can be fixed there, "" where there is simply nothing to fix to.
    why: str = ""
    #: "span": too far between points; otherwise where a point is wanted at hand: "bend", "breakout".
    near: str = "span"


class Crossing(Value, frozen=True, kw_only=True):
    """A bundle passes something that can rub it."""

    channel: str
    at_mm: float
    #: Id of the record that is crossed.
    with_: str
    kind: str
    angle_deg: float
    severity: Severity
    remedy: str
    size_mm: float | None
    #: Sheet point, for the mark on the drawing.
    sheet_mm: Point | None
    protected: bool
    #: What protects the bundle here: "grommet", "gland", "bushing", "edge_trim", "split_conduit", "flexible", "" none.
    remedy_kind: str = ""
    #: The catalogue's part for it, "" where none fits or none is needed.
    part: str = ""
    #: How much of it where it is sold by length (edge trim, split conduit).
    length_mm: float = 0.0
    #: Sheets that a hole through it passes, each lined on its own.
    walls: int = 1


class Clearance(Value, frozen=True, kw_only=True):
    """A bundle nearer to a zone or to the way of a moving part than it may be. `kind` is the zone's, "moving_part", or
    "device" where `channel` is a device that stands in the way of the part."""

    channel: str
    with_: str
    kind: str
    #: Where along the channel it is nearest.
    at_mm: float
    #: From the outside of the bundle, 0 inside.
    distance_mm: float
    limit_mm: float
    #: How much of the channel is nearer than the limit.
    near_mm: float
    #: Code of the profile's limit, "" where the plan gives its own.
    rule: str
    sheet_mm: Point | None


class BendRow(Value, frozen=True, kw_only=True):
    """A bend at a via point or node: inside radius needed against the radius that is drawn or fits."""

    channel: str
    at_mm: float
    turn_deg: float
    needed_mm: float
    drawn_mm: float
    sheet_mm: Point | None
    #: The channel into which the wires turn at a node; "" for a bend at a via point.
    into: str = ""


class WrapRow(Value, frozen=True, kw_only=True):
    channel: str
    style: str
    tape: str | None
    tape_width_mm: float | None
    overlap: float
    layers: float
    tape_mm: float
    note: str
    #: Diameter over the wrap; 0 where nothing is wrapped.
    outside_mm: float = 0.0
    #: Time at the shop's own rate.
    minutes: float = 0.0
    #: Conduit or sleeve that goes over the bundle, and how much of it.
    part: str = ""
    part_mm: float = 0.0
    #: Whether what is over the bundle keeps edges off it, as conduit does.
    sheltered: bool = False


class CutPiece(Value, frozen=True, kw_only=True):
    """One piece to cut: a wire, or a cable with all its cores. `cut_mm` = route + allowances."""

    piece: str
    wires: tuple[str, ...]
    kind: str
    section_mm2: float
    colour: str
    route_mm: float
    allowances: tuple[Allowance, ...]
    cut_mm: float
    provisional: bool


class CutRow(Value, frozen=True, kw_only=True):
    """Which spool a piece comes off; `waste_mm` is what remains on that spool after its last piece."""

    spool: str
    piece: str
    cut_mm: float
    waste_mm: float
    #: Id of the spool in stock it comes off, "" for a new one or none.
    stock: str = ""
    #: Why it comes off no spool: "too long" for all of them, or "none left".
    problem: str = ""


class SpoolPlan(Value, frozen=True, kw_only=True):
    """How good the cuts of one sort of wire are. Proven: nobody does with fewer new spools, then with fewer spools."""

    kind: str
    section_mm2: float
    colour: str
    new_spools: int
    spools: int
    least_new: int
    least_spools: int
    proven: bool
    #: Length of the spool that is bought.
    spool_mm: float


class Material(Value, frozen=True, kw_only=True):
    item: str
    quantity: float
    unit: str
    why: str
    #: Pieces sold together, and packs to buy; 1 and 0 where it is sold singly or by length.
    pack: int = 1
    packs: int = 0
    #: In the money of the plan, for the packs; None where the catalogue gives none.
    price: float | None = None


class Totals(Value, frozen=True, kw_only=True):
    route_mm: float
    allowance_mm: float
    cut_mm: float
    tape_mm: float
    rolls: int
    mass_kg: float
    price: float | None
    #: Time for wrapping at the shop's own rate.
    wrap_minutes: float = 0.0
