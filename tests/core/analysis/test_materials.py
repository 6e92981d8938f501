"""What to buy and what comes off which spool, for small plans counted by hand."""

from math import ceil

import pytest
from msgspec.structs import replace

from core.analysis.bought_fixings import tie_for
from core.analysis.engine import analyse
from core.analysis.materials import fuse_count
from core.analysis.results import Material
from core.analysis.wire_ends import shrink_for
from core.edits.supplies import set_pack
from core.harness.wrap import rolls_without_joints
from core.model import (
    Bore,
    Device,
    InPenetration,
    MetalEdge,
    Node,
    Panel,
    PassThrough,
    Penetration,
    Plan,
    Port,
    Rib,
    StockSpool,
    Stop,
    WireKind,
    WireSize,
    WrapStyle,
    find,
)
from core.tables.labels import labels
from core.tables.spots import spots_by_surface
from tests.helpers.grid import KIND, LIBRARY, changed, channel, plan

NODES = {"a": (50.0, 500.0), "b": (3_950.0, 500.0)}
PLAN = plan(NODES, (channel("c", "a", "b"),), "a", "b")


def bought(of: Plan) -> dict[str, Material]:
    return {row.item: row for row in analyse(of, LIBRARY).materials}


def codes(of: Plan) -> set[str]:
    return {f.code for f in analyse(of, LIBRARY).findings}


def test_a_bare_harness_counted_by_hand() -> None:
    """3,900 mm of way and two wires; ten bonded mounts, each with its tie, and ties every 150 mm (profile) between."""
    rows = bought(PLAN)
    analysis = analyse(PLAN, LIBRARY)
    mounts = [r for name, r in rows.items() if name.startswith("Bonded mount")]
    assert [row.quantity for row in mounts] == [10 + 1]  # 10 % spares, whole parts
    ties = [r for name, r in rows.items() if name.startswith("Cable tie")]
    used = 10 + 3_900 // 150
    assert [row.quantity for row in ties] == [used + ceil(0.1 * used)]
    metres = sum(r.quantity for name, r in rows.items() if name.startswith(KIND.name))
    assert metres == pytest.approx(sum(p.cut_mm for p in analysis.pieces) / 1000, abs=0.2)
    assert rows["label, wrap-around"].quantity == 4 + 1
    assert sum(r.quantity for name, r in rows.items() if name.startswith("fuse")) == 2  # one and its spare


def test_terminals_go_by_stud_way_and_section() -> None:
    studs = changed(PLAN, "devices", "load", ports=(Port(id="p", role="feed", stud_mm=8.0),))
    section = analyse(studs, LIBRARY).sized["C-1F"].section_mm2
    rows = bought(studs)
    assert rows[f"ring terminal M8, {section:g} mm²"].quantity == 2  # the feed's end, and a spare
    assert rows[f"ferrule or crimp joint, {section:g} mm²"].quantity == 3 + 1
    assert sum(1 for name in rows if name.startswith("heat-shrink")) == 1


def test_heat_shrink_goes_over_the_barrel() -> None:
    assert [shrink_for(d) for d in (1.2, 3.0, 9.0, 40.0)] == [2.4, 4.8, 19.1, None]


def test_ties_by_width_then_by_reach() -> None:
    """Widths by bundle are common practice, no source; reach of nylon ties: 100 mm closes round 22 mm, 200 mm of 4.8
    round 50 mm (makers' typical values, memory). A heavy cable gets no 2.5 mm tie."""

    def tie(bundle_mm: float, heavy: bool = False) -> tuple[float | None, float]:
        part = tie_for(bundle_mm, LIBRARY.fixing_kinds, heavy)
        assert part is not None
        return part.width_mm, part.largest_bundle_mm

    assert tie(8.0) == (2.5, 22)
    assert tie(15.0) == (3.6, 35)
    assert tie(30.0) == (4.8, 50)
    assert tie(60.0) == (7.6, 80)
    assert tie(9.0, heavy=True) == (4.8, 50)
    assert tie(140.0) == (9.0, 150)  # nothing narrower reaches
    assert tie_for(500.0, LIBRARY.fixing_kinds) is None
    plain = tuple(replace(f, width_mm=None) for f in LIBRARY.fixing_kinds)
    assert tie_for(20.0, plain) == min(
        (f for f in plain if f.kind == "cable_tie" and "nylon, 2.5 x 100" in f.name), key=lambda f: f.id
    )


