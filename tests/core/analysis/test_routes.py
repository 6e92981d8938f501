"""Which way wires go: groups, blocked and unknown channels, waypoints, bores, doors, holes."""

import pytest
from msgspec.structs import replace

from core.analysis.engine import Analyser, analyse
from core.model import (
    Bore,
    Corner,
    Device,
    Fold,
    InPenetration,
    MovingJoint,
    Node,
    OnEdge,
    OnLine,
    OnSurface,
    Penetration,
    Plan,
    Rib,
    Surface,
)
from tests.helpers.grid import KIND, LIBRARY, MAINS_KIND, changed, channel, floor, plan

NODES = {"a": (0.0, 0.0), "b": (3_000.0, 0.0), "top": (1_500.0, 800.0), "far": (1_500.0, 1_600.0)}
# straight 3,000; over the top 2 x 1,700; over the far node 2 x 2,193.2
CHANNELS = (
    channel("straight", "a", "b"),
    channel("up", "a", "top"),
    channel("down", "top", "b"),
    channel("far up", "a", "far"),
    channel("far down", "far", "b"),
)
PLAN = plan(NODES, CHANNELS, "a", "b")


def way(of: Plan, wire: str = "C-1F") -> list[str]:
    return [step.channel for step in analyse(of, LIBRARY).routes[wire].steps]


def codes(of: Plan) -> set[str]:
    return {finding.code for finding in analyse(of, LIBRARY).findings}


def test_the_shortest_way_is_taken_and_its_length_is_exact() -> None:
    analysis = analyse(PLAN, LIBRARY)
    assert way(PLAN) == ["straight"]
    assert analysis.routes["C-1F"].route_mm == 3_000.0
    size = analysis.circuit_sizes["C"]
    assert (size.one_way_mm, size.there_and_back_mm) == (3_000.0, 6_000.0)


def test_a_blocked_channel_is_gone_round() -> None:
    assert way(changed(PLAN, "channels", "straight", state="blocked")) == ["up", "down"]


def test_blocked_inside_a_rib_means_blocked() -> None:
    rib = Rib(id="rib", surface="floor", line_mm=((0.0, 0.0), (3_000.0, 0.0)), width_mm=40.0, state="blocked")
    inside = changed(replace(PLAN, ribs=(rib,)), "channels", "straight", runs_inside="rib")
    assert way(inside) == ["up", "down"]
    unknown = replace(inside, ribs=(replace(rib, state="unknown"),))
    assert analyse(unknown, LIBRARY).routes["C-1F"].provisional


def test_an_unknown_channel_is_used_and_said_to_be_provisional() -> None:
    # 3,000 mm count as 3,750 while it is unknown: the way over the top, 3,400 mm, is taken instead
    assert way(changed(PLAN, "channels", "straight", state="unknown")) == ["up", "down"]
    only = replace(PLAN, channels=(replace(CHANNELS[0], state="unknown"),))
    analysis = analyse(only, LIBRARY)
    assert analysis.routes["C-1F"].provisional
    assert all(piece.provisional for piece in analysis.pieces)
    assert "route.provisional" in codes(only)


def test_a_visible_way_is_avoided_when_a_hidden_one_is_not_much_longer() -> None:
    seen = changed(PLAN, "channels", "straight", visible=True)
    assert way(seen) == ["up", "down"]
    assert "wire.visible" in codes(replace(PLAN, channels=(replace(CHANNELS[0], visible=True),)))


def test_a_spare_duct_stays_empty() -> None:
    assert way(changed(PLAN, "channels", "straight", spare_duct=True)) == ["up", "down"]


def test_mains_keeps_to_its_own_channels() -> None:
    """Separation of mains and low voltage: ISO 10133 7.8, NEC 552.10(C)(3)."""
    mains = changed(
        PLAN, "circuits", "C", group="mains", conductors=("line", "neutral", "protective_earth"), as_cable=True
    )
    assert "route.none" in codes(mains)
    opened = changed(changed(mains, "channels", "up", groups=("mains",)), "channels", "down", groups=("mains",))
    assert way(opened, "C-1L") == ["up", "down"] == way(opened, "C-1E")[::-1]
    analysis = analyse(opened, LIBRARY)
    assert [item.wires for item in analysis.bundles["up"].items] == [("C-1L", "C-1N", "C-1E")]  # one cable
    assert analysis.pieces[0].kind == MAINS_KIND.id
    assert len(analysis.pieces) == 1


def test_mains_and_low_voltage_in_one_channel_is_an_error() -> None:
    both = replace(
        PLAN,
        channels=tuple(replace(c, groups=("mains", "dc_power")) for c in CHANNELS),
        circuits=(
            *PLAN.circuits,
            replace(PLAN.circuits[0], id="M", group="mains", conductors=("line", "neutral", "protective_earth")),
        ),
    )
    assert "separation.mains" in codes(both)


