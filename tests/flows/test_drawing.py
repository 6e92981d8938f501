"""Drawing at the window by real events: by mouse, and by keys alone."""

from collections.abc import Iterator
from math import dist

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QContextMenuEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QMenu, QToolButton
from pytestqt.qtbot import QtBot

from app.panels.stages import STAGES
from app.tools.toolbox import TOOLS
from core.edits.body import draw_box, draw_rib
from core.edits.dimensions import dimension_length_mm
from core.model import find
from tests.flows.hand import Hand, at_work
from tests.helpers.vans import shell
from tests.helpers.wired import CEILING, FLOOR, LEFT

Ctrl, Shift, Alt = (
    Qt.KeyboardModifier.ControlModifier,
    Qt.KeyboardModifier.ShiftModifier,
    Qt.KeyboardModifier.AltModifier,
)
Key = Qt.Key
RIGHT = "s3"


@pytest.fixture
def hand(qtbot: QtBot) -> Iterator[Hand]:
    for each in at_work(qtbot):
        plan, _ = draw_box(shell(), FLOOR, ((200, 200), (800, 200), (800, 600), (200, 600)), 900)
        plan, _ = draw_rib(plan, LEFT, ((500, 0), (500, 1800)), 60)
        each.session.replace(plan, None)
        each.view.zoom_to_fit()
        each.window.activateWindow()
        each.view.setFocus()
        QApplication.processEvents()
        yield each


def box(hand: Hand) -> list[tuple[float, float]]:
    return [(round(x, 2), round(y, 2)) for x, y in hand.session.plan.boxes[0].outline]


def problem(hand: Hand) -> str:
    return hand.view._field.problem


# --- the field beside the pointer ------------------------------------------------------------------------------------


def test_a_bad_number_keeps_its_field_open_with_the_reason_until_it_is_right(hand: Hand) -> None:
    hand.session.select((hand.session.plan.boxes[0].id,))
    hand.key(Key.Key_V)
    hand.move((1500, 1200))
    before = hand.session.plan
    hand.type_in("12 kg")
    field = hand.typed_field()
    assert field.isVisible()
    assert field.hasFocus()
    assert "kg" in problem(hand)
    assert field.accessibleDescription() == problem(hand), "heard as well as seen"
    assert hand.session.plan is before
    QTest.keyClicks(field, "99999")  # too far: refused by the edit, and still open
    QTest.keyClick(field, Key.Key_Return)
    assert "Floor" in problem(hand)
    QTest.keyClicks(field, "150")
    assert problem(hand) == ""
    QTest.keyClick(field, Key.Key_Return)
    assert not field.isVisible()
    assert box(hand)[0] == (350, 200)
    assert hand.view.hasFocus()


def test_tab_goes_from_value_to_value_and_no_further_than_there_are(hand: Hand) -> None:
    hand.session.select((hand.session.plan.boxes[0].id,))
    hand.key(Key.Key_V)
    hand.move((1500, 1200))
    QTest.keyClicks(hand.view, "1")
    field = hand.typed_field()
    for _ in range(4):
        QTest.keyClick(field, Key.Key_Tab)
    assert field.text().count(";") == 1
    QTest.keyClick(field, Key.Key_Escape)
    assert not field.isVisible()
    assert hand.view.hasFocus()
    assert hand.window.pointer.tool_id == "move", "Escape in the field leaves the field alone"


def test_a_click_closes_the_field(hand: Hand) -> None:
    hand.window.tools_by_id["rib"].trigger()
    hand.click((1000, 300))
    QTest.keyClicks(hand.view, "4")
    assert hand.typed_field().isVisible()
    hand.click((1400, 900))
    assert not hand.typed_field().isVisible()
    assert len(hand.session.plan.ribs) == 2


# --- keys alone ------------------------------------------------------------------------------------------------------


