"""Conductors of a circuit and the currents in them, on plans of a few records."""

import pytest

from core.analysis.loads import circuit_loads, own_draw
from core.analysis.wires import derive
from core.model import Assumptions, Circuit, Device, Electrical, ReturnPath, Stop, WireKind, WireSize
from core.tables.names import Names
from tests.helpers.samples import sample

KIND = WireKind(
    id="k",
    name="wire",
    insulation_c=105,
    sizes=(WireSize(section_mm2=1.5, od_mm=2.4, r20_ohm_per_km=12.7, mass_g_per_m=18),),
    source="test",
    known="memory",
)
PLAN_WIDE = Assumptions(wire_kind="k", mains_kind="k")


def device(name: str, kind: str = "light", **electrical) -> Device:
    return Device(id=name, name=name, kind=kind, surface="s", at_mm=(0.0, 0.0), electrical=Electrical(**electrical))


def circuit(*stops: Stop, **fields) -> Circuit:
    return Circuit(id="C", name="C", stops=stops, **fields)


def source(name: str = "block") -> Stop:
    return Stop(id="0", device=name, role="source")


def wires(of: Circuit, *devices: Device):
    return derive((of,), devices, (), (KIND,), PLAN_WIDE)


def ends(found) -> dict[str, tuple[str, str]]:
    return {wire.id: (wire.from_.device, wire.to.device) for wire in found.values()}


def test_a_single_pole_switch_breaks_the_feed_only() -> None:
    row = circuit(
        source(),
        Stop(id="1", device="switch", role="series", after="0"),
        Stop(id="2", device="lamp", after="1"),
    )
    found = wires(row, device("block", "fuse_block"), device("switch", "switch"), device("lamp"))
    assert ends(found) == {"C-1F": ("block", "switch"), "C-2S": ("switch", "lamp"), "C-2R": ("lamp", "block")}
    assert found["C-2S"].role == "switched"
    assert found["C-2R"].lead == "C-2R"  # the return need not go by the switch


def test_an_all_pole_part_breaks_every_conductor_and_earth_goes_everywhere() -> None:
    row = circuit(
        source(),
        Stop(id="1", device="rcd", role="series", poles="all", after="0"),
        Stop(id="2", device="outlet", after="1"),
        group="mains",
        conductors=("line", "neutral", "protective_earth"),
    )
    found = wires(row, device("block", "shore_inlet"), device("rcd", "rcd"), device("outlet"))
    assert ends(found)["C-1N"] == ("rcd", "block")
    assert ends(found)["C-2N"] == ("outlet", "rcd")
    assert ends(found)["C-2E"] == ("outlet", "rcd")


def test_each_leg_of_a_daisy_chain_is_a_wire_with_its_own_current() -> None:
    row = circuit(source(), Stop(id="1", device="a", after="0"), Stop(id="2", device="b", after="1"))
    devices = (device("block", "fuse_block"), device("a", current_a=2.0), device("b", current_a=3.0))
    assert ends(wires(row, *devices)) == {
        "C-1F": ("block", "a"),
        "C-1R": ("a", "block"),
        "C-2F": ("a", "b"),
        "C-2R": ("b", "a"),
    }
    load = circuit_loads((row,), devices)["C"]
    assert {stop: amps for stop, amps, _ in load.legs} == {"1": 5.0, "2": 3.0}
    assert load.current_a == 5.0


def test_the_chassis_as_return_has_no_return_wire() -> None:
    row = circuit(source(), Stop(id="1", device="a", after="0"), return_path=ReturnPath(kind="chassis"))
    assert set(ends(wires(row, device("block", "fuse_block"), device("a")))) == {"C-1F"}


def test_the_return_goes_to_the_bus_that_is_named() -> None:
    row = circuit(source(), Stop(id="1", device="a", after="0"), return_path=ReturnPath(device="bus"))
    found = wires(row, device("block", "fuse_block"), device("a"), device("bus", "bus_bar"))
    assert ends(found)["C-1R"] == ("a", "bus")


