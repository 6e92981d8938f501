"""Connect from a way: the ways of a fuse block open beside it; drag from one to what it feeds.

From a way that feeds a circuit already, another branch of that circuit leaves (a star); from a device that is fed, the
circuit goes on to the next one (a daisy chain).
"""

from app.tools import overlay
from app.tools.connect import ConnectTool, connected
from app.tools.desk import Desk
from app.tools.events import KeyEvent, PointerEvent, ToolReply
from app.tools.switching import leg_of
from core.edits.circuits import add_load
from core.edits.devices import connect_to_nearest
from core.errors import EditRefused
from core.model import SOURCES, Circuit, Device, Point, Way, find
from core.pages.marks import AnyMark, AreaMark, TextMark
from core.units import show

#: A way beside its block, in pixels of the screen; a column of them has at most so many.
CELL_PX = (140.0, 19.0)
TEXT_PX = 11.5
MOST_LETTERS = 18
BESIDE_PX = 10.0
IN_COLUMN = 12


class WayTool(ConnectTool):
    """The tool "Connect" with the ways of the source to choose from, by pointer or by typing the way's name."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        #: The block whose ways are open, and how large a pixel was when they opened.
        self._open: Device | None = None
        self._cells: tuple[tuple[Way, Point], ...] = ()
        self._size: Point = (0.0, 0.0)
        self._way: Way | None = None
        #: Circuit and stop that go on from here, instead of a new circuit.
        self._goes_on: tuple[str, str] | None = None

    @property
    def hint(self) -> str:
        if self._source is None:
            return "Drag from a way of a fuse block, or another source, to what it feeds; from a fed device to go on."
        return super().hint

    def show(self) -> ToolReply:
        reply = super().show()
        word = reply.word
        over = self._cell_at(self._at)
        if over is not None and self._source is None:
            circuit = self._feeds(over)
            word = f"way {over.name or over.id}, up to {show(over.largest_a, 'A', 0)}"
            word += f", feeds {circuit.name}: one more branch of it" if circuit is not None else ", free"
        elif self._source is not None and not self._loads and self._under is None:
            word = self._from_words()
        prompt = "way" if self._open is not None and self._source is None else ""
        return ToolReply(overlay=(*self._fan(), *reply.overlay), word=word, prompt=prompt)

    def _from_words(self) -> str:
        assert self._source is not None
        if self._goes_on is not None:
            name = find(self.desk.plan, "circuits", self._goes_on[0]).name
            return f"{name} goes on: point at the next device"
        if self._way is not None:
            return f"way {self._way.name or self._way.id}: point at what it feeds"
        return "point at what it feeds"

    # --- the ways ----------------------------------------------------------------------------------------------------

    def _feeds(self, way: Way) -> Circuit | None:
        """The circuit that leaves the open block by a way."""
        block = self._open
        if block is None:
            return None
        return next(
            (c for c in self.desk.plan.circuits if c.stops[0].device == block.id and c.stops[0].way == way.id), None
        )

    def _open_at(self, device: Device) -> None:
        k = self._k
        self._open, self._size = device, (CELL_PX[0] * k, CELL_PX[1] * k)
        x, y = self.desk.to_sheet(device.surface, device.at_mm)
        reach = max(device.width_mm, device.height_mm) / 2
        left = x + reach + BESIDE_PX * k
        rows = min(len(device.ways), IN_COLUMN)
        top = y + rows * self._size[1] / 2
        self._cells = tuple(
            (way, (left + number // IN_COLUMN * self._size[0], top - (number % IN_COLUMN + 1) * self._size[1]))
            for number, way in enumerate(device.ways)
        )

    def _cell_at(self, at: Point) -> Way | None:
        wide, high = self._size
        for way, (x, y) in self._cells:
            if x <= at[0] <= x + wide and y <= at[1] < y + high:
                return way
        return None

    def _beside(self, at: Point) -> bool:
        """Whether the pointer is still over the open ways, or between them and their block."""
        if not self._cells or self._open is None:
            return False
        wide, high = self._size
        x, _ = self.desk.to_sheet(self._open.surface, self._open.at_mm)
        xs, ys = [cell[0] for _, cell in self._cells], [cell[1] for _, cell in self._cells]
        return x <= at[0] <= max(xs) + wide + 8 * self._k and min(ys) - high <= at[1] <= max(ys) + 2 * high

    def _fan(self) -> tuple[AnyMark, ...]:
        wide, high = self._size
        over = self._cell_at(self._at) if self._source is None else self._way
        marks: list[AnyMark] = []
        for way, (x, y) in self._cells:
            corners = overlay.rectangle((x, y), (x + wide, y + high))
            circuit = self._feeds(way)
            marks.append(AreaMark(style="note", outline_mm=corners))
            if over is not None and way.id == over.id:
                marks.append(AreaMark(style="select:fill", outline_mm=corners))
            told = circuit.name if circuit is not None else "free"
            for words, left, style in (
                (way.name or way.id, 0.05 * wide, "text:muted"),
                (told if len(told) <= MOST_LETTERS else f"{told[: MOST_LETTERS - 1]}…", 0.2 * wide,
                 "text" if circuit is not None else "text:accent"),
            ):  # fmt: skip
                marks.append(
                    TextMark(style=style, at_mm=(x + left, y + 0.27 * high), text=words, size_mm=TEXT_PX * self._k)
                )
        return tuple(marks)

    # --- pointer and keys --------------------------------------------------------------------------------------------

    def press(self, event: PointerEvent) -> ToolReply:
        if event.button == "left" and event.kind != "double" and self._source is None:
            self._look(event)
            over = self._cell_at(event.sheet_mm)
            if over is not None and self._open is not None:
                self._begin(over)
                self._pressed_px = event.pixel
                return self.show()
            device = self._under
            if device is not None and device.kind not in SOURCES and not device.ways:
                leg = leg_of(self.desk.plan, device.id)
                if leg is not None:
                    self._source, self._goes_on, self._pressed_px = device, leg, event.pixel
                    return self.show()
        return super().press(event)

    def release(self, event: PointerEvent) -> ToolReply:
        if self._source is not None and self._way is not None and self._dragged(event) and not self._loads:
            self._look(event)
            if self._under is None and not self._beside(event.sheet_mm):
                # Let go over nothing: the way stays in hand, and the next click says what it feeds.
                self._pressed_px = None
                return self.show()
        return super().release(event)

    def typed(self, text: str) -> ToolReply:
        if self._open is None:
            raise EditRefused("Point at a fuse block first; then type one of its ways.")
        wanted = text.strip().casefold()
        way = next((w for w in self._open.ways if wanted in (w.id.casefold(), w.name.casefold())), None)
        if way is None:
            raise EditRefused(f"“{self._open.name}” has no way {text.strip()}.")
        self._begin(way)
        return self.show()

    def key(self, event: KeyEvent) -> ToolReply | None:
        reply = super().key(event)
        if event.key == "Escape" and self._source is None:
            self._way, self._goes_on = None, None
            if reply is None and self._open is not None:
                self._open, self._cells = None, ()
                return self.show()
        return reply

    def _begin(self, way: Way) -> None:
        assert self._open is not None
        circuit = self._feeds(way)
        self._source, self._way = self._open, way
        self._goes_on = (circuit.id, circuit.stops[0].id) if circuit is not None else None

    def _make(self) -> ToolReply:
        assert self._source is not None
        source, loads, way, goes_on = self._source, self._loads, self._way, self._goes_on
        self._source, self._loads, self._way, self._goes_on = None, (), None, None
        self._open, self._cells = None, ()
        if goes_on is not None:
            return self._gone_on(*goes_on, loads)
        ids = tuple(load.id for load in loads)
        plan, circuit, told = connected(self.desk.plan, source.id, ids, self.desk.library, way.id if way else None)
        return ToolReply(
            plan=plan, commit=f"Connect {loads[-1].name}", select=(circuit,), word=told or f"{source.name} connected"
        )

    def _gone_on(self, circuit: str, stop: str, loads: tuple[Device, ...]) -> ToolReply:
        plan, told = self.desk.plan, ""
        for load in loads:
            if load.node is None:
                try:
                    plan, _ = connect_to_nearest(plan, load.id)
                except EditRefused as refusal:
                    told = str(refusal)
            plan, stop = add_load(plan, circuit, load.id, stop)
        name = find(plan, "circuits", circuit).name
        return ToolReply(
            plan=plan, commit=f"Connect {loads[-1].name}", select=(circuit,), word=told or f"{name} goes on"
        )

    def _look(self, event: PointerEvent) -> None:
        super()._look(event)
        if self._source is not None:
            if self._way is not None and not self._beside(event.sheet_mm):
                self._cells = ()  # what it feeds may lie below them
            return
        if self._cell_at(event.sheet_mm) is not None:
            self._under = None
            return
        if self._under is not None and self._under.ways:
            if self._open is None or self._open.id != self._under.id:
                self._open_at(self._under)
        elif self._open is not None and not self._beside(event.sheet_mm):
            self._open, self._cells = None, ()
