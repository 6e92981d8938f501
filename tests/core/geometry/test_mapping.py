"""Points across folds and seams, strokes, shortest ways, corners that move nothing."""

import csv
from math import dist, hypot
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from core.errors import EditRefused
from core.geometry.edges import (
    edge_at,
    edge_length_mm,
    insert_corner,
    line_of,
    outline_of,
    rebase_line,
    rebase_on_edge,
)
from core.geometry.foldout import lay_out
from core.geometry.joints import Joints, join, meeting_places, node_places, point_on
from core.geometry.plane import between
from core.geometry.polygon import signed_area_mm2
from core.geometry.seams import propose_seams
from core.geometry.shortest import shortest_surface_path, surface_path_length
from core.geometry.stroke import cut_stroke, true_length_mm
from core.model import Apart, InPenetration, Inside, OnEdge, OnLine, OnSurface, Penetration
from tests.helpers.boxes import box_room, folded, rectangle, sewn

ROOM = box_room(3000.0, 1700.0, 1900.0)
LAYOUT = lay_out(ROOM)
SEAMS = propose_seams(ROOM, LAYOUT, ())
JOINTS = join(ROOM, SEAMS)

REFERENCE = Path(__file__).parents[2] / "data" / "geometry_checks.csv"


def reference() -> dict[str, float]:
    """Values by the words in their note. Sources stand in the file."""
    with REFERENCE.open(encoding="utf-8", newline="") as file:
        rows = csv.DictReader(line for line in file if not line.startswith("#"))
        return {row["formula_or_note"]: float(row["value"]) for row in rows}


def published(words: str) -> float:
    (value,) = (value for note, value in reference().items() if words in note)
    return value


# --- H. E. Dudeney's spider and fly (1903): room 30 x 12 x 12, the spider in the middle of one end wall 1 below the
# ceiling, the fly in the middle of the other 1 above the floor. One unit is 100 mm here.

DUDENEY = box_room(3000.0, 1200.0, 1200.0)
DUDENEY_JOINTS = join(DUDENEY, propose_seams(DUDENEY, lay_out(DUDENEY), ()))
SPIDER, FLY = ("front", (600.0, 1100.0)), ("rear", (600.0, 100.0))


@pytest.mark.parametrize(
    ("faces", "words"), [(3, "over the ceiling"), (4, "four faces"), (5, "five faces"), (6, "five faces")]
)
def test_spider_and_fly_by_number_of_faces(faces: int, words: str) -> None:
    way = shortest_surface_path(DUDENEY_JOINTS, SPIDER, FLY, faces)
    assert way is not None
    assert way.length_mm / 100 == pytest.approx(published(words), abs=1e-3)  # the table cuts at 3 digits
    assert len(way.surfaces) == min(faces, 5)
    # The way in pieces is as long as the way as a whole, and the pieces join in the vehicle.
    assert sum(dist(p, q) for _, p, q in way.pieces) == pytest.approx(way.length_mm, abs=1e-9)
    layout = lay_out(DUDENEY)
    for (a, _, leaves), (b, enters, _) in zip(way.pieces, way.pieces[1:], strict=False):
        assert dist(layout.pose(a).to_vehicle(leaves), layout.pose(b).to_vehicle(enters)) < 1e-9


def test_spider_and_fly_by_a_side_wall() -> None:
    side = tuple(s for s in DUDENEY if s.id in {"floor", "front", "right", "rear"})
    seams = [s for s in propose_seams(DUDENEY, lay_out(DUDENEY), ()) if "right" in (s.a, s.b)]
    joints = join(side, seams)
    joints = Joints(joints.surfaces, tuple(j for j in joints.all if "floor" not in (j.a, j.b)))
    way = shortest_surface_path(joints, SPIDER, FLY)
    assert way is not None
    assert way.length_mm / 100 == pytest.approx(published("via a side wall"), abs=5e-4)


def test_a_wall_too_few_is_no_way() -> None:
    assert shortest_surface_path(DUDENEY_JOINTS, SPIDER, FLY, 2) is None
    assert shortest_surface_path(DUDENEY_JOINTS, ("nowhere", (0.0, 0.0)), FLY) is None


