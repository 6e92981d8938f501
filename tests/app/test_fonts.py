"""The shipped fonts in Qt: it finds each cut, and a text is as wide as `core.text` says."""

import pytest
from PySide6.QtGui import QFontInfo, QFontMetricsF
from pytestqt.qtbot import QtBot

from app import fonts
from core.text import FONTS, text_width_mm

# Not "AV": the fonts kern it and `core.text` does not, so `make_font` must have kerning off for this to hold.
SAMPLES = ("AVATAR To WA", "3\u202f700 mm", "0123456789", "-> != <= fi ffl", "Ø 8 → 2 × 1.5 mm²", "Kühlschrank Ωж")


@pytest.mark.parametrize("name", FONTS)
def test_qt_and_core_agree_on_widths(qtbot: QtBot, name: str) -> None:
    fonts.load_fonts()
    font = fonts.make_font(name, 1000.0)
    assert QFontInfo(font).family() == FONTS[name].family
    assert QFontInfo(font).weight() == FONTS[name].weight
    assert QFontInfo(font).italic() == FONTS[name].is_italic
    for sample in SAMPLES:
        # Qt counts in 64ths of a pixel, so each letter may be off by that much.
        assert QFontMetricsF(font).horizontalAdvance(sample) == pytest.approx(
            text_width_mm(sample, name, 1000.0), abs=len(sample) / 32
        )
