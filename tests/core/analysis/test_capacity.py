"""Room in bores and holes: jam, spare room, plugs, wraps that are pulled, pull force."""

import pytest
from msgspec.structs import replace

from core.analysis.engine import analyse
from core.analysis.results import Finding
from core.model import Bore, Connector, OnSurface, PassThrough, Plan, Stop
from tests.helpers.grid import LIBRARY, changed, channel, plan

NODES = {"a": (200.0, 500.0), "b": (3_200.0, 500.0)}
PLAN = plan(NODES, (channel("c", "a", "b"),), "a", "b")


def findings(of: Plan, code: str) -> list[Finding]:
    return [f for f in analyse(of, LIBRARY).findings if f.code == code]


def three_wires(bore_times: float) -> Plan:
    """Three wires of one size in a round bore of that many diameters."""
    of = changed(PLAN, "circuits", "C", parallel=3, section_mm2=2.5, conductors=("feed",))
    od = analyse(of, LIBRARY).sized["C-1F"].od_mm
    return changed(of, "channels", "c", kind="closed_conduit", bore=Bore(width_mm=bore_times * od))


def test_three_alike_wires_jam_between_2_8_and_3_2() -> None:
    """NEC Chapter 9 Table 1, informational note 2 (read)."""
    assert not findings(three_wires(2.7), "bore.jam")
    (found,) = findings(three_wires(3.0), "bore.jam")
    assert found.value == pytest.approx(3.0)
    assert not findings(three_wires(3.3), "bore.jam")


def test_a_bore_that_is_nearly_full_says_what_is_left() -> None:
    """Three wires may fill 40 % (NEC Chapter 9 Table 1, read): 3 d2 / D2 = 0.38 at D = 2.81 d."""
    (found,) = findings(three_wires(2.81), "bore.nearly_full")
    assert found.value == pytest.approx(300 / 2.81**2)
    assert found.limit == 40.0
    assert not findings(three_wires(3.5), "bore.nearly_full")


def test_spare_ducts_want_a_string() -> None:
    duct = channel("s", "a", "b", spare_duct=True, kind="closed_conduit")
    assert findings(replace(PLAN, channels=(*PLAN.channels, duct)), "duct.no_string")
    drawn = replace(duct, draw_string=True)
    assert not findings(replace(PLAN, channels=(*PLAN.channels, drawn)), "duct.no_string")


def with_hole(hole_mm: float) -> Plan:
    row = PassThrough(id="p", channel="c", at_mm=1_500.0, hole_mm=hole_mm, protection="grommet")
    return replace(PLAN, pass_throughs=(row,))


def test_a_plug_has_to_pass_every_hole_of_its_wires() -> None:
    plug = Connector(id="k", name="Plug", place=OnSurface(surface="floor", at_mm=(3_210.0, 500.0)), width_mm=18.0)
    (found,) = findings(replace(with_hole(12.0), connectors=(plug,)), "hole.plug")
    assert found.subjects == ("k", "p")
    assert (found.value, found.limit) == (18.0, 12.0)
    assert not findings(replace(with_hole(20.0), connectors=(plug,)), "hole.plug")
    elsewhere = replace(plug, place=OnSurface(surface="floor", at_mm=(1_700.0, 1_500.0)))
    assert not findings(replace(with_hole(12.0), connectors=(elsewhere,)), "hole.plug")


def test_a_hole_on_the_way_is_a_quarter_wider_than_the_bundle() -> None:
    """FAA AC 43.13-1B 11-249 (read)."""
    bundle = analyse(PLAN, LIBRARY).bundles["c"].diameter_laid_mm
    (found,) = findings(with_hole(bundle * 1.1), "hole.small")
    assert found.limit == pytest.approx(1.25 * bundle)
    assert not findings(with_hole(bundle * 1.3), "hole.small")


def wrapped(of: Plan, style: str) -> Plan:
    row = next(s for s in LIBRARY.wrap_styles if s.id == style)
    tapes = tuple(t for t in LIBRARY.tape_kinds if t.id == row.tape)
    return replace(of, wrap_styles=(row,), tape_kinds=tapes, assumptions=replace(of.assumptions, wrap=style))


