"""The window of the standards profile: choose one, set a limit, take one from another profile, undo."""

from collections.abc import Iterator

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QTreeWidgetItemIterator
from pytestqt.qtbot import QtBot

from app.dialogs.standards import RULE, StandardsDialog
from app.dialogs.waive import WaiveDialog
from core.edits.records import set_plan
from core.model import limit
from tests.flows.hand import Hand, at_work
from tests.helpers.wired import wired


@pytest.fixture
def hand(qtbot: QtBot) -> Iterator[Hand]:
    for hand in at_work(qtbot):
        hand.session.replace(wired(), None)
        yield hand


def _dialog(hand: Hand) -> StandardsDialog:
    hand.window.actions_by_id["standards"].trigger()
    return hand.dialog(StandardsDialog)


def _choose(dialog: StandardsDialog, rule: str) -> None:
    rows = QTreeWidgetItemIterator(dialog.tree)
    while (item := rows.value()) is not None and item.data(0, RULE) != rule:
        rows += 1
    dialog.tree.setCurrentItem(rows.value())


def _limit(hand: Hand, rule: str) -> float | None:
    return limit(hand.session.library.profile_of(hand.session.plan.profile), rule).value


def _type(dialog: StandardsDialog, text: str) -> None:
    dialog.value.setFocus()
    dialog.value.selectAll()
    QTest.keyClicks(dialog.value, text)
    QTest.keyClick(dialog.value, Qt.Key.Key_Return)


def test_a_limit_is_typed_and_taken_back(hand: Hand) -> None:
    dialog = _dialog(hand)
    _choose(dialog, "drop.other")
    was = _limit(hand, "drop.other")
    _type(dialog, "4,5")
    assert _limit(hand, "drop.other") == 4.5
    current = dialog.tree.currentItem()
    assert current is not None
    assert current.text(1) == "4.5 %"
    assert current.text(3) == "your own"
    QTest.mouseClick(dialog.reset, Qt.MouseButton.LeftButton)
    assert _limit(hand, "drop.other") == was
    hand.session.undo()
    assert _limit(hand, "drop.other") == 4.5


@pytest.mark.parametrize(
    ("text", "says"), [("many", "is no number of %"), ("-3", "from 0 to 100 %"), ("", "no number")]
)
def test_what_is_no_limit_is_told_and_changes_nothing(hand: Hand, text: str, says: str) -> None:
    dialog = _dialog(hand)
    _choose(dialog, "drop.other")
    plan = hand.session.plan
    dialog.value.clear()
    _type(dialog, text)
    assert hand.session.plan is plan
    assert dialog.problem.isVisible()
    assert says in dialog.problem.text()


def test_another_profile_and_a_rule_of_a_third_one(hand: Hand) -> None:
    dialog = _dialog(hand)
    dialog.profiles.setCurrentIndex(dialog.profiles.findData("boat-us"))
    dialog.profiles.activated.emit(dialog.profiles.currentIndex())
    assert hand.session.plan.profile.id == "boat-us"
    _choose(dialog, "drop.critical")
    index = dialog.others.findData("aircraft")
    assert index > 0
    dialog.others.activated.emit(index)
    assert _limit(hand, "drop.critical") == limit(hand.session.library.profile("aircraft"), "drop.critical").value
    assert "taken from" in dialog.told.text()


def test_a_profile_with_unread_numbers_says_how_many(hand: Hand) -> None:
    dialog = _dialog(hand)
    dialog.profiles.activated.emit(dialog.profiles.findData("motor-caravan-eu"))
    assert "were not read: fill them in from your own copy" in dialog.summary.text()


def test_in_a_customers_plan_a_waiver_asks_who_decides(hand: Hand) -> None:
    hand.session.commit("Set customer", set_plan(hand.session.plan, build_for="customer"))
    hand.window.findings.step(1)
    hand.window.actions_by_id["waive"].trigger()
    dialog = hand.dialog(WaiveDialog)
    assert dialog.by.isVisible()
    QTest.keyClicks(dialog.reason, "measured cold")
    dialog.accept_button.click()
    assert "needs the name" in dialog.problem.text()
    assert hand.session.plan.waivers == ()
    QTest.keyClicks(dialog.by, "A. Builder")
    dialog.accept_button.click()
    assert [row.by for row in hand.session.plan.waivers] == ["A. Builder"]
