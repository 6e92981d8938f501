"""Stands behind a window so that no work is lost: autosave, a backup of the file as it was opened, changes on disk."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, Qt, QTimer
from PySide6.QtWidgets import QApplication

from app.dialogs.ask import Choice, Question
from app.jobs import NewestWins
from app.recovery import Left, Recovery
from app.saving import keep_backup
from app.window import Window
from core.model import Plan

#: How often the file is looked at while the window is in front.
LOOK_MS = 4_000


class Guard(QObject):
    """One for each window; call `close` once the window is closed in good order."""

    def __init__(self, window: Window) -> None:
        super().__init__(window)
        settings = window.bench.settings
        self.window = window
        self.recovery = Recovery(window.session, quiet_s=settings.autosave_after_s) if settings.autosave else None
        if self.recovery is not None:
            self.recovery.failed.connect(window.status.say)
        self._backups = NewestWins(self)
        self._backed_up: Path | None = None
        window.files.used.connect(self._file_used)
        window.session.path_changed.connect(self._path_changed)
        self._look = QTimer(self)
        self._look.setInterval(LOOK_MS)
        self._look.timeout.connect(self.look)
        self._look.start()

    def close(self) -> None:
        """Nothing is left to recover."""
        self._look.stop()
        self._backups.close()
        if self.recovery is not None:
            self.recovery.close()

    def keep(self) -> None:
        """Write what is in no file yet, now."""
        if self.recovery is not None:
            self.recovery.write_now()

    @property
    def untouched(self) -> bool:
        """Whether the window holds nothing of anybody's: the new plan it began with."""
        session = self.window.session
        return session.path is None and session.clean and not session.plan.surfaces

    def restore(self, left: Left, plan: Plan) -> None:
        """Go on with what a crash left, here. Where its file is open elsewhere it goes on without one."""
        assert self.recovery is not None
        files = self.window.files
        path = left.original if files.take_over(left.original) else None
        self.recovery.take_up(left, plan, path)
        if path is not None and path.exists():
            files.used.emit(path)
        elif path is None and left.original is not None:
            self.window.status.say(f"{left.original.name} is open elsewhere: save this plan under another name.")
        files.replaced.emit()

    # --- the file ----------------------------------------------------------------------------------------------------

    def _file_used(self, path: Path) -> None:
        """Opened or saved. What was opened is copied once, before anything is written over it."""
        if path != self._backed_up:
            self._backed_up = path
            self._backups.run(partial(keep_backup, path))

    def _path_changed(self) -> None:
        if self.window.session.path is None:
            self._backed_up = None

    def look(self) -> None:
        """Tell when another program has changed the file of this window."""
        files, path = self.window.files, self.window.session.path
        if QApplication.applicationState() != Qt.ApplicationState.ApplicationActive or path is None:
            return
        if not files.on_disk.changed():
            return
        question = Question(
            self.window, "Loomwright", f"“{path.name}” was changed by another program.",
            "What is on the sheet is what was read before. Saving asks again before it writes over the change.",
            (Choice("load", "Load the changed file"), Choice("keep", "Keep what is on the sheet", "reject")),
        )  # fmt: skip

        def answered(chosen: str) -> None:
            if chosen == "load":
                files.when_safe(partial(files.open, path))

        question.ask(answered)
