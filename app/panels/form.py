"""A form made from declared fields: every change is an edit of the plan at once, every refusal stands at its field."""

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QGridLayout,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QVBoxLayout,
    QWidget,
)

from app.choice import Choice
from app.panels.fields import Field, Form
from app.panels.values import has, read, shown, value_of, with_value
from app.tools.desk import Desk
from core.errors import LoomwrightError


class NoteEdit(QPlainTextEdit):
    """Some lines of text; done on leaving, or with Ctrl+Return."""

    done = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setTabChangesFocus(True)
        self.setFixedHeight(58)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.done.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and event.modifiers() & (
            Qt.KeyboardModifier.ControlModifier
        ):
            self.done.emit()
            return
        super().keyPressEvent(event)


class Row(QWidget):
    """One field: its editor and, below, why what was typed cannot be."""

    def __init__(self, field: Field, commit: Callable[[Field, str], str], parent: QWidget) -> None:
        super().__init__(parent)
        self.field = field
        self._commit = commit
        self._shown = ""
        self._value: Any = _NOTHING_YET
        self.label = QLabel(field.label, parent)
        self.label.setObjectName("fieldLabel")
        self.label.setWordWrap(True)
        self.problem = QLabel(self)
        self.problem.setObjectName("fieldProblem")
        self.problem.setWordWrap(True)
        self.problem.hide()
        self.editor = self._make_editor()
        self.editor.setAccessibleName(field.label)
        self.editor.setObjectName(f"field:{field.path}")
        if field.tip:
            self.editor.setToolTip(field.tip)
            self.label.setToolTip(field.tip)
        self.label.setBuddy(self.editor)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(2)
        layout.addWidget(self.editor)
        layout.addWidget(self.problem)

    def _make_editor(self) -> QWidget:
        field = self.field
        if field.kind == "choice":
            combo = Choice(self)
            for value, words in field.choices:
                combo.addItem(words, value)
            combo.activated.connect(self._chosen)
            return combo
        if field.kind == "flag":
            box = QCheckBox(field.label, self)
            self.label.hide()
            box.clicked.connect(self._clicked)
            return box
        if field.kind == "note":
            note = NoteEdit(self)
            note.done.connect(self._finished)
            return note
        line = QLineEdit(self)
        line.setPlaceholderText(field.empty or "")
        line.editingFinished.connect(self._finished)
        return line

    def show_value(self, value: Any, text: str) -> None:
        """Show a value, unless somebody is typing here just now."""
        editor = self.editor
        if (text, value) == (self._shown, self._value) and not self.problem.text() and not _touched(editor):
            return  # a form is told of every frame of a drag; dressing a widget anew is what costs
        typing = isinstance(editor, QLineEdit) and editor.hasFocus() and editor.isModified()
        if typing and text == self._shown:
            return
        self._shown, self._value = text, value
        self.say("")
        with QSignalBlocker(editor):
            match editor:
                case QComboBox():
                    editor.setCurrentIndex(editor.findData(value))
                case QCheckBox():
                    editor.setChecked(bool(value))
                case QPlainTextEdit():
                    editor.setPlainText(text)
                case QLineEdit():
                    editor.setText(text)
                    editor.setCursorPosition(0)

    def say(self, problem: str) -> None:
        if problem == self.problem.text():
            return
        self.problem.setText(problem)
        self.problem.setVisible(bool(problem))
        self.editor.setProperty("wrong", bool(problem))
        self.editor.setAccessibleDescription(problem)
        self.editor.style().unpolish(self.editor)
        self.editor.style().polish(self.editor)

    def _finished(self) -> None:
        editor = self.editor
        text = editor.toPlainText() if isinstance(editor, QPlainTextEdit) else ""
        if isinstance(editor, QLineEdit):
            text = editor.text()
        if text != self._shown:
            self.say(self._commit(self.field, text))

    def _chosen(self, _index: int) -> None:
        assert isinstance(self.editor, QComboBox)
        self.say(self._commit(self.field, str(self.editor.currentData())))

    def _clicked(self, checked: bool) -> None:
        self.say(self._commit(self.field, "1" if checked else ""))


_NOTHING_YET = object()


def _touched(editor: QWidget) -> bool:
    """Whether somebody has typed here since the value was shown."""
    if isinstance(editor, QLineEdit):
        return editor.isModified()
    return not isinstance(editor, QPlainTextEdit) or editor.document().isModified()


class RecordForm(QWidget):
    """The form of one record, or of the plan itself (record "")."""

    def __init__(self, desk: Desk, form: Form, record_id: str, record: Any, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self.record_id = record_id
        self._word = form.word
        self.rows: list[Row] = []
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(10)
        grid.setVerticalSpacing(5)
        grid.setColumnStretch(0, 4)
        grid.setColumnStretch(1, 6)
        for heading, fields in form.sections:
            usable = [field for field in fields if has(record, field.path)]
            if heading and usable:
                title = QLabel(heading, self)
                title.setObjectName("sectionHeading")
                title.setIndent(0)
                grid.addWidget(title, grid.rowCount(), 0, 1, 2)
            for field in usable:
                row = Row(field, self._commit, self)
                self.rows.append(row)
                line = grid.rowCount()
                if field.kind == "flag":
                    grid.addWidget(row, line, 1)
                elif field.kind == "note":
                    grid.addWidget(row.label, line, 0, 1, 2)
                    grid.addWidget(row, line + 1, 0, 1, 2)
                else:
                    grid.addWidget(row.label, line, 0, Qt.AlignmentFlag.AlignTop)
                    grid.addWidget(row, line, 1)
                    row.label.setContentsMargins(0, 5, 0, 0)
        self.show_record(record)

    def show_record(self, record: Any) -> None:
        for row in self.rows:
            if has(record, row.field.path):
                value = value_of(record, row.field.path)
                row.show_value(value, shown(self._desk, row.field, value))

    def row(self, path: str) -> Row:
        """The row of a field. Raises StopIteration for a field the form does not have."""
        return next(row for row in self.rows if row.field.path == path)

    def _commit(self, field: Field, text: str) -> str:
        """Make the edit; gives why it was refused, or ""."""
        session = self._desk.session
        try:
            value = bool(text) if field.kind == "flag" else read(self._desk, field, text)
            plan = with_value(session.plan, self.record_id, field, value)
        except LoomwrightError as refusal:
            return str(refusal)
        if plan is session.plan:
            self.show_record(self._record())
            return ""
        session.commit(f"Set {field.label[:1].lower()}{field.label[1:]} of {self._named()}", plan)
        return ""

    def _record(self) -> Any:
        from core.edits.change import find_any

        plan = self._desk.session.plan
        return plan if not self.record_id else find_any(plan, self.record_id)[1]

    def _named(self) -> str:
        name = getattr(self._record(), "name", "") or self._word.lower()
        return "the plan" if not self.record_id else str(name)
