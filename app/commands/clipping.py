"""Cut, copy and paste drawn things and devices, between the windows of this program and those of another process."""

from typing import cast

from PySide6.QtCore import QMimeData, QPointF
from PySide6.QtGui import QGuiApplication

from app.commands.action import Action, no_surface, nothing_selected
from app.commands.bench import Bench
from core.edits import records
from core.edits.clipboard import MIME, copy_out, paste
from core.errors import EditRefused
from core.model import Plan, Point


def copy(bench: Bench) -> bool:
    """Whether what is selected is on the clipboard now; a text of its names lies beside it, for other programs."""
    chosen = bench.session.selection
    try:
        data = copy_out(bench.plan, chosen)
    except EditRefused as refusal:
        bench.say(str(refusal))
        return False
    clip = QMimeData()
    clip.setData(MIME, data)
    clip.setText("\n".join(bench.named((each,)) for each in chosen))
    QGuiApplication.clipboard().setMimeData(clip)
    bench.say(f"Copied {bench.named(chosen)}.")
    return True


def cut(bench: Bench) -> None:
    chosen = bench.session.selection
    if copy(bench):
        bench.attempt(f"Cut {bench.named(chosen)}", lambda plan: records.delete(plan, chosen)[0])


def paste_here(bench: Bench) -> None:
    """Where the pointer is over a surface, else in the middle of what is seen, else on the first surface."""
    # none where another program has just let go of it, whatever the stubs say
    held = cast(QMimeData | None, QGuiApplication.clipboard().mimeData())
    data = bytes(held.data(MIME).data()) if held is not None else b""
    if not data:
        bench.say("The clipboard holds nothing of a plan: copy something on a sheet first.")
        return
    surface, at = _spot(bench)
    new: tuple[str, ...] = ()

    def edit(plan: Plan) -> Plan:
        nonlocal new
        plan, new = paste(plan, data, surface, at)
        return plan

    if bench.attempt("Paste", edit):
        bench.session.select(new)


def _spot(bench: Bench) -> tuple[str, Point]:
    view, desk = bench.view, bench.desk
    middle = view.sheet_at(QPointF(view.viewport().rect().center()))
    for at in (view.pointer_mm, middle):
        if at is not None and (found := desk.spot(at)) is not None:
            return found
    laid = next(surface for surface in bench.plan.surfaces if surface.id in desk.layout.laid)
    corners = [corner.at_mm for corner in laid.corners]
    return laid.id, (sum(x for x, _ in corners) / len(corners), sum(y for _, y in corners) / len(corners))


ACTIONS = (
    Action("cut", "Cut", "Edit", cut, "Ctrl+X", nothing_selected, parted=True, on_sheet=1),
    Action("copy", "Copy", "Edit", copy, "Ctrl+C", nothing_selected, on_sheet=1),
    Action("paste", "Paste", "Edit", paste_here, "Ctrl+V", no_surface, on_sheet=1),
)
