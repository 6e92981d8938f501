"""A drawing larger than the paper, cut into tiles with overlap, crop marks and the name of each neighbour."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from core.errors import LoomwrightError
from core.pages.frame import SMALL_MM, caution_block, scale_bar
from core.pages.imprint import SIDES
from core.pages.lettering import fitted, text_mark
from core.pages.marks import AnyMark, AreaMark, LineMark, Page
from core.pages.paper import Imprint, Paper
from core.pages.transform import Rect, bounds, moved

#: Strip that two neighbours share, to be glued on.
OVERLAP_MM = 10.0
MOST_TILES = 400
#: Kept free at the foot for the bar and the words.
FOOT_MM = 18.0


def tiled(
    marks: Sequence[AnyMark], on: Paper, imprint: Imprint, title: str, skip_empty: bool = False
) -> tuple[Page, ...]:
    """Pages row by row from the upper left; the tile is named by its row letter and column number, "B3".

    Empty tiles can be left out; the names of the others stay as they are.

    Raises LoomwrightError where it would be more than `MOST_TILES` pages.
    """
    box = bounds(marks)
    if box is None:
        return ()
    window = _window(on, imprint)
    across, down = check_tiles(box.width, box.height, on, imprint, title)
    extents = [(mark, bounds([mark])) for mark in marks]
    tiles = []
    for row in range(down):
        for column in range(across):
            left = box.left + column * (window.width - OVERLAP_MM)
            top = box.top - row * (window.height - OVERLAP_MM)
            view = Rect(left, top - window.height, left + window.width, top)
            seen = [mark for mark, extent in extents if extent is None or _meet(extent, view)]
            if seen or not skip_empty:
                tiles.append((_Tile(row, column, row + 1 < down, column + 1 < across), view, seen))
    return tuple(
        Page(
            width_mm=on.width_mm,
            height_mm=on.height_mm,
            marks=(
                *moved(seen, 1.0, window.left - view.left, window.bottom - view.bottom),
                *_border(on, window, imprint, title, tile, f"page {number} of {len(tiles)}"),
            ),
            title=f"{title} – {imprint.plan}",
        )
        for number, (tile, view, seen) in enumerate(tiles, start=1)
    )


@dataclass(frozen=True)
class _Tile:
    """Where a tile is in the grid, and whether others come below it and to its right."""

    row: int
    column: int
    goes_down: bool
    goes_right: bool


def check_tiles(width: float, height: float, on: Paper, imprint: Imprint, title: str) -> tuple[int, int]:
    """Columns and rows of tiles for a drawing of this size. Raises LoomwrightError for more than `MOST_TILES`."""
    window = _window(on, imprint)
    across, down = _count(width, window.width), _count(height, window.height)
    if across * down > MOST_TILES:
        raise LoomwrightError(
            f"{title} would take {across * down:,} pages of {on.name}, more than {MOST_TILES}. Choose a coarser scale."
        )
    return across, down


def _window(on: Paper, imprint: Imprint) -> Rect:
    """The part of the paper that shows the drawing."""
    left, right = on.margin_mm, on.width_mm - on.margin_mm
    _, foot = caution_block(imprint.cautions, left, on.margin_mm + FOOT_MM, right)
    return Rect(left, foot, right, on.height_mm - on.margin_mm)


def _count(size: float, window: float) -> int:
    return max(1, ceil((size - OVERLAP_MM) / (window - OVERLAP_MM)))


def _meet(a: Rect, b: Rect) -> bool:
    return a.left <= b.right and a.right >= b.left and a.bottom <= b.top and a.top >= b.bottom


def tile_name(row: int, column: int) -> str:
    letters = ""
    number = row + 1
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return f"{letters}{column + 1}"


def _border(on: Paper, window: Rect, imprint: Imprint, title: str, tile: _Tile, count: str) -> list[AnyMark]:
    """White margins (a drawing is not clipped by its marks), crop marks, where to glue, cautions, the bar."""
    marks: list[AnyMark] = list(_margins(on, window))
    for x in (window.left, window.right):
        for y, outward in ((window.bottom, -1), (window.top, 1)):
            sideways = -1 if x == window.left else 1
            marks.append(LineMark(style="dimension", points_mm=((x + sideways, y), (x + sideways * 6, y))))
            marks.append(LineMark(style="dimension", points_mm=((x, y + outward), (x, y + outward * 6))))
    if tile.goes_right:
        x = window.right - OVERLAP_MM
        marks.append(LineMark(style="seam", points_mm=((x, window.bottom), (x, window.top))))
    if tile.goes_down:
        y = window.bottom + OVERLAP_MM
        marks.append(LineMark(style="seam", points_mm=((window.left, y), (window.right, y))))
    foot = on.margin_mm
    marks += scale_bar(window.left, foot + 4.5, "Glue the next tile on at the dashed lines.")
    name = tile_name(tile.row, tile.column)
    words = f"{title} · {imprint.plan} · revision {imprint.revision or '–'} · {imprint.date} · {count} · {SIDES}"
    marks += caution_block(imprint.cautions, window.left, foot + FOOT_MM, window.right)[0]
    marks.append(text_mark(window.right, foot + 8.6, f"Tile {name}", 5.0, font="label_bold", anchor="right"))
    words = fitted(words, "label", SMALL_MM, window.width)
    marks.append(text_mark(window.left, foot + 0.6, words, SMALL_MM, style="text:muted"))
    return marks


def _margins(on: Paper, window: Rect) -> list[AnyMark]:
    def blank(left: float, bottom: float, right: float, top: float) -> AreaMark:
        return AreaMark(style="blank", outline_mm=((left, bottom), (right, bottom), (right, top), (left, top)))

    return [
        blank(0, 0, on.width_mm, window.bottom),
        blank(0, window.top, on.width_mm, on.height_mm),
        blank(0, window.bottom, window.left, window.top),
        blank(window.right, window.bottom, on.width_mm, window.top),
    ]
