"""Clearances in the vehicle: to zones on other surfaces, to what slides or turns; and what is passed at nodes.

Limits: 6 in to flammable fluid and gas (FAA AC 43.13-1B 11-96w, read), 3 in to moving controls (11-125, memory),
9 in to a dry exhaust (ABYC E-11, memory).
"""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from core.analysis.clearances import motion_distance_mm
from core.analysis.engine import analyse
from core.analysis.motion import Motion, motions, swept_outline
from core.analysis.results import Clearance, Crossing, Finding
from core.geometry.prism import prism_distances_mm
from core.model import (
    Box,
    Corner,
    Fold,
    InPenetration,
    KeepOutZone,
    MovingJoint,
    MovingPart,
    Node,
    OnEdge,
    OnLine,
    OnSurface,
    Penetration,
    Plan,
    Surface,
)
from tests.helpers.grid import LIBRARY, changed, channel, plan

SQUARE = ((0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0))
L_SHAPE = ((0.0, 0.0), (100.0, 0.0), (100.0, 30.0), (40.0, 30.0), (40.0, 90.0), (0.0, 90.0))
numbers = st.floats(-300, 300)


@settings(max_examples=100)
@given(st.lists(st.tuples(numbers, numbers, numbers), min_size=1, max_size=8), st.sampled_from((SQUARE, L_SHAPE)))
def test_distance_to_a_prism_is_that_of_a_geometry_library(points, outline) -> None:
    """Flat distance by shapely, height by hand, together by Pythagoras."""
    x, y, h = (np.array([p[k] for p in points]) for k in range(3))
    found = prism_distances_mm((x, y, h), outline, 20.0, 80.0)
    area = shapely.Polygon(outline)
    for (px, py, ph), away in zip(points, found, strict=True):
        flat = area.distance(shapely.Point(px, py))
        assert away == pytest.approx(math.hypot(flat, max(ph - 80.0, 20.0 - ph, 0.0)), abs=1e-6)


def drawer(**fields) -> MovingPart:
    return MovingPart(**{"id": "m", "name": "Drawer", "surface": "floor", "outline": SQUARE, **fields})


def one(part: MovingPart, box: Box | None = None) -> Motion:
    (motion,) = motions((part,), {box.id: box} if box is not None else {})
    return motion


BOX = Box(id="b", name="Box", surface="floor", outline=SQUARE, height_mm=50.0)


@settings(max_examples=60)
@given(numbers, numbers, st.floats(-50, 200))
def test_a_slide_sweeps_the_long_prism(x: float, y: float, h: float) -> None:
    """A rectangle that slides along itself covers one longer rectangle: its distance is known exactly."""
    motion = one(drawer(slide_mm=(200.0, 0.0), box="b"), BOX)
    (found,) = motion_distance_mm(motion, (np.array([x]), np.array([y]), np.array([h])))
    long = ((0.0, 0.0), (300.0, 0.0), (300.0, 60.0), (0.0, 60.0))
    (exact,) = prism_distances_mm((np.array([x]), np.array([y]), np.array([h])), long, 0.0, 50.0)
    assert exact - 1e-9 <= found <= exact + 2.0
    assert set(swept_outline(motion.part)) == set(long)


@settings(max_examples=60)
@given(st.floats(5, 175), st.floats(0, 300), st.floats(1, 59))
def test_a_flap_sweeps_a_half_disc(angle_deg: float, radius: float, along: float) -> None:
    """A flap 100 mm deep that opens by 180 degrees sweeps the half disc of that radius about its hinge."""
    hinge = ((0.0, 60.0), (0.0, 0.0))
    for axis in (hinge, hinge[::-1]):  # a part opens into the room whichever way its hinge is drawn
        motion = one(drawer(axis_mm=axis, travel_deg=180.0))
        turn = math.radians(angle_deg)
        spot = (np.array([radius * math.cos(turn)]), np.array([along]), np.array([radius * math.sin(turn)]))
        (found,) = motion_distance_mm(motion, spot)
        assert found == pytest.approx(max(0.0, radius - 100.0), abs=2.0)
    assert min(x for x, _ in swept_outline(motion.part)) == pytest.approx(-100.0)


