"""What differs between two frozen records that hold collections of records with ids, found by identity.

Nothing is compared by value: an edit keeps every record it does not touch, so looking at identities is exact and
costs one pass over the collections that changed.
"""

from collections.abc import Mapping
from typing import Any, NamedTuple

import msgspec


class Changed(NamedTuple):
    """Ids of one collection, each in the order of its collection."""

    added: tuple[str, ...]
    removed: tuple[str, ...]
    changed: tuple[str, ...]


def changed_records(old: msgspec.Struct | None, new: msgspec.Struct) -> Mapping[str, Changed]:
    """Changes by collection, only those with any. `old` None: everything is added."""
    if old is new:
        return {}
    result = {}
    for field in new.__struct_fields__:
        after = getattr(new, field)
        before = () if old is None else getattr(old, field)
        if after is before or not (_is_collection(after) and _is_collection(before)):
            continue
        difference = _difference(before, after)
        if any(difference):
            result[field] = difference
    return result


def changed_fields(old: msgspec.Struct, new: msgspec.Struct) -> tuple[str, ...]:
    """Names of all fields that are not the same object or an equal plain value: collections and settings alike."""
    return tuple(
        field
        for field in new.__struct_fields__
        if (a := getattr(old, field)) is not (b := getattr(new, field)) and (isinstance(b, tuple) or a != b)
    )


def _is_collection(value: Any) -> bool:
    return isinstance(value, tuple) and all(isinstance(item, msgspec.Struct) for item in value[:1])


def _difference(before: tuple[Any, ...], after: tuple[Any, ...]) -> Changed:
    was = {record.id: record for record in before}
    now = {record.id: record for record in after}
    return Changed(
        added=tuple(key for key in now if key not in was),
        removed=tuple(key for key in was if key not in now),
        changed=tuple(key for key, record in now.items() if key in was and was[key] is not record),
    )
