"""Reading the reference tables in ``resources/tables``: CSV with the source in ``#`` lines at the top."""

import csv
from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType

import msgspec

from core.resources import resource


class Table(msgspec.Struct, frozen=True):
    """A reference table: `source` is the text of its ``#`` lines, `rows` map a column's name to its text."""

    name: str
    source: str
    rows: tuple[Mapping[str, str], ...]


@lru_cache(maxsize=64)
def read_table(name: str) -> Table:
    """The table ``resources/tables/<name>.csv``. Raises FileNotFoundError when there is none."""
    lines = resource(f"tables/{name}.csv").read_text(encoding="utf-8").splitlines()
    head = [line.lstrip("# ") for line in lines if line.startswith("#")]
    body = csv.DictReader(line for line in lines if line and not line.startswith("#"))
    return Table(name, "\n".join(head), tuple(MappingProxyType(row) for row in body))


def number(text: str) -> float | None:
    """A cell as a number; an empty cell or a dash is None."""
    return None if text in {"", "-"} else float(text)
