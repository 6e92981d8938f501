"""Pages to look at: one at a time, as large as is asked for."""

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QObject, QSize, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent, QPainter, QPaintEvent, QPixmap, QTransform, QWheelEvent
from PySide6.QtWidgets import QScrollArea, QWidget

from app.render.painter import paint
from app.theme import Theme
from core.pages.marks import Page

#: Pixels of the largest page that is kept as a picture; a larger one is drawn as it is scrolled.
MOST_PIXELS = 24_000_000
ZOOM_STEP = 1.25
#: Pixels of a millimetre: the whole of a large plan still shows, and a hair line is wide.
LEAST, MOST = 0.05, 24.0
ROOM_PX = 24


class PageSheet(QWidget):
    """One page on its sheet of paper."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._page: Page | None = None
        self._theme = Theme("print")
        self._scale = 3.0
        self._picture: QPixmap | None = None

    def show_page(self, page: Page | None, scale: float) -> None:
        if page is self._page and scale == self._scale:
            return
        self._page, self._scale, self._picture = page, scale, None
        if page is not None:
            self.setFixedSize(QSize(round(page.width_mm * scale) + 2, round(page.height_mm * scale) + 2))
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        page = self._page
        if page is None:
            return
        with QPainter(self) as painter:
            painter.fillRect(self.rect(), QColor("#9aa0a0"))
            ratio = self.devicePixelRatioF()
            if self.width() * self.height() * ratio * ratio > MOST_PIXELS:
                painter.setClipRect(event.rect())
                self._paint(painter, page)
                return
            if self._picture is None:
                self._picture = QPixmap(self.size() * ratio)
                self._picture.setDevicePixelRatio(ratio)
                self._picture.fill(QColor("#9aa0a0"))
                with QPainter(self._picture) as inner:
                    self._paint(inner, page)
            painter.drawPixmap(0, 0, self._picture)

    def _paint(self, painter: QPainter, page: Page) -> None:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect().adjusted(1, 1, -1, -1), QColor("#ffffff"))
        flip = QTransform(self._scale, 0, 0, -self._scale, 1, page.height_mm * self._scale + 1)
        painter.setTransform(flip, True)
        paint(painter, page.marks, self._theme)


class PageView(QScrollArea):
    """Pages with a zoom. Page up and down turn them, Ctrl with +, - or the wheel zooms, Ctrl with 0 shows it whole."""

    turned = Signal(int)
    #: How many per cent of its true size a page is shown at, for a screen of 96 dots per inch.
    zoomed = Signal(int)

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._sheet = PageSheet(self)
        self._pages: tuple[Page, ...] = ()
        self._number = 0
        #: Pixels of a millimetre; None shows the page whole.
        self._scale: float | None = None
        self.setWidget(self._sheet)
        self.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.setObjectName("pageArea")
        self.setAccessibleName("Page")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.viewport().installEventFilter(self)

    @property
    def number(self) -> int:
        """The page that is shown, from 0 on."""
        return self._number

    @property
    def pages(self) -> tuple[Page, ...]:
        return self._pages

    def show_pages(self, pages: Sequence[Page]) -> None:
        self._pages = tuple(pages)
        self._sheet.setVisible(bool(pages))
        self.turn_to(0)

    def turn_to(self, number: int) -> None:
        self._number = max(0, min(number, len(self._pages) - 1))
        self._show()
        self.verticalScrollBar().setValue(0)
        self.turned.emit(self._number)

    def fit(self) -> None:
        """The whole page."""
        self._scale = None
        self._show()

    def fit_width(self) -> None:
        if self._pages:
            wide = self.viewport().width() - ROOM_PX - self.verticalScrollBar().sizeHint().width()
            self._zoom_to(wide / self._pages[self._number].width_mm)

    def zoom(self, factor: float) -> None:
        self._zoom_to(self._shown_scale() * factor)

    def _zoom_to(self, scale: float) -> None:
        self._scale = max(LEAST, min(scale, MOST))
        self._show()

    def _shown_scale(self) -> float:
        if self._scale is not None or not self._pages:
            return self._scale or 3.0
        page, room = self._pages[self._number], self.viewport().size()
        wide, high = max(room.width() - ROOM_PX, 50), max(room.height() - ROOM_PX, 50)
        return min(wide / page.width_mm, high / page.height_mm)

    def _show(self) -> None:
        if self._pages:
            scale = self._shown_scale()
            self._sheet.show_page(self._pages[self._number], scale)
            self.zoomed.emit(round(scale * 25.4 / 96 * 100))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if watched is self.viewport() and event.type() == QEvent.Type.Resize and self._scale is None:
            self._show()
        return super().eventFilter(watched, event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.zoom(ZOOM_STEP if event.angleDelta().y() > 0 else 1 / ZOOM_STEP)
            event.accept()
            return
        super().wheelEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        control = bool(event.modifiers() & Qt.KeyboardModifier.ControlModifier)
        match event.key():
            case Qt.Key.Key_PageDown:
                self.turn_to(self._number + 1)
            case Qt.Key.Key_PageUp:
                self.turn_to(self._number - 1)
            case Qt.Key.Key_Home if control:
                self.turn_to(0)
            case Qt.Key.Key_End if control:
                self.turn_to(len(self._pages) - 1)
            case Qt.Key.Key_Plus | Qt.Key.Key_Equal if control:
                self.zoom(ZOOM_STEP)
            case Qt.Key.Key_Minus if control:
                self.zoom(1 / ZOOM_STEP)
            case Qt.Key.Key_0 if control:
                self.fit()
            case _:
                super().keyPressEvent(event)