def test_cube_corner_to_corner() -> None:
    cube = box_room(1000.0, 1000.0, 1000.0)
    joints = join(cube, propose_seams(cube, lay_out(cube), ()))
    layout = lay_out(cube)
    opposite = layout.pose("ceiling").to_local((1000.0, 1000.0, 1000.0))[:2]
    far = shortest_surface_path(joints, ("floor", (0.0, 0.0)), ("ceiling", opposite))
    assert far is not None
    assert far.length_mm / 1000 == pytest.approx(published("unfolding two faces"), abs=1e-9)


def test_a_way_does_not_run_over_a_window() -> None:
    window = ((600.0, 800.0), (1100.0, 800.0), (1100.0, 1000.0), (600.0, 1000.0))
    surfaces = tuple(replace(s, holes=(window,)) if s.id == "front" else s for s in ROOM)
    joints = join(surfaces, SEAMS)
    ends = ("floor", (800.0, 850.0)), ("front", (850.0, 1500.0))
    way = shortest_surface_path(joints, *ends, max_faces=2)
    assert way is None
    clear = shortest_surface_path(JOINTS, *ends, max_faces=2)
    assert clear is not None
    assert clear.length_mm == pytest.approx(2300.0)


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(ROOM), st.sampled_from(ROOM), *(st.floats(0, 1) for _ in range(4)))
def test_ways_are_symmetric_and_no_shorter_than_through_the_air(a, b, s, t, u, v) -> None:  # type: ignore[no-untyped-def]
    p = (s * a.corners[2].at_mm[0], t * a.corners[2].at_mm[1])
    q = (u * b.corners[2].at_mm[0], v * b.corners[2].at_mm[1])
    there = shortest_surface_path(JOINTS, (a.id, p), (b.id, q))
    back = shortest_surface_path(JOINTS, (b.id, q), (a.id, p))
    assert there is not None
    assert back is not None
    assert there.length_mm == pytest.approx(back.length_mm, abs=1e-6)
    air = dist(LAYOUT.pose(a.id).to_vehicle(p), LAYOUT.pose(b.id).to_vehicle(q))
    assert there.length_mm >= air - 1e-6


# --- Points on several surfaces


def test_a_point_on_a_fold_lies_on_both_surfaces() -> None:
    places = node_places(JOINTS, OnLine(surface="floor", edge="floor.c", at_mm=500.0))
    assert {spot.surface: spot.point for spot in places} == {"floor": (2500.0, 1700.0), "right": (2500.0, 0.0)}
    back = node_places(JOINTS, OnLine(surface="right", edge="right.a", at_mm=2500.0))
    assert {spot.surface: spot.point for spot in back} == {"floor": (2500.0, 1700.0), "right": (2500.0, 0.0)}


def test_three_surfaces_meet_in_a_corner_once_each() -> None:
    for surface in ROOM:
        for corner in surface.corners:
            places = meeting_places(JOINTS, surface.id, corner.at_mm)
            assert len({spot.surface for spot in places}) == len(places) == 3
            where = LAYOUT.pose(surface.id).to_vehicle(corner.at_mm)
            for spot in places:
                assert dist(LAYOUT.pose(spot.surface).to_vehicle(spot.point), where) < 1e-9


@given(st.sampled_from(JOINTS.all), st.floats(0, 1))
def test_every_place_of_a_point_is_one_place_in_the_vehicle(joint, t) -> None:  # type: ignore[no-untyped-def]
    p = between(*joint.a_line, t)
    places = meeting_places(JOINTS, joint.a, p)
    where = LAYOUT.pose(joint.a).to_vehicle(p)
    assert joint.b in {spot.surface for spot in places}
    for spot in places:  # half a millimetre beside a corner counts as the corner
        assert dist(LAYOUT.pose(spot.surface).to_vehicle(spot.point), where) < 1.0
        assert joint.a in {back.surface for back in meeting_places(JOINTS, spot.surface, spot.point)}


