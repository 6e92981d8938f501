"""The distribution tree through the whole engine: voltages, meshes by hand, what nothing feeds, always-live ones."""

import pytest
from msgspec.structs import replace

from core.analysis.engine import analyse
from core.analysis.sizing_sheet import sizing_sheets
from core.files.codec import decode, encode
from core.model import AsPulled, Box, Circuit, Device, EarthPoint, Electrical, Plan, Port, Protective, ReturnPath
from tests.core.analysis.test_electrical_fuses import (
    BATTERY,
    BATTERY_CABLE,
    BLOCK,
    LAMP,
    along,
    circuit,
    codes,
    device,
    found,
    stops,
)
from tests.helpers.grid import LIBRARY, channel, plan

HOT = 294.5 / 254.5  # copper at 60 C over copper at 20 C


def feeder(name: str, source: str, to: str, mm2: float | None = 16.0, **fields) -> Circuit:
    return circuit(
        name, source, to, wire_kind=BATTERY_CABLE.id, section_mm2=mm2,
        **{"kind": "feeder", "protective": Protective(family="on_post", device=source), **fields},
    )  # fmt: skip


# --- voltages ----------------------------------------------------------------------------------------------------


def test_a_12_volt_device_on_a_24_volt_way() -> None:
    battery = replace(BATTERY, electrical=Electrical(system="dc24", short_circuit_a=900.0))
    feed, row = feeder("F", "battery", "block"), circuit("C", "block", "lamp", way="2")
    (error,) = found(analyse(along((battery, BLOCK, LAMP), (feed, row)), LIBRARY), "voltage.mismatch")
    assert (error.value, error.limit, error.unit, error.severity) == (24.0, 12.0, "V", "error")
    either = replace(LAMP, electrical=Electrical(current_a=5.0, also=("dc24",)))
    analysis = analyse(along((battery, BLOCK, either), (feed, row)), LIBRARY)
    assert not found(analysis, "voltage.mismatch")
    assert analysis.loads["C"].current_a == pytest.approx(2.5)


def test_a_converter_gives_what_its_data_say() -> None:
    battery = replace(BATTERY, electrical=Electrical(system="dc24", short_circuit_a=900.0))
    converter = device(
        "converter", "converter", "c",
        electrical={"system": "dc24", "output": "dc12", "efficiency": 0.9, "lowest_v": 22.0},
    )  # fmt: skip
    lead, row = circuit("L", "battery", "converter", kind="battery_lead"), circuit("C", "converter", "lamp")
    analysis = analyse(along((battery, converter, LAMP), (lead, row)), LIBRARY)
    assert not found(analysis, "voltage.mismatch")
    assert analysis.loads["C"].base_v == 12.0
    assert analysis.loads["L"].base_v == 24.0
    # 5 A at 12 V behind it: 60 W / (0.9 x 22 V)
    assert analysis.loads["L"].current_a == pytest.approx(60 / 0.9 / 22)


def test_three_systems_in_one_plan_each_at_its_own_volts() -> None:
    """48 V battery, a converter to 24 V and one to 12 V: each branch has its base, and the battery carries the power.

    12 V x 10 A over 0.9 at 43.2 V (0.9 of 48) is 3.09 A, 24 V x 5 A the same.
    """
    battery = replace(BATTERY, electrical=Electrical(system="dc48", short_circuit_a=900.0))
    feeds = ("low", "dc12", 10.0), ("middle", "dc24", 5.0)
    devices, rows = [battery], []
    for name, system, amps in feeds:
        data = {"system": "dc48", "output": system, "efficiency": 0.9}
        devices += [
            device(name, "converter", "b", electrical=data),
            device(f"{name}-lamp", "light", "c", electrical={"system": system, "current_a": amps}),
        ]
        rows += [circuit(f"F-{name}", "battery", name), circuit(f"C-{name}", name, f"{name}-lamp")]
    analysis = analyse(along(tuple(devices), tuple(rows)), LIBRARY)
    assert [analysis.loads[c].base_v for c in ("F-low", "C-low", "F-middle", "C-middle")] == [48.0, 12.0, 48.0, 24.0]
    for name, _, _ in feeds:
        assert analysis.loads[f"F-{name}"].current_a == pytest.approx(120 / 0.9 / 43.2)
    assert not found(analysis, "voltage.mismatch")
    wrong = replace(devices[2], electrical=Electrical(system="dc24", current_a=5.0))
    mixed = analyse(along((*devices[:2], wrong, *devices[3:]), tuple(rows)), LIBRARY)
    (error,) = found(mixed, "voltage.mismatch")
    assert (error.value, error.limit, error.unit) == (12.0, 24.0, "V")


