"""A stage draws faint what it is not about; nothing is locked or hidden by it, and papers show all."""

from collections.abc import Iterator

import pytest
from pytestqt.qtbot import QtBot

from app.canvas.layers import FAINT, FAINT_OPACITY, KINDS, Layers
from app.panels.stages import STAGES
from tests.flows.hand import Hand, at_work
from tests.helpers.wired import wired


@pytest.fixture
def hand(qtbot: QtBot) -> Iterator[Hand]:
    for hand in at_work(qtbot):
        hand.session.replace(wired(), None)
        hand.view.zoom_to_fit()
        yield hand


def _opacities(hand: Hand, layer: str) -> set[float]:
    items = hand.view.sheet_scene.items_by_key.values()
    return {round(item.opacity(), 3) for item in items if item.drawn.layer == layer}


def test_every_stage_says_what_is_faint() -> None:
    assert set(FAINT) == {stage.id for stage in STAGES}
    assert all(faint <= {kind.id for kind in KINDS} for faint in FAINT.values())
    assert not FAINT["papers"]


def test_what_a_stage_is_about_is_drawn_fully(hand: Hand) -> None:
    hand.stage("fit-out")
    assert _opacities(hand, "bundles") == {FAINT_OPACITY}
    assert _opacities(hand, "pills") <= {FAINT_OPACITY}
    assert _opacities(hand, "outlines") == {1.0}
    hand.stage("channels")
    assert _opacities(hand, "bundles") == {1.0}
    hand.stage("papers")
    assert {round(item.opacity(), 3) for item in hand.view.sheet_scene.items_by_key.values()} == {1.0}


def test_what_is_drawn_later_is_as_faint_and_can_be_picked(hand: Hand) -> None:
    hand.stage("survey")
    device = hand.session.plan.devices[0]
    hand.session.select((device.id,))
    hand.window.actions_by_id["duplicate"].trigger()
    assert _opacities(hand, "devices") == {FAINT_OPACITY}
    (copy,) = hand.session.selection
    new = next(each for each in hand.session.plan.devices if each.id == copy)
    hand.session.select(())
    hand.click(hand.on(new.surface, new.at_mm))
    assert hand.session.selection == (copy,)


def test_faint_things_stay_faint_when_a_kind_is_hidden() -> None:
    layers = Layers(stage="survey").shown("zones", on=False)
    assert layers.opacity("devices", "devices") == FAINT_OPACITY
    assert layers.opacity("pills", "bundles") == FAINT_OPACITY
    assert layers.picks("devices", "devices")
    assert not layers.shows("zones", "zones")
