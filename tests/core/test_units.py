"""Reading and showing quantities. 1 in = 25.4 mm exactly (yard and pound agreement of 1959)."""

import subprocess
import sys

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from core import units
from core.units import (
    UnitProblem,
    convert,
    read_angle_deg,
    read_current_a,
    read_length_mm,
    read_power_w,
    read_section,
    read_section_mm2,
    read_temperature_c,
    read_voltage_v,
    show,
    show_length,
    show_section,
)

# fmt: off
LENGTHS = {
    "850": 850, " 850 mm ": 850, "850mm": 850, "85 cm": 850, "1,2 m": 1200, "1.2m": 1200, "1.2 M": 1200, "0,85": 0.85,
    ".5 m": 500, "850.": 850, "1 m 20 cm": 1200, "1 m 20 cm 5 mm": 1205,
    "2 ft 6 in": 762, "2'6\"": 762, "2'6": 762, "2 ft 6": 762, "2' 6 1/2\"": 774.7, "2'6 1/2\"": 774.7, "2′6½″": 774.7,
    "2 feet 6 inches": 762, "1 1/2 in": 38.1, '1-1/2"': 38.1, "1½ in": 38.1, '½"': 12.7, '6½"': 165.1,
    "7/16 in": 11.1125,
    "2'-6\"": 762, "2'-6-1/2\"": 774.7, "2' - 6\"": 457.2, "1 yd 2 ft 3 in": 1600.2,
    "300 + 2*450": 1200, "300+2×450 mm": 1200, "2 x 450": 900, "2x450": 900, "450*2": 900, "1.5 m * 3": 4500,
    "2 * 3 * 10 mm": 60, "2 ft 6 in - 1/2 in": 749.3, "1 m - 35": 965, "850 − 50": 800, "1 m + 2 ft": 1609.6,
    "+5": 5, "900/2": 450, "0": 0, "500 µm": 0.5,
}
# fmt: on


@pytest.mark.parametrize(("text", "length_mm"), LENGTHS.items())
def test_lengths_are_read(text: str, length_mm: float) -> None:
    assert read_length_mm(text) == pytest.approx(length_mm, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "Nothing is typed"),
        ("   ", "Nothing is typed"),
        ("abc", "“abc” stands where a number should"),
        ("nan", "“nan” stands where a number should"),
        ("inf mm", "“inf” stands where a number should"),
        ("1e3", "“e” is not a unit of length"),
        ("5 kg", "“kg” is not a unit of length"),
        ("5 mm 3 mm", "side by side without + or -"),
        ("6 in 2 ft", "side by side without + or -"),
        ("1 m 20", "a number without a unit"),
        ("2 3 4", "“3” was not expected"),
        ("300 +", "stops early"),
        ("--3", "“-” stands where a number should"),
        ("3**2", "“*” stands where a number should"),
        ("1.5*2.5", "no whole number"),
        ("1 m * 1 m", "no whole number"),
        ("1/0 in", "divides by zero"),
        ("1.2.3", "was not expected"),
        ("1,200", "could be 1200 or 1.200"),
        ("1,234.5", "could be 1234 or 1.234"),
        ("(300)", "“(” stands where a number should"),
        ("-50", "expected a length from 0 mm"),
        ("10 km", "too large"),
        ("9" * 150, "too large"),
        ("9" * 1000, "too long"),
        ("٣ mm", "stands where a number should"),
    ],
)
def test_what_is_no_length_says_why_and_what_would_be_right(text: str, said: str) -> None:
    with pytest.raises(UnitProblem) as caught:
        read_length_mm(text)
    assert said in str(caught.value)
    assert "expected" in str(caught.value)
    assert len(str(caught.value)) < 200


def test_limits_and_the_unit_of_bare_numbers_are_the_callers() -> None:
    assert read_length_mm("6 1/2", "in") == pytest.approx(165.1)
    assert read_length_mm("1 + 50 mm", "m") == 1050
    assert read_length_mm("2*3", "ft") == pytest.approx(1828.8)
    assert read_length_mm("-2' 6\"", least_mm=-1000) == pytest.approx(-762)
    with pytest.raises(UnitProblem, match="expected a length from 10 mm to 20 mm"):
        read_length_mm("21", least_mm=10, most_mm=20)


@given(st.text(alphabet="0123456789 .,/+-*'\"½mcinft x°µ", max_size=30))
@example("9" * 30 + "m")
@example("0/0")
def test_any_text_is_a_length_within_limits_or_a_sentence(text: str) -> None:
    try:
        length_mm = read_length_mm(text)
    except UnitProblem as problem:
        assert str(problem).endswith(".")  # noqa: PT017 - both outcomes are right
    else:
        assert 0 <= length_mm <= units.LONGEST_MM


