"""Labels: where they lie on their sheet, which there are, and that the QR sign says what it should."""

import msgspec
import numpy as np
import pytest

from core.errors import LoomwrightError
from core.pages.imprint import imprint
from core.pages.label_pages import (
    SQUARE_MM,
    label_field,
    label_sheet_pages,
    label_tape_pages,
    qr_squares,
    wire_strip_mm,
)
from core.pages.label_sheets import SHEETS
from core.pages.marks import AreaMark, Page, TextMark
from core.pages.paper import SIZES, Choices
from core.pages.transform import corners
from core.tables.labels import labels
from core.tables.names import Names
from tests.helpers.samples import SAMPLES, sample


def printed(name: str, **choices) -> tuple[Page, ...]:
    analysis = sample(name)
    about = msgspec.structs.replace(imprint(analysis.plan, ""), choices=Choices(**choices))
    return label_sheet_pages(analysis, about)


@pytest.mark.parametrize("name", sorted(SHEETS))
def test_a_sheet_of_labels_is_symmetric_on_its_paper(name: str) -> None:
    """What is left of the first label is left of the last one's right side too, and above as below."""
    sheet = SHEETS[name]
    wide, high = SIZES[sheet.paper]
    first, last = label_field(sheet, 0), label_field(sheet, sheet.count - 1)
    assert first.left == pytest.approx(wide - last.right, abs=0.06)
    assert high - first.top == pytest.approx(last.bottom, abs=0.06)
    assert label_field(sheet, 1).left - first.left == pytest.approx(sheet.pitch_x_mm)
    assert first.top - label_field(sheet, sheet.across).top == pytest.approx(sheet.pitch_y_mm)
    assert sheet.pitch_x_mm >= sheet.width_mm
    assert sheet.pitch_y_mm >= sheet.height_mm


@pytest.mark.parametrize("name", ["a4-65", "letter-80", "a4-21"])
@pytest.mark.parametrize("style", ["flag", "wrap"])
def test_everything_lies_on_its_own_label(name: str, style: str) -> None:
    sheet = SHEETS[name]
    fields = [label_field(sheet, number) for number in range(sheet.count)]
    # The long van has names of several words, the other one is quicker.
    van = "long-van" if name == "a4-65" else "weekend-camper"
    for page in printed(van, label_sheet=name, label_style=style):
        for mark in page.marks:
            points = corners(mark)
            xs, ys = [x for x, _ in points], [y for _, y in points]
            middle = ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
            field = next(f for f in fields if f.left <= middle[0] <= f.right and f.bottom <= middle[1] <= f.top)
            assert min(xs) >= field.left - 0.01, mark
            assert max(xs) <= field.right + 0.01, mark
            # Descenders may reach into the gap between two rows of text, not off the label.
            assert min(ys) >= field.bottom - 0.4, mark
            assert max(ys) <= field.top + 0.01, mark


