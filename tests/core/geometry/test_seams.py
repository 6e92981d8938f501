"""Seams proposed, judged and lettered; re-folding."""

from math import dist, hypot, radians, sin

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from core.errors import EditRefused
from core.geometry.edges import edge_length_mm
from core.geometry.foldout import lay_out
from core.geometry.joints import join, meeting_places
from core.geometry.refold import refold
from core.geometry.seams import propose_seams, seam_letters, seam_of_edges, seam_state
from core.model import Corner, Fold, Inside, OnEdge, Seam, Surface
from tests.helpers.boxes import box_room, folded, frustum, rectangle, sewn

ROOM = box_room(3000.0, 1700.0, 1900.0)


def test_a_box_gets_its_seven_seams_and_they_close() -> None:
    """A box has twelve edges; five are folds."""
    layout = lay_out(ROOM)
    seams = propose_seams(ROOM, layout, ())
    pairs = {frozenset((seam.a, seam.b)) for seam in seams}
    assert len(seams) == 7
    ends = {frozenset((wall, end)) for wall in ("left", "right", "ceiling") for end in ("front", "rear")}
    assert pairs == ends | {frozenset(("left", "ceiling"))}
    for seam in seams:
        state = seam_state(seam, ROOM, layout)
        assert state.closes
        assert state.message == ""
        assert max(state.gap_start_mm, state.gap_end_mm) < 1e-9
        assert state.length_a_mm == state.length_b_mm


def test_what_is_sewn_is_not_proposed_again() -> None:
    layout = lay_out(ROOM)
    seams = propose_seams(ROOM, layout, ())
    assert propose_seams(ROOM, layout, seams) == ()
    again = propose_seams(ROOM, layout, seams[1:], taken={"seam1"})
    assert [(s.a, s.b) for s in again] == [(seams[0].a, seams[0].b)]
    assert again[0].id not in {"seam1", *(s.id for s in seams[1:])}


@settings(max_examples=25, deadline=None)
@given(st.integers(3, 8), st.floats(500, 2000), st.floats(0.05, 0.5), st.floats(1500, 2500))
def test_every_edge_of_a_tent_is_found(sides: int, side_mm: float, shrink: float, slant_mm: float) -> None:
    surfaces = frustum(sides, side_mm, shrink, slant_mm)
    layout = lay_out(surfaces)
    seams = propose_seams(surfaces, layout, ())
    # 3n edges, of which n + 1 are folds.
    assert len(seams) == 2 * sides - 1
    assert all(seam_state(seam, surfaces, layout).closes for seam in seams)


def test_two_rear_doors_on_one_roof_edge() -> None:
    """Doors turn on their pillars: they hang on the side walls, and meet the roof with half its edge each."""
    doors = (
        rectangle("door left", 850.0, 1900.0, role="door", fold=folded("door left", "b", "left", "d")),
        rectangle("door right", 850.0, 1900.0, role="door", fold=folded("door right", "d", "right", "b")),
    )
    surfaces = tuple(s for s in ROOM if s.id != "rear") + doors
    layout = lay_out(surfaces)
    # Facing the rear, the vehicle's right is on the left hand: the right door's left edge stands at its pillar.
    assert layout.pose("door right").to_vehicle((0.0, 1900.0)) == pytest.approx((3000.0, 1700.0, 1900.0))
    assert layout.pose("door right").normal == pytest.approx((-1.0, 0.0, 0.0), abs=1e-12)
    seams = propose_seams(surfaces, layout, ())
    on_roof = [s for s in seams if "ceiling" in (s.a, s.b) and s.a_line != s.b_line and "door" in f"{s.a}{s.b}"]
    assert len(on_roof) == 2
    stretches = sorted(
        (line.from_mm, line.to_mm)
        for s in on_roof
        for surface, line in ((s.a, s.a_line), (s.b, s.b_line))
        if surface == "ceiling" and isinstance(line, OnEdge)
    )
    assert stretches == [(0.0, pytest.approx(850.0)), (pytest.approx(850.0), None)]
    assert all(seam_state(s, surfaces, layout).closes for s in seams)
    # A door moves away from the roof: nothing runs over that seam; the fold at its pillar is another matter.
    assert {s.passage for s in on_roof} == {"none"}
    joints = join(surfaces, seams)
    # 600 mm along the ceiling's rear edge from its right end lies on the right door alone.
    places = {spot.surface: spot.point for spot in meeting_places(joints, "ceiling", (3000.0, 600.0))}
    assert set(places) == {"ceiling", "door right"}
    where = layout.pose("door right").to_vehicle(places["door right"])
    assert where == pytest.approx((3000.0, 1100.0, 1900.0))


