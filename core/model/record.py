"""The base of every record: frozen, strict on unknown fields, finite numbers only."""

from math import isfinite
from typing import Any

import msgspec

#: No drawing of a vehicle needs a number beyond this (1,000 km in millimetres, 1 GW in watts).
LARGEST = 1e9


def _check(owner: str, field: str, value: Any) -> None:
    if isinstance(value, float):
        if not isfinite(value):
            raise ValueError(f"{owner}.{field} must be a finite number")
        if abs(value) > LARGEST:
            raise ValueError(f"{owner}.{field} is {value:g}, expected at most {LARGEST:g}")
    elif isinstance(value, tuple):
        for item in value:
            if isinstance(item, msgspec.Struct):
                return  # records have checked themselves
            _check(owner, field, item)


class Record(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True, forbid_unknown_fields=True):
    """A frozen value. Constructing one with NaN, infinity or a number beyond `LARGEST` raises ValueError.

    msgspec constructors check no types; what comes from a file is checked by the codec.
    """

    def __post_init__(self) -> None:
        for field in self.__struct_fields__:
            value = getattr(self, field)
            if isinstance(value, float | tuple):
                _check(type(self).__name__, field, value)
