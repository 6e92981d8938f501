"""Stands behind a window so that no work is lost: autosave, backups, changes on disk, mistakes of the program, log."""

from __future__ import annotations

from datetime import UTC, datetime
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, Qt, QTimer
from PySide6.QtWidgets import QApplication

from app import log
from app.dialogs.ask import Choice, Question, tell_problem
from app.jobs import NewestWins
from app.last_resort import LastResort
from app.recovery import Left, Recovery, discard, left_over, recovered
from app.saving import OnDisk, keep_backup
from app.window import Window
from core.errors import FileProblem
from core.files.codec import read_plan
from core.model import Plan
from core.model.plan import COLLECTIONS

#: How often the file is looked at while the window is in front.
LOOK_MS = 4_000


class Guard(QObject):
    """One for each window; call `close` once the window is closed in good order."""

    def __init__(self, window: Window) -> None:
        super().__init__(window)
        settings = window.bench.settings
        self._window = window
        self._log = log.start()
        self.recovery = Recovery(window.session, quiet_s=settings.autosave_after_s) if settings.autosave else None
        if self.recovery is not None:
            self.recovery.failed.connect(window.status.say)
        self.last_resort = LastResort(window, self._keep)
        self.last_resort.install()
        self.on_disk = OnDisk()
        self._backups = NewestWins(self)
        self._backed_up: Path | None = None
        window.files.used.connect(self._file_used)
        window.session.path_changed.connect(self._path_changed)
        self._look = QTimer(self)
        self._look.setInterval(LOOK_MS)
        self._look.timeout.connect(self.look)
        self._look.start()

    def close(self) -> None:
        """Nothing is left to recover; the log is closed."""
        self._look.stop()
        self.last_resort.remove()
        self._backups.close()
        if self.recovery is not None:
            self.recovery.close()
        log.stop(self._log)

    def _keep(self) -> None:
        if self.recovery is not None:
            self.recovery.write_now()

    # --- the file ----------------------------------------------------------------------------------------------------

    def _file_used(self, path: Path) -> None:
        """Opened or saved. What was opened is copied once, before anything is written over it."""
        self.on_disk.is_now(path)
        if path != self._backed_up:
            self._backed_up = path
            self._backups.run(partial(keep_backup, path))

    def _path_changed(self) -> None:
        path = self._window.session.path
        if path is None:
            self.on_disk.is_now(None)
            self._backed_up = None

    def look(self) -> None:
        """Tell when another program has changed the file of this window."""
        if QApplication.applicationState() != Qt.ApplicationState.ApplicationActive or not self.on_disk.changed():
            return
        path = self._window.session.path
        if path is None:
            return
        question = Question(
            self._window, "Loomwright", f"“{path.name}” was changed by another program.",
            "What is on the sheet is what was read before. Saving would write over the change.",
            (Choice("load", "Load the changed file"), Choice("keep", "Keep what is on the sheet", "reject")),
        )  # fmt: skip

        def answered(chosen: str) -> None:
            if chosen == "load":
                self._window.files.when_safe(partial(self._window.files.open, path))

        question.ask(answered)

    # --- what a crash left -------------------------------------------------------------------------------------------

    def offer(self) -> None:
        """Ask about the plans that were left by a program that ended without closing, one after the other."""
        self._offer(list(left_over()))

    def _offer(self, rest: list[Left]) -> None:
        if not rest or self.recovery is None:
            return
        left, *rest = rest
        question = Question(
            self._window, "Loomwright", f"“{left.name}” was not saved when Loomwright ended.", told_of(left),
            (Choice("restore", "Restore it"), Choice("later", "Ask again next time", "reject"),
             Choice("discard", "Throw it away", "destroy")),
        )  # fmt: skip

        def answered(chosen: str) -> None:
            if chosen == "restore":
                self._window.files.when_safe(partial(self._restore, left))
                return
            if chosen == "discard":
                discard(left)
            self._offer(rest)

        question.ask(answered)

    def _restore(self, left: Left) -> None:
        assert self.recovery is not None
        try:
            self.recovery.take_up(left)
        except FileProblem as problem:
            tell_problem(self._window, "What was kept cannot be read.", problem)
            return
        self._window.files.replaced.emit()


def told_of(left: Left) -> str:
    """When it was kept, where its file is, and what is different there."""
    sentences = [
        f"It was kept at {_local(left.written)}." if left.written else "It was kept when the program ran last."
    ]
    if left.original is None:
        sentences.append("It was never saved to a file.")
    else:
        sentences.append(f"Its file is {left.original}.")
        try:
            sentences.append(difference(read_plan(left.original), recovered(left)))
        except FileProblem as problem:
            sentences.append(f"The two cannot be compared: {problem.message}.")
    return " ".join(sentences)


def difference(saved: Plan, kept: Plan) -> str:
    """What differs between two plans, counted."""
    added = removed = changed = 0
    for name in COLLECTIONS:
        before, after = ({record.id: record for record in getattr(plan, name)} for plan in (saved, kept))
        added += len(after.keys() - before.keys())
        removed += len(before.keys() - after.keys())
        changed += sum(before[key] != after[key] for key in before.keys() & after.keys())
    if not (added or removed or changed):
        return "Both hold the same." if saved == kept else "Its name or settings differ from the file's."
    return f"Since the file was saved {added} things were added, {changed} changed and {removed} deleted."


def _local(written: str) -> str:
    """The UTC time of a note in the clock of this place."""
    try:
        at = datetime.strptime(written, "%Y-%m-%d %H:%M:%S %Z")  # noqa: DTZ007 (the note says UTC)
    except ValueError:
        return written
    return f"{at.replace(tzinfo=UTC).astimezone():%d %b %Y, %H:%M}"
