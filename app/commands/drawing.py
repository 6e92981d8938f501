"""What is done to surfaces and drawn things at once, without a tool in hand; and the way from pane to pane by keys."""

from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDockWidget, QWidget

from app.commands.action import Action
from app.commands.bench import Bench
from core.edits.dimensions import OUTLINED, detach, dimensions_of_box
from core.edits.faces import raise_faces_and_top
from core.edits.surfaces import place_apart
from core.geometry.foldout import lay_out
from core.model import Plan, find

#: What the action that holds lines level and upright sets; L steps on from there.
LEVEL_DEG = 90.0
#: A surface laid apart comes to lie so far below the sheet.
BELOW_MM = 400.0


def _no_box(bench: Bench) -> str:
    boxes = [find(bench.plan, "boxes", each) for each in bench.selected("boxes")]
    if not boxes:
        return "Select a cabinet, wheel arch or another box first."
    return "" if any(not box.faces for box in boxes) else "The faces of what is selected are raised already."


def raise_faces(bench: Bench) -> None:
    """The upright sides and the top of each selected box as surfaces apart."""
    chosen = [each for each in bench.selected("boxes") if not find(bench.plan, "boxes", each).faces]
    new: list[str] = []

    def edit(plan: Plan) -> Plan:
        for each in chosen:
            plan, faces = raise_faces_and_top(plan, each)
            new.extend(faces)
        return plan

    if bench.attempt(f"Raise faces of {bench.named(chosen)}", edit):
        bench.session.select(new)
        bench.view.zoom_to_selection()


def _folded(bench: Bench, apart: bool) -> list[str]:
    surfaces = [find(bench.plan, "surfaces", each) for each in bench.selected("surfaces")]
    return [each.id for each in surfaces if each.fold is not None and (each.apart is not None) is apart]


def _none_folded(bench: Bench) -> str:
    return "" if _folded(bench, apart=False) else "Select a surface that lies at its fold first."


def _none_apart(bench: Bench) -> str:
    return "" if _folded(bench, apart=True) else "Select a surface that lies apart first."


def lay_apart(bench: Bench) -> None:
    """Selected surfaces beside each other below the sheet, as they are turned now; they can be dragged from there."""
    chosen = _folded(bench, apart=False)

    def edit(plan: Plan) -> Plan:
        layout = lay_out(plan.surfaces)
        corners = {each.surface: _corners(plan, each.surface) for each in layout.laid.values()}
        left = min(x for points in corners.values() for x, _ in points)
        low = min(y for points in corners.values() for _, y in points) - BELOW_MM
        for surface in chosen:
            place, points = layout.place(surface), corners[surface]
            x0, y1 = min(x for x, _ in points), max(y for _, y in points)
            plan = place_apart(plan, surface, (place.x_mm + left - x0, place.y_mm + low - y1), place.turn_deg)
            left += max(x for x, _ in points) - x0 + BELOW_MM
        return plan

    if bench.attempt(f"Lay {bench.named(chosen)} apart", edit):
        bench.view.zoom_to_selection()


def _corners(plan: Plan, surface: str) -> list[tuple[float, float]]:
    place = lay_out(plan.surfaces).place(surface)
    return [place.to_sheet(corner.at_mm) for corner in find(plan, "surfaces", surface).corners]


def lay_back(bench: Bench) -> None:
    chosen = _folded(bench, apart=True)

    def edit(plan: Plan) -> Plan:
        for each in chosen:
            plan = place_apart(plan, each, None)
        return plan

    bench.attempt(f"Lay {bench.named(chosen)} back at its fold", edit)


def _outlined(bench: Bench) -> list[str]:
    return [each for collection in OUTLINED for each in bench.selected(collection)]


def _none_outlined(bench: Bench) -> str:
    return "" if _outlined(bench) else "Select a box, opening, panel or zone first."


def add_dimensions(bench: Bench) -> None:
    """Width and height of what is selected, attached to its corners."""
    chosen = _outlined(bench)

    def edit(plan: Plan) -> Plan:
        for each in chosen:
            plan, _ = dimensions_of_box(plan, each)
        return plan

    bench.attempt(f"Add dimensions to {bench.named(chosen)}", edit)


def _none_attached(bench: Bench) -> str:
    chosen = [find(bench.plan, "dimensions", each) for each in bench.selected("dimensions")]
    held = any(each.from_on is not None or each.to_on is not None for each in chosen)
    return "" if held else "Select a dimension that is attached first."


def detach_dimensions(bench: Bench) -> None:
    chosen = bench.selected("dimensions")

    def edit(plan: Plan) -> Plan:
        for each in chosen:
            plan = detach(plan, each)
        return plan

    bench.attempt(f"Detach {bench.named(chosen)}", edit)


def hold_level(bench: Bench) -> None:
    bench.desk.angle_step_deg = 0.0 if bench.desk.angle_step_deg else LEVEL_DEG


def next_pane(bench: Bench, by: int) -> None:
    """The keyboard goes from the sheet to the bar of the stage, to the panes, and back."""
    panes = [dock.widget() for dock in bench.view.window().findChildren(QDockWidget)]
    seen = [stop for stop in (bench.view, bench.stages, *panes) if stop.isVisible()]
    focus = bench.view.window().focusWidget()
    here = next((n for n, stop in enumerate(seen) if _holds(stop, focus)), -1)
    _first_in(seen[(here + by) % len(seen)]).setFocus(Qt.FocusReason.ShortcutFocusReason)


def _holds(stop: QWidget, focus: QWidget | None) -> bool:
    return focus is not None and (stop is focus or stop.isAncestorOf(focus))


def _first_in(stop: QWidget) -> QWidget:
    """The pane itself where it takes the keyboard, else the first thing in it that does."""
    takers = (stop, *stop.findChildren(QWidget))
    return next((each for each in takers if each.isVisible() and each.isEnabled() and _takes_tab(each)), stop)


def _takes_tab(widget: QWidget) -> bool:
    return bool(widget.focusPolicy().value & Qt.FocusPolicy.TabFocus.value)


ACTIONS = (
    Action("raise-faces", "Raise faces", "Draw", raise_faces, "Ctrl+Shift+F", _no_box,
           stages=("survey", "fit-out"), on_sheet=1, group="Surfaces"),
    Action("lay-apart", "Lay apart", "Draw", lay_apart, "", _none_folded, stages=("survey",), on_sheet=1,
           group="Surfaces"),
    Action("lay-back", "Lay back at its fold", "Draw", lay_back, "", _none_apart, stages=("survey",), on_sheet=1,
           group="Surfaces"),
    Action("dimensions", "Dimensions of what is selected", "Draw", add_dimensions, "Ctrl+Shift+D", _none_outlined,
           parted=True),
    Action("detach", "Detach dimension", "Draw", detach_dimensions, "", _none_attached),
    Action("hold-level", "Hold lines level and upright", "Draw", hold_level, "Ctrl+Shift+'",
           is_on=lambda b: b.desk.angle_step_deg > 0),
    Action("next-pane", "Next pane", "View", partial(next_pane, by=1), "F6", parted=True),
    Action("previous-pane", "Pane before", "View", partial(next_pane, by=-1), "Shift+F6"),
)  # fmt: skip
