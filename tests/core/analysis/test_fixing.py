"""Securing points of whole plans: spacing by rule, bends, breakouts, terminals, parts, screws, what is in the way.

Spacings: ISO 10133:2012 7.3 (450 mm) and 7.4 (300 mm for battery conductors), read; BS 7671 721.522.8.1.3 (250 mm
horizontal, 400 mm vertical for mains), from memory. What part suits which ground is common practice, no source.
"""

from itertools import pairwise

import pytest
from msgspec.structs import replace

from core.analysis.engine import analyse
from core.analysis.results import SecuringRow
from core.harness.fastening import kinds_for, panel_screw_mm, part_of, rib_screw_mm, screw_mm
from core.model import (
    Circuit,
    Corner,
    Device,
    Electrical,
    Fold,
    KeepOutZone,
    MovingPart,
    Node,
    OnEdge,
    OnSurface,
    Opening,
    Panel,
    PassThrough,
    Plan,
    Rib,
    SecuringPoint,
    Stop,
    Surface,
)
from tests.helpers.grid import LIBRARY, changed, channel, plan

NODES = {"a": (50.0, 500.0), "b": (3_950.0, 500.0)}
PLAN = plan(NODES, (channel("c", "a", "b"),), "a", "b")


def rows(of: Plan, name: str = "c") -> list[SecuringRow]:
    return [row for row in analyse(of, LIBRARY).securing if row.channel == name]


def places(of: Plan, name: str = "c") -> list[float]:
    return [row.at_mm for row in rows(of, name)]


def codes(of: Plan) -> set[str]:
    return {finding.code for finding in analyse(of, LIBRARY).findings}


def test_a_channel_of_3_9_m_has_the_fewest_points() -> None:
    """Ends held within e = 50 mm (the first point of a wire is never farther than 100 mm from its device, here it sits
    on its node): (3,900 - 2 x 100) / 450 = 8.2, so ten points; at 300 mm 12.3, so fourteen."""
    assert len(places(PLAN)) == 10
    leads = changed(PLAN, "circuits", "C", kind="battery_lead")
    assert len(places(leads)) == 14
    for of, span in ((PLAN, 450.0), (leads, 300.0)):
        assert places(of)[0] <= 100.0
        assert 3_900.0 - places(of)[-1] <= 100.0
        assert all(b - a <= span + 1e-6 for a, b in pairwise(places(of)))


def test_mains_is_held_closer_and_upright_less_close() -> None:
    """BS 7671 721.522.8.1.3 (from memory): 250 mm along, 400 mm up."""
    mains = changed(PLAN, "circuits", "C", group="mains", conductors=("line", "neutral", "protective_earth"))
    mains = changed(mains, "channels", "c", groups=("mains",))
    along = places(mains)
    assert max(b - a for a, b in pairwise(along)) <= 250.0 + 1e-6
    assert "250 mm apart, BS 7671" in rows(mains)[0].why
    wall = Surface(
        id="wall",
        name="Wall",
        corners=tuple(
            Corner(id=str(i), at_mm=at)
            for i, at in enumerate(((0.0, 0.0), (4_000.0, 0.0), (4_000.0, 2_000.0), (0.0, 2_000.0)), 1)
        ),
        fold=Fold(line=OnEdge(edge="1"), parent="floor", parent_line=OnEdge(edge="3"), fold_deg=90.0),
    )
    nodes = {"a": (500.0, 100.0), "b": (500.0, 1_900.0)}
    up = plan(nodes, (channel("c", "a", "b", surface="wall", groups=("mains",)),), "a", "b")
    up = replace(
        up,
        surfaces=(*up.surfaces, wall),
        nodes=tuple(Node(id=n, place=OnSurface(surface="wall", at_mm=at)) for n, at in nodes.items()),
        devices=tuple(replace(d, surface="wall") for d in up.devices),
        circuits=(replace(up.circuits[0], group="mains", conductors=("line", "neutral", "protective_earth")),),
    )
    steps = [b - a for a, b in pairwise(places(up))]
    assert 250.0 < max(steps) <= 400.0 + 1e-6


