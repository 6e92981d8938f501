"""What a person set for the program, not for a plan: declared here, kept as JSON in the folder of settings.

A value that cannot be read (edited by hand, written by a newer program) falls back to its default, one by one, and
never stops the start.
"""

import os
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Literal

import msgspec

FOLDER = "loomwright"
#: How many files the start page and the menu remember.
RECENT = 10


class Settings(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=False):
    """Every setting with its default. Lengths in mm, times in s."""

    theme: Literal["system", "light", "dark"] = "system"
    #: How lengths are shown: mm, cm or m, or feet and inches.
    length_unit: Literal["mm", "cm", "in"] = "mm"
    wire_unit: Literal["mm2", "awg"] = "mm2"
    #: Words for the vehicle's sides: left/right, nearside/offside, driver's/passenger side.
    side_words: Literal["plain", "uk", "us"] = "plain"
    snap: bool = True
    grid_mm: Annotated[float, msgspec.Meta(gt=0, le=10_000)] = 10.0
    show_grid: bool = True
    autosave: bool = True
    autosave_after_s: Annotated[float, msgspec.Meta(ge=1, le=3600)] = 3.0
    paper: Literal["A4", "A3", "letter", "tabloid"] = "A4"
    profile: str = ""
    recent: tuple[str, ...] = ()
    #: Place and size of the window and its docks, as Qt gives them, base64.
    window: str = ""
    docks: str = ""


def config_folder() -> Path:
    """Where the program's settings lie: XDG_CONFIG_HOME, APPDATA or their usual stand-ins."""
    return _folder("XDG_CONFIG_HOME", ".config", "APPDATA", "Library/Application Support")


def state_folder() -> Path:
    """Where the program keeps what it can lose: autosaved plans. XDG_STATE_HOME, LOCALAPPDATA or their stand-ins."""
    return _folder("XDG_STATE_HOME", ".local/state", "LOCALAPPDATA", "Library/Application Support")


def _folder(xdg: str, usual: str, windows: str, mac: str) -> Path:
    told = os.environ.get(windows if sys.platform == "win32" else xdg, "")
    if told and Path(told).is_absolute():
        return Path(told) / FOLDER
    if sys.platform == "darwin":
        return Path.home() / mac / FOLDER
    return Path.home() / usual / FOLDER


def settings_file() -> Path:
    return config_folder() / "settings.json"


def load(file: Path | None = None) -> Settings:
    """The settings as they were saved; defaults for what is missing or cannot be read."""
    file = settings_file() if file is None else file
    try:
        told = msgspec.json.decode(file.read_bytes())
    except (OSError, msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        return Settings()
    return understood(told) if isinstance(told, dict) else Settings()


def understood(told: Mapping[str, Any]) -> Settings:
    good = {}
    for field in msgspec.structs.fields(Settings):
        if field.name in told:
            try:
                good[field.name] = msgspec.convert(told[field.name], field.type)
            except msgspec.ValidationError:
                continue
    return Settings(**good)


def save(settings: Settings, file: Path | None = None) -> None:
    """Write beside and replace. Raises OSError where the folder cannot be written."""
    file = settings_file() if file is None else file
    file.parent.mkdir(parents=True, exist_ok=True)
    beside = file.with_name(f".{file.name}.{os.getpid()}")
    try:
        beside.write_bytes(msgspec.json.format(msgspec.json.encode(settings), indent=2) + b"\n")
        beside.replace(file)
    finally:
        beside.unlink(missing_ok=True)


def with_recent(settings: Settings, path: Path) -> Settings:
    """The settings with `path` first among the recent files."""
    told = str(path.resolve())
    rest = tuple(other for other in settings.recent if other != told)
    return msgspec.structs.replace(settings, recent=(told, *rest)[:RECENT])
