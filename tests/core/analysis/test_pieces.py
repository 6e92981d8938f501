"""Cut lengths: route and named allowances, by hand."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from core.analysis.engine import analyse
from core.edits.start import DRIP_LOOP_MM
from core.harness.bend import outside_of_bend_mm
from core.model import PassThrough, Plan, Port
from tests.helpers.grid import LIBRARY, changed, channel, plan
from tests.helpers.wired import wired

NODES = {"a": (200.0, 500.0), "b": (3_200.0, 500.0)}
BARE = plan(NODES, (channel("c", "a", "b"),), "a", "b")
PLAN = replace(BARE, assumptions=replace(BARE.assumptions, drip_loop_mm=DRIP_LOOP_MM))


def allowances(of: Plan, piece: str = "C-1F") -> dict[str, float]:
    (row,) = (p for p in analyse(of, LIBRARY).pieces if p.piece == piece)
    assert row.cut_mm == pytest.approx(row.route_mm + sum(a.length_mm for a in row.allowances), abs=1e-9)
    return {a.name: a.length_mm for a in row.allowances}


def test_a_wire_of_three_metres_by_hand() -> None:
    """Defaults of the trade (common practice, no source): 300 mm in the panel, 150 mm at the device, 3 % but at least
    100 mm. 3,000 + 300 + 150 + 50 + 100 = 3,600 mm, which is round already."""
    assert allowances(PLAN) == {"end at from": 300.0, "end at to": 150.0, "service loop": 50.0, "tolerance": 100.0}


def test_the_tolerance_is_three_percent_of_a_long_wire() -> None:
    long = plan({"a": (0.0, 500.0), "b": (3_700.0, 500.0)}, (channel("c", "a", "b"),), "a", "b")
    found = allowances(long)
    assert found["tolerance"] == pytest.approx(111.0)
    # 3,700 + 300 + 150 + 50 + 111 = 4,311: nine more make it a round 4,320
    assert found["rounding"] == pytest.approx(9.0)


def test_the_most_particular_end_wins() -> None:
    device = changed(PLAN, "devices", "source", end_allowance_mm=220.0)
    assert allowances(device)["end at from"] == 220.0
    port = changed(device, "devices", "source", ports=(Port(id="p", role="feed", end_allowance_mm=90.0),))
    assert allowances(port)["end at from"] == 90.0


def test_rounding_can_be_off() -> None:
    off = replace(PLAN, assumptions=replace(PLAN.assumptions, round_up_mm=0.0, service_loop_mm=51.5))
    assert "rounding" not in allowances(off)


@settings(max_examples=20)
@given(st.floats(0, 40), st.floats(0, 20), st.floats(0, 300))
def test_what_is_cut_is_route_and_allowances(step_mm: float, percent: float, loop_mm: float) -> None:
    of = wired()
    of = replace(
        of,
        assumptions=replace(of.assumptions, round_up_mm=step_mm, tolerance_percent=percent, service_loop_mm=loop_mm),
    )
    analysis = analyse(of, LIBRARY)
    given_ = sum(a.length_mm for p in analysis.pieces for a in p.allowances)
    assert analysis.totals.cut_mm == pytest.approx(sum(p.route_mm for p in analysis.pieces) + given_, abs=1e-6)
    for piece in analysis.pieces:
        assert step_mm <= 1e-3 or math.isclose(piece.cut_mm / step_mm, round(piece.cut_mm / step_mm), abs_tol=1e-6)


def test_the_outer_wire_of_a_bend_by_arcs() -> None:
    """A quarter turn of a 20 mm bundle on a middle radius of 10 mm: its edge runs on 20 mm, pi / 2 x 20 = 31.4 mm,
    between legs of 10 mm each, 20 mm: 11.4 mm more."""
    assert outside_of_bend_mm(10.0, 90.0, 20.0) == pytest.approx(math.pi / 2 * 20.0 - 2 * 10.0)
    assert outside_of_bend_mm(200.0, 90.0, 20.0) == 0.0  # a wide bend cuts its corner


def test_a_sharp_corner_asks_for_more_on_its_outside() -> None:
    nodes = {"a": (200.0, 500.0), "b": (700.0, 1_000.0)}
    bent = plan(nodes, (channel("c", "a", "b", via_mm=((700.0, 500.0),), bend_mm=0.5),), "a", "b")
    assert 0.0 < allowances(bent)["outside of bends"] < 10.0
    wide = changed(bent, "channels", "c", bend_mm=200.0)
    assert "outside of bends" not in allowances(wide)


def _loops(of: Plan) -> set[float]:
    return {
        sum(a.length_mm for a in piece.allowances if a.name == "drip loop") for piece in analyse(of, LIBRARY).pieces
    }


def test_a_wire_that_comes_in_from_outside_hangs_in_a_drip_loop() -> None:
    """One loop of 100 mm (common practice, no source) wherever water could run along the wire into the vehicle."""
    assert _loops(PLAN) == {0.0}
    assert _loops(changed(PLAN, "devices", "load", outdoors=True)) == {100.0}
    assert _loops(changed(PLAN, "devices", "source", kind="shore_inlet")) == {100.0}  # whichever end it is
    gland = PassThrough(id="p", channel=PLAN.channels[0].id, at_mm=900.0, kind="gland", protection="gland")
    assert _loops(replace(PLAN, pass_throughs=(gland,))) == {100.0}
    box = replace(gland, kind="hole", protection="cable_entry_box")
    assert _loops(replace(PLAN, pass_throughs=(box,))) == {100.0}
    assert _loops(replace(PLAN, pass_throughs=(replace(box, protection="grommet"),))) == {0.0}
    below = changed(PLAN, "channels", PLAN.channels[0].id, kind="underfloor")
    assert _loops(below) == {200.0}  # in at either end
    outside = replace(below, devices=tuple(replace(d, outdoors=True) for d in below.devices))
    assert _loops(outside) == {0.0}  # nothing comes in
    bare = replace(below, assumptions=replace(below.assumptions, drip_loop_mm=0.0))
    assert _loops(bare) == {0.0}
