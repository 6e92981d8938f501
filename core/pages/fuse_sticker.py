"""The fuse map as a sticker for the door of each fuse block: to be cut out, read without glasses."""

from itertools import groupby

from core.analysis.analysis import Analysis
from core.pages.leaves import Leaf, blank, bound
from core.pages.lettering import fitted, text_mark
from core.pages.marks import AnyMark, LineMark, Page
from core.pages.paper import Imprint, paper
from core.pages.sheet_placement import upright
from core.pages.surface_pages import nothing_yet
from core.tables.fuse_map import FuseRow, fuse_rows

TITLE = "Fuse map stickers"
WIDE_MM = 120.0
ROW_MM = 9.0
HEAD_MM = 13.0
GAP_MM = 8.0
NAME_MM = 4.6
RATING_MM = 5.2
SMALL_MM = 2.7
FOOT_MM = 6.0


def fuse_sticker_pages(analysis: Analysis, imprint: Imprint) -> tuple[Page, ...]:
    """A sticker for every holder with two fuses or more, as many on a page as fit; a long one is parted."""
    on = paper(imprint.choices.paper, "portrait")
    free = blank(on, imprint, TITLE)
    most = int((free.top - free.bottom - 4 - HEAD_MM - FOOT_MM) / ROW_MM)
    leaves: list[Leaf] = []
    marks: list[AnyMark] = []
    y = free.top - 4
    for holder, group in groupby(fuse_rows(analysis), key=lambda row: row.holder):
        rows = list(group)
        if len(rows) < 2:
            continue
        for start in range(0, len(rows), most):
            part = rows[start : start + most]
            high = sticker_height_mm(len(part))
            if marks and y - high < free.bottom + 1:
                leaves.append(Leaf(on, TITLE, tuple(marks)))
                marks, y = [], free.top - 4
            marks += sticker_marks(holder, part, imprint, free.left, y)
            y -= high + GAP_MM
    if marks:
        leaves.append(Leaf(on, TITLE, tuple(marks)))
    return bound(leaves, imprint) if leaves else nothing_yet(TITLE, imprint)


def sticker_height_mm(rows: int) -> float:
    return HEAD_MM + rows * ROW_MM + FOOT_MM


def sticker_marks(holder: str, rows: list[FuseRow], imprint: Imprint, left: float, top: float) -> list[AnyMark]:
    """One sticker with its cutting line; the upper left corner at (left, top)."""
    right, bottom = left + WIDE_MM, top - sticker_height_mm(len(rows))
    marks: list[AnyMark] = [
        LineMark(style="seam", points_mm=upright(left, bottom, right, top), closed=True),
        text_mark(left + 4, top - 8.6, fitted(holder, "label_bold", 6.4, WIDE_MM - 8), 6.4, font="label_bold"),
    ]
    for number, row in enumerate(rows):
        low = top - HEAD_MM - (number + 1) * ROW_MM
        marks.append(LineMark(style="rule", points_mm=((left, low + ROW_MM), (right, low + ROW_MM))))
        base = low + ROW_MM / 2 - RATING_MM * 0.35
        marks.append(text_mark(left + 4, base, row.way.removeprefix("way "), RATING_MM, font="label_bold"))
        rating = f"{row.rating_a:g} A" if row.rating_a is not None else "–"
        marks.append(text_mark(left + 34, base, rating, RATING_MM, font="label_bold", anchor="right"))
        # A word in a frame, not only a colour, for what the main switch does not turn off.
        note = "ALWAYS LIVE" if row.always_live else "MAINS" if row.mains else ""
        room = WIDE_MM - 38 - 4 - (24 if note else 0)
        name = row.circuit or "spare"
        style = "text" if row.circuit else "text:muted"
        feeds = ", ".join(row.feeds)
        # What a circuit feeds is said where it is more than its name; a name alone stands on the line of its number.
        feeds = "" if feeds.casefold() == name.casefold() else feeds
        marks.append(text_mark(left + 38, low + 4.4 if feeds else base, fitted(name, "label_bold", NAME_MM, room),
                               NAME_MM, font="label_bold", style=style))  # fmt: skip
        if feeds:
            marks.append(text_mark(left + 38, low + 1.3, fitted(feeds, "label", SMALL_MM, room), SMALL_MM))
        if note:
            marks.append(LineMark(style="rule", closed=True,
                                  points_mm=upright(right - 25, low + 2, right - 3, low + 7)))  # fmt: skip
            marks.append(text_mark(right - 14, low + 3.4, note, 3.1, font="label_bold", anchor="middle"))
    foot = bottom + FOOT_MM
    marks.append(LineMark(style="rule", points_mm=((left, foot), (right, foot))))
    words = f"{imprint.plan} · revision {imprint.revision or '–'} · {imprint.date} · never a larger fuse"
    marks.append(text_mark(left + 4, bottom + 2.0, fitted(words, "label", 2.8, WIDE_MM - 8), 2.8))
    return marks
