"""A mid van from a sheet of measurements: shell, arches, doors, cabinets, channels, with nothing but the README read.

The sheet of measurements is invented. Actions are counted (`Hand.actions`: a click, a key, a number typed and sent
off; pointing before typing counts too), and 15 minutes are to hold them at 10 seconds each: that is 90 actions.
"""

from collections.abc import Iterator
from math import hypot

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QPushButton
from pytestqt.qtbot import QtBot

from app.dialogs.new_vehicle import NewVehicleDialog
from core.model import Point
from tests.flows.hand import Hand, at_work

Key = Qt.Key

#: Millimetres, in the order of the numbered picture.
TAPE = {
    "length": 3100, "floor_width": 1720, "shoulder_width": 1760, "shoulder_height": 850, "roof_width": 1500,
    "side_height": 1680, "centre_height": 1800, "rib_first": 420, "rib_pitch": 540, "rib_width": 70, "rib_depth": 45,
    "arch_gap": 1320, "arch_length": 860, "arch_height": 280, "arch_from_rear": 780,
}  # fmt: skip
SLIDING_DOOR = (140, 30, 1050, 1480)
#: Near which corner of the floor, then as on paper: from the end, from the side, width, depth, height.
CABINETS = (
    ((200, 1600), "0\t0\t1100\t450\t900"),  # kitchen, right behind the bulkhead
    ((3000, 1600), "0\t0\t800\t400\t1600"),  # wardrobe, right at the rear
    ((3000, 100), "0\t0\t1300\t600\t450"),  # bench, left at the rear
    ((100, 860), "0\t600\t350\t400\t400"),  # seat box, at the bulkhead
)

#: It was 93: 25 tabs through ticks and buttons of the form, 21 for taking the cabinet tool again, its distances and
#: its height one by one, 6 for a riser on each surface by itself.
MOST_ACTIONS = 49


@pytest.fixture
def hand(qtbot: QtBot) -> Iterator[Hand]:
    yield from at_work(qtbot)


def type_there(text: str, then: Key = Key.Key_Return) -> None:
    """Type into whatever has the keyboard."""
    field = QApplication.focusWidget()
    assert field is not None
    QTest.keyClicks(field, text)
    QTest.keyClick(field, then)
    QApplication.processEvents()


def take(hand: Hand, tool: str) -> None:
    """A tool out of a group of the bar: two clicks."""
    hand.actions += 2
    hand.window.tools_by_id[tool].trigger()


def point_and_type(hand: Hand, at: Point, text: str) -> None:
    hand.actions += 1
    hand.move(at)
    hand.type_in(text)


def test_from_a_sheet_of_measurements_to_shell_doors_cabinets_and_channels(hand: Hand) -> None:
    session = hand.session

    # The shell, by the form: all numbers in one go with Return.
    start = next(b for b in hand.window.start.findChildren(QPushButton) if b.text().startswith("New vehicle"))
    hand.press(start)
    form = hand.dialog(NewVehicleDialog)
    assert isinstance(form, NewVehicleDialog)
    form.activateWindow()
    QApplication.processEvents()
    assert form.focusWidget() is form.name
    type_there("Mid van", Key.Key_Tab)
    assert form.focusWidget() is form.body
    type_there("m")
    assert form.body.currentText() == "Mid van"
    hand.actions += 2
    for number in (*TAPE.values(), *SLIDING_DOOR):
        type_there(str(number))
        hand.actions += 1
    assert {key: float(field.text()) for key, field in form.fields.items()} == TAPE
    hand.press(form.make)
    plan = session.plan
    assert {surface.known for surface in plan.surfaces if surface.name == "Floor"} == {"measured"}
    assert sum(box.kind == "wheel_arch" for box in plan.boxes) == 2
    assert {o.name for o in plan.openings if o.kind == "door"} == {"Sliding door"}
    assert sum(surface.name.startswith("Rear door") for surface in plan.surfaces) == 2
    surfaces = {surface.name: surface.id for surface in plan.surfaces}

    # Cabinets.
    hand.stage("fit-out")
    hand.tool("cabinet")
    for corner, sizes in CABINETS:
        point_and_type(hand, hand.on(surfaces["Floor"], corner), sizes)
    cabinets = [box for box in session.plan.boxes if box.kind == "cabinet"]
    assert [box.height_mm for box in cabinets] == [900, 1600, 450, 400]
    assert sorted(cabinets[0].outline) == [(0, 1270), (0, 1720), (1100, 1270), (1100, 1720)]
    assert sorted(cabinets[3].outline) == [(0, 600), (0, 1000), (350, 600), (350, 1000)]

    # Channels: a belt line, two along the ceiling, risers between them, all by keys and typed distances.
    hand.stage("channels")
    take(hand, "belt")
    lower = hand.on(surfaces["Vehicle right, lower"], (2000, 620))
    point_and_type(hand, lower, "620")
    belt = {channel.surface: channel.id for channel in session.plan.channels}
    take(hand, "along")
    for side in ("right", "left"):
        ceiling = next(s for s in session.plan.surfaces if s.id == surfaces[f"Ceiling, {side}"])
        ys = [corner.at_mm[1] for corner in ceiling.corners]
        # Its edge at the wall: the sheet folds the left ceiling on from the middle one, so there it is the far one.
        beside = 20.0 if side == "right" else max(ys) - 20.0
        point_and_type(hand, hand.on(ceiling.id, (1230, beside)), "150")
    take(hand, "riser")
    hand.click(hand.on(surfaces["Vehicle right, lower"], (1700, 750)))
    hand.click(hand.on(surfaces["Vehicle left, lower"], (900, 750)))
    assert len(session.plan.channels) >= 10
    hand.key(Key.Key_Escape)

    # By hand: the belt line at 620 of 850 mm between walls 1,720 mm apart at the floor and 1,760 at the shoulder, and
    # the riser from there over two folds to 150 mm in on the ceiling; each stretch of wall leans, so along the skin.
    paths = session.analysis.paths
    assert paths[belt[surfaces["Bulkhead"]]].length_mm == pytest.approx(1720 + 40 * 620 / 850, abs=1.0)
    skin = hypot(20, 850) * (1 - 620 / 850), hypot(130, 830), 150.0
    for name, wanted in zip(("Vehicle right, lower", "Vehicle right, upper", "Ceiling, right"), skin, strict=True):
        found = [
            paths[c.id].length_mm
            for c in session.plan.channels
            if c.surface == surfaces[name] and c.id not in belt.values() and paths[c.id].length_mm < 900
        ]
        assert min(found) == pytest.approx(wanted, abs=1.0), name
    # Across the seam at the bulkhead it is one node: no gap between both.
    ends: dict[bool, set[str]] = {True: set(), False: set()}
    for channel in session.plan.channels:
        ends[channel.surface == surfaces["Bulkhead"]] |= {channel.start, channel.end}
    assert ends[True] & ends[False]
    assert hand.actions <= MOST_ACTIONS
