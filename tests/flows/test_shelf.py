"""The shelf at the window: search, drag, rows, devices of one's own, terminals and ways; facts edited in place."""

import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QEvent, QPointF, Qt
from PySide6.QtGui import QDragEnterEvent, QDragLeaveEvent, QDragMoveEvent, QDropEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit
from pytestqt.qtbot import QtBot

from app.dialogs.ends import EndsDialog
from app.dialogs.own_device import OwnDeviceDialog
from app.panels.dropping import carried
from app.settings import config_folder
from core.edits.circuits import connect
from core.edits.devices import place_device
from core.edits.ends import PORT_COLUMNS, WAY_COLUMNS
from core.files.library import load_library
from core.files.own_devices import OWN, keep_own, own_template, toml_value
from core.model import Plan, Point, find
from tests.flows.hand import Hand, at_work
from tests.helpers.vans import shell
from tests.helpers.wired import CEILING, LEFT, device, wired


@pytest.fixture
def hand(qtbot: QtBot) -> Iterator[Hand]:
    yield from at_work(qtbot)


def show(hand: Hand, plan: Plan) -> None:
    hand.window.files.start(plan, drawn=False)
    hand.stage("devices")
    hand.view.zoom_to_fit()


def listed(hand: Hand, words: str) -> list[str]:
    shelf = hand.window.shelf
    hand.write_only(shelf.search, words)
    return [shelf.list.item(n).text().partition("  ·  ")[0] for n in range(shelf.list.count())]


# --- search ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "wanted"),
    [
        ("refrigerator", "Fridge, compressor"),
        ("leisure battery", "House battery, lithium, 100 Ah"),
        ("consumer unit", "Mains panelboard, RCD and two breakers"),
        ("hook-up", "Shore inlet, 16 A"),
        ("backup camera", "Reversing camera"),
        ("downligths", "Ceiling light, recessed"),  # a slip of the finger
    ],
)
def test_words_of_both_sides_of_the_ocean_find_the_device(hand: Hand, words: str, wanted: str) -> None:
    show(hand, shell())
    assert wanted in listed(hand, words)[:3]


def test_the_shelf_says_what_is_typical_and_by_kind(hand: Hand) -> None:
    show(hand, shell())
    shelf = hand.window.shelf
    listed(hand, "fridge compressor")
    shelf.list.setCurrentRow(0)
    told = shelf.facts_text
    for words in ("typical", "480 × 500 mm, 550 mm deep behind the panel", "20 mm clear around it", "42 W of heat",
                  "End allowance 400 mm", "blade terminal", "Thin-wall vehicle wire"):  # fmt: skip
        assert words in told
    hand.write_only(shelf.search, "")
    shelf.kind.setCurrentIndex(shelf.kind.findData("shunt"))
    shelf.kind.activated.emit(shelf.kind.currentIndex())
    assert [shelf.list.item(n).text() for n in range(shelf.list.count())] == ["Shunt, 500 A  ·  500 A"]


# --- drag and rows ---------------------------------------------------------------------------------------------------


def drag(hand: Hand, template: str, *points: Point, drop: bool = True) -> None:
    """The events a drag over the sheet gives, since a test cannot hold the drag itself."""
    viewport, data = hand.view.viewport(), carried(template)
    none, left = Qt.KeyboardModifier.NoModifier, Qt.MouseButton.LeftButton
    copy = Qt.DropAction.CopyAction
    first = hand.px(points[0])
    enter = QDragEnterEvent(first, copy, data, left, none)
    QApplication.sendEvent(viewport, enter)
    if not enter.isAccepted():
        return
    for point in points:
        QApplication.sendEvent(viewport, QDragMoveEvent(hand.px(point), copy, data, left, none))
    if drop:
        QApplication.sendEvent(viewport, QDropEvent(QPointF(hand.px(points[-1])), copy, data, left, none,
                                                    QEvent.Type.Drop))  # fmt: skip
    else:
        QApplication.sendEvent(viewport, QDragLeaveEvent())
    QApplication.processEvents()


