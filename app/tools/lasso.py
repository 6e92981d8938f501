"""Select by an outline drawn round things: what lies wholly inside is selected."""

from typing import Protocol

from app.tools import overlay
from app.tools.base import BaseTool
from app.tools.desk import Desk
from app.tools.events import KeyEvent, PointerEvent, ToolReply
from core.errors import EditRefused
from core.geometry.plane import distance_mm
from core.model import Point
from core.pages.marks import AnyMark

#: A press this near to the first corner closes the outline.
CLOSE_PX = 10.0
#: While the button is held the outline goes along with the pointer, a corner every so many pixels.
FREE_PX = 12.0


class Within(Protocol):
    """What can be seen on the sheet; the canvas answers."""

    def inside(self, outline: tuple[Point, ...]) -> tuple[str, ...]: ...


class OutlineSelectTool(BaseTool):
    """Click corners, or draw round with the button held; Return or the first corner closes it. Shift adds, Ctrl takes
    away."""

    def __init__(self, desk: Desk, sight: Within) -> None:
        super().__init__(desk)
        self._sight = sight
        self._points: tuple[Point, ...] = ()
        self._at: Point = (0.0, 0.0)
        self._k = 1.0
        self._held = False
        self._drawn = False
        self._modifiers: frozenset[str] = frozenset()

    @property
    def hint(self) -> str:
        if not self._points:
            return "Draw an outline round what is to be selected: click corners, or keep the button down."
        return "Return or the first corner closes the outline; Backspace takes a corner back."

    def show(self) -> ToolReply:
        points = (*self._points, self._at) if self._points else ()
        marks: list[AnyMark] = [overlay.handle(point, self._k) for point in self._points[:1]]
        if len(points) > 2:
            marks.append(overlay.area(points))
        if len(points) > 1:
            marks.append(overlay.line(points, closed=len(points) > 2))
        return ToolReply(overlay=tuple(marks), word="" if self._points else "first corner")

    def press(self, event: PointerEvent) -> ToolReply:
        self._take(event)
        if event.button != "left":
            return self.show()
        if event.kind == "double" or self._closes():
            return self._select()
        self._points = (*self._points, self._at)
        self._held, self._drawn = True, False
        return self.show()

    def move(self, event: PointerEvent) -> ToolReply:
        self._take(event)
        if self._held and self._points and distance_mm(self._points[-1], self._at) >= FREE_PX * self._k:
            self._points = (*self._points, self._at)
            self._drawn = True
        return self.show()

    def release(self, event: PointerEvent) -> ToolReply:
        self._take(event)
        self._held = False
        return self._select() if self._drawn and len(self._points) > 2 else self.show()

    def key(self, event: KeyEvent) -> ToolReply | None:
        match event.key:
            case "Return" if self._points:
                return self._select()
            case "Backspace" | "Escape" if self._points:
                self._points = self._points[:-1]
                return self.show()
            case "Escape":
                return ToolReply(done=True)
        return None

    def _take(self, event: PointerEvent) -> None:
        self._at, self._k, self._modifiers = event.sheet_mm, event.mm_per_pixel, frozenset(event.modifiers)

    def _closes(self) -> bool:
        return len(self._points) > 2 and distance_mm(self._points[0], self._at) <= CLOSE_PX * self._k

    def _select(self) -> ToolReply:
        if len(self._points) < 3:
            raise EditRefused("An outline needs three corners at least.")
        found = self._sight.inside(self._points)
        before = self.desk.session.selection
        if "shift" in self._modifiers:
            found = (*before, *found)
        elif "ctrl" in self._modifiers:
            found = tuple(each for each in before if each not in found)
        return ToolReply(select=found, done=True)
