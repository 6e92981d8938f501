"""A table as data: columns that know their unit, rows of plain values. Paper, CSV and XLSX are made from it."""

from typing import Literal

import msgspec

from core.analysis.colours import WORDS
from core.text import number, trimmed

Kind = Literal[
    "text", "mm", "diameter", "m", "a", "v", "percent", "mm2", "kg", "milliohm", "count", "number", "quantity", "money",
    "tick", "swatch",
]  # fmt: skip
Align = Literal["left", "middle", "right"]

#: Unit printed under a column's title, by kind.
UNITS: dict[Kind, str] = {
    "mm": "mm", "diameter": "mm", "m": "m", "a": "A", "v": "V", "percent": "%", "mm2": "mm²", "kg": "kg",
    "milliohm": "mΩ",
}  # fmt: skip
#: Decimals on paper; a section or a count is printed as it is. A quantity counts pieces (int) or measures (float).
DECIMALS: dict[Kind, int] = {
    "mm": 0, "diameter": 1, "m": 2, "a": 1, "v": 2, "percent": 1, "kg": 1, "milliohm": 1, "money": 2,
}  # fmt: skip
QUANTITY_DECIMALS = 2
#: What stands for a value that does not exist (a wire that cannot be routed has no drop).
NOTHING = "–"


class Swatch(msgspec.Struct, frozen=True):
    """A wire colour to be shown: base colour, and the colour of its tracer stripe ("" for none)."""

    colour: str
    tracer: str = ""

    def __str__(self) -> str:
        return f"{self.colour}/{self.tracer}" if self.tracer else self.colour


#: A bool is a tick box: False is the empty box to be ticked by hand.
Cell = str | float | int | bool | Swatch | None


class Column(msgspec.Struct, frozen=True, kw_only=True):
    """`key` names the column for programs, `title` for people. `weight` is the share of the width it asks for."""

    key: str
    title: str
    kind: Kind = "text"
    unit: str = ""
    weight: float = 1.0
    #: Printed larger and bold: what is read at arm's length in the workshop.
    important: bool = False

    @property
    def align(self) -> Align:
        if self.kind in ("text", "swatch"):
            return "left"
        return "middle" if self.kind == "tick" else "right"

    @property
    def shown_unit(self) -> str:
        return self.unit or UNITS.get(self.kind, "")


class Table(msgspec.Struct, frozen=True, kw_only=True):
    """`headings` are (row, text): the text stands above that row. Every row has a cell for each column."""

    name: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    headings: tuple[tuple[int, str], ...] = ()
    totals: tuple[tuple[Cell, ...], ...] = ()
    notes: tuple[str, ...] = ()


def swatch(colour: str) -> Swatch:
    """A colour as plans write it: "RD", "GNYE", "red", "RD/WH", "red/white", "green-and-yellow"; base before tracer."""
    text = colour.strip()
    code = text.upper()
    if len(code) == 4 and code[:2] in WORDS and code[2:] in WORDS:
        return Swatch(WORDS[code[:2]], WORDS[code[2:]])
    for parting in ("/", "-and-", "-"):
        base, found, tracer = text.partition(parting)
        if found and base.strip() and tracer.strip():
            return Swatch(_word(base), _word(tracer))
    return Swatch(_word(text))


def _word(colour: str) -> str:
    return WORDS.get(colour.strip().upper(), colour.strip())


def shown(cell: Cell, kind: Kind) -> str:
    """A cell as text for a person: thousands set apart, decimals by kind, a dash where there is no value."""
    if cell is None:
        return NOTHING
    if isinstance(cell, str | Swatch):
        return str(cell)
    if isinstance(cell, bool):
        return "✓" if cell else ""
    decimals = QUANTITY_DECIMALS if kind == "quantity" and isinstance(cell, float) else DECIMALS.get(kind)
    return trimmed(cell, 3) if decimals is None else number(cell, decimals)


def number_text(cell: Cell, kind: Kind) -> str:
    """A cell as text for programs: no thousands mark, a decimal point, nothing where there is no value."""
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else ""
    if isinstance(cell, str | Swatch):
        return str(cell)
    decimals = DECIMALS.get(kind)
    text = f"{cell:.{3 if decimals is None else max(decimals, 1)}f}"
    return text.rstrip("0").rstrip(".")
