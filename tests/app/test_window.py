"""The window: files, unsaved work, facts, outline, findings, actions; by real events where a person would use them."""

import json
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QComboBox,
    QDialog,
    QFileDialog,
    QLabel,
    QLineEdit,
    QMenu,
    QPlainTextEdit,
    QTableWidget,
)
from pytestqt.qtbot import QtBot

from app.commands import files, helping, papers
from app.commands.table import ACTIONS
from app.dialogs.ask import Question
from app.dialogs.help import CommandSearch, KeysDialog
from app.dialogs.mending import RemedyMenu
from app.dialogs.new_vehicle import NewVehicleDialog
from app.dialogs.waive import WaiveDialog
from app.panels.stages import STAGES
from app.settings import Settings
from app.tools.toolbox import TOOLS
from app.windows import make_window
from core.files.codec import encode, read_plan
from core.files.open_lock import lock_path
from core.model import Plan, find
from tests.flows.hand import Hand, at_work
from tests.helpers.wired import CEILING, wired

Ctrl, Shift = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier


@pytest.fixture
def hand(qtbot: QtBot) -> Iterator[Hand]:
    yield from at_work(qtbot)


@pytest.fixture
def van(hand: Hand) -> Hand:
    """The window with the small wired van in it, saved nowhere but clean."""
    hand.session.replace(wired(), None)
    hand.view.zoom_to_fit()
    return hand


def saved(path: Path, plan: Plan) -> Path:
    path.write_bytes(encode(plan))
    return path


# --- files -----------------------------------------------------------------------------------------------------------


def test_title_says_the_name_and_whether_there_is_unsaved_work(hand: Hand, tmp_path: Path) -> None:
    assert hand.window.files.open(saved(tmp_path / "van.loomplan", wired()))
    assert hand.window.windowTitle() == "van.loomplan[*] – Loomwright"
    assert not hand.window.isWindowModified()
    hand.session.select((hand.session.plan.devices[3].id,))
    hand.view.setFocus()
    hand.key(Qt.Key.Key_Right)
    assert hand.window.isWindowModified()
    hand.shortcut(Qt.Key.Key_Z)
    assert not hand.window.isWindowModified()


@pytest.mark.parametrize(
    ("content", "part"),
    [
        (b"", "is empty"),
        (b'{"format": 1, "id": 5', "line 1"),
        (b'{"a":' * 100_000, "deep"),
        (b'{"format": 1, "format": 1}', "twice"),
        (b"\x00" * 1000, "line 1"),
    ],
)
def test_a_bad_file_is_told_with_its_place_and_the_plan_stays(
    van: Hand, tmp_path: Path, content: bytes, part: str
) -> None:
    before = van.session.plan
    bad = tmp_path / "bad.loomplan"
    bad.write_bytes(content)
    assert not van.window.files.open(bad)
    question = van.dialog(Question)
    assert isinstance(question, Question)
    told = _words(question)
    assert "bad.loomplan" in told
    assert part in told
    van.press(question.buttons["ok"])
    assert van.session.plan is before
    assert bad.read_bytes() == content
    assert not lock_path(bad).exists()


def test_a_plan_open_elsewhere_is_opened_only_when_asked(hand: Hand, tmp_path: Path) -> None:
    path = saved(tmp_path / "van.loomplan", wired())
    lock_path(path).write_text(json.dumps({"pid": 4, "host": "other-bench", "since": "2026-01-02", "started": ""}))
    before = hand.session.plan
    hand.window.files.open(path)
    question = hand.dialog(Question)
    assert isinstance(question, Question)
    assert "other-bench" in _words(question)
    hand.press(question.buttons["keep"])
    assert hand.session.plan is before
    hand.window.files.open(path)
    question = hand.dialog(Question)
    assert isinstance(question, Question)
    hand.press(question.buttons["open"])
    assert hand.session.path == path


def _words(dialog: QDialog) -> str:
    return " ".join(label.text() for label in dialog.findChildren(QLabel))


def _edited(hand: Hand) -> Plan:
    """A small edit, so that there is unsaved work."""
    hand.session.select((hand.session.plan.devices[3].id,))
    hand.view.setFocus()
    hand.key(Qt.Key.Key_Right)
    assert not hand.session.clean
    return hand.session.plan


