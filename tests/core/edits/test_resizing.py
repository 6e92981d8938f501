"""A body made longer, wider or higher as one: the shell closes, what is attached follows, the rest is told."""

import pytest

from core.analysis.engine import analyse
from core.edits.body import draw_box, draw_opening
from core.edits.channels import add_securing_point, draw_channel, set_wires_state
from core.edits.faces import raise_faces_and_top
from core.edits.measurements import typical
from core.edits.new_vehicle import build_vehicle
from core.edits.resizing import body_size_mm, resize_body, stretch
from core.files.library import load_library
from core.geometry.foldout import lay_out, overlaps
from core.geometry.plane import distance_mm
from core.geometry.seams import seam_state
from core.model import Plan, find
from tests.core.edits.checks import refused, sound
from tests.helpers.vans import empty, shell

LIBRARY = load_library()


def closes(plan: Plan) -> None:
    layout = lay_out(plan.surfaces)
    assert not layout.problems
    assert overlaps(layout, plan.surfaces) == ()
    for seam in plan.seams:
        state = seam_state(seam, plan.surfaces, layout)
        assert state.closes, state.message
        assert max(state.gap_start_mm, state.gap_end_mm) < 0.1


def test_a_box_shaped_shell_gets_every_size_and_stays_closed() -> None:
    before = plan = shell()
    assert body_size_mm(plan) == pytest.approx({"length": 3_000, "width": 1_700, "height": 1_800})
    for axis, size in (("length", 3_400), ("width", 1_650), ("height", 2_000), ("length", 2_500)):
        plan, told = resize_body(plan, axis, size)
        assert body_size_mm(plan)[axis] == pytest.approx(size)
        assert told == ((), ())
        closes(plan)
    sound(before, plan, "surfaces")
    same, _ = resize_body(plan, "length", 2_500)
    assert same is plan


@pytest.mark.parametrize("body", ["small_van", "mid_van", "high_roof", "boxy_bus", "truck_body", "trailer"])
def test_measured_bodies_get_longer_and_wider_and_have_no_finding(body) -> None:  # type: ignore[no-untyped-def]
    plan = build_vehicle(empty(), typical(body))
    size = body_size_mm(plan)
    for axis, more in (("length", 333.0), ("width", 100.0), ("height", 80.0)):
        after, _ = resize_body(plan, axis, size[axis] + more)
        closes(after)
        assert body_size_mm(after)[axis] == pytest.approx(size[axis] + more, abs=0.05)
        assert analyse(after, LIBRARY).findings == ()


def test_what_lies_beyond_the_cut_moves_and_what_spans_it_grows() -> None:
    plan = shell()
    plan, near = draw_box(plan, "s1", ((200, 200), (700, 200), (700, 600), (200, 600)), 450, "Near")
    plan, far = draw_box(plan, "s1", ((2_200, 200), (2_700, 200), (2_700, 600), (2_200, 600)), 450, "Far")
    plan, faces = raise_faces_and_top(plan, far)
    plan, window = draw_opening(plan, "s3", ((1_200, 900), (1_800, 900), (1_800, 1_300), (1_200, 1_300)), "Window")
    after, told = stretch(plan, "length", 400, 1_500)
    closes(after)
    assert find(after, "boxes", near) is find(plan, "boxes", near)
    assert find(after, "boxes", far).outline[0] == pytest.approx((2_600, 200))
    foot = lay_out(after.surfaces).pose(faces[0]).to_vehicle(find(after, "surfaces", faces[0]).corners[0].at_mm)
    assert foot == pytest.approx((2_600, 200, 0))
    outline = find(after, "openings", window).outline
    assert max(x for x, _ in outline) - min(x for x, _ in outline) == pytest.approx(1_000)
    assert told.grown == ("Window",)
    assert "Window" in str(told)
    # Without a place said, the cut misses the window and the boxes.
    _, told = stretch(plan, "length", 400)
    assert told.grown == ()


def test_channels_and_what_lies_on_them_keep_their_places() -> None:
    plan = shell()
    layout = lay_out(plan.surfaces)
    start, end = layout.place("s2").to_sheet((2_700, 900)), layout.place("s2").to_sheet((300, 900))
    plan, (channel,) = draw_channel(plan, (start, end))
    plan, point = add_securing_point(plan, channel, 2_000)
    after, told = stretch(plan, "length", 500, 1_000)
    moved = find(after, "channels", channel)
    nodes = [find(after, "nodes", each).place.at_mm for each in (moved.start, moved.end)]
    assert distance_mm(*nodes) == pytest.approx(2_900)
    # On the left wall x runs from the rear: 2,000 mm on, at x = 700 there, is 2,300 mm from the front, beyond the cut.
    at_mm = find(after, "securing_points", point).at_mm
    assert at_mm in (pytest.approx(2_000), pytest.approx(2_500))
    assert told == ((), ())
    pulled = set_wires_state(plan, (channel,), "pulled")
    refused(stretch, pulled, "length", 500, 1_000, says="are pulled")


def test_a_slice_in_which_something_lies_is_not_taken_out() -> None:
    plan = shell()
    plan, _ = draw_box(plan, "s1", ((1_000, 200), (1_600, 200), (1_600, 600), (1_000, 600)), 450, "Bench")
    refused(stretch, plan, "length", -300, 1_400, says="Bench")
    refused(resize_body, plan, "length", 0, says="more than 0 mm")
    refused(resize_body, empty(), "length", 900, says="no body")
    boat = build_vehicle(empty(), typical("boat_cabin"))
    refused(stretch, boat, "length", 300, says="slants across the cut")
