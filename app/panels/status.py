"""The line under everything: what to do next, where the pointer is, and what the plan adds up to."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QSizePolicy, QStatusBar, QWidget

from app.panels.costs import metres
from app.panels.findings import summary
from app.tools.desk import Desk
from core.model import Point

#: What was said stays so long, unless something newer is said.
SAID_MS = 8_000


class StatusLine(QStatusBar):
    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self.setSizeGripEnabled(False)
        self.hint = QLabel(self)
        self.hint.setObjectName("statusHint")
        self.hint.setTextFormat(Qt.TextFormat.PlainText)
        self.hint.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.place = QLabel(self)
        self.totals = QLabel(self)
        self.findings = QLabel(self)
        self.place.setAccessibleName("Pointer")
        self.totals.setAccessibleName("Totals")
        self.findings.setAccessibleName("Findings")
        self.addWidget(self.hint, 1)
        for label in (self.place, self.totals, self.findings):
            self.addPermanentWidget(label)
            label.setObjectName("statusPart")
        desk.session.analysis_changed.connect(self._analysis_changed)
        self.refresh()

    def show_hint(self, words: str) -> None:
        self.hint.setText(words)
        self.hint.setToolTip(words)

    def say(self, words: str) -> None:
        """Say a sentence for a while."""
        self.showMessage(words, SAID_MS)

    def show_pointer(self, sheet_mm: Point | None) -> None:
        spot = None if sheet_mm is None else self._desk.spot(sheet_mm)
        if spot is None:
            self.place.setText("")
            return
        surface, (x, y) = spot
        show = self._desk.show_mm
        whole = self._desk.unit == "mm"
        where = (show(round(x)), show(round(y))) if whole else (show(x), show(y))
        self.place.setText(f"{self._desk.surface(surface).name}   {where[0]}, {where[1]}")

    def refresh(self) -> None:
        analysis = self._desk.session.analysis
        totals = analysis.totals
        told = f"wire {metres(totals.cut_mm, self._desk)}   tape {metres(totals.tape_mm, self._desk)}"
        self.totals.setText(told if analysis.wires else "no wires yet")
        self.findings.setText(summary(analysis.findings))

    def _analysis_changed(self, _analysis: object) -> None:
        self.refresh()
