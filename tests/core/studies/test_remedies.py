"""Every remedy, applied, makes its finding go away and leaves a sound plan: one wrong plan for each finding."""

import pytest
from msgspec.structs import replace

from core.analysis.engine import analyse
from core.analysis.results import Finding
from core.edits.records import waive
from core.errors import EditRefused
from core.files import codec
from core.files.references import problems
from core.model import (
    AsPulled,
    Bore,
    Box,
    Circuit,
    ConduitKind,
    Device,
    Electrical,
    InPenetration,
    KeepOutZone,
    MetalEdge,
    MovingPart,
    Panel,
    Penetration,
    Plan,
    Protective,
    Stop,
    Way,
)
from core.studies.remedies import Remedy, remedies, stands, waiving
from tests.core.analysis import test_checks as checks
from tests.core.analysis import test_screws, test_separation
from tests.helpers.grid import KIND, LIBRARY, MAINS_KIND, changed, channel, plan

PLAN, NODES = checks.PLAN, checks.NODES


def block(
    name: str, *largest_a: float, at=(2_000.0, 500.0), node: str | None = None, rating_a: float = 100.0
) -> Device:
    ways = tuple(Way(id=str(i), largest_a=a) for i, a in enumerate(largest_a, 1))
    data = Electrical(rating_a=rating_a)
    return Device(
        id=name, name=name, kind="fuse_block", surface="floor", at_mm=at, node=node, ways=ways, electrical=data
    )


def with_devices(of: Plan, *devices: Device) -> Plan:
    return replace(of, devices=(*of.devices, *devices))


def two_ways(**fields) -> Plan:
    """a to b straight, and a longer way round by d."""
    nodes = {"a": (200.0, 500.0), "b": (3_200.0, 500.0), "d": (1_700.0, 1_500.0)}
    return plan(nodes, (channel("c", "a", "b", **fields), channel("e", "a", "d"), channel("f", "d", "b")), "a", "b")


def with_mains(of: Plan) -> Plan:
    """A mains circuit beside the light, in the same channels."""
    inlet = Device(id="inlet", name="Inlet", kind="shore_inlet", surface="floor", at_mm=NODES["a"], node="a",
                   electrical=Electrical(system="ac230"))  # fmt: skip
    kettle = Device(id="kettle", name="Kettle", kind="appliance", surface="floor", at_mm=NODES["b"], node="b",
                    electrical=Electrical(system="ac230", power_w=900.0))  # fmt: skip
    mains = Circuit(
        id="M", name="Kettle", group="mains", conductors=("line", "neutral", "protective_earth"), as_cable=True,
        stops=(Stop(id="0", device="inlet", role="source"), Stop(id="1", device="kettle", after="0")),
        protective=Protective(kind="circuit_breaker", family="breaker"),
    )  # fmt: skip
    every = ("mains", "dc_power", "signal", "antenna")
    rows = tuple(replace(c, groups=every) for c in of.channels)
    return replace(of, devices=(*of.devices, inlet, kettle), circuits=(*of.circuits, mains), channels=rows)


def holed(**fields) -> Plan:
    nodes = {"a": (200.0, 500.0), "b": (3_200.0, 500.0), "p": (1_700.0, 500.0)}
    of = plan(nodes, (channel("c", "a", "p"), channel("e", "p", "b")), "a", "b")
    hole = Penetration(**{"id": "h", "a": "floor", "a_mm": nodes["p"], "b": "floor", "b_mm": nodes["p"], **fields})
    rows = tuple(replace(n, place=InPenetration(penetration="h")) if n.id == "p" else n for n in of.nodes)
    return replace(of, nodes=rows, penetrations=(hole,))


def narrow(**fields) -> Plan:
    return two_ways(**fields)


def pulled() -> Plan:
    """The record says that the wire runs through c and x, which do not meet."""
    nodes = {**NODES, "y": (500.0, 900.0), "z": (900.0, 900.0)}
    of = plan(nodes, (channel("c", "a", "b"), channel("x", "y", "z")), "a", "b")
    return replace(of, as_pulled=(AsPulled(id="ap", wire="C-1F", channels=("c", "x")),))


