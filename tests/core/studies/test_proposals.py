"""Wire all: what shares a way, in which order, what is left out; forms side by side; loads moved to another block."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from core.analysis.engine import analyse
from core.edits.circuits import connect
from core.edits.devices import connect_to_nearest, place_device
from core.errors import EditRefused
from core.files.references import problems
from core.model import Device, Electrical, Plan, Way, find
from core.studies.difference import difference
from core.studies.proposals import chain_and_star, forms, move_loads, side, unwired, wire_all
from tests.helpers.grid import LIBRARY
from tests.helpers.vans import shell
from tests.helpers.wired import CEILING, FLOOR, LEFT, channel

LAMPS_LEFT, LAMPS_RIGHT = ("Lamp 1", "Lamp 2", "Lamp 3"), ("Lamp 4", "Lamp 5")


def van(ways: int = 8, largest_a: float = 20.0) -> Plan:
    """A channel up the left wall and all along the ceiling's middle; lamps left and right of it, a pump and two
    sockets on the wall, a fridge that is critical."""
    plan, _ = channel(shell(), (FLOOR, (2_500.0, 400.0)), (FLOOR, (2_500.0, 0.0)), (LEFT, (500.0, 500.0)))
    plan, _ = channel(plan, (LEFT, (500.0, 500.0)), (LEFT, (500.0, 1_800.0)), (CEILING, (500.0, 850.0)),
                      (CEILING, (2_900.0, 850.0)))  # fmt: skip
    rows = [
        ("Block", "fuse_block", LEFT, (600.0, 500.0), None, False),
        ("Lamp 1", "light", CEILING, (1_000.0, 400.0), 0.5, False),
        ("Lamp 2", "light", CEILING, (2_600.0, 400.0), 0.5, False),
        ("Lamp 3", "light", CEILING, (1_800.0, 400.0), 0.5, False),
        ("Lamp 4", "light", CEILING, (1_000.0, 1_300.0), 0.5, False),
        ("Lamp 5", "light", CEILING, (2_600.0, 1_300.0), 0.5, False),
        ("Pump", "pump", LEFT, (700.0, 900.0), 6.0, False),
        ("Socket 1", "usb", LEFT, (700.0, 1_100.0), 5.0, False),
        ("Socket 2", "usb", LEFT, (700.0, 1_300.0), 5.0, False),
        ("Fridge", "fridge", LEFT, (700.0, 700.0), 5.0, True),
    ]
    for name, kind, surface, at, amps, critical in rows:
        data = Electrical(current_a=amps, critical=critical)
        own = tuple(Way(id=str(i), largest_a=largest_a) for i in range(1, ways + 1)) if kind == "fuse_block" else ()
        device = Device(id="new", name=name, kind=kind, surface=surface, at_mm=at, electrical=data, ways=own)
        plan, _ = place_device(plan, device, surface, at)
    return plan


def names(plan: Plan, ids) -> tuple[str, ...]:
    return tuple(find(plan, "devices", each).name for each in ids)


def propose(plan: Plan):
    block = next(d for d in plan.devices if d.kind == "fuse_block")
    return wire_all(analyse(plan, LIBRARY, "quick"), block.id, LIBRARY)


def test_lights_by_side_and_everything_else_on_its_own() -> None:
    """The ceiling hangs on the left wall: its local y runs from the left side to the right."""
    plan = van()
    analysis = analyse(plan, LIBRARY, "quick")
    sides = {d.name: side(analysis, d) for d in plan.devices if d.kind == "light"}
    assert sides == {**dict.fromkeys(LAMPS_LEFT, "left"), **dict.fromkeys(LAMPS_RIGHT, "right")}
    found = propose(plan)
    groups = {frozenset(names(found.plan, g.devices)) for g in found.groups}
    assert groups == {frozenset(LAMPS_LEFT), frozenset(LAMPS_RIGHT), *(frozenset({n}) for n in (
        "Pump", "Socket 1", "Socket 2", "Fridge"))}  # fmt: skip
    assert found.left_out == ()
    assert problems(found.plan) == ()
    assert unwired(found.plan, "dc12") == ()
    after = analyse(found.plan, LIBRARY)
    assert all(route.route_mm is not None for route in after.routes.values())
    assert not {f.code for f in after.findings} & {"fuse.holder", "route.none", "device.no_circuit"}


def test_the_chain_goes_from_the_nearest_lamp_to_the_farthest() -> None:
    found = propose(van())
    left = next(g for g in found.groups if len(g.devices) == 3)
    assert names(found.plan, left.devices) == ("Lamp 1", "Lamp 3", "Lamp 2")
    assert left.form == "chain"
    assert left.chain_mm is not None
    assert left.star_mm is not None
    assert left.chain_mm < left.star_mm


def test_without_enough_ways_lights_are_put_together_and_then_somebody_is_left_out() -> None:
    five = propose(van(ways=5))
    assert frozenset(LAMPS_LEFT + LAMPS_RIGHT) in {frozenset(names(five.plan, g.devices)) for g in five.groups}
    assert five.left_out == ()
    three = propose(van(ways=3))
    assert len(three.groups) == 3
    gone = names(three.plan, [device for device, _ in three.left_out])
    assert "Fridge" not in gone  # critical loads keep their way
    assert all(reason for _, reason in three.left_out)


def test_a_group_too_large_for_a_way_is_parted() -> None:
    """1 A ways with a factor of 1.25 carry 0.8 A: each lamp of 0.5 A gets a way of its own, the rest none."""
    found = propose(van(ways=8, largest_a=1.0))
    assert sorted(len(g.devices) for g in found.groups) == [1] * 5
    assert len(found.left_out) == 4
    assert all("holds" in reason or "no free way" in reason for _, reason in found.left_out)


def test_nothing_to_wire_and_no_ways_are_refused() -> None:
    plan = propose(van()).plan
    with pytest.raises(EditRefused, match="already"):
        propose(plan)
    bare = replace(van(), devices=tuple(replace(d, ways=()) for d in van().devices))
    with pytest.raises(EditRefused, match="no ways"):
        propose(bare)


def test_the_plan_that_was_asked_about_stays_as_it_was_and_the_cost_is_the_difference() -> None:
    plan = van()
    found = propose(plan)
    assert plan == van()
    again = difference(analyse(plan, LIBRARY, "quick"), analyse(found.plan, LIBRARY, "quick"))
    assert found.cost.metres == pytest.approx(again.metres)
    assert found.cost.metres > 0


def test_chain_and_star_side_by_side() -> None:
    """Both forms are analysed; the star of the three left lamps takes more wire."""
    found = propose(van())
    circuit = next(c for c in found.plan.circuits if len(c.stops) == 4)
    before = analyse(found.plan, LIBRARY, "quick")
    chained, starred = forms(before, circuit.id, LIBRARY)
    assert difference(before, chained).nothing
    assert difference(before, starred).metres > 0


def test_loads_move_to_another_block() -> None:
    plan = propose(van()).plan
    second = Device(id="new", name="Second", kind="fuse_block", surface=CEILING, at_mm=(2_900.0, 800.0),
                    ways=(Way(id="1", largest_a=10.0), Way(id="2", largest_a=10.0)))  # fmt: skip
    plan, second_id = place_device(plan, second, CEILING, (2_900.0, 800.0))
    plan, _ = connect_to_nearest(plan, second_id)
    ids = {d.name: d.id for d in plan.devices}
    whole = move_loads(plan, [ids[n] for n in LAMPS_RIGHT], second_id, LIBRARY)
    assert problems(whole) == ()
    assert len(whole.circuits) == len(plan.circuits)
    assert sum(c.stops[0].device == second_id for c in whole.circuits) == 1
    single = move_loads(plan, [ids["Lamp 1"]], second_id, LIBRARY)
    assert len(single.circuits) == len(plan.circuits) + 1
    with pytest.raises(EditRefused, match="Not everything fits"):
        move_loads(plan, [ids[n] for n in ("Pump", "Socket 1", "Socket 2")], second_id, LIBRARY)


@given(amps=st.lists(st.floats(0.1, 12.0), min_size=1, max_size=12), ways=st.integers(1, 10))
def test_whatever_the_loads_each_is_wired_once_or_told(amps: list[float], ways: int) -> None:
    plan = van(ways=ways)
    base = [d for d in plan.devices if d.kind == "fuse_block"]
    kinds = ("light", "usb", "fan", "pump", "sensor", "appliance")
    loads = tuple(
        Device(id=f"x{i}", name=f"Load {i}", kind=kinds[i % len(kinds)], surface=CEILING,
               at_mm=(600.0 + 150.0 * i, 700.0), electrical=Electrical(current_a=a))
        for i, a in enumerate(amps)
    )  # fmt: skip
    found = propose(replace(plan, devices=(*base, *loads)))
    wired = [device for group in found.groups for device in group.devices]
    told = [device for device, _ in found.left_out]
    assert sorted(wired + told) == sorted(d.id for d in loads)
    assert len({g.way for g in found.groups}) == len(found.groups) <= ways
    assert problems(found.plan) == ()


def test_without_a_way_between_them_there_is_no_length() -> None:
    plan = van()
    analysis = analyse(plan, LIBRARY, "quick")
    block, lamp = (next(d for d in plan.devices if d.name == n) for n in ("Block", "Lamp 1"))
    assert chain_and_star(analysis, block, [lamp]) == ((lamp.id,), None, None)
    assert connect(plan, block.id, None, [lamp.id], library=LIBRARY)