NODES = {"a": (200.0, 500.0), "b": (3_200.0, 500.0)}
PLAN = plan(NODES, (channel("c", "a", "b"),), "a", "b")


def clearances(of: Plan) -> list[Clearance]:
    return list(analyse(of, LIBRARY).clearances)


def finding(of: Plan, code: str) -> Finding:
    (row,) = (f for f in analyse(of, LIBRARY).findings if f.code == code)
    return row


def codes(of: Plan) -> set[str]:
    return {f.code for f in analyse(of, LIBRARY).findings}


def wall(of: Plan) -> Plan:
    """A wall on the floor's far edge (y 2,000): its own x is the floor's, its y up."""
    corners = ((0.0, 0.0), (4_000.0, 0.0), (4_000.0, 1_500.0), (0.0, 1_500.0))
    row = Surface(
        id="wall",
        name="Wall",
        corners=tuple(Corner(id=str(i), at_mm=p) for i, p in enumerate(corners, 1)),
        fold=Fold(line=OnEdge(edge="1"), parent="floor", parent_line=OnEdge(edge="3"), fold_deg=90.0),
    )
    return replace(of, surfaces=(*of.surfaces, row))


def beside_the_wall() -> Plan:
    """The channel runs on the floor 100 mm from the wall."""
    return wall(plan({"a": (200.0, 1_900.0), "b": (3_200.0, 1_900.0)}, (channel("c", "a", "b"),), "a", "b"))


def zone(surface: str, low: float, high: float, **fields) -> KeepOutZone:
    outline = ((1_000.0, low), (1_400.0, low), (1_400.0, high), (1_000.0, high))
    return KeepOutZone(**{"id": "z", "name": "Tank", "surface": surface, "kind": "fuel", "outline": outline, **fields})


def test_a_zone_on_the_wall_is_near_to_the_channel_on_the_floor() -> None:
    """100 mm to the wall, the zone begins 30 mm above the floor: hypot(100, 30) less half the bundle."""
    of = replace(beside_the_wall(), zones=(zone("wall", 30.0, 400.0),))
    bundle = analyse(of, LIBRARY).bundles["c"]
    row = finding(of, "clearance.fuel")
    assert row.value == pytest.approx(math.hypot(100.0, 30.0) - bundle.diameter_laid_mm / 2, abs=0.2)
    assert (row.limit, row.severity) == (pytest.approx(152.4), "error")
    assert "11-96w" in row.source
    # the wall's x is the floor's: 1,000 to 1,400 lies 800 to 1,200 mm from the channel's start
    (place,) = clearances(of)
    assert 799.0 <= place.at_mm <= 1_201.0
    reach = math.sqrt((152.4 + bundle.diameter_laid_mm / 2) ** 2 - 100.0**2 - 30.0**2)
    assert place.near_mm == pytest.approx(400.0 + 2 * reach, abs=45.0)
    farther = replace(of, zones=(zone("wall", 200.0, 400.0),))
    assert "clearance.fuel" not in codes(farther)


def test_the_zones_own_clearance_wins_and_its_height_counts() -> None:
    of = replace(beside_the_wall(), zones=(zone("wall", 30.0, 400.0, clearance_mm=50.0),))
    assert "clearance.fuel" not in codes(of)
    tall = replace(of, zones=(zone("wall", 30.0, 400.0, clearance_mm=50.0, height_mm=90.0),))
    assert finding(tall, "clearance.fuel").source == "the zone's own clearance in this plan"


def test_a_channel_that_lies_all_inside_a_zone_is_told() -> None:
    outline = ((0.0, 0.0), (4_000.0, 0.0), (4_000.0, 1_900.0), (0.0, 1_900.0))
    of = replace(PLAN, zones=(KeepOutZone(id="z", surface="floor", kind="hot", outline=outline),))
    row = finding(of, "clearance.hot")
    assert (row.value, row.severity) == (0.0, "error")
    assert clearances(of)[0].near_mm == pytest.approx(3_000.0)


