"""Edges and corners of surfaces and of what is drawn on them: pick one up and put it down, or type.

A corner is moved by the pointer or by typed distances, Backspace deletes it. An edge is moved parallel, or its length
is typed; a double click or Insert sets a corner into it.
"""

from dataclasses import dataclass
from math import dist

from app.tools import overlay
from app.tools.base import BaseTool
from app.tools.desk import Desk
from app.tools.events import CursorShape, KeyEvent, PointerEvent, ToolReply
from app.tools.moving import collection_of
from app.tools.pen import parts, read_lengths, read_signed
from core.edits.change import find_any, title
from core.edits.outlines import Shape, delete_point, insert_point, move_edge, move_point, set_length, shape_of
from core.errors import EditRefused
from core.geometry.plane import nearest_on
from core.model import Plan, Point

REACH_PX = 10.0
DRAG_PX = 4.0
#: By keys a step is 10 mm whatever the zoom.
FAR_MM = 8.0


@dataclass(frozen=True)
class Grip:
    """A corner, or the edge that starts at it, of one record."""

    shape: Shape
    key: str
    is_edge: bool

    def on_sheet(self, desk: Desk) -> tuple[Point, ...]:
        place = desk.place(self.shape.surface)
        number = self.shape.keys.index(self.key)
        points = self.shape.edge(self.key) if self.is_edge else (self.shape.points[number],)
        return tuple(map(place.to_sheet, points or ()))


