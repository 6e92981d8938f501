"""Every step that led to the plan as it is, by name: a click goes back to it, or forward again."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QBrush, QKeyEvent
from PySide6.QtWidgets import QLabel, QListWidget, QListWidgetItem, QVBoxLayout, QWidget

from app.session import Session

WORDS = (
    "Click a step, or press Return on it, to go there. Steps below the present one were undone; they can be done again "
    "until the plan is changed."
)
#: Before the name of the present step; the others are indented as far.
HERE, ELSEWHERE = "●  ", "     "


class _Steps(QListWidget):
    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            if self.currentItem() is not None:
                self.itemClicked.emit(self.currentItem())
            return
        super().keyPressEvent(event)


class HistoryPanel(QWidget):
    """A view on the session's history."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("historyPane")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self._session = session
        self._shown: tuple[str, ...] = ()
        self.steps = _Steps(self)
        self.steps.setAccessibleName("Steps of the plan")
        self.steps.setUniformItemSizes(True)
        self.steps.itemClicked.connect(self._go)
        told = QLabel(WORDS, self)
        told.setObjectName("emptyWords")
        told.setWordWrap(True)
        below = QVBoxLayout()
        below.setContentsMargins(12, 4, 12, 10)
        below.addWidget(told)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 6, 0, 0)
        layout.addWidget(self.steps, 1)
        layout.addLayout(below)
        self.setFocusProxy(self.steps)
        session.history_changed.connect(self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """The steps as they are now; only what is new is made."""
        labels, here = self._session.steps, self._session.position
        if labels != self._shown:
            same = 0
            while same < min(len(labels), len(self._shown)) and labels[same] == self._shown[same]:
                same += 1
            while self.steps.count() > same:
                self.steps.takeItem(self.steps.count() - 1)
            for label in labels[same:]:
                self.steps.addItem(QListWidgetItem(label))
            self._shown = labels
        muted = QBrush(self.palette().placeholderText())
        for row, label in enumerate(labels):
            item = self.steps.item(row)
            item.setText(f"{HERE if row == here else ELSEWHERE}{label}")
            item.setForeground(muted if row > here else QBrush(self.palette().text()))
            state = "the present step" if row == here else "undone" if row > here else "done"
            item.setData(Qt.ItemDataRole.AccessibleTextRole, f"{label}, {state}")
        self.steps.setCurrentRow(here)
        self.steps.scrollToItem(self.steps.item(here))

    def _go(self, item: QListWidgetItem) -> None:
        self._session.go_to(self.steps.row(item))
