"""Securing points: a click on a channel, or its distance from the channel's start typed."""

from app.tools import overlay
from app.tools.base import BaseTool
from app.tools.desk import Desk
from app.tools.events import PointerEvent, ToolReply
from app.tools.pen import read_lengths
from core.edits.channels import add_securing_point
from core.edits.network import channel_lines, tape_mm
from core.errors import EditRefused
from core.geometry.plane import length_mm, nearest_on, point_at
from core.model import Channel, Plan, Point

REACH_PX = 14.0
STEP_MM = 5.0


class SecuringPointTool(BaseTool):
    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._lines: dict[str, tuple[Point, ...]] = {}
        self._plan: Plan | None = None
        self._channel: Channel | None = None
        self._at_mm = 0.0
        self._k = 1.0

    @property
    def hint(self) -> str:
        return "Click on a channel where it is fixed, or point at it and type the distance from its start."

    def show(self) -> ToolReply:
        channel = self._channel
        if channel is None:
            return ToolReply(word="point at a channel")
        line = self._on_sheet()[channel.id]
        spot = point_at(line, self._drawn_mm(channel))
        start = f"{self.desk.show_mm(self._at_mm)} from the start"
        marks = (overlay.firm_line(line), overlay.handle(line[0], self._k), overlay.handle(spot, self._k))
        return ToolReply(overlay=marks, word=start, prompt="from the start")

    def press(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        if event.button != "left" or event.kind == "double":
            return self.show()
        if self._channel is None:
            raise EditRefused("A securing point sits on a channel: click on one.")
        return self._add(self._at_mm)

    def move(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        return self.show()

    def typed(self, text: str) -> ToolReply:
        if self._channel is None:
            raise EditRefused("Point at a channel first; then type the distance from its start.")
        return self._add(read_lengths(self.desk, text, 1, "a distance from the start of the channel")[0])

    def _add(self, at_mm: float) -> ToolReply:
        assert self._channel is not None
        plan, new = add_securing_point(self.desk.plan, self._channel.id, at_mm)
        return ToolReply(plan=plan, commit="Add securing point", select=(new,))

    def _look(self, event: PointerEvent) -> None:
        self._k = event.mm_per_pixel
        lines = self._on_sheet()
        near = [
            (found.distance_mm, channel, found.along_mm)
            for channel in self.desk.plan.channels
            if channel.id in lines
            and (found := nearest_on(lines[channel.id], event.sheet_mm)).distance_mm <= REACH_PX * self._k
        ]
        if not near:
            self._channel = None
            return
        _, self._channel, along = min(near, key=lambda each: each[0])
        tape = tape_mm(self._channel, lines[self._channel.id], along)
        whole = tape_mm(self._channel, lines[self._channel.id], length_mm(lines[self._channel.id]))
        stepped = tape if "alt" in event.modifiers else round(tape / STEP_MM) * STEP_MM
        self._at_mm = min(max(stepped, 0.0), whole)

    def _drawn_mm(self, channel: Channel) -> float:
        """Along the drawn line, where the length typed from the tape is another one."""
        line = self._on_sheet()[channel.id]
        drawn = length_mm(line)
        whole = tape_mm(channel, line, drawn)
        return self._at_mm * drawn / whole if whole > 0 else 0.0

    def _on_sheet(self) -> dict[str, tuple[Point, ...]]:
        """Channels as they lie on the sheet, kept while the plan is the same."""
        plan = self.desk.plan
        if self._plan is not plan:
            self._plan = plan
            surfaces = {channel.id: channel.surface for channel in plan.channels}
            self._lines = {
                channel: tuple(map(self.desk.place(surface).to_sheet, line))
                for channel, line in channel_lines(plan, self.desk.joints).items()
                if (surface := surfaces[channel]) is not None and surface in self.desk.layout.laid
            }
        return self._lines
