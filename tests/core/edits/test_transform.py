"""Move, turn, mirror, copy, array; trim, split, join, offset, distances; faces that follow; surfaces cut in two."""

from math import cos, radians, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.edits.body import add_dimension, draw_box, draw_metal_edge, draw_opening, draw_rib, raise_faces
from core.edits.channels import draw_channel
from core.edits.devices import place_device
from core.edits.faces import raise_faces_and_top, resize_box
from core.edits.reshaping import extend, join_lines, offset, set_distance, split_line, trim
from core.edits.splitting import split_surface
from core.edits.transform import (
    array_along,
    array_grid,
    array_round,
    copy_by,
    middle_of,
    mirror_at,
    mirror_copy,
    move,
    turn_about,
)
from core.files.library import load_library
from core.geometry.edges import outline_of
from core.geometry.foldout import lay_out, overlaps
from core.geometry.from_edge import along_edge, at_distance, at_distances, nearest_edge
from core.geometry.motion import Motion, mirror, shift, turn
from core.geometry.plane import distance_mm
from core.geometry.polygon import signed_area_mm2
from core.geometry.seams import seam_state
from core.model import Plan, find
from tests.core.edits.checks import refused, sound
from tests.helpers.vans import shell

LIBRARY = load_library()
BOX = ((500.0, 300.0), (1_100.0, 300.0), (1_100.0, 700.0), (500.0, 700.0))


def near(got, wanted):  # type: ignore[no-untyped-def]
    """Points that agree to a thousandth of a millimetre."""
    assert len(got) == len(wanted)
    for p, q in zip(got, wanted, strict=True):
        assert p == pytest.approx(q, abs=1e-3)


def floor_of(plan: Plan) -> str:
    return next(surface.id for surface in plan.surfaces if surface.fold is None)


def wall_of(plan: Plan) -> str:
    return next(surface.id for surface in plan.surfaces if surface.role == "wall")


def with_box() -> tuple[Plan, str]:
    plan = shell()
    return draw_box(plan, floor_of(plan), BOX, 450, "Bench")


# --- motions ----------------------------------------------------------------------------------------------------------

numbers = st.floats(-3_000, 3_000)
points = st.tuples(numbers, numbers)
motions = st.one_of(
    st.builds(shift, points),
    st.builds(turn, points, st.floats(-360, 360)),
    st.builds(
        lambda p, deg: mirror((p, (p[0] + cos(radians(deg)), p[1] + sin(radians(deg))))), points, st.floats(0, 360)
    ),
)


@given(motions, motions, points, points)
def test_motions_keep_lengths_and_can_be_joined_and_undone(one: Motion, two: Motion, p, q) -> None:  # type: ignore[no-untyped-def]
    assert distance_mm(one.at(p), one.at(q)) == pytest.approx(distance_mm(p, q), abs=1e-6)
    assert one.then(two).at(p) == pytest.approx(two.at(one.at(p)), abs=1e-5)
    assert one.inverse().at(one.at(p)) == pytest.approx(p, abs=1e-5)


def test_a_quarter_turn_and_a_mirror_by_hand() -> None:
    assert turn((100, 0), 90).at((300, 0)) == pytest.approx((100, 200))
    assert mirror(((0, 0), (0, 5))).at((30, 40)) == pytest.approx((-30, 40))
    assert mirror(((0, 0), (1, 1))).at((30, 40)) == pytest.approx((40, 30))


# --- move, turn, mirror -----------------------------------------------------------------------------------------------


def test_a_box_on_a_wall_moves_as_it_is_seen_on_the_sheet() -> None:
    plan = shell()
    wall = wall_of(plan)
    plan, box = draw_box(plan, wall, ((200, 200), (500, 200), (500, 500), (200, 500)), 300)
    before = lay_out(plan.surfaces).place(wall).line_to_sheet(find(plan, "boxes", box).outline)
    after = move(plan, (box,), (120, 45))
    sound(plan, after, "boxes")
    there = lay_out(after.surfaces).place(wall).line_to_sheet(find(after, "boxes", box).outline)
    near(there, [(x + 120, y + 45) for x, y in before])
    refused(move, plan, (box,), (50_000, 0), says="does not lie on")
    refused(move, plan, (floor_of(plan),), (10, 0), says="apart")


