"""Every tool by plain records: pointer, typed numbers in odd forms, Escape at each step, refusals without a trace."""

from collections.abc import Callable
from math import hypot

import pytest
from pytestqt.qtbot import QtBot

from app.tools.base import BaseTool
from app.tools.connect import ConnectTool
from app.tools.desk import Desk
from app.tools.lines import ChannelTool, MetalEdgeTool, RibTool
from app.tools.measure import MeasureTool
from app.tools.on_channel import SecuringPointTool
from app.tools.outline import CABINET, FLOOR, PANEL, WINDOW, ZONE, OutlineTool
from app.tools.pen import nearest_turn, parts, straightened
from app.tools.place import PlaceDeviceTool, distances
from app.tools.select import SelectTool
from app.tools.toolbox import TOOLS
from app.tools.walls import RaiseWallTool, edge_near
from core.edits.surfaces import place_apart
from core.errors import EditRefused
from core.model import find
from tests.app.tools.driver import Driver, NoSight
from tests.helpers.vans import empty, shell
from tests.helpers.wired import CEILING, LEFT, channel, wired
from tests.helpers.wired import FLOOR as FLOOR_ID

pytestmark = pytest.mark.usefixtures("qapp")

SHIFT, CTRL, ALT = frozenset({"shift"}), frozenset({"ctrl"}), frozenset({"alt"})


def driven(plan, make: Callable[[Desk], BaseTool], **settings: object) -> Driver:
    driver = Driver(plan, **settings)
    driver.tool = make(driver.desk)
    return driver


def outline(making):
    return lambda desk: OutlineTool(desk, making)


# --- what is typed ---------------------------------------------------------------------------------------------------


def test_typed_parts_are_parted_by_tab_or_the_fields_semicolon() -> None:
    assert parts("1240\t90") == ["1240", "90"]
    assert parts("1240 ; 90") == ["1240", "90"]
    assert parts("1240 ; ") == ["1240"]
    assert parts("  ") == []


def test_directions_near_level_are_level_and_shift_locks_to_45_degrees() -> None:
    assert straightened((0, 0), (100, 5)) == 0.0
    assert straightened((0, 0), (-3, 100)) == 90.0
    assert straightened((0, 0), (100, 100)) == pytest.approx(45.0)
    assert straightened((0, 0), (0, 0)) == 0.0
    assert nearest_turn((0, 0), (100, 80), 45.0) == 45.0
    assert nearest_turn((0, 0), (-100, 20), 90.0) in (180.0, -180.0)
    assert nearest_turn((0, 0), (100, 30), 15.0) == 15.0


# --- floor and boxes -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "size"),
    [
        ("3000\t1700", (3000.0, 1700.0)),
        ("3 m ; 1,7 m", (3000.0, 1700.0)),
        ("10 ft\t5 ft 6 in", (3048.0, 1676.4)),
        ("2*1500\t1700", (3000.0, 1700.0)),
    ],
)
def test_floor_by_one_corner_and_typed_sizes(text: str, size: tuple[float, float]) -> None:
    d = driven(empty(), outline(FLOOR))
    d.click((0, 0))
    d.move((10, 10))
    reply = d.type_in(text)
    assert reply.done
    (floor,) = d.plan.surfaces
    xs = [corner.at_mm[0] for corner in floor.corners]
    ys = [corner.at_mm[1] for corner in floor.corners]
    assert (max(xs) - min(xs), max(ys) - min(ys)) == pytest.approx(size)


def test_typed_rectangle_opens_towards_the_pointer() -> None:
    d = driven(empty(), outline(FLOOR))
    d.click((0, 0))
    d.move((-500, -500))
    d.type_in("3000\t1700")
    assert {corner.at_mm for corner in d.plan.surfaces[0].corners} == {(0, 0), (-3000, 0), (-3000, -1700), (0, -1700)}


