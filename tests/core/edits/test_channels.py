"""Channels: cut at folds, joined at nodes, split without moving anything that lies on them."""

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.edits.change import add
from core.edits.channels import (
    add_measured_channel,
    add_pass_through,
    add_securing_point,
    cut,
    delete_via,
    draw_channel,
    insert_via,
    join_crossing,
    move_node,
    move_node_to,
    move_securing_point,
    move_via,
    set_groups,
    set_wires_state,
    split,
    unjoined_crossings,
)
from core.edits.network import channel_length_mm, channel_line
from core.geometry.foldout import lay_out
from core.geometry.joints import join
from core.geometry.plane import length_mm, point_at
from core.model import AsPulled, Node, OnLine, OnSurface, Plan, find
from tests.core.edits.checks import refused, sound
from tests.helpers.vans import shell

#: From the left wall over the floor to the right wall, straight up the sheet.
ACROSS = ((500.0, -1200.0), (500.0, 2500.0))


def _length_mm(plan: Plan, channel: str) -> float:
    return channel_length_mm(plan, join(plan.surfaces, plan.seams), find(plan, "channels", channel))


def test_a_stroke_is_cut_at_folds_and_keeps_its_length() -> None:
    before = shell()
    plan, new = draw_channel(before, ACROSS)
    sound(before, plan, "nodes", "channels")
    assert [find(plan, "channels", each).surface for each in new] == ["s2", "s1", "s3"]
    assert sum(_length_mm(plan, each) for each in new) == pytest.approx(3700)
    assert _length_mm(plan, new[1]) == pytest.approx(1700)
    # one chain: each ends where the next starts, on the edge between the surfaces
    first, second, third = (find(plan, "channels", each) for each in new)
    assert first.end == second.start
    assert second.end == third.start
    assert isinstance(find(plan, "nodes", first.end).place, OnLine)


def test_a_stroke_that_leaves_every_surface_stops_there_and_says_why() -> None:
    before = shell()
    stroke = ((2000.0, 500.0), (2000.0, 9000.0))
    pieces = cut(before, stroke)
    assert "Vehicle right" in pieces.message
    plan, new = draw_channel(before, stroke)
    sound(before, plan, "nodes", "channels")
    assert sum(_length_mm(plan, each) for each in new) == pytest.approx(1200 + 1800)
    refused(draw_channel, before, ((9000.0, 9000.0), (9100.0, 9000.0)), says="outside every surface")
    refused(draw_channel, before, ((500.0, 500.0), (500.0, 500.0)), says="A channel needs two points")


def test_ends_join_nodes_and_split_channels() -> None:
    before, (trunk,) = draw_channel(shell(), ((200.0, 800.0), (2800.0, 800.0)), name="Trunk")
    # starts 4 mm beside the trunk, 800 mm along it
    plan, (branch,) = draw_channel(before, ((1000.0, 804.0), (1000.0, 1500.0)))
    sound(before, plan, "nodes", "channels")
    assert len(plan.channels) == 3
    junction = find(plan, "channels", branch).start
    assert find(plan, "channels", trunk).end == junction
    assert _length_mm(plan, trunk) == pytest.approx(800)
    assert find(plan, "channels", "c2").start == junction
    assert find(plan, "channels", "c2").name == "Trunk"
    # the next one ends at the same place and uses the same node
    again, (other,) = draw_channel(plan, ((1003.0, 200.0), (1003.0, 797.0)))
    sound(plan, again, "nodes", "channels")
    assert find(again, "channels", other).end == junction
    assert len(again.channels) == 4


def test_a_second_stroke_through_the_same_fold_place_joins_there() -> None:
    before, _ = draw_channel(shell(), ACROSS)
    plan, new = draw_channel(before, ((1500.0, -800.0), (500.0, 0.0), (900.0, 600.0)))
    sound(before, plan, "nodes", "channels")
    (shared,) = {find(plan, "channels", new[0]).end} & {channel.end for channel in before.channels}
    assert shared == find(plan, "channels", new[1]).start


def test_a_channel_that_ends_at_a_seam_goes_on_at_the_matching_place() -> None:
    """The left wall is sewn to the rear: 600 mm up on one is 600 mm up on the other."""
    before = shell()
    layout = lay_out(before.surfaces)
    on_wall = [layout.place("s2").to_sheet(p) for p in ((1000.0, 600.0), (-50.0, 600.0))]
    plan, (wall,) = draw_channel(before, on_wall)
    assert "Rear" in cut(before, on_wall).message
    on_rear = [layout.place("s4").to_sheet(p) for p in ((1697.0, 604.0), (800.0, 600.0))]
    plan, (rear,) = draw_channel(plan, on_rear)
    sound(before, plan, "nodes", "channels")
    assert find(plan, "channels", wall).end == find(plan, "channels", rear).start
    assert _length_mm(plan, rear) == pytest.approx(900.0)


