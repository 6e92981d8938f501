"""What this machine offers, as text for a bug report (`python3 -m app --check`)."""

from __future__ import annotations

import os
import platform
import sys
from importlib import metadata
from pathlib import Path

from app import bootstrap, preflight
from core import __version__
from core.resources import folder

PACKAGES = ("msgspec", "networkx", "numpy", "scipy", "shapely", "pint", "ezdxf", "numba", "pypdfium2", "xlsxwriter")


def report() -> tuple[str, bool]:
    """Lines of `name: value`, and whether the window can open here."""
    facts = {
        "Loomwright": __version__,
        "Python": f"{platform.python_version()} {platform.python_implementation()}, {sys.executable}",
        "System": f"{platform.platform()}, {platform.machine()}, {os.cpu_count()} cores",
        "Packages": ", ".join(f"{name} {version_of(name)}" for name in PACKAGES),
        "Checkout": str(bootstrap.find_checkout() or "none, installed as a package"),
        "Resources": str(folder()),
    }
    sentence = preflight.problem()
    if sentence is None:
        facts |= qt_facts()
    facts["Window"] = sentence or "can open"
    width = max(map(len, facts))
    is_well = sentence is None and "Fonts missing" not in facts
    return "\n".join(f"{name:<{width}}  {value}" for name, value in facts.items()), is_well


def version_of(package: str) -> str:
    try:
        return metadata.version(package)
    except metadata.PackageNotFoundError:
        return "MISSING"


def qt_facts() -> dict[str, str]:
    """What Qt says; starts a QGuiApplication where there is none."""
    from PySide6 import __version__ as pyside_version
    from PySide6.QtCore import QStandardPaths, qVersion
    from PySide6.QtGui import QGuiApplication

    from app.fonts import FontsMissing, load_fonts
    from app.identity import name_application

    application = QGuiApplication.instance() or QGuiApplication([])
    assert isinstance(application, QGuiApplication)
    name_application()
    place = QStandardPaths.StandardLocation
    facts = {
        "Qt": f"{qVersion()}, PySide6 {pyside_version}",
        "Platform": application.platformName(),
        "Screens": "; ".join(
            f"{screen.name() or 'unnamed'} {screen.size().width()} x {screen.size().height()}"
            f" at {screen.devicePixelRatio():g}, {screen.logicalDotsPerInch():.0f} dpi"
            for screen in application.screens()
        ),
    }
    try:
        load_fonts()
        facts["Fonts"] = "all loaded"
    except FontsMissing as problem:
        facts["Fonts missing"] = str(problem)
    for label, location in (("Settings in", place.AppConfigLocation), ("State in", place.StateLocation)):
        facts[label] = QStandardPaths.writableLocation(location) + writable_note(location)
    return facts


def writable_note(location: object) -> str:
    """Says when a folder cannot be written; it need not exist yet."""
    from PySide6.QtCore import QStandardPaths

    assert isinstance(location, QStandardPaths.StandardLocation)
    path = Path(QStandardPaths.writableLocation(location))
    existing = next((parent for parent in (path, *path.parents) if parent.exists()), None)
    return "" if existing is not None and os.access(existing, os.W_OK) else " (CANNOT BE WRITTEN)"