def test_nothing_fixed_may_lie_where_a_drawer_goes() -> None:
    """The drawer stands clear of the channel and slides over it."""
    shut = ((1_000.0, 800.0), (1_500.0, 800.0), (1_500.0, 1_200.0), (1_000.0, 1_200.0))
    part = MovingPart(id="m", name="Drawer", surface="floor", outline=shut, slide_mm=(0.0, -600.0))
    of = replace(PLAN, moving_parts=(part,))
    assert finding(of, "moving.swept").severity == "error"
    short = replace(of, moving_parts=(replace(part, slide_mm=(0.0, -100.0)),))
    assert codes(short).isdisjoint({"moving.swept", "moving.near"})
    close = replace(of, moving_parts=(replace(part, slide_mm=(0.0, -260.0)),))
    near = finding(close, "moving.near")
    bundle = analyse(close, LIBRARY).bundles["c"]
    assert near.value == pytest.approx(40.0 - bundle.diameter_laid_mm / 2, abs=0.5)
    behind = changed(of, "channels", "c", kind="behind_panel")
    assert codes(behind).isdisjoint({"moving.swept", "moving.near", "rub.moving_part"})


def test_a_box_in_the_air_passes_over_a_bundle() -> None:
    shut = ((1_000.0, 800.0), (1_500.0, 800.0), (1_500.0, 1_200.0), (1_000.0, 1_200.0))
    box = Box(id="b", name="Chest", surface="floor", outline=shut, height_mm=300.0, base_mm=120.0)
    part = MovingPart(id="m", name="Drawer", surface="floor", outline=shut, slide_mm=(0.0, -600.0), box="b")
    of = replace(PLAN, moving_parts=(part,), boxes=(box,))
    assert codes(of).isdisjoint({"moving.swept", "moving.near"})
    low = replace(of, boxes=(replace(box, base_mm=60.0),))
    assert "moving.near" in codes(low)


def test_a_device_in_the_way_is_told() -> None:
    shut = ((1_000.0, 800.0), (1_500.0, 800.0), (1_500.0, 1_200.0), (1_000.0, 1_200.0))
    box = Box(id="b", name="Chest", surface="floor", outline=shut, height_mm=300.0)
    part = MovingPart(id="m", name="Drawer", surface="floor", outline=shut, slide_mm=(0.0, 600.0), box="b")
    of = replace(PLAN, moving_parts=(part,), boxes=(box,))
    there = changed(of, "devices", "load", at_mm=(1_200.0, 1_700.0))
    assert "moving.device" in codes(there)
    assert "moving.device" not in codes(of)


def over_the_fold(**fields) -> Plan:
    """Two channels that meet on the fold between floor and wall."""
    of = wall(plan({"a": (2_000.0, 500.0), "b": (2_000.0, 2_000.0)}, (channel("c", "a", "f"),), "a", "a"))
    nodes = (
        Node(id="a", place=OnSurface(surface="floor", at_mm=(2_000.0, 500.0))),
        Node(id="f", place=OnLine(surface="floor", edge="3", at_mm=2_000.0)),
        Node(id="b", place=OnSurface(surface="wall", at_mm=(2_000.0, 1_000.0))),
    )
    load = replace(of.devices[1], surface="wall", at_mm=(2_000.0, 1_000.0), node="b")
    (floor, up) = of.surfaces
    assert up.fold is not None
    return replace(
        of,
        surfaces=(floor, replace(up, fold=replace(up.fold, **fields))),
        nodes=nodes,
        channels=(*of.channels, channel("d", "f", "b", surface="wall")),
        devices=(of.devices[0], load),
    )


def passed(of: Plan) -> list[Crossing]:
    return [c for c in analyse(of, LIBRARY).crossings if c.kind in ("fold", "seam", "moving_joint")]


def test_a_fold_between_sheets_is_one_note() -> None:
    of = over_the_fold()
    (row,) = passed(of)
    assert (row.kind, row.severity, row.with_) == ("fold", "note", "wall")
    assert finding(of, "rub.seam").value == 1.0
    board = replace(of, surfaces=tuple(replace(s, material="plywood") for s in of.surfaces))
    assert "rub.seam" not in codes(board)