@given(st.floats(-1e5, 1e5))
def test_a_shown_length_reads_back_to_what_was_shown(length_mm: float) -> None:
    for unit, within_mm in (("mm", 0.05), ("m", 0.5), ("ft_in", 25.4 / 32)):
        text = show_length(length_mm, unit)  # type: ignore[arg-type]
        assert read_length_mm(text, least_mm=-1e6) == pytest.approx(length_mm, abs=within_mm + 1e-6), text


@pytest.mark.parametrize(
    ("length_mm", "mm", "m", "ft_in"),
    [
        (850, "850 mm", "0.85 m", "2' 9 7/16\""),
        (774.7, "774.7 mm", "0.775 m", "2' 6 1/2\""),
        (762, "762 mm", "0.762 m", "2' 6\""),
        (304.8 - 0.1, "304.7 mm", "0.305 m", "1'"),
        (12.7, "12.7 mm", "0.013 m", '1/2"'),
        (0, "0 mm", "0 m", '0"'),
        (-0.01, "0 mm", "0 m", '0"'),
        (-762, "-762 mm", "-0.762 m", "-2' 6\""),
        (float("nan"), "–", "–", "–"),
    ],
)
def test_lengths_are_shown(length_mm: float, mm: str, m: str, ft_in: str) -> None:
    assert (show_length(length_mm), show_length(length_mm, "m"), show_length(length_mm, "ft_in")) == (mm, m, ft_in)


@pytest.mark.parametrize(
    ("text", "section_mm2", "gauge"),
    [
        ("2.5", 2.5, None),
        ("2,5 mm2", 2.5, None),
        ("2.5 mm²", 2.5, None),
        ("2.5mm^2", 2.5, None),
        # NEC chapter 9 table 8 and ASTM B258 (computed from its formula, tables/awg.csv)
        ("12 AWG", 3.3088, "12"),
        ("awg 12", 3.3088, "12"),
        ("#12", 3.3088, "12"),
        ("4/0 AWG", 107.2193, "4/0"),
        ("4/0", 107.2193, "4/0"),
        ("0000 AWG", 107.2193, "4/0"),
        ("250 kcmil", 126.677, None),
    ],
)
def test_sections_are_read_in_both_systems(text: str, section_mm2: float, gauge: str | None) -> None:
    assert read_section(text) == (pytest.approx(section_mm2, rel=2e-5), gauge)
    assert read_section_mm2(text) == read_section(text).section_mm2


@pytest.mark.parametrize("text", ["0", "-1", "5/0", "41 AWG", "0 mm2", "2.5 mm", "AWG", "", "1/0 mm2 x", "99999"])
def test_what_is_no_section_is_refused(text: str) -> None:
    with pytest.raises(UnitProblem, match="expected"):
        read_section_mm2(text)


def test_other_quantities() -> None:
    assert read_current_a("7,5 A") == 7.5
    assert read_current_a("500 mA") == 0.5
    assert read_power_w("1.2 kW") == 1200
    assert read_power_w("2*60 + 8 W") == 128
    assert read_power_w("1 MW") == 1e6  # not a milliwatt
    assert read_power_w("1 hp") == pytest.approx(745.7, abs=0.01)  # 550 ft lbf/s, by pint
    assert read_voltage_v("12,8 V") == 12.8
    assert read_angle_deg("-92.5°") == -92.5
    assert read_angle_deg("90 + 2,5") == 92.5
    assert read_temperature_c("140 °F") == 60
    assert read_temperature_c("-40F") == -40
    assert read_temperature_c("60") == read_temperature_c("60 °C") == read_temperature_c("60c") == 60
    for reader, text in (
        (read_current_a, "-1"),
        (read_current_a, "5 V"),
        (read_power_w, "5 A"),
        (read_voltage_v, "twelve"),
        (read_angle_deg, "90 mm"),
        (read_temperature_c, "1e400"),
        (read_temperature_c, "500"),
    ):
        with pytest.raises(UnitProblem, match="expected"):
            reader(text)


@pytest.mark.parametrize("quantity", [units.LENGTH, units.CURRENT, units.POWER, units.VOLTAGE, units.ANGLE])
def test_our_factors_are_those_of_pint(quantity: units.Quantity) -> None:
    signs = {'"': "in", "'": "ft", "°": "deg", "amp": "A", "amps": "A"}
    for name, factor in quantity.units.items():
        assert convert(1, signs.get(name, name), quantity.base) == pytest.approx(factor, rel=1e-12), name


def test_shown_quantities() -> None:
    assert show_section(2.5) == "2.5 mm²"
    assert show_section(107.2193) == "107 mm²"
    assert show_section(107.2193, "4/0") == "4/0 AWG"
    assert show(7.5, "A") == "7.5 A"
    assert show(10.0, "A") == "10 A"
    assert show(0.3054, "V", 2) == "0.31 V"
    assert show(float("inf"), "V") == "–"


def test_importing_units_loads_no_slow_library() -> None:
    code = "import sys, core.units as u; u.read_length_mm('2 ft'); sys.exit(bool({'pint', 'numpy'} & set(sys.modules)))"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