def test_never_inside_a_bend_but_on_both_sides_of_it() -> None:
    nodes = {"a": (100.0, 100.0), "b": (1_600.0, 1_600.0)}
    of = plan(nodes, (channel("c", "a", "b", via_mm=((1_600.0, 100.0),), bend_mm=120.0),), "a", "b")
    bundle = analyse(of, LIBRARY).bundles["c"]
    tangent = 120.0 + bundle.diameter_laid_mm / 2  # a quarter turn: the tangent is the radius of the middle
    found = places(of)
    assert not [at for at in found if abs(at - 1_500.0) < tangent - 1e-6]
    assert [at for at in found if 1_500.0 - tangent - 100.0 <= at <= 1_500.0 - tangent + 1e-6]
    assert [at for at in found if 1_500.0 + tangent - 1e-6 <= at <= 1_500.0 + tangent + 100.0]


def branch() -> Plan:
    """The trunk c, c2 runs on from node m, a branch d leaves there."""
    nodes = {"a": (50.0, 500.0), "m": (2_000.0, 500.0), "b": (3_950.0, 500.0), "e": (2_000.0, 1_900.0)}
    channels = (channel("c", "a", "m"), channel("c2", "m", "b"), channel("d", "m", "e"))
    of = plan(nodes, channels, "a", "b")
    lamp = Device(
        id="lamp", name="Lamp", kind="light", surface="floor", at_mm=nodes["e"], node="e",
        electrical=Electrical(current_a=2.0),
    )  # fmt: skip
    stops = (Stop(id="0", device="source", role="source"), Stop(id="1", device="lamp", after="0"))
    return replace(of, devices=(*of.devices, lamp), circuits=(*of.circuits, Circuit(id="D", name="Lamp", stops=stops)))


def test_every_branch_is_held_at_a_breakout() -> None:
    of = branch()
    assert 1_950.0 - places(of, "c")[-1] <= 150.0
    assert places(of, "c2")[0] <= 150.0
    assert places(of, "d")[0] <= 150.0


def test_a_device_on_the_way_is_held_on_one_side_and_the_spacing_goes_on() -> None:
    """Lamps in a row: every one has a point at hand, no two neighbours along the row are farther apart than 450 mm."""
    xs = (50.0, 700.0, 1_350.0, 2_000.0)
    nodes = {f"n{k}": (x, 500.0) for k, x in enumerate(xs)}
    row = tuple(channel(f"c{k}", f"n{k}", f"n{k + 1}") for k in range(3))
    of = plan(nodes, row, "n0", "n3")
    lamps = tuple(
        Device(
            id=f"lamp{k}", name="Lamp", kind="light", surface="floor", at_mm=nodes[f"n{k}"], node=f"n{k}",
            electrical=Electrical(current_a=1.0),
        )
        for k in (1, 2)
    )  # fmt: skip
    of = replace(of, devices=(*of.devices, *lamps))
    along = sorted(xs[k] - 50.0 + at for k in range(3) for at in places(of, f"c{k}"))
    assert all(b - a <= 450.0 + 1e-6 for a, b in pairwise(along))
    assert all(min(abs(at - (x - 50.0)) for at in along) <= 100.0 for x in xs)
    assert len(along) == 6  # 1,950 mm in 450 mm steps, both ends near a device: five spaces and what falls short


def rib(**fields) -> Rib:
    line = ((1_000.0, 0.0), (1_000.0, 2_000.0))
    return Rib(**{"id": "rib", "surface": "floor", "line_mm": line, "width_mm": 60.0, **fields})


