"""Look at the papers, print them, export them all."""

from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFileDialog

from app.commands.action import Action
from app.commands.bench import Bench, today
from app.dialogs.ask import tell, tell_problem
from app.dialogs.files import file_name
from app.dialogs.working import WorkingDialog
from core.errors import FileProblem, LoomwrightError, Stopped

if TYPE_CHECKING:
    from core.analysis.analysis import Analysis
    from core.exports.papers import Written
    from core.pages.paper import Choices

#: How papers are called in the settings, and on the papers.
PAPER_WORDS: Mapping[str, Any] = {"A4": "A4", "A3": "A3", "letter": "Letter", "tabloid": "Tabloid"}
PROOF = "proof-of-chosen"


def _no_wires(bench: Bench) -> str:
    return "" if bench.plan.circuits else "There are no circuits yet, so there is nothing to cut."


def show_papers(bench: Bench) -> None:
    _open_desk(bench, "cut-list")


def show_proof(bench: Bench) -> None:
    """The proof of the wires that are chosen: of a circuit, in a channel, at a device."""
    analysis = _analysis(bench)
    if analysis is None:
        return
    wires = chosen_wires(analysis, bench.session.selection)
    if not wires:
        bench.say("Select a circuit, a channel or a device with wires first.")
        return
    _open_desk(bench, PROOF, wires)


def chosen_wires(analysis: "Analysis", selection: tuple[str, ...]) -> tuple[str, ...]:
    """The wires that a selection means, in the order of the plan."""
    asked = set(selection)
    in_channels = {wire for channel in asked if channel in analysis.bundles for wire in analysis.bundles[channel].wires}
    return tuple(
        wire.id
        for wire in analysis.wires.values()
        if wire.id in asked | in_channels or asked & {wire.circuit, wire.from_.device, wire.to.device}
    )


def _analysis(bench: Bench) -> "Analysis | None":
    try:
        return bench.analysis()
    except LoomwrightError as problem:
        bench.say(str(problem))
        return None


def _open_desk(bench: Bench, name: str, wires: tuple[str, ...] = ()) -> None:
    # The papers are imported when one is wanted: the first window does not wait for them.
    from app.dialogs.paper_desk import Desk, PaperDesk
    from core.pages.imprint import imprint
    from core.pages.paper import Choices
    from core.pages.papers import ABOUT, About
    from core.pages.proof import wire_proof_pages

    analysis = _analysis(bench)
    if analysis is None:
        return
    papers: dict[str, About] = dict(ABOUT)
    if wires:
        words = wires[0] if len(wires) == 1 else f"{len(wires)} wires"
        chosen = About(
            title=f"Proof of {words}", what_for="each rule with its numbers and source", group="What is selected",
            build=lambda analysis, about: wire_proof_pages(analysis, about, wires),
        )  # fmt: skip
        papers = {PROOF: chosen, **ABOUT}
    about = imprint(analysis.plan, today())
    stem = Path(file_name(bench.plan.name)).stem
    folder = bench.session.path.parent if bench.session.path is not None else Path()
    desk = Desk(
        papers=papers,
        make=lambda paper, choices: papers[paper].build(analysis, replace(about, choices=choices)),
        run=bench.in_background,
        suggested=lambda paper: folder / f"{stem}-{paper}.pdf",
        said=bench.say,
        export=partial(export_papers, bench),
        chosen=partial(_remember, bench),
    )
    choices = Choices(paper=PAPER_WORDS[bench.settings.paper])
    PaperDesk(bench.window, desk, choices, name).open()


def _remember(bench: Bench, choices: "Choices") -> None:
    """The usual paper is kept from one start to the next."""
    paper = next(key for key, words in PAPER_WORDS.items() if words == choices.paper)
    if paper != bench.settings.paper:
        bench.change_settings(paper=paper)


# --- all papers ------------------------------------------------------------------------------------------------------


def export_papers(bench: Bench, choices: "Choices | None" = None) -> None:
    beside = str(bench.session.path.parent) if bench.session.path is not None else ""
    dialog = QFileDialog(bench.window, "Export papers into a folder", beside)
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    dialog.setFileMode(QFileDialog.FileMode.Directory)
    dialog.setOption(QFileDialog.Option.ShowDirsOnly)
    dialog.fileSelected.connect(lambda folder: export_to(bench, folder, choices))
    dialog.open()


def export_to(bench: Bench, folder: str, choices: "Choices | None" = None) -> WorkingDialog | None:
    """All papers into a folder: PDF, CSV, XLSX, SVG and DXF, beside the window. It can be stopped; then nothing is
    written."""
    from core.pages.paper import Choices

    analysis = _analysis(bench)
    if analysis is None:
        return None
    working = WorkingDialog(bench.window, "Export papers", f"Making all papers for {Path(folder).name}")
    asked = choices or Choices(paper=PAPER_WORDS[bench.settings.paper])
    bench.in_background(
        partial(_write, analysis, Path(folder), asked, working),
        partial(_exported, bench, working),
        partial(_export_failed, bench, working),
    )
    working.open()
    return working


def _write(analysis: "Analysis", folder: Path, choices: "Choices", working: WorkingDialog) -> "Written | str":
    """What was written, or why nothing was; on a thread of its own."""
    from core.exports.papers import write_papers
    from core.pages.papers import PAPERS

    try:
        return write_papers(analysis, folder, tuple(PAPERS), today(), choices, working.progress.tell)
    except Stopped as stopped:
        return str(stopped)


def _exported(bench: Bench, working: WorkingDialog, written: "Written | str") -> None:
    working.over()
    if isinstance(written, str):
        bench.say(written)
        return
    bench.say(f"{len(written.files)} files are in {written.files[0].parent}.")
    if written.without_pdf:
        tell(bench.window, "Export papers", "No PDFs were made.", written.without_pdf)


def _export_failed(bench: Bench, working: WorkingDialog, problem: FileProblem) -> None:
    working.over()
    tell_problem(bench.window, "The papers were not written.", problem)


ACTIONS = (
    Action("papers", "Papers: preview and print…", "Papers", show_papers, "Ctrl+P", _no_wires, stages=("papers",)),
    Action("export", "Export papers…", "Papers", export_papers, "Ctrl+E", stages=("papers",)),
    Action("proof", "Proof of what is selected…", "Papers", show_proof, "Ctrl+Shift+P", _no_wires, on_sheet=1),
)
