"""A device connected to a source becomes a circuit that a converter would expect."""

import msgspec

from core.edits.change import replaced
from core.edits.circuits import (
    add_load,
    add_switch,
    connect,
    free_ways,
    remove_stop,
    set_protective,
    set_section,
    set_way,
)
from core.edits.devices import place_device
from core.edits.kinds import use_kind
from core.edits.start import new_plan
from core.electrical.protection import families
from core.files.library import load_library
from core.model import Device, Electrical, Plan, Way, find
from core.model.devices import DeviceKind, System
from tests.core.edits.checks import refused, sound
from tests.helpers.vans import shell

LIBRARY = load_library()
WAYS = (
    Way(id="1", largest_a=10.0, fuse_family="blade_regular"),
    Way(id="2", largest_a=30.0, fuse_family="blade_regular"),
    Way(id="3", largest_a=10.0, fuse_family="blade_regular"),
)


def _device(name: str, kind: DeviceKind, system: System = "dc12", watt: float | None = None, **more: object) -> Device:
    data = Electrical(system=system, power_w=watt)
    return Device(id=name, name=name, kind=kind, surface="s1", at_mm=(500.0, 500.0), electrical=data, **more)


def _van() -> Plan:
    plan = shell()
    for device in (
        _device("Battery", "battery"),
        _device("Fuse block", "fuse_block", ways=WAYS),
        _device("Breakers", "panelboard", "ac230", ways=(Way(id="a", largest_a=16.0, fuse_family="breaker"),)),
        _device("Inverter", "inverter"),
        _device("Panel", "solar", "solar"),
        _device("Regulator", "charger"),
        _device("Light", "light", watt=6.0),
        _device("Light aft", "light", watt=6.0),
        _device("Heater", "heater", watt=240.0),
        _device("Switch", "switch"),
        _device("Kettle", "appliance", "ac230", 900.0),
        _device("Aerial", "antenna", "signal"),
        _device("Radio", "other"),
        _device("Sensor", "sensor", "signal"),
    ):
        plan, _ = place_device(plan, device, "s1", (500.0, 500.0))
    return plan


VAN = _van()
ID = {device.name: device.id for device in VAN.devices}


def test_a_light_on_a_fuse_block() -> None:
    plan, circuit_id = connect(VAN, ID["Fuse block"], None, (ID["Light"],), library=LIBRARY)
    sound(VAN, plan, "circuits")
    circuit = find(plan, "circuits", circuit_id)
    assert circuit.name == "Light"
    assert circuit.kind == "branch"
    assert circuit.group == "dc_power"
    assert circuit.conductors == ("feed", "return")
    assert [(stop.device, stop.way, stop.role, stop.after) for stop in circuit.stops] == [
        (ID["Fuse block"], "1", "source", None),
        (ID["Light"], None, "load", "0"),
    ]
    assert circuit.protective.family == "blade_regular"
    assert find(plan, "wire_kinds", plan.assumptions.wire_kind).group == "dc_power"


def test_a_heavy_load_takes_a_way_that_can_carry_it() -> None:
    plan, circuit = connect(VAN, ID["Fuse block"], None, (ID["Heater"],))
    assert find(plan, "circuits", circuit).stops[0].way == "2"  # 240 W at 12 V are 20 A


def test_ways_run_out() -> None:
    plan = VAN
    for name in ("Light", "Light aft", "Heater"):
        plan, _ = connect(plan, ID["Fuse block"], None, (ID[name],))
    assert free_ways(plan, ID["Fuse block"]) == ()
    refused(
        connect, plan, ID["Fuse block"], None, (ID["Radio"],), says="“Fuse block” has no free way: all 3 are in use"
    )
    refused(connect, plan, ID["Fuse block"], "1", (ID["Radio"],), says="feeds “Light” already")
    refused(connect, plan, ID["Fuse block"], "9", (ID["Radio"],), says="“Fuse block” has no way 9")


def test_mains_is_one_cable_of_three_cores() -> None:
    plan, circuit_id = connect(VAN, ID["Breakers"], None, (ID["Kettle"],))
    circuit = find(plan, "circuits", circuit_id)
    assert circuit.group == "mains"
    assert circuit.conductors == ("line", "neutral", "protective_earth")
    assert circuit.as_cable
    assert circuit.protective.kind == "circuit_breaker"
    assert find(plan, "wire_kinds", plan.assumptions.mains_kind).cores == 3