def test_tab_selects_the_next_thing_return_edits_it_and_f6_leaves(hand: Hand) -> None:
    hand.key(Key.Key_Tab)
    assert hand.session.selection == (FLOOR,)
    hand.key(Key.Key_Tab)
    cabinet = hand.session.plan.boxes[0]
    assert hand.session.selection == (cabinet.id,)
    assert hand.view.accessibleDescription() == "Cabinet selected"
    hand.key(Key.Key_Right)
    hand.key(Key.Key_Up, Shift)
    hand.key(Key.Key_Left, Alt)
    assert box(hand)[0] == (209, 300)
    hand.type_in("-9\t-100")
    assert box(hand)[0] == (200, 200)
    hand.key(Key.Key_Tab, Shift)
    assert hand.session.selection == (FLOOR,)
    hand.key(Key.Key_Return)
    focus = QApplication.focusWidget()
    assert hand.window.facts.isAncestorOf(focus)
    QTest.keyClick(hand.window, Key.Key_F6)
    seen = []
    for _ in range(6):
        focus = QApplication.focusWidget()
        assert focus is not None
        seen.append(focus)
        QTest.keyClick(hand.window, Key.Key_F6)
        QApplication.processEvents()
    assert hand.view in seen


def test_past_the_last_thing_tab_leaves_the_sheet(hand: Hand) -> None:
    for _ in range(20):
        hand.key(Key.Key_Tab)
        if not hand.view.hasFocus():
            break
    assert not hand.view.hasFocus()


def test_a_cabinet_is_moved_turned_and_repeated_without_a_mouse(hand: Hand) -> None:
    hand.key(Key.Key_Tab)
    hand.key(Key.Key_Tab)
    hand.key(Key.Key_V)
    hand.type_in("600\t300")
    assert box(hand)[0] == (800, 500)
    hand.key(Key.Key_U)
    hand.type_in("90")
    assert sorted(box(hand)) == [(900, 400), (900, 1000), (1300, 400), (1300, 1000)]
    hand.key(Key.Key_A)
    hand.type_in("500")
    hand.type_in("3")
    assert len(hand.session.plan.boxes) == 3
    assert hand.window.pointer.tool_id == ""
    for _ in range(3):
        hand.session.undo()
    assert box(hand)[0] == (200, 200)


def test_a_corner_is_dragged_by_arrows_and_space(hand: Hand) -> None:
    hand.session.select((hand.session.plan.boxes[0].id,))
    hand.view.setFocus()
    hand.key(Key.Key_X)
    hand.move((795, 605))
    hand.key(Key.Key_Right)  # takes over from the mouse
    hand.key(Key.Key_Left)
    hand.key(Key.Key_Space)
    for _ in range(3):
        hand.key(Key.Key_Up, Shift)
    hand.key(Key.Key_Return)
    (corner,) = [p for p in box(hand) if p not in ((200, 200), (800, 200), (200, 600))]
    assert corner == pytest.approx((800, 900), abs=12)


def test_every_tool_is_taken_by_its_key_and_left_by_escape(hand: Hand) -> None:
    for row in TOOLS:
        action = hand.window.tools_by_id[row.id]
        if not action.isEnabled():
            assert action.toolTip()
            continue
        action.trigger()
        assert hand.window.pointer.tool_id == row.id
        assert hand.window.status.hint.text()
        hand.key(Key.Key_Escape)
        assert hand.window.pointer.tool_id == "", row.id


def test_a_key_that_is_held_suspends_snapping_though_the_pointer_rests(hand: Hand) -> None:
    hand.window.tools_by_id["rib"].trigger()
    near = 4.0 / hand.view.px_per_mm
    hand.move((1500 + near, near))
    assert hand.view._word.text() == "middle of Floor edge"
    QTest.keyPress(hand.view, Key.Key_Alt)
    assert hand.view._word.isHidden()
    QTest.keyRelease(hand.view, Key.Key_Alt)
    assert hand.view._word.text() == "middle of Floor edge"


# --- seams -----------------------------------------------------------------------------------------------------------


