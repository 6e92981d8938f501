"""Fuses through the whole engine: limits, places along the real route, both ends, breaking capacity, order of fuses.

Distances: 33 CFR 183.455(b) 7 in and 40 in in a sheath, ABYC E-11 72 in sheathed from a battery, NEC 551.10(E) 18 in
(all read). Breaking capacity of fuse families: from memory (resources/tables/fuse_interrupting.csv).
"""

import ast
import inspect
import re
from types import ModuleType

import pytest
from msgspec.structs import replace

from core.analysis.analysis import Analysis
from core.analysis.checks import electrical, fuse_places, mains, protection, systems
from core.analysis.engine import analyse
from core.analysis.fault_current import fault_current_a
from core.model import (
    Circuit,
    Device,
    Electrical,
    Plan,
    Port,
    ProfileUse,
    Protective,
    ReturnPath,
    Stop,
    Way,
    WireKind,
)
from tests.helpers.grid import LIBRARY, channel, plan

TWO_CORE = next(k for k in LIBRARY.wire_kinds if k.id == "wire-two-core")
BATTERY_CABLE = next(k for k in LIBRARY.wire_kinds if k.id == "wire-battery")


def device(name: str, kind: str, node: str, **fields) -> Device:
    electrical = fields.pop("electrical", {})
    return Device(
        id=name, name=name.capitalize(), kind=kind, surface="floor", at_mm=(100.0, 100.0), node=node, fall_mm=0.0,
        electrical=Electrical(**electrical), **fields,
    )  # fmt: skip


def stops(*names: str, way: str | None = None) -> tuple[Stop, ...]:
    """A chain: the first is the source, the last the load, those between are in series."""
    made = [Stop(id="0", device=names[0], role="source", way=way)]
    for number, name in enumerate(names[1:], 1):
        role = "load" if number == len(names) - 1 else "series"
        made.append(Stop(id=str(number), device=name, role=role, after=str(number - 1)))
    return tuple(made)


def circuit(name: str, *names: str, way: str | None = None, **fields) -> Circuit:
    return Circuit(**{"id": name, "name": name, "stops": stops(*names, way=way), **fields})


#: Nodes on a line, by their distance from the first.
SPOTS = {"a": 0.0, "b": 150.0, "c": 900.0, "d": 1_700.0, "e": 4_000.0}


def along(devices: tuple[Device, ...], circuits: tuple[Circuit, ...], kinds: tuple[WireKind, ...] = (), **way) -> Plan:
    """Devices on nodes along one line, whose stretches are as long as `SPOTS` says."""
    names = list(SPOTS)
    nodes = {n: (100.0 + i * 100.0, 100.0) for i, n in enumerate(names)}
    pairs = list(zip(names, names[1:], strict=False))
    channels = tuple(channel(f"{a}{b}", a, b, measured_mm=SPOTS[b] - SPOTS[a], **way) for a, b in pairs)
    made = plan(nodes, channels, "a", "e")
    return replace(
        made, devices=devices, circuits=circuits, wire_kinds=(*made.wire_kinds, *(kinds or (TWO_CORE, BATTERY_CABLE)))
    )


BATTERY = device("battery", "battery", "a", electrical={"short_circuit_a": 900.0, "rating_a": 200.0})
LAMP = device("lamp", "light", "e", electrical={"current_a": 5.0})
BLOCK = device(
    "block", "fuse_block", "d", electrical={"rating_a": 100.0},
    ways=(Way(id="1", largest_a=10.0), Way(id="2", largest_a=30.0)),
)  # fmt: skip


def found(analysis: Analysis, code: str) -> list:
    return [f for f in analysis.findings if f.code == code]


def codes(of: Plan) -> set[str]:
    return {f.code for f in analyse(of, LIBRARY).findings}


def inline(node: str, **fields) -> Device:
    return device("holder", "fuse", node, **fields)


