"""A conduit in the bundle, laid and taken out at the window."""

from collections.abc import Iterator

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from app.dialogs.inner import InnerConduitDialog
from tests.flows.hand import Hand, at_work
from tests.helpers.wired import wired


@pytest.fixture
def hand(qtbot: QtBot) -> Iterator[Hand]:
    yield from at_work(qtbot)


def test_a_conduit_is_laid_into_a_bundle_and_taken_out(hand: Hand) -> None:
    hand.window.files.start(wired(), drawn=False)
    hand.stage("channels")
    before = hand.session.plan
    analysis = hand.session.analysis
    assert analysis is not None
    channel = max(analysis.bundles.values(), key=lambda bundle: len(bundle.wires)).channel
    hand.session.select([channel])
    hand.window.actions_by_id["inner-conduit"].trigger()
    dialog = hand.dialog(InnerConduitDialog)
    assert isinstance(dialog, InnerConduitDialog)
    dialog.circuits.item(0).setCheckState(Qt.CheckState.Checked)
    circuit = dialog.circuits.item(0).data(Qt.ItemDataRole.UserRole)
    hand.press(dialog.accept_button)
    (inner,) = next(c for c in hand.session.plan.channels if c.id == channel).inner
    assert inner.circuits == (circuit,)
    assert inner.draw_string
    assert any(kind.id == inner.conduit for kind in hand.session.plan.conduit_kinds)
    # the same circuit in a second conduit of the bundle: refused where it is asked
    hand.session.select([channel])
    hand.window.actions_by_id["inner-conduit"].trigger()
    again = hand.dialog(InnerConduitDialog)
    assert isinstance(again, InnerConduitDialog)
    again.circuits.item(0).setCheckState(Qt.CheckState.Checked)
    hand.press(again.accept_button)
    assert "another conduit" in again.problem.text()
    again.reject()
    hand.window.actions_by_id["inner-conduits-out"].trigger()
    assert hand.session.plan.channels == before.channels
