"""Devices of one's own: keep a device of the plan on the shelf, take one off it; edit what ends at a device."""

from pathlib import Path

from app import settings as stored
from app.commands.action import Action, no_device
from app.commands.bench import Bench
from app.dialogs.ask import tell_problem
from core.errors import FileProblem
from core.files.library import DeviceTemplate, load_library
from core.files.own_devices import forget_own, keep_own, own_template
from core.model import Device, find


def _no_single(bench: Bench) -> str:
    return no_device(bench) or ("" if len(bench.selected("devices")) == 1 else "Select one device only.")


def keep_device(bench: Bench) -> None:
    from app.dialogs.own_device import OwnDeviceDialog

    device: Device = find(bench.plan, "devices", bench.selected("devices")[0])
    made_from = next((row for row in bench.library.devices if row.id == device.made_from), None)

    def keep(name: str, words: tuple[str, ...], advice: str) -> str:
        try:
            row = own_template(
                device, name, words, advice, (each.id for each in bench.library.devices if each.name != name)
            )
            row = _with_wires(row, made_from)
            file = keep_own(_folder(), row)
        except FileProblem as problem:
            return str(problem)
        reload(bench)
        bench.say(f"“{row.name}” is on the shelf, kept in {file}.")
        return ""

    OwnDeviceDialog(bench.window, device, made_from, keep).open()


def _with_wires(row: DeviceTemplate, made_from: DeviceTemplate | None) -> DeviceTemplate:
    import msgspec

    return row if made_from is None else msgspec.structs.replace(row, wire_kinds=made_from.wire_kinds)


def forget_device(bench: Bench, template: DeviceTemplate) -> None:
    try:
        forget_own(_folder(), template.id)
    except FileProblem as problem:
        tell_problem(bench.window, f"“{template.name}” stays on the shelf.", problem)
        return
    reload(bench)
    bench.say(f"“{template.name}” is off the shelf; devices in plans stay.")


def reload(bench: Bench) -> None:
    """Read the library anew: what was added by hand comes along."""
    bench.session.library = load_library(_folder())
    bench.library_changed.emit(bench.session.library)
    for problem in bench.session.library.problems:
        bench.say(str(problem))


def _folder() -> Path:
    return stored.config_folder() / "library"


def edit_ends(bench: Bench) -> None:
    from app.dialogs.ends import EndsDialog

    chosen = bench.selected("devices")[0]
    EndsDialog(bench.window, bench.session, bench.desk, chosen).open()


ACTIONS = (
    Action("keep-device", "Keep as a device of my own…", "Edit", keep_device, "", _no_single, parted=True, on_sheet=2),
    Action("ends", "Terminals and ways…", "Edit", edit_ends, "Shift+F2", _no_single, on_sheet=0),
    Action("reload-devices", "Read my devices again", "Edit", reload, ""),
)  # fmt: skip
