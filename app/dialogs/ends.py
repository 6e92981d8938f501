"""Terminals and ways of a device: where its conductors end and by which fuses circuits leave it, edited in place."""

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QHeaderView, QPushButton, QTableWidget, QTableWidgetItem, QWidget

from app.dialogs.work import WorkDialog
from app.session import Session
from app.tools.desk import Desk
from core.edits.ends import PORT_COLUMNS, WAY_COLUMNS, EndColumn, add_port, add_way, remove_port, remove_way, set_end
from core.errors import LoomwrightError
from core.model import Device, Plan, find


class EndsDialog(WorkDialog):
    """A view on a device of the session: every cell is an edit of the plan at once, and can be undone."""

    def __init__(self, parent: QWidget, session: Session, desk: Desk, device_id: str) -> None:
        self._session, self._desk, self._id = session, desk, device_id
        name = find(session.plan, "devices", device_id).name
        super().__init__(
            parent, "Terminals and ways", f"Terminals and ways of {name}",
            "Places are measured from the middle of its footprint. What is not said is as the plan assumes.", 960,
        )  # fmt: skip
        self._filling = False
        self.ports = self._table(PORT_COLUMNS, "Terminals")
        self.ways = self._table(WAY_COLUMNS, "Ways")
        self.buttons: dict[str, QPushButton] = {}
        for table, words, name in ((self.ports, "Terminals", "port"), (self.ways, "Ways", "way")):
            self.body.addWidget(self.heading(words))
            self.body.addWidget(table, 1)
            row = QHBoxLayout()
            for act, told in (("add", f"Add {'terminal' if name == 'port' else 'way'}"), ("remove", "Remove it")):
                button = self.buttons[f"{act}-{name}"] = QPushButton(told, self)
                button.setAutoDefault(False)
                button.setProperty("act", f"{act}-{name}")
                button.clicked.connect(self._pressed)
                row.addWidget(button)
            row.addStretch(1)
            self.row(row)
        self.way_out("Close")
        self.ports.itemChanged.connect(self._typed)
        self.ways.itemChanged.connect(self._typed)
        session.plan_changed.connect(self._fill)
        self._fill()

    def _table(self, columns: Sequence[EndColumn], name: str) -> QTableWidget:
        table = QTableWidget(0, len(columns), self)
        table.setHorizontalHeaderLabels([column.title for column in columns])
        table.setAccessibleName(name)
        table.verticalHeader().hide()
        table.verticalHeader().setDefaultSectionSize(24)
        table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        table.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        return table

    def _device(self) -> Device | None:
        return next((d for d in self._session.shown.devices if d.id == self._id), None)

    def _fill(self) -> None:
        device = self._device()
        if device is None:
            self.reject()
            return
        self._filling = True
        shown: tuple[tuple[QTableWidget, Sequence[EndColumn], Sequence[Any]], ...] = (
            (self.ports, PORT_COLUMNS, device.ports),
            (self.ways, WAY_COLUMNS, device.ways),
        )
        for table, columns, rows in shown:
            table.setRowCount(len(rows))
            for number, row in enumerate(rows):
                for index, column in enumerate(columns):
                    item = QTableWidgetItem(self._shown(column, row))
                    item.setData(Qt.ItemDataRole.UserRole, row.id)
                    item.setToolTip(column.tip)
                    table.setItem(number, index, item)
        self._filling = False

    def _shown(self, column: EndColumn, row: Any) -> str:
        value = column.show(row)
        if value is None:
            return ""
        return self._desk.show_mm(value) if isinstance(value, float) and column.is_length else str(value)

    def _typed(self, item: QTableWidgetItem) -> None:
        if self._filling:
            return
        columns = PORT_COLUMNS if item.tableWidget() is self.ports else WAY_COLUMNS
        column, end = columns[item.column()], str(item.data(Qt.ItemDataRole.UserRole))
        self._try(
            f"Set {column.title.lower()}",
            lambda plan: set_end(plan, self._id, end, column.key, item.text(), self._desk.read_mm),
        )

    def _pressed(self) -> None:
        act = str(self.sender().property("act"))
        table = self.ports if act.endswith("port") else self.ways
        item = table.item(table.currentRow(), 0) if table.currentRow() >= 0 else None
        end = str(item.data(Qt.ItemDataRole.UserRole)) if item is not None else ""
        if act.startswith("remove") and not end:
            self.say("Choose one in the table first.")
            return
        edits = {
            "add-port": lambda plan: add_port(plan, self._id),
            "add-way": lambda plan: add_way(plan, self._id),
            "remove-port": lambda plan: remove_port(plan, self._id, end),
            "remove-way": lambda plan: remove_way(plan, self._id, end),
        }
        self._try(self.buttons[act].text().replace(" it", " end"), edits[act])

    def _try(self, label: str, edit: Any) -> None:
        try:
            plan: Plan = edit(self._session.plan)
        except LoomwrightError as refusal:
            self.say(str(refusal))
            self._fill()
            return
        self.say("")
        self._session.commit(label, plan)
        self._fill()
