"""Pull cards: a slip for every piece, to be cut out and taken along, with boxes for what was really pulled."""

from core.analysis.analysis import Analysis
from core.analysis.results import CutPiece
from core.pages.leaves import Leaf, blank, bound
from core.pages.lettering import Font, fitted, lines, text_mark, width_mm
from core.pages.marks import AnyMark, LineMark, Page
from core.pages.paper import Imprint, paper
from core.pages.sheet_placement import upright
from core.pages.surface_pages import nothing_yet
from core.pages.table_pages import SWATCH_MM, swatch_marks, tick_box
from core.pages.transform import Rect
from core.tables.names import Names
from core.tables.pulling import Pull, pulls, way_words
from core.tables.table import swatch
from core.text import mm

TITLE = "Pull cards"
ACROSS, HIGH_MM = 2, 52.0
PADDING_MM = 3.0
NAME_MM = 7.0
TEXT_MM = 3.3
IMPORTANT_MM = 4.3
WAY_LINES = 3


def pull_card_pages(analysis: Analysis, imprint: Imprint) -> tuple[Page, ...]:
    """The cards in the order of the pull plan."""
    on = paper(imprint.choices.paper, "portrait")
    cards = [(pull, piece) for pull in pulls(analysis) for piece in pull.pieces]
    leaves: list[Leaf] = []
    start = 0
    while start < len(cards):
        # The first page tells the cautions in full, the others have more room.
        free = blank(on, imprint, TITLE, brief=bool(leaves))
        down = max(1, int((free.top - free.bottom - 3) / HIGH_MM))
        wide = (free.right - free.left) / ACROSS
        marks: list[AnyMark] = []
        for number, (pull, piece) in enumerate(cards[start : start + ACROSS * down]):
            row, column = divmod(number, ACROSS)
            left, top = free.left + column * wide, free.top - 2 - row * HIGH_MM
            marks += card_marks(analysis, pull, piece, Rect(left, top - HIGH_MM, left + wide, top))
        leaves.append(Leaf(on, TITLE, tuple(marks), brief=bool(leaves)))
        start += ACROSS * down
    return bound(leaves, imprint) if leaves else nothing_yet(TITLE, imprint)


def card_marks(analysis: Analysis, pull: Pull, piece: CutPiece, box: Rect) -> list[AnyMark]:
    """One card with its cutting lines."""
    names = Names(analysis.plan)
    wire = analysis.wires[piece.wires[0]]
    left, right = box.left + PADDING_MM, box.right - PADDING_MM
    width = right - left
    marks: list[AnyMark] = [
        LineMark(style="seam", points_mm=upright(box.left, box.bottom, box.right, box.top), closed=True)
    ]
    y = box.top - PADDING_MM - NAME_MM * 0.72
    length = f"{mm(piece.cut_mm)} mm"
    room = width - width_mm(length, "label_bold", NAME_MM) - 4
    name = names(piece.piece)
    # A cable is called by words: smaller, but whole.
    size_mm = NAME_MM if width_mm(name, "label_bold", NAME_MM) <= room else IMPORTANT_MM
    name = fitted(name, "label_bold", size_mm, room)
    marks.append(text_mark(left, y, name, size_mm, font="label_bold"))
    marks.append(text_mark(right, y, length, NAME_MM, font="label_bold", anchor="right"))
    what = f"{piece.section_mm2:g} mm²"
    if piece.colour:
        what = f"{swatch(piece.colour)} {what}"
        after = left + width_mm(name, "label_bold", size_mm) + 3
        if after + SWATCH_MM[0] <= left + room:
            marks += swatch_marks(swatch(piece.colour), after, y + 0.6)
    others = [names(one.piece) for one in pull.pieces if one.piece != piece.piece]
    along = f"{what} · pull {pull.number}" + (f" with {', '.join(others)}" if others else ", alone")
    y -= 1.8
    texts: list[tuple[str, Font, float, int]] = [
        (along, "label_bold", TEXT_MM, 1),
        (f"from {names.end(wire.from_)}", "label_medium", IMPORTANT_MM, 1),
        (f"to {names.end(wire.to)}", "label_medium", IMPORTANT_MM, 1),
        (way_words(analysis, pull.way), "label", TEXT_MM, WAY_LINES),
    ]
    for text, font, size_mm, most in texts:
        broken = lines(text, font, size_mm, width)
        if len(broken) > most:
            broken = (*broken[: most - 1], fitted(" ".join(broken[most - 1 :]), font, size_mm, width))
        for line in broken:
            y -= size_mm * 1.25
            marks.append(text_mark(left, y, line, size_mm, font=font))
    if piece.provisional:
        marks.append(text_mark(right, box.bottom + 15.6, "ASSUMED: measure first", TEXT_MM, font="label_bold",
                               anchor="right"))  # fmt: skip
    return [*marks, *_boxes(left, right, box.bottom)]


def _boxes(left: float, right: float, bottom: float) -> list[AnyMark]:
    """As pulled: what is written and ticked by hand."""
    y = bottom + 8.8
    marks: list[AnyMark] = [
        LineMark(style="rule:thin", points_mm=((left, bottom + 14.6), (right, bottom + 14.6))),
        text_mark(left, y, "as pulled", TEXT_MM, font="label_bold"),
    ]
    x = left + 15.5
    for words, line in (("size", 13.0), ("length", 17.0), ("date", right - x)):
        marks.append(text_mark(x, y, words, TEXT_MM))
        x += width_mm(words, "label", TEXT_MM) + 1.2
        end = min(x + line, right)
        marks.append(LineMark(style="rule", points_mm=((x, y - 0.6), (end, y - 0.6))))
        x = end + 2.2
    x = left
    for word in ("spare", "labelled from", "labelled to", "tested"):
        marks += tick_box(x + 2.1, bottom + 4.0, ticked=False)
        marks.append(text_mark(x + 5.4, bottom + 2.9, word, TEXT_MM))
        x += 5.4 + width_mm(word, "label", TEXT_MM) + 4.0
    return marks