def test_turning_and_mirroring_keep_an_outline_counter_clockwise() -> None:
    plan, box = with_box()
    middle = middle_of(plan, (box,))
    turned = find(turn_about(plan, (box,), middle, 90), "boxes", box).outline
    near(sorted(turned), [(600, 200), (600, 800), (1_000, 200), (1_000, 800)])
    assert signed_area_mm2(turned) == pytest.approx(600 * 400)
    mirrored = find(mirror_at(plan, (box,), ((1_100, 0), (1_100, 1))), "boxes", box).outline
    near(sorted(mirrored), [(1_100, 300), (1_100, 700), (1_700, 300), (1_700, 700)])
    assert signed_area_mm2(mirrored) == pytest.approx(600 * 400)
    refused(mirror_at, plan, (box,), ((5, 5), (5, 5)), says="lie apart")


def test_a_device_turns_with_its_place() -> None:
    plan = shell()
    floor = floor_of(plan)
    plan, device = place_device(plan, LIBRARY.devices[0], floor, (1_000, 500))
    after = find(turn_about(plan, (device,), (1_000, 300), 90), "devices", device)
    assert after.at_mm == pytest.approx((800, 300))
    assert after.turn_deg == 90
    flipped = find(mirror_at(plan, (device,), ((1_100, 0), (1_100, 1))), "devices", device)
    assert flipped.at_mm == pytest.approx((1_200, 500))
    assert flipped.turn_deg == 180  # its right-hand side points left


def test_a_channel_moves_with_its_own_nodes_and_leaves_shared_ones() -> None:
    plan = shell()
    plan, (first,) = draw_channel(plan, ((300, 300), (900, 400), (1_500, 300)))
    after = move(plan, (first,), (50, 60))
    moved = find(after, "channels", first)
    assert moved.via_mm == ((950, 460),)
    assert find(after, "nodes", moved.start).place.at_mm == (350, 360)
    plan, (second,) = draw_channel(plan, ((1_500, 300), (1_500, 800)))
    after = move(plan, (second,), (40, 0))
    shared = find(plan, "channels", first).end
    assert find(after, "nodes", shared) == find(plan, "nodes", shared)
    assert find(after, "nodes", find(after, "channels", second).end).place.at_mm == (1_540, 800)


# --- copies -----------------------------------------------------------------------------------------------------------


def test_copies_have_names_of_their_own_and_no_faces() -> None:
    plan, box = with_box()
    plan, _ = raise_faces(plan, box)
    after, (copy,) = copy_by(plan, (box,), (700, 100))
    sound(plan, after, "boxes")
    assert find(after, "boxes", copy).name == "Bench 2"
    assert find(after, "boxes", copy).faces == ()
    assert find(after, "boxes", copy).outline[0] == (1_200, 400)
    refused(copy_by, plan, (floor_of(plan),), (1, 1), says="cannot be copied")


def test_arrays() -> None:
    plan = shell()
    wall = wall_of(plan)
    plan, rib = draw_rib(plan, wall, ((200, 50), (200, 700)), 60, "Rib")
    after, new = array_along(plan, (rib,), (-300, 0), 4)
    layout = lay_out(after.surfaces)
    xs = [layout.place(wall).to_sheet(find(after, "ribs", each).line_mm[0])[0] for each in (rib, *new)]
    assert [b - a for a, b in zip(xs, xs[1:], strict=False)] == pytest.approx([-300] * 3)
    assert [find(after, "ribs", each).name for each in new] == ["Rib 2", "Rib 3", "Rib 4"]
    plan, device = place_device(plan, LIBRARY.devices[0], floor_of(plan), (400, 400), "Light")
    _, six = array_grid(plan, (device,), ((300, 0), 3), ((0, 300), 2))
    assert len(six) == 5
    round_plan, three = array_round(plan, (device,), (800, 400), 4, 90)
    assert [find(round_plan, "devices", each).at_mm for each in three] == [
        pytest.approx(p) for p in ((800, 0), (1_200, 400), (800, 800))
    ]
    refused(array_along, plan, (rib,), (-300, 0), 1, says="two at least")
    refused(array_along, plan, (rib,), (3, 0), 9_999, says="more than one vehicle")
    refused(array_along, plan, (rib,), (9_000, 0), 2, says="does not lie on")


