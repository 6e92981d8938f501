"""Every action of the window, declared once: menus, toolbars, shortcuts and command search are made from this table.

An action that cannot run says why in a sentence; that is what the command search shows.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, Protocol

from app.session import Session
from core.model import SOURCES, find

MenuName = Literal["File", "Edit", "View", "Findings", "Help"]


class Commands(Protocol):
    """What actions run on: the window's own verbs."""

    @property
    def session(self) -> Session: ...

    @property
    def theme_name(self) -> str: ...

    @property
    def unit(self) -> str: ...

    @property
    def snaps(self) -> bool: ...

    def new_vehicle(self) -> None: ...
    def open_plan(self) -> None: ...
    def save(self) -> None: ...
    def save_as(self) -> None: ...
    def print_cut_list(self) -> None: ...
    def export_papers(self) -> None: ...
    def close_window(self) -> None: ...
    def delete(self) -> None: ...
    def duplicate(self) -> None: ...
    def turn(self) -> None: ...
    def connect_selection(self) -> None: ...
    def join_nearest(self) -> None: ...
    def select_all_alike(self) -> None: ...
    def edit_facts(self) -> None: ...
    def find_in_plan(self) -> None: ...
    def find_device(self) -> None: ...
    def zoom(self, factor: float) -> None: ...
    def zoom_to_fit(self) -> None: ...
    def zoom_to_selection(self) -> None: ...
    def set_theme_name(self, name: str) -> None: ...
    def set_unit(self, unit: str) -> None: ...
    def toggle_snap(self) -> None: ...
    def step_stage(self, by: int) -> None: ...
    def step_finding(self, by: int) -> None: ...
    def waive(self) -> None: ...
    def remedy(self) -> None: ...
    def find_command(self) -> None: ...
    def show_keys(self) -> None: ...
    def show_about(self) -> None: ...


WhyNot = Callable[[Commands], str]


@dataclass(frozen=True)
class Action:
    """`words` may hold ``{undo}`` and ``{redo}``, the names of the edits. `why_not` gives "" when it can run."""

    id: str
    words: str
    menu: MenuName
    run: Callable[[Commands], None]
    keys: str = ""
    why_not: WhyNot = lambda _: ""
    #: A line above it in its menu.
    parted: bool = False
    #: Checked while this holds; None is no check mark.
    is_on: Callable[[Commands], bool] | None = None


def _nothing_to_undo(desk: Commands) -> str:
    return "" if desk.session.can_undo else "There is nothing to undo."


def _nothing_to_redo(desk: Commands) -> str:
    return "" if desk.session.can_redo else "There is nothing to redo."


def _nothing_selected(desk: Commands) -> str:
    return "" if desk.session.selection else "Select something first."


def _no_device(desk: Commands) -> str:
    devices = {device.id for device in desk.session.plan.devices}
    if any(each in devices for each in desk.session.selection):
        return ""
    return "Select a device first."


def _no_pair(desk: Commands) -> str:
    """Why the selection is no source with what it feeds."""
    devices = {device.id for device in desk.session.plan.devices}
    chosen = [each for each in desk.session.selection if each in devices]
    if len(chosen) < 2:
        return "Select a fuse block (or another source) first, then, with Shift, what it feeds."
    source = find(desk.session.plan, "devices", chosen[0])
    if source.kind not in SOURCES and not source.ways:
        return f"“{source.name}” cannot feed a circuit; select the source first."
    return ""


def _no_wires(desk: Commands) -> str:
    return "" if desk.session.plan.circuits else "There are no circuits yet, so there is nothing to cut."


def _no_findings(desk: Commands) -> str:
    return "" if desk.session.analysis.findings else "There are no findings."


def _saved(desk: Commands) -> str:
    if desk.session.path is not None and desk.session.clean:
        return "Everything is saved."
    return ""


