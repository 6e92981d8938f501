"""Rulers along the top and the left of the view, in display units, with a mark where the pointer is."""

from math import floor, log10

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen, QPixmap
from PySide6.QtWidgets import QWidget

from app.theme import Theme
from core.text import number

THICK_PX = 22
#: Named marks are at least this far apart.
NAMED_PX = 70.0
TEXT_PX = 10.5


class Ruler(QWidget):
    """A ruler whose scale is told by `show_scale`. A vertical one counts upwards."""

    def __init__(self, vertical: bool, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self.vertical = vertical
        self.theme = theme
        self._zero_px = 0.0
        self._px_per_mm = 0.1
        self._unit_mm = 1.0
        self._mark_px: float | None = None
        #: The ruler without the pointer's mark, which moves with every event.
        self._picture: tuple[tuple[object, ...], QPixmap] | None = None
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setAccessibleName("Ruler")

    def sizeHint(self) -> QSize:
        return QSize(THICK_PX, THICK_PX)

    def show_scale(self, zero_px: float, px_per_mm: float, unit_mm: float) -> None:
        if (zero_px, px_per_mm, unit_mm) != (self._zero_px, self._px_per_mm, self._unit_mm):
            self._zero_px, self._px_per_mm, self._unit_mm = zero_px, px_per_mm, unit_mm
            self.update()

    def show_mark(self, at_px: float | None) -> None:
        if at_px != self._mark_px:
            for at in (self._mark_px, at_px):
                if at is not None:
                    self.update(0, int(at) - 2, THICK_PX, 5) if self.vertical else self.update(
                        int(at) - 2, 0, 5, THICK_PX
                    )
            self._mark_px = at_px

    def set_theme(self, theme: Theme) -> None:
        self.theme = theme
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        ratio = self.devicePixelRatio()
        shown = (self._zero_px, self._px_per_mm, self._unit_mm, self.theme, self.size(), ratio)
        if self._picture is None or self._picture[0] != shown:
            picture = QPixmap(self.size() * ratio)
            picture.setDevicePixelRatio(ratio)
            with QPainter(picture) as painter:
                self._paint(painter)
            self._picture = (shown, picture)
        with QPainter(self) as painter:
            painter.setClipRect(event.rect())
            painter.drawPixmap(0, 0, self._picture[1])
            if self._mark_px is not None:
                painter.setPen(QPen(self.theme.colour("accent"), 1.5))
                self._tick(painter, self._mark_px, THICK_PX)

    def _paint(self, painter: QPainter) -> None:
        theme = self.theme
        painter.fillRect(self.rect(), theme.colour("ruler"))
        painter.setRenderHint(QPainter.RenderHint.TextAntialiasing)
        length = self.height() if self.vertical else self.width()
        named, parts = steps(self._px_per_mm * self._unit_mm, self._unit_mm)
        px_per_unit = self._px_per_mm * self._unit_mm * (-1.0 if self.vertical else 1.0)
        ends = sorted(((0 - self._zero_px) / px_per_unit, (length - self._zero_px) / px_per_unit))
        minor = named / parts
        thin, strong = QPen(theme.colour("muted"), 1.0), QPen(theme.colour("ink"), 1.0)
        font = theme.font("label_medium")
        font.setPixelSize(11)
        painter.setFont(font)
        for index in range(floor(ends[0] / minor), floor(ends[1] / minor) + 2):
            at = self._zero_px + index * minor * px_per_unit
            whole = index % parts == 0
            painter.setPen(strong if whole else thin)
            size = 7.0 if whole else 4.0
            middle = parts % 2 == 0 and index % (parts // 2) == 0
            self._tick(painter, at, size if whole or not middle else 5.5)
            if whole:
                self._name(painter, at, number(round(index * minor, 4)))
        edge = QPen(theme.colour("grid_strong"), 1.0)
        painter.setPen(edge)
        if self.vertical:
            painter.drawLine(QPointF(self.width() - 0.5, 0), QPointF(self.width() - 0.5, length))
        else:
            painter.drawLine(QPointF(0, self.height() - 0.5), QPointF(length, self.height() - 0.5))

    def _tick(self, painter: QPainter, at: float, size: float) -> None:
        if self.vertical:
            painter.drawLine(QPointF(self.width() - size, at), QPointF(self.width(), at))
        else:
            painter.drawLine(QPointF(at, self.height() - size), QPointF(at, self.height()))

    def _name(self, painter: QPainter, at: float, text: str) -> None:
        flags = Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignVCenter
        if not self.vertical:
            painter.drawText(QRectF(at - 40, 0, 80, self.height() - 7), flags, text)
            return
        painter.save()
        painter.translate(0, at)
        painter.rotate(-90)
        painter.drawText(QRectF(-40, 0, 80, self.width() - 7), flags, text)
        painter.restore()


def steps(px_per_unit: float, unit_mm: float) -> tuple[float, int]:
    """Distance of named marks in display units, and into how many parts each is cut."""
    least = NAMED_PX / px_per_unit
    if unit_mm == 25.4:
        for named, parts in ((1.0, 8), (2.0, 4), (6.0, 6), (12.0, 12), (24.0, 4), (60.0, 5), (120.0, 10), (600.0, 5)):
            if named >= least:
                return named, parts
        return 1200.0, 10
    power = 10.0 ** floor(log10(least))
    for factor, parts in ((1, 10), (2, 4), (5, 5), (10, 10)):
        if factor * power >= least * (1 - 1e-9):
            return factor * power, parts
    return 10 * power, 10