class ReshapeTool(BaseTool):
    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._over: Grip | None = None
        self._held: Grip | None = None
        #: A corner is about to be set into the edge, at a typed distance.
        self._inserting = False
        self._from: Point = (0.0, 0.0)
        self._pressed_px: Point | None = None
        self._moved = False
        self._at: Point = (0.0, 0.0)
        self._word = ""
        self._k = 1.0
        self._shapes: dict[str, Shape | None] = {}
        self._plan: Plan | None = None

    @property
    def cursor(self) -> CursorShape:
        return "arrow" if self._over is None and self._held is None else "move"

    @property
    def hint(self) -> str:
        if self._held is None:
            return "Click a corner or an edge to take it up. A double click on an edge sets a corner into it."
        if self._inserting:
            return "Type the distance of the new corner from the start of the edge."
        if self._held.is_edge:
            return "Type the length of the edge, or click where it goes. Insert: a corner in it."
        return "Click where the corner goes, or type how far to the right, Tab, how far up. Backspace deletes it."

    def show(self) -> ToolReply:
        grip = self._held or self._over
        if grip is None:
            return ToolReply(word="point at a corner or an edge")
        points = grip.on_sheet(self.desk)
        name = title(*find_any(self.desk.plan, grip.shape.record))
        marks = tuple(overlay.handle(point, self._k) for point in self._corners(grip.shape))
        if grip.is_edge:
            marks = (overlay.firm_line(points), *marks)
            word = f"edge of {name}, {self.desk.show_mm(dist(*points))}"
        else:
            marks = (*marks, *overlay.snap_mark(points[0], "corner", self._k))
            word = f"corner of {name}"
        if self._held is None:
            return ToolReply(overlay=marks, word=word)
        if self._inserting:
            return ToolReply(overlay=marks, word=word, prompt="from the edge's start")
        prompt = "length of the edge" if grip.is_edge else "right ⇥ up"
        if not self._moved:
            return ToolReply(overlay=marks, word=word, prompt=prompt)
        try:
            plan = self._put_down(grip)
        except EditRefused as refusal:
            return ToolReply(overlay=marks, word=str(refusal), prompt=prompt)
        return ToolReply(plan=plan, overlay=marks, word=self._word or word, prompt=prompt)

    def _corners(self, shape: Shape) -> tuple[Point, ...]:
        return tuple(map(self.desk.place(shape.surface).to_sheet, shape.points))

    def press(self, event: PointerEvent) -> ToolReply:
        if event.button != "left":
            return self.show()
        self._look(event)
        if event.kind == "double":
            return self._insert_at_pointer(event)
        if self._held is not None and self._moved:
            return self._commit()
        if self._over is None:
            self._let_go()
            raise EditRefused("There is no corner or edge here. Select a thing first where several lie on each other.")
        self._held, self._over, self._inserting, self._moved = self._over, None, False, False
        self._from, self._pressed_px = event.sheet_mm, event.pixel
        return self.show()

    def move(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        pressed = self._pressed_px
        if self._held is not None and not self._inserting:
            far = dist(self._from, event.sheet_mm) > min(DRAG_PX * self._k, FAR_MM)
            self._moved = self._moved or (far if pressed is None else dist(pressed, event.pixel) > DRAG_PX)
        return self.show()

    def release(self, event: PointerEvent) -> ToolReply:
        pressed, self._pressed_px = self._pressed_px, None
        if pressed is not None and self._moved and dist(pressed, event.pixel) > DRAG_PX:
            self._look(event)
            return self._commit()
        return self.show()

    def key(self, event: KeyEvent) -> ToolReply | None:
        held = self._held
        match event.key:
            case "Escape" if self._inserting:
                self._inserting = False
            case "Escape" if held is not None:
                self._let_go()
            case "Return" if held is not None and self._moved:
                return self._commit()
            case "Backspace" if held is not None and not held.is_edge:
                plan = delete_point(self.desk.plan, held.shape.record, held.key)
                return self._done(plan, "Delete corner of")
            case "Insert" if held is not None and held.is_edge:
                self._inserting, self._moved = True, False
            case _:
                return None
        return self.show()

    def typed(self, text: str) -> ToolReply:
        held = self._held
        if held is None:
            raise EditRefused("Click a corner or an edge first.")
        record = held.shape.record
        if self._inserting:
            (at_mm,) = read_lengths(self.desk, text, 1, "one distance from the start of the edge")
            return self._done(insert_point(self.desk.plan, record, held.key, at_mm)[0], "Insert corner in")
        if held.is_edge:
            (size,) = read_lengths(self.desk, text, 1, "the length of the edge")
            return self._done(set_length(self.desk.plan, record, held.key, size), "Set edge length of")
        told = parts(text)
        if not 1 <= len(told) <= 2:
            raise EditRefused("Type how far to the right, then Tab and how far up.")
        x, *up = (read_signed(self.desk, part) if part else 0.0 for part in told)
        (here,) = held.on_sheet(self.desk)
        to = self.desk.place(held.shape.surface).to_local((here[0] + x, here[1] + (up[0] if up else 0.0)))
        return self._done(move_point(self.desk.plan, record, held.key, to), "Move corner of")

    def _insert_at_pointer(self, event: PointerEvent) -> ToolReply:
        held = self._held
        if held is None or not held.is_edge:
            return self.show()
        start, end = held.on_sheet(self.desk)
        along = nearest_on((start, end), self._at if self.desk.snaps(event) else event.sheet_mm).along_mm
        return self._done(insert_point(self.desk.plan, held.shape.record, held.key, along)[0], "Insert corner in")

    def _commit(self) -> ToolReply:
        assert self._held is not None
        what = "Move edge of" if self._held.is_edge else "Move corner of"
        return self._done(self._put_down(self._held), what)

    def _done(self, plan: Plan, what: str) -> ToolReply:
        assert self._held is not None
        record = self._held.shape.record
        label = f"{what} {title(*find_any(self.desk.plan, record))}"
        self._let_go()
        return ToolReply(plan=plan, commit=label, select=(record,))

    def _let_go(self) -> None:
        self._held, self._over, self._inserting, self._moved, self._pressed_px = None, None, False, False, None

    def _put_down(self, grip: Grip) -> Plan:
        """The plan with the corner where the pointer is, or the edge moved parallel to it."""
        place = self.desk.place(grip.shape.surface)
        if not grip.is_edge:
            return move_point(self.desk.plan, grip.shape.record, grip.key, place.to_local(self._at))
        start, end = map(place.to_local, grip.on_sheet(self.desk))
        size = dist(start, end)
        nx, ny = -(end[1] - start[1]) / size, (end[0] - start[0]) / size
        to, taken = place.to_local(self._at), place.to_local(self._from)
        along = (to[0] - taken[0]) * nx + (to[1] - taken[1]) * ny
        away = self.desk.stepped(along)
        self._word = self.desk.show_mm(abs(away))
        return move_edge(self.desk.plan, grip.shape.record, grip.key, (nx * away, ny * away))

    def _look(self, event: PointerEvent) -> None:
        self._k = event.mm_per_pixel
        if self.desk.plan is not self._plan:
            # What was held may be elsewhere now, or gone (undo).
            self._plan, self._shapes = self.desk.plan, {}
            self._let_go()
        held = self._held
        self._at, self._word = self.desk.snapped(event, but=() if held is None else (held.shape.record,))
        if held is None or not self._moved:
            self._over = self._grip_near(event)

    def _grip_near(self, event: PointerEvent) -> Grip | None:
        """The nearest corner within reach, else the nearest edge; of the selection, else of what lies here."""
        chosen = self.desk.session.selection
        reach = REACH_PX * event.mm_per_pixel
        for candidates in (chosen, self._here(event)):
            shapes = [shape for each in candidates if (shape := self._shape(each)) is not None]
            found = self._nearest(shapes, event.sheet_mm, reach)
            if found is not None:
                return found
        return None

    def _here(self, event: PointerEvent) -> tuple[str, ...]:
        # A click a little beside a surface still means its edge.
        named = self.desk.edge_near(event)
        return (*event.item_ids, *((named.surface,) if named is not None else ()))

    def _nearest(self, shapes: list[Shape], at: Point, reach: float) -> Grip | None:
        corners, edges = [], []
        for order, shape in enumerate(shapes):
            if shape.surface not in self.desk.layout.laid:
                continue
            local = self.desk.place(shape.surface).to_local(at)
            for key, point in zip(shape.keys, shape.points, strict=True):
                if (away := dist(point, local)) <= reach:
                    corners.append((away, order, Grip(shape, key, is_edge=False)))
                edge = shape.edge(key)
                if edge is not None and dist(*edge) > 0 and (away := nearest_on(edge, local).distance_mm) <= reach:
                    edges.append((away, order, Grip(shape, key, is_edge=True)))
        for found in (corners, edges):
            if found:
                return min(found, key=lambda each: (round(each[0], 3), each[1]))[2]
        return None

    def _shape(self, record_id: str) -> Shape | None:
        """Kept while the plan is the same: it is asked with every move of the pointer."""
        plan = self.desk.plan
        if record_id not in self._shapes:
            known = collection_of(plan, record_id) is not None
            self._shapes[record_id] = shape_of(plan, record_id) if known else None
        return self._shapes[record_id]
