"""Underlays made true: scaled by two points and a typed distance, levelled by two points, straightened by four."""

from collections.abc import Callable

from app.tools import overlay
from app.tools.base import BaseTool
from app.tools.desk import Desk
from app.tools.events import KeyEvent, PointerEvent, ToolReply
from app.tools.pen import read_lengths
from core.edits.underlays import level_picture, scale_picture
from core.errors import EditRefused
from core.geometry.plane import distance_mm
from core.model import Picture, Point, find
from core.pages.marks import AnyMark

#: What is told once four corners are picked: they are in the order of `corners_of`, in mm of the surface.
Straighten = Callable[[tuple[Point, ...], float, float], object]


class _PickTool(BaseTool):
    """Picks points of one picture. Backspace takes the last one back, Escape too, then the tool."""

    needed = 2

    def __init__(self, desk: Desk, picture_id: str) -> None:
        super().__init__(desk)
        self.picture_id = picture_id
        #: On the sheet.
        self.points: tuple[Point, ...] = ()
        self.at: Point = (0.0, 0.0)
        self.k = 1.0

    @property
    def picture(self) -> Picture:
        found: Picture = find(self.desk.plan, "pictures", self.picture_id)
        return found

    def local(self) -> tuple[Point, ...]:
        """The points in mm of the picture's surface."""
        place = self.desk.place(self.picture.surface)
        return tuple(place.to_local(point) for point in self.points)

    def marks(self) -> tuple[AnyMark, ...]:
        shown = self.points if len(self.points) >= self.needed else (*self.points, self.at)
        found: list[AnyMark] = [overlay.handle(point, self.k) for point in self.points]
        if len(shown) > 1:
            found.append(overlay.line(shown, closed=len(shown) > 3))
        return tuple(found)

    def press(self, event: PointerEvent) -> ToolReply:
        # Nothing snaps: what is picked is in the photo, not on the sheet.
        self.at, self.k = event.sheet_mm, event.mm_per_pixel
        if event.button == "left" and event.kind != "double" and len(self.points) < self.needed:
            self.points = (*self.points, self.at)
            if len(self.points) == self.needed:
                return self.picked()
        return self.show()

    def move(self, event: PointerEvent) -> ToolReply:
        self.at, self.k = event.sheet_mm, event.mm_per_pixel
        return self.show()

    def picked(self) -> ToolReply:
        return self.show()

    def key(self, event: KeyEvent) -> ToolReply | None:
        if event.key in ("Escape", "Backspace") and self.points:
            self.points = self.points[:-1]
            return self.show()
        return ToolReply(done=True) if event.key == "Escape" else None


class ScaleUnderlayTool(_PickTool):
    """Two points of the picture whose distance the tape knows; what is typed makes the picture true."""

    @property
    def hint(self) -> str:
        words = ("Click a point of the picture whose distance to another one you have measured.",
                 "Click the other point.", "Type the distance that the tape says.")  # fmt: skip
        return words[len(self.points)]

    def show(self) -> ToolReply:
        if len(self.points) < 2:
            return ToolReply(overlay=self.marks(), word="first point" if not self.points else "second point")
        size = self.desk.show_mm(distance_mm(*self.points))
        return ToolReply(overlay=self.marks(), word=f"{size} so far; type the true distance", prompt="distance")

    def typed(self, text: str) -> ToolReply:
        if len(self.points) < 2:
            raise EditRefused("Click two points of the picture first.")
        p, q = self.local()
        (size_mm,) = read_lengths(self.desk, text, 1, "the distance")
        plan = scale_picture(self.desk.plan, self.picture_id, p, q, size_mm)
        return ToolReply(plan=plan, commit=f"Scale {self.picture.name}", select=(self.picture_id,), done=True)


class LevelUnderlayTool(_PickTool):
    """Two points that lie level or upright in the vehicle; the picture turns until they do on the sheet."""

    @property
    def hint(self) -> str:
        return "Click another point that is level with it, or upright over it." if self.points else (
            "Click a point of an edge that is level or upright in the vehicle."
        )  # fmt: skip

    def show(self) -> ToolReply:
        return ToolReply(overlay=self.marks(), word="level with" if self.points else "first point")

    def picked(self) -> ToolReply:
        p, q = self.local()
        self.points = self.points[:1]
        plan = level_picture(self.desk.plan, self.picture_id, p, q)
        return ToolReply(plan=plan, commit=f"Level {self.picture.name}", select=(self.picture_id,), done=True)


class StraightenTool(_PickTool):
    """Four corners of something rectangular in a photo taken aslant, and its width and height."""

    needed = 4

    def __init__(self, desk: Desk, picture_id: str, straighten: Straighten) -> None:
        super().__init__(desk, picture_id)
        self._straighten = straighten

    @property
    def hint(self) -> str:
        if len(self.points) < 4:
            return (
                "Click the four corners of something rectangular, one after the other round it: a door, a window. "
                f"{4 - len(self.points)} to go."
            )
        return "Type its width, Tab, its height, as the tape says."

    def show(self) -> ToolReply:
        if len(self.points) < 4:
            return ToolReply(overlay=self.marks(), word=f"corner {len(self.points) + 1} of 4")
        return ToolReply(overlay=self.marks(), word="type width, Tab, height", prompt="width ⇥ height")

    def typed(self, text: str) -> ToolReply:
        if len(self.points) < 4:
            raise EditRefused("Click four corners first.")
        told = read_lengths(self.desk, text, 2, "width and height")
        if len(told) != 2:
            raise EditRefused("Type two lengths: the width, then Tab, then the height.")
        wide, high = told
        if wide <= 0 or high <= 0:
            raise EditRefused("Both lengths must be more than 0.")
        self._straighten(corners_of(self.local()), wide, high)
        return ToolReply(done=True)


def corners_of(points: tuple[Point, ...]) -> tuple[Point, ...]:
    """Four points round a figure as upper left, upper right, lower right, lower left, whichever way round and wherever
    they began."""
    area = sum(p[0] * q[1] - q[0] * p[1] for p, q in zip(points, (*points[1:], points[0]), strict=True))
    clockwise = tuple(reversed(points)) if area > 0 else points
    first = max(range(len(clockwise)), key=lambda k: clockwise[k][1] - clockwise[k][0])
    return (*clockwise[first:], *clockwise[:first])