def test_a_partition_meets_the_walls_between_their_ends() -> None:
    partition = rectangle(
        "partition",
        1700.0,
        1900.0,
        fold=Fold(
            line=OnEdge(edge="partition.a"),
            parent="floor",
            parent_line=Inside(start_mm=(1200.0, 1700.0), end_mm=(1200.0, 0.0)),
            fold_deg=90.0,
        ),
    )
    surfaces = (*ROOM, partition)
    layout = lay_out(surfaces)
    seams = propose_seams(surfaces, layout, propose_seams(ROOM, lay_out(ROOM), ()))
    assert {s.a for s in seams} == {"partition"}
    assert {s.b for s in seams} == {"left", "right", "ceiling"}
    for seam in seams:
        assert isinstance(seam.b_line, Inside)
        assert seam_state(seam, surfaces, layout).closes


def test_the_outside_of_the_roof_is_not_sewn_to_the_inside() -> None:
    roof = replace(rectangle("roof", 3000.0, 1700.0, fold=folded("roof", "a", "ceiling", "a", 180.0)), side="outside")
    surfaces = (*ROOM, roof)
    assert not any("roof" in (s.a, s.b) for s in propose_seams(surfaces, lay_out(surfaces), ()))


def test_a_seam_of_two_picked_edges() -> None:
    layout = lay_out(ROOM)
    seam = seam_of_edges(ROOM, layout, ("left", "left.d"), ("rear", "rear.b"), "s1")
    assert (seam.a_line, seam.b_line, seam.origin) == (OnEdge(edge="left.d"), OnEdge(edge="rear.b"), "drawn")
    assert seam_state(seam, ROOM, layout).closes
    # The common stretch, where one edge is longer.
    door = rectangle("door", 700.0, 1900.0, role="door", fold=folded("door", "b", "left", "d"))
    half = seam_of_edges((*ROOM, door), lay_out((*ROOM, door)), ("ceiling", "ceiling.b"), ("door", "door.c"), "s2")
    assert half.a_line == OnEdge(edge="ceiling.b", from_mm=pytest.approx(1000.0))
    assert half.b_line == OnEdge(edge="door.c")
    # Whole edges where they do not meet, for the finding to tell.
    apart = seam_of_edges(ROOM, layout, ("left", "left.d"), ("right", "right.b"), "s3")
    assert (apart.a_line, apart.b_line) == (OnEdge(edge="left.d"), OnEdge(edge="right.b"))
    assert seam_state(apart, ROOM, layout).message == "does not close: 1,700 mm at both ends"
    # Two edges that run the same way do not stop the program either.
    same = seam_of_edges(ROOM, layout, ("left", "left.d"), ("right", "right.d"), "s4")
    assert not seam_state(same, ROOM, layout).closes
    for a, b in ((("left", "left.d"), ("left", "left.d")), (("left", "gone"), ("rear", "rear.b"))):
        with pytest.raises(EditRefused, match="two edges"):
            seam_of_edges(ROOM, layout, a, b, "s5")


def leaning_van() -> tuple[Surface, ...]:
    """Floor 3,000 x 1,700, walls leaning in by 5 degrees, a rear end standing upright, as a novice measures it."""
    return (
        rectangle("floor", 3000.0, 1700.0, role="floor"),
        rectangle("left", 3000.0, 1600.0, fold=folded("left", "a", "floor", "a", 95.0)),
        rectangle("rear", 1700.0, 1600.0, fold=folded("rear", "a", "floor", "b"), role="end"),
        rectangle("right", 3000.0, 1600.0, fold=folded("right", "a", "floor", "c", 95.0)),
    )


def test_the_ends_of_a_leaning_van_do_not_close_and_the_lengths_stay() -> None:
    van = leaning_van()
    layout = lay_out(van)
    assert propose_seams(van, layout, ()) == ()
    for seam in (sewn("s1", "left", "d", "rear", "b"), sewn("s2", "rear", "d", "right", "b")):
        state = seam_state(seam, van, layout)
        # Two lines of 1,600 mm from one corner, 5 degrees apart: chord 2 x 1600 x sin(2.5) = 139.58 mm.
        assert max(state.gap_start_mm, state.gap_end_mm) == pytest.approx(2 * 1600 * sin(radians(2.5)), abs=1e-6)
        assert min(state.gap_start_mm, state.gap_end_mm) < 1e-6
        assert (state.length_a_mm, state.length_b_mm) == (1600.0, 1600.0)
        assert not state.closes
        assert state.message == "does not close: 140 mm at the upper end"
    # Mapping goes by the tape: 1,234 mm above the floor on the one is 1,234 mm above it on the other.
    joints = join(van, (sewn("s1", "left", "d", "rear", "b"),))
    places = {spot.surface: spot.point for spot in meeting_places(joints, "left", (0.0, 1234.0))}
    assert places["rear"] == pytest.approx((1700.0, 1234.0))
    assert edge_length_mm(van[1], "left.d") == 1600.0