# --- where it sits -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("node", "at_mm"), [("b", 150.0), ("c", 900.0), ("d", 1_700.0)])
@pytest.mark.parametrize("cable", [False, True])
def test_distance_is_measured_along_the_route(node: str, at_mm: float, cable: bool) -> None:
    """7 in bare, 72 in sheathed and straight from a battery."""
    row = circuit("C", "battery", "holder", "lamp", wire_kind=TWO_CORE.id if cable else None, as_cable=cable)
    analysis = analyse(along((BATTERY, inline(node), LAMP), (row,)), LIBRARY)
    limit = 72 * 25.4 if cable else 7 * 25.4
    errors = found(analysis, "fuse.distance")
    assert bool(errors) == (at_mm > limit)
    for error in errors:
        assert (error.value, error.limit, error.unit) == (pytest.approx(at_mm), pytest.approx(limit), "mm")
        assert "33 CFR 183.455(b)" in error.source or "ABYC" in error.source


def test_a_closed_conduit_is_a_sheath_but_not_for_a_bus_bar_as_for_a_battery() -> None:
    """40 in (1,016 mm) in a sheath or enclosure; the 72 in are for a battery's own terminal."""
    bus = device("bus", "bus_bar", "a", electrical={"rating_a": 250.0})
    feed = circuit("F", "battery", "bus", kind="feeder", protective=Protective(family="on_post"))
    row = circuit("C", "bus", "holder", "lamp")
    made = along((BATTERY, bus, inline("d"), LAMP), (feed, row), kind="closed_conduit")
    (error,) = found(analyse(made, LIBRARY), "fuse.distance")
    assert error.limit == pytest.approx(1_016.0)
    nearer = replace(made, devices=(BATTERY, bus, inline("c"), LAMP))
    assert not found(analyse(nearer, LIBRARY), "fuse.distance")


def test_eighteen_inches_of_the_recreational_vehicle() -> None:
    row = circuit("C", "battery", "lamp", protective=Protective(distance_mm=400.0))
    made = along((BATTERY, LAMP), (row,))
    assert found(analyse(made, LIBRARY), "fuse.distance")
    rv = replace(made, profile=ProfileUse(id="rv-us", version="1"))
    assert not found(analyse(rv, LIBRARY), "fuse.distance")


def test_a_fuse_that_sits_nowhere_is_asked_for() -> None:
    bus = device("bus", "bus_bar", "a")
    row = circuit("C", "bus", "lamp")
    assert "fuse.place" in codes(along((BATTERY, bus, LAMP), (row,)))
    elsewhere = replace(row, protective=Protective(device="battery"))
    (finding,) = found(analyse(along((BATTERY, bus, LAMP), (elsewhere,)), LIBRARY), "fuse.place")
    assert "no part of it" in finding.message
    block = replace(row, stops=stops("block", "lamp", way="1"))
    assert "fuse.place" not in codes(along((BATTERY, replace(BLOCK, node="a"), LAMP), (block,)))


def test_a_shunt_in_the_return_does_not_lengthen_the_feed() -> None:
    shunt = device("shunt", "shunt", "d")
    row = circuit("C", "battery", "shunt", "holder", "lamp")
    through = tuple(replace(s, poles="return") if s.device == "shunt" else s for s in row.stops)
    made = along((BATTERY, shunt, inline("b"), LAMP), (replace(row, stops=through),))
    assert not found(analyse(made, LIBRARY), "fuse.distance")


# --- two sources on one wire -------------------------------------------------------------------------------------


CHARGER = device("charger", "charger", "e", electrical={"rating_a": 20.0, "output": "dc12"})


def test_a_chargers_lead_is_fused_at_the_battery() -> None:
    lead = circuit("K", "charger", "battery", kind="battery_lead", wire_kind=BATTERY_CABLE.id)
    analysis = analyse(along((BATTERY, CHARGER), (lead,)), LIBRARY)
    (error,) = found(analysis, "fuse.both_ends")
    assert "Battery can feed this wire" in error.message
    assert not found(analysis, "fuse.distance")  # the charger's own end limits its current
    at_post = replace(lead, protective=Protective(family="on_post", device="battery"))
    assert not found(analyse(along((BATTERY, CHARGER), (at_post,)), LIBRARY), "fuse.both_ends")
    held = replace(lead, stops=stops("charger", "holder", "battery"))
    assert not found(analyse(along((BATTERY, CHARGER, inline("b")), (held,)), LIBRARY), "fuse.both_ends")
    far = along((BATTERY, CHARGER, inline("c")), (held,))
    assert found(analyse(far, LIBRARY), "fuse.both_ends")[0].value == pytest.approx(900.0)


