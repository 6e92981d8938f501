"""The load list: every load with its data, place and circuit, one row each, as CSV; read back, or pasted from a
spreadsheet by somebody who wrote his own head.

Columns are found by what people call them, in any order; those nobody knows are told and left out. Cells may carry
units (60 W, 1,2 kW, 500 mA) or the head may (Power in kW). A cell that cannot be read keeps its row out, and is told
with its row, its column and what was expected.
"""

import re
from collections.abc import Callable
from typing import Any, NamedTuple, get_args

from core.edits.circuit_ends import SYSTEM_WORDS
from core.edits.load_rows import LoadRow, RowProblem, called, circuit_of
from core.errors import FileProblem
from core.exports.delimited import csv_text, read_rows
from core.model import DISTRIBUTION, Circuit, Device, Plan
from core.model.devices import DeviceKind, System
from core.model.record import LARGEST
from core.units import (
    UnitProblem,
    convert,
    read_current_a,
    read_length_mm,
    read_power_w,
    read_section_mm2,
)

#: Devices that are no loads: what feeds, breaks or measures.
NO_LOADS = DISTRIBUTION | {"battery", "solar", "shunt", "switch", "fuse", "rcd", "shore_inlet"}
#: Words for a field that is to be chosen by the rules.
AUTOMATIC = frozenset({"auto", "automatic", "-", "–"})

SYSTEMS: dict[str, System] = {
    "12": "dc12", "12v": "dc12", "12vdc": "dc12", "dc12": "dc12", "24": "dc24", "24v": "dc24", "24vdc": "dc24",
    "dc24": "dc24", "48": "dc48", "48v": "dc48", "48vdc": "dc48", "dc48": "dc48", "230": "ac230", "230v": "ac230",
    "230vac": "ac230", "240": "ac230", "240v": "ac230", "ac230": "ac230", "230vmains": "ac230", "mains": "ac230",
    "110": "ac120", "120": "ac120", "120v": "ac120", "120vac": "ac120", "ac120": "ac120", "120vmains": "ac120",
    "solar": "solar", "asolarstring": "solar", "signal": "signal", "signals": "signal", "data": "signal",
}  # fmt: skip
KINDS: frozenset[str] = frozenset(get_args(DeviceKind))
YES, NO = frozenset({"yes", "y", "true", "1", "x", "✓"}), frozenset({"no", "n", "false", "0"})


class LoadColumn(NamedTuple):
    """A column: the field of `LoadRow`, its title, what else people call it, how its cells are read, what fits."""

    field: str
    title: str
    words: tuple[str, ...]
    read: Callable[[str], Any]
    expected: str
    #: Base unit for a unit in the head ("Power (kW)"), "" where there is none.
    unit: str = ""


class LoadList(NamedTuple):
    """What was read: rows that can be imported, cells that could not be read, and titles nobody knows.

    `columns` are (title in the file, what it was taken for with its unit) in the order of the file.
    """

    rows: tuple[LoadRow, ...]
    problems: tuple[RowProblem, ...]
    unknown: tuple[str, ...]
    columns: tuple[tuple[str, str], ...] = ()


def _automatic(read: Callable[[str], float]) -> Callable[[str], float]:
    """Reads a number, or a word for "let the rules choose", which is 0."""
    return lambda text: 0.0 if text.casefold() in AUTOMATIC else read(text)


def _system(text: str) -> System:
    word = re.sub(r"[^a-z0-9]", "", text.casefold())
    if word not in SYSTEMS:
        raise UnitProblem(text)
    return SYSTEMS[word]


def _kind(text: str) -> str:
    word = re.sub(r"[ -]+", "_", text.strip().casefold())
    if word not in KINDS:
        raise UnitProblem(text)
    return word


def _yes(text: str) -> bool:
    word = text.casefold()
    if word not in YES | NO:
        raise UnitProblem(text)
    return word in YES


def _share(text: str) -> float:
    """A share from 0 to 1, written as a percentage."""
    number = re.fullmatch(r"([0-9]{1,4}(?:[.,][0-9]{1,20})?)\s*%?", text)
    share = round(float(number.group(1).replace(",", ".")) / 100, 12) if number else -1.0
    if not 0 <= share <= 1:
        raise UnitProblem(text)
    return share


def _count(text: str) -> int:
    if not re.fullmatch(r"[0-9]{1,3}", text):
        raise UnitProblem(text)
    return int(text)


