"""Turn, array round a point, and mirror what is selected."""

from math import atan2, cos, degrees, dist, radians, sin

from app.tools import overlay
from app.tools.desk import Desk
from app.tools.events import KeyEvent, PointerEvent, ToolReply
from app.tools.moving import named
from app.tools.on_selection import OnSelectionTool
from app.tools.pen import Pen, parts, read_count, read_turn
from core.edits import transform
from core.errors import EditRefused
from core.geometry.plane import Segment
from core.model import Plan, Point

#: Turns by the pointer are whole multiples of this; Alt frees them.
STEP_DEG = 5.0
#: A line to mirror at is so long where only its angle was typed.
MIRROR_MM = 1_000.0


class TurnTool(OnSelectionTool):
    """Click the point to turn about, then from where and to where; or type the angle at once."""

    done_word = "turned"
    verb = "Turn"

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._at: Point = (0.0, 0.0)
        self._word = ""
        self._k = 1.0
        self._event: PointerEvent | None = None
        self._about: Point | None = None
        self._from: Point | None = None

    @property
    def hint(self) -> str:
        if not self.chosen():
            return f"Click what is to be {self.done_word}."
        if self._about is None:
            return f"Click the point to turn about, or type {self._what} about the middle."
        if self._from is None:
            return f"Click what is to be brought round, or type {self._what}."
        return f"Click where it comes to lie, or type {self._what}. Alt: any angle."

    @property
    def _what(self) -> str:
        return "the angle"

    @property
    def _prompt(self) -> str:
        return "angle"

    def change(self, about: Point, turn_deg: float, count: int) -> tuple[Plan, tuple[str, ...]]:  # noqa: ARG002
        chosen = self.chosen()
        return transform.turn_about(self.desk.plan, chosen, about, turn_deg), chosen

    def show(self) -> ToolReply:
        chosen = self.chosen()
        if not chosen:
            return self.asking()
        k = self._k
        about = self._about if self._about is not None else self._middle()
        ring = (overlay.handle(about, k), *overlay.snap_mark(self._at, self._word, k))
        if self._about is None:
            return ToolReply(overlay=ring, word=self._word or "turn about this point", prompt=self._prompt)
        arm = overlay.line((about, self._at))
        if self._from is None:
            return ToolReply(overlay=(*ring, arm), word=self._word or "from here", prompt=self._prompt)
        turn = self._turn_deg()
        marks = (*ring, overlay.line((about, self._from)), arm)
        return self.proposed(lambda: self.change(about, turn, 2)[0], marks, f"{turn:g}°", self._prompt)

    def _middle(self) -> Point:
        """What it is turned about where nothing else is said, to be shown; the pointer where that cannot be told."""
        try:
            return transform.middle_of(self.desk.plan, self.chosen())
        except EditRefused:
            return self._at

    def _turn_deg(self) -> float:
        assert self._about is not None
        assert self._from is not None
        (cx, cy), (ax, ay), (bx, by) = self._about, self._from, self._at
        turn = degrees(atan2(by - cy, bx - cx) - atan2(ay - cy, ax - cx))
        turn = (turn + 180.0) % 360.0 - 180.0
        free = self._event is not None and not self.desk.snaps(self._event)
        return turn if free or self._word else round(turn / STEP_DEG) * STEP_DEG

    def press(self, event: PointerEvent) -> ToolReply:
        if event.button != "left" or event.kind == "double":
            return self.show()
        self._look(event)
        if not self.chosen():
            return self.pick(event)
        if self._about is None:
            self._about = self._at
        elif dist(self._at, self._about) < 1.0:
            raise EditRefused("The arm has no length; click further away from the point to turn about.")
        elif self._from is None:
            self._from = self._at
        else:
            return self._commit(self._about, self._turn_deg(), 2)
        return self.show()

    def move(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        return self.show()

    def _look(self, event: PointerEvent) -> None:
        self._event, self._k = event, event.mm_per_pixel
        self._at, self._word = self.desk.snapped(event)

    def key(self, event: KeyEvent) -> ToolReply | None:
        if event.key == "Escape" and self._from is not None:
            self._from = None
            return self.show()
        if event.key == "Escape" and self._about is not None:
            self._about = None
            return self.show()
        return None

    def typed(self, text: str) -> ToolReply:
        chosen = self.chosen()
        if not chosen:
            raise EditRefused(f"Click what is to be {self.done_word} first.")
        turn, count = self._read(text)
        about = self._about if self._about is not None else transform.middle_of(self.desk.plan, chosen)
        return self._commit(about, turn, count)

    def _read(self, text: str) -> tuple[float, int]:
        told = parts(text)
        if len(told) != 1:
            raise EditRefused("Type one angle in degrees; counter-clockwise is positive.")
        return read_turn(told[0]), 2

    def _commit(self, about: Point, turn_deg: float, count: int) -> ToolReply:
        label = f"{self.verb} {named(self.desk.plan, self.chosen())}"
        plan, chosen = self.change(about, turn_deg, count)
        self._about = self._from = None
        return ToolReply(plan=plan, commit=label, select=chosen, done=True)


class RoundArrayTool(TurnTool):
    """Array about a point: the angle from one to the next, and how many in all."""

    done_word = "repeated"
    verb = "Array of"
    accepts = transform.COPIED

    @property
    def _what(self) -> str:
        return "the angle from one to the next, Tab, how many in all,"

    @property
    def _prompt(self) -> str:
        return "angle ⇥ how many"

    def change(self, about: Point, turn_deg: float, count: int) -> tuple[Plan, tuple[str, ...]]:
        if abs(turn_deg % 360.0) < 1e-9:
            raise EditRefused("An angle of 0 degrees would lay all on each other.")
        return transform.array_round(self.desk.plan, self.chosen(), about, count, turn_deg)

    def _read(self, text: str) -> tuple[float, int]:
        told = parts(text)
        if not 1 <= len(told) <= 2:
            raise EditRefused("Type the angle from one to the next, then Tab and how many in all.")
        return read_turn(told[0]), read_count(told[1]) if len(told) == 2 else 2


class MirrorTool(OnSelectionTool):
    """Mirror at a line of two points, or at one of a typed angle through the middle."""

    done_word = "mirrored"
    verb = "Mirror"

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._pen = Pen(desk)

    @property
    def hint(self) -> str:
        if not self.chosen():
            return f"Click what is to be {self.done_word}."
        if not self._pen.points:
            return "Click two points of the line to mirror at, or type its angle: 90 stands upright in the middle."
        return "Click the second point of the line, or type length, Tab, angle. L: hold the angle."

    def change(self, line: Segment) -> tuple[Plan, tuple[str, ...]]:
        chosen = self.chosen()
        return transform.mirror_at(self.desk.plan, chosen, line), chosen

    def show(self) -> ToolReply:
        if not self.chosen():
            return self.asking()
        pen = self._pen
        marks = pen.marks("free", False)
        if not pen.points:
            return ToolReply(overlay=marks, word=pen.word or "line to mirror at", prompt=pen.prompt("") or "angle")
        line = (pen.points[0], pen.at)
        if dist(*line) < 1.0:
            return ToolReply(overlay=marks, word=pen.word, prompt=pen.prompt("length ⇥ angle"))
        return self.proposed(lambda: self.change(line)[0], marks, pen.word, pen.prompt("length ⇥ angle"))

    def press(self, event: PointerEvent) -> ToolReply:
        if event.button != "left" or event.kind == "double":
            return self.show()
        self._pen.move(event)
        if not self.chosen():
            return self.pick(event)
        if not self._pen.points:
            self._pen.add()
            return self.show()
        return self._commit((self._pen.points[0], self._pen.at))

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
        chosen = self.chosen()
        if not chosen:
            raise EditRefused(f"Click what is to be {self.done_word} first.")
        if self._pen.points or self._pen.from_edges:
            point = self._pen.typed(text, "free")
            if point is None:
                return self.show()
            if not self._pen.points:
                self._pen.add(point)
                return self.show()
            return self._commit((self._pen.points[0], point))
        told = parts(text)
        if len(told) != 1:
            raise EditRefused("Type one angle in degrees: 90 is an upright line.")
        middle = transform.middle_of(self.desk.plan, chosen)
        return self._commit((middle, _ahead(middle, read_turn(told[0]))))

    def _commit(self, line: Segment) -> ToolReply:
        label = f"{self.verb} {named(self.desk.plan, self.chosen())}"
        plan, chosen = self.change(line)
        self._pen.points = ()
        return ToolReply(plan=plan, commit=label, select=chosen, done=True)


class MirrorCopyTool(MirrorTool):
    """A mirrored copy; what is selected stays."""

    verb = "Mirror a copy of"
    accepts = transform.COPIED

    def change(self, line: Segment) -> tuple[Plan, tuple[str, ...]]:
        return transform.mirror_copy(self.desk.plan, self.chosen(), line)


def _ahead(start: Point, turn_deg: float) -> Point:

    return start[0] + MIRROR_MM * cos(radians(turn_deg)), start[1] + MIRROR_MM * sin(radians(turn_deg))
