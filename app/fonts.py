"""The shipped fonts, made known to Qt."""

from PySide6.QtGui import QFontDatabase

from core.resources import folder
from core.text import FONTS


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
