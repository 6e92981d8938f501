"""What is saved from a crash: every edited plan is written to the state folder, and offered at the next start.

One session keeps one file there, beside it a note that says which plan it was. Both go when the plan is saved or the
window closes; what is found at a start was left by a program that ended without closing. A lock tells the files of a
second program that still runs.
"""

import contextlib
import secrets
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

import msgspec
from PySide6.QtCore import QObject, QTimer, Signal

from app.jobs import NewestWins
from app.session import Session
from app.settings import state_folder
from core.errors import FileProblem
from core.files import open_lock
from core.files.codec import SUFFIX, encode, read_plan
from core.files.safe_write import write_bytes
from core.model import Plan

#: Seconds of quiet after an edit before it is written; under steady work it is written this often at least.
QUIET_S, AT_LEAST_S = 3.0, 6.0


class Note(msgspec.Struct, frozen=True, kw_only=True):
    """What lies beside an autosaved plan: whose file it was (empty: none yet), its name, and when it was written."""

    path: str = ""
    name: str = ""
    written: str = ""


class Left(NamedTuple):
    """A plan left by a program that ended without closing."""

    file: Path
    #: Where the plan was opened from or saved to; None when it never was.
    original: Path | None
    name: str
    written: str


def autosave_folder() -> Path:
    return state_folder() / "autosave"


def _note_of(file: Path) -> Path:
    return file.with_suffix(".json")


def left_over(folder: Path | None = None) -> tuple[Left, ...]:
    """The plans there are to offer, newest first. Those of a program that still runs are not among them."""
    folder = autosave_folder() if folder is None else folder
    found = []
    with contextlib.suppress(OSError):
        for file in folder.glob(f"*{SUFFIX}"):
            if open_lock.holder(file) is None and not _is_mine(file):
                note = _read_note(file)
                found.append(Left(file, Path(note.path) if note.path else None, note.name or file.stem, note.written))
    return tuple(sorted(found, key=lambda left: left.written, reverse=True))


#: Autosave files of sessions of this very program.
_MINE: set[Path] = set()


def _is_mine(file: Path) -> bool:
    return file.resolve() in _MINE


def _read_note(file: Path) -> Note:
    try:
        return msgspec.json.decode(_note_of(file).read_bytes(), type=Note)
    except (OSError, msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        return Note()


def recovered(left: Left) -> Plan:
    """The plan that was left. Raises FileProblem where it cannot be read; it is kept then."""
    return read_plan(left.file)


def discard(left: Left) -> None:
    """Take a left plan away, because it was recovered and saved, or is not wanted."""
    open_lock.take(left.file, anyway=True)
    _remove(left.file)
    open_lock.release(left.file)


def _remove(file: Path) -> None:
    for each in (file, _note_of(file)):
        with contextlib.suppress(OSError):
            each.unlink(missing_ok=True)


class Recovery(QObject):
    """Writes the plan of a session to the state folder while it has edits that are in no file.

    `failed(text)`: it could not be written, and why; told once, until it can again. `written()` follows every success.
    """

    failed = Signal(str)
    written = Signal()

    def __init__(
        self,
        session: Session,
        folder: Path | None = None,
        quiet_s: float = QUIET_S,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._session = session
        self._folder = autosave_folder() if folder is None else folder
        self.file = self._folder / f"{secrets.token_hex(8)}{SUFFIX}"
        self._written: Plan | None = None
        self._told = False
        self._locked = False
        self._taken_up: list[Left] = []
        self._jobs = NewestWins(self)
        self._jobs.done.connect(self._done)
        self._jobs.failed.connect(self._not_done)
        self._quiet = self._timer(quiet_s)
        self._at_least = self._timer(max(AT_LEAST_S, quiet_s))
        session.history_changed.connect(self._edited)
        session.path_changed.connect(self._edited)
        _MINE.add(self.file.resolve())

    def _timer(self, seconds: float) -> QTimer:
        timer = QTimer(self)
        timer.setSingleShot(True)
        timer.setInterval(round(seconds * 1000))
        timer.timeout.connect(self.write_now)
        return timer

    def take_up(self, left: Left, plan: Plan | None = None, path: Path | None = None) -> None:
        """Go on with a plan that was left, as unsaved work of the file `path` (None: of none). What was left goes as
        soon as it is safe elsewhere. `plan` is what `recovered` gave, where it was asked before.

        Raises FileProblem where it cannot be read; the session is unchanged then.
        """
        plan = recovered(left) if plan is None else plan
        self._session.replace(plan, path)
        self._session.mark_unsaved()
        self._taken_up.append(left)
        self.write_now()

    def write_now(self) -> None:
        """Write what is not written yet, off the GUI thread."""
        self._quiet.stop()
        self._at_least.stop()
        plan = self._session.plan
        if self._session.clean or plan is self._written:
            return
        path = self._session.path
        now = datetime.now(UTC).strftime("%Y-%m-%d %H:%M:%S UTC")
        note = Note(path="" if path is None else str(path.resolve()), name=plan.name, written=now)
        file = self.file

        def job() -> Plan:
            file.parent.mkdir(parents=True, exist_ok=True)
            open_lock.take(file)
            write_bytes(file, encode(plan))
            write_bytes(_note_of(file), msgspec.json.encode(note))
            return plan

        self._locked = True
        self._jobs.run(job)

    def close(self) -> None:
        """The window closes in good order: nothing is left to recover."""
        self._quiet.stop()
        self._at_least.stop()
        self._jobs.close()
        self._clear()
        self._discard_taken_up()
        _MINE.discard(self.file.resolve())

    def _edited(self) -> None:
        if self._session.clean:
            self._quiet.stop()
            self._at_least.stop()
            self._written = None
            self._jobs.run(self._clear)
            self._discard_taken_up()
            return
        self._quiet.start()
        if not self._at_least.isActive():
            self._at_least.start()

    def _clear(self) -> None:
        if self._locked:
            _remove(self.file)
            open_lock.release(self.file)

    def _done(self, _number: int, plan: Plan | None) -> None:
        self._told = False
        if plan is not None:
            self._written = plan
            self._discard_taken_up()
            self.written.emit()

    def _discard_taken_up(self) -> None:
        while self._taken_up:
            discard(self._taken_up.pop())

    def _not_done(self, _number: int, error: object) -> None:
        if not self._told:
            self._told = True
            reason = error.message if isinstance(error, FileProblem) else str(error)
            self.failed.emit(f"Edits are not kept for a crash: {reason}.")
