"""The load list in and out as CSV, and the circuit table."""

from functools import partial
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QFileDialog

from app.commands.action import Action, no_surface
from app.commands.bench import Bench
from app.dialogs.ask import tell_problem
from app.dialogs.files import file_name
from core.errors import FileProblem
from core.files.safe_write import write_bytes
from core.model import Plan

FILTER = "Load list (*.csv)"


def _no_loads(bench: Bench) -> str:
    return "" if bench.plan.devices else "There are no devices to list yet."


def export_loads(bench: Bench) -> None:
    name = Path(file_name(bench.plan.name)).stem + "-loads.csv"
    dialog = QFileDialog(bench.window, "Export load list", str(Path(_folder(bench)) / name), FILTER)
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
    dialog.setDefaultSuffix("csv")
    dialog.fileSelected.connect(partial(_export, bench))
    dialog.open()


def _export(bench: Bench, path: str) -> None:
    from core.exports.load_list import load_list_bytes

    try:
        write_bytes(Path(path), load_list_bytes(bench.plan))
    except FileProblem as problem:
        tell_problem(bench.window, "The load list was not written.", problem)
        return
    bench.say(f"Wrote {Path(path).name}: change it in a spreadsheet and import it again.")


def import_loads(bench: Bench) -> None:
    dialog = QFileDialog(bench.window, "Import load list", _folder(bench), f"{FILTER};;All files (*)")
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
    dialog.fileSelected.connect(partial(_import, bench))
    dialog.open()


def _import(bench: Bench, path: str) -> None:
    from core.files.limits import TABLE_BYTES

    name = Path(path).name
    try:
        with Path(path).open("rb") as file:
            data = file.read(TABLE_BYTES + 1)
    except OSError as error:
        tell_problem(bench.window, f"“{name}” cannot be read.", FileProblem(error.strerror or str(error), name))
        return
    _report(bench, data, name)


def paste_loads(bench: Bench) -> None:
    """A load list that was copied in a spreadsheet."""
    text = QGuiApplication.clipboard().text()
    if not text.strip():
        bench.say("Copy the load list in your spreadsheet first, with its head.")
        return
    _report(bench, text, "the clipboard")


def _report(bench: Bench, data: bytes | str, name: str) -> None:
    """Show what a list would bring; it is imported from there."""
    from app.dialogs.load_list import ImportLoadsDialog
    from core.edits.load_rows import import_loads as imported_loads
    from core.exports.load_list import read_load_list

    try:
        read = read_load_list(data, name)
    except FileProblem as problem:
        tell_problem(bench.window, f"“{name}” is no load list." if name != "the clipboard" else
                     "The clipboard holds no load list.", problem)  # fmt: skip
        return
    imported = imported_loads(bench.plan, read.rows, bench.library)

    def take() -> None:
        # The plan may have been edited while the report was read.
        plan: Plan = imported_loads(bench.plan, read.rows, bench.library).plan
        bench.session.commit(f"Import {name}", plan)
        bench.session.select(imported.devices)

    ImportLoadsDialog(bench.window, name, read, imported, take).open()


def _folder(bench: Bench) -> str:
    path = bench.session.path
    return str(path.parent) if path is not None else ""


ACTIONS = (
    Action("circuit-table", "Circuit table", "Circuits", lambda b: b.show_pane("circuits"), "Ctrl+Shift+T",
           parted=True, stages=("circuits",)),
    Action("import-loads", "Import load list…", "Circuits", import_loads, "", no_surface),
    Action("paste-loads", "Paste load list…", "Circuits", paste_loads, "", no_surface),
    Action("export-loads", "Export load list…", "Circuits", export_loads, "", _no_loads),
)  # fmt: skip
