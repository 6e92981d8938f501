"""Once it is quiet the shown diameters are those of the papers; an edit is never held up by it."""

from collections.abc import Iterator

import pytest
from pytestqt.qtbot import QtBot

import app.refining
from app.refining import Refiner
from app.session import Session
from core.analysis.engine import analyse
from core.edits.devices import move_device
from core.files.codec import read_plan
from core.files.library import load_library
from core.geometry import packing_speed
from core.model import find
from core.resources import samples

LIBRARY = load_library()
PLAN = read_plan(samples()[1])


@pytest.fixture
def session(qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> Iterator[Session]:
    monkeypatch.setattr(app.refining, "IDLE_MS", 30)
    # Either way of packing gives the same answer; the test does not wait for the compiler.
    monkeypatch.setattr(packing_speed, "is_compiled", lambda: True)
    session = Session(LIBRARY, PLAN)
    yield session
    session.close()


def _tight(analysis) -> dict[str, float]:
    return {channel: bundle.diameter_tight_mm for channel, bundle in analysis.bundles.items()}


def test_the_shown_diameters_become_those_of_the_papers(session: Session, qtbot: QtBot) -> None:
    refiner = Refiner(session)
    assert session.analysis.quality == "quick"
    quick = _tight(session.analysis)
    refiner._wait()
    qtbot.waitUntil(lambda: session.analysis.quality == "refined", timeout=20_000)
    refined = analyse(PLAN, LIBRARY, "refined")
    assert _tight(session.analysis) == _tight(refined)
    assert session.analysis.findings == refined.findings
    assert all(refined.bundles[channel].diameter_tight_mm <= mm + 1e-9 for channel, mm in quick.items())
    assert any(refined.bundles[channel].diameter_tight_mm < mm - 1e-6 for channel, mm in quick.items())
    assert session.analysis_now() is session.analysis


def test_an_edit_begins_it_again_and_is_quick_at_first(session: Session, qtbot: QtBot) -> None:
    Refiner(session)
    assert session.analysis.plan is PLAN
    device = next(device for device in PLAN.devices if device.node)
    x, y = find(PLAN, "devices", device.id).at_mm
    session.commit("Move", move_device(PLAN, device.id, device.surface, (x + 10.0, y)))
    moved = session.plan
    qtbot.waitUntil(lambda: session.analysis.plan is moved and session.analysis.quality == "refined", timeout=20_000)
    session.undo()
    assert session.plan is PLAN
    qtbot.waitUntil(lambda: session.analysis.plan is PLAN and session.analysis.quality == "refined", timeout=20_000)


def test_nothing_is_refined_while_something_is_dragged(session: Session, qtbot: QtBot) -> None:
    refiner = Refiner(session)
    assert session.analysis.plan is PLAN
    device = next(device for device in PLAN.devices if device.node)
    x, y = device.at_mm
    session.preview(move_device(PLAN, device.id, device.surface, (x + 10.0, y)))
    assert not session.can_refine
    session.refine()
    refiner._go_on()
    qtbot.wait(100)
    assert session.analysis.quality == "quick" or session.analysis.provisional
    session.preview(None)
    qtbot.waitUntil(lambda: session.analysis.quality == "refined", timeout=20_000)


def test_uncompiled_it_does_nothing(session: Session, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(packing_speed, "is_compiled", lambda: False)
    refiner = Refiner(session)
    assert session.analysis.quality == "quick"
    refiner._wait()
    qtbot.wait(150)
    assert session.analysis.quality == "quick"
