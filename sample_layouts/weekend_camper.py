"""A small delivery van as a weekend camper: 12 V only, a bench bed, a small galley, lights on both sides.

Floor 2,400 x 1,560 mm, 1,320 mm high. On the sheet the floor lies at (0, 0), the right wall and the ceiling above it,
the left wall below it, the front to the left, one rear door beside either wall.
"""

from core.edits.body import (
    add_dimension,
    draw_box,
    draw_floor,
    draw_metal_edge,
    draw_opening,
    draw_panel,
    draw_rib,
    draw_surface,
    draw_zone,
)
from core.edits.records import set_assumptions, set_field, set_plan
from core.model import (
    Circuit,
    Fold,
    Hatch,
    MovingJoint,
    MovingPart,
    OnEdge,
    Plan,
    Point,
    Port,
    Protective,
    Revision,
    StockSpool,
    Stop,
)
from sample_layouts.bench import Bench, rectangle

LENGTH, WIDTH, HEIGHT = 2_400.0, 1_560.0, 1_320.0
#: Heights of the sheet at which the walls and the ceiling begin.
RIGHT, CEILING = WIDTH, WIDTH + HEIGHT
#: Where the bundles run along the walls, under the edge of the roof.
BELT = 1_230.0

NOTE = """\
A sample of our own: a small van with a bench that becomes a bed, a galley and 12 V only. Sizes are of the kind a tape
gives in such a van; powers are typical, not those of any make.

Findings that are here to teach:
- separation.data: the wire of the tank level lies with 12 V wires, which a level bears and a radio would not.
- bend.tight: the riser at the galley turns on a corner too tight for its bundle. Move it, or give it a larger radius.
- fuse.backup: the small fuses rely on the fuse at the battery's post to open with them in a dead short.
- size.drop_ends: the fridge is within its volts over the route, but not with every end left long.
  Cut the ends short when they are made off, or take one size more.
- securing.panel_screw: which screws may be used where the ceiling board covers the crossing.
- rub.seam: look at every fold between sheets of steel before a bundle is laid over it.
- route.provisional, cutting.provisional: the way through the cab floor to the vehicle battery was not looked into
  yet. Open the floor covering and measure before those two wires are cut.

Planning aid only. Fuse values, heater and battery leads go by the makers' papers.
"""


def right(x: float, z: float) -> Point:
    """A point of the right wall, `x` from the front and `z` above the floor, on the sheet."""
    return x, RIGHT + z


def left(x: float, z: float) -> Point:
    return x, -z


def roof(x: float, y: float) -> Point:
    """A point of the ceiling, `y` from its right edge."""
    return x, CEILING + y


def make() -> Plan:
    b = Bench("Weekend camper", "weekend-camper")
    b.kinds("wire-battery", "conduit-split-23", "wrap-half-lap-cloth", "wrap-split-conduit", "wrap-spot-tape")
    b.plan = set_plan(
        b.plan,
        note=NOTE,
        vehicle={"description": "Small delivery van, panel sides, sliding door on the left", "driver_side": "right"},
    )
    b.plan = set_assumptions(b.plan, wrap="wrap-half-lap-cloth")
    s = _body(b)
    _fit_out(b, s)
    _devices(b, s)
    _channels(b, s)
    _join(b)
    _circuits(b)
    b.protect()
    b.record("revisions", Revision, letter="A", on="2026-11-02", note="First plan")
    for section, colour, left_m in ((1.0, "RD", 38.0), (1.5, "RD", 25.0), (2.5, "RD", 12.0)):
        b.record(
            "spools",
            StockSpool,
            kind="wire-thin-wall",
            section_mm2=section,
            colour=colour,
            left_mm=left_m * 1_000,
        )
    return b.plan


