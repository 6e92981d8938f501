"""Doors, windows and roof openings in the form of a new vehicle: each with where it is and four lengths of the tape."""

from collections.abc import Sequence
from functools import partial
from typing import Any, get_args

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.choice import Choice
from core.edits.change import changed, refuse, replaced
from core.edits.measurements import ON_WORDS, OPENING_HELP, Measurements, On, OpeningKind, WallOpening
from core.errors import LoomwrightError
from core.pages.measuring_picture import letters
from core.units import LengthUnit, UnitProblem, read_length_mm, show_length

#: Words for what an opening is.
KIND_WORDS: dict[OpeningKind, str] = {
    "window": "window",
    "door": "door",
    "hatch": "hatch",
    "roof_fan": "roof fan",
    "vent": "vent",
    "other": "other",
}
LENGTHS: tuple[tuple[str, str], ...] = (
    ("from_mm", "from"),
    ("up_mm", "up"),
    ("width_mm", "width"),
    ("height_mm", "height"),
)
#: What a new row begins with; it is typical of nothing, so it is to be typed over.
FRESH: dict[str, Any] = {"from_mm": 300.0, "up_mm": 800.0, "width_mm": 600.0, "height_mm": 400.0}


class OpeningRow(QFrame):
    """One opening. `edited` when a value was typed, `removed` when it is to go, `entered` when it has the keyboard."""

    edited = Signal()
    removed = Signal()
    entered = Signal()

    def __init__(self, opening: WallOpening, letter: str, on: Sequence[On], unit: LengthUnit, parent: QWidget) -> None:
        super().__init__(parent)
        self.setObjectName("openingRow")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self._opening, self._unit = opening, unit
        self.name = QLineEdit(opening.name, self)
        self.name.setAccessibleName(f"Opening {letter}, name")
        self.kind, self.on = Choice(self), Choice(self)
        self.kind.setAccessibleName(f"Opening {letter}, what it is")
        self.on.setAccessibleName(f"Opening {letter}, where it is")
        for key, words in KIND_WORDS.items():
            self.kind.addItem(words, key)
        for face in on:
            self.on.addItem(ON_WORDS[face], face)
        if opening.on not in on:
            self.on.addItem(ON_WORDS[opening.on], opening.on)
        self.kind.setCurrentIndex(self.kind.findData(opening.kind))
        self.on.setCurrentIndex(self.on.findData(opening.on))
        self.measured = QCheckBox(self)
        self.measured.setChecked(opening.known == "measured")
        self.measured.setAccessibleName(f"Opening {letter} is measured")
        self.remove = QPushButton("Remove", self)
        self.remove.setAutoDefault(False)
        self.remove.setAccessibleName(f"Remove opening {letter}")
        self.lengths: dict[str, QLineEdit] = {}
        self.problem = QLabel(self)
        self.problem.setObjectName("fieldProblem")
        self.problem.setWordWrap(True)
        self.problem.hide()
        self._lay_out(letter)
        self._show_known()
        self.name.editingFinished.connect(self.edited)
        self.kind.currentIndexChanged.connect(self.edited)
        self.on.currentIndexChanged.connect(self._moved)
        self.measured.clicked.connect(self._ticked)
        self.remove.clicked.connect(self.removed)
        for widget in (self.name, self.kind, self.on, *self.lengths.values()):
            widget.installEventFilter(self)

    def _lay_out(self, letter: str) -> None:
        grid = QGridLayout(self)
        grid.setContentsMargins(10, 8, 10, 8)
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(6)
        head = QLabel(letter, self)
        head.setObjectName("factsGroup")
        grid.addWidget(head, 0, 0)
        grid.addWidget(self.name, 0, 1, 1, 3)
        grid.addWidget(self.remove, 0, 4)
        grid.addWidget(self.kind, 1, 1, 1, 2)
        grid.addWidget(self.on, 1, 3, 1, 2)
        for column, (key, words) in enumerate(LENGTHS, start=1):
            box = QVBoxLayout()
            box.setSpacing(1)
            label = QLabel(words, self)
            label.setObjectName("fieldLabel")
            field = QLineEdit(self._shown(getattr(self._opening, key)), self)
            field.setAccessibleName(f"Opening {letter}, {words}")
            field.setMinimumWidth(60)
            field.editingFinished.connect(partial(self._typed, field))
            box.addWidget(label)
            box.addWidget(field)
            grid.addLayout(box, 2, column)
            self.lengths[key] = field
        grid.addWidget(self.measured, 3, 1, 1, 4)
        grid.addWidget(self.problem, 4, 0, 1, 5)
        self._explain()

    def _shown(self, mm: float) -> str:
        return show_length(mm, "ft_in" if self._unit == "in" else "mm")

    @property
    def where(self) -> tuple[str, str]:
        """From where its distances are measured: along, and up."""
        return OPENING_HELP[self.on.currentData()]

    def _explain(self) -> None:
        along, up = self.where
        for key, told in (("from_mm", along), ("up_mm", up)):
            self.lengths[key].setToolTip(told)
            self.lengths[key].setAccessibleDescription(told)

    def _moved(self) -> None:
        self._explain()
        self.edited.emit()

    def _typed(self, field: QLineEdit) -> None:
        if field.isModified():
            field.setModified(False)
            self.measured.setChecked(True)
            self._show_known()
        self.edited.emit()

    def _ticked(self) -> None:
        self._show_known()
        self.edited.emit()

    def _show_known(self) -> None:
        known = "measured" if self.measured.isChecked() else "assumed"
        self.measured.setText("measured" if known == "measured" else "assumed; tick what you have measured")
        for field in self.lengths.values():
            show_known(field, known)

    def in_order(self) -> tuple[QWidget, ...]:
        """What the keyboard goes through: what it is and where, its lengths, and what is wanted seldom."""
        return (self.name, self.kind, self.on, *self.lengths.values(), self.measured, self.remove)

    def read(self) -> WallOpening:
        """The opening as it stands here. Raises UnitProblem or EditRefused, naming the field."""
        sizes = {}
        for key, words in LENGTHS:
            text = self.lengths[key].text()
            now = getattr(self._opening, key)
            try:
                sizes[key] = now if text == self._shown(now) else read_length_mm(text, self._unit)
            except UnitProblem as problem:
                raise UnitProblem(f"{words.capitalize()}: {problem}") from None
        name = self.name.text().strip()
        if not name:
            refuse("An opening needs a name, to be found on the sheet.")
        known = "measured" if self.measured.isChecked() else "assumed"
        return changed(
            self._opening, name=name, kind=self.kind.currentData(), on=self.on.currentData(), known=known, **sizes
        )

    def read_or_before(self) -> WallOpening:
        """As it stands here, or as it was where that cannot be."""
        try:
            return self.read()
        except (UnitProblem, LoomwrightError):
            return self._opening

    def follow(self, opening: WallOpening) -> None:
        """Show an opening that was made to fit; what a person is typing stays."""
        self._opening = opening
        for key, field in self.lengths.items():
            if not field.isModified():
                field.setText(self._shown(getattr(opening, key)))

    def say(self, sentence: str) -> None:
        self.problem.setText(sentence)
        self.problem.setVisible(bool(sentence))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.FocusIn:
            self.entered.emit()
        return super().eventFilter(watched, event)


