"""What can be changed of every kind of record, as data: labels in the words of the trade, units, choices.

A path goes into nested records (``electrical.power_w``). `Field.kind` says how typed text is read and shown.
"""

from dataclasses import dataclass
from typing import Literal

FieldKind = Literal[
    "text", "note", "length", "angle", "current", "power", "voltage", "temperature", "section", "percent", "factor",
    "choice", "flag", "record", "point",
]  # fmt: skip


@dataclass(frozen=True)
class Field:
    """One row of a form. `empty` is shown for None, and typing nothing gives None where it is said."""

    path: str
    label: str
    kind: FieldKind = "text"
    #: (value, words) of a choice; for a record, the names of the collections it may be of.
    choices: tuple[tuple[str, str], ...] = ()
    empty: str | None = None
    tip: str = ""


@dataclass(frozen=True)
class Form:
    """`word` is the kind of record in a word; sections are (heading, fields)."""

    word: str
    sections: tuple[tuple[str, tuple[Field, ...]], ...]


def _words(*values: str, **named: str) -> tuple[tuple[str, str], ...]:
    return tuple((value, named.get(value, value.replace("_", " "))) for value in values)


MATERIALS = _words("steel", "aluminium", "plywood", "timber", "composite", "plastic", "glass", "insulation", "other")
KNOWN = _words("measured", "assumed")
OPEN_STATES = _words("open", "blocked", "unknown")
SYSTEMS = (
    ("dc12", "12 V DC"), ("dc24", "24 V DC"), ("dc48", "48 V DC"), ("ac230", "230 V mains"), ("ac120", "120 V mains"),
    ("solar", "solar string"), ("signal", "signal"),
)  # fmt: skip
CHANNEL_KINDS = (
    ("open", "open on the surface"), ("behind_panel", "behind a panel"), ("closed_conduit", "closed conduit"),
    ("split_conduit", "split conduit"), ("trunking", "trunking"), ("void", "void"), ("furniture", "furniture"),
    ("underfloor", "under the floor"), ("exterior", "outside"), ("engine_bay", "engine bay"),
)  # fmt: skip
FIXINGS = _words(
    "tie_mount", "p_clip", "saddle", "edge_clip", "fir_tree_clip", "bonded_mount", "clip", "cable_tie", "bracket",
    "screw", "adhesive", p_clip="P-clip", fir_tree_clip="fir-tree clip", screw="screw through its back",
    adhesive="glued by its back",
)  # fmt: skip
DEVICE_KINDS = _words(
    "light", "fan", "pump", "heater", "fridge", "socket", "usb", "charger", "converter", "inverter", "battery",
    "solar", "shunt", "switch", "fuse", "fuse_block", "panelboard", "bus_bar", "sensor", "antenna", "speaker",
    "alarm", "shore_inlet", "mains_outlet", "rcd", "appliance", "other",
    usb="USB outlet", rcd="RCD", solar="solar panel", converter="DC–DC converter",
)  # fmt: skip
CIRCUIT_KINDS = _words("branch", "feeder", "battery_lead", "link", "bond", "solar_string", "signal", "antenna", "spare")
FUSE_KINDS = _words("fuse", "circuit_breaker", "none")

NAME = Field("name", "Name")
NOTE = Field("note", "Note", "note")
#: Of what is drawn as an upright rectangle, as its own surface has it.
WIDTH = Field("size.width", "Width", "length", tip="Along the surface; its right side moves")
UPRIGHT = Field("size.height", "Height", "length", tip="Up the surface; its upper side moves")
DEEP = Field("size.height", "Depth", "length", tip="Across the surface; its upper side moves")

