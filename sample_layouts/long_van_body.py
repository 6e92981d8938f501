"""The long van's body: a high roof, walls that lean in by 3 degrees, two rear doors, a cab floor, the outer roof."""

from math import cos, sin

from core.edits.body import (
    add_dimension,
    draw_box,
    draw_floor,
    draw_metal_edge,
    draw_opening,
    draw_panel,
    draw_penetration,
    draw_rib,
    draw_surface,
    draw_zone,
)
from core.edits.change import take_out
from core.edits.records import set_field
from core.model import Fold, Hatch, Inside, Layer, MovingJoint, MovingPart, OnEdge, Point
from sample_layouts.bench import Bench, rectangle
from sample_layouts.long_van_places import (
    BOARD_AT,
    BOARD_FROM,
    BOARD_HIGH,
    BOARD_OFF,
    BOARD_TO,
    CAB_X,
    HEIGHT,
    INSET,
    LEAN,
    LEAN_DEG,
    LENGTH,
    OUTSIDE,
    OVERHANG,
    RIGHT,
    ROOF_WIDTH,
    WALL,
    WIDTH,
    left,
    right,
    roof,
)

RIBS = (700.0, 1_350.0, 2_040.0, 2_740.0, 3_440.0, 4_120.0)
BOWS = (150.0, 800.0, 1_450.0, 2_110.0, 2_750.0, 3_420.0, 4_120.0)


def draw(b: Bench) -> dict[str, str]:
    """All surfaces by short names, and what is on them."""
    s = _surfaces(b)
    _steel(b, s)
    _furniture(b, s)
    _cautions(b, s)
    _boards(b, s)
    return s


def _surfaces(b: Bench) -> dict[str, str]:
    s: dict[str, str] = {}
    s["floor"] = b.did(draw_floor(b.plan, rectangle(0, 0, LENGTH, WIDTH), "Floor"))
    b.plan = set_field(b.plan, s["floor"], material="plywood", thickness_mm=12.0)
    s["right"] = b.wall(s["floor"], "3", WALL, "Vehicle right", lean_deg=LEAN_DEG)
    s["left"] = b.wall(s["floor"], "1", WALL, "Vehicle left", lean_deg=LEAN_DEG)
    s["roof"] = b.wall(s["right"], "3", ROOF_WIDTH, "Ceiling", lean_deg=180.0 - LEAN_DEG)
    lining = (
        Layer(material="insulation", thickness_mm=25, name="Insulation"),
        Layer(material="timber", thickness_mm=15, name="Battens"),
    )
    for name in ("right", "left", "roof"):
        b.plan = set_field(b.plan, s[name], build_up=lining)
    bulkhead = ((0.0, 0.0), (WIDTH, 0.0), (WIDTH - INSET, HEIGHT), (INSET, HEIGHT))
    front = Fold(line=OnEdge(edge="1"), parent=s["floor"], parent_line=OnEdge(edge="4"), fold_deg=90.0)
    s["front"] = b.did(draw_surface(b.plan, "Bulkhead", bulkhead, front, "end"))
    _doors(b, s)
    flat = Fold(line=OnEdge(edge="1"), parent=s["floor"], parent_line=OnEdge(edge="4"), fold_deg=0.0)
    s["cab"] = b.did(draw_surface(b.plan, "Cab floor", rectangle(0, 0, WIDTH, 1_000), flat, "other"))
    b.plan = set_field(b.plan, s["cab"], apart={"at_mm": (CAB_X, 0.0), "turn_deg": 90.0})
    _board(b, s)
    _outer_roof(b, s)
    return s


def _doors(b: Bench, s: dict[str, str]) -> None:
    """Two leaves that turn on the rear pillars. At the foot of a leaning wall the leaf is 3 degrees off square."""
    across = (-sin(LEAN), cos(LEAN))
    foot, top = WIDTH / 2, ROOF_WIDTH / 2
    leaves = {
        "right": ("2", ((0, 0), (WALL, 0), (WALL + foot * across[0], foot * across[1]), _times(across, top))),
        "left": (
            "4",
            ((0, 0), (WALL, 0), (WALL - top * across[0], top * across[1]), _times((sin(LEAN), cos(LEAN)), foot)),
        ),
    }
    for side, (edge, outline) in leaves.items():
        joint = b.record(
            "moving_joints", MovingJoint, name=f"Loop at the {side} rear pillar", open_mm=320.0, closed_mm=220.0
        )
        fold = Fold(
            line=OnEdge(edge="1"),
            parent=s[side],
            parent_line=OnEdge(edge=edge),
            fold_deg=90.0,
            passage="moving_joint",
            joint=joint,
        )
        name = f"Rear door, {side}"
        door = b.did(draw_surface(b.plan, name, outline, fold, "door"))
        s[f"{side} door"] = door
        b.record(
            "moving_parts",
            MovingPart,
            name=name,
            surface=door,
            outline=tuple((float(x), float(y)) for x, y in outline),
            axis_mm=((0.0, 0.0), (WALL, 0.0)),
            travel_deg=180.0,
        )
    for seam in b.plan.seams:
        # A bundle reaches a door over its pillar only, never over the sill or the edge of the roof.
        if {seam.a, seam.b} & {s["right door"], s["left door"]}:
            b.plan = set_field(b.plan, seam.id, passage="none")