def test_closing_with_unsaved_work_asks_with_verbs(van: Hand, tmp_path: Path) -> None:
    plan = _edited(van)
    van.window.close()
    question = van.dialog(Question)
    assert isinstance(question, Question)
    assert [button.text() for button in question.buttons.values()] == ["Save", "Discard", "Keep working"]
    van.press(question.buttons["keep"])
    assert van.window.isVisible()
    assert van.session.plan is plan
    van.window.close()
    question = van.dialog(Question)
    assert isinstance(question, Question)
    van.press(question.buttons["save"])
    file = tmp_path / "kept.loomplan"
    van.choose_file(file)
    assert not van.window.isVisible()
    assert read_plan(file) == plan
    assert not lock_path(file).exists()


def test_discarding_closes_at_once(van: Hand) -> None:
    _edited(van)
    van.window.close()
    question = van.dialog(Question)
    assert isinstance(question, Question)
    van.press(question.buttons["discard"])
    assert not van.window.isVisible()


def test_opening_another_plan_asks_too_and_escape_keeps_working(van: Hand, tmp_path: Path) -> None:
    plan = _edited(van)
    files.open_recent(van.window.bench, saved(tmp_path / "other.loomplan", wired()))
    question = van.dialog(Question)
    QTest.keyClick(question, Qt.Key.Key_Escape)
    assert van.session.plan is plan


def test_saving_where_it_cannot_be_written_is_told_and_the_work_stays(van: Hand, tmp_path: Path) -> None:
    plan = _edited(van)
    assert not van.window.files.save_to(tmp_path / "no such folder" / "van.loomplan")
    van.dialog(Question)
    assert van.session.plan is plan
    assert not van.session.clean


def test_recent_files_are_remembered(hand: Hand, tmp_path: Path) -> None:
    for name in ("a.loomplan", "b.loomplan"):
        hand.window.files.open(saved(tmp_path / name, wired()))
    hand.window.recent.aboutToShow.emit()
    assert [action.text() for action in hand.window.recent.actions()] == ["b.loomplan", "a.loomplan"]


def test_new_vehicle_from_measurements(hand: Hand) -> None:
    hand.window.actions_by_id["new"].trigger()
    dialog = hand.dialog(NewVehicleDialog)
    assert isinstance(dialog, NewVehicleDialog)
    before = hand.session.plan
    hand.write_only(dialog.fields["length"], "a lot")
    hand.press(dialog.make)
    assert dialog.problems["length"].isVisible()
    assert hand.session.plan is before
    hand.write_only(dialog.fields["length"], "3,4 m")
    hand.write_only(dialog.fields["side_height"], "6 ft")
    hand.write_only(dialog.fields["centre_height"], "500")
    hand.press(dialog.make)
    assert "at least as high" in dialog.problems["side_height"].text() + dialog.problems["centre_height"].text()
    hand.write_only(dialog.fields["centre_height"], "1950")
    hand.press(dialog.make)
    plan = hand.session.plan
    floor = plan.surfaces[0]
    assert floor.role == "floor"
    assert max(x for x, _ in (corner.at_mm for corner in floor.corners)) == pytest.approx(3400.0)
    # Nobody has measured the width: what is made of it stays assumed.
    assert "assumed" in {surface.known for surface in plan.surfaces}
    assert {"leaf", "left", "right"} & {word for surface in plan.surfaces for word in surface.name.lower().split()}
    assert all(state.closes for state in hand.session.analysis.sheet.seam_states.values())
    assert [f.message for f in hand.session.analysis.findings if f.severity == "error"] == []


def test_another_body_has_other_fields(hand: Hand) -> None:
    hand.window.actions_by_id["new"].trigger()
    dialog = hand.dialog(NewVehicleDialog)
    assert isinstance(dialog, NewVehicleDialog)
    assert "taper" not in dialog.fields
    dialog.body.setCurrentIndex(dialog.body.findData("boat_cabin"))
    assert "taper" in dialog.fields
    hand.press(dialog.make)
    assert any(surface.role == "ceiling" for surface in hand.session.plan.surfaces)


