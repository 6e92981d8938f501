"""Puts the application together and runs it."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QColor, QFont, QPainter, QPixmap
from PySide6.QtWidgets import QApplication, QSplashScreen

from app import settings as stored
from app.fonts import load_fonts
from app.identity import name_application

if TYPE_CHECKING:
    # Everything else is imported behind the first sign on the screen.
    from app.window import Window

#: Paper and ink of the first sign, as in the theme, which is not loaded yet; its size in pixels.
PAPER, INK = ("#f7f5f0", "#22303a"), ("#22303a", "#e8edf1")
SIGN_PX = 420, 150


def run(file: Path | None) -> int:
    """Open the window, with a plan where one is named; returns when it was closed. The exit code."""
    application = make_application()
    settings = stored.load()
    sign = first_sign(dark=settings.theme == "dark")
    from app.guard import Guard

    window = make_window(settings)
    guard = Guard(window)
    window.show()
    sign.finish(window)
    # After the first frame, so that the window is there before a big plan is read.
    QTimer.singleShot(0, window, lambda: first(window, file))
    QTimer.singleShot(0, guard, guard.offer)
    code = application.exec()
    guard.close()
    try:
        stored.save(window.bench.settings)
    except OSError as error:
        print(f"The settings were not kept: {error}", file=sys.stderr)  # noqa: T201 (there is no window any more)
    return code


def first_sign(dark: bool) -> QSplashScreen:
    """The name on the screen while the rest is loaded: as soon as Qt can show anything."""
    paper, ink = INK if dark else PAPER
    picture = QPixmap(*SIGN_PX)
    picture.fill(QColor(paper))
    with QPainter(picture) as painter:
        painter.setPen(QColor(ink))
        font = QFont()
        font.setPointSize(24)
        painter.setFont(font)
        painter.drawText(picture.rect(), Qt.AlignmentFlag.AlignCenter, "Loomwright")
    sign = QSplashScreen(picture)
    sign.show()
    QApplication.processEvents()
    return sign


def make_window(settings: stored.Settings) -> Window:
    """A window on an empty plan."""
    from app.window import Window
    from core.edits.start import new_plan
    from core.files.library import load_library

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