def _body(b: Bench) -> dict[str, str]:
    s: dict[str, str] = {}
    s["floor"] = b.did(draw_floor(b.plan, rectangle(0, 0, LENGTH, WIDTH), "Floor"))
    _set(b, s["floor"], material="plywood", thickness_mm=12.0)
    s["right"] = b.wall(s["floor"], "3", HEIGHT, "Vehicle right")
    s["left"] = b.wall(s["floor"], "1", HEIGHT, "Vehicle left")
    s["front"] = b.wall(s["floor"], "4", HEIGHT, "Bulkhead", role="end")
    s["roof"] = b.wall(s["right"], "3", WIDTH, "Ceiling")
    leaf = WIDTH / 2
    for side, wall, edge in (("right", "right", "2"), ("left", "left", "4")):
        part = f"{side} rear door"
        s[part] = b.wall(s[wall], edge, leaf, f"Rear door, {side}", role="door")
        joint = b.record(
            "moving_joints", MovingJoint, name=f"Loop at the {side} rear pillar", open_mm=260.0, closed_mm=180.0
        )
        fold = next(each for each in b.plan.surfaces if each.id == s[part]).fold
        assert fold is not None
        _set(b, s[part], fold=Fold(**{**_fields(fold), "passage": "moving_joint", "joint": joint}))
        b.record(
            "moving_parts",
            MovingPart,
            name=f"Rear door, {side}",
            surface=s[part],
            outline=((0.0, 0.0), (HEIGHT, 0.0), (HEIGHT, leaf), (0.0, leaf)),
            axis_mm=((0.0, 0.0), (HEIGHT, 0.0)),
            travel_deg=180.0,
        )
    doors = {s["right rear door"], s["left rear door"]}
    for seam in b.plan.seams:
        # A bundle reaches a door over its pillar only, never over the sill or the roof edge.
        if {seam.a, seam.b} & doors:
            _set(b, seam.id, passage="none")
    fold = Fold(line=OnEdge(edge="1"), parent=s["floor"], parent_line=OnEdge(edge="4"), fold_deg=0.0)
    s["cab"] = b.did(
        draw_surface(b.plan, "Cab floor", rectangle(0, 0, WIDTH, 900), fold, "other", (-HEIGHT - 320.0, 0.0))
    )
    _set(b, s["cab"], apart={"at_mm": (-HEIGHT - 320.0, 0.0), "turn_deg": 90.0})
    return s


def _fields(record: object) -> dict[str, object]:
    return {field: getattr(record, field) for field in record.__struct_fields__}  # type: ignore[attr-defined]


def _set(b: Bench, record_id: str, **changes: object) -> None:
    b.plan = set_field(b.plan, record_id, **changes)


def _fit_out(b: Bench, s: dict[str, str]) -> None:
    for x in (800.0, 1_430.0, 2_050.0):
        b.did(draw_rib(b.plan, s["right"], b.line(s["right"], right(x, 40), right(x, 1_290)), 60, depth_mm=35))
    for x in (920.0, 1_430.0, 2_050.0):
        b.did(draw_rib(b.plan, s["left"], b.line(s["left"], left(x, 40), left(x, 1_290)), 60, depth_mm=35))
    for x in (60.0, 640.0, 1_240.0, 1_840.0, 2_340.0):
        ends = roof(x, 40), roof(x, WIDTH - 40)
        b.did(draw_rib(b.plan, s["roof"], b.line(s["roof"], *ends), 60, f"Bow {x:.0f}", depth_mm=30, state="blocked"))
    for side, y in (("right", WIDTH - 165), ("left", 0.0)):
        b.did(draw_box(b.plan, s["floor"], rectangle(1_450, y, 620, 165), 260, f"Wheel arch, {side}", "wheel_arch"))
    boxes = (
        ("Seat over the heater", "seat_base", (60, 1_130, 720, 430), 420),
        ("Electrical cabinet", "cabinet", (820, 1_110, 580, 450), 700),
        ("Galley", "cabinet", (890, 0, 520, 440), 780),
        ("Water locker", "cabinet", (2_090, 0, 300, 440), 380),
    )
    for name, kind, (x, y, wide, high), tall in boxes:
        hatch = (Hatch(side="left", width_mm=480.0, height_mm=600.0),) if name == "Electrical cabinet" else ()
        b.did(draw_box(b.plan, s["floor"], rectangle(x, y, wide, high), tall, name, kind, hatches=hatch))
    bed = b.area(s["floor"], 1_430, 460, 940, 1_080)
    b.did(draw_box(b.plan, s["floor"], bed, 40, "Bed", "bed", base_mm=380.0))
    door = b.area(s["left"], 180, -1_190, 680, 1_150)
    b.did(draw_opening(b.plan, s["left"], door, "Sliding door 680 × 1,150", "door"))
    sill = b.line(s["left"], left(180, 40), left(860, 40))
    b.did(draw_metal_edge(b.plan, s["left"], sill, "Sill of the sliding door", protected=True))
    b.did(draw_opening(b.plan, s["right"], b.area(s["right"], 150, RIGHT + 700, 590, 400), "Window 590 × 400"))
    fan = b.area(s["roof"], 740, CEILING + 580, 400, 400)
    b.did(draw_opening(b.plan, s["roof"], fan, "Cut-out for the roof fan", "roof_fan"))
    for side, y in (("right", RIGHT + 700), ("left", -1_120)):
        door_id = s[f"{side} rear door"]
        b.did(draw_opening(b.plan, door_id, b.area(door_id, 2_600, y, 440, 420), f"Rear window, {side}"))
    hot = b.area(s["floor"], 120, 1_370, 150, 150)
    b.did(draw_zone(b.plan, s["floor"], hot, "hot", "Heater exhaust", clearance_mm=50, height_mm=150))
    panel = b.area(s["roof"], 90, CEILING + 60, 2_220, WIDTH - 120)
    b.did(draw_panel(b.plan, s["roof"], panel, "Ceiling board", thickness_mm=4))
    for surface, a, z, out in (
        ("floor", (0.0, 700.0), (LENGTH, 700.0), 0.0),
        ("floor", (2_330.0, 0.0), (2_330.0, WIDTH), -160.0),
        ("right", right(2_330, 0), right(2_330, HEIGHT), -160.0),
    ):
        b.did(add_dimension(b.plan, s[surface], b.local(s[surface], a), b.local(s[surface], z), out))


