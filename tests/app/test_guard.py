"""What stands behind a window: nothing is lost, mistakes are told, logs keep silent on plans, files lie in place."""

import logging
import os
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app import log
from app.dialogs.ask import Question
from app.guard import Guard, difference
from app.last_resort import LastResort, MistakeDialog
from app.main import make_window
from app.recovery import autosave_folder, left_over
from app.saving import OF_ONE, OnDisk, backup_folder, keep_backup
from app.settings import Settings, state_folder
from app.window import Window
from core.edits.records import rename, set_plan
from core.files import encode, open_lock, read_plan
from tests.helpers.vans import shell

ROOT = Path(__file__).resolve().parents[2]
SECRET = "Mrs Vandergelt's bus"


@pytest.fixture
def window(qtbot: QtBot) -> Iterator[Window]:
    made = make_window(Settings(theme="light", autosave_after_s=1.0))
    made.show()
    qtbot.waitExposed(made)
    yield made
    made._closing = True
    made.close()
    made.deleteLater()


@pytest.fixture
def guard(window: Window) -> Iterator[Guard]:
    made = Guard(window)
    yield made
    made.close()


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "van.loomplan"
    path.write_bytes(encode(shell()))
    return path


def question(window: Window) -> Question:
    (asked,) = [each for each in window.findChildren(Question) if each.isVisible()]
    return asked


# --- autosave and what it left ---------------------------------------------------------------------------------------


def test_edits_of_the_window_are_kept_and_go_when_it_closes(window: Window, qtbot: QtBot) -> None:
    guard = Guard(window)
    assert guard.recovery is not None
    with qtbot.waitSignal(guard.recovery.written, timeout=5000):
        window.session.commit("Rename", set_plan(window.session.plan, name="Half done"))
        guard.recovery.write_now()
    assert [path.suffix for path in autosave_folder().glob("*.loomplan")] == [".loomplan"]
    guard.close()
    assert list(autosave_folder().iterdir()) == []


def test_what_a_crash_left_is_offered_with_time_and_difference_and_restored(
    window: Window, guard: Guard, file: Path, qtbot: QtBot
) -> None:
    _leave(file)
    guard.offer()
    asked = question(window)
    text = " ".join(label.text() for label in asked.findChildren(type(asked.findChild(object, "dialogHeadline"))))
    assert "“Half done” was not saved" in text
    assert "It was kept at 02 Mar 2026" in text
    assert f"Its file is {file}" in text
    assert "0 things were added, 1 changed and 0 deleted" in text
    assert guard.recovery is not None
    with qtbot.waitSignal(guard.recovery.written, timeout=5000):
        asked.buttons["restore"].click()
    assert window.session.plan.name == "Half done"
    assert window.session.path == file
    assert not window.session.clean
    assert read_plan(file) == shell()


def _leave(file: Path) -> Path:
    folder = autosave_folder()
    folder.mkdir(parents=True)
    left = folder / "left.loomplan"
    left.write_bytes(encode(rename(set_plan(shell(), name="Half done"), "s1", "Deck")))
    left.with_suffix(".json").write_text(
        f'{{"path": "{file}", "name": "Half done", "written": "2026-03-02 12:00:00 UTC"}}'
    )
    return left


def test_later_keeps_it_and_throwing_away_deletes_it(window: Window, guard: Guard, file: Path) -> None:
    left = _leave(file)
    guard.offer()
    question(window).buttons["later"].click()
    assert left.exists()
    guard.offer()
    question(window).buttons["discard"].click()
    assert left_over() == ()
    assert not left.exists()


def test_difference_counts_by_records() -> None:
    van = shell()
    assert difference(van, van) == "Both hold the same."
    assert difference(van, set_plan(van, name="Other")) == "Its name or settings differ from the file's."
    assert "0 things were added, 1 changed" in difference(van, rename(van, "s2", "Side"))


# --- backups and changes on disk -------------------------------------------------------------------------------------


def test_the_file_is_kept_as_it_was_opened(window: Window, guard: Guard, file: Path, qtbot: QtBot) -> None:
    window.files.open(file)
    qtbot.waitUntil(lambda: backup_folder().exists() and len(list(backup_folder().iterdir())) == 1, timeout=3000)
    window.session.commit("Rename", set_plan(window.session.plan, name="Changed"))
    assert window.files.save_to(file)
    (backup,) = backup_folder().iterdir()
    assert read_plan(backup) == shell()
    assert read_plan(file).name == "Changed"


