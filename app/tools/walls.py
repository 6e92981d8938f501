"""Raise a wall: pick an edge of a surface, then move away from it or type height, Tab, angle of the fold.

A curved wall is raised as strips: its height is what the tape says along the curve, with the angles at its foot and at
its head.
"""

from dataclasses import dataclass
from math import hypot

from app.tools import overlay
from app.tools.base import BaseTool
from app.tools.desk import Desk
from app.tools.events import KeyEvent, PointerEvent, ToolReply
from app.tools.pen import parts, read_count, read_lengths, read_turn
from core.edits.body import raise_wall
from core.edits.joining import raise_curved_wall
from core.errors import EditRefused
from core.geometry.edges import edge_of
from core.geometry.plane import nearest_on
from core.model import Plan, Point

PICK_PX = 14.0
#: Heights by the pointer are whole multiples of this.
STEP_MM = 10.0
UPRIGHT_DEG = 90.0


@dataclass(frozen=True)
class Edge:
    surface: str
    corner: str
    a: Point
    b: Point

    @property
    def length_mm(self) -> float:
        return hypot(self.b[0] - self.a[0], self.b[1] - self.a[1])

    def outward(self, away_mm: float) -> tuple[Point, Point]:
        """The edge moved out of its surface (which lies to the left of it)."""
        size = self.length_mm or 1.0
        nx, ny = (self.b[1] - self.a[1]) / size, -(self.b[0] - self.a[0]) / size
        return (
            (self.a[0] + nx * away_mm, self.a[1] + ny * away_mm),
            (self.b[0] + nx * away_mm, self.b[1] + ny * away_mm),
        )


class RaiseWallTool(BaseTool):
    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._hovered: Edge | None = None
        self._picked: Edge | None = None
        self._height_mm = 0.0
        self._k = 1.0

    @property
    def hint(self) -> str:
        if self._picked is None:
            return "Click the edge that the wall stands on."
        return "Type the height, or move away from the edge and click. Height, Tab, 95: the wall leans in by 5 degrees."

    def show(self) -> ToolReply:
        edge = self._picked
        if edge is None:
            if self._hovered is None:
                return ToolReply(word="pick an edge")
            edge = self._hovered
            line = overlay.firm_line((edge.a, edge.b))
            return ToolReply(overlay=(line,), word=f"edge, {self.desk.show_mm(edge.length_mm)}")
        far = edge.outward(self._height_mm)
        marks = (
            overlay.area((edge.a, edge.b, far[1], far[0])),
            overlay.firm_line((edge.a, edge.b)),
            *overlay.measured(edge.b, far[1], self.desk.show_mm(self._height_mm), self._k),
        )
        return ToolReply(overlay=marks, word=f"height {self.desk.show_mm(self._height_mm)}", prompt=self._prompt)

    @property
    def _prompt(self) -> str:
        return "height ⇥ angle"

    def press(self, event: PointerEvent) -> ToolReply:
        if event.button != "left":
            return self.show()
        if self._picked is None:
            self._look(event)
            self._picked = self._hovered
            if self._picked is None:
                raise EditRefused("A wall is raised from the edge of a surface: click near one.")
            self._height_mm = 0.0
            return self.show()
        self._measure(event)
        if self._height_mm < STEP_MM:
            return self.show()
        return self._raise(self._height_mm, 90.0)

    def move(self, event: PointerEvent) -> ToolReply:
        if self._picked is None:
            self._look(event)
        else:
            self._measure(event)
        return self.show()

    def key(self, event: KeyEvent) -> ToolReply | None:
        if event.key == "Escape" and self._picked is not None:
            self._picked = None
            return self.show()
        return None

    def typed(self, text: str) -> ToolReply:
        if self._picked is None:
            raise EditRefused("Click the edge that the wall stands on; then type its height.")
        told = parts(text)
        if not 1 <= len(told) <= 2:
            raise EditRefused("Type a height, then Tab and an angle if the wall leans.")
        (height,) = read_lengths(self.desk, told[0], 1, "a height")
        return self._raise(height, read_turn(told[1]) if len(told) == 2 else UPRIGHT_DEG)

    def _raise(self, height_mm: float, lean_deg: float) -> ToolReply:
        assert self._picked is not None
        plan, new = raise_wall(self.desk.plan, self._picked.surface, self._picked.corner, height_mm, lean_deg=lean_deg)
        return self._done(plan, (new,))

    def _done(self, plan: Plan, new: tuple[str, ...]) -> ToolReply:
        self._picked = self._hovered = None
        return ToolReply(plan=plan, commit="Raise wall", select=new)

    def _look(self, event: PointerEvent) -> None:
        self._k = event.mm_per_pixel
        self._hovered = edge_near(self.desk, event.sheet_mm, PICK_PX * self._k)

    def _measure(self, event: PointerEvent) -> None:
        assert self._picked is not None
        self._k = event.mm_per_pixel
        edge = self._picked
        away = edge.outward(1.0)
        nx, ny = away[0][0] - edge.a[0], away[0][1] - edge.a[1]
        high = (event.sheet_mm[0] - edge.a[0]) * nx + (event.sheet_mm[1] - edge.a[1]) * ny
        self._height_mm = max(0.0, round(high / STEP_MM) * STEP_MM)


