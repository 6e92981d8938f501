"""Points, polylines, areas, placements."""

from math import dist, hypot, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.geometry.plane import (
    Placement,
    along_mm,
    crossings,
    length_mm,
    nearest_on,
    offset,
    part,
    placed_against,
    point_at,
)
from core.geometry.polygon import centre, clip, inside, is_simple, point_in, segment_inside, signed_area_mm2

SQUARE = ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))
#: An L: the square without its upper right quarter.
ELL = ((0.0, 0.0), (100.0, 0.0), (100.0, 50.0), (50.0, 50.0), (50.0, 100.0), (0.0, 100.0))
HOLE = ((40.0, 40.0), (60.0, 40.0), (60.0, 60.0), (40.0, 60.0))

coordinate = st.floats(-20_000, 20_000)
point = st.tuples(coordinate, coordinate)
#: Nothing misses by less than a rounding error, where two programs may rightly disagree.
rounded = st.tuples(st.integers(-9_000, 9_000), st.integers(-9_000, 9_000)).map(lambda p: (float(p[0]), float(p[1])))
placement = st.builds(Placement.turned, coordinate, coordinate, st.floats(-720, 720))


@given(placement, point, point)
def test_a_placement_keeps_distances_to_1e_9(place: Placement, p: tuple[float, float], q: tuple[float, float]) -> None:
    assert dist(place.to_sheet(p), place.to_sheet(q)) == pytest.approx(dist(p, q), rel=1e-12, abs=1e-9)
    assert dist(place.to_local(place.to_sheet(p)), p) < 1e-9


@given(placement, placement, point)
def test_placements_compose_and_invert(a: Placement, b: Placement, p: tuple[float, float]) -> None:
    assert dist(a.then(b).to_sheet(p), b.to_sheet(a.to_sheet(p))) < 1e-9
    assert dist(a.inverse().to_sheet(a.to_sheet(p)), p) < 1e-9


def test_quarter_turns_are_exact() -> None:
    assert Placement.turned(0, 0, -270).to_sheet((3.0, 4.0)) == (-4.0, 3.0)


@given(point, point, point, point, st.floats(-500, 500))
def test_a_line_laid_against_another_runs_the_other_way(a, b, c, d, shift) -> None:  # type: ignore[no-untyped-def]
    if dist(a, b) < 1.0 or dist(c, d) < 1.0:
        return
    place = placed_against((a, b), (c, d), shift)
    ux, uy = (d[0] - c[0]) / dist(c, d), (d[1] - c[1]) / dist(c, d)
    end = (c[0] + shift * ux, c[1] + shift * uy)
    assert dist(place.to_sheet(b), end) < 1e-8
    start = (end[0] + dist(a, b) * ux, end[1] + dist(a, b) * uy)
    assert dist(place.to_sheet(a), start) < 1e-8


def test_area_counts_the_turn() -> None:
    assert signed_area_mm2(SQUARE) == 10_000.0
    assert signed_area_mm2(SQUARE[::-1]) == -10_000.0
    assert signed_area_mm2(ELL) == 7_500.0
    far = tuple((x + 1e8, y - 1e8) for x, y in ELL)
    assert signed_area_mm2(far) == 7_500.0


def test_simple_outlines() -> None:
    assert is_simple(SQUARE)
    assert is_simple(SQUARE[::-1])
    assert is_simple(ELL)
    assert is_simple(((0, 0), (1, 0), (0, 1)))
    assert not is_simple(((0, 0), (100, 100), (100, 0), (0, 100)))  # bow tie
    assert not is_simple(((0, 0), (100, 0), (100, 0), (0, 100)))  # a corner twice
    assert not is_simple(((0, 0), (100, 0), (100, 50), (50, 0), (0, 50)))  # touches its own edge
    assert not is_simple(((0, 0), (100, 0), (100, 50), (100, -20), (0, 50)))  # folded back
    assert not is_simple(((0, 0), (100, 0), (200, 0)))
    assert not is_simple(())


