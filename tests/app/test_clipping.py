"""Cut, copy and paste by the keys: on one sheet, between windows, and from another process through the clipboard."""

from collections.abc import Iterator

import pytest
from PySide6.QtCore import QMimeData, Qt
from PySide6.QtGui import QGuiApplication
from pytestqt.qtbot import QtBot

from core.edits.clipboard import MIME
from core.model import find
from tests.flows.hand import Hand, at_work
from tests.helpers.wired import wired


@pytest.fixture
def van(qtbot: QtBot) -> Iterator[Hand]:
    for hand in at_work(qtbot):
        hand.session.replace(wired(), None)
        hand.view.zoom_to_fit()
        yield hand


@pytest.fixture
def other(qtbot: QtBot) -> Iterator[Hand]:
    for hand in at_work(qtbot):
        hand.session.replace(wired(), None)
        hand.view.zoom_to_fit()
        yield hand


def test_a_device_is_pasted_where_the_pointer_is_and_undone_in_one_step(van: Hand) -> None:
    before = van.session.plan
    lamp = next(device for device in before.devices if device.kind == "light")
    van.session.select((lamp.id,))
    van.shortcut(Qt.Key.Key_C)
    at = (lamp.at_mm[0] + 150.0, lamp.at_mm[1] + 100.0)
    van.move(van.on(lamp.surface, at))
    van.shortcut(Qt.Key.Key_V)
    (new,) = van.session.selection
    pasted = find(van.session.plan, "devices", new)
    assert new != lamp.id
    assert (pasted.surface, pasted.kind, pasted.width_mm) == (lamp.surface, lamp.kind, lamp.width_mm)
    # within a pixel of the pointer
    assert pasted.at_mm == pytest.approx(at, abs=1.0 / van.view.px_per_mm)
    assert pasted.node is None
    assert find(van.session.plan, "devices", lamp.id) == lamp
    van.shortcut(Qt.Key.Key_Z)
    assert van.session.plan is before


def test_what_is_cut_in_one_window_is_pasted_in_another(van: Hand, other: Hand) -> None:
    lamp = next(device for device in van.session.plan.devices if device.kind == "light")
    count = len(other.session.plan.devices)
    van.session.select((lamp.id,))
    van.shortcut(Qt.Key.Key_X)
    assert lamp.id not in {device.id for device in van.session.plan.devices}
    assert van.session.undo_label.startswith("Cut ")
    other.move(other.on(lamp.surface, lamp.at_mm))
    other.shortcut(Qt.Key.Key_V)
    assert len(other.session.plan.devices) == count + 1
    assert find(other.session.plan, "devices", other.session.selection[0]).electrical == lamp.electrical


def test_what_cannot_be_copied_is_named_and_the_clipboard_stays(van: Hand) -> None:
    QGuiApplication.clipboard().setText("a letter")
    van.session.select((van.session.plan.surfaces[0].id,))
    van.shortcut(Qt.Key.Key_C)
    assert QGuiApplication.clipboard().text() == "a letter"
    assert "cannot be copied" in van.window.status.currentMessage()
    before = van.session.plan
    van.shortcut(Qt.Key.Key_V)
    assert van.session.plan is before
    assert "The clipboard holds nothing of a plan" in van.window.status.currentMessage()


@pytest.mark.parametrize("data", [b"{", b"\xff" * 100, b"[" * 5_000, b'{"format": 9, "pieces": []}', b"x" * 17_000_000])
def test_what_another_program_puts_under_our_name_is_refused_in_words(van: Hand, data: bytes) -> None:
    clip = QMimeData()
    clip.setData(MIME, data)
    QGuiApplication.clipboard().setMimeData(clip)
    before = van.session.plan
    van.shortcut(Qt.Key.Key_V)
    assert van.session.plan is before
    assert "The clipboard holds" in van.window.status.currentMessage()


def test_a_copy_carries_a_text_for_other_programs(van: Hand) -> None:
    lamp = next(device for device in van.session.plan.devices if device.kind == "light")
    van.session.select((lamp.id,))
    van.shortcut(Qt.Key.Key_C)
    assert QGuiApplication.clipboard().text() == (lamp.name or lamp.id)
