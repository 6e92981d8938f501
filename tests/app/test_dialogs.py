"""Every dialog an action opens: what can be pressed or typed in has a name, Escape closes it, nothing is printed; and a
dialog about the plan does nothing to another one that was opened meanwhile."""

from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QDialog,
    QLabel,
    QLineEdit,
    QScrollBar,
    QWidget,
)
from pytestqt.qtbot import QtBot

from app.commands import underlays
from app.commands.table import ACTIONS
from app.dialogs.resize import ResizeDialog
from app.dialogs.wire_all import WireAllDialog
from app.dialogs.work import WorkDialog
from app.render.underlay import Kept
from core.edits.records import set_field
from tests.flows.hand import Hand, at_work
from tests.helpers.wired import LEFT, device, wired

#: Actions that ask, with the words of what is selected first.
ASKING = {
    "resize": "box",
    "ends": "block",
    "wire-all": "block",
    "return": "circuit",
    "spare-wires": "",
    "data-run": "",
    "antenna-run": "",
    "bond": "",
    "inner-conduit": "channel",
    "can-i-add": "",
    "variants": "",
    "standards": "",
    "papers": "",
    "as-pulled": "",
    "tests": "",
    "photos": "",
    "suppliers": "",
    "stage-help": "",
    "command": "",
    "keys": "",
    "about": "",
    "new": "",
}


@pytest.fixture
def van(qtbot: QtBot) -> Iterator[Hand]:
    for hand in at_work(qtbot):
        plan, _ = device(wired(), "light-reading", LEFT, (2_000.0, 1_000.0), "Loose lamp")
        hand.session.replace(plan, None)
        yield hand


def select(hand: Hand, what: str) -> None:
    plan = hand.session.plan
    records = {
        "": (),
        "box": plan.boxes[:1],
        "block": tuple(d for d in plan.devices if d.ways)[:1],
        "circuit": plan.circuits[:1],
        "channel": tuple(c for c in plan.channels if c.id in hand.session.analysis.bundles)[:1],
    }[what]
    hand.session.select(record.id for record in records)


def dialogs(hand: Hand) -> Sequence[QDialog]:
    QApplication.processEvents()
    return [each for each in hand.window.findChildren(QDialog) if each.isVisible()]


def opened(hand: Hand, action: str) -> QDialog:
    select(hand, ASKING[action])
    hand.window.action_set.run(action)
    found = dialogs(hand)
    assert len(found) == 1, action
    return found[0]


def nameless(dialog: QDialog) -> list[str]:
    """What takes the keyboard and has no name of its own, no words on it, and no label that says it is its."""
    labelled = {label.buddy() for label in dialog.findChildren(QLabel) if label.buddy() is not None}
    found = []
    for widget in dialog.findChildren(QWidget):
        if widget.focusPolicy() == Qt.FocusPolicy.NoFocus or not widget.isVisibleTo(dialog):
            continue
        inner = isinstance(widget, QLineEdit) and isinstance(widget.parentWidget(), QAbstractSpinBox | QComboBox)
        words = isinstance(widget, QLabel | QAbstractButton) and bool(widget.text())
        if not (inner or words or widget.accessibleName() or widget in labelled or isinstance(widget, QScrollBar)):
            found.append(f"{type(widget).__name__} {widget.objectName()}".strip())
    return found


def test_the_actions_are_those_of_the_table() -> None:
    assert set(ASKING) <= {action.id for action in ACTIONS}


@pytest.mark.parametrize("action", ASKING)
def test_every_dialog_has_names_and_escape_closes_it(action: str, van: Hand, capfd: pytest.CaptureFixture[str]) -> None:
    capfd.readouterr()
    before = van.session.plan
    dialog = opened(van, action)
    assert dialog.windowTitle()
    assert nameless(dialog) == []
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    assert dialogs(van) == []
    assert van.session.plan is before
    told = capfd.readouterr()
    assert [line for line in (told.out + told.err).splitlines() if "This plugin does not support" not in line] == []


@pytest.mark.parametrize("action", ["wire-all", "return", "ends", "can-i-add"])
def test_a_dialog_about_the_plan_before_is_gone_with_it(action: str, van: Hand) -> None:
    assert isinstance(opened(van, action), WorkDialog)
    van.window.files.start(wired())
    assert dialogs(van) == []


def test_a_dialog_about_a_device_that_was_undone_is_gone_with_it(van: Hand) -> None:
    plan, block = device(van.session.plan, "fuse-block-6", LEFT, (2_500.0, 700.0), "Second block")
    van.session.commit("Place device", plan)
    van.session.select((block,))
    van.window.action_set.run("ends")
    assert len(dialogs(van)) == 1
    van.session.undo()
    assert dialogs(van) == []


def test_wires_worked_out_for_the_plan_before_an_edit_do_not_undo_it(van: Hand) -> None:
    dialog = opened(van, "wire-all")
    assert isinstance(dialog, WireAllDialog)
    wall = set_field(van.session.plan, LEFT, note="The underlay came in")
    van.session.commit("Set note", wall)
    QTest.mouseClick(dialog.make, Qt.MouseButton.LeftButton)
    assert van.session.plan is wall
    assert dialog.isVisible()
    assert "has changed" in dialog.problem.text()


def test_a_body_resized_before_an_edit_does_not_undo_it(van: Hand) -> None:
    dialog = opened(van, "resize")
    assert isinstance(dialog, ResizeDialog)
    field = next(iter(dialog.sizes.values()))
    van.write_only(field, "3210")
    wall = set_field(van.session.plan, LEFT, note="The underlay came in")
    van.session.commit("Set note", wall)
    QTest.keyClick(field, Qt.Key.Key_Return)
    QApplication.processEvents()
    assert van.session.plan is wall
    assert "has changed meanwhile" in van.window.status.currentMessage()


def test_an_underlay_of_a_surface_that_is_gone_is_told(van: Hand, tmp_path: Path) -> None:
    before = van.session.plan
    underlays._place(van.window.bench, "gone", tmp_path / "wall.png", None, Kept(b"", "image/png", 10, 10))
    assert van.session.plan is before
