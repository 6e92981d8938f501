"""A small picture of how the sheet folds, with the names of its surfaces: what is what. What is selected is lit."""

from collections.abc import Callable

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.canvas.emphasis import emphasis_marks
from app.render.painter import paint
from app.session import Session
from app.theme import Theme
from core.model import records
from core.pages.folding_picture import folding_picture
from core.pages.marks import AnyMark

PX_PER_MM = 4.0
MARGIN_MM = 2.0
HEIGHT_PX = 190


class FoldingCard(QWidget):
    """Below the outline. A click, or Return, opens the vehicle folded up."""

    asked = Signal()

    def __init__(self, session: Session, theme: Callable[[], Theme], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session, self._theme = session, theme
        self._drawn: tuple[object, QSize, tuple[AnyMark, ...]] | None = None
        self._lit: frozenset[str] = frozenset()
        self.setObjectName("foldingCard")
        self.setFixedHeight(HEIGHT_PX)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setToolTip("How the sheet folds. Click to see the vehicle folded up.")
        self.setAccessibleName("How the sheet folds")
        session.plan_changed.connect(self._plan_changed)
        session.selection_changed.connect(self._selection_changed)

    @property
    def lit(self) -> frozenset[str]:
        """The surfaces that are lit: those selected, and those on which something selected lies."""
        return self._lit

    def _plan_changed(self, _old: object, _new: object) -> None:
        if self._drawn is None or self._drawn[0] is not self._session.shown.surfaces:
            self.update()

    def _selection_changed(self) -> None:
        chosen = set(self._session.selection)
        found = set()
        for _, record in records(self._session.shown) if chosen else ():
            if record.id in chosen:
                found.add(str(getattr(record, "surface", None) or record.id))
        lit = frozenset(found)
        if lit != self._lit:
            self._lit = lit
            self.update()

    def marks(self) -> tuple[AnyMark, ...]:
        surfaces = self._session.shown.surfaces
        if self._drawn is None or self._drawn[0] is not surfaces or self._drawn[1] != self.size():
            wide, high = self.width() / PX_PER_MM, self.height() / PX_PER_MM
            marks = folding_picture(surfaces, MARGIN_MM, MARGIN_MM, wide - 2 * MARGIN_MM, high - 2 * MARGIN_MM)
            self._drawn = (surfaces, self.size(), marks)
        return self._drawn[2]

    def paintEvent(self, _event: QPaintEvent) -> None:
        theme = self._theme()
        marks = self.marks()
        lit = emphasis_marks([mark for mark in marks if mark.subject in self._lit], "select", 1.0 / PX_PER_MM)
        with QPainter(self) as painter:
            painter.fillRect(self.rect(), theme.colour("base"))
            painter.setPen(QPen(theme.colour("accent" if self.hasFocus() else "edge")))
            if self.hasFocus():
                painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
            else:
                painter.drawLine(0, 0, self.width(), 0)
            if not marks:
                painter.setPen(theme.colour("muted"))
                words = "A small picture of how the sheet folds appears here once two surfaces hang together."
                room = QRectF(self.rect()).adjusted(14, 10, -14, -10)
                painter.drawText(room, int(Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap), words)
                return
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.translate(0, self.height())
            painter.scale(PX_PER_MM, -PX_PER_MM)
            paint(painter, (*marks, *lit), theme, px_per_mm=PX_PER_MM)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton and self.rect().contains(event.position().toPoint()):
            self.asked.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self.asked.emit()
        else:
            super().keyPressEvent(event)