def test_a_wire_between_two_batteries_has_a_fuse_at_each_end() -> None:
    other = device("other", "battery", "e", electrical={"short_circuit_a": 900.0})
    link = circuit("L", "battery", "other", kind="link", current_a=30.0, protective=Protective(family="on_post"))
    (error,) = found(analyse(along((BATTERY, other), (link,)), LIBRARY), "fuse.both_ends")
    assert error.value == pytest.approx(SPOTS["e"])
    assert error.remedy == "a fuse at Other as well"
    both = replace(
        link, stops=stops("battery", "holder", "other"), protective=Protective(family="on_post", device="battery")
    )
    assert not found(analyse(along((BATTERY, other, inline("e")), (both,)), LIBRARY), "fuse.both_ends")


# --- what it must not exceed -------------------------------------------------------------------------------------


def test_holder_switch_and_device_limit_the_fuse() -> None:
    switch = device("switch", "switch", "d", electrical={"rating_a": 10.0})
    lamp = replace(LAMP, electrical=Electrical(current_a=5.0, largest_fuse_a=7.5))
    row = circuit("C", "block", "switch", "lamp", way="1", protective=Protective(rating_a=15.0))
    analysis = analyse(along((BATTERY, BLOCK, switch, lamp), (row,)), LIBRARY)
    for code, limit in (("fuse.holder", 10.0), ("fuse.switch", 10.0), ("fuse.device", 7.5)):
        (finding,) = found(analysis, code)
        assert (finding.value, finding.limit, finding.unit) == (15.0, limit, "A")
        assert finding.source


def test_no_fuse_is_larger_than_the_terminal_allows() -> None:
    """A push-on terminal for 8 A behind a 10 A fuse, and without a fuse at 12 A; behind 7.5 A it is content."""
    port = Port(id="plus", role="feed", name="plus", largest_a=8.0)
    lamp = replace(LAMP, ports=(port, Port(id="minus", role="return")))

    def terminal(plan: Plan) -> list:
        return found(analyse(plan, LIBRARY), "fuse.terminal")

    row = circuit("C", "block", "lamp", way="2", protective=Protective(rating_a=10.0))
    (error,) = terminal(along((BATTERY, BLOCK, lamp), (row,)))
    assert (error.value, error.limit, error.unit) == (10.0, 8.0, "A")
    assert "plus of Lamp" in error.message
    assert not terminal(along((BATTERY, BLOCK, lamp), (replace(row, protective=Protective(rating_a=7.5)),)))
    bare = replace(row, protective=Protective(kind="none", reason="inside"))
    strong = replace(lamp, electrical=Electrical(current_a=12.0))
    (running,) = terminal(along((BATTERY, BLOCK, strong), (bare,)))
    assert (running.value, running.limit) == (12.0, 8.0)


def test_a_fuse_lets_the_peak_through_as_far_as_the_maker_allows() -> None:
    """A heater of 3 A that draws 10 A for minutes when it starts."""
    heater = replace(LAMP, electrical=Electrical(current_a=3.0, peak_a=10.0))
    row = circuit("C", "block", "lamp", way="2")
    assert analyse(along((BATTERY, BLOCK, heater), (row,)), LIBRARY).circuit_sizes["C"].fuse_a == 10.0
    careful = replace(heater, electrical=replace(heater.electrical, largest_fuse_a=5.0))
    analysis = analyse(along((BATTERY, BLOCK, careful), (row,)), LIBRARY)
    assert analysis.circuit_sizes["C"].fuse_a == 5.0
    (finding,) = found(analysis, "fuse.peak")
    assert (finding.value, finding.limit) == (5.0, 10.0)