def test_papers_are_exported_in_the_background(van: Hand, qtbot: QtBot, tmp_path: Path) -> None:
    papers.export_to(van.window.bench, str(tmp_path / "papers"))
    qtbot.waitUntil((tmp_path / "papers" / "cut-list.pdf").exists, timeout=30_000)
    qtbot.waitUntil(lambda: "files are in" in van.window.status.currentMessage(), timeout=5_000)
    names = {path.name for path in (tmp_path / "papers").iterdir()}
    assert {"cut-list.csv", "fold-out.pdf", "fold-out.svg", "fold-out.dxf"} <= names


# --- facts -----------------------------------------------------------------------------------------------------------


def test_typed_facts_are_read_with_their_units(van: Hand) -> None:
    pump = van.session.plan.devices[3]
    van.session.select((pump.id,))
    for path, text, check in (
        ("electrical.power_w", "1/10 hp", lambda d: d.electrical.power_w == pytest.approx(74.57, abs=0.01)),
        ("fall_mm", "1 ft 2 in", lambda d: d.fall_mm == pytest.approx(355.6)),
        ("fall_mm", "", lambda d: d.fall_mm is None),
        ("name", "Water pump ", lambda d: d.name == "Water pump"),
        ("turn_deg", "90", lambda d: d.turn_deg == 90.0),
        ("at_mm.0", "2,5 m", lambda d: d.at_mm[0] == 2500.0),
    ):
        field = van.field(path)
        assert isinstance(field, QLineEdit)
        van.write(field, text)
        assert check(find(van.session.plan, "devices", pump.id)), path
    assert van.session.undo_label == "Set place, along of Water pump"


@pytest.mark.parametrize("text", ["plenty", "-5", "1e999", "nan", "5 kg"])
def test_what_cannot_be_is_told_beside_its_field_and_changes_nothing(van: Hand, text: str) -> None:
    before = van.session.plan
    van.session.select((before.devices[3].id,))
    form = van.window.facts.form
    assert form is not None
    row = form.row("electrical.current_a")
    assert isinstance(row.editor, QLineEdit)
    van.write(row.editor, text)
    assert van.session.plan is before
    assert row.problem.isVisible()
    assert row.editor.text() == text
    assert row.editor.accessibleDescription() == row.problem.text()


def test_a_circuits_facts_size_it_anew(van: Hand) -> None:
    circuit = van.session.plan.circuits[2]
    van.session.select((circuit.id,))
    field = van.field("section_mm2")
    assert isinstance(field, QLineEdit)
    van.write(field, "4")
    assert find(van.session.plan, "circuits", circuit.id).section_mm2 == 4.0
    assert van.window.facts.costs.value("Section") == "4 mm²"
    combo = van.field("protective.kind")
    assert isinstance(combo, QComboBox)
    before = van.session.plan
    combo.setCurrentIndex(combo.findData("none"))
    combo.activated.emit(combo.currentIndex())
    form = van.window.facts.form
    assert form is not None
    assert form.row("protective.kind").problem.text(), "no protective device needs a reason"
    assert van.session.plan is before


def test_a_walls_height_is_typed_and_the_ceiling_follows(van: Hand) -> None:
    wall = van.session.plan.surfaces[1]
    van.session.select((wall.id,))
    field = van.field("size.height")
    assert isinstance(field, QLineEdit)
    before = van.session.analysis.sheet.layout.pose(CEILING).to_vehicle((0.0, 0.0))
    van.write(field, "1950")
    assert max(corner.at_mm[1] for corner in find(van.session.plan, "surfaces", wall.id).corners) == 1950.0
    after = van.session.analysis.sheet.layout.pose(CEILING).to_vehicle((0.0, 0.0))
    assert after[2] - before[2] == pytest.approx(150.0)


def test_a_cabinets_footprint_is_typed(van: Hand) -> None:
    van.stage("fit-out")
    van.tool("cabinet")
    van.click((300.0, 900.0))
    van.move((500.0, 1000.0))
    van.type_in("700\t450")
    van.key(Qt.Key.Key_Return)
    for path, text in (("size.width", "80 cm"), ("size.height", "400")):
        field = van.field(path)
        assert isinstance(field, QLineEdit)
        van.write(field, text)
    xs, ys = zip(*van.session.plan.boxes[0].outline, strict=True)
    assert (max(xs) - min(xs), max(ys) - min(ys)) == pytest.approx((800.0, 400.0))


