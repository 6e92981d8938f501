"""The small steps edits are made of: look up, add, put, take out.

A collection that does not change stays the very same tuple, so that the window finds changes by identity; a step that
changes nothing returns the plan it was given.
"""

import re
from collections.abc import Collection, Iterable, Sequence
from functools import cache
from typing import Any, NoReturn, TypeVar

import msgspec

from core.errors import EditRefused
from core.model import Plan, fresh_id, ids, records

R = TypeVar("R", bound=msgspec.Struct)

#: What a person calls one record of a collection.
WORDS: dict[str, str] = {
    "surfaces": "surface",
    "seams": "seam",
    "boxes": "box",
    "ribs": "rib",
    "openings": "opening",
    "metal_edges": "metal edge",
    "zones": "keep-out zone",
    "panels": "panel",
    "images": "image",
    "pictures": "picture",
    "dimensions": "dimension",
    "penetrations": "penetration",
    "moving_parts": "moving part",
    "moving_joints": "moving joint",
    "nodes": "node",
    "channels": "channel",
    "securing_points": "securing point",
    "pass_throughs": "pass-through",
    "devices": "device",
    "splices": "splice",
    "connectors": "connector",
    "earth_points": "earth point",
    "cables": "cable",
    "circuits": "circuit",
    "wire_kinds": "wire kind",
    "tape_kinds": "tape kind",
    "conduit_kinds": "conduit kind",
    "grommet_kinds": "grommet kind",
    "fixing_kinds": "fixing kind",
    "wrap_styles": "wrap style",
    "waivers": "waiver",
    "as_pulled": "as-pulled entry",
    "test_results": "test result",
    "photos": "photo",
    "supplies": "supply",
    "spools": "spool",
    "revisions": "revision",
    "variants": "variant",
}

#: First letters of a fresh id. Circuits have a capital because their ids are printed on wire labels.
PREFIXES: dict[str, str] = {
    "surfaces": "s",
    "seams": "seam",
    "boxes": "b",
    "ribs": "r",
    "openings": "o",
    "metal_edges": "e",
    "zones": "z",
    "panels": "p",
    "pictures": "pic",
    "dimensions": "dim",
    "penetrations": "h",
    "moving_parts": "mp",
    "moving_joints": "mj",
    "nodes": "n",
    "channels": "c",
    "securing_points": "t",
    "pass_throughs": "x",
    "devices": "d",
    "splices": "sp",
    "connectors": "con",
    "earth_points": "ep",
    "cables": "cab",
    "circuits": "W",
    "waivers": "wv",
    "as_pulled": "ap",
    "test_results": "tr",
    "photos": "ph",
    "supplies": "su",
    "spools": "spool",
    "revisions": "rev",
    "variants": "v",
}


def refuse(reason: str) -> NoReturn:
    """Say in a sentence why the edit makes no sense."""
    raise EditRefused(reason)


def title(collection: str, record: Any) -> str:
    """A record as a sentence names it: `device “Water pump”`, or with its id where it has no name."""
    name = getattr(record, "name", "")
    return f"{WORDS[collection]} “{name}”" if name else f"{WORDS[collection]} {record.id}"


def listed(names: Sequence[str], most: int = 6) -> str:
    """Names in a sentence, the last ones counted where there are many."""
    shown = ", ".join(names[:most])
    return shown if len(names) <= most else f"{shown} and {len(names) - most} more"


def get(plan: Plan, collection: str, record_id: str) -> Any:
    """The record of that id. Refuses, naming what was looked for, when the plan has none."""
    for record in getattr(plan, collection):
        if record.id == record_id:
            return record
    refuse(f"The plan has no {WORDS[collection]} {record_id}.")


def find_any(plan: Plan, record_id: str) -> tuple[str, Any]:
    """Collection and record of an id. Refuses when no record of the plan has it."""
    for collection, record in records(plan):
        if record.id == record_id:
            return collection, record
    refuse(f"Nothing in the plan has the id {record_id}.")


def new_id(plan: Plan, collection: str) -> str:
    return fresh_id(PREFIXES[collection], ids(plan))


def new_ids(plan: Plan, collection: str, count: int) -> tuple[str, ...]:
    taken = ids(plan)
    result = []
    for _ in range(count):
        result.append(fresh_id(PREFIXES[collection], taken))
        taken.add(result[-1])
    return tuple(result)


