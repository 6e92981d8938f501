"""Below the sheet: the circuits, edited as in a spreadsheet. Always in step with the sheet and its selection."""

from collections.abc import Callable

from PySide6.QtCore import QEvent, QItemSelection, QItemSelectionModel, QModelIndex, QPersistentModelIndex, Qt, Signal
from PySide6.QtGui import QGuiApplication, QKeyEvent, QKeySequence
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QCompleter,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QSizePolicy,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from app.panels.circuit_model import NEW, TYPED, CircuitModel
from app.session import Session
from app.theme import Theme
from core.electrical.protection import families
from core.errors import FileProblem
from core.exports.delimited import read_rows
from core.model import SOURCES, Plan, WireKind

OWN_KEYS = {
    "Ctrl+C": "copy", "Ctrl+Ins": "copy", "Ctrl+V": "paste", "Shift+Ins": "paste", "Ctrl+D": "fill",
    "Del": "clear", "Backspace": "clear", "Esc": "forget", "F2": "edit",
}  # fmt: skip
LEAST_PX = 420
WIDTHS = (170, 130, 48, 190, 64, 150, 92, 150, 92, 76, 140, 92, 108, 76, 64)


class Grid(QTableView):
    """Copy, paste, fill down, clear: by the keys of a spreadsheet, which here win over those of the window."""

    pressed = Signal(str)

    def _word(self, event: QKeyEvent) -> str:
        here = QKeySequence(event.keyCombination()).toString(QKeySequence.SequenceFormat.PortableText)
        return OWN_KEYS.get(here, "")

    def event(self, event: QEvent) -> bool:
        own = event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent)
        if own and isinstance(event, QKeyEvent) and self._word(event):
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if self.state() != QAbstractItemView.State.EditingState and (word := self._word(event)):
            self.pressed.emit(word)
            return
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.state() != (
            QAbstractItemView.State.EditingState
        ):
            self.edit(self.currentIndex())
            return
        super().keyPressEvent(event)