def test_any_shape_by_typed_lengths_and_angles() -> None:
    d = driven(empty(), outline(FLOOR))
    d.key("R")
    d.click((0, 0))
    for leg in ("3000\t0", "1700\t90", "2500\t180"):
        d.type_in(leg)
    d.key("Backspace")
    d.type_in("2600\t180")
    d.key("Return")
    assert [corner.at_mm for corner in d.plan.surfaces[0].corners] == [
        pytest.approx(p, abs=1e-6) for p in ((0, 0), (3000, 0), (3000, 1700), (400, 1700))
    ]


def test_click_on_the_first_corner_closes_the_shape() -> None:
    d = driven(empty(), lambda desk: OutlineTool(desk, FLOOR, "free"))
    for point in ((0, 0), (3000, 0), (3000, 1700)):
        d.click(point)
    d.move((10, 10))
    assert d.reply.word == "close the outline"
    d.click((10, 10))
    assert len(d.plan.surfaces[0].corners) == 3


@pytest.mark.parametrize("text", ["", "abc", "1e400", "-5", "12\t34\t56", "0x10", "nan", "12 kg", "9" * 400])
def test_odd_sizes_are_refused_in_a_sentence_and_change_nothing(text: str) -> None:
    before = empty()
    d = driven(before, outline(FLOOR))
    d.click((0, 0))
    with pytest.raises(EditRefused) as told:
        d.type_in(text)
    assert str(told.value)[0].isupper() or str(told.value)[0] == "“"
    assert d.plan is before


def test_cabinet_asks_for_its_height_and_remembers_it() -> None:
    d = driven(shell(), outline(CABINET))
    d.click((200, 200))
    d.move((300, 300))
    assert d.type_in("600\t400").prompt == "height"
    assert d.plan.boxes == ()
    d.type_in("720")
    d.tool = OutlineTool(d.desk, CABINET)
    d.press((1200, 200))
    d.release((1800, 600))
    d.key("Return")
    assert [box.height_mm for box in d.plan.boxes] == [720.0, 720.0]
    assert d.session.undo_label == "Draw cabinet"


def test_escape_takes_back_one_step_at_a_time() -> None:
    before = shell()
    d = driven(before, outline(CABINET))
    d.click((200, 200))
    d.move((300, 300))
    d.type_in("600\t400")
    assert d.key("Escape").prompt.startswith("from the side")
    d.click((200, 200))
    d.key("Escape")
    assert d.tool.key(_escape()) is None, "with nothing begun Escape is for the sheet: it leaves the tool"
    assert d.plan is before


@pytest.mark.parametrize(("making", "collection"), [(WINDOW, "openings"), (ZONE, "zones"), (PANEL, "panels")])
def test_outlines_lie_on_the_surface_under_them(making, collection: str) -> None:
    d = driven(shell(), outline(making))
    corner = d.on(LEFT, (1500, 900))
    d.click(corner)
    d.move((corner[0] + 500, corner[1] - 500))
    d.type_in("400\t300")
    (thing,) = getattr(d.plan, collection)
    assert thing.surface == LEFT


def test_cabinet_beside_the_vehicle_is_refused() -> None:
    before = shell()
    d = driven(before, outline(CABINET))
    d.click((-5000, -5000))
    d.move((-4900, -4900))
    with pytest.raises(EditRefused, match="empty"):
        d.type_in("100\t100")
    assert d.plan is before


# --- walls -----------------------------------------------------------------------------------------------------------


def _floor_only():
    d = driven(empty(), outline(FLOOR))
    d.click((0, 0))
    d.move((100, 100))
    d.type_in("3000\t1700")
    d.tool = RaiseWallTool(d.desk)
    return d


def test_wall_by_typed_height_and_lean() -> None:
    d = _floor_only()
    d.move((1500, 8))
    assert d.reply.word == "edge, 3000 mm"
    d.click((1500, 8))
    d.type_in("1800\t95")
    wall = d.plan.surfaces[1]
    assert wall.fold is not None
    assert wall.fold.fold_deg == 95.0
    assert max(corner.at_mm[1] for corner in wall.corners) == 1800.0