def _along(text: str) -> float:
    """A coordinate, which may be negative."""
    return -read_length_mm(text[1:].strip()) if text.startswith(("-", "−")) else read_length_mm(text)


COLUMNS: tuple[LoadColumn, ...] = (
    LoadColumn("id", "Id", ("number",), str, "an id of the plan"),
    LoadColumn("name", "Load", ("name", "device", "item", "appliance", "what", "description"), str, "a name"),
    LoadColumn("quantity", "Quantity", ("qty", "count", "pieces", "pcs", "how many"), _count, "a whole number"),
    LoadColumn("kind", "Kind", ("type", "sort"), _kind, f"one of {', '.join(sorted(KINDS))}"),
    LoadColumn("system", "System", ("volts", "voltage"), _system, "12, 24, 48, 120 or 230 V, solar or signal", "V"),
    LoadColumn("power_w", "Power", ("watts", "w", "watt", "rating"), read_power_w, "a power such as 60 or 1.2 kW", "W"),
    LoadColumn("current_a", "Current", ("amps", "a", "ampere", "amperes", "running current"), read_current_a,
               "a current such as 5 or 500 mA", "A"),
    LoadColumn("peak_a", "Peak", ("peak current", "starting current", "inrush", "surge"), read_current_a,
               "a current such as 10", "A"),
    LoadColumn("duty", "Duty", ("duty cycle", "use"), _share, "a percentage from 0 to 100", "%"),
    LoadColumn("critical", "Critical", ("essential",), _yes, "yes or no"),
    LoadColumn("surface", "Surface", ("wall", "where", "place"), str, "the name of a surface"),
    LoadColumn("x_mm", "x", (), _along, "a length such as 850 or 1.2 m", "mm"),
    LoadColumn("y_mm", "y", ("height",), _along, "a length such as 850 or 1.2 m", "mm"),
    LoadColumn("circuit", "Circuit", (), str, "the name of a circuit"),
    LoadColumn("source", "Source", ("from", "fed from", "fuse block", "panel"), str, "the name of a fuse block"),
    LoadColumn("way", "Way", ("fuse number", "position"), str, "a way of the source"),
    LoadColumn("fuse_a", "Fuse", ("breaker", "protection"), _automatic(read_current_a),
               "a current such as 10, or auto", "A"),
    LoadColumn("section_mm2", "Section", ("wire", "wire size", "size", "gauge", "cable"),
               _automatic(read_section_mm2), "a section such as 2.5 or 14 AWG, or auto", "mm2"),
    LoadColumn("note", "Note", ("notes", "remark", "remarks", "comment"), str, "a text"),
)  # fmt: skip
_BY_TITLE = {re.sub(r"[^a-z0-9]", "", word.casefold()): column for column in COLUMNS for word in (
    column.title, *column.words)}  # fmt: skip


# --- out ---------------------------------------------------------------------------------------------------------


def load_list_bytes(plan: Plan) -> bytes:
    """The load list of a plan as CSV. `read_load_list` and `import_loads` change nothing when it comes back."""
    head = [f"{column.title} ({column.unit})" if column.unit else column.title for column in COLUMNS]
    rows = [_cells(plan, device) for device in plan.devices if device.kind not in NO_LOADS]
    return csv_text([head, *rows])


def _cells(plan: Plan, device: Device) -> list[str]:
    circuit = circuit_of(plan, device.id)
    data = device.electrical
    cells: dict[str, str] = {
        "id": device.id,
        "name": device.name,
        "kind": device.kind.replace("_", " "),
        "system": SYSTEM_WORDS[data.system].removesuffix(" DC").removesuffix(" mains").removeprefix("a "),
        "power_w": _number(data.power_w),
        "current_a": _number(data.current_a),
        "peak_a": _number(data.peak_a),
        "duty": _number(round(data.duty * 100, 10)),
        "critical": "yes" if data.critical else "no",
        "surface": called(plan, "surfaces", device.surface),
        "x_mm": _number(device.at_mm[0]),
        "y_mm": _number(device.at_mm[1]),
        "note": device.note,
    }
    if circuit is not None:
        cells |= _circuit_cells(plan, circuit)
    return [cells.get(column.field, "") for column in COLUMNS]


