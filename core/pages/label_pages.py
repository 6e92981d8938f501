"""Labels for wires: on sheets of labels, and on continuous tape. Wire names in capitals of 3 mm."""

from collections.abc import Sequence
from functools import lru_cache
from math import pi

from core.analysis.analysis import Analysis
from core.errors import LoomwrightError
from core.pages.label_sheets import LabelSheet, label_sheet
from core.pages.lettering import Font, fitted, lines, text_mark, width_mm
from core.pages.marks import AnyMark, AreaMark, LineMark, Page
from core.pages.paper import SIZES, Imprint
from core.pages.sheet_placement import upright
from core.pages.transform import Rect
from core.tables.labels import Label, labels

#: The em whose capitals are 3 mm high, and the smallest a long name is set in.
NAME_MM = 4.3
SMALL_MM = 2.5
PADDING_MM = 1.2
#: Less towards the wire, where nothing is cut.
INNER_MM = 0.3
#: No QR sign has smaller squares: printers of 300 dots per inch still draw them evenly.
SQUARE_MM = 0.34
#: White that a QR sign needs round itself, in squares (ISO/IEC 18004; memory).
QUIET = 4
#: Tape of label printers, and what of its width is printed.
TAPE_MM = 18.0
TAPE_EDGE_MM = 1.5
LINE = 1.16
#: Height of a capital, and distance of two lines of a name, in ems.
CAP = 0.7
NAME_LINE = 0.9


def label_sheet_pages(analysis: Analysis, imprint: Imprint) -> tuple[Page, ...]:
    """All labels on sheets; the first sheet begins at its first free label. Raises LoomwrightError for a sheet that is
    not known, or a first label that is not on it."""
    choices = imprint.choices
    sheet = label_sheet(choices.label_sheet, choices.paper)
    if not 1 <= choices.first_label <= sheet.count:
        raise LoomwrightError(f"The first label is {choices.first_label}; a sheet has 1 to {sheet.count}.")
    wide, high = SIZES[sheet.paper]
    title = f"Labels – {imprint.plan}"
    sheets: list[list[AnyMark]] = [[]]
    for number, label in enumerate(labels(analysis), start=choices.first_label - 1):
        if number and number % sheet.count == 0:
            sheets.append([])
        field = label_field(sheet, number % sheet.count)
        sheets[-1] += _label_marks(label, field, choices.label_style, choices.label_qr)
    return tuple(Page(width_mm=wide, height_mm=high, marks=tuple(marks), title=title) for marks in sheets)


def label_field(sheet: LabelSheet, number: int) -> Rect:
    """Where the label of that number (from 0, row by row from the top) lies on its sheet, y up."""
    row, column = divmod(number, sheet.across)
    left = sheet.left_mm + column * sheet.pitch_x_mm
    top = SIZES[sheet.paper][1] - sheet.top_mm - row * sheet.pitch_y_mm
    return Rect(left, top - sheet.height_mm, left + sheet.width_mm, top)


def label_tape_pages(analysis: Analysis, imprint: Imprint) -> tuple[Page, ...]:
    """A page for every label, as long as its text needs on tape of 18 mm."""
    pages = []
    for label in labels(analysis):
        length = _tape_length_mm(label)
        field = Rect(0.0, TAPE_EDGE_MM, length, TAPE_MM - TAPE_EDGE_MM)
        marks = _label_marks(label, field, "flag", imprint.choices.label_qr)
        pages.append(
            Page(width_mm=length, height_mm=TAPE_MM, marks=tuple(marks), title=f"Labels on tape – {imprint.plan}")
        )
    return tuple(pages) or label_sheet_pages(analysis, imprint)


def _tape_length_mm(label: Label) -> float:
    """Two halves with the text, and the strip round the wire between them."""
    half = max(width_mm(label.wire, "label_bold", NAME_MM), 31.0) + 2 * PADDING_MM
    return 2 * half + wire_strip_mm(label)


def wire_strip_mm(label: Label) -> float:
    """What of a flag lies on the wire itself."""
    return pi * label.od_mm


def _label_marks(label: Label, field: Rect, style: str, qr: bool) -> list[AnyMark]:
    """A flag where both halves take the name in full size, otherwise a wrap."""
    half = (field.width - wire_strip_mm(label)) / 2
    if style == "flag" and half >= width_mm(label.wire, "label_bold", NAME_MM) + PADDING_MM + INNER_MM:
        return _flag(label, field, half, qr)
    return _wrap(label, field, qr)


def _flag(label: Label, field: Rect, half: float, qr: bool) -> list[AnyMark]:
    """The same on both halves; fold marks in the middle, where the wire lies."""
    marks: list[AnyMark] = []
    for left in (field.left, field.right - half):
        marks += _text_block(label, Rect(left, field.bottom, left + half, field.top), qr)
    middle = (field.left + field.right) / 2
    for low, high in ((field.bottom + 0.6, field.bottom + 2.6), (field.top - 2.6, field.top - 0.6)):
        marks.append(LineMark(style="dimension", points_mm=((middle, low), (middle, high))))
    return marks