def test_points_elsewhere_lie_on_one_surface() -> None:
    assert len(node_places(JOINTS, OnSurface(surface="floor", at_mm=(1000.0, 800.0)))) == 1
    assert node_places(JOINTS, OnSurface(surface="gone", at_mm=(0.0, 0.0))) == ()
    assert node_places(JOINTS, OnLine(surface="floor", edge="gone", at_mm=0.0)) == ()
    assert point_on(JOINTS, OnSurface(surface="floor", at_mm=(1000.0, 800.0)), "right") is None
    assert point_on(JOINTS, OnLine(surface="floor", edge="floor.c", at_mm=500.0), "right") == (2500.0, 0.0)


def test_a_node_in_a_penetration_lies_on_both_surfaces() -> None:
    hole = Penetration(id="p1", a="floor", a_mm=(500.0, 1700.0), b="left", b_mm=(40.0, 50.0))
    spots = node_places(JOINTS, InPenetration(penetration="p1"), {"p1": hole})
    assert [(s.surface, s.point) for s in spots] == [
        ("floor", (500.0, 1700.0)),
        ("right", (500.0, 0.0)),
        ("left", (40.0, 50.0)),
    ]
    assert node_places(JOINTS, InPenetration(penetration="gone"), {"p1": hole}) == ()
    assert point_on(JOINTS, InPenetration(penetration="p1"), "left", penetrations={"p1": hole}) == (40.0, 50.0)


def test_seams_of_unequal_length_map_from_the_matched_start() -> None:
    """1,895 mm against 1,900: 5 mm are let pass, and both ends still meet."""
    short = rectangle("rear", 1700.0, 1895.0, fold=folded("rear", "a", "floor", "b"))
    joints = join((*(s for s in ROOM if s.id != "rear"), short), (sewn("s", "rear", "d", "left", "d"),))
    # The start of rear.d is its upper end, which is matched with the end of left.d, its lower one.
    assert {s.surface: s.point for s in meeting_places(joints, "rear", (0.0, 1895.0))}["left"] == pytest.approx(
        (0.0, 0.0)
    )


def test_seams_that_wind_for_ever_end() -> None:
    """Two strips sewn with a shift wind round each other like a staircase."""
    a, b = rectangle("a", 100_000.0, 50.0, role="floor"), rectangle("b", 100_000.0, 50.0)
    shifted = replace(
        sewn("s2", "a", "c", "b", "a"), a_line=OnEdge(edge="a.c"), b_line=OnEdge(edge="b.a", from_mm=0.0, to_mm=99_980)
    )
    winding = [shifted]
    for number, shift in enumerate((20.0, 40.0, 60.0)):
        line = OnEdge(edge="a.c", from_mm=shift, to_mm=90_000.0 + shift)
        winding.append(
            replace(shifted, id=f"w{number}", a_line=line, b_line=OnEdge(edge="b.a", from_mm=shift, to_mm=90_000.0))
        )
    assert len(meeting_places(join((a, b), winding), "a", (50_000.0, 50.0))) <= 70


# --- Strokes


def test_a_stroke_over_two_folds_has_the_length_on_the_sheet() -> None:
    """From the floor up the right wall to the ceiling: one straight line on the sheet."""
    start, end = (500.0, 300.0), (900.0, 1700.0 + 1900.0 + 600.0)
    stroke = cut_stroke(JOINTS, LAYOUT, (start, end))
    assert [piece.surface for piece in stroke.pieces] == ["floor", "right", "ceiling"]
    assert [(p.via_in, p.via_out) for p in stroke.pieces] == [(None, "right"), ("right", "ceiling"), ("ceiling", None)]
    assert stroke.message == ""
    assert true_length_mm(stroke.pieces) == pytest.approx(hypot(400.0, 3900.0), abs=1e-6)
    for before, after in zip(stroke.pieces, stroke.pieces[1:], strict=False):
        where = LAYOUT.pose(before.surface).to_vehicle(before.points[-1])
        assert dist(where, LAYOUT.pose(after.surface).to_vehicle(after.points[0])) < 1e-6