def test_wall_by_moving_away_from_the_edge() -> None:
    d = _floor_only()
    d.click((1500, 0))
    d.move((1400, -1234))
    assert d.reply.word == "height 1230 mm"
    d.click((1400, -1234))
    assert max(corner.at_mm[1] for corner in d.plan.surfaces[1].corners) == 1230.0


def test_second_wall_on_the_same_edge_is_refused() -> None:
    d = _floor_only()
    d.click((1500, 0))
    d.type_in("1800")
    before = d.plan
    d.click((1500, 20))
    with pytest.raises(EditRefused, match="already"):
        d.type_in("900")
    assert d.plan is before
    d.key("Escape")


@pytest.mark.parametrize("text", ["0", "-3", "x", "1800\t500", "1800\tabc", "1\t2\t3"])
def test_odd_heights_are_refused(text: str) -> None:
    d = _floor_only()
    before = d.plan
    d.click((1500, 0))
    with pytest.raises(EditRefused):
        d.type_in(text)
    assert d.plan is before


def test_where_two_surfaces_meet_the_edge_of_the_one_pointed_at_is_picked() -> None:
    d = Driver(shell())
    inside, outside = edge_near(d.desk, (1500, 10), 70), edge_near(d.desk, (1500, -10), 70)
    assert inside is not None
    assert outside is not None
    assert (inside.surface, outside.surface) == (FLOOR_ID, LEFT)
    assert edge_near(d.desk, (1500, 800), 70) is None


# --- lines -----------------------------------------------------------------------------------------------------------


def test_rib_is_two_points() -> None:
    d = driven(shell(), RibTool)
    d.click(d.on(LEFT, (500, 0)))
    reply = d.click(d.on(LEFT, (500, 1800)))
    assert reply.commit == "Draw rib"
    assert find(d.plan, "ribs", d.plan.ribs[0].id).surface == LEFT


def test_metal_edge_by_double_click() -> None:
    d = driven(shell(), MetalEdgeTool)
    for x in (200, 900, 1500):
        d.click((x, 500))
    d.double((1500, 500))
    assert len(d.plan.metal_edges[0].line_mm) == 3


def test_channel_over_two_folds_is_three_channels_as_long_as_the_tape_says() -> None:
    d = driven(shell(), ChannelTool)
    d.click((1000, 300))
    d.type_in("300 + 1800 + 400\t-90")
    d.key("Return")
    assert [channel.surface for channel in d.plan.channels] == [FLOOR_ID, LEFT, CEILING]
    lengths = [path.length_mm for path in d.session.analysis.paths.values()]
    assert lengths == pytest.approx([300.0, 1800.0, 400.0])


def test_channel_says_its_length_and_where_it_stops() -> None:
    d = driven(shell(), ChannelTool)
    d.click((1000, 300))
    d.move((1000, 900))
    assert "600 mm" in d.reply.word
    d.move((1000, 9000))
    assert "edge" in d.reply.word.lower()


def test_line_of_one_point_is_refused() -> None:
    before = shell()
    d = driven(before, ChannelTool)
    d.click((1000, 300))
    with pytest.raises(EditRefused):
        d.key("Return")
    assert d.plan is before
    d.key("Escape")


def test_measuring_goes_over_the_fold_and_keeps_nothing() -> None:
    before = shell()
    d = driven(before, MeasureTool)
    d.click((1000, 300))
    d.move((1000, -500))
    assert d.reply.word.startswith("800 mm along the surface")
    d.click((1000, -500))
    d.key("Return")
    assert d.plan is before


# --- devices ---------------------------------------------------------------------------------------------------------


def _placing(d: Driver, template: str = "water-pump") -> None:
    d.tool = PlaceDeviceTool(d.desk, next(row for row in d.desk.library.devices if row.id == template))


def test_device_by_distances_from_the_edges_it_is_nearest_to() -> None:
    d = Driver(shell())
    _placing(d)
    d.move(d.on(LEFT, (2700, 200)))
    d.type_in("250\t12 in")
    (device,) = d.plan.devices
    assert device.surface == LEFT
    assert device.at_mm == pytest.approx((3000 - 250, 304.8))


