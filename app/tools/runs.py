"""Channels quickly: along a rib or an edge, a belt line at a height, risers and falls, measured channels."""

from dataclasses import dataclass

from app.tools import overlay
from app.tools.base import BaseTool
from app.tools.desk import Desk
from app.tools.events import KeyEvent, PointerEvent, ToolReply
from app.tools.pen import read_lengths
from core.edits.channels import add_measured_channel, end_node
from core.edits.lines import (
    BESIDE_MM,
    belt_line,
    belt_runs,
    draw_run,
    edge_line,
    rib_line,
)
from core.edits.network import nearest_node, node_on
from core.edits.risers import Run, fall_runs, rise_at, rise_or_fall, rise_runs
from core.errors import EditRefused
from core.geometry.edges import outline_of
from core.geometry.plane import length_mm, nearest_on, part
from core.model import Point, find
from core.pages.marks import AnyMark

REACH_PX = 16.0
DRAG_PX = 8.0
#: A belt line's height is rounded to this while it is pointed at.
STEP_MM = 10.0
#: Stretches shorter than this are a click, no drag.
SHORTEST_MM = 50.0


@dataclass(frozen=True)
class Guide:
    """What a channel can run along: a rib (`edge` "") or an edge of a surface, and where it lies there."""

    surface: str
    rib: str
    edge: str
    name: str
    line_mm: tuple[Point, ...]


