"""Every finding can appear and can go away: one small plan for each, wrong and right."""

from collections.abc import Callable

import pytest
from msgspec.structs import replace

from core.analysis.engine import analyse
from core.model import (
    Apart,
    Box,
    CableTableRow,
    Corner,
    Inside,
    KeepOutZone,
    MetalEdge,
    OnEdge,
    Opening,
    PassThrough,
    Plan,
    Protective,
    Rib,
    Seam,
    SecuringPoint,
    Surface,
    TapeKind,
    Waiver,
    Way,
    WrapStyle,
)
from tests.helpers.grid import LIBRARY, changed, channel, floor, plan

NODES = {"a": (200.0, 500.0), "b": (3_200.0, 500.0)}
PLAN = plan(NODES, (channel("c", "a", "b"),), "a", "b")


def codes(of: Plan) -> set[str]:
    return {finding.code for finding in analyse(of, LIBRARY).findings if not finding.waived}


def rib(**fields) -> Plan:
    return replace(
        PLAN,
        ribs=(
            Rib(
                **{
                    "id": "rib",
                    "surface": "floor",
                    "line_mm": ((1_000.0, 0.0), (1_000.0, 900.0)),
                    "width_mm": 60.0,
                    **fields,
                }
            ),
        ),
    )


def opening(**fields) -> Plan:
    outline = ((1_000.0, 300.0), (1_900.0, 300.0), (1_900.0, 700.0), (1_000.0, 700.0))
    return replace(
        PLAN, openings=(Opening(**{"id": "o", "name": "Window", "surface": "floor", "outline": outline, **fields}),)
    )


def protect(of: Plan, *at_mm: float) -> Plan:
    rows = (PassThrough(id=f"p{i}", channel="c", at_mm=at, protection="grommet") for i, at in enumerate(at_mm))
    return replace(of, pass_throughs=tuple(rows))


def second(of: Plan, **fields) -> Plan:
    corners = ((0.0, 0.0), (500.0, 0.0), (500.0, 500.0), (0.0, 500.0))
    row = Surface(
        id="second", name="Second", corners=tuple(Corner(id=str(i), at_mm=p) for i, p in enumerate(corners, 1))
    )
    return replace(of, surfaces=(*of.surfaces, replace(row, **fields)))


def circuit(**fields) -> Plan:
    return changed(PLAN, "circuits", "C", **fields)


def load(**fields) -> Plan:
    device = PLAN.devices[1]
    return changed(PLAN, "devices", "load", electrical=replace(device.electrical, **fields))


def bent(leg_mm: float, **fields) -> Plan:
    nodes = {"a": (200.0, 500.0), "b": (200.0 + leg_mm, 500.0 + leg_mm)}
    return plan(nodes, (channel("c", "a", "b", via_mm=((200.0 + leg_mm, 500.0),), **fields),), "a", "b")


def wrapped(width_mm: float) -> Plan:
    tape = TapeKind(
        id="t", name="tape", width_mm=width_mm, thickness_mm=0.2, roll_mm=25_000, source="x", known="memory"
    )
    style = WrapStyle(id="w", name="half-lap", tape="t")
    assumptions = replace(PLAN.assumptions, wrap="w")
    return replace(PLAN, tape_kinds=(tape,), wrap_styles=(style,), assumptions=assumptions)


def ways(largest_a: float) -> Plan:
    stops = (replace(PLAN.circuits[0].stops[0], way="w"), PLAN.circuits[0].stops[1])
    return changed(circuit(stops=stops), "devices", "source", ways=(Way(id="w", largest_a=largest_a),))


def seam(at_mm: float) -> Plan:
    """The second surface lies apart; its pose is that of a wall on the floor's first edge, `at_mm` from its start."""
    from core.model import Fold

    fold = Fold(
        line=OnEdge(edge="1"), parent="floor", parent_line=OnEdge(edge="1", from_mm=0.0, to_mm=500.0), fold_deg=90.0
    )
    plan_ = second(PLAN, fold=fold, apart=Apart(at_mm=(9_000.0, 0.0)))
    line = Inside(start_mm=(at_mm, 0.0), end_mm=(500.0 + at_mm, 0.0))
    return replace(plan_, seams=(Seam(id="seam", a="floor", a_line=line, b="second", b_line=OnEdge(edge="1")),))


def asking(of: Plan, **fields) -> Plan:
    """The load, 100 by 100 mm at (3,200, 500), asks for 50 mm free around it."""
    return changed(of, "devices", "load", **{"clearance_mm": 50.0, **fields})


def beside(away_mm: float) -> Plan:
    """Another device of 100 by 100 mm, its middle so far from that of the load."""
    other = replace(PLAN.devices[1], id="other", name="Other", at_mm=(3_200.0, 500.0 + away_mm), node=None)
    return replace(PLAN, devices=(*PLAN.devices, other))


