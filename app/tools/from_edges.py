"""A place told by distances from edges: "300 from the side door, 850 from the floor". Point at an edge and press D,
type how far from it; a second edge settles the place, with one alone the pointer still slides along."""

from collections.abc import Callable
from dataclasses import dataclass

from app.tools import overlay
from app.tools.ground import Named
from core.errors import EditRefused
from core.geometry.from_edge import PARALLEL, at_distance, at_distances
from core.geometry.plane import distance_mm, nearest_on
from core.model import Point
from core.pages.marks import AnyMark

#: Shows a length in the person's unit.
Show = Callable[[float], str]


@dataclass(frozen=True)
class Held:
    edge: Named
    away_mm: float


@dataclass(frozen=True)
class FromEdges:
    """`held` are at most two distances, `asked` the edge whose distance is about to be typed."""

    held: tuple[Held, ...] = ()
    asked: Named | None = None

    def __bool__(self) -> bool:
        return bool(self.held) or self.asked is not None

    @property
    def prompt(self) -> str:
        return f"from {self.asked.thing}" if self.asked is not None else ""

    def ask(self, edge: Named | None) -> "FromEdges":
        """About to tell the distance from this edge; a third one begins anew. Raises EditRefused."""
        if edge is None:
            raise EditRefused("Point at an edge or line, then press D to tell the distance from it.")
        held = () if len(self.held) == 2 else self.held
        if held and _is_parallel(held[0].edge, edge):
            raise EditRefused(f"{edge.thing} runs as {held[0].edge.thing} does; the second edge must run across it.")
        return FromEdges(held, edge)

    def told(self, away_mm: float) -> "FromEdges":
        assert self.asked is not None
        return FromEdges((*self.held, Held(self.asked, away_mm)))

    def led(self, near: Point, ray: tuple[Point, Point] | None = None) -> Point:
        """`near` brought to the distances that are held, and onto a line, where one is given."""
        if len(self.held) == 2:
            return self._both(near)
        if not self.held:
            return near
        (only,) = self.held
        if ray is not None and distance_mm(*ray) > 0:
            met = at_distances((only.edge.line, only.away_mm), (ray, 0.0), near)
            if met is not None:
                return met
        return at_distance(only.edge.line, only.away_mm, near)

    def settled(self, near: Point) -> Point | None:
        """The place, once two distances tell it; on the sides of the edges on which `near` lies."""
        return self._both(near) if len(self.held) == 2 else None

    def _both(self, near: Point) -> Point:
        a, b = self.held
        met = at_distances((a.edge.line, a.away_mm), (b.edge.line, b.away_mm), near)
        assert met is not None, "edges that run alike are refused before"
        return met

    def words(self, show: Show) -> str:
        return ", ".join(f"{show(each.away_mm)} from {each.edge.thing}" for each in self.held)

    def marks(self, at: Point, k: float, show: Show) -> tuple[AnyMark, ...]:
        """The edges, and the distances to them at a point."""
        found: list[AnyMark] = []
        for each in self.held:
            foot = nearest_on(each.edge.line, at).point
            found += [overlay.firm_line(each.edge.line), *overlay.measured(foot, at, show(each.away_mm), k)]
        if self.asked is not None:
            found.append(overlay.firm_line(self.asked.line))
        return tuple(found)


def _is_parallel(one: Named, other: Named) -> bool:
    (ax, ay), (bx, by) = one.line
    (cx, cy), (dx, dy) = other.line
    turn = (bx - ax) * (dy - cy) - (by - ay) * (dx - cx)
    return abs(turn) < PARALLEL * distance_mm(*one.line) * distance_mm(*other.line)