def test_a_channel_shows_its_bundle(van: Hand) -> None:
    bundle = max(van.session.analysis.bundles.values(), key=lambda each: len(each.wires))
    van.session.select((bundle.channel,))
    assert van.window.facts.costs.value("Bundle") == f"Ø {bundle.diameter_laid_mm:.1f} mm"
    assert van.window.facts.costs.value("Wires") == str(len(bundle.wires))


def test_facts_follow_a_drag(van: Hand) -> None:
    pump = van.session.plan.devices[3]
    at = van.on(pump.surface, pump.at_mm)
    van.session.select((pump.id,))
    before = van.window.facts.costs.value("One-way")
    # Sideways: the straight fall between channel and entry grows.
    van.drag(at, (at[0] + 60, at[1]), (at[0] + 400, at[1]), release=False)
    # A few times a second: a frame has better things to do.
    van.qtbot.waitUntil(lambda: van.window.facts.costs.value("One-way") != before, timeout=5_000)
    assert van.window.facts.costs.shown.provisional
    van.key(Qt.Key.Key_Escape)
    van.release(at)
    assert van.window.facts.costs.value("One-way") == before


def test_nothing_selected_shows_the_plan_and_several_are_counted(van: Hand) -> None:
    van.session.select(())
    field = van.field("name")
    assert isinstance(field, QLineEdit)
    van.write(field, "Weekender")
    assert van.session.plan.name == "Weekender"
    van.session.select(device.id for device in van.session.plan.devices)
    assert van.window.facts.form is None


def test_note_is_kept_when_it_is_left(van: Hand) -> None:
    van.session.select((van.session.plan.devices[3].id,))
    note = van.field("note")
    assert isinstance(note, QPlainTextEdit)
    note.setFocus()
    QTest.keyClicks(note, "behind the tank")
    van.view.setFocus()
    QApplication.processEvents()
    assert van.session.plan.devices[3].note == "behind the tank"


# --- outline ---------------------------------------------------------------------------------------------------------


def test_outline_and_sheet_select_each_other(van: Hand) -> None:
    light = van.session.plan.devices[2]
    van.click(van.on(CEILING, light.at_mm))
    assert van.session.selection == (light.id,)
    tree = van.window.outline.tree
    assert [van.window.outline.model.id_at(index) for index in tree.selectedIndexes()] == [light.id]
    tree.setFocus()
    QTest.keyClick(tree, Qt.Key.Key_Down)
    assert van.session.selection == (van.session.plan.devices[3].id,)


def test_find_in_the_plan_by_keys(van: Hand) -> None:
    van.shortcut(Qt.Key.Key_F)
    assert van.window.outline.search.hasFocus()
    before = van.view.px_per_mm
    van.write(van.window.outline.search, "pump")
    assert van.session.selection == (van.session.plan.devices[3].id,)
    assert van.view.px_per_mm > before


def test_every_record_and_wire_is_in_the_outline_after_edits(van: Hand) -> None:
    def listed() -> set[str]:
        model = van.window.outline.model
        found, rows = set(), [model.index(row, 0) for row in range(model.rowCount())]
        while rows:
            index = rows.pop()
            found.add(model.id_at(index))
            rows += [model.index(row, 0, index) for row in range(model.rowCount(index))]
        return found - {""}

    def wanted() -> set[str]:
        plan = van.session.plan
        groups = (plan.surfaces, plan.devices, plan.channels, plan.nodes, plan.circuits, plan.ribs, plan.seams)
        return {record.id for group in groups for record in group} | set(van.session.analysis.wires)

    assert listed() == wanted()
    van.session.select((van.session.plan.devices[3].id,))
    van.window.actions_by_id["delete"].trigger()
    assert listed() == wanted()
    van.shortcut(Qt.Key.Key_Z)
    assert listed() == wanted()


# --- findings --------------------------------------------------------------------------------------------------------


