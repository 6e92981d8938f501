"""Variants side by side and "Can I add …", at the window."""

from collections.abc import Iterator

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.dialogs.can_i_add import ROWS, CanIAddDialog
from app.dialogs.variants import VariantsDialog
from core.edits.circuits import set_section
from core.files.references import problems
from core.model import Plan, find
from tests.flows.hand import Hand, at_work
from tests.helpers.wired import LEFT, wired

Ctrl, Alt = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.AltModifier


@pytest.fixture
def hand(qtbot: QtBot) -> Iterator[Hand]:
    yield from at_work(qtbot)


def show(hand: Hand, plan: Plan) -> None:
    hand.window.files.start(plan, drawn=False)
    hand.view.zoom_to_fit()


# --- variants --------------------------------------------------------------------------------------------------------


def variants(hand: Hand) -> VariantsDialog:
    hand.shortcut(Qt.Key.Key_V, Ctrl | Alt)
    dialog = hand.dialog(VariantsDialog)
    assert isinstance(dialog, VariantsDialog)
    return dialog


def compared(hand: Hand, dialog: VariantsDialog) -> dict[str, list[str]]:
    hand.qtbot.waitUntil(lambda: dialog.comparison is not None, timeout=10_000)
    table = dialog.table
    return {
        table.verticalHeaderItem(row).text(): [table.item(row, c).text() for c in range(table.columnCount())]
        for row in range(table.rowCount())
    }


def test_a_variant_is_kept_compared_switched_renamed_and_deleted(hand: Hand) -> None:
    plan = wired()
    show(hand, plan)
    dialog = variants(hand)
    dialog.name.setText("As first planned")
    QTest.keyClick(dialog.name, Qt.Key.Key_Return)
    (kept,) = hand.session.plan.variants
    assert kept.name == "As first planned"
    pump = hand.session.plan.circuits[2]
    hand.session.commit("Thicker", set_section(hand.session.plan, pump.id, 6.0))
    dialog.refresh()
    rows = compared(hand, dialog)
    assert [dialog.table.horizontalHeaderItem(c).text() for c in range(2)] == ["This plan", "As first planned"]
    assert rows[pump.name][0].startswith("6 mm²")
    assert not rows[pump.name][1].startswith("6 mm²")
    assert "best" in rows["Weight of wire"][1]
    dialog.only.setChecked(True)
    assert "Circuits" not in compared(hand, dialog)
    hand.press(dialog.switch_button)
    assert find(hand.session.plan, "circuits", pump.id).section_mm2 is None
    assert [v.name for v in hand.session.plan.variants] == ["Before As first planned"]
    dialog.name.setText("Thick pump wire")
    hand.press(dialog.rename_button)
    assert [v.name for v in hand.session.plan.variants] == ["Thick pump wire"]
    hand.press(dialog.delete_button)
    assert hand.session.plan.variants == ()
    assert not dialog.switch_button.isEnabled()
    dialog.name.setText(" ")
    hand.press(dialog.keep_button)
    assert dialog.problem.text() == "A variant needs a name."
    compared(hand, dialog)
    dialog.reject()


def test_24_v_is_one_action_and_what_is_selected_stays(hand: Hand) -> None:
    show(hand, wired())
    light = next(d for d in hand.session.plan.devices if d.name == "Light")
    hand.session.select((light.id,))
    hand.window.actions_by_id["on-24v"].trigger()
    dialog = hand.dialog(VariantsDialog)
    assert isinstance(dialog, VariantsDialog)
    (variant,) = hand.session.plan.variants
    systems = {device.name: device.electrical.system for device in variant.plan.devices}
    assert systems["Pump"] == "dc24"
    assert systems["Light"] == "dc12"
    assert "Light stays on 12 V" in dialog.told_changes.text()
    assert {d.electrical.system for d in hand.session.plan.devices} == {"dc12"}
    compared(hand, dialog)
    dialog.reject()
    hand.shortcut(Qt.Key.Key_Z)
    assert hand.session.plan.variants == ()


# --- can I add -------------------------------------------------------------------------------------------------------


def adding(hand: Hand) -> CanIAddDialog:
    hand.shortcut(Qt.Key.Key_A, Ctrl | Alt)
    dialog = hand.dialog(CanIAddDialog)
    assert isinstance(dialog, CanIAddDialog)
    return dialog


def told(dialog: CanIAddDialog, row: str, column: int = 0) -> str:
    return dialog.table.item(ROWS.index(row), column).text()


def test_a_place_and_a_current_are_answered_and_done(hand: Hand) -> None:
    """The block sits at (800, 500) on the wall, its channel rises to 1,000 and runs along; the load hangs 100 mm below
    it at x = 1,800: 500 + 1,000 + 100 mm."""
    plan = wired()
    show(hand, plan)
    before = hand.session.plan
    dialog = adding(hand)
    assert not dialog.do_button.isEnabled()
    hand.move(hand.on(LEFT, (1_800.0, 900.0)))
    hand.type_in("1800\t900")
    assert "1800 mm along, 900 mm up" in dialog.place.text()
    assert dialog.verdict.text().startswith("Yes: way ")
    assert told(dialog, "One-way") == "1.60 m"
    assert told(dialog, "Spare ways left") == "3 after this one"
    dialog.current.setText("40")
    QTest.keyClick(dialog.current, Qt.Key.Key_Return)
    assert dialog.verdict.text().startswith("No. ")
    dialog.current.setText("many")
    dialog.refresh()
    assert dialog.problem.text()
    assert hand.session.plan is before
    dialog.choose_device("fan-wall")
    assert dialog.verdict.text().startswith("Yes")
    assert not dialog.system.isEnabled()
    hand.press(dialog.do_button)
    added = hand.session.plan.devices[-1]
    assert (added.kind, added.name) == ("fan", "Cabin fan")
    assert hand.session.plan.circuits[-1].stops[1].device == added.id
    assert problems(hand.session.plan) == ()
    assert hand.session.selection == (added.id,)
    hand.shortcut(Qt.Key.Key_Z)
    assert hand.session.plan is before
    dialog.reject()
    QApplication.processEvents()
    assert hand.window.pointer.tool_id == ""


def test_an_answer_for_an_earlier_plan_is_asked_anew(hand: Hand) -> None:
    show(hand, wired())
    dialog = adding(hand)
    hand.click(hand.on(LEFT, (1_800.0, 900.0)))
    pump = hand.session.plan.circuits[2]
    hand.session.commit("Thicker", set_section(hand.session.plan, pump.id, 6.0))
    hand.press(dialog.do_button)
    assert "changed meanwhile" in dialog.problem.text()
    assert len(hand.session.plan.devices) == len(wired().devices)
    hand.press(dialog.do_button)
    assert len(hand.session.plan.devices) == len(wired().devices) + 1
    assert find(hand.session.plan, "circuits", pump.id).section_mm2 == 6.0
    dialog.reject()
