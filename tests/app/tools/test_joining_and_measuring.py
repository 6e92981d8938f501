"""Seams, folds, measuring and dimensions, by plain records; distances are by hand calculation on the box of `shell`."""

from math import hypot

import pytest

from app.tools.lines import ChannelTool
from app.tools.measure import DimensionTool, MeasureTool
from app.tools.pairs import NextToTool, SewTool
from app.tools.walls import CurvedWallTool
from core.edits.dimensions import dimension_length_mm
from core.edits.outlines import move_point
from core.edits.surfaces import draw_seam
from core.errors import EditRefused
from core.geometry.foldout import lay_out
from core.model import OnEdge, Plan, find
from core.studies.measuring import measure
from tests.app.tools.furnished import BOX, REAR, RIGHT, SHELL, driven
from tests.helpers.wired import CEILING, FLOOR, LEFT

pytestmark = pytest.mark.usefixtures("qapp")


# --- seams and folds -------------------------------------------------------------------------------------------------


def unsewn() -> Plan:
    import msgspec

    return msgspec.structs.replace(SHELL, seams=())


def test_a_seam_by_picking_two_edges_says_that_it_closes() -> None:
    d = driven(SewTool, plan=unsewn())
    a = d.on(LEFT, (0, 900))
    b = d.on(REAR, (0, 900)) if _meets(LEFT, 0, REAR, 0) else d.on(REAR, (1700, 900))
    d.click(a)
    assert "closes" in d.move(b).word
    d.click(b)
    (seam,) = d.plan.seams
    assert {seam.a, seam.b} == {LEFT, REAR}


def _meets(one: str, x: float, other: str, y: float) -> bool:
    layout = lay_out(SHELL.surfaces)
    p, q = layout.pose(one).to_vehicle((x, 900)), layout.pose(other).to_vehicle((y, 900))
    return hypot(p[0] - q[0], p[1] - q[1]) < 1.0


def test_sewing_edges_that_lie_apart_tells_the_gap() -> None:
    d = driven(SewTool, plan=unsewn())
    d.click(d.on(LEFT, (0, 900)))
    told = d.move(d.on(RIGHT, (0, 900))).word
    assert "does not close" in told
    assert "mm" in told


def test_the_ceiling_is_drawn_next_to_the_other_wall() -> None:
    d = driven(NextToTool, CEILING, plan=SHELL)
    assert "Vehicle right" in d.tool.hint
    d.move(d.on(RIGHT, (1500, 900)))
    assert d.reply.word == "next to Vehicle right"
    reply = d.click(d.on(RIGHT, (1500, 900)))
    assert reply.commit == "Draw Ceiling next to Vehicle right"
    fold = find(d.plan, "surfaces", CEILING).fold
    assert fold is not None
    assert fold.parent == RIGHT


def test_what_does_not_close_is_refused_with_the_gap() -> None:
    plan = move_point(SHELL, RIGHT, find(SHELL, "surfaces", RIGHT).corners[2].id, (3000, 1500))
    plan = move_point(plan, RIGHT, find(plan, "surfaces", RIGHT).corners[3].id, (0, 1500))
    edge = find(plan, "surfaces", RIGHT).corners[2].id
    top = find(plan, "surfaces", CEILING).corners[2].id
    plan, _ = draw_seam(plan, RIGHT, OnEdge(edge=edge), CEILING, OnEdge(edge=top))
    d = driven(NextToTool, CEILING, plan=plan)
    told = d.move(d.on(RIGHT, (1500, 700))).word
    assert "300 mm" in told
    with pytest.raises(EditRefused, match="300 mm"):
        d.click(d.on(RIGHT, (1500, 700)))


def test_curved_wall_is_as_high_as_the_tape_in_as_many_strips_as_typed() -> None:
    d = driven(CurvedWallTool, plan=_floor())
    d.click((1500, 0))
    d.type_in("1500 ; 90 ; 120 ; 5")
    strips = d.plan.surfaces[1:]
    assert len(strips) == 5
    assert sum(max(c.at_mm[1] for c in s.corners) for s in strips) == pytest.approx(1500)
    assert [s.name for s in strips] == [f"Vehicle left, strip {number}" for number in range(1, 6)]
    d.click((1500, 1700))
    d.type_in("1500")
    assert len(d.plan.surfaces) == 11, "angles and strips stay as typed last"


def _floor() -> Plan:
    import msgspec

    return msgspec.structs.replace(SHELL, surfaces=SHELL.surfaces[:1], seams=())


def test_a_channel_goes_on_where_its_seam_leads_and_is_one_step_of_undo() -> None:
    """The ceiling lies above the left wall on the sheet; over its far edge a line goes on at the right wall."""
    d = driven(ChannelTool, plan=SHELL)
    start = d.on(CEILING, (1500, 1000))
    over = d.on(CEILING, (1500, 1750))
    d.click(start)
    d.move(over)
    (flash,) = d.reply.flash
    assert d.desk.spot(flash) is not None
    assert "J goes on at Vehicle right" in d.reply.word
    assert "Vehicle right" in d.tool.hint
    reply = d.key("J")
    assert reply.look_at == pytest.approx(flash)
    d.move(d.on(RIGHT, (1500, 1000)))
    spot = d.on(RIGHT, (1500, 1000))
    d.click(spot)
    d.key("Return")
    assert [c.surface for c in d.plan.channels] == [CEILING, RIGHT]
    assert d.plan.channels[0].end == d.plan.channels[1].start, "they meet in one node on the seam"
    lengths = [path.length_mm for path in d.session.analysis_now().paths.values()]
    assert lengths == pytest.approx([700.0, 800.0], abs=1.0)  # hand calculation: 1,700 - 1,000, and 1,800 - 1,000
    d.session.undo()
    assert d.plan.channels == ()