def test_a_device_is_dragged_onto_the_sheet(hand: Hand) -> None:
    show(hand, shell())
    before = hand.session.plan
    wall = hand.on(LEFT, (1_000.0, 900.0))
    drag(hand, "water-pump", hand.on(LEFT, (500.0, 500.0)), wall, drop=False)
    assert hand.session.plan is before
    assert hand.window.pointer.tool_id == ""
    drag(hand, "water-pump", hand.on(LEFT, (500.0, 500.0)), wall)
    (pump,) = hand.session.plan.devices
    assert (pump.kind, pump.surface, pump.made_from) == ("pump", LEFT, "water-pump")
    assert abs(pump.at_mm[0] - 1_000) < 30
    assert abs(pump.at_mm[1] - 900) < 30
    assert hand.window.pointer.tool_id == ""
    # Beside all surfaces it is refused, and nothing is left in hand.
    drag(hand, "water-pump", wall, (-1_200.0, -1_200.0))
    assert len(hand.session.plan.devices) == 1
    assert hand.window.pointer.tool_id == ""


def test_the_dragged_footprint_is_as_large_as_on_the_sheet(hand: Hand) -> None:
    show(hand, shell())
    shelf = hand.window.shelf
    template = shelf.by_id("fridge-compressor")
    pixmap = shelf.list.footprint(template)
    ratio = pixmap.devicePixelRatio()
    assert pixmap.width() / ratio == pytest.approx(480 * hand.view.px_per_mm + 2, abs=1.5)
    assert pixmap.height() / ratio == pytest.approx(500 * hand.view.px_per_mm + 2, abs=1.5)


def test_nothing_is_dragged_onto_an_empty_plan(hand: Hand) -> None:
    hand.stage("devices")
    drag(hand, "water-pump", (0.0, 0.0))
    assert hand.session.plan.devices == ()
    assert "Draw the floor first" in hand.window.status.currentMessage()


def test_several_in_a_row_by_a_drag_and_by_typing(hand: Hand) -> None:
    show(hand, shell())
    hand.take_device("recessed light")
    start, end = hand.on(CEILING, (500.0, 500.0)), hand.on(CEILING, (2_300.0, 500.0))
    hand.drag(start, hand.on(CEILING, (1_000.0, 500.0)), end, release=False)
    hand.key(Qt.Key.Key_PageUp)
    hand.release(end)
    lights = hand.session.plan.devices
    assert len(lights) == 4
    assert "Place 4 ×" in hand.session.undo_label
    xs = [light.at_mm[0] for light in lights]
    steps = [b - a for a, b in zip(xs, xs[1:], strict=False)]
    assert all(step == pytest.approx(600.0, abs=8.0) for step in steps)
    assert len({light.name for light in lights}) == 4
    hand.shortcut(Qt.Key.Key_Z)
    assert hand.session.plan.devices == ()
    # R begins the row where the pointer is; five of them 400 mm apart.
    hand.take_device("recessed light")
    hand.move(start)
    hand.key(Qt.Key.Key_R)
    hand.move(hand.on(CEILING, (1_500.0, 500.0)))
    hand.type_in("5\t400")
    xs = sorted(light.at_mm[0] for light in hand.session.plan.devices)
    assert [b - a for a, b in zip(xs, xs[1:], strict=False)] == [pytest.approx(400.0, abs=1.0)] * 4


# --- devices of one's own --------------------------------------------------------------------------------------------


def test_a_device_of_my_own_is_kept_found_placed_and_taken_off(hand: Hand) -> None:
    plan = wired()
    show(hand, plan)
    pump = next(d for d in plan.devices if d.name == "Pump")
    hand.session.select((pump.id,))
    field = hand.field("electrical.current_a")
    assert isinstance(field, QLineEdit)
    assert find(hand.session.plan, "devices", pump.id).electrical.typical
    hand.write(field, "7.2 A")
    assert not find(hand.session.plan, "devices", pump.id).electrical.typical  # a label's number now
    hand.window.actions_by_id["keep-device"].trigger()
    dialog = hand.dialog(OwnDeviceDialog)
    assert isinstance(dialog, OwnDeviceDialog)
    dialog.name.setText("Bilge “blaster” pump")
    dialog.words.setText("bilge, blaster")
    hand.press(dialog.keep_button)
    file = config_folder() / "library" / OWN
    (row,) = tomllib.loads(file.read_text(encoding="utf-8"))["devices"]
    assert row["name"] == "Bilge “blaster” pump"
    assert row["electrical"]["current_a"] == 7.2
    assert listed(hand, "bilge") == ["Bilge “blaster” pump"]
    QTest.keyClick(hand.window.shelf.search, Qt.Key.Key_Return)
    hand.click(hand.on(LEFT, (1_300.0, 1_400.0)))
    assert hand.session.plan.devices[-1].electrical.current_a == 7.2
    # It is there for the next window, until it is taken off.
    assert any(t.id == row["id"] for t in load_library(file.parent).devices)
    hand.window.shelf.list.setCurrentRow(0)
    hand.press(hand.window.shelf.forget)
    assert listed(hand, "bilge") == []
    assert "devices in plans stay" in hand.window.status.currentMessage()


