"""Fold-up view, folding picture, layers, history, change of measurements and selecting many, by mouse and keys."""

from collections.abc import Iterator

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.canvas.fold_up import SIDES, FoldUpView
from app.canvas.layers import KINDS, Layers
from app.dialogs.fold_up import FoldUpWindow
from app.dialogs.resize import ResizeDialog
from core.edits.devices import move_device
from core.edits.resizing import body_size_mm
from core.pages.marks import AreaMark
from core.pages.sheet import LAYERS
from core.pages.transform import bounds
from tests.flows.hand import Hand, Left, at_work
from tests.helpers.sheet_van import van as van_plan

Control = Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def hand(qtbot: QtBot) -> Iterator[Hand]:
    for one in at_work(qtbot):
        one.session.replace(van_plan(), None)
        one.view.zoom_to_fit()
        yield one


# --- folded up -------------------------------------------------------------------------------------------------------


@pytest.fixture
def picture(hand: Hand) -> FoldUpView:
    hand.window.actions_by_id["fold-up"].trigger()
    dialog = hand.dialog(FoldUpWindow)
    assert isinstance(dialog, FoldUpWindow)
    return dialog.picture


def test_one_window_is_opened_once_and_fits(hand: Hand, picture: FoldUpView) -> None:
    hand.window.actions_by_id["fold-up"].trigger()
    assert len(hand.window.findChildren(FoldUpWindow)) == 1
    for side in SIDES:
        picture.look_from(side)
        box = bounds(picture.marks())
        assert box is not None
        assert box.left >= 0
        assert box.bottom >= 0
        assert box.right <= picture.width() / 4
        assert box.top <= picture.height() / 4


def test_it_turns_by_mouse_and_keys_and_keeps_its_size_meanwhile(picture: FoldUpView) -> None:
    before, marks = picture.seen, picture.marks()
    middle = picture.rect().center()
    QTest.mousePress(picture, Left, Qt.KeyboardModifier.NoModifier, middle)
    QTest.mouseMove(picture, middle + QPoint(100, 0))
    QTest.mouseRelease(picture, Left, Qt.KeyboardModifier.NoModifier, middle + QPoint(100, 0))
    assert picture.seen.turn_deg != before.turn_deg
    assert picture.seen.zoom == before.zoom
    assert picture.marks() != marks
    turn = picture.seen.turn_deg
    QTest.keyClick(picture, Qt.Key.Key_Right)
    assert picture.seen.turn_deg == pytest.approx((turn - 10) % 360)
    for _ in range(30):
        QTest.keyClick(picture, Qt.Key.Key_Up)
    assert picture.seen.rise_deg < 90
    QTest.keyClick(picture, Qt.Key.Key_Plus)
    assert (picture.seen.zoom or 0) > (before.zoom or 0)
    QTest.keyClick(picture, Qt.Key.Key_Home)
    assert picture.seen.turn_deg == pytest.approx(SIDES["Overview"][0])


def test_a_click_selects_what_is_seen_there_and_the_sheet_follows(hand: Hand, picture: FoldUpView) -> None:
    def pixel(points: tuple[tuple[float, float], ...]) -> QPointF:
        x, y = (sum(p[k] for p in points) / len(points) for k in (0, 1))
        return QPointF(4 * x, picture.height() - 4 * y)

    ids = {device.id: device.name for device in hand.session.plan.devices}
    faces = [(m.subject, pixel(m.outline_mm)) for m in picture.marks() if isinstance(m, AreaMark)]
    picked = [(subject, at) for subject, at in faces if picture.record_at(at) == subject]
    assert any(subject not in ids for subject, _ in picked)
    subject, at = next((subject, at) for subject, at in picked if subject in ids)
    QTest.mouseClick(picture, Left, Qt.KeyboardModifier.NoModifier, at.toPoint())
    assert hand.session.selection == (subject,)
    assert f"{ids[subject]} selected" in picture.accessibleDescription()
    QTest.mouseClick(picture, Left, Qt.KeyboardModifier.NoModifier, QPoint(2, 2))
    assert hand.session.selection == ()


def test_folding_goes_from_the_sheet_to_the_vehicle(hand: Hand, picture: FoldUpView) -> None:
    dialog = hand.dialog(FoldUpWindow)
    assert isinstance(dialog, FoldUpWindow)
    whole = picture.marks()
    dialog.folded.setValue(0)
    assert picture.seen.folded == 0
    assert picture.marks() != whole
    hand.press(dialog.play)
    hand.qtbot.waitUntil(lambda: picture.seen.folded == 1.0, timeout=8_000)
    assert dialog.folded.value() == 100
    assert picture.marks() == whole
    dialog.names.setChecked(False)
    assert not picture.seen.names


