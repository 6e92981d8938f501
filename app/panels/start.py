"""The start page: what lies on an empty sheet, the ways to begin."""

from collections.abc import Callable, Sequence

from PySide6.QtCore import QEvent, QObject, QPoint, Qt
from PySide6.QtGui import QMoveEvent
from PySide6.QtWidgets import QFrame, QLabel, QPushButton, QVBoxLayout, QWidget

#: Words, tip and what it does.
Way = tuple[str, str, Callable[[], object]]


class StartCard(QFrame):
    """A card in the middle of the sheet, there while the plan has no surface and nothing is being drawn."""

    def __init__(self, sheet: QWidget) -> None:
        super().__init__(sheet)
        self.setObjectName("startCard")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.setAccessibleName("Ways to begin")
        head = QLabel("An empty sheet", self)
        head.setObjectName("dialogHeadline")
        told = QLabel(
            "The vehicle is laid out flat like a cardboard box, so that a length on the sheet is a length on the tape.",
            self,
        )
        told.setObjectName("factsWords")
        told.setWordWrap(True)
        self._ways = QWidget(self)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(24, 20, 24, 22)
        layout.setSpacing(10)
        layout.addWidget(head)
        layout.addWidget(told)
        layout.addWidget(self._ways)
        self.setFixedWidth(380)
        self._sheet = sheet
        sheet.installEventFilter(self)

    def offer(self, groups: Sequence[tuple[str, Sequence[Way]]]) -> None:
        """Groups of buttons under a heading ("" for none); an empty group is left out."""
        ways = QWidget(self)
        rows = QVBoxLayout(ways)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(6)
        for heading, offered in groups:
            if heading and offered:
                label = QLabel(heading, ways)
                label.setObjectName("sectionHeading")
                rows.addWidget(label)
            for words, tip, run in offered:
                # An ampersand in a file's name is no mark of a key.
                button = QPushButton(words.replace("&", "&&"), ways)
                button.setToolTip(tip)
                button.clicked.connect(run)
                rows.addWidget(button)
        layout = self.layout()
        assert layout is not None
        layout.replaceWidget(self._ways, ways)
        self._ways.deleteLater()
        self._ways = ways
        ways.show()
        self._place()

    def show_if(self, empty: bool) -> None:
        self.setVisible(empty)
        if empty:
            self._place()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if watched is self._sheet and event.type() == QEvent.Type.Resize and self.isVisible():
            self._place()
        return False

    def moveEvent(self, event: QMoveEvent) -> None:
        # A sheet that scrolls takes what lies over it along.
        super().moveEvent(event)
        if self.pos() != self._middle():
            self.move(self._middle())

    def _place(self) -> None:
        self.adjustSize()
        self.move(self._middle())

    def _middle(self) -> QPoint:
        room = self._sheet.rect()
        return QPoint((room.width() - self.width()) // 2, max(20, (room.height() - self.height()) // 2))