def test_a_stroke_stops_at_a_seam_and_goes_on_where_it_says() -> None:
    """Up the left wall, over the seam to the ceiling, which is drawn above the right wall."""
    first = cut_stroke(JOINTS, LAYOUT, ((1000.0, 100.0), (1000.0, -2500.0)))
    assert [piece.surface for piece in first.pieces] == ["floor", "left"]
    (onward,) = first.goes_on
    assert onward.surface == "ceiling"
    assert "goes on at ceiling, which is drawn elsewhere" in first.message
    on_sheet = LAYOUT.place("ceiling").to_sheet(onward.point)
    second = cut_stroke(JOINTS, LAYOUT, (on_sheet, (on_sheet[0], on_sheet[1] - 400.0)), "ceiling")
    assert second.message == ""
    # By hand: 100 on the floor, 1,900 up the wall, 400 over the ceiling.
    assert true_length_mm(first.pieces) + true_length_mm(second.pieces) == pytest.approx(2400.0, abs=1e-6)
    assert LAYOUT.pose("ceiling").to_vehicle(onward.point) == pytest.approx((1000.0, 0.0, 1900.0))


def test_a_stroke_out_of_everything_stops_and_says_why() -> None:
    bare = join(ROOM[:2], ())
    layout = lay_out(ROOM[:2])
    stroke = cut_stroke(bare, layout, ((500.0, 500.0), (-700.0, 500.0), (500.0, 900.0)))
    assert [piece.points for piece in stroke.pieces] == [((500.0, 500.0), (0.0, 500.0))]
    assert stroke.goes_on == ()
    assert stroke.message == "Stops at the edge of floor: no fold or seam joins it to another surface there."
    assert cut_stroke(bare, layout, ((-50.0, -5000.0), (0.0, 0.0))).message == (
        "The line starts outside every surface."
    )
    assert cut_stroke(bare, layout, ()).message == "Nothing was drawn."


def test_a_stroke_stops_where_no_wire_may_pass() -> None:
    for passage, words in (("none", "no wire may pass"), ("moving_joint", "moving joint")):
        wall = replace(ROOM[3], fold=replace(ROOM[3].fold, passage=passage))
        joints = join((*ROOM[:3], wall, *ROOM[4:]), ())
        stroke = cut_stroke(joints, LAYOUT, ((500.0, 1500.0), (500.0, 2500.0)))
        assert [piece.surface for piece in stroke.pieces] == ["floor"]
        assert words in stroke.message
    jointed = replace(ROOM[3], fold=replace(ROOM[3].fold, passage="moving_joint", joint="mj1"))
    joints = join((*ROOM[:3], jointed, *ROOM[4:]), ())
    assert len(cut_stroke(joints, LAYOUT, ((500.0, 1500.0), (500.0, 2500.0))).pieces) == 2


def test_a_stroke_stops_at_a_hole() -> None:
    window = ((1000.0, 500.0), (1500.0, 500.0), (1500.0, 900.0), (1000.0, 900.0))
    surfaces = tuple(replace(s, holes=(window,)) if s.id == "right" else s for s in ROOM)
    stroke = cut_stroke(join(surfaces, SEAMS), LAYOUT, ((1200.0, 1500.0), (1200.0, 3000.0)))
    assert stroke.message == "Stops at a hole in right."
    assert stroke.pieces[-1].points[-1] == pytest.approx((1200.0, 500.0))


def test_a_stroke_to_a_surface_apart_stops_at_the_fold() -> None:
    surfaces = tuple(replace(s, apart=Apart(at_mm=(9000.0, 0.0))) if s.id == "right" else s for s in ROOM)
    layout = lay_out(surfaces)
    stroke = cut_stroke(join(surfaces, SEAMS), layout, ((500.0, 1500.0), (500.0, 2500.0)))
    assert [piece.surface for piece in stroke.pieces] == ["floor"]
    assert [(m.surface, m.kind, m.point) for m in stroke.goes_on] == [("right", "fold", pytest.approx((500.0, 0.0)))]


