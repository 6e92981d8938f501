"""The tools that change what is drawn, by plain records: each gesture and what it measures, Escape at each step, odd
input at each typed field. Distances are by hand calculation on the box of `shell`: floor 3,000 x 1,700, walls 1,800."""

from math import hypot

import pytest

from app.tools.beside import FromEdgeTool, OffsetTool
from app.tools.by_distance import ArrayTool, ByDistanceTool, CopyTool
from app.tools.cutting import SplitSurfaceTool, SplitTool, TrimTool
from app.tools.measure import MeasureTool
from app.tools.pairs import JoinTool
from app.tools.reshape import ReshapeTool
from app.tools.select import SelectTool
from app.tools.toolbox import TOOLS
from app.tools.turning import MirrorCopyTool, MirrorTool, RoundArrayTool, TurnTool
from app.tools.walls import CurvedWallTool, RaiseWallTool
from core.edits.body import draw_box, draw_metal_edge, draw_rib
from core.edits.surfaces import place_apart
from core.errors import EditRefused
from core.model import Plan, find
from tests.app.tools.driver import Driver, NoSight
from tests.app.tools.furnished import BOX, PLAN, RIB, RIGHT, SHELL, SHIFT, driven, outline
from tests.helpers.wired import CEILING, FLOOR, LEFT, channel, wired

pytestmark = pytest.mark.usefixtures("qapp")


# --- move, copy, array -----------------------------------------------------------------------------------------------


def test_move_from_a_point_to_a_point_and_by_typed_length_and_angle() -> None:
    d = driven(ByDistanceTool, BOX)
    d.click((200, 200))
    d.move((500, 200))
    assert d.session.previewing
    reply = d.click((500, 400))
    assert reply.done
    assert outline(d)[0] == (500, 400)
    d.tool = ByDistanceTool(d.desk)
    d.click((500, 400))
    d.type_in("300\t90")
    assert outline(d)[0] == (500, 700)


@pytest.mark.parametrize(
    ("text", "corner"),
    [("250", (450, 200)), ("-100\t50", (100, 250)), ("\t300", (200, 500)), ("1 ft\t-4 in", (504.8, 98.4))],
)
def test_move_by_typed_distances_right_and_up(text: str, corner: tuple[float, float]) -> None:
    d = driven(ByDistanceTool, BOX)
    d.move((1000, 1000))
    assert d.type_in(text).commit == "Move box “Cabinet”"
    assert outline(d)[0] == corner


def test_move_asks_what_is_meant_where_nothing_is_selected() -> None:
    d = driven(ByDistanceTool)
    assert "click what" in d.move((300, 300)).word
    with pytest.raises(EditRefused, match="Nothing here"):
        d.press((1500, 1500))
    assert d.press((300, 300), items=(BOX, FLOOR)).select == (BOX,)
    d.type_in("100")
    assert outline(d)[0] == (300, 200)


def test_a_move_off_the_surface_is_refused_where_the_pointer_is_and_nothing_moves() -> None:
    d = driven(ByDistanceTool, BOX)
    before = d.plan
    d.click((200, 200))
    assert "Floor" in d.move((-2000, 200)).word
    assert not d.session.previewing
    with pytest.raises(EditRefused):
        d.type_in("2500\t0")
    assert d.plan is before


def test_copy_again_and_again_until_escape() -> None:
    d = driven(CopyTool, BOX)
    d.click((200, 200))
    assert not d.click((900, 200)).done
    d.click((1600, 200))
    assert [outline(d, box.id)[0] for box in d.plan.boxes] == [(200, 200), (900, 200), (1600, 200)]
    assert [box.name for box in d.plan.boxes] == ["Cabinet", "Cabinet 2", "Cabinet 3"]
    d.key("Escape")
    assert d.tool.key(_escape()) is None


