"""What the pages of the dialog ask of the window, and the table they share."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QLabel,
    QTableWidget,
    QTableWidgetItem,
    QTableWidgetSelectionRange,
    QWidget,
)

from core.analysis.analysis import Analysis
from core.model import Plan, Point

#: The key of a row, and the column that is edited.
KEY = Qt.ItemDataRole.UserRole


@dataclass(frozen=True)
class Work:
    """`change` commits an edit under a label and says why it cannot be, "" where it was done. `place` is where what is
    selected on the sheet lies: surface and point, or None. `today` is written as 2026-11-25."""

    analysis: Callable[[], Analysis]
    change: Callable[[str, Callable[[Plan], Plan]], str]
    place: Callable[[], tuple[str, Point] | None]
    selected: tuple[str, ...]
    today: str
    #: Finished jobs to learn from: asks for plan files, then calls back with their analyses.
    other_jobs: Callable[[Callable[[Sequence[Analysis]], None]], None]


class Cells(QTableWidget):
    """Rows of words with a key each; some columns can be typed into."""

    def __init__(
        self, parent: QWidget, name: str, titles: Sequence[str], typed: Sequence[int] = (), wide: Sequence[int] = ()
    ) -> None:
        super().__init__(0, len(titles), parent)
        self._typed = frozenset(typed)
        self.setAccessibleName(name)
        self.setHorizontalHeaderLabels(list(titles))
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(24)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setEditTriggers(
            QAbstractItemView.EditTrigger.DoubleClicked
            | QAbstractItemView.EditTrigger.EditKeyPressed
            | QAbstractItemView.EditTrigger.AnyKeyPressed
        )
        self.setAlternatingRowColors(True)
        self.setTabKeyNavigation(False)
        self.setShowGrid(False)
        self._wide = tuple(wide)

    def show_rows(self, rows: Sequence[tuple[str, Sequence[str]]]) -> None:
        """(key, words) of every row; what was chosen stays chosen."""
        chosen, current = set(self.chosen()), self.currentColumn()
        with QSignalBlocker(self):
            self.setRowCount(len(rows))
            for number, (key, words) in enumerate(rows):
                for column, text in enumerate(words):
                    item = QTableWidgetItem(text)
                    item.setData(KEY, key)
                    if column not in self._typed:
                        item.setFlags(item.flags() & ~Qt.ItemFlag.ItemIsEditable)
                    else:
                        item.setToolTip("Type to change it")
                    self.setItem(number, column, item)
        self.choose(sorted(chosen), max(current, 0))
        self._set_widths()

    def _set_widths(self) -> None:
        header = self.horizontalHeader()
        for column in range(self.columnCount()):
            mode = QHeaderView.ResizeMode.Stretch if column in self._wide else QHeaderView.ResizeMode.ResizeToContents
            header.setSectionResizeMode(column, mode)

    def chosen(self) -> list[str]:
        """Keys of the rows that are chosen, from above."""
        return [self._key(row) for row in sorted({index.row() for index in self.selectedIndexes()})]

    def _key(self, row: int) -> str:
        item = self.item(row, 0)
        return str(item.data(KEY)) if item is not None else ""

    def choose(self, keys: Sequence[str], column: int = 0) -> None:
        """Choose rows by their keys and bring the first into sight."""
        rows = [row for row in range(self.rowCount()) if self._key(row) in keys]
        self.clearSelection()
        if not rows:
            return
        self.setCurrentCell(rows[0], column)
        ranges = (QTableWidgetSelectionRange(row, 0, row, self.columnCount() - 1) for row in rows)
        for chosen in ranges:
            self.setRangeSelected(chosen, True)
        self.scrollTo(self.currentIndex())


def problem_label(parent: QWidget) -> QLabel:
    label = QLabel(parent)
    label.setObjectName("fieldProblem")
    label.setWordWrap(True)
    label.hide()
    return label


def say(label: QLabel, problem: str) -> None:
    label.setText(problem)
    label.setVisible(bool(problem))
