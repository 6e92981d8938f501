"""As built at the window: lengths typed, tests recorded, photos attached and pinned, panels closed or refused."""

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from app.dialogs.as_built.dialog import AsBuiltDialog
from app.dialogs.as_built.photos import load_photo
from app.dialogs.as_built.work import Work
from app.dialogs.shopping import ShoppingDialog
from app.fonts import load_fonts
from core.analysis.analysis import Analysis
from core.analysis.engine import Analyser
from core.edits.finishing import pulled_entry
from core.errors import EditRefused, FileProblem
from core.files.library import load_library
from core.files.limits import PICTURE_BYTES, PICTURE_PIXELS
from core.model import Plan, find
from tests.helpers.walls import wall
from tests.helpers.wired import wired

TODAY = "2026-11-25"


class Bench:
    """A plan that the dialog changes, with every step kept."""

    def __init__(self, plan: Plan) -> None:
        load_fonts()
        self.plan = plan
        self.steps: list[str] = []
        self._analyser = Analyser(load_library())
        self.parent = QWidget()
        self.place: tuple[str, tuple[float, float]] | None = None
        self.work = Work(
            analysis=self.analysis,
            change=self.change,
            place=lambda: self.place,
            selected=(),
            today=TODAY,
            other_jobs=lambda answer: answer(()),
        )

    def analysis(self) -> Analysis:
        return self._analyser.analyse(self.plan)

    def change(self, label: str, edit: Callable[[Plan], Plan]) -> str:
        try:
            self.plan = edit(self.plan)
        except EditRefused as refusal:
            return str(refusal)
        self.steps.append(label)
        return ""


@pytest.fixture
def bench(qtbot: QtBot) -> Bench:
    made = Bench(wall())
    qtbot.addWidget(made.parent)
    return made


def opened(bench: Bench, page: str) -> AsBuiltDialog:
    dialog = AsBuiltDialog(bench.parent, bench.work, page)  # type: ignore[arg-type]
    dialog.show()
    return dialog


def test_a_length_that_is_typed_is_kept_beside_the_plan(bench: Bench) -> None:
    page = opened(bench, "pulled").pulled
    wire = page.table.item(0, 0).text()
    cut = next(piece.cut_mm for piece in bench.analysis().pieces if wire in piece.wires)
    page.table.item(0, 4).setText("9.5 m")
    entry = pulled_entry(bench.plan, wire)
    assert entry is not None
    assert (entry.length_mm, entry.on) == (9_500.0, TODAY)
    assert entry.channels == tuple(step.channel for step in bench.analysis().routes[wire].steps)
    assert f"{9_500 - cut:,.0f}".replace(",", "\N{NARROW NO-BREAK SPACE}") in page.table.item(0, 8).text()
    page.table.item(0, 7).setText("through the hole beside")
    entry = pulled_entry(bench.plan, wire)
    assert entry is not None
    assert (entry.length_mm, entry.note) == (9_500.0, "through the hole beside")
    before = bench.plan
    page.table.item(0, 4).setText("long")
    assert bench.plan is before
    assert page.problem.isVisible()
    page.table.item(0, 5).setText("last week")
    assert "no day" in page.problem.text()


def test_wires_are_marked_as_pulled_and_taken_back(bench: Bench) -> None:
    page = opened(bench, "pulled").pulled
    page.mark.click()
    assert "Choose wires first" in page.problem.text()
    page.table.selectAll()
    page.mark.click()
    assert {row.wire for row in bench.plan.as_pulled} == set(bench.analysis().wires)
    page.only_open.setChecked(True)
    assert page.table.rowCount() == 0
    page.only_open.setChecked(False)
    page.table.selectAll()
    page.forget.click()
    assert bench.plan.as_pulled == ()
    page.learn.click()
    assert "at least 10" in page.lesson.text()
    assert not page.adopt.isVisible()


