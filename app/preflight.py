"""Finds out, before Qt is asked, whether Qt can start: Qt itself aborts where a library or a screen is missing.

Standard library only. Every function returns None when all is well and one sentence for the person otherwise.
"""

from __future__ import annotations

import os
import sys
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

# Library that is loaded -> Debian package that brings it. Read off `ldd` of Qt 6.11's libraries and plugins.
LIBRARIES = {
    "libglib-2.0.so.0": "libglib2.0-0",
    "libEGL.so.1": "libegl1",
    "libGL.so.1": "libgl1",
    "libdbus-1.so.3": "libdbus-1-3",
    "libfontconfig.so.1": "libfontconfig1",
    "libxkbcommon.so.0": "libxkbcommon0",
}
X11_LIBRARIES = {
    "libxcb-cursor.so.0": "libxcb-cursor0",
    "libxcb-icccm.so.4": "libxcb-icccm4",
    "libxcb-keysyms.so.1": "libxcb-keysyms1",
    "libxcb-shape.so.0": "libxcb-shape0",
    "libxcb-xkb.so.1": "libxcb-xkb1",
    "libxcb-image.so.0": "libxcb-image0",
    "libxcb-render-util.so.0": "libxcb-render-util0",
    "libxcb-randr.so.0": "libxcb-randr0",
    "libxcb-xfixes.so.0": "libxcb-xfixes0",
    "libxcb-sync.so.1": "libxcb-sync1",
    "libX11-xcb.so.1": "libx11-xcb1",
    "libxkbcommon-x11.so.0": "libxkbcommon-x11-0",
}
WITHOUT_SCREEN = ("offscreen", "minimal")
SCREENLESS_HINT = "with QT_QPA_PLATFORM=offscreen it starts without showing anything, and `python3 -m core` needs none"


def problem() -> str | None:
    """Whatever keeps the window from starting here."""
    if find_spec("PySide6") is None:
        return "PySide6, which draws the window, is not installed for this Python; install loomwright with pip again."
    if not sys.platform.startswith("linux"):
        return None
    platforms = wanted_platforms(os.environ)
    if (sentence := unknown_platform(platforms)) is not None:
        return sentence
    return first_working(platforms)


def wanted_platforms(environment: Mapping[str, str]) -> tuple[str, ...]:
    """Names of the ways to a screen that Qt would try on Linux, in order, without their options."""
    asked = environment.get("QT_QPA_PLATFORM", "")
    names = tuple(name for entry in asked.split(";") if (name := entry.partition(":")[0].strip()))
    if names:
        return names
    is_wayland = environment.get("WAYLAND_DISPLAY") or environment.get("XDG_SESSION_TYPE") == "wayland"
    return ("wayland", "xcb") if is_wayland else ("xcb",)


def unknown_platform(names: Iterable[str]) -> str | None:
    """A sentence when Qt has no plugin for any of the names: it would abort."""
    spec = find_spec("PySide6")
    folder = Path((spec.submodule_search_locations or [""])[0] if spec else "") / "Qt" / "plugins" / "platforms"
    known = sorted(path.stem.removeprefix("libq") for path in folder.glob("libq*.so"))
    if not known:  # a distribution keeps its plugins elsewhere; leave the answer to Qt
        return None
    known_families = {name.partition("-")[0] for name in known}
    if any(name in known or name in known_families for name in names):
        return None
    return f"QT_QPA_PLATFORM names {' and '.join(names)}, but this Qt has only {', '.join(known)}."


def first_working(names: Iterable[str]) -> str | None:
    """None when one of the platforms starts, otherwise why the last one does not."""
    sentence: str | None = None
    for name in names:
        sentence = missing_libraries(name) or missing_screen(name)
        if sentence is None:
            return None
    return sentence


def missing_libraries(platform: str) -> str | None:
    """A sentence with the apt line when libraries of the system that Qt needs cannot be loaded."""
    if not sys.platform.startswith("linux"):
        return None
    needed = LIBRARIES | (X11_LIBRARIES if platform == "xcb" else {})
    packages = [package for library, package in needed.items() if not is_loadable(library)]
    if not packages:
        return None
    return f"Qt misses libraries of the system; on Debian and Ubuntu: sudo apt install {' '.join(packages)}"


def is_loadable(library: str) -> bool:
    """Whether the system's loader finds a library and all that it needs itself."""
    import ctypes

    try:
        ctypes.CDLL(library)
    except OSError:
        return False
    return True


def missing_screen(platform: str) -> str | None:
    """A sentence when the platform's server does not answer; None when it does."""
    if platform in WITHOUT_SCREEN:
        return None
    if platform == "xcb":
        return missing_x11_screen()
    if platform.startswith("wayland"):
        return missing_wayland_screen()
    return None if starts_in_child() else f"Qt cannot start its platform {platform} here; {SCREENLESS_HINT}."


def missing_x11_screen() -> str | None:
    """Goes through the whole greeting of the X server, so that a refused permission counts as no screen."""
    import ctypes

    display = os.environ.get("DISPLAY", "")
    if not display:
        return f"There is no screen to open the window on (DISPLAY is not set); {SCREENLESS_HINT}."
    xcb = ctypes.CDLL("libxcb.so.1")
    xcb.xcb_connect.restype = ctypes.c_void_p
    xcb.xcb_connection_has_error.argtypes = xcb.xcb_disconnect.argtypes = [ctypes.c_void_p]
    connection = xcb.xcb_connect(None, None)
    failed = xcb.xcb_connection_has_error(connection)
    xcb.xcb_disconnect(connection)
    return f"The screen {display} does not answer or refuses us; {SCREENLESS_HINT}." if failed else None


def missing_wayland_screen() -> str | None:
    """Connects as Qt will; a socket handed over by the parent (WAYLAND_SOCKET) can be used only once, so it is left."""
    import ctypes

    if os.environ.get("WAYLAND_SOCKET"):
        return None
    # Without this folder there is no server, and the library would print a line of its own.
    if os.environ.get("XDG_RUNTIME_DIR") and is_loadable("libwayland-client.so.0"):
        wayland = ctypes.CDLL("libwayland-client.so.0")
        wayland.wl_display_connect.restype = ctypes.c_void_p
        wayland.wl_display_disconnect.argtypes = [ctypes.c_void_p]
        if display := wayland.wl_display_connect(None):
            wayland.wl_display_disconnect(display)
            return None
    return f"There is no screen to open the window on (no Wayland server answers); {SCREENLESS_HINT}."


def starts_in_child() -> bool:
    """Try it for real where nothing else tells (framebuffers and the like); the abort then hits the child."""
    import subprocess

    code = "import resource; resource.setrlimit(resource.RLIMIT_CORE, (0, 0))\n"
    code += "from PySide6.QtGui import QGuiApplication; QGuiApplication([])"
    try:
        child = subprocess.run([sys.executable, "-c", code], capture_output=True, timeout=20, check=False)
    except subprocess.TimeoutExpired:
        return False
    return child.returncode == 0


if __name__ == "__main__" and sys.argv[1:] == ["--debian-packages"]:  # for .ci/run
    print(*LIBRARIES.values(), *X11_LIBRARIES.values())
