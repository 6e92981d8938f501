"""Pages to PDF files, true to a hundredth of a millimetre."""

import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

from PySide6.QtCore import QMarginsF, QSizeF
from PySide6.QtGui import QPageLayout, QPageSize, QPainter, QPdfWriter

from app.render.painter import Styles, page_transform, paint
from app.theme import Theme
from core import __version__
from core.errors import FileProblem, Stopped
from core.files.safe_write import write_bytes
from core.pages.marks import Page

#: Dots per inch of the writer: fine enough that nothing is rounded visibly.
RESOLUTION = 1440
PX_PER_MM = RESOLUTION / 25.4


def write_pdf(
    path: Path,
    pages: Sequence[Page],
    theme: Styles,
    title: str = "",
    progress: Callable[[str, int, int], bool] | None = None,
) -> None:
    """Write `pages` as one PDF with embedded fonts. Needs a QGuiApplication; any thread may do it.

    The file is written in place: whoever needs the old file to survive a failure writes beside it and replaces.
    `progress` is told every page and answers whether to stop. Raises FileProblem, Stopped.
    """
    if not pages:
        raise FileProblem("there is nothing to print", str(path), "at least one page")
    try:
        # Qt would only say that it cannot, not why.
        path.open("wb").close()
    except OSError as error:
        raise FileProblem(f"the file cannot be written: {error.strerror}", str(path)) from error
    writer = QPdfWriter(str(path))
    writer.setResolution(RESOLUTION)
    writer.setTitle(title or pages[0].title)
    writer.setCreator(f"Loomwright {__version__}")
    painter = QPainter()
    for number, page in enumerate(pages):
        if progress is not None and progress(f"Page {number + 1} of {len(pages)}", number, len(pages)):
            if painter.isActive():
                painter.end()
            raise Stopped("Saving was stopped.")
        writer.setPageLayout(_layout(page))
        if number == 0:
            if not painter.begin(writer):
                raise FileProblem("cannot be written", str(path), "a folder that may be written to")
        elif not writer.newPage():
            painter.end()
            raise FileProblem("cannot be written to its end", str(path), "enough room on the disk")
        try:
            painter.save()
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setWorldTransform(page_transform(page.height_mm, PX_PER_MM))
            paint(painter, page.marks, theme)
            painter.restore()
        except BaseException:
            # An exception that leaves an open painter behind takes the process with it.
            painter.end()
            raise
    if not painter.end():
        raise FileProblem("cannot be written to its end", str(path), "enough room on the disk")


def save_pdf(
    path: Path, pages: Sequence[Page], title: str, progress: Callable[[str, int, int], bool] | None = None
) -> None:
    """Write the pages; an old file stays whole until the new one is. Raises FileProblem, Stopped."""
    try:
        with tempfile.TemporaryDirectory(prefix="loomwright-") as folder:
            beside = Path(folder) / "paper.pdf"
            write_pdf(beside, pages, Theme("print"), title, progress)
            data = beside.read_bytes()
    except OSError as error:
        raise FileProblem(f"the PDF could not be made: {error.strerror}", tempfile.gettempdir()) from error
    write_bytes(path, data)


def _layout(page: Page) -> QPageLayout:
    """A page of exactly this size without margins: the frame keeps its own."""
    size = QPageSize(QSizeF(page.width_mm, page.height_mm), QPageSize.Unit.Millimeter, "",
                     QPageSize.SizeMatchPolicy.ExactMatch)  # fmt: skip
    layout = QPageLayout(size, QPageLayout.Orientation.Portrait, QMarginsF(0, 0, 0, 0), QPageLayout.Unit.Millimeter)
    layout.setMode(QPageLayout.Mode.FullPageMode)
    return layout
