"""Puts the application together and runs it."""

from __future__ import annotations

import sys
from pathlib import Path

from PySide6.QtWidgets import QApplication, QMainWindow

from app.fonts import load_fonts
from app.identity import name_application


def run(file: Path | None) -> int:
    """Open the window, with a plan where one is named; returns when it was closed. The exit code."""
    application = make_application()
    window = QMainWindow()
    window.setWindowTitle(f"{file.name} – Loomwright" if file else "Loomwright")
    window.show()
    return application.exec()


def make_application() -> QApplication:
    """The one QApplication of the process, with name and fonts."""
    # A worker thread that computes hands over more often than every 5 ms, so that the window stays smooth.
    sys.setswitchinterval(0.0005)
    application = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(application, QApplication)
    name_application()
    load_fonts()
    return application
