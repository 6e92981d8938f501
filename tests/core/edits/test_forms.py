"""Forms of circuits: chains and stars, two-way switching with its travellers, spares, data and antenna runs."""

import pytest
from msgspec.structs import replace

from core.analysis.engine import analyse
from core.edits.channels import draw_channel
from core.edits.circuits import add_load, connect
from core.edits.devices import connect_to_nearest, place_device
from core.edits.forms import (
    add_intermediate,
    add_spares,
    daisy_chain,
    run_antenna,
    run_data,
    star,
    switch_two_way,
)
from core.files.library import load_library
from core.model import Device, Electrical, Plan, find
from tests.core.edits.checks import refused, sound
from tests.helpers.vans import by_name, shell

LIBRARY = load_library()


def _van() -> Plan:
    """A straight channel along the floor at y = 500 from x = 100 to 2,900, devices on it."""
    plan, _ = draw_channel(shell(), ((100.0, 500.0), (2_900.0, 500.0)), "s1")
    for name, kind, x, system, amps in (
        ("Block", "fuse_block", 200.0, "dc12", None),
        ("Door switch", "switch", 1_000.0, "dc12", None),
        ("Bed switch", "switch", 2_000.0, "dc12", None),
        ("Middle switch", "switch", 1_500.0, "dc12", None),
        ("Lamp", "light", 2_500.0, "dc12", 2.0),
        ("Lamp two", "light", 2_700.0, "dc12", 2.0),
        ("Lamp three", "light", 2_600.0, "dc12", 2.0),
        ("Gauge", "sensor", 800.0, "signal", None),
        ("Screen", "other", 2_200.0, "signal", None),
        ("Aerial", "antenna", 300.0, "signal", None),
    ):
        data = Electrical(system=system, current_a=amps)
        device = Device(id="new", name=name, kind=kind, surface="s1", at_mm=(x, 500.0), electrical=data)
        plan, device_id = place_device(plan, device, "s1", (x, 500.0))
        plan, _ = connect_to_nearest(plan, device_id)
    return plan


VAN = _van()
ID = {device.name: device.id for device in VAN.devices}
LAMP, LAMP_ID = connect(VAN, ID["Block"], None, [ID["Lamp"]], library=LIBRARY)


def test_two_way_switching_has_two_travellers_between_its_switches() -> None:
    """Three legs: block to door 800 mm, door to bed 1,000 mm, bed to lamp 500 mm; the return 2,300 mm. Two wires in
    the middle leg, one in each other: 5 conductors of 800 + 2 x 1,000 + 500 + 2,300 = 5,600 mm."""
    plan = sound(LAMP, switch_two_way(LAMP, LAMP_ID, ID["Door switch"], ID["Bed switch"]), "circuits")
    analysis = analyse(plan, LIBRARY)
    assert len(analysis.wires) == 5
    assert sum(route.route_mm for route in analysis.routes.values()) == pytest.approx(5_600)
    travellers = [w for w in analysis.wires.values() if w.from_.device == ID["Door switch"]]
    assert [w.id.rpartition("-")[2] for w in travellers] == ["2S", "2S2"] or len(travellers) == 2
    assert {w.lead for w in travellers} == {travellers[0].id}


def test_one_traveller_carries_at_a_time() -> None:
    """The drop is that of the single-switched circuit over the same way: 2,300 mm there and back, 2 A."""
    plan = switch_two_way(LAMP, LAMP_ID, ID["Door switch"], ID["Bed switch"])
    two, one = analyse(plan, LIBRARY), analyse(LAMP, LIBRARY)
    size, was = two.circuit_sizes[LAMP_ID], one.circuit_sizes[LAMP_ID]
    assert size.one_way_mm == pytest.approx(was.one_way_mm)
    assert size.there_and_back_mm == pytest.approx(4_600)
    assert size.drops[0][1] == pytest.approx(was.drops[0][1])


def test_a_drag_counts_a_traveller_once_too() -> None:
    from core.analysis.engine import Analyser
    from core.edits.devices import move_device

    plan = switch_two_way(LAMP, LAMP_ID, ID["Door switch"], ID["Bed switch"])
    analyser = Analyser(LIBRARY)
    held = analyser.analyse(plan)
    moved = move_device(plan, ID["Bed switch"], "s1", (2_000.0, 700.0))
    guess, full = analyser.estimate(moved, held), analyse(moved, LIBRARY)
    assert guess.circuit_sizes[LAMP_ID].drops[0][1] == pytest.approx(full.circuit_sizes[LAMP_ID].drops[0][1], rel=1e-3)
    assert guess.circuit_sizes[LAMP_ID].one_way_mm == pytest.approx(full.circuit_sizes[LAMP_ID].one_way_mm)


def test_an_intermediate_switch_stands_between_two_pairs() -> None:
    """500 mm + 500 mm of pairs where there was one pair of 1,000 mm: as much wire, two pieces more."""
    plan = switch_two_way(LAMP, LAMP_ID, ID["Door switch"], ID["Bed switch"])
    more = sound(plan, add_intermediate(plan, LAMP_ID, ID["Middle switch"]), "circuits")
    analysis = analyse(more, LIBRARY)
    assert len(analysis.wires) == 7
    assert sum(route.route_mm for route in analysis.routes.values()) == pytest.approx(5_600)
    refused(add_intermediate, LAMP, LAMP_ID, ID["Middle switch"], says="not switched from two places")
    refused(add_intermediate, more, LAMP_ID, ID["Lamp two"], says="no switch")


