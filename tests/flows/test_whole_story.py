"""The whole story by mouse and keys: a self-builder's micro camper, and a mid van of twelve circuits, to the paper.

Measurements are invented. A careful self-builder is taken to need ten seconds an action (`Hand.actions`: a click, a
key, a name or number typed and sent off, pointing before typing), looking at the paper included: an hour holds 360.
"""

from collections.abc import Iterator, Sequence
from pathlib import Path

import pypdfium2
import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QMenu, QPushButton
from pytestqt.qtbot import QtBot

from app.dialogs.mending import RemedyMenu
from app.dialogs.new_vehicle import NewVehicleDialog
from app.dialogs.paper_desk import PaperDesk
from app.dialogs.wire_all import WireAllDialog
from core.analysis.results import Finding
from core.model import Device, Point
from tests.flows.hand import Hand, at_work
from tests.flows.test_mid_van import SLIDING_DOOR, TAPE, point_and_type, take, type_there

Key = Qt.Key
SMALL = (1720, 1480, 1560, 560, 1380, 1080, 1150, 380, 480, 60, 35, 1180, 640, 240, 420)

#: 83 actions are 14 minutes; they were about 136: tabs through the form, a riser for each surface, ribs protected one
#: by one, a channel drawn by hand for the fan that none reached.
MICRO_ACTIONS = 83
VAN_ACTIONS = 121

#: What is searched for, on which surface, near which corner, and its distances from side and edge.
Wish = tuple[str, str, Point, str]
MICRO: Sequence[Wish] = (
    ("house battery", "Floor", (1600, 1400), "300\t250"),
    ("fuse block", "Vehicle right, lower", (1600, 400), "500\t120"),
    ("fridge", "Floor", (1600, 1400), "1380\t300"),
    ("water pump", "Floor", (1600, 1400), "850\t350"),
    ("12 v socket", "Vehicle right, lower", (1600, 400), "800\t150"),
    ("usb", "Vehicle right, lower", (1600, 400), "1200\t150"),
    ("ceiling light", "Ceiling, right", (1600, 110), "400\t160"),
    ("ceiling light", "Ceiling, right", (1600, 110), "1100\t160"),
    ("roof fan", "Ceiling, middle", (1600, 110), "800\t230"),
)


@pytest.fixture
def hand(qtbot: QtBot) -> Iterator[Hand]:
    yield from at_work(qtbot)


def shell(hand: Hand, name: str, body: str, numbers: Sequence[float]) -> dict[str, str]:
    """New vehicle by its form; gives the surfaces by name."""
    start = next(b for b in hand.window.start.findChildren(QPushButton) if b.text().startswith("New vehicle"))
    hand.press(start)
    form = hand.dialog(NewVehicleDialog)
    assert isinstance(form, NewVehicleDialog)
    form.activateWindow()
    QApplication.processEvents()
    type_there(name, Key.Key_Tab)
    type_there(body)
    hand.actions += 2 + len(numbers)
    for number in numbers:
        type_there(str(number))
    hand.press(form.make)
    assert hand.session.plan.surfaces
    return {surface.name: surface.id for surface in hand.session.plan.surfaces}


def place(hand: Hand, surfaces: dict[str, str], wishes: Sequence[Wish]) -> list[Device]:
    for words, surface, corner, distances in wishes:
        hand.take_device(words)
        point_and_type(hand, hand.on(surfaces[surface], corner), distances)
    devices = list(hand.session.plan.devices)
    assert len(devices) == len(wishes)
    return devices


def at(hand: Hand, device: Device) -> Point:
    return hand.on(device.surface, device.at_mm)


def feed(hand: Hand, source: Device, block: Device) -> None:
    hand.tool("connect")
    a, b = at(hand, source), at(hand, block)
    hand.drag(a, ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2), b)
    hand.key(Key.Key_Escape)


def wire_all(hand: Hand) -> None:
    hand.actions += 1
    hand.window.actions_by_id["wire-all"].trigger()
    dialog = hand.dialog(WireAllDialog)
    assert isinstance(dialog, WireAllDialog)
    hand.press(dialog.make)


def printed(hand: Hand, file: Path) -> str:
    hand.stage("papers")
    hand.actions += 1
    hand.window.actions_by_id["papers"].trigger()
    desk = hand.dialog(PaperDesk)
    assert isinstance(desk, PaperDesk)
    hand.qtbot.waitUntil(desk.save_button.isEnabled, timeout=20_000)
    hand.press(desk.save_button)
    hand.actions += 1
    hand.choose_file(file)
    hand.qtbot.waitUntil(lambda: desk.page_told.text() == f"Saved {file.name}.", timeout=20_000)
    desk.reject()
    document = pypdfium2.PdfDocument(file)
    text = "\n".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    return text


def mend(hand: Hand) -> None:
    """Take the first remedy of each error and warning, for all of a kind where that is offered."""
    hand.stage("checks")
    panel = hand.window.findings
    while wrong := told(hand):
        QApplication.processEvents()
        hand.actions += 2
        panel.table.selectRow(next(n for n, row in enumerate(panel.model.rows) if row == wrong[0]))
        hand.press(panel.remedy)
        menus = [each for each in hand.window.findChildren(QMenu) if isinstance(each, RemedyMenu)]
        menu = next(each for each in menus if each.isVisible())
        offered = [action for action in menu.actions() if action.isEnabled() and not action.isSeparator()]
        assert offered, f"nothing clear to do by a click: {wrong[0].message}"
        (offered[-1] if offered[-1].text().startswith("The same for all") else offered[0]).trigger()
        menu.close()
        assert wrong[0] not in told(hand)


