"""Floor, walls, seams, boxes and what is drawn on surfaces."""

from math import cos, radians, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.edits.body import (
    add_dimension,
    cut_hole,
    draw_box,
    draw_floor,
    draw_metal_edge,
    draw_opening,
    draw_panel,
    draw_penetration,
    draw_rib,
    draw_seam,
    draw_surface,
    draw_zone,
    place_apart,
    place_picture,
    raise_faces,
    raise_wall,
    refold,
    set_fold_deg,
    set_fold_line,
    set_outline,
)
from core.geometry.foldout import lay_out, overlaps
from core.geometry.plane import distance_mm
from core.geometry.polygon import signed_area_mm2
from core.geometry.seams import seam_state
from core.model import Fold, Inside, OnEdge, find
from tests.core.edits.checks import refused, sound
from tests.helpers.vans import HEIGHT_MM, LENGTH_MM, WIDTH_MM, empty, shell

SQUARE = ((100.0, 100.0), (600.0, 100.0), (600.0, 500.0), (100.0, 500.0))


def test_a_floor_is_counter_clockwise_whichever_way_it_was_drawn() -> None:
    before = empty()
    for outline in (SQUARE, SQUARE[::-1], (*SQUARE, SQUARE[0])):
        plan, floor = draw_floor(before, outline)
        sound(before, plan, "surfaces")
        surface = find(plan, "surfaces", floor)
        points = [corner.at_mm for corner in surface.corners]
        assert sorted(points) == sorted(SQUARE)
        assert signed_area_mm2(points) == pytest.approx(500 * 400)
        assert surface.fold is None


def test_a_floor_that_is_none_is_refused() -> None:
    plan = empty()
    refused(draw_floor, plan, SQUARE[:2], says="three corners")
    refused(draw_floor, plan, ((0, 0), (100, 100), (100, 0), (0, 100)), says="crosses")
    refused(draw_floor, plan, ((0, 0), (100, 0), (float("nan"), 100)), says="without a place")
    refused(draw_floor, draw_floor(plan, SQUARE)[0], SQUARE, says="floor already")


def test_walls_stand_where_the_vehicle_frame_says() -> None:
    """+x to the rear, +y to the vehicle's right, +z up; the left wall lies below the floor on the sheet."""
    plan = shell()
    names = {surface.id: surface.name for surface in plan.surfaces}
    assert names == {
        "s1": "Floor",
        "s2": "Vehicle left",
        "s3": "Vehicle right",
        "s4": "Rear",
        "s5": "Front",
        "s6": "Ceiling",
    }
    layout = lay_out(plan.surfaces)
    up_left = layout.pose("s2").to_vehicle((0.0, HEIGHT_MM))
    assert up_left == pytest.approx((LENGTH_MM, 0.0, HEIGHT_MM))
    assert layout.pose("s3").to_vehicle((0.0, HEIGHT_MM)) == pytest.approx((0.0, WIDTH_MM, HEIGHT_MM))
    assert layout.pose("s6").to_vehicle((0.0, WIDTH_MM))[1:] == pytest.approx((WIDTH_MM, HEIGHT_MM))
    assert layout.place("s2").to_sheet((0.0, HEIGHT_MM)) == pytest.approx((LENGTH_MM, -HEIGHT_MM))
    # every room side looks into the box
    for surface in plan.surfaces:
        pose = layout.pose(surface.id)
        middle = pose.to_vehicle((10.0, 10.0))
        inward = [c - m for c, m in zip((LENGTH_MM / 2, WIDTH_MM / 2, HEIGHT_MM / 2), middle, strict=True)]
        assert sum(a * b for a, b in zip(inward, pose.normal, strict=True)) > 0


def test_a_box_is_sewn_up_by_itself() -> None:
    """Six faces of a box have twelve edges: five are folds here, seven are seams that close."""
    plan = shell()
    assert len(plan.seams) == 7
    layout = lay_out(plan.surfaces)
    assert all(seam_state(seam, plan.surfaces, layout).closes for seam in plan.seams)


@given(st.floats(500, 6000), st.floats(100, 3000), st.floats(60, 120))
def test_a_wall_is_as_wide_as_its_edge_and_as_high_as_the_tape_says(length: float, height: float, deg: float) -> None:
    before, floor = draw_floor(empty(), ((0, 0), (length, 0), (length, 1000), (0, 1000)))
    plan, wall = raise_wall(before, floor, "1", height, lean_deg=deg)
    sound(before, plan, "surfaces")
    surface = find(plan, "surfaces", wall)
    width = distance_mm(surface.corners[0].at_mm, surface.corners[1].at_mm)
    assert width == pytest.approx(length)
    top = lay_out(plan.surfaces).pose(wall).to_vehicle((0.0, height))
    # the left wall leans to the right (+y) by what the fold is over 90 degrees
    assert top[1:] == pytest.approx((-cos(radians(deg)) * height, sin(radians(deg)) * height), abs=1e-6)


