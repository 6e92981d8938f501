"""Tape lengths against a numerically added-up helix, published surfaces and the trade's rough figures."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.harness.wrap import (
    WrapImpossible,
    branch_joint_tape_mm,
    helix_angle_deg,
    layers,
    lengthwise_tape_mm,
    open_spiral_tape_mm,
    rolls,
    spiral_tape_mm,
    spot_count,
    spot_tape_mm,
    wrapped_diameter_mm,
)
from tests.core.harness.tables import rows


def added_up_mm(diameter_mm: float, length_mm: float, pitch_mm: float) -> float:
    """Length of a helix as a chain of short straight steps."""
    steps = 4_000 * math.ceil(length_mm / pitch_mm)
    turn = np.linspace(0.0, 2.0 * math.pi * length_mm / pitch_mm, steps + 1)
    x, y, z = diameter_mm / 2 * np.cos(turn), diameter_mm / 2 * np.sin(turn), pitch_mm * turn / (2.0 * math.pi)
    return float(np.sqrt(np.diff(x) ** 2 + np.diff(y) ** 2 + np.diff(z) ** 2).sum())


@pytest.mark.parametrize("diameter_mm", [4.0, 8.0, 15.0, 25.0, 40.0])
@pytest.mark.parametrize("width_mm", [9.0, 19.0, 25.0])
@pytest.mark.parametrize("overlap", [-0.5, 0.0, 0.25, 0.5, 0.66])
def test_spiral_against_a_helix_added_up(diameter_mm: float, width_mm: float, overlap: float) -> None:
    middle = diameter_mm + 0.13
    sine = (1.0 - overlap) * width_mm / (math.pi * middle)
    if sine >= 1.0:
        with pytest.raises(WrapImpossible, match="narrower tape"):
            spiral_tape_mm(diameter_mm, 1000.0, width_mm, overlap, 0.13)
        return
    # The tape's edges are (1 - overlap) w apart across the tape: along the bundle that is divided by the cosine.
    pitch = (1.0 - overlap) * width_mm / math.sqrt(1.0 - sine * sine)
    assert spiral_tape_mm(diameter_mm, 1000.0, width_mm, overlap, 0.13, end_turns=0.0) == pytest.approx(
        added_up_mm(middle, 1000.0, pitch), rel=1e-6
    )


@pytest.mark.parametrize("diameter_mm", [8.0, 15.0, 40.0])
@pytest.mark.parametrize("gap_mm", [0.0, 6.0, 25.0, 80.0])
def test_open_spiral_leaves_just_the_gap_along_the_bundle(diameter_mm: float, gap_mm: float) -> None:
    tape = open_spiral_tape_mm(diameter_mm, 1000.0, 19.0, gap_mm, 0.13, end_turns=0.0)
    middle = diameter_mm + 0.13
    angle = math.asin(1000.0 / tape)
    pitch = math.pi * middle * math.tan(angle)
    assert pitch - 19.0 / math.cos(angle) == pytest.approx(gap_mm, abs=1e-6)
    assert tape == pytest.approx(added_up_mm(middle, 1000.0, pitch), rel=1e-6)


def test_published_surface_of_a_pipe() -> None:
    # Pipeline Rules of Thumb Handbook p. 227: outside diameter 6 5/8 in has 1.73442 ft2 per foot; a mile 9,157 ft2
    # (read; E1 of the worked examples). Tape without overlap covers the surface once.
    tape = spiral_tape_mm(6.625, 12.0, 1.0, 0.0, 0.0, end_turns=0.0)
    assert tape * 1.0 / 144.0 == pytest.approx(1.73442, abs=1e-5)
    assert tape * 5280.0 / 144.0 == pytest.approx(9157.0, abs=1.0)


def test_half_lap_of_a_12_mm_bundle() -> None:
    # Derived, E3 of the worked examples: 12 mm, 1 m, 19 mm tape half lapped: 3,968 mm; a 25 m roll covers 6.30 m.
    assert spiral_tape_mm(12.0, 1000.0, 19.0, 0.5, 0.0, end_turns=0.0) == pytest.approx(3968.0, abs=0.6)
    assert 25_000.0 / spiral_tape_mm(12.0, 1.0, 19.0, 0.5, 0.0, end_turns=0.0) == pytest.approx(6300.0, abs=1.0)


def test_spirals_of_the_table_of_checks() -> None:
    # Rows spiral_wrap (with end turns left out) and spiral_wrap_angle: formula, recomputed there.
    wanted = {row["name"]: float(row["value"]) for row in rows("spiral_checks.csv")}
    assert spiral_tape_mm(20.0, 1000.0, 19.0, 0.5, 0.0, end_turns=0.0) == pytest.approx(wanted["spiral_wrap"], abs=1e-4)
    assert helix_angle_deg(20.0, 19.0, 0.5) == pytest.approx(wanted["spiral_wrap_angle"], abs=1e-4)


def test_twelve_metres_of_15_mm_bundle() -> None:
    # The trade reckons 62 m and three rolls of 25 m for 19 mm tape half lapped, about 18 m and one roll for an open
    # spiral with a 25 mm gap along the bundle (common practice, no source). Exactly it is 16.0 m: the trade's figure
    # takes the tape's width along the bundle.
    half = spiral_tape_mm(15.0, 12_000.0, 19.0, 0.5, 0.13)
    assert half == pytest.approx(62_000.0, rel=0.05)
    assert rolls(half, 25_000.0) == 3
    spiral = open_spiral_tape_mm(15.0, 12_000.0, 19.0, 25.0, 0.13)
    assert spiral == pytest.approx(16_032.0 + 2.0 * math.pi * 15.13, abs=1.0)
    assert math.hypot(math.pi * 15.0, 44.0) * 12_000.0 / 44.0 == pytest.approx(17_583.0, abs=1.0)
    assert rolls(spiral, 25_000.0) == 1


@given(
    diameter=st.floats(2.0, 80.0),
    length=st.floats(1.0, 20_000.0),
    overlap=st.floats(-2.0, 0.9),
    turns=st.floats(0.0, 4.0),
    stretch=st.floats(0.0, 0.3),
)
def test_what_spirals_share(diameter: float, length: float, overlap: float, turns: float, stretch: float) -> None:
    try:
        bare = spiral_tape_mm(diameter, length, 19.0, overlap, 0.15, end_turns=0.0)
    except WrapImpossible:
        assert (1.0 - overlap) * 19.0 >= math.pi * (diameter + 0.15)
        return
    assert bare > length
    # Surface of the middle of the tape over the tape's net width, whatever the angle.
    assert bare * 19.0 == pytest.approx(math.pi * (diameter + 0.15) * length * layers(overlap))
    whole = spiral_tape_mm(diameter, length, 19.0, overlap, 0.15, end_turns=turns, stretch=stretch)
    assert whole * (1.0 + stretch) - bare == pytest.approx(2.0 * turns * math.pi * (diameter + 0.15), abs=1e-6 * whole)


def test_a_bundle_without_length_takes_no_tape() -> None:
    assert spiral_tape_mm(10.0, 0.0, 19.0, 0.5, 0.13) == 0.0
    assert lengthwise_tape_mm(3.0, 0.0, 19.0, 5.0, 0.13) == 0.0
    assert spot_count(0.0, 150.0) == 0


def test_lengthwise_wrap_goes_round_with_as_many_strips_as_it_takes() -> None:
    # 4 mm bundle: 12.97 mm round; one 19 mm strip covers it with 5 mm to lap. 6 mm: 19.3 mm round, so two strips.
    assert lengthwise_tape_mm(4.0, 1000.0, 19.0, 5.0, 0.13) == 1000.0
    assert lengthwise_tape_mm(6.0, 1000.0, 19.0, 5.0, 0.13, fold_back_mm=20.0) == 2.0 * 1040.0


def test_spots_layers_and_diameter() -> None:
    assert spot_count(1000.0, 150.0) == 8  # 6.67 spaces, so 7, and one more than spaces
    assert spot_count(900.0, 150.0) == 7
    assert spot_tape_mm(10.0, 0.15, turns=2.0) == pytest.approx(2.0 * math.pi * 10.15)
    assert layers(0.5) == 2.0
    assert layers(-1.0) == 0.5
    assert wrapped_diameter_mm(10.0, 0.15, 0.5) == pytest.approx(10.6)
    assert wrapped_diameter_mm(10.0, 0.15, 0.6) == pytest.approx(10.9)  # 2.5 layers: three lie on each other somewhere
    assert wrapped_diameter_mm(10.0, 0.15, -1.0) == pytest.approx(10.3)


def test_branch_joint_grows_with_every_branch() -> None:
    none = branch_joint_tape_mm(12.0, (), 19.0, 0.15)
    assert none == pytest.approx(1.5 * math.pi * 12.15)
    one = branch_joint_tape_mm(12.0, (6.0,), 19.0, 0.15)
    assert one - none == pytest.approx(1.5 * math.pi * 6.15 + math.hypot(12.0, 38.0))


def test_rolls_are_whole_and_a_rounding_error_is_not_a_roll() -> None:
    assert rolls(0.0, 25_000.0) == 0
    assert rolls(50_000.000001, 25_000.0) == 2
    assert rolls(50_001.0, 25_000.0) == 3
    assert rolls(46_000.0, 25_000.0, reserve=0.1) == 3


@pytest.mark.parametrize(
    ("diameter", "length", "width", "overlap", "thickness"),
    [(0.0, 1.0, 19.0, 0.5, 0.1), (math.nan, 1.0, 19.0, 0.5, 0.1), (10.0, -1.0, 19.0, 0.5, 0.1),
     (10.0, 1.0, 0.0, 0.5, 0.1), (10.0, 1.0, 19.0, 1.0, 0.1), (10.0, 1.0, 19.0, 0.5, -0.1)],
)  # fmt: skip
def test_absurd_inputs_are_refused(
    diameter: float, length: float, width: float, overlap: float, thickness: float
) -> None:
    with pytest.raises(ValueError, match="expected"):
        spiral_tape_mm(diameter, length, width, overlap, thickness)