def test_array_by_step_and_count_and_in_rows() -> None:
    d = driven(ArrayTool, BOX)
    d.click((200, 200))
    reply = d.type_in("700\t0")
    assert reply.prompt.startswith("how many")
    d.type_in("4")
    assert [outline(d, box.id)[0][0] for box in d.plan.boxes] == [200, 900, 1600, 2300]
    d = driven(ArrayTool, BOX)
    d.type_in("700")
    d.type_in("2 ; 3 ; 450")
    assert sorted(outline(d, box.id)[0] for box in d.plan.boxes) == sorted(
        (200.0 + 700 * column, 200.0 + 450 * row) for column in range(2) for row in range(3)
    )
    d.session.undo()
    assert len(d.plan.boxes) == 1, "an array is one step of undo"
    plan, box = draw_box(SHELL, FLOOR, ((2000, 200), (2100, 200), (2100, 300), (2000, 300)), 300)
    d = driven(ArrayTool, box, plan=plan)
    d.type_in("0\t500")
    d.type_in("2 ; 2 ; 400")
    # Rows lie on the left of the step: it runs up, so they go to the left.
    assert sorted(outline(d, b.id)[0] for b in d.plan.boxes) == [(1600, 200), (1600, 700), (2000, 200), (2000, 700)]


@pytest.mark.parametrize("text", ["0", "1", "-3", "4.5", "x", "2\t2", "9999999", "1e3", "٣"])
def test_odd_numbers_of_an_array_are_refused(text: str) -> None:
    d = driven(ArrayTool, BOX)
    d.type_in("700")
    before = d.plan
    with pytest.raises(EditRefused):
        d.type_in(text)
    assert d.plan is before


# --- turn and mirror -------------------------------------------------------------------------------------------------


def test_turn_by_a_typed_angle_about_the_middle_and_by_the_pointer_about_a_point() -> None:
    d = driven(TurnTool, BOX)
    d.type_in("90")
    # About the middle (500, 400) a 600 x 400 box becomes 400 x 600.
    assert sorted(outline(d)) == [(300, 100), (300, 700), (700, 100), (700, 700)]
    plan, box = draw_box(SHELL, FLOOR, ((1200, 500), (1800, 500), (1800, 900), (1200, 900)), 900)
    d = driven(TurnTool, box, plan=plan)
    d.click((1200, 500))
    d.click((1800, 500))
    assert d.move((1500, 800)).word == "45°"
    assert d.move((1205, 1100)).word == "90°"
    d.click((1205, 1100))
    assert sorted(outline(d, box)) == [(800, 500), (800, 1100), (1200, 500), (1200, 1100)]
    d = driven(TurnTool, BOX)
    d.click((200, 200))
    d.click((800, 200))
    assert "Floor" in d.move((205, 800)).word
    with pytest.raises(EditRefused, match="Floor"):
        d.click((205, 800))  # it would lie 200 mm beyond the floor's front edge


def test_round_array_is_as_many_as_typed() -> None:
    plan, box = draw_box(SHELL, FLOOR, ((1500, 1000), (1600, 1000), (1600, 1100), (1500, 1100)), 300)
    d = driven(RoundArrayTool, box, plan=plan)
    d.click((1550, 850))
    d.type_in("90\t4")
    middles = sorted(
        (round(sum(x for x, _ in b.outline) / 4), round(sum(y for _, y in b.outline) / 4)) for b in d.plan.boxes
    )
    assert middles == [(1350, 850), (1550, 650), (1550, 1050), (1750, 850)]


def test_mirror_at_two_points_and_at_a_typed_angle() -> None:
    d = driven(MirrorTool, BOX)
    d.click((1000, 100))
    d.click((1000, 900), SHIFT)
    assert sorted(outline(d)) == [(1200, 200), (1200, 600), (1800, 200), (1800, 600)]
    d = driven(MirrorCopyTool, BOX)
    d.click((1000, 100))
    d.type_in("500\t90")
    assert len(d.plan.boxes) == 2
    d = driven(MirrorTool, BOX)
    d.type_in("90")
    assert sorted(outline(d)) == sorted(outline(driven(MirrorTool)))


# --- beside ----------------------------------------------------------------------------------------------------------


def test_distance_from_an_edge_is_what_was_typed() -> None:
    d = driven(FromEdgeTool, BOX)
    assert d.move((1500, 20)).word == "200 mm from Floor edge now"
    d.type_in("35")
    assert min(y for _, y in outline(d)) == 35
    d.click((20, 900))
    d.type_in("1 ft")
    assert min(x for x, _ in outline(d)) == pytest.approx(304.8)


