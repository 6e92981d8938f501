"""What comes with the program: kinds of wire, tape, conduit, grommet and fixing, wrap styles, profiles, devices.

Shipped TOML files are read whole or not at all; a folder of the user's own additions is read file by file, and what
is wrong there is told and left out. A record of the user replaces a shipped one with the same id.
"""

import re
import tomllib
from collections.abc import Iterable, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Any, Final

import msgspec
from msgspec import Meta

from core.errors import FileProblem
from core.files.limits import LIBRARY_BYTES
from core.files.references import Problem
from core.files.wording import words
from core.model import (
    ConduitKind,
    Device,
    Electrical,
    FixingKind,
    GrommetKind,
    Point,
    Port,
    Profile,
    ProfileUse,
    Record,
    TapeKind,
    Way,
    WireKind,
    WrapStyle,
    changed,
)
from core.model.devices import DeviceKind
from core.model.ids import Id, Name, Note
from core.resources import resource

#: Bytes of one library file: far more than anybody types.


class DeviceTemplate(Record, frozen=True, kw_only=True):
    """A device of no make, to start from: usual size and electrical data, ports, ways, and one sentence of advice.

    `words` are what people in the UK and the US call it, for the search.
    """

    id: Id
    name: Name
    kind: DeviceKind
    words: tuple[str, ...] = ()
    width_mm: Annotated[float, Meta(gt=0)]
    height_mm: Annotated[float, Meta(gt=0)]
    depth_mm: Annotated[float, Meta(ge=0)]
    entry_mm: Point = (0.0, 0.0)
    end_allowance_mm: Annotated[float, Meta(ge=0)] | None = None
    clearance_mm: Annotated[float, Meta(ge=0)] = 0.0
    #: Weather reaches it: its wires come in with a drip loop.
    outdoors: bool = False
    electrical: Electrical
    ports: tuple[Port, ...] = ()
    ways: tuple[Way, ...] = ()
    #: Ids of kinds of wire it is usually connected with, the first one before the others.
    wire_kinds: tuple[Id, ...] = ()
    advice: Note


class Library(Record, frozen=True, kw_only=True):
    """Everything a plan can take a copy of. `problems` are the user's files, or parts of them, that were left out."""

    wire_kinds: tuple[WireKind, ...] = ()
    tape_kinds: tuple[TapeKind, ...] = ()
    conduit_kinds: tuple[ConduitKind, ...] = ()
    grommet_kinds: tuple[GrommetKind, ...] = ()
    fixing_kinds: tuple[FixingKind, ...] = ()
    wrap_styles: tuple[WrapStyle, ...] = ()
    profiles: tuple[Profile, ...] = ()
    devices: tuple[DeviceTemplate, ...] = ()
    problems: tuple[FileProblem, ...] = ()

    def profile(self, profile_id: str) -> Profile:
        """The profile of that id. Raises KeyError that names those there are."""
        for profile in self.profiles:
            if profile.id == profile_id:
                return profile
        raise KeyError(f"no profile {profile_id!r}; there are {', '.join(p.id for p in self.profiles)}")

    def profile_of(self, use: ProfileUse) -> Profile:
        """A plan's profile with its owner's changes laid over it. Raises KeyError as `profile` does.

        Of several versions the one asked for, else the newest: another one is a finding.
        """
        rows = [profile for profile in self.profiles if profile.id == use.id] or [self.profile(use.id)]
        row = next((p for p in rows if p.version == use.version), max(rows, key=lambda p: p.version))
        return changed(row, use.changes)


_KINDS: Final[Mapping[str, Any]] = {
    "wire_kinds": WireKind,
    "tape_kinds": TapeKind,
    "conduit_kinds": ConduitKind,
    "grommet_kinds": GrommetKind,
    "fixing_kinds": FixingKind,
    "wrap_styles": WrapStyle,
    "profiles": Profile,
    "devices": DeviceTemplate,
}
SHIPPED: Final = (
    "wire_kinds.toml",
    "catalogue.toml",
    "devices.toml",
    "profiles/van-metric.toml",
    "profiles/boat-us.toml",
    "profiles/rv-us.toml",
    "profiles/boat-iso.toml",
    "profiles/workshop.toml",
    "profiles/body-builder.toml",
    "profiles/aircraft.toml",
    "profiles/motor-caravan-eu.toml",
    "profiles/motor-caravan-au.toml",
)
_Found = dict[str, dict[str, Any]]


