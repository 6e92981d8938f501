"""Set what is selected to a distance from an edge; offset lines and outlines."""

from app.tools import overlay
from app.tools.desk import Desk
from app.tools.events import KeyEvent, PointerEvent, ToolReply
from app.tools.ground import Named
from app.tools.moving import named
from app.tools.on_selection import OnSelectionTool
from app.tools.pen import read_lengths, read_signed
from core.edits.change import find_any
from core.edits.reshaping import LINED, offset, set_distance, shape_of
from core.edits.transform import OUTLINED, POINTED
from core.errors import EditRefused
from core.geometry.from_edge import distance_from
from core.geometry.plane import nearest_on, side_of
from core.geometry.polygon import point_in, ring
from core.model import Plan, Point


class FromEdgeTool(OnSelectionTool):
    """Click an edge, type how far from it the selection is to lie: its nearest point counts."""

    done_word = "placed"
    accepts = OUTLINED | frozenset(LINED) | (POINTED - {"pictures"})

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._edge: Named | None = None
        self._picked = False
        self._k = 1.0

    @property
    def hint(self) -> str:
        if not self.chosen():
            return "Click what is to be placed."
        if not self._picked:
            return "Click the edge to measure from, or point at it and type the distance."
        return "Type how far the nearest point of the selection is to lie from the edge."

    def show(self) -> ToolReply:
        if not self.chosen():
            return self.asking()
        edge = self._edge
        if edge is None:
            return ToolReply(word="point at an edge")
        now = self._now_mm(edge)
        word = f"{self.desk.show_mm(now)} from {edge.thing} now"
        return ToolReply(overlay=(overlay.firm_line(edge.line),), word=word, prompt=f"from {edge.thing}")

    def _now_mm(self, edge: Named) -> float:
        points: list[Point] = []
        for each in self.chosen():
            collection, record = find_any(self.desk.plan, each)
            points += [self.desk.to_sheet(record.surface, point) for point in shape_of(collection, record)]
        away = [distance_from(edge.line, point) for point in points]
        # On which side most of it lies, as the edit takes it.
        return min(away) if max(away) >= -min(away) else -max(away)

    def press(self, event: PointerEvent) -> ToolReply:
        if event.button != "left" or event.kind == "double":
            return self.show()
        if not self.chosen():
            return self.pick(event)
        self._look(event, again=True)
        if self._edge is None:
            raise EditRefused("A distance is measured from an edge or line: click near one.")
        self._picked = True
        return self.show()

    def move(self, event: PointerEvent) -> ToolReply:
        self._look(event, again=not self._picked)
        return self.show()

    def _look(self, event: PointerEvent, again: bool) -> None:
        self._k = event.mm_per_pixel
        if again:
            self._edge = self.desk.edge_near(event)

    def key(self, event: KeyEvent) -> ToolReply | None:
        if event.key == "Escape" and self._picked:
            self._picked, self._edge = False, None
            return self.show()
        return None

    def typed(self, text: str) -> ToolReply:
        chosen, edge = self.chosen(), self._edge
        if not chosen or edge is None:
            raise EditRefused("Point at the edge to measure from; then type the distance.")
        (away,) = read_lengths(self.desk, text, 1, f"one distance from {edge.thing}")
        plan = set_distance(self.desk.plan, chosen, edge.line, away)
        self._picked, self._edge = False, None
        return ToolReply(plan=plan, commit=f"Set {named(self.desk.plan, chosen)} {self.desk.show_mm(away)} from edge")


class OffsetTool(OnSelectionTool):
    """A copy beside a line, or round (or inside) an outline, at the pointer's distance or a typed one."""

    done_word = "offset"
    accepts = (OUTLINED - {"moving_parts"}) | frozenset(LINED)

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._by_mm = 0.0

    @property
    def hint(self) -> str:
        if not self.chosen():
            return "Click the line or outline to be offset."
        return "Move to the side and click, or type the distance; negative goes to the other side."

    def show(self) -> ToolReply:
        if not self.chosen():
            return self.asking()
        if abs(self._by_mm) < 1.0:
            return ToolReply(word="move to the side", prompt="distance")
        words = f"{self.desk.show_mm(abs(self._by_mm))} beside"
        return self.proposed(lambda: self._made(self._by_mm)[0], (), words, "distance")

    def press(self, event: PointerEvent) -> ToolReply:
        if event.button != "left" or event.kind == "double":
            return self.show()
        if not self.chosen():
            return self.pick(event)
        self._look(event)
        if abs(self._by_mm) < 1.0:
            return self.show()
        return self._commit(self._by_mm)

    def move(self, event: PointerEvent) -> ToolReply:
        if self.chosen():
            self._look(event)
        return self.show()

    def _look(self, event: PointerEvent) -> None:
        """The distance of the pointer from the first thing selected: outside and to the left are positive."""
        collection, record = find_any(self.desk.plan, self.chosen()[0])
        at = self.desk.place(record.surface).to_local(event.sheet_mm)
        points = shape_of(collection, record)
        if collection in LINED:
            near = nearest_on(points, at)
            sign = 1.0 if side_of((points[0], points[-1]), at) >= 0 else -1.0
        else:
            near = nearest_on(ring(points), at)
            sign = -1.0 if point_in(points, at) else 1.0
        away = near.distance_mm if not self.desk.snaps(event) else self.desk.stepped(near.distance_mm)
        self._by_mm = sign * away

    def typed(self, text: str) -> ToolReply:
        if not self.chosen():
            raise EditRefused("Click the line or outline to be offset first.")
        away = read_signed(self.desk, text)
        if abs(away) < 1e-6:
            raise EditRefused("An offset of 0 mm would lie on the line itself.")
        # The pointer's side is the one meant.
        return self._commit(away if self._by_mm >= 0 else -away)

    def _commit(self, by_mm: float) -> ToolReply:
        label = f"Offset {named(self.desk.plan, self.chosen())}"
        plan, new = self._made(by_mm)
        return ToolReply(plan=plan, commit=label, select=new, done=True)

    def _made(self, by_mm: float) -> tuple[Plan, tuple[str, ...]]:
        plan, new = self.desk.plan, list[str]()
        for each in self.chosen():
            plan, fresh = offset(plan, each, by_mm)
            new.append(fresh)
        return plan, tuple(new)
