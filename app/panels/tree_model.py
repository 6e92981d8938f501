"""Everything in the plan as a tree of groups, kept in step by what changed, not by building it anew."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from PySide6.QtCore import QModelIndex, QObject, QPersistentModelIndex, Qt
from PySide6.QtGui import QStandardItem, QStandardItemModel

from core.analysis.analysis import Analysis
from core.diff import changed_records
from core.model import Plan
from core.tables.names import ROLE_WORDS

Index = QModelIndex | QPersistentModelIndex
#: Role under which an item holds the id of its record ("" for a group).
ID_ROLE = int(Qt.ItemDataRole.UserRole)
#: Role of the whole text that the search looks through: name, kind, surface, id.
SEARCH_ROLE = ID_ROLE + 1

#: Collection, title of its group, word for one without a name.
GROUPS: tuple[tuple[str, str, str], ...] = (
    ("surfaces", "Surfaces", "Surface"),
    ("boxes", "Boxes", "Box"),
    ("ribs", "Ribs and pillars", "Rib"),
    ("openings", "Openings", "Opening"),
    ("metal_edges", "Metal edges", "Metal edge"),
    ("zones", "Keep-out zones", "Keep-out zone"),
    ("panels", "Panels", "Panel"),
    ("devices", "Devices", "Device"),
    ("channels", "Channels", "Channel"),
    ("nodes", "Nodes", "Node"),
    ("securing_points", "Securing points", "Securing point"),
    ("pass_throughs", "Pass-throughs", "Pass-through"),
    ("circuits", "Circuits", "Circuit"),
    ("penetrations", "Penetrations", "Penetration"),
    ("splices", "Splices", "Splice"),
    ("connectors", "Connectors", "Connector"),
    ("earth_points", "Earth points", "Earth point"),
    ("cables", "Cables", "Cable"),
    ("moving_parts", "Moving parts", "Moving part"),
    ("moving_joints", "Moving joints", "Moving joint"),
    ("pictures", "Underlays", "Underlay"),
    ("dimensions", "Dimensions", "Dimension"),
    ("seams", "Seams", "Seam"),
)


@dataclass(frozen=True)
class Row:
    id: str
    text: str
    search: str


class PlanTree(QStandardItemModel):
    """Two levels, wires of a circuit as a third."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._plan: Plan | None = None
        self._groups: dict[str, QStandardItem] = {}
        self._items: dict[str, QStandardItem] = {}
        self._wires: dict[str, tuple[Row, ...]] = {}

    def item_of(self, record_id: str) -> QStandardItem | None:
        return self._items.get(record_id)

    def id_at(self, index: Index) -> str:
        return str(index.data(ID_ROLE) or "")

    def show_plan(self, plan: Plan) -> None:
        """Bring the groups that changed in step with the plan."""
        changes = changed_records(self._plan, plan)
        surfaces = {surface.id: surface.name for surface in plan.surfaces}
        self._plan = plan
        for collection, title, word in GROUPS:
            change = changes.get(collection)
            if change is None:
                continue
            records = getattr(plan, collection)
            if change.added or change.removed:
                self._fill(collection, title, tuple(_row(record, word, surfaces) for record in records))
                continue
            touched = set(change.changed)
            for record in records:
                if record.id in touched:
                    _tell(self._items[record.id], _row(record, word, surfaces))

    def show_analysis(self, analysis: Analysis) -> None:
        """The wires under their circuits."""
        found: dict[str, list[Row]] = {}
        for wire in analysis.wires.values():
            words = f"{wire.id}  {ROLE_WORDS[wire.role]}"
            to = analysis.word(wire.to.device)
            found.setdefault(wire.circuit, []).append(Row(wire.id, words, f"{words} {to}"))
        for circuit in analysis.plan.circuits:
            item, rows = self._items.get(circuit.id), tuple(found.get(circuit.id, ()))
            if item is None or (self._wires.get(circuit.id) == rows and item.rowCount() == len(rows)):
                continue
            for row in self._wires.get(circuit.id, ()):
                self._items.pop(row.id, None)
            self._wires[circuit.id] = rows
            item.removeRows(0, item.rowCount())
            item.appendRows([self._made(row) for row in rows])

    def _fill(self, collection: str, title: str, rows: tuple[Row, ...]) -> None:
        group = self._groups.get(collection)
        if group is not None:
            for child in list(_below(group)):
                self._items.pop(str(child.data(ID_ROLE)), None)
            group.removeRows(0, group.rowCount())
        if not rows:
            if group is not None:
                self.removeRow(group.row())
                del self._groups[collection]
            return
        if group is None:
            group = self._new_group(collection)
        group.setText(f"{title}  ({len(rows)})")
        group.setData(f"{title}: {len(rows)}", int(Qt.ItemDataRole.AccessibleTextRole))
        group.appendRows([self._made(row) for row in rows])
        if collection == "circuits":
            self._wires.clear()

    def _new_group(self, collection: str) -> QStandardItem:
        group = QStandardItem()
        group.setEditable(False)
        group.setSelectable(False)
        group.setData("", ID_ROLE)
        group.setData(collection, SEARCH_ROLE)
        order = [name for name, _, _ in GROUPS]
        place = sum(1 for name in self._groups if order.index(name) < order.index(collection))
        self.insertRow(place, group)
        self._groups[collection] = group
        return group

    def _made(self, row: Row) -> QStandardItem:
        item = QStandardItem()
        item.setEditable(False)
        _tell(item, row)
        self._items[row.id] = item
        return item


def _tell(item: QStandardItem, row: Row) -> None:
    item.setText(row.text)
    item.setData(row.id, ID_ROLE)
    item.setData(row.search, SEARCH_ROLE)
    item.setToolTip(row.search)


def _below(item: QStandardItem) -> Iterator[QStandardItem]:
    for number in range(item.rowCount()):
        child = item.child(number)
        yield child
        yield from _below(child)


def _row(record: object, word: str, surfaces: dict[str, str]) -> Row:
    record_id = str(getattr(record, "id", ""))
    name = getattr(record, "name", "") or f"{word} {record_id}"
    surface = getattr(record, "surface", None)
    where = surfaces.get(surface, "") if isinstance(surface, str) else ""
    text = f"{name}  ·  {where}" if where else str(name)
    kind = str(getattr(record, "kind", "")).replace("_", " ")
    return Row(record_id, text, " ".join(_some((str(name), kind, where, record_id))))


def _some(words: Iterable[str]) -> list[str]:
    return [word for word in words if word]
