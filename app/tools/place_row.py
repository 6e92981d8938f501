"""Place a device, or several in a row at once: drag from the first to the last, or R, and type how many."""

from math import atan2, cos, degrees, hypot, radians, sin

from app.tools import overlay
from app.tools.desk import Desk
from app.tools.events import KeyEvent, PointerEvent, ToolReply
from app.tools.pen import parts
from app.tools.place import PlaceDeviceTool
from core.edits.devices import array, place_device, turn_device
from core.errors import EditRefused
from core.files.library import DeviceTemplate
from core.model import Point
from core.units import UnitProblem

DRAG_PX = 8.0
#: How many stand in a row before somebody says otherwise, and at most.
FIRST_COUNT, MOST = 3, 100
#: Shift holds a row to multiples of this.
HOLD_DEG = 45.0


class PlaceRowTool(PlaceDeviceTool):
    """As the tool it extends; a drag, or R and then a click, ends a row that begins where it was pressed."""

    def __init__(self, desk: Desk, template: DeviceTemplate) -> None:
        super().__init__(desk, template)
        #: Where the row begins: surface, point on it, and that point on the sheet.
        self._first: tuple[str, Point, Point] | None = None
        self._pressed: PointerEvent | None = None
        self._dragging = False
        self._count = FIRST_COUNT

    @property
    def hint(self) -> str:
        if self._first is not None:
            return (
                "Click (or let go) where the last one goes, or type how many, Tab, their spacing. Page Up and Page "
                "Down: one more, one less. Shift keeps the row level or upright."
            )
        return f"{super().hint} Drag, or R, for several in a row."

    def show(self) -> ToolReply:
        if self._first is None or self._at is None:
            return super().show()
        surface, start, on_sheet = self._first
        place = self.desk.place(surface)
        end = place.to_local(self._at)
        spots = _row(start, end, self._count)
        marks = [overlay.area(tuple(place.to_sheet(c) for c in self._footprint(spot))) for spot in spots]
        pitch = hypot(end[0] - start[0], end[1] - start[1]) / (self._count - 1)
        lines = overlay.measured(on_sheet, place.to_sheet(spots[1]), self.desk.show_mm(round(pitch)), self._k)
        word = f"{self._count} in a row, {self.desk.show_mm(round(pitch))} apart"
        return ToolReply(overlay=(*marks, *lines), word=word, prompt="how many ⇥ spacing")

    def press(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        if event.button != "left" or event.kind == "double":
            return self.show()
        self._pressed = event
        return self.show()

    def move(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        pressed = self._pressed
        if pressed is not None and self._first is None:
            far = max(abs(event.pixel[0] - pressed.pixel[0]), abs(event.pixel[1] - pressed.pixel[1]))
            if far > DRAG_PX:
                self._begin(self.desk.snapped(pressed)[0])
                self._dragging = self._first is not None
                self._look(event)
        return self.show()

    def release(self, event: PointerEvent) -> ToolReply:
        pressed, self._pressed = self._pressed, None
        if pressed is None:
            return self.show()
        if self._first is not None:
            self._look(event)
            return self._placed_row(self._count)
        return super().press(pressed)

    def key(self, event: KeyEvent) -> ToolReply | None:
        match event.key:
            case "R" if self._first is None and self._at is not None:
                self._begin(self._at)
                return self.show()
            case "PgUp" | "PageUp" | "]" if self._first is not None:
                self._count = min(self._count + 1, MOST)
                return self.show()
            case "PgDown" | "PageDown" | "[" if self._first is not None:
                self._count = max(self._count - 1, 2)
                return self.show()
            case "Escape" if self._first is not None:
                self._first, self._pressed, self._dragging = None, None, False
                return self.show()
            case _:
                return super().key(event)

    def typed(self, text: str) -> ToolReply:
        """How many, and how far apart in the pointer's direction."""
        if self._first is None:
            return super().typed(text)
        told = parts(text)
        if not 1 <= len(told) <= 2 or not told[0].isdigit() or not 2 <= int(told[0]) <= MOST:
            raise EditRefused(f"Type how many (2 to {MOST}), then Tab and their spacing if you want one.")
        count = int(told[0])
        if len(told) == 2:
            try:
                pitch = self.desk.read_mm(told[1])
            except UnitProblem as problem:
                raise EditRefused(str(problem)) from None
            surface, start, _ = self._first
            end = self.desk.place(surface).to_local(self._at) if self._at is not None else start
            far = hypot(end[0] - start[0], end[1] - start[1])
            if far < 1.0 or pitch <= 0:
                raise EditRefused("Point in the direction of the row; then type how many and how far apart.")
            size = pitch * (count - 1) / far
            last = (start[0] + (end[0] - start[0]) * size, start[1] + (end[1] - start[1]) * size)
            self._at = self.desk.to_sheet(surface, last)
        return self._placed_row(count)

    def _begin(self, at: Point) -> None:
        spot = self.desk.spot(at)
        if spot is None:
            raise EditRefused("A device is placed on a surface; here the sheet is empty.")
        self._first = (*spot, self.desk.to_sheet(*spot))

    def _placed_row(self, count: int) -> ToolReply:
        assert self._first is not None
        assert self._at is not None
        surface, start, _ = self._first
        end = self.desk.place(surface).to_local(self._at)
        if hypot(end[0] - start[0], end[1] - start[1]) < 1.0:
            raise EditRefused("The last one of a row lies beside the first; point at its place.")
        plan, first = place_device(self.desk.plan, self.template, surface, start)
        if self._turn_deg:
            plan = turn_device(plan, first, self._turn_deg)
        plan, others = array(plan, first, end, count)
        self._first, self._dragging, self._count = None, False, count
        return ToolReply(plan=plan, commit=f"Place {count} × {self.template.name}", select=(first, *others), done=True)

    def _look(self, event: PointerEvent | None) -> None:
        super()._look(event)
        if event is not None and self._first is not None and "shift" in event.modifiers:
            self._at, self._word = _held(self._first[2], event.sheet_mm), "held at 45°"


def _row(start: Point, end: Point, count: int) -> list[Point]:
    return [
        (start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share)
        for share in (number / (count - 1) for number in range(count))
    ]


def _held(start: Point, at: Point) -> Point:
    """The point nearest to `at` on a level, upright or slanting line through the start."""
    turn = radians(round(degrees(atan2(at[1] - start[1], at[0] - start[0])) / HOLD_DEG) * HOLD_DEG)
    along = (at[0] - start[0]) * cos(turn) + (at[1] - start[1]) * sin(turn)
    return start[0] + along * cos(turn), start[1] + along * sin(turn)