def test_what_is_fixed_to_and_with_what() -> None:
    on_rib = next(r for r in rows(replace(PLAN, ribs=(rib(depth_mm=40.0),))) if r.on == "rib")
    assert (on_rib.kind, on_rib.screw_mm) == ("tie_mount", 16.0)
    assert abs(on_rib.at_mm - 950.0) <= 30.0
    assert {r.kind for r in rows(PLAN)} == {"bonded_mount"}  # bare skin is not drilled
    board = replace(PLAN, surfaces=(replace(PLAN.surfaces[0], material="plywood", thickness_mm=12.0),))
    assert {(r.kind, r.screw_mm) for r in rows(board)} == {("tie_mount", 12.0)}
    thin = replace(PLAN, surfaces=(replace(PLAN.surfaces[0], material="plywood", thickness_mm=4.0),))
    assert {(r.kind, r.screw_mm) for r in rows(thin)} == {("bonded_mount", None)}
    below = changed(PLAN, "channels", "c", kind="underfloor")
    assert {r.kind for r in rows(below)} == {"p_clip"}
    duct = changed(PLAN, "channels", "c", kind="trunking")
    assert {r.kind for r in rows(duct)} == {"screw"}  # by its back


def test_nobody_drills_the_outer_skin_for_a_bundle() -> None:
    """Common practice, no source: walls, roof and doors of sheet metal are bonded to, from either side."""
    wall = replace(PLAN, surfaces=(replace(PLAN.surfaces[0], role="wall"),))
    assert {r.kind for r in rows(wall)} == {"bonded_mount"}
    assert {r.kind for r in rows(changed(wall, "channels", "c", kind="closed_conduit"))} == {"bonded_mount"}
    assert {(r.kind, r.threaded) for r in rows(changed(wall, "channels", "c", kind="trunking"))} == {
        ("adhesive", False)
    }
    roof = replace(PLAN, surfaces=(replace(PLAN.surfaces[0], role="other", side="outside"),))
    assert {r.kind for r in rows(changed(roof, "channels", "c", kind="exterior"))} == {"bonded_mount"}
    below = rows(changed(PLAN, "channels", "c", kind="underfloor"))
    assert {(r.kind, r.threaded, r.screw_mm) for r in below} == {("p_clip", True, None)}
    assert {r.hole_mm for r in below} == {7.0}  # rivet nut M5, for the clip's hole of 5.3 mm (makers' values, memory)


def test_battery_cables_are_held_by_clips() -> None:
    """ABYC E-11 (from memory) asks for lined clamps or straps on battery cables; a thin tie is no hold for 50 mm2."""
    kind = replace(
        PLAN.wire_kinds[0],
        sizes=(replace(PLAN.wire_kinds[0].sizes[0], section_mm2=50.0, od_mm=13.5, r20_ohm_per_km=0.39),),
    )
    board = replace(
        PLAN, surfaces=(replace(PLAN.surfaces[0], material="plywood", thickness_mm=12.0),), wire_kinds=(kind,)
    )
    (clip,) = {(r.kind, r.part) for r in rows(board)}
    assert clip[0] == "p_clip"
    assert {r.heavy for r in rows(board)} == {True}
    assert {r.hole_mm for r in rows(board)} <= {3.5, 4.0}  # pilot holes


def test_no_fixing_sits_in_a_hole_or_on_a_rib_that_is_passed_inside() -> None:
    ribs = tuple(rib(id=f"r{x}", line_mm=((x, 0.0), (x, 2_000.0)), depth_mm=40.0) for x in (950.0, 1_900.0, 2_850.0))
    over = replace(PLAN, ribs=ribs)
    assert {r.on for r in rows(over)} >= {"r950.0", "r1900.0"}
    holes = tuple(
        PassThrough(id=f"p{k}", channel="c", at_mm=x - 50.0, hole_mm=22.0, protection="grommet")
        for k, x in enumerate((950.0, 1_900.0, 2_850.0))
    )
    through = replace(over, pass_throughs=holes)
    assert {r.on for r in rows(through)} == {"floor"}
    for x in (900.0, 1_850.0, 2_800.0):
        assert all(abs(at - x) >= 11.0 + 15.0 - 1e-6 for at in places(through))
    edge = replace(over, pass_throughs=tuple(replace(p, kind="edge") for p in holes))
    assert {r.on for r in rows(edge)} == {r.on for r in rows(over)}


