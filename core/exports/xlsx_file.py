"""Tables as one XLSX workbook: a sheet each, numbers as numbers, head frozen, nothing taken for a formula or a link."""

from collections.abc import Iterable
from datetime import datetime
from io import BytesIO
from typing import Any

from core.tables.table import DECIMALS, Cell, Column, Swatch, Table, shown

#: Sheet names: at most 31 letters, none of these (ECMA-376; from memory).
FORBIDDEN = str.maketrans(dict.fromkeys("[]:*?/\\", "-"))
LONGEST_NAME = 31
#: Spreadsheets measure columns in digits of their standard font; wider ones wrap.
WIDEST = 60
NARROWEST = 6
#: The same table gives the same bytes; a workbook must have some date of creation.
CREATED = datetime(2000, 1, 1)  # noqa: DTZ001 (the format stores no zone)


def xlsx_bytes(tables: Iterable[Table], title: str) -> bytes:
    """One workbook with a sheet for each table, in their order."""
    import xlsxwriter

    buffer = BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    with xlsxwriter.Workbook(buffer, options) as book:
        book.set_properties({"title": title, "created": CREATED})
        formats = _Formats(book)
        for table in tables:
            _write(book.add_worksheet(table.title.translate(FORBIDDEN)[:LONGEST_NAME]), table, formats)
    return buffer.getvalue()


class _Formats:
    """The cell formats of one workbook."""

    def __init__(self, book: Any) -> None:
        self.head = book.add_format({"bold": True, "text_wrap": True, "valign": "bottom", "bottom": 1})
        self.heading = book.add_format({"bold": True, "top": 1})
        self.text = book.add_format({"text_wrap": True, "valign": "top"})
        self.bold = book.add_format({"bold": True, "top": 1, "valign": "top"})
        self.note = book.add_format({"italic": True})
        self._numbers: dict[tuple[str, bool], Any] = {}
        self._book = book

    def number(self, column: Column, bold: bool) -> Any:
        key = (column.kind, bold)
        if key not in self._numbers:
            decimals = DECIMALS.get(column.kind)
            pattern = "General" if decimals is None else "#,##0" + ("." + "0" * decimals if decimals else "")
            self._numbers[key] = self._book.add_format(
                {"num_format": pattern, "valign": "top", "bold": bold, **({"top": 1} if bold else {})}
            )
        return self._numbers[key]


def _write(sheet: Any, table: Table, formats: _Formats) -> None:
    for number, column in enumerate(table.columns):
        unit = f"\n{column.shown_unit}" if column.shown_unit else ""
        sheet.write_string(0, number, column.title + unit, formats.head)
        sheet.set_column(number, number, _width(table, number, column))
    sheet.freeze_panes(1, 0)
    sheet.repeat_rows(0)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    starts: dict[int, list[str]] = {}
    for index, text in table.headings:
        starts.setdefault(index, []).append(text)
    line = 1
    for index, row in enumerate(table.rows):
        for text in starts.get(index, ()):
            sheet.write_string(line, 0, text, formats.heading)
            line += 1
        _write_row(sheet, line, row, table, formats, bold=False)
        line += 1
    for row in table.totals:
        _write_row(sheet, line, row, table, formats, bold=True)
        line += 1
    for note in table.notes:
        line += 1
        sheet.write_string(line, 0, note, formats.note)


def _write_row(sheet: Any, line: int, row: tuple[Cell, ...], table: Table, formats: _Formats, bold: bool) -> None:
    for number, (cell, column) in enumerate(zip(row, table.columns, strict=True)):
        if cell is None or cell == "":
            continue
        if isinstance(cell, bool):
            sheet.write_string(line, number, "yes" if cell else "", formats.bold if bold else formats.text)
        elif isinstance(cell, str | Swatch):
            sheet.write_string(line, number, str(cell), formats.bold if bold else formats.text)
        else:
            sheet.write_number(line, number, cell, formats.number(column, bold))


def _width(table: Table, number: int, column: Column) -> float:
    longest = max((len(shown(row[number], column.kind)) for row in (*table.rows, *table.totals)), default=0)
    head = max(map(len, column.title.split()), default=0)
    return max(NARROWEST, min(WIDEST, longest + 2), head + 2)