def test_waypoints_are_passed_in_order() -> None:
    stops = (PLAN.circuits[0].stops[0], replace(PLAN.circuits[0].stops[1], waypoints=("far",)))
    told = changed(PLAN, "circuits", "C", stops=stops)
    assert way(told) == ["far up", "far down"]
    assert way(told, "C-1R") == ["far down", "far up"]


def test_a_wire_without_a_way_has_no_length_and_a_finding() -> None:
    cut = replace(PLAN, channels=(CHANNELS[1],))
    analysis = analyse(cut, LIBRARY)
    assert analysis.routes["C-1F"].route_mm is None
    assert analysis.sized["C-1F"].drop_v is None
    assert analysis.sized["C-1F"].drop_percent is None
    assert analysis.pieces == ()
    (finding,) = [f for f in analysis.findings if f.code == "route.none"]
    assert "Source to Load" in finding.message
    assert finding.severity == "error"


def test_a_device_that_joins_no_channel_is_named() -> None:
    loose = changed(PLAN, "devices", "load", node=None)
    assert any("Load joins no channel" in f.message for f in analyse(loose, LIBRARY).findings)


def test_a_full_bore_is_said_with_both_costs_and_nothing_moves() -> None:
    tight = changed(PLAN, "channels", "straight", kind="closed_conduit", bore=Bore(width_mm=3.0))
    assert way(tight) == ["straight"]
    (finding,) = [f for f in analyse(tight, LIBRARY).findings if f.code == "bore.overfull"]
    assert finding.limit == 31.0  # NEC Chapter 9 Table 1, two conductors
    assert "+0.80 m" in finding.message  # there and back over the top: 2 x 400 mm
    assert "a bore of" in finding.message.lower()


def _crowded(straight_mm: float, **over_the_top: object) -> Plan:
    """Three circuits of 1, 1 and 4 mm2 in one bore; the way over the top is 400 mm longer."""
    of = changed(PLAN, "channels", "straight", kind="closed_conduit", bore=Bore(width_mm=straight_mm))
    first = of.circuits[0]
    names = (("D", "Fan", 1.0), ("E", "Fridge", 4.0))
    more = tuple(replace(first, id=i, name=n, section_mm2=mm2) for i, n, mm2 in names)
    of = replace(of, circuits=(replace(first, section_mm2=1.0), *more))
    for channel_id in [c.id for c in of.channels if c.id != "straight"]:
        of = changed(of, "channels", channel_id, **over_the_top)
    return of


def test_a_detour_takes_out_the_largest_circuits_until_the_rest_fits() -> None:
    """Sum of squares by hand: fill = sum d2 / D2, 40 % for three and more, 31 % for two (NEC Chapter 9 Table 1)."""
    od = {s.section_mm2: s.od_mm for s in KIND.sizes}
    four = (4 * od[1.0] ** 2 / 0.40) ** 0.5  # what the four small wires need
    two = (2 * od[1.0] ** 2 / 0.31) ** 0.5
    for width, circuits in ((four + 0.2, ("E",)), (max(two, 2 * od[1.0]) + 0.2, ("E", "C"))):
        (finding,) = [f for f in analyse(_crowded(width), LIBRARY).findings if f.code == "bore.overfull"]
        assert finding.subjects == ("straight", *circuits)
        assert f"{len(circuits) * 2 * 0.4:+.2f} m of wire" in finding.message
        kg = sum(2 * 0.4 * next(s.mass_g_per_m for s in KIND.sizes if s.section_mm2 == {"E": 4.0}.get(c, 1.0))
                 for c in circuits) / 1000  # fmt: skip
        assert f"{kg:+.2f} kg" in finding.message


def test_a_detour_may_not_fill_another_bore() -> None:
    of = _crowded(4.0, kind="closed_conduit", bore=Bore(width_mm=3.0))
    (finding,) = [f for f in analyse(of, LIBRARY).findings if f.code == "bore.overfull"]
    assert "which would be too full then" in finding.message
    assert finding.subjects == ("straight",)


def test_a_bore_that_fits_is_no_finding() -> None:
    wide = changed(PLAN, "channels", "straight", kind="closed_conduit", bore=Bore(width_mm=12.0))
    assert "bore.overfull" not in codes(wide)