def test_a_file_edited_by_hand_is_not_written_over(tmp_path: Path) -> None:
    plan = wired()
    template = own_template(plan.devices[3], "Pump of mine", ("a", "b"), "Mind the hose.")
    keep_own(tmp_path, template)
    library = load_library(tmp_path)
    assert library.problems == ()
    assert next(t for t in library.devices if t.id == template.id) == template
    other = own_template(plan.devices[2], "Light \\ of\n mine \x7f", (), "")
    keep_own(tmp_path, other)
    assert {t.id for t in load_library(tmp_path).devices} >= {template.id, other.id}
    broken = "devices = [\nthis is mine"
    (tmp_path / OWN).write_text(broken, encoding="utf-8")
    with pytest.raises(Exception, match="cannot be read, so nothing is added"):
        keep_own(tmp_path, template)
    assert (tmp_path / OWN).read_text(encoding="utf-8") == broken
    assert tomllib.loads(f"x = {toml_value({'a b': [1, 2.5, True, 'q”'], 'c': {}})}")["x"] == {
        "a b": [1, 2.5, True, "q”"], "c": {},
    }  # fmt: skip


def test_every_shipped_device_can_be_kept_and_read_again(tmp_path: Path) -> None:
    library = load_library()
    plan = shell()
    for row in library.devices[:40]:
        plan, new = place_device(plan, row, CEILING, (1_500.0, 850.0))
        keep_own(tmp_path, own_template(find(plan, "devices", new), f"My {row.name}", row.words, row.advice))
    found = load_library(tmp_path)
    assert found.problems == ()
    assert len(found.devices) == len(library.devices) + 40


# --- terminals and ways ----------------------------------------------------------------------------------------------


def cell(table, row: int, columns, key: str):
    return table.item(row, next(n for n, column in enumerate(columns) if column.key == key))


def test_terminals_and_ways_are_edited_in_place(hand: Hand) -> None:
    plan = wired()
    show(hand, plan)
    block = next(d for d in plan.devices if d.ways)
    hand.session.select((block.id,))
    hand.shortcut(Qt.Key.Key_F2, Qt.KeyboardModifier.ShiftModifier)
    dialog = hand.dialog(EndsDialog)
    assert isinstance(dialog, EndsDialog)

    def now():
        return find(hand.session.plan, "devices", block.id)

    cell(dialog.ways, 4, WAY_COLUMNS, "name").setText("Galley")
    cell(dialog.ways, 4, WAY_COLUMNS, "largest_a").setText("15 A")
    assert (now().ways[4].name, now().ways[4].largest_a) == ("Galley", 15.0)
    cell(dialog.ways, 4, WAY_COLUMNS, "fuse_family").setText("nonsense")
    assert "no family of fuses" in dialog.problem.text()
    cell(dialog.ports, 0, PORT_COLUMNS, "end_allowance_mm").setText("220 mm")
    cell(dialog.ports, 0, PORT_COLUMNS, "x_mm").setText("-25 mm")
    assert now().ports[0].end_allowance_mm == 220.0
    assert now().ports[0].at_mm[0] == -25.0
    hand.press(dialog.buttons["add-way"])
    assert now().ways[-1].id == "7"
    dialog.ways.setCurrentCell(0, 0)
    hand.press(dialog.buttons["remove-way"])
    assert "feeds “" in dialog.problem.text()
    dialog.ways.setCurrentCell(6, 0)
    hand.press(dialog.buttons["remove-way"])
    assert len(now().ways) == 6
    hand.press(dialog.buttons["add-port"])
    assert len(now().ports) == len(block.ports) + 1
    dialog.reject()
    for _ in range(7):
        hand.shortcut(Qt.Key.Key_Z)
    assert hand.session.plan is plan


# --- kinds of wire ---------------------------------------------------------------------------------------------------


def test_a_solar_panel_brings_its_own_kind_of_wire() -> None:
    plan, panel = device(shell(), "solar-panel", CEILING, (1_000.0, 800.0), "Panel")
    plan, controller = device(plan, "charge-controller", LEFT, (1_000.0, 800.0), "Controller")
    plan, circuit = connect(plan, panel, None, [controller], library=load_library())
    assert find(plan, "circuits", circuit).wire_kind == "wire-solar"
    assert any(kind.id == "wire-solar" for kind in plan.wire_kinds)
