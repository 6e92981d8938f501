"""Pages to a printer, true to size, one after the other without holding up the window."""

from collections.abc import Sequence

from PySide6.QtCore import QMarginsF, QObject, QSizeF, QTimer, Signal
from PySide6.QtGui import QPageLayout, QPageSize, QPainter
from PySide6.QtPrintSupport import QPrinter, QPrinterInfo

from app.render.painter import Styles, page_transform, paint
from core.pages.marks import Page

#: What a page may be larger than the printer's paper: sizes are told in whole points.
SLACK_MM = 1.0
MM_PER_IN = 25.4
NO_PRINTER = "This computer has no printer. Save the paper as PDF, and print that where there is one."


def printers() -> list[QPrinterInfo]:
    """The printers of this computer."""
    return [info for info in QPrinterInfo.availablePrinters() if not info.isNull()]


def page_layout(page: Page) -> QPageLayout:
    """The printer's word for the page's paper, upright or across, with no margins: the frame keeps its own."""
    short, long = sorted((page.width_mm, page.height_mm))
    size = QPageSize(QSizeF(short, long), QPageSize.Unit.Millimeter, "", QPageSize.SizeMatchPolicy.FuzzyMatch)
    across = page.width_mm > page.height_mm
    orientation = QPageLayout.Orientation.Landscape if across else QPageLayout.Orientation.Portrait
    layout = QPageLayout(size, orientation, QMarginsF(0, 0, 0, 0), QPageLayout.Unit.Millimeter)
    layout.setMode(QPageLayout.Mode.FullPageMode)
    return layout


def too_large(pages: Sequence[Page], sizes: Sequence[QPageSize]) -> list[int]:
    """Numbers (from 1) of the pages that no paper of the printer takes; none where the printer does not tell."""
    papers = [size.size(QPageSize.Unit.Millimeter) for size in sizes]
    if not papers:
        return []
    found = []
    for number, page in enumerate(pages, start=1):
        short, long = sorted((page.width_mm, page.height_mm))
        if not any(
            min(paper.width(), paper.height()) + SLACK_MM >= short
            and max(paper.width(), paper.height()) + SLACK_MM >= long
            for paper in papers
        ):
            found.append(number)
    return found


class PagePrinter(QObject):
    """Prints a page a turn of the event loop. `finished` says what hindered it, "" for nothing.

    The painter works at the printer's own resolution: a millimetre of a page is a millimetre on paper.
    """

    printed = Signal(int, int)
    finished = Signal(str)

    def __init__(self, printer: QPrinter, pages: Sequence[Page], theme: Styles, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._printer, self._pages, self._theme = printer, tuple(pages), theme
        self._painter = QPainter()
        self._next = 0
        self._stopped = False

    def start(self) -> None:
        self._printer.setFullPage(True)
        self._printer.setPageLayout(page_layout(self._pages[0]))
        if not self._painter.begin(self._printer):
            self._end(f"The printer {self._printer.printerName() or 'that was chosen'} cannot be reached.")
            return
        QTimer.singleShot(0, self, self._page)

    def stop(self) -> None:
        """No further page; what the printer has got already it prints."""
        self._stopped = True

    def _page(self) -> None:
        if self._stopped:
            self._printer.abort()
            self._end(f"Printing was stopped after {self._next} of {len(self._pages)} pages.")
            return
        page = self._pages[self._next]
        if self._next:
            self._printer.setPageLayout(page_layout(page))
            if not self._printer.newPage():
                self._end(f"The printer gave up after page {self._next} of {len(self._pages)}.")
                return
        painter = self._painter
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setWorldTransform(page_transform(page.height_mm, self._printer.resolution() / MM_PER_IN))
        paint(painter, page.marks, self._theme)
        painter.restore()
        self._next += 1
        self.printed.emit(self._next, len(self._pages))
        if self._next < len(self._pages):
            QTimer.singleShot(0, self, self._page)
        else:
            self._end("")

    def _end(self, told: str) -> None:
        if self._painter.isActive() and not self._painter.end() and not told:
            told = "The printer did not take the last page."
        self.finished.emit(told)