def crossed() -> Plan:
    nodes = {"a": (200.0, 500.0), "b": (3_200.0, 1_500.0), "p": (3_200.0, 500.0), "q": (1_700.0, 100.0)}
    return plan(nodes, (channel("c", "a", "p"), channel("e", "q", "b", via_mm=((1_700.0, 1_500.0),))), "a", "b")


def gapped() -> Plan:
    nodes = {"a": (200.0, 500.0), "b": (3_200.0, 500.0), "p": (1_500.0, 500.0), "q": (1_900.0, 500.0)}
    return plan(nodes, (channel("c", "a", "p"), channel("e", "q", "b")), "a", "b")


def shared_fuse() -> Plan:
    """Two loads on one circuit; the maker of one of them allows no more than 3 A."""
    small = Device(id="small", name="Small", kind="light", surface="floor", at_mm=NODES["b"], node="b",
                   electrical=Electrical(current_a=1.0, largest_fuse_a=3.0))  # fmt: skip
    of = with_devices(PLAN, small, block("other", 20.0, node="a"))
    stops = (*PLAN.circuits[0].stops, Stop(id="2", device="small", after="1"))
    return changed(of, "circuits", "C", stops=stops)


def conduit() -> Plan:
    thin = ConduitKind(id="conduit-split-thin", name="Thin", bore_mm=2.0, split=True, source="x", known="memory")
    return changed(replace(PLAN, conduit_kinds=(thin,)), "channels", "c", kind="split_conduit", conduit=thin.id)


def unordered() -> Plan:
    return replace(PLAN, wire_kinds=(replace(KIND, sizes=KIND.sizes[::-1]), MAINS_KIND))


HOT = ((1_000.0, 520.0), (1_500.0, 520.0), (1_500.0, 900.0), (1_000.0, 900.0))


def hot(**fields) -> Plan:
    """A zone 20 mm beside the bundle, which has to stay 100 mm away."""
    zone = KeepOutZone(id="z", surface="floor", kind="hot", clearance_mm=100.0, outline=HOT)
    return replace(PLAN, zones=(zone,), **fields)


def drawer(**fields) -> Plan:
    part = MovingPart(id="m", name="Drawer", surface="floor", outline=HOT, slide_mm=(0.0, -400.0))
    board = Panel(id="board", name="Board", surface="floor",
                  outline=((0.0, 0.0), (4_000.0, 0.0), (4_000.0, 2_000.0), (0.0, 2_000.0)))  # fmt: skip
    return replace(PLAN, moving_parts=(part,), panels=(board,), **fields)