def test_one_cable_has_one_label_at_each_end() -> None:
    """Labels that are bought are those of the label paper; the cores of a cable have none of their own."""
    kind = WireKind(
        id="flex", name="Flex", cores=2, insulation_c=70, source="test", known="common practice",
        sizes=(WireSize(section_mm2=1.5, od_mm=8.0, r20_ohm_per_km=13.3, mass_g_per_m=90),
               WireSize(section_mm2=6.0, od_mm=11.0, r20_ohm_per_km=3.3, mass_g_per_m=200)),
    )  # fmt: skip
    of = replace(PLAN, wire_kinds=(*PLAN.wire_kinds, kind))
    of = changed(of, "circuits", "C", wire_kind="flex", as_cable=True)
    analysis = analyse(of, LIBRARY)
    assert len(analysis.wires) == 2
    assert len(analysis.pieces) == 1
    assert bought(of)["label, wrap-around"].why.endswith("2 in use, 1 spare")
    board = Panel(id="p", name="Board", surface="floor", outline=((900.0, 0.0), (4_000.0, 0.0), (4_000.0, 900.0),
                                                                 (900.0, 900.0)))  # fmt: skip
    of = replace(of, panels=(board,))
    assert bought(of)["label, wrap-around"].why.endswith(f"{len(labels(analyse(of, LIBRARY)))} in use, 1 spare")
    assert len(labels(analyse(of, LIBRARY))) == 3


def test_a_link_with_a_holder_at_either_end_takes_two_fuses() -> None:
    nodes = {**NODES, "m": (60.0, 500.0), "n": (3_940.0, 500.0)}
    row = (channel("c0", "a", "m"), channel("c", "m", "n"), channel("c1", "n", "b"))
    of = plan(nodes, row, "a", "b")
    holders = tuple(
        Device(id=f"holder {n}", name=f"Holder {n}", kind="fuse", surface="floor", at_mm=nodes[n], node=n)
        for n in ("m", "n")
    )
    first, load = of.circuits[0].stops

    def link(*names: str, **protective: object) -> int:
        series = tuple(
            Stop(id=n, device=f"holder {n}", role="series", after=before)
            for n, before in zip(names, (first.id, *names), strict=False)
        )
        stops = (first, *series, replace(load, after=names[-1] if names else first.id))
        circuit = replace(of.circuits[0], stops=stops, protective=replace(of.circuits[0].protective, **protective))
        return fuse_count(circuit, {d.id: d for d in (*of.devices, *holders)})

    assert link() == 1
    assert link("m") == 1  # the fuse that protects it sits in that holder
    assert link("m", "n") == 2
    assert link("n", device="source") == 2


def test_one_hole_named_twice_is_bought_and_drilled_once() -> None:
    """A penetration and a pass-through at the end of the channel that comes to it are one hole."""
    hole = Penetration(
        id="hole", a="floor", a_mm=(2_000.0, 500.0), b="floor", b_mm=(2_000.0, 500.0), hole_mm=20.0, protection="gland"
    )
    nodes = (*PLAN.nodes, Node(id="h", place=InPenetration(penetration="hole")))
    of = replace(PLAN, nodes=nodes, channels=(channel("c", "a", "h"), channel("d", "h", "b")), penetrations=(hole,))
    again = PassThrough(id="p", channel="c", at_mm=1_930.0, kind="gland", hole_mm=20.0, protection="gland")

    def glands(of: Plan) -> float:
        return sum(row.quantity for name, row in bought(of).items() if name.startswith("Gland"))

    assert glands(of) == 2  # one and its spare
    assert glands(replace(of, pass_throughs=(again,))) == 2
    assert glands(replace(of, pass_throughs=(replace(again, at_mm=1_000.0),))) > 2
    spots = spots_by_surface(analyse(replace(of, pass_throughs=(again,)), LIBRARY))
    assert sum(spot.kind == "hole" for spot in spots["floor"]) == 2  # the hole on both its sides, and no third


def test_packs_and_prices_of_the_plan() -> None:
    part = next(f for f in LIBRARY.fixing_kinds if f.id == "fixing-mount-bonded-19")
    of = replace(PLAN, fixing_kinds=(replace(part, pack=25, price=0.4),))
    row = bought(of)[part.name]
    assert (row.quantity, row.pack, row.packs, row.price) == (11, 25, 1, pytest.approx(10.0))


