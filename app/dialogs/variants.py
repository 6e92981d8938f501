"""Variants: copies of the plan inside its file; keep, switch, rename, delete, and the whole of them side by side."""

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QFont
from PySide6.QtWidgets import (
    QAbstractItemView,
    QCheckBox,
    QHBoxLayout,
    QHeaderView,
    QLineEdit,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QWidget,
)

from app.dialogs.work import WorkDialog
from core.model import Plan

if TYPE_CHECKING:
    from core.studies.variants import Comparison

THIS = "This plan"


class VariantsDialog(WorkDialog):
    """`keep`, `switch`, `rename`, `delete`, `on_24v` make the edits and give why they cannot be, or "".

    `compared` is asked for a comparison of a plan with its variants and answers when it is there.
    """

    def __init__(
        self, parent: QWidget, plan: Callable[[], Plan],
        keep: Callable[[str], str], switch: Callable[[str], str], rename: Callable[[str, str], str],
        delete: Callable[[str], str], on_24v: Callable[[], str],
        compared: Callable[[Plan, Callable[["Comparison"], None]], None],
    ) -> None:  # fmt: skip
        super().__init__(
            parent, "Variants", "Variants of this plan",
            "A copy kept inside the file, to try another way and compare. Switching keeps what is here as a variant.",
            width=760,
        )  # fmt: skip
        self.resize(900, 640)
        self._plan, self._keep, self._switch = plan, keep, switch
        self._rename, self._delete, self._on_24v, self._compared = rename, delete, on_24v, compared
        self.comparison: Comparison | None = None
        self._gone = False
        self.name = QLineEdit(self)
        self.name.setPlaceholderText("Name, such as “Thinner wire”")
        self.name.setAccessibleName("Name of the variant")
        self.name.returnPressed.connect(self._keep_asked)
        first = QHBoxLayout()
        first.addWidget(self.name, 1)
        self.keep_button = self._button("Keep a copy", self._keep_asked)
        self.volts = self._button("24 V instead of 12 V", self._volts_asked)
        for button in (self.keep_button, self.volts):
            first.addWidget(button)
        self.row(first)
        self.table = QTableWidget(0, 0, self)
        self.table.setAccessibleName("Variants side by side")
        self.table.setObjectName("sideBySide")
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectColumns)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.table.verticalHeader().setDefaultSectionSize(24)
        self.table.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self.table.itemSelectionChanged.connect(self._chosen_changed)
        self.body.addWidget(self.table, 1)
        self.only = QCheckBox("Only what differs", self)
        self.only.toggled.connect(self._fill)
        self.switch_button = self._button("Switch to it", self._switch_asked)
        self.rename_button = self._button("Rename to the name above", self._rename_asked)
        self.delete_button = self._button("Delete it", self._delete_asked)
        second = QHBoxLayout()
        second.addWidget(self.only)
        second.addStretch(1)
        for button in (self.switch_button, self.rename_button, self.delete_button):
            second.addWidget(button)
        self.row(second)
        self.told_changes = self.told("")
        self.told_changes.hide()
        self.body.addWidget(self.told_changes)
        self.way_out("Close")
        self.refresh()

    def _button(self, words: str, run: Callable[[], None]) -> QPushButton:
        button = QPushButton(words, self)
        button.setAutoDefault(False)
        button.clicked.connect(run)
        return button

    # --- show --------------------------------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Compare anew; until the answer is there the table says so."""
        self.comparison = None
        self._fill()
        plan = self._plan()
        self._compared(plan, partial(self._answered, plan))

    def tell_changes(self, words: str) -> None:
        """What was changed and what still has to be decided."""
        self.told_changes.setText(words)
        self.told_changes.setVisible(bool(words))

    def _answered(self, plan: Plan, comparison: "Comparison") -> None:
        """The answer may come when the plan is another one, or when nobody looks any more."""
        if not self._gone and plan is self._plan():
            self.comparison = comparison
            self._fill()

    def done(self, result: int) -> None:
        self._gone = True
        super().done(result)

    def _fill(self) -> None:
        names = [THIS, *(variant.name for variant in self._plan().variants)]
        chosen = self.chosen
        self.table.clear()
        self.table.setColumnCount(len(names))
        self.table.setHorizontalHeaderLabels(names)
        self.table.setRowCount(0)
        if self.comparison is None:
            self.table.setRowCount(1)
            self.table.setVerticalHeaderLabels([""])
            self.table.setItem(0, 0, QTableWidgetItem("Being worked out…"))
        else:
            self._fill_rows(self.comparison)
        head = self.table.horizontalHeader()
        head.setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        ids = [variant.id for variant in self._plan().variants]
        self.table.selectColumn(ids.index(chosen) + 1 if chosen in ids else min(1, len(ids)))
        self._chosen_changed()

    def _fill_rows(self, comparison: "Comparison") -> None:
        for row in comparison.rows:
            if self.only.isChecked() and len(set(row.values)) == 1:
                continue
            texts = [_number(value, row.unit) for value in row.values]
            self._add(row.title, texts, row.best)
        for circuit in comparison.circuits:
            if self.only.isChecked() and len(set(circuit.values)) == 1:
                continue
            self._add(circuit.name, [_circuit(value) for value in circuit.values], None, differs=True)

    def _add(self, title: str, texts: list[str], best: int | None, differs: bool = False) -> None:
        row = self.table.rowCount()
        self.table.setRowCount(row + 1)
        self.table.setVerticalHeaderItem(row, QTableWidgetItem(title))
        for column, text in enumerate(texts):
            is_best = column == best
            item = QTableWidgetItem(f"{text}   best" if is_best else text)
            if is_best or (differs and text != texts[0]):
                font = QFont(self.table.font())
                font.setBold(True)
                item.setFont(font)
            item.setToolTip(f"{title}: {text}")
            self.table.setItem(row, column, item)

    @property
    def chosen(self) -> str:
        """The id of the variant whose column is selected, "" for this plan or none."""
        column, variants = self.table.currentColumn(), self._plan().variants
        return variants[column - 1].id if 0 < column <= len(variants) else ""

    def _chosen_changed(self) -> None:
        for button in (self.switch_button, self.rename_button, self.delete_button):
            button.setEnabled(bool(self.chosen))

    # --- do ----------------------------------------------------------------------------------------------------------

    def _keep_asked(self) -> None:
        if not self._done(self._keep(self.name.text())):
            self.name.setFocus()

    def _switch_asked(self) -> None:
        self._done(self._switch(self.chosen))

    def _rename_asked(self) -> None:
        if not self.name.text().strip():
            self.say("Type the new name above.")
            self.name.setFocus()
            return
        self._done(self._rename(self.chosen, self.name.text()))

    def _delete_asked(self) -> None:
        self._done(self._delete(self.chosen))

    def _volts_asked(self) -> None:
        self._done(self._on_24v())

    def _done(self, told: str) -> bool:
        self.say(told)
        if not told:
            self.name.clear()
            self.refresh()
        return not told


def _number(value: float | None, unit: str) -> str:
    if value is None:
        return "not known"
    text = f"{value:.0f}" if not unit or value >= 1000 else f"{value:.2f}"
    if unit == "" and value != round(value):
        text = f"{value:.2f}"
    return f"{text} {unit}".strip()


def _circuit(value: tuple[float | None, float | None, float | None, float | None] | None) -> str:
    if value is None:
        return "is not there"
    section, fuse, one_way, lost = value
    parts = [
        f"{section:g} mm²" if section is not None else "no size",
        f"{fuse:g} A" if fuse is not None else "no fuse",
        f"{one_way / 1000:.2f} m" if one_way is not None else "no route",
    ]
    return " · ".join([*parts, *([f"{lost:.1f} %"] if lost is not None else [])])
