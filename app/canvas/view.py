"""The sheet on the screen: zoom, pan, hover, selection, and everything a tool needs to hear of."""

from collections.abc import Iterable
from dataclasses import replace
from math import log2
from time import perf_counter
from typing import Any

from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, Qt, QTimer, Signal
from PySide6.QtGui import (
    QAccessible,
    QAccessibleAnnouncementEvent,
    QContextMenuEvent,
    QEnterEvent,
    QFocusEvent,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
)
from PySide6.QtWidgets import QToolTip, QWidget

from app.canvas.field import BETWEEN, PointerWord, TypedField
from app.canvas.flash import Flash
from app.canvas.input import HELD, button_of, key_event, modifiers_of
from app.canvas.paper_view import ZOOM_STEP, PaperView
from app.session import Session
from app.theme import Theme
from app.tools.events import Button, KeyEvent, Modifier, PointerEvent, PointerKind, Tool, ToolReply
from core.errors import LoomwrightError
from core.model import Point, records
from core.pages.sheet import SheetDrawing
from core.pages.sheet_base import Detail

#: Pixels of one paper millimetre on the screen: lettering is a little larger than on paper, to be read upright.
PX_PER_PAPER_MM = 4.1
#: How far from the pointer, in pixels, a thing is still meant.
PICK_PX = 6.0
#: What a typed length may begin with.
DIGITS = "0123456789.,-½¼¾"
#: What is scrolled into view keeps this far from its edge.
SHOWN_PX = 60
#: A sheet that takes longer to draw is lettered for a new zoom only after the zoom has rested this much longer.
SLOW_DRAW_MS, LETTER_MS = 120.0, 500
#: Scales (mm of the sheet to one of paper) above which less is drawn.
MEDIUM_FROM, LOW_FROM = 75.0, 150.0


