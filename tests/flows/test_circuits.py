"""Circuits quickly, at the window: wire all, the circuit table, switches, runs, the load list."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QModelIndex, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialogButtonBox, QFileDialog, QLineEdit
from pytestqt.qtbot import QtBot

from app.dialogs.load_list import ImportLoadsDialog
from app.dialogs.runs import ReturnDialog, RunDialog
from app.dialogs.wire_all import WireAllDialog
from app.panels.circuit_model import FOUND, TYPED
from core.edits.devices import place_device
from core.exports.load_list import load_list_bytes, read_load_list
from core.files.references import problems
from core.model import Device, Electrical, Plan, find
from tests.core.studies.test_proposals import van
from tests.flows.hand import Hand, at_work
from tests.helpers.wired import CEILING, LEFT, wired

Ctrl, Shift = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier
Alt = Qt.KeyboardModifier.AltModifier


@pytest.fixture
def hand(qtbot: QtBot) -> Iterator[Hand]:
    yield from at_work(qtbot)


def show(hand: Hand, plan: Plan) -> None:
    hand.window.files.start(plan, drawn=False)
    hand.stage("circuits")


def with_switches(plan: Plan, count: int) -> tuple[Plan, list[str]]:
    ids = []
    for number in range(count):
        device = Device(id="new", name=f"Switch {number + 1}", kind="switch", surface=LEFT, at_mm=(0.0, 0.0))
        plan, new = place_device(plan, device, LEFT, (1_200.0 + 300.0 * number, 1_100.0))
        ids.append(new)
    return plan, ids


def column(key: str) -> int:
    return next(number for number, each in enumerate(TYPED) if each.key == key)


def cell(hand: Hand, row: int, key: str) -> QModelIndex:
    return hand.window.circuit_table.model.index(row, column(key))


def write_cell(hand: Hand, row: int, key: str, text: str) -> None:
    """As a person does: the cell is made current, F2, the text, Return."""
    grid = hand.window.circuit_table.grid
    grid.setFocus()
    grid.setCurrentIndex(cell(hand, row, key))
    QTest.keyClick(grid, Qt.Key.Key_F2)
    editor = QApplication.focusWidget()
    assert isinstance(editor, QLineEdit)
    editor.selectAll()
    QTest.keyClicks(editor, text)
    if editor.completer() is not None:
        editor.completer().popup().hide()
    QTest.keyClick(editor, Qt.Key.Key_Return)
    QApplication.processEvents()


def choose_file(hand: Hand, path: Path) -> None:
    """Type the name into the open file dialog and press its button; Return would take what the list of names offers."""
    dialog = next(each for each in hand.window.findChildren(QFileDialog) if each.isVisible())
    names, box = dialog.findChild(QLineEdit, "fileNameEdit"), dialog.findChild(QDialogButtonBox)
    assert names is not None
    assert box is not None
    names.setText(str(path))
    QTest.mouseClick(box.buttons()[0], Qt.MouseButton.LeftButton)
    QApplication.processEvents()


def choose(hand: Hand, *ids: str) -> None:
    hand.session.select(ids)
    QApplication.processEvents()


# --- wire all --------------------------------------------------------------------------------------------------------


def test_wire_all_is_shown_adjusted_and_one_step(hand: Hand) -> None:
    show(hand, van())
    before = hand.session.plan
    hand.shortcut(Qt.Key.Key_W, Ctrl | Alt)
    dialog = hand.dialog(WireAllDialog)
    assert isinstance(dialog, WireAllDialog)
    assert hand.session.plan is before
    assert [row.name for row in dialog.rows].count("Lights left") == 1
    lights = next(number for number, row in enumerate(dialog.rows) if row.name == "Lights left")
    assert len(dialog.rows[lights].devices) == 3
    # Lamp 1 into a circuit of its own, the pump left out, another name, a star.
    loads = {dialog.loads.item(n, 0).text(): dialog.loads.cellWidget(n, 2) for n in range(dialog.loads.rowCount())}
    pick(loads["Lamp 1"], "own")
    assert len(dialog.rows) == 7
    loads = {dialog.loads.item(n, 0).text(): dialog.loads.cellWidget(n, 2) for n in range(dialog.loads.rowCount())}
    pick(loads["Pump"], "out")
    assert "Pump: left out" in dialog.left.text()
    lights = next(number for number, row in enumerate(dialog.rows) if row.name == "Lights left")
    dialog.circuits.item(lights, 0).setText("Galley lights")
    pick(dialog.circuits.cellWidget(lights, 2), "star")
    hand.press(dialog.make)
    plan = hand.session.plan
    assert problems(plan) == ()
    names = {circuit.name for circuit in plan.circuits}
    assert {"Galley lights", "Lamp 1", "Lights right"} <= names
    assert "Pump" not in names
    galley = next(circuit for circuit in plan.circuits if circuit.name == "Galley lights")
    assert {stop.after for stop in galley.stops[1:]} == {galley.stops[0].id}
    assert set(hand.session.selection) == {circuit.id for circuit in plan.circuits}
    hand.shortcut(Qt.Key.Key_Z)
    assert hand.session.plan is before


def pick(box, value) -> None:
    box.setCurrentIndex(box.findData(value))
    box.activated.emit(box.currentIndex())
    QApplication.processEvents()


def test_wire_all_ways_change_places(hand: Hand) -> None:
    show(hand, van())
    hand.window.actions_by_id["wire-all"].trigger()
    dialog = hand.dialog(WireAllDialog)
    assert isinstance(dialog, WireAllDialog)
    first, other = dialog.rows[0].way, dialog.rows[1].way
    pick(dialog.circuits.cellWidget(0, 1), other)
    assert (dialog.rows[0].way, dialog.rows[1].way) == (other, first)
    dialog.reject()


def test_wire_all_says_why_not(hand: Hand) -> None:
    show(hand, wired())
    hand.window.actions_by_id["wire-all"].trigger()
    assert "in a circuit already" in hand.window.status.currentMessage()


# --- the circuit table -----------------------------------------------------------------------------------------------


def test_the_table_is_in_step_with_the_sheet(hand: Hand) -> None:
    show(hand, wired())
    table = hand.window.circuit_table
    assert table.isVisible()
    write_cell(hand, 1, "name", "Reading lights")
    assert hand.session.plan.circuits[1].name == "Reading lights"
    hand.shortcut(Qt.Key.Key_Z)
    assert cell(hand, 1, "name").data() == hand.session.plan.circuits[1].name != "Reading lights"
    # Both ways: the sheet selects the row, the row selects on the sheet.
    choose(hand, hand.session.plan.circuits[2].id)
    assert table.grid.currentIndex().row() == 2
    table.grid.setCurrentIndex(cell(hand, 0, "name"))
    assert hand.session.selection == (hand.session.plan.circuits[0].id,)
    one_way = table.model.index(1, len(TYPED) + FOUND.index("One-way")).data()
    size = hand.session.analysis.circuit_sizes[hand.session.plan.circuits[1].id]
    assert one_way == f"{size.one_way_mm / 1000:.2f} m"


def test_what_cannot_be_read_stays_with_its_reason(hand: Hand) -> None:
    show(hand, wired())
    model = hand.window.circuit_table.model
    before = hand.session.plan
    write_cell(hand, 1, "section", "77")
    assert hand.session.plan is before
    index = cell(hand, 1, "section")
    assert index.data() == "77"
    assert "not made with 77" in index.data(Qt.ItemDataRole.ToolTipRole)
    assert index.data(Qt.ItemDataRole.DecorationRole) is not None
    assert "not made with 77" in hand.window.circuit_table.problem.text()
    # Other edits leave it there; Escape takes it back; a good text replaces it.
    write_cell(hand, 0, "note", "checked")
    assert index.data() == "77"
    write_cell(hand, 1, "section", "2.5")
    assert hand.session.plan.circuits[1].section_mm2 == 2.5
    assert model.refused == {}
    write_cell(hand, 1, "fuse", "much")
    assert model.refused
    hand.window.circuit_table.grid.setCurrentIndex(cell(hand, 1, "fuse"))
    QTest.keyClick(hand.window.circuit_table.grid, Qt.Key.Key_Escape)
    assert model.refused == {}


def test_paste_fill_down_copy(hand: Hand) -> None:
    show(hand, wired())
    table = hand.window.circuit_table
    QGuiApplication.clipboard().setText("Main\t\t\nLamp\t\t\n")
    before = hand.session.plan
    table.grid.setFocus()
    table.grid.setCurrentIndex(cell(hand, 0, "name"))
    QTest.keyClick(table.grid, Qt.Key.Key_V, Ctrl)
    # An empty cell of a source cannot be: it is told, the names are taken.
    assert [c.name for c in hand.session.plan.circuits[:2]] == ["Main", "Lamp"]
    assert ("" if not table.model.refused else next(iter(table.model.refused.values()))[1]).startswith(
        "The plan has no"
    )
    hand.shortcut(Qt.Key.Key_Z)
    assert hand.session.plan is before
    write_cell(hand, 0, "colour", "red")
    selection = table.grid.selectionModel()
    flags = selection.SelectionFlag
    table.grid.setCurrentIndex(cell(hand, 0, "colour"))
    for row in range(3):
        selection.select(cell(hand, row, "colour"), flags.Select)
    QTest.keyClick(table.grid, Qt.Key.Key_D, Ctrl)
    assert [c.colour for c in hand.session.plan.circuits] == ["red"] * 3
    assert "Fill down" in hand.session.undo_label
    QTest.keyClick(table.grid, Qt.Key.Key_C, Ctrl)
    assert QGuiApplication.clipboard().text() == "red\nred\nred"
    QTest.keyClick(table.grid, Qt.Key.Key_Delete)
    assert [c.colour for c in hand.session.plan.circuits] == [""] * 3


def test_a_row_below_becomes_a_circuit(hand: Hand) -> None:
    fan = Device(id="new", name="Fan", kind="fan", surface=CEILING, at_mm=(0, 0), electrical=Electrical(current_a=2.0))
    plan, _ = place_device(wired(), fan, CEILING, (1_600.0, 700.0))
    show(hand, plan)
    new = len(plan.circuits)
    write_cell(hand, new, "name", "Roof fan")
    assert len(hand.session.plan.circuits) == new  # nothing to feed yet
    assert cell(hand, new, "name").data() == "Roof fan"
    write_cell(hand, new, "loads", "Fan")
    made = hand.session.plan.circuits[-1]
    assert made.name == "Roof fan"
    assert find(hand.session.plan, "devices", made.stops[0].device).name == "Fuse block"
    assert find(hand.session.plan, "devices", made.stops[1].device).node is not None
    # Pasted below the last row, two circuits at once; the one that cannot be is told.
    show(hand, plan)
    QGuiApplication.clipboard().setText("Fan\tFuse block\t3\tFan\nGhost\tFuse block\t\tNobody")
    hand.window.circuit_table.grid.setCurrentIndex(cell(hand, new, "name"))
    hand.window.circuit_table.do("paste")
    assert hand.session.plan.circuits[-1].stops[0].way == "3"
    assert len(hand.session.plan.circuits) == new + 1
    assert "no device “Nobody”" in hand.window.status.currentMessage()


def test_whole_rows_are_deleted_as_circuits(hand: Hand) -> None:
    show(hand, wired())
    table = hand.window.circuit_table
    before = hand.session.plan
    table.grid.setFocus()
    table.grid.selectRow(1)
    QTest.keyClick(table.grid, Qt.Key.Key_Delete)
    assert [c.id for c in hand.session.plan.circuits] == [before.circuits[0].id, before.circuits[2].id]
    hand.shortcut(Qt.Key.Key_Z)
    assert hand.session.plan is before


# --- switches, forms, returns, runs ----------------------------------------------------------------------------------


def test_a_switch_leg_and_switching_from_three_places(hand: Hand) -> None:
    plan, switches = with_switches(wired(), 3)
    show(hand, plan)
    light = next(device for device in plan.devices if device.name == "Light")
    before = hand.session.plan
    choose(hand, light.id, switches[0])
    hand.shortcut(Qt.Key.Key_K, Ctrl | Shift)
    circuit = next(c for c in hand.session.plan.circuits if any(s.device == light.id for s in c.stops))
    assert [stop.role for stop in circuit.stops] == ["source", "series", "load"]
    wires = [w for w in hand.session.analysis.wires.values() if w.circuit == circuit.id]
    assert "switched" in {wire.role for wire in wires}
    hand.shortcut(Qt.Key.Key_Z)
    assert hand.session.plan is before
    choose(hand, light.id, *switches)
    hand.shortcut(Qt.Key.Key_K, Ctrl | Shift)
    circuit = next(c for c in hand.session.plan.circuits if any(s.device == light.id for s in c.stops))
    # Two travellers on each side of the intermediate switch.
    assert [stop.feeds for stop in circuit.stops] == [1, 1, 2, 2, 1]
    assert [stop.device for stop in circuit.stops][1:4] == [switches[0], switches[1], switches[2]]
    choose(hand, light.id)
    assert not hand.window.actions_by_id["switch-leg"].isEnabled()


def test_chain_and_star_by_their_actions(hand: Hand) -> None:
    show(hand, van())
    hand.window.actions_by_id["wire-all"].trigger()
    hand.press(hand.dialog(WireAllDialog).make)
    lights = next(c for c in hand.session.plan.circuits if c.name == "Lights left")
    choose(hand, lights.id)
    hand.window.actions_by_id["as-star"].trigger()
    star = find(hand.session.plan, "circuits", lights.id)
    assert {stop.after for stop in star.stops[1:]} == {star.stops[0].id}
    hand.window.actions_by_id["as-chain"].trigger()
    assert find(hand.session.plan, "circuits", lights.id).stops == lights.stops


def test_return_spare_data_antenna_and_bond(hand: Hand) -> None:
    plan = wired()
    for name, kind, at in (("Aerial", "antenna", (700.0, 700.0)), ("Radio", "appliance", (1_400.0, 700.0))):
        device = Device(id="new", name=name, kind=kind, surface=CEILING, at_mm=at, electrical=Electrical(current_a=1.0))
        plan, _ = place_device(plan, device, CEILING, at)
    show(hand, plan)
    by_name = {device.name: device.id for device in plan.devices}
    choose(hand, hand.session.plan.circuits[1].id)
    hand.window.actions_by_id["return"].trigger()
    dialog = hand.dialog(ReturnDialog)
    assert isinstance(dialog, ReturnDialog)
    dialog.path.setCurrentIndex([tuple(dialog.path.itemData(n)) for n in range(dialog.path.count())].index(
        ("wire", by_name["Battery"])))  # fmt: skip
    hand.press(dialog.accept_button)
    assert hand.session.plan.circuits[1].return_path.device == by_name["Battery"]
    for action, chosen, conductors in (
        ("spare-wires", ("Fuse block", "Light"), ("spare", "spare")),
        ("antenna-run", ("Radio", "Aerial"), ("antenna",)),
        ("bond", ("Battery", "Fuse block"), ("bond",)),
    ):
        choose(hand, *(by_name[name] for name in chosen))
        hand.window.actions_by_id[action].trigger()
        run = hand.dialog(RunDialog)
        assert isinstance(run, RunDialog)
        hand.press(run.accept_button)
        made = hand.session.plan.circuits[-1]
        assert made.conductors == conductors
        assert {stop.device for stop in made.stops} == {by_name[name] for name in chosen}
    assert hand.session.plan.circuits[-2].stops[0].device == by_name["Aerial"]
    choose(hand, by_name["Fuse block"])
    hand.window.actions_by_id["data-run"].trigger()
    run = hand.dialog(RunDialog)
    assert isinstance(run, RunDialog)
    hand.press(run.accept_button)
    assert run.problem.text() == "Choose where it leads to."
    run.reject()
    assert problems(hand.session.plan) == ()


# --- the load list ---------------------------------------------------------------------------------------------------


def test_a_load_list_goes_out_and_comes_in_with_a_report(hand: Hand, tmp_path: Path) -> None:
    show(hand, wired())
    before = hand.session.plan
    out = tmp_path / "loads.csv"
    hand.window.actions_by_id["export-loads"].trigger()
    choose_file(hand, out)
    assert out.read_bytes() == load_list_bytes(before)
    bad = tmp_path / "more.csv"
    bad.write_text("Load,Amps,Wall,Colour of door\nRadio,2,Vehicle left,red\nFan,many,Vehicle left,\nTV,3,Attic,\n")
    assert read_load_list(bad.read_bytes()).columns == (("Load", "Load"), ("Amps", "Current (A)"), ("Wall", "Surface"))
    hand.window.actions_by_id["import-loads"].trigger()
    choose_file(hand, bad)
    dialog = hand.dialog(ImportLoadsDialog)
    assert isinstance(dialog, ImportLoadsDialog)
    assert hand.session.plan is before
    told = [[dialog.rows.item(r, c).text() for c in range(4)] for r in range(dialog.rows.rowCount())]
    assert told[0][:3] == ["3", "Current", "many"]
    assert told[1][0] == "4"
    assert "Attic" in told[1][3]
    columns = [(dialog.columns.item(r, 0).text(), dialog.columns.item(r, 1).text()) for r in range(4)]
    assert columns[3] == ("Colour of door", "not known: left out")
    hand.press(dialog.accept_button)
    assert [d.name for d in hand.session.plan.devices[len(before.devices) :]] == ["Radio"]
    hand.shortcut(Qt.Key.Key_Z)
    assert hand.session.plan is before


def test_a_load_list_is_pasted_from_a_spreadsheet(hand: Hand) -> None:
    show(hand, wired())
    before = hand.session.plan
    QGuiApplication.clipboard().setText("Device\tWatts\tWhere\tFed from\nRadio\t60\tVehicle left\tFuse block\n")
    hand.window.actions_by_id["paste-loads"].trigger()
    dialog = hand.dialog(ImportLoadsDialog)
    assert isinstance(dialog, ImportLoadsDialog)
    hand.press(dialog.accept_button)
    (radio,) = hand.session.plan.devices[len(before.devices) :]
    assert radio.electrical.power_w == 60.0
    assert hand.session.plan.circuits[-1].stops[-1].device == radio.id
    QGuiApplication.clipboard().setText("nothing of use")
    hand.window.actions_by_id["paste-loads"].trigger()
    assert hand.session.undo_label == "Import the clipboard"
