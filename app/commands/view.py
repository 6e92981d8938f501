"""How the sheet is looked at, stages, and the settings that show."""

from app.commands.action import Action, nothing_selected
from app.commands.bench import Bench


def toggle_snap(bench: Bench) -> None:
    bench.change_settings(snap=not bench.settings.snap)


ACTIONS = (
    Action("zoom-in", "Zoom in", "View", lambda b: b.view.zoom_by(1.25), "Ctrl++"),
    Action("zoom-out", "Zoom out", "View", lambda b: b.view.zoom_by(0.8), "Ctrl+-"),
    Action("zoom-fit", "Show the whole sheet", "View", lambda b: b.view.zoom_to_fit(), "Ctrl+0"),
    Action("zoom-selection", "Show the selection", "View", lambda b: b.view.zoom_to_selection(), "Ctrl+1",
           nothing_selected, on_sheet=0),
    Action("next-stage", "Next stage", "View", lambda b: b.stages.step(1), "Ctrl+PgDown", parted=True),
    Action("previous-stage", "Stage before", "View", lambda b: b.stages.step(-1), "Ctrl+PgUp"),
    Action("snap", "Snap to lines and grid", "View", toggle_snap, "Ctrl+'", parted=True,
           is_on=lambda b: b.settings.snap),
    Action("light", "Light", "View", lambda b: b.change_settings(theme="light"), parted=True,
           is_on=lambda b: b.view.theme.name == "light"),
    Action("dark", "Dark", "View", lambda b: b.change_settings(theme="dark"),
           is_on=lambda b: b.view.theme.name == "dark"),
    Action("mm", "Millimetres", "View", lambda b: b.change_settings(length_unit="mm"), parted=True,
           is_on=lambda b: b.settings.length_unit == "mm"),
    Action("cm", "Centimetres", "View", lambda b: b.change_settings(length_unit="cm"),
           is_on=lambda b: b.settings.length_unit == "cm"),
    Action("in", "Feet and inches", "View", lambda b: b.change_settings(length_unit="in"),
           is_on=lambda b: b.settings.length_unit == "in"),
)  # fmt: skip
