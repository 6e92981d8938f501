"""The sheet as a whole: the vehicle folded up, layers, history, the size of the body, and selecting many things."""

from app.canvas.sight import CanvasSight
from app.commands.action import Action, no_surface, nothing_selected
from app.commands.bench import Bench
from app.dialogs.fold_up import FoldUpWindow
from app.tools.lasso import OutlineSelectTool
from core.model import Plan

#: Millimetres of the units that lengths are shown in.
UNIT_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4}
#: What can hold other things inside its outline.
HOLDERS = ("surfaces", "boxes", "zones", "panels", "openings", "moving_parts")
#: What lies on a surface, with the fields that say where.
LYING = {
    "ribs": "line_mm", "openings": "outline", "boxes": "outline", "zones": "outline", "panels": "outline",
    "metal_edges": "line_mm", "devices": "at_mm", "earth_points": "at_mm", "moving_parts": "outline",
    "channels": "via_mm",
}  # fmt: skip


def fold_up(bench: Bench) -> None:
    """Show the vehicle folded up, in the window that is open for it or in a new one."""
    told = no_surface(bench)
    if told:
        bench.say(told)
        return
    open_one: FoldUpWindow | None = bench.window.findChild(FoldUpWindow)
    if open_one is None:
        open_one = FoldUpWindow(bench.window, bench.session, lambda: bench.view.theme)
    open_one.show()
    open_one.raise_()
    open_one.activateWindow()


def resize(bench: Bench) -> None:
    """Change the size of the whole body, whatever is drawn in it."""
    from app.dialogs.resize import ResizeDialog

    before = bench.plan

    def resized(label: str, plan: Plan, told: str) -> None:
        if bench.plan is not before:
            # Something read beside the window came in meanwhile; nothing of it is written over.
            bench.say("The plan has changed meanwhile; nothing was resized. Change the measurements again.")
            return
        bench.session.commit(label, plan)
        bench.say(told or "The body has its new size.")

    ResizeDialog(bench.window, before, bench.desk.unit, resized).open()


def select_by_outline(bench: Bench) -> None:
    bench.pointer.take_tool("select-outline", OutlineSelectTool(bench.desk, CanvasSight(bench.view)))


def select_inside(bench: Bench) -> None:
    """Instead of surfaces, cabinets, zones and panels, what lies in their outlines."""
    from core.geometry.edges import outline_of
    from core.geometry.polygon import point_in

    plan, found = bench.plan, list[str]()
    for collection in HOLDERS:
        for holder in getattr(plan, collection):
            if holder.id not in bench.session.selection:
                continue
            is_surface = collection == "surfaces"
            surface = holder.id if is_surface else holder.surface
            outline = outline_of(holder) if is_surface else holder.outline
            for kind, field in LYING.items():
                for record in getattr(plan, kind):
                    if record.surface != surface or record.id == holder.id:
                        continue
                    place = getattr(record, field)
                    points = (place,) if kind in ("devices", "earth_points") else place
                    if is_surface or (points and all(point_in(outline, p) for p in points)):
                        found.append(record.id)
    if found:
        bench.session.select(found)
    else:
        bench.say("Nothing lies inside of what is selected.")


def _no_holder(bench: Bench) -> str:
    told = nothing_selected(bench)
    if told or any(bench.selected(collection) for collection in HOLDERS):
        return told
    return "Select a surface, cabinet, zone, panel or opening first."


def show_surface(bench: Bench) -> None:
    """Show the surface that is selected, or on which the selection lies, else the one in the middle of the view."""
    from app.commands.underlays import target

    bench.view.zoom_to_records((target(bench),))


def toggle_grid(bench: Bench) -> None:
    bench.change_settings(show_grid=not bench.settings.show_grid)


def follow_settings(bench: Bench) -> None:
    """Grid and rulers as they are set: in the unit of display, or no grid."""
    bench.view.sheet_scene.grid.setVisible(bench.settings.show_grid)
    bench.view.set_unit_mm(UNIT_MM[bench.settings.length_unit])


ACTIONS = (
    Action("zoom-surface", "Show the surface", "View", show_surface, "Ctrl+2", no_surface, on_sheet=0),
    Action("fold-up", "Fold up", "View", fold_up, "Ctrl+U", no_surface, parted=True,
           stages=("survey", "fit-out", "channels", "checks")),
    Action("layers", "Layers", "View", lambda b: b.show_pane("layers"), "Ctrl+Shift+L"),
    Action("grid", "Grid", "View", toggle_grid, "Ctrl+Shift+G", is_on=lambda b: b.settings.show_grid),
    Action("select-outline", "Select by outline", "Edit", select_by_outline, "Ctrl+Shift+A", no_surface),
    Action("select-inside", "Select what lies inside", "Edit", select_inside, "Ctrl+Shift+I", _no_holder, on_sheet=2),
    Action("history", "History", "Edit", lambda b: b.show_pane("history"), "Ctrl+H"),
    Action("resize", "Change measurements…", "Change", resize, "", no_surface, parted=True, stages=("survey",),
           group="Surfaces"),
)  # fmt: skip