def test_offset_to_the_side_of_the_pointer() -> None:
    d = driven(OffsetTool, RIB)
    at = d.on(LEFT, (700, 900))
    d.move(at)
    d.type_in("250")
    assert [rib.line_mm[0][0] for rib in d.plan.ribs] == [500, 750]
    d = driven(OffsetTool, BOX)
    d.move((500, 400))  # inside: the copy lies inside
    d.type_in("100")
    assert sorted(outline(d, d.plan.boxes[1].id)) == [(300, 300), (300, 500), (700, 300), (700, 500)]


# --- edges and corners -----------------------------------------------------------------------------------------------


def test_a_corner_is_taken_up_and_put_down_by_clicks_by_drag_and_typed() -> None:
    d = driven(ReshapeTool, BOX)
    d.click((800, 600))
    d.move((900, 700))
    d.click((900, 700))
    assert (900, 700) in outline(d)
    d.press((900, 700))
    d.move((1000, 650))
    d.release((1000, 650))
    assert (1000, 650) in outline(d)
    d.click((1000, 650))
    d.type_in("-200\t-50")
    assert (800, 600) in outline(d)


def test_a_corner_is_inserted_and_deleted() -> None:
    d = driven(ReshapeTool, BOX)
    d.click((500, 200))
    d.key("Insert")
    d.type_in("150")
    assert (350, 200) in outline(d)
    d.click((350, 200))
    d.key("Backspace")
    assert len(outline(d)) == 4
    d.click((500, 600))
    d.double((500, 600))
    assert (500, 600) in outline(d)


def test_the_length_of_an_edge_is_typed_and_an_edge_moves_parallel() -> None:
    d = driven(ReshapeTool, BOX)
    d.click((500, 200))
    d.type_in("450")
    assert hypot(outline(d)[1][0] - outline(d)[0][0], outline(d)[1][1] - outline(d)[0][1]) == pytest.approx(450)
    d = driven(ReshapeTool, BOX)
    d.click((500, 600))
    d.move((520, 750))
    d.click((520, 750))
    assert sorted(outline(d)) == [(200, 200), (200, 750), (800, 200), (800, 750)]


def test_corners_of_a_wall_of_a_rib_and_of_a_channel() -> None:
    plan, _ = channel(PLAN, (FLOOR, (1000, 300)), (FLOOR, (1500, 900)), (FLOOR, (2000, 300)))
    d = driven(ReshapeTool, LEFT, plan=plan)
    top = d.on(LEFT, (0, 1800))
    d.click(top)
    d.type_in("0\t-100")
    assert max(c.at_mm[1] for c in find(d.plan, "surfaces", LEFT).corners) == pytest.approx(1900)
    d.session.select((RIB,))
    d.click(d.on(LEFT, (500, 1800)), items=(RIB,))
    d.type_in("0\t200")
    assert find(d.plan, "ribs", RIB).line_mm[1][1] == pytest.approx(1600)
    only = d.plan.channels[0].id
    d.session.select((only,))
    d.click((1500, 900), items=(only,))
    d.type_in("0\t-300")
    assert find(d.plan, "channels", only).via_mm == ((1500, 600),)
    d.click((1500, 600), items=(only,))
    d.key("Backspace")
    assert find(d.plan, "channels", only).via_mm == ()


# --- trim, split, join -----------------------------------------------------------------------------------------------


def crossed() -> tuple[Plan, str]:
    """A metal edge along the left wall at 900 that crosses the rib at 500 and one at 1,500."""
    plan, _ = draw_rib(PLAN, LEFT, ((1500, 0), (1500, 1800)), 60)
    return draw_metal_edge(plan, LEFT, ((200, 900), (2000, 900)))


def test_trim_takes_the_stretch_that_is_clicked_and_shift_extends() -> None:
    plan, edge = crossed()
    d = driven(TrimTool, plan=plan)
    at = d.on(LEFT, (1800, 900))
    d.click(at, items=(edge,))
    assert find(d.plan, "metal_edges", edge).line_mm == ((200, 900), (1500, 900))
    near_end = d.on(LEFT, (300, 900))
    d.click(near_end, SHIFT, items=(edge,))
    assert find(d.plan, "metal_edges", edge).line_mm[0][0] == pytest.approx(0)


