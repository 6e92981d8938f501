"""The guards of tests/conftest.py fail the tests that they should fail: each is tried on a small suite of its own."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
OFFENDERS = """
import os, socket, threading, time, warnings
import pytest

def test_thread():
    threading.Thread(target=time.sleep, args=(5,), name="forgotten", daemon=True).start()

def test_thread_that_ends_soon():
    threading.Thread(target=time.sleep, args=(0.2,)).start()

def test_swallowed_connection():
    try:
        socket.create_connection(("192.0.2.1", 80), timeout=1)
    except OSError:
        pass

def test_own_machine_unmarked():
    with pytest.raises(OSError):
        socket.create_connection(("127.0.0.1", 9), timeout=1)

@pytest.mark.network
def test_own_machine_marked():
    with socket.create_server(("127.0.0.1", 0)) as server:
        socket.create_connection(server.getsockname(), timeout=5).close()

def test_python_warning():
    warnings.warn("old", DeprecationWarning)

def test_qt_warning():
    from PySide6.QtCore import qWarning
    qWarning("something is wrong")

def test_writes_home():
    open(os.path.expanduser("~/left"), "w").close()

def test_finds_home_clean():
    assert not os.path.exists(os.path.expanduser("~/left"))
    assert "loomwright-tests-" in os.path.expanduser("~")

def test_platform(qapp):
    assert qapp.platformName() == "offscreen"

@pytest.mark.nonsense
def test_never_runs():
    pass
"""


def run_suite(folder: Path, source: str) -> str:
    shutil.copy(ROOT / "pyproject.toml", folder)
    (folder / "tests").mkdir()
    shutil.copy(ROOT / "tests" / "conftest.py", folder / "tests")
    (folder / "tests" / "test_offenders.py").write_text(source)
    run = subprocess.run(
        [sys.executable, "-m", "pytest", "-v", "--no-header", "-p", "no:cacheprovider"],
        cwd=folder,
        # A person's own platform must not come through.
        env=os.environ | {"QT_QPA_PLATFORM": "xcb", "DISPLAY": "", "COLUMNS": "300"},
        capture_output=True,
        encoding="utf-8",
        timeout=100,
    )
    return run.stdout + run.stderr


def test_guards_fail_what_they_should(tmp_path: Path) -> None:
    output = run_suite(tmp_path, OFFENDERS.replace("@pytest.mark.nonsense\n", ""))
    summary = output.rpartition("short test summary info")[2]
    for name, reason in {
        "test_thread": "threads left running: forgotten",
        "test_swallowed_connection": "reached for the network: 192.0.2.1:80",
        "test_own_machine_unmarked": "reached for the network: 127.0.0.1:9",
        "test_python_warning": "DeprecationWarning: old",
    }.items():
        assert any(f"::{name} - " in line and reason in line for line in summary.splitlines()), (name, output)
    assert "::test_qt_warning FAILED" in output, output
    assert "Qt messages with level WARNING or above emitted" in output, output
    for name in (
        "test_thread_that_ends_soon",
        "test_own_machine_marked",
        "test_writes_home",
        "test_finds_home_clean",
        "test_platform",
    ):
        assert f"::{name} PASSED" in output, output
        assert f"::{name} - " not in summary, output


def test_unknown_mark_is_an_error(tmp_path: Path) -> None:
    assert "'nonsense' not found in `markers`" in run_suite(tmp_path, OFFENDERS)