def test_packs_and_prices_that_the_owner_typed() -> None:
    """5 labels in packs of 100 at 0.05: one pack, 5.00; without a price of its own an item has none."""
    of = set_pack(PLAN, "label, wrap-around", 100, 0.05)
    row = bought(of)["label, wrap-around"]
    assert (row.quantity, row.pack, row.packs, row.price) == (5, 100, 1, pytest.approx(5.0))
    assert bought(PLAN)["label, wrap-around"].price is None
    part = next(f for f in LIBRARY.fixing_kinds if f.id == "fixing-mount-bonded-19")
    of = replace(PLAN, fixing_kinds=(replace(part, pack=25, price=0.4),))
    row = bought(set_pack(of, part.name, 4, None))[part.name]
    assert (row.packs, row.price) == (3, pytest.approx(12 * 0.4))  # 11 wanted, three packs of four


def test_waste_and_spares_are_the_plans() -> None:
    bare = replace(PLAN, assumptions=replace(PLAN.assumptions, spares_percent=0.0, waste_percent=50.0))
    edges = (MetalEdge(id="e", surface="floor", line_mm=((900.0, 0.0), (900.0, 900.0))),)
    of = replace(bare, metal_edges=edges)
    (crossing,) = analyse(of, LIBRARY).crossings
    assert bought(of)["edge trim"].quantity == ceil(crossing.length_mm / 1000 * 1.5 * 10) / 10
    held = [r.quantity for n, r in bought(of).items() if n.startswith(("Bonded", "Edge clip"))]
    assert held == [9, 1]  # the edge holds one of the ten


def test_a_hollow_rib_takes_a_grommet_in_either_wall() -> None:
    """A rib that stands out from the skin is hollow (pressed sheet; common practice, no source): in and out are two
    holes. A strip of no depth has one, a batten of wood rubs nothing."""

    def grommets(of: Plan) -> float:
        plain = replace(of, assumptions=replace(of.assumptions, spares_percent=0.0))
        return sum(row.quantity for name, row in bought(plain).items() if name.startswith("Grommet"))

    rib = Rib(id="r", surface="floor", line_mm=((1_000.0, 0.0), (1_000.0, 2_000.0)), width_mm=60.0, depth_mm=35.0)
    of = replace(PLAN, ribs=(rib,))
    (crossing,) = analyse(of, LIBRARY).crossings
    assert "through both its walls, best where they have holes already; in each a hole of" in crossing.remedy
    assert grommets(of) == 2
    assert grommets(replace(PLAN, ribs=(replace(rib, depth_mm=0.0),))) == 1
    assert grommets(replace(PLAN, ribs=(replace(rib, material="timber"),))) == 0
    one = PassThrough(id="p", channel="c", at_mm=crossing.at_mm, hole_mm=crossing.size_mm, protection="grommet")
    assert grommets(replace(of, pass_throughs=(one,))) == 2  # one mark for the rib, its two walls
    each = (replace(one, at_mm=one.at_mm - 30.0), replace(one, id="q", at_mm=one.at_mm + 30.0))
    assert grommets(replace(of, pass_throughs=each)) == 2
    away = replace(one, at_mm=one.at_mm + 500.0)
    assert grommets(replace(of, pass_throughs=(away,))) == 3  # a wall elsewhere, and the rib's own


def test_conduit_trunking_and_draw_strings() -> None:
    conduit = next(c for c in LIBRARY.conduit_kinds if c.id == "conduit-pliable-20")
    of = replace(changed(PLAN, "channels", "c", kind="closed_conduit", conduit=conduit.id), conduit_kinds=(conduit,))
    assert bought(of)[conduit.name].quantity == 4.1  # 3.9 m and 5 %
    trunk = changed(PLAN, "channels", "c", kind="trunking", bore=Bore(width_mm=40.0, height_mm=25.0))
    assert bought(trunk)["trunking, inside 40 x 25 mm"].quantity == 4.1
    spare = replace(
        PLAN,
        channels=(*PLAN.channels, channel("s", "a", "b", spare_duct=True, draw_string=True, kind="closed_conduit")),
    )
    assert bought(spare)["draw string"].quantity == ceil(4.9 * 1.05 * 10) / 10
    assert bought(spare)["closed conduit"].quantity == 4.1


@pytest.mark.parametrize("style", ["wrap-split-conduit", "wrap-sleeve"])
def test_what_is_slipped_over_a_bundle_is_bought(style: str) -> None:
    row = next(s for s in LIBRARY.wrap_styles if s.id == style)
    tapes = tuple(t for t in LIBRARY.tape_kinds if t.id == row.tape)
    of = replace(PLAN, wrap_styles=(row,), tape_kinds=tapes, assumptions=replace(PLAN.assumptions, wrap=style))
    (wrap,) = analyse(of, LIBRARY).wrap
    assert wrap.part in bought(of)
    assert wrap.minutes > 0
    assert wrap.outside_mm > analyse(of, LIBRARY).bundles["c"].diameter_laid_mm