FORMS: dict[str, Form] = {
    "surfaces": Form("Surface", (
        ("", (
            NAME,
            WIDTH,
            UPRIGHT,
            Field("role", "Part", "choice", _words("floor", "wall", "ceiling", "end", "door", "face", "arch", "other")),
            Field("side", "Side", "choice", _words("inside", "outside", "board", board="board face")),
            Field("material", "Material", "choice", MATERIALS),
            Field("thickness_mm", "Thickness", "length"),
            Field("fold.fold_deg", "Fold", "angle", tip="Turn out of the sheet; an upright wall 90, leaning in 95"),
            Field("fold.passage", "Bundles pass the fold", "choice",
                  _words("free", "moving_joint", "none", free="freely", moving_joint="through a moving joint",
                         none="not at all")),
            Field("known", "Measures are", "choice", KNOWN),
            NOTE,
        )),
    )),
    "boxes": Form("Box", (
        ("", (
            NAME,
            WIDTH,
            DEEP,
            Field("kind", "Kind", "choice", _words("cabinet", "wheel_arch", "seat_base", "bed", "other")),
            Field("height_mm", "Height", "length"),
            Field("base_mm", "Above the surface", "length", tip="Room between the surface and the box"),
            Field("wall_mm", "Wall thickness", "length"),
            Field("material", "Material", "choice", MATERIALS),
            Field("fixed", "Fixed in place", "flag"),
            NOTE,
        )),
    )),
    "ribs": Form("Rib", (
        ("", (
            NAME,
            Field("kind", "Kind", "choice", _words("rib", "pillar", "batten")),
            Field("width_mm", "Width", "length"),
            Field("depth_mm", "Depth", "length"),
            Field("state", "Inside", "choice", OPEN_STATES, tip="Whether a wire can run inside it"),
            Field("material", "Material", "choice", MATERIALS),
        )),
    )),
    "openings": Form("Opening", (
        ("", (
            NAME,
            WIDTH,
            UPRIGHT,
            Field("kind", "Kind", "choice", _words("window", "door", "hatch", "roof_fan", "vent", "other")),
            Field("cut_edge", "Cut metal edge", "flag"),
        )),
    )),
    "metal_edges": Form("Metal edge", (("", (NAME, Field("protected", "Protected", "flag"))),)),
    "zones": Form("Keep-out zone", (
        ("", (
            NAME,
            WIDTH,
            UPRIGHT,
            Field("kind", "Because it is", "choice",
                  _words("hot", "wet", "moving", "airbag", "gas", "fuel", "brake", "sharp", "other")),
            Field("clearance_mm", "Clearance", "length"),
            Field("height_mm", "Reaches into the room", "length"),
        )),
    )),
    "panels": Form("Panel", (
        ("", (NAME, WIDTH, UPRIGHT, Field("material", "Material", "choice", MATERIALS),
              Field("thickness_mm", "Thickness", "length"))),
    )),
    "nodes": Form("Node", (("", (NAME,)),)),
    "channels": Form("Channel", (
        ("", (
            NAME,
            Field("kind", "Kind", "choice", CHANNEL_KINDS),
            Field("measured_mm", "Length by the tape", "length", empty="as drawn"),
            Field("bend_mm", "Bend radius", "length"),
            Field("state", "State", "choice", OPEN_STATES),
            Field("wires", "Wires are", "choice", _words("planned", "pulled", "locked")),
            Field("lay", "Laid", "choice", _words("by_hand", "combed", "loose", by_hand="by hand")),
            Field("measured_diameter_mm", "Bundle measured", "length", empty="not yet",
                  tip="Its diameter by caliper: tells how tightly you lay, for all bundles laid the same way"),
            Field("known", "Measures are", "choice", KNOWN),
        )),
        ("Inside", (
            Field("bore.width_mm", "Bore, width", "length", empty="open"),
            Field("bore.height_mm", "Bore, height", "length", empty="round"),
            Field("ambient_c", "Ambient", "temperature", empty="as assumed"),
            Field("covered_mm", "Covered in insulation", "length"),
            Field("depth_mm", "Below panel face", "length", empty="unknown"),
        )),
        ("", (
            Field("visible", "Can be seen", "flag"),
            Field("moving", "Moves", "flag"),
            Field("spare_duct", "Spare duct", "flag"),
            Field("draw_string", "Draw string", "flag"),
            NOTE,
        )),
    )),
    "securing_points": Form("Securing point", (
        ("", (Field("at_mm", "From the channel's start", "length"), Field("kind", "Kind", "choice", FIXINGS))),
    )),
    "pass_throughs": Form("Pass-through", (
        ("", (
            Field("at_mm", "From the channel's start", "length"),
            Field("kind", "Kind", "choice", _words("hole", "edge", "gland")),
            Field("hole_mm", "Hole", "length", empty="not said"),
            Field("protection", "Protection", "choice",
                  _words("none", "grommet", "edge_trim", "split_conduit", "bushing", "gland", "cable_entry_box")),
        )),
    )),
    "devices": Form("Device", (
        ("", (
            NAME,
            Field("kind", "Kind", "choice", DEVICE_KINDS),
            Field("at_mm.0", "Place, along", "length"),
            Field("at_mm.1", "Place, up", "length"),
            Field("turn_deg", "Turned by", "angle"),
        )),
        ("Electrical", (
            Field("electrical.system", "System", "choice", SYSTEMS),
            Field("electrical.power_w", "Power", "power", empty="not said"),
            Field("electrical.current_a", "Running current", "current", empty="from the power"),
            Field("electrical.peak_a", "Peak current", "current", empty="as running"),
            Field("electrical.idle_a", "Idle draw", "current", empty="none", tip="Drawn while it is on without a load"),
            Field("electrical.lowest_v", "Lowest voltage", "voltage", empty="not said"),
            Field("electrical.largest_fuse_a", "Largest fuse", "current", empty="not said"),
            Field("electrical.rating_a", "Rating", "current", empty="not said"),
            Field("electrical.critical", "Critical", "flag", tip="The smaller voltage drop limit holds"),
        )),
        ("Size and wire entry", (
            Field("width_mm", "Width", "length"),
            Field("height_mm", "Height", "length"),
            Field("depth_mm", "Depth", "length"),
            Field("fall_mm", "Fall to the node", "length", empty="straight", tip="Wire between channel and entry"),
            Field("end_allowance_mm", "End allowance", "length", empty="as assumed"),
            Field("clearance_mm", "Clearance", "length"),
            Field("outdoors", "Outdoors", "flag", tip="Weather reaches it: its wires come in with a drip loop"),
            NOTE,
        )),
    )),
    "circuits": Form("Circuit", (
        ("", (
            NAME,
            Field("kind", "Kind", "choice", CIRCUIT_KINDS),
            Field("section_mm2", "Section", "section", empty="automatic"),
            Field("smallest_section_mm2", "At least", "section", empty="no limit"),
            Field("drop_percent", "Drop limit", "percent", empty="by the profile"),
            Field("current_a", "Current", "current", empty="from the loads"),
        )),
        ("Protection", (
            Field("protective.kind", "Protective device", "choice", FUSE_KINDS),
            Field("protective.rating_a", "Rating", "current", empty="automatic"),
            Field("protective.distance_mm", "From the source", "length", empty="at the source"),
            Field("protective.reason", "Reason for none", "text"),
        )),
        ("", (
            Field("return_apart", "Feed and return apart", "flag"),
            Field("always_live", "Always live", "flag", tip="Connected before the main switch"),
            NOTE,
        )),
    )),
    "splices": Form("Splice", (("", (NAME, Field("access", "Access", "note"))),)),
    "connectors": Form("Connector", (("", (NAME, Field("access", "Access", "note"))),)),
    "earth_points": Form("Earth point", (("", (NAME, Field("access", "Access", "note"))),)),
    "penetrations": Form("Penetration", (
        ("", (
            NAME,
            Field("thickness_mm", "Thickness", "length"),
            Field("hole_mm", "Hole", "length", empty="not said"),
            Field("protection", "Protection", "choice",
                  _words("none", "grommet", "gland", "bushing", "cable_entry_box")),
        )),
    )),
    "moving_parts": Form("Moving part", (("", (NAME, Field("travel_deg", "Travel", "angle"))),)),
    "moving_joints": Form("Moving joint", (
        ("", (NAME, Field("open_mm", "Wire when open", "length"), Field("closed_mm", "Wire when closed", "length"))),
    )),
    "pictures": Form("Underlay", (
        ("", (NAME, Field("mm_per_pixel", "Millimetres per pixel", "factor"), Field("opacity", "Opacity", "factor"),
              Field("locked", "Locked", "flag"))),
    )),
    "dimensions": Form("Dimension", (("", (Field("offset_mm", "Offset", "length"),)),)),
    "seams": Form("Seam", (
        ("", (Field("passage", "Bundles pass", "choice",
                    _words("free", "moving_joint", "none", free="freely", moving_joint="through a moving joint",
                           none="not at all")),)),
    )),
}  # fmt: skip