def test_nearest_edges_are_named_by_their_distances() -> None:
    far = distances(((0, 0), (1000, 0), (1000, 500), (0, 500)), (900, 400))
    assert (far.side_mm, far.level_mm, far.right, far.top) == (100, 100, True, True)
    assert far.point(20, 30) == (980, 470)


def test_shift_keeps_the_device_in_hand_and_t_turns_it() -> None:
    d = Driver(shell())
    _placing(d)
    d.key("T")
    assert not d.click((500, 500), SHIFT).done
    assert d.click((900, 500)).done
    assert [device.turn_deg for device in d.plan.devices] == [90.0, 90.0]


@pytest.mark.parametrize("text", ["1\t2\t3", "x", "99999\t10"])
def test_odd_distances_are_refused(text: str) -> None:
    before = shell()
    d = Driver(before)
    _placing(d)
    d.move((500, 500))
    with pytest.raises(EditRefused):
        d.type_in(text)
    assert d.plan is before


def test_device_beside_the_vehicle_is_refused() -> None:
    d = Driver(shell())
    _placing(d)
    with pytest.raises(EditRefused, match="empty"):
        d.click((-9000, 0))


# --- securing points and circuits ------------------------------------------------------------------------------------


def test_securing_point_by_click_and_by_distance() -> None:
    d = driven(wired(), SecuringPointTool)
    d.click(d.on(LEFT, (2000, 1003)))
    d.type_in("350")
    first, second = d.plan.securing_points
    assert first.channel == second.channel
    path = d.session.analysis.paths[first.channel]
    # 500 mm from the junction above the light, whichever end the channel starts at.
    assert first.at_mm in (pytest.approx(500.0), pytest.approx(path.length_mm - 500.0))
    assert second.at_mm == 350.0


@pytest.mark.parametrize("text", ["99999", "-1", "abc", "1\t2"])
def test_odd_places_on_a_channel_are_refused(text: str) -> None:
    before = wired()
    d = driven(before, SecuringPointTool)
    d.move(d.on(LEFT, (2000, 1003)))
    with pytest.raises(EditRefused):
        d.type_in(text)
    assert d.plan is before


def test_a_chain_by_clicks_with_shift() -> None:
    d = driven(wired(), ConnectTool)
    block, light, pump = (device.id for device in d.plan.devices[1:4])
    for each in (block, light):
        d.click((0, 0), SHIFT, (each,))
    d.click((0, 0), SHIFT, (pump,))
    d.key("Return")
    assert [stop.device for stop in d.plan.circuits[-1].stops] == [block, light, pump]


def test_a_light_feeds_nothing() -> None:
    before = wired()
    d = driven(before, ConnectTool)
    block, light = before.devices[1].id, before.devices[2].id
    d.click((0, 0), items=(light,))
    with pytest.raises(EditRefused, match="cannot feed"):
        d.click((0, 0), items=(block,))
    assert d.plan is before
    assert d.tool.hint.startswith("Drag from")


def test_a_device_far_from_every_channel_is_connected_and_said_so() -> None:
    d = Driver(wired())
    _placing(d)
    d.click((300, 1500))
    new = d.plan.devices[-1].id
    d.tool = ConnectTool(d.desk)
    d.click((0, 0), items=(d.plan.devices[1].id,))
    reply = d.click((0, 0), items=(new,))
    assert "No channel within 1 m" in reply.word
    assert d.plan.circuits[-1].stops[-1].device == new


# --- select and move -------------------------------------------------------------------------------------------------


def _selecting(plan, found: tuple[str, ...] = ()) -> tuple[Driver, NoSight]:
    d = Driver(plan)
    sight = NoSight(found)
    d.tool = SelectTool(d.desk, sight)
    return d, sight