def test_findings_are_stepped_through_waived_and_taken_back(van: Hand) -> None:
    findings = van.window.findings
    van.window.activateWindow()
    QApplication.processEvents()
    QTest.keyClick(van.window, Qt.Key.Key_F8)
    first = findings.current
    assert first is not None
    assert set(van.session.selection) == set(first.subjects)
    assert findings.detail.text().startswith(first.message.rstrip("."))
    van.press(findings.waive)
    dialog = van.dialog(WaiveDialog)
    assert isinstance(dialog, WaiveDialog)
    before = van.session.plan
    van.press(dialog.accept_button)
    assert dialog.problem.isVisible(), "a waiver without a reason"
    assert van.session.plan is before
    QTest.keyClicks(dialog.reason, "Ribs are open and edged")
    van.press(dialog.accept_button)
    waived = [row for row in findings.model.rows if row.waived]
    assert [row.waived for row in waived] == ["Ribs are open and edged"]
    assert "1 waived" in findings.summary.text()
    findings.table.selectRow(findings.model.rows.index(waived[0]))
    assert findings.waive.text() == "Take waiver back"
    van.press(findings.waive)
    assert not any(row.waived for row in findings.model.rows)


def test_severity_is_a_word_and_a_sign(van: Hand) -> None:
    model = van.window.findings.model
    for row in range(model.rowCount()):
        index = model.index(row, 0)
        assert model.data(index) in ("Error", "Warning", "Note")
        assert not model.data(index, int(Qt.ItemDataRole.DecorationRole)).isNull()


# --- actions and keys ------------------------------------------------------------------------------------------------


def test_actions_are_told_apart_by_id_and_keys() -> None:
    assert len({row.id for row in ACTIONS}) == len(ACTIONS)
    keys = [QKeySequence(row.keys).toString() for row in ACTIONS if row.keys]
    assert all(keys), "a shortcut that Qt cannot read"
    assert len(set(keys)) == len(keys)


def test_greyed_out_actions_say_why(hand: Hand) -> None:
    for row in ACTIONS:
        told = row.why_not(hand.window.bench)
        action = hand.window.actions_by_id[row.id]
        assert action.isEnabled() == (not told), row.id
        if told:
            assert action.toolTip() == told
            assert told.endswith(".")


def test_command_search_says_why_and_runs(van: Hand) -> None:
    van.shortcut(Qt.Key.Key_K)
    dialog = van.dialog(CommandSearch)
    assert isinstance(dialog, CommandSearch)
    QTest.keyClicks(dialog.search, "duplicate")
    assert "Select a device first." in dialog.list.item(0).text()
    QTest.keyClick(dialog.search, Qt.Key.Key_Return)
    assert dialog.isVisible()
    dialog.search.clear()
    QTest.keyClicks(dialog.search, "securing")
    QTest.keyClick(dialog.search, Qt.Key.Key_Return)
    QApplication.processEvents()
    assert van.window.pointer.tool_id == "securing"


def test_all_keys_are_listed_in_one_place(hand: Hand) -> None:
    helping.show_keys(hand.window.bench)
    dialog = hand.dialog(KeysDialog)
    table = dialog.findChild(QTableWidget)
    assert table is not None
    listed = {table.item(row, 0).text() for row in range(table.rowCount())}
    assert {row.keys for row in ACTIONS if row.keys} <= listed
    assert {row.key for row in TOOLS} <= listed


def test_undo_says_what_it_takes_back(van: Hand) -> None:
    before = van.session.plan
    van.session.select((before.devices[3].id,))
    van.window.actions_by_id["turn"].trigger()
    assert van.window.actions_by_id["undo"].text() == "Undo turn Pump"
    van.window.actions_by_id["duplicate"].trigger()
    assert len(van.session.plan.devices) == len(before.devices) + 1
    assert van.session.selection == (van.session.plan.devices[-1].id,)
    van.shortcut(Qt.Key.Key_Z)
    van.shortcut(Qt.Key.Key_Z)
    assert van.session.plan is before
    assert van.window.actions_by_id["undo"].text() == "Undo"


def test_delete_says_what_went_with_it(van: Hand) -> None:
    van.session.select((van.session.plan.devices[1].id,))
    van.view.setFocus()
    van.window.activateWindow()
    QApplication.processEvents()
    QTest.keyClick(van.view, Qt.Key.Key_Delete)
    assert all(device.name != "Fuse block" for device in van.session.plan.devices)
    assert "With it went" in van.window.status.currentMessage()


def test_a_wire_is_lit_along_its_way_and_cannot_be_deleted(van: Hand) -> None:
    wire = next(iter(van.session.analysis.wires))
    van.session.select((wire,))
    assert van.window.facts.costs.value("One-way").endswith(" m")
    before = van.session.plan
    van.window.actions_by_id["delete"].trigger()
    assert van.session.plan is before
    assert "derived" in van.window.status.currentMessage()