def test_the_gap_is_named_by_the_end_of_the_vehicle() -> None:
    """A left wall 331 mm lower at the front than the ceiling that should meet it."""
    points = ((0.0, 0.0), (6000.0, 0.0), (6000.0, 1600.0 - 331.0), (0.0, 1600.0))
    corners = tuple(Corner(id=f"left.{key}", at_mm=p) for key, p in zip("abcd", points, strict=True))
    left = Surface(id="left", name="Left wall", corners=corners, fold=folded("left", "a", "floor", "a"))
    surfaces = tuple(left if s.id == "left" else s for s in box_room(6000.0, 1700.0, 1600.0))
    state = seam_state(sewn("s", "left", "c", "ceiling", "c"), surfaces, lay_out(surfaces))
    assert state.message == "does not close: 331 mm at the front end"
    assert state.length_a_mm == pytest.approx(hypot(6000, 331))  # 9 mm more: less than half a per cent


def test_lengths_that_differ_are_told() -> None:
    short = rectangle("rear", 1700.0, 1880.0, fold=folded("rear", "a", "floor", "b"), name="Rear end")
    surfaces = tuple(short if s.id == "rear" else s for s in ROOM)
    state = seam_state(sewn("s", "left", "d", "rear", "b"), surfaces, lay_out(surfaces))
    assert not state.closes
    assert "lengths differ by 20 mm: 1,900 mm on left, 1,880 mm on Rear end" in state.message
    assert "does not close: 20 mm at the upper end" in state.message
    # 5 mm and half a per cent are let pass.
    fine = replace(short, corners=rectangle("rear", 1700.0, 1891.0).corners)
    surfaces = tuple(fine if s.id == "rear" else s for s in ROOM)
    assert seam_state(sewn("s", "left", "d", "rear", "b"), surfaces, lay_out(surfaces)).closes


def test_broken_seams_are_told() -> None:
    loose = (*ROOM, rectangle("loose", 500.0, 1900.0, name="Loose board"))
    layout = lay_out(loose)
    state = seam_state(sewn("s", "left", "d", "loose", "b"), loose, layout)
    assert not state.closes
    assert "the place of Loose board in the vehicle is not known" in state.message
    assert seam_state(sewn("s", "left", "d", "gone", "b"), loose, layout).message == "gone is not there"
    assert "line on rear" in seam_state(sewn("s", "left", "d", "rear", "q"), loose, layout).message


def test_letters_of_many_seams() -> None:
    seams = [replace(sewn("s", "left", "d", "rear", "b"), id=f"s{i}") for i in range(26 + 26 * 26 + 1)]
    letters = list(seam_letters(seams).values())
    assert (letters[0], letters[25], letters[26], letters[27], letters[701], letters[702]) == (
        "A",
        "Z",
        "AA",
        "AB",
        "ZZ",
        "AAA",
    )
    assert len(set(letters)) == len(letters)


def worst_move_mm(before: tuple[Surface, ...], after: tuple[Surface, ...]) -> float:
    old, new = lay_out(before), lay_out(after)
    assert new.problems == ()
    return max(
        dist(old.pose(s.id).to_vehicle(c.at_mm), new.pose(s.id).to_vehicle(c.at_mm)) for s in before for c in s.corners
    )


def try_refold(surfaces, seams, surface, seam):  # type: ignore[no-untyped-def]
    try:
        return refold(surfaces, seams, surface, seam)
    except EditRefused:
        return None


@settings(max_examples=30, deadline=None)
@given(
    st.integers(3, 7),
    st.floats(500, 2000),
    st.floats(0.05, 0.5),
    st.floats(1500, 2500),
    st.lists(st.tuples(st.integers(0, 50), st.integers(0, 50)), max_size=8),
)
def test_refolding_keeps_every_pose_to_1e_6(sides, side_mm, shrink, slant_mm, choices) -> None:  # type: ignore[no-untyped-def]
    first = frustum(sides, side_mm, shrink, slant_mm)
    surfaces, seams = first, propose_seams(first, lay_out(first), ())
    for which, where in choices:
        seam = seams[where % len(seams)]
        done = try_refold(surfaces, seams, (seam.a, seam.b)[which % 2], seam.id)
        if done is None:
            continue
        surfaces, seams = done
        assert worst_move_mm(first, surfaces) < 1e-6
        assert [s.id for s in seams] == [f"seam{i + 1}" for i in range(2 * sides - 1)]
        assert [s.corners for s in surfaces] == [s.corners for s in first]
    layout = lay_out(surfaces)
    assert all(seam_state(seam, surfaces, layout).closes for seam in seams)
    assert propose_seams(surfaces, layout, seams) == ()