def test_split_by_click_and_at_a_typed_distance_and_join_again() -> None:
    d = driven(SplitTool)
    d.move(d.on(LEFT, (500, 700)), items=(RIB,))
    assert d.reply.word == "700 mm from the start"
    d.type_in("2 ft")
    first, second = d.plan.ribs
    assert first.line_mm[1][1] == second.line_mm[0][1] == pytest.approx(609.6)
    d.tool = JoinTool(d.desk)
    d.click(d.on(LEFT, (500, 100)), items=(first.id,))
    d.click(d.on(LEFT, (500, 900)), items=(second.id,))
    assert [rib.line_mm for rib in d.plan.ribs] == [((500, 0), (500, 1800))]


def test_split_and_join_a_channel() -> None:
    plan, (one,) = channel(SHELL, (FLOOR, (1000, 300)), (FLOOR, (2000, 300)))
    d = driven(SplitTool, plan=plan)
    d.click((1400, 300), items=(one,))
    assert len(d.plan.channels) == 2
    a, b = (each.id for each in d.plan.channels)
    d.tool = JoinTool(d.desk)
    d.click((1200, 300), items=(a,))
    d.click((1800, 300), items=(b,))
    assert len(d.plan.channels) == 1


def test_a_surface_is_split_along_a_line_and_joined_again() -> None:
    d = driven(SplitSurfaceTool, plan=SHELL)
    d.click(d.on(RIGHT, (1200, 0)))
    d.click(d.on(RIGHT, (1200, 1800)))
    assert len(d.plan.surfaces) == 7
    kept, new = d.session.selection
    d.tool = JoinTool(d.desk)
    d.click(d.on(kept, (600, 900)), items=(kept,))
    d.click(d.on(new, (600, 900)), items=(new,))
    assert len(d.plan.surfaces) == 6


# --- selecting by keys -----------------------------------------------------------------------------------------------


def test_tab_steps_through_the_sheet_and_leaves_it_at_the_end() -> None:
    d = driven(lambda desk: SelectTool(desk, NoSight()))
    seen = []
    while (reply := d.tool.key(_key("Tab"))) is not None:
        d.obey(reply)
        seen.append(d.session.selection[0])
    records = {*(s.id for s in d.plan.surfaces), BOX, RIB}
    assert set(seen) == records
    assert len(seen) == len(records)
    assert d.session.selection == (seen[-1],)
    d.key("Backtab")
    assert d.session.selection == (seen[-2],)
    d.session.select((seen[0],))
    assert d.tool.key(_key("Backtab")) is None
    d.session.select((seen[-2],))
    assert d.key("Return").edit


def test_a_drag_comes_to_lie_in_line_with_others_and_says_so() -> None:
    plan = wired()
    pump = next(device for device in plan.devices if device.name == "Pump")
    block = next(device for device in plan.devices if device.name == "Fuse block")
    d = driven(lambda desk: SelectTool(desk, NoSight()), plan=plan)
    start = d.on(LEFT, pump.at_mm)
    # 12 mm short of standing straight above the fuse block's middle, well above everything.
    end = d.on(LEFT, (block.at_mm[0] + 12, 1400))
    d.press(start, items=(pump.id,))
    assert "in line with Fuse block" in d.move(end).word
    d.release(end)
    assert find(d.plan, "devices", pump.id).at_mm[0] == pytest.approx(block.at_mm[0])


def test_numeric_nudge_moves_what_is_selected() -> None:
    d = driven(lambda desk: SelectTool(desk, NoSight()), BOX)
    assert d.move((1500, 1500)).prompt == "right ⇥ up"
    d.type_in("12.5\t-3")
    assert outline(d)[0] == (212.5, 197)
    for text in ("x", "1\t2\t3", "12 kg"):
        with pytest.raises(EditRefused):
            d.type_in(text)


# --- every tool: Escape at every step, odd input at every field ------------------------------------------------------

#: Odd wherever a number is asked for.
ODD = ("abc", "1e400", "12 kg", "nan", "1\t2\t3\t4\t5\t6", "9" * 400, "０x", "--5", "5 5", "\t\t\t\t\t\tx")

