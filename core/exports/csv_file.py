"""A table as CSV (RFC 4180): comma, CRLF, UTF-8.

With a byte order mark, because the spreadsheet most people have reads UTF-8 as their old code page without it; programs
read the file as "utf-8-sig". Numbers have a decimal point, no thousands mark and no unit: the unit is in the head.
"""

import csv
from io import StringIO

from core.exports.cells import harmless
from core.tables.table import Cell, Kind, Table, number_text


def csv_bytes(table: Table) -> bytes:
    """Head, rows and totals; headings of groups become a first column of their own."""
    text = StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    groups = _groups(table)
    lead = ["group"] if table.headings else []
    units = [f"{column.title} ({column.shown_unit})" if column.shown_unit else column.title for column in table.columns]
    writer.writerow(lead + units)
    kinds = [column.kind for column in table.columns]
    for group, row in zip(groups, table.rows, strict=True):
        writer.writerow(([harmless(group)] if lead else []) + _cells(row, kinds))
    for row in table.totals:
        writer.writerow(([""] if lead else []) + _cells(row, kinds))
    return text.getvalue().encode("utf-8-sig")


def _cells(row: tuple[Cell, ...], kinds: list[Kind]) -> list[str]:
    # Numbers are left alone: a negative one is no formula.
    return [
        number_text(cell, kind) if isinstance(cell, int | float) else harmless(number_text(cell, kind))
        for cell, kind in zip(row, kinds, strict=True)
    ]


def _groups(table: Table) -> list[str]:
    """The heading that each row stands under."""
    starts = dict(table.headings)
    groups, current = [], ""
    for index in range(len(table.rows)):
        current = starts.get(index, current)
        groups.append(current)
    return groups
