"""Look at a paper before it is written as PDF."""

import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QTransform
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFileDialog,
    QHBoxLayout,
    QLabel,
    QScrollArea,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.dialogs.ask import tell_problem
from app.render.painter import paint
from app.render.pdf import write_pdf
from app.theme import Theme
from core.errors import FileProblem
from core.files.safe_write import write_bytes
from core.pages.marks import Page


def save_pdf(path: Path, pages: Sequence[Page], title: str) -> None:
    """Write the pages; an old file stays whole until the new one is. Raises FileProblem."""
    with tempfile.TemporaryDirectory(prefix="loomwright-") as folder:
        beside = Path(folder) / "paper.pdf"
        write_pdf(beside, pages, Theme("print"), title)
        write_bytes(path, beside.read_bytes())


class PageView(QWidget):
    """One page on its sheet of paper, as wide as there is room."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._page: Page | None = None
        self._theme = Theme("print")
        self._scale = 3.0

    def show_page(self, page: Page, scale: float) -> None:
        self._page, self._scale = page, scale
        self.setFixedSize(QSize(round(page.width_mm * scale) + 2, round(page.height_mm * scale) + 2))
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:
        page = self._page
        if page is None:
            return
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.fillRect(self.rect(), QColor("#b9bdbd"))
            painter.fillRect(self.rect().adjusted(1, 1, -1, -1), QColor("#ffffff"))
            flip = QTransform(self._scale, 0, 0, -self._scale, 1, page.height_mm * self._scale + 1)
            painter.setTransform(flip, True)
            paint(painter, page.marks, self._theme)


class PrintDialog(QDialog):
    """Pages to turn, and a button that saves them as PDF."""

    def __init__(
        self, parent: QWidget, title: str, pages: Sequence[Page], suggested: Path, said: Callable[[str], None]
    ) -> None:
        super().__init__(parent)
        self._pages, self._title, self._suggested, self._said = tuple(pages), title, suggested, said
        self._number = 0
        self.setWindowTitle(title)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.resize(1000, 780)
        self._view = PageView()
        area = QScrollArea(self)
        area.setWidget(self._view)
        area.setAlignment(Qt.AlignmentFlag.AlignCenter)
        area.setObjectName("pageArea")
        self._area = area
        self._told = QLabel(self)
        self._told.setAccessibleName("Page shown")
        before, after = QToolButton(self), QToolButton(self)
        before.setText("◀")
        after.setText("▶")
        before.setAccessibleName("Page before")
        after.setAccessibleName("Next page")
        before.clicked.connect(self._before)
        after.clicked.connect(self._after)
        turning = QHBoxLayout()
        turning.addStretch(1)
        for widget in (before, self._told, after):
            turning.addWidget(widget)
        turning.addStretch(1)
        box = QDialogButtonBox(self)
        self.save_button = box.addButton("Save as PDF…", QDialogButtonBox.ButtonRole.AcceptRole)
        close = box.addButton("Close", QDialogButtonBox.ButtonRole.RejectRole)
        self.save_button.setDefault(True)
        self.save_button.clicked.connect(self._ask_where)
        close.clicked.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(14, 14, 14, 14)
        layout.addWidget(area, 1)
        layout.addLayout(turning)
        layout.addWidget(box)
        self._show_page()

    def _before(self) -> None:
        self._number = max(0, self._number - 1)
        self._show_page()

    def _after(self) -> None:
        self._number = min(len(self._pages) - 1, self._number + 1)
        self._show_page()

    def _show_page(self) -> None:
        page = self._pages[self._number]
        room = max(400, self.width() - 60)
        self._view.show_page(page, min(room / page.width_mm, 4.0))
        self._told.setText(f"Page {self._number + 1} of {len(self._pages)}")

    def _ask_where(self) -> None:
        dialog = QFileDialog(self, "Save as PDF", str(self._suggested), "PDF (*.pdf)")
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.setDefaultSuffix("pdf")
        dialog.fileSelected.connect(self._chosen)
        dialog.open()

    def _chosen(self, path: str) -> None:
        self.save_to(Path(path))

    def save_to(self, path: Path) -> None:
        """Write the PDF and close; a failure is told and the dialog stays."""
        try:
            save_pdf(path, self._pages, self._title)
        except FileProblem as problem:
            tell_problem(self, "The PDF was not written.", problem)
            return
        self._said(f"Saved {path.name}.")
        self.accept()