def test_the_ceiling_moves_from_the_right_wall_to_the_left_and_back() -> None:
    seams = propose_seams(ROOM, lay_out(ROOM), ())
    seam = next(s for s in seams if {s.a, s.b} == {"left", "ceiling"})
    surfaces, new = refold(ROOM, seams, "ceiling", seam.id)
    ceiling = next(s for s in surfaces if s.id == "ceiling")
    assert ceiling.fold is not None
    assert (ceiling.fold.parent, ceiling.fold.fold_deg, ceiling.fold.shift_mm) == ("left", 90.0, 0.0)
    assert {next(s for s in new if s.id == seam.id).a, next(s for s in new if s.id == seam.id).b} == {
        "right",
        "ceiling",
    }
    # On the sheet it now lies below the left wall.
    assert lay_out(surfaces).place("ceiling").to_sheet((0.0, 0.0))[1] == pytest.approx(-1900.0 - 1700.0)
    back, _ = refold(surfaces, new, "ceiling", seam.id)
    assert back == ROOM


def test_a_shifted_fold_becomes_a_seam_of_the_shared_stretch() -> None:
    """A wall that starts 300 mm behind the front end and ends 200 mm behind the floor."""
    wall = rectangle("left", 2900.0, 1900.0, fold=folded("left", "a", "floor", "a", shift_mm=300.0))
    surfaces = tuple(wall if s.id == "left" else s for s in ROOM)
    seams = propose_seams(surfaces, lay_out(surfaces), ())
    seam = next(s for s in seams if {s.a, s.b} == {"left", "ceiling"})
    after, new = refold(surfaces, seams, "left", seam.id)
    assert worst_move_mm(surfaces, after) < 1e-6
    became = next(s for s in new if s.id == seam.id)
    assert (became.a, became.a_line) == ("floor", OnEdge(edge="floor.a", from_mm=300.0))
    assert became.b_line == OnEdge(edge="left.a", from_mm=200.0)
    assert seam_state(became, after, lay_out(after)).closes


def test_refolding_is_refused_with_the_reason() -> None:
    van = (*leaning_van(), rectangle("step", 400.0, 200.0, fold=folded("step", "a", "left", "c")))
    open_seam = sewn("s", "left", "d", "rear", "b")
    with pytest.raises(EditRefused, match="140 mm at the upper end"):
        refold(van, (open_seam,), "left", "s")
    with pytest.raises(EditRefused, match="no fold to exchange"):
        refold(van, (open_seam,), "floor", "s")
    with pytest.raises(EditRefused, match="does not meet"):
        refold(van, (open_seam,), "right", "s")
    with pytest.raises(EditRefused, match="no seam"):
        refold(van, (), "right", "s")
    seams = propose_seams(ROOM, lay_out(ROOM), ())
    hung = next(s for s in seams if {s.a, s.b} == {"right", "front"})
    surfaces, seams = refold(ROOM, seams, "front", hung.id)
    for surface, other in (("ceiling", "front"), ("left", "ceiling")):
        seam = next(s for s in seams if {s.a, s.b} == {surface, other})
        surfaces, seams = refold(surfaces, seams, surface, seam.id)
    circle = next(s for s in seams if {s.a, s.b} == {"left", "front"})
    with pytest.raises(EditRefused, match="left hangs on front"):
        refold(surfaces, seams, "front", circle.id)


def test_passage_and_joint_change_places_too() -> None:
    seams: tuple[Seam, ...] = propose_seams(ROOM, lay_out(ROOM), ())
    seam = next(s for s in seams if {s.a, s.b} == {"left", "ceiling"})
    seams = tuple(replace(s, passage="none") if s.id == seam.id else s for s in seams)
    surfaces, new = refold(ROOM, seams, "ceiling", seam.id)
    assert next(s for s in surfaces if s.id == "ceiling").fold.passage == "none"  # type: ignore[union-attr]
    assert next(s for s in new if s.id == seam.id).passage == "free"