def test_the_fuse_before_is_no_smaller_than_the_one_behind() -> None:
    feed = circuit("F", "battery", "block", kind="feeder", protective=Protective(family="blade_maxi", device="battery"))
    row = circuit("C", "block", "lamp", way="2", protective=Protective(rating_a=30.0))
    made = along((BATTERY, BLOCK, LAMP), (feed, row))
    analysis = analyse(made, LIBRARY)
    assert analysis.circuit_sizes["F"].fuse_a == 30.0  # 1.25 x 5 A alone would have been the smallest maxi, 20 A
    assert not found(analysis, "fuse.coordination")
    small = replace(feed, protective=Protective(family="blade_maxi", device="battery", rating_a=20.0))
    (error,) = found(analyse(along((BATTERY, BLOCK, LAMP), (small, row)), LIBRARY), "fuse.coordination")
    assert (error.value, error.limit, error.severity) == (30.0, 20.0, "error")
    assert set(error.subjects) == {"C", "F"}


def test_families_that_do_not_exist_do_not_fit_or_do_not_stand_the_voltage() -> None:
    row = circuit("C", "block", "lamp", way="1", protective=Protective(family="glass"))
    (unknown,) = found(analyse(along((BATTERY, BLOCK, LAMP), (row,)), LIBRARY), "fuse.family")
    assert "blade_regular" in unknown.remedy
    other = replace(row, protective=Protective(family="blade_mini"))
    assert found(analyse(along((BATTERY, BLOCK, LAMP), (other,)), LIBRARY), "fuse.family")[0].severity == "warning"
    battery = replace(BATTERY, electrical=Electrical(system="dc48", short_circuit_a=500.0))
    lamp = replace(LAMP, electrical=Electrical(system="dc48", current_a=5.0))
    high = circuit("C", "battery", "lamp", protective=Protective(device="battery"))
    (volts,) = found(analyse(along((battery, lamp), (high,)), LIBRARY), "fuse.voltage")
    assert (volts.value, volts.limit) == (48.0, 32.0)


def test_no_fuse_needs_a_reason() -> None:
    row = circuit("C", "block", "lamp", way="1", protective=Protective(kind="none"))
    assert "fuse.missing" in codes(along((BATTERY, BLOCK, LAMP), (row,)))
    why = replace(row, protective=Protective(kind="none", reason="inside the device"))
    assert "fuse.missing" not in codes(along((BATTERY, BLOCK, LAMP), (why,)))


# --- breaking ----------------------------------------------------------------------------------------------------


def test_fault_current_by_ohms_law() -> None:
    """5,000 A at 12 V are 2.4 milliohm inside; 3.4 m of 16 mm2 there and back at 20 C add 1.16 ohm/km (ISO 6722-1)."""
    strong = replace(BATTERY, electrical=Electrical(short_circuit_a=5_000.0))
    feed = circuit(
        "F",
        "battery",
        "block",
        kind="feeder",
        section_mm2=16.0,
        protective=Protective(family="class_t", rating_a=110.0),
    )
    row = circuit("C", "block", "lamp", way="2")
    analysis = analyse(along((strong, BLOCK, LAMP), (feed, row)), LIBRARY)
    amps, volts = fault_current_a(analysis, row, strong)
    assert volts == 12.0
    assert amps == pytest.approx(12 / (12 / 5_000 + 2 * 1.7 * 1.16 / 1000), rel=1e-6)
    # a second bus on the same feeder is not on the way of the short: it must not make it look weaker
    spur = replace(feed, stops=(*feed.stops, Stop(id="9", device="lamp", after=feed.stops[0].id)))
    forked = analyse(along((strong, BLOCK, LAMP), (spur, row)), LIBRARY)
    assert fault_current_a(forked, row, strong)[0] == pytest.approx(amps)
    (note,) = found(analysis, "fuse.backup")
    assert note.severity == "note"  # the class T at the battery breaks 20 kA
    assert note.limit == 1_000.0
    assert not found(analysis, "fuse.interrupting")