def boxed(beyond_mm: float, **fields) -> Plan:
    """The load in a cabinet with walls of 15 mm whose outside is so far from its footprint; below 0 none is around it,
    and one stands so far away."""
    room = 50.0 + beyond_mm
    low, high = ((3_200.0 - room, 500.0 - room), (3_200.0 + room, 500.0 + room))
    if beyond_mm < 0:
        low, high = (3_250.0 - beyond_mm, 400.0), (3_600.0, 600.0)
    outline = (low, (high[0], low[1]), high, (low[0], high[1]))
    box = Box(id="box", name="Cabinet", surface="floor", outline=outline, height_mm=500.0, wall_mm=15.0)
    return replace(PLAN, boxes=(replace(box, **fields),))


def passed_by(y_mm: float) -> Plan:
    """A bundle of another circuit that passes the load at this height of the floor, from 2,500 to 3,900 mm."""
    nodes = {**NODES, "p": (2_500.0, y_mm), "q": (3_900.0, y_mm)}
    both = plan(nodes, (channel("c", "a", "b"), channel("past", "p", "q")), "a", "b")
    ends = (("first", "p"), ("last", "q"))
    more = tuple(replace(d, id=i, name=i, at_mm=nodes[n], node=n) for d, (i, n) in zip(both.devices, ends, strict=True))
    of = both.circuits[0]
    row = replace(
        of, id="P", name="Passing", stops=tuple(replace(s, device=i) for s, (i, _) in zip(of.stops, ends, strict=True))
    )
    return replace(both, devices=(*both.devices, *more), circuits=(of, row))


WRONG_AND_RIGHT: list[tuple[str, Plan, Plan]] = [
    ("rub.rib", rib(), protect(rib(), 800.0)),
    ("rub.rib", rib(), changed(rib(), "channels", "c", kind="split_conduit")),
    ("rub.rib", rib(), changed(rib(), "channels", "c", runs_inside="rib")),
    ("rub.opening", opening(), protect(opening(), 800.0, 1_700.0)),
    ("rub.opening", opening(), opening(cut_edge=False)),
    ("securing.gap", opening(), PLAN),
    (
        "rub.metal_edge",
        replace(PLAN, metal_edges=(MetalEdge(id="e", surface="floor", line_mm=((900.0, 0.0), (900.0, 900.0))),)),
        replace(
            PLAN,
            metal_edges=(MetalEdge(id="e", surface="floor", line_mm=((900.0, 0.0), (900.0, 900.0)), protected=True),),
        ),
    ),
    (
        "rub.box_wall",
        replace(
            PLAN,
            boxes=(
                Box(
                    id="b1",
                    name="Cabinet",
                    surface="floor",
                    outline=((900.0, 0.0), (1_500.0, 0.0), (1_500.0, 900.0), (900.0, 900.0)),
                    height_mm=800.0,
                ),
            ),
        ),
        PLAN,
    ),
    (
        "rub.airbag",
        replace(
            PLAN,
            zones=(
                KeepOutZone(
                    id="z", surface="floor", kind="airbag", outline=((900.0, 0.0), (1_500.0, 0.0), (1_500.0, 900.0))
                ),
            ),
        ),
        PLAN,
    ),
    ("bend.tight", bent(20.0), bent(400.0)),
    ("bend.tight", bent(400.0, bend_mm=10.0), bent(400.0, bend_mm=200.0)),
    ("wrap.impossible", wrapped(60.0), wrapped(9.0)),
    ("device.outside", changed(PLAN, "devices", "load", at_mm=(9_000.0, 500.0)), PLAN),
    ("device.opening", changed(opening(), "devices", "load", at_mm=(1_200.0, 500.0)), opening()),
    (
        "device.opening",
        changed(opening(kind="door"), "devices", "load", at_mm=(1_200.0, 500.0)),
        changed(opening(kind="roof_fan"), "devices", "load", at_mm=(1_200.0, 500.0)),
    ),
    ("device.no_circuit", replace(PLAN, circuits=()), PLAN),
    ("device.clearance", asking(beside(149.0)), asking(beside(151.0))),
    ("device.clearance", asking(beside(149.0)), asking(beside(149.0), clearance_mm=0.0)),
    ("device.clearance", asking(beside(151.0), turn_deg=45.0), asking(beside(175.0), turn_deg=45.0)),
    ("device.clearance", asking(beside(149.0)), asking(beside(149.0), outdoors=True)),
    ("device.clearance", asking(boxed(50.0)), asking(boxed(130.0))),
    ("device.clearance", asking(boxed(-40.0)), asking(boxed(-40.0), clearance_mm=10.0)),
    (
        "device.clearance",
        asking(boxed(50.0, base_mm=90.0), depth_mm=50.0),
        asking(boxed(50.0, base_mm=101.0), depth_mm=50.0),
    ),
    ("device.clearance", asking(passed_by(590.0), kind="heater"), asking(passed_by(620.0), kind="heater")),
    ("device.clearance", asking(passed_by(590.0), kind="heater"), asking(passed_by(590.0), kind="pump")),
    ("fuse.holder", ways(5.0), ways(40.0)),
    ("fuse.rating", circuit(protective=Protective(rating_a=7.0)), circuit(protective=Protective(rating_a=7.5))),
    ("fuse.device", load(largest_fuse_a=5.0), load(largest_fuse_a=10.0)),
    (
        "fuse.missing",
        circuit(protective=Protective(kind="none")),
        circuit(protective=Protective(kind="none", reason="fused inside the charger")),
    ),
    (
        "fuse.distance",
        circuit(protective=Protective(distance_mm=900.0)),
        circuit(protective=Protective(distance_mm=100.0)),
    ),
    (
        "point.overloaded",
        changed(PLAN, "devices", "source", electrical=replace(PLAN.devices[0].electrical, rating_a=4.0)),
        PLAN,
    ),
    ("size.parallel", circuit(parallel=2), PLAN),
    ("size.drop_ends", circuit(section_mm2=1.0, drop_percent=5.8), circuit(section_mm2=1.5, drop_percent=5.8)),
    ("size.drop", circuit(section_mm2=0.5, drop_percent=1.0), circuit(drop_percent=5.0)),
    ("size.fuse", circuit(section_mm2=0.5, protective=Protective(rating_a=30.0)), PLAN),
    (
        "cable.cores",
        circuit(wire_kind=PLAN.assumptions.wire_kind, as_cable=True),
        PLAN,
    ),
    (
        "mains.earth",
        circuit(group="mains", conductors=("line", "neutral")),
        circuit(group="mains", conductors=("line", "neutral", "protective_earth")),
    ),
    ("caution.mains", circuit(group="mains", conductors=("line", "neutral", "protective_earth")), PLAN),
    ("circuit.no_kind", circuit(group="antenna", conductors=("antenna",)), PLAN),
    ("sheet.overlap", second(PLAN, apart=Apart(at_mm=(100.0, 100.0))), second(PLAN, apart=Apart(at_mm=(9_000.0, 0.0)))),
    ("seam.open", seam(300.0), seam(0.0)),
    (
        "surface.outline",
        replace(PLAN, surfaces=(replace(floor(), corners=(*floor().corners[:2], *floor().corners[:1:-1])),)),
        PLAN,
    ),
    ("surface.no_floor", replace(PLAN, surfaces=(replace(floor(), role="other"),)), PLAN),
    ("channel.place", changed(second(PLAN), "channels", "c", surface="second"), PLAN),
]


