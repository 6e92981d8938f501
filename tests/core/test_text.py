"""Widths against the fonts themselves, read by fontTools and measured by Qt; line breaks; numbers on paper."""

from __future__ import annotations

import math

import pytest
from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st

from core import text
from core.resources import resource


@pytest.fixture(scope="module")
def fonts() -> dict[str, TTFont]:
    return {name: TTFont(resource(f"fonts/{cut.file}")) for name, cut in text.FONTS.items()}


@pytest.mark.parametrize("name", text.FONTS)
def test_every_advance_is_the_fonts(name: str, fonts: dict[str, TTFont]) -> None:
    """Source: the `hmtx` table of the shipped file (OpenType specification)."""
    font = fonts[name]
    em = font["head"].unitsPerEm
    characters = font.getBestCmap()
    assert len(characters) > 400
    for code, glyph in characters.items():
        assert text.text_width_mm(chr(code), name, 10.0) == pytest.approx(10.0 * font["hmtx"][glyph][0] / em, abs=1e-12)


@pytest.mark.parametrize("name", text.FONTS)
def test_heights_are_the_fonts(name: str, fonts: dict[str, TTFont]) -> None:
    font = fonts[name]
    em = font["head"].unitsPerEm
    assert text.ascent_mm(name, 1.0) == font["hhea"].ascent / em
    assert text.descent_mm(name, 1.0) == -font["hhea"].descent / em
    assert text.cap_height_mm(name, 1.0) == font["OS/2"].sCapHeight / em
    assert text.x_height_mm(name, 1.0) == font["OS/2"].sxHeight / em


@pytest.mark.parametrize("name", text.FONTS)
def test_fonts_are_static_cuts_with_tabular_digits(name: str, fonts: dict[str, TTFont]) -> None:
    font, cut = fonts[name], text.FONTS[name]
    assert "fvar" not in font
    assert len({text.text_width_mm(digit, name, 1.0) for digit in "0123456789"}) == 1
    assert font["name"].getBestFamilyName() == cut.family
    assert font["name"].getBestSubFamilyName() == cut.style
    assert font["OS/2"].usWeightClass == cut.weight
    assert "SIL Open Font License" in font["name"].getDebugName(13)
    features = {record.FeatureTag for record in font["GSUB"].table.FeatureList.FeatureRecord}
    assert not features & {"liga", "calt", "tnum", "clig", "rlig"}  # would change widths behind our back


def test_drawing_font_borrows_what_it_lacks() -> None:
    assert text.text_width_mm("Σж", "drawing", 3.0) == text.text_width_mm("Σж", "text", 3.0)
    assert text.text_width_mm("日", "text", 3.0) == 3.0
    assert text.text_width_mm("e\u0301", "text", 3.0) == text.text_width_mm("e", "text", 3.0)


def test_unknown_font_is_named() -> None:
    with pytest.raises(KeyError, match="no font 'comic'; there are text"):
        text.text_width_mm("a", "comic", 3.0)


@pytest.mark.parametrize("name", text.FONTS)
@given(words=st.text(st.sampled_from("abcWil.,- 0123456789\nÄЖ日"), max_size=60), width_mm=st.floats(0, 60))
def test_wrap_fits_and_loses_nothing(name: str, words: str, width_mm: float) -> None:
    lines = text.wrap(words, name, 3.0, width_mm)
    assert "".join(lines).replace(" ", "") == words.replace(" ", "").replace("\n", "")
    for line in lines:
        assert len(line) <= 1 or text.text_width_mm(line, name, 3.0) <= width_mm


def test_wrap_breaks_at_blanks_and_keeps_line_ends() -> None:
    width_mm = text.text_width_mm("fridge feed", "text", 3.0)
    assert text.wrap("fridge feed and return\n\nspare", "text", 3.0, width_mm) == (
        "fridge feed",
        "and return",
        "",
        "spare",
    )
    assert text.wrap("", "text", 3.0, 10.0) == ("",)
    assert text.wrap("3\u202f700", "text", 3.0, 4.0)[0].startswith("3")


@given(words=st.text(max_size=40), width_mm=st.floats(0, 60))
def test_shorten_fits(words: str, width_mm: float) -> None:
    short = text.shorten(words, "text", 3.0, width_mm)
    assert text.text_width_mm(short, "text", 3.0) <= width_mm
    assert short == words or short == "" or words.startswith(short[:-1])


@pytest.mark.parametrize(
    ("value", "decimals", "written"),
    [
        (3700, 0, "3\u202f700"),
        (999.4, 0, "999"),
        (1234567.891, 2, "1\u202f234\u202f567.89"),
        (-12.5, 1, "\u221212.5"),
        (-0.0, 0, "0"),
        (-0.004, 2, "0.00"),
    ],
)
def test_numbers(value: float, decimals: int, written: str) -> None:
    assert text.number(value, decimals) == written


def test_other_numbers() -> None:
    assert text.mm(3700.4) == "3\u202f700"
    assert text.metres(3700) == "3.70"
    assert text.trimmed(2.50, 2) == "2.5"
    assert text.trimmed(4.0, 2) == "4"
    assert text.trimmed(1200.0, 0) == "1\u202f200"


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_no_number_for_what_is_none(value: float) -> None:
    with pytest.raises(ValueError, match="cannot write"):
        text.number(value)
