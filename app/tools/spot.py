"""Pick a place on the sheet for a question; nothing is drawn."""

from collections.abc import Callable

from app.tools import overlay
from app.tools.base import BaseTool
from app.tools.desk import Desk
from app.tools.events import PointerEvent, ToolReply
from app.tools.pen import read_lengths
from core.errors import EditRefused
from core.geometry.edges import outline_of
from core.model import Point
from core.pages.marks import AnyMark

#: The cross that marks the place, in pixels.
CROSS_PX = 9.0


class SpotTool(BaseTool):
    """`picked` gets every place that is clicked, as a surface and a point of it; the tool stays in hand."""

    def __init__(self, desk: Desk, picked: Callable[[str, Point], None], what: str) -> None:
        super().__init__(desk)
        self._picked, self._what = picked, what
        self._spot: tuple[str, Point] | None = None
        self._chosen: tuple[str, Point] | None = None
        self._k = 1.0

    @property
    def hint(self) -> str:
        return f"Click where {self._what} goes, or type its distance from the left end, Tab, from the lower edge."

    def show(self) -> ToolReply:
        marks = [mark for spot in (self._spot, self._chosen) if spot is not None for mark in self._cross(spot)]
        word = self.desk.surface(self._spot[0]).name if self._spot is not None else "point at a surface"
        return ToolReply(overlay=tuple(marks), word=word, prompt="along ⇥ up")

    def press(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        if event.button == "left" and event.kind == "press":
            if self._spot is None:
                raise EditRefused("Click on a surface; here the sheet is empty.")
            self._choose(self._spot)
        return self.show()

    def move(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        return self.show()

    def typed(self, text: str) -> ToolReply:
        if self._spot is None:
            raise EditRefused("Point at the surface first; then type the place.")
        told = read_lengths(self.desk, text, 2, "a distance along, Tab and one up")
        surface = self._spot[0]
        outline = outline_of(self.desk.surface(surface))
        low = min(x for x, _ in outline), min(y for _, y in outline)
        self._choose((surface, (low[0] + told[0], low[1] + told[1] if len(told) == 2 else self._spot[1][1])))
        return self.show()

    def _choose(self, spot: tuple[str, Point]) -> None:
        self._chosen = spot
        self._picked(*spot)

    def _cross(self, spot: tuple[str, Point]) -> tuple[AnyMark, ...]:
        x, y = self.desk.to_sheet(*spot)
        r = CROSS_PX * self._k
        return (
            overlay.firm_line(((x - r, y), (x + r, y))),
            overlay.firm_line(((x, y - r), (x, y + r))),
            overlay.handle((x, y), self._k),
        )

    def _look(self, event: PointerEvent) -> None:
        self._k = event.mm_per_pixel
        self._spot = self.desk.spot(self.desk.snapped(event)[0])
