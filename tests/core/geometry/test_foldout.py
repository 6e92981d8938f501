"""Folds to sheet and vehicle: handedness, isometry, broken plans, overlaps."""

import time
from math import cos, dist, radians, sin

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from core.geometry.edges import line_of, outline_of
from core.geometry.foldout import lay_out, overlaps
from core.geometry.joints import across, join
from core.geometry.plane import between
from core.geometry.polygon import centre, signed_area_mm2
from core.model import Apart, Corner, Fold, Inside, OnEdge, Surface
from tests.helpers.boxes import box_room, folded, rectangle

ROOM = box_room(3000.0, 1700.0, 1900.0)


def test_the_sheet_has_the_nose_left_and_the_left_wall_below() -> None:
    layout = lay_out(ROOM)
    assert layout.root == "floor"
    assert layout.problems == ()
    middles = {s.id: layout.place(s.id).to_sheet(centre(outline_of(s))) for s in ROOM}
    assert middles["floor"] == (1500.0, 850.0)
    assert middles["left"] == pytest.approx((1500.0, -950.0))
    assert middles["right"] == pytest.approx((1500.0, 1700.0 + 950.0))
    assert middles["front"] == pytest.approx((-950.0, 850.0))
    assert middles["rear"] == pytest.approx((3000.0 + 950.0, 850.0))
    assert middles["ceiling"] == pytest.approx((1500.0, 1700.0 + 1900.0 + 850.0))


def test_the_vehicle_has_x_to_the_rear_y_to_the_right_z_up() -> None:
    layout = lay_out(ROOM)
    middles = {s.id: layout.pose(s.id).to_vehicle(centre(outline_of(s))) for s in ROOM}
    assert middles["left"] == pytest.approx((1500.0, 0.0, 950.0), abs=1e-9)
    assert middles["right"] == pytest.approx((1500.0, 1700.0, 950.0), abs=1e-9)
    assert middles["front"] == pytest.approx((0.0, 850.0, 950.0), abs=1e-9)
    assert middles["rear"] == pytest.approx((3000.0, 850.0, 950.0), abs=1e-9)
    assert middles["ceiling"] == pytest.approx((1500.0, 850.0, 1900.0), abs=1e-9)
    for surface in ROOM:  # every surface is seen from inside
        x, y, z = layout.pose(surface.id).to_vehicle(centre(outline_of(surface)), height_mm=100.0)
        assert 0 < x < 3000
        assert 0 < y < 1700
        assert 0 < z < 1900


def test_a_wall_of_95_degrees_leans_in() -> None:
    wall = rectangle("wall", 3000.0, 1900.0, fold=folded("wall", "a", "floor", "a", 95.0))
    top = lay_out((ROOM[0], wall)).pose("wall").to_vehicle((0.0, 1900.0))
    assert top == pytest.approx((3000.0, 1900 * sin(radians(5)), 1900 * cos(radians(5))))


def test_the_face_of_a_wheel_arch() -> None:
    """Its side stands up from a line inside the floor; its top turns down from the side by -90."""
    side = rectangle(
        "side",
        800.0,
        300.0,
        fold=Fold(
            line=OnEdge(edge="side.a"),
            parent="floor",
            parent_line=Inside(start_mm=(1000.0, 250.0), end_mm=(1800.0, 250.0)),
            fold_deg=90.0,
        ),
    )
    top = rectangle("top", 800.0, 250.0, fold=folded("top", "a", "side", "c", -90.0))
    layout = lay_out((ROOM[0], side, top))
    # The line runs to the rear, so the side faces the vehicle's right, and the top reaches on to the left wall.
    assert layout.pose("side").normal == pytest.approx((0.0, 1.0, 0.0))
    assert layout.pose("top").normal == pytest.approx((0.0, 0.0, 1.0))
    assert layout.pose("top").to_vehicle((0.0, 250.0)) == pytest.approx((1800.0, 0.0, 300.0))


def test_shift_is_measured_from_the_parents_start_to_the_childs_end() -> None:
    wall = rectangle("wall", 1000.0, 500.0, fold=folded("wall", "a", "floor", "a", shift_mm=400.0))
    layout = lay_out((ROOM[0], wall))
    assert layout.place("wall").to_sheet((1000.0, 0.0)) == pytest.approx((400.0, 0.0))
    assert layout.pose("wall").to_vehicle((1000.0, 0.0)) == pytest.approx((400.0, 0.0, 0.0))