def _times(way: Point, length: float) -> Point:
    return way[0] * length, way[1] * length


def _outer_roof(b: Bench, s: dict[str, str]) -> None:
    """The skin seen from above, turned over at the left edge of the ceiling; nothing passes round that edge."""
    outline = rectangle(0, 0, LENGTH + 2 * OVERHANG, ROOF_WIDTH + 2 * OVERHANG)
    over = Fold(
        line=Inside(start_mm=(OVERHANG, OVERHANG), end_mm=(OVERHANG + LENGTH, OVERHANG)),
        parent=s["roof"],
        parent_line=OnEdge(edge="3"),
        fold_deg=-180.0,
        passage="none",
    )
    s["skin"] = b.did(draw_surface(b.plan, "Roof, outside", outline, over, "other", (-OVERHANG, OUTSIDE)))
    b.plan = set_field(b.plan, s["skin"], side="outside")
    sewn = [seam.id for seam in b.plan.seams if s["skin"] in (seam.a, seam.b)]
    # Inside and outside meet in the two glands only.
    b.plan = take_out(b.plan, "seams", sewn)


def _board(b: Bench, s: dict[str, str]) -> None:
    """The board of the electrical cabinet, upright on the floor before the left wall."""
    wide = BOARD_TO - BOARD_FROM
    stands = Fold(
        line=OnEdge(edge="1"),
        parent=s["floor"],
        parent_line=Inside(start_mm=(BOARD_FROM, BOARD_OFF), end_mm=(BOARD_TO, BOARD_OFF)),
        fold_deg=90.0,
    )
    outline = rectangle(0, 0, wide, BOARD_HIGH)
    s["board"] = b.did(draw_surface(b.plan, "Electrical board", outline, stands, "face", BOARD_AT))
    b.plan = set_field(b.plan, s["board"], side="board", material="plywood", thickness_mm=15.0)


def _steel(b: Bench, s: dict[str, str]) -> None:
    for x in RIBS:
        low = 320.0 if 2_200 < x < 3_000 else 40.0
        for side, at in (("left", left), ("right", right)):
            if side == "right" and x < 1_700:
                continue  # the sliding door
            line = b.line(s[side], at(x, low), at(x, 1_880))
            b.did(draw_rib(b.plan, s[side], line, 60, f"Rib {x:.0f}, {side}", depth_mm=40, state="blocked"))
    pillar = b.line(s["right"], right(1_610, 40), right(1_610, 1_880))
    b.did(draw_rib(b.plan, s["right"], pillar, 90, "C pillar, right", kind="pillar", depth_mm=60, state="unknown"))
    for x in BOWS:
        line = b.line(s["roof"], roof(x, 30), roof(x, ROOF_WIDTH - 30))
        b.did(draw_rib(b.plan, s["roof"], line, 60, f"Bow {x:.0f}", depth_mm=35, state="blocked"))
    for surface, frame, name, kind in (
        ("right", (250, RIGHT + 40, 1_290, 1_790), "Sliding door 1,290 × 1,790", "door"),
        ("right", (2_120, RIGHT + 960, 560, 420), "Window 560 × 420", "window"),
        ("left", (770, -1_380, 500, 420), "Window 500 × 420", "window"),
        ("roof", (925, roof(0, 590)[1], 400, 400), "Cut-out, front roof fan", "roof_fan"),
        ("roof", (3_570, roof(0, 590)[1], 400, 400), "Cut-out, rear roof fan", "roof_fan"),
        ("right door", (4_520, RIGHT + 860, 480, 520), "Rear window, right", "window"),
        ("left door", (4_520, -1_380, 480, 520), "Rear window, left", "window"),
    ):
        b.did(draw_opening(b.plan, s[surface], b.area(s[surface], *frame), name, kind))
    sill = b.line(s["right"], right(250, 40), right(1_540, 40))
    b.did(draw_metal_edge(b.plan, s["right"], sill, "Sill of the sliding door", protected=True))
    edge = b.line(s["left"], left(4_150, 300), left(4_150, 900))
    b.did(draw_metal_edge(b.plan, s["left"], edge, "Cut edge of the shore inlet's frame"))
    b.holes = {
        "solar": b.did(
            draw_penetration(
                b.plan,
                s["roof"],
                b.local(s["roof"], roof(3_300, 1_330)),
                s["skin"],
                (3_300 + OVERHANG, OVERHANG + ROOF_WIDTH - 1_330),
                "Roof gland, solar",
                thickness_mm=2.0,
                hole_mm=32.0,
                protection="cable_entry_box",
            )
        ),
        "aerial": b.did(
            draw_penetration(
                b.plan,
                s["roof"],
                b.local(s["roof"], roof(480, 1_330)),
                s["skin"],
                (480 + OVERHANG, OVERHANG + ROOF_WIDTH - 1_330),
                "Roof gland, aerial",
                thickness_mm=2.0,
                hole_mm=25.0,
                protection="gland",
            )
        ),
    }


