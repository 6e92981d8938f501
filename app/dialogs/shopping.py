"""Who sells what: the items of the shopping list with their supplier and order number."""

from collections.abc import Callable
from math import isfinite

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.dialogs.as_built.work import KEY, Cells, problem_label, say
from core.analysis.analysis import Analysis
from core.analysis.results import Material
from core.edits.records import set_assumptions
from core.edits.supplies import set_pack, set_supplier
from core.model import Plan
from core.tables.shopping import suppliers
from core.text import counted, trimmed

Change = Callable[[str, Callable[[Plan], Plan]], str]


class ShoppingDialog(QDialog):
    """A supplier is typed for one item, for many that are chosen, or for all the rest."""

    def __init__(self, parent: QWidget, analysis: Callable[[], Analysis], change: Change) -> None:
        super().__init__(parent)
        self._analysis, self._change = analysis, change
        self.setWindowTitle("Suppliers")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.resize(1000, 680)
        words = "The shopping list is printed by supplier. Type who sells an item, its order number, packs and price."
        told = QLabel(words, self)
        told.setWordWrap(True)
        self.table = Cells(
            self, "Items to buy", ("item", "quantity", "supplier", "order number", "in packs of", "price of one"),
            typed=(2, 3, 4, 5), wide=(0, 2, 3),
        )  # fmt: skip
        self.table.itemChanged.connect(self._typed)
        self.many = QLineEdit(self)
        self.many.setPlaceholderText("supplier of the items that are chosen")
        self.many.setAccessibleName("Supplier of the items that are chosen")
        self.set_many = QPushButton("Set for the chosen", self)
        self.set_many.setAutoDefault(False)
        self.set_many.clicked.connect(self._set_many)
        self.many.returnPressed.connect(self._set_many)
        self.usual = QLineEdit(self)
        self.usual.setPlaceholderText("nobody yet")
        self.usual.setAccessibleName("Supplier of all the rest")
        self.usual.editingFinished.connect(self._set_usual)
        label = QLabel("All the rest is bought at", self)
        label.setBuddy(self.usual)
        row = QHBoxLayout()
        row.addWidget(self.many, 1)
        row.addWidget(self.set_many)
        row.addSpacing(24)
        row.addWidget(label)
        row.addWidget(self.usual, 1)
        self.problem = problem_label(self)
        box = QDialogButtonBox(self)
        # Of another role it would be the default, and Return in a field would close the dialog.
        done = box.addButton("Done", QDialogButtonBox.ButtonRole.RejectRole)
        done.setAutoDefault(False)
        done.clicked.connect(self.accept)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(14, 14, 14, 12)
        layout.addWidget(told)
        layout.addWidget(self.table, 1)
        layout.addLayout(row)
        layout.addWidget(self.problem)
        layout.addWidget(box)
        self.refresh()

    def refresh(self) -> None:
        analysis = self._analysis()
        sellers = suppliers(analysis)
        said = {row.item: row for row in analysis.plan.supplies}
        numbers = {item: row.order_number for item, row in said.items()}
        self.table.show_rows(
            [(row.item, (row.item, f"{trimmed(row.quantity, 2)} {row.unit}", sellers[row.item],
                         numbers.get(row.item, ""), *_sold(row))) for row in analysis.materials]
        )  # fmt: skip
        self.usual.setText(analysis.plan.assumptions.supplier)

    def _typed(self, item: QTableWidgetItem) -> None:
        key, text = str(item.data(KEY)), item.text().strip()
        if item.column() == 2:
            self._do(f"Supplier of {key}", lambda plan: set_supplier(plan, (key,), text))
        elif item.column() > 3:
            self._sold(key, item.column(), text)
        else:
            named = {row.item: row.supplier for row in self._analysis().plan.supplies}.get(key, "")
            self._do(f"Order number of {key}", lambda plan: set_supplier(plan, (key,), named, text))

    def _sold(self, key: str, column: int, text: str) -> None:
        """A pack or a price that was typed; an empty field is as the kind says."""
        before = next((row for row in self._analysis().plan.supplies if row.item == key), None)
        pack, price = (before.pack, before.price) if before is not None else (None, None)
        try:
            value = float(text.replace(",", ".")) if text else None
        except ValueError:
            self.refresh()
            say(self.problem, f"“{text}” is no number; expected one such as {'25' if column == 4 else '1.20'}.")
            return
        if column == 4:
            pack = int(value) if value is not None and isfinite(value) else None
        else:
            price = value
        what = "Pack" if column == 4 else "Price"
        self._do(f"{what} of {key}", lambda plan: set_pack(plan, key, pack, price))

    def _set_many(self) -> None:
        chosen, text = self.table.chosen(), self.many.text().strip()
        if not chosen:
            say(self.problem, "Choose items first.")
            return
        self._do(f"Supplier of {counted(len(chosen), 'item')}", lambda plan: set_supplier(plan, chosen, text))

    def _set_usual(self) -> None:
        text = self.usual.text().strip()
        if text != self._analysis().plan.assumptions.supplier:
            self._do("Usual supplier", lambda plan: set_assumptions(plan, supplier=text))

    def _do(self, label: str, edit: Callable[[Plan], Plan]) -> None:
        problem = self._change(label, edit)
        self.refresh()
        say(self.problem, problem)


def _sold(row: Material) -> tuple[str, str]:
    """Pack and price of one, as they count now."""
    bought = row.packs * row.pack if row.packs else row.quantity
    price = f"{row.price / bought:.2f}" if row.price is not None and bought else ""
    return str(row.pack) if row.pack > 1 else "", price
