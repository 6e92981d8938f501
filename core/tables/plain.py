"""A table as plain text for a terminal: columns as wide as they need."""

from core.tables.table import Table, shown


def plain_text(table: Table) -> str:
    """Title, head, rows under their headings, totals, notes. Tick boxes are left out: nobody ticks a terminal."""
    kept = [index for index, column in enumerate(table.columns) if column.kind != "tick"]
    columns = [table.columns[index] for index in kept]
    heads = [f"{c.title} {c.shown_unit}".strip() for c in columns]
    rows = [[shown(row[index], table.columns[index].kind) for index in kept] for row in table.rows]
    totals = [["" if row[i] is None else shown(row[i], table.columns[i].kind) for i in kept] for row in table.totals]
    widths = [max(len(row[at]) for row in (heads, *rows, *totals)) for at in range(len(kept))]

    def line(cells: list[str]) -> str:
        parts = [
            cell.rjust(width) if column.align == "right" else cell.ljust(width)
            for cell, width, column in zip(cells, widths, columns, strict=True)
        ]
        return "  ".join(parts).rstrip()

    starts: dict[int, list[str]] = {}
    for index, text in table.headings:
        starts.setdefault(index, []).append(text)
    lines = [table.title.upper(), "", line(heads)]
    for index, row in enumerate(rows):
        lines += [f"-- {text}" for text in starts.get(index, ())]
        lines.append(line(row))
    lines += [line(row) for row in totals]
    return "\n".join([*lines, *(["", *table.notes] if table.notes else [])])
