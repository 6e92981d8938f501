"""Findings in groups: headings cannot be chosen, stepping goes over them, the current one stays."""

from collections.abc import Iterator

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from core.files.codec import read_plan
from core.resources import samples
from tests.flows.hand import Hand, at_work


@pytest.fixture
def hand(qtbot: QtBot) -> Iterator[Hand]:
    for hand in at_work(qtbot):
        hand.window.files.start(read_plan(samples()[0]), drawn=False)
        yield hand


@pytest.mark.parametrize("by", ["place", "rule"])
def test_grouped_findings_have_headings_that_stepping_passes(hand: Hand, by: str) -> None:
    panel = hand.window.findings
    flat = panel.model.rows
    panel.step(1)
    panel.step(1)
    was = panel.current
    panel.grouping.setCurrentIndex(panel.grouping.findData(by))
    assert panel.current == was
    assert set(panel.model.rows) == set(flat)
    assert panel.model.headings[0] == 0
    for line in panel.model.headings:
        index = panel.model.index(line, 0)
        assert not index.flags() & Qt.ItemFlag.ItemIsSelectable
        assert panel.table.columnSpan(line, 0) == 4
        assert str(index.data()).endswith(")")
    seen = []
    for _ in flat:
        QTest.keyClick(hand.window, Qt.Key.Key_F8)
        seen.append(panel.current)
    assert set(seen) == set(flat)
    panel.grouping.setCurrentIndex(0)
    assert panel.model.headings == ()
    assert panel.table.columnSpan(0, 0) == 1
