"""Beside the pointer: the field where a length is typed while drawing, and the word that says what it snaps to."""

from PySide6.QtCore import QPoint, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QLineEdit, QWidget

from app.theme import Theme

#: Beside and below the pointer.
AWAY = QPoint(18, 20)


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
        if words != self.text():
            self.setText(words)
        self.adjustSize()
        self.move(kept_inside(self, at + AWAY))
        self.raise_()


class TypedField(QWidget):
    """Prompt and line edit; `entered` with the text on Return, `left` on Escape."""

    entered = Signal(str)
    left = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._prompt = QLabel(self)
        self._edit = QLineEdit(self)
        self._edit.setFixedWidth(110)
        self._edit.setAccessibleName("Typed dimension")
        self._edit.returnPressed.connect(self._enter)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(6, 3, 3, 3)
        layout.setSpacing(6)
        layout.addWidget(self._prompt)
        layout.addWidget(self._edit)
        self.setAutoFillBackground(True)
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.setFocusProxy(self._edit)
        self.hide()

    @property
    def text(self) -> str:
        return self._edit.text()

    def open(self, prompt: str, first: str, at: QPoint) -> None:
        """Show with the first character typed already."""
        self._prompt.setText(prompt)
        self._edit.setText(first)
        self.adjustSize()
        self.move(kept_inside(self, at + AWAY))
        self.show()
        self.raise_()
        self._edit.setFocus(Qt.FocusReason.OtherFocusReason)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.hide()
            self.left.emit()
            return
        super().keyPressEvent(event)

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
