"""The shipped fonts, made known to Qt."""

from PySide6.QtGui import QFont, QFontDatabase

from core.resources import folder
from core.text import FONTS, STAND_INS


class FontsMissing(Exception):
    """Shipped fonts cannot be loaded; the text names them."""


def load_fonts() -> None:
    """Make every shipped cut available to QFont; needs a QGuiApplication. Raises FontsMissing.

    Qt forgets nothing within a process and gives the same number again, so a second call changes nothing.
    """
    missing = [
        font.file
        for font in FONTS.values()
        if QFontDatabase.addApplicationFont(str(folder() / "fonts" / font.file)) < 0
    ]
    if missing:
        raise FontsMissing(f"Loomwright's own fonts are missing or damaged: {', '.join(missing)}. Install it again.")


def make_font(name: str, size_px: float, *, is_measured: bool = True) -> QFont:
    """The font with a name of `core.text.FONTS` (KeyError otherwise), its em `size_px` units of the painter high.

    With `is_measured` a text is exactly as wide as `core.text.text_width_mm` says: no kerning, no hinting. Without,
    it is kerned, for labels that nothing depends on.
    """
    cut = FONTS[name]
    font = QFont()
    font.setFamilies([cut.family, *(FONTS[stand_in].family for stand_in in (STAND_INS.get(name),) if stand_in)])
    font.setWeight(QFont.Weight(cut.weight))
    font.setItalic(cut.is_italic)
    font.setPixelSize(max(1, round(size_px)))
    font.setKerning(not is_measured)
    font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    return font
