"""What stands behind a window: nothing is lost, mistakes are told, logs keep silent on plans, files lie in place."""

import errno
import logging
import os
import shutil
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication, QFileDialog, QLabel
from pytestqt.qtbot import QtBot

from app import log
from app.asks import Asked, asks_folder
from app.dialogs.ask import Question
from app.guard import Guard
from app.last_resort import LastResort, MistakeDialog
from app.main import shown_elsewhere
from app.offer import difference
from app.recovery import autosave_folder, left_over
from app.saving import OF_ONE, OnDisk, backup_folder, keep_backup
from app.settings import Settings, state_folder
from app.window import Window
from app.windows import Windows
from core.edits.records import rename, set_plan
from core.files import encode, open_lock, read_plan, safe_write
from core.model import Plan
from tests.helpers.vans import shell

ROOT = Path(__file__).resolve().parents[2]
SECRET = "Mrs Vandergelt's bus"


@pytest.fixture
def windows(qtbot: QtBot) -> Iterator[Windows]:
    made = Windows(Settings(theme="light", autosave_after_s=1.0))
    qtbot.waitExposed(made.open().window)
    yield made
    for guard in tuple(made.guards):
        guard.window.close_now()
    made.close()
    made.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


@pytest.fixture
def guard(windows: Windows) -> Guard:
    return windows.guards[0]


@pytest.fixture
def window(guard: Guard) -> Window:
    return guard.window


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "van.loomplan"
    path.write_bytes(encode(shell()))
    return path


def question(window: Window) -> Question:
    (asked,) = [each for each in window.findChildren(Question) if each.isVisible()]
    return asked


def told(dialog: Question) -> str:
    return " ".join(label.text() for label in dialog.findChildren(QLabel))


def edit(window: Window, name: str) -> None:
    window.session.commit("Rename", set_plan(window.session.plan, name=name))


# --- autosave and what it left ---------------------------------------------------------------------------------------


def test_edits_of_the_window_are_kept_and_go_when_it_closes(window: Window, guard: Guard, qtbot: QtBot) -> None:
    assert guard.recovery is not None
    with qtbot.waitSignal(guard.recovery.written, timeout=5000):
        edit(window, "Half done")
        guard.keep()
    assert [path.suffix for path in autosave_folder().glob("*.loomplan")] == [".loomplan"]
    guard.close()
    assert list(autosave_folder().iterdir()) == []


def test_what_a_crash_left_is_offered_with_time_and_difference_and_restored(
    windows: Windows, window: Window, guard: Guard, file: Path, qtbot: QtBot
) -> None:
    _leave(file)
    windows.offer()
    asked = question(window)
    text = told(asked)
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
    # it is open here now, and saved like any other
    assert open_lock.lock_path(file).exists()
    window.files.save()
    assert read_plan(file).name == "Half done"
    qtbot.waitUntil(lambda: left_over() == (), timeout=3000)


def test_a_restored_plan_whose_file_is_open_elsewhere_goes_on_without_it(
    windows: Windows, window: Window, file: Path, qtbot: QtBot
) -> None:
    other = windows.open(file)
    qtbot.waitUntil(lambda: other.window.session.path == file, timeout=3000)
    _leave(file)
    windows.offer()
    question(window).buttons["restore"].click()
    assert window.session.plan.name == "Half done"
    assert window.session.path is None
    assert not window.session.clean
    assert other.window.session.path == file
    assert open_lock.lock_path(file).exists()


def test_each_plan_a_crash_left_gets_a_window(windows: Windows, window: Window, file: Path, tmp_path: Path) -> None:
    second = tmp_path / "bus.loomplan"
    second.write_bytes(encode(shell()))
    _leave(file)
    _leave(second, "other")
    windows.offer()
    question(window).buttons["restore"].click()
    question(window).buttons["restore"].click()
    assert {guard.window.session.path for guard in windows.guards} == {file, second}


def _leave(file: Path, name: str = "left") -> Path:
    folder = autosave_folder()
    folder.mkdir(parents=True, exist_ok=True)
    left = folder / f"{name}.loomplan"
    left.write_bytes(encode(rename(set_plan(shell(), name="Half done"), "s1", "Deck")))
    left.with_suffix(".json").write_text(
        f'{{"path": "{file}", "name": "Half done", "written": "2026-03-02 12:00:00 UTC"}}'
    )
    return left


