"""Print and export."""

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFileDialog

from app.commands.action import Action
from app.commands.bench import Bench, today
from app.dialogs.ask import tell_problem
from app.dialogs.files import file_name
from app.dialogs.printing import PrintDialog
from core.errors import FileProblem, LoomwrightError

if TYPE_CHECKING:
    from core.exports.papers import Written


def _no_wires(bench: Bench) -> str:
    return "" if bench.plan.circuits else "There are no circuits yet, so there is nothing to cut."


def print_cut_list(bench: Bench) -> None:
    # The papers are imported when one is wanted: the first window does not wait for them.
    from core.pages.imprint import imprint
    from core.pages.papers import PAPERS

    try:
        analysis = bench.analysis()
        pages = PAPERS["cut-list"](analysis, imprint(analysis.plan, today()))
    except LoomwrightError as problem:
        bench.say(str(problem))
        return
    name = Path(file_name(bench.plan.name)).stem
    folder = bench.session.path.parent if bench.session.path is not None else Path()
    PrintDialog(bench.window, "Cut list", pages, folder / f"{name}-cut-list.pdf", bench.say).open()


def export_papers(bench: Bench) -> None:
    beside = str(bench.session.path.parent) if bench.session.path is not None else ""
    dialog = QFileDialog(bench.window, "Export papers into a folder", beside)
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    dialog.setFileMode(QFileDialog.FileMode.Directory)
    dialog.setOption(QFileDialog.Option.ShowDirsOnly)
    dialog.fileSelected.connect(partial(export_to, bench))
    dialog.open()


def export_to(bench: Bench, folder: str) -> None:
    """All papers into a folder: PDF, CSV, XLSX, SVG and DXF, in the background."""
    from core.exports.papers import write_papers
    from core.pages.papers import PAPERS

    analysis = bench.analysis()
    bench.say("Making the papers…")
    bench.in_background(
        partial(write_papers, analysis, Path(folder), tuple(PAPERS), today()),
        partial(_exported, bench),
        partial(_export_failed, bench),
    )


def _exported(bench: Bench, written: "Written") -> None:
    bench.say(written.without_pdf or f"{len(written.files)} files are in {written.files[0].parent}.")


def _export_failed(bench: Bench, problem: FileProblem) -> None:
    tell_problem(bench.window, "The papers were not written.", problem)


ACTIONS = (
    Action("print-cut-list", "Print cut list…", "Papers", print_cut_list, "Ctrl+P", _no_wires, stages=("papers",)),
    Action("export", "Export papers…", "Papers", export_papers, "Ctrl+E", stages=("papers",)),
)