def test_wire_is_insulated_for_its_voltage() -> None:
    inlet = device("inlet", "shore_inlet", "a", electrical={"system": "ac230"})
    kettle = device("kettle", "appliance", "e", electrical={"system": "ac230", "current_a": 9.0})
    row = circuit("M", "inlet", "kettle", protective=Protective(kind="circuit_breaker", family="breaker_iec"))
    (error,) = found(analyse(along((inlet, kettle), (row,)), LIBRARY), "wire.voltage")
    assert (error.value, error.limit) == (230.0, 60.0)


def test_an_inverter_is_not_asked_for_more_than_the_power_it_gives() -> None:
    """Its feed is sized by the power that is typed, 50 W by mistake; 10 A at 230 V hang on it."""
    made = plan({"a": (100.0, 100.0), "b": (1_100.0, 100.0)}, (channel("c", "a", "b", groups=("mains",)),), "a", "b")

    def told(**electrical: object) -> list[tuple[float | None, float | None, str]]:
        inverter = replace(
            made.devices[0], kind="inverter", electrical=Electrical(system="dc12", output="ac230", **electrical)
        )
        kettle = replace(made.devices[1], electrical=Electrical(system="ac230", current_a=10.0))
        row = replace(made.circuits[0], group="mains", conductors=("line", "neutral", "protective_earth"))
        analysis = analyse(replace(made, devices=(inverter, kettle), circuits=(row,)), LIBRARY)
        return [(f.value, f.limit, f.unit) for f in analysis.findings if f.code == "point.overloaded"]

    assert told(power_w=50.0) == [(2_300.0, 50.0, "W")]
    assert told(power_w=2_300.0) == []
    assert told() == []  # sized by what hangs on it
    assert told(power_w=50.0, rating_a=9.0) == [(10.0, 9.0, "A")]  # told once, by what it gives out


def test_a_shore_lead_asks_for_what_the_inverter_hands_on() -> None:
    """An inverter/charger on the shore: its mains circuits, not its 12 V current."""
    inlet = device("inlet", "shore_inlet", "a", electrical={"system": "ac230"})
    inverter = device(
        "inverter", "inverter", "c",
        electrical={"output": "ac230", "power_w": 2_000.0, "efficiency": 0.9, "lowest_v": 11.5},
    )  # fmt: skip
    kettle = device("kettle", "appliance", "e", electrical={"system": "ac230", "current_a": 9.0})
    breaker = Protective(kind="circuit_breaker", family="breaker_iec")
    shore = circuit("S", "inlet", "inverter", group="mains", protective=breaker)
    out = circuit("M", "inverter", "kettle", group="mains", protective=breaker)
    lead = circuit("B", "battery", "inverter", kind="battery_lead")
    analysis = analyse(along((BATTERY, inlet, inverter, kettle), (shore, out, lead)), LIBRARY)
    assert analysis.loads["S"].current_a == pytest.approx(9.0)
    assert analysis.loads["B"].current_a == pytest.approx(2_000 / 0.9 / 11.5)
    assert not found(analysis, "voltage.mismatch")


# --- meshes ------------------------------------------------------------------------------------------------------


