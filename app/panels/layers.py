"""Layers by kind: what is shown on the sheet, and what is locked."""

from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QCheckBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.canvas.layers import KINDS, Layers
from app.canvas.view import SheetView

WORDS = "What is locked cannot be picked with the pointer. Papers always show everything."


class LayersPanel(QWidget):
    """A row of two checks for each kind; the sheet's scene holds the state."""

    def __init__(self, view: SheetView, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("layersPane")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self._view = view
        self.shows: dict[str, QCheckBox] = {}
        self.locks: dict[str, QCheckBox] = {}
        inner = QWidget(self)
        grid = QGridLayout(inner)
        grid.setContentsMargins(12, 8, 12, 8)
        grid.setHorizontalSpacing(14)
        grid.setVerticalSpacing(7)
        grid.setColumnStretch(0, 1)
        for column, words in enumerate(("Show", "Lock"), start=1):
            head = QLabel(words, inner)
            head.setObjectName("fieldLabel")
            grid.addWidget(head, 0, column, Qt.AlignmentFlag.AlignHCenter)
        for row, kind in enumerate(KINDS, start=1):
            grid.addWidget(QLabel(kind.words, inner), row, 0)
            if kind.can_hide:
                show = self.shows[kind.id] = QCheckBox(inner)
                show.setChecked(True)
                show.setAccessibleName(f"Show: {kind.words}")
                show.toggled.connect(partial(self._show, kind.id))
                grid.addWidget(show, row, 1, Qt.AlignmentFlag.AlignHCenter)
            lock = self.locks[kind.id] = QCheckBox(inner)
            lock.setAccessibleName(f"Lock: {kind.words}")
            lock.toggled.connect(partial(self._lock, kind.id))
            grid.addWidget(lock, row, 2, Qt.AlignmentFlag.AlignHCenter)
        words_label = QLabel(WORDS, inner)
        words_label.setObjectName("emptyWords")
        words_label.setWordWrap(True)
        grid.addWidget(words_label, len(KINDS) + 1, 0, 1, 3)
        grid.setRowStretch(len(KINDS) + 2, 1)
        scroll = QScrollArea(self)
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QScrollArea.Shape.NoFrame)
        scroll.setWidget(inner)
        self.all_shown, self.all_free = QPushButton("Show all", self), QPushButton("Unlock all", self)
        self.all_shown.clicked.connect(self._show_all)
        self.all_free.clicked.connect(self._free_all)
        buttons = QHBoxLayout()
        buttons.setContentsMargins(12, 0, 12, 10)
        buttons.addWidget(self.all_shown)
        buttons.addWidget(self.all_free)
        buttons.addStretch(1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(scroll, 1)
        layout.addLayout(buttons)
        self.setFocusProxy(next(iter(self.shows.values())))

    @property
    def _layers(self) -> Layers:
        return self._view.sheet_scene.layers

    def _show(self, kind: str, on: bool) -> None:
        self._view.sheet_scene.set_layers(self._layers.shown(kind, on))

    def _lock(self, kind: str, on: bool) -> None:
        self._view.sheet_scene.set_layers(self._layers.lock(kind, on))

    def _show_all(self) -> None:
        for box in self.shows.values():
            box.setChecked(True)

    def _free_all(self) -> None:
        for box in self.locks.values():
            box.setChecked(False)
