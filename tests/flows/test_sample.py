"""A finished plan at the window: a device is moved, what it costs changes while it is dragged, undo is exact."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QPointF, Qt
from pytestqt.qtbot import QtBot

from core.resources import folder
from tests.flows.hand import Hand, at_work

SAMPLES = folder().parent / "sample_layouts"


@pytest.fixture
def hand(qtbot: QtBot) -> Iterator[Hand]:
    yield from at_work(qtbot)


@pytest.mark.parametrize("name", ["weekend-camper", "long-van"])
def test_moving_a_device_changes_its_wires_and_undo_brings_the_same_plan_back(hand: Hand, name: str) -> None:
    session = hand.session
    path = SAMPLES / f"{name}.loomplan"
    before_bytes = path.read_bytes()
    assert hand.window.files.open(path)
    opened = session.plan
    light = next(
        device for device in opened.devices if device.kind == "light" and device.node and device.fall_mm is None
    )
    session.select((light.id,))
    hand.view.zoom_to_selection()
    hand.view.centerOn(QPointF(*hand.on(light.surface, light.at_mm)))
    full = session.analysis_now()
    mine = [wire.id for wire in full.wires.values() if light.id in (wire.from_.device, wire.to.device)]
    lengths = [full.routes[wire].route_mm for wire in mine]
    assert mine
    assert None not in lengths
    at = hand.on(light.surface, light.at_mm)
    # Towards the middle of its surface, so that it stays on it.
    outline = hand.window.desk.outline_on_sheet(light.surface)
    middle = (sum(x for x, _ in outline) / len(outline), sum(y for _, y in outline) / len(outline))
    step = (60.0 if middle[0] > at[0] else -60.0, 60.0 if middle[1] > at[1] else -60.0)
    to = (at[0] + step[0], at[1] + step[1])
    hand.drag(at, (at[0] + step[0] / 2, at[1] + step[1] / 2), to, release=False)
    assert session.previewing
    assert session.plan is opened
    hand.release(to)
    assert session.plan is not opened
    moved = session.analysis_now()
    assert [moved.routes[wire].route_mm for wire in mine] != lengths
    hand.shortcut(Qt.Key.Key_Z)
    assert session.plan is opened
    assert [session.analysis_now().routes[wire].route_mm for wire in mine] == lengths
    assert path.read_bytes() == before_bytes


def test_every_finding_of_a_sample_leads_somewhere(hand: Hand) -> None:
    assert hand.window.files.open(SAMPLES / "long-van.loomplan")
    findings = hand.window.findings
    assert findings.model.rows
    for row in findings.model.rows:
        hand.window.findings.step(1)
        assert findings.current is not None
        assert findings.detail.text()
        if row.subjects:
            assert hand.session.selection
    hand.window.findings.step(-1)


def test_every_record_of_a_sample_shows_its_facts(hand: Hand, tmp_path: Path) -> None:
    """Each kind of record has a form, and opening it changes nothing."""
    assert hand.window.files.open(SAMPLES / "long-van.loomplan")
    plan = hand.session.plan
    for collection in plan.__struct_fields__:
        rows = getattr(plan, collection)
        if isinstance(rows, tuple) and rows and collection not in ("images", "photos"):
            hand.session.select((rows[0].id,))
            assert hand.window.facts.isVisible()
    for wire in list(hand.session.analysis.wires)[:5]:
        hand.session.select((wire,))
        assert hand.window.facts.costs.value("One-way")
    assert hand.session.plan is plan
    assert hand.session.clean
