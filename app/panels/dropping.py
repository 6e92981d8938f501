"""A device dragged from the shelf onto the sheet: there the tool that places it takes over, at true scale."""

from collections.abc import Callable

from PySide6.QtCore import QCoreApplication, QEvent, QMimeData, QObject, QPointF, Qt
from PySide6.QtGui import QDragEnterEvent, QDragMoveEvent, QDropEvent, QMouseEvent

from app.canvas.view import SheetView
from app.panels.pointer import Pointer
from core.files.library import DeviceTemplate

#: What the drag carries: the id of a device of the library.
MIME = "application/x-loomwright-device"


def carried(template_id: str) -> QMimeData:
    data = QMimeData()
    data.setData(MIME, template_id.encode())
    return data


class DeviceDrops(QObject):
    """Takes drags of devices over the sheet. `find` gives the template of an id, `why_not` why none can be placed."""

    def __init__(
        self, view: SheetView, pointer: Pointer, find: Callable[[str], DeviceTemplate | None],
        why_not: Callable[[], str],
    ) -> None:  # fmt: skip
        super().__init__(view)
        self._view, self._pointer, self._find, self._why_not = view, pointer, find, why_not
        #: A device is dragged over the sheet just now.
        self._held = False
        view.viewport().setAcceptDrops(True)
        view.viewport().installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        match event:
            case QDragEnterEvent() if event.mimeData().hasFormat(MIME):
                self._entered(event)
            case QDropEvent() if event.type() == QEvent.Type.Drop and event.mimeData().hasFormat(MIME):
                self._dropped(event)
            case QDragMoveEvent() if event.mimeData().hasFormat(MIME):
                self._mouse(QEvent.Type.MouseMove, event.position(), event.modifiers())
                event.acceptProposedAction()
            case _ if event.type() == QEvent.Type.DragLeave and self._held:
                # The view heard nothing of this drag, so it need not hear of its end.
                self._held = False
                if self._pointer.tool_id == "place":
                    self._pointer.select()
            case _:
                return super().eventFilter(watched, event)
        return True

    def _entered(self, event: QDragEnterEvent) -> None:
        template = self._find(bytes(event.mimeData().data(MIME).data()).decode("utf-8", errors="replace"))
        told = self._why_not()
        if template is None or told:
            event.ignore()
            if told:
                self._view.said.emit(told)
            return
        self._held = True
        self._pointer.take_device(template)
        self._mouse(QEvent.Type.MouseMove, event.position(), event.modifiers())
        event.acceptProposedAction()

    def _dropped(self, event: QDropEvent) -> None:
        self._held = False
        # Shift would keep the tool in hand for the next one, which a drop is not.
        for kind in (QEvent.Type.MouseMove, QEvent.Type.MouseButtonPress, QEvent.Type.MouseButtonRelease):
            self._mouse(kind, event.position(), Qt.KeyboardModifier.NoModifier)
        event.acceptProposedAction()
        if self._pointer.tool_id == "place":  # refused there: the sheet is empty under it
            self._pointer.select()

    def _mouse(self, kind: QEvent.Type, at: QPointF, held: Qt.KeyboardModifier) -> None:
        """What the mouse would have said there, so that the tool needs to know of no drags."""
        viewport = self._view.viewport()
        is_move = kind == QEvent.Type.MouseMove
        button = Qt.MouseButton.NoButton if is_move else Qt.MouseButton.LeftButton
        down = Qt.MouseButton.LeftButton if kind == QEvent.Type.MouseButtonPress else Qt.MouseButton.NoButton
        where = QPointF(viewport.mapToGlobal(at.toPoint()))
        QCoreApplication.sendEvent(viewport, QMouseEvent(kind, at, where, button, down, held))
