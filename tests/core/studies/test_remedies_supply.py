"""Remedies for fuses, supply, room and support: each makes its finding go away, on the plans of those checks' tests."""

import pytest
from msgspec.structs import replace

from core.analysis.engine import analyse
from core.edits.records import set_limit
from core.files.references import problems
from core.model import Connector, Electrical, OnSurface, Opening, Plan, Protective, ReturnPath, SecuringPoint, limit
from core.studies.remedies import remedies, stands
from tests.core.analysis import test_capacity as room
from tests.core.analysis.test_electrical_fuses import (
    BATTERY,
    BATTERY_CABLE,
    BLOCK,
    CHARGER,
    LAMP,
    along,
    circuit,
    device,
    stops,
)
from tests.core.analysis.test_electrical_systems import feeder, ring
from tests.helpers.grid import LIBRARY, PROFILE, changed, channel

FEED, ROW = feeder("F", "battery", "block", None), circuit("C", "block", "lamp", way="2")
STRONG = replace(BATTERY, electrical=Electrical(short_circuit_a=5_000.0))
STRIP = circuit("F", "battery", "block", kind="feeder", wire_kind=BATTERY_CABLE.id, section_mm2=50.0,
                protective=Protective(family="strip_large", device="battery"))  # fmt: skip
SWITCH = device("switch", "switch", "b", electrical={"rating_a": 275.0})
CHASSIS = circuit("C", "block", "lamp", way="2", return_path=ReturnPath(kind="chassis"))
HIGH = replace(BATTERY, electrical=Electrical(system="dc48", short_circuit_a=500.0))
HIGH_LAMP = replace(LAMP, electrical=Electrical(system="dc48", current_a=5.0))
INLET = device("inlet", "shore_inlet", "a", electrical={"system": "ac230"})
KETTLE = device("kettle", "appliance", "e", electrical={"system": "ac230", "current_a": 9.0})
BREAKER = Protective(kind="circuit_breaker", family="breaker_iec")
PLUG = Connector(id="k", name="Plug", place=OnSurface(surface="floor", at_mm=(3_210.0, 500.0)), width_mm=18.0)


def plans() -> list[tuple[str, Plan]]:
    def wired(*rows, devices=(BATTERY, BLOCK, LAMP), **more) -> Plan:
        return along(devices, rows, **more)

    bus = device("bus", "bus_bar", "a")
    part = device("part", "switch", "d", electrical={"rating_a": 10.0})
    behind = replace(ROW, stops=stops("block", "part", "lamp", way="2"), protective=Protective(rating_a=15.0))
    small = feeder("F", "battery", "block", None, protective=Protective(family="blade_maxi", device="battery",
                                                                       rating_a=20.0))  # fmt: skip
    on_post = Protective(family="on_post", device="battery")
    switched = circuit("F", "battery", "switch", "block", kind="feeder", protective=on_post)
    both = circuit("K", "charger", "battery", kind="battery_lead", wire_kind=BATTERY_CABLE.id)
    share = replace(limit(PROFILE, "fuse.ampacity_share"), value=1.5)
    shared = replace(ROW, section_mm2=0.5, protective=Protective(rating_a=15.0))
    single = circuit("M", "inlet", "part", "kettle", group="mains", protective=BREAKER,
                     conductors=("line", "neutral", "protective_earth"))  # fmt: skip
    duct = channel("s", "a", "b", spare_duct=True, kind="closed_conduit")
    hole = room.analyse(room.PLAN, LIBRARY).bundles["c"].diameter_laid_mm
    window = Opening(id="o", name="Window", surface="floor",
                     outline=((1_000.0, 300.0), (1_300.0, 300.0), (1_300.0, 700.0), (1_000.0, 700.0)))  # fmt: skip
    own = SecuringPoint(id="t", channel="c", at_mm=950.0)
    return [
        ("fuse.both_ends", along((BATTERY, CHARGER), (both,))),
        ("fuse.place", along((BATTERY, bus, LAMP), (circuit("C", "bus", "lamp"),))),
        ("fuse.place", along((BATTERY, bus, LAMP), (circuit("C", "bus", "lamp", protective=Protective(
            device="battery")),))),
        ("fuse.family", wired(FEED, replace(ROW, protective=Protective(family="glass")))),
        ("fuse.family", wired(FEED, replace(ROW, protective=Protective(family="blade_mini")))),
        ("fuse.voltage", along((HIGH, HIGH_LAMP), (circuit("C", "battery", "lamp", protective=Protective(
            device="battery")),))),
        ("fuse.interrupting", along((STRONG, BLOCK, LAMP), (STRIP, ROW))),
        ("fuse.switch", wired(FEED, behind, devices=(BATTERY, BLOCK, part, LAMP))),
        ("fuse.coordination", wired(small, replace(ROW, protective=Protective(rating_a=30.0)))),
        ("fuse.exception", set_limit(wired(FEED, shared), share)),
        ("live.switched", along((BATTERY, SWITCH, BLOCK, LAMP), (switched, replace(ROW, always_live=True)))),
        ("live.unmarked", along((BATTERY, SWITCH, BLOCK, LAMP), (switched, circuit("C", "battery", "lamp",
            protective=on_post)))),
        ("mains.single_pole", along((INLET, part, KETTLE), (single,), groups=("mains", "dc_power"))),
        ("wire.voltage", along((INLET, KETTLE), (circuit("M", "inlet", "kettle", protective=BREAKER),))),
        ("point.unfed", wired(ROW)),
        ("return.none", wired(FEED, replace(CHASSIS, return_path=ReturnPath(kind="none")))),
        ("return.chassis", wired(FEED, CHASSIS)),
        ("chassis.no_point", wired(FEED, CHASSIS)),
        ("mesh.size", ring((16.0, None, 16.0))),
        ("device.lowest_v", along((BATTERY, BLOCK, replace(LAMP, electrical=Electrical(current_a=5.0, lowest_v=12.0))),
                                  (FEED, ROW))),
        ("bore.jam", room.three_wires(3.0)),
        ("bore.nearly_full", room.three_wires(2.81)),
        ("duct.no_string", replace(room.PLAN, channels=(*room.PLAN.channels, duct))),
        ("hole.plug", replace(room.with_hole(12.0), connectors=(PLUG,))),
        ("hole.small", room.with_hole(hole * 1.1)),
        ("hole.slide", room.wrapped(room.with_hole(hole * 0.9), "wrap-half-lap-cloth")),
        ("securing.fall", changed(room.PLAN, "devices", "load", at_mm=(3_200.0, 1_300.0))),
        ("securing.place", replace(room.PLAN, openings=(window,), securing_points=(own,))),
    ]  # fmt: skip


