"""Marks that tools draw over the sheet. Sizes are pixels of the screen, so they need the scale of the view."""

from math import atan2, degrees, hypot

from core.geometry.plane import offset
from core.model import Point
from core.pages.marks import AnyMark, AreaMark, CircleMark, LineMark, TextMark

HANDLE_PX = 4.0
TEXT_PX = 13.0


def area(points: tuple[Point, ...]) -> AnyMark:
    return AreaMark(style="preview", outline_mm=points)


def line(points: tuple[Point, ...], closed: bool = False) -> AnyMark:
    return LineMark(style="preview", points_mm=points, closed=closed)


def firm_line(points: tuple[Point, ...]) -> AnyMark:
    """A line that stands out: an edge that would be picked, a way that would be taken."""
    return LineMark(style="select", points_mm=points)


def handle(at: Point, mm_per_px: float) -> AnyMark:
    return CircleMark(style="preview:handle", centre_mm=at, radius_mm=HANDLE_PX * mm_per_px, filled=True)


def snap_mark(at: Point, word: str, mm_per_px: float) -> tuple[AnyMark, ...]:
    """A ring where the pointer snaps to; nothing where it does not."""
    if not word:
        return ()
    return (CircleMark(style="snap", centre_mm=at, radius_mm=6.0 * mm_per_px),)


def text(at: Point, words: str, mm_per_px: float, turn_deg: float = 0.0) -> AnyMark:
    return TextMark(
        style="text:accent", at_mm=at, text=words, size_mm=TEXT_PX * mm_per_px, anchor="middle", baseline="base",
        turn_deg=turn_deg, font="label_medium",
    )  # fmt: skip


def dimension(a: Point, b: Point, words: str, mm_per_px: float, aside_px: float = 7.0) -> tuple[AnyMark, ...]:
    """Words along a stretch, beside it, readable from below or from the right."""
    if hypot(b[0] - a[0], b[1] - a[1]) < 24.0 * mm_per_px:
        return ()
    turn = degrees(atan2(b[1] - a[1], b[0] - a[0]))
    if not -90.0 < turn <= 90.0:
        a, b = b, a
        turn = turn - 180.0 if turn > 0 else turn + 180.0
    beside = offset((a, b), aside_px * mm_per_px)
    middle = ((beside[0][0] + beside[1][0]) / 2, (beside[0][1] + beside[1][1]) / 2)
    return (text(middle, words, mm_per_px, turn),)


def measured(a: Point, b: Point, words: str, mm_per_px: float) -> tuple[AnyMark, ...]:
    """A thin line with its length."""
    return (LineMark(style="dimension", points_mm=(a, b)), *dimension(a, b, words, mm_per_px))


def rectangle(a: Point, b: Point) -> tuple[Point, ...]:
    """The four corners, counter-clockwise from the lower left."""
    left, right = sorted((a[0], b[0]))
    low, high = sorted((a[1], b[1]))
    return (left, low), (right, low), (right, high), (left, high)
