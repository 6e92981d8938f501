"""Import a load list: what its columns were taken for, which rows fit, and of every bad one where and what is wrong."""

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableWidget, QTableWidgetItem, QWidget

from app.dialogs.work import ROLES, WorkDialog
from core.edits.load_rows import Imported, RowProblem
from core.exports.load_list import LoadList
from core.text import counted

PROBLEMS = ("Row", "Column", "Found", "Expected")


class ImportLoadsDialog(WorkDialog):
    """`take` gets the plan with the rows that fit."""

    def __init__(
        self, parent: QWidget, name: str, read: LoadList, imported: Imported, take: Callable[[], None]
    ) -> None:
        problems = (*read.problems, *imported.problems)
        bad = len({problem.row for problem in problems})
        good = len(read.rows) - len({problem.row for problem in imported.problems})
        super().__init__(
            parent, "Import load list", f"{counted(good, 'row')} of {name} can be imported",
            f"{'It brings' if good == 1 else 'They bring'} {counted(len(imported.devices), 'new device')} and "
            f"{counted(len(imported.circuits), 'new circuit')}; a blank cell changes nothing."
            + (f" {counted(bad, 'row')} would be left out, each told below." if bad else ""),
            width=760,
        )  # fmt: skip
        self._take, self._problems = take, sorted(problems, key=lambda problem: problem.row)
        self.columns = self._table(("Column of the file", "Taken for"), "Columns")
        _fill(self.columns, [*read.columns, *((title, "not known: left out") for title in read.unknown)])
        self.columns.setMaximumHeight(190)
        self.body.addWidget(self.heading("Columns"))
        self.body.addWidget(self.columns)
        self.rows = self._table(PROBLEMS, "Rows that are left out")
        _fill(self.rows, [_cells(problem) for problem in self._problems])
        if problems:
            self.body.addWidget(self.heading("Rows that are left out"))
            self.body.addWidget(self.rows, 1)
            self.button("Copy this report", self._copy, ROLES.ActionRole)
        else:
            self.rows.hide()
        self.accept_button = self.button(f"Import {counted(good, 'row')}", self._accept, default=True)
        self.accept_button.setEnabled(good > 0)
        self.way_out()

    def _table(self, titles: Sequence[str], name: str) -> QTableWidget:
        table = QTableWidget(0, len(titles), self)
        table.setHorizontalHeaderLabels(list(titles))
        table.setAccessibleName(name)
        table.verticalHeader().hide()
        table.verticalHeader().setDefaultSectionSize(24)
        table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        head = table.horizontalHeader()
        head.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        head.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        head.setStretchLastSection(True)
        return table

    def _accept(self) -> None:
        self.accept()
        self._take()

    def _copy(self) -> None:
        QGuiApplication.clipboard().setText("\n".join(str(problem) for problem in self._problems))


def _cells(problem: RowProblem) -> tuple[str, ...]:
    return str(problem.row), problem.column or "whole row", problem.found or "–", problem.expected


def _fill(table: QTableWidget, rows: Sequence[Sequence[str]]) -> None:
    table.setRowCount(len(rows))
    for number, cells in enumerate(rows):
        for column, text in enumerate(cells):
            item = QTableWidgetItem(text)
            item.setToolTip(text)
            table.setItem(number, column, item)