PLANS = plans()


@pytest.mark.parametrize(("code", "wrong"), PLANS, ids=lambda v: v if isinstance(v, str) else "")
def test_each_remedy_makes_its_finding_go_away(code: str, wrong: Plan) -> None:
    analysis = analyse(wrong, LIBRARY)
    finding = next((f for f in analysis.findings if f.code == code), None)
    if finding is None:
        pytest.fail(f"no {code} in {sorted({f.code for f in analysis.findings})}")
    offered = remedies(finding, analysis, LIBRARY)
    assert offered
    for remedy in offered:
        after = remedy.apply(wrong)
        assert set(problems(after)) <= set(problems(wrong)), remedy.label
        assert not stands(finding, analyse(after, LIBRARY)), remedy.label
        assert remedy.gain


def test_a_class_t_fuse_is_offered_for_a_strong_battery() -> None:
    """5,000 A: a strip breaks 2,000 A, class T 20 kA (both from memory, resources/tables/fuse_interrupting.csv)."""
    wrong = along((STRONG, BLOCK, LAMP), (STRIP, ROW))
    analysis = analyse(wrong, LIBRARY)
    finding = next(f for f in analysis.findings if f.code == "fuse.interrupting")
    families = {r.apply(wrong).circuits[0].protective.family for r in remedies(finding, analysis, LIBRARY)}
    assert "class_t" in families
    assert "strip_large" not in families


def test_a_device_on_the_wrong_voltage_moves_to_a_point_of_its_own() -> None:
    own = replace(BLOCK, id="own", name="Own", node="c")
    wrong_block = replace(BLOCK, electrical=Electrical(system="dc24", rating_a=100.0))
    battery = replace(BATTERY, electrical=Electrical(system="dc24", short_circuit_a=900.0))
    wrong = along((battery, wrong_block, own, LAMP), (FEED, ROW))
    analysis = analyse(wrong, LIBRARY)
    finding = next(f for f in analysis.findings if f.code == "voltage.mismatch")
    (move,) = remedies(finding, analysis, LIBRARY)
    assert move.label == "Move C to Own"
    assert move.apply(wrong).circuits[1].stops[0].device == "own"
