"""Measure along the surfaces, over folds and seams, and straight through the air; and dimensions that stay."""

from math import hypot

from app.tools import overlay
from app.tools.base import BaseTool
from app.tools.desk import Desk
from app.tools.events import KeyEvent, PointerEvent, ToolReply
from app.tools.pen import Pen, read_signed
from core.edits.dimensions import add_attached_dimension, anchor_at
from core.errors import EditRefused
from core.geometry.plane import distance_mm, offset, side_of
from core.model import Point
from core.pages.marks import AnyMark
from core.studies.measuring import Measure, measure

#: An end this near on the screen to a corner is attached to it.
ATTACH_PX = 8.0
#: A part of a straight distance smaller than this is none.
LEAST_MM = 0.5
AXES = (("to the rear", "to the front"), ("to vehicle right", "to vehicle left"), ("up", "down"))


class MeasureTool(BaseTool):
    """Click from point to point; Return ends, Backspace takes the last point back. Nothing of it is kept."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._pen = Pen(desk)
        self._spots: tuple[tuple[str, Point], ...] = ()
        self._legs: tuple[Measure, ...] = ()
        self._ended = False

    @property
    def hint(self) -> str:
        if not self._spots:
            return "Click from where: lengths along the surfaces, over folds and seams, and straight through the air."
        if self._ended:
            return "Click to measure anew."
        return "Click to where; further clicks add up. Return ends, Backspace takes the last point back."

    def show(self) -> ToolReply:
        legs = self._legs
        if self._spots and not self._ended:
            here = self.desk.spot(self._pen.at)
            if here is None:
                return ToolReply(overlay=self._marks(legs), word="point at a surface")
            legs = (*legs, measure(self.desk.plan, self._spots[-1], here))
        word = self._told(legs) if legs else self._pen.word
        return ToolReply(overlay=self._marks(legs), word=word)

    def _marks(self, legs: tuple[Measure, ...]) -> tuple[AnyMark, ...]:
        pen, show = self._pen, self._show
        k = pen.mm_per_px
        marks: list[AnyMark] = [overlay.handle(self.desk.to_sheet(*spot), k) for spot in self._spots]
        for leg in legs:
            for a, b in leg.lines_sheet_mm:
                marks += [overlay.firm_line((a, b)), overlay.handle(a, k), overlay.handle(b, k)]
                if len(leg.lines_sheet_mm) > 1:
                    marks += overlay.dimension(a, b, show(distance_mm(a, b)), k)
        if not self._ended:
            marks += overlay.snap_mark(pen.at, pen.word, k)
        return tuple(marks)

    def _show(self, length_mm: float) -> str:
        """As a tape is read: to the millimetre."""
        return self.desk.show_mm(length_mm if self.desk.unit == "in" else float(round(length_mm)))

    def _told(self, legs: tuple[Measure, ...]) -> str:
        """In words: the sum along the surfaces; of one leg also straight, with its parts."""
        show = self._show
        parts = [leg.along_mm for leg in legs if leg.along_mm is not None]
        along = f"{show(sum(parts))} along the surface" if len(parts) == len(legs) else "no way along the surfaces"
        last = legs[-1]
        if len(legs) > 1:
            return f"{along}, {len(legs)} stretches"
        if last.straight_mm is None or last.across_mm is None:
            return along
        across = [
            f"{show(abs(value))} {AXES[axis][value < 0]}"
            for axis, value in enumerate(last.across_mm)
            if abs(value) >= 0.5
        ]
        return f"{along}\n{show(last.straight_mm)} straight" + (f": {', '.join(across)}" if len(across) > 1 else "")

    def press(self, event: PointerEvent) -> ToolReply:
        if event.button != "left":
            return self.show()
        self._pen.move(event)
        if event.kind == "double":
            return self._end()
        spot = self.desk.spot(self._pen.at)
        if spot is None:
            raise EditRefused("Lengths are measured on surfaces; here the sheet is empty.")
        if self._ended:
            self._clear()
        if self._spots and self._spots[-1] != spot:
            self._legs = (*self._legs, measure(self.desk.plan, self._spots[-1], spot))
            self._spots = (*self._spots, spot)
        elif not self._spots:
            self._spots = (spot,)
        self._pen.points = (self._pen.at,)
        return self.show()

    def move(self, event: PointerEvent) -> ToolReply:
        self._pen.move(event)
        return self.show()

    def key(self, event: KeyEvent) -> ToolReply | None:
        if self._spots and not self._ended and self._pen.key(event.key):
            return self.show()
        match event.key:
            case "Return" if self._spots:
                return self._end()
            case "Escape" if self._spots:
                self._clear()
            case "Backspace" if self._spots:
                self._spots, self._legs, self._ended = self._spots[:-1], self._legs[:-1], False
                self._pen.points = tuple(self.desk.to_sheet(*spot) for spot in self._spots[-1:])
            case _:
                return None
        return self.show()

    def _end(self) -> ToolReply:
        if not self._legs:
            raise EditRefused("Click where to measure to.")
        self._ended = True
        self._pen.points = ()
        return self.show()

    def _clear(self) -> None:
        self._spots, self._legs, self._ended, self._pen.points = (), (), False, ()


class DimensionTool(BaseTool):
    """A dimension between two points of a surface; ends at corners stay attached to them. Then how far aside."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._pen = Pen(desk)
        self._surface = ""
        self._aside_mm = 0.0

    @property
    def hint(self) -> str:
        match len(self._pen.points):
            case 0:
                return "Click where the dimension starts; at a corner it stays attached."
            case 1:
                return "Click where it ends, on the same surface, or type length, Tab, angle."
        return "Move aside and click, or type how far aside it is drawn."

    def show(self) -> ToolReply:
        pen, k = self._pen, self._pen.mm_per_px
        if len(pen.points) < 2:
            attached = "corner, stays attached" if self._at_corner() else pen.word
            return ToolReply(overlay=pen.marks("free", False), word=attached, prompt=pen.prompt("length ⇥ angle"))
        a, b = pen.points
        line = offset((a, b), self._aside_mm)
        size = self.desk.show_mm(distance_mm(a, b))
        marks = (
            overlay.line((a, line[0])),
            overlay.line((b, line[1])),
            *overlay.measured(line[0], line[1], size, k),
        )
        return ToolReply(overlay=marks, word=f"{size}, {self.desk.show_mm(abs(self._aside_mm))} aside", prompt="aside")

    def _at_corner(self) -> bool:
        spot = self._spot(self._pen.at)
        reach = ATTACH_PX * self._pen.mm_per_px
        return spot is not None and anchor_at(self.desk.plan, *spot, reach) is not None

    def _spot(self, at: Point) -> tuple[str, Point] | None:
        """The place on the dimension's surface, once that is settled."""
        found = self.desk.spots(at)
        wanted = [spot for spot in found if not self._surface or spot[0] == self._surface]
        return wanted[0] if wanted else None

    def press(self, event: PointerEvent) -> ToolReply:
        if event.button != "left" or event.kind == "double":
            return self.show()
        self._move(event)
        if len(self._pen.points) == 2:
            return self._commit(self._aside_mm)
        return self._add(self._pen.at)

    def _add(self, point: Point) -> ToolReply:
        spots = self.desk.spots(point)
        if not spots:
            raise EditRefused("A dimension is drawn on a surface; here the sheet is empty.")
        if not self._pen.points:
            self._pen.add(point)
            return self.show()
        shared = [s for s, _ in spots if s in {first for first, _ in self.desk.spots(self._pen.points[0])}]
        if not shared:
            raise EditRefused("A dimension lies on one surface; over folds the measure tool tells the length.")
        self._surface = shared[0]
        if not self._pen.add(point):
            raise EditRefused("The two ends lie on each other.")
        self._aside_mm = 0.0
        return self.show()

    def move(self, event: PointerEvent) -> ToolReply:
        self._move(event)
        return self.show()

    def _move(self, event: PointerEvent) -> None:
        if len(self._pen.points) < 2:
            self._pen.move(event)
            return
        a, b = self._pen.points
        self._pen.mm_per_px = event.mm_per_pixel
        self._aside_mm = self.desk.stepped(side_of((a, b), event.sheet_mm) / hypot(b[0] - a[0], b[1] - a[1]))

    def key(self, event: KeyEvent) -> ToolReply | None:
        if len(self._pen.points) < 2 and self._pen.key(event.key):
            return self.show()
        match event.key:
            case "Return" if len(self._pen.points) == 2:
                return self._commit(self._aside_mm)
            case "Escape" | "Backspace" if self._pen.points:
                self._pen.back()
                self._surface = ""
                return self.show()
        return None

    def typed(self, text: str) -> ToolReply:
        if len(self._pen.points) == 2:
            aside = read_signed(self.desk, text)
            return self._commit(aside if self._aside_mm >= 0 else -aside)
        point = self._pen.typed(text, "free")
        return self.show() if point is None else self._add(point)

    def _commit(self, aside_mm: float) -> ToolReply:
        a, b = map(self.desk.place(self._surface).to_local, self._pen.points)
        reach = min(ATTACH_PX * self._pen.mm_per_px, distance_mm(a, b) / 2)
        plan, new = add_attached_dimension(self.desk.plan, self._surface, a, b, aside_mm, reach)
        self._pen.points, self._surface = (), ""
        return ToolReply(plan=plan, commit="Add dimension", select=(new,))
