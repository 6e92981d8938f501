"""The verbs of the window: what the table of actions runs on."""

from collections.abc import Callable, Sequence
from datetime import date
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QCursor, QGuiApplication
from PySide6.QtWidgets import QFileDialog, QWidget

from app.actions import ACTIONS, words
from app.canvas.view import SheetView
from app.dialogs.ask import tell_problem
from app.dialogs.files import Files, file_name
from app.dialogs.help import AboutDialog, Command, CommandSearch, KeysDialog
from app.dialogs.new_vehicle import NewVehicleDialog
from app.dialogs.printing import PrintDialog
from app.dialogs.waive import WaiveDialog
from app.jobs import NewestWins
from app.session import Session
from app.settings import Settings
from app.tools.connect import connected
from app.tools.desk import Desk
from app.tools.moving import collection_of
from app.tools.toolbox import TOOLS, needed
from core.analysis.results import Finding
from core.edits.devices import connect_to_nearest, duplicate, turn_device
from core.edits.records import delete, unwaive, waive
from core.errors import EditRefused, FileProblem, LoomwrightError
from core.model import Plan, find

if TYPE_CHECKING:
    from core.analysis.analysis import Analysis
    from core.studies.remedies import Remedy

#: How far away on its surface a copy is laid.
COPY_BY_MM = (100.0, -100.0)


