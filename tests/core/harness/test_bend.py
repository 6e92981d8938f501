"""Bends: radii that fit a corner, turns of a polyline, and the rules for the radius."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.harness.bend import (
    corner_shortening_mm,
    fillet_radius_available_mm,
    inside_radius_mm,
    required_inside_radius_mm,
    turn_angles_deg,
)


def test_the_stricter_of_bundle_and_wire_decides() -> None:
    # FAA practice: 10 times the bundle; SAE AS50881: 10 times the largest wire (both from memory); NEC 551.47(H): 5
    # times a sheathed cable (read).
    assert required_inside_radius_mm(12.0, 4.0, 10.0, 10.0) == 120.0
    assert required_inside_radius_mm(12.0, 4.0, 0.0, 10.0) == 40.0
    assert required_inside_radius_mm(6.0, 11.0, 3.0, 5.0) == 55.0


def test_a_right_angle_takes_half_of_the_shorter_segment() -> None:
    assert fillet_radius_available_mm(200.0, 80.0, 90.0) == pytest.approx(40.0)
    assert fillet_radius_available_mm(200.0, 80.0, -90.0) == pytest.approx(40.0)
    assert fillet_radius_available_mm(200.0, 80.0, 0.0) == math.inf
    assert fillet_radius_available_mm(200.0, 80.0, 180.0) == 0.0
    assert inside_radius_mm(40.0, 12.0) == 34.0
    assert inside_radius_mm(4.0, 12.0) == 0.0


@given(st.floats(10.0, 500.0), st.floats(10.0, 500.0), st.floats(1.0, 179.0))
def test_the_arc_touches_both_segments_and_is_no_longer_than_half_of_either(a: float, b: float, turn: float) -> None:
    radius = fillet_radius_available_mm(a, b, turn)
    # Corner at the origin, arriving along +x: the arc's centre lies on the bisector, above the point where it starts.
    start = -min(a, b) / 2.0
    angle = math.radians(turn)
    # Distance of the centre (start, radius) from the line that leaves the corner at the turn's angle.
    assert abs(start * math.sin(angle) - radius * math.cos(angle)) == pytest.approx(radius, rel=1e-6, abs=1e-9)


def test_rounding_a_right_angle_saves_two_radii_less_a_quarter_circle() -> None:
    assert corner_shortening_mm(100.0, 90.0) == pytest.approx(200.0 - 50.0 * math.pi)
    assert corner_shortening_mm(100.0, 0.0) == 0.0
    with pytest.raises(ValueError, match="180"):
        corner_shortening_mm(100.0, 180.0)


def test_turns_of_polylines_in_two_and_three_dimensions() -> None:
    assert turn_angles_deg([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (3.0, 3.0), (2.0, 2.0)]) == pytest.approx((90, 45, 180))
    assert turn_angles_deg([(0, 0, 0), (0, 0, 2), (0, 3, 2)]) == pytest.approx((90.0,))
    assert turn_angles_deg([(0.0, 0.0), (5.0, 5.0)]) == ()
    assert turn_angles_deg([]) == ()


def test_a_repeated_point_hides_no_turn() -> None:
    assert turn_angles_deg([(0, 0), (1, 0), (1, 0), (1, 1)]) == pytest.approx((0.0, 90.0))


@given(st.floats(0.0, 180.0), st.floats(0.0, 360.0), st.floats(0.1, 1e4), st.floats(0.1, 1e4))
def test_the_turn_does_not_depend_on_direction_or_lengths(turn: float, heading: float, a: float, b: float) -> None:
    first, second = math.radians(heading), math.radians(heading + turn)
    corner = (a * math.cos(first), a * math.sin(first))
    end = (corner[0] + b * math.cos(second), corner[1] + b * math.sin(second))
    (found,) = turn_angles_deg([(0.0, 0.0), corner, end])
    assert found == pytest.approx(turn, abs=1e-6 * max(1.0, a / b))