def replaced(record: R, /, **changes: Any) -> R:
    """The record with other values; the record itself when nothing differs. A number that is none refuses."""
    if all(_same(getattr(record, field), value) for field, value in changes.items()):
        return record
    try:
        return msgspec.structs.replace(record, **changes)
    except (ValueError, TypeError) as error:
        raise EditRefused(f"{error}.") from error


def _same(old: object, new: object) -> bool:
    return old is new or (type(old) is type(new) and old == new)


def made(record: type[R], /, **fields: Any) -> R:
    """A new record with every field checked by its type. Refuses what does not fit, in words."""
    try:
        return msgspec.convert(fields, record)
    except msgspec.ValidationError as error:
        called = f" “{fields['name']}”" if fields.get("name") else ""
        what = re.sub(r"(?<!^)(?=[A-Z])", " ", record.__name__).lower()
        raise EditRefused(f"The {what}{called} cannot be so: {told(error)}.") from None


def changed(record: R, /, **changes: Any) -> R:
    """The record with values as a form gives them: each checked by its field's type. Refuses what does not fit."""
    types = _types(type(record))
    good = {}
    called = getattr(record, "name", "") or getattr(record, "id", "")
    for field, value in changes.items():
        if field not in types or field == "id":
            refuse(f"“{called}” has no field {field} that could be set.")
        try:
            good[field] = msgspec.convert(value, types[field])
        except msgspec.ValidationError as error:
            raise EditRefused(f"“{called}” cannot have {field.replace('_', ' ')} {value!r}: {told(error)}.") from None
    return replaced(record, **good)


@cache
def _types(record: type[msgspec.Struct]) -> dict[str, Any]:
    return {field.name: field.type for field in msgspec.structs.fields(record)}


def told(error: msgspec.ValidationError) -> str:
    """What msgspec says, in the words of a sentence: field first, no marks of code."""
    message, _, at = str(error).partition(" - at `$")
    field = re.sub(r"\[\d*\.*\]", "", at.rstrip("`")).strip(".").replace(".", " ").replace("_", " ")
    message = message.replace("`", "").replace("float", "a number").replace("str,", "a text,")
    return f"{field}: {message[:1].lower()}{message[1:]}" if field else f"{message[:1].lower()}{message[1:]}"


def add(plan: Plan, collection: str, *new: msgspec.Struct) -> Plan:
    if not new:
        return plan
    return msgspec.structs.replace(plan, **{collection: (*getattr(plan, collection), *new)})


def put(plan: Plan, collection: str, *changed: Any) -> Plan:
    """The plan with these records in place of those with the same ids; the plan itself when they are the same."""
    by_id = {record.id: record for record in changed}
    before = getattr(plan, collection)
    after = tuple(by_id.get(record.id, record) for record in before)
    if all(a is b for a, b in zip(before, after, strict=True)):
        return plan
    return msgspec.structs.replace(plan, **{collection: after})


def put_all(plan: Plan, collection: str, after: Iterable[Any]) -> Plan:
    """The plan with the whole collection replaced; the plan itself when every record is the same object."""
    before = getattr(plan, collection)
    kept = tuple(after)
    if len(kept) == len(before) and all(a is b for a, b in zip(before, kept, strict=True)):
        return plan
    return msgspec.structs.replace(plan, **{collection: kept})


def take_out(plan: Plan, collection: str, gone: Collection[str]) -> Plan:
    """The plan without the records of those ids. Says nothing about who refers to them: `records.delete` does."""
    return put_all(plan, collection, (record for record in getattr(plan, collection) if record.id not in gone))


def free_name(wanted: str, taken: Iterable[str]) -> str:
    """`wanted`, or with the first number from 2 on that makes it free."""
    names = set(taken)
    if wanted not in names:
        return wanted
    number = 2
    while f"{wanted} {number}" in names:
        number += 1
    return f"{wanted} {number}"


def name_or(name: str | None, fallback: str, taken: Iterable[str]) -> str:
    """What the person typed, as typed; else the fallback, numbered where it is taken."""
    return name.strip() if name is not None and name.strip() else free_name(fallback, taken)
