"""The circuit table as a model: what can be typed into, what was worked out, and cells that could not be read."""

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt, Signal
from PySide6.QtWidgets import QWidget

from app.panels.findings_model import severity_icon
from app.session import Session
from app.theme import Theme
from core.edits.circuit_table import COLUMNS, Column, Typed, add_circuit, set_cells
from core.errors import EditRefused
from core.model import Circuit, Plan
from core.units import show, show_section

Index = QModelIndex | QPersistentModelIndex
#: The row below the circuits: what is typed there becomes a circuit.
NEW = ""
TYPED: tuple[Column, ...] = tuple(column for column in COLUMNS if column.set is not None)
#: What the analysis says of a circuit, after what is typed.
FOUND = ("Chosen fuse", "Chosen section", "One-way", "Drop")
TITLES = (*(column.title for column in TYPED), *FOUND)
TIPS = {
    "loads": "Names with a semicolon between; those left out leave the circuit",
    "fuse": "Empty: chosen by the rules",
    "section": "Empty: chosen by the rules",
    "kind": "Empty: as assumed for the plan",
    "drop": "Empty: by the profile",
}
Roles = Qt.ItemDataRole


class CircuitModel(QAbstractTableModel):
    """A view on the session's committed plan. A cell that was refused keeps its text and its reason until another text
    is taken there; the plan has none of it."""

    #: A sentence for the status line.
    said = Signal(str)

    def __init__(self, session: Session, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._session = session
        self._plan: Plan = session.plan
        self.set_theme(theme)
        self.circuits: tuple[Circuit, ...] = self._plan.circuits
        #: (circuit id, column key): (what was typed, why it cannot be).
        self.refused: dict[tuple[str, str], tuple[str, str]] = {}
        #: What is typed in the new row so far.
        self.begun: dict[str, str] = {}
        self._stale = True
        self._sized: dict[str, tuple[str, ...]] = {}
        session.plan_changed.connect(self._plan_changed)
        session.analysis_changed.connect(self._analysis_changed)

    def set_theme(self, theme: Theme) -> None:
        self._theme = theme
        self._icon = severity_icon("error", theme)

    # --- in step with the plan ---------------------------------------------------------------------------------------

    def _plan_changed(self, _old: object, _new: object) -> None:
        if self._session.previewing or self._session.plan is self._plan:
            return
        plan, old = self._session.plan, self.circuits
        if [c.id for c in plan.circuits] == [c.id for c in old]:
            self._plan, self.circuits = plan, plan.circuits
            for number, (before, after) in enumerate(zip(old, plan.circuits, strict=True)):
                if before is not after:
                    self._forget_mended(before, after)
                    self.dataChanged.emit(self.index(number, 0), self.index(number, self.columnCount() - 1))
            return
        ids = [c.id for c in plan.circuits]
        if ids[: len(old)] == [c.id for c in old]:
            # Added below: an editor that is open stays.
            self.beginInsertRows(QModelIndex(), len(old), len(ids) - 1)
            self._plan, self.circuits = plan, plan.circuits
            self.endInsertRows()
            return
        self.beginResetModel()
        self._plan, self.circuits = plan, plan.circuits
        known = {*ids, NEW}
        self.refused = {cell: told for cell, told in self.refused.items() if cell[0] in known}
        self.endResetModel()

    def _forget_mended(self, before: Circuit, after: Circuit) -> None:
        """A refused text goes where the cell was changed elsewhere."""
        for column in TYPED:
            if (after.id, column.key) in self.refused and column.show(self._plan, before) != column.show(
                self._plan, after
            ):
                del self.refused[after.id, column.key]

    def _analysis_changed(self, _analysis: object) -> None:
        if self._session.previewing:
            return
        self._stale = True
        if self.circuits:
            last = self.index(len(self.circuits) - 1, self.columnCount() - 1)
            self.dataChanged.emit(self.index(0, len(TYPED)), last)

    # --- read --------------------------------------------------------------------------------------------------------

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 (Qt's own default)
        return 0 if parent.isValid() else len(self.circuits) + 1

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        return 0 if parent.isValid() else len(TITLES)

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = int(Roles.DisplayRole)) -> Any:
        if orientation == Qt.Orientation.Horizontal:
            if role == Roles.DisplayRole:
                return TITLES[section]
            if role == Roles.ToolTipRole and section < len(TYPED):
                return TIPS.get(TYPED[section].key)
        elif role == Roles.DisplayRole:
            return "new" if section == len(self.circuits) else self.circuits[section].id
        return None

    def flags(self, index: Index) -> Qt.ItemFlag:
        flags = Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable
        return flags | Qt.ItemFlag.ItemIsEditable if index.column() < len(TYPED) else flags

    def circuit_at(self, row: int) -> str:
        """The id of a row's circuit, `NEW` for the last row."""
        return self.circuits[row].id if row < len(self.circuits) else NEW

    def row_of(self, circuit: str) -> int | None:
        return next((number for number, each in enumerate(self.circuits) if each.id == circuit), None)

    def text(self, row: int, column: int) -> str:
        """What a cell shows: a refused text as it was typed."""
        circuit = self.circuit_at(row)
        if column < len(TYPED):
            refused = self.refused.get((circuit, TYPED[column].key))
            if refused is not None:
                return refused[0]
            if circuit == NEW:
                return self.begun.get(TYPED[column].key, "")
            return TYPED[column].show(self._plan, self.circuits[row])
        return "" if circuit == NEW else self._found(circuit)[column - len(TYPED)]

    def problem(self, row: int, column: int) -> str:
        if column >= len(TYPED):
            return ""
        return self.refused.get((self.circuit_at(row), TYPED[column].key), ("", ""))[1]

    def data(self, index: Index, role: int = int(Roles.DisplayRole)) -> Any:
        row, column = index.row(), index.column()
        problem = self.problem(row, column)
        match role:
            case Roles.DisplayRole | Roles.EditRole:
                text = self.text(row, column)
                if role == Roles.DisplayRole and not text and row == len(self.circuits) and column == 0:
                    return "Type a circuit here"
                return text
            case Roles.DecorationRole if problem:
                return self._icon
            case Roles.ToolTipRole:
                return problem or None
            case Roles.ForegroundRole:
                if problem:
                    return self._theme.colour("error")
                if column >= len(TYPED) or row == len(self.circuits):
                    return self._theme.colour("muted")
            case Roles.AccessibleTextRole:
                title = TITLES[column]
                return f"{title}: {self.text(row, column)}" + (f", {problem}" if problem else "")
        return None

    def _found(self, circuit: str) -> tuple[str, ...]:
        if self._stale:
            self._sized, self._stale = found_texts(self._session.analysis), False
        return self._sized.get(circuit, ("", "", "", ""))

    # --- type --------------------------------------------------------------------------------------------------------

    def setData(self, index: Index, value: Any, role: int = int(Roles.EditRole)) -> bool:
        if role != Roles.EditRole or index.column() >= len(TYPED):
            return False
        text = str(value)
        if text == self.text(index.row(), index.column()):
            return False
        self.put(((index.row(), index.column(), text),), f"Edit {TYPED[index.column()].title.lower()}")
        return True

    def put(self, cells: Sequence[tuple[int, int, str]], label: str) -> None:
        """Set texts at (row, column): one step of undo. Rows below the last circuit become circuits; what cannot be
        read stays in its cell with the reason."""
        library, plan = self._session.library, self._session.plan
        typed, fresh = [], dict[int, dict[str, str]]()
        for row, column, text in cells:
            if column >= len(TYPED):
                self.said.emit(f"The column {TITLES[column]} is worked out and cannot be typed into.")
            elif row < len(self.circuits):
                typed.append(Typed(self.circuits[row].id, TYPED[column].key, text))
                self.refused.pop((self.circuits[row].id, TYPED[column].key), None)
            else:
                fresh.setdefault(row, {})[TYPED[column].key] = text
        plan, refused = set_cells(plan, typed, library)
        for cell, reason in refused:
            self.refused[cell.circuit, cell.column] = (cell.text, reason)
        told = [reason for _, reason in refused]
        plan, more = self._add(plan, fresh)
        told += more
        if plan is not self._session.plan:
            self._session.commit(label, plan)
        self.dataChanged.emit(self.index(0, 0), self.index(self.rowCount() - 1, self.columnCount() - 1))
        if told:
            self.said.emit(told[0] if len(told) == 1 else f"{len(told)} cells could not be read; the first: {told[0]}")

    def _add(self, plan: Plan, fresh: dict[int, dict[str, str]]) -> tuple[Plan, list[str]]:
        told = []
        for row in sorted(fresh):
            texts = {**self.begun, **fresh[row]}
            self.begun = {}
            for key in TYPED:
                self.refused.pop((NEW, key.key), None)
            if not any(text.strip() for text in texts.values()):
                continue
            try:
                plan, _ = add_circuit(plan, texts, self._session.library)
            except EditRefused as refusal:
                self.begun = texts  # of several rows the last stays to be mended
                if texts.get("loads", "").strip():
                    told.append(str(refusal))
                    at = "source" if "ource" in str(refusal) else "loads"
                    self.refused[NEW, at] = (texts.get(at, ""), str(refusal))
        return plan, told

    def forget(self, row: int, column: int) -> bool:
        """Take a refused text back; whether there was one."""
        if column >= len(TYPED):
            return False
        gone = self.refused.pop((self.circuit_at(row), TYPED[column].key), None)
        if gone is not None:
            self.dataChanged.emit(self.index(row, column), self.index(row, column))
        return gone is not None


def found_texts(analysis: Any) -> dict[str, tuple[str, ...]]:
    """Of every circuit: the chosen fuse, the thickest section, one-way length, the largest drop; "" where there is
    none."""
    thick: dict[str, Any] = {}
    for wire in analysis.wires.values():
        size = analysis.sized.get(wire.id)
        if size is None:
            continue
        best = thick.get(wire.circuit)
        if best is None or size.section_mm2 > best[0].section_mm2:
            thick[wire.circuit] = (size, max(size.drop_percent or 0.0, best[1] if best else 0.0))
        else:
            thick[wire.circuit] = (best[0], max(best[1], size.drop_percent or 0.0))
    texts: dict[str, tuple[str, ...]] = {}
    for circuit, size in analysis.circuit_sizes.items():
        fuse = show(size.fuse_a, "A") if size.fuse_a is not None else ""
        one_way = f"{size.one_way_mm / 1000:.2f} m" if size.one_way_mm is not None else "no route"
        found = thick.get(circuit)
        section = show_section(found[0].section_mm2, found[0].gauge_awg) if found else ""
        drop = f"{found[1]:.1f} %" if found and found[1] else ""
        texts[circuit] = (fuse, section, one_way, drop)
    return texts
