"""A drawing larger than the paper, cut into tiles with overlap, crop marks and the name of each neighbour."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise, product
from math import ceil

from core.errors import LoomwrightError
from core.pages.frame import SMALL_MM, caution_block, frame, scale_bar
from core.pages.imprint import SIDES, brief_cautions
from core.pages.lettering import fitted, lines, text_mark, width_mm
from core.pages.marks import AnyMark, AreaMark, LineMark, Page, TextMark
from core.pages.paper import Imprint, Paper
from core.pages.transform import Rect, bounds, moved

#: Strip that two neighbours share, to be glued on.
OVERLAP_MM = 10.0
MOST_TILES = 400
#: Where in its free room the grid of tiles is tried, and pieces of slanting lines that are looked at.
SHARES = (0.0, 0.25, 0.5, 0.75, 1.0)
PIECE_MM = 20.0
#: Words at the foot keep off the crop marks.
CROP_MM = 3.0
#: Room for the words under the picture of all tiles.
KEY_WORDS_MM = 12.0
HOW_TO_GLUE = (
    "Cut each tile at its crop marks on the right and below, lay the next one over the dashed line and glue it there. "
    "Measure the bar of 100 mm on every sheet before you cut."
)
#: Kept free at the foot for the bar and the words.
FOOT_MM = 18.0


def tiled(
    marks: Sequence[AnyMark], on: Paper, imprint: Imprint, title: str, skip_empty: bool = False
) -> tuple[Page, ...]:
    """Pages row by row from the upper left; the tile is named by its row letter and column number, "B3".

    The first page shows how they lie. Empty tiles can be left out, and those that show only what their neighbours show
    too; the grid lies so that the fewest are needed. The names of the others stay as they are.

    Raises LoomwrightError where it would be more than `MOST_TILES` pages.
    """
    box = bounds(marks)
    if box is None:
        return ()
    window = _window(on, imprint)
    across, down = check_tiles(box.width, box.height, on, imprint, title)
    step = (window.width - OVERLAP_MM, window.height - OVERLAP_MM)
    slack = (across * step[0] + OVERLAP_MM - box.width, down * step[1] + OVERLAP_MM - box.height)
    start, wanted = _laid(_inked(marks), box, step, (across, down), slack)
    extents = [(mark, bounds([mark])) for mark in marks]
    tiles = []
    for row in range(down):
        for column in range(across):
            if skip_empty and (row, column) not in wanted:
                continue
            left, top = start[0] + column * step[0], start[1] - row * step[1]
            view = Rect(left, top - window.height, left + window.width, top)
            seen = [mark for mark, extent in extents if extent is None or _meet(extent, view)]
            tiles.append((_Tile(row, column, row + 1 < down, column + 1 < across), view, seen))
    pages = [
        Page(
            width_mm=on.width_mm,
            height_mm=on.height_mm,
            marks=(
                *moved(seen, 1.0, window.left - view.left, window.bottom - view.bottom),
                *_border(on, window, imprint, title, tile, f"page {number} of {len(tiles) + 1}"),
            ),
            title=f"{title} – {imprint.plan}",
        )
        for number, (tile, view, seen) in enumerate(tiles, start=2)
    ]
    return (_key(marks, on, imprint, title, [(tile, view) for tile, view, _ in tiles], len(pages) + 1), *pages)


def _inked(marks: Sequence[AnyMark]) -> list[Rect]:
    """Boxes of everything that leaves ink, lines in short pieces: the box of a long slanting line is mostly white."""
    found: list[Rect] = []
    for mark in marks:
        if isinstance(mark, LineMark) and len(mark.points_mm) > 1:
            points = [*mark.points_mm, mark.points_mm[0]] if mark.closed else list(mark.points_mm)
            for (x0, y0), (x1, y1) in pairwise(points):
                count = max(1, ceil(min(abs(x1 - x0), abs(y1 - y0)) / PIECE_MM))
                xs = [x0 + (x1 - x0) * number / count for number in range(count + 1)]
                ys = [y0 + (y1 - y0) * number / count for number in range(count + 1)]
                found += [
                    Rect(min(a, c), min(b, d), max(a, c), max(b, d))
                    for (a, b), (c, d) in pairwise(zip(xs, ys, strict=True))
                ]
        elif not (isinstance(mark, AreaMark) and mark.style == "blank"):
            extent = bounds([mark])
            if extent is not None:
                found.append(extent)
    return found


def _laid(
    inked: Sequence[Rect], box: Rect, step: tuple[float, float], count: tuple[int, int], slack: tuple[float, float]
) -> tuple[tuple[float, float], set[tuple[int, int]]]:
    """The upper left corner of the grid that needs the fewest tiles, and the (row, column) of those.

    `step` and `count` are across and down; `slack` is how much larger the grid is than the drawing in `box`. What lies
    in the strip that two tiles share counts for the one to the right or below.
    """
    best: tuple[int, float] | None = None
    result = ((box.left, box.top), set[tuple[int, int]]())
    for share_x, share_y in product(SHARES, SHARES):
        left, top = box.left - share_x * slack[0], box.top + share_y * slack[1]
        wanted: set[tuple[int, int]] = set()
        for ink in inked:
            columns = [min(max(int((x - left) / step[0]), 0), count[0] - 1) for x in (ink.left, ink.right)]
            rows = [min(max(int((top - y) / step[1]), 0), count[1] - 1) for y in (ink.top, ink.bottom)]
            if columns[0] == columns[1] and rows[0] == rows[1]:
                wanted.add((rows[0], columns[0]))
            else:
                wanted.update(product(range(rows[0], rows[1] + 1), range(columns[0], columns[1] + 1)))
        # Of equals the one that has the drawing in the middle.
        rank = (len(wanted), abs(share_x - 0.5) + abs(share_y - 0.5))
        if best is None or rank < best:
            best, result = rank, ((left, top), wanted)
    return result


def _key(
    marks: Sequence[AnyMark], on: Paper, imprint: Imprint, title: str, tiles: "Sequence[tuple[_Tile, Rect]]", count: int
) -> Page:
    """The first page: the whole drawing small, with the tiles over it and their names, how to glue them, cautions."""
    around = frame(on, imprint, title, 1, count)
    left = min(view.left for _, view in tiles)
    right = max(view.right for _, view in tiles)
    low, high = min(view.bottom for _, view in tiles), max(view.top for _, view in tiles)
    area = Rect(around.left, around.bottom + KEY_WORDS_MM, around.right, around.top - 4.0)
    share = min(area.width / (right - left), area.height / (high - low))
    dx = area.left + (area.width - (right - left) * share) / 2 - left * share
    dy = area.bottom + (area.height - (high - low) * share) / 2 - low * share
    # Words would be too small to read, and the names of the tiles are wanted.
    small = moved([mark for mark in marks if not isinstance(mark, TextMark)], share, dx, dy)
    over: list[AnyMark] = []
    for tile, view in tiles:
        x0, y0, x1, y1 = (view.left * share + dx, view.bottom * share + dy, view.right * share + dx,
                          view.top * share + dy)  # fmt: skip
        over.append(LineMark(style="rule:thin", points_mm=((x0, y0), (x1, y0), (x1, y1), (x0, y1)), closed=True))
        size = min(6.0, max(2.2, (y1 - y0) * 0.3))
        name = tile_name(tile.row, tile.column)
        half = width_mm(name, "label_bold", size) / 2 + 0.5
        x, y = (x0 + x1) / 2, (y0 + y1) / 2
        plate = ((x - half, y - size * 0.6), (x + half, y - size * 0.6), (x + half, y + size * 0.6),
                 (x - half, y + size * 0.6))  # fmt: skip
        over.append(AreaMark(style="blank", outline_mm=plate))
        over.append(text_mark(x, y - size * 0.35, name, size, font="label_bold", anchor="middle"))
    words = lines(HOW_TO_GLUE, "label_medium", 3.4, area.width)
    told = [
        text_mark(area.left, around.bottom + KEY_WORDS_MM - 5.0 - number * 4.4, line, 3.4, font="label_medium")
        for number, line in enumerate(words[:2])
    ]
    return Page(
        width_mm=on.width_mm,
        height_mm=on.height_mm,
        marks=(*small, *over, *told, *around.marks),
        title=f"{title} – {imprint.plan}",
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
    _, foot = caution_block(brief_cautions(imprint.cautions), left + CROP_MM, on.margin_mm + FOOT_MM, right)
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
    marks += caution_block(brief_cautions(imprint.cautions), window.left + CROP_MM, foot + FOOT_MM, window.right)[0]
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
