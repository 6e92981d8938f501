"""Tables that only the tests use (tests/data), with their source in `#` lines."""

import csv
from pathlib import Path

DATA = Path(__file__).resolve().parents[2] / "data"


def rows(name: str) -> list[dict[str, str]]:
    lines = (DATA / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))