def test_other_ends_make_other_circuits() -> None:
    def made(source: str, *loads: str) -> tuple[str, str, tuple[str, ...], str]:
        plan, circuit_id = connect(VAN, ID[source], None, [ID[load] for load in loads])
        sound(VAN, plan, "circuits")
        circuit = find(plan, "circuits", circuit_id)
        return circuit.kind, circuit.group, circuit.conductors, circuit.protective.kind

    assert made("Battery", "Fuse block") == ("feeder", "dc_power", ("feed", "return"), "fuse")
    assert made("Battery", "Inverter") == ("battery_lead", "dc_power", ("feed", "return"), "fuse")
    assert made("Inverter", "Kettle")[1] == "mains"
    assert made("Inverter", "Breakers")[:2] == ("feeder", "mains")
    assert made("Panel", "Regulator") == ("solar_string", "dc_power", ("feed", "return"), "none")
    assert made("Regulator", "Battery")[:2] == ("battery_lead", "dc_power")
    assert made("Fuse block", "Aerial")[:3] == ("antenna", "antenna", ("antenna",))
    assert made("Sensor", "Regulator")[1] == "signal"
    assert made("Aerial", "Radio")[:2] == ("antenna", "antenna")


def test_a_bond_joins_any_two_devices_and_needs_no_way() -> None:
    plan, circuit_id = connect(VAN, ID["Breakers"], None, (ID["Fuse block"],), "Mains earth to chassis", kind="bond")
    sound(VAN, plan, "circuits")
    circuit = find(plan, "circuits", circuit_id)
    assert circuit.conductors == ("bond",)
    assert circuit.stops[0].way is None
    assert circuit.protective.kind == "none"
    assert circuit.protective.reason
    refused(connect, VAN, ID["Breakers"], None, (), kind="bond", says="needs another end")


def test_a_daisy_chain_follows_the_order_and_a_switch_lies_in_series() -> None:
    plan, circuit_id = connect(VAN, ID["Fuse block"], None, (ID["Switch"], ID["Light"], ID["Light aft"]))
    circuit = find(plan, "circuits", circuit_id)
    assert [(stop.role, stop.after) for stop in circuit.stops] == [
        ("source", None),
        ("series", "0"),
        ("load", "1"),
        ("load", "2"),
    ]
    assert circuit.name == "Light and 1 more"


def test_circuits_that_make_no_sense_are_refused() -> None:
    refused(connect, VAN, ID["Light"], None, (ID["Heater"],), says="“Light” cannot feed a circuit")
    refused(connect, VAN, ID["Fuse block"], None, (), says="needs something to feed")
    refused(connect, VAN, ID["Fuse block"], None, (ID["Fuse block"],), says="cannot feed itself")
    refused(connect, VAN, ID["Fuse block"], None, (ID["Light"], ID["Light"]), says="in the circuit twice")
    refused(
        connect,
        VAN,
        ID["Fuse block"],
        None,
        (ID["Kettle"],),
        says="“Kettle” needs 230 V mains; “Fuse block” gives 12 V",
    )
    refused(connect, VAN, ID["Inverter"], None, (ID["Kettle"], ID["Light"]), says="one circuit cannot feed both")
    refused(connect, VAN, ID["Inverter"], None, (ID["Light"],), says="“Light” needs 12 V DC; “Inverter” gives mains")
    refused(connect, VAN, ID["Regulator"], None, (ID["Kettle"],), says="“Regulator” gives direct current")
    refused(connect, VAN, ID["Fuse block"], None, ("d99",), says="no device d99")


def test_the_wire_kind_is_copied_from_the_library_when_the_plan_has_none() -> None:
    bare = replaced(VAN, wire_kinds=(), assumptions=replaced(VAN.assumptions, wire_kind=None))
    bare = replaced(bare, assumptions=replaced(bare.assumptions, mains_kind=None, signal_kind=None, antenna_kind=None))
    plan, _ = connect(bare, ID["Fuse block"], None, (ID["Light"],), library=LIBRARY)
    sound(bare, plan, "circuits", "wire_kinds")
    assert [kind.id for kind in plan.wire_kinds] == [plan.assumptions.wire_kind]
    refused(connect, bare, ID["Fuse block"], None, (ID["Light"],), says="no kind of wire for DC power")


def test_a_copy_the_plan_holds_is_not_changed_by_the_library() -> None:
    kind = next(kind for kind in LIBRARY.wire_kinds if kind.id == VAN.assumptions.wire_kind)
    newer = msgspec.structs.replace(kind, insulation_c=kind.insulation_c + 20)
    assert use_kind(VAN, newer) is VAN


def _circuit() -> tuple[Plan, str]:
    return connect(VAN, ID["Fuse block"], "1", (ID["Light"], ID["Light aft"]))


