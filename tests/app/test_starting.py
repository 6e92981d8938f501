"""The start page, the guided first plan and the help of each stage, by real clicks."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QPushButton
from pytestqt.qtbot import QtBot

from app.commands import starting
from app.commands.table import ACTIONS
from app.dialogs.stage_help import StageHelp
from app.first_plan import LOADS, STEPS, first_open
from app.panels.stages import STAGES
from app.settings import Settings
from app.tools.toolbox import TOOLS
from core.files.codec import read_plan
from core.resources import resource, samples
from tests.flows.hand import Hand, at_work


@pytest.fixture
def hand(qtbot: QtBot) -> Iterator[Hand]:
    yield from at_work(qtbot)


def _way(hand: Hand, words: str) -> QPushButton:
    (button,) = (each for each in hand.window.start.findChildren(QPushButton) if each.text() == words)
    assert button.isVisible()
    return button


def _press(button: QPushButton) -> None:
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)


def test_a_sample_opens_as_a_copy_that_loses_nothing_when_closed(hand: Hand) -> None:
    before = {path: path.read_bytes() for path in samples()}
    assert len(before) == 2
    _press(_way(hand, "Weekend camper"))
    assert hand.session.path is None
    assert hand.session.clean
    assert hand.session.plan == read_plan(samples()[1])
    assert not hand.window.start.isVisible()
    assert {path: path.read_bytes() for path in samples()} == before


def test_a_broken_sample_is_told_and_the_sheet_stays(hand: Hand, tmp_path: Path) -> None:
    bad = tmp_path / "half-a-van.loomplan"
    bad.write_text("{", encoding="utf-8")
    plan = hand.session.plan
    starting.open_sample(hand.window.bench, bad)
    assert hand.session.plan is plan


def test_recent_files_stand_on_the_start_page(qtbot: QtBot, tmp_path: Path) -> None:
    file = tmp_path / "bus & trailer.loomplan"
    file.write_bytes(samples()[1].read_bytes())
    hand = Hand(qtbot, Settings(theme="light", recent=(str(file),)))
    _press(_way(hand, "bus && trailer.loomplan"))
    assert hand.session.path == file
    hand.window.close()


def test_every_stage_has_its_help_in_plain_words(hand: Hand) -> None:
    for stage in STAGES:
        told = resource(f"help/{stage.id}.md").read_text(encoding="utf-8")
        assert told.startswith(f"# {stage.words}:")
    hand.stage("circuits")
    QTest.keyClick(hand.window, Qt.Key.Key_F1)
    dialog = hand.dialog(StageHelp)
    assert "fuse protects the wire" in dialog.page.toPlainText()
    dialog.list.setCurrentRow(0)
    assert "bare shell" in dialog.page.toPlainText()


def test_what_the_guide_shows_is_there() -> None:
    assert len(STEPS) == 10
    assert {step.stage for step in STEPS} <= {stage.id for stage in STAGES}
    assert {step.tool for step in STEPS} <= {row.id for row in TOOLS} | {""}
    assert {step.action for step in STEPS} <= {row.id for row in ACTIONS} | {""}


def test_the_samples_have_done_all_steps() -> None:
    for path in samples():
        plan = read_plan(path)
        assert first_open(plan, 0) == len(STEPS)
        assert first_open(plan, 1) == len(STEPS) - 1


def test_the_guide_follows_what_is_drawn_and_takes_its_tools(hand: Hand) -> None:
    guide = hand.window.guide
    assert not guide.isVisible()
    _press(_way(hand, "First plan, step by step"))
    assert guide.isVisible()
    assert guide.head.text() == "Step 1 of 10: The floor"
    assert hand.window.pointer.tool_id == "floor"
    hand.click((0.0, 0.0))
    hand.move((500.0, 500.0))
    hand.type_in("2400\t1600")
    assert guide.head.text().startswith("Step 2 of 10")
    _press(guide.show_me)
    assert hand.window.pointer.tool_id == "wall"
    _press(guide.before)
    assert guide.head.text() == "Step 1 of 10: The floor  ✓ done"
    _press(guide.next)
    _press(guide.next)
    _press(guide.next)
    assert guide.step == 3
    assert hand.window.stages.stage == "fit-out"
    hand.window.actions_by_id["undo"].trigger()
    assert guide.head.text() == "Step 1 of 10: The floor"
    _press(guide.leave)
    assert not guide.isVisible()


def test_the_guide_ends_with_the_plan_and_starts_again_where_it_is(hand: Hand) -> None:
    hand.window.files.start(read_plan(samples()[1]), drawn=False)
    hand.window.actions_by_id["first-plan"].trigger()
    assert hand.window.guide.head.text() == "The first plan is done"
    plan = hand.session.plan
    hand.session.select(circuit.id for circuit in plan.circuits)
    hand.window.actions_by_id["delete"].trigger()
    assert len(hand.session.plan.circuits) < LOADS
    assert hand.window.guide.head.text() == "Step 9 of 10: Connect"


def test_the_ways_to_begin_stay_in_the_middle_while_the_sheet_is_pushed_about(hand: Hand) -> None:
    start, sheet = hand.window.start, hand.view.viewport()
    for step in range(1, 4):
        hand.view.zoom_by(1.3)
        hand.view.horizontalScrollBar().setValue(hand.view.horizontalScrollBar().value() + 70 * step)
        hand.window.resize(1600 - 90 * step, 1000)
        QApplication.processEvents()
        assert abs(start.geometry().center().x() - sheet.rect().center().x()) <= 1
