"""The whole story at the window: from an empty plan to a printed cut list, with the mouse and typed dimensions.

Lengths are checked against hand calculation: a channel across a fold is as long on the sheet as a tape says.
"""

from collections.abc import Iterator
from math import hypot
from pathlib import Path

import pypdfium2
import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from app.dialogs.paper_desk import PaperDesk
from core.files.codec import read_plan
from core.model import Plan
from tests.flows.hand import Hand, at_work


@pytest.fixture
def hand(qtbot: QtBot) -> Iterator[Hand]:
    yield from at_work(qtbot)


def _only(plan: Plan, collection: str):
    (record,) = getattr(plan, collection)
    return record


def test_from_an_empty_sheet_to_a_printed_cut_list(hand: Hand, tmp_path: Path) -> None:
    session, window = hand.session, hand.window
    empty = session.plan
    assert empty.surfaces == ()
    plans = [empty]

    # Survey: the floor by one click and two typed lengths, a wall from its lower edge, one from its upper edge.
    hand.tool("floor")
    hand.click((0.0, 0.0))
    hand.move((500.0, 500.0))
    hand.type_in("3000\t1700")
    floor = _only(session.plan, "surfaces")
    assert {corner.at_mm for corner in floor.corners} == {(0, 0), (3000, 0), (3000, 1700), (0, 1700)}
    plans.append(session.plan)
    hand.view.zoom_to_fit()
    hand.view.zoom_by(0.45)

    hand.tool("wall")
    hand.click((1500.0, 0.0))
    hand.move((1500.0, -400.0))
    hand.type_in("1800")
    wall = session.plan.surfaces[1]
    assert wall.name == "Vehicle left"
    assert wall.fold is not None
    assert wall.fold.fold_deg == 90.0
    plans.append(session.plan)
    hand.click((1500.0, 1700.0))
    hand.move((1500.0, 2700.0))
    hand.click((1500.0, 2700.0))
    assert session.plan.surfaces[2].name == "Vehicle right"
    assert session.plan.surfaces[2].corners[2].at_mm[1] == pytest.approx(1000.0, abs=10.0)
    plans.append(session.plan)
    hand.key(Qt.Key.Key_Escape)
    assert window.pointer.tool_id == ""

    # Fit-out: a cabinet on the floor, its height typed.
    hand.stage("fit-out")
    hand.tool("cabinet")
    hand.drag((200.0, 1200.0), (600.0, 1500.0), (900.0, 1700.0))
    hand.type_in("850")
    cabinet = _only(session.plan, "boxes")
    assert cabinet.height_mm == 850.0
    assert cabinet.surface == floor.id
    plans.append(session.plan)

    # Devices: a fuse block and a light, the second by typed distances from the edges.
    hand.stage("devices")
    hand.take_device("fuse block")
    hand.click((600.0, 300.0))
    hand.take_device("recessed light")
    on_wall = hand.on(wall.id, (700.0, 1300.0))
    hand.move(on_wall)
    hand.type_in("700\t400")
    block, light = session.plan.devices
    assert block.surface == floor.id
    assert light.surface == wall.id
    plans += [session.plan]
    # 700 mm from the side and 400 mm from the edge it was nearest to.
    assert min(light.at_mm[0], 3000 - light.at_mm[0]) == pytest.approx(700.0)
    assert min(light.at_mm[1], 1800 - light.at_mm[1]) == pytest.approx(400.0)

    # Channels: one stroke from the block over the fold to the light.
    hand.stage("channels")
    hand.tool("channel")
    start = (600.0, 200.0)
    at_light = hand.on(wall.id, light.at_mm)
    end = (at_light[0], at_light[1] + 100.0)
    hand.click(start)
    hand.click((at_light[0], 200.0))
    hand.click(end)
    hand.key(Qt.Key.Key_Return)
    assert [channel.surface for channel in session.plan.channels] == [floor.id, wall.id]
    plans.append(session.plan)
    hand.key(Qt.Key.Key_Escape)
    hand.tool("securing")
    hand.click((at_light[0], end[1] + 300.0))
    point = _only(session.plan, "securing_points")
    assert point.channel == session.plan.channels[1].id
    plans.append(session.plan)
    hand.key(Qt.Key.Key_Escape)

    # Circuits: drag from the block to the light.
    hand.stage("circuits")
    hand.tool("connect")
    hand.drag((600.0, 300.0), (900.0, 100.0), at_light)
    circuit = _only(session.plan, "circuits")
    assert [stop.device for stop in circuit.stops] == [block.id, light.id]
    assert all(device.node is not None for device in session.plan.devices)
    plans.append(session.plan)
    hand.key(Qt.Key.Key_Escape)

    # The facts panel says how far it is: along the channels and the falls at both ends.
    assert session.selection == (circuit.id,)
    analysis = session.analysis
    feed = next(wire for wire in analysis.wires.values() if wire.role == "feed")
    one_way = analysis.routes[feed.id].route_mm
    assert one_way is not None
    assert window.facts.costs.value("One-way") == f"{one_way / 1000:.2f} m"
    drawn = hypot(at_light[0] - start[0], 0.0) + (start[1] - end[1])
    falls = sum(fall.length_mm or 0.0 for fall in analysis.falls.values())
    # The pointer is a pixel wide; channels end where they were clicked.
    assert one_way == pytest.approx(drawn + falls, abs=3.0 / hand.view.px_per_mm)

    # Moving the light changes its wire while it is dragged; Escape goes back, releasing commits, undo gives it back.
    before = session.plan
    there = (at_light[0] + 200.0, at_light[1] - 100.0)
    hand.drag(at_light, (at_light[0] + 40.0, at_light[1]), there, release=False)
    assert session.previewing
    assert session.analysis.provisional
    assert session.analysis.routes[feed.id].route_mm != one_way
    hand.key(Qt.Key.Key_Escape)
    assert session.plan is before
    assert not session.previewing
    hand.release(there)
    hand.drag(at_light, (at_light[0] + 40.0, at_light[1]), there)
    moved = session.analysis.routes[feed.id].route_mm
    assert moved is not None
    assert moved > one_way
    assert session.plan.devices[1].at_mm != light.at_mm
    assert "Move device" in session.undo_label
    hand.shortcut(Qt.Key.Key_Z)
    assert session.plan is before
    assert session.analysis.routes[feed.id].route_mm == pytest.approx(one_way)

    # Papers: the cut list as a PDF that holds the wire.
    hand.stage("papers")
    window.actions_by_id["papers"].trigger()
    dialog = hand.dialog(PaperDesk)
    assert isinstance(dialog, PaperDesk)
    hand.qtbot.waitUntil(dialog.save_button.isEnabled, timeout=20_000)
    pdf = tmp_path / "cut list.pdf"
    hand.press(dialog.save_button)
    hand.choose_file(pdf)
    hand.qtbot.waitUntil(lambda: dialog.page_told.text() == "Saved cut list.pdf.", timeout=20_000)
    dialog.reject()
    document = pypdfium2.PdfDocument(pdf)
    text = "\n".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    assert feed.id in text
    assert circuit.name in text

    # Save, and what was saved is what is here.
    file = tmp_path / "first.loomplan"
    hand.shortcut(Qt.Key.Key_S)
    hand.choose_file(file)
    assert session.clean
    assert session.path == file
    assert read_plan(file) == session.plan
    saved = session.plan

    # Every step can be taken back, down to the empty sheet, each the very same plan as it was.
    seen = []
    while session.can_undo:
        hand.shortcut(Qt.Key.Key_Z)
        seen.append(session.plan)
    assert seen[-1] is empty
    assert all(any(plan is one for one in seen) for plan in plans[:-1])
    while session.can_redo:
        hand.shortcut(Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier)
    # Redo goes one further: the move that was undone before.
    assert session.plan.devices[1].at_mm != light.at_mm
    hand.shortcut(Qt.Key.Key_Z)
    assert session.plan is saved
    window.files.open(file)
    assert session.plan == saved
