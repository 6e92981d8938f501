"""A conduit in the bundle: which one, which circuits' wires lie in it, whether a draw string stays in it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QCheckBox, QFormLayout, QListWidget, QListWidgetItem, QWidget

from app.choice import Choice
from app.dialogs.work import WorkDialog
from core.analysis.bundles import conduit_od_mm
from core.model import Circuit, ConduitKind

WORDS = "A round thing of its own in the bundle: empty for later wires, or round the wires of some circuits."


@dataclass(frozen=True)
class Inner:
    """What was asked for."""

    kind: ConduitKind
    circuits: tuple[str, ...]
    draw_string: bool


class InnerConduitDialog(WorkDialog):
    """`make` gives why it cannot be, or ""."""

    def __init__(
        self,
        parent: QWidget,
        bundle: str,
        kinds: Sequence[ConduitKind],
        circuits: Sequence[Circuit],
        make: Callable[[Inner], str],
    ) -> None:
        super().__init__(parent, "Conduit in the bundle", f"Conduit in the bundle of {bundle}", WORDS, width=480)
        self._kinds, self._make = list(kinds), make
        self.kind = Choice(self)
        self.kind.setAccessibleName("Conduit")
        for kind in self._kinds:
            self.kind.addItem(f"{kind.name}: {conduit_od_mm(kind):g} mm outside, {kind.bore_mm:g} mm bore", kind.id)
        self.circuits = QListWidget(self)
        self.circuits.setAccessibleName("Circuits whose wires lie in it")
        for circuit in circuits:
            item = QListWidgetItem(circuit.name)
            item.setData(Qt.ItemDataRole.UserRole, circuit.id)
            item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
            item.setCheckState(Qt.CheckState.Unchecked)
            self.circuits.addItem(item)
        self.string = QCheckBox("Leave a draw string in it", self)
        self.string.setChecked(True)
        form = QFormLayout()
        form.setHorizontalSpacing(14)
        form.setVerticalSpacing(8)
        form.addRow("Conduit", self.kind)
        form.addRow("Wires in it", self.circuits)
        form.addRow("", self.string)
        self.row(form)
        self.accept_button = self.button("Lay it in", self._accept, default=True)
        self.way_out()

    def _accept(self) -> None:
        rows = [self.circuits.item(number) for number in range(self.circuits.count())]
        chosen = tuple(
            str(row.data(Qt.ItemDataRole.UserRole)) for row in rows if row.checkState() == Qt.CheckState.Checked
        )
        kind = next(kind for kind in self._kinds if kind.id == self.kind.currentData())
        told = self._make(Inner(kind, chosen, self.string.isChecked()))
        self.say(told)
        if not told:
            self.accept()