def test_menu_on_the_sheet_is_about_what_lies_there(van: Hand) -> None:
    light = van.session.plan.devices[2]
    van.view.customContextMenuRequested.emit(van.px(van.on(CEILING, light.at_mm)))
    menu = QApplication.activePopupWidget()
    assert isinstance(menu, QMenu)
    assert van.session.selection == (light.id,)
    words = {action.text(): action.isEnabled() for action in menu.actions() if action.text()}
    assert words["Turn by 90°"]
    assert not words["Connect as a circuit"]
    menu.close()


def test_connect_by_selection(van: Hand) -> None:
    plan = van.session.plan
    van.session.select((plan.devices[1].id, plan.devices[2].id))
    van.shortcut(Qt.Key.Key_L)
    assert len(van.session.plan.circuits) == len(plan.circuits) + 1
    assert van.session.selection == (van.session.plan.circuits[-1].id,)


def test_drawing_without_a_mouse(hand: Hand) -> None:
    hand.view.setFocus()
    hand.window.tools_by_id["floor"].trigger()
    for key, held in ((Qt.Key.Key_Left, Shift), (Qt.Key.Key_Down, Shift)):
        hand.key(key, held)
    hand.key(Qt.Key.Key_Space)
    for _ in range(3):
        hand.key(Qt.Key.Key_Right, Shift)
    for _ in range(2):
        hand.key(Qt.Key.Key_Up, Shift)
    hand.key(Qt.Key.Key_Space)
    (floor,) = hand.session.plan.surfaces
    xs, ys = [c.at_mm[0] for c in floor.corners], [c.at_mm[1] for c in floor.corners]
    assert max(xs) - min(xs) == pytest.approx(300.0, abs=10.0)
    assert max(ys) - min(ys) == pytest.approx(200.0, abs=10.0)


def test_typed_height_after_typed_sizes_is_one_return_each(van: Hand) -> None:
    """Return in the field must not reach the sheet as a second Return."""
    van.stage("fit-out")
    van.tool("cabinet")
    van.click((300.0, 900.0))
    van.move((500.0, 1000.0))
    van.type_in("700\t450")
    assert van.session.plan.boxes == ()
    van.type_in("640")
    assert van.session.plan.boxes[0].height_mm == 640.0


def test_letters_choose_tools_on_the_sheet_only(van: Hand) -> None:
    van.window.activateWindow()
    van.view.setFocus()
    QApplication.processEvents()
    QTest.keyClick(van.view, Qt.Key.Key_C)
    assert van.window.pointer.tool_id == "channel"
    van.key(Qt.Key.Key_Escape)
    assert van.window.pointer.tool_id == ""
    van.write(van.window.outline.search, "cabinet")
    assert van.window.outline.search.text() == "cabinet"
    assert van.window.pointer.tool_id == ""


def test_each_stage_has_its_tools_and_nothing_is_locked(van: Hand) -> None:
    for stage in STAGES:
        van.stage(stage.id)
        texts = [action.text() for action in van.window.bar.actions() if action.text()]
        assert len(texts) >= 3, stage.id
    van.window.tools_by_id["rib"].trigger()
    assert van.window.pointer.tool_id == "rib"
    van.shortcut(Qt.Key.Key_PageDown)
    assert van.window.stages.stage == "survey"


# --- look and access -------------------------------------------------------------------------------------------------


def test_theme_and_units_change_at_once_and_are_kept(van: Hand) -> None:
    van.window.actions_by_id["dark"].trigger()
    assert van.window.theme.is_dark
    assert van.view.theme.is_dark
    van.window.actions_by_id["in"].trigger()
    van.session.select((van.session.plan.devices[3].id,))
    field = van.field("width_mm")
    assert isinstance(field, QLineEdit)
    assert field.text().endswith('"')
    settings = van.window.bench.settings
    assert (settings.theme, settings.length_unit) == ("dark", "in")
    van.window.actions_by_id["light"].trigger()
    van.window.actions_by_id["mm"].trigger()


