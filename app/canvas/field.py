"""Beside the pointer: the field where a length is typed while drawing, and the word that says what it snaps to."""

from textwrap import fill

from PySide6.QtCore import QPoint, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QGridLayout, QLabel, QLineEdit, QWidget

from app.theme import Theme

#: Beside and below the pointer.
AWAY = QPoint(18, 20)
#: What parts two typed values; a prompt names them with this between.
TAB, BETWEEN = " ; ", "⇥"
PROBLEM_WIDTH = 260
#: A sentence beside the pointer is broken into lines of about so many letters.
WORD_LETTERS = 52


class PointerWord(QLabel):
    """A word beside the pointer. It takes no clicks."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.set_theme(theme)
        self.hide()

    def set_theme(self, theme: Theme) -> None:
        self.setStyleSheet(
            f"QLabel {{ color: {theme.colour('ink').name()}; background: {theme.colour('base').name()};"
            f" border: 1px solid {theme.colour('edge').name()}; border-radius: 4px; padding: 1px 6px; }}"
        )

    def say(self, words: str, at: QPoint) -> None:
        """Show the words near a point of the view, or nothing."""
        self.setVisible(bool(words))
        if not words:
            return
        words = "\n".join(fill(line, WORD_LETTERS) for line in words.splitlines())
        if words != self.text():
            self.setText(words)
        self.adjustSize()
        self.move(kept_inside(self, at + AWAY))
        self.raise_()


class _Edit(QLineEdit):
    """Tab goes on to the next value instead of leaving the field. A line edit passes Return and Escape on after it
    has answered, and the sheet would take them for a second one: here they end."""

    entered = Signal()
    left = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        #: How many values the field takes.
        self.values = 1

    def focusNextPrevChild(self, _forward: bool) -> bool:
        return False

    def keyPressEvent(self, event: QKeyEvent) -> None:
        match event.key():
            case Qt.Key.Key_Return | Qt.Key.Key_Enter:
                self.entered.emit()
            case Qt.Key.Key_Escape:
                self.left.emit()
            case Qt.Key.Key_Tab:
                self.next_value()
            case Qt.Key.Key_Backtab:
                self.home(False)
            case _:
                super().keyPressEvent(event)
                return
        event.accept()

    def next_value(self) -> None:
        if self.text().count(TAB.strip()) < self.values - 1:
            self.setText(self.text().rstrip() + TAB)
        self.end(False)


class TypedField(QWidget):
    """Prompt and line edit; `entered` with the text on Return, `left` on Escape. What cannot be is said under it, and
    it stays open until it can."""

    entered = Signal(str)
    left = Signal()

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self.setObjectName("typedField")
        self._prompt = QLabel(self)
        self._edit = _Edit(self)
        self._edit.setMinimumWidth(110)
        self._edit.setAccessibleName("Typed dimension")
        self._edit.entered.connect(self._enter)
        self._edit.left.connect(self._leave)
        self._edit.textEdited.connect(self._edited)
        self._problem = QLabel(self)
        self._problem.setObjectName("fieldProblem")
        self._problem.setWordWrap(True)
        self._problem.setTextFormat(Qt.TextFormat.PlainText)
        self._problem.setFixedWidth(PROBLEM_WIDTH)
        self._problem.hide()
        layout = QGridLayout(self)
        layout.setContentsMargins(8, 4, 4, 4)
        layout.setHorizontalSpacing(6)
        layout.setVerticalSpacing(3)
        layout.addWidget(self._prompt, 0, 0)
        layout.addWidget(self._edit, 0, 1)
        layout.addWidget(self._problem, 1, 0, 1, 2)
        self.setAutoFillBackground(True)
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.setFocusProxy(self._edit)
        self.set_theme(theme)
        self.hide()

    def set_theme(self, theme: Theme) -> None:
        self.setStyleSheet(
            f"#typedField {{ background: {theme.colour('base').name()};"
            f" border: 1px solid {theme.colour('edge').name()}; border-radius: 5px; }}"
        )

    @property
    def text(self) -> str:
        return self._edit.text()

    @property
    def problem(self) -> str:
        """Why what was typed cannot be, or ""."""
        return self._problem.text()

    def open(self, prompt: str, first: str, at: QPoint) -> None:
        """Show with the first character typed already; none goes straight to the second value."""
        self._prompt.setText(prompt)
        self._edit.values = prompt.count(BETWEEN) + 1
        self._edit.setAccessibleDescription(prompt.replace(BETWEEN, ", then"))
        self._edit.setText(first)
        if not first:
            self._edit.next_value()
        self.say_problem("")
        self.move(kept_inside(self, at + AWAY))
        self.show()
        self.raise_()
        self._edit.setFocus(Qt.FocusReason.OtherFocusReason)

    def say_problem(self, sentence: str) -> None:
        """Say what is wrong, or that nothing is."""
        self._problem.setText(sentence)
        self._problem.setVisible(bool(sentence))
        self._edit.setProperty("wrong", bool(sentence))
        self._edit.style().polish(self._edit)
        if sentence:
            self._edit.setAccessibleDescription(sentence)
            self._edit.selectAll()
            # Wrapped text needs the height of its lines, which its hint alone does not tell.
            self._problem.setFixedHeight(self._problem.heightForWidth(PROBLEM_WIDTH))
        self.adjustSize()
        self.move(kept_inside(self, self.pos()))

    def _edited(self, _text: str) -> None:
        if self.problem:
            self.say_problem("")

    def _leave(self) -> None:
        self.hide()
        self.left.emit()

    def _enter(self) -> None:
        text = self._edit.text()
        if text.strip():
            self.entered.emit(text)


def kept_inside(widget: QWidget, at: QPoint) -> QPoint:
    """The point, moved so that the widget does not leave its parent."""
    parent = widget.parentWidget()
    if parent is None:
        return at
    return QPoint(
        max(0, min(at.x(), parent.width() - widget.width())), max(0, min(at.y(), parent.height() - widget.height()))
    )
