"""Gives the pointer to tools and back to selecting, and tells the tools what they cannot see themselves."""

from PySide6.QtCore import QEvent, QObject, QRectF, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLineEdit

from app.canvas.emphasis import emphasis_marks
from app.canvas.view import SheetView
from app.tools.base import BaseTool
from app.tools.desk import Desk
from app.tools.place import PlaceDeviceTool
from app.tools.select import SelectTool
from app.tools.toolbox import tool_row
from core.files.library import DeviceTemplate
from core.model import Point
from core.pages.marks import AnyMark

#: What separates two typed numbers in the field beside the pointer.
TAB = " ; "


class CanvasSight:
    """What can be seen on the sheet, for the tool that selects."""

    def __init__(self, view: SheetView) -> None:
        self._view = view

    def glow(self, record: str) -> tuple[AnyMark, ...]:
        return emphasis_marks(self._view.sheet_scene.marks_of(record), "hover", 1.0 / self._view.px_per_mm)

    def within(self, a: Point, b: Point, touching: bool) -> tuple[str, ...]:
        area = QRectF(min(a[0], b[0]), min(a[1], b[1]), abs(a[0] - b[0]), abs(a[1] - b[1]))
        return self._view.sheet_scene.records_in(area, touching)


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
        view.viewport().installEventFilter(self)
        for edit in view.findChildren(QLineEdit):
            edit.installEventFilter(self)
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
        self._use("place", PlaceDeviceTool(self._desk, template))

    def _use(self, tool_id: str, tool: BaseTool) -> None:
        self._tool = tool
        self._view.set_tool(tool)
        self.tool_id = tool_id
        self.changed.emit(tool_id)
        self.tell()
        if tool_id:
            self._view.setFocus()

    def tell(self) -> None:
        hint = self._tool.hint if self._tool is not None else ""
        if hint != self._hint:
            self._hint = hint
            self.hinted.emit(hint)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if isinstance(watched, QLineEdit):
            if event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
                return self._typed(watched, event)
            return False
        # The tool answers to events of the view; what it says to do next may be another thing afterwards.
        if event.type() in (QEvent.Type.MouseMove, QEvent.Type.MouseButtonRelease, QEvent.Type.Paint):
            self.tell()
        return False

    def _typed(self, edit: QLineEdit, event: QKeyEvent) -> bool:
        """Tab goes on to the second number instead of leaving the field."""
        if event.key() != Qt.Key.Key_Tab:
            return False
        if TAB.strip() not in edit.text():
            edit.setText(edit.text().rstrip() + TAB)
        edit.end(False)
        return True
