"""Can I add …: a place, a device or a current; the ways to feed it side by side with what each takes; and do it."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtGui import QFont
from PySide6.QtWidgets import (
    QAbstractItemView,
    QCheckBox,
    QFormLayout,
    QHBoxLayout,
    QHeaderView,
    QLineEdit,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QWidget,
)

from app.choice import Choice
from app.dialogs.work import ROLES, WorkDialog
from core.edits.circuit_ends import SYSTEM_WORDS
from core.errors import EditRefused
from core.files.library import DeviceTemplate, Library
from core.model import Point
from core.studies.can_i_add import Addition, Answer
from core.studies.ways import load_a
from core.units import UnitProblem, read_current_a, show, show_section

if TYPE_CHECKING:
    from core.model.devices import System

ROWS = (
    "Fed from", "Spare ways left", "Wire", "Fuse", "One-way", "Wire to cut", "Voltage drop", "Ducts on the way",
    "Spare ducts there", "Feeder may carry still", "Price of wire", "Speaks against it",
)  # fmt: skip
OWN = "A load of my own"


class CanIAddDialog(WorkDialog):
    """Stays open beside the sheet. `ask` answers for a surface, a point, a current, a system, whether it is critical
    and a template; `do` takes an answer and gives why it cannot be done, or ""."""

    def __init__(
        self, parent: QWidget, library: Library,
        ask: "Callable[[str, Point, float, System, bool, DeviceTemplate | None], Addition]",
        do: Callable[[Answer, Addition], str], ways_left: Callable[[str], int],
        place_words: Callable[[str, Point], str],
        take_pointer: Callable[[], None],
    ) -> None:  # fmt: skip
        super().__init__(
            parent, "Can I add", "Can I add …", "Click the place on the sheet; say what is to go there.", 560
        )
        self.setModal(False)
        self.resize(640, 640)
        self._ask, self._do, self._ways_left, self._place_words = ask, do, ways_left, place_words
        self._spot: tuple[str, Point] | None = None
        self._templates = {row.id: row for row in library.devices}
        self.addition: Addition | None = None
        self.place = self.told("no place yet", "costValue")
        self.device = Choice(self)
        self.device.setAccessibleName("Device")
        self.device.addItem(OWN, "")
        for row in sorted(library.devices, key=lambda each: each.name.casefold()):
            if load_a(row.electrical) > 0:
                self.device.addItem(row.name, row.id)
        self.current = QLineEdit("5 A", self)
        self.current.setAccessibleName("Current")
        self.system = Choice(self)
        self.system.setAccessibleName("System")
        for system, words in SYSTEM_WORDS.items():
            if system not in ("solar", "signal"):
                self.system.addItem(words, system)
        self.critical = QCheckBox("Critical: the smaller voltage drop limit holds", self)
        form = QFormLayout()
        form.setHorizontalSpacing(14)
        form.setVerticalSpacing(8)
        again = QPushButton("Pick a place", self)
        again.setAutoDefault(False)
        again.clicked.connect(take_pointer)
        where = QHBoxLayout()
        where.addWidget(self.place, 1)
        where.addWidget(again)
        form.addRow("Place", where)
        form.addRow("Device", self.device)
        form.addRow("Current", self.current)
        form.addRow("System", self.system)
        form.addRow("", self.critical)
        self.row(form)
        self.verdict = self.told("", "dialogHeadline")
        self.body.addWidget(self.verdict)
        self.table = QTableWidget(0, 0, self)
        self.table.setAccessibleName("Ways to feed it")
        self.table.setObjectName("sideBySide")
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectColumns)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.table.setWordWrap(True)
        self.table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        self.table.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self.table.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self.body.addWidget(self.table, 1)
        self.do_button = self.button("Do it", self._do_asked, ROLES.ActionRole, default=True)
        self.way_out("Close")
        self.device.activated.connect(self._device_chosen)
        self.current.editingFinished.connect(self.refresh)
        self.system.activated.connect(self.refresh)
        self.critical.toggled.connect(self.refresh)
        self._show_answer()

    @property
    def spot(self) -> tuple[str, Point] | None:
        return self._spot

    def pick(self, surface: str, at_mm: Point) -> None:
        """The place was clicked."""
        self._spot = surface, at_mm
        self.place.setText(self._place_words(surface, at_mm))
        self.refresh()

    def choose_device(self, template_id: str) -> None:
        self.device.setCurrentIndex(max(self.device.findData(template_id), 0))
        self._device_chosen()

    def _device_chosen(self) -> None:
        row = self._templates.get(str(self.device.currentData()))
        self.system.setEnabled(row is None)
        if row is not None:
            with QSignalBlocker(self.current):
                self.current.setText(show(load_a(row.electrical), "A"))
            self.system.setCurrentIndex(self.system.findData(row.electrical.system))
            self.critical.setChecked(row.electrical.critical)
        self.refresh()

    def refresh(self) -> None:
        """Ask anew, where there is a place and a current."""
        self.say("")
        self.addition = None
        if self._spot is not None:
            try:
                amps = read_current_a(self.current.text())
                self.addition = self._ask(
                    *self._spot, amps, self.system.currentData(), self.critical.isChecked(),
                    self._templates.get(str(self.device.currentData())),
                )  # fmt: skip
            except (UnitProblem, EditRefused) as problem:
                self.say(str(problem))
        self._show_answer()

    def _show_answer(self) -> None:
        answers = self.addition.answers if self.addition is not None else ()
        self.table.setColumnCount(len(answers))
        self.table.setRowCount(len(ROWS) if answers else 0)
        self.table.setVisible(bool(answers))
        self.do_button.setEnabled(bool(answers))
        if self.addition is None:
            self.verdict.setText("" if self._spot is not None else "Click a place on the sheet.")
            return
        if not answers:
            self.verdict.setText("No. " + " ".join(self.addition.reasons))
            return
        best = answers[0]
        self.verdict.setText(f"Yes: {best.offer.words}." if best.ok else f"Not without a change: {best.reasons[0]}")
        self.table.setHorizontalHeaderLabels([answer.offer.source.name for answer in answers])
        self.table.setVerticalHeaderLabels(list(ROWS))
        for column, answer in enumerate(answers):
            for row, text in enumerate(self._texts(answer)):
                item = QTableWidgetItem(text)
                item.setToolTip(text)
                item.setTextAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
                if row == len(ROWS) - 1 and not answer.ok:
                    font = QFont(self.table.font())
                    font.setBold(True)
                    item.setFont(font)
                self.table.setItem(row, column, item)
        self.table.selectColumn(0)

    def _texts(self, answer: Answer) -> tuple[str, ...]:
        ducts = [
            f"{duct.name}: {duct.before_percent:.0f} to {duct.after_percent:.0f} % full, "
            f"{duct.limit_percent:.0f} % allowed"
            for duct in answer.ducts
        ]
        room = "no fuse tells"
        if answer.feeder_before_a is not None and answer.feeder_after_a is not None:
            room = f"{show(answer.feeder_before_a, 'A')} now, {show(answer.feeder_after_a, 'A')} after"
        left = self._ways_left(answer.offer.source.id)
        return (
            answer.offer.words,
            f"{left - 1} after this one" if answer.offer.way is not None else "it has no ways",
            show_section(answer.section_mm2, answer.gauge_awg) if answer.section_mm2 is not None else "no size",
            show(answer.fuse_a, "A") if answer.fuse_a is not None else "none",
            f"{answer.one_way_mm / 1000:.2f} m" if answer.one_way_mm is not None else "no route",
            f"{answer.cost.metres:+.2f} m",
            f"{answer.drop_percent:.1f} %" if answer.drop_percent is not None else "not known",
            "\n".join(ducts) or "open all the way",
            f"{len(answer.spare_ducts)}" if answer.spare_ducts else "none",
            room,
            f"{answer.cost.price:+.2f}" if answer.cost.price is not None else "no prices are entered",
            "\n".join(answer.reasons) or "nothing",
        )

    def _do_asked(self) -> None:
        if self.addition is None:
            return
        column = max(self.table.currentColumn(), 0)
        told = self._do(self.addition.answers[column], self.addition)
        self.say(told)
        if not told:
            self._spot = None
            self.place.setText("done; click the next place")
            self.addition = None
            self._show_answer()