def test_a_moving_joint_says_how_long_it_has_to_be() -> None:
    joint = MovingJoint(id="j", name="Hinge", open_mm=260.0, closed_mm=180.0)
    of = replace(over_the_fold(passage="moving_joint", joint="j"), moving_joints=(joint,))
    (row,) = passed(of)
    assert (row.kind, row.protected, row.size_mm) == ("moving_joint", True, 260.0)
    assert "twists and does not bend" in row.remedy


def through_the_floor(**fields) -> Plan:
    of = wall(PLAN)
    hole = Penetration(
        **{"id": "p", "name": "Hole", "a": "floor", "a_mm": (1_000.0, 500.0), "b": "wall", "b_mm": (1_000.0, 700.0),
           **fields}
    )  # fmt: skip
    nodes = (
        Node(id="a", place=OnSurface(surface="floor", at_mm=(200.0, 500.0))),
        Node(id="p", place=InPenetration(penetration="p")),
        Node(id="b", place=OnSurface(surface="wall", at_mm=(2_000.0, 700.0))),
    )
    load = replace(of.devices[1], surface="wall", at_mm=(2_000.0, 700.0), node="b")
    nodes_ = tuple(replace(n, id="h") if n.id == "p" else n for n in nodes)
    return replace(
        of,
        penetrations=(hole,),
        nodes=nodes_,
        channels=(channel("c", "a", "h"), channel("d", "h", "b", surface="wall")),
        devices=(of.devices[0], load),
    )


def cover(of: Plan) -> Crossing:
    (row,) = (c for c in analyse(of, LIBRARY).crossings if c.kind == "hole")
    return row


def test_what_lines_a_hole() -> None:
    """A grommet for sheet, a bushing for thick walls, a gland and a drip loop where one side is outside."""
    sheet = cover(through_the_floor(thickness_mm=1.0))
    assert sheet.remedy_kind == "grommet"
    part = next(g for g in LIBRARY.grommet_kinds if g.name == sheet.part)
    assert part.bore_mm >= analyse(through_the_floor(), LIBRARY).bundles["c"].diameter_laid_mm
    assert part.sheet_mm >= 1.0
    assert cover(through_the_floor(thickness_mm=18.0)).remedy_kind == "bushing"
    outside = through_the_floor()
    outside = replace(outside, surfaces=(outside.surfaces[0], replace(outside.surfaces[1], side="outside")))
    gland = cover(outside)
    assert gland.remedy_kind == "gland"
    assert "drip loop" in gland.remedy


def test_places_are_those_of_the_tape_where_a_length_is_typed() -> None:
    from core.model import Rib

    rib = Rib(id="r", surface="floor", line_mm=((1_700.0, 0.0), (1_700.0, 900.0)), width_mm=60.0)
    of = replace(changed(PLAN, "channels", "c", measured_mm=3_300.0), ribs=(rib,))
    (row,) = (c for c in analyse(of, LIBRARY).crossings if c.kind == "rib")
    assert row.at_mm == pytest.approx(1_650.0)  # half of the way, however long it really is


def test_a_bundle_along_a_raw_edge() -> None:
    """3/8 in to structure (FAA AC 43.13-1B 11-115, read): along an edge, not over it."""
    from core.model import MetalEdge

    bundle = analyse(PLAN, LIBRARY).bundles["c"].diameter_laid_mm
    line = ((1_000.0, 506.0), (1_800.0, 506.0))
    of = replace(PLAN, metal_edges=(MetalEdge(id="e", surface="floor", line_mm=line),))
    row = finding(of, "clearance.edge")
    assert row.value == pytest.approx(6.0 - bundle / 2, abs=0.05)
    assert row.limit == pytest.approx(9.525)
    assert clearances(of)[0].near_mm == pytest.approx(800.0, abs=45.0)
    farther = replace(PLAN, metal_edges=(replace(of.metal_edges[0], line_mm=((1_000.0, 520.0), (1_800.0, 520.0))),))
    assert "clearance.edge" not in codes(farther)
    trimmed = replace(PLAN, metal_edges=(replace(of.metal_edges[0], protected=True),))
    assert "clearance.edge" not in codes(trimmed)
    assert "clearance.edge" not in codes(changed(of, "channels", "c", kind="split_conduit"))