def ring(sizes: tuple[float | None, float | None, float | None]) -> Plan:
    """A battery at a, blocks at c (900 mm) and d (1,700 mm), 800 mm between them: a ring of three feeders."""
    one, two = replace(BLOCK, id="one", name="One", node="c"), replace(BLOCK, id="two", name="Two", node="d")
    near, far = replace(LAMP, id="near", node="c"), replace(LAMP, id="far", node="d")
    near = replace(near, electrical=Electrical(current_a=6.0))
    far = replace(far, electrical=Electrical(current_a=12.0))
    rows = (
        feeder("A", "battery", "one", sizes[0]),
        feeder("B", "battery", "two", sizes[1]),
        feeder("X", "one", "two", sizes[2]),
        circuit("N", "one", "near", way="2"),
        circuit("R", "two", "far", way="2"),
    )
    return along((BATTERY, one, two, near, far), rows)


def test_a_ring_of_feeders_by_nodal_equations() -> None:
    """R = 2 x length x 1.16 ohm/km at 60 C; drops a and b below the battery by Kirchhoff's current law at One and Two:

    a / Ra + (a - b) / Rx = 6 and b / Rb + (b - a) / Rx = 12, solved here by Cramer's rule. The battery's own
    resistance moves both alike and drops out, as drops are counted from its terminals.
    """
    ohm = 2 * 1.16e-3 * HOT
    ra, rb, rx = 0.9 * ohm, 1.7 * ohm, 0.8 * ohm
    g11, g12, g22 = 1 / ra + 1 / rx, -1 / rx, 1 / rb + 1 / rx
    det = g11 * g22 - g12 * g12
    a, b = (6 * g22 - 12 * g12) / det, (12 * g11 - 6 * g12) / det
    analysis = analyse(ring((16.0, 16.0, 16.0)), LIBRARY)
    (mesh,) = analysis.meshes
    assert mesh.solved
    assert set(mesh.feeders) == {"A", "B", "X"}
    drops = {node.device: node.drop_v for node in mesh.nodes}
    assert drops["one"] == pytest.approx(a)
    assert drops["two"] == pytest.approx(b)
    amps = {feeder: current for feeder, _, current in mesh.amps}
    assert amps == pytest.approx({"A": a / ra, "B": b / rb, "X": (a - b) / rx * -1})
    assert analysis.loads["A"].current_a == pytest.approx(a / ra)
    # a branch behind the mesh loses that and its own
    branch = 2 * analysis.sized["R-1F"].drop_v
    assert analysis.circuit_sizes["R"].drops[0][1] == pytest.approx(b + branch)
    assert analysis.loads["R"].upstream == ()


def test_a_mesh_is_checked_and_never_sized() -> None:
    whole = analyse(ring((16.0, None, 16.0)), LIBRARY)
    (mesh,) = whole.meshes
    assert not mesh.solved
    (finding,) = found(whole, "mesh.size")
    assert "choose a size" in finding.remedy
    # until then each feeder is taken to carry all of it
    assert whole.loads["A"].current_a == whole.loads["B"].current_a == pytest.approx(18.0)
    thin = analyse(ring((10.0, 10.0, 10.0)), LIBRARY)
    thick = analyse(ring((70.0, 70.0, 70.0)), LIBRARY)
    assert thin.meshes[0].nodes != thick.meshes[0].nodes
    assert {s.section_mm2 for w, s in thin.sized.items() if w[0] in "ABX"} == {10.0}


def test_two_batteries_on_one_bus_share_by_their_resistances() -> None:
    """12 V behind 12/900 ohm and 2 x 1.7 m of 16 mm2, against 12/450 ohm and 2 x 2.3 m: currents divide inversely."""
    other = device("other", "battery", "e", electrical={"short_circuit_a": 450.0})
    lamp = replace(LAMP, node="d", electrical=Electrical(current_a=10.0))
    rows = (feeder("A", "battery", "block"), feeder("B", "other", "block"), circuit("C", "block", "lamp", way="2"))
    analysis = analyse(along((BATTERY, other, BLOCK, lamp), rows), LIBRARY)
    ohm = 2 * 1.16e-3 * HOT
    one, two = 12 / 900 + 1.7 * ohm, 12 / 450 + 2.3 * ohm
    amps = {feeder: current for feeder, _, current in analysis.meshes[0].amps}
    assert amps["A"] == pytest.approx(10 * two / (one + two))
    assert amps["B"] == pytest.approx(10 * one / (one + two))
    assert set(analysis.meshes[0].sources) == {"battery", "other"}
    # both ends of both feeders can be fed: the block holds no fuse for what comes back
    assert {f.subjects[0] for f in found(analysis, "fuse.both_ends")} == {"A", "B"}


