"""Open and save plans: locks, unsaved work, unreadable files, each told without blocking the window."""

from collections.abc import Callable
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtWidgets import QFileDialog, QWidget

from app.dialogs.ask import Choice, Question, tell_problem
from app.session import Session
from core.errors import FileProblem
from core.files import open_lock
from core.files.codec import encode, read_plan
from core.files.safe_write import write_bytes
from core.model import Plan

SUFFIX = ".loomplan"
FILTER = f"Loomwright plan (*{SUFFIX})"


class Files(QObject):
    """The session's file."""

    #: A plan was opened from or saved to this path.
    used = Signal(object)
    #: A sentence for the status line.
    said = Signal(str)
    #: Another plan is in the session: show the whole sheet.
    replaced = Signal()

    def __init__(self, session: Session, window: QWidget) -> None:
        super().__init__(window)
        self._session = session
        self._window = window
        self._locked: Path | None = None

    # --- unsaved work ------------------------------------------------------------------------------------------------

    def when_safe(self, go_on: Callable[[], object], stay: Callable[[], object] | None = None) -> None:
        """Do `go_on` once nothing can be lost: at once, or after the person saved or discarded."""
        if self._session.clean:
            go_on()
            return
        name = self._session.plan.name
        question = Question(
            self._window, "Loomwright", f"Save the changes to “{name}”?",
            "What you changed since it was last saved is lost otherwise.",
            (Choice("save", "Save"), Choice("discard", "Discard", "destroy"), Choice("keep", "Keep working", "reject")),
        )  # fmt: skip

        def answered(chosen: str) -> None:
            if chosen == "save":
                self.save(go_on)
            elif chosen == "discard":
                go_on()
            elif stay is not None:
                stay()

        question.ask(answered)

    # --- open --------------------------------------------------------------------------------------------------------

    def start(self, plan: Plan, *, drawn: bool = True) -> None:
        """A plan that lies in no file yet; where nobody has `drawn` at it, closing it loses nothing."""
        self._let_go()
        self._session.replace(plan, None)
        if drawn and plan.surfaces:
            self._session.mark_unsaved()
        self.replaced.emit()

    def ask_open(self) -> None:
        folder = str(self._session.path.parent) if self._session.path is not None else ""
        dialog = QFileDialog(self._window, "Open a plan", folder, f"{FILTER};;All files (*)")
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        dialog.fileSelected.connect(self._open_chosen)
        dialog.open()

    def _open_chosen(self, path: str) -> None:
        self.when_safe(partial(self.open, Path(path)))

    def open(self, path: Path, *, anyway: bool = False) -> bool:
        """Open a file in place of the session's plan; what hinders is told, and nothing changes then."""
        path = path.absolute()
        try:
            plan = read_plan(path)
        except FileProblem as problem:
            tell_problem(self._window, f"“{path.name}” cannot be opened.", problem)
            return False
        holder = None if path == self._locked else open_lock.take(path, anyway=anyway)
        if holder is not None:
            self._ask_elsewhere(path, str(holder))
            return False
        if path != self._locked:
            self._let_go()
            self._locked = path
        self._session.replace(plan, path)
        self.used.emit(path)
        self.replaced.emit()
        return True

    def _ask_elsewhere(self, path: Path, holder: str) -> None:
        question = Question(
            self._window, "Loomwright", f"“{path.name}” is open elsewhere.",
            f"It is {holder}. Two windows that save one file overwrite each other's work.",
            (Choice("keep", "Leave it closed", "reject"), Choice("open", "Open anyway", "destroy")),
        )  # fmt: skip

        def answered(chosen: str) -> None:
            if chosen == "open":
                self.open(path, anyway=True)

        question.ask(answered)

    # --- save --------------------------------------------------------------------------------------------------------

    def save(self, then: Callable[[], object] | None = None) -> None:
        if self._session.path is None:
            self.ask_save_as(then)
        elif self.save_to(self._session.path) and then is not None:
            then()

    def ask_save_as(self, then: Callable[[], object] | None = None) -> None:
        start = self._session.path or Path(file_name(self._session.plan.name))
        dialog = QFileDialog(self._window, "Save the plan", str(start), FILTER)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.setDefaultSuffix(SUFFIX.removeprefix("."))

        def chosen(path: str) -> None:
            if self.save_to(Path(path)) and then is not None:
                then()

        dialog.fileSelected.connect(chosen)
        dialog.open()

    def save_to(self, path: Path) -> bool:
        """Write the committed plan; a failure is told and the old file is whole."""
        path = path.absolute()
        plan = self._session.plan
        if path != self._locked:
            holder = open_lock.take(path)
            if holder is not None:
                tell_problem(self._window, "The plan was not saved.", FileProblem(str(holder), path.name))
                return False
        try:
            write_bytes(path, encode(plan))
        except FileProblem as problem:
            if path != self._locked:
                open_lock.release(path)
            tell_problem(self._window, "The plan was not saved.", problem)
            return False
        if path != self._locked:
            self._let_go()
            self._locked = path
        self._session.mark_saved(path, plan)
        self.used.emit(path)
        self.said.emit(f"Saved {path.name}.")
        return True

    def close(self) -> None:
        self._let_go()

    def _let_go(self) -> None:
        if self._locked is not None:
            open_lock.release(self._locked)
            self._locked = None


def file_name(plan_name: str) -> str:
    """A file name from a plan's name: letters, digits and dashes."""
    kept = "".join(character if character.isalnum() else "-" for character in plan_name.strip().lower())
    return (("-".join(part for part in kept.split("-") if part))[:60] or "plan") + SUFFIX
