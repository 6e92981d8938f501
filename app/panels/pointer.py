"""Gives the pointer to tools and back to selecting, and tells the tools what they cannot see themselves."""

from PySide6.QtCore import QCoreApplication, QEvent, QObject, QPoint, QPointF, Qt, Signal
from PySide6.QtGui import QCursor, QKeyEvent, QMouseEvent

from app.canvas.sight import CanvasSight
from app.canvas.view import SheetView
from app.tools.base import BaseTool
from app.tools.desk import Desk
from app.tools.place_row import PlaceRowTool
from app.tools.select import SelectTool
from app.tools.toolbox import tool_row
from core.files.library import DeviceTemplate
from core.model import Point

PICK_PX = 6.0
STEPS: dict[Qt.Key, Point] = {
    Qt.Key.Key_Left: (-1.0, 0.0),
    Qt.Key.Key_Right: (1.0, 0.0),
    Qt.Key.Key_Up: (0.0, 1.0),
    Qt.Key.Key_Down: (0.0, -1.0),
}


class Pointer(QObject):
    """Which tool has the pointer. "" is selecting, "place" a device in hand, else the id of a tool of the box."""

    changed = Signal(str)
    #: What to do next.
    hinted = Signal(str)

    def __init__(self, view: SheetView, desk: Desk) -> None:
        super().__init__(view)
        self._view, self._desk = view, desk
        self._sight = CanvasSight(view)
        self.tool_id = ""
        self._tool: BaseTool | None = None
        self._hint = ""
        view.tool_left.connect(self.select)
        #: Where the arrow keys have led the point that is drawn; None while the mouse leads.
        self._keyed: Point | None = None
        self._sending = False
        view.installEventFilter(self)
        view.viewport().installEventFilter(self)
        self.select()

    def select(self) -> None:
        """Back to selecting and moving."""
        self._use("", SelectTool(self._desk, self._sight))

    def take(self, tool_id: str) -> None:
        """Take a tool of the box in hand; the one that is in hand is laid down."""
        if tool_id == self.tool_id:
            self.select()
            return
        self._use(tool_id, tool_row(tool_id).make(self._desk))

    def take_device(self, template: DeviceTemplate) -> None:
        self._use("place", PlaceRowTool(self._desk, template))

    def hold(self, tool_id: str, tool: BaseTool) -> None:
        """Take a tool in hand that is in no box: one that a dialog asks with."""
        self._use(tool_id, tool)

    def take_tool(self, tool_id: str, tool: BaseTool) -> None:
        """Take a tool in hand that was made for one thing (an underlay), under a name of its own."""
        self._use(tool_id, tool)

    def _use(self, tool_id: str, tool: BaseTool) -> None:
        self._tool = tool
        self._view.set_tool(tool)
        self.tool_id = tool_id
        self.changed.emit(tool_id)
        self.tell()
        if tool_id:
            self._view.setFocus()
            self._view.wake()

    # --- the pointer by keys -----------------------------------------------------------------------------------------

    def _by_key(self, event: QKeyEvent) -> bool:
        """Arrows move the point that is drawn, Space clicks there: drawing without a mouse."""
        if not self.tool_id:
            return False
        if event.key() in STEPS:
            x, y = STEPS[Qt.Key(event.key())]
            held = event.modifiers()
            far = 100.0 if held & Qt.KeyboardModifier.ShiftModifier else 10.0
            far = 1.0 if held & Qt.KeyboardModifier.ControlModifier else far
            at = self._keyed if self._keyed is not None else self._view.sheet_at(self._middle())
            self._keyed = (at[0] + x * far, at[1] + y * far)
            self._show_keyed()
            self._send(QEvent.Type.MouseMove)
            return True
        if event.key() == Qt.Key.Key_Space and self._keyed is not None:
            self._send(QEvent.Type.MouseButtonPress)
            self._send(QEvent.Type.MouseButtonRelease)
            return True
        return False

    def _middle(self) -> QPointF:
        """Where the mouse is over the sheet, else the middle of the view."""
        viewport = self._view.viewport()
        here = viewport.mapFromGlobal(QCursor.pos())
        return QPointF(here if viewport.rect().contains(here) else viewport.rect().center())

    def _show_keyed(self) -> None:
        """Scroll until the point is in view."""
        assert self._keyed is not None
        if not self._view.viewport().rect().contains(self._view.mapFromScene(QPointF(*self._keyed))):
            self._view.centerOn(QPointF(*self._keyed))

    def _send(self, kind: QEvent.Type) -> None:
        """What the mouse would have said there."""
        assert self._keyed is not None
        viewport = self._view.viewport()
        # The view maps whole pixels; the point between them is kept by a transform of its own.
        at = self._view.viewportTransform().map(QPointF(*self._keyed))
        is_move = kind == QEvent.Type.MouseMove
        button = Qt.MouseButton.NoButton if is_move else Qt.MouseButton.LeftButton
        down = Qt.MouseButton.LeftButton if kind == QEvent.Type.MouseButtonPress else Qt.MouseButton.NoButton
        event = QMouseEvent(
            kind, at, QPointF(viewport.mapToGlobal(at.toPoint())), button, down, Qt.KeyboardModifier.NoModifier
        )
        self._sending = True
        try:
            QCoreApplication.sendEvent(viewport, event)
        finally:
            self._sending = False

    def record_at(self, at: QPoint) -> str:
        """What lies most likely under a pixel of the sheet, "" for nothing."""
        reach = PICK_PX / self._view.px_per_mm
        found = self._view.sheet_scene.records_at(self._view.sheet_at(QPointF(at)), reach)
        return found[0] if found else ""

    def tell(self) -> None:
        hint = self._tool.hint if self._tool is not None else ""
        if hint != self._hint:
            self._hint = hint
            self.hinted.emit(hint)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if watched is self._view:
            return isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress and self._by_key(event)
        if event.type() == QEvent.Type.MouseMove and not self._sending:
            self._keyed = None
        # The tool answers to events of the view; what it says to do next may be another thing afterwards.
        if event.type() in (QEvent.Type.MouseMove, QEvent.Type.MouseButtonRelease, QEvent.Type.Paint):
            self.tell()
        return False