def test_backups_are_few_and_equal_ones_are_kept_once(tmp_path: Path) -> None:
    folder, plan = tmp_path / "backups", tmp_path / "Bus (alt).loomplan"
    for number in range(OF_ONE + 5):
        plan.write_bytes(encode(set_plan(shell(), name=f"Plan {number}")))
        assert keep_backup(plan, folder) == keep_backup(plan, folder)
    kept = sorted(folder.iterdir())
    assert len(kept) == OF_ONE
    assert read_plan(kept[-1]).name == f"Plan {OF_ONE + 4}"
    other = tmp_path / "other" / plan.name
    other.parent.mkdir()
    other.write_bytes(encode(shell()))
    assert keep_backup(other, folder) not in kept
    assert len(list(folder.iterdir())) == OF_ONE + 1


def test_a_backup_that_cannot_be_made_hinders_nobody(tmp_path: Path) -> None:
    assert keep_backup(tmp_path / "gone.loomplan", tmp_path / "backups") is None
    plan, blocked = tmp_path / "a.loomplan", tmp_path / "file"
    plan.write_bytes(b"{}")
    blocked.write_bytes(b"")
    assert keep_backup(plan, blocked / "backups") is None


def test_a_change_on_disk_is_seen_once_and_our_own_saving_is_none(tmp_path: Path) -> None:
    plan, disk = tmp_path / "a.loomplan", OnDisk()
    assert not disk.changed()
    plan.write_bytes(b"one")
    disk.is_now(plan)
    assert not disk.changed()
    plan.write_bytes(b"two, longer")
    assert disk.changed()
    assert not disk.changed()
    os.utime(plan, (1, 1))  # touched, not changed
    assert not disk.changed()
    plan.unlink()
    assert not disk.changed()


