"""Rows of cells from a CSV file or from what a spreadsheet put on the clipboard (tabs between the cells).

Comma, semicolon and tab are told apart by the first line. UTF-8 and UTF-16 with their marks, and the old code page of
Windows, are read. What is no table ends in a FileProblem with its place; nothing is read half.
"""

import csv
import re
from collections.abc import Sequence
from io import StringIO

from core.errors import FileProblem
from core.exports.cells import FORMULA_STARTS
from core.files.limits import TABLE_BYTES, TABLE_CELL, TABLE_COLUMNS, TABLE_ROWS

Rows = tuple[tuple[str, ...], ...]


def read_rows(data: bytes | str, name: str = "the table") -> Rows:
    """The rows with their cells, blanks around them dropped; empty rows at the end left out.

    Raises FileProblem: too large, no text, no table.
    """
    text = data if isinstance(data, str) else _decoded(data, name)
    if len(text) > TABLE_BYTES:
        raise FileProblem("the table is too large", name, f"at most {TABLE_BYTES // 2**20} MB")
    if "\0" in text:
        raise FileProblem("this is no text: it holds zero bytes", f"{name}, character {text.index(chr(0)) + 1}", "CSV")
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    rows: list[tuple[str, ...]] = []
    reader = csv.reader(StringIO(text, newline=""), delimiter=delimiter(text), strict=True)
    try:
        for row in reader:
            if len(row) > TABLE_COLUMNS:
                raise FileProblem(
                    f"the row has {len(row)} cells", f"{name}, line {reader.line_num}", f"{TABLE_COLUMNS} at most"
                )
            long = next((i for i, cell in enumerate(row, 1) if len(cell) > TABLE_CELL), None)
            if long is not None:
                where = f"{name}, line {reader.line_num}, column {long}"
                raise FileProblem(f"the cell has {len(row[long - 1])} letters", where, f"{TABLE_CELL} at most")
            rows.append(tuple(plain(cell.strip()) for cell in row))
            if len(rows) > TABLE_ROWS:
                raise FileProblem(
                    "the table has too many rows", f"{name}, line {reader.line_num}", f"{TABLE_ROWS} at most"
                )
    except csv.Error as error:
        raise FileProblem(f"this is no CSV: {error}", f"{name}, line {reader.line_num}", "quotes in pairs") from None
    while rows and not any(rows[-1]):
        rows.pop()
    return tuple(rows)


def _decoded(data: bytes, name: str) -> str:
    if len(data) > TABLE_BYTES:
        raise FileProblem("the table is too large", name, f"at most {TABLE_BYTES // 2**20} MB")
    try:
        if data.startswith((b"\xff\xfe", b"\xfe\xff")):
            return data.decode("utf-16")
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        if b"\0" in data:
            raise FileProblem("this is no text", f"{name}, byte {error.start + 1}", "CSV") from None
        return data.decode("cp1252", errors="replace")


def delimiter(text: str) -> str:
    """What stands between cells: of tab, semicolon and comma the one most frequent in the first line with any,
    outside of quotes."""
    for line in text.split("\n"):
        bare = re.sub(r'"[^"]*"', "", line)
        counts = {mark: bare.count(mark) for mark in ("\t", ";", ",")}
        if any(counts.values()):
            return max(counts, key=lambda mark: counts[mark])
        if line.strip():
            break
    return ","


_QUOTED = re.compile(rf"'('*[ ]*[{re.escape(''.join(FORMULA_STARTS))}])")


def plain(cell: str) -> str:
    """A cell without the apostrophe that keeps a spreadsheet from running it (`guarded`)."""
    return cell[1:] if _QUOTED.match(cell) else cell


def guarded(cell: str) -> str:
    """The cell with an apostrophe where a spreadsheet would run it, or where `plain` would take one away."""
    bare = cell.lstrip(" ")
    return f"'{cell}" if bare.startswith(FORMULA_STARTS) or _QUOTED.match(bare) else cell


def csv_text(rows: Sequence[Sequence[str]]) -> bytes:
    """Rows as CSV (RFC 4180, UTF-8 with a byte order mark), every cell guarded. `read_rows` gives them back."""
    text = StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    for row in rows:
        writer.writerow([guarded(cell) for cell in row])
    return text.getvalue().encode("utf-8-sig")
