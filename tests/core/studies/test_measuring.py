"""Distances along surfaces and through the air, against distances by hand."""

from math import dist, hypot, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.edits.measurements import typical
from core.edits.new_vehicle import build_vehicle
from core.geometry.foldout import lay_out
from core.studies.measuring import measure, measure_stroke
from tests.helpers.vans import empty, shell

PLAN = shell()  # floor s1 3,000 x 1,700; left s2, right s3, rear s4, front s5, 1,800 high; ceiling s6 on the left wall


def test_over_one_fold_and_straight_through_the_air() -> None:
    # 500 from the left wall on the floor, and 1,200 up the left wall, 900 further to the rear.
    found = measure(PLAN, ("s1", (1_000, 500)), ("s2", (3_000 - 1_900, 1_200)))
    assert found.along_mm == pytest.approx(hypot(900, 1_700))
    assert found.straight_mm == pytest.approx(dist((1_000, 500, 0), (1_900, 0, 1_200)))
    assert found.across_mm == pytest.approx((900, -500, 1_200))
    assert found.surfaces == ("s1", "s2")
    assert sum(dist(p, q) for p, q in found.lines_sheet_mm) == pytest.approx(found.along_mm)


def test_over_two_folds_and_a_seam_to_a_millimetre() -> None:
    """From the right wall over the ceiling's seam, which is shorter than over the floor and the left wall."""
    found = measure(PLAN, ("s3", (1_000, 1_500)), ("s6", (2_000, 1_400)))
    layout = lay_out(PLAN.surfaces)
    p = layout.pose("s3").to_vehicle((1_000, 1_500))
    q = layout.pose("s6").to_vehicle((2_000, 1_400))
    # By hand: 300 up to the seam, then 1,700 - 1,400 = 300 over the ceiling, shifted along by what x differs.
    assert p[2] == pytest.approx(1_500)
    assert q[1] == pytest.approx(1_400)
    assert found.along_mm == pytest.approx(hypot(300 + 300, q[0] - p[0]), abs=1.0)
    assert found.surfaces == ("s3", "s6")


def test_a_curved_roof_is_as_long_as_its_arc() -> None:
    plan = build_vehicle(empty(), typical("high_roof"))
    ids = {surface.name: surface.id for surface in plan.surfaces}
    strip = next(s for s in plan.surfaces if s.name == "Ceiling, right")
    wide = strip.corners[2].at_mm[1]
    found = measure(plan, (ids["Ceiling, right"], (1_000, 0)), (ids["Ceiling, left"], (1_000, wide)))
    radius = (780**2 + 130**2) / (2 * 130)  # chord 1,560, rise 130
    from math import asin

    assert found.along_mm == pytest.approx(2 * radius * asin(780 / radius), abs=1.0)
    assert found.along_mm < pi * 780
    assert found.straight_mm == pytest.approx(1_560, abs=0.01)


spots = st.tuples(st.sampled_from(["s1", "s2", "s3", "s4", "s5", "s6"]), st.floats(1, 1_650), st.floats(1, 1_650))


@given(spots, spots)
def test_straight_is_never_longer_than_along(one, two) -> None:  # type: ignore[no-untyped-def]
    a, b = (one[0], one[1:]), (two[0], two[1:])
    found = measure(PLAN, a, b)
    assert found.straight_mm is not None
    assert found.along_mm is not None
    assert found.straight_mm <= found.along_mm + 1e-6
    assert measure(PLAN, b, a).along_mm == pytest.approx(found.along_mm, abs=1e-3)
    assert found.straight_mm == pytest.approx(hypot(*found.across_mm))


def test_a_stroke_is_measured_over_folds_and_says_where_it_stops() -> None:
    layout = lay_out(PLAN.surfaces)
    start = layout.place("s1").to_sheet((1_500, 400))
    end = layout.place("s2").to_sheet((1_500, 700))
    assert measure_stroke(PLAN, (start, end)) == (pytest.approx(1_100), "")
    length, words = measure_stroke(PLAN, (start, (start[0], -9_000)))
    assert length < 9_000
    assert words
