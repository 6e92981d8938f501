"""A little picture of a bundle cut across: every wire in its place, size and colour."""

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.theme import Theme, swatch_colour
from core.analysis.results import Bundle
from core.tables.table import swatch

SIZE = QSize(108, 108)


class CrossSection(QWidget):
    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._bundle: Bundle | None = None
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.setFixedSize(SIZE)

    def set_theme(self, theme: Theme) -> None:
        self._theme = theme
        self.update()

    def show_bundle(self, bundle: Bundle | None) -> None:
        self._bundle = bundle
        self.setVisible(bundle is not None)
        if bundle is not None:
            words = f"Cross-section: {len(bundle.wires)} wires, {bundle.diameter_tight_mm:.1f} mm packed tight"
            self.setAccessibleName(words)
            self.setToolTip(words)
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:
        bundle = self._bundle
        if bundle is None or not bundle.items:
            return
        across = max(bundle.diameter_tight_mm, *(item.od_mm for item in bundle.items), 0.1)
        scale = (min(self.width(), self.height()) - 6) / across
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.translate(self.width() / 2, self.height() / 2)
            ring = QPen(self._theme.colour("muted"), 1.0)
            painter.setPen(ring)
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawEllipse(QPointF(0, 0), across * scale / 2, across * scale / 2)
            for item in bundle.items:
                x, y = item.centre_mm[0] * scale, -item.centre_mm[1] * scale
                radius = max(item.od_mm * scale / 2 - 0.6, 1.0)
                if item.conduit:
                    self._conduit(painter, QPointF(x, y), radius)
                    continue
                base, tracer = _colours(item.colour)
                painter.setPen(QPen(self._theme.colour("ink"), 0.8))
                painter.setBrush(base)
                painter.drawEllipse(QPointF(x, y), radius, radius)
                if tracer is not None:
                    painter.setPen(Qt.PenStyle.NoPen)
                    painter.setBrush(tracer)
                    painter.drawPie(QRectF(x - radius, y - radius, 2 * radius, 2 * radius), 60 * 16, 60 * 16)

    def _conduit(self, painter: QPainter, at: QPointF, radius: float) -> None:
        """A ring with its wall: a conduit is empty, or what lies in it is listed beside."""
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(self._theme.colour("ink"), 1.4))
        painter.drawEllipse(at, radius, radius)
        painter.setPen(QPen(self._theme.colour("muted"), 0.8, Qt.PenStyle.DotLine))
        painter.drawEllipse(at, 0.82 * radius, 0.82 * radius)


def _colours(words: str) -> tuple[QColor, QColor | None]:
    shown = swatch(words)
    return swatch_colour(shown.colour), swatch_colour(shown.tracer) if shown.tracer else None