def test_split_conduit_placed_by_hand_is_bought_unless_the_channel_lies_in_it() -> None:
    over = PassThrough(id="p", channel="c", at_mm=1_000.0, kind="edge", protection="split_conduit")
    of = replace(PLAN, conduit_kinds=LIBRARY.conduit_kinds)

    def metres(of: Plan) -> float:
        return sum(row.quantity for name, row in bought(of).items() if name.startswith("Split conduit"))

    assert metres(of) == 0
    assert 0 < metres(replace(of, pass_throughs=(over,))) < 0.5
    laid = changed(of, "channels", "c", kind="split_conduit")
    assert metres(replace(laid, pass_throughs=(over,))) == metres(laid) == 4.1
    style = next(s for s in LIBRARY.wrap_styles if s.id == "wrap-split-conduit")
    slipped = replace(of, wrap_styles=(style,), assumptions=replace(of.assumptions, wrap=style.id))
    assert metres(replace(slipped, pass_throughs=(over,))) == metres(slipped) > 0


def test_two_layers_take_more_than_twice_the_tape() -> None:
    """The second pass goes over the first: pi (D + 2 layers x 2 t + t) instead of pi (D + t)."""
    tape = next(t for t in LIBRARY.tape_kinds if t.id == "tape-cloth-pet-19")
    assumptions = replace(PLAN.assumptions, wrap="w")

    def used(passes: int) -> float:
        style = WrapStyle(id="w", name="w", tape=tape.id, overlap=0.5, passes=passes)
        of = replace(PLAN, wrap_styles=(style,), tape_kinds=(tape,), assumptions=assumptions)
        return analyse(of, LIBRARY).wrap[0].tape_mm

    diameter = analyse(PLAN, LIBRARY).bundles["c"].diameter_laid_mm
    more = (diameter + 4 * tape.thickness_mm + tape.thickness_mm) / (diameter + tape.thickness_mm)
    assert used(2) / used(1) == pytest.approx(1 + more, rel=1e-9)


def test_rolls_without_joints() -> None:
    """62 m in one stretch off rolls of 25 m: two whole ones and 12 m of a third. Three stretches of 15 m need three,
    although two hold 45 m; 10 m fit the rest of one of them."""
    assert rolls_without_joints([62_000.0], 25_000.0) == 3
    assert rolls_without_joints([15_000.0] * 3, 25_000.0) == 3
    assert rolls_without_joints([15_000.0] * 3 + [10_000.0], 25_000.0) == 3
    assert rolls_without_joints([], 25_000.0) == 0


def test_a_piece_longer_than_every_spool_is_never_spliced_silently() -> None:
    short = replace(KIND, spools_m=(2.0,))
    of = replace(PLAN, wire_kinds=(short, *PLAN.wire_kinds[1:]))
    assert "cutting.too_long" in codes(of)
    assert "cutting.too_long" not in codes(PLAN)
    assert {row.problem for row in analyse(of, LIBRARY).cutting} == {"too long"}


def test_remnants_are_used_and_named() -> None:
    section = analyse(PLAN, LIBRARY).sized["C-1F"].section_mm2
    rest = StockSpool(id="rest", kind=KIND.id, section_mm2=section, colour="RD", left_mm=6_000.0)
    analysis = analyse(replace(PLAN, spools=(rest,)), LIBRARY)
    (row,) = (r for r in analysis.cutting if r.stock == "rest")
    assert row.piece == "C-1F"
    assert row.waste_mm == pytest.approx(6_000.0 - row.cut_mm - PLAN.assumptions.kerf_mm)
    (red,) = (p for p in analysis.spool_plans if p.colour == "RD")
    assert (red.new_spools, red.spools, red.proven) == (0, 1, True)


def test_cuts_over_assumed_stretches_wait() -> None:
    assert "cutting.provisional" in codes(changed(PLAN, "channels", "c", known="assumed"))
    assert "cutting.provisional" not in codes(PLAN)


def test_an_unproven_plan_shows_its_gap() -> None:
    from dataclasses import replace as with_

    from core.analysis.checks.cutting import unproven

    analysis = analyse(PLAN, LIBRARY)
    open_ = replace(analysis.spool_plans[0], proven=False, new_spools=7, spools=7, least_new=6, least_spools=6)
    (finding,) = unproven(with_(analysis, spool_plans=(open_,)))
    assert (finding.value, finding.limit) == (7.0, 6.0)
    assert find(PLAN, "circuits", "C").id in finding.subjects
    assert not list(unproven(analysis))
