"""Conductors against ASTM B258, IEC 60228, NEC chapter 9 table 8 and dealers' tables (resources/tables/*.csv)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.electrical.conductors import (
    SOLD_GAUGES,
    awg_diameter_mm,
    awg_for_section,
    awg_r20_ohm_per_km,
    awg_section_mm2,
    cmil,
    copper_g_per_m,
    gauge_name,
    gauge_number,
    iec60228_r20_ohm_per_km,
    next_not_smaller,
    resistance_ohm_per_m,
    sae_section_mm2,
    trade_size_section_mm2,
    vehicle_cable_od_mm,
    vehicle_cable_r20_ohm_per_km,
)
from core.electrical.tables import read_table

AWG_ROWS = read_table("awg").rows
_KFT_M = 304.8


@pytest.mark.parametrize("row", AWG_ROWS, ids=lambda row: row["awg"])
def test_gauge_geometry_is_that_of_astm_b258(row: dict[str, str]) -> None:
    gauge = row["awg"]
    assert awg_diameter_mm(gauge) == pytest.approx(float(row["solid_diameter_mm"]), abs=6e-5)
    assert awg_section_mm2(gauge) == pytest.approx(float(row["area_mm2"]), abs=6e-5)
    assert cmil(awg_section_mm2(gauge)) == pytest.approx(float(row["cmil_exact"]), abs=0.51)
    assert awg_r20_ohm_per_km(gauge) == pytest.approx(float(row["r20_solid_ohm_per_km"]), rel=1e-4)


@pytest.mark.parametrize("row", [row for row in AWG_ROWS if row["nec_cmil"]], ids=lambda row: row["awg"])
def test_resistance_at_75_c_is_that_of_nec_table_8(row: dict[str, str]) -> None:
    # NEC chapter 9 table 8 (read): values at 75 C; class B strands lie about 2 % above solid copper.
    assert cmil(awg_section_mm2(row["awg"])) == pytest.approx(float(row["nec_cmil"]), rel=3e-3)
    hot = resistance_ohm_per_m(awg_r20_ohm_per_km(row["awg"]), 75) * _KFT_M
    if row["nec_r75_uncoated_solid_ohm_per_kft"]:
        assert hot == pytest.approx(float(row["nec_r75_uncoated_solid_ohm_per_kft"]), rel=5e-3)
    stranded = resistance_ohm_per_m(awg_r20_ohm_per_km(row["awg"], 1.02), 75) * _KFT_M
    assert stranded == pytest.approx(float(row["nec_r75_uncoated_stranded_ohm_per_kft"]), rel=1e-2)


@pytest.mark.parametrize("row", read_table("iec60228_temp_factors").rows, ids=lambda row: row["t_C"])
def test_temperature_follows_iec_60228_within_its_rounder_coefficient(row: dict[str, str]) -> None:
    # IEC 60228 brings R back to 20 C by kt = 1 / (1 + 0.004 (t - 20)) (read); 0.00393 differs by 0.4 % at 100 C.
    assert resistance_ohm_per_m(1000, float(row["t_C"])) * float(row["kt"]) == pytest.approx(1, abs=5e-3)


def test_temperature_ratios_of_the_aircraft_circular() -> None:
    # AC 43.13-1B para 11-66d(4), worked example A3: L2/L1 = 254.5 / (234.5 + T2)
    for temperature_c, ratio in ((40, 0.9271), (50, 0.8946), (60, 0.8642), (105, 0.7496)):
        assert resistance_ohm_per_m(1000, 20) / resistance_ohm_per_m(1000, temperature_c) == pytest.approx(
            ratio, abs=6e-5
        )
    for beyond in (-300, 301, float("nan")):
        with pytest.raises(ValueError, match="outside"):
            resistance_ohm_per_m(1, beyond)


def test_iec_60228_classes() -> None:
    class5 = iec60228_r20_ohm_per_km()
    assert (class5[0.5], class5[2.5], class5[50], class5[120]) == (39.0, 7.98, 0.386, 0.161)
    assert iec60228_r20_ohm_per_km("class1_2_plain")[50] == 0.387  # above class 5: odd, but so printed
    # Plain copper of 17.241 ohm mm2/km and a lay of 5 to 16 %: no row may lie outside.
    for section_mm2, r20 in class5.items():
        assert 1.0 < r20 * section_mm2 / 17.241 < 1.16, section_mm2


def test_vehicle_cable_has_less_copper_than_boat_cable_of_the_same_number() -> None:
    # Read on two dealers' tables: SAE 12 is 5,833 cmil, AWG 12 is 6,530.
    assert cmil(sae_section_mm2("12")) == pytest.approx(5833)
    for row in read_table("sae_vs_awg_cmil").rows:
        share = sae_section_mm2(row["size"]) / awg_section_mm2(row["size"])
        assert 0.87 < share < 0.98, row["size"]
    with pytest.raises(ValueError, match="expected one of 18, 16"):
        sae_section_mm2("22")


def test_thin_wall_cable_of_iso_6722() -> None:
    r20, od = vehicle_cable_r20_ohm_per_km(), vehicle_cable_od_mm()
    assert (r20[1.5], od[1.5]) == (12.7, 2.4)
    sections = sorted(r20)
    assert [r20[s] for s in sections] == sorted(r20.values(), reverse=True)
    assert [od[s] for s in sections] == sorted(od.values())


def test_auto_cable_is_named_by_its_outside() -> None:
    # Read on three pages: "4 mm" auto cable holds 1.84 mm2, "6 mm" 4.59 mm2.
    assert trade_size_section_mm2(4) == 1.84
    assert trade_size_section_mm2(6) == 4.59
    assert trade_size_section_mm2(7) is None


@given(st.floats(0.05, 107))
def test_mapping_to_a_gauge_never_loses_copper_and_never_wastes_a_gauge(section_mm2: float) -> None:
    gauge = awg_for_section(section_mm2)
    assert gauge is not None
    assert awg_section_mm2(gauge) >= section_mm2 * (1 - 5e-4)
    place = SOLD_GAUGES.index(gauge)
    assert place == 0 or awg_section_mm2(SOLD_GAUGES[place - 1]) < section_mm2


def test_mapping_at_the_ends() -> None:
    assert [awg_for_section(s) for s in (0.75, 1.5, 2.08, 2.5, 4, 6, 10, 16, 35, 53.5, 95)] == [
        "18", "14", "14", "12", "10", "8", "6", "4", "1", "1/0", "4/0",
    ]  # fmt: skip
    assert awg_for_section(120) is None
    assert next_not_smaller(2.6, (1.5, 4.0, 2.5)) == 4.0
    assert next_not_smaller(2.5, (1.5, 4.0, 2.5)) == 2.5
    assert next_not_smaller(5, (1.5, 4.0, 2.5)) is None
    for bad in (0.0, -1.0, float("nan"), float("inf")):
        with pytest.raises(ValueError, match="positive"):
            awg_for_section(bad)


@pytest.mark.parametrize("n", range(-3, 41))
def test_gauge_names_and_numbers_go_both_ways(n: int) -> None:
    assert gauge_number(gauge_name(n)) == n


@pytest.mark.parametrize("text", ["", "41", "-1", "5/0", "0/0", "00000", "1.5", "x", "٣", "²"])
def test_what_is_no_gauge_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="no AWG gauge"):
        gauge_number(text)


def test_mass_of_copper() -> None:
    # 1 mm2 x 1 m is 1 cm3: 8.89 g (IEC 60028, from memory)
    assert copper_g_per_m(2.5) == pytest.approx(22.225)
