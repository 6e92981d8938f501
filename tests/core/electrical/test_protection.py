"""Fuses against 33 CFR 183.455, ABYC E-11, fuse makers' practice and the standard series."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.electrical.ampacity import ampacity_table
from core.electrical.conductors import awg_section_mm2
from core.electrical.protection import (
    families,
    interrupting,
    ratings,
    smallest_of_at_least,
    wanted_rating_a,
)
from core.electrical.sizing import Conductor, Protection, SizingProblem, size, size_table
from core.files.library import load_library


@pytest.mark.parametrize(("gauge", "insulation_c", "ceiling_a"), [("14", 105, 52.5), ("18", 60, 15)])
def test_ceiling_of_33_cfr_below_50_v(gauge: str, insulation_c: float, ceiling_a: float) -> None:
    # 33 CFR 183.455(c) (read), example C1: at most 150 % of table 5
    one = size_table((awg_section_mm2(gauge),), (10.0,), ampacity_table("cfr183"), insulation_c, 60.0)

    def holds(fuse_a: float) -> bool:
        fuse = Protection(5.0, (fuse_a,), fixed_a=fuse_a, ampacity_share=1.5)
        return (
            not size(SizingProblem((Conductor(one, 500, 5.0, protection=0),), protections=(fuse,))).conductors[0].faults
        )

    assert holds(ceiling_a)
    assert not holds(ceiling_a + 0.01)


def test_fuse_choice_with_temperature() -> None:
    # Example C2 (read: datasheetandpdf.com CP04V3TR50 p.10): 1.5 A / (0.7 x 0.95) = 2.255 A
    assert wanted_rating_a(1.5, 1 / 0.7, 0.95) == pytest.approx(2.2556, abs=1e-4)
    for bad in ((-1, 1.25, 1), (1, 0, 1), (1, 1.25, 0), (float("nan"), 1, 1)):
        with pytest.raises(ValueError, match="no rating"):
            wanted_rating_a(*bad)


def test_three_quarters_rule() -> None:
    # Example C3 (read: circuitprotection.ca): 11 A continuous wants 14.67 A, so 15 A
    assert wanted_rating_a(11, 1 / 0.75) == pytest.approx(14.667, abs=1e-3)
    assert smallest_of_at_least(wanted_rating_a(11, 1 / 0.75), ratings("blade_regular")) == 15


def test_standard_series() -> None:
    # ISO 8820-3 blade series (read), NEC 240.6 (to 60 A read)
    assert ratings("blade_mini") == (2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30)
    assert ratings("blade_maxi") == (20, 30, 40, 50, 60, 70, 80)
    assert ratings("breaker")[:9] == (15, 20, 25, 30, 35, 40, 45, 50, 60)
    assert smallest_of_at_least(12 * 1.25, ratings("blade_regular")) == 15  # exactly: not 20
    assert smallest_of_at_least(41, ratings("blade_regular")) is None
    assert smallest_of_at_least(0, ratings("blade_regular")) == 1
    assert families()["class_t"].volts_dc_max == 125
    assert families()["breaker"].volts_dc_max is None
    assert families()["blade_regular"].colours[5] == "brown"  # 7.5 A
    with pytest.raises(ValueError, match="expected one of blade_mini"):
        ratings("x")
    with pytest.raises(ValueError, match="not negative"):
        smallest_of_at_least(-1, ratings("blade_regular"))


@given(st.sampled_from(sorted(families())), st.floats(0, 1000))
def test_the_smallest_rating_is_the_smallest(family: str, current_a: float) -> None:
    rating = smallest_of_at_least(current_a, ratings(family))
    enough = [r for r in ratings(family) if r >= current_a * (1 - 1e-12)]
    assert rating == (enough[0] if enough else None)


def test_every_family_rises_and_says_how_it_is_known() -> None:
    for family in families().values():
        assert list(family.ratings_a) == sorted(set(family.ratings_a))
        assert "read" in family.known or "memory" in family.known


@pytest.mark.parametrize(
    ("profile", "inches"),
    # bare wire, sheathed all the way, sheathed and straight from a battery: 33 CFR 183.455(b) (read: self-law.org
    # copy), ABYC E-11 (read: three surveyors' pages, who differ on whether 72 in need a sheath; the stricter reading),
    # NEC 551.10(E) (read: codebookcity.com).
    [("boat-us", (7, 40, 72)), ("van-metric", (7, 40, 72)), ("rv-us", (18, 18, 18))],
)
def test_distance_from_the_source(profile: str, inches: tuple[float, ...]) -> None:
    rules = ("fuse.distance_mm", "fuse.distance_sheathed_mm", "fuse.distance_battery_mm")
    limits = {row.rule: row.value for row in load_library().profile(profile).limits}
    assert [limits[rule] for rule in rules] == pytest.approx([i * 25.4 for i in inches])


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