def test_a_change_of_the_plan_is_seen_there(hand: Hand, picture: FoldUpView) -> None:
    device = next(d for d in hand.session.plan.devices if d.name == "Fridge")
    before = [mark for mark in picture.marks() if mark.subject == device.id]
    x, y = device.at_mm
    hand.session.commit("Move", move_device(hand.session.plan, device.id, device.surface, (x - 60, y)))
    assert [mark for mark in picture.marks() if mark.subject == device.id] != before


def test_the_small_picture_lights_the_surface_and_opens_the_large_one(hand: Hand) -> None:
    card = hand.window.folding
    assert {mark.subject for mark in card.marks() if mark.subject} <= {s.id for s in hand.session.plan.surfaces}
    device = hand.session.plan.devices[0]
    hand.session.select((device.id,))
    assert card.lit == {device.surface}
    card.setFocus()
    QTest.keyClick(card, Qt.Key.Key_Return)
    assert hand.window.findChildren(FoldUpWindow)


# --- layers ----------------------------------------------------------------------------------------------------------


def test_every_layer_of_the_drawing_has_one_kind_or_is_a_route() -> None:
    named = [layer for kind in KINDS for layer in kind.layers]
    assert len(named) == len(set(named))
    assert set(LAYERS) - set(named) == {"route"}


def test_a_hidden_kind_is_neither_seen_nor_picked_with_its_names(hand: Hand) -> None:
    device = next(d for d in hand.session.plan.devices if d.name == "Fridge")
    at = hand.on(device.surface, device.at_mm)
    scene = hand.view.sheet_scene
    assert scene.records_at(at, 1.0)[0] == device.id
    box = hand.window.layers.shows["devices"]
    hand.window.bench.show_pane("layers")
    hand.press(box)  # type: ignore[arg-type]
    assert device.id not in scene.records_at(at, 1.0)
    assert not scene.items_by_key[device.id].isVisible()
    assert not scene.items_by_key[f"name:{device.id}"].isVisible()
    # Nothing of the plan has changed, and what is drawn later stays hidden.
    assert not hand.session.can_undo
    hand.view.zoom_by(2.0)
    hand.view.zoom_rested()
    assert not scene.items_by_key[device.id].isVisible()
    hand.press(hand.window.layers.all_shown)
    assert scene.records_at(at, 1.0)[0] == device.id


def test_labels_go_with_the_bundles_they_name(hand: Hand) -> None:
    scene = hand.view.sheet_scene
    pills = [item for key, item in scene.items_by_key.items() if key.startswith("pill:")]
    assert pills
    scene.set_layers(Layers().shown("channels", False))
    assert not any(item.isVisible() for item in pills)
    scene.set_layers(Layers().shown("crossings", False))
    assert all(item.isVisible() for item in pills)


def test_a_locked_kind_is_seen_and_not_picked(hand: Hand) -> None:
    device = next(d for d in hand.session.plan.devices if d.name == "Fridge")
    at = hand.on(device.surface, device.at_mm)
    hand.view.sheet_scene.set_layers(Layers().lock("devices", True))
    assert hand.view.sheet_scene.items_by_key[device.id].isVisible()
    hand.click(at)
    assert device.id not in hand.session.selection
    hand.view.sheet_scene.set_layers(Layers())
    hand.click(at)
    assert hand.session.selection == (device.id,)


# --- history ---------------------------------------------------------------------------------------------------------


def test_the_history_names_every_step_and_goes_to_any(hand: Hand) -> None:
    session, panel = hand.session, hand.window.history
    first = session.plan
    plans = [first]
    for number in range(3):
        device = session.plan.devices[0]
        x, y = device.at_mm
        session.commit(f"Step {number}", move_device(session.plan, device.id, device.surface, (x + 5, y)))
        plans.append(session.plan)
    assert session.steps == ("As it was opened", "Step 0", "Step 1", "Step 2")
    assert panel.steps.count() == 4
    hand.window.bench.show_pane("history")
    item = panel.steps.item(1)
    QTest.mouseClick(
        panel.steps.viewport(), Left, Qt.KeyboardModifier.NoModifier, panel.steps.visualItemRect(item).center()
    )
    assert session.plan is plans[1]
    assert session.can_redo
    panel.steps.setCurrentRow(3)
    QTest.keyClick(panel.steps, Qt.Key.Key_Return)
    assert session.plan is plans[3]
    session.go_to(0)
    assert session.plan is first
    assert session.clean
    with pytest.raises(ValueError, match="no step 9"):
        session.go_to(9)
    device = session.plan.devices[0]
    session.commit(
        "Other", move_device(session.plan, device.id, device.surface, (device.at_mm[0], device.at_mm[1] + 3))
    )
    assert session.steps == ("As it was opened", "Other")
    assert panel.steps.count() == 2


