"""The desk of papers: preview, choices, PDF, and a printer that prints into a file, measured by PDFium."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import msgspec
import numpy as np
import pypdfium2
import pytest
from PySide6.QtCore import QSizeF, Qt
from PySide6.QtGui import QPageSize
from PySide6.QtPrintSupport import QPrinter
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLabel, QWidget
from pytestqt.qtbot import QtBot

from app.dialogs import printing
from app.dialogs.ask import Question
from app.dialogs.paper_desk import Desk, PaperDesk
from app.dialogs.working import WorkingDialog
from app.fonts import load_fonts
from app.render.pdf import save_pdf
from app.render.printer import NO_PRINTER, too_large
from core.errors import FileProblem, Stopped
from core.pages.frame import BAR_MM
from core.pages.imprint import imprint
from core.pages.marks import LineMark, Page
from core.pages.paper import Choices
from core.pages.papers import ABOUT
from tests.helpers.samples import sample

PX_PER_MM = 20


class At:
    """A desk whose work is done at once, and what it said."""

    def __init__(self, tmp_path: Path) -> None:
        load_fonts()
        made = sample("weekend-camper")
        about = imprint(made.plan, "25 Nov 2026")
        self.said: list[str] = []
        self.chosen: list[Choices] = []
        self.exported: list[Choices] = []
        self.parent = QWidget()
        self.parent.show()
        desk = Desk(
            papers=ABOUT,
            make=lambda name, choices: ABOUT[name].build(made, msgspec.structs.replace(about, choices=choices)),
            run=self._run,
            suggested=lambda name: tmp_path / f"{name}.pdf",
            said=self.said.append,
            export=self.exported.append,
            chosen=self.chosen.append,
        )
        self.desk = PaperDesk(self.parent, desk, Choices(), "cut-list")
        self.desk.show()
        self.is_open = True
        self.desk.destroyed.connect(self._closed)

    def _closed(self) -> None:
        self.is_open = False

    def _run(
        self, job: Callable[[], Any], done: Callable[[Any], object], failed: Callable[[FileProblem], object]
    ) -> None:
        try:
            result = job()
        except FileProblem as problem:
            failed(problem)
            return
        done(result)

    def told(self) -> str:
        """What stands in the open messages."""
        boxes = [box for box in self.parent.findChildren(Question) if box.isVisible()]
        return " ".join(label.text() for box in boxes for label in box.findChildren(QLabel))


@pytest.fixture
def at(qtbot: QtBot, tmp_path: Path) -> Iterator[At]:
    made = At(tmp_path)
    qtbot.addWidget(made.parent)
    yield made
    if made.is_open:
        made.desk.close()


def test_every_paper_can_be_looked_at(at: At) -> None:
    for name in ABOUT:
        at.desk.show_paper(name)
        assert at.desk.name == name
        assert at.desk.view.pages, name
        assert at.desk.save_button.isEnabled(), name
        assert f"Page 1 of {len(at.desk.view.pages)}" in at.desk.page_told.text()


def test_only_the_choices_that_a_paper_heeds_are_shown(at: At) -> None:
    assert at.desk.paper.isVisible()
    assert not at.desk.first.isVisible()
    at.desk.show_paper("labels")
    assert at.desk.first.isVisible()
    assert at.desk.sheet.isVisible()
    at.desk.show_paper("fold-out")
    assert at.desk.scale.isVisible()
    assert not at.desk.paper.isVisible()


def test_a_choice_makes_the_pages_anew(at: At) -> None:
    assert at.desk.view.pages[0].width_mm == pytest.approx(297.0)
    at.desk.paper.setCurrentIndex(at.desk.paper.findData("Letter"))
    at.desk.paper.activated.emit(at.desk.paper.currentIndex())
    assert at.desk.view.pages[0].width_mm == pytest.approx(279.4)
    assert at.chosen[-1].paper == "Letter"
    at.desk.show_paper("labels")
    before = len(at.desk.view.pages[0].marks)
    at.desk.first.setValue(20)
    assert at.chosen[-1].first_label == 20
    assert len(at.desk.view.pages[0].marks) < before
    assert at.desk.first.maximum() == 30, "the usual sheet for Letter has 30 labels"


def test_keys_turn_pages_and_zoom(at: At) -> None:
    view = at.desk.view
    view.setFocus()
    QTest.keyClick(view, Qt.Key.Key_PageDown)
    assert view.number == 1
    QTest.keyClick(view, Qt.Key.Key_End, Qt.KeyboardModifier.ControlModifier)
    assert view.number == len(view.pages) - 1
    QTest.keyClick(view, Qt.Key.Key_PageUp)
    assert view.number == len(view.pages) - 2
    whole = at.desk.zoom_told.text()
    QTest.keyClick(view, Qt.Key.Key_Plus, Qt.KeyboardModifier.ControlModifier)
    assert at.desk.zoom_told.text() != whole
    QTest.keyClick(view, Qt.Key.Key_0, Qt.KeyboardModifier.ControlModifier)
    assert at.desk.zoom_told.text() == whole


def test_what_hinders_a_paper_stands_under_its_choices(at: At) -> None:
    at.desk.show_paper("fold-out-tiles")
    at.desk.scale.addItem("1 : 1", 1)
    at.desk.scale.setCurrentIndex(at.desk.scale.findData(1))
    at.desk.scale.activated.emit(at.desk.scale.currentIndex())
    assert "Choose a coarser scale" in at.desk.problem.text()
    assert at.desk.problem.isVisible()
    assert not at.desk.print_button.isEnabled()
    at.desk.show_paper("cut-list")
    assert not at.desk.problem.isVisible()
    assert at.desk.print_button.isEnabled()


def test_a_pdf_that_cannot_be_written_is_told_and_the_old_one_stays(at: At, tmp_path: Path) -> None:
    (tmp_path / "a file").write_text("")
    at.desk.save_to(tmp_path / "a file" / "cut.pdf")
    assert "The PDF was not written." in at.told()
    at.desk.save_to(tmp_path / "cut.pdf")
    assert (tmp_path / "cut.pdf").read_bytes().startswith(b"%PDF")
    assert at.said == ["Saved cut.pdf."]


def test_saving_can_be_stopped_and_the_old_file_stays(at: At, tmp_path: Path) -> None:
    old = tmp_path / "cut.pdf"
    old.write_bytes(b"old")
    told: list[tuple[str, int, int]] = []

    def tell(*step: Any) -> bool:
        told.append(step)
        return len(told) > 2

    with pytest.raises(Stopped):
        save_pdf(old, at.desk.view.pages, "Cut list", tell)
    assert told[:2] == [(f"Page {n} of {len(at.desk.view.pages)}", n - 1, len(at.desk.view.pages)) for n in (1, 2)]
    assert old.read_bytes() == b"old"


# --- the printer -----------------------------------------------------------------------------------------------------


def into_file(path: Path) -> QPrinter:
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(path))
    return printer


def test_without_a_printer_a_sentence_says_so(at: At, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(printing, "printers", list)
    at.desk.print_button.click()
    assert NO_PRINTER in at.told()


def test_what_is_printed_measures_a_hundred_millimetres(at: At, qtbot: QtBot, tmp_path: Path) -> None:
    """The bar of 100 mm, printed, turned into a picture of 20 pixels a millimetre by PDFium: 100 mm within 0.1."""
    at.desk.show_paper("surfaces")
    printer = into_file(tmp_path / "printed.pdf")
    printer.setPrintRange(QPrinter.PrintRange.PageRange)
    printer.setFromTo(1, 2)
    at.desk.printing().print_on(printer)
    qtbot.waitUntil(lambda: bool(at.said), timeout=20_000)
    assert at.said[0].startswith("2 pages sent to")
    page = at.desk.view.pages[0]
    ends = next(
        mark.points_mm for mark in page.marks
        if isinstance(mark, LineMark) and len(mark.points_mm) == 2
        and mark.points_mm[1][0] - mark.points_mm[0][0] == BAR_MM and mark.style == "rule"
    )  # fmt: skip
    document = pypdfium2.PdfDocument(tmp_path / "printed.pdf")
    try:
        assert len(document) == 2
        sheet = document[0]
        assert sheet.get_size()[0] == pytest.approx(page.width_mm / 25.4 * 72, abs=1.0)
        bitmap = sheet.render(scale=PX_PER_MM * 25.4 / 72, grayscale=True)
        grey = bitmap.to_numpy().copy().reshape(bitmap.height, bitmap.width).astype(float)
        bitmap.close()
        sheet.close()
    finally:
        document.close()
    row = round((page.height_mm - ends[0][1] - 1.0) * PX_PER_MM)  # a millimetre above the bar stand its end ticks only
    ink = 255 - grey[row, round((ends[0][0] - 2) * PX_PER_MM) : round((ends[1][0] + 2) * PX_PER_MM)]
    columns = np.arange(len(ink))
    ticks = [columns[:100], columns[-100:]]
    left, right = (float((ink[part] * part).sum() / ink[part].sum()) for part in ticks)
    assert (right - left) / PX_PER_MM == pytest.approx(BAR_MM, abs=0.1)


def test_printing_can_be_stopped(at: At, qtbot: QtBot, tmp_path: Path) -> None:
    at.desk.show_paper("surfaces")
    at.desk.printing().print_on(into_file(tmp_path / "printed.pdf"))
    (working,) = [box for box in at.desk.findChildren(WorkingDialog) if box.isVisible()]
    working.stop_button.click()
    qtbot.waitUntil(lambda: "Printing was stopped after" in at.told(), timeout=20_000)
    assert at.said == []


def test_pages_that_no_paper_of_the_printer_takes_are_named() -> None:
    pages = [Page(width_mm=297, height_mm=210, marks=()), Page(width_mm=420, height_mm=297, marks=())]
    a4 = QPageSize(QSizeF(210, 297), QPageSize.Unit.Millimeter)
    assert too_large(pages, [a4]) == [2]
    assert too_large(pages, [QPageSize(QSizeF(297, 420), QPageSize.Unit.Millimeter), a4]) == []
    assert too_large(pages, []) == []


def test_export_hands_the_choices_on_and_closes_the_desk(at: At) -> None:
    at.desk.export_button.click()
    assert at.exported == [Choices()]
    assert not [box for box in at.parent.findChildren(PaperDesk) if box.isVisible()]
