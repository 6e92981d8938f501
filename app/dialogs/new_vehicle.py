"""New vehicle: a kind of body and what the tape says give the whole bare shell; everything can be changed afterwards.

What nobody has typed is typical of such a body and stays marked as assumed.
"""

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtWidgets import (
    QCheckBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.choice import Choice
from app.dialogs.measuring import MeasuringPicture
from app.theme import Theme
from core.edits.change import replaced
from core.edits.measurements import Measurements, bodies, fields_of, set_measure, typical
from core.edits.measuring_bodies import BodyName
from core.edits.new_vehicle import build_vehicle
from core.edits.new_vehicle_checks import problems
from core.edits.start import new_plan
from core.errors import LoomwrightError
from core.files.library import Library
from core.model import Plan
from core.pages.measuring_picture import numbers
from core.units import LengthUnit, UnitProblem, read_length_mm, show_length

#: The body the form opens with.
FIRST: BodyName = "high_roof"


class NewVehicleDialog(QDialog):
    """Asks for the body and its measures; every mistake is told beside its field."""

    def __init__(
        self, parent: QWidget, library: Library, unit: LengthUnit, theme: Theme, made: Callable[[Plan], None]
    ) -> None:
        super().__init__(parent)
        self._library, self._unit, self._made = library, unit, made
        self._form: Measurements = typical(FIRST)
        self.setWindowTitle("New vehicle")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.resize(1080, 700)
        self.name = QLineEdit("New van", self)
        self.name.selectAll()
        self.body = Choice(self)
        for body in bodies():
            self.body.addItem(body.name, body.key)
            self.body.setItemData(self.body.count() - 1, body.help, Qt.ItemDataRole.ToolTipRole)
        self.body.setCurrentIndex(self.body.findData(FIRST))
        self.driver = Choice(self)
        self.driver.addItem("right", "right")
        self.driver.addItem("left", "left")
        self.profile = Choice(self)
        for row in library.profiles:
            self.profile.addItem(row.name, row.id)
            self.profile.setItemData(self.profile.count() - 1, row.summary, Qt.ItemDataRole.ToolTipRole)
        self.outside = QCheckBox("Roof outside, for solar and aerials", self)
        self.underside = QCheckBox("Underside of the floor", self)
        self.picture = MeasuringPicture(theme, self._form, self)
        self.told = QLabel(self)
        self.told.setWordWrap(True)
        self.told.setMinimumHeight(2 * self.told.fontMetrics().lineSpacing())
        self.fields: dict[str, QLineEdit] = {}
        self.problems: dict[str, QLabel] = {}
        self._scroll = QScrollArea(self)
        self._scroll.setWidgetResizable(True)
        self._scroll.setFrameShape(QScrollArea.Shape.NoFrame)
        self._scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._scroll.setFixedWidth(430)
        self._scroll.viewport().setAutoFillBackground(False)
        self._lay_out()
        self._make_fields()
        self.body.currentIndexChanged.connect(self._body_changed)
        self.driver.currentIndexChanged.connect(self._body_changed)

    def _lay_out(self) -> None:
        head = QFormLayout()
        head.setHorizontalSpacing(14)
        head.setVerticalSpacing(8)
        head.addRow("Name", self.name)
        head.addRow("Body", self.body)
        head.addRow("Driver sits", self.driver)
        head.addRow("Standards profile", self.profile)
        head.addRow("Draw as well", self.outside)
        head.addRow("", self.underside)
        box = QDialogButtonBox(self)
        self.make = box.addButton("Make the shell", QDialogButtonBox.ButtonRole.AcceptRole)
        self.empty = box.addButton("Empty sheet", QDialogButtonBox.ButtonRole.ActionRole)
        keep = box.addButton("Not now", QDialogButtonBox.ButtonRole.RejectRole)
        self.make.setDefault(True)
        self.make.clicked.connect(self._make)
        self.empty.clicked.connect(self._make_empty)
        keep.clicked.connect(self.reject)
        left, right, both, whole = QVBoxLayout(), QVBoxLayout(), QHBoxLayout(), QVBoxLayout(self)
        left.addLayout(head)
        left.addWidget(self._scroll, 1)
        intro = QLabel("Measure the bare load space. What you do not type stays marked as assumed.", self)
        intro.setWordWrap(True)
        right.addWidget(intro)
        right.addWidget(self.picture, 1)
        right.addWidget(self.told)
        both.setSpacing(22)
        both.addLayout(left)
        both.addLayout(right, 1)
        whole.setContentsMargins(22, 18, 22, 16)
        whole.setSpacing(14)
        whole.addLayout(both, 1)
        whole.addWidget(box)

    def _make_fields(self) -> None:
        """The fields of the body, in the order to measure them; what was typed for another body is gone."""
        self.fields, self.problems = {}, {}
        inner = QWidget(self._scroll)
        form = QFormLayout(inner)
        form.setHorizontalSpacing(14)
        form.setVerticalSpacing(8)
        form.setContentsMargins(0, 6, 8, 6)
        number, group = numbers(self._form), ""
        for row in fields_of(self._form.body):
            if row.group != group:
                group = row.group
                heading = QLabel(group, inner)
                heading.setObjectName("factsGroup")
                form.addRow(heading)
            field, problem = QLineEdit(self._shown(self._form.mm(row.key)), inner), QLabel(inner)
            field.setAccessibleName(row.label)
            field.setAccessibleDescription(row.help)
            field.setToolTip(row.help)
            field.installEventFilter(self)
            field.editingFinished.connect(self._read)
            problem.setObjectName("fieldProblem")
            problem.setWordWrap(True)
            problem.hide()
            both = QVBoxLayout()
            both.setSpacing(2)
            both.addWidget(field)
            both.addWidget(problem)
            label = f"{number[row.key]}  {row.label}" if row.key in number else row.label
            form.addRow(label, both)
            self.fields[row.key], self.problems[row.key] = field, problem
        self._scroll.setWidget(inner)
        inner.setAutoFillBackground(False)
        self.picture.show_form(self._form, "")

    def _shown(self, mm: float) -> str:
        return show_length(mm, "ft_in" if self._unit == "in" else "mm")

    def _body_changed(self) -> None:
        self._form = typical(self.body.currentData(), self.driver.currentData())
        self._make_fields()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """The field that is written in is lit in the picture, with the words for where to hold the tape."""
        if event.type() == QEvent.Type.FocusIn:
            key = next((key for key, field in self.fields.items() if field is watched), "")
            row = next((row for row in fields_of(self._form.body) if row.key == key), None)
            if row is not None:
                self.told.setText(f"{row.label}: {row.help}.")
                self.picture.show_form(self._form, key)
                self._scroll.ensureWidgetVisible(self.fields[key])
        return super().eventFilter(watched, event)

    def _read(self) -> bool:
        """Take over what is typed; mistakes are told beside their fields. Whether all of it can be built."""
        form, told = self._form, dict.fromkeys(self.fields, "")
        for key, field in self.fields.items():
            if field.text() == self._shown(form.mm(key)):
                continue  # as it stands: an assumed value stays assumed
            try:
                form = set_measure(form, key, read_length_mm(field.text(), self._unit))
            except (UnitProblem, LoomwrightError) as problem:
                told[key] = str(problem)
        for wrong in problems(form):
            key = wrong.key if wrong.key in told else next(iter(told))
            told[key] = told[key] or wrong.message
        self._form = form
        for key, label in self.problems.items():
            label.setText(told[key])
            label.setVisible(bool(told[key]))
        self.picture.show_form(form, next((key for key, field in self.fields.items() if field.hasFocus()), ""))
        return not any(told.values())

    def _make(self) -> None:
        if not self._read():
            first = next(key for key, label in self.problems.items() if label.text())
            self.fields[first].setFocus()
            return
        form = replaced(self._form, roof_outside=self.outside.isChecked(), underside=self.underside.isChecked())
        plan = new_plan(self._library, self.name.text(), self.profile.currentData())
        try:
            plan = build_vehicle(plan, form)
        except LoomwrightError as refusal:
            self.told.setText(str(refusal))
            return
        self.accept()
        self._made(plan)

    def _make_empty(self) -> None:
        plan = new_plan(self._library, self.name.text(), self.profile.currentData())
        self.accept()
        self._made(plan)