class Commander(QObject):
    """Implements `app.actions.Commands`. Dialogs are opened, never waited for."""

    said = Signal(str)
    settings_changed = Signal(object)
    #: Panes to be given the keyboard: "outline", "facts", "devices".
    pane_asked = Signal(str)
    stage_stepped = Signal(int)
    finding_stepped = Signal(int)
    waive_current = Signal()
    remedy_current = Signal()

    def __init__(
        self,
        desk: Desk,
        view: SheetView,
        take_tool: Callable[[str], None],
        files: Files,
        settings: Settings,
        window: QWidget,
    ) -> None:
        super().__init__(window)
        self._desk, self._view, self._take_tool, self._files = desk, view, take_tool, files
        self._settings = settings
        self._window = window
        self._jobs = NewestWins(self)
        self._jobs.done.connect(self._exported)
        self._jobs.failed.connect(self._export_failed)
        files.said.connect(self.said)

    # --- what actions ask --------------------------------------------------------------------------------------------

    @property
    def session(self) -> Session:
        return self._desk.session

    @property
    def settings(self) -> Settings:
        return self._settings

    @property
    def theme_name(self) -> str:
        return self._view.theme.name

    @property
    def unit(self) -> str:
        return self._settings.length_unit

    @property
    def snaps(self) -> bool:
        return self._settings.snap

    def change_settings(self, **changes: object) -> None:
        import msgspec

        self._settings = msgspec.structs.replace(self._settings, **changes)
        self.settings_changed.emit(self._settings)

    # --- files -------------------------------------------------------------------------------------------------------

    def new_vehicle(self) -> None:
        self._files.when_safe(self._ask_new)

    def _ask_new(self) -> None:
        NewVehicleDialog(
            self._window, self.session.library, self._desk.unit, self._view.theme, self._files.start
        ).open()

    def open_plan(self) -> None:
        self._files.ask_open()

    def open_recent(self, path: Path) -> None:
        self._files.when_safe(partial(self._files.open, path))

    def save(self) -> None:
        self._files.save()

    def save_as(self) -> None:
        self._files.ask_save_as()

    def close_window(self) -> None:
        self._window.close()

    # --- papers ------------------------------------------------------------------------------------------------------

    def print_cut_list(self) -> None:
        # The papers are imported when one is wanted: the first window does not wait for them.
        from core.pages.imprint import imprint
        from core.pages.papers import PAPERS

        try:
            analysis = self._awaited()
            pages = PAPERS["cut-list"](analysis, imprint(analysis.plan, today()))
        except LoomwrightError as problem:
            self.said.emit(str(problem))
            return
        name = Path(file_name(self.session.plan.name)).stem
        folder = self.session.path.parent if self.session.path is not None else Path()
        PrintDialog(self._window, "Cut list", pages, folder / f"{name}-cut-list.pdf", self.said.emit).open()

    def _awaited(self) -> "Analysis":
        """The full analysis, with the pointer of waiting while it is not there yet."""
        QGuiApplication.setOverrideCursor(Qt.CursorShape.WaitCursor)
        try:
            return self.session.analysis_now()
        finally:
            QGuiApplication.restoreOverrideCursor()

    def export_papers(self) -> None:
        beside = str(self.session.path.parent) if self.session.path is not None else ""
        dialog = QFileDialog(self._window, "Export papers into a folder", beside)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.setFileMode(QFileDialog.FileMode.Directory)
        dialog.setOption(QFileDialog.Option.ShowDirsOnly)
        dialog.fileSelected.connect(self.export_to)
        dialog.open()

    def export_to(self, folder: str) -> None:
        """All papers into a folder: PDF, CSV, XLSX, SVG and DXF, in the background."""
        from core.exports.papers import write_papers
        from core.pages.papers import PAPERS

        analysis = self._awaited()
        self.said.emit("Making the papers…")
        self._jobs.run(partial(write_papers, analysis, Path(folder), tuple(PAPERS), today()))

    def _exported(self, _number: int, written: object) -> None:
        files = getattr(written, "files", ())
        without = getattr(written, "without_pdf", "")
        self.said.emit(without or f"{len(files)} files are in {files[0].parent}." if files else "Nothing was written.")

    def _export_failed(self, _number: int, error: object) -> None:
        if isinstance(error, FileProblem):
            tell_problem(self._window, "The papers were not written.", error)
        elif isinstance(error, Exception):
            raise error

    # --- edits -------------------------------------------------------------------------------------------------------

    def _try(self, label: str, edit: Callable[[Plan], Plan]) -> bool:
        """Commit an edit of the plan, or say why not."""
        try:
            plan = edit(self.session.plan)
        except EditRefused as refusal:
            self.said.emit(str(refusal))
            return False
        self.session.commit(label, plan)
        return True

    def _named(self, record_ids: Sequence[str]) -> str:
        if len(record_ids) != 1:
            return f"{len(record_ids)} things"
        collection = collection_of(self.session.plan, record_ids[0])
        if collection is None:
            return record_ids[0]
        return str(getattr(find(self.session.plan, collection, record_ids[0]), "name", "") or record_ids[0])

    def delete(self) -> None:
        chosen = [each for each in self.session.selection if collection_of(self.session.plan, each) is not None]
        if not chosen:
            self.said.emit("A wire is derived from its circuit: delete or change the circuit.")
            return
        told = ""

        def edit(plan: Plan) -> Plan:
            nonlocal told
            plan, deletion = delete(plan, chosen)
            told = str(deletion)
            return plan

        if self._try(f"Delete {self._named(chosen)}", edit) and told:
            self.said.emit(told)

    def _devices(self) -> list[str]:
        known = {device.id for device in self.session.plan.devices}
        return [each for each in self.session.selection if each in known]

    def duplicate(self) -> None:
        chosen, new = self._devices(), list[str]()

        def edit(plan: Plan) -> Plan:
            for each in chosen:
                plan, copy = duplicate(plan, each, COPY_BY_MM)
                new.append(copy)
            return plan

        if self._try(f"Duplicate {self._named(chosen)}", edit):
            self.session.select(new)

    def turn(self) -> None:
        chosen = self._devices()

        def edit(plan: Plan) -> Plan:
            for each in chosen:
                plan = turn_device(plan, each, find(plan, "devices", each).turn_deg + 90.0)
            return plan

        self._try(f"Turn {self._named(chosen)}", edit)

    def connect_selection(self) -> None:
        chosen = self._devices()
        told, new = "", ""

        def edit(plan: Plan) -> Plan:
            nonlocal told, new
            plan, new, told = connected(plan, chosen[0], tuple(chosen[1:]), self.session.library)
            return plan

        if len(chosen) >= 2 and self._try(f"Connect {self._named(chosen[-1:])}", edit):
            self.session.select((new,))
            if told:
                self.said.emit(told)

    def join_nearest(self) -> None:
        chosen = self._devices()

        def edit(plan: Plan) -> Plan:
            for each in chosen:
                plan, _ = connect_to_nearest(plan, each)
            return plan

        self._try(f"Join {self._named(chosen)} to a channel", edit)

    def select_all_alike(self) -> None:
        collection = collection_of(self.session.plan, self.session.selection[0]) if self.session.selection else None
        if collection is not None:
            self.session.select(record.id for record in getattr(self.session.plan, collection))

    def show_remedies(self, finding: Finding) -> None:
        # Imported when asked for: the first window does not wait for the studies.
        from app.dialogs.mending import RemedyMenu

        menu = RemedyMenu(self._window, finding, self._awaited(), self.session.library, self._mend)
        menu.popup(QCursor.pos())

    def _mend(self, remedy: "Remedy", _checked: bool = False) -> None:
        if self._try(remedy.label, remedy.apply) and remedy.gain:
            self.said.emit(f"{remedy.label}: {remedy.gain}")

    def waive_finding(self, finding: Finding) -> None:
        WaiveDialog(self._window, finding, self._waive).open()

    def _waive(self, finding: Finding, reason: str) -> str:
        """Waive with a reason; why it cannot be, or ""."""
        try:
            plan, _ = waive(self.session.plan, finding.code, finding.subjects, reason, on=date.today().isoformat())  # noqa: DTZ011 (the day on this desk)
        except EditRefused as refusal:
            return str(refusal)
        self.session.commit("Waive finding", plan)
        return ""

    def take_waiver_back(self, finding: Finding) -> None:
        for row in self.session.plan.waivers:
            if row.code == finding.code and set(row.subjects) <= set(finding.subjects):
                self._try("Take waiver back", partial(_unwaived, waiver=row.id))
                return

    # --- view and panes ----------------------------------------------------------------------------------------------

    def zoom(self, factor: float) -> None:
        self._view.zoom_by(factor)

    def zoom_to_fit(self) -> None:
        self._view.zoom_to_fit()

    def zoom_to_selection(self) -> None:
        self._view.zoom_to_selection()

    def set_theme_name(self, name: str) -> None:
        self.change_settings(theme=name)

    def set_unit(self, unit: str) -> None:
        self.change_settings(length_unit=unit)

    def toggle_snap(self) -> None:
        self.change_settings(snap=not self._settings.snap)

    def edit_facts(self) -> None:
        self.pane_asked.emit("facts")

    def find_in_plan(self) -> None:
        self.pane_asked.emit("outline")

    def find_device(self) -> None:
        self.pane_asked.emit("devices")

    def step_stage(self, by: int) -> None:
        self.stage_stepped.emit(by)

    def step_finding(self, by: int) -> None:
        self.finding_stepped.emit(by)

    def waive(self) -> None:
        self.waive_current.emit()

    def remedy(self) -> None:
        self.remedy_current.emit()

    # --- help --------------------------------------------------------------------------------------------------------

    def commands(self) -> tuple[Command, ...]:
        """Actions and tools, with why they cannot run now."""
        tools = tuple(
            Command(row.words, row.tip, row.key, needed(self.session.plan, row.needs),
                    partial(self._take_tool, row.id))
            for row in TOOLS
        )  # fmt: skip
        actions = tuple(
            Command(words(action, self.session), action.menu, action.keys, action.why_not(self),
                    partial(action.run, self))
            for action in ACTIONS
        )  # fmt: skip
        return (*tools, *actions)

    def find_command(self) -> None:
        CommandSearch(self._window, self.commands()).open()

    def show_keys(self) -> None:
        KeysDialog(self._window, self.commands()).open()

    def show_about(self) -> None:
        AboutDialog(self._window).open()

    def close(self) -> None:
        self._jobs.close()


def _unwaived(plan: Plan, waiver: str) -> Plan:
    return unwaive(plan, waiver)


def today() -> str:
    return f"{date.today():%d %b %Y}".removeprefix("0")  # noqa: DTZ011 (the day on this desk)
