"""Edges and corners of whatever is drawn, on the box of `shell`; numbers by hand calculation."""

from math import dist, hypot

import pytest

from core.edits.body import draw_box, draw_metal_edge, draw_panel
from core.edits.channels import draw_channel
from core.edits.faces import raise_faces_and_top
from core.edits.outlines import delete_point, insert_point, move_edge, move_point, set_length, shape_of
from core.edits.reshaping import set_distance
from core.model import Plan, find
from tests.core.edits.checks import refused
from tests.helpers.vans import shell
from tests.helpers.wired import FLOOR, LEFT

PLAN, BOX = draw_box(shell(), FLOOR, ((200, 200), (800, 200), (800, 600), (200, 600)), 900)


def points(plan: Plan, record: str) -> tuple[tuple[float, float], ...]:
    shape = shape_of(plan, record)
    assert shape is not None
    return tuple((round(x, 6), round(y, 6)) for x, y in shape.points)


def test_a_corner_is_moved_inserted_and_deleted_and_nothing_else_changes() -> None:
    plan = move_point(PLAN, BOX, "2", (900, 700))
    assert points(plan, BOX) == ((200, 200), (800, 200), (900, 700), (200, 600))
    plan, new = insert_point(plan, BOX, "0", 250)
    assert (new, points(plan, BOX)[1]) == ("1", (450, 200))
    plan = delete_point(plan, BOX, new)
    plan = move_point(plan, BOX, "2", (800, 600))
    assert plan == PLAN


def test_a_new_corner_past_the_last_edge_closes_the_outline() -> None:
    plan, new = insert_point(PLAN, BOX, "3", 100)
    assert points(plan, BOX)[int(new)] == (200, 500)


def test_an_edge_moves_with_both_its_ends_also_of_a_wall() -> None:
    plan = move_edge(PLAN, BOX, "3", (-100, 0))
    assert points(plan, BOX) == ((100, 200), (800, 200), (800, 600), (100, 600))
    top = find(PLAN, "surfaces", LEFT).corners[2].id
    # The ceiling's fold is as long as before; 1,800 high becomes 1,900.
    plan = move_edge(PLAN, LEFT, top, (0, 100))
    assert max(y for _, y in points(plan, LEFT)) == 1900


@pytest.mark.parametrize("length", [123.4, 600.0, 1200.0])
def test_an_edge_is_as_long_as_typed_and_keeps_its_start_and_direction(length: float) -> None:
    plan = move_point(PLAN, BOX, "1", (700, 350))  # no right angles
    before = points(plan, BOX)
    after = points(set_length(plan, BOX, "0", length), BOX)
    assert after[0] == before[0]
    assert dist(after[0], after[1]) == pytest.approx(length)
    assert (after[1][1] - 200) / (after[1][0] - 200) == pytest.approx(150 / 500)


def test_lines_and_channels_have_corners_too() -> None:
    plan, edge = draw_metal_edge(PLAN, FLOOR, ((1000, 300), (1400, 300), (1400, 900)))
    assert points(set_length(plan, edge, "1", 450), edge)[2] == (1400, 750)
    plan, _ = insert_point(plan, edge, "0", 100)
    assert len(points(plan, edge)) == 4
    plan, (channel,) = draw_channel(plan, ((2000, 300), (2400, 300), (2400, 900)))
    plan, via = insert_point(plan, channel, "start", 150)
    assert find(plan, "channels", channel).via_mm == ((2150, 300), (2400, 300))
    assert find(delete_point(plan, channel, via), "channels", channel).via_mm == ((2400, 300),)


def test_what_cannot_be_is_refused() -> None:
    triangle, panel = draw_panel(PLAN, FLOOR, ((1000, 300), (1400, 300), (1400, 900)))
    refused(delete_point, triangle, panel, "0", says="needs them all")
    refused(insert_point, PLAN, BOX, "0", 0.2, says="600 mm long")
    refused(insert_point, PLAN, BOX, "0", 599.8, says="600 mm long")
    refused(move_point, PLAN, BOX, "9", (0, 0), says="no corner 9")
    refused(move_point, PLAN, BOX, "0", (-500, 0), says="Floor")
    refused(move_point, PLAN, BOX, "0", (1000, 400), says="cross")
    refused(set_length, PLAN, BOX, "0", 0.0, says="longer than 0")
    refused(set_length, PLAN, BOX, "0", float("nan"), says="longer than 0")
    raised, _ = raise_faces_and_top(PLAN, BOX)
    refused(insert_point, raised, BOX, "0", 250, says="raised face")
    plan, (channel,) = draw_channel(PLAN, ((2000, 300), (2400, 300)))
    refused(move_point, plan, channel, "end", (2500, 300), says="move the node")
    refused(delete_point, plan, channel, "start", says="node")


def test_raised_faces_follow_a_corner() -> None:
    raised, faces = raise_faces_and_top(PLAN, BOX)
    after = move_point(raised, BOX, "1", (900, 100))
    first = find(after, "surfaces", faces[0])
    assert max(c.at_mm[0] for c in first.corners) == pytest.approx(hypot(700, 100))


def test_several_things_are_set_to_a_distance_as_one() -> None:
    plan, other = draw_box(PLAN, FLOOR, ((900, 350), (1100, 350), (1100, 500), (900, 500)), 300)
    edge = ((0.0, 0.0), (3000.0, 0.0))
    after = set_distance(plan, (other, BOX), edge, 50)
    assert points(after, BOX)[0] == (200, 50)
    assert points(after, other)[0] == (900, 200), "150 higher than the cabinet before and after"
    refused(set_distance, plan, (), edge, 50, says="Select")