class OpeningRows(QWidget):
    """All openings of the form, and a button for one more."""

    #: Something was typed, added or taken off.
    edited = Signal()
    #: The rows are other ones than before.
    filled = Signal()
    #: The opening with the keyboard: its name, and what to measure, in words.
    entered = Signal(str, str)

    def __init__(self, form: Measurements, unit: LengthUnit, parent: QWidget) -> None:
        super().__init__(parent)
        self._form, self._unit = form, unit
        self._on = faces_of(form)
        self.rows: list[OpeningRow] = []
        self._box = QVBoxLayout(self)
        self._box.setContentsMargins(0, 0, 0, 0)
        self._box.setSpacing(8)
        self.add = QPushButton("Add an opening", self)
        self.add.setAutoDefault(False)
        self.add.clicked.connect(self._add)
        buttons = QHBoxLayout()
        buttons.addWidget(self.add)
        buttons.addStretch(1)
        self._box.addLayout(buttons)
        self._fill(form.openings, letters(form))

    def _fill(self, openings: Sequence[WallOpening], named: Sequence[str]) -> None:
        for row in self.rows:
            row.hide()
            row.deleteLater()
        self.rows = []
        for opening, letter in zip(openings, named, strict=True):
            row = OpeningRow(opening, letter, self._on, self._unit, self)
            row.edited.connect(self.edited)
            row.removed.connect(partial(self._remove, row))
            row.entered.connect(partial(self._entered, row))
            self._box.insertWidget(len(self.rows), row)
            row.show()
            self.rows.append(row)
        self.filled.emit()

    def in_order(self) -> tuple[QWidget, ...]:
        """What the keyboard goes through, in order."""
        return (*(widget for row in self.rows for widget in row.in_order()), self.add)

    def lengths(self) -> tuple[QLineEdit, ...]:
        """The fields for lengths of all openings, in order."""
        return tuple(field for row in self.rows for field in row.lengths.values())

    def read(self) -> tuple[WallOpening, ...] | None:
        """All openings; None where one cannot be read, which is told at its row."""
        found: list[WallOpening] = []
        for row in self.rows:
            try:
                found.append(row.read())
                row.say("")
            except (UnitProblem, LoomwrightError) as problem:
                row.say(str(problem))
        return tuple(found) if len(found) == len(self.rows) else None

    def follow(self, openings: Sequence[WallOpening]) -> None:
        """Show what became of assumed openings as the body was measured."""
        for row, opening in zip(self.rows, openings, strict=True):
            if opening.known == "assumed":
                row.follow(opening)

    def say(self, name: str, sentence: str) -> bool:
        """Tell a sentence at the opening of this name; whether there is one."""
        row = next((row for row in self.rows if row.name.text().strip() == name), None)
        if row is not None:
            row.say(sentence)
        return row is not None

    def _entered(self, row: OpeningRow) -> None:
        along, up = row.where
        self.entered.emit(row.name.text().strip(), f"“From” is measured {along}; “up” {up}.")

    def _add(self) -> None:
        found = [row.read_or_before() for row in self.rows]
        number = 1
        while any(each.name == f"Window {number}" for each in found):
            number += 1
        found.append(changed(WallOpening(name=f"Window {number}", on=self._on[0], **FRESH)))
        self._show(found)
        self.rows[-1].name.setFocus()
        self.rows[-1].name.selectAll()

    def _remove(self, row: OpeningRow) -> None:
        number = self.rows.index(row)
        self._show([each.read_or_before() for each in self.rows if each is not row])
        (self.rows[min(number, len(self.rows) - 1)].name if self.rows else self.add).setFocus()

    def _show(self, openings: list[WallOpening]) -> None:
        self._form = replaced(self._form, openings=tuple(openings))
        self._fill(openings, letters(self._form))
        self.edited.emit()


def faces_of(form: Measurements) -> tuple[On, ...]:
    """Where an opening of this body can be."""
    rear: tuple[On, ...] = ("rear left", "rear right") if form.rear == "leaves" else ("rear",)
    front: tuple[On, ...] = () if form.front == "open" else ("front",)
    known = get_args(On)
    return tuple(face for face in ("left", "right", "roof", *front, *rear) if face in known)


def show_known(field: QLineEdit, known: str) -> None:
    """Assumed values look otherwise than measured ones: grey and slanted, beside the word that says so."""
    field.setProperty("known", known)
    font = field.font()
    font.setItalic(known == "assumed")
    field.setFont(font)
    field.style().polish(field)