def test_edges_count_as_inside() -> None:
    assert point_in(SQUARE, (0.0, 50.0))
    assert point_in(SQUARE, (100.0, 100.0))
    assert not point_in(SQUARE, (100.001, 50.0))
    assert not point_in(ELL, (75.0, 75.0))
    assert inside(SQUARE, (HOLE,), (40.0, 50.0))
    assert not inside(SQUARE, (HOLE,), (50.0, 50.0))


@given(st.lists(point, min_size=3, max_size=7, unique=True), point)
def test_point_in_agrees_with_shapely(corners, p) -> None:  # type: ignore[no-untyped-def]
    import shapely

    if not is_simple(corners):
        return
    shape = shapely.Polygon(corners)
    if shape.boundary.distance(shapely.Point(p)) > 1e-3:
        assert point_in(corners, p) == shape.contains(shapely.Point(p))


@given(st.lists(point, min_size=2, max_size=6), st.lists(point, min_size=2, max_size=6))
def test_crossings_lie_on_both_lines_where_they_say(a, b) -> None:  # type: ignore[no-untyped-def]
    for crossing in crossings(a, b):
        assert dist(point_at(a, crossing.a_mm), crossing.point) < 1e-5
        assert dist(point_at(b, crossing.b_mm), crossing.point) < 1e-5


@given(st.lists(rounded, min_size=2, max_size=6, unique=True), st.lists(rounded, min_size=2, max_size=6, unique=True))
def test_as_many_crossings_as_shapely_finds(a, b) -> None:  # type: ignore[no-untyped-def]
    import shapely

    found = crossings(a, b)
    common = shapely.intersection(shapely.LineString(a), shapely.LineString(b))
    parts = shapely.get_parts(common)
    if any(piece.geom_type != "Point" for piece in parts):
        return  # along each other: looked at by hand below
    expected = [(piece.x, piece.y) for piece in parts]
    assert all(any(dist(q, c.point) < 1e-3 for c in found) for q in expected)
    assert all(any(dist(q, c.point) < 1e-3 for q in expected) for c in found)


def test_a_crossing_at_a_vertex_is_one() -> None:
    (only,) = crossings(((0, 0), (50, 0), (100, 0)), ((50, -10), (50, 0), (60, 10)))
    assert only.point == pytest.approx((50.0, 0.0))
    assert (only.a_mm, only.b_mm, only.angle_deg) == pytest.approx((50.0, 10.0, 90.0))


def test_touching_and_flat_crossings() -> None:
    assert len(crossings(((0, 0), (100, 0)), ((30, 0), (30, 40)))) == 1
    assert len(crossings(((0, 0), (100, 0)), ((30, 1e-7), (30, 40)))) == 1
    assert crossings(((0, 0), (100, 0)), ((30, 0.01), (30, 40))) == ()
    assert crossings(((0, 0), (100, 0)), ((100.5, 0), (200, 0))) == ()
    assert crossings(((0, 0), (100, 0)), ((500, 0), (900, 1e-7))) == ()
    (flat,) = crossings(((0, 0), (1000, 0)), ((0, -1), (1000, 1)))
    assert flat.a_mm == pytest.approx(500.0)
    assert flat.angle_deg == pytest.approx(0.1146, abs=1e-4)


def test_lines_along_each_other_share_two_ends() -> None:
    found = crossings(((0, 0), (100, 0)), ((80, 0), (20, 0)))
    assert [(c.a_mm, c.b_mm, c.angle_deg) for c in found] == [(20.0, 60.0, 0.0), (80.0, 0.0, 0.0)]


