"""Draw a line: rib, metal edge, channel. Click point by point; Return, a double click or a click on the last
point ends it. Lengths and angles can be typed."""

from dataclasses import replace
from math import dist, hypot

from app.tools import overlay
from app.tools.base import BaseTool
from app.tools.desk import Desk
from app.tools.events import KeyEvent, PointerEvent, ToolReply
from app.tools.pen import Pen
from core.edits.body import draw_metal_edge, draw_rib
from core.edits.channels import cut, draw_channel
from core.errors import EditRefused
from core.geometry.joints import may_pass
from core.geometry.stroke import StrokePieces, true_length_mm
from core.model import Point
from core.pages.marks import AnyMark

#: Ends this near on the screen to a node or channel join it.
JOIN_PX = 9.0
RIB_WIDTH_MM = 60.0
#: A click this near to the place where a stroke goes on beyond its seam goes on there.
JUMP_PX = 12.0
#: Places nearer than this on the sheet lie side by side at a fold: the line simply goes on.
BESIDE_MM = 0.5


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
        if self._pen.from_edges.prompt:
            return f"Type the distance {self._pen.from_edges.prompt}."
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
    """A channel across folds: cut there by itself, one channel a surface. At a seam it stops and the place where it
    goes on blinks: J goes on drawing there (again J at the next one, where there are several), and so does a click on
    it."""

    label = "Draw channel"

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        #: Where the stroke up to the pointer can go on elsewhere on the sheet: surface and place.
        self._onward: tuple[tuple[str, Point], ...] = ()
        #: The same of the stroke up to its last point, for a click there.
        self._left_at: tuple[tuple[str, Point], ...] = ()
        self._left_of: tuple[Point, ...] = ()
        #: The places of the seam that was jumped over last, the next one first.
        self._choices: tuple[tuple[str, Point], ...] = ()
        self._strokes = 0
        self._joined = False

    @property
    def hint(self) -> str:
        if self._onward:
            return f"It meets a seam: J goes on at {self._onward_names}. Return ends it here."
        return super().hint

    @property
    def _onward_names(self) -> str:
        return " or ".join(self.desk.surface(surface).name for surface, _ in self._onward[:2])

    def extra(self) -> tuple[tuple[AnyMark, ...], str]:
        self._onward = ()
        if not self._pen.points:
            return (), ""
        pointed = self._pointed_at()
        if pointed is not None:
            there = self.desk.to_sheet(*pointed)
            ring = overlay.snap_mark(there, "on", self._pen.mm_per_px)
            return ring, f"click to go on at {self.desk.surface(pointed[0]).name}"
        pieces = cut(self.desk.plan, (*self._pen.points, self._pen.at))
        k = self._pen.mm_per_px
        marks: list[AnyMark] = []
        for piece in pieces.pieces:
            place = self.desk.place(piece.surface)
            marks.append(overlay.firm_line(tuple(map(place.to_sheet, piece.points))))
        folds = [(piece.surface, piece.points[0]) for piece in pieces.pieces[1:]]
        if pieces.pieces:
            self._onward = self._elsewhere(pieces)
        marks += [overlay.handle(self.desk.to_sheet(*spot), k) for spot in (*folds, *self._onward)]
        length = self.desk.show_mm(true_length_mm(pieces.pieces))
        word = pieces.message or (f"{self._pen.word}, {length}" if self._pen.word else length)
        if self._onward:
            word = f"{word}\nJ goes on at {self._onward_names}"
        return tuple(marks), word

    def _pointed_at(self) -> tuple[str, Point] | None:
        """The place beyond the seam at which the stroke ended, where the pointer is on it."""
        points = self._pen.points
        if points != self._left_of:
            pieces = cut(self.desk.plan, points) if len(points) > 1 else None
            self._left_of = points
            self._left_at = self._elsewhere(pieces) if pieces is not None and pieces.pieces else ()
        reach = JUMP_PX * self._pen.mm_per_px
        return next((spot for spot in self._left_at if dist(self.desk.to_sheet(*spot), self._pen.at) <= reach), None)

    def press(self, event: PointerEvent) -> ToolReply:
        if event.button == "left" and event.kind == "press":
            self._pen.move(event)
            pointed = self._pointed_at()
            if pointed is not None:
                return self._jump((pointed,), self._pen.points)
        return super().press(event)

    def _elsewhere(self, pieces: StrokePieces) -> tuple[tuple[str, Point], ...]:
        """The places of the end of a stroke that lie elsewhere on the sheet, over seams."""
        last = pieces.pieces[-1]
        end = self.desk.to_sheet(last.surface, last.points[-1])
        found: list[tuple[str, Point]] = []
        for meeting in pieces.goes_on:
            if may_pass(meeting) and meeting.surface in self.desk.layout.laid:
                there = self.desk.to_sheet(meeting.surface, meeting.point)
                if hypot(there[0] - end[0], there[1] - end[1]) > BESIDE_MM:
                    found.append((meeting.surface, meeting.point))
        return tuple(found)

    def show(self) -> ToolReply:
        reply = super().show()
        return replace(reply, flash=tuple(self.desk.to_sheet(*spot) for spot in self._onward))

    def key(self, event: KeyEvent) -> ToolReply | None:
        if event.key == "J" and self._onward:
            ends_here = dist(self._pen.points[-1], self._pen.at) <= 1.0
            return self._jump(self._onward, self._pen.points if ends_here else (*self._pen.points, self._pen.at))
        if event.key == "J" and self._choices and len(self._pen.points) == 1:
            return self._begin_at(self._choices)
        reply = super().key(event)
        if not self._pen.points:
            self._joined, self._choices = False, ()
        return reply

    def _jump(self, places: tuple[tuple[str, Point], ...], stroke: tuple[Point, ...]) -> ToolReply:
        """Draw the channel as far as the seam, and begin the next piece where it goes on."""
        drawn = self.ended(stroke)
        self._joined = True
        begun = self._begin_at(places)
        return replace(begun, plan=drawn.plan, commit=drawn.commit, select=drawn.select, key=drawn.key)

    def _begin_at(self, places: tuple[tuple[str, Point], ...]) -> ToolReply:
        """Begin at the first of these places; J then tries the next."""
        there = self.desk.to_sheet(*places[0])
        self._pen.points, self._pen.at, self._onward = (there,), there, ()
        self._choices = (*places[1:], places[0]) if len(places) > 1 else ()
        word = f"on at {self.desk.surface(places[0][0]).name}" + (", J: the next place" if self._choices else "")
        return ToolReply(look_at=there, flash=(there,), word=word, prompt=self._pen.prompt("length ⇥ angle"))

    def ended(self, points: tuple[Point, ...]) -> ToolReply:
        join_mm = max(10.0, JOIN_PX * self._pen.mm_per_px)
        plan, new = draw_channel(self.desk.plan, points, join_mm=join_mm)
        if not self._joined:
            self._strokes += 1
        self._joined = False
        # What goes on over a seam is one step of undo.
        return ToolReply(plan=plan, commit=self.label, select=new, key=f"channel {id(self)} {self._strokes}")