def test_loads_and_switches_are_added_and_removed() -> None:
    before, circuit_id = _circuit()
    plan, stop = add_load(before, circuit_id, ID["Radio"], after_stop="1")
    sound(before, plan, "circuits")
    assert find(plan, "circuits", circuit_id).stops[-1].after == "1"
    plan, switch = add_switch(plan, circuit_id, ID["Switch"])
    sound(before, plan, "circuits")
    stops = find(plan, "circuits", circuit_id).stops
    assert [(each.id, each.after) for each in stops] == [
        ("0", None),
        (switch, "0"),
        ("1", switch),
        ("2", "1"),
        (stop, "1"),
    ]
    assert stops[1].poles == "feed"
    plan = sound(before, remove_stop(plan, circuit_id, "1"), "circuits")
    assert [(each.id, each.after) for each in find(plan, "circuits", circuit_id).stops] == [
        ("0", None),
        (switch, "0"),
        ("2", switch),
        (stop, switch),
    ]
    refused(add_load, before, circuit_id, ID["Light"], says="“Light” is in circuit “Light and 1 more” already")
    refused(add_load, before, circuit_id, ID["Kettle"], says="cannot feed both")
    refused(add_load, before, circuit_id, ID["Radio"], after_stop="9", says="has no stop 9")
    refused(add_switch, before, circuit_id, ID["Switch"], before_stop="0", says="before the source")
    refused(remove_stop, before, circuit_id, "0", says="cannot lose its source")
    single, one = connect(VAN, ID["Fuse block"], None, (ID["Light"],))
    refused(remove_stop, single, one, "1", says="would feed nothing")


def test_a_switch_on_mains_breaks_every_pole() -> None:
    plan, circuit_id = connect(VAN, ID["Breakers"], None, (ID["Kettle"],))
    plan, _ = add_switch(plan, circuit_id, ID["Switch"])
    assert find(plan, "circuits", circuit_id).stops[1].poles == "all"


def test_a_circuit_moves_to_another_way() -> None:
    before, circuit_id = _circuit()
    before, _ = connect(before, ID["Fuse block"], "3", (ID["Radio"],))
    plan = sound(before, set_way(before, circuit_id, ID["Fuse block"], "2"), "circuits")
    assert find(plan, "circuits", circuit_id).stops[0].way == "2"
    assert set_way(before, circuit_id, ID["Fuse block"], "1") is before
    refused(set_way, before, circuit_id, ID["Fuse block"], "3", says="feeds “Radio” already")
    refused(set_way, before, circuit_id, ID["Breakers"], None, says="needs 12 V DC")


def test_protection_and_section_are_chosen() -> None:
    before, circuit_id = _circuit()
    plan = sound(before, set_protective(before, circuit_id, rating_a=7.5), "circuits")
    assert find(plan, "circuits", circuit_id).protective.rating_a == 7.5
    refused(set_protective, before, circuit_id, kind="none", says="only with a reason")
    refused(set_protective, before, circuit_id, rating_a=-1.0, says="rating a")
    refused(set_protective, before, circuit_id, device="d99", says="no device d99")
    kind = find(before, "wire_kinds", before.assumptions.wire_kind)
    chosen = kind.sizes[2].section_mm2
    plan = sound(before, set_section(before, circuit_id, chosen), "circuits")
    assert find(plan, "circuits", circuit_id).section_mm2 == chosen
    assert find(set_section(plan, circuit_id, None), "circuits", circuit_id) == find(before, "circuits", circuit_id)
    refused(set_section, before, circuit_id, 3.333, says="is not made with 3.333 mm²")


def test_every_new_circuit_gets_a_family_of_fuses_that_there_is() -> None:
    """Also from a charger or an inverter, which have no ways that say it."""
    for source in ("Battery", "Regulator", "Fuse block"):
        for load in ("Heater", "Light", "Battery"):
            if source != load:
                plan, circuit_id = connect(VAN, ID[source], None, (ID[load],))
                assert find(plan, "circuits", circuit_id).protective.family in families(), (source, load)


def test_a_new_plan_holds_copies_of_the_usual_kinds() -> None:
    for profile in LIBRARY.profiles:
        plan = sound(shell(), new_plan(LIBRARY, "Weekender", profile.id), *_all_new())
        assert plan.profile.id == profile.id
        assert plan.profile.version == profile.version
        assert {kind.id for kind in plan.wire_kinds} >= {plan.assumptions.wire_kind, plan.assumptions.mains_kind}
        assert plan.assumptions.wrap in {style.id for style in plan.wrap_styles}
    refused(new_plan, LIBRARY, "Weekender", "no-such", says="no profile 'no-such'")


def _all_new() -> tuple[str, ...]:
    return ("surfaces", "seams", "wire_kinds", "tape_kinds", "wrap_styles", "conduit_kinds", "grommet_kinds")
