"""Rounded corners: tangent length r * tan(turn / 2), arc length r * turn (school geometry)."""

from math import dist, hypot, pi, radians, tan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.pages.fillet import arc, fillet, flatten, length_mm

numbers = st.floats(-1000, 1000)


def test_a_right_angle_takes_a_quarter_circle() -> None:
    vertices = fillet(((0, 0), (100, 0), (100, 100)), 10)
    assert [v[:2] for v in vertices] == [pytest.approx(p) for p in ((0, 0), (90, 0), (100, 10), (100, 100))]
    assert vertices[1][2] == pytest.approx(tan(radians(90) / 4))
    assert length_mm(vertices) == pytest.approx(180 + 10 * pi / 2)
    centre, radius, start_deg, sweep_deg = arc(vertices[1], vertices[2])
    assert centre == pytest.approx((90, 10))
    assert (radius, start_deg, sweep_deg) == pytest.approx((10, -90, 90))


def test_a_corner_that_is_too_tight_takes_what_fits() -> None:
    vertices = fillet(((0, 0), (10, 0), (10, 8)), 50)
    assert vertices[2][:2] == pytest.approx((10, 8))
    assert vertices[1][:2] == pytest.approx((2, 0))
    inner = fillet(((0, 0), (100, 0), (100, 10), (200, 10)), 50)
    assert inner[2][:2] == pytest.approx((100, 5))
    assert inner[3][:2] == pytest.approx((100, 5))


def test_straight_doubled_and_short_lines_have_no_arcs() -> None:
    assert fillet(((0, 0), (5, 0), (10, 0)), 3) == ((0, 0, 0), (5, 0, 0), (10, 0, 0))
    assert fillet(((0, 0), (0, 0), (10, 0)), 3) == ((0, 0, 0), (10, 0, 0))
    assert fillet((), 3) == ()
    assert all(bulge == 0 for _, _, bulge in fillet(((0, 0), (10, 0), (0, 0)), 3)), "a hairpin stays a hairpin"


def test_a_closed_square_has_four_arcs() -> None:
    vertices = fillet(((0, 0), (10, 0), (10, 10), (0, 10), (0, 0)), 2, closed=True)
    assert len(vertices) == 8
    flat = flatten(vertices, closed=True, sagitta_mm=0.001)
    perimeter = sum(dist(a, b) for a, b in zip(flat, (*flat[1:], flat[0]), strict=True))
    assert perimeter == pytest.approx(4 * 6 + 2 * pi * 2, rel=1e-3)


@given(st.lists(st.tuples(numbers, numbers), min_size=2, max_size=8), st.floats(0.1, 300))
def test_every_arc_leaves_and_meets_its_lines_without_a_kink(points: list[tuple[float, float]], radius: float) -> None:
    vertices = fillet(points, radius)
    assert vertices[0][:2] == points[0]
    assert vertices[-1][:2] == points[-1] or points[-1] == points[-2]
    for start, end in zip(vertices, vertices[1:], strict=False):
        if start[2] and hypot(end[0] - start[0], end[1] - start[1]) > 1e-6:
            centre, size, _, sweep_deg = arc(start, end)
            assert dist(centre, start[:2]) == pytest.approx(size, rel=1e-6)
            assert dist(centre, end[:2]) == pytest.approx(size, rel=1e-6)
            assert size <= radius * (1 + 1e-6)
            assert abs(sweep_deg) <= 180
