"""Move, copy or array what is selected by a distance: from a point to a point, or typed."""

from dataclasses import dataclass
from math import hypot

from app.tools import overlay
from app.tools.desk import Desk
from app.tools.events import KeyEvent, PointerEvent, ToolReply
from app.tools.moving import moved, named
from app.tools.on_selection import OnSelectionTool
from app.tools.pen import Pen, parts, read_count, read_lengths, read_signed
from core.edits import transform
from core.errors import EditRefused
from core.model import Plan, Point

#: How many an array has where nothing else was said.
COUNT = 3


@dataclass(frozen=True)
class Array:
    """So many in a row, and so many rows at a distance, square to the first direction on its left."""

    count: int = COUNT
    rows: int = 1
    row_step_mm: float = 0.0


def moved_by(desk: Desk, chosen: tuple[str, ...], by: Point) -> tuple[Plan, tuple[str, ...]]:
    return moved(desk, desk.plan, chosen, by), chosen


def copied_by(desk: Desk, chosen: tuple[str, ...], by: Point) -> tuple[Plan, tuple[str, ...]]:
    return transform.copy_by(desk.plan, chosen, by)


class ByDistanceTool(OnSelectionTool):
    """Move; see `CopyTool` and `ArrayTool` for what else is done by a distance."""

    done_word = "moved"
    verb = "Move"
    #: A click leaves the tool in hand for another one.
    again = False

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._pen = Pen(desk)

    @property
    def hint(self) -> str:
        if not self.chosen():
            return f"Click what is to be {self.done_word}."
        if not self._pen.points:
            return "Click a point to take it by, or type how far to the right, Tab, how far up."
        return "Click where that point goes, or type length, Tab, angle. L: hold the angle. D: distance from an edge."

    def change(self, by: Point) -> tuple[Plan, tuple[str, ...]]:
        """The plan with the selection changed by a distance, and what is selected then. Raises EditRefused."""
        return moved_by(self.desk, self.chosen(), by)

    def show(self) -> ToolReply:
        if not self.chosen():
            return self.asking()
        pen = self._pen
        if not pen.points:
            marks = pen.marks("free", False)
            return ToolReply(overlay=marks, word=pen.word or "take it by a point", prompt=self._prompt)
        by = self._by(pen.at)
        word = f"{self.desk.show_mm(by[0])}  {self.desk.show_mm(by[1])}"
        marks = pen.marks("free", False)
        return self.proposed(lambda: self.change(by)[0], marks, pen.word or word, self._prompt)

    @property
    def _prompt(self) -> str:
        return self._pen.from_edges.prompt or ("length ⇥ angle" if self._pen.points else "right ⇥ up")

    def press(self, event: PointerEvent) -> ToolReply:
        if event.button != "left" or event.kind == "double":
            return self.show()
        self._pen.move(event)
        if not self.chosen():
            return self.pick(event)
        if not self._pen.points:
            self._pen.add()
            return self.show()
        return self.reached(self._by(self._pen.at), more=self.again)

    def move(self, event: PointerEvent) -> ToolReply:
        self._pen.move(event)
        return self.show()

    def key(self, event: KeyEvent) -> ToolReply | None:
        if self.chosen() and self._pen.key(event.key):
            return self.show()
        if event.key == "Escape" and self._pen.points:
            self._pen.points = ()
            return self.show()
        return None

    def typed(self, text: str) -> ToolReply:
        if not self.chosen():
            raise EditRefused(f"Click what is to be {self.done_word} first.")
        if self._pen.points or self._pen.from_edges:
            point = self._pen.typed(text, "free")
            if point is None:
                return self.show()
            if not self._pen.points:
                self._pen.add(point)
                return self.show()
            return self.reached(self._by(point), more=False)
        told = parts(text)
        if not 1 <= len(told) <= 2:
            raise EditRefused("Type how far to the right, then Tab and how far up.")
        x, *up = (read_signed(self.desk, part) if part else 0.0 for part in told)
        return self.reached((x, up[0] if up else 0.0), more=False)

    def reached(self, by: Point, more: bool) -> ToolReply:
        """The distance is told. `more`: the tool stays in hand for another one."""
        if hypot(*by) < 1e-6:
            raise EditRefused("A distance of 0 mm changes nothing.")
        label = f"{self.verb} {named(self.desk.plan, self.chosen())}"
        plan, chosen = self.change(by)
        if not more:
            self._pen.points = ()
        return ToolReply(plan=plan, commit=label, select=None if more else chosen, done=not more)

    def _by(self, to: Point) -> Point:
        start = self._pen.points[0]
        return to[0] - start[0], to[1] - start[1]