#: Steps of each tool that commit nothing: points of the sheet, or keys.
STEPS: dict[str, tuple[object, ...]] = {
    "floor": (),
    "wall": ((1500, 0),),
    "curved-wall": ((1500, 0),),
    "rib": ((1000, 300), "D"),
    "window": ((1000, 300), "D"),
    "door": ((1000, 300),),
    "arch": ((1000, 300), (1400, 600)),
    "metal-edge": ((1000, 300), (1200, 900)),
    "cabinet": ((1000, 300), (1400, 600)),
    "panel": ((1000, 300),),
    "zone": ((1000, 300),),
    "channel": ((1000, 300), (1200, 900)),
    "securing": (),
    "along": (),
    "belt": (),
    "riser": (),
    "measured": (),
    "connect": (),
    "switch": (),
    "route": (),
    "measure": ((1000, 300), (1200, 900), "Return"),
    "dimension": ((200, 200), (800, 200)),
    "sew": ((0, 800),),
    "next-to": ((1500, 900),),
    "split-surface": ((1000, 0),),
    "move": ((200, 200), "D"),
    "copy": ((200, 200),),
    "turn": ((200, 200), (800, 200)),
    "mirror": ((1000, 300),),
    "mirror-copy": ((1000, 300),),
    "array": ((200, 200), (900, 200)),
    "round-array": ((200, 200), (800, 200)),
    "from-edge": ((1500, 20),),
    "reshape": ((500, 200), "Insert"),
    "offset": ((500, 700),),
    "trim": (),
    "split": (),
    "join": ((500, 400),),
}


def _begun(tool_id: str, steps: int) -> Driver:
    row = next(row for row in TOOLS if row.id == tool_id)
    d = driven(row.make, BOX)
    d.move((900, 700))
    for step in STEPS[tool_id][:steps]:
        if isinstance(step, str):
            d.key(step)
        elif tool_id != "offset":
            d.click(step, items=(BOX, FLOOR))  # type: ignore[arg-type]
        else:
            d.move(step)  # type: ignore[arg-type]
    return d


def test_every_tool_of_the_box_is_tried() -> None:
    assert set(STEPS) == {row.id for row in TOOLS}


def test_no_tool_is_taken_by_a_key_that_means_something_while_drawing() -> None:
    assert not {row.key for row in TOOLS} & {"D", "J", "L", "R", "T"}


@pytest.mark.parametrize("tool_id", STEPS)
def test_escape_takes_back_one_step_after_another_and_then_leaves(tool_id: str) -> None:
    for steps in range(len(STEPS[tool_id]) + 1):
        d = _begun(tool_id, steps)
        before = d.plan
        for _ in range(steps + 2):
            reply = d.tool.key(_escape())
            if reply is None:
                break
            d.obey(reply)
        assert d.tool.key(_escape()) is None, f"after {steps} steps Escape does not lead out"
        assert d.plan is before
        assert d.plan == PLAN


@pytest.mark.parametrize("tool_id", STEPS)
def test_odd_input_is_refused_in_a_sentence_at_every_field(tool_id: str) -> None:
    for steps in range(len(STEPS[tool_id]) + 1):
        d = _begun(tool_id, steps)
        before = d.plan
        prompt = d.move((905, 705)).prompt
        for text in ODD:
            with pytest.raises(EditRefused) as told:
                d.type_in(text)
            sentence = str(told.value)
            assert sentence[0].isupper() or sentence[0] == "“", sentence
            assert sentence.rstrip("…")[-1] in ".?:", sentence
            assert d.plan is before
        # What was begun is still there: a slip of the finger costs nothing.
        assert d.move((905, 705)).prompt == prompt


def test_walls_refuse_a_number_before_an_edge_is_picked() -> None:
    for tool in (RaiseWallTool, CurvedWallTool):
        d = driven(tool, plan=SHELL)
        with pytest.raises(EditRefused, match="edge"):
            d.type_in("1800")


def test_a_surface_that_lies_apart_can_be_measured_too() -> None:
    plan = place_apart(SHELL, CEILING, (6000, 0), 90)
    d = driven(MeasureTool, plan=plan)
    d.click(d.on(CEILING, (500, 500)))
    d.move(d.on(CEILING, (1700, 500)))
    assert d.reply.word.startswith("1200 mm along the surface")


def _key(name: str):
    from app.tools.events import KeyEvent

    return KeyEvent(name)


def _escape():
    return _key("Escape")
