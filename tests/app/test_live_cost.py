"""While a device is dragged the sheet says what it costs, and it agrees with the plan analysed afterwards."""

from collections.abc import Iterator

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from core.analysis.engine import analyse
from core.studies.difference import difference
from tests.flows.hand import Hand, at_work
from tests.helpers.wired import wired


@pytest.fixture
def hand(qtbot: QtBot) -> Iterator[Hand]:
    for hand in at_work(qtbot):
        hand.session.replace(wired(), None)
        hand.view.zoom_to_fit()
        yield hand


def test_a_drag_says_what_it_costs_until_it_ends(hand: Hand) -> None:
    live, session = hand.window.live_cost, hand.session
    device = next(device for device in session.plan.devices if device.node and not device.ways)
    start = hand.on(device.surface, device.at_mm)
    end = (start[0] + 120.0, start[1] + 60.0)
    before = session.analysis
    hand.drag(start, (start[0] + 60.0, start[1]), end, release=False)
    assert session.previewing
    hand.qtbot.waitUntil(live.isVisible, timeout=5_000)
    hand.qtbot.waitUntil(lambda: session.analysis.plan is session.shown, timeout=5_000)
    told = difference(before, analyse(session.shown, session.library)).metres
    assert abs(told) > 0.005, "the drag of this test changes no length"
    assert f"{told:+.2f} m" in live.text()
    hand.release(end)
    assert not session.previewing
    assert not live.isVisible()


def test_escape_takes_the_cost_away_with_the_preview(hand: Hand) -> None:
    device = next(device for device in hand.session.plan.devices if device.node and not device.ways)
    start = hand.on(device.surface, device.at_mm)
    hand.drag(start, (start[0] + 60.0, start[1] + 60.0), release=False)
    hand.qtbot.waitUntil(hand.window.live_cost.isVisible, timeout=5_000)
    hand.key(Qt.Key.Key_Escape)
    assert not hand.window.live_cost.isVisible()