class SheetView(PaperView):
    """The sheet of a session. Whatever the pointer and the keys do there, a tool does; without one it only shows."""

    #: Sheet point under the pointer, or None when it has left.
    pointer_moved = Signal(object)
    #: Enter on what is selected: its facts are wanted.
    edit_asked = Signal()
    #: The menu of what is selected is wanted by a key, at this pixel.
    key_menu_asked = Signal(QPoint)
    #: The tool is done, or Escape took it away.
    tool_left = Signal()
    #: A sentence for the status bar: why an edit was refused.
    said = Signal(str)

    def __init__(self, session: Session, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(theme, parent)
        self.session = session
        self._drawing = SheetDrawing()
        self._analysis: Any = None
        self._drawn_as: tuple[Detail, float, str | None] | None = None
        self._highlight: str | None = None
        #: What drawing everything took last; a large sheet is lettered anew only when the zoom has rested longer.
        self._draw_ms = 0.0
        self._letter_later = QTimer(self)
        self._letter_later.setSingleShot(True)
        self._letter_later.setInterval(LETTER_MS)
        self._letter_later.timeout.connect(self._letter)
        self._unlettered = False
        # A hand that zooms on is not held up.
        self.zoom_changed.connect(self._letter_later.stop)
        self._tool: Tool | None = None
        self._pointer_px: QPoint | None = None
        self._pan_from: QPoint | None = None
        #: Where the pointer was last, with the tool that is in hand.
        self._rested: PointerEvent | None = None
        self._space = False
        self._prompt = ""

        self.setObjectName("sheet")
        self.setAccessibleName("Fold-out sheet")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self._word = PointerWord(theme, self.viewport())
        self._field = TypedField(theme, self.viewport())
        self._field.entered.connect(self._typed)
        self._field.left.connect(self._field_left)
        self._flash = Flash(self._scene.flash, self)
        self.set_theme(theme)
        session.analysis_changed.connect(self._analysis_changed)
        session.plan_changed.connect(self._plan_changed)
        session.selection_changed.connect(self._selection_changed)
        self.refresh()

    # --- what is shown -----------------------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Draw the session's newest analysis at the scale of the zoom; what did not change is not touched."""
        analysis = self.session.analysis
        scale = lettering_scale(self.px_per_mm)
        wanted: tuple[Detail, float, str | None] = (detail_for(scale), scale, self._highlight)
        if self._unlettered and self._drawn_as is not None:
            wanted = (*self._drawn_as[:2], self._highlight)
        if analysis is self._analysis and wanted == self._drawn_as:
            return
        self._analysis, self._drawn_as = analysis, wanted
        started_s = perf_counter()
        redrawn = self._drawing.redraw(analysis, *wanted)
        if redrawn.whole is not None:
            self._scene.show_drawing(redrawn.whole)
            self._draw_ms = (perf_counter() - started_s) * 1000
        else:
            self._scene.show_changed(redrawn.changed)
        pictures = analysis.plan.pictures
        self._scene.locked_records = frozenset(picture.id for picture in pictures if picture.locked)
        self._scene.show_selection(self.session.selection)

    @property
    def lettering(self) -> bool:
        """Whether a large sheet is still to be lettered for the zoom as it is."""
        return self._unlettered

    def zoom_rested(self, at_once: bool = False) -> None:
        if self._draw_ms > SLOW_DRAW_MS and not at_once:
            self._unlettered = True
            self._letter_later.start()
        else:
            self._letter()

    def _letter(self) -> None:
        """Draw for the zoom as it is now: lettering keeps its size on the screen."""
        self._letter_later.stop()
        self._unlettered = False
        self.refresh()
        self._scene.show_hover(None)
        self._scene.show_selection(self.session.selection)

    def highlight(self, wire: str | None) -> None:
        """Light the whole way of a wire, or none."""
        self._highlight = wire
        self.refresh()

    def set_theme(self, theme: Theme) -> None:
        super().set_theme(theme)
        self._word.set_theme(theme)
        self._field.set_theme(theme)

    def set_unit_mm(self, unit_mm: float) -> None:
        """Display unit of rulers and grid: 1 for millimetres, 10 for centimetres, 25.4 for inches."""
        self._scene.unit_mm = unit_mm
        self._scene.grid.update()
        self.show_rulers()

    def _analysis_changed(self, _analysis: object) -> None:
        self.refresh()

    def _plan_changed(self, _old: object, _new: object) -> None:
        # A session asked for the first time after another file was opened computes here and tells nobody.
        self.refresh()

    def _selection_changed(self) -> None:
        self._scene.show_selection(self.session.selection)
        told = self._told_selection()
        if told != self.accessibleDescription():
            self.setAccessibleDescription(told)
            if self.hasFocus() and QAccessible.isActive():
                QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, told))

    def _told_selection(self) -> str:
        """What is selected, for those who hear the window."""
        chosen = self.session.selection
        if not chosen:
            return "Nothing selected"
        if len(chosen) > 1:
            return f"{len(chosen)} things selected"
        return f"{self._name_of(chosen[0]) or chosen[0]} selected"

    def zoom_to_selection(self) -> None:
        self.zoom_to_records(self.session.selection)

    def zoom_to_records(self, ids: Iterable[str]) -> None:
        """Show these records (a surface, a device ...), not larger than 1 mm to 2 pixels."""
        area = self._scene.extent_of(ids)
        if area.isEmpty():
            return
        room = self.viewport().rect()
        least = QRectF(0, 0, room.width() / 2.0, room.height() / 2.0)
        least.moveCenter(area.center())
        self.zoom_to(area.united(least) if area.width() < least.width() and area.height() < least.height() else area)

    def event(self, event: QEvent) -> bool:
        if isinstance(event, QContextMenuEvent) and event.reason() == QContextMenuEvent.Reason.Keyboard:
            area = self._scene.extent_of(self.session.selection)
            middle = self.mapFromScene(area.center()) if not area.isEmpty() else QPoint(-1, -1)
            room = self.viewport().rect()
            self.key_menu_asked.emit(middle if room.contains(middle) else room.center())
            return True
        return super().event(event)

    def viewportEvent(self, event: QEvent) -> bool:
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            self._tell(event)
            return True
        return super().viewportEvent(event)

    def _tell(self, event: QHelpEvent) -> None:
        """The full name of what lies under the pointer, which may be cut off or left out on the sheet."""
        if self._word.isVisible():
            return  # a tool says something there already
        found = self._scene.records_at(self.sheet_at(QPointF(event.pos())), PICK_PX / self.px_per_mm)
        name = self._name_of(found[0]) if found else ""
        QToolTip.showText(event.globalPos(), name, self.viewport())

    def _name_of(self, record_id: str) -> str:
        for _, record in records(self.session.shown):
            if record.id == record_id:
                return str(getattr(record, "name", "") or "")
        return ""

    @property
    def pointer_mm(self) -> Point | None:
        """Where on the sheet the pointer was last seen over the view; None where it never was."""
        return None if self._pointer_px is None else self.sheet_at(QPointF(self._pointer_px))

    # --- tools -------------------------------------------------------------------------------------------------------

    @property
    def tool(self) -> Tool | None:
        return self._tool

    def set_tool(self, tool: Tool | None) -> None:
        """Give the pointer to a tool, or back to selecting. A preview of the tool before is dropped."""
        if self._tool is not None:
            self.session.preview(None)
        self._tool = tool
        self._rested = None
        self._clear_tool_marks()
        self._show_cursor()

    def wake(self) -> None:
        """Let the tool in hand say what it shows and what may be typed, before the pointer has moved."""
        at = self._pointer_px if self._pointer_px is not None else self.viewport().rect().center()
        self._rested = self._event_at("move", QPointF(at))
        self._ask("move", self._rested)

    def _clear_tool_marks(self) -> None:
        self._scene.tool.show_marks(())
        self._scene.show_hover(None)
        self._flash.show((), 1.0)
        self._word.say("", QPoint())
        self._field.hide()
        self._prompt = ""

    def _show_cursor(self) -> None:
        shapes = {
            "arrow": Qt.CursorShape.ArrowCursor,
            "cross": Qt.CursorShape.CrossCursor,
            "move": Qt.CursorShape.SizeAllCursor,
            "hand": Qt.CursorShape.PointingHandCursor,
        }
        if self._pan_from is not None:
            self.viewport().setCursor(Qt.CursorShape.ClosedHandCursor)
        elif self._space:
            self.viewport().setCursor(Qt.CursorShape.OpenHandCursor)
        else:
            self.viewport().setCursor(shapes[self._tool.cursor if self._tool is not None else "arrow"])

    def _ask(self, method: str, event: PointerEvent | KeyEvent | str) -> str | None:
        """Pass an event to the tool and do what it answers. None where the event meant nothing to it, the sentence
        where it was refused, else ""."""
        tool = self._tool
        if tool is None:
            return None
        try:
            reply: ToolReply | None = getattr(tool, method)(event)
        except LoomwrightError as refusal:
            self.session.preview(None)
            self._say(str(refusal))
            self.said.emit(str(refusal))
            return str(refusal)
        if reply is None:
            return None
        self._obey(reply)
        return ""

    def _obey(self, reply: ToolReply) -> None:
        if reply.plan is not None and reply.commit is not None:
            self.session.commit(reply.commit, reply.plan, reply.key)
        else:
            self.session.preview(reply.plan)
        if reply.select is not None:
            self.session.select(reply.select)
        if reply.look_at is not None:
            self.reveal(reply.look_at)
        if reply.edit:
            self.edit_asked.emit()
        if reply.done:
            self._tool = None
            self._clear_tool_marks()
            self._show_cursor()
            self.tool_left.emit()
            return
        self._prompt = reply.prompt
        if not reply.prompt:
            self._field.hide()
        self._scene.tool.show_marks(reply.overlay)
        self._flash.show(reply.flash, 1.0 / self.px_per_mm)
        self._say(reply.word)

    def reveal(self, at: Point) -> None:
        """Scroll until a place of the sheet is in view, not at its very edge."""
        here = QPointF(*at)
        room = self.viewport().rect().adjusted(SHOWN_PX, SHOWN_PX, -SHOWN_PX, -SHOWN_PX)
        if not room.contains(self.mapFromScene(here)):
            self.centerOn(here)

    def _say(self, words: str) -> None:
        self._word.say(words, self._pointer_px if self._pointer_px is not None else self.viewport().rect().center())

    def _typed(self, text: str) -> None:
        told = self._ask("typed", text)
        if told:
            self._word.say("", QPoint())
            self._field.say_problem(told)
        elif told is not None:
            self._field.hide()
            self.setFocus()

    def _field_left(self) -> None:
        self.setFocus()

    # --- pointer -----------------------------------------------------------------------------------------------------

    def pointer_event(self, kind: PointerKind, event: QMouseEvent) -> PointerEvent:
        """The plain record of a mouse event."""
        return self._event_at(kind, event.position(), button_of(event), modifiers_of(event.modifiers()))

    def _event_at(
        self, kind: PointerKind, pixel: QPointF, button: Button = "none", held: frozenset[Modifier] = frozenset()
    ) -> PointerEvent:
        at = self.sheet_at(pixel)
        return PointerEvent(
            kind=kind,
            sheet_mm=at,
            pixel=(pixel.x(), pixel.y()),
            button=button,
            modifiers=held,
            item_ids=self._scene.records_at(at, PICK_PX / self.px_per_mm),
            mm_per_pixel=1.0 / self.px_per_mm,
        )

    def mousePressEvent(self, event: QMouseEvent) -> None:
        middle = event.button() == Qt.MouseButton.MiddleButton
        left = event.button() == Qt.MouseButton.LeftButton
        self._pointer_px = event.position().toPoint()
        if middle or (left and self._space):
            self._pan_from = self._pointer_px
            self._show_cursor()
        elif self._tool is not None:
            self._field.hide()
            self._ask("press", self.pointer_event("press", event))
        event.accept()

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        if self._tool is not None:
            self._ask("press", self.pointer_event("double", event))
        event.accept()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        here = event.position().toPoint()
        self._pointer_px = here
        self.top_ruler.show_mark(event.position().x())
        self.left_ruler.show_mark(event.position().y())
        self.pointer_moved.emit(self.sheet_at(event.position()))
        if self._pan_from is not None:
            moved = here - self._pan_from
            self._pan_from = here
            self.scroll_px(-moved.x(), -moved.y())
        elif self._tool is not None:
            self._rested = self.pointer_event("move", event)
            self._ask("move", self._rested)
        event.accept()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if self._pan_from is not None and event.button() in (Qt.MouseButton.MiddleButton, Qt.MouseButton.LeftButton):
            self._pan_from = None
            self._show_cursor()
        elif self._tool is not None:
            self._ask("release", self.pointer_event("release", event))
        event.accept()

    def enterEvent(self, event: QEnterEvent) -> None:
        super().enterEvent(event)
        self._show_cursor()

    def leaveEvent(self, event: QEvent) -> None:
        super().leaveEvent(event)
        self.top_ruler.show_mark(None)
        self.left_ruler.show_mark(None)
        self._scene.show_hover(None)
        self._word.say("", QPoint())
        self.pointer_moved.emit(None)

    # --- keys --------------------------------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Space and not event.isAutoRepeat():
            self._space = True
            self._show_cursor()
            event.accept()
            return
        self._held_changed(event, down=True)
        heard = self._begin_typing(event) or self._ask("key", key_event(event)) is not None
        if heard or self._begin_second(event) or self._own_key(event):
            event.accept()
            return
        if event.key() in (Qt.Key.Key_Tab, Qt.Key.Key_Backtab):
            super().focusNextPrevChild(event.key() == Qt.Key.Key_Tab)
            return
        super().keyPressEvent(event)

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Space and not event.isAutoRepeat():
            self._space = False
            self._show_cursor()
        self._held_changed(event, down=False)
        super().keyReleaseEvent(event)

    def focusNextPrevChild(self, _forward: bool) -> bool:
        # Tab comes to the tool first: it steps through what is drawn, or to the second value.
        return False

    def _held_changed(self, event: QKeyEvent, *, down: bool) -> None:
        """A key that is held changes what the pointer means, though it rests."""
        held = HELD.get(event.key())
        if held is not None and self._rested is not None:
            before = modifiers_of(event.modifiers())
            self._ask("move", replace(self._rested, modifiers=before | {held} if down else before - {held}))

    def focusOutEvent(self, event: QFocusEvent) -> None:
        self._space = False
        super().focusOutEvent(event)

    def _begin_typing(self, event: QKeyEvent) -> bool:
        """The first digit of a length opens the field beside the pointer."""
        text = event.text()
        if not text or text not in DIGITS or self._field.isVisible():
            return False
        if not self._prompt and self._tool is not None:
            # What is selected may have changed elsewhere since the pointer moved.
            self.wake()
        if not self._prompt:
            return False
        self._open_field(text)
        return True

    def _begin_second(self, event: QKeyEvent) -> bool:
        """Tab before any digit goes straight to the second value: an angle without a length."""
        if event.key() != Qt.Key.Key_Tab or BETWEEN not in self._prompt or self._field.isVisible():
            return False
        self._open_field("")
        return True

    def _open_field(self, first: str) -> None:
        at = self._pointer_px if self._pointer_px is not None else self.viewport().rect().center()
        self._word.say("", QPoint())
        self._field.open(self._prompt, first, at)

    def _own_key(self, event: QKeyEvent) -> bool:
        step = 60
        match event.key():
            case Qt.Key.Key_Escape if self._tool is not None:
                self.set_tool(None)
                self.tool_left.emit()
            case Qt.Key.Key_Plus | Qt.Key.Key_Equal:
                self.zoom_by(ZOOM_STEP)
            case Qt.Key.Key_Minus:
                self.zoom_by(1 / ZOOM_STEP)
            case Qt.Key.Key_Home:
                self.zoom_to_fit()
            case Qt.Key.Key_End:
                self.zoom_to_selection()
            case Qt.Key.Key_Left:
                self.scroll_px(-step, 0)
            case Qt.Key.Key_Right:
                self.scroll_px(step, 0)
            case Qt.Key.Key_Up:
                self.scroll_px(0, -step)
            case Qt.Key.Key_Down:
                self.scroll_px(0, step)
            case _:
                return False
        return True


def lettering_scale(px_per_mm: float) -> float:
    """The scale of the drawing that suits a zoom, in steps of half an octave, so that lettering keeps its size."""
    exact = PX_PER_PAPER_MM / px_per_mm
    return float(20.0 * 2.0 ** (round(2 * log2(exact / 20.0)) / 2))


def detail_for(scale: float) -> Detail:
    if scale >= LOW_FROM:
        return "low"
    return "medium" if scale >= MEDIUM_FROM else "full"
