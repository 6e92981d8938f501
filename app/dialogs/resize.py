"""Change measurements: the body longer, wider or higher after it was made. What is drawn goes along or grows."""

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QFormLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from core.edits.resizing import AXES, Axis, Resized, body_size_mm, resize_body
from core.errors import LoomwrightError
from core.model import Plan
from core.units import LengthUnit, UnitProblem, read_length_mm, show_length

WORDS: dict[Axis, str] = {"length": "Length over all", "width": "Width over all", "height": "Height over all"}
CUTS: dict[Axis, str] = {
    "length": "from the front",
    "width": "from vehicle left, so that only what lies to the right of it moves",
    "height": "from the floor",
}
TOLD = (
    "The body is cut across and pulled apart or pushed together: what lies beyond the cut moves, what spans it grows. "
    "Without a place the cut goes where it meets the least."
)
#: A size that differs by less was not changed.
SAME_MM = 0.05


class ResizeDialog(QDialog):
    """`resized(label, plan)` gets the plan with everything that was changed, once."""

    def __init__(
        self, parent: QWidget, plan: Plan, unit: LengthUnit, resized: Callable[[str, Plan, str], object]
    ) -> None:
        super().__init__(parent)
        self._plan, self._unit, self._resized = plan, unit, resized
        self.setWindowTitle("Change measurements")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setMinimumWidth(520)
        told = QLabel(TOLD, self)
        told.setWordWrap(True)
        form = QFormLayout()
        form.setHorizontalSpacing(14)
        form.setVerticalSpacing(8)
        self.sizes: dict[Axis, QLineEdit] = {}
        self.cuts: dict[Axis, QLineEdit] = {}
        now = body_size_mm(plan)
        for axis in AXES:
            size, cut = QLineEdit(self._shown(now[axis]), self), QLineEdit(self)
            size.setAccessibleName(WORDS[axis])
            cut.setAccessibleName(f"{axis.capitalize()}, cut at")
            cut.setPlaceholderText("where it meets the least")
            cut.setToolTip(f"Measured {CUTS[axis]}")
            form.addRow(WORDS[axis], size)
            form.addRow(f"      cut at, {CUTS[axis].partition(',')[0]}", cut)
            self.sizes[axis], self.cuts[axis] = size, cut
        self.problem = QLabel(self)
        self.problem.setObjectName("fieldProblem")
        self.problem.setWordWrap(True)
        self.problem.setTextFormat(Qt.TextFormat.PlainText)
        self.problem.hide()
        box = QDialogButtonBox(self)
        self.change = box.addButton("Change the body", QDialogButtonBox.ButtonRole.AcceptRole)
        box.addButton("Leave it", QDialogButtonBox.ButtonRole.RejectRole).clicked.connect(self.reject)
        self.change.setDefault(True)
        self.change.clicked.connect(self._change)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(22, 18, 22, 16)
        layout.setSpacing(12)
        layout.addWidget(told)
        layout.addLayout(form)
        layout.addWidget(self.problem)
        layout.addWidget(box)
        self.sizes["length"].selectAll()

    def _shown(self, mm: float) -> str:
        return show_length(mm, "ft_in" if self._unit == "in" else "mm")

    def _change(self) -> None:
        plan, told, changed = self._plan, list[str](), list[str]()
        now = body_size_mm(plan)
        for axis, field in self.sizes.items():
            if field.text() == self._shown(now[axis]):
                continue
            cut = self.cuts[axis].text().strip()
            try:
                size_mm = read_length_mm(field.text(), self._unit)
                at_mm = read_length_mm(cut, self._unit) if cut else None
                if abs(size_mm - now[axis]) <= SAME_MM:
                    continue
                plan, what = resize_body(plan, axis, size_mm, at_mm)
            except (UnitProblem, LoomwrightError) as problem:
                self._say(f"{WORDS[axis]}: {problem}", field)
                return
            changed.append(axis)
            told += _parts(what)
        if not changed:
            self._say("Nothing is different yet: type another length, width or height.", self.sizes["length"])
            return
        self.accept()
        self._resized(f"Change {' and '.join(changed)} of the body", plan, " ".join(dict.fromkeys(told)))

    def _say(self, sentence: str, field: QLineEdit) -> None:
        self.problem.setText(sentence)
        self.problem.show()
        field.setFocus()
        field.selectAll()


def _parts(what: Resized) -> list[str]:
    return [str(what)] if str(what) else []