def test_constant_power_is_counted_at_the_lowest_working_voltage() -> None:
    """P / (efficiency x lowest voltage); a resistive load at its nominal voltage (Ohm's law)."""
    row = circuit(source(), Stop(id="1", device="a", after="0"))
    block = device("block", "fuse_block")
    constant = circuit_loads((row,), (block, device("a", power_w=60.0, efficiency=0.8, lowest_v=10.0)))["C"]
    assert constant.current_a == pytest.approx(60 / 0.8 / 10)
    heater = circuit_loads((row,), (block, device("a", power_w=60.0, resistive=True, lowest_v=10.0)))["C"]
    assert heater.current_a == pytest.approx(60 / 12)


def test_a_feeder_carries_what_runs_together_and_the_largest_single_peak() -> None:
    feed = Circuit(id="F", name="F", kind="feeder", stops=(source("battery"), Stop(id="1", device="block", after="0")))
    one = Circuit(id="A", name="A", stops=(source(), Stop(id="1", device="a", after="0")))
    two = Circuit(id="B", name="B", stops=(source(), Stop(id="1", device="b", after="0")))
    devices = (
        device("battery", "battery"),
        device("block", "fuse_block"),
        device("a", current_a=4.0, peak_a=9.0, duty=0.5),
        device("b", current_a=3.0, peak_a=4.0),
    )
    loads = circuit_loads((feed, one, two), devices)
    assert loads["A"].current_a == 4.0
    assert loads["A"].peak_a == 9.0
    # on the average 0.5 x 4 + 3 A, and the largest single one whole
    assert loads["F"].diverse_a == pytest.approx(0.5 * 4 + 3)
    assert loads["F"].current_a == pytest.approx(4 + 3)
    assert loads["F"].peak_a == pytest.approx(5 + (9 - 2))
    assert loads["A"].upstream == ("F",)


def test_an_inverter_asks_for_the_power_behind_it() -> None:
    lead = Circuit(
        id="L", name="L", kind="battery_lead", stops=(source("battery"), Stop(id="1", device="inv", after="0"))
    )
    mains = Circuit(id="M", name="M", group="mains", stops=(source("inv"), Stop(id="1", device="kettle", after="0")))
    devices = (
        device("battery", "battery"),
        device("inv", "inverter", efficiency=0.9, lowest_v=11.0),
        device("kettle", system="ac230", power_w=990.0, resistive=True),
    )
    loads = circuit_loads((lead, mains), devices)
    assert loads["M"].current_a == pytest.approx(990 / 230)
    assert loads["L"].current_a == pytest.approx(990 / 0.9 / 11)
    assert loads["L"].base_v == 12
    assert loads["M"].base_v == 230


def test_an_inverter_draws_for_itself_while_nothing_hangs_on_it() -> None:
    """Idle draw comes on top of what it passes on, and is what a load draws when its duty lets it rest."""
    lead = Circuit(
        id="L", name="L", kind="battery_lead", stops=(source("battery"), Stop(id="1", device="inv", after="0"))
    )
    mains = Circuit(id="M", name="M", group="mains", stops=(source("inv"), Stop(id="1", device="kettle", after="0")))
    inverter = device("inv", "inverter", efficiency=0.9, lowest_v=11.0, idle_a=1.5)
    kettle = device("kettle", system="ac230", power_w=990.0, resistive=True)
    alone = circuit_loads((lead,), (device("battery", "battery"), inverter))
    assert alone["L"].current_a == alone["L"].diverse_a == 1.5
    loads = circuit_loads((lead, mains), (device("battery", "battery"), inverter, kettle))
    assert loads["L"].current_a == pytest.approx(990 / 0.9 / 11 + 1.5)
    # stated power has the standby in it: 2,000 W for a third of the time, 1.5 A for the rest
    stated = own_draw(device("inv", "inverter", power_w=2_000.0, efficiency=0.9, lowest_v=11.0, idle_a=1.5, duty=1 / 3))
    whole = 2_000 / 0.9 / 11
    assert stated.running_a == pytest.approx(whole)
    assert stated.diverse_a == pytest.approx(whole / 3 + 1.5 * 2 / 3)


