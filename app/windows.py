"""All windows of the program: each on a session of its own, with one log, one last resort and one set of settings."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import msgspec
from PySide6.QtCore import QObject, QPoint, Qt, QTimer
from PySide6.QtWidgets import QApplication, QWidget

from app import log
from app.asks import Asked
from app.dialogs.files import bring_to_front, real_path
from app.guard import Guard
from app.last_resort import LastResort
from app.offer import offer
from app.refining import Refiner
from app.settings import Settings, config_folder
from app.window import Window
from core.edits.start import new_plan
from core.files.library import load_library

#: How far a further window stands from the one before it, in pixels.
STEP_PX = 32


def make_window(settings: Settings) -> Window:
    """A window on an empty plan."""
    library = load_library(config_folder() / "library")
    known = {profile.id for profile in library.profiles}
    profile = settings.profile if settings.profile in known else library.profiles[0].id
    window = Window(library, new_plan(library, "New plan", profile), settings)
    for problem in library.problems:
        window.status.say(str(problem))
    return window


class Windows(QObject):
    """Opens windows, and lets go of each that has closed. Call `close` when the program ends."""

    def __init__(self, settings: Settings, parent: QObject | None = None) -> None:
        super().__init__(parent)
        #: As the person set them last, in whichever window.
        self.settings = settings
        self.guards: list[Guard] = []
        self._log = log.start()
        self.last_resort = LastResort(self.front, self._keep, self)
        self.last_resort.install()
        self._asked = Asked(self)
        self._asked.show.connect(self._show_path)

    def open(self, file: Path | None = None) -> Guard:
        """A further window, with a plan where one is named; it is read once the window is on the screen."""
        window = make_window(self.settings)
        guard = Guard(window)
        if self.guards:
            window.move(self.guards[-1].window.pos() + QPoint(STEP_PX, STEP_PX))
        self.guards.append(guard)
        Refiner(window.session)
        files = window.files
        files.other_window = partial(self._other_window, window)
        files.window_asked.connect(self.open_or_show)
        files.quit_asked.connect(self.quit)
        # Once the window has done all that belongs to its closing.
        files.closed.connect(partial(self._closed, guard), Qt.ConnectionType.QueuedConnection)
        window.bench.settings_changed.connect(self._settings_changed)
        window.show()
        QTimer.singleShot(0, window, partial(_first, window, file))
        return guard

    def open_or_show(self, file: Path | None) -> None:
        """Show the window that has this file, else open one; None is a new plan."""
        window = self._window_of(file) if file is not None else None
        if window is not None:
            bring_to_front(window)
        else:
            bring_to_front(self.open(file).window)

    def offer(self) -> None:
        """Offer what a crash left; each plan gets a window of its own, unless one holds nothing yet."""
        if self.settings.autosave and self.guards:
            offer(self.guards[0].window, self._guard_for)

    def quit(self) -> None:
        """Close all windows, the one in front first; where one is kept open it ends there."""
        guard = next((guard for guard in self.guards if guard.window is self.front()), None)
        if guard is not None:
            bring_to_front(guard.window)
            guard.window.files.when_safe(partial(self._quit, guard))

    def _quit(self, guard: Guard) -> None:
        guard.window.close_now()
        self._closed(guard)
        self.quit()

    def close(self) -> None:
        """Nothing is left to recover, and nobody is heard any more."""
        self.last_resort.remove()
        for guard in tuple(self.guards):
            self._closed(guard)
        self._asked.close()
        log.stop(self._log)

    def front(self) -> QWidget | None:
        """The window a person works in; the newest where none is in front."""
        active = QApplication.activeWindow()
        windows = [guard.window for guard in self.guards]
        if active in windows:
            return active
        return windows[-1] if windows else None

    def _keep(self) -> None:
        for guard in self.guards:
            guard.keep()

    def _guard_for(self) -> Guard:
        untouched = next((guard for guard in self.guards if guard.untouched), None)
        return self.open() if untouched is None else untouched

    def _closed(self, guard: Guard) -> None:
        if guard in self.guards:
            self.guards.remove(guard)
            guard.close()
            guard.window.deleteLater()

    def _settings_changed(self, settings: Settings) -> None:
        """What is set in one window holds in all."""
        self.settings = settings
        for guard in self.guards:
            bench = guard.window.bench
            if bench.settings != settings:
                bench.change_settings(**msgspec.structs.asdict(settings))

    def _window_of(self, file: Path) -> Window | None:
        real = real_path(file)
        for guard in self.guards:
            path = guard.window.session.path
            if path is not None and real_path(path) == real:
                return guard.window
        return None

    def _other_window(self, asking: Window, file: Path) -> QWidget | None:
        found = self._window_of(file)
        return None if found is asking else found

    def _show_path(self, file: Path) -> None:
        """Another program was to open a file that is open here. Where it is no more, the newest window answers."""
        window = self._window_of(file) or self.front()
        if window is not None:
            bring_to_front(window)


def _first(window: Window, file: Path | None) -> None:
    """What is done once the window is on the screen."""
    window.view.zoom_to_fit()
    if file is not None:
        window.files.open(file)