def test_apart_moves_the_sheet_and_not_the_vehicle() -> None:
    apart = replace(ROOM[3], apart=Apart(at_mm=(5000.0, 100.0), turn_deg=90.0))
    layout = lay_out((*ROOM[:3], apart, *ROOM[4:]))
    before = lay_out(ROOM)
    assert layout.laid["right"].apart
    assert layout.place("right").to_sheet((10.0, 0.0)) == pytest.approx((5000.0, 110.0))
    for surface in ROOM:
        assert layout.pose(surface.id) == before.pose(surface.id)
    # What hangs on it comes along.
    assert layout.place("ceiling").to_sheet((0.0, 0.0)) == pytest.approx((5000.0 - 1900.0, 100.0))


def surface_with(surface: str, corners: list[tuple[float, float]], fold: Fold | None) -> Surface:
    records = tuple(Corner(id=f"{surface}.{i}", at_mm=p) for i, p in enumerate(corners))
    return Surface(id=surface, name=surface, role="floor" if fold is None else "wall", corners=records, fold=fold)


@st.composite
def fold_trees(draw: st.DrawFn) -> tuple[Surface, ...]:
    """Up to nine odd quadrangles, folded anyhow on each other's edges, some of them apart."""
    surfaces: list[Surface] = []
    size = st.floats(50.0, 4000.0)
    for number in range(draw(st.integers(1, 9))):
        width, low, high, left = draw(size), draw(st.floats(-40, 40)), draw(size), draw(st.floats(-300, 300))
        corners = [(left, 0.0), (left + width, low), (left + width, low + high), (left, high + 10.0)]
        fold = None
        if surfaces:
            parent = draw(st.sampled_from(surfaces))
            fold = Fold(
                line=OnEdge(edge=f"s{number}.{draw(st.integers(0, 3))}"),
                parent=parent.id,
                parent_line=OnEdge(edge=draw(st.sampled_from(parent.corners)).id),
                fold_deg=draw(st.floats(-180, 180)),
                shift_mm=draw(st.floats(-40, 1000)),
            )
        surface = surface_with(f"s{number}", corners, fold)
        if fold is not None and draw(st.booleans()):
            at = draw(st.tuples(st.floats(-9000, 9000), st.floats(-9000, 9000)))
            surface = replace(surface, apart=Apart(at_mm=at, turn_deg=draw(st.floats(-360, 360))))
        surfaces.append(surface)
    return tuple(draw(st.permutations(surfaces)))


@settings(max_examples=80, deadline=None)
@given(fold_trees())
def test_every_surface_keeps_its_lengths_to_1e_9(surfaces: tuple[Surface, ...]) -> None:
    layout = lay_out(surfaces)
    assert layout.problems == ()
    assert set(layout.laid) == {surface.id for surface in surfaces}
    for surface in surfaces:
        place, pose = layout.place(surface.id), layout.pose(surface.id)
        outline = outline_of(surface)
        assert signed_area_mm2(place.line_to_sheet(outline)) == pytest.approx(signed_area_mm2(outline))  # no mirror
        for p in outline:
            for q in outline:
                assert abs(dist(place.to_sheet(p), place.to_sheet(q)) - dist(p, q)) < 1e-9
                assert abs(dist(pose.to_vehicle(p), pose.to_vehicle(q)) - dist(p, q)) < 1e-9
            assert dist(pose.to_local(pose.to_vehicle(p, 70.0)), (*p, 70.0)) < 1e-8
        assert pose.normal == pytest.approx(cross(pose.x_axis, pose.y_axis))


def cross(a: tuple[float, float, float], b: tuple[float, float, float]) -> tuple[float, float, float]:
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


@settings(max_examples=80, deadline=None)
@given(fold_trees(), st.floats(0.001, 0.999))
def test_both_sides_of_a_fold_are_one_line(surfaces: tuple[Surface, ...], t: float) -> None:
    """In the vehicle always, on the sheet unless apart; and a point mapped across the fold and back is itself."""
    layout, joints = lay_out(surfaces), join(surfaces, ())
    for joint in joints.all:
        p, q = between(*joint.a_line, t), between(*joint.b_line, 1.0 - t)
        assert dist(layout.pose(joint.a).to_vehicle(p), layout.pose(joint.b).to_vehicle(q)) < 1e-6
        if not layout.laid[joint.b].apart:
            assert dist(layout.place(joint.a).to_sheet(p), layout.place(joint.b).to_sheet(q)) < 1e-6
        there = next(m for m in across(joints, joint.a, p) if m.via == joint.via)
        assert dist(there.point, q) < 1e-6
        back = next(m for m in across(joints, joint.b, there.point) if m.via == joint.via)
        assert dist(back.point, p) < 1e-6


