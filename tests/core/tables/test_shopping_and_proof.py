"""The shopping list against the materials, and the proof of a wire against the sizing it proves."""

from collections import Counter

import pytest
from msgspec.structs import replace

from core.analysis.sizing_sheet import SizingDesk
from core.edits.records import set_assumptions, set_field
from core.edits.supplies import set_supplier
from core.pages.imprint import imprint
from core.pages.marks import TextMark
from core.pages.paper import Choices
from core.pages.proof import wire_proof_pages
from core.tables.names import capital
from core.tables.proof import cut_words, proof_tables
from core.tables.shopping import NOBODY, shopping_list, suppliers
from tests.helpers.samples import sample


def test_every_item_is_on_the_list_once_under_its_supplier() -> None:
    made = sample("weekend-camper")
    items = [row.item for row in made.materials]
    plan = set_supplier(made.plan, items[:3], "Marine store", "M-1")
    kind = next(kind.id for kind in plan.wire_kinds if any(piece.kind == kind.id for piece in made.pieces))
    plan = set_field(plan, kind, supplier="Cable house")
    table = shopping_list(replace_plan(made, plan))
    assert Counter(row[1] for row in table.rows) == Counter(capital(item) for item in items)
    starts = [*(at for at, _ in table.headings), len(table.rows)]
    under = {
        words.partition(":")[0]: {row[1] for row in table.rows[start:end]}
        for (start, words), end in zip(table.headings, starts[1:], strict=True)
    }
    assert under["Marine store"] == set(items[:3])
    sellers = suppliers(replace_plan(made, plan))
    assert under.get("Cable house", set()) == {item for item in items if sellers[item] == "Cable house"}
    of_kind = next(item for item in items if sellers[item] == "Cable house")
    named = replace_plan(made, set_supplier(plan, (of_kind,), "Web shop"))
    assert suppliers(named)[of_kind] == "Web shop", "the plan's word on an item wins over its kind's"
    assert list(under)[-1] == NOBODY, "what has no supplier stands last"
    usual = shopping_list(replace_plan(made, set_assumptions(plan, supplier="Corner shop")))
    assert NOBODY not in " ".join(words for _, words in usual.headings)
    assert all(row[5] == "M-1" for row in table.rows if row[1] in items[:3])


def replace_plan(made, plan):
    """The analysis with another plan: suppliers change nothing that is computed."""
    from dataclasses import replace as changed

    return changed(made, plan=plan)


def test_prices_are_added_up_by_hand() -> None:
    from dataclasses import replace as changed

    made = sample("weekend-camper")
    rows = tuple(replace(row, price=1.25 if number < 4 else None) for number, row in enumerate(made.materials))
    table = shopping_list(changed(made, materials=rows))
    assert table.totals[0][6] == pytest.approx(5.0)
    assert "5.00 for the 4 items with a price" in table.headings[0][1]


def test_the_proof_has_every_rule_with_its_numbers_and_source() -> None:
    made = sample("long-van")
    desk = SizingDesk(made)
    for wire in list(made.wires)[::11]:
        sheet = desk.sheet(wire)
        tables = {table.name: table for table in proof_tables(made, sheet)}
        chosen = next((row for row in sheet.rows if row.chosen), None)
        assert "proof-facts" in tables
        if chosen is None or not chosen.verdicts:
            continue
        told = {row[0]: row for row in tables["proof-rules"].rows}
        assert len(told) == len(chosen.verdicts)
        for verdict in chosen.verdicts:
            row = told[verdict.rule]
            assert row[1] == pytest.approx(verdict.value, abs=0.06)
            assert row[2] == pytest.approx(verdict.limit, abs=0.06)
            assert row[5] == verdict.source
        assert made.sized[wire].decided_by in str(tables["proof-facts"].rows)


def test_the_cut_in_the_proof_is_a_sum_that_is_right() -> None:
    for piece in sample("long-van").pieces:
        words = cut_words(piece).replace("\N{NARROW NO-BREAK SPACE}", "")
        parts, total = words.split(" = ")
        added = sum(float(part.split()[0]) for part in parts.split(" + "))
        # Every part is printed to a whole millimetre.
        assert added == pytest.approx(float(total.split()[0]), abs=0.5 * (len(piece.allowances) + 1) + 0.5)


def test_proof_pages_of_chosen_wires_name_them() -> None:
    made = sample("weekend-camper")
    wires = list(made.wires)[:2]
    about = replace(imprint(made.plan, "25 Nov 2026"), choices=Choices(paper="Letter"))
    pages = wire_proof_pages(made, about, wires)
    titles = {mark.text for page in pages for mark in page.marks if isinstance(mark, TextMark)}
    assert {f"Proof: {wire}" for wire in wires} <= titles
    assert {(page.width_mm, page.height_mm) for page in pages} == {(215.9, 279.4)}