def _devices(b: Bench, s: dict[str, str]) -> None:
    b.device("battery-vehicle", "Vehicle battery (starter)", s["cab"], (-2_240, 1_280))
    b.device("battery-house", "House battery", s["floor"], (1_180, 1_400), fall_mm=60)
    b.device("fuse-holder", "Main fuse", s["floor"], (1_120, 1_535), fall_mm=60)
    b.device("main-switch", "Main switch", s["right"], right(920, 460))
    b.device("charger-alternator", "Alternator charger", s["right"], right(985, 190))
    b.device(
        "bus-bar-positive",
        "Bus bars, positive and return",
        s["right"],
        right(1_085, 470),
        fall_mm=80,
        ports=(Port(id="plus", role="feed", stud_mm=8.0), Port(id="minus", role="return", stud_mm=8.0)),
    )
    b.device("fuse-holder-blade", "Heater fuse", s["right"], right(990, 395), fall_mm=80)
    b.device("fuse-block-12", "Fuse block", s["right"], right(1_240, 560))
    b.device("heater-diesel", "Air heater", s["floor"], (520, 1_430))
    b.device("display", "Control display", s["right"], right(790, 950))
    b.device("switch-panel", "Switch, ceiling right", s["left"], left(970, 930))
    b.device("switch-panel", "Switch, ceiling left", s["left"], left(1_050, 930))
    b.device("switch-panel", "Switch, pump", s["left"], left(1_130, 930))
    b.device("fridge-compressor", "Fridge", s["left"], left(1_150, 340), entry_mm=(200, 200))
    b.device("water-pump", "Water pump", s["floor"], (2_230, 350))
    b.device("sensor-tank", "Tank sensor", s["floor"], (2_190, 150))
    b.device("socket-12v", "12 V socket", s["left"], left(1_300, 1_110))
    b.device("usb-outlet", "USB at the seat", s["right"], right(90, 560))
    b.device("usb-outlet", "USB at the bed", s["right"], right(2_230, 560))
    b.device("light-reading", "Reading light", s["right"], right(2_230, 800))
    b.device("roof-fan", "Roof fan", s["roof"], roof(940, 780))
    for row, y in (("right", 360), ("left", 1_200)):
        for number, x in enumerate((350, 900, 1_600, 2_120), start=1):
            b.device("light-spot", f"Light {row} {number}", s["roof"], roof(x, y))
    b.device("light-outside", "Rear door light", s["right rear door"], right(2_800, 1_180))


