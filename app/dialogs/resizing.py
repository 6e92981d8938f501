"""Resize the whole body to a typed length, width or height: what lies beyond the cut moves, what spans it grows."""

from collections.abc import Callable, Mapping

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QFormLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

#: An axis, the size as typed, and where it is cut as typed ("" leaves that open): what was done, and why not.
Resize = Callable[[str, str, str], tuple[str, str]]
WORDS = {"length": "Length over all", "width": "Width over all", "height": "Height over all"}
CUT_FROM = {"length": "from the front", "width": "from the left", "height": "from the floor"}


class ResizeDialog(QDialog):
    """One size at a time: Return in its field does it, and the dialog stays for the next."""

    def __init__(self, parent: QWidget, sizes: Callable[[], Mapping[str, str]], resize: Resize) -> None:
        super().__init__(parent)
        self._sizes, self._resize = sizes, resize
        self.setWindowTitle("Resize body")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setMinimumWidth(460)
        ask = QLabel(
            "The body is cut by a plane across the vehicle and pulled apart or pushed together there. "
            "Everything drawn beyond the cut moves, what spans it grows.",
            self,
        )
        ask.setWordWrap(True)
        rows = QFormLayout()
        rows.setHorizontalSpacing(14)
        self.sizes: dict[str, QLineEdit] = {}
        self.cuts: dict[str, QLineEdit] = {}
        for axis, words in WORDS.items():
            self.sizes[axis] = self._field(axis, words)
            self.cuts[axis] = self._field(axis, f"Cut for the {axis}, {CUT_FROM[axis]}")
            self.cuts[axis].setPlaceholderText(f"where it meets the least; or {CUT_FROM[axis]}")
            rows.addRow(words, self.sizes[axis])
            rows.addRow("  cut at", self.cuts[axis])
        self.told = QLabel(self)
        self.told.setWordWrap(True)
        self.told.setObjectName("factsWords")
        self.problem = QLabel(self)
        self.problem.setObjectName("fieldProblem")
        self.problem.setWordWrap(True)
        box = QDialogButtonBox(self)
        self.apply_button = box.addButton("Resize", QDialogButtonBox.ButtonRole.ApplyRole)
        close = box.addButton("Close", QDialogButtonBox.ButtonRole.RejectRole)
        self.apply_button.clicked.connect(self._apply)
        close.clicked.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(22, 18, 22, 16)
        layout.setSpacing(10)
        layout.addWidget(ask)
        layout.addLayout(rows)
        for widget in (self.told, self.problem, box):
            layout.addWidget(widget)
        self._show("", "")
        self.sizes["length"].setFocus()

    def _field(self, axis: str, name: str) -> QLineEdit:
        field = QLineEdit(self)
        field.setAccessibleName(name)
        field.setObjectName(f"{axis}Field")
        return field

    def _apply(self) -> None:
        """Do what was changed, from the length on; the first that cannot be stops it."""
        before = self._sizes()
        done: list[str] = []
        for axis, field in self.sizes.items():
            if field.text().strip() == before[axis]:
                continue
            told, problem = self._resize(axis, field.text(), self.cuts[axis].text())
            if problem:
                self._say(" ".join(done), problem)
                field.setFocus()
                field.selectAll()
                return
            done.append(told)
        self._show(" ".join(done), "" if done else "Type another length, width or height.")

    def _show(self, told: str, problem: str) -> None:
        for axis, size in self._sizes().items():
            self.sizes[axis].setText(size)
        self._say(told, problem)

    def _say(self, told: str, problem: str) -> None:
        for label, words in ((self.told, told), (self.problem, problem)):
            label.setText(words)
            label.setVisible(bool(words))
