"""New vehicle: three measurements give a floor, four walls and a ceiling; everything can be changed afterwards."""

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QLabel,
    QLineEdit,
    QVBoxLayout,
    QWidget,
)

from app.choice import Choice
from core.edits.body import draw_floor, raise_wall
from core.edits.start import new_plan
from core.errors import EditRefused, LoomwrightError
from core.files.library import Library
from core.model import Plan
from core.units import LengthUnit, UnitProblem, read_length_mm, show_length

#: A mid van's load space, to have something in the fields: common practice, no source.
START_MM = {"length": 3_200.0, "width": 1_750.0, "height": 1_850.0}
LEAST_MM, MOST_MM = 100.0, 30_000.0


def van_shell(library: Library, name: str, profile_id: str, length: float, width: float, height: float) -> Plan:
    """A new plan with a box of six surfaces, in mm inside; the ceiling folds to vehicle left. Raises EditRefused."""
    for word, value in (("length", length), ("width", width), ("height", height)):
        if not LEAST_MM <= value <= MOST_MM:
            raise EditRefused(f"The {word} must be between {LEAST_MM:g} and {MOST_MM:g} mm; {value:g} mm is not.")
    plan = new_plan(library, name, profile_id)
    plan, floor = draw_floor(plan, ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width)))
    plan, left = raise_wall(plan, floor, "1", height)
    for edge in ("3", "2", "4"):
        plan, _ = raise_wall(plan, floor, edge, height)
    plan, _ = raise_wall(plan, left, "3", width)
    return plan


class NewVehicleDialog(QDialog):
    """Asks for a name and three lengths; every mistake is told beside its field."""

    def __init__(self, parent: QWidget, library: Library, unit: LengthUnit, made: Callable[[Plan], None]) -> None:
        super().__init__(parent)
        self._library, self._unit, self._made = library, unit, made
        self.setWindowTitle("New vehicle")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setMinimumWidth(420)
        intro = QLabel("Measure the bare load space, inside and straight. Everything can be changed afterwards.", self)
        intro.setWordWrap(True)
        self.name = QLineEdit("New van", self)
        self.name.selectAll()
        self.fields: dict[str, QLineEdit] = {}
        self.problems: dict[str, QLabel] = {}
        form = QFormLayout()
        form.setHorizontalSpacing(14)
        form.setVerticalSpacing(8)
        form.addRow("Name", self.name)
        show_as = "ft_in" if unit == "in" else "mm"
        for key, words in (
            ("length", "Length of the floor"),
            ("width", "Width of the floor"),
            ("height", "Height of the walls"),
        ):
            field, problem = QLineEdit(show_length(START_MM[key], show_as), self), QLabel(self)  # type: ignore[arg-type]
            field.setAccessibleName(words)
            problem.setObjectName("fieldProblem")
            problem.setWordWrap(True)
            problem.hide()
            both = QVBoxLayout()
            both.setSpacing(2)
            both.addWidget(field)
            both.addWidget(problem)
            form.addRow(words, both)
            self.fields[key], self.problems[key] = field, problem
        self.profile = Choice(self)
        for row in library.profiles:
            self.profile.addItem(row.name, row.id)
            self.profile.setItemData(self.profile.count() - 1, row.summary, Qt.ItemDataRole.ToolTipRole)
        form.addRow("Standards profile", self.profile)
        box = QDialogButtonBox(self)
        self.make = box.addButton("Make the shell", QDialogButtonBox.ButtonRole.AcceptRole)
        self.empty = box.addButton("Empty sheet", QDialogButtonBox.ButtonRole.ActionRole)
        keep = box.addButton("Not now", QDialogButtonBox.ButtonRole.RejectRole)
        self.make.setDefault(True)
        self.make.clicked.connect(self._make)
        self.empty.clicked.connect(self._make_empty)
        keep.clicked.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(22, 18, 22, 16)
        layout.setSpacing(14)
        layout.addWidget(intro)
        layout.addLayout(form)
        layout.addWidget(box)

    def _make(self) -> None:
        sizes: dict[str, float] = {}
        for key, field in self.fields.items():
            told = ""
            try:
                sizes[key] = read_length_mm(field.text(), self._unit)
                if not LEAST_MM <= sizes[key] <= MOST_MM:
                    told = f"Between {show_length(LEAST_MM)} and {show_length(MOST_MM, 'm')}."
            except UnitProblem as problem:
                told = str(problem)
            self.problems[key].setText(told)
            self.problems[key].setVisible(bool(told))
        if any(label.text() for label in self.problems.values()):
            return
        try:
            plan = van_shell(self._library, self.name.text(), self.profile.currentData(), **sizes)
        except LoomwrightError as refusal:
            self.problems["length"].setText(str(refusal))
            self.problems["length"].show()
            return
        self.accept()
        self._made(plan)

    def _make_empty(self) -> None:
        plan = new_plan(self._library, self.name.text(), self.profile.currentData())
        self.accept()
        self._made(plan)