def test_a_click_on_the_place_beyond_the_seam_goes_on_there_too() -> None:
    d = driven(ChannelTool, plan=SHELL)
    d.click(d.on(CEILING, (1500, 1000)))
    d.click(d.on(CEILING, (1500, 1700)))
    there = d.on(RIGHT, (1500, 1800))
    assert d.move((there[0] + 20, there[1])).word == "click to go on at Vehicle right"
    d.click((there[0] + 20, there[1]))
    d.click(d.on(RIGHT, (1500, 900)))
    d.key("Return")
    assert [c.surface for c in d.plan.channels] == [CEILING, RIGHT]
    assert d.plan.channels[0].end == d.plan.channels[1].start


def test_in_a_corner_j_steps_through_the_places() -> None:
    d = driven(ChannelTool, plan=SHELL)
    d.click(d.on(CEILING, (1500, 1000)))
    corner = d.on(CEILING, (0, 1700))
    d.click(corner)
    d.move(corner)
    names = {d.key("J").word.split(",")[0]}
    while len(names) < 2:
        before = len(names)
        names.add(d.key("J").word.split(",")[0])
        assert len(names) > before
    assert names <= {f"on at {s.name}" for s in d.plan.surfaces}
    assert len(d.plan.channels) == 1


# --- measure and dimension -------------------------------------------------------------------------------------------


def test_measuring_over_two_folds_and_a_seam_agrees_with_hand_calculation() -> None:
    """Hand calculation: from the floor 200 in front of the rear wall's foot, up that wall, over the ceiling's seam.

    The rear wall is folded to the floor, the ceiling to the left wall; rear wall and ceiling meet in a seam. From 200
    before the rear edge of the floor, 850 from either side, straight up 1,800 and 300 on over the ceiling: 2,300 mm.
    Straight through the air: 1,800 up and 300 - 200 = 100 to the front: sqrt(1800^2 + 100^2) = 1,802.8 mm.
    """
    d = driven(MeasureTool, plan=SHELL)
    a = (FLOOR, (2800.0, 850.0))
    pose = lay_out(d.plan.surfaces).pose(CEILING)
    b = next(
        (CEILING, (x, y)) for x in (300.0, 2700.0) for y in (850.0,) if abs(pose.to_vehicle((x, y))[0] - 2700.0) < 1.0
    )
    found = measure(d.plan, a, b)
    assert found.along_mm == pytest.approx(200 + 1800 + 300, abs=1.0)
    assert found.straight_mm == pytest.approx(hypot(1800, 100), abs=1.0)
    d.click(d.on(*a))
    d.move(d.on(*b))
    assert "2300 mm along the surface" in d.reply.word
    assert "1803 mm straight" in d.reply.word
    assert "100 mm to the front" in d.reply.word
    assert "1800 mm up" in d.reply.word


def test_measured_legs_add_up_and_backspace_takes_one_back() -> None:
    before = SHELL
    d = driven(MeasureTool, plan=before)
    for point in ((1000, 300), (1000, 800), (1400, 800)):
        d.click(point)
    assert d.reply.word.startswith("900 mm along the surface, 3 stretches")
    d.key("Backspace")
    d.move((1000, 1000))
    assert d.reply.word.startswith("700 mm along")
    d.click((1000, 1000))
    d.key("Return")
    assert "700 mm" in d.reply.word
    d.move((2000, 1500))
    assert "700 mm" in d.reply.word, "what was measured stays to be read"
    d.key("Escape")
    assert d.plan is before


def test_a_dimension_at_corners_follows_them() -> None:
    d = driven(DimensionTool)
    d.click((200, 200))
    d.click((800, 200))
    d.move((500, 100))
    d.click((500, 100))
    (dimension,) = d.plan.dimensions
    assert dimension_length_mm(d.plan, dimension.id) == 600
    assert abs(dimension.offset_mm) == 100
    after = move_point(d.plan, BOX, "1", (950, 200))
    assert dimension_length_mm(after, dimension.id) == 750


def test_a_dimension_by_typed_length_and_aside() -> None:
    d = driven(DimensionTool)
    d.click((1000, 1000))
    d.type_in("450\t0")
    d.move((1200, 1100))
    d.type_in("60")
    (dimension,) = d.plan.dimensions
    assert dimension_length_mm(d.plan, dimension.id) == pytest.approx(450)
    assert dimension.offset_mm == pytest.approx(60)


def test_a_dimension_over_a_fold_is_refused_with_what_to_do() -> None:
    d = driven(DimensionTool)
    d.click((1000, 1000))
    with pytest.raises(EditRefused, match="measure tool"):
        d.click(d.on(LEFT, (1000, 700)))
