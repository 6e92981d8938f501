"""Draw an outline and what becomes of it: floor, cabinet, wheel arch, window, keep-out zone, panel.

A rectangle by two corners (drag, or click twice, or click and type width Tab depth), or any shape corner by corner
(R changes between the two; a click on the first corner, a double click or Return closes it). What stands up then asks
for its height. All of it can be typed at once, as it stands on the sheet of measurements: how far its corner is from
the side and the edge of the surface that are nearest to the pointer, width, depth, height. The tool stays in hand for
the next one.
"""

from collections.abc import Callable
from dataclasses import dataclass

from app.tools import overlay
from app.tools.base import BaseTool
from app.tools.desk import Desk
from app.tools.events import KeyEvent, PointerEvent, ToolReply
from app.tools.pen import Pen, Shape, parts, read_lengths
from app.tools.place import distances
from core.edits import body
from core.errors import EditRefused
from core.geometry.edges import outline_of
from core.model import Outline, Plan, Point

#: (plan, surface or "", outline in its mm, height) -> plan and new id.
Make = Callable[[Plan, str, Outline, float], tuple[Plan, str]]


@dataclass(frozen=True)
class Making:
    """What an outline becomes. `height_mm` None: it asks for none. `bare`: it lies on the sheet, on no surface."""

    label: str
    word: str
    make: Make
    height_mm: float | None = None
    bare: bool = False


def _floor(plan: Plan, _surface: str, outline: Outline, _height: float) -> tuple[Plan, str]:
    return body.draw_floor(plan, outline)


def _box(kind: str) -> Make:
    def make(plan: Plan, surface: str, outline: Outline, height: float) -> tuple[Plan, str]:
        return body.draw_box(plan, surface, outline, height, kind=kind)

    return make


def _opening(kind: str) -> Make:
    def make(plan: Plan, surface: str, outline: Outline, _height: float) -> tuple[Plan, str]:
        return body.draw_opening(plan, surface, outline, kind=kind)

    return make


def _zone(plan: Plan, surface: str, outline: Outline, _height: float) -> tuple[Plan, str]:
    return body.draw_zone(plan, surface, outline, "hot")


def _panel(plan: Plan, surface: str, outline: Outline, _height: float) -> tuple[Plan, str]:
    return body.draw_panel(plan, surface, outline)


FLOOR = Making("Draw floor", "floor", _floor, bare=True)
CABINET = Making("Draw cabinet", "cabinet", _box("cabinet"), height_mm=900.0)
WHEEL_ARCH = Making("Draw wheel arch", "wheel arch", _box("wheel_arch"), height_mm=350.0)
WINDOW = Making("Draw window", "window", _opening("window"))
DOOR = Making("Draw door", "door", _opening("door"))
ZONE = Making("Draw keep-out zone", "keep-out zone", _zone)
PANEL = Making("Draw panel", "panel", _panel)

#: Heights last used, so that four cabinets in a row need one typing.
_heights: dict[str, float] = {}