def test_status_line_says_where_the_pointer_is_and_what_it_adds_up_to(van: Hand) -> None:
    van.move(van.on(CEILING, (1000.0, 500.0)))
    name, _, place = van.window.status.place.text().partition("   ")
    x, y = (float(part.removesuffix(" mm")) for part in place.split(", "))
    assert name == "Ceiling"
    assert (x, y) == pytest.approx((1000, 500), abs=1.0 / van.view.px_per_mm)
    assert f"wire {van.session.analysis.totals.cut_mm / 1000:.2f} m" in van.window.status.totals.text()


def test_everything_that_can_be_pressed_or_typed_in_has_a_name(van: Hand) -> None:
    van.session.select((van.session.plan.devices[1].id,))
    unnamed = [
        widget
        for kind in (QAbstractButton, QLineEdit, QComboBox, QPlainTextEdit)
        for widget in van.window.findChildren(kind)
        if widget.isVisible() and not (widget.accessibleName() or getattr(widget, "text", str)())
    ]
    assert unnamed == []


def test_an_empty_sheet_offers_ways_to_begin(hand: Hand) -> None:
    assert hand.window.start.isVisible()
    hand.window.tools_by_id["floor"].trigger()
    assert not hand.window.start.isVisible()


def test_the_window_leaves_no_thread_behind(van: Hand) -> None:
    van.window.close()
    assert [thread for thread in threading.enumerate() if "loom" in thread.name.lower()] == []
    assert QApplication.activeModalWidget() is None
    assert not van.view.mapFromScene(QPointF(0, 0)).isNull()
    assert not [each for each in van.window.findChildren(QFileDialog) if each.isVisible()]


def test_a_finding_is_mended_by_a_click(hand: Hand, tmp_path: Path) -> None:
    hand.window.files.open(saved(tmp_path / "van.loomplan", wired()))
    panel = hand.window.findings
    rows = [row.code for row in panel.model.rows]
    panel.table.selectRow(rows.index("rub.rib"))
    before = hand.session.plan
    hand.press(panel.remedy)
    (menu,) = (each for each in hand.window.findChildren(QMenu) if isinstance(each, RemedyMenu))
    first = menu.actions()[0]
    assert first.isEnabled()
    wrong = panel.current
    first.trigger()
    menu.close()
    assert hand.session.plan is not before
    assert wrong not in [row for row in hand.session.analysis_now().findings if not row.waived]
    hand.window.actions_by_id["undo"].trigger()
    assert hand.session.plan is before


def test_a_chosen_device_lights_the_way_of_what_feeds_it(van: Hand) -> None:
    pump = next(device for device in van.session.plan.devices if device.name == "Pump")
    van.session.select((pump.id,))
    lit = [key.removeprefix("route:") for key in van.view.sheet_scene.items_by_key if key.startswith("route:")]
    wires = van.session.analysis.wires
    assert [(wires[wire].to.device, wires[wire].role) for wire in lit] == [(pump.id, "feed")]
    battery = next(device for device in van.session.plan.devices if device.name == "Battery")
    van.session.select((battery.id,))
    assert not [key for key in van.view.sheet_scene.items_by_key if key.startswith("route:")]


@pytest.mark.parametrize("size", [(1600, 1000), (1280, 800), (900, 620)])
def test_the_whole_sheet_is_shown_with_all_its_lettering(van: Hand, size: tuple[int, int]) -> None:
    van.window.resize(*size)
    QApplication.processEvents()
    van.view.zoom_by(9.0)
    van.window.actions_by_id["zoom-fit"].trigger()
    shown = QRectF(van.view.viewport().rect())
    reaches = [van.view.viewportTransform().mapRect(item.reach) for item in van.view.sheet_scene.items_by_key.values()]
    assert all(shown.contains(reach) for reach in reaches)
    whole = QRectF()
    for reach in reaches:
        whole = whole.united(reach)
    # It fills the view in one direction but for the empty edge.
    assert max(whole.width() / shown.width(), whole.height() / shown.height()) > 0.85


def test_the_first_window_is_no_larger_than_its_screen(qtbot: QtBot) -> None:
    window = make_window(Settings())
    qtbot.addWidget(window)
    room = window.screen().availableSize()
    assert window.width() <= max(room.width(), window.minimumSizeHint().width())
    assert window.height() <= max(room.height(), window.minimumSizeHint().height())
    window.close()