def test_later_keeps_it_and_throwing_away_deletes_it(windows: Windows, window: Window, file: Path) -> None:
    left = _leave(file)
    windows.offer()
    question(window).buttons["later"].click()
    assert left.exists()
    windows.offer()
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


def test_a_save_never_writes_over_a_change_unseen(window: Window, file: Path) -> None:
    files = window.files
    assert files.open(file)
    for choice in ("keep", "overwrite"):
        file.write_bytes(encode(set_plan(shell(), name=f"Theirs before {choice}")))
        edit(window, f"Mine before {choice}")
        files.save()
        asked = question(window)
        assert "was changed by another program since it was read" in told(asked)
        asked.buttons[choice].click()
        kept = choice == "keep"
        assert read_plan(file).name == f"{'Theirs' if kept else 'Mine'} before {choice}"
        assert window.session.clean is not kept
    # what was written over is kept
    assert "Theirs before overwrite" in {read_plan(path).name for path in backup_folder().glob("*.loomplan")}
    edit(window, "Mine again")
    files.save()  # nobody else has changed it since
    assert read_plan(file).name == "Mine again"


def test_the_other_file_is_read_and_what_was_on_the_sheet_is_kept(window: Window, file: Path) -> None:
    assert window.files.open(file)
    file.write_bytes(encode(set_plan(shell(), name="Theirs")))
    edit(window, "Mine")
    window.files.save()
    question(window).buttons["read"].click()
    assert window.session.plan.name == "Theirs"
    assert window.session.clean
    assert "Mine" in {read_plan(path).name for path in backup_folder().glob("*.loomplan")}


def test_a_copy_is_saved_beside_and_the_others_change_stays(window: Window, file: Path, tmp_path: Path) -> None:
    assert window.files.open(file)
    file.write_bytes(encode(set_plan(shell(), name="Theirs")))
    edit(window, "Mine")
    window.files.save()
    question(window).buttons["copy"].click()
    (dialog,) = [each for each in window.findChildren(QFileDialog) if each.isVisible()]
    dialog.fileSelected.emit(str(tmp_path / "copy.loomplan"))
    dialog.close()
    assert (read_plan(file).name, read_plan(tmp_path / "copy.loomplan").name) == ("Theirs", "Mine")
    assert window.session.path == tmp_path / "copy.loomplan"
    assert not open_lock.lock_path(file).exists()


