"""Results of tests: circuits and what was measured of each."""

from typing import Any

from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QLineEdit, QPushButton, QVBoxLayout, QWidget

from app.choice import Choice
from app.dialogs.as_built.work import Cells, Work, problem_label, say
from core.edits.change import take_out
from core.edits.finishing import record_test
from core.model import Plan, TestResult
from core.text import counted
from core.units import show

KINDS = {"continuity": "continuity", "polarity": "polarity", "voltage": "volts", "insulation": "insulation"}
UNITS = {"continuity": "mΩ", "polarity": "", "voltage": "V", "insulation": "MΩ"}
CAUTION = "Mains tests are for licensed people under local codes. Unplug electronics before an insulation test."


class TestsPage(QWidget):
    __test__ = False  # not a test case

    def __init__(self, parent: QWidget, work: Work) -> None:
        super().__init__(parent)
        self._work = work
        self.table = Cells(self, "Circuits and their tests", ("circuit", "group", *KINDS.values()), wide=(0,))
        self.table.itemSelectionChanged.connect(self._show_devices)
        self.kind = Choice(self)
        for key, words in KINDS.items():
            self.kind.addItem(words, key)
        self.kind.setAccessibleName("Test")
        self.kind.activated.connect(self._show_unit)
        self.device = Choice(self)
        self.device.setAccessibleName("Measured at")
        self.value = QLineEdit(self)
        self.value.setAccessibleName("Measured value")
        self.unit = QLabel(self)
        self.by = QLineEdit(self)
        self.by.setAccessibleName("Measured by")
        self.note = QLineEdit(self)
        self.note.setAccessibleName("Note")
        form = QGridLayout()
        value = QWidget(self)
        beside = QHBoxLayout(value)
        beside.setContentsMargins(0, 0, 0, 0)
        beside.addWidget(self.value)
        beside.addWidget(self.unit)
        fields: tuple[tuple[str, QWidget], ...] = (
            ("test", self.kind), ("at", self.device), ("measured", value), ("by", self.by), ("note", self.note),
        )  # fmt: skip
        for column, (words, editor) in enumerate(fields):
            label = QLabel(words, self)
            label.setObjectName("fieldLabel")
            form.addWidget(label, 0, column)
            form.addWidget(editor, 1, column)
            form.setColumnStretch(column, 2 if words in ("at", "note") else 1)
        self.passed = self._button("Passed", lambda: self._record(passed=True))
        self.failed = self._button("Failed", lambda: self._record(passed=False))
        self.forget = self._button("Take last result back", self._forget)
        row = QHBoxLayout()
        for widget in (self.passed, self.failed):
            row.addWidget(widget)
        row.addStretch(1)
        row.addWidget(self.forget)
        self.problem = problem_label(self)
        caution = QLabel(CAUTION, self)
        caution.setWordWrap(True)
        layout = QVBoxLayout(self)
        layout.addWidget(caution)
        layout.addWidget(self.table, 1)
        layout.addLayout(form)
        layout.addWidget(self.problem)
        layout.addLayout(row)
        self._show_unit()
        self._fresh = True

    def _button(self, words: str, run: Any) -> QPushButton:
        button = QPushButton(words, self)
        button.setAutoDefault(False)
        button.clicked.connect(run)
        return button

    def refresh(self) -> None:
        """Show the plan as it is; the first time what is selected on the sheet is chosen."""
        plan = self._work.analysis().plan
        last: dict[tuple[str, str], TestResult] = {(row.circuit, row.kind): row for row in plan.test_results}
        rows = [
            (circuit.id, (circuit.name, circuit.group.replace("_", " "),
                          *(_result_words(last.get((circuit.id, kind)), kind, circuit.group) for kind in KINDS)))
            for circuit in plan.circuits
        ]  # fmt: skip
        self.table.show_rows(rows)
        if self._fresh:
            self._fresh = False
            self.table.choose(self._work.selected)

    def _show_unit(self) -> None:
        kind = str(self.kind.currentData())
        self.unit.setText(UNITS[kind])
        self.value.setEnabled(bool(UNITS[kind]))

    def _show_devices(self) -> None:
        """Only what the chosen circuit reaches can be measured at."""
        plan, chosen = self._work.analysis().plan, self.table.chosen()
        names = {device.id: device.name for device in plan.devices}
        now = self.device.currentData()
        self.device.clear()
        self.device.addItem("the whole circuit", "")
        if len(chosen) == 1:
            circuit = next(row for row in plan.circuits if row.id == chosen[0])
            for device in dict.fromkeys(stop.device for stop in circuit.stops):
                self.device.addItem(names[device], device)
        self.device.setCurrentIndex(max(0, self.device.findData(now)))

    def _record(self, passed: bool) -> None:
        circuits = self.table.chosen()
        if not circuits:
            say(self.problem, "Choose circuits first.")
            return
        kind, text = str(self.kind.currentData()), self.value.text().strip().replace(",", ".")
        try:
            value = float(text) if text and UNITS[kind] else None
        except ValueError:
            say(self.problem, f"“{text}” is no number of {UNITS[kind]}.")
            return
        device = str(self.device.currentData() or "") or None

        def edit(plan: Plan) -> Plan:
            for circuit in circuits:
                plan, _ = record_test(
                    plan, circuit, kind, passed, device=device, value=value,
                    unit=UNITS[kind] if value is not None else "", on=self._work.today, by=self.by.text(),
                    note=self.note.text(),
                )  # fmt: skip
            return plan

        problem = self._work.change(f"Test of {counted(len(circuits), 'circuit')}", edit)
        self.refresh()
        say(self.problem, problem)

    def _forget(self) -> None:
        chosen = self.table.chosen()
        kind = self.kind.currentData()
        gone = {row.circuit: row.id for row in self._work.analysis().plan.test_results
                if row.circuit in chosen and row.kind == kind}  # fmt: skip
        if not gone:
            say(self.problem, f"No result of {KINDS[kind]} is written down for what is chosen.")
            return
        say(self.problem, self._work.change(
            f"Take back {counted(len(gone), 'result')}",
            lambda plan: take_out(plan, "test_results", set(gone.values())),
        ))  # fmt: skip
        self.refresh()


def _result_words(row: TestResult | None, kind: str, group: str) -> str:
    if row is None:
        return "not needed" if kind == "insulation" and group != "mains" else "–"
    value = f" {show(row.value, row.unit, 2)}" if row.value is not None else ""
    return f"{'passed' if row.passed else 'FAILED'}{value}{f', {row.on}' if row.on else ''}"
