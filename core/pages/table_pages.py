"""A table flowing over pages: repeated head, wrapped cells, tick boxes, swatches that are also words.

Made to be read on a dirty bench: what matters stands in capitals of 3 mm and more, rows are ruled, nothing is told by
colour alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import msgspec

from core.pages.leaves import Leaf, blank, bound
from core.pages.lettering import Anchor, Font, fitted, lines, text_mark, width_mm
from core.pages.marks import AnyMark, AreaMark, LineMark, Page
from core.pages.paper import Imprint, Paper
from core.tables.table import NOTHING, Cell, Column, Swatch, Table, shown

BODY_MM = 3.4
#: The em whose capitals and digits are 3 mm high.
IMPORTANT_MM = 4.3
HEAD_MM = 2.8
UNIT_MM = 2.4
NOTE_MM = 2.9
HEADING_MM = 3.6
HEADING_ROW_MM = HEADING_MM * 2.2
PADDING_MM = 1.7
GAP_MM = 2.4
BOX_MM = 4.2
SWATCH_MM = (8.0, 2.6)
MOST_LINES = 7
#: More letters than ever fit into one cell; measuring a note of 20,000 would take long.
MOST_LETTERS = 600
#: Height of the title of one table among several, its distance from the table above, and what a head takes.
TITLE_MM = 7.0
TITLE_GAP_MM = 5.0
HEAD_ROOM_MM = 12.0
#: Rows that stay with the heading above them, and that go over to the next page with notes that have no room there;
#: more notes than `MOST_FOOT_MM` are not kept together.
KEPT_ROWS = 2
MOST_FOOT_MM = 60.0
#: Line distance in ems.
LEADING = 1.22
#: Said on the next page behind the heading of a group of rows that goes on there.
CONTINUED = " (continued)"
#: Titles of columns up to this many letters stand on one line ("from A").
SHORT_TITLE = 7


@dataclass(frozen=True)
class _Spot:
    """Where a column stands: its left and right end."""

    column: Column
    left: float
    right: float

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def size(self) -> float:
        return IMPORTANT_MM if self.column.important else BODY_MM

    @property
    def font(self) -> Font:
        return "label_bold" if self.column.important else "label_medium"


@dataclass(frozen=True)
class _Row:
    """A row set in lines: its height, and what stands in every column."""

    height: float
    cells: tuple[tuple[str, ...], ...]
    values: tuple[Cell, ...]
    bold: bool = False
    heading: str = ""


@dataclass
class _Sheet:
    """A page being filled from the top down to `bottom`."""

    y: float
    bottom: float
    marks: list[AnyMark] = field(default_factory=list)


def table_pages(table: Table, paper: Paper, imprint: Imprint) -> tuple[Page, ...]:
    """The table on as many pages as it takes, numbered "page x of y". An empty table gives one page that says so."""
    return bound(table_leaves(table, paper, imprint), imprint)


def table_leaves(table: Table, paper: Paper, imprint: Imprint, follows: bool = False) -> tuple[Leaf, ...]:
    """The same before the pages are numbered, to be bound with others."""
    return flowing_leaves(table.title, (table,), paper, imprint, follows)


@dataclass(frozen=True)
class _Stack:
    """The pages being filled. The first tells the cautions in full, unless it `follows` one that did."""

    sheets: list[_Sheet]
    top: float
    full_bottom: float
    brief_bottom: float
    follows: bool

    def is_brief(self, number: int) -> bool:
        return self.follows or number > 0

    def another(self) -> _Sheet:
        bottom = self.brief_bottom if self.is_brief(len(self.sheets)) else self.full_bottom
        self.sheets.append(_Sheet(y=self.top - 1.5, bottom=bottom + 1))
        return self.sheets[-1]


def flowing_leaves(
    title: str, tables: Sequence[Table], paper: Paper, imprint: Imprint, follows: bool = False
) -> tuple[Leaf, ...]:
    """Tables one after the other on as few pages as it takes; of several every one stands under its own title.

    `follows` says that they are bound behind a page with all cautions.
    """
    free = blank(paper, imprint, title)
    brief = blank(paper, imprint, title, brief=True)
    stack = _Stack([], free.top, free.bottom, brief.bottom, follows)
    for table in map(_without_empty_columns, tables):
        spots = _columns(table, free.left, free.right)
        _flow(stack, table, spots, table.title if len(tables) > 1 else "")
    return tuple(
        Leaf(paper, title, tuple(sheet.marks), brief=stack.is_brief(number))
        for number, sheet in enumerate(stack.sheets)
    )


def _without_empty_columns(table: Table) -> Table:
    """On paper a column that says nothing anywhere only takes room from the others."""
    kept = [
        index
        for index, column in enumerate(table.columns)
        if column.kind == "tick" or not table.rows or any(row[index] not in (None, "") for row in table.rows)
    ]
    if len(kept) == len(table.columns):
        return table
    return msgspec.structs.replace(
        table,
        columns=tuple(table.columns[index] for index in kept),
        rows=tuple(tuple(row[index] for index in kept) for row in table.rows),
        totals=tuple(tuple(row[index] for index in kept) for row in table.totals),
    )


def _columns(table: Table, left: float, right: float) -> tuple[_Spot, ...]:
    """Widths: what short columns need, the rest among the columns that can wrap, by weight."""
    needs = [_need(table, index, column) for index, column in enumerate(table.columns)]
    free = right - left - GAP_MM * (len(needs) - 1)
    widths = [need if not _wraps(column) else 0.0 for need, column in zip(needs, table.columns, strict=True)]
    wrapping = [index for index, column in enumerate(table.columns) if _wraps(column)]
    rest = free - sum(widths)
    # A column that needs less than its share gives the difference to the others.
    while wrapping:
        weights = sum(table.columns[index].weight for index in wrapping)
        content = [i for i in wrapping if needs[i] <= rest * table.columns[i].weight / weights]
        if not content:
            for index in wrapping:
                widths[index] = max(rest * table.columns[index].weight / weights, 8.0)
            break
        for index in content:
            widths[index] = needs[index]
            rest -= needs[index]
            wrapping.remove(index)
    spare = free - sum(widths)
    if spare > 0:
        # Room to breathe goes to the words, not to the numbers.
        words = [i for i, column in enumerate(table.columns) if _wraps(column)] or list(range(len(widths)))
        for index in words:
            widths[index] += spare / len(words)
    else:
        squeeze = free / sum(widths)
        widths = [width * squeeze for width in widths]
    spots, x = [], left
    for column, width in zip(table.columns, widths, strict=True):
        spots.append(_Spot(column, x, x + width))
        x += width + GAP_MM
    return tuple(spots)


def _wraps(column: Column) -> bool:
    return column.kind == "text" and column.weight > 1.0


def _need(table: Table, index: int, column: Column) -> float:
    """Width of the widest cell on one line, at least that of the head's longest word."""
    spot = _Spot(column, 0, 0)
    title = [column.title] if len(column.title) <= SHORT_TITLE else column.title.split()
    head = max((width_mm(word, "label_bold", HEAD_MM) for word in title), default=0.0)
    if column.kind == "tick":
        return max(BOX_MM, head) + 0.3
    cells = (row[index] for row in (*table.rows, *table.totals))
    texts = {shown(cell, column.kind)[:MOST_LETTERS] for cell in cells}
    widest = max((width_mm(text, "label_bold" if column.important else "label_medium", spot.size) for text in texts),
                 default=0.0)  # fmt: skip
    if column.kind == "swatch":
        widest += SWATCH_MM[0] + 1.6
    return max(widest, head, 6.0) + 0.3


