"""Two things picked one after the other: join them, sew two edges, choose what a surface is drawn next to."""

from app.tools import overlay
from app.tools.base import BaseTool
from app.tools.desk import Desk
from app.tools.events import CursorShape, KeyEvent, PointerEvent, ToolReply
from app.tools.moving import collection_of
from app.tools.walls import Edge, edge_near
from core.edits.change import find_any, title
from core.edits.joining import draw_next_to, fold_choices, join_surfaces, sew_edges
from core.edits.network import dissolve_node
from core.edits.outlines import shape_of
from core.edits.reshaping import join_lines
from core.errors import EditRefused
from core.geometry.foldout import lay_out
from core.geometry.seams import seam_state
from core.model import Plan, find
from core.pages.marks import AnyMark

PICK_PX = 14.0
JOINED = ("ribs", "metal_edges", "channels", "surfaces")


class JoinTool(BaseTool):
    """Two lines whose ends meet, two channels at a node, or two flat neighbours become one: the first stays."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._first = ""
        self._over = ""

    @property
    def cursor(self) -> CursorShape:
        return "hand"

    @property
    def hint(self) -> str:
        if not self._first:
            return "Click the line, channel or surface that stays."
        return "Click the one that is joined to it."

    def show(self) -> ToolReply:
        marks = tuple(mark for each in (self._first, self._over) if each for mark in outlined(self.desk, each))
        if not self._first:
            return ToolReply(overlay=marks, word=self._name(self._over) or "point at what stays")
        if not self._over or self._over == self._first:
            return ToolReply(overlay=marks, word=f"joined to {self._name(self._first)}")
        try:
            plan = joined(self.desk.plan, self._first, self._over)
        except EditRefused as refusal:
            return ToolReply(overlay=marks, word=str(refusal))
        return ToolReply(plan=plan, overlay=marks, word=f"{self._name(self._over)} joins {self._name(self._first)}")

    def _name(self, record_id: str) -> str:
        return title(*find_any(self.desk.plan, record_id)) if record_id else ""

    def press(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        if event.button != "left" or event.kind == "double":
            return self.show()
        if not self._over:
            raise EditRefused("Only lines, channels and surfaces are joined: click on one.")
        if not self._first:
            self._first = self._over
            return self.show()
        plan = joined(self.desk.plan, self._first, self._over)
        first, self._first, self._over = self._first, "", ""
        return ToolReply(plan=plan, commit=f"Join {title(*find_any(plan, first))}", select=(first,))

    def move(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        return self.show()

    def _look(self, event: PointerEvent) -> None:
        plan = self.desk.plan
        if self._first and collection_of(plan, self._first) is None:
            self._first = ""
        wanted = (collection_of(plan, self._first),) if self._first else JOINED
        self._over = next((each for each in event.item_ids if collection_of(plan, each) in wanted), "")

    def key(self, event: KeyEvent) -> ToolReply | None:
        if event.key == "Escape" and self._first:
            self._first = ""
            return self.show()
        return None


def joined(plan: Plan, first: str, second: str) -> Plan:
    """The plan with the second thing joined to the first, which stays. Raises EditRefused."""
    if first == second:
        raise EditRefused("Two different things are needed to be joined.")
    collection = collection_of(plan, first)
    if collection == "surfaces":
        return join_surfaces(plan, first, second)
    if collection != "channels":
        return join_lines(plan, first, second)
    a, b = find(plan, "channels", first), find(plan, "channels", second)
    met = {a.start, a.end} & {b.start, b.end}
    if not met:
        raise EditRefused("These two channels meet at no node; draw what is missing between them.")
    return dissolve_node(plan, min(met))


class SewTool(BaseTool):
    """A seam by picking two edges."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._first: Edge | None = None
        self._over: Edge | None = None

    @property
    def cursor(self) -> CursorShape:
        return "hand"

    @property
    def hint(self) -> str:
        if self._first is None:
            return "Click one of the two edges that meet in the vehicle."
        return "Click the other edge."

    def show(self) -> ToolReply:
        marks = tuple(overlay.firm_line((e.a, e.b)) for e in (self._first, self._over) if e is not None)
        over = self._over
        if over is None:
            word = "point at an edge" if self._first is None else "point at the other edge"
            return ToolReply(overlay=marks, word=word)
        word = f"edge of {self.desk.surface(over.surface).name}, {self.desk.show_mm(over.length_mm)}"
        if self._first is None or _same(self._first, over):
            return ToolReply(overlay=marks, word=word)
        try:
            _, told = self._sewn(self._first, over)
        except EditRefused as refusal:
            return ToolReply(overlay=marks, word=str(refusal))
        return ToolReply(overlay=marks, word=f"{word}; {told}")

    def _sewn(self, first: Edge, second: Edge) -> tuple[Plan, str]:
        """The plan with the seam, and how well it closes in words."""
        plan, fresh = sew_edges(self.desk.plan, (first.surface, first.corner), (second.surface, second.corner))
        state = seam_state(find(plan, "seams", fresh), plan.surfaces, lay_out(plan.surfaces))
        return plan, state.message or "it closes"

    def press(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        if event.button != "left" or event.kind == "double":
            return self.show()
        over = self._over
        if over is None:
            raise EditRefused("A seam joins two edges: click near one.")
        if self._first is None:
            self._first = over
            return self.show()
        plan, told = self._sewn(self._first, over)
        self._first = self._over = None
        return ToolReply(plan=plan, commit="Sew edges", word=f"Sewn: {told}.")

    def move(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        return self.show()

    def _look(self, event: PointerEvent) -> None:
        self._over = edge_near(self.desk, event.sheet_mm, PICK_PX * event.mm_per_pixel)

    def key(self, event: KeyEvent) -> ToolReply | None:
        if event.key == "Escape" and self._first is not None:
            self._first = None
            return self.show()
        return None


def _same(one: Edge, other: Edge) -> bool:
    return (one.surface, one.corner) == (other.surface, other.corner)


class NextToTool(BaseTool):
    """Which neighbour a surface is drawn next to: the sheet re-folds, nothing in the vehicle moves."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        chosen = desk.session.selection
        one = chosen[0] if len(chosen) == 1 else ""
        self._surface = one if collection_of(desk.plan, one) == "surfaces" else ""
        self._over = ""

    @property
    def cursor(self) -> CursorShape:
        return "hand"

    @property
    def hint(self) -> str:
        if not self._surface:
            return "Click the surface that is to be drawn elsewhere."
        name = self.desk.surface(self._surface).name
        told = " or ".join(dict.fromkeys(choice.name for choice in fold_choices(self.desk.plan, self._surface)))
        return f"Click what {name} is to be drawn next to: {told or 'it is sewn to nothing'}."

    def show(self) -> ToolReply:
        plan = self.desk.plan
        if not self._surface:
            marks = outlined(self.desk, self._over) if self._over else ()
            name = self.desk.surface(self._over).name if self._over else "point at a surface"
            return ToolReply(overlay=marks, word=name)
        marks = outlined(self.desk, self._surface)
        if not self._over or self._over == self._surface:
            return ToolReply(overlay=marks, word="next to which neighbour?")
        marks += outlined(self.desk, self._over)
        try:
            draw_next_to(plan, self._surface, self._over)
        except EditRefused as refusal:
            return ToolReply(overlay=marks, word=str(refusal))
        # Not shown beforehand: under the pointer the sheet would jump.
        return ToolReply(overlay=marks, word=f"next to {self.desk.surface(self._over).name}")

    def press(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        if event.button != "left" or event.kind == "double":
            return self.show()
        if not self._over:
            raise EditRefused("Click on a surface.")
        if not self._surface or self._over == self._surface:
            self._surface = self._over
            return ToolReply(overlay=outlined(self.desk, self._surface), select=(self._surface,))
        plan, surface = draw_next_to(self.desk.plan, self._surface, self._over), self._surface
        label = f"Draw {self.desk.surface(surface).name} next to {self.desk.surface(self._over).name}"
        self._surface = self._over = ""
        return ToolReply(plan=plan, commit=label, select=(surface,), done=True)

    def move(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        return self.show()

    def _look(self, event: PointerEvent) -> None:
        if self._surface and collection_of(self.desk.plan, self._surface) is None:
            self._surface = ""
        spot = self.desk.spot(event.sheet_mm)
        self._over = spot[0] if spot is not None else ""

    def key(self, event: KeyEvent) -> ToolReply | None:
        if event.key == "Escape" and self._surface:
            self._surface = ""
            return self.show()
        return None


def outlined(desk: Desk, record_id: str) -> tuple[AnyMark, ...]:
    """A firm line round a surface, or along a line."""
    shape = shape_of(desk.plan, record_id)
    if shape is None or shape.surface not in desk.layout.laid:
        return ()
    points = tuple(map(desk.place(shape.surface).to_sheet, shape.points))
    return (overlay.firm_line((*points, *points[:1]) if shape.closed else points),)