def _circuit_cells(plan: Plan, circuit: Circuit) -> dict[str, str]:
    source = circuit.stops[0]
    return {
        "circuit": called(plan, "circuits", circuit.id),
        "source": called(plan, "devices", source.device),
        "way": source.way or "",
        "fuse_a": _number(circuit.protective.rating_a),
        "section_mm2": _number(circuit.section_mm2),
    }


def _number(value: float | None) -> str:
    """A number with all its digits, no exponent, never as `1,234` would be read."""
    if value is None:
        return ""
    text = repr(float(value))
    text = f"{value:.12f}" if "e" in text else text
    return text.rstrip("0").rstrip(".") if "." in text else text


# --- in ----------------------------------------------------------------------------------------------------------


def read_load_list(data: bytes | str, name: str = "the load list") -> LoadList:
    """Reads a load list: CSV bytes, or text pasted from a spreadsheet. Raises FileProblem for what is no table, and for
    one without a column of loads; bad cells are told in `problems`."""
    rows = read_rows(data, name)
    start = next((index for index, row in enumerate(rows) if any(row)), None)
    if start is None:
        raise FileProblem("the table is empty", name, "a head and a row for each load")
    columns, unknown = _head(rows[start])
    if not any(column is not None and column.field in ("name", "id") for column, _ in columns):
        raise FileProblem(
            "no column holds the loads", f"{name}, row {start + 1}", "a column named Load, Name or Device"
        )
    found: list[LoadRow] = []
    problems: list[RowProblem] = []
    for number, row in enumerate(rows[start + 1 :], start=start + 2):
        if not any(row):
            continue
        told = _row(number, row, columns, problems)
        if told is not None:
            found.append(told)
    titles = tuple(
        (title, f"{column.title} ({column.unit})" if column.unit else column.title)
        for title, (column, _) in zip(rows[start], columns, strict=True)
        if column is not None
    )
    return LoadList(tuple(found), tuple(problems), tuple(unknown), titles)


Head = list[tuple[LoadColumn | None, float]]


def _head(titles: tuple[str, ...]) -> tuple[Head, list[str]]:
    """(column, factor of its unit) of each cell of the head; None for those nobody knows, which are listed."""
    found: Head = []
    unknown = []
    seen: set[str] = set()
    for title in titles:
        column, factor = _titled(title)
        if column is None or column.field in seen:
            if title:
                unknown.append(title)
            found.append((None, 1.0))
        else:
            seen.add(column.field)
            found.append((column, factor))
    return found, unknown


def _titled(title: str) -> tuple[LoadColumn | None, float]:
    """The column of a title, with or without a unit: `Power`, `power (kW)`, `Amps [A]`, `Height in m`."""
    match = re.fullmatch(r"(.*?)\s*(?:[(\[]\s*(.*?)\s*[)\]]|\s(?:in|/)\s*(\S+))\s*", title)
    word, unit = (match.group(1), match.group(2) or match.group(3)) if match else (title, "")
    for text, said in ((title, ""), (word, unit)):
        column = _BY_TITLE.get(re.sub(r"[^a-z0-9]", "", text.casefold()))
        if column is not None:
            return column, _factor(said, column.unit)
    return None, 1.0


def _factor(unit: str, base: str) -> float:
    plain = unit.replace("²", "2")
    if not plain or not base or plain == base or base in ("V", "%", "mm2"):
        return 1.0
    try:
        return convert(1.0, plain, base)
    except UnitProblem:
        return 1.0


def _row(number: int, cells: tuple[str, ...], columns: Head, problems: list[RowProblem]) -> LoadRow | None:
    told: dict[str, Any] = {"row": number}
    bad = False
    for (column, factor), cell in zip(columns, cells, strict=False):
        if column is None or not cell:
            continue
        try:
            value = column.read(cell)
        except UnitProblem as problem:
            said = str(problem)
            expected = column.expected if said == cell else f"{column.expected} ({said})"
            problems.append(RowProblem(number, column.title, cell[:60], expected))
            bad = True
            continue
        if factor != 1.0 and re.fullmatch(r"[0-9.,]+", cell):
            value *= factor
        if isinstance(value, float) and abs(value) > LARGEST:
            problems.append(RowProblem(number, column.title, cell[:60], column.expected))
            bad = True
            continue
        told[column.field] = value
    if not bad and not told.get("name") and not told.get("id"):
        problems.append(RowProblem(number, "Load", "", "a name is missing"))
        bad = True
    return None if bad else LoadRow(**told)