def _flow(stack: _Stack, table: Table, spots: Sequence[_Spot], title: str) -> None:
    """Fill the last of the sheets and as many new ones as it takes."""
    rows = _rows(table, spots)
    # The head and the first two rows stay together.
    needed = TITLE_MM + HEAD_ROOM_MM + sum(row.height for row in rows[:2])
    sheet = stack.sheets[-1] if stack.sheets else stack.another()
    if len(stack.sheets) == 1 and not sheet.marks:
        _begin(sheet, spots, sheet.y, title)
    elif sheet.y - TITLE_GAP_MM - needed > sheet.bottom:
        _begin(sheet, spots, sheet.y - TITLE_GAP_MM, title)
    else:
        sheet = _start(stack, spots, title)
    width = spots[-1].right - spots[0].left
    notes = [lines(note, "text", NOTE_MM, width) for note in table.notes]
    foot = sum(_note_height(broken) for broken in notes)
    tail = _tail(rows)
    group, drawn = "", 0
    for index, row in enumerate(rows):
        needed = _kept_mm(rows, index)
        if index == tail and foot < MOST_FOOT_MM:
            # Notes never stand alone on a page.
            needed = max(needed, sum(row.height for row in rows[index:]) + foot)
        if sheet.y - needed < sheet.bottom and drawn:
            sheet, drawn = _start(stack, spots, title), 0
            if group and not row.heading and not row.bold:
                _draw_heading(sheet, group, CONTINUED, spots)
        _draw(sheet, row, spots)
        group, drawn = row.heading or group, drawn + 1
    if not table.rows:
        sheet.marks.append(text_mark(spots[0].left, sheet.y - 6, "Nothing to list.", BODY_MM, style="text:muted"))
        sheet.y -= 9
    for broken in notes:
        if sheet.y - _note_height(broken) < sheet.bottom:
            sheet = stack.another()
        sheet.y -= 2.0
        for line in broken:
            sheet.y -= NOTE_MM * 1.35
            sheet.marks.append(text_mark(spots[0].left, sheet.y, line, NOTE_MM, font="text", style="text:muted"))


