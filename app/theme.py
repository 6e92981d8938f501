"""The look: pens, brushes and fonts by style name, the widgets' palette and style sheet. Light, dark and print.

A style is ``family`` or ``family:variant`` as `core.pages.marks` lists them; a variant nobody drew falls back to its
family, a family nobody drew to plain text colour, so that a new mark is seen and not lost. Beyond that list:

``outline:ground`` and ``outline:floor`` (a surface's fill, no line), ``pill:N`` (label of a bundle: paper inside,
colour N around), ``node:N`` (branch in colour N), ``route`` (the way of one wire), ``route:halo``, ``hover``,
``sign:warning`` and ``sign:error`` (triangles), ``text:sign``, ``text:warning``, ``text:error``, ``snap``.

Pen widths are millimetres on paper; the painter keeps them on a screen whatever the zoom.
"""

from PySide6.QtCore import Qt
from PySide6.QtGui import QBrush, QColor, QFont, QPalette, QPen

from app.fonts import load_fonts
from app.theme_looks import BUNDLES_DARK, BUNDLES_LIGHT, COLOURS, LOOKS, NAMES, WIRE_COLOURS, Look, ThemeName
from app.theme_widgets import stylesheet
from core.pages.lettering import CUTS
from core.text import FONTS

__all__ = ["NAMES", "Theme", "ThemeName", "load_fonts", "swatch_colour"]


class Theme:
    """One look. Immutable; another theme is another object. Raises KeyError for a name that is none of `NAMES`."""

    def __init__(self, name: ThemeName) -> None:
        self.name = name
        self._colours = {key: QColor(value) for key, value in COLOURS[name].items()}
        self._bundles = tuple(QColor(c) for c in (BUNDLES_DARK if name == "dark" else BUNDLES_LIGHT))
        self._pens: dict[str, QPen] = {}
        self._brushes: dict[str, QBrush] = {}

    @property
    def is_dark(self) -> bool:
        return self.name == "dark"

    def colour(self, name: str) -> QColor:
        """A colour by its name (`paper`, `ink`, `accent` ...). Raises KeyError."""
        return QColor(self._colours[name])

    def bundle_colour(self, number: int) -> QColor:
        return QColor(self._bundles[number % len(self._bundles)])

    def pen(self, style: str) -> QPen:
        """The pen of a style; its width is millimetres on paper."""
        pen = self._pens.get(style)
        if pen is None:
            pen = self._pens[style] = self._make_pen(style)
        return QPen(pen)

    def brush(self, style: str) -> QBrush:
        brush = self._brushes.get(style)
        if brush is None:
            brush = self._brushes[style] = self._make_brush(style)
        return QBrush(brush)

    def font(self, name: str) -> QFont:
        """A font of the marks (`label`, `text_bold` ...) in a size of 10 pixels. Raises KeyError."""
        cut = FONTS[CUTS[name]]
        font = QFont(cut.family)
        font.setWeight(QFont.Weight(cut.weight))
        font.setPixelSize(10)
        # Widths in core are sums of advances.
        font.setKerning(False)
        font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
        return font

    def text_colour(self, style: str) -> QColor:
        family, _, variant = style.partition(":")
        if family in ("bundle", "pill", "node") and variant.isdigit():
            return self.bundle_colour(int(variant))
        if family in ("zone", "box", "opening"):
            return self.colour("muted")
        return self.colour(_look(style).line or "ink")

    def _make_pen(self, style: str) -> QPen:
        family, _, variant = style.partition(":")
        if family in ("bundle", "pill", "node") and variant.isdigit():
            if family == "node":
                return QPen(Qt.PenStyle.NoPen)
            return _pen(self.bundle_colour(int(variant)), 0.40)
        look = _look(style)
        if look.line is None or family == "swatch":
            return QPen(Qt.PenStyle.NoPen)
        return _pen(self.colour(look.line), look.width_mm, look.dashes)

    def _make_brush(self, style: str) -> QBrush:
        family, _, variant = style.partition(":")
        if family in ("bundle", "node") and variant.isdigit():
            return QBrush(self.bundle_colour(int(variant)))
        if family == "pill":
            return QBrush(self.colour("paper"))
        if family == "swatch":
            return QBrush(swatch_colour(variant))
        look = _look(style)
        return QBrush(Qt.BrushStyle.NoBrush) if look.fill is None else QBrush(self.colour(look.fill))

    # --- widgets -----------------------------------------------------------------------------------------------------

    def palette(self) -> QPalette:
        """Colours of the widgets, for the Fusion style."""
        role, colour = QPalette.ColorRole, self.colour
        palette = QPalette()
        for one, name in (
            (role.Window, "window"),
            (role.WindowText, "ink"),
            (role.Base, "base"),
            (role.AlternateBase, "alternate"),
            (role.Text, "ink"),
            (role.Button, "button"),
            (role.ButtonText, "ink"),
            (role.BrightText, "error"),
            (role.ToolTipBase, "base"),
            (role.ToolTipText, "ink"),
            (role.PlaceholderText, "muted"),
            (role.Link, "accent"),
            (role.LinkVisited, "accent"),
            (role.Highlight, "accent"),
            (role.Accent, "accent"),
            (role.Light, "base"),
            (role.Midlight, "edge"),
            (role.Mid, "edge"),
            (role.Dark, "muted"),
            (role.Shadow, "edge"),
        ):
            palette.setColor(one, colour(name))
        palette.setColor(role.HighlightedText, QColor("#10151a" if self.is_dark else "#ffffff"))
        for one in (role.WindowText, role.Text, role.ButtonText, role.HighlightedText):
            palette.setColor(QPalette.ColorGroup.Disabled, one, colour("muted"))
        palette.setColor(QPalette.ColorGroup.Disabled, role.Highlight, colour("edge"))
        return palette

    def widget_font(self) -> QFont:
        font = QFont(FONTS["text"].family)
        font.setPointSizeF(9.5)
        font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
        return font

    def stylesheet(self) -> str:
        """The little that the palette cannot say: quiet edges, even spacing."""
        return stylesheet(self.name)


def swatch_colour(words: str) -> QColor:
    """A wire colour by its word or as ``#rrggbb``; a mid grey for a word nobody knows."""
    key = words.strip().lower().replace("/", "-").replace(" and ", "-")
    for candidate in (key, key.split("-")[0]):
        if candidate in WIRE_COLOURS:
            return QColor(WIRE_COLOURS[candidate])
    colour = QColor(key) if key.startswith("#") else QColor()
    return colour if colour.isValid() else QColor("#9a9fa3")


def _look(style: str) -> Look:
    return LOOKS.get(style) or LOOKS.get(style.partition(":")[0]) or LOOKS["text"]


def _pen(colour: QColor, width_mm: float, dashes: tuple[float, ...] = ()) -> QPen:
    pen = QPen(colour, width_mm)
    # Round caps cost two fifths of the drawing time.
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
    if dashes:
        pen.setDashPattern(list(dashes))
    return pen