@pytest.mark.parametrize("home", [None, "bus"])
def test_a_bank_taken_diagonally_by_kirchhoffs_laws(home: str | None) -> None:
    """Two batteries of 12/900 ohm, a link of 2 x 1.7 m of 16 mm2, plus from the first, minus from the second.

    With i the current of the first battery, 40 - i of the second, R inside each and L in each conductor of the link:
    once round R i + L i = R (40 - i) + L (40 - i), so each gives 20 A, and both conductors of the link carry 20 A. As
    one loop (plus and minus in series) the first would give (R + 2 L) / (2 R + 2 L) of 40 A and the link less than 20.
    """
    other = device("other", "battery", "d", electrical={"short_circuit_a": 900.0})
    bus = device("bus", "bus_bar", "c")
    lamp = replace(LAMP, node="e", electrical=Electrical(current_a=40.0))
    back = ReturnPath(device=home or "other")
    rows = [feeder("L", "battery", "other", kind="link"), circuit("C", "battery", "lamp", return_path=back)]
    devices = [BATTERY, other, lamp]
    if home is not None:  # the same over a return bus whose own way home leads to the second battery
        rows.append(feeder("F", "battery", "bus", return_path=ReturnPath(device="other")))
        devices.append(bus)
    analysis = analyse(along(tuple(devices), tuple(rows)), LIBRARY)
    (mesh,) = analysis.meshes
    assert mesh.feeders == ("L",)
    assert analysis.sized["L-1F"].current_a == pytest.approx(20.0)
    assert analysis.sized["L-1R"].current_a == pytest.approx(20.0)
    # from the posts that are used to those of the fuller battery: the link's conductor loses 20 A x 1.7 m
    ohm = 1.7 * 1.16e-3 * HOT
    assert analysis.loads["C"].before_v == pytest.approx(20 * ohm)
    one_more = (12 / 900 + ohm) / 2
    assert analysis.loads["C"].before_ohm == pytest.approx(one_more)


def test_plus_and_minus_of_a_link_are_two_conductors() -> None:
    """As above, with the minus of the link pulled in 10 mm2.

    i (R + M) = (40 - i) (R + P), M and P the minus and plus of the link: the plus carries 40 - i, the minus i.
    """
    other = device("other", "battery", "d", electrical={"short_circuit_a": 900.0})
    lamp = replace(LAMP, node="e", electrical=Electrical(current_a=40.0))
    rows = (
        feeder("L", "battery", "other", kind="link"),
        circuit("C", "battery", "lamp", return_path=ReturnPath(device="other")),
    )
    made = along((BATTERY, other, lamp), rows)
    thin = AsPulled(id="p1", wire="L-1R", section_mm2=10.0)
    analysis = analyse(replace(made, as_pulled=(thin,)), LIBRARY)
    inner, plus, minus = 12 / 900, 1.7 * 1.16e-3 * HOT, 1.7 * 1.82e-3 * HOT
    one = 40 * (inner + plus) / (2 * inner + plus + minus)
    assert analysis.sized["L-1F"].current_a == pytest.approx(40 - one)
    assert analysis.sized["L-1R"].current_a == pytest.approx(one)
    assert analysis.sized["L-1R"].current_a < analysis.sized["L-1F"].current_a


def test_a_loop_of_feeders_that_nothing_feeds_is_a_finding() -> None:
    made = ring((16.0, 16.0, 16.0))
    bus = replace(BLOCK, id="battery", name="Bus", kind="bus_bar", node="a", ways=())
    loop = replace(made, devices=(bus, *made.devices[1:]))
    analysis = analyse(loop, LIBRARY)
    (error,) = found(analysis, "feeder.loop")
    assert set(error.subjects) == {"A", "B", "X"}
    assert not analysis.meshes[0].solved


