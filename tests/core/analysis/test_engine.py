"""The engine as a whole: stages remembered, drags, plans of any shape, and what a small van comes to by hand."""

import math

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.analysis.engine import Analyser, UnknownProfile, analyse
from core.edits.body import move_corner
from core.edits.channels import set_wires_state
from core.edits.circuits import connect, set_section
from core.edits.devices import move_device
from core.model import AsPulled, Plan, ProfileUse, find
from tests.helpers.plans import random_plan
from tests.helpers.wired import CEILING, LEFT, channel, device, library, wired

VAN = wired()
LIBRARY = library()


RESULTS = (
    "paths", "wires", "routes", "loads", "sized", "circuit_sizes", "bundles", "securing", "securing_gaps", "crossings",
    "clearances", "bends", "wrap", "spool_plans",
    "pieces", "cutting", "materials", "totals", "findings",
)  # fmt: skip


def content(analysis) -> tuple:
    """Everything an analysis says, without the objects that are only compared by identity."""
    return tuple(getattr(analysis, name) for name in RESULTS)


def test_lengths_are_those_of_a_tape_measure() -> None:
    analysis = analyse(VAN, LIBRARY)
    # battery entry to fuse block entry: on the floor to its edge and up the wall (hand measured on the drawing)
    feed = analysis.routes["W1-1F"]
    channels = sum(analysis.paths[step.channel].length_mm for step in feed.steps)
    assert feed.route_mm == pytest.approx(feed.from_fall_mm + channels + feed.to_fall_mm)
    # the wire to the light: 550 up, 700 along, 800 up to the ceiling's edge, 800 along it, and its falls of 50 and 50
    assert analysis.routes["W2-1F"].route_mm == pytest.approx(550 - 50 + 700 + 800 + 800 + 50, abs=60)


def test_feed_and_return_of_a_leg_share_one_route() -> None:
    routes = analyse(VAN, LIBRARY).routes
    for feed, back in (("W1-1F", "W1-1R"), ("W2-1F", "W2-1R"), ("W3-1F", "W3-1R")):
        assert [s.channel for s in routes[feed].steps] == [s.channel for s in reversed(routes[back].steps)]
        assert routes[feed].route_mm == pytest.approx(routes[back].route_mm)


def test_drop_of_the_pump_by_hand() -> None:
    """Ohm's law over the routed feed and return (IEC 60228 / ISO 6722 resistance at 20 C, 234.5 rule to 60 C)."""
    analysis = analyse(VAN, LIBRARY)
    sized, route = analysis.sized["W3-1F"], analysis.routes["W3-1F"]
    kind = find(VAN, "wire_kinds", analysis.wires["W3-1F"].kind)
    row = next(r for r in kind.sizes if r.section_mm2 == sized.section_mm2)
    ohm = row.r20_ohm_per_km / 1000 * (234.5 + 60) / 254.5 * route.route_mm / 1000
    assert sized.drop_v == pytest.approx(ohm * sized.current_a)
    feeder = 2 * analysis.sized["W1-1F"].drop_v
    assert sized.drop_percent == pytest.approx(100 * (2 * sized.drop_v + feeder) / 12)


def test_the_same_plan_gives_the_same_object() -> None:
    analyser = Analyser(LIBRARY)
    assert analyser.analyse(VAN) is analyser.analyse(VAN)


def test_a_moved_device_redoes_only_what_it_touches() -> None:
    analyser = Analyser(LIBRARY)
    before = analyser.analyse(VAN)
    light = next(d for d in VAN.devices if d.name == "Light")
    after = analyser.analyse(move_device(VAN, light.id, CEILING, (1_400.0, 850.0)))
    assert after.sheet is before.sheet
    assert after.paths is before.paths
    assert after.network is before.network
    assert after.routes["W2-1F"].route_mm != before.routes["W2-1F"].route_mm
    assert after.routes["W3-1F"] == before.routes["W3-1F"]


EDITS = st.lists(
    st.tuples(st.sampled_from(("light", "pump", "corner", "size", "connect")), st.integers(-300, 300)), max_size=6
)