def test_dragging_previews_and_releasing_commits_one_step() -> None:
    d, _ = _selecting(wired())
    before, pump = d.plan, d.plan.devices[3]
    start = d.on(LEFT, pump.at_mm)
    d.press(start, items=(pump.id,))
    for step in (40, 80, 123):
        d.move((start[0] + step, start[1]))
        assert d.session.previewing
        assert d.plan is before
    d.release((start[0] + 123, start[1]))
    after = find(d.plan, "devices", pump.id)
    assert hypot(after.at_mm[0] - pump.at_mm[0], after.at_mm[1] - pump.at_mm[1]) == pytest.approx(120.0)
    d.session.undo()
    assert d.plan is before


def test_escape_while_dragging_goes_back() -> None:
    d, _ = _selecting(wired())
    before, pump = d.plan, d.plan.devices[3]
    start = d.on(LEFT, pump.at_mm)
    d.press(start, items=(pump.id,))
    d.move((start[0] + 200, start[1]))
    d.key("Escape")
    assert not d.session.previewing
    d.release((start[0] + 200, start[1]))
    assert d.plan is before


def test_dragged_over_a_fold_a_device_changes_its_surface() -> None:
    d, _ = _selecting(wired())
    pump = d.plan.devices[3]
    start = d.on(LEFT, pump.at_mm)
    d.press(start, items=(pump.id,))
    d.move((start[0], 600))
    d.release((start[0], 600))
    assert find(d.plan, "devices", pump.id).surface == FLOOR_ID


def test_dragged_off_the_sheet_it_stays_where_it_last_could_be() -> None:
    d, _ = _selecting(shell())
    d.tool = OutlineTool(d.desk, CABINET)
    d.click((200, 200))
    d.move((300, 300))
    d.type_in("600\t400")
    d.key("Return")
    box = d.plan.boxes[0]
    d.tool = SelectTool(d.desk, NoSight())
    d.press((400, 400), items=(box.id,))
    d.move((500, 400))
    assert d.session.shown.boxes[0].outline != box.outline
    d.move((9000, 400))
    assert d.reply.word
    d.release((9000, 400))
    assert min(x for x, _ in d.plan.boxes[0].outline) == pytest.approx(300.0)


def test_a_board_that_lies_apart_is_dragged_once_it_is_selected() -> None:
    plan = place_apart(wired(), LEFT, (4_000.0, 3_000.0))
    d, _ = _selecting(plan, (plan.devices[3].id,))
    start, pump = d.on(LEFT, (100.0, 100.0)), d.plan.devices[3]
    d.press(start, items=(LEFT,))
    d.move((start[0] + 400, start[1] - 100))
    d.release((start[0] + 400, start[1] - 100))
    assert d.plan is plan  # that was a rubber band
    d.session.select((LEFT,))
    d.press(start, items=(LEFT,))
    d.move((start[0] + 400, start[1] - 100))
    d.release((start[0] + 400, start[1] - 100))
    apart = find(d.plan, "surfaces", LEFT).apart
    assert apart is not None
    assert d.on(LEFT, (100.0, 100.0)) == pytest.approx((start[0] + 400, start[1] - 100))
    assert find(d.plan, "devices", pump.id) == pump
    d.session.undo()
    assert d.plan is plan


def test_a_selected_channel_is_dragged_with_its_own_ends() -> None:
    plan, (made, *_) = channel(wired(), (LEFT, (400.0, 1_400.0)), (LEFT, (700.0, 1_300.0)), (LEFT, (1_000.0, 1_400.0)))
    d, _ = _selecting(plan)
    d.session.select((made,))
    before = find(plan, "channels", made)
    # On its line, away from the handle of the via point.
    start = d.on(LEFT, (550.0, 1_350.0))
    end = d.on(LEFT, (550.0, 1_250.0))
    d.press(start, items=(made,))
    d.move(end)
    d.release(end)
    after = find(d.plan, "channels", made)
    assert [(x, y + 100.0) for x, y in after.via_mm] == [pytest.approx(point) for point in before.via_mm]
    for old, new in ((before.start, after.start), (before.end, after.end)):
        assert old == new
        assert find(d.plan, "nodes", new).place != find(plan, "nodes", old).place


