"""The form of a new vehicle: measured and assumed apart, openings by tape, ends, the sheet to fill by hand."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLineEdit
from pytestqt.qtbot import QtBot

from app.dialogs.new_vehicle import NewVehicleDialog
from app.dialogs.new_vehicle_openings import faces_of
from app.dialogs.paper_desk import PaperDesk
from app.settings import Settings
from core.edits.measurements import bodies, typical
from core.edits.measuring_bodies import BodyName
from core.geometry.edges import outline_of
from core.model import Plan
from tests.flows.hand import Hand, at_work


@pytest.fixture
def hand(qtbot: QtBot) -> Iterator[Hand]:
    yield from at_work(qtbot)


@pytest.fixture
def form(hand: Hand) -> NewVehicleDialog:
    return opened(hand)


def opened(hand: Hand) -> NewVehicleDialog:
    hand.window.actions_by_id["new"].trigger()
    dialog = hand.dialog(NewVehicleDialog)
    assert isinstance(dialog, NewVehicleDialog)
    return dialog


def typed(field: QLineEdit, text: str) -> None:
    """As a person does: choose all, type, go on with Tab."""
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, text)
    QTest.keyClick(field, Qt.Key.Key_Tab)


def test_what_is_typed_is_measured_even_where_it_is_the_typical_value(form: NewVehicleDialog) -> None:
    field, tick = form.fields["floor_width"], form.measured["floor_width"]
    assert (tick.text(), tick.isChecked(), field.property("known"), field.font().italic()) == (
        "assumed", False, "assumed", True,
    )  # fmt: skip
    typed(field, field.text().removesuffix(" mm"))
    assert (tick.text(), tick.isChecked(), field.property("known"), field.font().italic()) == (
        "measured", True, "measured", False,
    )  # fmt: skip
    assert form.count.text().startswith("1 of ")
    tick.click()
    assert tick.text() == "assumed"
    assert form.count.text().startswith("0 of ")


def test_tab_goes_from_length_to_length(form: NewVehicleDialog) -> None:
    keys = list(form.fields)
    form.fields[keys[0]].setFocus()
    for key in keys[1:5]:
        QTest.keyClick(form.focusWidget(), Qt.Key.Key_Tab)
        assert form.focusWidget() is form.fields[key]


def test_openings_are_changed_added_and_taken_off(hand: Hand, form: NewVehicleDialog) -> None:
    rows = form.openings.rows
    count = len(rows)
    door = rows[0]
    typed(door.lengths["width_mm"], "1.1 m")
    assert door.measured.isChecked()
    assert all(field.property("known") == "measured" for field in door.lengths.values())
    typed(door.name, "Side door")
    hand.press(form.openings.add)
    added = form.openings.rows[-1]
    added.on.setCurrentIndex(added.on.findData("roof"))
    added.kind.setCurrentIndex(added.kind.findData("hatch"))
    typed(added.name, "Hatch")
    typed(added.lengths["from_mm"], "2600")
    typed(added.lengths["up_mm"], "400")
    typed(added.lengths["width_mm"], "500")
    typed(added.lengths["height_mm"], "500")
    gone = form.openings.rows[1].name.text()
    hand.press(form.openings.rows[1].remove)
    assert len(form.openings.rows) == count
    hand.press(form.make)
    plan = hand.session.plan
    names = {opening.name: opening for opening in plan.openings}
    assert "Side door" in names
    assert "Hatch" in names
    assert gone not in names
    parts = [opening for opening in plan.openings if opening.name == "Hatch"]
    # The roof of this body is of three strips: the hatch may lie on two of them, together 500 mm along the curve.
    assert sum(max(y for _, y in o.outline) - min(y for _, y in o.outline) for o in parts) == pytest.approx(500)
    assert {max(x for x, _ in o.outline) - min(x for x, _ in o.outline) for o in parts} == {500.0}
    widths = [
        max(p[0] for p in o.outline) - min(p[0] for p in o.outline) for o in plan.openings if o.name == "Side door"
    ]
    assert widths[0] == pytest.approx(1_100)


@pytest.mark.parametrize("odd", ["", "wide", "-20", "1e9", "12 kg", "0"])
def test_odd_lengths_of_openings_are_told_at_their_row(hand: Hand, form: NewVehicleDialog, odd: str) -> None:
    row = form.openings.rows[0]
    before = hand.session.plan
    typed(row.lengths["width_mm"], odd) if odd else row.lengths["width_mm"].clear()
    hand.press(form.make)
    assert row.problem.text()
    assert form.isVisible()
    assert hand.session.plan is before


def test_openings_that_cannot_be_are_told_at_their_row(hand: Hand, form: NewVehicleDialog) -> None:
    row = form.openings.rows[0]
    typed(row.lengths["from_mm"], "3600")
    hand.press(form.make)
    assert "reaches beyond" in row.problem.text()
    typed(row.lengths["from_mm"], "130")
    assert not row.problem.text()
    row.name.clear()
    hand.press(form.make)
    assert "needs a name" in row.problem.text()


def test_other_ends_have_other_faces(form: NewVehicleDialog) -> None:
    assert "rear left" in faces_of(form._form)
    form.rear.setCurrentIndex(form.rear.findData("tailgate"))
    assert "rear" in faces_of(form._form)
    assert not [row for row in form.openings.rows if row.on.currentData() in ("rear left", "rear right")]
    form.front.setCurrentIndex(form.front.findData("open"))
    assert "front" not in faces_of(form._form)


def test_the_sheet_to_fill_by_hand_is_made_of_the_form(hand: Hand, form: NewVehicleDialog) -> None:
    typed(form.fields["length"], "3333")
    hand.press(form.print)
    desk = next(d for d in form.findChildren(PaperDesk) if d.isVisible())
    hand.qtbot.waitUntil(lambda: bool(desk.view.pages), timeout=20_000)
    texts = {str(getattr(mark, "text", "")) for page in desk.view.pages for mark in page.marks}
    assert "Survey sheet: High-roof van" in texts
    assert any("3" in text and "333" in text for text in texts)
    assert not desk.export_button.isVisible()
    desk.reject()


def test_feet_and_inches_fill_the_form(qtbot: QtBot) -> None:
    for hand in at_work(qtbot, Settings(theme="light", length_unit="in")):
        form = opened(hand)
        typed(form.fields["length"], "12' 6 1/2\"")
        typed(form.fields["rib_pitch"], "24 + 1/4")
        hand.press(form.make)
        floor = next(s for s in hand.session.plan.surfaces if s.role == "floor")
        assert max(x for x, _ in outline_of(floor)) == pytest.approx(12.5 * 304.8 + 0.5 * 25.4)


def made(hand: Hand, body: BodyName, driver: str = "right") -> Plan:
    form = opened(hand)
    form.body.setCurrentIndex(form.body.findData(body))
    form.driver.setCurrentIndex(form.driver.findData(driver))
    form.outside.setChecked(True)
    form.underside.setChecked(True)
    hand.press(form.make)
    return hand.session.plan


@pytest.mark.parametrize("body", [body.key for body in bodies()])
def test_every_body_is_made_whole(hand: Hand, body: BodyName) -> None:
    plan = made(hand, body)
    analysis = hand.session.analysis
    assert [f.message for f in analysis.findings if f.severity == "error"] == []
    assert all(state.closes for state in analysis.sheet.seam_states.values())
    roles = {surface.role for surface in plan.surfaces}
    sides = {surface.side for surface in plan.surfaces}
    assert {"floor", "wall", "ceiling"} <= roles
    assert "outside" in sides
    assert any("underside" in surface.name.lower() for surface in plan.surfaces)
    wanted = typical(body)
    if wanted.mm("arch_length"):
        arches = [box for box in plan.boxes if box.kind == "wheel_arch"]
        assert len(arches) == 2
        assert all(len(box.faces) >= 4 for box in arches)
    if wanted.rear == "leaves":
        leaves = [part for part in plan.moving_parts if part.axis_mm]
        assert len(leaves) == 2
        assert {joint.part for joint in plan.moving_joints} == {part.id for part in leaves}
    # As sat in the driver's seat: vehicle right is at the larger y, which lies above the floor on the sheet.
    right = next(s for s in plan.surfaces if s.name.lower().startswith("vehicle right"))
    left = next(s for s in plan.surfaces if s.name.lower().startswith("vehicle left"))
    laid = analysis.sheet.layout
    assert laid.pose(right.id).to_vehicle((0.0, 0.0))[1] > laid.pose(left.id).to_vehicle((0.0, 0.0))[1]
    assert laid.place(right.id).to_sheet((0.0, 0.0))[1] > laid.place(left.id).to_sheet((0.0, 0.0))[1]


def test_doors_are_on_the_side_away_from_the_driver(hand: Hand) -> None:
    for driver, door in (("right", "left"), ("left", "right")):
        plan = made(hand, "high_roof", driver)
        hand.session.mark_saved(Path("unsaved.loomplan"))
        sliding = next(o for o in plan.openings if o.name == "Sliding door")
        wall = next(s for s in plan.surfaces if s.id == sliding.surface)
        assert door in wall.name.lower()
        assert plan.vehicle.driver_side == driver


def test_the_keyboard_goes_from_length_to_length_and_through_the_openings(form: NewVehicleDialog) -> None:
    form.body.setCurrentIndex(form.body.findData("mid_van"))
    lengths = list(form.fields.values())
    form.underside.setFocus()
    for field in lengths:
        QTest.keyClick(form.focusWidget(), Qt.Key.Key_Tab)
        assert form.focusWidget() is field
    door = form.openings.rows[0]
    for widget in (door.name, door.kind, door.on, *door.lengths.values(), door.measured, door.remove):
        QTest.keyClick(form.focusWidget(), Qt.Key.Key_Tab)
        assert form.focusWidget() is widget


def test_return_goes_on_to_the_next_length_and_makes_nothing(hand: Hand, form: NewVehicleDialog) -> None:
    before = hand.session.plan
    form.name.setFocus()
    for field in [*form.fields.values(), *form.openings.lengths()]:
        QTest.keyClick(form.focusWidget(), Qt.Key.Key_Return)
        assert form.focusWidget() is field
        assert field.hasSelectedText(), "the next number is typed over this one"
    QTest.keyClick(form.focusWidget(), Qt.Key.Key_Enter)
    assert form.focusWidget() is form.make
    assert hand.session.plan is before
    form.fields["length"].setFocus()
    QTest.keyClick(form.fields["length"], Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    assert hand.session.plan.surfaces


def test_the_side_of_the_driver_takes_nothing_back_that_the_tape_said(form: NewVehicleDialog) -> None:
    typed(form.fields["length"], "3210")
    before = form.openings.rows[0].on.currentData()
    form.driver.setCurrentIndex(1 - form.driver.currentIndex())
    assert form.fields["length"].text() == "3210 mm"
    assert form.measured["length"].isChecked()
    assert {before, form.openings.rows[0].on.currentData()} == {"left", "right"}
