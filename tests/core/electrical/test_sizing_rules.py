"""Rules of sizing that a profile brings: fuse tables, terminals, engine spaces, curves, the order of fuses."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.electrical.ampacity import ampacity_table, engine_space_factor, grouping_table, mil_grouping_factor
from core.electrical.conductors import SOLD_GAUGES, awg_r20_ohm_per_km, awg_section_mm2
from core.electrical.protection import families, fuse_table, ratings, smallest_of_at_least
from core.electrical.sizing import (
    Conductor,
    DropPath,
    Protection,
    SizeTable,
    SizingProblem,
    SizingRules,
    Stretch,
    size,
    size_table,
)

GAUGES = SOLD_GAUGES[SOLD_GAUGES.index("18") : SOLD_GAUGES.index("1")]
SECTIONS = tuple(awg_section_mm2(g) for g in GAUGES)
R20 = tuple(awg_r20_ohm_per_km(g) for g in GAUGES)
BLADE = ratings("blade_regular")


def table(ampacity: str = "cfr183", insulation_c: float = 105.0, **more) -> SizeTable:
    names = tuple(f"{g} AWG" for g in GAUGES)
    return size_table(SECTIONS, R20, ampacity_table(ampacity), insulation_c, 60.0, names=names, **more)


# --- fuse table --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("gauge", "amps"), [("18", 6), ("16", 8), ("14", 15), ("12", 20), ("10", 30)])
def test_fuse_table_of_recreational_vehicles(gauge: str, amps: float) -> None:
    # NEC (2008) Table 551.10(E)(1), example C6: values from memory, the rule read
    fuses = fuse_table("nec551")
    assert fuses.largest_a(awg_section_mm2(gauge)) == amps
    assert fuses.largest_a(awg_section_mm2(gauge) * 1.1) == amps  # never upwards
    assert fuses.known == "memory"


def test_fuse_table_says_nothing_above_10_awg_and_nothing_below_18() -> None:
    fuses = fuse_table("nec551")
    assert fuses.largest_a(awg_section_mm2("8")) > 1_000
    assert fuses.largest_a(6.0) == 30  # between 10 and 8 AWG
    assert fuses.largest_a(0.5) == 0
    with pytest.raises(ValueError, match="expected nec551"):
        fuse_table("moon")


def test_the_fuse_table_decides_where_the_ampacity_would_allow_more() -> None:
    # 18 AWG carries 20 A by 33 CFR at 105 C (read), but may have a 6 A fuse only: a 15 A fuse takes 14 AWG
    wire = Conductor(table(fuses=fuse_table("nec551")), 1_000, 8.0, protection=0)
    result = size(SizingProblem((wire,), protections=(Protection(8.0, BLADE, fixed_a=15.0),)))
    assert GAUGES[result.conductors[0].index] == "14"
    assert result.conductors[0].decided_by == "fuse table"
    thin = Conductor(wire.table, 1_000, 8.0, protection=0, fixed_mm2=SECTIONS[0])
    (fault,) = size(SizingProblem((thin,), protections=(Protection(8.0, BLADE, fixed_a=15.0),))).conductors[0].faults
    assert (fault.rule, fault.value, fault.limit) == ("fuse table", 6.0, 15.0)
    assert fault.message.startswith("18 AWG may have a fuse of 6 A at most")


# --- terminals and parallel --------------------------------------------------------------------------------------


def test_terminals_cap_by_their_column_also_where_it_has_holes() -> None:
    # NEC Table 310.16 (read): 10 AWG 40 A at 90 C, 30 A at 60 C; 18 and 16 AWG have no 60 C value, 14 AWG has 15 A
    capped = table("nec310_16", 90.0, terminal_c=60.0)
    assert capped.terminal_a is not None
    by_gauge = dict(zip(GAUGES, capped.terminal_a, strict=True))
    assert by_gauge["10"] == 30
    assert by_gauge["14"] == 15
    assert by_gauge["16"] == 15  # its own 18 A, but no more than the thicker one may have
    assert by_gauge["18"] == 14
    assert table("nec310_16", 60.0, terminal_c=90.0).terminal_a is None  # a better terminal gives nothing


def test_parallel_conductors_share_the_current() -> None:
    one, two = table(), table(parallel=2)
    assert two.ampacity_a == tuple(2 * a for a in one.ampacity_a)
    assert two.r_ohm_per_m == pytest.approx(tuple(r / 2 for r in one.r_ohm_per_m))


def test_each_of_parallel_conductors_counts_in_the_bundle() -> None:
    """NEC 310.15(C)(1): every current-carrying conductor of a parallel set counts (from memory). Two there and two back
    lie four together, 0.6 by the note of 33 CFR 183.425 (read); by circuits they are two."""
    many = table(parallel=2)

    def factor(rules: SizingRules) -> tuple[int, float]:
        pair = tuple(Conductor(many, 3_000, 30, circuit=0, route=(0,), parallel=2) for _ in range(2))
        idle = Conductor(table(), 3_000, 0, circuit=1, route=(0,))
        answers = size(SizingProblem((*pair, idle), (Stretch(3_000),), rules=rules)).conductors
        assert answers[2].grouped == answers[0].grouped + 1  # it would be one more
        return answers[0].grouped, next(f.value for f in answers[0].factors if f.name == "grouping")

    assert factor(SizingRules(grouping=grouping_table("cfr"))) == (4, 0.6)
    bunched = grouping_table("bs7671_bunched")
    assert factor(SizingRules(grouping=bunched, count_by="circuits")) == (2, bunched.at(2))


def test_messages_name_sizes_as_they_are_sold() -> None:
    wire = Conductor(table(), 1_000, 25.0, fixed_mm2=SECTIONS[0], minimum_mm2=awg_section_mm2("16"))
    messages = [fault.message for fault in size(SizingProblem((wire,))).conductors[0].faults]
    assert "18 AWG is smaller than the 16 AWG that the minimum size asks for" in messages
    assert "18 AWG may carry 20.0 A here, the load draws 25 A" in messages
    with pytest.raises(ValueError, match="a name for every row"):
        SizeTable((1.0, 2.0), (0.02, 0.01), (10.0, 20.0), 105.0, names=("one",))


# --- engine spaces -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("printed", [True, False])
def test_engine_space(printed: bool) -> None:
    """33 CFR 183.425 Table 5 note 1, 50 C: 0.85 at 105 C (read in the UL 1426 table); the closed form gives 0.856."""
    wire = Conductor(table(), 1_000, 5.0, route=(0,))
    rules = SizingRules(engine_factors=printed)
    hot = SizingProblem((wire,), stretches=(Stretch(1_000, 50.0, engine_space=True),), rules=rules)
    (factor,) = size(hot).conductors[0].factors
    assert factor.value == pytest.approx(0.85 if printed else (55 / 75) ** 0.5)
    assert engine_space_factor(105) == 0.85
    hotter = SizingProblem((wire,), stretches=(Stretch(1_000, 80.0, engine_space=True),), rules=rules)
    assert size(hotter).conductors[0].factors[0].value == pytest.approx((25 / 75) ** 0.5)


# --- curves ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("loading", [20, 40, 60, 80, 100])
def test_the_bundle_curves_as_grouping_tables(loading: int) -> None:
    # MIL-W-5088L / AS50881 (digitised, read to 19 wires): 7 wires 0.82, 0.695, 0.625, 0.57, 0.54
    curve = grouping_table(f"mil5088l_{loading}")
    assert curve.at(7) == {20: 0.82, 40: 0.695, 60: 0.625, 80: 0.57, 100: 0.54}[loading]
    for wires in range(1, 60):
        assert curve.at(wires) == pytest.approx(mil_grouping_factor(wires, loading))


def test_the_curve_of_a_bundle_follows_what_is_in_use_in_it() -> None:
    """Six wires of 35 A (14 AWG at 105 C, 33 CFR 183) together: 210 A in free air. Curves at six wires: 20 % 0.85,
    40 % 0.725, 60 % 0.655. 6 x 5 A = 30 A is within 0.20 x 0.85 x 210 = 35.7 A; 6 x 8 A = 48 A within 0.40 x 0.725 x
    210 = 60.9 A only; with one wire at 30 A and five idle the bundle is cool again: 30 A."""
    rules = SizingRules(by_loading=True)

    def factor(amps: list[float]) -> float:
        wires = tuple(Conductor(table(), 5_000, a, route=(0,), fixed_mm2=SECTIONS[GAUGES.index("14")]) for a in amps)
        answer = size(SizingProblem(wires, stretches=(Stretch(5_000),), rules=rules)).conductors[0]
        assert answer.grouped == 6
        assert answer.ampacity_a == pytest.approx(35 * answer.factors[1].value)
        return answer.factors[1].value

    assert factor([5.0] * 6) == 0.85
    assert factor([8.0] * 6) == 0.725
    assert factor([30.0, *[0.0] * 5]) == 0.85
    # an earth in the bundle is no wire of it
    earth = Conductor(table(), 5_000, counts=False, route=(0,), fixed_mm2=SECTIONS[GAUGES.index("14")])
    two = (Conductor(table(), 5_000, 5.0, route=(0,), fixed_mm2=SECTIONS[GAUGES.index("14")]),) * 2
    assert size(SizingProblem((*two, earth), stretches=(Stretch(5_000),), rules=rules)).conductors[0].grouped == 2


def test_thin_air_is_a_factor_of_its_own() -> None:
    wire = Conductor(table(), 5_000, 5.0, fixed_mm2=SECTIONS[GAUGES.index("14")])
    answer = size(SizingProblem((wire,), rules=SizingRules(altitude=0.91))).conductors[0]
    assert answer.ampacity_a == pytest.approx(35 * 0.91)
    assert [f.name for f in answer.factors] == ["ambient", "altitude"]


# --- the order of fuses ------------------------------------------------------------------------------------------


def test_a_fuse_lets_the_peak_through_and_the_fuses_behind_it() -> None:
    # 3 A running and 10 A at the start: 10 A, not 4 A; the feeder no smaller than the largest branch
    branches = (Protection(3.0, BLADE, least_a=10.0), Protection(12.0, BLADE))
    feeder = Protection(4.0, ratings("blade_maxi"), feeds=(0, 1))
    fuses = size(SizingProblem((), protections=(feeder, *branches))).fuses
    assert [fuse.rating_a for fuse in fuses] == [20.0, 10.0, 15.0]
    strip = Protection(4.0, ratings("blade_mini"), feeds=(1,))
    assert size(SizingProblem((), protections=(strip, Protection(20.0, BLADE)))).fuses[0].rating_a == 25.0


def test_a_peak_beyond_the_family_is_no_fault() -> None:
    # the running current asks for 37.5 A: the family's largest, 40 A, though the peak of 90 A goes beyond it
    (fuse,) = size(SizingProblem((), protections=(Protection(30.0, BLADE, least_a=90.0),))).fuses
    assert (fuse.rating_a, fuse.wanted_a, fuse.faults) == (40.0, 90.0, ())


def test_fuses_in_a_ring_end() -> None:
    ring = (Protection(3.0, BLADE, feeds=(1,)), Protection(10.0, BLADE, feeds=(0,)))
    assert all(fuse.rating_a is not None for fuse in size(SizingProblem((), protections=ring)).fuses)
    with pytest.raises(ValueError, match="feeds"):
        SizingProblem((), protections=(Protection(1.0, BLADE, feeds=(7,)),))


@given(st.lists(st.floats(0.1, 30), min_size=1, max_size=6), st.floats(0, 30))
def test_no_fuse_is_smaller_than_one_it_feeds(currents: list[float], own: float) -> None:
    behind = tuple(Protection(amps, BLADE) for amps in currents)
    feeder = Protection(own, ratings("strip_large"), feeds=tuple(range(1, len(behind) + 1)))
    first, *rest = size(SizingProblem((), protections=(feeder, *behind))).fuses
    assert first.rating_a is not None
    assert all(fuse.rating_a is not None and fuse.rating_a <= first.rating_a for fuse in rest)


def test_breakers_of_230_volts() -> None:
    # IEC 60898-1 preferred values, from memory
    assert ratings("breaker_iec") == (6, 10, 13, 16, 20, 25, 32, 40, 50, 63, 80, 100, 125)
    assert smallest_of_at_least(11.0, ratings("breaker_iec")) == 13
    assert families()["breaker_iec"].known == "memory"


# --- what is lost before -----------------------------------------------------------------------------------------


def test_volts_lost_before_count_on_the_path() -> None:
    wire = Conductor(table(), 5_000, 10.0)
    bare = size(SizingProblem((wire,), paths=(DropPath((0,), (10.0,), 0.5),)))
    behind = size(SizingProblem((wire,), paths=(DropPath((0,), (10.0,), 0.5, fixed_v=0.3),)))
    assert behind.conductors[0].section_mm2 > bare.conductors[0].section_mm2
    assert behind.paths[0].drop_v == pytest.approx(0.3 + behind.conductors[0].drop_v)
    assert behind.paths[0].holds
