"""Seams by hand, drawing next to another neighbour, curved walls in strips, two surfaces made one."""

from math import asin, degrees, radians, sin

import pytest

from core.analysis.engine import analyse
from core.edits.body import draw_box, draw_rib
from core.edits.channels import draw_channel
from core.edits.joining import draw_next_to, fold_choices, join_surfaces, raise_curved_wall, sew_edges
from core.edits.measurements import typical
from core.edits.new_vehicle import build_vehicle
from core.edits.splitting import split_surface
from core.edits.surfaces import draw_floor
from core.files.library import load_library
from core.geometry.edges import outline_of
from core.geometry.foldout import lay_out
from core.geometry.polygon import signed_area_mm2
from core.geometry.seams import seam_state
from core.model import Plan, find
from tests.core.edits.checks import refused, sound
from tests.helpers.vans import empty, shell

LIBRARY = load_library()


def closed(plan: Plan) -> None:
    layout = lay_out(plan.surfaces)
    assert not layout.problems
    for seam in plan.seams:
        assert seam_state(seam, plan.surfaces, layout).closes


def test_the_ceiling_can_be_drawn_next_to_either_wall_or_the_rear() -> None:
    plan = shell()
    before = lay_out(plan.surfaces)
    choices = fold_choices(plan, "s6")
    assert {choice.neighbour for choice in choices} == {"s3", "s4", "s5"}
    assert {choice.why_not for choice in choices} == {""}
    for neighbour in ("s3", "s4", "s5"):
        after = draw_next_to(plan, "s6", neighbour)
        sound(plan, after, "surfaces", "seams")
        assert find(after, "surfaces", "s6").fold.parent == neighbour
        layout = lay_out(after.surfaces)
        for corner in find(plan, "surfaces", "s6").corners:
            assert layout.pose("s6").to_vehicle(corner.at_mm) == pytest.approx(
                before.pose("s6").to_vehicle(corner.at_mm), abs=1e-6
            )
        closed(after)
    refused(draw_next_to, plan, "s6", "s1", says="not sewn to")
    refused(draw_next_to, plan, "s2", "s6", says="")


def test_edges_picked_by_hand_are_sewn() -> None:
    plan = shell()
    (seam, *_rest) = plan.seams
    bare = Plan(**{**{f: getattr(plan, f) for f in plan.__struct_fields__}, "seams": ()})
    after, fresh = sew_edges(bare, (seam.a, seam.a_line.edge), (seam.b, seam.b_line.edge))
    made = find(after, "seams", fresh)
    assert made.origin == "drawn"
    assert seam_state(made, after.surfaces, lay_out(after.surfaces)).closes
    refused(sew_edges, after, (seam.a, seam.a_line.edge), (seam.b, seam.b_line.edge), says="already")
    refused(sew_edges, bare, ("s1", "1"), ("s1", "1"), says="twice")
    refused(sew_edges, bare, ("s1", "9"), ("s2", "1"), says="not there")


def test_a_curved_wall_is_as_high_as_the_tape_says_and_follows_its_arc() -> None:
    plan, floor = draw_floor(empty(), ((0, 0), (3_000, 0), (3_000, 1_700), (0, 1_700)))
    # A quarter of a turn less 60 degrees: from upright to leaning in by 30 over 1,800 mm of tape.
    plan, strips = raise_curved_wall(plan, floor, "3", 1_800, 90, 120, 6, "Vehicle right")
    layout = lay_out(plan.surfaces)
    tops = [layout.pose(each).to_vehicle(find(plan, "surfaces", each).corners[2].at_mm) for each in strips]
    radius = 1_800 / radians(30)
    # By hand: the arc rises r sin 30 and leans in by r (1 - cos 30).
    assert tops[-1][2] == pytest.approx(radius * sin(radians(30)), rel=1e-3)
    assert 1_700 - tops[-1][1] == pytest.approx(radius * (1 - (1 - sin(radians(30)) ** 2) ** 0.5), rel=2e-2)
    assert sum(find(plan, "surfaces", each).corners[2].at_mm[1] for each in strips) == pytest.approx(1_800)
    assert {find(plan, "surfaces", each).role for each in strips} == {"wall"}
    assert degrees(asin(layout.pose(strips[-1]).y_axis[2])) == pytest.approx(90 - 27.5, abs=1e-6)
    refused(raise_curved_wall, plan, floor, "1", 1_800, 90, 120, 1, says="2 to 24 strips")
    refused(raise_curved_wall, plan, floor, "1", 30, 90, 120, 6, says="too narrow")


def test_a_wall_cut_in_two_is_joined_again_with_all_that_lies_on_it() -> None:
    plan = shell()
    plan, box = draw_box(plan, "s3", ((1_900, 200), (2_300, 200), (2_300, 500), (1_900, 500)), 300)
    plan, rib = draw_rib(plan, "s3", ((600, 100), (600, 1_700)), 60)
    layout = lay_out(plan.surfaces)
    start, end = layout.place("s3").to_sheet((1_700, 900)), layout.place("s3").to_sheet((2_600, 900))
    plan, (channel,) = draw_channel(plan, (start, end))
    halves, new = split_surface(plan, "s3", ((1_500, 0), (1_500, 1_800)))
    closed(halves)
    moved = {find(halves, "channels", channel).surface, find(halves, "ribs", rib).surface}
    assert moved == {"s3", new}
    assert analyse(halves, LIBRARY).paths[channel].length_mm == pytest.approx(900)
    whole = join_surfaces(halves, "s3", new)
    sound(halves, whole, "surfaces", "seams", "boxes", "ribs", "channels", "nodes", "openings")
    closed(whole)
    assert signed_area_mm2(outline_of(find(whole, "surfaces", "s3"))) == pytest.approx(3_000 * 1_800)
    assert {find(whole, "channels", channel).surface, find(whole, "ribs", rib).surface} == {"s3"}
    after = lay_out(whole.surfaces)
    for collection, record, field in (("boxes", box, "outline"), ("ribs", rib, "line_mm")):
        old = [layout.pose("s3").to_vehicle(p) for p in getattr(find(plan, collection, record), field)]
        now = [after.pose("s3").to_vehicle(p) for p in getattr(find(whole, collection, record), field)]
        for p, q in zip(old, now, strict=True):
            assert p == pytest.approx(q, abs=1e-3)
    analysis = analyse(whole, LIBRARY)
    assert analysis.paths[channel].length_mm == pytest.approx(900)
    assert not [finding for finding in analysis.findings if finding.code.startswith(("sheet", "seam", "channel"))]


def test_surfaces_that_are_not_one_plane_stay_two() -> None:
    plan = shell()
    refused(join_surfaces, plan, "s1", "s3", says="do not lie in one plane")
    refused(join_surfaces, plan, "s3", "s1", says="the other way round")
    refused(join_surfaces, plan, "s3", "s3", says="Two different")
    van = build_vehicle(empty(), typical("high_roof"))
    lower, upper = (next(s.id for s in van.surfaces if s.name == f"Vehicle right, {w}") for w in ("lower", "upper"))
    refused(join_surfaces, van, lower, upper, says="do not lie in one plane")
