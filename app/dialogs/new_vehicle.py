"""New vehicle: a kind of body and what the tape says give the whole bare shell; everything can be changed afterwards.

What nobody has typed is typical of such a body and stays marked as assumed.
"""

from collections.abc import Callable
from functools import partial
from itertools import pairwise

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.choice import Choice
from app.dialogs.measuring import MeasuringPicture
from app.dialogs.new_vehicle_openings import OpeningRows, show_known
from app.theme import Theme
from core.edits.assumed_openings import fitted
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
FRONTS = {"bulkhead": "bulkhead to the cab", "wall": "a wall of its own", "open": "open to the cab"}
REARS = {"leaves": "two doors on their pillars", "tailgate": "tailgate", "wall": "a wall"}
#: The width that the words of a mistake are wrapped to.
PROBLEM_PX = 230
OPENINGS = "Doors, windows and roof openings"


class NewVehicleDialog(QDialog):
    """Asks for the body and its measures; every mistake is told beside its field. `print_sheet` prints the sheet to
    fill by hand, of the body and openings as they stand in the form, under the name of the vehicle."""

    def __init__(
        self,
        parent: QWidget,
        library: Library,
        unit: LengthUnit,
        theme: Theme,
        made: Callable[[Plan], None],
        print_sheet: Callable[[QWidget, Measurements, str], object] | None = None,
    ) -> None:
        super().__init__(parent)
        self._library, self._unit, self._made, self._print_sheet = library, unit, made, print_sheet
        self._form: Measurements = typical(FIRST)
        self.setObjectName("newVehicle")
        self.setWindowTitle("New vehicle")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.resize(1180, 780)
        self.name = QLineEdit("New van", self)
        self.name.selectAll()
        self.body, self.driver = Choice(self), Choice(self)
        self.front, self.rear = Choice(self), Choice(self)
        for body in bodies():
            self.body.addItem(body.name, body.key)
            self.body.setItemData(self.body.count() - 1, body.help, Qt.ItemDataRole.ToolTipRole)
        self.body.setCurrentIndex(self.body.findData(FIRST))
        for choice, words in (
            (self.driver, {"right": "right", "left": "left"}), (self.front, FRONTS), (self.rear, REARS)
        ):  # fmt: skip
            for key, told in words.items():
                choice.addItem(told, key)
        self.profile = Choice(self)
        for row in library.profiles:
            self.profile.addItem(row.name, row.id)
            self.profile.setItemData(self.profile.count() - 1, row.summary, Qt.ItemDataRole.ToolTipRole)
        self.outside = QCheckBox("roof outside, for solar and aerials", self)
        self.underside = QCheckBox("underside of the floor", self)
        self.picture = MeasuringPicture(theme, self._form, self)
        self.told = QLabel(self)
        self.told.setWordWrap(True)
        self.told.setMinimumHeight(2 * self.told.fontMetrics().lineSpacing())
        self.count = QLabel(self)
        self.count.setObjectName("fieldLabel")
        self.fields: dict[str, QLineEdit] = {}
        self.measured: dict[str, QCheckBox] = {}
        self.problems: dict[str, QLabel] = {}
        self._scroll = QScrollArea(self)
        self._scroll.setObjectName("newVehicleFields")
        self._scroll.setAccessibleName("Measurements of the vehicle")
        self._scroll.setWidgetResizable(True)
        self._scroll.setFrameShape(QScrollArea.Shape.NoFrame)
        self._scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._scroll.setFixedWidth(470)
        muted, base, edge = (theme.colour(name).name() for name in ("muted", "base", "edge"))
        self.setStyleSheet(
            "#newVehicleFields, #newVehicleFields > QWidget > QWidget { background: transparent; }"
            f'QLineEdit[known="assumed"] {{ color: {muted}; }}'
            f"#openingRow {{ background: {base}; border: 1px solid {edge}; border-radius: 6px; }}"
        )
        self._lay_out()
        self._make_fields()
        self._show_ends()
        self.body.currentIndexChanged.connect(self._body_changed)
        self.driver.currentIndexChanged.connect(self._driver_changed)
        self.front.currentIndexChanged.connect(self._ends_changed)
        self.rear.currentIndexChanged.connect(self._ends_changed)

    def _lay_out(self) -> None:
        head = QFormLayout()
        head.setHorizontalSpacing(14)
        head.setVerticalSpacing(7)
        head.addRow("Name", self.name)
        head.addRow("Body", self.body)
        head.addRow("Driver sits", self.driver)
        head.addRow("Front end", self.front)
        head.addRow("Rear end", self.rear)
        head.addRow("Standards profile", self.profile)
        head.addRow("Draw as well", self.outside)
        head.addRow("", self.underside)
        box = QDialogButtonBox(self)
        self.make = box.addButton("Make the shell", QDialogButtonBox.ButtonRole.AcceptRole)
        self.empty = box.addButton("Empty sheet", QDialogButtonBox.ButtonRole.ActionRole)
        self.print = box.addButton("Sheet to fill by hand…", QDialogButtonBox.ButtonRole.ActionRole)
        self.not_now = box.addButton("Not now", QDialogButtonBox.ButtonRole.RejectRole)
        self.make.setDefault(True)
        self.make.clicked.connect(self._make)
        self.empty.clicked.connect(self._make_empty)
        self.print.setToolTip("Print or save the numbered picture with lines to write on, to take to the vehicle")
        self.print.clicked.connect(self._ask_print)
        self.print.setVisible(self._print_sheet is not None)
        self.not_now.clicked.connect(self.reject)
        left, right, both, whole = QVBoxLayout(), QVBoxLayout(), QHBoxLayout(), QVBoxLayout(self)
        left.setSpacing(10)
        left.addLayout(head)
        left.addWidget(self._scroll, 1)
        intro = QLabel(
            "Measure the bare load space. Return goes on to the next length; what you do not type stays marked as "
            "assumed.",
            self,
        )
        intro.setWordWrap(True)
        right.addWidget(intro)
        right.addWidget(self.picture, 1)
        right.addWidget(self.told)
        right.addWidget(self.count)
        both.setSpacing(22)
        both.addLayout(left)
        both.addLayout(right, 1)
        whole.setContentsMargins(22, 18, 22, 16)
        whole.setSpacing(14)
        whole.addLayout(both, 1)
        whole.addWidget(box)

    def _make_fields(self) -> None:
        """The fields of the body, in the order to measure them; what was typed for another body is gone."""
        self.fields, self.measured, self.problems = {}, {}, {}
        inner = QWidget(self._scroll)
        form = QFormLayout(inner)
        form.setHorizontalSpacing(12)
        form.setVerticalSpacing(7)
        form.setContentsMargins(0, 2, 12, 6)
        number, group = numbers(self._form), ""
        for row in fields_of(self._form.body):
            if row.group != group:
                group = row.group
                form.addRow(self._heading(group, inner))
            field, tick, problem = (
                QLineEdit(self._shown(self._form.mm(row.key)), inner),
                QCheckBox(inner),
                QLabel(inner),
            )
            field.setAccessibleName(row.label)
            field.setAccessibleDescription(row.help)
            field.setToolTip(row.help)
            field.installEventFilter(self)
            field.editingFinished.connect(partial(self._typed, row.key))
            tick.setAccessibleName(f"{row.label} is measured")
            tick.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            tick.setFixedWidth(92)
            tick.clicked.connect(partial(self._ticked, row.key))
            problem.setObjectName("fieldProblem")
            problem.setWordWrap(True)
            problem.setFixedWidth(PROBLEM_PX)
            problem.hide()
            line, both = QHBoxLayout(), QVBoxLayout()
            line.setSpacing(8)
            line.addWidget(field, 1)
            line.addWidget(tick)
            both.setSpacing(2)
            both.addLayout(line)
            both.addWidget(problem)
            label = f"{number[row.key]}  {row.label}" if row.key in number else row.label
            form.addRow(label, both)
            self.fields[row.key], self.measured[row.key], self.problems[row.key] = field, tick, problem
        form.addRow(self._heading(OPENINGS, inner))
        self.openings = OpeningRows(self._form, self._unit, inner)
        self.openings.edited.connect(self._read)
        self.openings.entered.connect(self._opening_entered)
        self.openings.filled.connect(self._order_tabs)
        form.addRow(self.openings)
        self._scroll.setWidget(inner)
        self._order_tabs()
        self._show_known()
        self.picture.show_form(self._form, "")

    def _order_tabs(self) -> None:
        """Tab goes from one length to the next, as the tape does, then through the openings; the ticks, which typing
        sets by itself, come behind them. Fields that are made anew would else stand behind the buttons."""
        order = [
            self.underside,
            *self.fields.values(),
            *self.openings.in_order(),
            *self.measured.values(),
            *(self.make, self.empty, self.print, self.not_now),
        ]
        for before, after in pairwise(order):
            QWidget.setTabOrder(before, after)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Return goes on to the next length, since a block of number keys has no Tab; Ctrl+Return makes the shell."""
        focus = self.focusWidget()
        if event.key() not in (Qt.Key.Key_Return, Qt.Key.Key_Enter) or isinstance(focus, QPushButton):
            super().keyPressEvent(event)
        elif event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.make.click()
        else:
            lengths = [*self.fields.values(), *self.openings.lengths()]
            at = next((number for number, field in enumerate(lengths) if field is focus), -1)
            following: QWidget = lengths[at + 1] if at + 1 < len(lengths) else self.make
            following.setFocus(Qt.FocusReason.TabFocusReason)
            self._scroll.ensureWidgetVisible(following if following is not self.make else self.openings)

    @staticmethod
    def _heading(words: str, parent: QWidget) -> QLabel:
        heading = QLabel(words, parent)
        heading.setObjectName("sectionHeading")
        return heading

    def _shown(self, mm: float) -> str:
        return show_length(mm, "ft_in" if self._unit == "in" else "mm")

    # --- what is chosen and typed ------------------------------------------------------------------------------------

    def _body_changed(self) -> None:
        self._form = typical(self.body.currentData(), self.driver.currentData())
        self._show_ends()
        self._make_fields()

    def _driver_changed(self) -> None:
        """Doors that are typical change sides with the driver; what the tape said stays."""
        self._read()
        form = typical(self._form.body, self.driver.currentData())
        kept = self._form.openings if any(each.known == "measured" for each in self._form.openings) else form.openings
        self._form = replaced(self._form, driver_side=form.driver_side, openings=kept)
        self._make_fields()

    def _show_ends(self) -> None:
        for choice, key in ((self.front, self._form.front), (self.rear, self._form.rear)):
            choice.blockSignals(True)
            choice.setCurrentIndex(choice.findData(key))
            choice.blockSignals(False)

    def _ends_changed(self) -> None:
        """Other ends have other faces for openings; what lay in a face that is gone goes with it."""
        self._read()
        form = replaced(self._form, front=self.front.currentData(), rear=self.rear.currentData())
        gone = {"rear"} if form.rear == "leaves" else {"rear left", "rear right"}
        if form.front == "open":
            gone.add("front")
        self._form = replaced(form, openings=tuple(each for each in form.openings if each.on not in gone))
        self._make_fields()

    def _typed(self, key: str) -> None:
        if self.fields[key].isModified():
            self.fields[key].setModified(False)
            # Typed is measured, also where the tape says what was typical.
            self._form = self._known(key, "measured")
        self._read()

    def _ticked(self, key: str) -> None:
        self._form = self._known(key, "measured" if self.measured[key].isChecked() else "assumed")
        self._read()

    def _known(self, key: str, known: str) -> Measurements:
        return replaced(
            self._form,
            values=tuple(replaced(each, known=known) if each.key == key else each for each in self._form.values),
        )

    def _show_known(self) -> None:
        """Measured and assumed apart: a tick and a word, slant and colour; and how many are still to be measured."""
        for key, tick in self.measured.items():
            known = self._form.known(key)
            tick.setChecked(known == "measured")
            tick.setText(known)
            show_known(self.fields[key], known)
        everything = [each.known for each in self._form.values] + [each.known for each in self._form.openings]
        done = everything.count("measured")
        self.count.setText(f"{done} of {len(everything)} measured, {len(everything) - done} assumed (≈ in the picture)")

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

    def _opening_entered(self, name: str, words: str) -> None:
        self.told.setText(f"{name}: {words}" if name else words)
        self.picture.show_form(self._form, name)
        focus = self.focusWidget()
        if focus is not None:
            self._scroll.ensureWidgetVisible(focus)

    def _read(self) -> bool:
        """Take over what is typed; mistakes are told beside their fields. Whether all of it can be built."""
        form, told = self._form, dict.fromkeys(self.fields, "")
        for key, field in self.fields.items():
            if field.text() == self._shown(form.mm(key)):
                continue
            try:
                value_mm = read_length_mm(field.text(), self._unit)
                # Written otherwise it is still the same length: whether it was measured is told by its tick.
                if value_mm != form.mm(key):
                    form = set_measure(form, key, value_mm)
            except (UnitProblem, LoomwrightError) as problem:
                told[key] = str(problem)
        openings = self.openings.read()
        good = openings is not None
        if openings is not None:
            form = fitted(replaced(form, openings=openings))
            self.openings.follow(form.openings)
        for wrong in problems(form):
            if wrong.key not in told and self.openings.say(wrong.key, wrong.message):
                good = False
                continue
            key = wrong.key if wrong.key in told else next(iter(told))
            told[key] = told[key] or wrong.message
        self._form = form
        for key, label in self.problems.items():
            label.setText(told[key])
            label.setVisible(bool(told[key]))
            # A scrolled form does not ask how high wrapped words are.
            label.setMinimumHeight(label.heightForWidth(PROBLEM_PX) if told[key] else 0)
        self._show_known()
        self.picture.show_form(form, next((key for key, field in self.fields.items() if field.hasFocus()), ""))
        return good and not any(told.values())

    # --- what is made ------------------------------------------------------------------------------------------------

    def _make(self) -> None:
        if not self._read():
            first = next((self.fields[key] for key, label in self.problems.items() if label.text()), None)
            opening = next((row.name for row in self.openings.rows if row.problem.text()), None)
            wrong = first or opening
            if wrong is not None:
                wrong.setFocus()
                self._scroll.ensureWidgetVisible(wrong)
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

    def _ask_print(self) -> None:
        self._read()
        if self._print_sheet is not None:
            self._print_sheet(self, self._form, self.name.text())

    def _make_empty(self) -> None:
        plan = new_plan(self._library, self.name.text(), self.profile.currentData())
        self.accept()
        self._made(plan)
