"""Questions and messages that never block: the window stays alive, the answer comes through a callback."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QLabel,
    QPlainTextEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from core.errors import FileProblem

Part = Literal["accept", "destroy", "reject"]
ROLES = {
    "accept": QDialogButtonBox.ButtonRole.AcceptRole,
    "destroy": QDialogButtonBox.ButtonRole.DestructiveRole,
    "reject": QDialogButtonBox.ButtonRole.RejectRole,
}


@dataclass(frozen=True)
class Choice:
    """A button with a verb. The first "accept" is the default."""

    id: str
    words: str
    part: Part = "accept"


class Question(QDialog):
    """A headline, a sentence, perhaps details to read, and buttons with verbs. Escape is the "reject" choice."""

    def __init__(
        self, parent: QWidget, title: str, headline: str, text: str, choices: Sequence[Choice], details: str = ""
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setMinimumWidth(440)
        self._answer: Callable[[str], None] = _no_answer
        self._escape = next((choice.id for choice in choices if choice.part == "reject"), choices[-1].id)
        head = QLabel(headline, self)
        head.setObjectName("dialogHeadline")
        head.setWordWrap(True)
        head.setTextFormat(Qt.TextFormat.PlainText)
        body = QLabel(text, self)
        body.setWordWrap(True)
        body.setTextFormat(Qt.TextFormat.PlainText)
        body.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(22, 20, 22, 16)
        layout.setSpacing(10)
        layout.addWidget(head)
        layout.addWidget(body)
        if details:
            listed = QPlainTextEdit(details, self)
            listed.setReadOnly(True)
            listed.setMinimumHeight(120)
            layout.addWidget(listed)
        layout.addSpacing(6)
        box = QDialogButtonBox(self)
        self.buttons: dict[str, QPushButton] = {}
        for choice in choices:
            button = box.addButton(choice.words, ROLES[choice.part])
            button.setProperty("choice", choice.id)
            button.clicked.connect(self._clicked)
            self.buttons[choice.id] = button
        default = next((choice.id for choice in choices if choice.part == "accept"), choices[0].id)
        self.buttons[default].setDefault(True)
        self.buttons[default].setFocus()
        layout.addWidget(box)
        self.rejected.connect(self._rejected)

    def ask(self, answer: Callable[[str], None]) -> None:
        self._answer = answer
        self.open()

    def _clicked(self) -> None:
        self._give(str(self.sender().property("choice")))

    def _rejected(self) -> None:
        self._give(self._escape)

    def _give(self, chosen: str) -> None:
        answer, self._answer = self._answer, _no_answer
        self.done(int(QDialog.DialogCode.Accepted))
        answer(chosen)


def _no_answer(_chosen: str) -> None:
    """Nobody wants to know (any more)."""


def tell(parent: QWidget, title: str, headline: str, text: str, details: str = "") -> Question:
    """Say something that has only to be read."""
    dialog = Question(parent, title, headline, text, (Choice("ok", "Close", "reject"),), details)
    dialog.open()
    return dialog


def tell_problem(parent: QWidget, headline: str, problem: FileProblem) -> Question:
    """A file that cannot be read or written: what, where, what was expected, and what else is wrong in it."""
    details = "\n".join(str(other) for other in problem.others)
    if details:
        details = f"{problem}\n{details}"
    return tell(parent, "Loomwright", headline, str(problem), details)