def _tail(rows: Sequence[_Row]) -> int:
    """The first of the rows that stay with the notes; not one without the heading above it."""
    tail = max(0, len(rows) - KEPT_ROWS)
    while tail > 0 and rows[tail - 1].heading:
        tail -= 1
    return tail


def _kept_mm(rows: Sequence[_Row], index: int) -> float:
    """What a row takes with those that must not be parted from it: a heading keeps the first rows of its group."""
    needed, below = rows[index].height, index + 1
    if not rows[index].heading:
        return needed
    while below < len(rows) and rows[below].heading:
        needed, below = needed + rows[below].height, below + 1
    for row in rows[below : below + KEPT_ROWS]:
        if row.heading or row.bold:
            break
        needed += row.height
    return needed


def _note_height(broken: Sequence[str]) -> float:
    """What a note takes below a table, with its distance."""
    return 2.0 + len(broken) * NOTE_MM * 1.35


def _start(stack: _Stack, spots: Sequence[_Spot], title: str) -> _Sheet:
    """A new page with the head of the table."""
    sheet = stack.another()
    _begin(sheet, spots, sheet.y, title)
    return sheet


def _begin(sheet: _Sheet, spots: Sequence[_Spot], y: float, title: str) -> None:
    """The title, where the table has one of its own, and its head from `y` down."""
    sheet.y = y
    if title:
        sheet.y -= TITLE_MM
        sheet.marks.append(text_mark(spots[0].left, sheet.y + 1.2, title, HEADING_MM + 0.8, font="label_bold"))
    broken = [lines(spot.column.title, "label_bold", HEAD_MM, spot.width) for spot in spots]
    most = max(len(parts) for parts in broken)
    has_units = any(spot.column.shown_unit for spot in spots)
    base = sheet.y - most * HEAD_MM * 1.15 - 0.4
    unit_base = base - UNIT_MM * 1.2
    for spot, parts in zip(spots, broken, strict=True):
        x, anchor = _anchor(spot)
        for number, part in enumerate(reversed(parts)):
            y = base + number * HEAD_MM * 1.15
            sheet.marks.append(text_mark(x, y, part, HEAD_MM, font="label_bold", anchor=anchor))
        if spot.column.shown_unit:
            sheet.marks.append(
                text_mark(x, unit_base, spot.column.shown_unit, UNIT_MM, style="text:muted", anchor=anchor)
            )
    sheet.y = (unit_base if has_units else base) - 1.5
    sheet.marks.append(_rule(spots, sheet.y, "rule"))


def _anchor(spot: _Spot) -> tuple[float, Anchor]:
    match spot.column.align:
        case "right":
            return spot.right, "right"
        case "middle":
            return (spot.left + spot.right) / 2, "middle"
        case _:
            return spot.left, "left"


def _rule(spots: Sequence[_Spot], y: float, style: str) -> LineMark:
    return LineMark(style=style, points_mm=((spots[0].left, y), (spots[-1].right, y)))


def _rows(table: Table, spots: Sequence[_Spot]) -> list[_Row]:
    above: dict[int, list[str]] = {}
    for index, text in table.headings:
        above.setdefault(index, []).append(text)
    rows = []
    for index, values in enumerate(table.rows):
        rows += [
            _Row(height=HEADING_ROW_MM, cells=(), values=(), heading=text or NOTHING) for text in above.get(index, ())
        ]
        rows.append(_set(values, spots))
    rows += [_set(values, spots, bold=True) for values in table.totals]
    return rows