def test_a_circle_of_folds_is_told_and_cut() -> None:
    a = rectangle("a", 100.0, 100.0, fold=folded("a", "a", "c", "c"))
    b = rectangle("b", 100.0, 100.0, fold=folded("b", "a", "a", "c"))
    c = rectangle("c", 100.0, 100.0, fold=folded("c", "a", "b", "c"))
    hanging = rectangle("d", 100.0, 100.0, fold=folded("d", "a", "c", "b"))
    layout = lay_out((hanging, a, b, c, ROOM[0]))
    assert set(layout.laid) == {"a", "b", "c", "d", "floor"}
    (problem,) = layout.problems
    assert "folded on itself" in problem.message
    assert not layout.joined("a", "floor")
    assert layout.joined("a", "d")


def test_a_surface_folded_on_itself_alone() -> None:
    layout = lay_out((rectangle("a", 100.0, 100.0, fold=folded("a", "a", "a", "c")),))
    assert [p.message for p in layout.problems] == ["a is folded on itself."]
    assert layout.root is None or layout.root == "a"
    assert "a" in layout.laid


@pytest.mark.parametrize(
    ("surface", "part"),
    [
        (rectangle("x", 100.0, 100.0, fold=folded("x", "a", "nowhere", "a")), "nowhere, which is not there"),
        (rectangle("x", 100.0, 100.0, fold=folded("x", "z", "floor", "a")), "fold line of x"),
        (rectangle("x", 100.0, 100.0, fold=folded("x", "a", "floor", "z")), "line of floor"),
        (rectangle("x", 100.0, 100.0), "no fold"),
        (rectangle("x", 0.0, 0.0, fold=folded("x", "a", "floor", "a")), "no length"),
    ],
)
def test_what_hangs_on_nothing_lies_beside_the_sheet(surface: Surface, part: str) -> None:
    layout = lay_out((*ROOM, surface))
    (problem,) = layout.problems
    assert problem.surface == "x"
    assert part in problem.message
    assert overlaps(layout, (*ROOM, surface)) == ()
    assert layout.place("x").to_sheet((0.0, 0.0))[0] > 3000.0 + 1900.0


def test_odd_plans_raise_nothing() -> None:
    assert lay_out(()).root is None
    empty = Surface(id="e", name="e", corners=(), fold=None)
    assert lay_out((empty, *ROOM)).root == "floor"
    assert len(lay_out((*ROOM, replace(ROOM[0], name="twin"))).problems) == 1
    assert line_of(ROOM[0], OnEdge(edge="floor.a", from_mm=9000.0)) is None


def test_a_chain_of_5000_folds_does_not_end_the_stack() -> None:
    chain = [rectangle("s0", 10.0, 10.0, role="floor")]
    chain += [rectangle(f"s{i}", 10.0, 10.0, fold=folded(f"s{i}", "a", f"s{i - 1}", "c", 1.0)) for i in range(1, 5000)]
    assert len(lay_out(chain).laid) == 5000


def test_surfaces_on_each_other_are_told_and_laying_apart_cures_it() -> None:
    roof = rectangle("roof", 3000.0, 1700.0, fold=folded("roof", "a", "left", "c"))
    strip = rectangle("strip", 500.0, 200.0, fold=folded("strip", "a", "floor", "a"))
    found = overlaps(lay_out((*ROOM, roof, strip)), (*ROOM, roof, strip))
    assert [(o.a, o.b) for o in found] == [("left", "strip")]
    assert found[0].area_mm2 == pytest.approx(500.0 * 200.0)
    cured = (*ROOM, roof, replace(strip, apart=Apart(at_mm=(9000.0, 0.0))))
    assert overlaps(lay_out(cured), cured) == ()


def test_ten_times_the_surfaces_take_little_more_than_ten_times_as_long() -> None:
    surfaces = [ROOM[0]]
    for number in range(1, 60):
        name = f"w{number}"
        parent = surfaces[number // 3]
        fold = folded(name, "a", parent.id, "abcd"[number % 4], 80.0 + number)
        surfaces.append(rectangle(name, 900.0, 700.0, fold=fold))

    def quickest_s(laid: list[Surface]) -> float:
        times = []
        for _ in range(30):
            start = time.perf_counter()
            lay_out(laid)
            times.append(time.perf_counter() - start)
        return min(times)

    # Ten times by the number; a layout that looked at all pairs would take a hundred times as long.
    assert quickest_s(surfaces) < 30 * quickest_s(surfaces[:6])
