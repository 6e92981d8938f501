"""Pull through a duct by the capstan relation (Euler, Eytelwein), checked by hand and by its own limits."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.harness.pulling import pull_force_n, pull_limit_n, slides_through
from core.harness.wrap import (
    BRAID_DEG,
    braided_sleeve_mm,
    passes_tape_mm,
    rolls,
    rolls_without_joints,
    sleeve_for,
    spiral_tape_mm,
)


def test_a_straight_duct_is_weight_times_friction() -> None:
    """10 m of 500 g/m at mu 0.4: 5 kg x 9.80665 x 0.4 = 19.6 N."""
    assert pull_force_n([10_000.0], [], 500.0, 0.4) == pytest.approx(5 * 9.80665 * 0.4)


def test_a_rope_round_half_a_drum() -> None:
    """Textbook capstan: a pull of 100 N round 180 degrees at mu 0.3 takes 100 e^(0.3 pi) = 256.6 N."""
    assert pull_force_n([0.0, 0.0], [180.0], 500.0, 0.3, start_n=100.0) == pytest.approx(256.6, abs=0.05)


@given(st.lists(st.floats(0, 90), min_size=1, max_size=6), st.floats(0.05, 0.8))
def test_bends_multiply_whatever_their_order(turns: list[float], friction: float) -> None:
    none = [0.0] * (len(turns) + 1)
    force = pull_force_n(none, turns, 300.0, friction, start_n=10.0)
    assert force == pytest.approx(10.0 * math.exp(friction * math.radians(sum(turns))))


def test_pull_from_the_end_that_is_far_from_the_bend_is_harder() -> None:
    """Weight that lies before the bend is multiplied by it: pull from the side where the long leg comes last."""
    long_first = pull_force_n([9_000.0, 500.0], [90.0], 800.0, 0.4)
    long_last = pull_force_n([500.0, 9_000.0], [90.0], 800.0, 0.4)
    assert long_last < long_first


def test_limits_and_wrong_questions() -> None:
    assert pull_limit_n(1.0) == 50.0
    assert pull_limit_n(100.0) == 300.0
    assert slides_through(20.0, 20.0)
    assert not slides_through(20.1, 20.0)
    with pytest.raises(ValueError, match="one leg more"):
        pull_force_n([1.0], [90.0], 1.0, 0.4)


def test_a_sleeve_keeps_the_length_of_its_strands() -> None:
    """Numerically: a strand of the sleeve at rest, and the same strand wound the same number of turns on the bundle."""
    bundle, nominal, length = 9.0, 12.0, 1_000.0
    bought = braided_sleeve_mm(bundle, length, nominal, end_mm=0.0)

    def strand(diameter: float, along: float, turns: float, steps: int = 20_000) -> float:
        spots = [
            (along * k / steps, diameter / 2 * math.cos(2 * math.pi * turns * k / steps),
             diameter / 2 * math.sin(2 * math.pi * turns * k / steps))
            for k in range(steps + 1)
        ]  # fmt: skip
        return sum(math.dist(p, q) for p, q in zip(spots, spots[1:], strict=False))

    turns = bought * math.tan(math.radians(BRAID_DEG)) / (math.pi * nominal)
    assert strand(nominal, bought, turns) == pytest.approx(strand(bundle, length, turns), rel=1e-5)
    assert bought < length  # drawn onto a thinner bundle it gets longer
    assert braided_sleeve_mm(12.0, length, nominal, end_mm=25.0) == pytest.approx(length + 50.0)


def test_sleeves_go_over_the_bundle() -> None:
    assert [sleeve_for(d) for d in (3.0, 10.0, 10.1, 60.0)] == [4.0, 10.0, 12.0, None]
    with pytest.raises(ValueError, match="does not open"):
        braided_sleeve_mm(40.0, 1_000.0, 12.0)


def test_twelve_metres_of_15_mm_half_lapped() -> None:
    """What the trade reckons: 62 m within 5 % and three rolls of 25 m."""
    tape = spiral_tape_mm(15.0, 12_000.0, 19.0, 0.5, 0.15)
    assert tape == pytest.approx(62_000.0, rel=0.05)
    assert rolls_without_joints([tape], 25_000.0) == rolls(tape, 25_000.0) == 3
    assert passes_tape_mm(15.0, 12_000.0, 19.0, 0.5, 0.15, 1) == tape
    with pytest.raises(ValueError, match="passes"):
        passes_tape_mm(15.0, 12_000.0, 19.0, 0.5, 0.15, 0)


def test_a_second_pass_goes_round_what_the_first_has_made_thicker() -> None:
    # By hand: half-lapped, two layers of 0.15 mm on either side, so the second pass goes round 15.6 mm.
    first, second = (spiral_tape_mm(d, 3_000.0, 19.0, 0.5, 0.15) for d in (15.0, 15.6))
    assert passes_tape_mm(15.0, 3_000.0, 19.0, 0.5, 0.15, 2) == pytest.approx(first + second)


def test_no_joint_is_made_inside_a_stretch_that_fits_a_roll() -> None:
    # By hand: 45 m are 1.8 rolls of 25 m, but no two stretches of 15 m come off one.
    assert rolls_without_joints([15_000.0] * 3, 25_000.0) == 3
    assert rolls_without_joints([15_000.0, 15_000.0, 10_000.0, 10_000.0], 25_000.0) == 2
    assert rolls_without_joints([12_500.0] * 2, 25_000.0, reserve=0.1) == 2


@given(st.lists(st.floats(1, 60_000), max_size=12))
def test_rolls_are_never_fewer_than_the_sum_and_hold_whole_stretches(stretches: list[float]) -> None:
    count = rolls_without_joints(stretches, 25_000.0)
    assert count >= rolls(sum(stretches), 25_000.0)
    assert count <= sum(math.ceil(s / 25_000.0 - 1e-9) for s in stretches)
