"""A crash loses at most a few seconds of work; closing in good order leaves nothing behind."""

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app.recovery import Recovery, autosave_folder, discard, left_over, recovered
from app.session import Session
from core.edits.records import rename, set_plan
from core.errors import FileProblem
from core.files import encode
from core.files.library import load_library
from tests.helpers.vans import shell

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def session(qtbot: QtBot) -> Iterator[Session]:
    made = Session(load_library(), shell())
    yield made
    made.close()


@pytest.fixture
def recovery(session: Session) -> Iterator[Recovery]:
    made = Recovery(session, quiet_s=0.02)
    yield made
    made.close()


def _in_folder() -> list[str]:
    folder = autosave_folder()
    return sorted(path.suffix for path in folder.iterdir()) if folder.exists() else []


def test_nothing_is_written_before_an_edit(session: Session, recovery: Recovery, qtbot: QtBot) -> None:
    recovery.write_now()
    qtbot.wait(60)
    assert _in_folder() == []


def test_an_edit_is_written_and_goes_when_it_is_saved(
    session: Session, recovery: Recovery, qtbot: QtBot, tmp_path: Path
) -> None:
    with qtbot.waitSignal(recovery.written, timeout=3000):
        session.commit("Rename", rename(session.plan, "s1", "Deck"))
    assert left_over() == ()  # a session of this very program needs no rescue
    session.mark_saved(tmp_path / "van.loomplan")
    qtbot.waitUntil(lambda: _in_folder() == [], timeout=3000)


def test_many_edits_are_written_once_they_pause(session: Session, recovery: Recovery, qtbot: QtBot) -> None:
    count = 0

    def counted() -> None:
        nonlocal count
        count += 1

    recovery.written.connect(counted)
    for number in range(20):
        session.commit("Rename", set_plan(session.plan, name=f"Plan {number}"))
    qtbot.waitUntil(lambda: count > 0, timeout=3000)
    qtbot.wait(60)
    assert count == 1
    assert json.loads(recovery.file.read_bytes())["name"] == "Plan 19"


def test_closing_in_good_order_leaves_nothing(session: Session, qtbot: QtBot) -> None:
    recovery = Recovery(session, quiet_s=0.02)
    with qtbot.waitSignal(recovery.written, timeout=3000):
        session.commit("Rename", set_plan(session.plan, name="Other"))
    recovery.close()
    assert _in_folder() == []


CRASHES = """
import sys
from pathlib import Path
from PySide6.QtCore import QCoreApplication
from app.recovery import Recovery
from app.session import Session
from core.edits.records import set_plan
from core.files.library import load_library
from tests.helpers.vans import shell

app = QCoreApplication([])
session = Session(load_library(), shell(), Path(sys.argv[1]))
recovery = Recovery(session, quiet_s=0.02)
recovery.written.connect(lambda: print("written", flush=True))
session.commit("Rename", set_plan(session.plan, name="Half done"))
app.exec()
"""


def test_a_killed_program_leaves_its_plan_for_the_next_start(tmp_path: Path) -> None:
    child = subprocess.Popen(
        [sys.executable, "-c", CRASHES, str(tmp_path / "van.loomplan")],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert child.stdout is not None
    with child.stdout:
        assert child.stdout.readline() == b"written\n"
        assert left_over() == ()  # it still runs
        child.send_signal(signal.SIGKILL)
        child.wait(10)
    (left,) = left_over()
    assert left.name == "Half done"
    assert left.original == (tmp_path / "van.loomplan").resolve()
    assert left.written.endswith("UTC")
    assert recovered(left) == set_plan(shell(), name="Half done")
    discard(left)
    assert left_over() == ()


def test_what_was_left_is_taken_up_as_unsaved_work(
    session: Session, recovery: Recovery, qtbot: QtBot, tmp_path: Path
) -> None:
    folder = autosave_folder()
    folder.mkdir(parents=True)
    (folder / "left.loomplan").write_bytes(encode(set_plan(shell(), name="Half done")))
    (left,) = left_over()
    with qtbot.waitSignal(recovery.written, timeout=3000):
        recovery.take_up(left)
        assert left.file.exists()  # until it is safe elsewhere
    assert session.plan.name == "Half done"
    assert not session.clean
    assert not left.file.exists()
    assert recovery.file.exists()


def test_what_cannot_be_read_is_told_and_kept() -> None:
    folder = autosave_folder()
    folder.mkdir(parents=True)
    (folder / "broken.loomplan").write_text("{")
    (folder / "broken.json").write_text("[" * 5000)
    (left,) = left_over()
    assert left.original is None
    with pytest.raises(FileProblem):
        recovered(left)
    assert left.file.exists()


def test_a_folder_that_takes_no_files_is_told_once(session: Session, qtbot: QtBot, tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("no folder")
    recovery = Recovery(session, blocked / "autosave", quiet_s=0.01)
    told: list[str] = []
    recovery.failed.connect(told.append)
    for number in range(3):
        session.commit("Rename", set_plan(session.plan, name=f"Plan {number}"))
        recovery.write_now()
        qtbot.waitUntil(lambda: not recovery._jobs.busy, timeout=3000)
    assert len(told) == 1
    assert told[0].startswith("Edits are not kept for a crash: ")
    recovery.close()


def test_waiting_is_not_for_ever_under_steady_work(
    session: Session, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("app.recovery.AT_LEAST_S", 0.2)
    recovery = Recovery(session, quiet_s=0.15)
    recovery._at_least.setInterval(200)
    with qtbot.waitSignal(recovery.written, timeout=3000):
        ends = time.monotonic() + 0.6
        number = 0
        while time.monotonic() < ends:
            session.commit("Rename", set_plan(session.plan, name=f"Plan {number}"))
            number += 1
            qtbot.wait(20)
    recovery.close()