def test_all_batteries_of_a_bank_drive_into_a_short() -> None:
    """Two of 900 A with a link of 1.7 m of 16 mm2 there and back (1.16 ohm/km at 20 C): R = 13.3 milliohm inside each,
    2 L = 3.9 in the link, so 12 V / (R (R + 2 L) / (2 R + 2 L)) = 1,595 A; one battery alone would give 900 A. Ours is
    on the safe side of that, and never more than 1,800 A."""
    other = device("other", "battery", "d", electrical={"short_circuit_a": 900.0})
    link = circuit(
        "L", "battery", "other", kind="link", wire_kind=BATTERY_CABLE.id, section_mm2=16.0,
        protective=Protective(family="on_post", device="battery"),
    )  # fmt: skip
    row = circuit("C", "battery", "lamp", protective=Protective(family="on_post"))
    analysis = analyse(along((BATTERY, other, LAMP), (link, row)), LIBRARY)
    one, joined = 12 / 900, 2 * 1.7 * 1.16e-3
    exact = 12 / (one * (one + joined) / (2 * one + joined))
    assert exact == pytest.approx(1_595, abs=1)
    assert exact <= fault_current_a(analysis, row, BATTERY)[0] <= 1_800.0
    # behind its own fuse the link is driven by the one battery only: the other comes from the far end
    assert fault_current_a(analysis, link, BATTERY)[0] == pytest.approx(900.0)
    silent = replace(other, electrical=Electrical())
    told = found(analyse(along((BATTERY, silent, LAMP), (link, row)), LIBRARY), "battery.short_circuit")
    assert [finding.subjects for finding in told] == [("other",)]
    alone = analyse(along((BATTERY, LAMP), (row,)), LIBRARY)
    assert fault_current_a(alone, row, BATTERY)[0] == pytest.approx(900.0)


def test_a_strip_fuse_on_a_lithium_battery_cannot_break_its_short() -> None:
    strong = replace(BATTERY, electrical=Electrical(short_circuit_a=5_000.0))
    feed = circuit(
        "F", "battery", "block", kind="feeder", wire_kind=BATTERY_CABLE.id, section_mm2=50.0,
        protective=Protective(family="strip_large", device="battery"),
    )  # fmt: skip
    row = circuit("C", "block", "lamp", way="2")
    analysis = analyse(along((strong, BLOCK, LAMP), (feed, row)), LIBRARY)
    (error,) = found(analysis, "fuse.interrupting")
    assert (error.value, error.limit, error.severity) == (pytest.approx(5_000.0), 2_000.0, "error")
    assert found(analysis, "fuse.backup")[0].severity == "warning"
    silent = replace(BATTERY, electrical=Electrical())
    assert "battery.short_circuit" in codes(along((silent, BLOCK, LAMP), (feed, row)))


# --- mains and the rest ------------------------------------------------------------------------------------------


def test_mains_has_the_caution_an_rcd_and_two_poles() -> None:
    inlet = device("inlet", "shore_inlet", "a", electrical={"system": "ac230", "rating_a": 16.0})
    switch = device("switch", "switch", "c", electrical={"system": "ac230", "rating_a": 16.0})
    outlet = device("outlet", "mains_outlet", "e", electrical={"system": "ac230", "current_a": 10.0})
    mains = next(k for k in LIBRARY.wire_kinds if k.id == "wire-mains-flex")
    row = circuit(
        "M", "inlet", "switch", "outlet", group="mains", as_cable=True, wire_kind=mains.id,
        conductors=("line", "neutral", "protective_earth"),
        protective=Protective(kind="circuit_breaker", family="breaker_iec"), return_path=ReturnPath(),
    )  # fmt: skip
    made = along((inlet, switch, outlet), (row,), (mains,), groups=("mains",))
    made = replace(made, wire_kinds=tuple({k.id: k for k in made.wire_kinds}.values()))
    analysis = analyse(made, LIBRARY)
    assert analysis.circuit_sizes["M"].fuse_a == 13.0  # IEC 60898-1 preferred values (from memory): 10, 13, 16
    assert {"caution.mains", "mains.rcd", "mains.single_pole"} <= {f.code for f in analysis.findings}
    assert all(analysis.sized[w].reason for w in analysis.wires)
    rcd = replace(switch, id="switch", kind="rcd")
    both = replace(row, stops=tuple(replace(s, poles="all") if s.role == "series" else s for s in row.stops))
    good = replace(made, devices=(inlet, rcd, outlet), circuits=(both,))
    assert not {"mains.rcd", "mains.single_pole", "mains.earth"} & codes(good)


