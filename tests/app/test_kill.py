"""Processes killed in the middle of their work lose no plan. Longer: python3 -m tests.soak.kill."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
ROUNDS = 14


@pytest.mark.skipif(not hasattr(os, "fork"), reason="the processes are forked from one that has loaded everything")
def test_whenever_it_is_killed_the_files_are_whole_and_only_what_autosave_waits_for_is_lost() -> None:
    # a process of its own: forking one that runs tests and Qt would carry both into the children
    done = subprocess.run(
        [sys.executable, "-m", "tests.soak.kill", str(ROUNDS), "3"],
        cwd=ROOT, capture_output=True, text=True, timeout=300, env={**os.environ, "QT_QPA_PLATFORM": "offscreen"},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert f"{ROUNDS} processes killed" in done.stdout
    assert "every file whole" in done.stdout
    assert "no edit lost whose writing was told" in done.stdout
