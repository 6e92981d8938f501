"""Place a device of the library: by the pointer, or by its distances from the edges it is nearest to."""

from dataclasses import dataclass
from math import cos, radians, sin

from app.tools import overlay
from app.tools.base import BaseTool
from app.tools.desk import Desk
from app.tools.events import KeyEvent, PointerEvent, ToolReply
from app.tools.from_edges import FromEdges
from app.tools.pen import read_lengths
from core.edits.devices import place_device, turn_device
from core.errors import EditRefused
from core.files.library import DeviceTemplate
from core.geometry.edges import outline_of
from core.model import Outline, Point


@dataclass(frozen=True)
class Distances:
    """From the upright and the level side of a surface's extent that a point is nearest to, in local mm."""

    side_mm: float
    level_mm: float
    right: bool
    top: bool
    low_left: Point
    high_right: Point

    def point(self, side_mm: float, level_mm: float) -> Point:
        x = self.high_right[0] - side_mm if self.right else self.low_left[0] + side_mm
        y = self.high_right[1] - level_mm if self.top else self.low_left[1] + level_mm
        return x, y


def distances(outline: Outline, at: Point) -> Distances:
    xs, ys = [x for x, _ in outline], [y for _, y in outline]
    left, right, low, high = min(xs), max(xs), min(ys), max(ys)
    from_right, from_top = right - at[0] < at[0] - left, high - at[1] < at[1] - low
    return Distances(
        right - at[0] if from_right else at[0] - left,
        high - at[1] if from_top else at[1] - low,
        from_right,
        from_top,
        (left, low),
        (right, high),
    )


class PlaceDeviceTool(BaseTool):
    """Click to place; Shift keeps the tool for the next one; T turns by a quarter."""

    def __init__(self, desk: Desk, template: DeviceTemplate) -> None:
        super().__init__(desk)
        self.template = template
        self._at: Point | None = None
        self._word = ""
        self._turn_deg = 0.0
        self._k = 1.0
        self._event: PointerEvent | None = None
        self._from_edges = FromEdges()

    @property
    def hint(self) -> str:
        return (
            f"Click where the {self.template.name.lower()} goes, or type how far from the side, Tab, floor or top. "
            "D: from the edge pointed at. T: turn. Shift: several."
        )

    def show(self) -> ToolReply:
        spot = None if self._at is None else self.desk.spot(self._at)
        if spot is None:
            return ToolReply(word="point at a surface")
        surface, local = spot
        place = self.desk.place(surface)
        far = distances(outline_of(self.desk.surface(surface)), local)
        side = place.to_sheet((far.high_right[0] if far.right else far.low_left[0], local[1]))
        level = place.to_sheet((local[0], far.high_right[1] if far.top else far.low_left[1]))
        here = place.to_sheet(local)
        footprint = tuple(place.to_sheet(corner) for corner in self._footprint(local))
        marks = (
            *overlay.measured(side, here, self.desk.show_mm(far.side_mm), self._k),
            *overlay.measured(level, here, self.desk.show_mm(far.level_mm), self._k),
            overlay.area(footprint),
            overlay.handle(here, self._k),
        )
        name = self.desk.surface(surface).name
        if self._from_edges:
            # The distances that were asked for stand in place of those to the nearest sides.
            marks = (*marks[-2:], *self._from_edges.marks(here, self._k, self.desk.show_mm))
        prompt = self._from_edges.prompt or "from the side ⇥ from the edge"
        return ToolReply(overlay=marks, word=self._word or name, prompt=prompt)

    def press(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        if event.button != "left" or event.kind == "double":
            return self.show()
        spot = None if self._at is None else self.desk.spot(self._at)
        if spot is None:
            raise EditRefused("A device is placed on a surface; here the sheet is empty.")
        return self._placed(*spot, several="shift" in event.modifiers)

    def move(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        return self.show()

    def key(self, event: KeyEvent) -> ToolReply | None:
        if event.key == "T":
            self._turn_deg = (self._turn_deg + 90.0) % 360.0
            return self.show()
        if event.key == "D":
            self._from_edges = self._from_edges.ask(None if self._event is None else self.desk.edge_near(self._event))
            return self.show()
        if event.key == "Escape" and self._from_edges:
            self._from_edges = FromEdges()
            self._look(self._event)
            return self.show()
        return None

    def typed(self, text: str) -> ToolReply:
        asked = self._from_edges.asked
        if asked is not None and self._event is not None:
            (away,) = read_lengths(self.desk, text, 1, f"the distance from {asked.thing}")
            now = self._from_edges.told(away)
            at = now.settled(self._event.sheet_mm)
            if at is None:
                self._from_edges = now
                self._look(self._event)
                return self.show()
            surface, local = self._surface_at(at)
            return self._placed(surface, local, several=False)
        spot = None if self._at is None else self.desk.spot(self._at)
        if spot is None:
            raise EditRefused("Point at the surface first; then type the distances from its edges.")
        surface, local = spot
        told = read_lengths(self.desk, text, 2, "two distances with Tab between")
        far = distances(outline_of(self.desk.surface(surface)), local)
        level = told[1] if len(told) == 2 else far.level_mm
        return self._placed(surface, far.point(told[0], level), several=False)

    def _surface_at(self, at: Point) -> tuple[str, Point]:
        spot = self.desk.spot(at)
        if spot is None:
            raise EditRefused("That place lies beside all surfaces.")
        return spot

    def _placed(self, surface: str, local: Point, several: bool) -> ToolReply:
        plan, new = place_device(self.desk.plan, self.template, surface, local)
        if self._turn_deg:
            plan = turn_device(plan, new, self._turn_deg)
        self._from_edges = FromEdges()
        name = next(device.name for device in plan.devices if device.id == new)
        return ToolReply(plan=plan, commit=f"Place {name}", select=(new,), done=not several)

    def _look(self, event: PointerEvent | None) -> None:
        if event is None:
            return
        self._event, self._k = event, event.mm_per_pixel
        self._at, self._word = self.desk.snapped(event)
        if self._from_edges.held:
            self._at, self._word = self._from_edges.led(self._at), self._from_edges.words(self.desk.show_mm)

    def _footprint(self, at: Point) -> tuple[Point, ...]:
        c, s = cos(radians(self._turn_deg)), sin(radians(self._turn_deg))
        w, h = self.template.width_mm / 2, self.template.height_mm / 2
        corners = ((-w, -h), (w, -h), (w, h), (-w, h))
        return tuple((at[0] + c * x - s * y, at[1] + s * x + c * y) for x, y in corners)
