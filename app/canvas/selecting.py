"""The pointer without a tool: hover, click, rubber band."""

from PySide6.QtCore import QPoint, QPointF, QRectF, Qt
from PySide6.QtGui import QMouseEvent

from app.canvas.paper_view import PaperView
from app.session import Session
from core.model import Point
from core.pages.marks import AreaMark
from core.pages.sheet_placement import upright

PICK_PX = 6.0
#: A press that moves less than this is a click.
CLICK_PX = 4


class Selecting:
    """What a press without a tool leads to. Lives as long as its view."""

    def __init__(self, view: PaperView, session: Session) -> None:
        self._view = view
        self._session = session
        self._from: tuple[QPoint, Point] | None = None

    @property
    def is_pressed(self) -> bool:
        return self._from is not None

    def record_at(self, at: QPointF) -> str:
        """Id of what lies most likely under a pixel, or ""."""
        found = self._view.sheet_scene.records_at(self._view.sheet_at(at), PICK_PX / self._view.px_per_mm)
        return found[0] if found else ""

    def press(self, event: QMouseEvent) -> None:
        self._from = (event.position().toPoint(), self._view.sheet_at(event.position()))

    def move(self, event: QMouseEvent) -> str:
        """Draw the band, or light what lies under the pointer; gives the id of that, or ""."""
        if self._from is not None:
            if (event.position().toPoint() - self._from[0]).manhattanLength() > CLICK_PX:
                band = self._band(event, self._from[1])
                corners = upright(band.left(), band.top(), band.right(), band.bottom())
                self._view.sheet_scene.band.show_marks((AreaMark(style="preview", outline_mm=corners),))
            return ""
        record = self.record_at(event.position())
        # The floor under everything would flash with every move.
        surface = any(surface.id == record for surface in self._session.shown.surfaces)
        self._view.sheet_scene.show_hover(None if not record or surface else record)
        return record

    def release(self, event: QMouseEvent) -> None:
        if self._from is None:
            return
        start_px, start = self._from
        self._from = None
        self._view.sheet_scene.band.show_marks(())
        if (event.position().toPoint() - start_px).manhattanLength() <= CLICK_PX:
            record = self.record_at(event.position())
            found: tuple[str, ...] = (record,) if record else ()
        else:
            # Drawn to the left it takes what it touches, to the right only what lies wholly inside.
            touching = event.position().x() < start_px.x()
            found = self._view.sheet_scene.records_in(self._band(event, start), touching)
        self._choose(found, event.modifiers())

    def _band(self, event: QMouseEvent, start: Point) -> QRectF:
        (x0, y0), (x1, y1) = start, self._view.sheet_at(event.position())
        return QRectF(min(x0, x1), min(y0, y1), abs(x1 - x0), abs(y1 - y0))

    def _choose(self, found: tuple[str, ...], held: Qt.KeyboardModifier) -> None:
        """Plain: instead of what was selected. Shift: as well. Ctrl: each the other way round."""
        old = self._session.selection
        if held & Qt.KeyboardModifier.ControlModifier:
            kept = tuple(record for record in old if record not in found)
            self._session.select((*kept, *(record for record in found if record not in old)))
        elif held & Qt.KeyboardModifier.ShiftModifier:
            self._session.select((*old, *found))
        else:
            self._session.select(found)