def _set(values: tuple[Cell, ...], spots: Sequence[_Spot], bold: bool = False) -> _Row:
    """Break every cell into lines; the row is as high as its highest cell."""
    cells: list[tuple[str, ...]] = []
    height = BOX_MM
    for value, spot in zip(values, spots, strict=True):
        if bold and value is None:
            cells.append(())
            continue
        text = "" if spot.column.kind == "tick" else shown(value, spot.column.kind)[:MOST_LETTERS]
        room = spot.width - (SWATCH_MM[0] + 1.6 if isinstance(value, Swatch) else 0.0)
        font: Font = "label_bold" if bold else spot.font
        parts = lines(text, font, spot.size, room) if text else ()
        if len(parts) > MOST_LINES:
            last = fitted(" ".join(parts[MOST_LINES - 1 :]), font, spot.size, room)
            parts = (*parts[: MOST_LINES - 1], last)
        cells.append(parts)
        height = max(height, len(parts) * spot.size * LEADING)
    return _Row(height=height + 2 * PADDING_MM - 0.8, cells=tuple(cells), values=values, bold=bold)


def _draw(sheet: _Sheet, row: _Row, spots: Sequence[_Spot]) -> None:
    top, bottom = sheet.y, sheet.y - row.height
    sheet.y = bottom
    if row.heading:
        sheet.y = top
        _draw_heading(sheet, row.heading, "", spots)
        return
    if row.bold:
        sheet.marks.append(_rule(spots, top, "rule"))
    # All cells stand on one base line, that of the largest lettering.
    first_base = top - PADDING_MM - 0.3 - IMPORTANT_MM * 0.72
    for spot, parts, value in zip(spots, row.cells, row.values, strict=True):
        if spot.column.kind == "tick":
            if not row.bold and value is not None:
                sheet.marks += tick_box((spot.left + spot.right) / 2, first_base + 1.5, bool(value))
            continue
        x, anchor = _anchor(spot)
        if isinstance(value, Swatch):
            sheet.marks += swatch_marks(value, spot.left, first_base - 0.1)
            x += SWATCH_MM[0] + 1.6
        style = "text:muted" if parts == (NOTHING,) else "text"
        font: Font = "label_bold" if row.bold else spot.font
        for number, part in enumerate(parts):
            y = first_base - number * spot.size * LEADING
            sheet.marks.append(text_mark(x, y, part, spot.size, font=font, style=style, anchor=anchor))
    sheet.marks.append(_rule(spots, bottom, "rule:thin"))


def _draw_heading(sheet: _Sheet, heading: str, behind: str, spots: Sequence[_Spot]) -> None:
    """The heading of a group of rows, cut where it is too wide; `behind` is said in any case."""
    sheet.y -= HEADING_ROW_MM
    room = spots[-1].right - spots[0].left - width_mm(behind, "label_bold", HEADING_MM)
    text = fitted(heading, "label_bold", HEADING_MM, room) + behind
    sheet.marks.append(text_mark(spots[0].left, sheet.y + 1.5, text, HEADING_MM, font="label_bold"))
    sheet.marks.append(_rule(spots, sheet.y, "rule"))


def tick_box(x: float, y: float, ticked: bool) -> list[AnyMark]:
    """An empty box to tick by hand, or one with a tick in it."""
    half = BOX_MM / 2
    marks: list[AnyMark] = [
        LineMark(
            style="rule",
            points_mm=((x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)),
            closed=True,
        )
    ]
    if ticked:
        tick = ((x - half * 0.6, y), (x - half * 0.1, y - half * 0.55), (x + half * 0.7, y + half * 0.7))
        marks.append(LineMark(style="rule", points_mm=tick))
    return marks


def swatch_marks(swatch: Swatch, x: float, y: float) -> list[AnyMark]:
    """A piece of wire in its colour, with the stripe of its tracer, outlined so that white shows on paper."""
    width, height = SWATCH_MM
    marks: list[AnyMark] = [
        AreaMark(style=f"swatch:{swatch.colour}", outline_mm=_box(x, y, width, height), radius_mm=0.5)
    ]
    # White wire must show on white paper.
    marks.append(LineMark(style="rule:thin", points_mm=_box(x, y, width, height), closed=True))
    if swatch.tracer:
        stripe = _box(x, y + height * 0.34, width, height * 0.32)
        marks.append(AreaMark(style=f"swatch:{swatch.tracer}", outline_mm=stripe))
    return marks


def _box(x: float, y: float, width: float, height: float) -> tuple[tuple[float, float], ...]:
    return ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