def test_a_wall_on_a_stretch_of_an_edge() -> None:
    before, floor = draw_floor(empty(), ((0, 0), (3000, 0), (3000, 1000), (0, 1000)))
    plan, first = raise_wall(before, floor, "1", 1500, to_mm=1000)
    plan, second = raise_wall(plan, floor, "1", 1500, from_mm=1000, name="Slider side")
    sound(before, plan, "surfaces", "seams")
    layout = lay_out(plan.surfaces)
    assert layout.pose(first).to_vehicle((0, 0))[0] == pytest.approx(1000)
    assert layout.pose(second).to_vehicle((0, 0))[0] == pytest.approx(3000)
    assert len(plan.seams) == 1
    refused(raise_wall, plan, floor, "1", 1500, from_mm=500, to_mm=800, says="Vehicle left is folded to this edge")


def test_walls_that_make_no_sense_are_refused() -> None:
    plan = shell()
    refused(raise_wall, plan, "s9", "1", 100, says="no surface s9")
    refused(raise_wall, plan, "s1", "9", 100, says="Floor has no edge 9")
    refused(raise_wall, plan, "s1", "1", 100, says="Vehicle left is folded to this edge of Floor")
    refused(raise_wall, plan, "s2", "1", 100, says="Vehicle left itself is folded to Floor")
    refused(raise_wall, plan, "s6", "4", 100, says="sewn to Rear")
    refused(raise_wall, plan, "s1", "1", 0, says="higher than 0 mm")
    refused(raise_wall, plan, "s1", "1", float("nan"), says="higher than 0 mm")
    refused(raise_wall, draw_floor(empty(), SQUARE)[0], "s1", "1", 100, from_mm=600, says="500 mm long")
    refused(raise_wall, draw_floor(empty(), SQUARE)[0], "s1", "1", 100, lean_deg=200, says="200 degrees")


def test_a_surface_of_any_shape_is_folded_as_told() -> None:
    before = draw_floor(empty(), SQUARE)[0]
    fold = Fold(line=OnEdge(edge="1"), parent="s1", parent_line=OnEdge(edge="3"), fold_deg=90.0)
    gable = ((0, 0), (500, 0), (500, 300), (250, 500), (0, 300))
    plan, surface = draw_surface(before, "Gable", gable, fold, apart_at=(0, 3000))
    sound(before, plan, "surfaces")
    assert len(find(plan, "surfaces", surface).corners) == 5
    assert lay_out(plan.surfaces).laid[surface].apart
    nowhere = Fold(line=OnEdge(edge="1"), parent="s1", parent_line=OnEdge(edge="7"), fold_deg=90.0)
    refused(draw_surface, before, "Gable", gable, nowhere, says="Floor has no such line")


def test_folds_are_set_and_circles_of_them_refused() -> None:
    before = shell()
    plan = sound(before, set_fold_deg(before, "s2", 95.0), "surfaces")
    assert find(plan, "surfaces", "s2").fold.fold_deg == 95.0
    assert set_fold_deg(before, "s2", 90.0) is before
    refused(set_fold_deg, before, "s1", 90.0, says="Floor is the floor")
    refused(set_fold_deg, before, "s2", 181.0, says="between -180 and 180")
    refused(
        set_fold_line,
        before,
        "s2",
        "s6",
        OnEdge(edge="3"),
        OnEdge(edge="1"),
        says="Vehicle left cannot be folded to Ceiling",
    )
    refused(set_fold_line, before, "s2", "s1", OnEdge(edge="77"), OnEdge(edge="1"), says="Floor has no such line")


def test_refolding_the_ceiling_to_the_other_wall_moves_nothing_in_the_vehicle() -> None:
    before = shell()
    (seam,) = (seam for seam in before.seams if {seam.a, seam.b} == {"s3", "s6"})
    plan = sound(before, refold(before, "s6", seam.id), "surfaces", "seams")
    assert find(plan, "surfaces", "s6").fold.parent == "s3"
    was, now = lay_out(before.surfaces), lay_out(plan.surfaces)
    for p in ((0.0, 0.0), (LENGTH_MM, 0.0), (0.0, WIDTH_MM)):
        assert now.pose("s6").to_vehicle(p) == pytest.approx(was.pose("s6").to_vehicle(p), abs=1e-6)
    refused(refold, before, "s6", "nothing", says="no seam nothing")


def test_a_surface_apart_comes_back() -> None:
    before = shell()
    plan = sound(before, place_apart(before, "s4", (9000.0, 0.0), 90.0), "surfaces")
    assert lay_out(plan.surfaces).place("s4").to_sheet((0, 0)) == (9000.0, 0.0)
    assert place_apart(plan, "s4", None) == before
    refused(place_apart, before, "s1", (0.0, 0.0), says="Floor is the floor")