def test_a_mirrored_copy_stands_on_the_other_side() -> None:
    plan, box = with_box()
    plan, (copy,) = mirror_copy(plan, (box,), ((0, 800), (1, 800)))
    near(sorted(find(plan, "boxes", copy).outline), [(500, 900), (500, 1_300), (1_100, 900), (1_100, 1_300)])


# --- faces ------------------------------------------------------------------------------------------------------------


def closed(plan: Plan) -> None:
    layout = lay_out(plan.surfaces)
    assert not layout.problems
    for seam in plan.seams:
        assert seam_state(seam, plan.surfaces, layout).closes


def test_faces_with_a_top_close_like_a_box_and_lie_tidily() -> None:
    plan, box = with_box()
    after, faces = raise_faces_and_top(plan, box)
    sound(plan, after, "surfaces", "seams", "boxes")
    assert len(faces) == 5
    assert overlaps(lay_out(after.surfaces), after.surfaces) == ()
    closed(after)
    layout = lay_out(after.surfaces)
    top = find(after, "surfaces", faces[-1])
    corners = [layout.pose(top.id).to_vehicle(c.at_mm) for c in top.corners]
    assert corners == [pytest.approx((x, y, 450)) for x, y in BOX]
    assert layout.pose(top.id).normal == pytest.approx((0, 0, 1))
    # Three sides of the top are sewn to the other faces, the fourth is folded.
    assert sum(top.id in (seam.a, seam.b) for seam in after.seams) == 3


def test_faces_follow_a_box_that_moves_turns_and_grows() -> None:
    plan, box = with_box()
    plan, faces = raise_faces_and_top(plan, box)
    for after in (
        move(plan, (box,), (200, -100)),
        turn_about(plan, (box,), (800, 500), 30),
        resize_box(plan, box, ((500, 300), (1_300, 300), (1_300, 800), (500, 800)), 700),
    ):
        record = find(after, "boxes", box)
        closed(after)
        layout = lay_out(after.surfaces)
        for face, (x, y) in zip(faces[:4], record.outline, strict=True):
            foot = layout.pose(face).to_vehicle(find(after, "surfaces", face).corners[0].at_mm)
            assert foot == pytest.approx((x, y, 0), abs=1e-3)
        lid = layout.pose(faces[4]).to_vehicle(find(after, "surfaces", faces[4]).corners[2].at_mm)
        assert lid == pytest.approx((*record.outline[2], record.height_mm), abs=1e-3)
    refused(mirror_at, plan, (box,), ((800, 0), (800, 1)), says="faces are raised")
    refused(resize_box, plan, box, ((500, 300), (1_300, 300), (900, 800)), says="keeps that many")
    refused(resize_box, plan, box, BOX, 0, says="higher than 0")


# --- lines ------------------------------------------------------------------------------------------------------------


def test_trim_takes_the_end_or_the_middle() -> None:
    plan = shell()
    floor = floor_of(plan)
    plan, _ = draw_opening(plan, floor, BOX, kind="hatch")
    plan, edge = draw_metal_edge(plan, floor, ((200, 500), (1_500, 500)))
    end = trim(plan, edge, (300, 510))
    assert find(end, "metal_edges", edge).line_mm == ((500, 500), (1_500, 500))
    middle = trim(plan, edge, (800, 500))
    assert [each.line_mm for each in middle.metal_edges] == [((200, 500), (500, 500)), ((1_100, 500), (1_500, 500))]
    sound(plan, middle, "metal_edges")
    plan, loose = draw_metal_edge(plan, floor, ((200, 100), (900, 100)))
    refused(trim, plan, loose, (300, 100), says="crosses no edge")


def test_extend_goes_on_to_the_next_edge() -> None:
    plan = shell()
    floor = floor_of(plan)
    plan, edge = draw_metal_edge(plan, floor, ((200, 500), (300, 500)))
    plan, _ = draw_opening(plan, floor, BOX, kind="hatch")
    assert find(extend(plan, edge, 1), "metal_edges", edge).line_mm == ((200, 500), (500, 500))
    assert find(extend(plan, edge, 0), "metal_edges", edge).line_mm == ((0, 500), (300, 500))


