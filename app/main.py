"""Puts the application together and runs it."""

from __future__ import annotations

import sys
from pathlib import Path

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

from app import settings as stored
from app.fonts import load_fonts
from app.guard import Guard
from app.identity import name_application
from app.window import Window
from core.edits.start import new_plan
from core.files.library import load_library


def run(file: Path | None) -> int:
    """Open the window, with a plan where one is named; returns when it was closed. The exit code."""
    application = make_application()
    window = make_window(stored.load())
    guard = Guard(window)
    window.show()
    # After the first frame, so that the window is there before a big plan is read.
    QTimer.singleShot(0, window, lambda: first(window, file))
    QTimer.singleShot(0, guard, guard.offer)
    code = application.exec()
    guard.close()
    try:
        stored.save(window.commander.settings)
    except OSError as error:
        print(f"The settings were not kept: {error}", file=sys.stderr)  # noqa: T201 (there is no window any more)
    return code


def make_window(settings: stored.Settings) -> Window:
    """A window on an empty plan."""
    library = load_library(stored.config_folder() / "library")
    known = {profile.id for profile in library.profiles}
    profile = settings.profile if settings.profile in known else library.profiles[0].id
    window = Window(library, new_plan(library, "New plan", profile), settings)
    for problem in library.problems:
        window.status.say(str(problem))
    return window


def first(window: Window, file: Path | None) -> None:
    """What is done once the window is on the screen."""
    window.view.zoom_to_fit()
    if file is not None:
        window.files.open(file)


def make_application() -> QApplication:
    """The one QApplication of the process, with name and fonts."""
    # A worker thread that computes hands over more often than every 5 ms, so that the window stays smooth.
    sys.setswitchinterval(0.0005)
    application = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(application, QApplication)
    name_application()
    load_fonts()
    return application
