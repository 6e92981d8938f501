"""What holds for every test: no screen, no network, no home, no thread left behind, no warning unseen.

Warnings of Python fail by `filterwarnings`, those of Qt by pytest-qt's `qt_log_level_fail`, both in pyproject.toml.
"""

from __future__ import annotations

import errno
import os
import shutil
import socket
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

# Before anything imports Qt. A person may watch the tests: LOOMWRIGHT_TEST_PLATFORM=xcb python3 -m tests
os.environ["QT_QPA_PLATFORM"] = os.environ.get("LOOMWRIGHT_TEST_PLATFORM", "offscreen")

HOME = Path(tempfile.mkdtemp(prefix="loomwright-tests-"))
HOME_FOLDERS = {
    "HOME": HOME,
    "USERPROFILE": HOME,
    "XDG_CONFIG_HOME": HOME / ".config",
    "XDG_DATA_HOME": HOME / ".local" / "share",
    "XDG_STATE_HOME": HOME / ".local" / "state",
    "XDG_CACHE_HOME": HOME / ".cache",
    "LOCALAPPDATA": HOME / "AppData" / "Local",
    "APPDATA": HOME / "AppData" / "Roaming",
}
os.environ.update({name: str(folder) for name, folder in HOME_FOLDERS.items()})

settings.register_profile("quick", max_examples=50, deadline=None, database=None)
settings.register_profile(
    "ci",
    max_examples=100,
    deadline=None,
    database=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE") or ("ci" if os.environ.get("CI") else "quick"))

THREAD_GRACE_S = 2.0


def pytest_unconfigure() -> None:
    shutil.rmtree(HOME, ignore_errors=True)


@pytest.fixture(autouse=True)
def _clean_home() -> Iterator[None]:
    """What a test wrote into the home folder is not seen by the next one."""
    yield
    for entry in HOME.iterdir():
        shutil.rmtree(entry) if entry.is_dir() else entry.unlink()


@pytest.fixture(autouse=True)
def _no_thread_left() -> Iterator[None]:
    before = set(threading.enumerate())
    yield
    deadline = time.monotonic() + THREAD_GRACE_S
    while (left := leftover_threads(before)) and time.monotonic() < deadline:
        time.sleep(0.01)
    if left:
        pytest.fail(f"threads left running: {', '.join(left)}", pytrace=False)


def leftover_threads(before: set[threading.Thread]) -> list[str]:
    """Names of threads that run now and did not before; Qt's own pool counts while it works."""
    # Python keeps a dummy for every foreign thread that ever called it, ended or not.
    new = [t for t in threading.enumerate() if t not in before and not isinstance(t, threading._DummyThread)]
    names = [thread.name for thread in new]
    if (qt := sys.modules.get("PySide6.QtCore")) is not None and qt.QThreadPool.globalInstance().activeThreadCount():
        names.append("Qt's global thread pool")
    return names


@pytest.fixture(autouse=True)
def _no_network(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Every connection to an internet address is refused, and fails the test even when its error is swallowed.

    Tests marked `network` may reach servers of their own on this machine.
    """
    attempts: list[str] = []
    own_machine_allowed = request.node.get_closest_marker("network") is not None

    def guarded(real: Any) -> Any:
        def connect(self: socket.socket, address: Any) -> Any:
            if self.family in (socket.AF_INET, socket.AF_INET6):
                on_own_machine = address[0] in ("127.0.0.1", "::1", "localhost")
                if not (own_machine_allowed and on_own_machine):
                    attempts.append(f"{address[0]}:{address[1]}")
                    raise OSError(errno.ENETUNREACH, "tests have no network")
            return real(self, address)

        return connect

    monkeypatch.setattr(socket.socket, "connect", guarded(socket.socket.connect))
    monkeypatch.setattr(socket.socket, "connect_ex", guarded(socket.socket.connect_ex))
    yield
    if attempts:
        pytest.fail(f"the test reached for the network: {', '.join(attempts)}", pytrace=False)