def test_where_a_channel_goes_on_blinks_and_j_jumps_there(hand: Hand, qtbot: QtBot) -> None:
    hand.window.tools_by_id["channel"].trigger()
    hand.click(hand.on(CEILING, (1500, 1000)))
    hand.move(hand.on(CEILING, (1500, 1400)))
    assert hand.view.sheet_scene.flash.marks == ()
    edge = hand.on(CEILING, (1500, 1700))
    hand.move(edge)
    (ring,) = hand.view.sheet_scene.flash.marks
    there = hand.on(RIGHT, (1500, 1800))
    assert dist(ring.centre_mm, there) < 1.0  # type: ignore[union-attr]
    qtbot.waitUntil(lambda: not hand.view._flash.is_running, timeout=5_000)
    hand.view.zoom_by(4.0, hand.px(edge))
    assert not hand.view.viewport().rect().contains(hand.view.mapFromScene(*there))
    hand.key(Key.Key_J)
    hand.px(there)
    hand.type_in("500\t-90")
    hand.key(Key.Key_Return)
    assert [c.surface for c in hand.session.plan.channels] == [CEILING, RIGHT]
    assert hand.session.plan.channels[0].end == hand.session.plan.channels[1].start


def test_surfaces_are_laid_apart_and_back_and_faces_raised(hand: Hand) -> None:
    run = hand.window.action_set.run
    hand.session.select((CEILING,))
    run("lay-apart")
    apart = find(hand.session.plan, "surfaces", CEILING).apart
    assert apart is not None
    run("lay-back")
    assert find(hand.session.plan, "surfaces", CEILING).apart is None
    hand.session.select((hand.session.plan.boxes[0].id,))
    run("raise-faces")
    assert len(hand.session.plan.boxes[0].faces) == 5
    assert all(find(hand.session.plan, "surfaces", face).apart for face in hand.session.plan.boxes[0].faces[:4])
    assert not hand.window.actions_by_id["raise-faces"].isEnabled()


def test_the_menu_key_asks_about_what_is_selected(hand: Hand) -> None:
    cabinet = hand.session.plan.boxes[0]
    hand.session.select((cabinet.id,))
    event = QContextMenuEvent(QContextMenuEvent.Reason.Keyboard, QPoint(300, 300), QPoint(300, 300))
    QApplication.sendEvent(hand.view, event)
    menu = next(each for each in hand.view.viewport().findChildren(QMenu) if each.isVisible())
    assert hand.session.selection == (cabinet.id,)
    assert "Raise faces" in [action.text() for action in menu.actions()]
    menu.close()


def test_dimensions_of_a_box_are_drawn_and_follow_it(hand: Hand) -> None:
    hand.session.select((hand.session.plan.boxes[0].id,))
    hand.window.action_set.run("dimensions")
    sizes = [dimension_length_mm(hand.session.plan, each.id) for each in hand.session.plan.dimensions]
    assert sizes == [600, 400]
    hand.session.select((hand.session.plan.dimensions[0].id,))
    hand.window.action_set.run("detach")
    assert hand.session.plan.dimensions[0].from_on is None


# --- the bar ---------------------------------------------------------------------------------------------------------


def test_the_tools_of_every_stage_fit_a_window_of_1280(hand: Hand) -> None:
    hand.window.resize(1280, 900)
    for stage in STAGES:
        hand.stage(stage.id)
        QApplication.processEvents()
        more = hand.window.bar.findChild(QToolButton, "qt_toolbar_ext_button")
        assert more is None or not more.isVisible(), f"the bar of {stage.id} is too long"


def test_a_group_says_which_of_its_tools_is_in_hand(hand: Hand) -> None:
    group = hand.window.bar.groups["Change"]
    assert {"Move", "Copy", "Edges and corners"} <= {action.text() for action in group.menu().actions()}
    hand.window.tools_by_id["mirror"].trigger()
    assert group.isChecked()
    assert group.accessibleName() == "Change: Mirror"
    hand.key(Key.Key_Escape)
    assert not group.isChecked()