class CopyTool(ByDistanceTool):
    """A copy with every click, until Escape."""

    again = True
    done_word = "copied"
    verb = "Copy"
    accepts = transform.COPIED

    def change(self, by: Point) -> tuple[Plan, tuple[str, ...]]:
        return copied_by(self.desk, self.chosen(), by)


class ArrayTool(ByDistanceTool):
    """Array: the step by a distance, then how many, and rows of them."""

    done_word = "repeated"
    verb = "Array of"
    accepts = transform.COPIED

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._step: Point | None = None

    @property
    def hint(self) -> str:
        if self._step is not None:
            return f"Type how many in all (Return for {COUNT}), then Tab and how many rows, Tab and their distance."
        return super().hint

    def change(self, by: Point) -> tuple[Plan, tuple[str, ...]]:
        return self._made(by, Array())

    def show(self) -> ToolReply:
        if self._step is None:
            return super().show()
        step = self._step
        marks = (overlay.line((self._pen.at, (self._pen.at[0] + step[0], self._pen.at[1] + step[1]))),)
        word = f"{COUNT} in all, {self.desk.show_mm(hypot(*step))} apart?"
        return self.proposed(lambda: self.change(step)[0], marks, word, "how many ⇥ rows ⇥ row distance")

    def press(self, event: PointerEvent) -> ToolReply:
        if self._step is not None and event.button == "left":
            return self._commit(Array()) if event.kind == "press" else self.show()
        return super().press(event)

    def move(self, event: PointerEvent) -> ToolReply:
        return self.show() if self._step is not None else super().move(event)

    def reached(self, by: Point, more: bool) -> ToolReply:  # noqa: ARG002 (an array is one)
        if hypot(*by) < 1e-6:
            raise EditRefused("A step of 0 mm would lay all on each other.")
        self.change(by)  # refused now rather than after the number was typed
        self._step = by
        return self.show()

    def key(self, event: KeyEvent) -> ToolReply | None:
        if self._step is None:
            return super().key(event)
        if event.key == "Return":
            return self._commit(Array())
        if event.key == "Escape":
            self._step = None
            return self.show()
        return None

    def typed(self, text: str) -> ToolReply:
        if self._step is None:
            return super().typed(text)
        told = parts(text)
        if not 1 <= len(told) <= 3:
            raise EditRefused("Type how many, then Tab and how many rows, Tab and the distance of the rows.")
        count, rows = read_count(told[0]), read_count(told[1]) if len(told) > 1 else 1
        if rows > 1 and len(told) < 3:
            raise EditRefused("Type the distance of the rows too, after another Tab.")
        step = read_lengths(self.desk, told[2], 1, "the distance of the rows")[0] if len(told) == 3 else 0.0
        return self._commit(Array(count, rows, step))

    def _commit(self, array: Array) -> ToolReply:
        assert self._step is not None
        label = f"{self.verb} {named(self.desk.plan, self.chosen())}"
        plan, new = self._made(self._step, array)
        self._step, self._pen.points = None, ()
        return ToolReply(plan=plan, commit=label, select=new, done=True)

    def _made(self, step: Point, array: Array) -> tuple[Plan, tuple[str, ...]]:
        chosen = self.chosen()
        if array.rows == 1:
            return transform.array_along(self.desk.plan, chosen, step, array.count)
        size = hypot(*step)
        across = (-step[1] / size * array.row_step_mm, step[0] / size * array.row_step_mm)
        return transform.array_grid(self.desk.plan, chosen, (step, array.count), (across, array.rows))