def test_fields_hold_for_every_piece_and_wrong_ones_are_refused() -> None:
    plan, new = draw_channel(shell(), ACROSS, kind="trunking", groups=("mains",))
    assert {find(plan, "channels", each).kind for each in new} == {"trunking"}
    refused(draw_channel, shell(), ACROSS, kind="tunnel", says="The channel cannot be so: kind")


def _trunk() -> tuple[Plan, str]:
    """Left wall, three legs of 400, 300 and 1,000 mm; 1,700 mm in all."""
    stroke = ((2500.0, -1500.0), (2100.0, -1500.0), (2100.0, -1200.0), (1100.0, -1200.0))
    plan, (trunk,) = draw_channel(shell(), stroke, covered_mm=340.0)
    for at in (100.0, 800.0, 801.0, 1700.0):
        plan, _ = add_securing_point(plan, trunk, at)
    plan, _ = add_pass_through(plan, trunk, 1200.0, "edge")
    return plan, trunk


@given(st.floats(1.0, 1699.0))
def test_splitting_moves_nothing_that_lies_on_the_channel(at_mm: float) -> None:
    before, trunk = _trunk()
    plan, node = split(before, trunk, at_mm)
    sound(before, plan, "nodes", "channels", *_touched(before, plan))
    joints = join(plan.surfaces, plan.seams)
    first, second = find(plan, "channels", trunk), find(plan, "channels", "c2")
    assert first.end == node == second.start
    assert first.covered_mm + second.covered_mm == pytest.approx(340.0)
    lines = {each.id: channel_line(plan, joints, each) for each in plan.channels}
    old = channel_line(before, joints, before.channels[0])
    assert old is not None
    assert length_mm(lines[trunk] or ()) == pytest.approx(at_mm)
    assert length_mm(lines["c2"] or ()) == pytest.approx(1700.0 - at_mm)
    for collection in ("securing_points", "pass_throughs"):
        for was, now in zip(getattr(before, collection), getattr(plan, collection), strict=True):
            there = point_at(lines[now.channel] or (), now.at_mm)
            assert there == pytest.approx(point_at(old, was.at_mm), abs=1e-6)


def _touched(before: Plan, after: Plan) -> list[str]:
    return [c for c in ("securing_points", "pass_throughs") if getattr(before, c) is not getattr(after, c)]


def test_splitting_a_measured_length_shares_it_out() -> None:
    before, (trunk,) = draw_channel(shell(), ((200.0, 800.0), (2200.0, 800.0)), measured_mm=2400.0)
    plan, _ = split(before, trunk, 600.0)
    assert find(plan, "channels", trunk).measured_mm == pytest.approx(600.0)
    assert find(plan, "channels", "c2").measured_mm == pytest.approx(1800.0)
    refused(split, before, trunk, 2400.0, says="2400 mm long")
    refused(split, before, trunk, -1.0, says="cannot be split at -1 mm")


def test_a_pulled_wire_runs_over_both_halves_in_its_own_direction() -> None:
    plan, new = draw_channel(shell(), ACROSS)
    pulled = (
        AsPulled(id="ap1", wire="W1-1F", channels=new),
        AsPulled(id="ap2", wire="W1-1R", channels=new[::-1]),
        AsPulled(id="ap3", wire="W2-1F", channels=(new[0],)),
    )
    before = add(plan, "as_pulled", *pulled)
    after, _ = split(before, new[1], 700.0)
    sound(before, after, "nodes", "channels", "as_pulled")
    a, b, c = new
    assert after.as_pulled[0].channels == (a, b, "c4", c)
    assert after.as_pulled[1].channels == (c, "c4", b, a)
    assert after.as_pulled[2] is pulled[2]


def test_a_measured_channel_joins_two_nodes() -> None:
    before, new = draw_channel(shell(), ACROSS)
    start, end = find(before, "channels", new[0]).start, find(before, "channels", new[2]).end
    plan, channel = add_measured_channel(before, start, end, 2600.0, "Through the cabinet", kind="furniture")
    sound(before, plan, "channels")
    assert _length_mm(plan, channel) == 2600.0
    refused(add_measured_channel, before, start, start, 100.0, says="two different nodes")
    refused(add_measured_channel, before, start, end, 0.0, says="longer than 0 mm")
    refused(add_measured_channel, before, start, "n99", 100.0, says="no node n99")
    refused(split, plan, channel, 100.0, says="“Through the cabinet” cannot be split")


def test_nodes_move_along_what_their_channels_lie_on() -> None:
    before, new = draw_channel(shell(), ACROSS)
    node = find(before, "channels", new[0]).end
    plan = sound(before, move_node_to(before, node, "s1", (800.0, 0.2)), "nodes")
    assert find(plan, "nodes", node).place == OnLine(surface="s1", edge="1", at_mm=800.0)
    assert move_node(before, node, find(before, "nodes", node).place) is before
    refused(move_node_to, before, node, "s1", (800.0, 300.0), says="runs on Vehicle left")
    free = find(before, "channels", new[2]).end
    plan = sound(before, move_node_to(before, free, "s3", (700.0, 900.0)), "nodes")
    assert find(plan, "nodes", free).place == OnSurface(surface="s3", at_mm=(700.0, 900.0))
    refused(
        move_node, before, free, OnSurface(surface="s3", at_mm=(700.0, -900.0)), says="does not lie on Vehicle right"
    )
    locked = set_wires_state(before, new, "locked")
    refused(move_node_to, locked, free, "s3", (700.0, 900.0), says="are locked")


