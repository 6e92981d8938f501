"""The guided first plan walked by a newcomer: each step as its words say, to the printed cut list."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QPushButton
from pytestqt.qtbot import QtBot

from app.first_plan import STEPS
from core.model import Device, Point
from tests.flows.hand import Hand, at_work
from tests.flows.test_whole_story import mend, printed, told

Key = Qt.Key


@pytest.fixture
def hand(qtbot: QtBot) -> Iterator[Hand]:
    yield from at_work(qtbot)


def _number(hand: Hand) -> int:
    """The step the strip stands at, from 1."""
    head = hand.window.guide.head.text()
    assert head.startswith("Step "), head
    return int(head.removeprefix("Step ").partition(" ")[0])


def _show(hand: Hand) -> None:
    hand.press(hand.window.guide.show_me)
    step = STEPS[hand.window.guide.step]
    assert hand.window.stages.stage == step.stage
    if step.tool:
        assert hand.window.pointer.tool_id == step.tool


def _place(hand: Hand, words: str, where: Point) -> Device:
    hand.take_device(words)
    hand.click(where)
    hand.key(Key.Key_Escape)
    return hand.session.plan.devices[-1]


def test_ten_steps_from_the_floor_to_the_cut_list(hand: Hand, tmp_path: Path) -> None:
    window, session = hand.window, hand.session
    start = next(b for b in window.start.findChildren(QPushButton) if b.text() == "First plan, step by step")
    hand.press(start)
    assert _number(hand) == 1
    assert window.pointer.tool_id == "floor"

    # 1: the floor, as the words say: a corner, then 2400, Tab, 1600, Return.
    hand.click((0.0, 0.0))
    hand.type_in("2400\t1600")
    assert _number(hand) == 2

    # 2: a wall on each long side, the ceiling from the top of one.
    hand.view.zoom_by(0.35)
    _show(hand)
    hand.click((1200.0, 0.0))
    hand.type_in("1400")
    hand.click((1200.0, 1600.0))
    hand.type_in("1400")
    hand.click((1200.0, 3000.0))
    hand.type_in("1600")
    assert {surface.name for surface in session.plan.surfaces} >= {"Floor", "Vehicle left", "Vehicle right"}
    assert _number(hand) == 3
    hand.view.zoom_to_fit()

    # 3: a rib by its centre line.
    _show(hand)
    hand.click((1800.0, 1650.0))
    hand.click((1800.0, 2900.0))
    hand.key(Key.Key_Return)
    assert session.plan.ribs
    assert _number(hand) == 4

    # 4: a cabinet on the floor by two corners and its height.
    _show(hand)
    hand.click((100.0, 1100.0))
    hand.click((1100.0, 1580.0))
    hand.type_in("800")
    assert len(session.plan.boxes) == 1
    assert _number(hand) == 5

    # 5 to 7: battery in the cabinet, fuse block on the wall behind it, two lights and a socket.
    _show(hand)
    battery = _place(hand, "house battery", (350.0, 1350.0))
    assert battery.kind == "battery"
    assert _number(hand) == 6
    block = _place(hand, "fuse block", (700.0, 1900.0))
    assert block.kind == "fuse_block"
    assert _number(hand) == 7
    loads = [
        _place(hand, "ceiling light", (700.0, 3600.0)),
        _place(hand, "ceiling light", (1500.0, 3600.0)),
        _place(hand, "12 v socket", (1300.0, 2000.0)),
    ]
    assert _number(hand) == 8

    # 8: a channel from the battery past the fuse block, up the wall and over the fold to the lights.
    _show(hand)
    for point in ((350.0, 1350.0), (350.0, 1800.0), (1300.0, 1800.0), (1300.0, 3500.0), (1500.0, 3500.0)):
        hand.click(point)
    hand.key(Key.Key_Return)
    hand.key(Key.Key_Escape)
    assert len({channel.surface for channel in session.plan.channels}) >= 3
    assert _number(hand) == 9

    # 9: battery to block, block to each load.
    _show(hand)
    place = {device.id: hand.on(device.surface, device.at_mm) for device in (battery, block, *loads)}
    hand.drag(place[battery.id], place[block.id])
    for load in loads:
        hand.drag(place[block.id], place[load.id])
    assert len(session.plan.circuits) == 4
    hand.key(Key.Key_Escape)

    # 10: what is wrong is mended by a click; then the cut list.
    if told(hand):
        mend(hand)
    assert not any(finding.severity == "error" for finding in session.analysis_now().findings)
    hand.qtbot.waitUntil(lambda: window.guide.head.text() == "The first plan is done", timeout=10_000)
    text = printed(hand, tmp_path / "cut-list.pdf")
    for wire in session.analysis_now().wires:
        assert wire in text
