"""Can I add: the answer is what the plan gives once the load is really there."""

import pytest
from msgspec.structs import replace

from core.analysis.engine import analyse
from core.errors import EditRefused
from core.files.references import problems
from core.model import Bore, Plan, find
from core.studies.can_i_add import can_i_add
from tests.helpers.grid import LIBRARY
from tests.helpers.wired import LEFT, wired

VAN = wired()
BLOCK = next(d for d in VAN.devices if d.kind == "fuse_block")


def ask(plan: Plan, current_a: float, at=(1_800.0, 900.0), surface: str = LEFT, **more):
    return can_i_add(analyse(plan, LIBRARY, "quick"), surface, at, current_a, LIBRARY, **more)


def test_a_small_load_near_a_channel_is_no_trouble() -> None:
    """3 A x 1.25 = 3.75 A asks for the 4 or 5 A blade fuse; the plan it gives is analysed anew and agrees."""
    answer = ask(VAN, 3.0).answers[0]
    assert answer.ok, answer.reasons
    assert answer.offer.source.id == BLOCK.id
    assert answer.offer.way is not None
    assert answer.fuse_a is not None
    assert 3.75 <= answer.fuse_a <= 5.0
    assert problems(answer.plan) == ()
    again = analyse(answer.plan, LIBRARY, "quick")
    assert again.circuit_sizes[answer.circuit].one_way_mm == answer.one_way_mm
    assert answer.cost.metres == pytest.approx((again.totals.cut_mm - analyse(VAN, LIBRARY).totals.cut_mm) / 1000)
    assert answer.feeder_before_a is not None
    assert answer.feeder_after_a is not None


def test_the_way_there_is_the_fall_and_the_channels() -> None:
    """The block sits on its riser at (800, 500) on the wall; the channel rises to 1,000 and runs along; the load hangs
    100 mm below it at x = 1,800: 500 + 1,000 + 100 mm."""
    answer = ask(VAN, 3.0).answers[0]
    assert answer.one_way_mm == pytest.approx(500 + 1_000 + 100, abs=0.5)


def test_without_a_channel_near_it_says_how_far_was_looked() -> None:
    answer = ask(VAN, 3.0, at=(1_000.0, 1_600.0), surface="s3")
    assert answer.answers == ()
    assert "no channel within 1000 mm" in answer.reasons[0]


def test_a_block_without_a_free_way_says_so() -> None:
    rows = tuple(replace(d, ways=d.ways[:2]) if d.id == BLOCK.id else d for d in VAN.devices)
    answer = ask(replace(VAN, devices=rows), 3.0)
    assert answer.reasons == ("Fuse block: all 2 ways are in use.",)


def test_a_load_too_large_for_the_ways_says_what_is_wanted() -> None:
    """40 A x 1.25 = 50 A; the ways of the block hold 30 A."""
    (reason,) = ask(VAN, 40.0).reasons
    assert "holds 30 A" in reason


def test_mains_needs_a_panelboard() -> None:
    (reason,) = ask(VAN, 4.0, system="ac230").reasons
    assert "230 V mains" in reason


def test_a_duct_that_would_be_overfull_speaks_against_it() -> None:
    analysis = analyse(VAN, LIBRARY, "quick")
    way = next(iter(analysis.routes[w.id] for w in analysis.wires.values() if w.circuit == "W3"))
    channel = way.steps[-2].channel
    rows = tuple(replace(c, bore=Bore(width_mm=4.5)) if c.id == channel else c for c in VAN.channels)
    answer = ask(replace(VAN, channels=rows), 3.0, at=(2_400.0, 900.0)).answers[0]
    assert not answer.ok
    assert any(not duct.fits for duct in answer.ducts)
    assert any("% full" in reason for reason in answer.reasons)


def test_the_feeder_runs_out_of_room() -> None:
    small = tuple(
        replace(c, protective=replace(c.protective, rating_a=15.0)) if c.id == "W1" else c for c in VAN.circuits
    )
    answer = ask(replace(VAN, circuits=small), 20.0).answers[0]
    assert any("feeder" in reason for reason in answer.reasons), answer.reasons


def test_a_current_that_is_none_or_a_place_off_the_surface_is_refused() -> None:
    for current, at in ((0.0, (1_800.0, 900.0)), (float("nan"), (1_800.0, 900.0)), (3.0, (-5_000.0, 0.0))):
        with pytest.raises(EditRefused):
            ask(VAN, current, at=at)


def test_nothing_is_changed_in_the_plan_that_is_asked_about() -> None:
    before = VAN
    ask(VAN, 3.0)
    assert find(VAN, "devices", BLOCK.id) is BLOCK
    assert before is VAN
