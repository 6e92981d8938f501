"""Points drawn one after another, by the pointer or by typed numbers. Shared by all tools that draw.

Typed, with Tab between: ``1240`` goes on in the pointer's direction, ``1240 Tab 90`` at an angle counter-clockwise
from the right, ``Tab 30`` holds that angle; a rectangle takes its width and height. L holds lines to whole multiples
of an angle, D tells distances from edges.
"""

from math import atan2, cos, degrees, hypot, radians, sin
from typing import Literal

from app.tools import overlay
from app.tools.desk import Desk
from app.tools.events import PointerEvent
from app.tools.from_edges import FromEdges
from core.errors import EditRefused
from core.model import Point
from core.pages.marks import AnyMark
from core.units import UnitProblem, read_angle_deg

#: A direction this near to level or upright is meant to be so, when only a length is typed.
STRAIGHT_DEG = 8.0
#: Shift holds lines to multiples of this.
LOCK_DEG = 45.0
#: What L steps through; 0 leaves lines free.
LOCKS_DEG = (0.0, 90.0, 45.0, 15.0)

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


def read_signed(desk: Desk, text: str) -> float:
    """A length that may be negative: "-12", "−3/4 in". Raises EditRefused."""
    bare = text.strip()
    back = bare[:1] in ("-", "−")
    (size,) = read_lengths(desk, bare[1:] if back else bare, 1, "a distance")
    return -size if back else size


def read_count(text: str) -> int:
    """A whole number. Raises EditRefused."""
    bare = text.strip()
    if not bare.isascii() or not bare.isdigit() or len(bare) > 6:
        raise EditRefused(f"“{bare[:20]}” is no number of things; type a whole number such as 4.")
    return int(bare)


