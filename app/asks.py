"""Programs on this machine ask each other to show a window: by a small file, since this program opens no socket.

A program that runs has a folder of its own, named by its process, in the state folder, and watches it. Another one that
is to open a plan which is open there leaves a request in it. Taking the request away is the answer.
"""

import contextlib
import os
import secrets
import shutil
import socket
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Final

import msgspec
from PySide6.QtCore import QFileSystemWatcher, QObject, QTimer, Signal

from app.settings import state_folder
from core.files.limits import NOTE_BYTES
from core.files.open_lock import Holder, is_alive

#: How long a program may take to answer; one that hangs does not.
PATIENCE_S: Final = 2.0
_LOOK_S: Final = 0.05


class _Request(msgspec.Struct, frozen=True):
    path: str


def asks_folder() -> Path:
    return state_folder() / "asks"


def _leave(holder: Holder, path: Path) -> Path | None:
    """Leaves a request with the program that has a plan open; None where there is nobody to ask."""
    folder = asks_folder() / str(holder.pid)
    if holder.host != socket.gethostname() or holder.pid == os.getpid():
        return None
    request = folder / f"{secrets.token_hex(4)}.json"
    beside = request.with_suffix(".part")
    try:
        beside.write_bytes(msgspec.json.encode(_Request(str(path.resolve()))))
        beside.replace(request)
    except OSError:
        return None
    return request


def _take_back(request: Path) -> None:
    with contextlib.suppress(OSError):
        request.unlink(missing_ok=True)


def show_elsewhere(holder: Holder, path: Path, patience_s: float = PATIENCE_S) -> bool:
    """Ask and wait: whether the program that has this plan open has shown its window. For the start, without Qt."""
    request = _leave(holder, path)
    if request is None:
        return False
    ends_s = time.monotonic() + patience_s
    while request.exists() and time.monotonic() < ends_s:
        time.sleep(_LOOK_S)
    shown = not request.exists()
    _take_back(request)
    return shown


class Asking(QObject):
    """The same beside the window: `ask` returns at once and `answered` is called later, once."""

    def ask(self, holder: Holder, path: Path, answered: Callable[[bool], object]) -> None:
        request = _leave(holder, path)
        if request is None:
            answered(False)
        else:
            self._look(request, time.monotonic() + PATIENCE_S, answered)

    def _look(self, request: Path, ends_s: float, answered: Callable[[bool], object]) -> None:
        if not request.exists():
            answered(True)
        elif time.monotonic() > ends_s:
            _take_back(request)
            answered(False)
        else:
            QTimer.singleShot(round(1000 * _LOOK_S), self, partial(self._look, request, ends_s, answered))


class Asked(QObject):
    """Hears other programs. `show(path)`: bring the window with this plan to the front.

    Where the folder cannot be made nobody is heard, which hinders nobody: the other program says the plan is open.
    """

    show = Signal(object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._folder = asks_folder() / str(os.getpid())
        with contextlib.suppress(OSError):
            _sweep()
            self._folder.mkdir(parents=True, exist_ok=True)
        self._watcher = QFileSystemWatcher(self)
        if self._folder.is_dir():
            self._watcher.addPath(str(self._folder))
            self._watcher.directoryChanged.connect(self.look)

    def look(self) -> None:
        """Answer what was asked."""
        with contextlib.suppress(OSError):
            for request in sorted(self._folder.glob("*.json")):
                path = _read(request)
                request.unlink(missing_ok=True)
                if path is not None:
                    self.show.emit(path)

    def close(self) -> None:
        self._watcher.removePaths(self._watcher.directories())
        shutil.rmtree(self._folder, ignore_errors=True)
        with contextlib.suppress(OSError):
            asks_folder().rmdir()  # others that run have theirs in it


def _read(request: Path) -> Path | None:
    try:
        with request.open("rb") as file:
            return Path(msgspec.json.decode(file.read(NOTE_BYTES), type=_Request).path)
    except (OSError, msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        return None


def _sweep() -> None:
    """Takes away the folders of programs that ended without closing."""
    for folder in asks_folder().glob("*"):
        if folder.name.isdecimal() and not is_alive(int(folder.name)):
            shutil.rmtree(folder, ignore_errors=True)
