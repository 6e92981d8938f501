"""Fuses against 33 CFR 183.455, ABYC E-11, fuse makers' practice and the standard series."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.electrical import protection
from core.electrical.ampacity import ampacity_table
from core.electrical.conductors import awg_section_mm2
from core.electrical.protection import (
    FUSE_SHARE_FACTOR,
    families,
    interrupting,
    largest_rating_allowed_a,
    longest_to_fuse_mm,
    ratings,
    smallest_rating_at_least,
    wanted_rating_a,
)


@pytest.mark.parametrize(("gauge", "insulation_c", "ceiling_a"), [("14", 105, 52.5), ("18", 60, 15)])
def test_ceiling_of_33_cfr_below_50_v(gauge: str, insulation_c: float, ceiling_a: float) -> None:
    # 33 CFR 183.455(c) (read), example C1: at most 150 % of table 5
    base = ampacity_table("cfr183").base(awg_section_mm2(gauge), insulation_c)
    assert base is not None
    assert largest_rating_allowed_a(base.ampacity_a, 12, ratings("breaker")) == ceiling_a


def test_ceiling_of_33_cfr_from_50_v() -> None:
    # From 50 V: table 5, or the next standard size, still at most 150 % (read)
    assert largest_rating_allowed_a(40, 120, ratings("breaker")) == 40
    assert largest_rating_allowed_a(42, 120, ratings("breaker")) == 45
    assert largest_rating_allowed_a(9, 120, ratings("breaker")) == 9  # 15 A would be over 150 %


def test_fuse_choice_with_temperature() -> None:
    # Example C2 (read: datasheetandpdf.com CP04V3TR50 p.10): 1.5 A / (0.7 x 0.95) = 2.255 A
    assert wanted_rating_a(1.5, 1 / 0.7, 0.95) == pytest.approx(2.2556, abs=1e-4)
    for bad in ((-1, 1.25, 1), (1, 0, 1), (1, 1.25, 0), (float("nan"), 1, 1)):
        with pytest.raises(ValueError, match="no rating"):
            wanted_rating_a(*bad)


def test_three_quarters_rule() -> None:
    # Example C3 (read: circuitprotection.ca): 11 A continuous wants 14.67 A, so 15 A
    assert wanted_rating_a(11, FUSE_SHARE_FACTOR) == pytest.approx(14.667, abs=1e-3)
    assert smallest_rating_at_least(wanted_rating_a(11, FUSE_SHARE_FACTOR), "blade_regular") == 15


def test_standard_series() -> None:
    # ISO 8820-3 blade series (read), NEC 240.6 (to 60 A read)
    assert ratings("blade_mini") == (2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30)
    assert ratings("blade_maxi") == (20, 30, 40, 50, 60, 70, 80)
    assert ratings("breaker")[:9] == (15, 20, 25, 30, 35, 40, 45, 50, 60)
    assert smallest_rating_at_least(12 * 1.25, "blade_regular") == 15  # exactly: not 20
    assert smallest_rating_at_least(41, "blade_regular") is None
    assert smallest_rating_at_least(0, "blade_regular") == 1
    assert families()["class_t"].volts_dc_max == 125
    assert families()["breaker"].volts_dc_max is None
    assert families()["blade_regular"].colours[5] == "brown"  # 7.5 A
    with pytest.raises(ValueError, match="expected one of blade_mini"):
        ratings("x")
    with pytest.raises(ValueError, match="not negative"):
        smallest_rating_at_least(-1, "blade_regular")


@given(st.sampled_from(sorted(families())), st.floats(0, 1000))
def test_the_smallest_rating_is_the_smallest(family: str, current_a: float) -> None:
    rating = smallest_rating_at_least(current_a, family)
    enough = [r for r in ratings(family) if r >= current_a * (1 - 1e-12)]
    assert rating == (enough[0] if enough else None)


def test_every_family_rises_and_says_how_it_is_known() -> None:
    for family in families().values():
        assert list(family.ratings_a) == sorted(set(family.ratings_a))
        assert "read" in family.known or "memory" in family.known


@pytest.mark.parametrize(
    ("rule", "sheathed", "at_battery", "longest_in"),
    [
        ("33 CFR 183.455", False, False, 7),
        ("33 CFR 183.455", True, False, 40),
        ("33 CFR 183.455", True, True, 40),
        ("ABYC E-11", False, False, 7),
        ("ABYC E-11", False, True, 7),  # stricter reading: 72 in only in a sheath
        ("ABYC E-11", True, False, 40),
        ("ABYC E-11", True, True, 72),
        ("NEC 551.10(E)", False, False, 18),
    ],
)
def test_distance_from_the_source(
    rule: protection.DistanceRule, sheathed: bool, at_battery: bool, longest_in: float
) -> None:
    assert longest_to_fuse_mm(rule, sheathed=sheathed, at_battery=at_battery) == pytest.approx(longest_in * 25.4)


def test_interrupting_capacity() -> None:
    # From memory, but for class T's 20 kA (read)
    post_12, post_48 = interrupting("on_post", 12), interrupting("on_post", 48)
    assert post_12 is not None
    assert post_48 is not None
    assert (post_12.capacity_a, post_12.volts_dc) == (10_000, 14)
    assert (post_48.capacity_a, post_48.volts_dc) == (2_000, 58)
    class_t = interrupting("class_t", 51.2)
    assert class_t is not None
    assert class_t.capacity_a == 20_000
    assert interrupting("strip_limiter", 48) is None  # 32 V fuses are not for 48 V
    assert interrupting("breaker", 12) is None