def test_what_is_changed_while_it_is_read_is_seen(window: Window, file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def read_and_changed(path: Path) -> Plan:
        plan = read_plan(path)
        path.write_bytes(encode(set_plan(shell(), name="Theirs")))
        return plan

    monkeypatch.setattr("app.dialogs.files.read_plan", read_and_changed)
    assert window.files.open(file)
    assert window.files.on_disk.differs()


def test_a_file_chosen_to_be_written_over_is_kept(window: Window, file: Path) -> None:
    edit(window, "Mine")
    assert window.files.save_to(file)
    assert read_plan(file).name == "Mine"
    assert shell() in [read_plan(path) for path in backup_folder().glob("*.loomplan")]


# --- what goes wrong with a disk -------------------------------------------------------------------------------------


def _fails(name: str, number: int) -> Callable[[pytest.MonkeyPatch], None]:
    def prepare(monkeypatch: pytest.MonkeyPatch) -> None:
        def fail(*_: object, **__: object) -> None:
            raise OSError(number, os.strerror(number))

        monkeypatch.setattr(safe_write.os, name, fail)

    return prepare


@pytest.mark.parametrize(
    ("prepare", "words"),
    [
        (_fails("fsync", errno.ENOSPC), "the disk is full"),
        (_fails("replace", errno.EACCES), "you may not read or write there"),
        (_fails("replace", errno.EROFS), "the disk can only be read"),
        (_fails("replace", errno.ENOENT), "the folder is not there any more"),
    ],
)
def test_a_save_that_fails_is_told_and_nothing_is_lost(
    window: Window, guard: Guard, file: Path, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot,
    prepare: Callable[[pytest.MonkeyPatch], None], words: str,
) -> None:  # fmt: skip
    assert window.files.open(file)
    edit(window, "Mine")
    with monkeypatch.context() as fault:
        prepare(fault)
        window.files.save()
        asked = question(window)
        assert "The plan was not saved." in told(asked)
        assert words in told(asked)
        asked.close()
        # a plan that could not be saved is not lost by closing either
        assert not window.close()
        asked = question(window)
        asked.buttons["save"].click()
        assert window.isVisible()
        for each in window.findChildren(Question):
            each.close()
    assert read_plan(file) == shell()
    assert window.session.plan.name == "Mine"
    assert not window.session.clean
    assert guard.recovery is not None
    with qtbot.waitSignal(guard.recovery.written, timeout=5000):
        guard.keep()
    window.files.save()
    assert read_plan(file).name == "Mine"


def test_an_autosave_on_a_full_disk_is_told_once_and_tried_again(
    window: Window, guard: Guard, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot
) -> None:
    assert guard.recovery is not None
    heard: list[str] = []
    guard.recovery.failed.connect(heard.append)
    with monkeypatch.context() as fault:
        _fails("fsync", errno.ENOSPC)(fault)
        for number in range(3):
            edit(window, f"Edit {number}")
            guard.keep()
            qtbot.waitUntil(lambda: not guard.recovery._jobs.busy, timeout=3000)
    assert len(heard) == 1
    assert "the disk is full" in heard[0]
    with qtbot.waitSignal(guard.recovery.written, timeout=5000):
        guard.keep()
    assert read_plan(guard.recovery.file).name == "Edit 2"


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="rights of this kind are POSIX")
def test_a_vanished_folder_is_told_and_the_plan_saved_elsewhere(window: Window, file: Path, tmp_path: Path) -> None:
    inner = tmp_path / "stick"
    inner.mkdir()
    plan = file.rename(inner / file.name)
    assert window.files.open(plan)
    edit(window, "Mine")
    shutil.rmtree(inner)
    window.files.save()
    asked = question(window)
    assert "the folder is not there any more" in told(asked)
    asked.close()
    assert window.files.save_to(tmp_path / "rescued.loomplan")
    assert read_plan(tmp_path / "rescued.loomplan").name == "Mine"


# --- several windows -------------------------------------------------------------------------------------------------


def test_a_file_opened_twice_shows_its_window(windows: Windows, window: Window, file: Path, qtbot: QtBot) -> None:
    assert window.files.open(file)
    window.showMinimized()
    link = file.with_name("link.loomplan")
    link.symlink_to(file)
    windows.open_or_show(link)
    assert len(windows.guards) == 1
    assert not window.isMinimized()
    other = windows.open().window
    heard: list[str] = []
    other.files.said.connect(heard.append)
    assert not other.files.open(file)
    assert "in another window" in heard[-1]
    edit(other, "Mine")
    assert not other.files.save_to(file)
    assert "is open in another window" in told(question(other))
    assert read_plan(file) == shell()
    assert open_lock.lock_path(file).exists()


def test_windows_have_their_own_plan_undo_and_autosave(windows: Windows, file: Path, qtbot: QtBot) -> None:
    first, second = windows.guards[0], windows.open(file)
    qtbot.waitUntil(lambda: second.window.session.path == file, timeout=3000)
    for guard, name in ((first, "One"), (second, "Two")):
        assert guard.recovery is not None
        with qtbot.waitSignal(guard.recovery.written, timeout=5000):
            edit(guard.window, name)
            guard.keep()
    assert {read_plan(path).name for path in autosave_folder().glob("*.loomplan")} == {"One", "Two"}
    first.window.session.undo()
    assert second.window.session.plan.name == "Two"
    assert second.window.session.can_undo
    second.window.close_now()
    qtbot.waitUntil(lambda: windows.guards == [first], timeout=3000)
    assert not open_lock.lock_path(file).exists()
    qtbot.waitUntil(lambda: list(autosave_folder().iterdir()) == [], timeout=3000)


