"""Enter what was pulled and tested, attach photos, close panels; say who sells what."""

from collections.abc import Callable, Sequence
from datetime import date
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFileDialog

from app.commands.action import Action, no_circuit
from app.commands.bench import Bench
from app.dialogs.ask import tell_problem
from app.dialogs.files import FILTER
from core.errors import EditRefused, FileProblem, LoomwrightError
from core.model import Box, Device, EarthPoint, Opening, Panel, Plan, Point

if TYPE_CHECKING:
    from app.dialogs.as_built.dialog import PageName
    from core.analysis.analysis import Analysis


def show_as_built(bench: Bench, page: "PageName" = "pulled") -> None:
    # Imported when it is asked for: the first window does not wait for it.
    from app.dialogs.as_built.dialog import AsBuiltDialog
    from app.dialogs.as_built.work import Work

    try:
        bench.analysis()
    except LoomwrightError as problem:
        bench.say(str(problem))
        return
    work = Work(
        analysis=bench.analysis,
        change=partial(_change, bench),
        place=partial(place_of_selection, bench),
        selected=bench.session.selection,
        today=date.today().isoformat(),  # noqa: DTZ011 (the day on this desk)
        other_jobs=partial(_ask_for_jobs, bench),
    )
    AsBuiltDialog(bench.window, work, page).open()


def _change(bench: Bench, label: str, edit: Callable[[Plan], Plan]) -> str:
    """Commit an edit; why it cannot be, or ""."""
    try:
        plan = edit(bench.plan)
    except EditRefused as refusal:
        return str(refusal)
    if plan is not bench.plan:
        bench.session.commit(label, plan)
    return ""


def place_of_selection(bench: Bench) -> tuple[str, Point] | None:
    """Surface and point of the first selected thing that has a place: device, node, channel, panel or box."""
    analysis, plan = bench.analysis(), bench.plan
    for chosen in bench.session.selection:
        place = _point_of(plan, chosen)
        if place is not None:
            return place
        spot = analysis.node_spots.get(chosen)
        if spot is not None and spot.spots:
            return spot.spots[0]
        path = analysis.paths.get(chosen)
        if path is not None and path.surface is not None and path.local_mm:
            return path.surface, path.local_mm[len(path.local_mm) // 2]
    return None


def _point_of(plan: Plan, record_id: str) -> tuple[str, Point] | None:
    """The place of a device or earth point, the middle of an area."""
    pointed: tuple[Device | EarthPoint, ...] = (*plan.devices, *plan.earth_points)
    for thing in pointed:
        if thing.id == record_id and thing.surface is not None:
            return thing.surface, thing.at_mm
    outlined: tuple[Panel | Box | Opening, ...] = (*plan.panels, *plan.boxes, *plan.openings)
    for area in outlined:
        if area.id == record_id and area.outline:
            xs, ys = zip(*area.outline, strict=True)
            return area.surface, ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
    return None


def _ask_for_jobs(bench: Bench, answer: Callable[[Sequence["Analysis"]], None]) -> None:
    """Other plans to learn from; none is a good answer too: then only this one counts."""
    dialog = QFileDialog(bench.window, "Finished jobs to learn from, besides this one", "", FILTER)
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    dialog.setFileMode(QFileDialog.FileMode.ExistingFiles)
    dialog.filesSelected.connect(lambda paths: answer(_jobs(bench, paths)))
    dialog.rejected.connect(lambda: answer(()))
    dialog.open()


def _jobs(bench: Bench, paths: Sequence[str]) -> list["Analysis"]:
    from core.analysis.engine import analyse
    from core.files.codec import read_plan

    found = []
    for path in paths:
        if bench.session.path is not None and Path(path) == bench.session.path:
            continue
        try:
            found.append(analyse(read_plan(Path(path)), bench.library))
        except FileProblem as problem:
            tell_problem(bench.window, "This plan cannot be learnt from.", problem)
        except LoomwrightError as problem:
            bench.say(str(problem))
    return found


def show_shopping(bench: Bench) -> None:
    from app.dialogs.shopping import ShoppingDialog

    ShoppingDialog(bench.window, bench.analysis, partial(_change, bench)).open()


def _no_panels(bench: Bench) -> str:
    return "" if bench.plan.panels else "There are no panels; draw them in the stage Fit-out."


ACTIONS = (
    Action("as-pulled", "As pulled…", "Papers", show_as_built, "Ctrl+Shift+E", no_circuit, parted=True,
           stages=("papers",)),
    Action("tests", "Tests…", "Papers", partial(show_as_built, page="tests"), "", no_circuit,
           stages=("papers",)),
    Action("photos", "Photos…", "Papers", partial(show_as_built, page="photos"), "", stages=("papers",)),
    Action("close-panels", "Close panels…", "Papers", partial(show_as_built, page="closing"), "", _no_panels,
           stages=("papers",)),
    Action("suppliers", "Suppliers…", "Papers", show_shopping, "", no_circuit, parted=True, stages=("papers",)),
)  # fmt: skip