def test_a_nudge_over_the_edge_is_refused_and_changes_nothing() -> None:
    d, _ = _selecting(shell())
    d.tool = OutlineTool(d.desk, CABINET)
    d.click((0, 200))
    d.move((300, 300))
    d.type_in("600\t400")
    d.key("Return")
    d.tool = SelectTool(d.desk, NoSight())
    before = d.plan
    d.session.select((before.boxes[0].id,))
    with pytest.raises(EditRefused, match=r"[Cc]abinet"):
        d.key("Left")
    assert d.plan is before


def test_arrow_keys_nudge_in_one_step_of_undo() -> None:
    d, _ = _selecting(wired())
    before, pump = d.plan, d.plan.devices[3]
    d.session.select((pump.id,))
    start = d.on(LEFT, pump.at_mm)
    for key, held in (("Right", frozenset()), ("Right", SHIFT), ("Up", ALT)):
        d.key(key, held)
    end = d.on(LEFT, find(d.plan, "devices", pump.id).at_mm)
    assert (end[0] - start[0], end[1] - start[1]) == pytest.approx((110.0, 1.0))
    d.session.undo()
    assert d.plan is before


def test_band_to_the_left_takes_what_it_touches() -> None:
    d, sight = _selecting(wired(), ("c1",))
    d.press((5000, 5000))
    d.move((4000, 4000))
    d.release((4000, 4000))
    assert d.session.selection == ("c1",)
    assert sight.touching is True
    d.press((4000, 5000))
    d.move((5000, 4000))
    d.release((5000, 4000), CTRL)
    assert sight.touching is False
    assert d.session.selection == ()


def test_via_points_of_a_selected_channel_are_dragged() -> None:
    d = driven(shell(), ChannelTool)
    for point in ((300, 300), (1000, 300), (1000, 1200)):
        d.click(point)
    d.key("Return")
    channel = d.plan.channels[0]
    d.tool = SelectTool(d.desk, NoSight())
    d.session.select((channel.id,))
    d.press((1000, 300), items=(channel.id,))
    d.move((1200, 400))
    d.release((1200, 400))
    assert d.plan.channels[0].via_mm == ((1200.0, 400.0),)
    assert d.session.undo_label == "Move via point"


def test_nodes_are_dragged_with_their_channels() -> None:
    d, _ = _selecting(wired())
    node = next(node for node in d.plan.nodes if any(c.end == node.id for c in d.plan.channels) and
                d.session.analysis.node_spots[node.id].spots[0][0] == LEFT and
                len(d.session.analysis.node_spots[node.id].spots) == 1)  # fmt: skip
    at = d.session.analysis.node_spots[node.id].sheet_mm[0]
    d.press(at, items=(node.id,))
    d.move((at[0] - 50, at[1]))
    d.release((at[0] - 50, at[1]))
    assert d.session.analysis.node_spots[node.id].sheet_mm[0] == pytest.approx((at[0] - 50, at[1]))


# --- snapping and units ----------------------------------------------------------------------------------------------


def test_snapping_names_what_it_snaps_to_and_alt_suspends_it() -> None:
    d = driven(shell(), ChannelTool)
    d.move((12, 9))
    assert d.reply.word == "end of Floor edge"
    d.move((12, 9), ALT)
    assert d.reply.word == ""
    d.move((1503, 8))
    assert d.reply.word == "middle of Floor edge"


def test_inches_are_read_and_shown_where_they_are_the_unit() -> None:
    d = driven(empty(), outline(FLOOR), length_unit="in")
    d.click((0, 0))
    d.move((100, 100))
    d.type_in("120\t66 1/2")
    assert d.plan.surfaces[0].corners[2].at_mm == pytest.approx((3048.0, 66.5 * 25.4))
    assert d.desk.show_mm(3048.0) == "10'"


def test_every_tool_has_words_a_key_of_its_own_a_stage_and_a_hint(qtbot: QtBot) -> None:
    desk = Driver(wired()).desk
    assert len({row.key for row in TOOLS}) == len(TOOLS)
    for row in TOOLS:
        assert row.words
        assert row.stages
        assert row.make(desk).hint


def _escape():
    from app.tools.events import KeyEvent

    return KeyEvent("Escape")
