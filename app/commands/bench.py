"""What a command works on: the session, the sheet, the panes and the settings of one window.

It opens dialogs but never waits for them, and it says why something cannot be instead of raising.
"""

from collections.abc import Callable, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any, Literal, TypeVar

import msgspec
from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QWidget

from app.canvas.view import SheetView
from app.dialogs.files import Files
from app.jobs import NewestWins
from app.panels.findings import FindingsPanel
from app.panels.guide import GuideStrip
from app.panels.pointer import Pointer
from app.panels.stages import StageStrip
from app.session import Session
from app.settings import Settings
from app.tools.desk import Desk
from app.tools.moving import collection_of
from core.errors import EditRefused, FileProblem
from core.files.library import Library
from core.model import Plan, find

if TYPE_CHECKING:
    from core.analysis.analysis import Analysis

T = TypeVar("T")
PaneName = Literal["outline", "devices", "facts", "findings", "circuits", "layers", "history"]


class Bench(QObject):
    """One window's things for its commands; `parent` is what dialogs are opened over."""

    #: A sentence for the status line.
    said = Signal(str)
    settings_changed = Signal(object)
    #: The name of a pane that is to have the keyboard.
    pane_asked = Signal(str)
    #: The library was read anew.
    library_changed = Signal(object)
    #: The id of an action that another one leads to.
    action_asked = Signal(str)

    def __init__(
        self,
        desk: Desk,
        view: SheetView,
        pointer: Pointer,
        files: Files,
        stages: StageStrip,
        findings: FindingsPanel,
        guide: GuideStrip,
        settings: Settings,
        parent: QWidget,
    ) -> None:
        super().__init__(parent)
        self.desk, self.view, self.pointer, self.files = desk, view, pointer, files
        self.stages, self.findings, self.guide = stages, findings, guide
        self.window = parent
        self._settings = settings
        self._jobs = NewestWins(self)
        self._jobs.done.connect(self._done)
        self._jobs.failed.connect(self._failed)
        #: Who waits for which job: what to do with its result, and with its failure.
        self._waiting: dict[int, tuple[Callable[[Any], object], Callable[[FileProblem], object]]] = {}
        files.said.connect(self.said)

    @property
    def session(self) -> Session:
        return self.desk.session

    @property
    def plan(self) -> Plan:
        return self.desk.plan

    @property
    def library(self) -> Library:
        return self.desk.library

    @property
    def settings(self) -> Settings:
        return self._settings

    def change_settings(self, **changes: object) -> None:
        self._settings = msgspec.structs.replace(self._settings, **changes)
        self.settings_changed.emit(self._settings)

    def say(self, sentence: str) -> None:
        self.said.emit(sentence)

    def show_pane(self, pane: PaneName) -> None:
        self.pane_asked.emit(pane)

    def run(self, action_id: str) -> None:
        """Run an action of the table, as its menu would: it says why where it cannot."""
        self.action_asked.emit(action_id)

    # --- edits -------------------------------------------------------------------------------------------------------

    def attempt(self, label: str, edit: Callable[[Plan], Plan]) -> bool:
        """Commit an edit of the plan, or say why not."""
        try:
            plan = edit(self.plan)
        except EditRefused as refusal:
            self.say(str(refusal))
            return False
        self.session.commit(label, plan)
        return True

    def named(self, record_ids: Sequence[str]) -> str:
        """Records in a few words, for the label of an edit."""
        if len(record_ids) != 1:
            return f"{len(record_ids)} things"
        collection = collection_of(self.plan, record_ids[0])
        if collection is None:
            return record_ids[0]
        return str(getattr(find(self.plan, collection, record_ids[0]), "name", "") or record_ids[0])

    def selected(self, collection: str) -> list[str]:
        """What of one collection of the plan is selected, in the order it was."""
        known = {record.id for record in getattr(self.plan, collection)}
        return [each for each in self.session.selection if each in known]

    # --- analysis ----------------------------------------------------------------------------------------------------

    def analysis(self) -> "Analysis":
        """The full analysis, with the pointer of waiting while it is not there yet."""
        QGuiApplication.setOverrideCursor(Qt.CursorShape.WaitCursor)
        try:
            return self.session.analysis_now()
        finally:
            QGuiApplication.restoreOverrideCursor()

    # --- work beside the window --------------------------------------------------------------------------------------

    def in_background(
        self, job: Callable[[], T], done: Callable[[T], object], failed: Callable[[FileProblem], object]
    ) -> None:
        """Run `job` beside the window, then `done` with its result or `failed` with what hindered it, on this thread.

        Any other exception is a fault of the program and is raised here. Only the newest of what waits is run.
        """
        self._waiting[self._jobs.run(job)] = (done, failed)

    def _done(self, number: int, result: object) -> None:
        done, _ = self._waiting.pop(number)
        done(result)

    def _failed(self, number: int, error: Exception) -> None:
        _, failed = self._waiting.pop(number)
        if not isinstance(error, FileProblem):
            raise error
        failed(error)

    def close(self) -> None:
        self._jobs.close()


def today() -> str:
    return f"{date.today():%d %b %Y}".removeprefix("0")  # noqa: DTZ011 (the day on this desk)
