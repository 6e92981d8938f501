"""The commands of the papers in a window: the proof of what is selected, the usual paper, an export that is stopped."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app.commands import finishing, papers
from app.dialogs.as_built.dialog import AsBuiltDialog
from app.dialogs.paper_desk import PaperDesk
from core.model import find
from tests.flows.hand import Hand, at_work
from tests.helpers.wired import wired


@pytest.fixture
def van(qtbot: QtBot) -> Iterator[Hand]:
    for hand in at_work(qtbot):
        hand.session.replace(wired(), None)
        yield hand


def desk_of(van: Hand) -> PaperDesk:
    dialog = van.dialog(PaperDesk)
    assert isinstance(dialog, PaperDesk)
    van.qtbot.waitUntil(dialog.save_button.isEnabled, timeout=20_000)
    return dialog


def test_the_proof_of_what_is_selected(van: Hand) -> None:
    van.session.select(())
    van.window.actions_by_id["proof"].trigger()
    assert "Select a circuit" in van.window.status.currentMessage()
    circuit = van.session.plan.circuits[-1]
    wires = [wire.id for wire in van.window.bench.analysis().wires.values() if wire.circuit == circuit.id]
    van.session.select((circuit.id,))
    van.window.actions_by_id["proof"].trigger()
    desk = desk_of(van)
    assert len(desk.view.pages) >= len(wires)
    assert {page.title.split(" – ")[0] for page in desk.view.pages} == {f"Proof: {wire}" for wire in wires}
    desk.reject()


def test_wires_are_chosen_by_circuit_channel_device_or_themselves(van: Hand) -> None:
    analysis = van.window.bench.analysis()
    wire = next(iter(analysis.wires.values()))
    bundle = next(bundle for bundle in analysis.bundles.values() if wire.id in bundle.wires)
    for chosen in (wire.id, wire.circuit, wire.from_.device, bundle.channel):
        assert wire.id in papers.chosen_wires(analysis, (chosen,)), chosen
    assert papers.chosen_wires(analysis, (wire.id,)) == (wire.id,)
    assert papers.chosen_wires(analysis, ("nothing",)) == ()


def test_the_usual_paper_is_kept_for_the_next_time(van: Hand) -> None:
    van.window.actions_by_id["papers"].trigger()
    desk = desk_of(van)
    desk.paper.setCurrentIndex(desk.paper.findData("Letter"))
    desk.paper.activated.emit(desk.paper.currentIndex())
    desk.reject()
    assert van.window.bench.settings.paper == "letter"
    van.window.actions_by_id["papers"].trigger()
    desk = desk_of(van)
    assert desk.choices.paper == "Letter"
    assert desk.view.pages[0].width_mm == pytest.approx(279.4)
    desk.reject()


def test_an_export_that_is_stopped_writes_nothing(van: Hand, tmp_path: Path) -> None:
    out = tmp_path / "papers"
    working = papers.export_to(van.window.bench, str(out))
    assert working is not None
    working.stop_button.click()
    van.qtbot.waitUntil(lambda: "nothing was written" in van.window.status.currentMessage(), timeout=30_000)
    assert not out.exists()


def test_what_is_entered_as_built_is_a_step_that_can_be_undone(van: Hand) -> None:
    device = van.session.plan.devices[1]
    van.session.select((device.id,))
    assert finishing.place_of_selection(van.window.bench) == (device.surface, device.at_mm)
    before = van.session.plan
    van.window.actions_by_id["as-pulled"].trigger()
    dialog = van.dialog(AsBuiltDialog)
    assert isinstance(dialog, AsBuiltDialog)
    wire = dialog.pulled.table.item(0, 0).text()
    dialog.pulled.table.item(0, 4).setText("2345")
    assert find(van.session.plan, "as_pulled", "ap1").length_mm == 2_345.0
    assert wire in van.session.undo_label
    dialog.accept()
    van.window.actions_by_id["undo"].trigger()
    assert van.session.plan is before


def test_a_desk_that_is_closed_while_it_saves_still_saves(van: Hand, tmp_path: Path) -> None:
    van.window.actions_by_id["papers"].trigger()
    desk = desk_of(van)
    desk.save_to(tmp_path / "cut.pdf")
    desk.reject()
    van.qtbot.waitUntil(lambda: "Saved cut.pdf" in van.window.status.currentMessage(), timeout=20_000)
    assert (tmp_path / "cut.pdf").read_bytes().startswith(b"%PDF")
