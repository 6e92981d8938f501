"""What must be known of a file before it lies under the sheet: page and scale of a PDF, the unit of a drawing."""

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QFormLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from app.choice import Choice
from core.files.underlays import DxfDrawing, PdfPage
from core.text import mm

#: Units a drawing may be drawn in that says nothing of it, and their millimetres.
UNITS: tuple[tuple[str, float], ...] = (
    ("millimetres", 1.0),
    ("centimetres", 10.0),
    ("metres", 1_000.0),
    ("inches", 25.4),
    ("feet", 304.8),
)
LARGEST_SCALE = 1_000.0


class _Asking(QDialog):
    def __init__(self, parent: QWidget, title: str, told: str) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setMinimumWidth(420)
        words = QLabel(told, self)
        words.setWordWrap(True)
        words.setTextFormat(Qt.TextFormat.PlainText)
        self.form = QFormLayout()
        self.form.setHorizontalSpacing(14)
        self.problem = QLabel(self)
        self.problem.setObjectName("fieldProblem")
        self.problem.setWordWrap(True)
        self.problem.hide()
        box = QDialogButtonBox(self)
        self.place = box.addButton("Place it", QDialogButtonBox.ButtonRole.AcceptRole)
        box.addButton("Not now", QDialogButtonBox.ButtonRole.RejectRole).clicked.connect(self.reject)
        self.place.setDefault(True)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(22, 18, 22, 16)
        layout.setSpacing(12)
        layout.addWidget(words)
        layout.addLayout(self.form)
        layout.addWidget(self.problem)
        layout.addWidget(box)

    def say(self, sentence: str) -> None:
        self.problem.setText(sentence)
        self.problem.setVisible(bool(sentence))


class PdfDialog(_Asking):
    """Which page, and how many times smaller than the vehicle it is drawn. `chosen(page, scale)`."""

    def __init__(
        self, parent: QWidget, name: str, pages: Sequence[PdfPage], chosen: Callable[[int, float], object]
    ) -> None:
        super().__init__(parent, "Place a page", f"{name} has {len(pages)} page{'s' if len(pages) != 1 else ''}.")
        self._chosen = chosen
        self.page, self.scale = Choice(self), QLineEdit("20", self)
        for number, page in enumerate(pages, start=1):
            self.page.addItem(f"Page {number}: {mm(page.width_mm)} × {mm(page.height_mm)} mm", number - 1)
        self.page.setAccessibleName("Page")
        self.scale.setAccessibleName("Scale, 1 to")
        self.scale.setToolTip("20 for a drawing at 1:20. Where you do not know it, scale it afterwards by two points.")
        self.form.addRow("Page", self.page)
        self.form.addRow("Drawn at 1 :", self.scale)
        self.place.clicked.connect(self._done)

    def _done(self) -> None:
        try:
            scale = float(self.scale.text().replace(",", ".").removeprefix("1:").strip())
        except ValueError:
            scale = 0.0
        if not 0.001 <= scale <= LARGEST_SCALE:
            self.say(f"The scale is a number up to {LARGEST_SCALE:g}: 20 for a drawing at 1:20.")
            self.scale.setFocus()
            return
        self.accept()
        self._chosen(int(self.page.currentData()), scale)


class DxfDialog(_Asking):
    """The unit of a drawing that names none. `chosen(mm)` with the millimetres of one of its units."""

    def __init__(self, parent: QWidget, name: str, drawing: DxfDrawing, chosen: Callable[[float], object]) -> None:
        (left, low), (right, high) = drawing.size_mm
        wide, tall = right - left, high - low
        super().__init__(
            parent,
            "Place a drawing",
            f"{name} does not say in which unit it is drawn. Choose the one with a true size.",
        )
        self._chosen = chosen
        self.unit = Choice(self)
        for words, size_mm in UNITS:
            self.unit.addItem(f"{words}: {mm(wide * size_mm)} × {mm(tall * size_mm)} mm", size_mm)
        self.unit.setAccessibleName("Unit of the drawing")
        self.form.addRow("Drawn in", self.unit)
        self.place.clicked.connect(self._done)

    def _done(self) -> None:
        self.accept()
        self._chosen(float(self.unit.currentData()))