class AlongTool(BaseTool):
    """A channel along a rib, pillar or edge: a click takes all of it, a drag the stretch that is dragged along."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._guide: Guide | None = None
        self._run: tuple[Point, ...] = ()
        self._why_not = ""
        self._inset_mm = BESIDE_MM
        self._far_side = False
        self._inside = False
        self._at: Point = (0.0, 0.0)
        self._from: Point | None = None
        self._pressed_px: Point = (0.0, 0.0)
        self._k = 1.0

    @property
    def hint(self) -> str:
        return (
            "Click a rib or an edge for a channel all along it, or drag along a stretch. Type the distance from the "
            "edge; Shift runs inside a hollow rib."
        )

    def show(self) -> ToolReply:
        guide = self._guide
        if guide is None:
            return ToolReply(word="point at a rib or an edge")
        if self._why_not:
            return ToolReply(word=self._why_not)
        run = self._stretch()
        line = tuple(self.desk.to_sheet(guide.surface, point) for point in run)
        how = "inside" if self._inside and guide.rib else "beside" if guide.rib else self.desk.show_mm(self._inset_mm)
        word = f"{guide.name}, {how}, {self.desk.show_mm(length_mm(run))}"
        marks = (overlay.firm_line(line), *(overlay.handle(end, self._k) for end in (line[0], line[-1])))
        return ToolReply(overlay=marks, word=word, prompt="" if guide.rib else "from the edge")

    def press(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        if event.button == "left" and event.kind == "press" and self._guide is not None:
            self._from, self._pressed_px = event.sheet_mm, event.pixel
        return self.show()

    def move(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        return self.show()

    def release(self, event: PointerEvent) -> ToolReply:
        if self._from is None:
            return self.show()
        self._look(event)
        guide, why_not, run = self._guide, self._why_not, self._stretch()
        self._from = None
        if guide is None:
            return self.show()
        if why_not:
            raise EditRefused(why_not)
        return self._drawn(guide, run)

    def key(self, event: KeyEvent) -> ToolReply | None:
        if event.key == "Escape" and self._from is not None:
            self._from = None
            return self.show()
        return None

    def typed(self, text: str) -> ToolReply:
        if self._guide is None or self._guide.rib:
            raise EditRefused("Point at an edge first; then type how far from it the channel lies.")
        self._inset_mm = read_lengths(self.desk, text, 1, "a distance from the edge")[0]
        run = edge_line(self.desk.plan, self._guide.surface, self._guide.edge, self._inset_mm)
        return self._drawn(self._guide, run)

    def _drawn(self, guide: Guide, run: tuple[Point, ...]) -> ToolReply:
        fields = {"kind": "void", "runs_inside": guide.rib} if guide.rib and self._inside else {}
        plan, new = draw_run(self.desk.plan, guide.surface, run, **fields)
        return ToolReply(plan=plan, commit=f"Draw channel along {guide.name}", select=new)

    def _stretch(self) -> tuple[Point, ...]:
        """The run, or the stretch of it that is dragged along."""
        if self._from is None or self._guide is None or not self._run:
            return self._run
        place = self.desk.place(self._guide.surface)
        a = nearest_on(self._run, place.to_local(self._from)).along_mm
        b = nearest_on(self._run, place.to_local(self._at)).along_mm
        return self._run if abs(b - a) < SHORTEST_MM else part(self._run, min(a, b), max(a, b))

    def _look(self, event: PointerEvent) -> None:
        self._k, self._at = event.mm_per_pixel, event.sheet_mm
        self._inside = "shift" in event.modifiers
        if self._from is None:
            self._guide = self._nearest(event)
        self._run, self._why_not = (), ""
        if self._guide is None:
            return
        guide, plan = self._guide, self.desk.plan
        try:
            if guide.rib:
                left = _left_of(guide.line_mm, self.desk.place(guide.surface).to_local(event.sheet_mm))
                self._run = rib_line(plan, guide.rib, self._inside, other_side=not left)
            else:
                self._run = edge_line(plan, guide.surface, guide.edge, self._inset_mm)
        except EditRefused as refusal:
            self._why_not = str(refusal)

    def _nearest(self, event: PointerEvent) -> Guide | None:
        best: tuple[float, Guide] | None = None
        for surface_id, local in self.desk.spots(event.sheet_mm):
            for guide in self._guides(surface_id):
                far = nearest_on(guide.line_mm, local).distance_mm
                width = REACH_PX * self._k if not guide.rib else max(REACH_PX * self._k, self._reach_of(guide.rib))
                if far <= width and (best is None or far < best[0]):
                    best = far, guide
        return best[1] if best is not None else None

    def _reach_of(self, rib: str) -> float:
        return float(find(self.desk.plan, "ribs", rib).width_mm) / 2 + BESIDE_MM

    def _guides(self, surface_id: str) -> list[Guide]:
        surface = self.desk.surface(surface_id)
        outline = outline_of(surface)
        found = [
            Guide(surface_id, rib.id, "", rib.name or f"rib {rib.id}", rib.line_mm)
            for rib in self.desk.plan.ribs
            if rib.surface == surface_id
        ]
        ends = zip(surface.corners, outline, (*outline[1:], outline[0]), strict=True)
        name = f"edge of {surface.name}"
        return [*found, *(Guide(surface_id, "", corner.id, name, (a, b)) for corner, a, b in ends)]


def _left_of(line: tuple[Point, ...], p: Point) -> bool:
    """Whether a point lies on the left of a line as it is drawn."""
    (ax, ay), (bx, by) = line[0], line[-1]
    return (bx - ax) * (p[1] - ay) - (by - ay) * (p[0] - ax) >= 0


class BeltTool(BaseTool):
    """A belt line at a height above the floor: over all walls, or with Shift over the one that is pointed at."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._surface = ""
        self._height_mm = 0.0
        self._only = False
        self._at: Point = (0.0, 0.0)
        self._k = 1.0

    @property
    def hint(self) -> str:
        return "Click at a height for a channel round all walls there, or type the height. Shift keeps to one wall."

    def show(self) -> ToolReply:
        if not self._surface:
            return ToolReply(word="point at a wall", prompt="height above the floor")
        try:
            runs = belt_runs(self.desk.plan, self._height_mm, self._chosen())
        except EditRefused as refusal:
            return ToolReply(word=str(refusal), prompt="height above the floor")
        marks: list[AnyMark] = []
        total = 0.0
        for surface, run in runs:
            line = tuple(self.desk.to_sheet(surface.id, point) for point in run)
            marks.append(overlay.firm_line(line))
            total += length_mm(run)
        told = f"{self.desk.show_mm(self._height_mm)} above the floor, {self.desk.show_mm(round(total))} in all"
        return ToolReply(overlay=tuple(marks), word=told, prompt="height above the floor")

    def press(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        if event.button != "left" or event.kind == "double":
            return self.show()
        if not self._surface:
            raise EditRefused("A belt line runs over walls: click on one, at the height of the line.")
        return self._drawn()

    def move(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        return self.show()

    def typed(self, text: str) -> ToolReply:
        self._height_mm = read_lengths(self.desk, text, 1, "a height above the floor")[0]
        return self._drawn()

    def _drawn(self) -> ToolReply:
        plan, new = belt_line(self.desk.plan, self._height_mm, self._chosen())
        height = self.desk.show_mm(self._height_mm)
        return ToolReply(plan=plan, commit=f"Draw belt line at {height}", select=new, word=f"belt line at {height}")

    def _chosen(self) -> tuple[str, ...] | None:
        return (self._surface,) if self._only and self._surface else None

    def _look(self, event: PointerEvent) -> None:
        self._k, self._at = event.mm_per_pixel, event.sheet_mm
        self._only = "shift" in event.modifiers
        spot = next(
            (s for s in self.desk.spots(event.sheet_mm) if self.desk.surface(s[0]).role in ("wall", "end")), None
        )
        self._surface = ""
        if spot is not None and spot[0] in self.desk.layout.laid:
            height = self.desk.layout.pose(spot[0]).to_vehicle(spot[1])[2]
            step = 1.0 if "alt" in event.modifiers else STEP_MM
            self._surface, self._height_mm = spot[0], round(height / step) * step


class RiserTool(BaseTool):
    """A riser or fall: from a device to the nearest channel above or below it, or through any point of a wall."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._device = ""
        self._spot: tuple[str, Point] | None = None
        self._k = 1.0

    @property
    def hint(self) -> str:
        return "Click a device for a fall to the channel above or below it, or a wall for a riser between channels."

    def show(self) -> ToolReply:
        if self._spot is None:
            return ToolReply(word="point at a device or a wall")
        try:
            runs = self._runs()
        except EditRefused as refusal:
            return ToolReply(word=str(refusal))
        lines = [tuple(self.desk.to_sheet(run.surface, point) for point in run.line) for run in runs]
        ends = (lines[0][0], *(line[-1] for line in lines))
        marks = (*map(overlay.firm_line, lines), *(overlay.handle(end, self._k) for end in ends))
        surface = self.desk.surface(self._spot[0])
        name = find(self.desk.plan, "devices", self._device).name if self._device else surface.name
        size_mm = sum(length_mm(run.line) for run in runs)
        return ToolReply(overlay=marks, word=f"{name}, {self.desk.show_mm(size_mm)}",
                         prompt="" if self._device else "from the side")  # fmt: skip

    def press(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        if event.button != "left" or event.kind == "double":
            return self.show()
        if self._spot is None:
            raise EditRefused("A riser lies on a surface; here the sheet is empty.")
        if self._device:
            name = find(self.desk.plan, "devices", self._device).name
            plan, new = rise_or_fall(self.desk.plan, self._device)
            return ToolReply(plan=plan, commit=f"Draw fall of {name}", select=new)
        return self._drawn(*self._spot)

    def move(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        return self.show()

    def typed(self, text: str) -> ToolReply:
        if self._spot is None:
            raise EditRefused("Point at the wall first; then type the distance from its nearer side.")
        (side,) = read_lengths(self.desk, text, 1, "a distance from the nearer side")
        surface, (x, y) = self._spot
        xs = [point[0] for point in outline_of(self.desk.surface(surface))]
        x = max(xs) - side if max(xs) - x < x - min(xs) else min(xs) + side
        return self._drawn(surface, (x, y))

    def _drawn(self, surface: str, point: Point) -> ToolReply:
        plan, new = rise_at(self.desk.plan, surface, point)
        return ToolReply(plan=plan, commit="Draw riser", select=new)

    def _runs(self) -> tuple[Run, ...]:
        assert self._spot is not None
        if self._device:
            return fall_runs(self.desk.plan, self._device)
        return rise_runs(self.desk.plan, *self._spot)

    def _look(self, event: PointerEvent) -> None:
        self._k = event.mm_per_pixel
        devices = {device.id for device in self.desk.plan.devices}
        self._device = next((item for item in event.item_ids if item in devices), "")
        at = event.sheet_mm if self._device else self.desk.snapped(event)[0]
        self._spot = self.desk.spot(at)


class MeasuredTool(BaseTool):
    """A measured channel: two ends that are clicked, and the tape's length typed; how it runs between is not drawn."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._ends: tuple[tuple[str, Point], ...] = ()
        self._at: Point = (0.0, 0.0)
        self._spot: tuple[str, Point] | None = None
        self._word = ""
        self._k = 1.0

    @property
    def hint(self) -> str:
        return (
            "Click both ends of a way you cannot draw (through a void, inside a cabinet), then type its length by the "
            "tape."
        )

    def show(self) -> ToolReply:
        points = [self.desk.to_sheet(*end) for end in self._ends]
        marks: list[AnyMark] = [overlay.handle(point, self._k) for point in points]
        if len(points) == 2:
            marks += [overlay.line((points[0], points[1]))]
            return ToolReply(overlay=tuple(marks), word="type its length by the tape", prompt="length by the tape")
        if points:
            marks.append(overlay.line((points[0], self._at)))
        marks.append(overlay.handle(self._at, self._k))
        word = self._word or ("click the other end" if points else "click one end")
        return ToolReply(overlay=tuple(marks), word=word)

    def press(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        if event.button != "left" or event.kind == "double" or len(self._ends) == 2:
            return self.show()
        if self._spot is None:
            raise EditRefused("An end lies on a surface; here the sheet is empty.")
        if self._ends and self._ends[0] == self._spot:
            raise EditRefused("A channel needs two different ends.")
        self._ends = (*self._ends, self._spot)
        return self.show()

    def move(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        return self.show()

    def key(self, event: KeyEvent) -> ToolReply | None:
        if event.key in ("Escape", "Backspace") and self._ends:
            self._ends = self._ends[:-1] if event.key == "Backspace" else ()
            return self.show()
        return None

    def typed(self, text: str) -> ToolReply:
        if len(self._ends) < 2:
            raise EditRefused("Click both ends first; then type the length.")
        (size,) = read_lengths(self.desk, text, 1, "a length")
        plan = self.desk.plan
        nodes = []
        for surface, point in self._ends:
            plan, node = end_node(plan, surface, point)
            nodes.append(node)
        plan, new = add_measured_channel(plan, nodes[0], nodes[1], size)
        self._ends = ()
        return ToolReply(plan=plan, commit="Add measured channel", select=(new,), word=self.desk.show_mm(size))

    def _look(self, event: PointerEvent) -> None:
        """Nodes first: an end that is meant to join one must not lie beside it."""
        self._k = event.mm_per_pixel
        self._at, self._word = self.desk.snapped(event)
        self._spot = self.desk.spot(self._at)
        spot = self.desk.spot(event.sheet_mm)
        if spot is None:
            return
        node = nearest_node(self.desk.plan, self.desk.joints, *spot, 12.0 * self._k)
        if node is not None:
            at = node_on(self.desk.plan, self.desk.joints, find(self.desk.plan, "nodes", node), spot[0], spot[1])
            if at is not None:
                self._spot, self._word = (spot[0], at), "node"
                self._at = self.desk.to_sheet(spot[0], at)