class Pen:
    """The points of a stroke and where the next one would be, in mm of the sheet."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self.points: tuple[Point, ...] = ()
        self.at: Point = (0.0, 0.0)
        self.word = ""
        self.mm_per_px = 1.0
        #: An angle that was typed without a length: the next stretch runs that way.
        self.fixed_deg: float | None = None
        self.from_edges = FromEdges()
        self._event: PointerEvent | None = None

    @property
    def is_pointing(self) -> bool:
        """Whether the pointer has been on the sheet since the tool was taken."""
        return self._event is not None

    def move(self, event: PointerEvent) -> None:
        self._event = event
        self.mm_per_px = event.mm_per_pixel
        last = self.points[-1] if self.points else None
        self.at, self.word = self._desk.snapped(event, last, self.points[:40])
        turn_deg = self._held_deg(event)
        ray = None
        if last is not None and turn_deg is not None:
            self.at, self.word = self._along(last, turn_deg, event)
            ray = (last, (last[0] + cos(radians(turn_deg)), last[1] + sin(radians(turn_deg))))
        if self.from_edges.held:
            self.at = self.from_edges.led(self.at, ray)
            self.word = self.from_edges.words(self._desk.show_mm)

    def _held_deg(self, event: PointerEvent) -> float | None:
        """The direction that the next stretch is held to; None where it is free."""
        if not self.points or self.fixed_deg is not None:
            return self.fixed_deg
        step = LOCK_DEG if "shift" in event.modifiers else self._desk.angle_step_deg
        return nearest_turn(self.points[-1], event.sheet_mm, step) if step else None

    def _along(self, last: Point, turn_deg: float, event: PointerEvent) -> tuple[Point, str]:
        """On the line at an angle through the last point: where it meets what is near, or beside the pointer."""
        ux, uy = cos(radians(turn_deg)), sin(radians(turn_deg))
        along = (event.sheet_mm[0] - last[0]) * ux + (event.sheet_mm[1] - last[1]) * uy
        sign = 1.0 if along >= 0 else -1.0
        words = f"held to {turn_deg % 360:g}°"
        met = self._desk.met_along(event, last, (ux * sign, uy * sign))
        if met is not None:
            return met[0], f"{words}, on {met[1]}"
        if self._desk.snaps(event):
            along = self._desk.stepped(along)
        return (last[0] + along * ux, last[1] + along * uy), words

    def key(self, key: str) -> bool:
        """L steps through the angles that lines are held to, D asks for the distance from the edge pointed at, Escape
        takes such a thing back. False where the key means nothing here. Raises EditRefused."""
        match key:
            case "L":
                number = LOCKS_DEG.index(self._desk.angle_step_deg) if self._desk.angle_step_deg in LOCKS_DEG else 0
                self._desk.angle_step_deg = LOCKS_DEG[(number + 1) % len(LOCKS_DEG)]
                self._again()
                step = self._desk.angle_step_deg
                self.word = f"lines held to multiples of {step:g}°" if step else "lines free"
            case "D":
                edge = None if self._event is None else self._desk.edge_near(self._event)
                self.from_edges = self.from_edges.ask(edge)
            case "Escape" if self.from_edges:
                self.from_edges = FromEdges()
                self._again()
            case "Escape" if self.fixed_deg is not None:
                self.fixed_deg = None
                self._again()
            case _:
                return False
        return True

    def _again(self) -> None:
        if self._event is not None:
            self.move(self._event)

    def prompt(self, usual: str) -> str:
        """What a number would mean now."""
        return self.from_edges.prompt or (usual if self.points else "")

    def typed(self, text: str, shape: Shape) -> Point | None:
        """The next point as it was typed; None where that only narrowed it down: one distance from an edge, or an
        angle without a length. Raises EditRefused."""
        if self.from_edges.asked is not None:
            (away,) = read_lengths(self._desk, text, 1, f"the distance from {self.from_edges.asked.thing}")
            near = self._event.sheet_mm if self._event is not None else self.at
            self.from_edges = self.from_edges.told(away)
            self._again()
            return self.from_edges.settled(near)
        if shape == "rectangle":
            return self.typed_corner(text)
        told = parts(text)
        if self.points and len(told) == 2 and not told[0]:
            self.fixed_deg = read_turn(told[1])
            self._again()
            return None
        return self.typed_point(text)

    def add(self, point: Point | None = None) -> bool:
        """Take the point; False where it is the last one again."""
        point = self.at if point is None else point
        if self.points and hypot(point[0] - self.points[-1][0], point[1] - self.points[-1][1]) < 0.5:
            return False
        self.points = (*self.points, point)
        self.fixed_deg, self.from_edges = None, FromEdges()
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
        (size,) = read_lengths(self._desk, told[0], 1, "a length")
        turn = read_turn(told[1]) if len(told) == 2 else self.heading_deg
        x, y = self.points[-1]
        return x + size * cos(radians(turn)), y + size * sin(radians(turn))

    @property
    def heading_deg(self) -> float:
        """The direction that a typed length runs in: held to, else the pointer's, straight where it nearly is."""
        held = None if self._event is None else self._held_deg(self._event)
        if held is None:
            return straightened(self.points[-1], self.at)
        ahead = (self.at[0] - self.points[-1][0]) * cos(radians(held)) + (self.at[1] - self.points[-1][1]) * sin(
            radians(held)
        )
        return held if ahead >= 0 else held + 180.0

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
        ring = (*overlay.snap_mark(self.at, self.word, k), *self.from_edges.marks(self.at, k, show))
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


def read_turn(text: str) -> float:
    """An angle in degrees. Raises EditRefused."""
    try:
        return read_angle_deg(text)
    except UnitProblem as problem:
        raise EditRefused(str(problem)) from None


def nearest_turn(last: Point, at: Point, step_deg: float) -> float:
    """The multiple of an angle that is nearest to the direction from one point to another."""
    return round(degrees(atan2(at[1] - last[1], at[0] - last[0])) / step_deg) * step_deg


def straightened(last: Point, at: Point) -> float:
    """The direction from one point to another, level or upright where it nearly is; 0 where there is none."""
    if hypot(at[0] - last[0], at[1] - last[1]) < 1e-6:
        return 0.0
    turn = degrees(atan2(at[1] - last[1], at[0] - last[0]))
    straight = round(turn / 90.0) * 90.0
    return straight if abs(turn - straight) <= STRAIGHT_DEG else turn


def _near(a: Point, b: Point, reach: float) -> bool:
    return hypot(a[0] - b[0], a[1] - b[1]) <= reach
