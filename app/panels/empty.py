"""What lies on an empty sheet: the ways to begin."""

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QFrame, QLabel, QPushButton, QVBoxLayout, QWidget


class EmptyCard(QFrame):
    """A card in the middle of the sheet, there while the plan has no surface and nothing is being drawn."""

    def __init__(self, sheet: QWidget) -> None:
        super().__init__(sheet)
        self.setObjectName("emptyCard")
        self.setAccessibleName("Ways to begin")
        head = QLabel("An empty sheet", self)
        head.setObjectName("dialogHeadline")
        told = QLabel(
            "The vehicle is laid out flat like a cardboard box, so that a length on the sheet is a length on the tape.",
            self,
        )
        told.setObjectName("factsWords")
        told.setWordWrap(True)
        self._buttons = QVBoxLayout()
        self._buttons.setSpacing(6)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(24, 20, 24, 22)
        layout.setSpacing(10)
        layout.addWidget(head)
        layout.addWidget(told)
        layout.addSpacing(4)
        layout.addLayout(self._buttons)
        self.setFixedWidth(360)
        self._sheet = sheet
        sheet.installEventFilter(self)

    def offer(self, ways: Sequence[tuple[str, QAction]]) -> None:
        for words, action in ways:
            button = QPushButton(words, self)
            button.clicked.connect(action.trigger)
            self._buttons.addWidget(button)
        self._place()

    def show_if(self, empty: bool) -> None:
        self.setVisible(empty)
        if empty:
            self._place()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if watched is self._sheet and event.type() == QEvent.Type.Resize and self.isVisible():
            self._place()
        return False

    def _place(self) -> None:
        self.adjustSize()
        room = self._sheet.rect()
        self.move((room.width() - self.width()) // 2, max(20, (room.height() - self.height()) // 2))
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