def test_a_tree_is_no_mesh() -> None:
    rows = (feeder("F", "battery", "block", None), circuit("C", "block", "lamp", way="2"))
    assert analyse(along((BATTERY, BLOCK, LAMP), rows), LIBRARY).meshes == ()
    charger = device("charger", "charger", "e", electrical={"rating_a": 20.0, "output": "dc12"})
    charge = circuit("K", "charger", "block")
    analysis = analyse(along((BATTERY, BLOCK, LAMP, charger), (*rows, charge)), LIBRARY)
    assert analysis.meshes == ()  # a charger limits its current, it does not share it
    assert analysis.loads["K"].current_a == 20.0
    assert analysis.loads["C"].upstream == ("F",)


# --- what is missing ---------------------------------------------------------------------------------------------


def test_points_that_nothing_feeds_and_loads_without_numbers() -> None:
    row = circuit("C", "block", "lamp", way="2")
    (finding,) = found(analyse(along((BLOCK, LAMP), (row,)), LIBRARY), "point.unfed")
    assert finding.subjects == ("block",)
    dumb = replace(LAMP, electrical=Electrical())
    feed = feeder("F", "battery", "block", None)
    assert "load.unknown" in codes(along((BATTERY, BLOCK, dumb), (feed, row)))
    assert "point.unfed" not in codes(along((BATTERY, BLOCK, LAMP), (feed, row)))


@pytest.mark.parametrize(
    "fields",
    [
        {"current_a": -5.0}, {"power_w": -60.0}, {"current_a": 5.0, "peak_a": -1.0}, {"power_w": 60.0, "lowest_v": 0.0},
        {"current_a": 5.0, "lowest_v": -12.0}, {"power_w": 60.0, "efficiency": 0.0},
        {"power_w": 60.0, "efficiency": 1.5}, {"current_a": 5.0, "duty": -1.0}, {"current_a": 5.0, "duty": 7.0},
        {"current_a": 5.0, "idle_a": -2.0}, {"current_a": 5.0, "largest_fuse_a": -3.0},
        {"current_a": 5.0, "short_circuit_a": 0.0}, {"current_a": 5.0, "rating_a": -9.0},
        {"current_a": 5.0, "heat_w": -4.0},
    ],
)  # fmt: skip
def test_numbers_that_cannot_be_are_findings(fields: dict[str, float]) -> None:
    """In a file as in memory: the plan opens, the number is not counted, an error names the device."""
    odd = replace(LAMP, electrical=Electrical(**fields))
    kept = replace(along((BATTERY, BLOCK, odd), ()))
    assert decode(encode(kept)).devices[-1].electrical == odd.electrical
    rows = (feeder("F", "battery", "block", None), circuit("C", "block", "lamp", way="2"))
    analysis = analyse(along((BATTERY, BLOCK, odd), rows), LIBRARY)
    (error,) = found(analysis, "device.number")
    assert error.value in fields.values()
    assert error.unit
    assert error.limit == (1.0 if (error.value or 0.0) > 1 else 0.0)
    assert 0 <= analysis.loads["C"].current_a < 10
    sizing_sheets(analysis)  # nothing is raised


def test_a_negative_current_of_a_circuit_is_a_finding() -> None:
    rows = (feeder("F", "battery", "block", None), circuit("C", "block", "lamp", way="2", current_a=-40.0))
    analysis = analyse(along((BATTERY, BLOCK, LAMP), rows), LIBRARY)
    (error,) = found(analysis, "circuit.number")
    assert (error.value, error.limit, error.unit) == (-40.0, 0.0, "A")
    assert analysis.loads["C"].current_a == 5.0  # what the lamp draws