@dataclass(frozen=True)
class Curve:
    """The lean at the foot and at the head of a curved wall (90 is upright), and into how many strips it is cut."""

    foot_deg: float = 90.0
    head_deg: float = 110.0
    strips: int = 3


class CurvedWallTool(RaiseWallTool):
    """Strips as high together as the tape says along the curve."""

    #: As typed last, so that the other side of the vehicle needs the height alone.
    _curve = Curve()

    @property
    def hint(self) -> str:
        if self._picked is None:
            return "Click the edge that the curved wall stands on."
        now = f"{self._curve.foot_deg:g}, {self._curve.head_deg:g}, {self._curve.strips}"
        return f"Type its height along the curve, Tab, angle at the foot, Tab, at the head, Tab, strips (now {now})."

    @property
    def _prompt(self) -> str:
        return "height along the curve ⇥ foot angle ⇥ head angle ⇥ strips"

    def typed(self, text: str) -> ToolReply:
        if self._picked is None:
            raise EditRefused("Click the edge that the wall stands on; then type its height along the curve.")
        told = parts(text)
        if not 1 <= len(told) <= 4:
            raise EditRefused("Type the height along the curve, then Tab and the angles at foot and head, Tab, strips.")
        (height,) = read_lengths(self.desk, told[0], 1, "the height along the curve")
        was = self._curve
        curve = Curve(
            read_turn(told[1]) if len(told) > 1 and told[1] else was.foot_deg,
            read_turn(told[2]) if len(told) > 2 and told[2] else was.head_deg,
            read_count(told[3]) if len(told) > 3 else was.strips,
        )
        return self._bent(height, curve)

    def _raise(self, height_mm: float, lean_deg: float) -> ToolReply:  # noqa: ARG002 (the curve says how it leans)
        return self._bent(height_mm, self._curve)

    def _bent(self, height_mm: float, curve: Curve) -> ToolReply:
        assert self._picked is not None
        plan, new = raise_curved_wall(
            self.desk.plan, self._picked.surface, self._picked.corner, height_mm, curve.foot_deg, curve.head_deg,
            curve.strips,
        )  # fmt: skip
        self._curve = curve
        return self._done(plan, new)


def edge_near(desk: Desk, at: Point, within_mm: float) -> Edge | None:
    """The edge of a surface nearest to a point of the sheet. Where two surfaces meet, the one the point lies on."""
    best: tuple[float, Edge] | None = None
    here = desk.spot(at)
    for surface in desk.plan.surfaces:
        if surface.id not in desk.layout.laid:
            continue
        place = desk.place(surface.id)
        for corner in surface.corners:
            ends = edge_of(surface, corner.id)
            if ends is None:
                continue
            a, b = place.to_sheet(ends[0]), place.to_sheet(ends[1])
            away = nearest_on((a, b), at).distance_mm
            if away > within_mm:
                continue
            other = here is not None and here[0] != surface.id
            rank = away + (within_mm if other else 0.0)
            if best is None or rank < best[0]:
                best = rank, Edge(surface.id, corner.id, a, b)
    return None if best is None else best[1]