ACTIONS: tuple[Action, ...] = (
    Action("new", "New vehicle…", "File", lambda d: d.new_vehicle(), "Ctrl+N"),
    Action("open", "Open…", "File", lambda d: d.open_plan(), "Ctrl+O"),
    Action("save", "Save", "File", lambda d: d.save(), "Ctrl+S", _saved, parted=True),
    Action("save-as", "Save as…", "File", lambda d: d.save_as(), "Ctrl+Shift+S"),
    Action("print-cut-list", "Print cut list…", "File", lambda d: d.print_cut_list(), "Ctrl+P", _no_wires, parted=True),
    Action("export", "Export papers…", "File", lambda d: d.export_papers(), "Ctrl+E"),
    Action("close", "Close", "File", lambda d: d.close_window(), "Ctrl+Q", parted=True),
    Action("undo", "Undo {undo}", "Edit", lambda d: d.session.undo(), "Ctrl+Z", _nothing_to_undo),
    Action("redo", "Redo {redo}", "Edit", lambda d: d.session.redo(), "Ctrl+Shift+Z", _nothing_to_redo),
    Action("delete", "Delete", "Edit", lambda d: d.delete(), "Del", _nothing_selected, parted=True),
    Action("duplicate", "Duplicate", "Edit", lambda d: d.duplicate(), "Ctrl+D", _no_device),
    Action("turn", "Turn by 90°", "Edit", lambda d: d.turn(), "Ctrl+T", _no_device),
    Action("connect", "Connect as a circuit", "Edit", lambda d: d.connect_selection(), "Ctrl+L", _no_pair, parted=True),
    Action("join", "Join nearest channel", "Edit", lambda d: d.join_nearest(), "Ctrl+J", _no_device),
    Action("alike", "Select all of this kind", "Edit", lambda d: d.select_all_alike(), "Ctrl+A", _nothing_selected,
           parted=True),
    Action("facts", "Edit facts", "Edit", lambda d: d.edit_facts(), "F2"),
    Action("find", "Find in the plan", "Edit", lambda d: d.find_in_plan(), "Ctrl+F"),
    Action("find-device", "Find a device to place", "Edit", lambda d: d.find_device(), "Ctrl+G"),
    Action("zoom-in", "Zoom in", "View", lambda d: d.zoom(1.25), "Ctrl++"),
    Action("zoom-out", "Zoom out", "View", lambda d: d.zoom(0.8), "Ctrl+-"),
    Action("zoom-fit", "Show the whole sheet", "View", lambda d: d.zoom_to_fit(), "Ctrl+0"),
    Action("zoom-selection", "Show the selection", "View", lambda d: d.zoom_to_selection(), "Ctrl+1",
           _nothing_selected),
    Action("next-stage", "Next stage", "View", lambda d: d.step_stage(1), "Ctrl+PgDown", parted=True),
    Action("previous-stage", "Stage before", "View", lambda d: d.step_stage(-1), "Ctrl+PgUp"),
    Action("snap", "Snap to lines and grid", "View", lambda d: d.toggle_snap(), "Ctrl+'", parted=True,
           is_on=lambda d: d.snaps),
    Action("light", "Light", "View", lambda d: d.set_theme_name("light"), parted=True,
           is_on=lambda d: d.theme_name == "light"),
    Action("dark", "Dark", "View", lambda d: d.set_theme_name("dark"), is_on=lambda d: d.theme_name == "dark"),
    Action("mm", "Millimetres", "View", lambda d: d.set_unit("mm"), parted=True, is_on=lambda d: d.unit == "mm"),
    Action("cm", "Centimetres", "View", lambda d: d.set_unit("cm"), is_on=lambda d: d.unit == "cm"),
    Action("in", "Feet and inches", "View", lambda d: d.set_unit("in"), is_on=lambda d: d.unit == "in"),
    Action("next-finding", "Next finding", "Findings", lambda d: d.step_finding(1), "F8", _no_findings),
    Action("previous-finding", "Finding before", "Findings", lambda d: d.step_finding(-1), "Shift+F8", _no_findings),
    Action("remedy", "Remedy of the finding…", "Findings", lambda d: d.remedy(), "Ctrl+M", _no_findings, parted=True),
    Action("waive", "Waive finding…", "Findings", lambda d: d.waive(), "Ctrl+W", _no_findings),
    Action("command", "Find a command…", "Help", lambda d: d.find_command(), "Ctrl+K"),
    Action("keys", "Keyboard", "Help", lambda d: d.show_keys(), "F1"),
    Action("about", "About and licences", "Help", lambda d: d.show_about(), parted=True),
)  # fmt: skip


def words(action: Action, session: Session) -> str:
    """Its words now; the edit's name in undo and redo."""
    undo, redo = session.undo_label, session.redo_label
    lower = (undo[:1].lower() + undo[1:], redo[:1].lower() + redo[1:])
    return action.words.format(undo=lower[0], redo=lower[1]).strip()
