"""Zoom and pan of the sheet, with rulers: what the view does before anybody draws.

Big sheets paint slowly: while a zoom is under way the last picture is stretched, and painted anew when it rests.
"""

from time import perf_counter

from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, Qt, QTimer, Signal
from PySide6.QtGui import (
    QNativeGestureEvent,
    QPainter,
    QPaintEvent,
    QPalette,
    QPixmap,
    QResizeEvent,
    QTransform,
    QWheelEvent,
)
from PySide6.QtWidgets import QGraphicsView, QWidget

from app.canvas.rulers import THICK_PX, Ruler
from app.canvas.scene import SheetScene
from app.theme import Theme
from core.model import Point

#: Smallest and largest zoom, pixels per millimetre.
ZOOM = (0.012, 12.0)
ZOOM_STEP = 1.2
FIT_MARGIN_PX = 56
#: Around the whole sheet, and how often its lettering is looked at again.
FIT_EDGE_PX = 20
FIT_ROUNDS = 4
#: After the zoom has rested this long everything is painted and lettered for it.
SETTLE_MS = 110
#: A sheet that takes longer to paint is stretched while the zoom changes.
SLOW_PAINT_MS = 24.0


class PaperView(QGraphicsView):
    """A view of a sheet scene that can be zoomed and panned. y points up, turned over here and nowhere else."""

    zoom_changed = Signal(float)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.theme = theme
        self._scene = SheetScene(theme, self)
        self.setScene(self._scene)
        self._never_fitted = True
        self._paint_ms = 0.0
        self._stretched: tuple[QPixmap, QTransform] | None = None
        self.setFrameShape(QGraphicsView.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setRenderHint(QPainter.RenderHint.Antialiasing)
        self.setTransformationAnchor(QGraphicsView.ViewportAnchor.NoAnchor)
        self.setResizeAnchor(QGraphicsView.ViewportAnchor.AnchorViewCenter)
        self.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.MinimalViewportUpdate)
        self.setOptimizationFlag(QGraphicsView.OptimizationFlag.DontSavePainterState)
        self.setViewportMargins(THICK_PX, THICK_PX, 0, 0)
        self.top_ruler = Ruler(False, theme, self)
        self.left_ruler = Ruler(True, theme, self)
        self._corner = QWidget(self)
        self._corner.setGeometry(0, 0, THICK_PX, THICK_PX)
        self._corner.setAutoFillBackground(True)
        self._settle = QTimer(self)
        self._settle.setSingleShot(True)
        self._settle.setInterval(SETTLE_MS)
        self._settle.timeout.connect(self._settled)
        self.setTransform(QTransform(self._scene.px_per_mm, 0, 0, -self._scene.px_per_mm, 0, 0))

    @property
    def sheet_scene(self) -> SheetScene:
        return self._scene

    @property
    def px_per_mm(self) -> float:
        """The zoom."""
        return self._scene.px_per_mm

    def set_theme(self, theme: Theme) -> None:
        """Another look, at once."""
        self.theme = theme
        self._scene.set_theme(theme)
        self.setBackgroundBrush(theme.colour("desk"))
        corner = self._corner.palette()
        corner.setColor(QPalette.ColorRole.Window, theme.colour("ruler"))
        self._corner.setPalette(corner)
        for ruler in (self.top_ruler, self.left_ruler):
            ruler.set_theme(theme)
        self.viewport().update()

    def zoom_rested(self, at_once: bool) -> None:
        """Called when the zoom has changed and rests; `at_once` where what is drawn must fit it now. For the view that
        draws."""

    def zoom_by(self, factor: float, about_px: QPoint | None = None) -> None:
        """Zoom about a pixel of the viewport (its middle), within the limits of `ZOOM`."""
        about = about_px if about_px is not None else self.viewport().rect().center()
        wanted = min(max(self.px_per_mm * factor, ZOOM[0]), ZOOM[1])
        if wanted == self.px_per_mm:
            return
        held = self.sheet_at(QPointF(about))
        self._set_zoom(wanted)
        self._put(held, QPointF(about))

    def zoom_to(self, area: QRectF, margin_px: float = FIT_MARGIN_PX) -> None:
        """Show a rectangle of the sheet as large as it fits; an empty one does nothing."""
        if area.isEmpty():
            return
        room = self.viewport().rect()
        wide, high = max(room.width() - 2 * margin_px, 40.0), max(room.height() - 2 * margin_px, 40.0)
        self._set_zoom(min(max(min(wide / area.width(), high / area.height()), ZOOM[0]), ZOOM[1]))
        self._put((area.center().x(), area.center().y()), QPointF(room.center()))
        self._settled(at_once=True)

    def zoom_to_fit(self) -> None:
        """The whole sheet with all its lettering."""
        # Lettering keeps its pixels, so how far it reaches on the sheet depends on the zoom that is looked for.
        for _ in range(FIT_ROUNDS):
            area = self._lettered()
            self.zoom_to(area, FIT_EDGE_PX)
            after = self._lettered()
            if area.isEmpty() or abs(after.width() - area.width()) + abs(after.height() - area.height()) < 0.02 * (
                area.width() + area.height()
            ):
                break

    def _lettered(self) -> QRectF:
        area = QRectF(self._scene.content)
        for item in self._scene.items_by_key.values():
            area = area.united(item.reach)
        return area

    def _set_zoom(self, px_per_mm: float) -> None:
        if self._stretched is None and self._paint_ms > SLOW_PAINT_MS:
            self._stretched = (self.viewport().grab(), self.viewportTransform())
        self._scene.set_zoom(px_per_mm)
        self.setTransform(QTransform(px_per_mm, 0, 0, -px_per_mm, 0, 0))
        self._settle.start()
        self.zoom_changed.emit(px_per_mm)

    def _settled(self, at_once: bool = False) -> None:
        self._settle.stop()
        if self._stretched is not None:
            self._stretched = None
            self.viewport().update()
        self.zoom_rested(at_once)

    def paintEvent(self, event: QPaintEvent) -> None:
        if self._stretched is not None:
            picture, was = self._stretched
            with QPainter(self.viewport()) as painter:
                painter.fillRect(self.viewport().rect(), self.backgroundBrush())
                painter.setTransform(was.inverted()[0] * self.viewportTransform())
                painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
                painter.drawPixmap(QPointF(0.0, 0.0), picture)
            return
        started_s = perf_counter()
        super().paintEvent(event)
        painted = event.rect()
        # Only a picture of nearly everything says how long everything takes.
        if painted.width() * painted.height() > 0.7 * self.width() * self.height():
            self._paint_ms = (perf_counter() - started_s) * 1000

    def _put(self, point: Point, at_px: QPointF) -> None:
        """Scroll so that a point of the sheet lies at a pixel."""
        now = self.mapFromScene(QPointF(*point))
        self.scroll_px(now.x() - round(at_px.x()), now.y() - round(at_px.y()))

    def scroll_px(self, dx: int, dy: int) -> None:
        """Move the paper under the view: positive shows what lies to the right and below."""
        self.horizontalScrollBar().setValue(self.horizontalScrollBar().value() + dx)
        self.verticalScrollBar().setValue(self.verticalScrollBar().value() + dy)
        self.show_rulers()

    def sheet_at(self, pixel: QPointF) -> Point:
        """The point of the sheet under a pixel of the viewport."""
        at = self.viewportTransform().inverted()[0].map(pixel)
        return (at.x(), at.y())

    def show_rulers(self) -> None:
        """Bring the rulers up to date with zoom and scroll."""
        zero = self.viewportTransform().map(QPointF(0.0, 0.0))
        self.top_ruler.show_scale(zero.x(), self.px_per_mm, self._scene.unit_mm)
        self.left_ruler.show_scale(zero.y(), self.px_per_mm, self._scene.unit_mm)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        size = self.size()
        self.top_ruler.setGeometry(THICK_PX, 0, size.width() - THICK_PX, THICK_PX)
        self.left_ruler.setGeometry(0, THICK_PX, THICK_PX, size.height() - THICK_PX)
        if self._never_fitted and not self._scene.content.isEmpty():
            self._never_fitted = False
            self.zoom_to_fit()
        self.show_rulers()

    def scrollContentsBy(self, dx: int, dy: int) -> None:
        super().scrollContentsBy(dx, dy)
        self.show_rulers()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """A wheel zooms about the pointer; two fingers pan, and zoom with Ctrl."""
        fine, coarse = event.pixelDelta(), event.angleDelta()
        held = event.modifiers()
        if not fine.isNull() and not held & Qt.KeyboardModifier.ControlModifier:
            self.scroll_px(-fine.x(), -fine.y())
        elif held & Qt.KeyboardModifier.ShiftModifier:
            self.scroll_px(-(coarse.y() or coarse.x()), 0)
        else:
            self.zoom_by(ZOOM_STEP ** (coarse.y() / 120.0), event.position().toPoint())
        event.accept()

    def viewportEvent(self, event: QEvent) -> bool:
        if isinstance(event, QNativeGestureEvent) and event.gestureType() == Qt.NativeGestureType.ZoomNativeGesture:
            self.zoom_by(1.0 + event.value(), event.position().toPoint())
            return True
        return super().viewportEvent(event)
