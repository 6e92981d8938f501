"""Several windows of one program, and a plan that another process has open."""

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app.asks import Asked, asks_folder
from app.main import shown_elsewhere
from app.recovery import autosave_folder
from app.window import Window
from app.windows import Windows
from core.files import open_lock, read_plan
from tests.helpers.asked import edit, question, told
from tests.helpers.vans import shell

ROOT = Path(__file__).resolve().parents[2]


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