#: What is set for the whole plan, shown while nothing is selected.
PLAN_FORM = Form("Plan", (
    ("", (
        NAME,
        Field("vehicle.description", "Vehicle"),
        Field("build_for", "Build for", "choice", _words("self", "customer", self="myself", customer="a customer")),
        Field("customer.name", "Customer"),
        NOTE,
    )),
    ("Assumptions", (
        Field("assumptions.ambient_c", "Ambient", "temperature"),
        Field("assumptions.void_ambient_c", "Roof and wall voids", "temperature"),
        Field("assumptions.conductor_c", "Conductor, for the drop", "temperature"),
        Field("assumptions.end_allowance_mm", "End allowance", "length"),
        Field("assumptions.panel_allowance_mm", "End at a panel", "length"),
        Field("assumptions.service_loop_mm", "Service loop", "length"),
        Field("assumptions.drip_loop_mm", "Drip loop", "length"),
        Field("assumptions.tolerance_percent", "Tolerance", "percent"),
        Field("assumptions.tolerance_least_mm", "Tolerance, at least", "length"),
        Field("assumptions.round_up_mm", "Cuts rounded up to", "length"),
        Field("assumptions.waste_percent", "Waste of conduit and trim", "percent"),
        Field("assumptions.spares_percent", "Spares of small parts", "percent"),
        Field("assumptions.tape_reserve_percent", "Reserve of tape", "percent"),
        Field("assumptions.kerf_mm", "Lost at each cut", "length"),
        Field("assumptions.wrap_minutes_per_m", "Minutes to wrap a metre", "factor", tip="Of a close half-lap"),
        Field("assumptions.pieces_per_day", "Pieces pulled a day", "factor", tip="For the kits of a day"),
        Field("assumptions.supplier", "Usual supplier", empty="nobody", tip="Sells what nobody else is named for"),
        Field("assumptions.lay_factor", "Laid by hand", "factor", tip="How much thicker than packed tight"),
        Field("assumptions.combed_factor", "Combed", "factor", tip="How much thicker than packed tight"),
        Field("assumptions.loose_factor", "Laid loose", "factor", tip="How much thicker than packed tight"),
    )),
))  # fmt: skip