def test_what_is_set_in_one_window_holds_in_all_and_in_the_next(windows: Windows) -> None:
    first, second = windows.guards[0], windows.open()
    first.window.bench.change_settings(theme="dark", length_unit="in")
    assert second.window.theme.name == "dark"
    assert second.window.bench.settings.length_unit == "in"
    assert windows.open().window.theme.name == "dark"
    assert windows.settings.theme == "dark"


def test_quit_asks_for_each_and_ends_at_the_one_that_is_kept(windows: Windows, qtbot: QtBot) -> None:
    for name in ("", "Two", "Three"):
        guard = windows.open()
        if name:
            edit(guard.window, name)
    names = [guard.window.session.plan.name for guard in windows.guards]
    assert len(names) == 4
    windows.front = lambda: windows.guards[-1].window if windows.guards else None  # type: ignore[method-assign]
    windows.guards[-1].window.files.quit_asked.emit()
    question(windows.guards[-1].window).buttons["discard"].click()
    assert len(windows.guards) == 3
    question(windows.guards[-1].window).buttons["keep"].click()
    assert len(windows.guards) == 3
    windows.quit()
    question(windows.guards[-1].window).buttons["discard"].click()
    assert windows.guards == []


HOLDS = """
import sys
from pathlib import Path
from PySide6.QtCore import QCoreApplication
from app.asks import Asked
from core.files import open_lock

application = QCoreApplication([])
open_lock.take(Path(sys.argv[1]))
asked = Asked() if len(sys.argv) > 2 else None
if asked is not None:
    asked.show.connect(lambda path: (print("shown", path, flush=True)))
print("held", flush=True)
application.exec()
"""