@pytest.mark.parametrize("aside_mm", [-20.0, 0.0, 20.0])
def test_a_hole_moves_the_point_that_would_be_there(aside_mm: float) -> None:
    middle = places(PLAN)[4]
    hole = PassThrough(id="p", channel="c", at_mm=middle + aside_mm, hole_mm=22.0, protection="grommet")
    moved = places(replace(PLAN, pass_throughs=(hole,)))
    assert len(moved) == len(places(PLAN))
    assert all(abs(at - hole.at_mm) >= 11.0 + 15.0 - 1e-6 for at in moved)


def test_two_devices_a_hand_apart_share_a_point() -> None:
    near = plan({"a": (50.0, 500.0), "b": (230.0, 500.0)}, (channel("c", "a", "b"),), "a", "b")
    (at,) = places(near)
    assert 80.0 <= at <= 100.0  # within 100 mm of both
    for hole_mm in (75.0, 105.0):  # whose rims leave nothing of that
        hole = PassThrough(id="p", channel="c", at_mm=hole_mm, hole_mm=22.0, protection="grommet")
        assert not [at for at in places(replace(near, pass_throughs=(hole,))) if 80.0 <= at <= 100.0]


def test_the_part_takes_the_bundle_with_its_wrap() -> None:
    below = changed(PLAN, "channels", "c", kind="underfloor")
    (name,) = {r.part for r in rows(below)}
    part = next(f for f in LIBRARY.fixing_kinds if f.name == name)
    bundle = analyse(below, LIBRARY).bundles["c"].diameter_laid_mm
    smaller = [f for f in LIBRARY.fixing_kinds if f.kind == "p_clip" and f.largest_bundle_mm < part.largest_bundle_mm]
    assert bundle <= part.largest_bundle_mm
    assert all(f.largest_bundle_mm < bundle for f in smaller)


def test_glass_holds_nothing_and_says_so() -> None:
    glass = replace(PLAN, surfaces=(replace(PLAN.surfaces[0], material="glass"),))
    assert places(glass) == []
    (finding,) = [f for f in analyse(glass, LIBRARY).findings if f.code == "securing.gap"]
    assert "on glass" in finding.message
    assert finding.limit in (450.0, 100.0)
    with_ribs = replace(
        glass, ribs=tuple(rib(id=f"r{x}", line_mm=((x, 0.0), (x, 2_000.0))) for x in range(100, 3_901, 380))
    )
    assert "securing.gap" not in codes(with_ribs)
    assert {r.on for r in rows(with_ribs)} == {f"r{x}" for x in range(100, 3_901, 380)}


AREA = ((1_000.0, 300.0), (1_300.0, 300.0), (1_300.0, 700.0), (1_000.0, 700.0))


@pytest.mark.parametrize(
    "of",
    [
        replace(PLAN, openings=(Opening(id="x", name="Vent", surface="floor", outline=AREA),)),
        replace(PLAN, zones=(KeepOutZone(id="x", name="Vent", surface="floor", kind="hot", outline=AREA),)),
        replace(
            PLAN,
            moving_parts=(
                MovingPart(
                    id="x",
                    name="Vent",
                    surface="floor",
                    outline=tuple((x, y) for x, y in AREA if x < 1_100) + ((1_050.0, 700.0), (1_050.0, 300.0))[:1],
                    slide_mm=(250.0, 0.0),
                ),
            ),
        ),
    ],
    ids=("opening", "hot zone", "where a slide goes"),
)
def test_nothing_is_fixed_where_it_must_not_be(of: Plan) -> None:
    free = [at for at in places(of) if 950.0 < at < 1_250.0]
    assert free == []
    own = replace(of, securing_points=(SecuringPoint(id="p", channel="c", at_mm=1_100.0),))
    (finding,) = [f for f in analyse(own, LIBRARY).findings if f.code == "securing.place"]
    assert "Vent" in finding.message
    assert 1_100.0 in places(own)  # it stays where the user put it


def test_a_point_on_a_stretch_that_moves_is_told() -> None:
    of = replace(
        changed(PLAN, "channels", "c", moving=True), securing_points=(SecuringPoint(id="p", channel="c", at_mm=9),)
    )
    assert "securing.place" in codes(of)
    assert [r.user for r in rows(of)] == [True]


