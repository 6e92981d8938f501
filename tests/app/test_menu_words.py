"""Names of records and files in menus: the sign & marks a letter there, and in a name it is to be seen."""

from collections.abc import Iterator

import pytest
from pytestqt.qtbot import QtBot

from app.dialogs.mending import RemedyMenu
from app.settings import Settings
from core.edits.records import set_field
from core.model import Circuit, find
from tests.flows.hand import Hand, at_work
from tests.helpers.wired import wired

NAME = "Hob & fridge"


@pytest.fixture
def van(qtbot: QtBot) -> Iterator[Hand]:
    for hand in at_work(qtbot, Settings(theme="light", recent=("/plans/Hob & fridge.loomplan",))):
        hand.session.replace(wired(), None)
        yield hand


def circuit(hand: Hand) -> Circuit:
    return hand.session.plan.circuits[0]


def test_what_is_undone_is_named_with_its_sign(van: Hand) -> None:
    plan = set_field(van.session.plan, circuit(van).id, name=NAME)
    van.session.commit(f"Rename {NAME}", plan)
    assert van.window.actions_by_id["undo"].text() == "Undo rename Hob && fridge"
    assert NAME in van.window.actions_by_id["undo"].toolTip()


def test_recent_files_are_named_with_their_sign(van: Hand) -> None:
    van.window.recent.aboutToShow.emit()
    assert van.window.recent.actions()[0].text() == "Hob && fridge.loomplan"


def test_remedies_name_records_with_their_sign(van: Hand) -> None:
    plan = set_field(van.session.plan, circuit(van).id, name=NAME, section_mm2=0.5, drop_percent=1.0)
    van.session.commit("Thin wire", plan)
    assert find(van.session.plan, "circuits", circuit(van).id).name == NAME
    analysis = van.window.bench.analysis()
    finding = next(f for f in analysis.findings if f.code == "size.drop" and circuit(van).id in f.subjects)
    menu = RemedyMenu(van.window, finding, analysis, van.session.library, lambda *_: None)
    assert any("Hob && fridge" in action.text() for action in menu.actions())
    menu.close()