def test_a_used_sheet_begins_at_its_first_free_label() -> None:
    count = len(labels(sample("weekend-camper")))
    sheet = SHEETS["a4-65"]
    fresh, used = printed("weekend-camper"), printed("weekend-camper", first_label=60)
    assert len(fresh) == -(-count // 65)
    assert len(used) == -(-(count + 59) // 65)
    field = label_field(sheet, 59)
    for mark in used[0].marks:
        x, y = corners(mark)[0]
        row = round((field.top - y) / sheet.pitch_y_mm - 0.5)
        assert row > 0 or x >= field.left - 0.01
    for wrong in (0, 66):
        with pytest.raises(LoomwrightError, match="1 to 65"):
            printed("weekend-camper", first_label=wrong)
    with pytest.raises(LoomwrightError, match="a4-65"):
        printed("weekend-camper", label_sheet="a4-66")


@pytest.mark.parametrize("name", SAMPLES)
def test_both_ends_and_every_panel_crossing_have_a_label(name: str) -> None:
    analysis = sample(name)
    names = Names(analysis.plan)
    made = labels(analysis)
    for piece in analysis.pieces:
        own = [label for label in made if label.wire == names(piece.piece)]
        ends = [label for label in own if label.at_end]
        assert len(ends) == 2
        assert ends[0].here == ends[1].there
        assert ends[0].there == ends[1].here
        channels = {step.channel for step in analysis.routes[piece.wires[0]].steps}
        crossed = {(c.channel, c.with_) for c in analysis.crossings
                   if c.channel in channels and c.kind in ("hole", "panel_edge")}  # fmt: skip
        assert len(own) - 2 == len(crossed)
    assert any(not label.at_end for label in made)


def test_the_strip_for_the_wire_is_its_circumference() -> None:
    label = labels(sample("weekend-camper"))[0]
    assert wire_strip_mm(label) == pytest.approx(3.14159265 * label.od_mm)


def test_a_qr_sign_holds_the_wire_and_its_length() -> None:
    """Read back from the squares: finder patterns and the data that an independent decoder of the format finds."""
    analysis = sample("weekend-camper")
    label = next(row for row in labels(analysis) if row.wire == "W6-2S")
    piece = next(piece for piece in analysis.pieces if piece.piece == "W6-2S")
    assert label.code == f"W6-2S {piece.cut_mm:.0f} MM"
    squares = np.array(qr_squares(label.code))
    assert squares.shape == (21, 21), "version 1: at most 25 capitals and digits (ISO/IEC 18004; memory)"
    finder = np.array([[max(abs(r - 3), abs(c - 3)) != 2 for c in range(7)] for r in range(7)])
    for row, column in ((0, 0), (0, 14), (14, 0)):
        assert (squares[row : row + 7, column : column + 7] == finder).all()
    assert decoded(squares) == label.code


def decoded(squares: np.ndarray) -> str:
    """Text of a version 1 sign in alphanumeric mode (ISO/IEC 18004; from memory): unmask, walk, unpack."""
    mask = sum(int(squares[8, column]) << (4 - column) for column in range(2, 5)) ^ 0b101
    rules = (
        lambda i, j: (i + j) % 2, lambda i, _: i % 2, lambda _, j: j % 3, lambda i, j: (i + j) % 3,
        lambda i, j: (i // 2 + j // 3) % 2, lambda i, j: i * j % 2 + i * j % 3,
        lambda i, j: (i * j % 2 + i * j % 3) % 2, lambda i, j: ((i + j) % 2 + i * j % 3) % 2,
    )  # fmt: skip
    bits = []
    upwards = True
    for right in (20, 18, 16, 14, 12, 10, 8, 5, 3, 1):
        for row in range(20, -1, -1) if upwards else range(21):
            for column in (right, right - 1):
                corner = (row < 9 and (column < 9 or column > 12)) or (row > 12 and column < 9)
                if corner or row == 6:
                    continue
                bits.append(int(squares[row, column]) ^ int(rules[mask](row, column) == 0))
        upwards = not upwards
    text = "".join(map(str, bits))
    assert text[:4] == "0010", "alphanumeric mode"
    count = int(text[4:13], 2)
    signs = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"
    at, found = 13, ""
    while len(found) < count:
        if count - len(found) >= 2:
            first, second = divmod(int(text[at : at + 11], 2), 45)
            found += signs[first] + signs[second]
            at += 11
        else:
            found += signs[int(text[at : at + 6], 2)]
            at += 6
    return found


def test_qr_signs_can_be_left_out_and_are_never_too_fine() -> None:
    assert not [m for page in printed("long-van", label_qr=False) for m in page.marks if m.style == "qr"]
    heights = {
        round(max(y for _, y in m.outline_mm) - min(y for _, y in m.outline_mm), 4)
        for page in printed("long-van") for m in page.marks if isinstance(m, AreaMark) and m.style == "qr"
    }  # fmt: skip
    assert heights == {SQUARE_MM}


def test_tape_is_a_page_for_every_label() -> None:
    analysis = sample("weekend-camper")
    pages = label_tape_pages(analysis, imprint(analysis.plan, ""))
    made = labels(analysis)
    assert len(pages) == len(made)
    for page, label in zip(pages, made, strict=True):
        assert page.height_mm == 18.0
        names = [m for m in page.marks if isinstance(m, TextMark) and m.text == label.wire]
        assert len(names) == 2, "once on either half of the flag"
        gap = names[1].at_mm[0] - names[0].at_mm[0]
        assert gap >= page.width_mm / 2 - 1e-9 + wire_strip_mm(label) / 2 - 1e-6
