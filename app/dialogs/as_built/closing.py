"""Panels: what is still missing before each may be closed, and closing it."""

from functools import partial
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QCheckBox,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QPlainTextEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.dialogs.as_built.work import Cells, Work, problem_label, say
from core.edits.finishing import close_panel, open_panel, tick_close_out
from core.model import CloseOut, Panel, Plan
from core.tables.closing import BY_EYE, Closing, closing

ROLE = Qt.ItemDataRole.UserRole


class ClosingPage(QWidget):
    def __init__(self, parent: QWidget, work: Work) -> None:
        super().__init__(parent)
        self._work = work
        self.list = QListWidget(self)
        self.list.setAccessibleName("Panels")
        self.list.setFixedWidth(250)
        self.list.currentItemChanged.connect(self._show)
        self.asked = Cells(
            self, "What is asked before the panel is closed", ("", "asked", "how it stands"), wide=(1, 2)
        )
        self.ticks: dict[str, QCheckBox] = {}
        for field, words in BY_EYE:
            tick = QCheckBox(f"I looked: {words}", self)
            tick.clicked.connect(partial(self._tick, field, tick))
            self.ticks[field] = tick
        self.on = QLineEdit(work.today, self)
        self.on.setAccessibleName("Day")
        self.by = QLineEdit(self)
        self.by.setAccessibleName("Closed by")
        self.reason = QPlainTextEdit(self)
        self.reason.setAccessibleName("Reason to close it before it is ready")
        self.reason.setFixedHeight(52)
        self.reason.setTabChangesFocus(True)
        self.reason.setPlaceholderText("Only where something is missing: why it is closed all the same. It is printed.")
        self.close_button = self._button("Close the panel", self._close)
        self.open_button = self._button("Open it again", self._open)
        self.state = QLabel(self)
        self.state.setObjectName("dialogHeadline")
        self.state.setWordWrap(True)
        self.problem = problem_label(self)
        form = QFormLayout()
        form.addRow("day", self.on)
        form.addRow("closed by", self.by)
        form.addRow("reason", self.reason)
        row = QHBoxLayout()
        row.addStretch(1)
        row.addWidget(self.open_button)
        row.addWidget(self.close_button)
        right = QVBoxLayout()
        right.addWidget(self.state)
        right.addWidget(self.asked, 1)
        for tick in self.ticks.values():
            right.addWidget(tick)
        right.addLayout(form)
        right.addWidget(self.problem)
        right.addLayout(row)
        layout = QHBoxLayout(self)
        layout.addWidget(self.list)
        layout.addLayout(right, 1)

    def _button(self, words: str, run: Any) -> QPushButton:
        button = QPushButton(words, self)
        button.setAutoDefault(False)
        button.clicked.connect(run)
        return button

    def refresh(self) -> None:
        analysis = self._work.analysis()
        now = self._panel_id() or next((each for each in self._work.selected if _has(analysis.plan, each)), "")
        self.list.blockSignals(True)
        self.list.clear()
        for panel in analysis.plan.panels:
            item = QListWidgetItem(f"{panel.name}: {_state_word(closing(analysis, panel))}", self.list)
            item.setData(ROLE, panel.id)
            if panel.id == now:
                self.list.setCurrentItem(item)
        if self.list.currentRow() < 0 and self.list.count():
            self.list.setCurrentRow(0)
        self.list.blockSignals(False)
        self._show()

    def _panel_id(self) -> str:
        row = self.list.currentRow()
        return str(self.list.item(row).data(ROLE)) if row >= 0 else ""

    def _panel(self) -> Panel | None:
        return next((row for row in self._work.analysis().plan.panels if row.id == self._panel_id()), None)

    def _show(self) -> None:
        panel = self._panel()
        editors: list[QWidget] = [*self.ticks.values(), self.on, self.by, self.reason, self.close_button]
        if panel is None:
            self.state.setText("There are no panels. Draw the boards that will cover the walls in the stage Fit-out.")
            for widget in (*editors, self.open_button):
                widget.setEnabled(False)
            self.asked.show_rows([])
            return
        state = closing(self._work.analysis(), panel)
        close = panel.close_out or CloseOut()
        closed = bool(close.closed_on)
        self.state.setText(_headline(state))
        self.asked.show_rows([(what, ("✓" if done else "✗", what, told)) for what, told, done in state.asked])
        for field, tick in self.ticks.items():
            tick.setChecked(bool(getattr(close, field)))
        for widget in editors:
            widget.setEnabled(not closed)
        self.open_button.setEnabled(closed)
        self.reason.setEnabled(not closed and not state.may_close)
        say(self.problem, "")

    def _tick(self, field: str, tick: QCheckBox) -> None:
        checked = tick.isChecked()
        self._change("Close-out", lambda plan: tick_close_out(plan, self._panel_id(), **{field: checked}))

    def _close(self) -> None:
        panel = self._panel()
        if panel is None:
            return
        missing = closing(self._work.analysis(), panel).missing
        on, by, reason = self.on.text().strip(), self.by.text(), self.reason.toPlainText()
        if self._change(f"Close {panel.name}", lambda plan: close_panel(plan, panel.id, on, by, missing, reason)):
            self.reason.clear()

    def _open(self) -> None:
        self._change("Open panel again", lambda plan: open_panel(plan, self._panel_id()))

    def _change(self, label: str, edit: Any) -> bool:
        problem = self._work.change(label, edit)
        self.refresh()
        say(self.problem, problem)
        return not problem


def _has(plan: Plan, panel_id: str) -> bool:
    return any(panel.id == panel_id for panel in plan.panels)


def _state_word(state: Closing) -> str:
    close = state.panel.close_out
    if close is not None and close.closed_on:
        return "closed" if not close.override_reason else "closed early"
    return "ready" if state.may_close else f"{len(state.missing)} missing"


def _headline(state: Closing) -> str:
    close, name = state.panel.close_out, state.panel.name
    if close is not None and close.closed_on:
        by = f" by {close.closed_by}" if close.closed_by else ""
        early = f", before it was ready: {close.override_reason}" if close.override_reason else ""
        return f"“{name}” was closed on {close.closed_on}{by}{early}"
    if state.may_close:
        return f"“{name}” may be closed."
    return f"“{name}” is not ready to be closed."
