"""One graphics item for each key of the sheet drawing, and the items that lie over and under all of them.

Scene coordinates are millimetres of the sheet, y up; the view turns y over, once.
"""

from collections.abc import Iterable
from math import ceil, floor, log10
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainter, QPainterPath, QPen, QPolygonF
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget

from app.canvas.extent import extent
from app.render.painter import paint
from core.model import Point
from core.pages.marks import AnyMark
from core.pages.sheet import LAYERS, Drawn, record_of

if TYPE_CHECKING:
    from app.canvas.scene import SheetScene

GROUND_Z = float(LAYERS.index("ground"))
GRID_Z = GROUND_Z + 0.5
OVERLAY_Z = float(len(LAYERS) + 10)
#: Room for pens that keep their pixels, and for the halo of a selection.
PEN_PX = 6.0
#: The grid's lines are at least this far apart.
GRID_PX = 48.0


class DrawnItem(QGraphicsItem):
    """The marks of one key."""

    def __init__(self, key: str, drawn: Drawn, look: "SheetScene") -> None:
        super().__init__()
        self.key = key
        self.record = record_of(key)
        self.drawn = drawn
        self._look = look
        self._reach = reach(drawn.marks)
        self.setZValue(float(LAYERS.index(drawn.layer)))

    @property
    def reach(self) -> QRectF:
        """Extent of the marks, without room for pens."""
        return QRectF(self._reach)

    def pad_changes(self) -> None:
        """Call before the scene's `pad_mm` becomes another."""
        self.prepareGeometryChange()

    def is_near(self, x: float, y: float, within_mm: float) -> bool:
        """Whether a point is as near as this to the extent of the marks."""
        reach = self._reach
        return (
            reach.left() - within_mm <= x <= reach.right() + within_mm
            and reach.top() - within_mm <= y <= reach.bottom() + within_mm
        )

    def show_drawn(self, drawn: Drawn) -> None:
        """Other marks of the same key."""
        new = reach(drawn.marks)
        if new != self._reach:
            self.prepareGeometryChange()
            self._reach = new
        if drawn.layer != self.drawn.layer:
            self.setZValue(float(LAYERS.index(drawn.layer)))
        self.drawn = drawn
        self.update()

    def boundingRect(self) -> QRectF:
        pad = self._look.pad_mm
        return self._reach.adjusted(-pad, -pad, pad, pad)

    def paint(self, painter: QPainter, _option: QStyleOptionGraphicsItem, _widget: QWidget | None = None) -> None:
        look = self._look
        paint(painter, self.drawn.marks, look.theme, detail=look.painter_detail, px_per_mm=look.px_per_mm, kit=look.kit)


class GridItem(QGraphicsItem):
    """Thin lines on the surfaces, as far apart as the zoom wants."""

    def __init__(self, look: "SheetScene") -> None:
        super().__init__()
        self._look = look
        self._grounds = QPainterPath()
        self.setZValue(GRID_Z)

    def show_grounds(self, outlines: Iterable[Iterable[Point]]) -> None:
        self.prepareGeometryChange()
        self._grounds = QPainterPath()
        for outline in outlines:
            self._grounds.addPolygon(QPolygonF([QPointF(x, y) for x, y in outline]))
            self._grounds.closeSubpath()

    def boundingRect(self) -> QRectF:
        return self._grounds.boundingRect()

    def paint(self, painter: QPainter, option: QStyleOptionGraphicsItem, _widget: QWidget | None = None) -> None:
        look = self._look
        rect = option.exposedRect.intersected(self.boundingRect())
        step = grid_step_mm(look.px_per_mm, look.unit_mm)
        if rect.isEmpty() or rect.width() / step > 2_000:
            return
        pen = QPen(look.theme.pen("grid"))
        pen.setCosmetic(True)
        pen.setWidthF(1.0)
        painter.save()
        painter.setClipPath(self._grounds)
        painter.setPen(pen)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        for number in range(ceil(rect.left() / step), floor(rect.right() / step) + 1):
            painter.drawLine(QPointF(number * step, rect.top()), QPointF(number * step, rect.bottom()))
        for number in range(ceil(rect.top() / step), floor(rect.bottom() / step) + 1):
            painter.drawLine(QPointF(rect.left(), number * step), QPointF(rect.right(), number * step))
        painter.restore()


class OverlayItem(QGraphicsItem):
    """What lies over the drawing for a moment: selection, hover, a tool's marks."""

    def __init__(self, look: "SheetScene", z: float = OVERLAY_Z) -> None:
        super().__init__()
        self._look = look
        self._marks: tuple[AnyMark, ...] = ()
        self._reach = QRectF()
        self.setZValue(z)

    @property
    def marks(self) -> tuple[AnyMark, ...]:
        return self._marks

    def pad_changes(self) -> None:
        """Call before the scene's `pad_mm` becomes another."""
        self.prepareGeometryChange()

    def show_marks(self, marks: tuple[AnyMark, ...]) -> None:
        if marks == self._marks:
            return
        self.prepareGeometryChange()
        self._marks = marks
        self._reach = reach(marks)
        self.update()

    def boundingRect(self) -> QRectF:
        pad = 3 * self._look.pad_mm
        return self._reach.adjusted(-pad, -pad, pad, pad) if self._marks else QRectF()

    def paint(self, painter: QPainter, _option: QStyleOptionGraphicsItem, _widget: QWidget | None = None) -> None:
        paint(painter, self._marks, self._look.theme, px_per_mm=self._look.px_per_mm)


def reach(marks: Iterable[AnyMark]) -> QRectF:
    """Extent as Qt's rectangle; a flat one gets a little height, because Qt takes it for empty."""
    found = extent(marks)
    if found is None:
        return QRectF()
    left, low, right, high = found
    return QRectF(left, low, max(right - left, 0.01), max(high - low, 0.01))


def grid_step_mm(px_per_mm: float, unit_mm: float) -> float:
    """1, 2 or 5 times a power of ten of the display unit, or of a foot where the unit is an inch."""
    if unit_mm == 25.4:
        steps = [25.4 * n for n in (0.125, 0.25, 0.5, 1, 3, 6, 12, 36, 120, 360, 1200)]
        return next((step for step in steps if step * px_per_mm >= GRID_PX), steps[-1])
    least = GRID_PX / px_per_mm / unit_mm
    power = 10.0 ** floor(log10(least))
    return unit_mm * next(n * power for n in (1, 2, 5, 10) if n * power >= least * (1 - 1e-9))
