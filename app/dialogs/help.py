"""Find a command, all keys in one place, about and licences."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QDialog,
    QHeaderView,
    QLabel,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QPlainTextEdit,
    QTableWidget,
    QTableWidgetItem,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from core import __version__
from core.resources import resource

#: Keys of the sheet itself, beside those of the actions.
SHEET_KEYS: tuple[tuple[str, str], ...] = (
    ("Wheel", "Zoom about the pointer"),
    ("Space and drag, or middle button", "Pan"),
    ("Arrow keys", "Move the selection by 10 mm; Shift 100 mm, Alt 1 mm"),
    ("Arrow keys, Space", "While drawing: move the point by 10 mm (Shift 100 mm, Ctrl 1 mm), click there"),
    ("Digits", "Type a length, Tab, the angle or the second length, Return"),
    ("Digits, with a selection", "How far it moves to the right, Tab, how far up"),
    ("Tab", "The next thing on the sheet; Shift+Tab the one before"),
    ("Tab, while drawing", "An angle without a length: the line runs that way"),
    ("Alt or Ctrl", "Do not snap while it is held"),
    ("L", "While drawing: hold lines to multiples of 90°, 45°, 15°, or set them free"),
    ("D", "While drawing or placing: the distance from the edge pointed at, then from another"),
    ("J", "Go on drawing a channel where its seam leads"),
    ("Insert, Backspace", "Edges and corners: a corner into the edge, the corner away"),
    ("Shift", "Hold to level, upright or 45°; while selecting: add"),
    ("R", "Rectangle or any shape, while an outline is drawn"),
    ("T", "Turn the device in hand"),
    ("Backspace", "Take back the last point"),
    ("Return", "End a line, close an outline, keep the height shown; while selecting: edit the facts"),
    ("Escape", "One step back; then leave the tool; then select nothing"),
    ("Home, End", "Show the whole sheet, show the selection"),
)


@dataclass(frozen=True)
class Command:
    """A row of the command search. `why_not` is "" when it can run."""

    words: str
    where: str
    keys: str
    why_not: str
    run: Callable[[], object]


class CommandSearch(QDialog):
    """Type a word, Return runs the first that can run; one that cannot says why."""

    def __init__(self, parent: QWidget, commands: Sequence[Command]) -> None:
        super().__init__(parent)
        # What can be done now comes first.
        self._commands = sorted(commands, key=lambda command: bool(command.why_not))
        self.setWindowTitle("Find a command")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.resize(560, 420)
        self.search = QLineEdit(self)
        self.search.setPlaceholderText("What do you want to do?")
        self.search.setAccessibleName("Find a command")
        self.list = QListWidget(self)
        self.list.setAccessibleName("Commands found")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(14, 14, 14, 14)
        layout.addWidget(self.search)
        layout.addWidget(self.list, 1)
        self.search.textChanged.connect(self._fill)
        self.search.returnPressed.connect(self._run_current)
        self.list.itemActivated.connect(self._activated)
        self._fill("")
        self.search.setFocus()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Down, Qt.Key.Key_Up):
            step = 1 if event.key() == Qt.Key.Key_Down else -1
            self.list.setCurrentRow(max(0, min(self.list.count() - 1, self.list.currentRow() + step)))
            return
        super().keyPressEvent(event)

    def _fill(self, text: str) -> None:
        wanted = text.casefold().split()
        self.list.clear()
        for number, command in enumerate(self._commands):
            if not all(word in f"{command.words} {command.where}".casefold() for word in wanted):
                continue
            keys = f"   {command.keys}" if command.keys else ""
            why = f"\n{command.why_not}" if command.why_not else ""
            item = QListWidgetItem(f"{command.words}{keys}{why}")
            item.setData(Qt.ItemDataRole.UserRole, number)
            if command.why_not:
                item.setForeground(self.palette().placeholderText())
            self.list.addItem(item)
        if self.list.count():
            self.list.setCurrentRow(0)

    def _run_current(self) -> None:
        if (item := self.list.currentItem()) is not None:
            self._activated(item)

    def _activated(self, item: QListWidgetItem) -> None:
        command = self._commands[item.data(Qt.ItemDataRole.UserRole)]
        if not command.why_not:
            self.accept()
            command.run()


class KeysDialog(QDialog):
    """All keys in one table."""

    def __init__(self, parent: QWidget, commands: Sequence[Command]) -> None:
        super().__init__(parent)
        self.setWindowTitle("Keyboard")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.resize(820, 640)
        rows = [*SHEET_KEYS, *((command.keys, command.words) for command in commands if command.keys)]
        table = QTableWidget(len(rows), 2, self)
        table.setHorizontalHeaderLabels(["Key", "What it does"])
        table.setAccessibleName("Keys")
        table.verticalHeader().hide()
        table.setShowGrid(False)
        table.setEditTriggers(QTableWidget.EditTrigger.NoEditTriggers)
        table.horizontalHeader().setSectionResizeMode(0, QHeaderView.ResizeMode.ResizeToContents)
        table.horizontalHeader().setSectionResizeMode(1, QHeaderView.ResizeMode.Stretch)
        table.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft)
        for row, cells in enumerate(rows):
            for column, text in enumerate(cells):
                table.setItem(row, column, QTableWidgetItem(text))
        layout = QVBoxLayout(self)
        layout.setContentsMargins(14, 14, 14, 14)
        layout.addWidget(table)


class AboutDialog(QDialog):
    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setWindowTitle("About Loomwright")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.resize(660, 560)
        head = QLabel(f"Loomwright {__version__}", self)
        head.setObjectName("dialogHeadline")
        told = QLabel(
            "Plans the wiring harness of a vehicle conversion before the wall panels go up.\n\n"
            "It is a planning aid. Mains work, gas, airbags and structural drilling belong to licensed people; "
            "local codes and the makers' instructions decide. It uses no network.",
            self,
        )
        told.setWordWrap(True)
        tabs = QTabWidget(self)
        tabs.setAccessibleName("Licences")
        tabs.tabBar().setAccessibleName("Licences")
        for path in sorted(resource("licences").iterdir(), key=lambda path: (path.suffix != ".md", path.name)):
            text = QPlainTextEdit(path.read_text(encoding="utf-8"), self)
            text.setAccessibleName(path.stem)
            text.setReadOnly(True)
            tabs.addTab(text, "What is used" if path.suffix == ".md" else path.stem)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(22, 18, 22, 18)
        layout.setSpacing(10)
        layout.addWidget(head)
        layout.addWidget(told)
        layout.addWidget(tabs, 1)
