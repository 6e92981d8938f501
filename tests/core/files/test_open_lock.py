"""The notice "open elsewhere"."""

import json
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from core.files import open_lock
from core.files.open_lock import Holder, holder, lock_path, release, take

ROOT = Path(__file__).resolve().parents[3]


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    path = tmp_path / "van.loomplan"
    path.write_bytes(b"{}")
    return path


def write_lock(plan: Path, **changes: object) -> None:
    told = {
        "pid": os.getpid(),
        "host": open_lock.socket.gethostname(),
        "since": "2026-01-02 03:04:05 UTC",
        "started": "",
    }
    lock_path(plan).write_text(json.dumps(told | changes))


def start_other(plan: Path) -> "subprocess.Popen[str]":
    """Another process that takes the lock and keeps it until its input closes."""
    code = (
        "import sys; from pathlib import Path; from core.files.open_lock import take\n"
        "print(take(Path(sys.argv[1])), flush=True); sys.stdin.read()"
    )
    other = subprocess.Popen(
        [sys.executable, "-c", code, str(plan)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=ROOT
    )
    assert other.stdout is not None
    assert other.stdout.readline() == "None\n"
    return other


def end(other: "subprocess.Popen[str]") -> None:
    other.communicate(timeout=20)


def test_a_free_plan_is_taken_and_given_back(plan: Path) -> None:
    assert take(plan) is None
    assert lock_path(plan).exists()
    assert take(plan) is None, "the same process may open it again"
    assert holder(plan) is None
    release(plan)
    assert not lock_path(plan).exists()
    assert list(plan.parent.iterdir()) == [plan]


def test_a_plan_open_in_another_process_is_told_and_left_alone(plan: Path) -> None:
    other = start_other(plan)
    try:
        found = take(plan)
        assert found is not None
        assert found.pid == other.pid
        assert str(found).startswith(f"open elsewhere: on this computer, process {other.pid}, since 20")
        assert holder(plan) == found
        release(plan)  # not ours
        assert holder(plan) == found
        assert take(plan, anyway=True) is None
        assert holder(plan) is None
    finally:
        end(other)
    release(plan)
    assert list(plan.parent.iterdir()) == [plan]


def test_the_lock_of_a_process_that_was_killed_is_taken_over(plan: Path) -> None:
    other = start_other(plan)
    other.kill()
    end(other)
    assert lock_path(plan).exists()
    assert holder(plan) is None
    assert take(plan) is None
    assert json.loads(lock_path(plan).read_text())["pid"] == os.getpid()


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux tells when a process was started")
def test_a_number_given_to_another_process_since_is_no_holder(plan: Path) -> None:
    write_lock(plan, pid=os.getppid(), started="an earlier start of the machine 17")
    assert holder(plan) is None
    assert take(plan) is None


def test_a_lock_of_another_machine_is_never_taken_over_silently(plan: Path) -> None:
    write_lock(plan, pid=1, host="workshop-pc")
    found = take(plan)
    assert found == Holder(1, "workshop-pc", "2026-01-02 03:04:05 UTC")
    assert str(found) == "open elsewhere: on workshop-pc, process 1, since 2026-01-02 03:04:05 UTC"


@pytest.mark.parametrize("rubbish", [b"", b"{", b"[]", b"null", b'{"pid": "x"}', b"\xff\xfe", b"[" * 4000])
def test_a_lock_nobody_can_read_holds_for_a_moment_only(plan: Path, rubbish: bytes) -> None:
    lock_path(plan).write_bytes(rubbish)
    found = take(plan)
    assert found is not None, "somebody may be writing it just now"
    assert "another computer" in str(found)
    old = time.time() - 60
    os.utime(lock_path(plan), (old, old))
    assert take(plan) is None


def test_a_folder_that_takes_no_lock_hinders_nobody(plan: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def denied(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", denied)
    assert take(plan) is None
    assert holder(plan) is None
    release(plan)


def test_a_link_has_the_lock_of_its_file(plan: Path, tmp_path: Path) -> None:
    link = tmp_path / "link.loomplan"
    link.symlink_to(plan)
    assert lock_path(link) == lock_path(plan)


def test_of_many_processes_one_gets_the_plan(plan: Path) -> None:
    code = (
        "import sys; from pathlib import Path; from core.files.open_lock import take\n"
        "print('ready', flush=True); sys.stdin.readline()\n"
        "print('mine' if take(Path(sys.argv[1])) is None else 'theirs', flush=True); sys.stdin.readline()"
    )
    write_lock(plan, pid=2**22 + 1)  # above the largest number of a process: of one that has ended
    others = [
        subprocess.Popen(
            [sys.executable, "-c", code, str(plan)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=ROOT
        )
        for _ in range(4)
    ]
    try:
        for other in others:
            assert other.stdout is not None
            assert other.stdout.readline() == "ready\n"
        for other in others:
            assert other.stdin is not None
            other.stdin.write("\n")
            other.stdin.flush()
        answers = [other.stdout.readline().strip() for other in others if other.stdout is not None]
    finally:
        for other in others:
            end(other)
    assert sorted(answers) == ["mine", "theirs", "theirs", "theirs"]
