"""The sizing sheet in the facts: sizes with their verdicts, the rules on each, what would be if; by keyboard too."""

from collections.abc import Iterator

import pytest
from PySide6.QtCore import QPoint, Qt
from pytestqt.qtbot import QtBot

from app.panels.sizing import SizingSection
from app.panels.sizing_lines import Line, candidate_cells, rule_lines
from app.theme import Theme
from core.analysis.sizing_sheet import SizeRow, sizing_sheet
from core.analysis.what_if import what_if
from core.edits.circuits import set_section
from tests.flows.hand import Hand, at_work
from tests.helpers.wired import wired


@pytest.fixture
def hand(qtbot: QtBot) -> Iterator[Hand]:
    for hand in at_work(qtbot):
        hand.session.replace(wired(), None)
        yield hand


def shown(hand: Hand, record_id: str) -> SizingSection:
    """The section once it has settled on a wire or circuit."""
    hand.session.select((record_id,))
    section: SizingSection = hand.window.facts.sizing
    hand.qtbot.waitUntil(lambda: section.sheet is not None and section.sheet.wire == section.wire.currentData())
    return section


def loaded_wire(hand: Hand) -> str:
    return next(wire for wire, row in hand.session.analysis.sized.items() if row.drop_v and row.fuse_a)


def test_a_wire_shows_every_size_with_the_verdict_and_the_rules(hand: Hand) -> None:
    wire = loaded_wire(hand)
    section = shown(hand, wire)
    sheet = sizing_sheet(hand.session.analysis, wire)
    cells = [
        tuple(section.sizes.topLevelItem(i).text(column) for column in range(4))
        for i in range(section.sizes.topLevelItemCount())
    ]
    assert cells == [candidate_cells(row) for row in sheet.rows]
    (chosen,) = (row for row in sheet.rows if row.chosen)
    assert section.current_row() == chosen
    # every rule with its numbers and its source, and which one decided
    for verdict in chosen.verdicts:
        assert verdict.rule in section.rules.text()
        assert verdict.source in section.rules.accessibleDescription()
    assert sheet.reason in section.about.accessibleDescription()
    assert "copper at 60 °C" in section.about.accessibleDescription()


def test_the_arrow_keys_ask_for_another_size(hand: Hand) -> None:
    section = shown(hand, loaded_wire(hand))
    chosen = section.current_row()
    hand.window.facts.focus_first()
    assert section.sizes.hasFocus()
    hand.qtbot.keyClick(section.sizes, Qt.Key.Key_Home)
    first = section.current_row()
    assert first is not None
    assert not first.holds
    assert first != chosen
    assert "✗" in section.rules.text()
    assert first.remark in section.rules.accessibleDescription()
    # Tab leaves the table, it does not go from cell to cell
    hand.qtbot.keyClick(section.sizes, Qt.Key.Key_Tab)
    assert not section.sizes.hasFocus()


def test_what_if_is_worked_out_when_it_is_opened(hand: Hand) -> None:
    wire = loaded_wire(hand)
    section = shown(hand, wire)
    assert not section.ifs.isVisible()
    assert section.changes == ()
    section.if_opener.setFocus()
    hand.window.facts.verticalScrollBar().setValue(0)
    hand.qtbot.keyClick(section.if_opener, Qt.Key.Key_Space)
    assert [row.change for row in section.changes] == ["as planned", "at 24 V", "next size up", "two in parallel"]
    assert section._desk is not None
    assert section.changes == what_if(section._desk, wire)
    # what was opened comes into sight by itself
    facts = hand.window.facts
    hand.qtbot.waitUntil(
        lambda: facts.viewport().rect().contains(section.if_words.mapTo(facts.viewport(), QPoint(2, 2)))
    )
    hand.qtbot.keyClick(section.ifs, Qt.Key.Key_Down)
    told = section.if_words.accessibleDescription()
    assert "at 24 V" in told
    assert f"{section.changes[1].path_drop_v:.2f} V" in told


def test_a_circuit_offers_its_wires_and_a_device_no_sheet(hand: Hand) -> None:
    wire = loaded_wire(hand)
    circuit = hand.session.analysis.wires[wire].circuit
    section = shown(hand, circuit)
    own = [w for w, row in hand.session.analysis.wires.items() if row.circuit == circuit]
    assert {section.wire.itemData(i) for i in range(section.wire.count())} == set(own)
    assert section.wire.isVisible()
    section.wire.setFocus()
    hand.qtbot.keyClick(section.wire, Qt.Key.Key_Down)
    second = section.wire.itemData(1)
    hand.qtbot.waitUntil(lambda: section.sheet is not None and section.sheet.wire == second)
    hand.session.select((hand.session.plan.devices[0].id,))
    assert not section.isVisible()
    hand.session.select((wire, own[-1] if own[-1] != wire else own[0]))
    assert not section.isVisible()


def test_the_sheet_follows_the_plan_and_rests_while_it_is_closed(hand: Hand) -> None:
    wire = loaded_wire(hand)
    circuit = hand.session.analysis.wires[wire].circuit
    section = shown(hand, wire)
    hand.session.commit("thicker", set_section(hand.session.plan, circuit, 16.0))
    hand.qtbot.waitUntil(lambda: section.sheet is not None and section.sheet.decided_by == "fixed")
    row = section.current_row()
    assert row is not None
    assert row.section_mm2 == 16.0
    section.opener.setFocus()
    hand.qtbot.keyClick(section.opener, Qt.Key.Key_Space)
    assert not section.sizes.isVisible()
    before = section.sheet
    hand.session.commit("thicker still", set_section(hand.session.plan, circuit, 10.0))
    hand.qtbot.wait(300)
    assert section.sheet is before
    section.opener.click()
    hand.qtbot.waitUntil(lambda: section.sheet is not before)


def test_the_sources_are_muted_in_both_looks(hand: Hand) -> None:
    section = shown(hand, loaded_wire(hand))
    for name in ("light", "dark"):
        theme = Theme(name)
        section.set_theme(theme)
        assert theme.colour("muted").name() in section.rules.text()
    assert section.sizes.mapTo(hand.window, QPoint(0, 0)).x() > 0


def test_words_are_never_taken_for_markup() -> None:
    assert "<i>" not in Line("<i>", "a & b").html("#808080")
    row = SizeRow(
        size="1 mm²", section_mm2=1.0, ampacity_a=None, drop_v=0.0, path_drop_v=None, drop_percent=None,
        mass_g_per_m=1.0, price_per_m=None, verdicts=(), holds=True, chosen=False, remark="more copper than needed",
    )  # fmt: skip
    assert candidate_cells(row) == ("1 mm²", "–", "–", "✓ holds")
    assert rule_lines(row)[0].plain() == "1 mm²: more copper than needed"
