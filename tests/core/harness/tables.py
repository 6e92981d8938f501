"""Reference tables of tests/data: CSV whose first lines, starting with #, name the source."""

import csv
from pathlib import Path

DATA = Path(__file__).resolve().parents[2] / "data"


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))