def _furniture(b: Bench, s: dict[str, str]) -> None:
    for side, y in (("left", 0.0), ("right", WIDTH - 240)):
        arch = rectangle(2_190, y, 820, 240)
        b.did(draw_box(b.plan, s["floor"], arch, 310, f"Wheel arch, {side}", "wheel_arch"))
    for name, surface, kind, frame, tall in (
        ("Dinette seat", "floor", "seat_base", (90, 0, 1_120, 480), 430),
        ("Galley", "floor", "cabinet", (1_680, 1_180, 1_080, 600), 900),
        ("Gas locker", "floor", "cabinet", (3_980, 1_400, 290, 370), 620),
        ("Overhead cabinets, left", "left", "cabinet", (300, -1_860, 2_500, 330), 320),
        ("Overhead cabinets, right", "right", "cabinet", (1_700, RIGHT + 1_530, 1_100, 330), 320),
    ):
        b.did(draw_box(b.plan, s[surface], b.area(s[surface], *frame), tall, name, kind))
    b.did(
        draw_box(
            b.plan,
            s["floor"],
            rectangle(3_015, 0, 1_250, 500),
            830,
            "Electrical cabinet",
            hatches=(Hatch(side="right", width_mm=1_100, height_mm=700),),
        )
    )
    bed = rectangle(2_960, 20, 1_290, WIDTH - 40)
    b.did(draw_box(b.plan, s["floor"], bed, 60, "Bed over the garage", "bed", base_mm=860.0, fixed=False))


def _cautions(b: Bench, s: dict[str, str]) -> None:
    for surface, frame, kind, name, more in (
        ("left", (5, -1_700, 100, 900), "airbag", "Curtain airbag, B pillar", {"clearance_mm": 100}),
        ("floor", (130, 200, 200, 160), "hot", "Heater exhaust", {"clearance_mm": 50, "height_mm": 200}),
        ("floor", (3_995, 1_415, 260, 340), "gas", "Inside the gas locker", {"clearance_mm": 150, "height_mm": 600}),
    ):
        area = b.area(s[surface], *frame)
        b.did(draw_zone(b.plan, s[surface], area, kind, name, **more))


def _boards(b: Bench, s: dict[str, str]) -> None:
    ceiling = b.area(s["roof"], 60, roof(0, 40)[1], LENGTH - 120, ROOF_WIDTH - 80)
    b.did(draw_panel(b.plan, s["roof"], ceiling, "Ceiling boards", thickness_mm=6))
    wall = b.area(s["left"], 1_400, -1_400, 1_560, 880)
    b.did(draw_panel(b.plan, s["left"], wall, "Wall board, left middle", thickness_mm=6))
    for surface, a, z, out in (
        ("floor", (0.0, 820.0), (LENGTH, 820.0), 0.0),
        ("floor", (LENGTH, 0.0), (LENGTH, WIDTH), -90.0),
        ("right", right(LENGTH, 0), right(LENGTH, WALL), -90.0),
        ("roof", roof(LENGTH, 0), roof(LENGTH, ROOF_WIDTH), -90.0),
    ):
        b.did(add_dimension(b.plan, s[surface], b.local(s[surface], a), b.local(s[surface], z), out))
