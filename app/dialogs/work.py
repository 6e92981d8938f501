"""What the dialogs of work have in common: a headline, a body, a line for what is wrong, buttons with verbs."""

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QLabel, QLayout, QPushButton, QVBoxLayout, QWidget

ROLES = QDialogButtonBox.ButtonRole


class WorkDialog(QDialog):
    """Opened, never waited for. Escape leaves everything as it was."""

    def __init__(self, parent: QWidget, title: str, headline: str, words: str = "", width: int = 620) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setMinimumWidth(width)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(22, 18, 22, 16)
        whole.setSpacing(10)
        self.head = self.told(headline, "dialogHeadline")
        whole.addWidget(self.head)
        if words:
            whole.addWidget(self.told(words))
        self.body = QVBoxLayout()
        self.body.setSpacing(8)
        whole.addLayout(self.body, 1)
        self.problem = self.told("", "fieldProblem")
        self.problem.hide()
        whole.addWidget(self.problem)
        self._box = QDialogButtonBox(self)
        whole.addWidget(self._box)

    def told(self, words: str, name: str = "") -> QLabel:
        """A label that wraps."""
        label = QLabel(words, self)
        label.setWordWrap(True)
        label.setTextFormat(Qt.TextFormat.PlainText)
        if name:
            label.setObjectName(name)
        return label

    def heading(self, words: str) -> QLabel:
        return self.told(words, "sectionHeading")

    def button(
        self,
        words: str,
        run: Callable[[], object],
        role: QDialogButtonBox.ButtonRole = ROLES.AcceptRole,
        default: bool = False,
    ) -> QPushButton:
        """A button of the last row; it does not close the dialog by itself. `run` takes no arguments."""
        button = self._box.addButton(words, role)
        button.setAutoDefault(default)
        button.setDefault(default)
        button.clicked.connect(run)
        return button

    def way_out(self, words: str = "Not now") -> QPushButton:
        return self.button(words, self.reject, ROLES.RejectRole)

    def say(self, words: str) -> None:
        """What is wrong, or "" for nothing."""
        self.problem.setText(words)
        self.problem.setVisible(bool(words))

    def row(self, layout: QLayout) -> None:
        self.body.addLayout(layout)
