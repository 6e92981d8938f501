"""What stands behind a window: nothing is lost by a crash, another program, a disk that fails."""

import errno
import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QFileDialog
from pytestqt.qtbot import QtBot

from app.dialogs.ask import Question
from app.guard import Guard
from app.offer import difference
from app.recovery import autosave_folder, left_over
from app.saving import OF_ONE, OnDisk, backup_folder, keep_backup
from app.window import Window
from app.windows import Windows
from core.edits.records import rename, set_plan
from core.files import encode, open_lock, read_plan, safe_write
from core.model import Plan
from tests.helpers.asked import edit, question, told
from tests.helpers.vans import shell

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