def edited(plan: Plan, word: str, by: int) -> Plan:
    named = {d.name: d.id for d in plan.devices}
    if word == "light":
        return move_device(plan, named["Light"], CEILING, (1_500.0 + by, 850.0 + by / 3))
    if word == "pump":
        return move_device(plan, named["Pump"], LEFT, (2_600.0 + by, 600.0 + by))
    if word == "corner":
        return move_corner(plan, LEFT, "3", (3_000.0 + by / 10, 1_800.0))
    if word == "size":
        return set_section(plan, "W3", 2.5 if by > 0 else None)
    plan, added = device(plan, "light-spot", CEILING, (900.0 + by, 400.0), f"Light {len(plan.devices)}")
    plan = msgspec.structs.replace(
        plan,
        devices=tuple(
            msgspec.structs.replace(d, node=find(plan, "devices", named["Light"]).node) if d.id == added else d
            for d in plan.devices
        ),
    )
    free = len(find(plan, "devices", named["Fuse block"]).ways) > len(plan.circuits) - 1
    return connect(plan, named["Fuse block"], None, [added], library=LIBRARY)[0] if free else plan


@settings(max_examples=25)
@given(EDITS)
def test_staged_is_from_scratch(steps: list[tuple[str, int]]) -> None:
    analyser, plan = Analyser(LIBRARY), VAN
    analyser.analyse(plan)
    for word, by in steps:
        plan = edited(plan, word, by)
        staged = analyser.analyse(plan)
        assert content(staged) == content(analyse(plan, LIBRARY))


@given(st.integers(-300, 300))
@settings(max_examples=15)
def test_a_drag_is_as_long_as_the_real_thing_where_the_way_stays(by: int) -> None:
    analyser = Analyser(LIBRARY)
    held = analyser.analyse(VAN)
    moved = edited(VAN, "light", by)
    estimate, full = analyser.estimate(moved, held), analyse(moved, LIBRARY)
    assert estimate.provisional
    assert not full.provisional
    assert estimate.findings is held.findings
    for wire, route in full.routes.items():
        assert estimate.routes[wire].route_mm == pytest.approx(route.route_mm)
    assert estimate.totals.cut_mm == pytest.approx(full.totals.cut_mm)


@pytest.mark.parametrize("seed", range(60))
def test_any_plan_that_opens_can_be_analysed(seed: int) -> None:
    """Whatever a sound file says, however absurd, becomes findings."""
    plan = msgspec.structs.replace(random_plan(seed, seed % 4 + 1, False), profile=VAN.profile)
    analysis = analyse(plan, LIBRARY, "quick")
    assert all(math.isfinite(f.value) for f in analysis.findings if f.value is not None)


def test_an_unknown_profile_is_said_with_those_there_are() -> None:
    plan = msgspec.structs.replace(VAN, profile=ProfileUse(id="moon", version="1"))
    with pytest.raises(UnknownProfile, match=r"'moon'.*van-metric"):
        analyse(plan, LIBRARY)


def test_another_version_of_the_profile_is_a_finding() -> None:
    plan = msgspec.structs.replace(VAN, profile=ProfileUse(id=VAN.profile.id, version="0"))
    assert "profile.version" in {f.code for f in analyse(plan, LIBRARY).findings}


def test_a_pulled_wire_keeps_its_route_when_a_shorter_way_opens() -> None:
    first = analyse(VAN, LIBRARY)
    route = first.routes["W3-1F"]
    record = AsPulled(id="pulled1", wire="W3-1F", channels=tuple(s.channel for s in route.steps), section_mm2=4.0)
    plan = msgspec.structs.replace(VAN, as_pulled=(record,))
    plan, _ = channel(plan, (LEFT, (800.0, 450.0)), (LEFT, (2_600.0, 350.0)), join_mm=20.0)
    after = analyse(plan, LIBRARY)
    assert after.routes["W3-1F"].held
    assert after.sized["W3-1F"].section_mm2 == 4.0
    assert [s.channel for s in after.routes["W3-1F"].steps] == [s.channel for s in route.steps]
    assert after.routes["W3-1R"].route_mm < first.routes["W3-1R"].route_mm


def test_locked_channels_take_nobody_new() -> None:
    first = analyse(VAN, LIBRARY)
    through = first.routes["W3-1F"].steps[-1].channel
    plan = set_wires_state(VAN, (through,), "locked")
    assert "route.none" in {f.code for f in analyse(plan, LIBRARY).findings}
    # the rest of the van still has its routes
    assert analyse(plan, LIBRARY).routes["W2-1F"].route_mm is not None