def test_a_cable_needs_a_core_for_the_second_traveller() -> None:
    two_core = next(k for k in LIBRARY.wire_kinds if k.group == "dc_power" and k.cores == 2)
    plan = switch_two_way(LAMP, LAMP_ID, ID["Door switch"], ID["Bed switch"])
    plan = replace(plan, wire_kinds=(*plan.wire_kinds, two_core), circuits=tuple(
        replace(c, wire_kind=two_core.id, as_cable=True) for c in plan.circuits))  # fmt: skip
    assert "cable.cores" in {f.code for f in analyse(plan, LIBRARY).findings}


def test_two_way_switching_wants_two_switches() -> None:
    refused(switch_two_way, LAMP, LAMP_ID, ID["Door switch"], ID["Door switch"], says="two switches")
    refused(switch_two_way, LAMP, LAMP_ID, ID["Door switch"], ID["Lamp two"], says="is no switch")


def _three() -> tuple[Plan, str]:
    return connect(VAN, ID["Block"], None, [ID["Lamp"], ID["Lamp two"], ID["Lamp three"]], library=LIBRARY)


def test_a_chain_in_another_order_and_a_star() -> None:
    """Lamps at 2,500, 2,700 and 2,600, the block at 200. Chain in the order placed 2,300 + 200 + 100 = 2,600; in the
    order of their places 2,300 + 100 + 100 = 2,500; as a star 2,300 + 2,500 + 2,400 = 7,200 mm, one way."""
    plan, circuit_id = _three()

    def one_way(of: Plan) -> float:
        analysis = analyse(of, LIBRARY)
        return sum(analysis.routes[w.id].route_mm or 0.0 for w in analysis.wires.values() if w.role == "feed")

    assert one_way(plan) == pytest.approx(2_600)
    ordered = daisy_chain(plan, circuit_id, [ID["Lamp"], ID["Lamp three"], ID["Lamp two"]])
    assert one_way(sound(plan, ordered, "circuits")) == pytest.approx(2_500)
    rays = sound(plan, star(plan, circuit_id), "circuits")
    assert one_way(rays) == pytest.approx(7_200)
    assert daisy_chain(rays, circuit_id) == plan
    refused(daisy_chain, plan, circuit_id, [ID["Lamp"]], says="each of its loads once")


def test_a_star_behind_its_switch_keeps_the_switch_in_front() -> None:
    plan, circuit_id = connect(VAN, ID["Block"], None, [ID["Door switch"], ID["Lamp"], ID["Lamp two"]], library=LIBRARY)
    stops = find(star(plan, circuit_id), "circuits", circuit_id).stops
    assert [(s.device, s.after) for s in stops[1:]] == [
        (ID["Door switch"], "0"), (ID["Lamp"], "1"), (ID["Lamp two"], "1"),
    ]  # fmt: skip


def test_parts_between_loads_are_left_alone() -> None:
    plan, circuit_id = _three()
    plan, _ = add_load(plan, circuit_id, ID["Door switch"], role="series")
    refused(star, plan, circuit_id, says="wire by wire")


def test_spare_wires_are_counted_and_connected_to_nothing() -> None:
    plan, circuit_id = add_spares(VAN, ID["Block"], ID["Lamp"], 2, LIBRARY)
    sound(VAN, plan, "circuits")
    analysis = analyse(plan, LIBRARY)
    assert [w.role for w in analysis.wires.values()] == ["spare", "spare"]
    assert analysis.loads[circuit_id].current_a == 0.0
    refused(add_spares, VAN, ID["Block"], ID["Lamp"], 0, LIBRARY, says="1 to 24")
    refused(add_spares, VAN, ID["Block"], ID["Block"], 1, LIBRARY, says="another end")
    refused(add_spares, VAN, ID["Block"], ID["Lamp"], 1, LIBRARY, 0.123, says="is not made with 0.123")


def test_data_over_a_network_cable_uses_all_its_cores() -> None:
    """A network cable has four pairs."""
    plan, circuit_id = run_data(VAN, ID["Gauge"], [ID["Screen"]], LIBRARY, "wire-network")
    circuit = find(plan, "circuits", circuit_id)
    assert circuit.conductors == ("data",) * 8
    assert circuit.as_cable
    analysis = analyse(plan, LIBRARY)
    assert len(analysis.pieces) == 1
    assert analysis.circuit_sizes[circuit_id].one_way_mm == pytest.approx(1_400)
    refused(run_data, VAN, ID["Gauge"], [ID["Screen"]], LIBRARY, "wire-coax-50", says="no kind of wire")


def test_an_antenna_lead_is_one_coax() -> None:
    plan, circuit_id = run_antenna(VAN, ID["Aerial"], ID["Screen"], LIBRARY, "wire-coax-50")
    circuit = find(plan, "circuits", circuit_id)
    assert (circuit.conductors, circuit.group, circuit.protective.kind) == (("antenna",), "antenna", "none")
    assert len(analyse(plan, LIBRARY).pieces) == 1
    assert by_name(plan, "devices", "Aerial") == ID["Aerial"]