class NameDelegate(QStyledItemDelegate):
    """Offers the names that fit a column while one types."""

    def __init__(self, names: Callable[[str], list[str]], parent: QWidget) -> None:
        super().__init__(parent)
        self._names = names

    def createEditor(
        self, parent: QWidget, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> QWidget:
        editor = super().createEditor(parent, option, index)
        names = self._names(TYPED[index.column()].key)
        if isinstance(editor, QLineEdit) and names:
            completer = QCompleter(names, editor)
            completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
            completer.setFilterMode(Qt.MatchFlag.MatchContains)
            editor.setCompleter(completer)
        return editor


class CircuitTable(QWidget):
    """A view on the session; `asked` names an action of the window."""

    asked = Signal(str)
    said = Signal(str)

    def __init__(self, session: Session, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("findingsPane")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self._session = session
        self._following = False
        self.model = CircuitModel(session, theme, self)
        self.grid = Grid(self)
        self.grid.setModel(self.model)
        self.grid.setAccessibleName("Circuit table")
        self.grid.setObjectName("sideBySide")
        self.grid.setItemDelegate(NameDelegate(self._names, self))
        self.grid.setSelectionMode(QAbstractItemView.SelectionMode.ContiguousSelection)
        self.grid.setShowGrid(True)
        self.grid.setWordWrap(False)
        self.grid.setCornerButtonEnabled(False)
        self.grid.findChildren(QAbstractButton)[0].setAccessibleName("Select all cells")
        self.grid.verticalHeader().setDefaultSectionSize(22)
        head = self.grid.horizontalHeader()
        head.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        for column, width in enumerate(WIDTHS):
            self.grid.setColumnWidth(column, width)
        self.problem = QLabel(self)
        self.problem.setObjectName("fieldProblem")
        self.problem.setTextFormat(Qt.TextFormat.PlainText)
        bar = QHBoxLayout()
        bar.setContentsMargins(10, 3, 10, 3)
        self.buttons: dict[str, QPushButton] = {}
        own = {"fill": ("Fill down", "Ctrl+D"), "copy": ("Copy", "Ctrl+C"), "paste": ("Paste", "Ctrl+V")}
        for word, (words, keys) in own.items():
            button = self.buttons[word] = self._button(words, f"{words}  ({keys})")
            button.setProperty("word", word)
            button.clicked.connect(self._clicked)
            bar.addWidget(button)
        for action, words in (
            ("wire-all", "Wire all…"), ("import-loads", "Import load list…"), ("export-loads", "Export load list…"),
        ):  # fmt: skip
            button = self.buttons[action] = self._button(words, words)
            button.setProperty("word", action)
            button.clicked.connect(self._action_clicked)
            bar.addWidget(button)
        bar.addSpacing(10)
        bar.addWidget(self.problem, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addLayout(bar)
        layout.addWidget(self.grid, 1)
        # A small window is not made wider by the row of buttons.
        self.setMinimumWidth(LEAST_PX)
        self.problem.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.setFocusProxy(self.grid)
        self.grid.pressed.connect(self.do)
        self.model.said.connect(self.said)
        self.model.dataChanged.connect(self._tell)
        self.model.modelReset.connect(self.follow)
        self.grid.selectionModel().selectionChanged.connect(self._chosen)
        self.grid.selectionModel().currentChanged.connect(self._tell)
        session.selection_changed.connect(self.follow)

    def _button(self, words: str, tip: str) -> QPushButton:
        button = QPushButton(words, self)
        button.setToolTip(tip)
        button.setAutoDefault(False)
        return button

    def set_theme(self, theme: Theme) -> None:
        self.model.set_theme(theme)

    def _names(self, key: str) -> list[str]:
        plan = self._session.plan
        match key:
            case "source":
                return [d.name for d in plan.devices if d.kind in SOURCES or d.ways]
            case "loads":
                return [d.name for d in plan.devices]
            case "family":
                return [family.title for family in families().values()]
            case "kind":
                return [kind.name for kind in _kinds(plan, self._session)]
            case _:
                return []

    # --- the selection of the sheet ----------------------------------------------------------------------------------

    def follow(self) -> None:
        """Go to the circuit that is selected on the sheet; the cell stays in its column."""
        if self._following:
            return
        chosen = [row for each in self._session.selection if (row := self.model.row_of(each)) is not None]
        if not chosen:
            return
        here = {index.row() for index in self.grid.selectionModel().selectedIndexes()}
        if here == set(chosen):
            return
        self._following = True
        column = max(self.grid.currentIndex().column(), 0)
        selection = QItemSelection()
        for row in chosen:
            selection.select(self.model.index(row, column), self.model.index(row, column))
        flags = QItemSelectionModel.SelectionFlag
        self.grid.selectionModel().setCurrentIndex(self.model.index(chosen[0], column), flags.NoUpdate)
        self.grid.selectionModel().select(selection, flags.ClearAndSelect)
        self.grid.scrollTo(self.model.index(chosen[0], column))
        self._following = False

    def _chosen(self, _selected: object, _deselected: object) -> None:
        self._tell()
        if self._following:
            return
        rows = sorted({index.row() for index in self.grid.selectionModel().selectedIndexes()})
        circuits = [circuit for row in rows if (circuit := self.model.circuit_at(row)) != NEW]
        if circuits:
            self._following = True
            self._session.select(circuits)
            self._following = False

    def _tell(self) -> None:
        """Why the current cell cannot be read, else how many cannot."""
        index = self.grid.currentIndex()
        told = self.model.problem(index.row(), index.column()) if index.isValid() else ""
        count = len(self.model.refused)
        if not told and count:
            told = f"{count} cell{'s' if count > 1 else ''} could not be read"
        self.problem.setText(told)
        self.problem.setToolTip(told)

    # --- as a spreadsheet --------------------------------------------------------------------------------------------

    def do(self, word: str) -> None:
        """copy, paste, fill, clear, forget, edit."""
        block = self._block()
        if block is None:
            return
        top, left, bottom, right = block
        match word:
            case "edit":
                self.grid.edit(self.grid.currentIndex())
            case "copy":
                rows = [
                    "\t".join(self._copied(row, c) for c in range(left, right + 1)) for row in range(top, bottom + 1)
                ]
                QGuiApplication.clipboard().setText("\n".join(rows))
                self.said.emit(f"Copied {bottom - top + 1} × {right - left + 1} cells.")
            case "paste":
                self._paste(top, left, bottom, right)
            case "fill":
                self._fill(top, left, bottom, right)
            case "clear" if left == 0 and right == self.model.columnCount() - 1:
                self.asked.emit("delete")  # whole rows: the circuits themselves
            case "clear":
                cells = [(row, c, "") for row in range(top, bottom + 1) for c in range(left, min(right, _LAST) + 1)]
                self.model.put(cells, "Clear cells of circuits")
            case "forget":
                if not self.model.forget(top, left):
                    self._session.select(())

    def _copied(self, row: int, column: int) -> str:
        return self.model.text(row, column).replace("\t", " ").replace("\n", " ")

    def _block(self) -> tuple[int, int, int, int] | None:
        indexes = self.grid.selectionModel().selectedIndexes() or [self.grid.currentIndex()]
        indexes = [index for index in indexes if index.isValid()]
        if not indexes:
            return None
        rows, columns = [index.row() for index in indexes], [index.column() for index in indexes]
        return min(rows), min(columns), max(rows), max(columns)

    def _paste(self, top: int, left: int, bottom: int, right: int) -> None:
        text = QGuiApplication.clipboard().text()
        try:
            # What a spreadsheet gives has tabs; a text without them is one cell a line, whatever commas it holds.
            rows = read_rows(text, "the clipboard") if "\t" in text else tuple((line,) for line in text.splitlines())
        except FileProblem as problem:
            self.said.emit(str(problem))
            return
        if not rows:
            self.said.emit("There is nothing to paste.")
            return
        if len(rows) == 1 and len(rows[0]) == 1:
            # One text for every selected cell.
            rows = tuple(rows[0] * (right - left + 1) for _ in range(top, bottom + 1))
        cells = [(top + i, left + j, text) for i, row in enumerate(rows) for j, text in enumerate(row)]
        inside = [cell for cell in cells if cell[1] <= _LAST]
        self.model.put(inside, "Paste into the circuit table")
        if len(inside) < len(cells):
            self.said.emit(f"{len(cells) - len(inside)} cells hung over the last column that can be typed into.")

    def _fill(self, top: int, left: int, bottom: int, right: int) -> None:
        if bottom == top:
            if top == 0:
                self.said.emit("Select the cells below too; the first one fills them.")
                return
            top -= 1  # a single cell takes what stands above it
        bottom = min(bottom, len(self.model.circuits) - 1)
        cells = [
            (row, c, self.model.text(top, c))
            for row in range(top + 1, bottom + 1)
            for c in range(left, min(right, _LAST) + 1)
        ]
        self.model.put(cells, "Fill down")

    def _clicked(self) -> None:
        self.do(str(self.sender().property("word")))

    def _action_clicked(self) -> None:
        self.asked.emit(str(self.sender().property("word")))


_LAST = len(TYPED) - 1


def _kinds(plan: Plan, session: Session) -> list[WireKind]:
    known = {kind.id for kind in plan.wire_kinds}
    return [*plan.wire_kinds, *(kind for kind in session.library.wire_kinds if kind.id not in known)]