def test_via_points_move_come_and_go() -> None:
    before, trunk = _trunk()
    plan = sound(before, move_via(before, trunk, 1, (900.0, 1100.0)), "channels")
    assert find(plan, "channels", trunk).via_mm[1] == (900.0, 1100.0)
    plan = sound(before, insert_via(before, trunk, 2, (950.0, 1100.0)), "channels")
    assert len(find(plan, "channels", trunk).via_mm) == 3
    assert delete_via(plan, trunk, 2) == before
    refused(move_via, before, trunk, 2, (0.0, 0.0), says="no via point 2")
    refused(insert_via, before, trunk, 4, (0.0, 0.0), says="there is no place 4")
    refused(move_via, before, trunk, 0, (0.0, -10.0), says="does not lie on Vehicle left")
    refused(delete_via, set_wires_state(before, (trunk,), "pulled"), trunk, 0, says="are pulled")


def test_what_is_fixed_to_a_channel_lies_on_it() -> None:
    before, trunk = _trunk()
    plan = sound(before, move_securing_point(before, "t1", 150.0), "securing_points")
    assert find(plan, "securing_points", "t1").at_mm == 150.0
    refused(add_securing_point, before, trunk, 1700.1, says="0 to 1700 mm")
    refused(add_securing_point, before, trunk, -1.0, says="-1 mm does not")
    refused(add_securing_point, before, trunk, float("nan"), says="nan mm does not")
    refused(add_securing_point, before, trunk, 10.0, "glue", says="kind")
    refused(add_pass_through, before, trunk, 5000.0, says="A pass-through must lie on channel c1")
    refused(add_pass_through, before, trunk, 50.0, "hole", -3.0, says="-3 mm wide")


def test_states_and_groups_are_set() -> None:
    before, new = draw_channel(shell(), ACROSS)
    plan = sound(before, set_wires_state(before, new[:2], "pulled"), "channels")
    assert [channel.wires for channel in plan.channels] == ["pulled", "pulled", "planned"]
    plan = sound(before, set_groups(before, new[:1], ("mains", "mains")), "channels")
    assert plan.channels[0].groups == ("mains",)
    assert set_wires_state(before, new, "planned") is before
    refused(set_groups, before, new, (), says="one separation group")


def test_a_crossing_is_joined() -> None:
    plan, (level,) = draw_channel(shell(), ((200.0, 800.0), (2800.0, 800.0)))
    before, (upright,) = draw_channel(plan, ((1000.0, 200.0), (1000.0, 1500.0)))
    assert len(before.channels) == 2  # crossing is not joining
    (proposed,) = unjoined_crossings(before, (upright,))
    assert (proposed.a, proposed.b, proposed.surface) == (upright, level, "s1")
    assert proposed.point == pytest.approx((1000.0, 800.0))
    after, node = join_crossing(before, level, upright)
    sound(before, after, "nodes", "channels")
    assert len(after.channels) == 4
    assert unjoined_crossings(after, [channel.id for channel in after.channels]) == ()
    ends = [channel for channel in after.channels if node in (channel.start, channel.end)]
    assert len(ends) == 4
    assert _length_mm(after, level) == pytest.approx(800.0)
    assert _length_mm(after, upright) == pytest.approx(600.0)
    aside, (far,) = draw_channel(before, ((200.0, 100.0), (900.0, 100.0)))
    refused(join_crossing, aside, level, far, says="do not cross")
    refused(join_crossing, aside, level, level, says="with itself")


def test_ends_that_touch_are_joined_to_one_node() -> None:
    before, (level,) = draw_channel(shell(), ((200.0, 800.0), (1000.0, 800.0)))
    place = OnSurface(surface="s1", at_mm=(1000.0, 800.0))
    loose = add(
        before, "nodes", Node(id="n8", place=place), Node(id="n9", place=OnSurface(surface="s1", at_mm=(1000.0, 100.0)))
    )
    channel = msgspec.structs.replace(before.channels[0], id="c9", start="n8", end="n9")
    loose = add(loose, "channels", channel)
    plan, node = join_crossing(loose, level, "c9")
    sound(loose, plan, "nodes", "channels")
    assert len(plan.channels) == 2
    assert find(plan, "channels", "c9").start == node == find(plan, "channels", level).end


def test_a_node_on_a_fold_belongs_to_both_surfaces_after_it_folds_elsewhere() -> None:
    plan, new = draw_channel(shell(), ACROSS)
    assert lay_out(plan.surfaces).problems == ()
    joints = join(plan.surfaces, plan.seams)
    for each in new:
        assert channel_line(plan, joints, find(plan, "channels", each)) is not None
