"""Wire all unwired loads to a fuse block: the proposed circuits, to be adjusted, with what they cost; one undo step."""

from collections.abc import Callable
from dataclasses import replace

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableWidget, QTableWidgetItem, QWidget

from app.choice import Choice
from app.dialogs.work import WorkDialog
from core.analysis.analysis import Analysis
from core.errors import EditRefused
from core.files.library import Library
from core.model import Device, Plan, find
from core.studies.proposals import Proposal, unwired, wire_all
from core.studies.ways import rough_a
from core.studies.wiring import Rows, moved_load, on_way, parted_load, planned, wire_as
from core.text import counted
from core.units import show

CIRCUITS = ("Circuit", "Way", "Wired as", "Current", "As a chain", "As a star", "Why")
LOADS = ("Load", "Current", "On circuit")
FORMS = (("chain", "daisy chain"), ("star", "star"))
OUT, OWN = "left out", "a circuit of its own"


class WireAllDialog(WorkDialog):
    """`wired` gets the plan that was accepted, with how many circuits it has more."""

    def __init__(
        self, parent: QWidget, analysis: Analysis, source_id: str, library: Library, wired: Callable[[Plan, int], str]
    ) -> None:
        source: Device = find(analysis.plan, "devices", source_id)
        super().__init__(
            parent, "Wire all", f"Wire all unwired loads to {source.name}",
            "Lights of each side together, sockets and what must not fail on their own. Change what you like: nothing "
            "is done before you say so.",
            width=860,
        )  # fmt: skip
        self.resize(940, 640)
        self._analysis, self._source, self._library, self._wired = analysis, source, library, wired
        self._loads = unwired(analysis.plan, source.electrical.system)
        self.circuits = self._table(CIRCUITS, "Proposed circuits")
        self.loads = self._table(LOADS, "Loads")
        self.cost = self.told("")
        self.left = self.told("", "fieldProblem")
        for widget in (self.heading("Circuits"), self.circuits, self.heading("Loads"), self.loads):
            self.body.addWidget(widget, 1 if isinstance(widget, QTableWidget) else 0)
        self.body.addWidget(self.left)
        self.body.addWidget(self.cost)
        self.make = self.button("Wire them", self._make, default=True)
        self.way_out()
        self._filling = False
        self._proposal: Proposal = wire_all(analysis, source_id, library)
        self.rows: Rows = planned(self._proposal)
        self._reasons = dict(self._proposal.left_out)
        self.circuits.itemChanged.connect(self._renamed)
        self._fill()

    def _table(self, titles: tuple[str, ...], name: str) -> QTableWidget:
        table = QTableWidget(0, len(titles), self)
        table.setHorizontalHeaderLabels(list(titles))
        table.setAccessibleName(name)
        table.verticalHeader().hide()
        table.verticalHeader().setDefaultSectionSize(30)
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        table.setShowGrid(False)
        head = table.horizontalHeader()
        head.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        head.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        head.setSectionResizeMode(0, QHeaderView.ResizeMode.Interactive)
        head.resizeSection(0, 210)
        head.setStretchLastSection(True)
        if titles is CIRCUITS:
            for column, width in ((1, 140), (2, 140)):
                head.setSectionResizeMode(column, QHeaderView.ResizeMode.Fixed)
                head.resizeSection(column, width)
        return table

    # --- show --------------------------------------------------------------------------------------------------------

    def _fill(self) -> None:
        self._filling = True
        self.circuits.setRowCount(len(self.rows))
        for number, (row, group) in enumerate(zip(self.rows, self._proposal.groups, strict=True)):
            name = QTableWidgetItem(row.name)
            self.circuits.setItem(number, 0, name)
            self.circuits.setCellWidget(number, 1, self._ways(number, row.way))
            self.circuits.setCellWidget(number, 2, self._forms(number, row.form, len(row.devices)))
            told = (show(group.current_a, "A"), _metres(group.chain_mm), _metres(group.star_mm), row.why)
            for column, words in enumerate(told, start=3):
                self.circuits.setItem(number, column, _fixed(words))
        self.loads.setRowCount(len(self._loads))
        for number, load in enumerate(self._loads):
            self.loads.setItem(number, 0, _fixed(load.name))
            self.loads.setItem(number, 1, _fixed(show(rough_a(load), "A")))
            self.loads.setCellWidget(number, 2, self._places(load))
        self._filling = False
        cost = self._proposal.cost
        self.cost.setText(f"{counted(len(self.rows), 'circuit')}: {cost.words}.")
        told_out = [
            f"{device.name}: {self._reasons.get(device.id, 'left out')}"
            for device in self._loads
            if not any(device.id in row.devices for row in self.rows)
        ]
        self.left.setText("Without a circuit – " + "; ".join(told_out) if told_out else "")
        self.left.setVisible(bool(told_out))
        self.make.setEnabled(bool(self.rows))

    def _ways(self, number: int, chosen: str | None) -> Choice:
        box = Choice(self.circuits)
        box.setAccessibleName(f"Way of {self.rows[number].name}")
        used = {c.stops[0].way for c in self._analysis.plan.circuits if c.stops[0].device == self._source.id}
        for way in self._source.ways:
            if way.id not in used:
                box.addItem(f"{way.name or way.id}, up to {show(way.largest_a, 'A', 0)}", way.id)
        box.setCurrentIndex(box.findData(chosen))
        box.setProperty("row", number)
        box.activated.connect(self._way_chosen)
        return box

    def _forms(self, number: int, chosen: str, loads: int) -> Choice:
        box = Choice(self.circuits)
        box.setAccessibleName(f"Form of {self.rows[number].name}")
        for form, words in FORMS:
            box.addItem(words, form)
        box.setCurrentIndex(box.findData(chosen))
        box.setProperty("row", number)
        box.setEnabled(loads > 1)
        box.activated.connect(self._form_chosen)
        return box

    def _places(self, load: Device) -> Choice:
        box = Choice(self.loads)
        box.setAccessibleName(f"Circuit of {load.name}")
        for number, row in enumerate(self.rows):
            box.addItem(row.name, number)
        box.addItem(OWN, "own")
        box.addItem(OUT, "out")
        here = next((number for number, row in enumerate(self.rows) if load.id in row.devices), None)
        box.setCurrentIndex(box.findData("out" if here is None else here))
        box.setProperty("load", load.id)
        box.activated.connect(self._place_chosen)
        return box

    # --- change ------------------------------------------------------------------------------------------------------

    def _way_chosen(self) -> None:
        box = self._asked()
        self._try(on_way(self.rows, int(box.property("row")), str(box.currentData())))

    def _form_chosen(self) -> None:
        box = self._asked()
        number = int(box.property("row"))
        changed = tuple(
            replace(row, form=str(box.currentData())) if index == number else row for index, row in enumerate(self.rows)
        )
        self._try(changed)

    def _place_chosen(self) -> None:
        box = self._asked()
        device, to = str(box.property("load")), box.currentData()
        try:
            if to == "own":
                rows = parted_load(self._analysis.plan, self._source.id, self.rows, device)
            else:
                rows = moved_load(self.rows, device, None if to == "out" else int(to))
        except EditRefused as refusal:
            self._fill()
            self.say(str(refusal))
            return
        self._reasons.pop(device, None)
        self._try(rows)

    def _renamed(self, item: QTableWidgetItem) -> None:
        if self._filling or item.column() != 0:
            return
        row = self.rows[item.row()]
        name = item.text().strip() or row.name
        self._try(tuple(replace(each, name=name) if each is row else each for each in self.rows))

    def _asked(self) -> Choice:
        box = self.sender()
        assert isinstance(box, Choice)
        return box

    def _try(self, rows: Rows) -> None:
        """Take these rows where they can be wired; else say why not and stay."""
        self.say("")
        try:
            self._proposal = wire_as(self._analysis, self._source.id, rows, self._library)
            self.rows = rows
        except EditRefused as refusal:
            self.say(str(refusal))
        self._fill()

    def _make(self) -> None:
        told = self._wired(self._proposal.plan, len(self.rows))
        self.say(told)
        if not told:
            self.accept()


def _fixed(words: str) -> QTableWidgetItem:
    item = QTableWidgetItem(words)
    item.setFlags(Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable)
    item.setToolTip(words)
    return item


def _metres(length_mm: float | None) -> str:
    return "no way yet" if length_mm is None else f"{length_mm / 1000:.2f} m"
