"""The shopping list: what to buy, a list for every supplier."""

from collections.abc import Mapping

from core.analysis.analysis import Analysis
from core.analysis.cutting import spool_name
from core.analysis.results import Material
from core.tables.names import capital
from core.tables.table import Cell, Column, Table
from core.text import counted, number

NOBODY = "No supplier named yet"
PRICES = "Prices are those typed or of the catalogue, in the money of the plan; an item without one is not in the sum."


def suppliers(analysis: Analysis) -> Mapping[str, str]:
    """Who sells each item of the materials, "" where nobody is named: the plan's word on the item, else the supplier
    of its kind, else the plan's usual one."""
    plan = analysis.plan
    by_kind: dict[str, str] = {}
    kinds = {kind.id: kind for kind in plan.wire_kinds}
    for piece in analysis.pieces:
        kind = kinds.get(piece.kind)
        if kind is not None:
            by_kind[spool_name(kind, piece.section_mm2, piece.colour)] = kind.supplier
    for group in (plan.tape_kinds, plan.conduit_kinds, plan.grommet_kinds, plan.fixing_kinds):
        by_kind |= {kind.name: kind.supplier for kind in group}
    named = {row.item: row.supplier for row in plan.supplies}
    usual = plan.assumptions.supplier
    return {row.item: named.get(row.item) or by_kind.get(row.item) or usual for row in analysis.materials}


def shopping_list(analysis: Analysis) -> Table:
    """Items by supplier in the order of their names, what has none last; a sum for each that has prices."""
    sellers = suppliers(analysis)
    numbers = {row.item: row.order_number for row in analysis.plan.supplies}
    by_supplier: dict[str, list[Material]] = {}
    for row in analysis.materials:
        by_supplier.setdefault(sellers[row.item], []).append(row)
    rows: list[tuple[Cell, ...]] = []
    headings: list[tuple[int, str]] = []
    for supplier in sorted(by_supplier, key=lambda name: (not name, name.casefold())):
        group = by_supplier[supplier]
        priced = [row.price for row in group if row.price is not None]
        told = f" · {number(sum(priced), 2)} for the {counted(len(priced), 'item')} with a price" if priced else ""
        headings.append((len(rows), f"{supplier or NOBODY}: {counted(len(group), 'item')}{told}"))
        rows += [
            (False, capital(row.item), row.quantity, row.unit, _packs(row), numbers.get(row.item) or None,
             None if row.price is None else round(row.price, 2), row.why)
            for row in group
        ]  # fmt: skip
    total = sum(row.price for row in analysis.materials if row.price is not None)
    return Table(
        name="shopping",
        title="Shopping list",
        columns=(
            Column(key="bought", title="bought", kind="tick", weight=0.4),
            Column(key="item", title="item", weight=3.6, important=True),
            Column(key="quantity", title="quantity", kind="number", weight=0.8, important=True),
            Column(key="unit", title="unit", weight=0.6),
            Column(key="packs", title="packs", weight=0.8),
            Column(key="order_number", title="order number", weight=1.2),
            Column(key="price", title="price", kind="money", weight=0.7),
            Column(key="why", title="what for", weight=3.4),
        ),
        rows=tuple(rows),
        headings=tuple(headings),
        totals=((None, "Total", None, "", None, None, round(total, 2), ""),) if total else (),
        notes=(PRICES,) if total else (),
    )


def _packs(row: Material) -> str | None:
    return f"{row.packs} × {row.pack}" if row.packs else None