def test_a_wrapped_bundle_that_cannot_be_pulled_through() -> None:
    tight = analyse(PLAN, LIBRARY).bundles["c"].diameter_tight_mm
    assert findings(wrapped(with_hole(tight), "wrap-half-lap-cloth"), "hole.slide")
    assert not findings(with_hole(tight), "hole.slide")  # without wrap it goes
    assert not findings(wrapped(with_hole(40.0), "wrap-half-lap-cloth"), "hole.slide")


def test_tape_whose_glue_grabs_is_told_in_a_narrow_hole_only() -> None:
    outside = analyse(wrapped(PLAN, "wrap-half-lap"), LIBRARY).wrap[0].outside_mm
    assert findings(wrapped(with_hole(outside), "wrap-half-lap"), "hole.drag")
    assert not findings(wrapped(with_hole(outside * 1.3), "wrap-half-lap"), "hole.drag")
    assert not findings(wrapped(with_hole(outside), "wrap-half-lap-cloth"), "hole.drag")


def zigzag(turns: int) -> Plan:
    """A closed conduit with that many quarter turns."""
    points = [(200.0, 500.0)]
    for k in range(turns + 1):
        x, y = points[-1]
        points.append((x + 250.0, y) if k % 2 == 0 else (x, y + 250.0 * (1 if k % 4 == 1 else -1)))
    ends, via = {"a": points[0], "b": points[-1]}, tuple(points[1:-1])
    return plan(ends, (channel("c", "a", "b", kind="closed_conduit", via_mm=via, bore=Bore(width_mm=60.0)),), "a", "b")


def test_many_bends_pull_too_hard() -> None:
    def heavy(of: Plan) -> Plan:
        return changed(of, "circuits", "C", section_mm2=6.0, parallel=8)

    assert not findings(heavy(zigzag(2)), "pull.hard")
    (found,) = findings(heavy(zigzag(12)), "pull.hard")
    assert "estimate" in found.message
    assert found.limit == 300.0
    assert found.value is not None
    assert found.value > 300.0
    split = changed(heavy(zigzag(12)), "channels", "c", kind="split_conduit")
    assert not findings(split, "pull.hard")  # it opens: nothing is pulled


def test_two_circuits_count_with_all_their_wires() -> None:
    """A connector belongs to every wire that passes its node."""
    stops = (Stop(id="0", device="source", role="source"), Stop(id="1", device="load", after="0"))
    both = replace(with_hole(12.0), circuits=(*PLAN.circuits, replace(PLAN.circuits[0], id="D", stops=stops)))
    plug = Connector(id="k", place=OnSurface(surface="floor", at_mm=NODES["a"]), width_mm=18.0)
    assert len(findings(replace(both, connectors=(plug,)), "hole.plug")) == 1


def test_one_measured_bundle_tells_the_hand_of_its_maker() -> None:
    """Packed tight d, measured 1.3 d: bundles laid the same way are taken 1.3 times as thick as packed, others not."""
    nodes = {"a": (200.0, 500.0), "m": (1_500.0, 500.0), "b": (3_200.0, 500.0)}
    of = plan(nodes, (channel("c", "a", "m"), channel("d", "m", "b")), "a", "b")
    tight = analyse(of, LIBRARY).bundles["c"].diameter_tight_mm
    known = changed(of, "channels", "c", measured_diameter_mm=1.3 * tight)
    bundles = analyse(known, LIBRARY).bundles
    assert bundles["c"].diameter_laid_mm == pytest.approx(1.3 * tight)
    assert bundles["d"].diameter_laid_mm == pytest.approx(1.3 * tight)
    combed = analyse(changed(known, "channels", "d", lay="combed"), LIBRARY).bundles["d"]
    assert combed.diameter_laid_mm == pytest.approx(1.05 * tight)
    assert not findings(known, "bundle.measured")
    (found,) = findings(changed(of, "channels", "c", measured_diameter_mm=0.8 * tight), "bundle.measured")
    assert found.limit == pytest.approx(tight)


@pytest.mark.parametrize(("lay", "factor"), [("by_hand", 1.1), ("combed", 1.05), ("loose", 1.25)])
def test_every_lay_has_its_factor(lay: str, factor: float) -> None:
    bundle = analyse(changed(PLAN, "channels", "c", lay=lay), LIBRARY).bundles["c"]
    assert bundle.diameter_laid_mm == pytest.approx(factor * bundle.diameter_tight_mm)
