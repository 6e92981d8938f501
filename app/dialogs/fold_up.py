"""A window beside the sheet with the vehicle folded up. It stays open while one works."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QCheckBox, QDialog, QHBoxLayout, QLabel, QPushButton, QSlider, QVBoxLayout, QWidget

from app.canvas.fold_up import SIDES, FoldUpView
from app.session import Session
from app.theme import Theme

HELP = "Drag or arrow keys turn it, the wheel or + and − bring it nearer, a click selects. Near walls are glass."


class FoldUpWindow(QDialog):
    """The picture, ways to look at it, and how far the sheet is folded."""

    def __init__(self, parent: QWidget, session: Session, theme: Callable[[], Theme]) -> None:
        super().__init__(parent)
        self.setWindowTitle("Folded up")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.resize(900, 640)
        self.picture = FoldUpView(session, theme, self)
        self.picture.folded_changed.connect(self._show_folded)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(14, 12, 14, 12)
        layout.setSpacing(10)
        layout.addLayout(self._ways())
        layout.addWidget(self.picture, 1)
        layout.addLayout(self._folding())
        told = QLabel(HELP, self)
        told.setObjectName("emptyWords")
        told.setWordWrap(True)
        layout.addWidget(told)
        self.picture.setFocus()

    def _ways(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(6)
        self.sides: dict[str, QPushButton] = {}
        for number, side in enumerate(SIDES, start=1):
            button = QPushButton(side, self)
            button.setAutoDefault(False)
            button.setShortcut(str(number))
            button.setToolTip(f"{side}  ({number})")
            button.clicked.connect(partial(self._look_from, side))
            self.sides[side] = button
            row.addWidget(button)
        row.addStretch(1)
        return row

    def _folding(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(10)
        flat, whole = QLabel("Sheet", self), QLabel("Vehicle", self)
        self.folded = QSlider(Qt.Orientation.Horizontal, self)
        self.folded.setRange(0, 100)
        self.folded.setValue(100)
        self.folded.setAccessibleName("How far the sheet is folded up")
        self.folded.valueChanged.connect(self._fold)
        self.play = QPushButton("Fold it up", self)
        self.play.setAutoDefault(False)
        self.play.clicked.connect(self.picture.play)
        self.names = QCheckBox("Names", self)
        self.names.setChecked(True)
        self.names.toggled.connect(self._show_names)
        self.perspective = QCheckBox("Perspective", self)
        self.perspective.setChecked(True)
        self.perspective.toggled.connect(self._show_perspective)
        row.addWidget(self.play)
        row.addWidget(flat)
        row.addWidget(self.folded, 1)
        row.addWidget(whole)
        row.addWidget(self.names)
        row.addWidget(self.perspective)
        return row

    def _look_from(self, side: str) -> None:
        self.picture.look_from(side)
        self.picture.setFocus()

    def _fold(self, percent: int) -> None:
        self.picture.show_folded(percent / 100)

    def _show_folded(self, share: float) -> None:
        percent = round(share * 100)
        if percent != self.folded.value():
            self.folded.blockSignals(True)
            self.folded.setValue(percent)
            self.folded.blockSignals(False)

    def _show_names(self, on: bool) -> None:
        self.picture.look(replace(self.picture.seen, names=on))

    def _show_perspective(self, on: bool) -> None:
        self.picture.look(replace(self.picture.seen, perspective=on))
