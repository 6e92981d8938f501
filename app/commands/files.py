"""New, open, save, close."""

from functools import partial
from pathlib import Path

from app.commands.action import Action
from app.commands.bench import Bench
from app.commands.surveying import print_survey
from app.dialogs.new_vehicle import NewVehicleDialog


def _saved(bench: Bench) -> str:
    return "Everything is saved." if bench.session.path is not None and bench.session.clean else ""


def new_vehicle(bench: Bench) -> None:
    bench.files.when_safe(partial(_ask_new, bench))


def _ask_new(bench: Bench) -> None:
    NewVehicleDialog(
        bench.window, bench.library, bench.desk.unit, bench.view.theme, bench.files.start, partial(print_survey, bench)
    ).open()


def open_recent(bench: Bench, path: Path) -> None:
    bench.files.when_safe(partial(bench.files.open, path))


ACTIONS = (
    Action("new", "New vehicle…", "File", new_vehicle, "Ctrl+N", stages=("survey",)),
    Action("open", "Open…", "File", lambda b: b.files.ask_open(), "Ctrl+O"),
    Action("new-window", "New window", "File", lambda b: b.files.window_asked.emit(None), "Ctrl+Shift+N"),
    Action("open-window", "Open in a new window…", "File", lambda b: b.files.ask_open(new_window=True),
           "Ctrl+Shift+O"),
    Action("save", "Save", "File", lambda b: b.files.save(), "Ctrl+S", _saved, parted=True),
    Action("save-as", "Save as…", "File", lambda b: b.files.ask_save_as(), "Ctrl+Shift+S"),
    Action("close", "Close window", "File", lambda b: b.window.close(), "Ctrl+Shift+W", parted=True),
    Action("quit", "Quit", "File", lambda b: b.files.quit_asked.emit(), "Ctrl+Q"),
)  # fmt: skip
