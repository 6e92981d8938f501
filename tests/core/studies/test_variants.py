"""Variants inside the file, side by side; 24 V instead of 12 V; what a change costs."""

import pytest
from msgspec.structs import replace

from core.analysis.engine import analyse
from core.edits.channels import set_wires_state
from core.edits.circuits import set_section
from core.edits.devices import move_device
from core.edits.records import delete, rename
from core.edits.variants import keep_variant, swap_variant
from core.errors import EditRefused
from core.files import codec
from core.files.references import problems
from core.model import Plan, StockSpool, find
from core.studies.difference import difference, worst_drop
from core.studies.variants import compare, on_24v
from tests.helpers import grid
from tests.helpers.grid import LIBRARY
from tests.helpers.wired import wired

VAN = wired()
PUMP = next(d for d in VAN.devices if d.name == "Pump")


def run(plan: Plan):
    return analyse(plan, LIBRARY, "quick")


# --- copies in the file -------------------------------------------------------------------------------------------


def test_a_variant_is_kept_swapped_in_and_swapped_back() -> None:
    kept, variant = keep_variant(VAN, "Thin wire")
    assert codec.decode(codec.encode(kept)) == kept
    changed = move_device(kept, PUMP.id, PUMP.surface, (2_000.0, 300.0))
    swapped = swap_variant(changed, variant, "Pump forward")
    assert find(swapped, "devices", PUMP.id) == PUMP
    assert [v.name for v in swapped.variants] == ["Pump forward"]
    assert problems(swapped) == ()
    back = swap_variant(swapped, variant, "Thin wire")
    assert back == changed


def test_variants_are_named_apart_renamed_and_deleted() -> None:
    plan, first = keep_variant(VAN, "Other")
    plan, second = keep_variant(plan, "Other")
    assert [v.name for v in plan.variants] == ["Other", "Other 2"]
    assert not any(v.plan.variants for v in plan.variants)
    plan = rename(plan, second, "Best")
    assert [v.name for v in delete(plan, [first])[0].variants] == ["Best"]
    with pytest.raises(EditRefused, match="needs a name"):
        keep_variant(VAN, "  ")


def test_stock_stays_with_the_vehicle() -> None:
    kept, variant = keep_variant(VAN, "Other")
    spool = StockSpool(id="sp", kind=VAN.wire_kinds[0].id, section_mm2=1.5, left_mm=4_000.0)
    assert swap_variant(replace(kept, spools=(spool,)), variant).spools == (spool,)


def test_pulled_wires_never_move() -> None:
    kept, variant = keep_variant(VAN, "Other")
    pulled = set_wires_state(kept, [kept.channels[0].id], "pulled")
    with pytest.raises(EditRefused, match="Wires were pulled after"):
        swap_variant(pulled, variant)


def test_variants_in_number_have_an_end() -> None:
    plan = VAN
    for number in range(12):
        plan, _ = keep_variant(plan, f"V{number}")
    with pytest.raises(EditRefused, match="12 variants"):
        keep_variant(plan, "One more")


# --- side by side --------------------------------------------------------------------------------------------------


def test_side_by_side_tells_what_differs_and_who_does_better() -> None:
    near = move_device(VAN, PUMP.id, PUMP.surface, (2_600.0, 320.0))
    both = compare((("As it is", run(VAN)), ("Pump nearer", run(near))))
    rows = {row.title: row for row in both.rows}
    assert both.names == ("As it is", "Pump nearer")
    assert rows["Circuits"].values == (3.0, 3.0)
    assert rows["Circuits"].best is None
    assert rows["Wire to cut"].values[0] == pytest.approx(run(VAN).totals.cut_mm / 1000)
    assert [c.name for c in both.circuits] == [c.name for c in VAN.circuits]
    one_way = next(row.values for row in both.circuits if row.name == "Pump")
    assert one_way[0][2] - one_way[1][2] == pytest.approx(20.0)


def test_a_circuit_that_one_plan_has_not_is_empty_there() -> None:
    without, _ = delete(VAN, [VAN.circuits[-1].id])
    rows = compare((("a", run(VAN)), ("b", run(without)))).circuits
    assert [row.values[1] is None for row in rows] == [False, False, True]


# --- 24 V -------------------------------------------------------------------------------------------------------------