def _channels(b: Bench, s: dict[str, str]) -> None:
    hidden = {"kind": "behind_panel", "depth_mm": 25.0}
    inside = {"kind": "furniture", "bend_mm": 120.0}
    b.channel("Cabinet back", right(870, 330), right(1_340, 330), surface=s["right"], **inside)
    b.channel("Battery leads", (1_180, 1_500), (1_180, WIDTH), right(1_180, 330), **inside)
    b.channel("Right riser", right(1_340, 330), right(1_340, BELT), bend_mm=150.0, **hidden)
    b.channel("Right belt", right(1_340, BELT), right(90, BELT), bend_mm=150.0, **hidden)
    b.channel("Right belt, rear", right(1_340, BELT), right(2_310, BELT), bend_mm=150.0, **hidden)
    b.channel("Seat drop", right(90, BELT), right(90, 620), **hidden)
    b.channel("Bed drop", right(2_230, BELT), right(2_230, 620), **hidden)
    b.channel("Ceiling crossing", right(1_540, BELT), roof(1_540, WIDTH), surface=s["right"], **hidden)
    b.channel("Left riser", left(1_540, HEIGHT), left(1_540, BELT), surface=s["left"], **hidden)
    b.channel(
        "Left belt", left(1_540, BELT), left(1_220, BELT), left(1_220, 1_010), left(970, 1_010), bend_mm=104.0, **hidden
    )
    b.channel("Galley riser", left(1_540, BELT), left(1_540, 540), left(1_420, 540), bend_mm=30.0, **hidden)
    b.channel("Water riser", left(1_540, 620), left(2_230, 620), left(2_230, 0), (2_230, 290), bend_mm=120.0, **hidden)
    for row, y in (("right", 360), ("left", 1_200)):
        b.channel(f"Ceiling lights {row}", roof(350, y), roof(2_120, y), **hidden)
        b.cross(f"Ceiling lights {row}", "Ceiling crossing", s["roof"], roof(1_540, y))
    b.channel("To the roof fan", roof(1_180, 360), roof(1_180, 780), surface=s["roof"], **hidden)
    # Slantwise through both cabinet walls, so that neither hole lies in a bend.
    charge = (right(870, 330), right(870, 0), (870, 1_440), (710, 1_280), (0, 1_280))
    b.channel("Charge line", *charge, **{**inside, "bend_mm": 150.0})
    b.channel(
        "Charge line, cab",
        (-HEIGHT - 320.0, 1_280),
        (-2_070, 1_280),
        surface=s["cab"],
        kind="split_conduit",
        conduit="conduit-split-23",
        state="unknown",
        wrap="wrap-split-conduit",
    )
    b.channel("Rear door", right(LENGTH, BELT), right(2_800, BELT), surface=s["right rear door"], kind="behind_panel")
    b.channel("Right belt, rear", right(2_310, BELT), right(LENGTH, BELT), surface=s["right"], bend_mm=150.0, **hidden)


def _join(b: Bench) -> None:
    b.join("House battery")
    b.join_as("Main fuse", "House battery")
    b.join("Bus bars, positive and return")
    b.join_as("Heater fuse", "Bus bars, positive and return")
    done = ("House battery", "Main fuse", "Bus bars, positive and return", "Heater fuse")
    b.join(*(name for name in b.devices if name not in done))


def _circuits(b: Bench) -> None:
    battery = {"wire_kind": "wire-battery"}
    bars = "Bus bars, positive and return"
    b.circuit("House feed", "House battery", ("Main fuse", bars), protective={"family": "on_post"}, **battery)
    b.circuit("Feed of the fuse block", bars, ("Main switch", "Fuse block"), **battery)
    b.circuit(
        "Charger, from the vehicle battery",
        "Vehicle battery (starter)",
        ("Alternator charger",),
        protective={"family": "on_post"},
        **battery,
    )
    b.circuit(
        "Charger, to the house battery",
        "Alternator charger",
        ("House battery",),
        protective={"family": "on_post", "device": "House battery"},
        **battery,
    )
    b.circuit(
        "Air heater",
        bars,
        ("Heater fuse", "Air heater"),
        protective={"family": "blade_regular", "device": "Heater fuse", "rating_a": 15.0},
        always_live=True,
        note="Before the main switch: cut off while hot it cannot cool down.",
    )
    for row in ("right", "left"):
        lights = (f"Light {row} {number}" for number in (4, 3, 2, 1))
        b.circuit(
            f"Ceiling lights, {row}", "Fuse block", (f"Switch, ceiling {row}", *lights), protective={"rating_a": 5.0}
        )
    b.circuit("Roof fan", "Fuse block", ("Roof fan",), protective={"rating_a": 7.5})
    b.circuit("Water pump", "Fuse block", ("Switch, pump", "Water pump"), protective={"rating_a": 10.0})
    b.circuit("Fridge", "Fuse block", ("Fridge",), protective={"rating_a": 15.0})
    b.circuit("12 V socket", "Fuse block", ("12 V socket",))
    b.circuit("USB outlets, right", "Fuse block", ("USB at the seat",))
    b.circuit("Reading light and USB at the bed", "Fuse block", ("Reading light", "USB at the bed"))
    b.circuit("Rear door light", "Fuse block", ("Rear door light",), protective={"rating_a": 3.0})
    b.circuit("Control display", "Fuse block", ("Control display",), protective={"rating_a": 3.0})
    b.record(
        "circuits",
        Circuit,
        name="Tank level",
        kind="signal",
        group="signal",
        stops=(
            Stop(id="0", device=b.devices["Control display"], role="source"),
            Stop(id="1", device=b.devices["Tank sensor"], after="0"),
        ),
        conductors=("data", "return"),
        protective=Protective(kind="none", reason="Carries information, not power."),
    )