def test_what_is_drawn_lies_on_its_surface() -> None:
    before = shell()
    plan, box = draw_box(before, "s1", SQUARE, 850, "Kitchen")
    sound(before, plan, "boxes")
    assert find(plan, "boxes", box).height_mm == 850
    plan, arch = draw_box(plan, "s1", SQUARE, 300, kind="wheel_arch")
    assert find(plan, "boxes", arch).material == "steel"
    assert find(plan, "boxes", arch).name == "Wheel arch"
    plan, _ = draw_opening(plan, "s2", SQUARE)
    plan, _ = draw_zone(plan, "s2", SQUARE, "hot", clearance_mm=50)
    plan, _ = draw_panel(plan, "s2", SQUARE)
    plan, _ = draw_rib(plan, "s2", ((500, 0), (500, 1800)), 40, state="open")
    plan, _ = draw_metal_edge(plan, "s2", ((600, 0), (600, 1800), (600, 1800)))
    plan, _ = add_dimension(plan, "s2", (0, 0), (500, 0))
    plan, _ = draw_penetration(plan, "s2", (200, 200), "s3", (200, 200))
    plan, _ = draw_seam(plan, "s2", Inside(start_mm=(0, 10), end_mm=(10, 10)), "s3", OnEdge(edge="1"))
    collections = ("boxes", "openings", "zones", "panels", "ribs", "metal_edges", "dimensions", "penetrations", "seams")
    sound(before, plan, *collections)
    assert plan.metal_edges[0].line_mm == ((600.0, 0.0), (600.0, 1800.0))
    assert plan.openings[0].name == "Window"


def test_what_lies_beside_its_surface_is_refused() -> None:
    plan = shell()
    outside = ((2900, 100), (3200, 100), (3200, 500), (2900, 500))
    refused(draw_box, plan, "s1", outside, 850, "Kitchen", says="Kitchen does not lie on Floor")
    refused(draw_box, plan, "s1", SQUARE, -1, says="higher than 0 mm")
    refused(draw_box, plan, "s1", SQUARE, 850, "Kitchen", "castle", says="“Kitchen” cannot be so: kind")
    refused(draw_rib, plan, "s2", ((500, 0), (500, 0.1)), 40, says="two points")
    refused(draw_rib, plan, "s2", ((500, 0), (500, 900)), 0, says="wider than 0 mm")
    refused(draw_zone, plan, "s2", SQUARE, "hot", clearance_mm=float("inf"), says="clearance_mm")
    refused(draw_zone, plan, "s2", SQUARE, "hot", clearance_mm=-5, says="clearance mm")
    refused(draw_penetration, plan, "s2", (-50, 0), "s3", (0, 0), says="outside")
    refused(cut_hole, plan, "s2", outside, says="The hole in Vehicle left does not lie on Vehicle left")


def test_an_outline_is_drawn_anew() -> None:
    before, box = draw_box(shell(), "s1", SQUARE, 850)
    plan = sound(before, set_outline(before, box, SQUARE[:3]), "boxes")
    assert find(plan, "boxes", box).outline == SQUARE[:3]
    assert set_outline(before, box, SQUARE) is before
    refused(set_outline, before, "s1", SQUARE, says="no outline of its own")
    refused(set_outline, before, box, ((0, 0), (9000, 0), (0, 10)), says="does not lie on Floor")


def test_faces_of_a_box_look_away_from_it_and_are_sewn_to_each_other() -> None:
    before, box = draw_box(shell(), "s1", SQUARE, 400)
    plan, faces = raise_faces(before, box, (0.0, 6000.0))
    sound(before, plan, "surfaces", "boxes", "seams")
    assert find(plan, "boxes", box).faces == faces
    layout = lay_out(plan.surfaces)
    middle = (350.0, 300.0, 200.0)
    for face in faces:
        pose = layout.pose(face)
        there = pose.to_vehicle((10.0, 10.0))
        assert sum((m - t) * n for m, t, n in zip(middle, there, pose.normal, strict=True)) < 0
        assert layout.laid[face].apart
    upright = [seam for seam in plan.seams if seam.a in faces and seam.b in faces]
    assert len(upright) == 4
    refused(raise_faces, plan, box, says="raised already")
    below, _ = raise_faces(before, box)
    assert overlaps(lay_out(below.surfaces), below.surfaces) == ()


def test_a_picture_is_kept_once() -> None:
    before = shell()
    plan, _ = place_picture(before, "s2", b"\x89PNG....", "image/png", (0, 0), 2.5)
    plan, _ = place_picture(plan, "s3", b"\x89PNG....", "image/png", (0, 0), 2.5)
    assert len(plan.images) == 1
    assert len(plan.pictures) == 2
    sound(before, plan, "images", "pictures")
    refused(place_picture, before, "s2", b"GIF", "image/gif", (0, 0), 2.5, says="PNG or JPEG")
    refused(place_picture, before, "s2", b"", "image/png", (0, 0), 2.5, says="empty")
    refused(place_picture, before, "s2", b"x", "image/png", (0, 0), 0, says="mm per pixel")