# --- measurements ----------------------------------------------------------------------------------------------------


def test_the_body_is_resized_and_odd_input_is_told(hand: Hand) -> None:
    before = body_size_mm(hand.session.plan)
    hand.window.actions_by_id["resize"].trigger()
    dialog = hand.dialog(ResizeDialog)
    assert isinstance(dialog, ResizeDialog)
    hand.press(dialog.change)
    assert "Nothing is different" in dialog.problem.text()
    for odd in ("long", "-5", "0", "1e9 km"):
        hand.write_only(dialog.sizes["length"], odd)
        hand.press(dialog.change)
        assert dialog.problem.isVisible()
        assert dialog.isVisible()
        assert not hand.session.can_undo
    hand.write_only(dialog.sizes["length"], f"{before['length'] + 200:g}")
    hand.press(dialog.change)
    assert body_size_mm(hand.session.plan)["length"] == pytest.approx(before["length"] + 200)
    assert hand.session.undo_label == "Change length of the body"
    hand.session.undo()
    assert body_size_mm(hand.session.plan) == before


# --- selecting many --------------------------------------------------------------------------------------------------


def test_an_outline_selects_what_lies_wholly_inside(hand: Hand) -> None:
    device = next(d for d in hand.session.plan.devices if d.name == "Fridge")
    x, y = hand.on(device.surface, device.at_mm)
    r = max(device.width_mm, device.height_mm) + 40
    hand.window.actions_by_id["select-outline"].trigger()
    QTest.keyClick(hand.view, Qt.Key.Key_Escape)
    hand.window.actions_by_id["select-outline"].trigger()
    for corner in ((x - r, y - r), (x + r, y - r), (x + r, y + r), (x - r, y + r)):
        hand.click(corner)
    hand.key(Qt.Key.Key_Return)
    assert device.id in hand.session.selection
    assert not {s.id for s in hand.session.plan.surfaces} & set(hand.session.selection)
    assert hand.window.pointer.tool_id == ""


def test_what_lies_inside_a_surface_is_selected_by_one_action(hand: Hand) -> None:
    device = next(d for d in hand.session.plan.devices if d.name == "Fridge")
    hand.session.select((device.surface,))
    hand.window.actions_by_id["select-inside"].trigger()
    on_it = {d.id for d in hand.session.plan.devices if d.surface == device.surface}
    assert on_it <= set(hand.session.selection)
    hand.session.select((device.id,))
    assert "Select a surface" in hand.window.actions_by_id["select-inside"].toolTip()


def test_a_search_selects_all_that_it_finds(hand: Hand) -> None:
    search = hand.window.outline.search
    search.setText("window")
    QTest.keyClick(search, Qt.Key.Key_Return, Qt.KeyboardModifier.ShiftModifier)
    named = {o.id for o in hand.session.plan.openings if "window" in o.name.lower()}
    assert named
    assert named <= set(hand.session.selection)
    assert not {s.id for s in hand.session.plan.surfaces} & set(hand.session.selection)
    search.setText("nothing has this name")
    QTest.keyClick(search, Qt.Key.Key_Return, Qt.KeyboardModifier.ShiftModifier)
    assert hand.session.selection == ()


def test_grid_and_rulers_follow_the_settings(hand: Hand) -> None:
    grid = hand.view.sheet_scene.grid
    assert grid.isVisible()
    hand.window.actions_by_id["grid"].trigger()
    assert not grid.isVisible()
    for unit, size_mm in (("cm", 10.0), ("in", 25.4), ("mm", 1.0)):
        hand.window.actions_by_id[unit].trigger()
        assert hand.view.sheet_scene.unit_mm == size_mm


def test_the_wheel_brings_it_nearer(picture: FoldUpView) -> None:
    before = picture.seen.zoom or 0
    at = QPointF(picture.rect().center())
    event = QWheelEvent(
        at, at, QPoint(), QPoint(0, 120), Qt.MouseButton.NoButton, Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    QApplication.sendEvent(picture, event)
    assert (picture.seen.zoom or 0) > before