def test_a_charger_pushes_its_rating_and_a_ring_ends() -> None:
    charge = Circuit(id="K", name="K", stops=(source("charger"), Stop(id="1", device="battery", after="0")))
    ring = Circuit(id="R", name="R", stops=(source("x"), Stop(id="1", device="y", after="0")))
    back = Circuit(id="S", name="S", stops=(source("y"), Stop(id="1", device="x", after="0")))
    devices = (
        device("charger", "charger", rating_a=30.0),
        device("battery", "battery"),
        device("x", "bus_bar", current_a=1.0),
        device("y", "bus_bar", current_a=1.0),
    )
    loads = circuit_loads((charge, ring, back), devices)
    assert loads["K"].current_a == 30.0
    assert loads["R"].current_a >= 1.0
    assert loads["S"].current_a >= 1.0


def test_a_shunt_lies_in_the_return_and_a_fuse_in_the_feed() -> None:
    row = circuit(
        source("battery"),
        Stop(id="1", device="fuse", role="series", after="0"),
        Stop(id="2", device="shunt", role="series", poles="return", after="1"),
        Stop(id="3", device="bus", after="2"),
        kind="feeder",
    )
    devices = (device("battery", "battery"), device("fuse", "fuse"), device("shunt", "shunt"), device("bus", "bus_bar"))
    assert ends(wires(row, *devices)) == {
        "C-1F": ("battery", "fuse"),
        "C-2R": ("shunt", "battery"),
        "C-3F": ("fuse", "bus"),
        "C-3R": ("bus", "shunt"),
    }


def test_a_return_carries_what_else_comes_home_on_its_bus() -> None:
    """Kirchhoff: an inverter fed from the battery's post with its minus on the bus loads the bus's own return."""
    feed = Circuit(id="F", name="F", kind="feeder", stops=(source("battery"), Stop(id="1", device="bus", after="0")))
    lead = Circuit(
        id="I",
        name="I",
        kind="battery_lead",
        stops=(source("battery"), Stop(id="1", device="inverter", after="0")),
        return_path=ReturnPath(device="bus"),
    )
    lamp = Circuit(id="L", name="L", stops=(source("bus"), Stop(id="1", device="lamp", after="0")))
    devices = (
        device("battery", "battery"),
        device("bus", "bus_bar"),
        device("inverter", "inverter", current_a=200.0),
        device("lamp", current_a=20.0),
    )
    loads = circuit_loads((feed, lead, lamp), devices)
    assert loads["F"].legs == (("1", 20.0, 20.0),)
    assert loads["F"].returns == (("1", 220.0, 220.0),)
    assert loads["L"].returns == () == loads["I"].returns


# --- which terminal of a device ----------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["weekend-camper", "long-van"])
def test_both_lugs_of_a_fuse_a_switch_or_a_shunt_are_not_on_one_stud(name: str) -> None:
    """Trade: what is passed has a side to the source and a side to the load; on one stud a fuse would be bridged."""
    made = sample(name)
    passed = {stop.device for circuit in made.plan.circuits for stop in circuit.stops if stop.role == "series"}
    checked = 0
    for device in (device for device in made.plan.devices if device.id in passed):
        ends: dict[str | None, set[str]] = {}
        for wire in made.wires.values():
            for end in (wire.from_, wire.to):
                if end.device == device.id and wire.role in ("feed", "switched", "return"):
                    ends.setdefault(end.port, set()).add(wire.id)
        if device.kind in ("fuse", "switch", "shunt"):
            assert len(ends) >= 2, f"{device.name}: {ends}"
            checked += 1
    assert checked >= 6


def test_what_converts_gives_at_its_output() -> None:
    """Mains go into an inverter/charger by its input and out by its output; a charger's solar side is apart."""
    made = sample("long-van")
    names = Names(made.plan)
    told = {names.end(wire.from_) for wire in made.wires.values()} | {
        names.end(wire.to) for wire in made.wires.values()
    }
    for inlet, outlet in (("line-in", "line-out"), ("neutral-in", "neutral-out"), ("earth-in", "earth-out")):
        assert f"Inverter/charger, {inlet}" in told
        assert f"Inverter/charger, {outlet}" in told
    of = {names.end(wire.from_): wire for wire in made.wires.values()}
    assert of["Alternator charger, out"].circuit != of["Vehicle battery (starter), plus"].circuit
    bus = [w for w in made.wires.values() if names.end(w.from_) == "Charge controller, out"]
    assert bus
    returned = next(w for w in made.wires.values() if w.circuit == bus[0].circuit and w.role == "return")
    assert names.end(returned.to) == "Charge controller, minus"