def test_on_24_v_a_load_draws_half_the_current() -> None:
    """5 A on 12 V are 60 W, so 2.5 A on 24 V. The limit in volts doubles and the drop halves: a section may be a
    quarter, so no wire grows and all weigh no more."""
    derived = on_24v(VAN)
    before, after = run(VAN), run(derived.plan)
    for circuit in VAN.circuits[1:]:
        was, now = before.loads[circuit.id], after.loads[circuit.id]
        assert now.base_v == 2 * was.base_v
        assert now.current_a == pytest.approx(was.current_a / 2)
    assert difference(before, after).kg <= 0
    assert problems(derived.plan) == ()
    assert any("Battery" in line for line in derived.decide)
    gained = {f.code for f in after.findings if f.severity != "note"} - {f.code for f in before.findings}
    assert not gained
    # Twice the volts over the same copper: a dead short draws up to twice as much, which its fuse has to break.
    assert {f.code for f in difference(before, after).gained} <= {"fuse.backup"}


def test_what_is_kept_on_12_v_is_told() -> None:
    battery = next(d for d in VAN.devices if d.kind == "battery")
    derived = on_24v(VAN, keep=(battery.id,))
    assert find(derived.plan, "devices", battery.id) == battery
    assert any("stays on 12 V" in line for line in derived.decide)


def test_sizes_by_hand_are_chosen_anew() -> None:
    circuit = VAN.circuits[2]
    heavy = set_section(VAN, circuit.id, 6.0)
    assert find(on_24v(heavy).plan, "circuits", circuit.id).section_mm2 is None


# --- what a change costs -----------------------------------------------------------------------------------------


def test_a_device_moved_by_a_metre_costs_two_metres_of_wire_and_more() -> None:
    """The load's fall grows by 100 mm: 100 mm of feed and 100 mm of return, the tolerance of 3 % (which stays below
    its least, 100 mm) and rounding up to 10 mm: exactly 200 mm more to cut."""
    near = grid.plan({"a": (200.0, 500.0), "b": (1_200.0, 500.0)}, (grid.channel("c", "a", "b"),), "a", "b")
    far = grid.changed(near, "devices", "load", at_mm=(1_200.0, 600.0))
    cost = difference(run(near), run(far))
    assert cost.metres == pytest.approx(0.2)
    assert cost.drop_v is not None
    assert cost.drop_v > 0
    assert cost.words.startswith("+0.20 m")
    assert difference(run(near), run(near)).nothing
    assert difference(run(near), run(near)).words == "no change"


def test_the_other_way_round_is_the_opposite() -> None:
    near = move_device(VAN, PUMP.id, PUMP.surface, (2_000.0, 300.0))
    there, back = difference(run(VAN), run(near)), difference(run(near), run(VAN))
    assert there.metres == pytest.approx(-back.metres)
    assert there.kg == pytest.approx(-back.kg)
    assert {f.code for f in there.gained} == {f.code for f in back.gone}


def test_size_steps_fuses_and_findings_are_told() -> None:
    circuit = VAN.circuits[2]
    thick = set_section(VAN, circuit.id, 6.0)
    cost = difference(run(VAN), run(thick))
    assert [(s.circuit, s.after_mm2) for s in cost.sizes] == [(circuit.id, 6.0)]
    assert "6 mm²" in cost.words
    assert cost.kg > 0
    gone, _ = delete(VAN, [circuit.id])
    lost = difference(run(VAN), run(gone))
    assert any(step.after_mm2 is None for step in lost.sizes)
    assert "device.no_circuit" in {f.code for f in lost.gained}


def test_the_worst_circuit_is_the_one_that_uses_most_of_its_limit() -> None:
    analysis = run(VAN)
    worst = worst_drop(analysis)
    assert worst is not None
    shares = [d / limit for s in analysis.circuit_sizes.values() for _, d, limit, _ in s.drops if d and limit]
    assert worst[2] == max(shares)


def test_a_drag_holds_its_findings() -> None:
    from core.analysis.engine import Analyser

    analyser = Analyser(LIBRARY)
    held = analyser.analyse(VAN)
    guess = analyser.estimate(move_device(VAN, PUMP.id, PUMP.surface, (2_600.0, 200.0)), held)
    cost = difference(held, guess)
    assert cost.provisional
    assert cost.gained == cost.gone == ()
    assert cost.metres > 0
