"""Wires that feed nothing: spare wires, data and antenna runs, bonds; and how the current of a circuit comes back."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFormLayout, QLineEdit, QListWidget, QListWidgetItem, QSpinBox, QWidget

from app.choice import Choice
from app.dialogs.work import WorkDialog
from core.edits.forms import MOST_SPARES
from core.edits.kinds import GROUP_WORDS
from core.files.library import Library
from core.model import GROUPS, Plan, SeparationGroup
from core.units import UnitProblem, read_section_mm2

RunKind = Literal["spare", "data", "antenna", "bond"]
HEADS: dict[RunKind, tuple[str, str]] = {
    "spare": ("Spare wires", "Pulled now, connected to nothing, for what comes later."),
    "data": ("Data run", "A signal cable from one device through others; a bus where there are several."),
    "antenna": ("Antenna run", "One coax, in one piece, from the antenna to its radio or router."),
    "bond": ("Chassis bond", "Joins a case or a bus to the vehicle body; sized by the largest fuse that can feed it."),
}


@dataclass(frozen=True)
class Run:
    """What was asked for. `kind_id` None: as the plan assumes; `section_mm2` None: by the rules."""

    kind: RunKind
    start: str
    ends: tuple[str, ...]
    count: int = 1
    group: SeparationGroup = "dc_power"
    kind_id: str | None = None
    section_mm2: float | None = None
    name: str = ""


class RunDialog(WorkDialog):
    """`make` gives why it cannot be, or ""."""

    def __init__(
        self, parent: QWidget, kind: RunKind, plan: Plan, library: Library, chosen: Sequence[str],
        make: Callable[[Run], str],
    ) -> None:  # fmt: skip
        headline, words = HEADS[kind]
        super().__init__(parent, headline, headline, words, width=480)
        self._kind, self._make = kind, make
        self.start = Choice(self)
        self.ends = QListWidget(self)
        self.ends.setAccessibleName("To")
        self.ends.setMinimumHeight(170)
        several = kind == "data"
        first = self._fitting(plan, chosen)
        for device in plan.devices:
            self.start.addItem(device.name, device.id)
            item = QListWidgetItem(device.name)
            item.setData(Qt.ItemDataRole.UserRole, device.id)
            if several:
                item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
                on = device.id in chosen and device.id != first
                item.setCheckState(Qt.CheckState.Checked if on else Qt.CheckState.Unchecked)
            self.ends.addItem(item)
        self.start.setCurrentIndex(max(self.start.findData(first), 0))
        self.start.setAccessibleName("From")
        other = next((number for number, d in enumerate(plan.devices) if d.id in chosen and d.id != first), -1)
        self.ends.setCurrentRow(other)
        self.count = QSpinBox(self)
        self.count.setRange(1, MOST_SPARES)
        self.count.setValue(2)
        self.count.setButtonSymbols(QSpinBox.ButtonSymbols.NoButtons)
        self.count.setAccessibleName("Wires")
        self.group = Choice(self)
        for group in GROUPS:
            self.group.addItem(GROUP_WORDS[group], group)
        self.group.setCurrentIndex(self.group.findData("dc_power"))
        self.section = QLineEdit(self)
        self.section.setPlaceholderText("by the rules")
        self.wire = Choice(self)
        self.wire.addItem("as the plan assumes", None)
        wanted = {"data": "signal", "antenna": "antenna"}.get(kind, "")
        for row in {k.id: k for k in (*library.wire_kinds, *plan.wire_kinds)}.values():
            if row.group == wanted:
                self.wire.addItem(row.name, row.id)
        self.name = QLineEdit(self)
        self.name.setPlaceholderText("after its end")
        form = QFormLayout()
        form.setHorizontalSpacing(14)
        form.setVerticalSpacing(8)
        form.addRow("From", self.start)
        form.addRow("To, in turn" if several else "To", self.ends)
        if kind == "spare":
            form.addRow("Wires", self.count)
            form.addRow("For", self.group)
            form.addRow("Section", self.section)
        elif wanted:
            form.addRow("Wire", self.wire)
        form.addRow("Name", self.name)
        self.row(form)
        for field in (self.count, self.group, self.section, self.wire):
            field.setVisible(form.indexOf(field) >= 0)
        self.accept_button = self.button("Make the run" if kind != "spare" else "Add spare wires", self._accept,
                                         default=True)  # fmt: skip
        self.way_out()

    def _fitting(self, plan: Plan, chosen: Sequence[str]) -> str:
        """Where the run starts: an antenna for an antenna run, else what was selected first."""
        if self._kind == "antenna":
            aerials = [d.id for d in plan.devices if d.kind == "antenna"]
            return next((each for each in chosen if each in aerials), next(iter(aerials), ""))
        return next(iter(chosen), "")

    def _ends(self) -> tuple[str, ...]:
        if self._kind != "data":
            chosen = self.ends.selectedItems()
            return (str(chosen[0].data(Qt.ItemDataRole.UserRole)),) if chosen else ()
        rows = [self.ends.item(number) for number in range(self.ends.count())]
        return tuple(str(r.data(Qt.ItemDataRole.UserRole)) for r in rows if r.checkState() == Qt.CheckState.Checked)

    def _accept(self) -> None:
        ends = self._ends()
        if not ends:
            self.say("Choose where it leads to.")
            return
        text, section = self.section.text().strip(), None
        try:
            section = read_section_mm2(text) if text else None
        except UnitProblem as problem:
            self.say(str(problem))
            return
        told = self._make(
            Run(
                self._kind, str(self.start.currentData()), ends, self.count.value(), self.group.currentData(),
                self.wire.currentData(), section, self.name.text(),
            )
        )  # fmt: skip
        self.say(told)
        if not told:
            self.accept()


@dataclass(frozen=True)
class Back:
    """How current comes back. `device` None: to the source itself."""

    kind: Literal["wire", "chassis", "none"]
    device: str | None = None
    apart: bool = False


class ReturnDialog(WorkDialog):
    """Where the return of circuits leads, and whether it may take another way than the feed."""

    def __init__(
        self, parent: QWidget, names: str, plan: Plan, now: Back, make: Callable[[Back], str]
    ) -> None:  # fmt: skip
        super().__init__(parent, "Return", f"Return of {names}", "Feed and return of a circuit are sized alike.", 460)
        self._make = make
        self.path = Choice(self)
        self.path.setAccessibleName("Return")
        self.path.addItem("a wire back to the source", ("wire", ""))
        for device in plan.devices:
            if device.kind == "bus_bar" or any(port.role == "return" for port in device.ports):
                self.path.addItem(f"a wire to {device.name}", ("wire", device.id))
        self.path.addItem("the vehicle body (chassis return)", ("chassis", ""))
        self.path.addItem("none: it carries no current", ("none", ""))
        wanted = (now.kind, now.device or "")
        rows = [tuple(self.path.itemData(number)) for number in range(self.path.count())]
        self.path.setCurrentIndex(rows.index(wanted) if wanted in rows else 0)
        self.ways = Choice(self)
        self.ways.setAccessibleName("Feed and return")
        self.ways.addItem("lie in the same channels", False)
        self.ways.addItem("may take different ways", True)
        self.ways.setCurrentIndex(int(now.apart))
        form = QFormLayout()
        form.setHorizontalSpacing(14)
        form.addRow("Return through", self.path)
        form.addRow("Feed and return", self.ways)
        self.row(form)
        self.accept_button = self.button("Set return", self._accept, default=True)
        self.way_out()

    def _accept(self) -> None:
        kind, device = self.path.currentData()
        told = self._make(Back(kind, device or None, bool(self.ways.currentData())))
        self.say(told)
        if not told:
            self.accept()