def test_bonds_are_sized_by_the_largest_fuse_that_can_feed_them() -> None:
    """A 100 A fuse on the DC side: ISO 10133 Annex A (from memory), 70 C: 16 mm2 90 A, 25 mm2 120 A."""
    earth = next(k for k in LIBRARY.wire_kinds if k.id == "wire-earth")
    inverter = device(
        "inverter", "inverter", "e", electrical={"output": "ac230", "current_a": 75.0},
        ports=(Port(id="case", role="bond"),),
    )  # fmt: skip
    lead = circuit(
        "I", "battery", "inverter", kind="battery_lead", wire_kind=BATTERY_CABLE.id,
        protective=Protective(family="on_post", rating_a=100.0),
    )  # fmt: skip
    made = along((BATTERY, inverter), (lead,), (BATTERY_CABLE, earth))
    assert "bond.missing" in codes(made)
    bond = circuit(
        "B", "inverter", "battery", kind="bond", conductors=("bond",), wire_kind=earth.id,
        protective=Protective(kind="none", reason="A bond carries no current in use."),
    )  # fmt: skip
    analysis = analyse(replace(made, circuits=(lead, bond)), LIBRARY)
    assert "bond.missing" not in {f.code for f in analysis.findings}
    assert analysis.sized["B-1B"].decided_by == "bond fuse"
    # what it carries in a fault is not less for the company it lies in, and is no less than the fuse
    told = re.search(r"feed a fault into it, (\d+) A: (\d+) A", analysis.sized["B-1B"].reason)
    assert told is not None
    assert int(told[1]) <= int(told[2])
    assert analysis.sized["B-1B"].section_mm2 == 25.0


def test_every_electrical_finding_has_a_source() -> None:
    strong = replace(BATTERY, electrical=Electrical(short_circuit_a=5_000.0))
    rows = (
        circuit("F", "battery", "block", kind="feeder", protective=Protective(family="strip_large")),
        circuit("C", "block", "lamp", way="1", protective=Protective(rating_a=40.0), section_mm2=0.5),
        circuit("K", "charger", "battery", kind="battery_lead"),
    )
    findings = analyse(along((strong, BLOCK, LAMP, CHARGER), rows), LIBRARY).findings
    electrical = [f for f in findings if f.code.split(".")[0] in ("fuse", "size", "mains", "point", "live", "battery")]
    assert len({f.code for f in electrical}) >= 6
    assert all(f.source and f.remedy for f in electrical)


@pytest.mark.parametrize("module", [electrical, fuse_places, mains, protection, systems], ids=lambda m: m.__name__)
def test_every_electrical_finding_says_value_limit_unit_source_and_remedy(module: ModuleType) -> None:
    """Read from the checks themselves, so that none is missed; a number may be unknown, but has to be thought of."""
    tree = ast.parse(inspect.getsource(module))
    made = [n for n in ast.walk(tree) if isinstance(n, ast.Call) and getattr(n.func, "id", "") == "Finding"]
    assert made
    for call in made:
        said = {word.arg: ast.unparse(word.value) for word in call.keywords}
        for field in ("value", "limit", "unit", "source", "remedy"):
            assert said.get(field, "''") not in ("''", "None"), (said["code"], field)


def test_the_family_must_fit_the_holder_that_is_named() -> None:
    holder = inline("b", ways=(Way(id="f", largest_a=300.0, fuse_family="strip_large"),))
    row = circuit("C", "battery", "holder", "lamp", protective=Protective(device="holder", family="blade_regular"))
    (warning,) = found(analyse(along((BATTERY, holder, LAMP), (row,)), LIBRARY), "fuse.family")
    assert set(warning.subjects) == {"C", "holder"}
    fits = replace(row, protective=Protective(device="holder", family="strip_large"))
    assert "fuse.family" not in codes(along((BATTERY, holder, LAMP), (fits,)))