def _door(passage: str, joint: str | None = None) -> Plan:
    """The floor with a leaf folded at its far end; the load is on the leaf."""
    leaf = Surface(
        id="leaf",
        name="Rear leaf",
        role="door",
        corners=tuple(
            Corner(id=str(i), at_mm=at)
            for i, at in enumerate(((0.0, 0.0), (1_000.0, 0.0), (1_000.0, 900.0), (0.0, 900.0)), 1)
        ),
        fold=Fold(
            line=OnEdge(edge="1"),
            parent="floor",
            parent_line=OnEdge(edge="2", from_mm=0.0, to_mm=1_000.0),
            fold_deg=90.0,
            passage=passage,
            joint=joint,
        ),
    )
    nodes = (
        Node(id="a", place=OnSurface(surface="floor", at_mm=(1_000.0, 500.0))),
        Node(id="fold", place=OnLine(surface="floor", edge="2", at_mm=500.0)),
        Node(id="lamp", place=OnSurface(surface="leaf", at_mm=(500.0, 600.0))),
    )
    channels = (channel("on floor", "a", "fold"), channel("on leaf", "fold", "lamp", surface="leaf"))
    base = replace(PLAN, surfaces=(floor(), leaf), nodes=nodes, channels=channels)
    devices = (
        replace(PLAN.devices[0], node="a", at_mm=(1_000.0, 500.0)),
        replace(PLAN.devices[1], node="lamp", surface="leaf", at_mm=(500.0, 600.0)),
    )
    joints = (MovingJoint(id="joint", name="Door loop", open_mm=350.0, closed_mm=200.0),) if joint else ()
    return replace(base, devices=devices, moving_joints=joints)


def test_a_free_fold_is_passed_at_its_true_length() -> None:
    assert analyse(_door("free"), LIBRARY).routes["C-1F"].route_mm == pytest.approx(3_000.0 + 600.0)


def test_a_door_edge_is_not_passed() -> None:
    assert "route.none" in codes(_door("none"))


def test_a_moving_joint_is_passed_with_the_wire_it_needs_open() -> None:
    analysis = analyse(_door("moving_joint", "joint"), LIBRARY)
    route = analysis.routes["C-1F"]
    assert route.joint_mm == 350.0
    assert route.route_mm == pytest.approx(3_000.0 + 350.0 + 600.0)


def test_a_penetration_joins_two_surfaces() -> None:
    plate = replace(floor(), id="under", name="Underside", role="other", side="outside")
    hole = Penetration(
        id="hole", a="floor", a_mm=(2_000.0, 1_000.0), b="under", b_mm=(2_000.0, 1_000.0), thickness_mm=60.0
    )
    nodes = (
        Node(id="a", place=OnSurface(surface="floor", at_mm=(1_000.0, 1_000.0))),
        Node(id="through", place=InPenetration(penetration="hole")),
        Node(id="lamp", place=OnSurface(surface="under", at_mm=(2_000.0, 400.0))),
    )
    channels = (channel("above", "a", "through"), channel("below", "through", "lamp", surface="under"))
    devices: tuple[Device, ...] = (
        replace(PLAN.devices[0], node="a", at_mm=(1_000.0, 1_000.0)),
        replace(PLAN.devices[1], node="lamp", surface="under", at_mm=(2_000.0, 400.0)),
    )
    through = replace(
        PLAN, surfaces=(floor(), plate), penetrations=(hole,), nodes=nodes, channels=channels, devices=devices
    )
    analysis = analyse(through, LIBRARY)
    assert analysis.routes["C-1F"].route_mm == pytest.approx(1_600.0 + 60.0)
    (crossing,) = [c for c in analysis.crossings if c.kind == "hole"]
    assert crossing.with_ == "hole"
    assert not crossing.protected
    assert "hole.bare" in {f.code for f in analysis.findings}


def test_a_measured_channel_needs_no_surface() -> None:
    air = replace(PLAN, channels=(channel("air", "a", "b", surface=None, measured_mm=1_234.0),))
    assert analyse(air, LIBRARY).routes["C-1F"].route_mm == 1_234.0


def test_moving_a_device_off_its_node_adds_a_fall() -> None:
    moved = changed(PLAN, "devices", "load", at_mm=(3_000.0, 120.0))
    assert analyse(moved, LIBRARY).routes["C-1F"].route_mm == pytest.approx(3_120.0)
    typed = changed(moved, "devices", "load", fall_mm=500.0)
    assert analyse(typed, LIBRARY).routes["C-1F"].route_mm == pytest.approx(3_500.0)


def test_a_drag_keeps_the_wire_of_a_moving_joint() -> None:
    door = _door("moving_joint", "joint")
    analyser = Analyser(LIBRARY)
    held = analyser.analyse(door)
    moved = changed(door, "devices", "load", at_mm=(500.0, 700.0))
    route = analyser.estimate(moved, held).routes["C-1F"]
    assert route.joint_mm == 350.0
    assert route.route_mm == pytest.approx(3_000.0 + 350.0 + 600.0 + 100.0)
    assert route.route_mm == analyse(moved, LIBRARY).routes["C-1F"].route_mm