def test_tests_are_recorded_and_the_last_one_is_shown(bench: Bench) -> None:
    page = opened(bench, "tests").tests
    page.passed.click()
    assert "Choose circuits first" in page.problem.text()
    page.table.selectRow(0)
    page.value.setText("41,5")
    page.failed.click()
    page.value.setText("12")
    page.passed.click()
    assert [(row.passed, row.value, row.unit) for row in bench.plan.test_results] == [
        (False, 41.5, "mΩ"),
        (True, 12.0, "mΩ"),
    ]
    assert "passed 12 mΩ" in page.table.item(0, 2).text()
    page.value.setText("some")
    QTest.keyClick(page.value, Qt.Key.Key_Return)
    assert page.isVisible(), "Return in a field closes nothing"
    page.passed.click()
    assert "no number" in page.problem.text()
    page.forget.click()
    assert "FAILED" in page.table.item(0, 2).text()


def picture(path: Path, wide: int, high: int) -> str:
    image = QImage(wide, high, QImage.Format.Format_RGB32)
    image.fill(QColor("#508050"))
    image.save(str(path))
    return str(path)


def test_photos_come_in_are_pinned_and_go_to_their_panel(bench: Bench, tmp_path: Path) -> None:
    page = opened(bench, "photos").photos
    bad = tmp_path / "bad.jpg"
    bad.write_bytes(b"no picture")
    page.attach_files([picture(tmp_path / "wall.png", 60, 40), str(bad)])
    (photo,) = bench.plan.photos
    assert photo.caption == "wall"
    assert "bad.jpg" in page.problem.text()
    page.pin.click()
    assert "Nothing with a place is selected" in page.problem.text()
    bench.place = ("s3", (1_200.0, 700.0))
    page.pin.click()
    page.panel.setCurrentIndex(page.panel.findData("board"))
    page.panel.activated.emit(page.panel.currentIndex())
    (photo,) = bench.plan.photos
    assert (photo.surface, photo.at_mm, photo.panel) == ("s3", (1_200.0, 700.0), "board")
    page.table.item(0, 0).setText("Wall before the board")
    assert bench.plan.photos[0].caption == "Wall before the board"
    page.remove.click()
    assert bench.plan.photos == ()
    assert bench.plan.images == ()


def test_a_large_photo_is_reduced_to_what_a_plan_keeps(qapp: object, tmp_path: Path) -> None:
    data, media_type, day = load_photo(Path(picture(tmp_path / "large.png", 3_000, 1_500)))
    image = QImage.fromData(data)
    assert media_type == "image/jpeg"
    assert len(data) <= PICTURE_BYTES
    assert (image.width(), image.height()) == (PICTURE_PIXELS, PICTURE_PIXELS // 2)
    assert len(day) == 10
    with pytest.raises(FileProblem, match="cannot be read"):
        load_photo(tmp_path / "none.png")


def test_a_panel_is_closed_only_with_everything_done_or_a_reason(bench: Bench) -> None:
    page = opened(bench, "closing").closing
    assert "not ready" in page.state.text()
    page.ticks["labels_done"].click()
    assert find(bench.plan, "panels", "board").close_out.labels_done
    before = bench.plan
    page.close_button.click()
    assert bench.plan is before
    assert "type the reason" in page.problem.text()
    page.reason.setPlainText("the wall is needed for the show")
    page.by.setText("The builder")
    page.close_button.click()
    close = find(bench.plan, "panels", "board").close_out
    assert (close.closed_on, close.closed_by) == (TODAY, "The builder")
    assert close.override_reason == "the wall is needed for the show"
    assert close.overridden
    assert "before it was ready" in page.state.text()
    assert not page.close_button.isEnabled()
    page.open_button.click()
    assert find(bench.plan, "panels", "board").close_out is None


def test_suppliers_are_typed_for_one_for_many_and_for_the_rest(bench: Bench) -> None:
    bench.plan = wired()
    dialog = ShoppingDialog(bench.parent, bench.analysis, bench.change)
    dialog.show()
    first = dialog.table.item(0, 0).text()
    dialog.table.item(0, 2).setText("Cable house")
    dialog.table.item(0, 3).setText("4711")
    (row,) = bench.plan.supplies
    assert (row.item, row.supplier, row.order_number) == (first, "Cable house", "4711")
    dialog.set_many.click()
    dialog.table.selectAll()
    dialog.many.setText("Marine store")
    dialog.set_many.click()
    assert {each.supplier for each in bench.plan.supplies} == {"Marine store"}
    assert bench.plan.supplies[0].order_number == "4711"
    dialog.usual.setText("Corner shop")
    dialog.usual.editingFinished.emit()
    assert bench.plan.assumptions.supplier == "Corner shop"