@pytest.mark.parametrize(("code", "wrong", "right"), WRONG_AND_RIGHT, ids=lambda v: v if isinstance(v, str) else "")
def test_a_finding_appears_and_goes(code: str, wrong: Plan, right: Plan) -> None:
    assert code in codes(wrong)
    assert code not in codes(right)


def test_the_makers_cable_table_decides() -> None:
    rows = (CableTableRow(up_to_mm=2_500, section_mm2=2.5), CableTableRow(up_to_mm=4_000, section_mm2=6.0))
    sized = analyse(load(maker_table=rows), LIBRARY).sized["C-1F"]  # the route is 3,000 mm
    assert (sized.section_mm2, sized.decided_by) == (6.0, "maker's table")


def test_points_of_the_user_are_kept_and_count() -> None:
    """ISO 10133 7.3: conductors supported at most every 450 mm."""
    own = replace(PLAN, securing_points=(SecuringPoint(id="own", channel="c", at_mm=777.0, kind="p_clip"),))
    rows = analyse(own, LIBRARY).securing
    assert [(r.at_mm, r.kind) for r in rows if r.user] == [(777.0, "p_clip")]
    places = [r.at_mm for r in rows]
    assert max(b - a for a, b in zip(places, places[1:], strict=False)) <= 450.0


def test_a_waived_finding_keeps_its_reason_and_a_customer_sees_it() -> None:
    waived = replace(rib(), waivers=(Waiver(id="w", code="rub.rib", reason="felt strip"),))
    (finding,) = [f for f in analyse(waived, LIBRARY).findings if f.code == "rub.rib"]
    assert finding.waived == "felt strip"
    loud: Callable[[str], set[str]] = lambda whom: codes(  # noqa: E731
        replace(
            circuit(protective=Protective(kind="none")),
            build_for=whom,
            waivers=(Waiver(id="w", code="fuse.missing", reason="no"),),
        )
    )
    assert "waiver.customer" in loud("customer")
    assert "waiver.customer" not in loud("self")


def test_findings_come_with_the_severe_ones_first() -> None:
    both = replace(circuit(protective=Protective(kind="none")), ribs=rib().ribs)
    severities = [f.severity for f in analyse(both, LIBRARY).findings]
    assert severities == sorted(severities, key=("error", "warning", "note").index)


def test_clearance_of_a_device_is_told_once_with_what_is_there() -> None:
    both = changed(asking(beside(130.0)), "devices", "other", clearance_mm=80.0)
    (found,) = (f for f in analyse(both, LIBRARY).findings if f.code == "device.clearance")
    assert found.subjects == ("other", "load")
    assert (found.value, found.limit, found.unit) == (pytest.approx(30.0), 80.0, "mm")
    assert found.message == "Other asks for 80 mm free around it, where there is Load at 30 mm."
    assert found.source == "clearance in the data of the device"