def test_the_window_tells_a_change_and_loads_it(
    window: Window, guard: Guard, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(QApplication, "applicationState", lambda: Qt.ApplicationState.ApplicationActive)
    window.files.open(file)
    window.files.save_to(file)
    guard.look()
    assert not [each for each in window.findChildren(Question) if each.isVisible()]
    file.write_bytes(encode(set_plan(shell(), name="From elsewhere")))
    guard.look()
    question(window).buttons["load"].click()
    assert window.session.plan.name == "From elsewhere"


# --- mistakes of the program -----------------------------------------------------------------------------------------


def fail() -> None:
    secret = SECRET
    raise ZeroDivisionError(f"no such {secret}")


def caught(resort: LastResort) -> None:
    try:
        fail()
    except ZeroDivisionError as error:
        resort.caught(type(error), error, error.__traceback__)


def test_a_mistake_keeps_the_work_is_told_and_can_be_copied(window: Window, guard: Guard, qtbot: QtBot) -> None:
    assert guard.recovery is not None
    window.session.commit("Rename", set_plan(window.session.plan, name="Half done"))
    with qtbot.waitSignal(guard.recovery.written, timeout=5000):
        caught(guard.last_resort)
    dialog = guard.last_resort.dialog
    assert dialog is not None
    assert dialog.isVisible()
    assert "ZeroDivisionError: no such" in dialog.text.toPlainText()
    assert "Qt 6" in dialog.text.toPlainText()
    dialog.copy.click()
    assert QGuiApplication.clipboard().text() == dialog.text.toPlainText()
    dialog.go_on.click()
    assert guard.last_resort.dialog is None
    window.session.commit("Rename", set_plan(window.session.plan, name="Gone on"))
    assert window.session.plan.name == "Gone on"


def test_one_that_comes_with_every_frame_is_told_once(window: Window, guard: Guard) -> None:
    for _ in range(50):
        caught(guard.last_resort)
    assert len([each for each in window.findChildren(MistakeDialog) if each.isVisible()]) == 1
    dialog = guard.last_resort.dialog
    assert dialog is not None
    assert dialog.text.toPlainText().count("ZeroDivisionError: ") == 1
    dialog.accept()


def test_one_on_another_thread_is_told_on_the_thread_of_the_window(guard: Guard, qtbot: QtBot) -> None:
    thread = threading.Thread(target=caught, args=(guard.last_resort,))
    thread.start()
    thread.join()
    qtbot.waitUntil(lambda: guard.last_resort.dialog is not None, timeout=3000)
    assert guard.last_resort.dialog is not None
    guard.last_resort.dialog.accept()


def test_a_save_that_fails_in_the_last_resort_ends_in_the_log(window: Window, tmp_path: Path) -> None:
    def save() -> None:
        raise OSError("the disk is full")

    handler = log.start(tmp_path)
    resort = LastResort(window, save)
    caught(resort)
    log.stop(handler)
    assert "OSError" in (tmp_path / log.NAME).read_text()


def test_the_hooks_are_put_back(window: Window) -> None:
    before = sys.excepthook, threading.excepthook
    resort = LastResort(window, lambda: None)
    resort.install()
    assert sys.excepthook == resort.caught
    resort.remove()
    assert (sys.excepthook, threading.excepthook) == before


def test_the_log_tells_where_but_not_what_of_the_plan(
    window: Window, guard: Guard, monkeypatch: pytest.MonkeyPatch
) -> None:
    window.session.commit("Rename", set_plan(window.session.plan, name=SECRET))
    caught(guard.last_resort)
    logged = (state_folder() / log.NAME).read_text()
    assert "ZeroDivisionError" in logged
    assert "in fail" in logged
    assert SECRET not in logged
    assert "Loomwright" in logged
    assert guard.last_resort.dialog is not None
    guard.last_resort.dialog.accept()
    monkeypatch.setenv(log.ALL, "1")
    caught(guard.last_resort)
    assert SECRET in (state_folder() / log.NAME).read_text()
    guard.last_resort.dialog.accept()


def test_logs_rotate_and_a_log_that_cannot_be_written_is_nothing(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    handler = log.start(tmp_path)
    for _ in range(30):
        log.LOG.info("x" * 50_000)
    log.stop(handler)
    files = list(tmp_path.iterdir())
    assert len(files) == log.OLDER + 1
    assert sum(file.stat().st_size for file in files) <= (log.OLDER + 1) * log.LARGEST_BYTES
    blocked = tmp_path / "file"
    blocked.write_bytes(b"")
    handler = log.start(blocked / "state")
    log.LOG.info("nowhere to go")
    log.stop(handler)
    assert capfd.readouterr().err == ""
    assert not {handler} & set(logging.getLogger("loomwright").handlers)


# --- quietness -------------------------------------------------------------------------------------------------------

QUIET = """
import os, sys
from pathlib import Path

seen = []
WRITING = ("os.mkdir", "os.rename", "os.remove", "os.rmdir", "os.link", "os.symlink", "os.truncate", "shutil.move")

def hook(event, args):
    if event == "open" and args[0] is not None and isinstance(args[0], (str, bytes, os.PathLike)):
        flags = args[2] or 0
        if (isinstance(args[1], str) and set(args[1]) & set("wax+")) or flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT):
            seen.append(("write", os.fsdecode(args[0])))
    elif event in WRITING:
        seen.append(("write", os.fsdecode(args[0])))
    elif event.startswith("socket.") and event != "socket.gethostname":
        seen.append(("socket", event))
    elif event in ("subprocess.Popen", "os.exec", "os.posix_spawn", "webbrowser.open", "urllib.Request"):
        seen.append(("started", event))

sys.addaudithook(hook)
from PySide6.QtCore import QTimer
from app.guard import Guard
from app.main import first, make_application, make_window
from app import settings as stored
from core.edits.records import set_plan

file = Path(sys.argv[1])
application = make_application()
window = make_window(stored.load())
guard = Guard(window)
window.show()
first(window, file)
guard.offer()

def work():
    window.session.commit("Rename", set_plan(window.session.plan, name="Edited"))
    guard.recovery.write_now()
    window.session.analysis_now()
    window.files.save_to(file)
    QTimer.singleShot(300, window.close)

QTimer.singleShot(100, work)
application.exec()
guard.close()
stored.save(window.bench.settings)
for kind, what in seen:
    print(kind, what)
print("network", "PySide6.QtNetwork" in sys.modules)
print("done")
"""


def test_a_whole_session_opens_no_socket_and_writes_only_where_it_may(file: Path, tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.mkdir()
    environment = {
        **{name: text for name, text in os.environ.items() if not name.startswith("XDG_")},
        "HOME": str(home),
        "USERPROFILE": str(home),
        "QT_QPA_PLATFORM": "offscreen",
        "PYTHONPATH": str(ROOT),
        "PYTHONDONTWRITEBYTECODE": "1",
        "XDG_STATE_HOME": str(home / ".local" / "state"),
        "XDG_CONFIG_HOME": str(home / ".config"),
        "XDG_CACHE_HOME": str(home / ".cache"),
    }
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", QUIET, str(file)],
        cwd=tmp_path, env=environment, capture_output=True, text=True, timeout=90,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    lines = done.stdout.splitlines()
    assert lines[-1] == "done"
    assert "network False" in lines
    assert [line for line in lines if line.startswith(("socket", "started"))] == []
    allowed = (str(home / ".config"), str(home / ".local"), str(home / ".cache"), str(file.parent), os.devnull)
    strange = [line for line in lines if line.startswith("write") and not line[6:].startswith(allowed)]
    assert strange == []
    # what Qt writes by itself the hook does not see; the folder shows it
    kept = {str(path.relative_to(home)) for path in home.rglob("*") if path.is_file()}
    assert all(name.startswith((".config/loomwright/", ".local/state/loomwright/", ".cache/")) for name in kept)
    assert ".config/loomwright/settings.json" in kept
    assert read_plan(file).name == "Edited"
    beside = {path.name for path in file.parent.iterdir()} - {"home"}
    assert beside == {file.name}
    assert not open_lock.lock_path(file).exists()
