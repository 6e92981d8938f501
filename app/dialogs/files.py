"""Open and save plans: locks, unsaved work, unreadable files, each told without blocking the window."""

import os
from collections.abc import Callable
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtWidgets import QApplication, QFileDialog, QWidget

from app.asks import Asking
from app.dialogs.ask import Choice, Question, tell, tell_problem
from app.saving import OnDisk, digest, keep_backup
from app.session import Session
from core.errors import FileProblem
from core.files import open_lock
from core.files.codec import encode, read_plan
from core.files.open_lock import Holder
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
    #: A window of its own is wanted, with this file or (None) with a new plan.
    window_asked = Signal(object)
    #: All windows are to be closed.
    quit_asked = Signal()
    #: The window has closed in good order.
    closed = Signal()

    def __init__(self, session: Session, window: QWidget) -> None:
        super().__init__(window)
        self._session = session
        self._window = window
        #: The file that is locked, without links on its way.
        self._locked: Path | None = None
        self.on_disk = OnDisk()
        self._asking = Asking(self)
        #: Gives the other window of this program that has a plan open, if there is one.
        self.other_window: Callable[[Path], QWidget | None] = _no_window

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
        self.on_disk.is_now(None)
        self._session.replace(plan, None)
        if drawn and plan.surfaces:
            self._session.mark_unsaved()
        self.replaced.emit()

    def ask_open(self, *, new_window: bool = False) -> None:
        """Open a plan here, or in a window of its own."""
        folder = str(self._session.path.parent) if self._session.path is not None else ""
        dialog = QFileDialog(self._window, "Open a plan", folder, f"{FILTER};;All files (*)")
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        dialog.fileSelected.connect(self._new_window_chosen if new_window else self._open_chosen)
        dialog.open()

    def _open_chosen(self, path: str) -> None:
        self.when_safe(partial(self.open, Path(path)))

    def _new_window_chosen(self, path: str) -> None:
        self.window_asked.emit(Path(path))

    def open(self, path: Path, *, anyway: bool = False) -> bool:
        """Open a file in place of the session's plan; what hinders is told, and nothing changes then.

        A file that is open in another window, of this program or of another process on this machine, brings that
        window to the front instead.
        """
        path = path.absolute()
        if (other := self.other_window(path)) is not None:
            bring_to_front(other)
            self.said.emit(f"{path.name} is open in another window, which is in front now.")
            return False
        held = digest(path)
        try:
            plan = read_plan(path)
        except FileProblem as problem:
            tell_problem(self._window, f"“{path.name}” cannot be opened.", problem)
            return False
        holder = self._take(path, anyway=anyway)
        if holder is not None:
            self._asking.ask(holder, path, partial(self._asked_elsewhere, path, str(holder)))
            return False
        self._session.replace(plan, path)
        self.on_disk.is_now(path, held)
        self.used.emit(path)
        self.replaced.emit()
        return True

    def take_over(self, path: Path | None) -> bool:
        """Make a file that was not read the one of the session, for a plan that was restored; it is locked as if it had
        been opened. False where it is open elsewhere: the plan then has no file."""
        if path is not None and (self.other_window(path) is not None or self._take(path) is not None):
            path = None
        if path is None:
            self._let_go()
        self.on_disk.is_now(path)
        return path is not None

    def _take(self, path: Path, *, anyway: bool = False) -> Holder | None:
        """Lock a file and let go of the one before; who has it where that cannot be, and then nothing has changed."""
        real = real_path(path)
        if real == self._locked:
            return None
        holder = open_lock.take(real, anyway=anyway)
        if holder is None:
            self._let_go()
            self._locked = real
        return holder

    def _asked_elsewhere(self, path: Path, holder: str, shown: bool) -> None:
        if shown:
            self.said.emit(f"{path.name} is open in another window, which was asked to come to the front.")
        else:
            self._ask_elsewhere(path, holder)

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
        elif self.on_disk.differs():
            self._ask_conflict(self._session.path, then)
        elif self.save_to(self._session.path) and then is not None:
            then()

    def _ask_conflict(self, path: Path, then: Callable[[], object] | None) -> None:
        """Nobody's work is written over unseen; whatever is chosen, what goes is kept among the backups."""
        question = Question(
            self._window, "Loomwright", f"“{path.name}” was changed by another program since it was read.",
            "Saving would write over that change. Reading it would put away what is on the sheet. What you let go is"
            " kept among the backups.",
            (Choice("copy", "Save a copy…"), Choice("overwrite", "Overwrite the file", "destroy"),
             Choice("read", "Read the file", "destroy"), Choice("keep", "Keep working", "reject")),
        )  # fmt: skip

        def answered(chosen: str) -> None:
            if chosen == "copy":
                self.ask_save_as(then)
            elif chosen == "overwrite":
                keep_backup(path)
                if self.save_to(path) and then is not None:
                    then()
            elif chosen == "read":
                keep_backup(path, data=encode(self._session.plan))
                self.open(path)

        question.ask(answered)

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
        """Write the committed plan; a failure is told and the old file is whole.

        Another plan's file that is written over, because its name was chosen, is kept among the backups.
        """
        path = path.absolute()
        plan = self._session.plan
        if self.other_window(path) is not None:
            tell(self._window, "Loomwright", "The plan was not saved.", f"{path.name} is open in another window.")
            return False
        real = real_path(path)
        is_new = real != self._locked
        holder = open_lock.take(real) if is_new else None
        if holder is not None:
            tell_problem(self._window, "The plan was not saved.", FileProblem(str(holder), path.name))
            return False
        if is_new:
            keep_backup(path)
        try:
            write_bytes(path, encode(plan))
        except FileProblem as problem:
            if is_new:
                open_lock.release(real)
            tell_problem(self._window, "The plan was not saved.", problem)
            return False
        if is_new:
            self._let_go()
            self._locked = real
        self.on_disk.is_now(path)
        self._session.mark_saved(path, plan)
        self.used.emit(path)
        self.said.emit(f"Saved {path.name}.")
        return True

    def close(self) -> None:
        self._let_go()
        self.closed.emit()

    def _let_go(self) -> None:
        if self._locked is not None:
            open_lock.release(self._locked)
            self._locked = None


def real_path(path: Path) -> Path:
    """The file itself, whatever links lead to it. Never fails; a circle of links is told by who opens it."""
    return Path(os.path.realpath(path))


def _no_window(_path: Path) -> QWidget | None:
    return None


def bring_to_front(window: QWidget) -> None:
    """As far as the desktop allows; where it does not, it marks the window in its bar."""
    window.setWindowState((window.windowState() & ~Qt.WindowState.WindowMinimized) | Qt.WindowState.WindowActive)
    window.show()
    window.raise_()
    window.activateWindow()
    QApplication.alert(window)


def file_name(plan_name: str) -> str:
    """A file name from a plan's name: letters, digits and dashes."""
    kept = "".join(character if character.isalnum() else "-" for character in plan_name.strip().lower())
    return (("-".join(part for part in kept.split("-") if part))[:60] or "plan") + SUFFIX