@contextmanager
def held_elsewhere(file: Path, *options: str) -> Iterator[subprocess.Popen[str]]:
    """Another process that has the file open; with an option it answers."""
    child = subprocess.Popen(
        [sys.executable, "-c", HOLDS, str(file), *options],
        cwd=ROOT, stdout=subprocess.PIPE, text=True, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert child.stdout is not None
    try:
        with child.stdout:
            assert child.stdout.readline() == "held\n"
            yield child
    finally:
        child.kill()
        child.wait(10)


def test_a_second_program_shows_the_window_of_the_first(window: Window, file: Path, qtbot: QtBot) -> None:
    with held_elsewhere(file, "answers") as child:
        assert child.stdout is not None
        done = subprocess.run(
            [sys.executable, "-m", "app", str(file)],
            cwd=ROOT, capture_output=True, text=True, timeout=60, env={**os.environ, "PYTHONPATH": str(ROOT)},
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
        assert "is open already" in done.stdout
        assert child.stdout.readline() == f"shown {file}\n"
        heard: list[str] = []
        window.files.said.connect(heard.append)
        assert not window.files.open(file)
        qtbot.waitUntil(lambda: bool(heard), timeout=5000)
        assert "was asked to come to the front" in heard[0]
        assert child.stdout.readline() == f"shown {file}\n"
        assert window.session.path is None


def test_where_nobody_answers_it_is_open_elsewhere(window: Window, file: Path, qtbot: QtBot) -> None:
    with held_elsewhere(file):
        assert not shown_elsewhere(file)
        assert not window.files.open(file)
        asked = question(window)
        assert "is open elsewhere" in told(asked)
        edit(window, "Mine")
        assert not window.files.save_to(file)
        asked.buttons["open"].click()
        assert window.session.path == file


def test_a_request_is_answered_and_what_is_no_request_is_passed_over(
    qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    gone = asks_folder() / "4194305"
    gone.mkdir(parents=True)
    (gone / "x.json").write_text("{}")
    asked, seen = Asked(), list[Path]()
    asked.show.connect(seen.append)
    assert not gone.exists()
    folder = asks_folder() / str(os.getpid())
    (folder / "bad.json").write_bytes(b"{\xff")
    (folder / "deep.json").write_text("[" * 5_000)
    (folder / "good.json").write_text('{"path": "/a/van.loomplan"}')
    qtbot.waitUntil(lambda: seen == [Path("/a/van.loomplan")], timeout=3000)
    qtbot.waitUntil(lambda: list(folder.iterdir()) == [], timeout=3000)
    asked.close()
    assert not asks_folder().exists()


# --- mistakes of the program -----------------------------------------------------------------------------------------


def fail() -> None:
    secret = SECRET
    raise ZeroDivisionError(f"no such {secret}")


def caught(resort: LastResort) -> None:
    try:
        fail()
    except ZeroDivisionError as error:
        resort.caught(type(error), error, error.__traceback__)


def test_a_mistake_keeps_the_work_is_told_and_can_be_copied(
    windows: Windows, window: Window, guard: Guard, qtbot: QtBot
) -> None:
    assert guard.recovery is not None
    window.session.commit("Rename", set_plan(window.session.plan, name="Half done"))
    with qtbot.waitSignal(guard.recovery.written, timeout=5000):
        caught(windows.last_resort)
    dialog = windows.last_resort.dialog
    assert dialog is not None
    assert dialog.isVisible()
    assert "ZeroDivisionError: no such" in dialog.text.toPlainText()
    assert "Qt 6" in dialog.text.toPlainText()
    dialog.copy.click()
    assert QGuiApplication.clipboard().text() == dialog.text.toPlainText()
    dialog.go_on.click()
    assert windows.last_resort.dialog is None
    window.session.commit("Rename", set_plan(window.session.plan, name="Gone on"))
    assert window.session.plan.name == "Gone on"


def test_one_that_comes_with_every_frame_is_told_once(windows: Windows, window: Window) -> None:
    for _ in range(50):
        caught(windows.last_resort)
    assert len([each for each in window.findChildren(MistakeDialog) if each.isVisible()]) == 1
    dialog = windows.last_resort.dialog
    assert dialog is not None
    assert dialog.text.toPlainText().count("ZeroDivisionError: ") == 1
    dialog.accept()


def test_one_on_another_thread_is_told_on_the_thread_of_the_window(windows: Windows, qtbot: QtBot) -> None:
    thread = threading.Thread(target=caught, args=(windows.last_resort,))
    thread.start()
    thread.join()
    qtbot.waitUntil(lambda: windows.last_resort.dialog is not None, timeout=3000)
    assert windows.last_resort.dialog is not None
    windows.last_resort.dialog.accept()


def test_a_save_that_fails_in_the_last_resort_ends_in_the_log(window: Window, tmp_path: Path) -> None:
    def save() -> None:
        raise OSError("the disk is full")

    handler = log.start(tmp_path)
    resort = LastResort(lambda: window, save)
    caught(resort)
    log.stop(handler)
    assert "OSError" in (tmp_path / log.NAME).read_text()


def test_the_hooks_are_put_back(window: Window) -> None:
    before = sys.excepthook, threading.excepthook
    resort = LastResort(lambda: window, lambda: None)
    resort.install()
    assert sys.excepthook == resort.caught
    resort.remove()
    assert (sys.excepthook, threading.excepthook) == before


def test_the_log_tells_where_but_not_what_of_the_plan(
    windows: Windows, window: Window, monkeypatch: pytest.MonkeyPatch
) -> None:
    window.session.commit("Rename", set_plan(window.session.plan, name=SECRET))
    caught(windows.last_resort)
    logged = (state_folder() / log.NAME).read_text()
    assert "ZeroDivisionError" in logged
    assert "in fail" in logged
    assert SECRET not in logged
    assert "Loomwright" in logged
    assert windows.last_resort.dialog is not None
    windows.last_resort.dialog.accept()
    monkeypatch.setenv(log.ALL, "1")
    caught(windows.last_resort)
    assert SECRET in (state_folder() / log.NAME).read_text()
    windows.last_resort.dialog.accept()


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
from app.main import make_application
from app.windows import Windows
from app import settings as stored
from core.edits.records import set_plan

file = Path(sys.argv[1])
application = make_application()
windows = Windows(stored.load())
guard = windows.open(file)
window = guard.window
windows.offer()

def work():
    window.session.commit("Rename", set_plan(window.session.plan, name="Edited"))
    guard.keep()
    window.session.analysis_now()
    window.files.save_to(file)
    QTimer.singleShot(300, window.close)

QTimer.singleShot(100, work)
application.exec()
windows.close()
stored.save(windows.settings)
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