def test_split_and_join_a_line_give_it_back() -> None:
    plan = shell()
    plan, rib = draw_rib(plan, floor_of(plan), ((200, 200), (900, 200), (900, 600)), 60)
    parts, second = split_line(plan, rib, 800)
    assert find(parts, "ribs", rib).line_mm == ((200, 200), (900, 200), (900, 300))
    assert find(parts, "ribs", second).line_mm == ((900, 300), (900, 600))
    whole = join_lines(parts, rib, second)
    assert whole.ribs == plan.ribs
    refused(split_line, plan, rib, 5_000, says="cannot be split")
    other, far = draw_rib(plan, floor_of(plan), ((300, 900), (700, 900)), 60)
    refused(join_lines, other, rib, far, says="mm apart")


def test_offset_outwards_and_beside() -> None:
    plan, box = with_box()
    plan, copy = offset(plan, box, 50)
    assert sorted(find(plan, "boxes", copy).outline) == [(450, 250), (450, 750), (1_150, 250), (1_150, 750)]
    plan, rib = draw_rib(plan, floor_of(plan), ((200, 900), (900, 900)), 60)
    plan, beside = offset(plan, rib, 100)
    assert find(plan, "ribs", beside).line_mm == ((200, 1_000), (900, 1_000))
    refused(offset, plan, box, -200, says="no room 200 mm inside")
    refused(offset, plan, box, -400, says="no room 400 mm inside")


def test_a_distance_from_an_edge() -> None:
    plan, box = with_box()
    edge = ((0.0, 0.0), (0.0, 2_000.0))
    after = find(set_distance(plan, box, edge, 300), "boxes", box).outline
    assert sorted(after) == [(300, 300), (300, 700), (900, 300), (900, 700)]
    refused(set_distance, plan, box, ((1, 1), (1, 1)), 300, says="no length")
    refused(set_distance, plan, box, edge, -1, says="0 mm or more")
    sill = ((0.0, 0.0), (4_000.0, 0.0))
    assert at_distances((edge, 300), (sill, 850), (1_000, 1_000)) == pytest.approx((300, 850))
    assert at_distances((edge, 300), (edge, 850), (1_000, 1_000)) is None
    assert at_distance(edge, 300, (700, 55)) == pytest.approx((300, 55))
    assert along_edge(sill, 1_200, 90, (0, -5)) == pytest.approx((1_200, -90))
    assert nearest_edge((edge, sill), (40, 500), 60) == edge
    assert nearest_edge((edge, sill), (400, 500), 60) is None


# --- surfaces ---------------------------------------------------------------------------------------------------------


def test_a_wall_cut_in_two_keeps_everything_where_it_was() -> None:
    plan = shell()
    wall = wall_of(plan)
    plan, box = draw_box(plan, wall, ((1_300, 200), (1_500, 200), (1_500, 500), (1_300, 500)), 300)
    plan, other = draw_box(plan, wall, ((100, 200), (300, 200), (300, 500), (100, 500)), 300)
    plan, dim = add_dimension(plan, wall, (1_300, 200), (1_500, 200))
    layout = lay_out(plan.surfaces)
    seen = {each: layout.place(wall).line_to_sheet(find(plan, "boxes", each).outline) for each in (box, other)}
    high = max(y for _, y in outline_of(find(plan, "surfaces", wall)))
    after, new = split_surface(plan, wall, ((1_000, 0), (1_000, high)))
    sound(plan, after, "surfaces", "seams", "boxes", "dimensions")
    closed(after)
    assert {find(after, "boxes", box).surface, find(after, "boxes", other).surface} == {wall, new}
    assert find(after, "dimensions", dim).surface == find(after, "boxes", box).surface
    layout = lay_out(after.surfaces)
    for each in (box, other):
        record = find(after, "boxes", each)
        near(layout.place(record.surface).line_to_sheet(record.outline), seen[each])
    areas = [signed_area_mm2(outline_of(find(after, "surfaces", each))) for each in (wall, new)]
    assert sum(areas) == pytest.approx(signed_area_mm2(outline_of(find(plan, "surfaces", wall))))
    refused(split_surface, plan, wall, ((1_400, 0), (1_400, high)), says="across the line")
    refused(split_surface, plan, wall, ((1, 1), (1, 1)), says="no length")
