"""Trim and extend lines to edges; split lines, channels and surfaces."""

from dataclasses import dataclass

from app.tools import overlay
from app.tools.base import BaseTool
from app.tools.desk import Desk
from app.tools.events import PointerEvent, ToolReply
from app.tools.lines import LineTool
from app.tools.moving import collection_of
from app.tools.pen import read_lengths
from core.edits.change import find_any, title
from core.edits.network import channel_line, split_channel, tape_mm
from core.edits.reshaping import extend, split_line, trim
from core.edits.splitting import split_surface
from core.errors import EditRefused
from core.geometry.plane import length_mm, nearest_on, point_at
from core.model import Plan, Point

LINED = frozenset({"ribs", "metal_edges"})
#: Places by the pointer are whole multiples of this from the start.
STEP_MM = 5.0


@dataclass(frozen=True)
class OnLine:
    """A line under the pointer, in mm of its surface, and the place on it that is meant."""

    record: str
    surface: str
    points: tuple[Point, ...]
    at_mm: float
    point: Point


class _OnLineTool(BaseTool):
    """Points at a line of some collections."""

    collections: frozenset[str] = LINED

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._line: OnLine | None = None
        self._shift = False
        self._k = 1.0

    def move(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        return self.show()

    def _look(self, event: PointerEvent) -> None:
        self._k, self._shift = event.mm_per_pixel, "shift" in event.modifiers
        self._line = None
        for each in event.item_ids:
            if collection_of(self.desk.plan, each) in self.collections:
                self._line = self._on(each, event)
                return

    def _on(self, record_id: str, event: PointerEvent) -> OnLine | None:
        collection, record = find_any(self.desk.plan, record_id)
        points = channel_line(self.desk.plan, self.desk.joints, record) if collection == "channels" else record.line_mm
        if points is None or record.surface not in self.desk.layout.laid:
            return None
        near = nearest_on(points, self.desk.place(record.surface).to_local(event.sheet_mm))
        at = near.along_mm if not self.desk.snaps(event) else round(near.along_mm / STEP_MM) * STEP_MM
        return OnLine(record_id, record.surface, tuple(points), at, point_at(points, at))

    def _on_sheet(self, line: OnLine) -> tuple[Point, ...]:
        return tuple(map(self.desk.place(line.surface).to_sheet, line.points))

    def _title(self, line: OnLine) -> str:
        return title(*find_any(self.desk.plan, line.record))


class TrimTool(_OnLineTool):
    """Click the stretch that goes; with Shift held the line is extended at its nearer end instead."""

    @property
    def hint(self) -> str:
        return "Click the stretch of a line that goes, up to the edges it crosses. Shift: extend its end to an edge."

    def show(self) -> ToolReply:
        line = self._line
        if line is None:
            return ToolReply(word="point at a rib or metal edge")
        marks = (overlay.firm_line(self._on_sheet(line)),)
        try:
            plan = self._cut(line)
        except EditRefused as refusal:
            return ToolReply(overlay=marks, word=str(refusal))
        return ToolReply(plan=plan, word=f"{'extend' if self._shift else 'trim'} {self._title(line)}")

    def press(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        if event.button != "left" or event.kind == "double":
            return self.show()
        line = self._line
        if line is None:
            raise EditRefused("Only ribs and metal edges are trimmed and extended: click on one.")
        plan, word = self._cut(line), "Extend" if self._shift else "Trim"
        self._line = None
        return ToolReply(plan=plan, commit=f"{word} {self._title(line)}")

    def _cut(self, line: OnLine) -> Plan:
        if self._shift:
            return extend(self.desk.plan, line.record, int(line.at_mm > length_mm(line.points) / 2))
        return trim(self.desk.plan, line.record, line.point)


class SplitTool(_OnLineTool):
    """Click where a line or channel is split, or type the distance from its start."""

    collections = LINED | {"channels"}

    @property
    def hint(self) -> str:
        return "Click where a rib, metal edge or channel is to be split, or type the distance from its start."

    def show(self) -> ToolReply:
        line = self._line
        if line is None:
            return ToolReply(word="point at a line or channel")
        place = self.desk.place(line.surface)
        start = place.to_sheet(line.points[0])
        marks = (
            overlay.firm_line(self._on_sheet(line)),
            overlay.handle(start, self._k),
            *overlay.snap_mark(place.to_sheet(line.point), "split", self._k),
        )
        word = f"{self.desk.show_mm(self._tape_mm(line))} from the start"
        return ToolReply(overlay=marks, word=word, prompt="from the start")

    def press(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        if event.button != "left" or event.kind == "double":
            return self.show()
        if self._line is None:
            raise EditRefused("Only ribs, metal edges and channels are split: click on one.")
        return self._split(self._line, self._tape_mm(self._line))

    def typed(self, text: str) -> ToolReply:
        if self._line is None:
            raise EditRefused("Point at a line or channel first; then type the distance from its start.")
        return self._split(self._line, read_lengths(self.desk, text, 1, "one distance from the start")[0])

    def _tape_mm(self, line: OnLine) -> float:
        """Millimetres of a channel are those of the tape, where its length was typed."""
        collection, record = find_any(self.desk.plan, line.record)
        return tape_mm(record, line.points, line.at_mm) if collection == "channels" else line.at_mm

    def _split(self, line: OnLine, at_mm: float) -> ToolReply:
        label = f"Split {self._title(line)}"
        if collection_of(self.desk.plan, line.record) == "channels":
            plan, _, second = split_channel(self.desk.plan, line.record, at_mm)
        else:
            plan, second = split_line(self.desk.plan, line.record, at_mm)
        self._line = None
        return ToolReply(plan=plan, commit=label, select=(line.record, second))


class SplitSurfaceTool(LineTool):
    """A straight line from edge to edge cuts a surface in two; nothing moves."""

    label = "Split surface"
    most_points = 2

    @property
    def hint(self) -> str:
        return "Click two points of the line that cuts a surface from edge to edge; L holds it level or upright."

    def ended(self, points: tuple[Point, ...]) -> ToolReply:
        surface, line = self._one_surface(points, "line to split along")
        plan, new = split_surface(self.desk.plan, surface, (line[0], line[1]))
        return ToolReply(plan=plan, commit=self.label, select=(surface, new))