def test_a_stroke_that_ends_on_a_fold_says_what_lies_there() -> None:
    stroke = cut_stroke(JOINTS, LAYOUT, ((500.0, 1500.0), (500.0, 1700.0)))
    assert [piece.surface for piece in stroke.pieces] == ["floor"]
    assert [m.surface for m in stroke.goes_on] == ["right"]
    assert stroke.message == ""


def test_a_stroke_along_a_fold_stays_on_its_surface() -> None:
    stroke = cut_stroke(JOINTS, LAYOUT, ((500.0, 1500.0), (500.0, 1700.0), (2500.0, 1700.0), (2500.0, 1600.0)))
    assert [piece.surface for piece in stroke.pieces] == ["floor"]
    assert true_length_mm(stroke.pieces) == pytest.approx(200.0 + 2000.0 + 100.0)


def test_a_stroke_through_the_corner_of_four_surfaces() -> None:
    """Four floor boards, folded flat; a line straight over the point where they meet."""
    a = rectangle("a", 100.0, 100.0, role="floor")
    b = rectangle("b", 100.0, 100.0, fold=folded("b", "d", "a", "b", 0.0))
    c = rectangle("c", 100.0, 100.0, fold=folded("c", "a", "a", "c", 0.0))
    d = rectangle("d", 100.0, 100.0, fold=folded("d", "a", "b", "c", 0.0))
    surfaces = (a, b, c, d)
    layout = lay_out(surfaces)
    joints = join(surfaces, propose_seams(surfaces, layout, ()))
    stroke = cut_stroke(joints, layout, ((50.0, 50.0), (150.0, 150.0)))
    assert [piece.surface for piece in stroke.pieces] == ["a", "d"]
    assert true_length_mm(stroke.pieces) == pytest.approx(hypot(100, 100))


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(-2500, 5500), st.floats(-2500, 6000)), min_size=1, max_size=7))
def test_any_stroke_ends_and_its_pieces_join(points) -> None:  # type: ignore[no-untyped-def]
    stroke = cut_stroke(JOINTS, LAYOUT, points)
    total = sum(dist(p, q) for p, q in zip(points, points[1:], strict=False))
    assert true_length_mm(stroke.pieces) <= total + 1e-6
    if not stroke.message:
        assert true_length_mm(stroke.pieces) == pytest.approx(total, abs=1e-5)
    for before, after in zip(stroke.pieces, stroke.pieces[1:], strict=False):
        where = LAYOUT.pose(before.surface).to_vehicle(before.points[-1])
        assert dist(where, LAYOUT.pose(after.surface).to_vehicle(after.points[0])) < 1e-5


# --- Length of a way given by its corners


def test_length_over_two_folds_and_a_seam_by_hand() -> None:
    """Floor middle to the left wall, up, over the seam, to the middle of the ceiling: 850 + 1,900 + 850."""
    ceiling_edge = point_on(JOINTS, OnLine(surface="left", edge="left.c", at_mm=1500.0), "ceiling")
    assert ceiling_edge is not None
    path = [
        ("floor", (1500.0, 850.0)),
        ("floor", (1500.0, 0.0)),
        ("left", (1500.0, 0.0)),
        ("left", (1500.0, 1900.0)),
        ("ceiling", ceiling_edge),
        ("ceiling", (1500.0, 850.0)),
    ]
    assert surface_path_length(JOINTS, path) == pytest.approx(3600.0)
    # Without the corners on the lines the straight way is found, here the same one.
    assert surface_path_length(JOINTS, [path[0], ("left", (1500.0, 950.0)), path[-1]]) == pytest.approx(3600.0)
    assert surface_path_length(JOINTS, [("floor", (10.0, 10.0)), ("gone", (0.0, 0.0))]) is None


