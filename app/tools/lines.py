"""Draw a line: rib, metal edge, channel, measure. Click point by point; Return, a double click or a click on the last
point ends it. Lengths and angles can be typed."""

from math import hypot

from app.tools import overlay
from app.tools.base import BaseTool
from app.tools.desk import Desk
from app.tools.events import KeyEvent, PointerEvent, ToolReply
from app.tools.pen import Pen
from core.edits.body import draw_metal_edge, draw_rib
from core.edits.channels import cut, draw_channel
from core.errors import EditRefused
from core.geometry.stroke import cut_stroke, true_length_mm
from core.model import Point
from core.pages.marks import AnyMark

#: Ends this near on the screen to a node or channel join it.
JOIN_PX = 9.0
RIB_WIDTH_MM = 60.0


class LineTool(BaseTool):
    """A stroke on the sheet; `ended` says what becomes of it."""

    label = ""
    #: A line of so many points ends by itself.
    most_points = 10_000

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._pen = Pen(desk)

    @property
    def hint(self) -> str:
        return (
            "Click point by point, or type length, Tab, angle. Return or a double click ends. L: hold the angle. "
            "D: distance from the edge pointed at."
        )

    def ended(self, points: tuple[Point, ...]) -> ToolReply:
        raise NotImplementedError

    def extra(self) -> tuple[tuple[AnyMark, ...], str]:
        """More marks, and a word that matters more than what the pointer snaps to."""
        return (), ""

    def show(self) -> ToolReply:
        marks, word = self.extra()
        prompt = self._pen.prompt("length ⇥ angle")
        return ToolReply(overlay=(*self._pen.marks("free", False), *marks), word=word or self._pen.word, prompt=prompt)

    def press(self, event: PointerEvent) -> ToolReply:
        if event.button != "left":
            return self.show()
        self._pen.move(event)
        if event.kind == "double":
            return self._end()
        last = self._pen.points[-1] if self._pen.points else None
        again = last is not None and hypot(last[0] - self._pen.at[0], last[1] - self._pen.at[1]) < 1.0
        if again and len(self._pen.points) >= 2:
            return self._end()
        self._pen.add()
        return self._end() if len(self._pen.points) >= self.most_points else self.show()

    def move(self, event: PointerEvent) -> ToolReply:
        self._pen.move(event)
        return self.show()

    def key(self, event: KeyEvent) -> ToolReply | None:
        if self._pen.key(event.key):
            return self.show()
        match event.key:
            case "Return" if self._pen.points:
                return self._end()
            case "Escape" if self._pen.points:
                self._pen.points = ()
                return self.show()
            case "Backspace" if self._pen.points:
                self._pen.back()
                return self.show()
            case _:
                return None

    def typed(self, text: str) -> ToolReply:
        point = self._pen.typed(text, "free")
        if point is None:
            return self.show()
        self._pen.at = point
        self._pen.add()
        return self._end() if len(self._pen.points) >= self.most_points else self.show()

    def _end(self) -> ToolReply:
        points = self._pen.points
        if len(points) < 2:
            raise EditRefused("A line needs two points that lie apart.")
        reply = self.ended(points)
        self._pen.points = ()
        return reply

    def _one_surface(self, points: tuple[Point, ...], what: str) -> tuple[str, tuple[Point, ...]]:
        middle = ((points[0][0] + points[1][0]) / 2, (points[0][1] + points[1][1]) / 2)
        found = self.desk.spot(middle)
        if found is None:
            self._pen.points = ()
            raise EditRefused(f"A {what} is drawn on a surface; here the sheet is empty.")
        place = self.desk.place(found[0])
        return found[0], tuple(place.to_local(point) for point in points)


class RibTool(LineTool):
    label = "Draw rib"
    most_points = 2

    def ended(self, points: tuple[Point, ...]) -> ToolReply:
        surface, line = self._one_surface(points, "rib")
        plan, new = draw_rib(self.desk.plan, surface, line, RIB_WIDTH_MM)
        return ToolReply(plan=plan, commit=self.label, select=(new,))


class MetalEdgeTool(LineTool):
    label = "Draw metal edge"

    def ended(self, points: tuple[Point, ...]) -> ToolReply:
        surface, line = self._one_surface(points, "metal edge")
        plan, new = draw_metal_edge(self.desk.plan, surface, line)
        return ToolReply(plan=plan, commit=self.label, select=(new,))


class ChannelTool(LineTool):
    """A channel across folds: cut there by itself, one channel a surface."""

    label = "Draw channel"

    def extra(self) -> tuple[tuple[AnyMark, ...], str]:
        if not self._pen.points:
            return (), ""
        pieces = cut(self.desk.plan, (*self._pen.points, self._pen.at))
        k = self._pen.mm_per_px
        marks: list[AnyMark] = []
        for piece in pieces.pieces:
            place = self.desk.place(piece.surface)
            marks.append(overlay.firm_line(tuple(map(place.to_sheet, piece.points))))
        folds = [(piece.surface, piece.points[0]) for piece in pieces.pieces[1:]]
        seams = [(meeting.surface, meeting.point) for meeting in pieces.goes_on]
        marks += [overlay.handle(self.desk.to_sheet(*spot), k) for spot in (*folds, *seams)]
        length = self.desk.show_mm(true_length_mm(pieces.pieces))
        word = pieces.message or (f"{self._pen.word}, {length}" if self._pen.word else length)
        return tuple(marks), word

    def ended(self, points: tuple[Point, ...]) -> ToolReply:
        join_mm = max(10.0, JOIN_PX * self._pen.mm_per_px)
        plan, new = draw_channel(self.desk.plan, points, join_mm=join_mm)
        return ToolReply(plan=plan, commit=self.label, select=new)


class MeasureTool(LineTool):
    """Lengths along the surfaces, over folds; nothing of it is kept."""

    @property
    def hint(self) -> str:
        return "Click from point to point: the tape's length along the surfaces, over folds. Escape starts again."

    def extra(self) -> tuple[tuple[AnyMark, ...], str]:
        if not self._pen.points:
            return (), self._pen.word
        way = (*self._pen.points, self._pen.at)
        pieces = cut_stroke(self.desk.joints, self.desk.layout, way)
        if pieces.message or not pieces.pieces:
            return (), f"{self.desk.show_mm(_length(way))} on the sheet"
        words = f"{self.desk.show_mm(true_length_mm(pieces.pieces))} along the surface"
        return (), words

    def ended(self, points: tuple[Point, ...]) -> ToolReply:
        marks = (overlay.line(points), *overlay.dimension(points[0], points[-1], "", self._pen.mm_per_px))
        return ToolReply(overlay=marks, word=f"{self.desk.show_mm(_length(points))} in all")


def _length(points: tuple[Point, ...]) -> float:
    return sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in zip(points, points[1:], strict=False))