def zigzag() -> Plan:
    """A closed conduit with many right angles, through which eight heavy wires are pulled."""
    nodes = {"a": (200.0, 200.0), "b": (3_800.0, 200.0)}
    corners = tuple((200.0 + 450.0 * (k // 2 + k % 2), 1_700.0 if k % 4 in (0, 3) else 200.0) for k in range(15))
    of = plan(nodes, (channel("c", "a", "b", via_mm=corners, kind="closed_conduit"),), "a", "b")
    return replace(of, circuits=(replace(of.circuits[0], section_mm2=6.0, parallel=4),))


WRONG: list[tuple[str, Plan]] = [
    ("clearance.hot", hot()),
    ("clearance.edge", replace(PLAN, metal_edges=(
        MetalEdge(id="e", surface="floor", line_mm=((900.0, 504.0), (1_900.0, 504.0))),))),
    ("moving.swept", drawer()),
    ("separation.near", test_separation.beside(12.0, "mains")),
    ("bundle.measured", changed(PLAN, "channels", "c", measured_diameter_mm=1.0)),
    ("cutting.too_long", replace(PLAN, wire_kinds=(replace(KIND, spools_m=(2.0,)), MAINS_KIND))),
    ("cutting.provisional", changed(PLAN, "channels", "c", known="assumed", state="unknown")),
    ("pull.hard", zigzag()),
    ("screw.fixing", test_screws.in_the_room()),
    *((code, wrong) for code, wrong, _ in checks.WRONG_AND_RIGHT),
    ("profile.version", replace(PLAN, profile=replace(PLAN.profile, version="0"))),
    ("rub.wheel_arch", replace(PLAN, boxes=(Box(id="w", name="Arch", surface="floor", kind="wheel_arch", height_mm=300,
        outline=((900.0, 0.0), (1_500.0, 0.0), (1_500.0, 900.0), (900.0, 900.0))),))),
    ("rub.hot", replace(PLAN, zones=(KeepOutZone(id="z", surface="floor", kind="hot", clearance_mm=50.0,
        outline=((900.0, 400.0), (1_500.0, 400.0), (1_500.0, 900.0), (900.0, 900.0))),))),
    ("hole.bare", holed(hole_mm=40.0)),
    ("hole.small", holed(hole_mm=2.0, protection="grommet")),
    ("device.no_circuit", with_devices(replace(PLAN, circuits=()), block("near", 10.0, 20.0, node="a"))),
    ("device.no_circuit", with_devices(changed(replace(PLAN, circuits=()), "devices", "load", node=None,
        at_mm=(2_500.0, 900.0)), block("near", 10.0, node="a"))),
    ("route.none", changed(PLAN, "devices", "load", node=None, at_mm=(3_000.0, 700.0))),
    ("route.none", changed(PLAN, "channels", "c", groups=("signal",))),
    ("route.none", crossed()),
    ("route.none", gapped()),
    ("route.provisional", changed(PLAN, "channels", "c", known="assumed", state="unknown")),
    ("route.provisional", changed(checks.rib(state="unknown"), "channels", "c", runs_inside="rib", known="assumed")),
    ("route.pulled", pulled()),
    ("bore.overfull", narrow(bore=Bore(width_mm=3.0))),
    ("bore.overfull", narrow(bore=Bore(width_mm=3.0, height_mm=2.0))),
    ("bore.overfull", conduit()),
    ("separation.mains", with_mains(two_ways())),
    ("wire.visible", changed(PLAN, "channels", "c", visible=True)),
    ("fuse.holder", with_devices(checks.ways(5.0), block("other", 30.0, node="a"))),
    ("fuse.device", shared_fuse()),
    ("point.overloaded", with_devices(changed(PLAN, "devices", "source", electrical=Electrical(rating_a=4.0)),
        block("other", 30.0, node="a"))),
    ("size.ampacity", checks.circuit(section_mm2=0.5, current_a=40.0)),
    ("size.minimum", checks.circuit(section_mm2=0.5, smallest_section_mm2=4.0)),
    ("kind.order", unordered()),
    ("mains.earth", checks.changed(with_mains(two_ways()), "circuits", "M", conductors=("line", "neutral"))),
]  # fmt: skip

#: Findings with nothing to click: what to do has to be decided, measured or bought.
NONE = {"caution.mains", "device.clearance", "fuse.device", "fuse.holder", "device.no_circuit", "point.overloaded",
        "surface.outline"}  # fmt: skip


def found(of: Plan, code: str) -> Finding | None:
    return next((f for f in analyse(of, LIBRARY).findings if f.code == code), None)


@pytest.mark.parametrize(("code", "wrong"), WRONG, ids=lambda v: v if isinstance(v, str) else "")
def test_each_remedy_makes_its_finding_go_away(code: str, wrong: Plan) -> None:
    analysis = analyse(wrong, LIBRARY)
    finding = next((f for f in analysis.findings if f.code == code), None)
    if finding is None:
        pytest.fail(f"no {code} in {[f.code for f in analysis.findings]}")
    offered = remedies(finding, analysis, LIBRARY)
    assert offered or code in NONE
    assert len({r.label for r in offered}) == len(offered)
    for remedy in offered:
        after = remedy.apply(wrong)
        assert problems(after) == (), remedy.label
        assert codec.decode(codec.encode(after)) == after
        assert not stands(finding, analyse(after, LIBRARY)), remedy.label
        assert remedy.gain
        assert remedy.label[0].isupper()


def labels(code: str, of: Plan) -> list[str]:
    finding = found(of, code)
    assert finding is not None
    return [r.label for r in remedies(finding, analyse(of, LIBRARY), LIBRARY)]


def test_the_size_that_is_offered_is_the_smallest_that_holds() -> None:
    """5 A over 3 m and back on 12 V, 1 % = 0.12 V: 0.12 V / (5 A x 6 m) = 4.0 mohm/m. Copper at 60 C (x 1.157): the
    20 C value must be below 3.46 mohm/m; IEC 60228 class 5 has 3.30 for 6 mm2 and 4.95 for 4 mm2 (ISO 6722: 3.14,
    4.71)."""
    wrong = checks.circuit(section_mm2=0.5, drop_percent=1.0)
    assert labels("size.drop", wrong) == ["Make Light 6 mm²", "Let the size of Light be chosen"]


def test_a_crowded_device_is_moved_by_what_its_clearance_lacks() -> None:
    """49 mm free of 50: 5 mm, the next step of the tape. In a cabinet with 35 mm on every side nothing helps."""
    assert labels("device.clearance", checks.asking(checks.beside(149.0))) == ["Move Load 5 mm on Floor"]
    assert labels("device.clearance", checks.asking(checks.boxed(50.0))) == []


def test_a_way_of_another_block_or_a_swap_is_offered_for_a_small_holder() -> None:
    of = with_devices(checks.ways(5.0), block("other", 30.0, node="a"))
    assert "Move Light to other" in labels("fuse.holder", of)
    small, large = Way(id="w", largest_a=5.0), Way(id="v", largest_a=30.0)
    lamp = Device(id="lamp", name="Lamp", kind="light", surface="floor", at_mm=NODES["b"], node="b",
                  electrical=Electrical(current_a=1.0))  # fmt: skip
    stops = (Stop(id="0", device="source", way="v", role="source"), Stop(id="1", device="lamp", after="0"))
    of = changed(checks.ways(5.0), "devices", "source", ways=(small, large))
    of = replace(of, devices=(*of.devices, lamp), circuits=(*of.circuits, Circuit(id="L", name="Lamp", stops=stops)))
    assert labels("fuse.holder", of) == ["Swap the ways of Light and Lamp"]


def test_a_full_bore_offers_both_costs() -> None:
    offered = labels("bore.overfull", narrow(bore=Bore(width_mm=3.0)))
    assert offered[0].startswith("Make c ")
    assert offered[1] == "Lead Light another way"


def test_a_part_that_moves_is_passed_outside_all_its_way() -> None:
    assert labels("moving.swept", drawer()) == ["Lead c round Drawer", "Lay c behind the panel"]


def test_a_grommet_is_no_remedy_for_heat_or_an_airbag() -> None:
    for code, wrong in WRONG:
        if code in ("rub.hot", "rub.airbag"):
            assert all("grommet" not in label and "trim" not in label for label in labels(code, wrong))
    hot = next(wrong for code, wrong in WRONG if code == "rub.hot")
    assert labels("rub.hot", hot)[0].startswith("Lead c round")


def test_a_hot_zone_is_passed_at_its_clearance() -> None:
    """The line ends at y = 500, the zone begins at 400 with 50 mm clearance: the way round is below 350."""
    hot = next(wrong for code, wrong in WRONG if code == "rub.hot")
    finding = found(hot, "rub.hot")
    assert finding is not None
    (after,) = (r.apply(hot) for r in remedies(finding, analyse(hot, LIBRARY), LIBRARY)[:1])
    via = after.channels[0].via_mm
    assert [round(x / 100) for x, _ in via] == [8, 16]
    assert all(330.0 < y < 350.0 for _, y in via)


def test_waiving_wants_a_reason_and_a_name_for_a_customer() -> None:
    finding = found(checks.rib(), "rub.rib")
    assert finding is not None
    felt = waiving(finding, "felt strip")
    after = felt.apply(checks.rib())
    assert not stands(finding, analyse(after, LIBRARY))
    with pytest.raises(EditRefused):
        waiving(finding, " ").apply(checks.rib())
    customer = replace(checks.rib(), build_for="customer")
    with pytest.raises(EditRefused):
        felt.apply(customer)
    assert waive(customer, finding.code, finding.subjects, "felt strip", by="A. Fitter")


def test_an_unknown_finding_has_no_remedy() -> None:
    odd = Finding(code="odd.one", severity="note", subjects=(), message="?")
    assert remedies(odd, analyse(PLAN, LIBRARY), LIBRARY) == ()
    assert isinstance(waiving(odd, "so"), Remedy)
