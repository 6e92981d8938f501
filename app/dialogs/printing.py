"""Print pages: ask for the printer, send them one by one, say what hindered it."""

import sys
from collections.abc import Callable, Sequence

from PySide6.QtCore import QObject, Qt
from PySide6.QtPrintSupport import QAbstractPrintDialog, QPrintDialog, QPrinter
from PySide6.QtWidgets import QWidget

from app.dialogs.ask import tell
from app.dialogs.working import WorkingDialog
from app.render.printer import NO_PRINTER, PagePrinter, printers, too_large
from app.theme import Theme
from core.pages.marks import Page

HEAD = "Print"


class Printing(QObject):
    """One paper on its way to a printer; `shown` is the page in view, for who wants only that. Lives as long as the
    dialog it belongs to."""

    def __init__(
        self, parent: QWidget, title: str, pages: Sequence[Page], shown: int, said: Callable[[str], object]
    ) -> None:
        super().__init__(parent)
        self._window, self._title, self._pages, self._shown = parent, title, tuple(pages), shown
        self._said = said

    def ask(self) -> None:
        """Which printer, which pages; a sentence where there is no printer."""
        if not printers():
            tell(self._window, HEAD, "There is no printer.", NO_PRINTER)
            return
        self._printer = QPrinter(QPrinter.PrinterMode.HighResolution)
        self._printer.setDocName(self._title)
        dialog = QPrintDialog(self._printer, self._window)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.setOption(QAbstractPrintDialog.PrintDialogOption.PrintPageRange)
        dialog.setOption(QAbstractPrintDialog.PrintDialogOption.PrintCurrentPage)
        dialog.setMinMax(1, len(self._pages))
        dialog.accepted.connect(self._chosen)
        if sys.platform == "win32":
            dialog.exec()  # the system's own dialog, which waits by itself
        else:
            dialog.setWindowModality(Qt.WindowModality.WindowModal)
            dialog.show()

    def _chosen(self) -> None:
        self.print_on(self._printer)

    def print_on(self, printer: QPrinter) -> None:
        """Print the pages that were chosen; what hinders it is told."""
        self._printer = printer
        pages = self._asked_for(printer)
        info = next((info for info in printers() if info.printerName() == printer.printerName()), None)
        large = too_large(pages, info.supportedPageSizes() if info is not None else ())
        if large:
            which = f"Page {large[0]} is" if len(large) == 1 else f"{len(large)} pages, from page {large[0]} on, are"
            tell(
                self._window, HEAD, "The printer has no paper as large as that.",
                f"{which} larger than any paper of {printer.printerName()}. Choose a smaller paper here, the plan in "
                "tiles, or save it as PDF for a larger printer. Nothing was printed.",
            )  # fmt: skip
            return
        self._count = len(pages)
        self._working = WorkingDialog(self._window, HEAD, f"Printing “{self._title}”")
        self._job = PagePrinter(printer, pages, Theme("print"), self)
        self._working.stop_button.clicked.connect(self._job.stop)
        self._working.rejected.connect(self._job.stop)
        self._job.printed.connect(self._printed)
        self._job.finished.connect(self._finished)
        self._working.open()
        self._job.start()

    def _asked_for(self, printer: QPrinter) -> tuple[Page, ...]:
        match printer.printRange():
            case QPrinter.PrintRange.PageRange:
                return self._pages[max(0, printer.fromPage() - 1) : printer.toPage() or None] or self._pages
            case QPrinter.PrintRange.CurrentPage:
                return self._pages[self._shown : self._shown + 1]
        return self._pages

    def _printed(self, done: int, of: int) -> None:
        if self._working.progress.tell(f"Page {done} of {of}", done, of):
            self._job.stop()

    def _finished(self, problem: str) -> None:
        self._working.over()
        self._job.deleteLater()
        if problem:
            tell(self._window, HEAD, "The paper was not printed whole.", problem)
            return
        to = self._printer.printerName() or self._printer.outputFileName()
        self._said(f"{self._count} page{'s' if self._count > 1 else ''} sent to {to}.")