def test_positions_along_a_line() -> None:
    line = ((0.0, 0.0), (30.0, 0.0), (30.0, 40.0))
    assert along_mm(line) == (0.0, 30.0, 70.0)
    assert point_at(line, 50.0) == (30.0, 20.0)
    assert point_at(line, -5.0) == (0.0, 0.0)
    assert point_at(line, 500.0) == (30.0, 40.0)
    assert part(line, 10.0, 40.0) == ((10.0, 0.0), (30.0, 0.0), (30.0, 10.0))
    near = nearest_on(line, (33.0, 20.0))
    assert (near.point, near.along_mm, near.distance_mm) == ((30.0, 20.0), 50.0, 3.0)


def test_offset_of_lines_and_outlines() -> None:
    parallel = offset(((0.0, 0.0), (100.0, 0.0), (100.0, 100.0)), 10.0)
    for p, expected in zip(parallel, ((0.0, 10.0), (90.0, 10.0), (90.0, 100.0)), strict=True):
        assert p == pytest.approx(expected)
    inner = offset(SQUARE, 10.0, closed=True)
    assert signed_area_mm2(inner) == pytest.approx(80.0**2)
    hairpin = offset(((0.0, 0.0), (100.0, 0.0), (0.0, 1.0)), 10.0)
    assert max(hypot(x - 100, y) for x, y in hairpin[1:-1]) < 40.0


def test_offset_of_a_fine_circle_is_a_circle() -> None:
    from math import cos, sin

    circle = tuple((1000 * cos(i * pi / 180), 1000 * sin(i * pi / 180)) for i in range(360))
    for x, y in offset(circle, 100.0, closed=True):
        assert hypot(x, y) == pytest.approx(900.0, abs=0.02)


def test_clip_gives_the_stretches_inside() -> None:
    stretches = clip(((-50.0, 75.0), (150.0, 75.0), (150.0, 25.0), (-50.0, 25.0)), ELL)
    assert [(s.from_mm, s.to_mm) for s in stretches] == [(50.0, 100.0), (300.0, 400.0)]
    assert stretches[0].points == ((0.0, 75.0), (50.0, 75.0))
    assert [s.to_mm - s.from_mm for s in clip(((0.0, 50.0), (100.0, 50.0)), SQUARE, (HOLE,))] == [40.0, 40.0]
    assert clip(((0.0, 0.0), (100.0, 0.0)), SQUARE) != ()  # along the edge counts as in
    assert clip(((200.0, 0.0), (300.0, 0.0)), SQUARE) == ()


@given(st.lists(rounded, min_size=2, max_size=6, unique=True))
def test_clipped_length_agrees_with_shapely(line) -> None:  # type: ignore[no-untyped-def]
    import shapely

    big = tuple((x * 100 - 5000, y * 100 - 5000) for x, y in ELL)
    inside_mm = sum(s.to_mm - s.from_mm for s in clip(line, big))
    # Segment by segment: shapely counts a stretch that is passed twice once.
    expected = sum(
        shapely.LineString(pair).intersection(shapely.Polygon(big)).length for pair in zip(line, line[1:], strict=False)
    )
    assert inside_mm == pytest.approx(expected, abs=1e-3)


def test_straight_lines_that_stay_inside() -> None:
    assert segment_inside(ELL, (), (0.0, 100.0), (100.0, 0.0))  # touches the inner corner
    assert not segment_inside(ELL, (), (10.0, 100.0), (100.0, 10.0))
    assert segment_inside(ELL, (), (0.0, 0.0), (0.0, 100.0))
    assert not segment_inside(SQUARE, (HOLE,), (0.0, 50.0), (100.0, 50.0))


def test_the_label_point_lies_inside() -> None:
    assert centre(SQUARE) == (50.0, 50.0)
    thin = ((0.0, 0.0), (1000.0, 0.0), (1000.0, 10.0), (10.0, 10.0), (10.0, 1000.0), (0.0, 1000.0))
    assert point_in(thin, centre(thin))


def test_length_is_measured_along() -> None:
    assert length_mm(((0, 0), (3, 4), (3, 4), (3, 10))) == 11.0
    assert length_mm(()) == 0.0