def _text_block(label: Label, box: Rect, qr: bool) -> list[AnyMark]:
    """The name, then the sign if there is room for it, then this end, the far end and the facts as far as they fit."""
    left, width = box.left + PADDING_MM, box.width - PADDING_MM - INNER_MM
    y = box.top - PADDING_MM - NAME_MM * CAP
    marks: list[AnyMark] = [text_mark(left, y, label.wire, NAME_MM, font="label_bold")]
    squares = qr_squares(label.code)
    side = SQUARE_MM * len(squares)
    quiet = SQUARE_MM * QUIET
    if qr and width >= side + quiet + 12.0 and box.height >= side + 2 * quiet:
        if width_mm(label.wire, "label_bold", NAME_MM) > width - side - 2 * quiet:
            return _text_block(label, box, qr=False)
        marks += _qr_marks(squares, box.right - quiet - side, (box.bottom + box.top - side) / 2)
        width -= side + 2 * quiet - INNER_MM
    y -= 0.6
    most = int((y - box.bottom - 0.7) / (SMALL_MM * LINE))
    for text, font in _small_lines(label, width, most):
        y -= SMALL_MM * LINE
        marks.append(text_mark(left, y, text, SMALL_MM, font=font))
    return marks


def _small_lines(label: Label, width: float, most: int) -> list[tuple[str, Font]]:
    """The facts whole, since they are used; before them as much of both ends as there are lines for, this end first."""
    facts: list[tuple[str, Font]] = [(line, "label") for line in lines(label.facts, "label", SMALL_MM, width)]
    left = max(0, most - len(facts))
    told: list[tuple[str, Font]] = []
    ends: tuple[tuple[str, Font], ...] = ((label.here, "label_medium"), (f"→ {label.there}", "label"))
    for number, (text, font) in enumerate(ends):
        room = (left + 1) // 2 if number == 0 else left - len(told)
        broken = lines(text, font, SMALL_MM, width)
        if len(broken) > room:
            broken = (*broken[: room - 1], fitted(" ".join(broken[room - 1 :]), font, SMALL_MM, width)) if room else ()
        told += [(line, font) for line in broken]
    return [*told, *facts][:most]


def _wrap(label: Label, field: Rect, qr: bool) -> list[AnyMark]:
    """Lines along the wire, the name again and again down the label, so that it reads from every side."""
    left, width = field.left + PADDING_MM, field.width - 2 * PADDING_MM
    squares = qr_squares(label.code)
    side, quiet = SQUARE_MM * len(squares), SQUARE_MM * QUIET
    marks: list[AnyMark] = []
    if qr and field.height >= side + 2 * quiet and width - side - quiet >= width_mm(label.wire, "label_bold", NAME_MM):
        marks += _qr_marks(squares, field.right - quiet - side, (field.bottom + field.top - side) / 2)
        width -= side + quiet
    # A cable is called by words, which may take more than one line.
    name = lines(label.wire, "label_bold", NAME_MM, width)
    block = len(name) * NAME_MM * NAME_LINE + 2 * SMALL_MM * LINE + 1.0
    rows = max(1, int((field.height - PADDING_MM) / block))
    pitch = (field.height - PADDING_MM) / rows
    told = ((label.here, f"→ {label.there}"), (label.facts, label.here))
    for row in range(rows):
        y = field.top - PADDING_MM / 2 - row * pitch + NAME_MM * (NAME_LINE - CAP) - 0.4
        for line in name:
            y -= NAME_MM * NAME_LINE
            marks.append(text_mark(left, y, line, NAME_MM, font="label_bold"))
        small: list[tuple[str, Font]] = [(fitted(text, "label", SMALL_MM, width), "label") for text in told[row % 2]]
        if rows == 1:
            small = _small_lines(label, width, int((y - field.bottom - 0.7) / (SMALL_MM * LINE)))
        for text, font in small:
            y -= SMALL_MM * LINE
            marks.append(text_mark(left, y, text, SMALL_MM, font=font))
    return marks


@lru_cache(maxsize=4096)
def qr_squares(code: str) -> tuple[tuple[bool, ...], ...]:
    """The squares of a QR sign (ISO/IEC 18004), without the white round it. Error correction L: labels are clean."""
    import segno

    made = segno.make(code, error="l", micro=False, boost_error=False)
    return tuple(tuple(bool(square) for square in row) for row in made.matrix)


def _qr_marks(squares: Sequence[Sequence[bool]], left: float, bottom: float) -> list[AnyMark]:
    """Black runs of each row as areas."""
    marks: list[AnyMark] = []
    for row, line in enumerate(reversed(squares)):
        y, start = bottom + row * SQUARE_MM, None
        for column, black in enumerate([*line, False]):
            if black and start is None:
                start = column
            elif not black and start is not None:
                x0, x1 = left + start * SQUARE_MM, left + column * SQUARE_MM
                marks.append(AreaMark(style="qr", outline_mm=upright(x0, y, x1, y + SQUARE_MM)))
                start = None
    return marks