def told(hand: Hand) -> list[Finding]:
    """What is wrong."""
    found = hand.session.analysis_now().findings
    return [each for each in found if each.severity in ("error", "warning") and not each.waived]


def check(hand: Hand, text: str, circuits: int) -> None:
    """So many circuits leave the block; every wire has a way, a size and a line on the cut list."""
    analysis = hand.session.analysis_now()
    blocks = {device.id for device in hand.session.plan.devices if device.kind == "fuse_block"}
    fed = [circuit for circuit in hand.session.plan.circuits if circuit.stops[0].device in blocks]
    assert len(fed) == circuits
    for wire in analysis.wires.values():
        assert analysis.routes[wire.id].route_mm is not None, wire.id
        assert wire.id in text


def test_a_micro_camper_of_nine_devices_and_six_channels(hand: Hand, tmp_path: Path) -> None:
    surfaces = shell(hand, "Micro camper", "s", SMALL)
    hand.stage("channels")
    take(hand, "belt")
    point_and_type(hand, hand.on(surfaces["Vehicle right, lower"], (1600, 200)), "250")
    take(hand, "along")
    point_and_type(hand, hand.on(surfaces["Floor"], (700, 1460)), "60")
    point_and_type(hand, hand.on(surfaces["Ceiling, right"], (700, 15)), "60")
    take(hand, "riser")
    hand.click(hand.on(surfaces["Vehicle right, lower"], (240, 150)))
    hand.click(hand.on(surfaces["Vehicle right, lower"], (240, 400)))
    hand.key(Key.Key_Escape)
    assert len(hand.session.plan.channels) >= 6
    hand.stage("devices")
    devices = place(hand, surfaces, MICRO)
    hand.stage("circuits")
    feed(hand, devices[0], devices[1])
    wire_all(hand)
    mend(hand)
    assert told(hand) == []
    text = printed(hand, tmp_path / "micro.pdf")
    check(hand, text, circuits=6)
    assert hand.actions <= MICRO_ACTIONS


#: Twelve circuits: their loads where they stand in the mid van, two lights of each side on one circuit.
VAN: Sequence[Wish] = (
    ("house battery", "Floor", (3000, 1600), "600\t300"),
    ("fuse block 12", "Vehicle right, lower", (3000, 700), "600\t250"),
    ("fridge", "Floor", (100, 1600), "400\t260"),
    ("water pump", "Floor", (100, 1600), "800\t200"),
    ("air heater diesel", "Floor", (3000, 100), "400\t300"),
    ("tank sensor", "Floor", (100, 1600), "1000\t300"),
    ("12 v socket", "Vehicle right, lower", (100, 700), "900\t100"),
    ("usb", "Vehicle right, lower", (100, 700), "1200\t100"),
    ("usb", "Vehicle left, lower", (100, 700), "1000\t100"),
    ("cabin fan", "Vehicle left, lower", (100, 700), "1500\t100"),
    ("television", "Vehicle right, upper", (3000, 200), "900\t300"),
    ("mobile router", "Vehicle right, upper", (3000, 600), "350\t250"),
    ("roof fan", "Ceiling, middle", (100, 150), "1250\t250"),
    ("ceiling light", "Ceiling, right", (100, 200), "700\t220"),
    ("ceiling light", "Ceiling, right", (3000, 200), "700\t220"),
    ("ceiling light", "Ceiling, left", (100, 200), "700\t220"),
    ("ceiling light", "Ceiling, left", (3000, 200), "700\t220"),
)


def test_from_an_empty_plan_to_twelve_circuits_checked_and_printed(hand: Hand, tmp_path: Path) -> None:
    surfaces = shell(hand, "Mid van", "m", (*TAPE.values(), *SLIDING_DOOR))
    hand.stage("channels")
    take(hand, "belt")
    point_and_type(hand, hand.on(surfaces["Vehicle right, lower"], (2000, 620)), "620")
    take(hand, "along")
    for name, at in (("Floor", (1230, 1690)), ("Floor", (1230, 30)), ("Ceiling, right", (1230, 20))):
        point_and_type(hand, hand.on(surfaces[name], at), "60")
    far = max(y for surface in hand.session.plan.surfaces if surface.id == surfaces["Ceiling, left"]
              for _, y in (corner.at_mm for corner in surface.corners))  # fmt: skip
    point_and_type(hand, hand.on(surfaces["Ceiling, left"], (1230, far - 20)), "60")
    take(hand, "riser")
    for side, x in (("right", 2850), ("left", 2850)):
        hand.click(hand.on(surfaces[f"Vehicle {side}, lower"], (x if side == "right" else 3100 - x, 750)))
        hand.click(hand.on(surfaces[f"Vehicle {side}, lower"], (x if side == "right" else 3100 - x, 400)))
    # Across the ceiling from side to side, at 2,380 mm between two ribs.
    hand.click(hand.on(surfaces["Ceiling, middle"], (2380, 260)))
    hand.key(Key.Key_Escape)
    hand.stage("devices")
    devices = place(hand, surfaces, VAN)
    hand.stage("circuits")
    feed(hand, devices[0], devices[1])
    wire_all(hand)
    mend(hand)
    text = printed(hand, tmp_path / "van.pdf")
    check(hand, text, circuits=12)
    assert hand.actions <= VAN_ACTIONS