class OutlineTool(BaseTool):
    """Draws one outline after another kind of thing, see `Making`."""

    def __init__(self, desk: Desk, making: Making, shape: Shape = "rectangle") -> None:
        super().__init__(desk)
        self._making = making
        self._shape: Shape = shape
        self._pen = Pen(desk)
        self._pressed: Point | None = None
        #: The finished outline on the sheet while its height is asked for.
        self._finished: Outline | None = None

    @property
    def hint(self) -> str:
        what = self._making.word
        if self._finished is not None:
            return f"Type the height of the {what}, or press Return for {self.desk.show_mm(self._height)}."
        if self._pen.from_edges.prompt:
            return f"Type the distance {self._pen.from_edges.prompt}."
        if self._shape == "rectangle":
            more = ", Tab, height" if self._making.height_mm is not None else ""
            told = f"Drag from corner to corner, or click one corner and type width, Tab, depth{more}."
            if not self._making.bare and not self._pen.points:
                told += " Or point near a corner and type its distances from both edges first."
            return f"{told} R: any shape. D: distance from the edge pointed at."
        return (
            "Click corner by corner, or type length, Tab, angle. Return closes the outline. R: rectangle. "
            "L: hold the angle. D: distance from the edge pointed at."
        )

    @property
    def _height(self) -> float:
        return _heights.get(self._making.label, self._making.height_mm or 0.0)

    @property
    def _sizes(self) -> str:
        return "width ⇥ depth" if self._making.height_mm is None else "width ⇥ depth ⇥ height"

    @property
    def _takes_all(self) -> bool:
        """Whether a number would be the distance of the first corner from the side of the surface pointed at."""
        begun = self._pen.points or self._pen.from_edges
        return self._shape == "rectangle" and not self._making.bare and not begun and self._spot is not None

    @property
    def _spot(self) -> tuple[str, Point] | None:
        return self.desk.spot(self._pen.at) if self._pen.is_pointing else None

    def show(self) -> ToolReply:
        if self._finished is not None:
            k = self._pen.mm_per_px
            middle = _middle(self._finished)
            words = f"height {self.desk.show_mm(self._height)}?"
            marks = (overlay.area(self._finished), overlay.text(middle, words, k))
            return ToolReply(overlay=marks, prompt="height", word="height, Return keeps the one shown")
        closing = self._shape == "free" and self._pen.on_first
        word = "close the outline" if closing else self._pen.word
        prompt = self._pen.prompt(self._sizes if self._shape == "rectangle" else "length ⇥ angle")
        if not prompt and self._takes_all:
            prompt = f"from the side ⇥ from the edge ⇥ {self._sizes}"
        return ToolReply(overlay=self._pen.marks(self._shape, True), word=word, prompt=prompt)

    def press(self, event: PointerEvent) -> ToolReply:
        if event.button != "left":
            return self.show()
        if self._finished is not None:
            return self._commit(self._height)
        self._pen.move(event)
        if event.kind == "double":
            return self._close() if self._shape == "free" else self.show()
        if self._shape == "rectangle":
            if self._pen.points:
                return self._corner(self._pen.at)
            self._pen.add()
            self._pressed = event.pixel
            return self.show()
        if self._pen.on_first:
            return self._close()
        self._pen.add()
        return self.show()

    def move(self, event: PointerEvent) -> ToolReply:
        if self._finished is None:
            self._pen.move(event)
        return self.show()

    def release(self, event: PointerEvent) -> ToolReply:
        pressed, self._pressed = self._pressed, None
        if pressed is not None and self._pen.points and self._finished is None:
            dragged = abs(event.pixel[0] - pressed[0]) > 8 and abs(event.pixel[1] - pressed[1]) > 8
            if dragged:
                self._pen.move(event)
                return self._corner(self._pen.at)
        return self.show()

    def key(self, event: KeyEvent) -> ToolReply | None:
        if self._finished is None and self._pen.key(event.key):
            return self.show()
        match event.key:
            case "Return" if self._finished is not None:
                return self._commit(self._height)
            case "Return" if self._pen.points and self._shape == "free":
                return self._close()
            case "Escape" if self._finished is not None:
                self._finished = None
                self._pen.points = ()
                return self.show()
            case "Escape" if self._pen.points:
                self._pen.points = ()
                return self.show()
            case "Backspace" if self._pen.points:
                self._pen.back()
                return self.show()
            case "R" if len(self._pen.points) <= 1 and self._finished is None:
                self._shape = "free" if self._shape == "rectangle" else "rectangle"
                return self.show()
            case _:
                return None

    def typed(self, text: str) -> ToolReply:
        if self._finished is not None:
            return self._commit(read_lengths(self.desk, text, 1, "a height")[0])
        if self._takes_all:
            return self._typed_all(text)
        sizes = parts(text)
        height: float | None = None
        if self._shape == "rectangle" and len(sizes) == 3 and self._making.height_mm is not None:
            text = "\t".join(sizes[:2])
            height = read_lengths(self.desk, sizes[2], 1, "a height")[0]
        point = self._pen.typed(text, self._shape)
        if point is None:
            return self.show()
        # The pointer still is where the last click was; what was typed counts.
        self._pen.at = point
        if self._shape == "rectangle" and self._pen.points:
            if self._is_thin(point):
                raise EditRefused(f"A {self._making.word} needs a width and a depth above 0 mm; type both, with Tab.")
            return self._so_high(self._corner(point), height)
        if self._pen.on_first:
            return self._close()
        self._pen.add()
        return self.show()

    def _typed_all(self, text: str) -> ToolReply:
        """The first corner by its distances from the nearest side and edge of the surface; then, where they are typed
        too, width and depth, away from there, and the height."""
        spot = self._spot
        assert spot is not None
        most = 4 if self._making.height_mm is None else 5
        told = read_lengths(self.desk, text, most, "distances from side and edge, width and depth, with Tab between")
        surface, at = spot
        far = distances(outline_of(self.desk.surface(surface)), at)
        first = far.point(told[0], told[1] if len(told) > 1 else far.level_mm)
        place, inward = self.desk.place(surface), (-1.0 if far.right else 1.0, -1.0 if far.top else 1.0)
        if len(told) < 4:
            if len(told) == 3:
                raise EditRefused("Type the depth too, with Tab after the width.")
            self._pen.add(place.to_sheet(first))
            # What is typed next goes away from the edges, until the pointer says otherwise.
            self._pen.at = place.to_sheet((first[0] + inward[0], first[1] + inward[1]))
            return self.show()
        if min(told[2:4]) < 1.0:
            raise EditRefused(f"A {self._making.word} needs a width and a depth above 0 mm.")
        across = (first[0] + inward[0] * told[2], first[1] + inward[1] * told[3])
        corners = tuple(map(place.to_sheet, overlay.rectangle(first, across)))
        return self._so_high(self._outlined(corners), told[4] if len(told) == 5 else None)

    def _so_high(self, reply: ToolReply, height: float | None) -> ToolReply:
        """Committed at once where the height was typed with the rest."""
        return reply if height is None or self._finished is None else self._commit(height)

    def _corner(self, corner: Point) -> ToolReply:
        if self._is_thin(corner):
            return self.show()
        return self._outlined(overlay.rectangle(self._pen.points[0], corner))

    def _is_thin(self, corner: Point) -> bool:
        first = self._pen.points[0]
        return abs(first[0] - corner[0]) < 1.0 or abs(first[1] - corner[1]) < 1.0

    def _close(self) -> ToolReply:
        if len(self._pen.points) < 3:
            raise EditRefused(f"The outline of a {self._making.word} needs at least three corners.")
        return self._outlined(self._pen.points)

    def _outlined(self, on_sheet: Outline) -> ToolReply:
        height = self._height
        # Refused now rather than after the height was typed; the corners stay, to be drawn on from.
        plan, new = self._made(on_sheet, height)
        if self._making.height_mm is None:
            return self._done(plan, new)
        self._finished = on_sheet
        return self.show()

    def _commit(self, height: float) -> ToolReply:
        assert self._finished is not None
        plan, new = self._made(self._finished, height)
        _heights[self._making.label] = height
        return self._done(plan, new)

    def _done(self, plan: Plan, new: str) -> ToolReply:
        self._finished, self._pen.points = None, ()
        return ToolReply(plan=plan, commit=self._making.label, select=(new,), done=self._making.bare)

    def _made(self, on_sheet: Outline, height: float) -> tuple[Plan, str]:
        if self._making.bare:
            return self._making.make(self.desk.plan, "", on_sheet, height)
        surface = self._surface_under(on_sheet)
        place = self.desk.place(surface)
        return self._making.make(self.desk.plan, surface, tuple(map(place.to_local, on_sheet)), height)

    def _surface_under(self, outline: Outline) -> str:
        """The surface under the middle of the outline; where it lies beside all surfaces, that of its first corner."""
        for point in (_middle(outline), *outline):
            found = self.desk.spot(point)
            if found is not None:
                return found[0]
        raise EditRefused(f"A {self._making.word} is drawn on a surface; here the sheet is empty.")


def _middle(outline: Outline) -> Point:
    xs, ys = [x for x, _ in outline], [y for _, y in outline]
    return (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