# --- A corner more moves nothing


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(ROOM), st.sampled_from("abcd"), st.floats(0.01, 0.99), st.floats(0, 1))
def test_inserting_a_corner_moves_nothing(surface, key, share, node_share) -> None:  # type: ignore[no-untyped-def]
    edge = f"{surface.id}.{key}"
    size = edge_length_mm(surface, edge)
    assert size is not None
    split = size * share
    changed = insert_corner(surface, edge, split, "new")

    def line(owner, one):  # type: ignore[no-untyped-def]
        return rebase_line(one, surface, edge, split, "new") if owner == surface.id else one

    surfaces = tuple(
        replace(s, fold=replace(s.fold, parent_line=line(s.fold.parent, s.fold.parent_line))) if s.fold else s
        for s in (changed if s.id == surface.id else s for s in ROOM)
    )
    seams = tuple(replace(s, a_line=line(s.a, s.a_line), b_line=line(s.b, s.b_line)) for s in SEAMS)
    layout = lay_out(surfaces)
    assert layout.problems == ()
    assert signed_area_mm2(outline_of(changed)) == pytest.approx(signed_area_mm2(outline_of(surface)))
    for s in ROOM:
        for corner in s.corners:
            assert dist(layout.pose(s.id).to_vehicle(corner.at_mm), LAYOUT.pose(s.id).to_vehicle(corner.at_mm)) < 1e-9
            assert dist(layout.place(s.id).to_sheet(corner.at_mm), LAYOUT.place(s.id).to_sheet(corner.at_mm)) < 1e-9
    joints = join(surfaces, seams)
    assert len(joints.all) == len(JOINTS.all)
    at = size * node_share
    before = node_places(JOINTS, OnLine(surface=surface.id, edge=edge, at_mm=at))
    new_edge, new_at = rebase_on_edge(edge, at, edge, split, "new")
    after = node_places(joints, OnLine(surface=surface.id, edge=new_edge, at_mm=new_at))
    assert [spot.surface for spot in before] == [spot.surface for spot in after]
    for old, new in zip(before, after, strict=True):
        assert dist(old.point, new.point) < 1e-9


def test_stretches_stay_on_their_half() -> None:
    floor = ROOM[0]
    args = (floor, "floor.a", 1000.0, "new")
    assert rebase_line(OnEdge(edge="floor.a", to_mm=800.0), *args) == OnEdge(edge="floor.a", to_mm=800.0)
    assert rebase_line(OnEdge(edge="floor.a", to_mm=1000.0), *args) == OnEdge(edge="floor.a")
    assert rebase_line(OnEdge(edge="floor.a", from_mm=1200.0), *args) == OnEdge(edge="new", from_mm=200.0)
    assert rebase_line(OnEdge(edge="floor.a", from_mm=1200.0, to_mm=1500.0), *args) == OnEdge(
        edge="new", from_mm=200.0, to_mm=500.0
    )
    assert rebase_line(OnEdge(edge="floor.b"), *args) == OnEdge(edge="floor.b")
    spanning = rebase_line(OnEdge(edge="floor.a"), *args)
    assert isinstance(spanning, Inside)
    assert line_of(floor, spanning) == ((0.0, 0.0), (3000.0, 0.0))


@pytest.mark.parametrize(("edge", "at_mm", "new"), [("gone", 5.0, "n"), ("floor.a", 0.0, "n"), ("floor.a", 9e3, "n")])
def test_corners_that_make_no_sense_are_refused(edge: str, at_mm: float, new: str) -> None:
    with pytest.raises(EditRefused):
        insert_corner(ROOM[0], edge, at_mm, new)
    with pytest.raises(EditRefused, match="already has"):
        insert_corner(ROOM[0], "floor.a", 5.0, "floor.b")


def test_the_edge_at_a_point() -> None:
    assert edge_at(ROOM[0], (1000.0, 0.3)) == ("floor.a", 1000.0)
    assert edge_at(ROOM[0], (3000.0, 0.0)) == ("floor.b", 0.0)
    assert edge_at(ROOM[0], (1000.0, 5.0)) is None
    assert edge_at(ROOM[0], (1000.0, 5.0), within_mm=10.0) == ("floor.a", 1000.0)