def test_a_battery_that_gives_nothing_breaks_nothing() -> None:
    """Zero amperes into a short, in a mesh and on its own: an error at the battery, an answer all the same."""
    dead = replace(BATTERY, electrical=Electrical(short_circuit_a=0.0))
    lamp = replace(LAMP, node="d")
    rows = (feeder("A", "dead", "block"), feeder("B", "dead", "block"), circuit("C", "block", "lamp", way="2"))
    analysis = analyse(along((replace(dead, id="dead"), BLOCK, lamp), rows), LIBRARY)
    assert found(analysis, "device.number")
    assert analysis.meshes[0].solved
    assert analysis.loads["A"].current_a == pytest.approx(2.5)


def test_a_lowest_voltage_at_the_nominal_is_said() -> None:
    odd = replace(LAMP, electrical=Electrical(current_a=5.0, lowest_v=12.0))
    rows = (feeder("F", "battery", "block", None), circuit("C", "block", "lamp", way="2"))
    assert "device.lowest_v" in codes(along((BATTERY, BLOCK, odd), rows))


# --- always live, returns, reach ---------------------------------------------------------------------------------


def test_always_live_circuits_and_the_main_switch() -> None:
    switch = device("switch", "switch", "b", electrical={"rating_a": 275.0})
    feed = circuit("F", "battery", "switch", "block", kind="feeder")
    behind = circuit("C", "block", "lamp", way="2", always_live=True)
    made = along((BATTERY, switch, BLOCK, LAMP), (feed, behind))
    (finding,) = found(analyse(made, LIBRARY), "live.switched")
    assert set(finding.subjects) == {"C", "switch"}
    before = replace(behind, stops=stops("battery", "lamp"))
    assert "live.switched" not in codes(replace(made, circuits=(feed, before)))
    assert "live.unmarked" in codes(replace(made, circuits=(feed, replace(before, always_live=False))))
    assert not {"live.unmarked", "live.switched"} & codes(
        replace(made, circuits=(feed, replace(behind, always_live=False)))
    )


def test_the_body_needs_a_bolt_nearby() -> None:
    row = circuit("C", "block", "lamp", way="2", return_path=ReturnPath(kind="chassis"))
    made = along((BATTERY, BLOCK, LAMP), (feeder("F", "battery", "block", None), row))
    assert "chassis.no_point" in codes(made)
    near = EarthPoint(id="e1", name="Stud", surface="floor", at_mm=(200.0, 150.0))
    assert not {"chassis.no_point", "chassis.far"} & codes(replace(made, earth_points=(near,)))
    far = replace(near, at_mm=(2_000.0, 150.0))
    (note,) = found(analyse(replace(made, earth_points=(far,)), LIBRARY), "chassis.far")
    assert note.value == pytest.approx((1_900.0**2 + 50.0**2) ** 0.5)
    open_end = replace(row, return_path=ReturnPath(kind="none"))
    assert "return.none" in codes(replace(made, circuits=(made.circuits[0], open_end)))


def test_a_fuse_in_a_closed_box_is_out_of_reach() -> None:
    rows = (feeder("F", "battery", "block", None), circuit("C", "block", "lamp", way="2"))
    made = along((BATTERY, BLOCK, LAMP), rows)
    outline = ((0.0, 0.0), (400.0, 0.0), (400.0, 400.0), (0.0, 400.0))
    box = Box(id="box", name="Seat", surface="floor", outline=outline, height_mm=300.0)
    assert "block" in {f.subjects[0] for f in found(analyse(replace(made, boxes=(box,)), LIBRARY), "reach.fixed")}
    assert "reach.fixed" not in codes(replace(made, boxes=(replace(box, fixed=False),)))
    assert "reach.fixed" not in codes(made)


def test_a_metal_case_wants_a_bond() -> None:
    inverter: Device = device(
        "inverter", "inverter", "e", electrical={"output": "ac230", "current_a": 50.0},
        ports=(Port(id="c", role="bond"),),
    )  # fmt: skip
    lead = circuit("I", "battery", "inverter", kind="battery_lead", wire_kind=BATTERY_CABLE.id)
    assert "bond.missing" in codes(along((BATTERY, inverter), (lead,)))
