"""Corners move, come and go; folds, seams and nodes on the edges are carried along."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.edits.body import (
    delete_corner,
    draw_floor,
    insert_corner,
    move_corner,
    raise_wall,
    set_edge_length,
)
from core.edits.channels import draw_channel
from core.edits.network import channel_line, spots_of
from core.geometry.edges import edge_length_mm
from core.geometry.foldout import lay_out
from core.geometry.joints import join
from core.geometry.seams import seam_state
from core.model import Plan, find
from tests.core.edits.checks import refused, sound
from tests.helpers.vans import LENGTH_MM, empty, shell


def _van() -> Plan:
    """The shell with a channel over every edge of the floor, so that nodes lie on folds."""
    plan = shell()
    for stroke in (((500, -1200), (500, 2500)), ((-900, 800), (3900, 800)), ((2200, 0), (2200, 500))):
        plan, _ = draw_channel(plan, stroke)
    return plan


VAN = _van()


def _where(plan: Plan) -> dict[str, tuple[float, ...]]:
    """Everything that has a place, in the vehicle: corners of surfaces, nodes, ends of channels."""
    layout, joints = lay_out(plan.surfaces), join(plan.surfaces, plan.seams)
    found: dict[str, tuple[float, ...]] = {}
    for node in plan.nodes:
        spot = spots_of(plan, joints, node.place)[0]
        found[node.id] = layout.pose(spot.surface).to_vehicle(spot.point)
    for channel in plan.channels:
        for number, point in enumerate(channel_line(plan, joints, channel) or ()):
            assert channel.surface is not None
            found[f"{channel.id} {number}"] = layout.pose(channel.surface).to_vehicle(point)
    for surface in plan.surfaces:
        for corner in surface.corners:
            found[f"{surface.id} corner {corner.id}"] = layout.pose(surface.id).to_vehicle(corner.at_mm)
    return found


@given(st.sampled_from([s.id for s in VAN.surfaces]), st.sampled_from("1234"), st.floats(0.01, 0.99))
def test_inserting_a_corner_moves_nothing(surface: str, edge: str, share: float) -> None:
    size = edge_length_mm(find(VAN, "surfaces", surface), edge)
    assert size is not None
    plan, corner = insert_corner(VAN, surface, edge, size * share)
    sound(
        VAN, plan, *(name for name in ("surfaces", "seams", "nodes") if getattr(plan, name) is not getattr(VAN, name))
    )
    was, now = _where(VAN), _where(plan)
    assert now.pop(f"{surface} corner {corner}")
    assert now.keys() == was.keys()
    for what, place in was.items():
        assert now[what] == pytest.approx(place, abs=1e-6), what
    layout = lay_out(plan.surfaces)
    assert all(seam_state(seam, plan.surfaces, layout).closes for seam in plan.seams)
    # and deleting it again moves nothing either
    back = sound(plan, delete_corner(plan, surface, corner), *_changed(plan, delete_corner(plan, surface, corner)))
    now = _where(back)
    assert now.keys() == was.keys()
    for what, place in was.items():
        assert now[what] == pytest.approx(place, abs=1e-6), what


def _changed(before: Plan, after: Plan) -> list[str]:
    return [c for c in ("surfaces", "seams", "nodes") if getattr(before, c) is not getattr(after, c)]


def test_inserted_corners_must_lie_between_the_ends() -> None:
    refused(insert_corner, VAN, "s1", "1", 0.0, says="between the ends")
    refused(insert_corner, VAN, "s1", "1", LENGTH_MM, says="between the ends")
    refused(insert_corner, VAN, "s1", "8", 10.0, says="no edge 8")


def test_a_moved_corner_makes_edges_longer() -> None:
    before, floor = draw_floor(empty(), ((0, 0), (3000, 0), (3000, 1000), (0, 1000)))
    plan = sound(before, move_corner(before, floor, "2", (3200, 0)), "surfaces")
    assert edge_length_mm(find(plan, "surfaces", floor), "1") == pytest.approx(3200)
    assert move_corner(before, floor, "2", (3000, 0)) is before
    plan = sound(before, set_edge_length(before, floor, "1", 2500.0), "surfaces")
    assert find(plan, "surfaces", floor).corners[1].at_mm == (2500.0, 0.0)
    refused(move_corner, before, floor, "2", (-100, 500), says="Floor would cross or touch itself")
    refused(move_corner, before, floor, "7", (0, 0), says="Floor has no corner 7")
    refused(set_edge_length, before, floor, "1", 0.0, says="longer than 0 mm")


def test_nodes_stay_on_an_edge_that_became_shorter() -> None:
    plan = move_corner(VAN, "s1", "2", (2000.0, 0.0))
    node = next(n for n in VAN.nodes if getattr(n.place, "at_mm", None) == pytest.approx(2200.0))
    at_mm = find(plan, "nodes", node.id).place.at_mm
    assert at_mm == pytest.approx(2000.0)
    sound(VAN, plan, *_changed(VAN, plan))


def test_a_fold_keeps_some_length() -> None:
    plan, floor = draw_floor(empty(), ((0, 0), (3000, 0), (3000, 1000), (0, 1000)))
    plan, _ = raise_wall(plan, floor, "1", 1500, name="Aft", from_mm=2000)
    refused(move_corner, plan, floor, "2", (1500, 0), says="At Floor the fold of Aft would have no length left")


def test_a_corner_that_carries_a_fold_stays() -> None:
    refused(delete_corner, VAN, "s1", "2", says="lies at this corner of Floor")
    bare, floor = draw_floor(empty(), ((0, 0), (3000, 0), (3500, 500), (3000, 1000), (0, 1000)))
    plan = sound(bare, delete_corner(bare, floor, "3"), "surfaces")
    assert len(find(plan, "surfaces", floor).corners) == 4
    triangle, floor = draw_floor(empty(), ((0, 0), (3000, 0), (0, 1000)))
    refused(delete_corner, triangle, floor, "1", says="needs them all")
