"""A drag in a large plan: what is measured anew for the touched wires is what the full analysis says."""

import pytest
from msgspec.structs import replace

from core.analysis import engine
from core.analysis.drag import patched
from core.analysis.engine import Analyser, analyse
from core.edits.channels import insert_via, move_node_to, move_via
from core.edits.circuits import set_section
from core.edits.devices import move_device, turn_device
from core.edits.records import rename
from core.files.library import load_library
from core.model import OnLine, OnSurface, Plan
from tests.bench.vehicles import vehicle
from tests.helpers.wired import FLOOR, LEFT, wired

LIBRARY = load_library()


def _with_set_sections(plan: Plan) -> Plan:
    """Sizes do not follow a drag in a large plan, so they are set by hand here."""
    for circuit in plan.circuits:
        plan = set_section(plan, circuit.id, 6.0)
    return plan


VAN = _with_set_sections(wired())


def _a_node(plan: Plan) -> tuple[str, str]:
    """A node of the left wall that lies on no edge, with wires through it."""
    nodes = {n.id: n for n in plan.nodes}
    at = next(c for c in plan.channels if c.surface == LEFT and isinstance(nodes[c.end].place, OnSurface))
    return at.end, at.id


def _moved_node(plan: Plan) -> Plan:
    return move_node_to(plan, _a_node(plan)[0], LEFT, (2_500.0, 900.0))


def _moved_device(plan: Plan) -> Plan:
    pump = next(d for d in plan.devices if d.name == "Pump")
    return move_device(plan, pump.id, LEFT, (2_500.0, 250.0))


def _turned_device(plan: Plan) -> Plan:
    block = next(d for d in plan.devices if d.name == "Fuse block")
    return turn_device(move_device(plan, block.id, LEFT, (900.0, 560.0)), block.id, 90.0)


def _with_via(plan: Plan) -> Plan:
    return insert_via(plan, _a_node(plan)[1], 0, (1_700.0, 1_500.0))


def _moved_battery(plan: Plan) -> Plan:
    battery = next(d for d in plan.devices if d.name == "Battery")
    return move_device(plan, battery.id, FLOOR, (2_500.0, 500.0))


@pytest.mark.parametrize("edited", [_moved_node, _moved_device, _turned_device, _with_via, _moved_battery])
def test_lengths_drops_and_sums_are_those_of_the_full_analysis(edited) -> None:
    held = analyse(VAN, LIBRARY)
    plan = edited(VAN)
    estimate = patched(plan, held)
    full = analyse(plan, LIBRARY)
    assert estimate is not None
    assert estimate.provisional
    assert estimate.plan is plan
    assert any(estimate.routes[w].route_mm != pytest.approx(held.routes[w].route_mm, abs=1.0) for w in held.routes)
    assert estimate.node_spots == full.node_spots
    assert estimate.paths == full.paths
    assert estimate.falls == full.falls
    for wire, size in full.sized.items():
        assert full.routes[wire].steps == held.routes[wire].steps  # the drags above change no route
        assert estimate.routes[wire].route_mm == pytest.approx(full.routes[wire].route_mm)
        assert size.section_mm2 == estimate.sized[wire].section_mm2  # nor a size
        assert estimate.sized[wire].drop_v == pytest.approx(size.drop_v, rel=1e-6)
        assert estimate.sized[wire].drop_percent == pytest.approx(size.drop_percent, rel=1e-6)
    for circuit, circuit_size in full.circuit_sizes.items():
        mine = estimate.circuit_sizes[circuit]
        assert mine.one_way_mm == pytest.approx(circuit_size.one_way_mm)
        assert mine.there_and_back_mm == pytest.approx(circuit_size.there_and_back_mm)
        for a, b in zip(mine.drops, circuit_size.drops, strict=True):
            assert a[0] == b[0]
            assert a[1:] == pytest.approx(b[1:], rel=1e-6)
    assert {p.piece: p.cut_mm for p in estimate.pieces} == pytest.approx({p.piece: p.cut_mm for p in full.pieces})
    assert estimate.totals.cut_mm == pytest.approx(full.totals.cut_mm)
    assert estimate.totals.mass_kg == pytest.approx(full.totals.mass_kg)


def test_what_is_not_touched_stays_the_very_same_object() -> None:
    held = analyse(VAN, LIBRARY)
    estimate = patched(_moved_device(VAN), held)
    assert estimate is not None
    pump = next(d.id for d in VAN.devices if d.name == "Pump")
    touched = {w.id for w in held.wires.values() if pump in (w.from_.device, w.to.device)}
    assert 0 < len(touched) < len(held.wires)
    assert all((estimate.routes[w] is held.routes[w]) == (w not in touched) for w in held.wires)
    assert all(estimate.paths[c] is held.paths[c] for c in held.paths)
    assert estimate.findings is held.findings


def test_any_other_edit_is_left_to_the_full_estimate() -> None:
    held = analyse(VAN, LIBRARY)
    channel = VAN.channels[0]
    assert patched(rename(VAN, channel.id, "Other"), held) is None
    assert patched(replace(VAN, nodes=VAN.nodes[1:]), held) is None
    assert patched(replace(VAN, ribs=()), held) is None
    assert patched(replace(VAN, name="Other"), held) is None
    swapped = (VAN.devices[1], VAN.devices[0], *VAN.devices[2:])
    assert patched(replace(VAN, devices=swapped), held) is None


def test_a_node_moved_off_its_surface_says_what_the_full_stages_say() -> None:
    held = analyse(VAN, LIBRARY)
    node = _a_node(VAN)[0]
    rows = tuple(
        replace(n, place=OnLine(surface=FLOOR, edge="2", at_mm=100.0)) if n.id == node else n for n in VAN.nodes
    )
    plan = replace(VAN, nodes=rows)
    estimate = patched(plan, held)
    assert estimate is not None
    assert estimate.paths == analyse(plan, LIBRARY).paths


def test_the_engine_takes_it_in_large_plans_only(monkeypatch: pytest.MonkeyPatch) -> None:
    plan = vehicle("van")
    analyser = Analyser(LIBRARY)
    held = analyser.analyse(plan, "quick")
    moved = move_via(insert_via(plan, "c7", 0, (1_000.0, 500.0)), "c7", 0, (1_010.0, 500.0))
    asked = []
    monkeypatch.setattr(engine, "patched", lambda plan, held: asked.append(plan) or patched(plan, held))
    assert analyser.estimate(moved, held).provisional
    assert not asked
    monkeypatch.setattr(engine, "ALL_REDONE_UP_TO", 100)
    assert analyser.estimate(moved, held).provisional
    assert asked == [moved]
