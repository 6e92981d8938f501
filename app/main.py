"""Puts the application together and runs it."""

from __future__ import annotations

import gc
import importlib
import sys
import threading
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QColor, QFont, QPainter, QPixmap
from PySide6.QtWidgets import QApplication, QSplashScreen

from app import collecting
from app import settings as stored
from app.fonts import load_fonts
from app.identity import name_application

if TYPE_CHECKING:
    from app.windows import Windows

# Everything else is imported behind the first sign on the screen.

#: Paper and ink of the first sign, as in the theme, which is not loaded yet; its size in pixels.
PAPER, INK = ("#f7f5f0", "#22303a"), ("#22303a", "#e8edf1")
SIGN_PX = 420, 150
#: What analyses and drawings will want of libraries that an empty plan does without.
WANTED_SOON = ("numpy", "shapely", "networkx", "scipy.optimize")
#: When the window has been drawn and answers.
WARM_UP_AFTER_MS = 500


def run(file: Path | None) -> int:
    """Open a window, with a plan where one is named; returns when all were closed. The exit code.

    A plan that is open in another process on this machine brings that window to the front instead.
    """
    if file is not None and shown_elsewhere(file):
        print(f"{file.name} is open already; its window was asked to come to the front.")  # noqa: T201
        return 0
    application = make_application()
    windows = open_first(stored.load(), file)
    # After the first frame, so that the window is there before a big plan is read.
    QTimer.singleShot(0, windows, windows.offer)
    warming = threading.Thread(target=warm_up, name="loomwright-warm-up", daemon=True)
    QTimer.singleShot(WARM_UP_AFTER_MS, windows, warming.start)
    code = application.exec()
    windows.close()
    if warming.is_alive():
        warming.join(timeout=1.0)  # half-loaded code is better not torn down
    try:
        stored.save(windows.settings)
    except OSError as error:
        print(f"The settings were not kept: {error}", file=sys.stderr)  # noqa: T201 (there is no window any more)
    return code


def open_first(settings: stored.Settings, file: Path | None = None) -> Windows:
    """All windows, with the first one open; a sign stands on the screen until it is."""
    collecting.hold()  # nothing that is loaded now is garbage, and looking for some costs a sixth of the time
    try:
        sign = first_sign(dark=settings.theme == "dark")
        spare_sources()
        from app.windows import Windows

        gc.freeze()
        windows = Windows(settings)
        sign.finish(windows.open(file).window)
    finally:
        collecting.release()
    return windows


def spare_sources() -> None:
    """Keep PySide from reading the source of every module that is imported from now on.

    It looks there for the name of itself, since only then would its switch to other names of methods
    (`from __feature__ import ...`) matter. Nothing here uses that switch, and the looking costs a fifth of the start.
    """
    feature: Any = sys.modules.get("shibokensupport.feature")
    if hasattr(feature, "_mod_uses_pyside"):
        feature._mod_uses_pyside = _uses_no_feature


def _uses_no_feature(_module: object) -> bool:
    return False


def warm_up() -> None:
    """Get ready, beside the window, what takes long to load and nobody waits for: libraries, compiled packing."""
    collecting.hold()
    try:
        for name in WANTED_SOON:
            importlib.import_module(name)
        from core.geometry.packing_speed import prepare

        prepare()
    finally:
        collecting.release()


def shown_elsewhere(file: Path) -> bool:
    """Whether another process has this plan open and has shown its window."""
    from app.asks import show_elsewhere
    from core.files import open_lock

    try:
        holder = open_lock.holder(file.absolute())
    except (OSError, RuntimeError, ValueError):
        return False  # a circle of links, an impossible name: opening it says so
    return holder is not None and show_elsewhere(holder, file)


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


def make_application() -> QApplication:
    """The one QApplication of the process, with name and fonts."""
    # A worker thread that computes hands over more often than every 5 ms, so that the window stays smooth.
    sys.setswitchinterval(0.0005)
    application = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(application, QApplication)
    name_application()
    load_fonts()
    return application
