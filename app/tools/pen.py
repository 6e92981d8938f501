"""Points drawn one after another, by the pointer or by typed numbers. Shared by all tools that draw.

Typed, with Tab between: ``1240`` goes on in the pointer's direction, ``1240 Tab 90`` at an angle counter-clockwise
from the right; a rectangle takes its width and height.
"""

from math import atan2, cos, degrees, hypot, radians, sin
from typing import Literal

from app.tools import overlay
from app.tools.desk import Desk
from app.tools.events import PointerEvent
from core.errors import EditRefused
from core.model import Point
from core.pages.marks import AnyMark
from core.units import UnitProblem, read_angle_deg

#: A direction this near to level or upright is meant to be so, when only a length is typed.
STRAIGHT_DEG = 8.0
#: Shift holds lines to multiples of this.
LOCK_DEG = 45.0

Shape = Literal["rectangle", "free"]


def parts(text: str) -> list[str]:
    """What was typed, cut where Tab was pressed; empty ends are left out."""
    found = [part.strip() for part in text.replace(";", "\t").split("\t")]
    while found and not found[-1]:
        found.pop()
    return found


def read_lengths(desk: Desk, text: str, most: int, what: str) -> list[float]:
    """One to `most` lengths. Raises EditRefused with a sentence for anything else."""
    told = parts(text)
    if not 1 <= len(told) <= most:
        raise EditRefused(f"Type {what}.")
    try:
        return [desk.read_mm(part) for part in told]
    except UnitProblem as problem:
        raise EditRefused(str(problem)) from None


class Pen:
    """The points of a stroke and where the next one would be, in mm of the sheet."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self.points: tuple[Point, ...] = ()
        self.at: Point = (0.0, 0.0)
        self.word = ""
        self.mm_per_px = 1.0

    def move(self, event: PointerEvent) -> None:
        self.mm_per_px = event.mm_per_pixel
        last = self.points[-1] if self.points else None
        self.at, self.word = self._desk.snapped(event, last, self.points[:40])
        if last is not None and "shift" in event.modifiers:
            self.at, self.word = locked(last, event.sheet_mm), "locked angle"

    def add(self, point: Point | None = None) -> bool:
        """Take the point; False where it is the last one again."""
        point = self.at if point is None else point
        if self.points and hypot(point[0] - self.points[-1][0], point[1] - self.points[-1][1]) < 0.5:
            return False
        self.points = (*self.points, point)
        return True

    def back(self) -> None:
        self.points = self.points[:-1]

    @property
    def on_first(self) -> bool:
        """The next point would close the outline."""
        return len(self.points) >= 3 and _near(self.at, self.points[0], 8.0 * self.mm_per_px)

    @property
    def length_mm(self) -> float:
        if not self.points:
            return 0.0
        return hypot(self.at[0] - self.points[-1][0], self.at[1] - self.points[-1][1])

    def typed_point(self, text: str) -> Point:
        """Where the typed length, and the typed angle or the pointer's direction, lead. Raises EditRefused."""
        if not self.points:
            raise EditRefused("Click where to start; then type a length.")
        told = parts(text)
        if not 1 <= len(told) <= 2:
            raise EditRefused("Type a length, then Tab and an angle if you want one.")
        try:
            size = self._desk.read_mm(told[0])
            turn = read_angle_deg(told[1]) if len(told) == 2 else straightened(self.points[-1], self.at)
        except UnitProblem as problem:
            raise EditRefused(str(problem)) from None
        x, y = self.points[-1]
        return x + size * cos(radians(turn)), y + size * sin(radians(turn))

    def typed_corner(self, text: str) -> Point:
        """The corner across a rectangle of the typed width and height, on the pointer's side. Raises EditRefused."""
        if not self.points:
            raise EditRefused("Click where one corner is; then type width, Tab, height.")
        sizes = read_lengths(self._desk, text, 2, "a width, Tab and a height")
        x, y = self.points[0]
        right = 1.0 if self.at[0] >= x else -1.0
        up = 1.0 if self.at[1] >= y else -1.0
        height = sizes[1] if len(sizes) == 2 else abs(self.at[1] - y)
        return x + right * sizes[0], y + up * height

    def marks(self, shape: Shape, closing: bool) -> tuple[AnyMark, ...]:
        """The stroke so far and its next stretch, with lengths."""
        k, show = self.mm_per_px, self._desk.show_mm
        ring = overlay.snap_mark(self.at, self.word, k)
        if not self.points:
            return (overlay.handle(self.at, k), *ring)
        if shape == "rectangle":
            corners = overlay.rectangle(self.points[0], self.at)
            sizes = [
                mark
                for a, b in zip(corners[:2], corners[1:3], strict=True)
                for mark in overlay.dimension(a, b, show(hypot(b[0] - a[0], b[1] - a[1])), k, -16.0)
            ]
            return (overlay.area(corners), *sizes, overlay.handle(self.points[0], k), overlay.handle(self.at, k), *ring)
        way = (*self.points, self.at)
        body = [overlay.area(way)] if closing and len(way) > 2 else [overlay.line(way)]
        lengths = [
            mark
            for a, b in zip(way[-6:], way[-5:], strict=False)
            for mark in overlay.dimension(a, b, show(hypot(b[0] - a[0], b[1] - a[1])), k)
        ]
        return (*body, *lengths, *(overlay.handle(point, k) for point in way), *ring)


def locked(last: Point, at: Point) -> Point:
    """The point nearest to `at` on a line through `last` at a multiple of the lock angle."""
    turn = radians(round(degrees(atan2(at[1] - last[1], at[0] - last[0])) / LOCK_DEG) * LOCK_DEG)
    along = (at[0] - last[0]) * cos(turn) + (at[1] - last[1]) * sin(turn)
    return last[0] + along * cos(turn), last[1] + along * sin(turn)


def straightened(last: Point, at: Point) -> float:
    """The direction from one point to another, level or upright where it nearly is; 0 where there is none."""
    if hypot(at[0] - last[0], at[1] - last[1]) < 1e-6:
        return 0.0
    turn = degrees(atan2(at[1] - last[1], at[0] - last[0]))
    straight = round(turn / 90.0) * 90.0
    return straight if abs(turn - straight) <= STRAIGHT_DEG else turn


def _near(a: Point, b: Point, reach: float) -> bool:
    return hypot(a[0] - b[0], a[1] - b[1]) <= reach