def test_wires_that_hang_free_for_long_are_told() -> None:
    assert "securing.fall" in codes(changed(PLAN, "devices", "load", fall_mm=700.0))
    assert "securing.fall" not in codes(changed(PLAN, "devices", "load", fall_mm=300.0))


def test_screws_of_a_panel_that_reach_the_bundle() -> None:
    outline = ((0.0, 0.0), (4_000.0, 0.0), (4_000.0, 2_000.0), (0.0, 2_000.0))
    of = replace(
        changed(PLAN, "channels", "c", kind="behind_panel", depth_mm=15.0),
        panels=(Panel(id="p", name="Board", surface="floor", outline=outline),),
    )
    (finding,) = [f for f in analyse(of, LIBRARY).findings if f.code == "securing.panel_screw"]
    bundle = analyse(of, LIBRARY).bundles["c"].diameter_laid_mm
    assert finding.value == pytest.approx(15.0 - bundle / 2 - 2.0)
    assert "securing.panel_screw" not in codes(changed(of, "channels", "c", depth_mm=60.0))


def test_screws_come_through_nothing() -> None:
    assert [screw_mm(t) for t in (4.0, 8.0, 10.0, 12.0, 15.0, 16.0, 40.0)] == [None, None, 10.0, 12.0, 12.0, 16.0, 16.0]
    for thick in range(1, 60):
        longest = screw_mm(float(thick))
        assert longest is None or longest - 2.0 <= thick - 2.0
    assert [rib_screw_mm(d) for d in (0.0, 10.0, 14.0, 40.0)] == [10.0, 10.0, 12.0, 16.0]
    assert panel_screw_mm(30.0, 20.0) == 18.0
    assert panel_screw_mm(5.0, 20.0) == 0.0


def test_parts_by_bore() -> None:
    clips = [f for f in LIBRARY.fixing_kinds if f.kind == "p_clip"]
    found = part_of(("p_clip",), 17.0, clips)
    assert found is not None
    assert found[1] is not None
    assert found[1].largest_bundle_mm == 19
    assert part_of(("p_clip",), 80.0, clips) is None
    assert part_of(("clip",), 80.0, clips) == ("clip", None)
    assert part_of((), 5.0, clips) is None
    assert kinds_for("nothing", 5.0, 10.0) == ()
    assert kinds_for("rib", 20.0, 30.0)[0] == "p_clip"
    assert kinds_for("edge", 5.0, 1.0) == ("edge_clip",)


def test_a_point_of_the_user_takes_the_part_of_its_kind() -> None:
    own = replace(PLAN, securing_points=(SecuringPoint(id="p", channel="c", at_mm=1_000.0, kind="p_clip"),))
    (row,) = [r for r in rows(own) if r.user]
    clips = [f for f in LIBRARY.fixing_kinds if f.kind == "p_clip" and f.largest_bundle_mm >= row.holds_mm]
    assert row.part == min(clips, key=lambda f: f.largest_bundle_mm).name


def test_channels_that_meet_on_a_rib_pass_it_once() -> None:
    nodes = {**NODES, "m": (1_000.0, 500.0)}
    of = plan(nodes, (channel("c", "a", "m"), channel("d", "m", "b")), "a", "b")
    of = replace(of, ribs=(rib(),))
    (crossing,) = [c for c in analyse(of, LIBRARY).crossings if c.with_ == "rib"]
    assert not crossing.protected
    grommet = PassThrough(id="p", channel="d", at_mm=10.0, hole_mm=12.0, protection="grommet")
    lined = replace(of, pass_throughs=(grommet,))
    (crossing,) = [c for c in analyse(lined, LIBRARY).crossings if c.with_ == "rib"]
    assert (crossing.channel, crossing.protected) == ("d", True)
    # the hole, 10 mm behind the node, keeps the last point of the other channel away as well
    assert all(950.0 - at + 10.0 >= 6.0 + 15.0 - 1e-6 for at in places(lined, "c"))
