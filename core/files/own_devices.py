"""Devices of one's own: kept as TOML in the folder of the user's additions, where the library finds them.

The file is the user's: it may be edited by hand, and what is in it stays when a device is kept beside it.
"""

import re
import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Any, Final

import msgspec

from core.errors import FileProblem
from core.files.library import DeviceTemplate
from core.files.safe_write import write_bytes
from core.model import Device
from core.model.ids import fresh_id

#: The file in the folder of additions.
OWN: Final = "my-devices.toml"
HEAD: Final = (
    "# Devices of your own. The program reads them when it starts and adds those you keep; you may edit them here.\n"
)
#: Ids of own devices begin so.
PREFIX: Final = "own-"


def own_template(
    device: Device, name: str, words: Iterable[str], advice: str, taken: Iterable[str] = ()
) -> DeviceTemplate:
    """The device of a plan as one of the catalogue, with its data as they are. `taken` are ids in use.

    Raises FileProblem where name or advice say nothing: the search and the reader need them.
    """
    if not name.strip():
        raise FileProblem("a device needs a name", "name", "what you call it")
    slug = re.sub(r"[^a-z0-9]+", "-", name.casefold()).strip("-") or "device"
    known = set(taken)
    own_id = f"{PREFIX}{slug}"
    return DeviceTemplate(
        id=own_id if own_id not in known else fresh_id(f"{own_id}-", known),
        name=name.strip(),
        kind=device.kind,
        words=tuple(word.strip() for word in words if word.strip()),
        width_mm=device.width_mm,
        height_mm=device.height_mm,
        depth_mm=device.depth_mm,
        entry_mm=device.entry_mm,
        end_allowance_mm=device.end_allowance_mm,
        clearance_mm=device.clearance_mm,
        outdoors=device.outdoors,
        electrical=device.electrical,
        ports=device.ports,
        ways=device.ways,
        advice=advice.strip(),
    )


def keep_own(folder: Path, template: DeviceTemplate) -> Path:
    """Write a device into the file of own devices, in place of one with the same id. Gives the file.

    Raises FileProblem where the file there cannot be read (nothing is written over it), or cannot be written.
    """
    rows = [row for row in _rows(folder / OWN) if row.get("id") != template.id]
    return _written(folder, [*rows, msgspec.to_builtins(template)])


def forget_own(folder: Path, template_id: str) -> Path:
    """Take a device out of the file of own devices. Raises FileProblem as `keep_own` does."""
    return _written(folder, [row for row in _rows(folder / OWN) if row.get("id") != template_id])


def _rows(path: Path) -> list[dict[str, Any]]:
    """Everything in the file, also what the library could not use: it is the user's."""
    if not path.exists():
        return []
    try:
        found = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError, ValueError, RecursionError) as error:
        raise FileProblem(f"your devices cannot be read, so nothing is added: {error}", path.name, "TOML") from None
    rows = found.get("devices", [])
    if set(found) - {"devices"} or not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise FileProblem("the file holds more than devices, so nothing is added", path.name, "[[devices]] only")
    return rows


def _written(folder: Path, rows: list[dict[str, Any]]) -> Path:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FileProblem(f"the folder cannot be made: {error.strerror or error}", str(folder)) from None
    path = folder / OWN
    write_bytes(path, (HEAD + "".join(f"\n[[devices]]\n{_table(row)}" for row in rows)).encode())
    return path


def _table(row: dict[str, Any]) -> str:
    return "".join(f"{_key(key)} = {toml_value(value)}\n" for key, value in row.items() if value is not None)


def toml_value(value: Any) -> str:
    """A value in TOML 1.0, tables inline. Raises TypeError for what TOML has no word for."""
    match value:
        case bool():
            return "true" if value else "false"
        case int():
            return str(value)
        case float():
            return repr(value)
        case str():
            # JSON's escapes are those of a TOML basic string; the delete sign is the only one it leaves as it is.
            return msgspec.json.encode(value).decode().replace("\x7f", "\\u007f")
        case list() | tuple():
            return f"[{', '.join(toml_value(each) for each in value)}]"
        case dict():
            pairs = ", ".join(f"{_key(key)} = {toml_value(each)}" for key, each in value.items() if each is not None)
            return f"{{ {pairs} }}" if pairs else "{}"
        case _:
            # Times are in no device of ours, but a file edited by hand may hold one.
            return value.isoformat() if hasattr(value, "isoformat") else _unknown(value)


def _key(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else toml_value(key)


def _unknown(value: Any) -> str:
    raise TypeError(f"TOML has no word for {type(value).__name__}")