def load_library(additions: Path | None = None) -> Library:
    """The shipped library with the user's `*.toml` of a folder laid over it.

    Raises FileProblem for a damaged shipped file (a broken installation), never for the user's own.
    """
    shipped = _shipped()
    if additions is None:
        return shipped
    found: _Found = {name: {record.id: record for record in getattr(shipped, name)} for name in _KINDS}
    problems: list[FileProblem] = []
    for path in _files(additions, problems):
        try:
            problems += _add(path, found)
        except FileProblem as problem:
            problems.append(problem)
    return _library(found, problems)


@lru_cache(maxsize=1)
def _shipped() -> Library:
    found: _Found = {name: {} for name in _KINDS}
    for name in SHIPPED:
        wrong = _add(resource(name), found)
        if wrong:
            raise wrong[0]
    return _library(found, ())


def _library(found: _Found, problems: Iterable[FileProblem]) -> Library:
    collections = {name: tuple(records.values()) for name, records in found.items()}
    return Library(**collections, problems=tuple(problems))


def _files(folder: Path, problems: list[FileProblem]) -> list[Path]:
    try:
        return sorted(path for path in folder.glob("*.toml") if path.is_file())
    except OSError as error:
        problems.append(FileProblem(f"the folder cannot be read: {error.strerror or error}", str(folder)))
        return []


def _add(path: Path, found: _Found) -> list[FileProblem]:
    """Adds the sound records of one file. Raises FileProblem for one that cannot be read; returns those left out."""
    text, table = _read(path)
    if "limits" in table:  # a profile file holds one profile and nothing else
        table = {"profiles": [table]}
    problems: list[FileProblem] = []
    for name, items in table.items():
        kind = _KINDS.get(name)
        if kind is None or not isinstance(items, list):
            problems.append(
                FileProblem(f"{name!r} is no list of the library", path.name, f"one of {', '.join(_KINDS)}")
            )
            continue
        for index, item in enumerate(items):
            try:
                record = msgspec.convert(item, kind)
            except (msgspec.ValidationError, ValueError) as error:
                problems.append(_located(path, text, name, index, words(str(error), item, kind)))
            else:
                found[name][record.id] = record
    return problems


def _read(path: Path) -> tuple[str, dict[str, Any]]:
    try:
        with path.open("rb") as file:
            data = file.read(LIBRARY_BYTES + 1)
        if len(data) > LIBRARY_BYTES:
            raise FileProblem("the file is too large", path.name, f"at most {LIBRARY_BYTES // 2**20} MB")
        text = data.decode("utf-8")
        return text, tomllib.loads(text)
    except OSError as error:
        raise FileProblem(f"the file cannot be read: {error.strerror or error}", path.name) from None
    except UnicodeDecodeError as error:
        raise FileProblem("the file is no UTF-8 text", f"{path.name}, byte {error.start + 1}", "UTF-8") from None
    except tomllib.TOMLDecodeError as error:
        told, _, place = str(error).partition(" (at ")
        where = f"{path.name}, {place.rstrip(')')}" if place else path.name
        raise FileProblem(f"this is no TOML: {told[:1].lower()}{told[1:]}", where, "TOML") from None
    except ValueError:  # Python reads no whole number of thousands of digits
        raise FileProblem("a number is too long", path.name, "at most some hundred digits") from None
    except RecursionError:
        raise FileProblem("lists and tables lie too deep inside each other", path.name, "TOML") from None


def _located(path: Path, text: str, name: str, index: int, told: Problem) -> FileProblem:
    """The problem with the line of its record's header, which is as near as TOML lets us tell."""
    headers = [found.start() for found in re.finditer(rf"^[ \t]*\[\[\s*{name}\s*\]\]", text, re.MULTILINE)]
    line = f", record at line {text.count(chr(10), 0, headers[index]) + 1}" if index < len(headers) else ""
    return FileProblem(told.message, f"{path.name}{line}, {name}[{index}]{told.path[1:]}", told.expected)


def placed(template: DeviceTemplate, device_id: str, surface: str, at_mm: Point, name: str = "") -> Device:
    """A device made from a template, with its middle at a point of a surface."""
    return Device(
        id=device_id,
        name=name or template.name,
        kind=template.kind,
        surface=surface,
        at_mm=at_mm,
        width_mm=template.width_mm,
        height_mm=template.height_mm,
        depth_mm=template.depth_mm,
        entry_mm=template.entry_mm,
        end_allowance_mm=template.end_allowance_mm,
        clearance_mm=template.clearance_mm,
        outdoors=template.outdoors,
        electrical=template.electrical,
        ports=template.ports,
        ways=template.ways,
        made_from=template.id,
    )
