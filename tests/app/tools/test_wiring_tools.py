"""Tools of channels and circuits by plain records: along, belt, riser, measured, ways, switches, waypoints."""

import pytest

from app.tools.events import KeyEvent
from app.tools.route_way import RouteTool
from app.tools.runs import AlongTool, BeltTool, MeasuredTool, RiserTool
from app.tools.switching import SwitchTool
from app.tools.ways import WayTool
from core.analysis.engine import analyse
from core.edits.devices import connect_to_nearest, place_device
from core.errors import EditRefused
from core.files.references import problems
from core.geometry.plane import length_mm
from core.model import Device, Electrical, Plan, Point, find
from tests.app.tools.driver import Driver
from tests.helpers.vans import LENGTH_MM, WIDTH_MM, shell
from tests.helpers.wired import CEILING, LEFT, channel, device, library, wired

SHIFT = frozenset({"shift"})


def drawn(driver: Driver, tool, new: int) -> list:
    """The channels that are new since `new` of them were there."""
    return list(driver.plan.channels[new:])


def path_mm(plan: Plan, channel_id: str) -> float:
    return analyse(plan, library(), "quick").paths[channel_id].length_mm


def drag(driver: Driver, start: Point, end: Point, *, held=frozenset(), first=(), last=()):
    driver.move(start, held, first)
    driver.press(start, held, first)
    driver.move(end, held, last)
    return driver.release(end, held, last)


# --- along -----------------------------------------------------------------------------------------------------------


def test_along_a_rib_on_the_side_that_is_pointed_at() -> None:
    """A rib of 60 mm: the channel lies 30 + 30 mm beside its middle, all along its 1,800 mm."""
    driver = Driver(wired())
    driver.tool = AlongTool(driver.desk)
    count = len(driver.plan.channels)
    x = 2_300.0
    driver.click(driver.on(LEFT, (x + 40.0, 400.0)))
    fresh = [c for c in driver.plan.channels if c.id not in {o.id for o in wired().channels}]
    assert len(fresh) >= len(driver.plan.channels) - count > 0
    analysis = analyse(driver.plan, library(), "quick")
    lines = [analysis.paths[c.id].local_mm for c in fresh if analysis.paths[c.id].surface == LEFT]
    upright = [line for line in lines if all(abs(p[0] - (x + 60.0)) < 1e-6 for p in line)]
    assert sum(length_mm(line) for line in upright) == pytest.approx(1_800.0)
    assert problems(driver.plan) == ()


def test_inside_a_hollow_rib_with_shift() -> None:
    driver = Driver(wired())
    driver.tool = AlongTool(driver.desk)
    driver.click(driver.on(LEFT, (2_310.0, 400.0)), SHIFT)
    inside = [c for c in driver.plan.channels if c.runs_inside]
    assert inside
    assert {c.kind for c in inside} == {"void"}


def test_along_an_edge_by_click_by_drag_and_by_a_typed_distance() -> None:
    """The ceiling's long edge is 3,000 mm; a drag from 500 to 2,000 mm takes 1,500 of them."""
    for act, wanted in (("click", LENGTH_MM), ("drag", 1_500.0), ("typed", LENGTH_MM)):
        driver = Driver(shell(), snap=False)
        driver.tool = AlongTool(driver.desk)
        # the upper edge of the left wall
        start = driver.on(LEFT, (500.0, 1_775.0))
        if act == "click":
            driver.click(start)
        elif act == "drag":
            drag(driver, start, driver.on(LEFT, (2_000.0, 1_775.0)))
        else:
            driver.move(start)
            driver.obey(driver.tool.typed("80"))
        (made,) = driver.plan.channels
        assert path_mm(driver.plan, made.id) == pytest.approx(wanted)
        line = analyse(driver.plan, library(), "quick").paths[made.id].local_mm
        assert {round(p[1]) for p in line} == {1_720 if act == "typed" else 1_770}


# --- belt lines, risers ----------------------------------------------------------------------------------------------


def test_a_belt_line_by_pointing_and_by_typing() -> None:
    driver = Driver(shell())
    driver.tool = BeltTool(driver.desk)
    reply = driver.move(driver.on(LEFT, (1_000.0, 903.0)))
    assert reply.word.startswith("900 mm above the floor")
    driver.click(driver.on(LEFT, (1_000.0, 903.0)))
    assert len(driver.plan.channels) == 4
    assert sum(path_mm(driver.plan, c.id) for c in driver.plan.channels) == pytest.approx(2 * (LENGTH_MM + WIDTH_MM))
    driver.obey(driver.tool.typed("1 m"))
    assert len(driver.plan.channels) == 8
    driver.click(driver.on(LEFT, (1_000.0, 300.0)), SHIFT)
    assert len(driver.plan.channels) == 9
    with pytest.raises(EditRefused, match="has no room for a line 5000 mm"):
        driver.tool.typed("5 m")
    driver.move((0.0, 900.0))  # over the floor: all walls again
    with pytest.raises(EditRefused, match="No wall reaches"):
        driver.tool.typed("5 m")


def test_a_riser_between_two_channels_and_a_fall_to_a_device() -> None:
    """Belt lines at 300 and 1,200 mm: 900 mm between them, at 700 mm from the nearer side when that is typed."""
    plan, _ = channel(shell(), (LEFT, (0.0, 300.0)), (LEFT, (3_000.0, 300.0)))
    plan, _ = channel(plan, (LEFT, (0.0, 1_200.0)), (LEFT, (3_000.0, 1_200.0)))
    plan, lamp = device(plan, "light-reading", LEFT, (2_000.0, 900.0), "Lamp")
    driver = Driver(plan, snap=False)
    driver.tool = RiserTool(driver.desk)
    driver.move(driver.on(LEFT, (500.0, 600.0)))
    before = {c.id for c in driver.plan.channels}
    driver.obey(driver.tool.typed("700"))
    paths = analyse(driver.plan, library(), "quick").paths
    upright = [paths[c.id] for c in driver.plan.channels if c.id not in before
               and all(abs(p[0] - 700.0) < 1e-6 for p in paths[c.id].local_mm)]  # fmt: skip
    assert [path.length_mm for path in upright] == [pytest.approx(900.0)]  # nothing below 300 or above 1,200
    driver.click(driver.on(LEFT, (2_000.0, 900.0)), items=(lamp,))
    joined = find(driver.plan, "devices", lamp)
    assert joined.node is not None
    fall = next(c for c in driver.plan.channels if joined.node in (c.start, c.end))
    assert path_mm(driver.plan, fall.id) == pytest.approx(300.0)  # to the nearer one, 1,200 - 900
    assert problems(driver.plan) == ()


def test_a_measured_channel_joins_what_it_ends_at() -> None:
    driver = Driver(wired(), snap=False)
    driver.tool = MeasuredTool(driver.desk)
    count = len(driver.plan.nodes)
    node = driver.on(LEFT, (2_600.0, 350.0))
    driver.click(node)
    driver.click(driver.on("s3", (1_000.0, 900.0)))
    with pytest.raises(EditRefused, match="must be longer"):
        driver.tool.typed("0")
    driver.obey(driver.tool.typed("2.4 m"))
    made = driver.plan.channels[-1]
    assert (made.measured_mm, made.surface, made.kind) == (2_400.0, None, "void")
    assert len(driver.plan.nodes) == count + 1
    assert path_mm(driver.plan, made.id) == 2_400.0


# --- ways and chains -------------------------------------------------------------------------------------------------


def fan() -> tuple[Plan, str, str]:
    plan = wired()
    lamp = Device(id="new", name="Lamp 2", kind="light", surface=CEILING, at_mm=(0.0, 0.0),
                  electrical=Electrical(current_a=1.0))  # fmt: skip
    plan, first = place_device(plan, lamp, CEILING, (1_700.0, 850.0), "Lamp 2")
    plan, other = place_device(plan, lamp, CEILING, (1_900.0, 850.0), "Lamp 3")
    return plan, first, other


def cell(tool: WayTool, way: str) -> Point:
    at = next(at for each, at in tool._cells if each.id == way)
    return at[0] + tool._size[0] / 2, at[1] + tool._size[1] / 2


def test_dragging_from_a_way_of_a_block_takes_that_way() -> None:
    plan, lamp, _ = fan()
    driver = Driver(plan)
    tool = driver.tool = WayTool(driver.desk)
    block = next(d for d in plan.devices if d.ways)
    driver.move(driver.on(LEFT, block.at_mm), items=(block.id,))
    assert len(tool._cells) == 6
    at = cell(tool, "5")
    assert "free" in driver.move(at).word
    end = driver.on(CEILING, (1_700.0, 850.0))
    drag(driver, at, end, last=(lamp,))
    made = driver.plan.circuits[-1]
    assert (made.stops[0].device, made.stops[0].way, made.stops[1].device) == (block.id, "5", lamp)
    assert problems(driver.plan) == ()


def test_a_way_is_typed_and_a_used_one_gets_another_leg() -> None:
    plan, lamp, other = fan()
    driver = Driver(plan)
    driver.tool = WayTool(driver.desk)
    block = next(d for d in plan.devices if d.ways)
    driver.move(driver.on(LEFT, block.at_mm), items=(block.id,))
    with pytest.raises(EditRefused, match="has no way 9"):
        driver.tool.typed("9")
    used = next(c for c in plan.circuits if c.stops[0].way is not None)
    driver.obey(driver.tool.typed(used.stops[0].way))
    driver.click(driver.on(CEILING, (1_700.0, 850.0)), items=(lamp,))
    after = find(driver.plan, "circuits", used.id)
    assert after.stops[-1].device == lamp
    assert after.stops[-1].after == after.stops[0].id  # a star
    # From the lamp that is fed now the circuit goes on to the next: a chain.
    start, end = driver.on(CEILING, (1_700.0, 850.0)), driver.on(CEILING, (1_900.0, 850.0))
    drag(driver, start, end, first=(lamp,), last=(other,))
    chained = find(driver.plan, "circuits", used.id)
    assert chained.stops[-1].device == other
    assert chained.stops[-1].after == after.stops[-1].id
    assert problems(driver.plan) == ()


def test_escape_lets_go_of_way_and_source() -> None:
    plan, lamp, _ = fan()
    driver = Driver(plan)
    driver.tool = WayTool(driver.desk)
    block = next(d for d in plan.devices if d.ways)
    driver.move(driver.on(LEFT, block.at_mm), items=(block.id,))
    driver.obey(driver.tool.typed("4"))
    driver.obey(driver.tool.key(KeyEvent("Escape")))
    driver.click(driver.on(LEFT, block.at_mm), items=(block.id,))
    driver.click(driver.on(CEILING, (1_700.0, 850.0)), items=(lamp,))
    assert driver.plan.circuits[-1].stops[0].way not in (None, "4")


# --- switches --------------------------------------------------------------------------------------------------------


def switches(count: int) -> tuple[Plan, list[str], str]:
    plan, made = wired(), []
    for number in range(count):
        new = Device(id="new", name=f"Switch {number + 1}", kind="switch", surface=LEFT, at_mm=(0.0, 0.0))
        plan, each = place_device(plan, new, LEFT, (1_200.0 + 300.0 * number, 1_100.0))
        made.append(each)
    return plan, made, next(d.id for d in plan.devices if d.name == "Light")


def test_a_drag_from_a_switch_to_a_light_makes_its_switch_leg() -> None:
    plan, (one,), light = switches(1)
    driver = Driver(plan)
    driver.tool = SwitchTool(driver.desk)
    drag(driver, driver.on(LEFT, (1_200.0, 1_100.0)), driver.on(CEILING, (1_500.0, 850.0)), first=(one,), last=(light,))
    circuit = next(c for c in driver.plan.circuits if any(s.device == light for s in c.stops))
    assert [s.role for s in circuit.stops] == ["source", "series", "load"]
    roles = {w.role for w in analyse(driver.plan, library(), "quick").wires.values() if w.circuit == circuit.id}
    assert "switched" in roles


def test_switches_clicked_in_turn_switch_from_each() -> None:
    plan, made, light = switches(3)
    driver = Driver(plan)
    driver.tool = SwitchTool(driver.desk)
    for each in made:
        driver.click(driver.on(LEFT, (1_200.0, 1_100.0)), items=(each,))
    driver.click(driver.on(CEILING, (1_500.0, 850.0)), items=(light,))
    circuit = next(c for c in driver.plan.circuits if any(s.device == light for s in c.stops))
    assert [s.feeds for s in circuit.stops] == [1, 1, 2, 2, 1]
    with pytest.raises(EditRefused, match="is no switch"):
        driver.click(driver.on(CEILING, (1_500.0, 850.0)), items=(light,))


# --- waypoints -------------------------------------------------------------------------------------------------------


def ring() -> tuple[Plan, str, str]:
    """Two ways from a block to a lamp: straight along 900 mm, or up and along 1,500 mm."""
    plan, _ = channel(shell(), (LEFT, (500.0, 900.0)), (LEFT, (2_500.0, 900.0)))
    plan, (detour,) = channel(plan, (LEFT, (500.0, 900.0)), (LEFT, (500.0, 1_500.0)), (LEFT, (2_500.0, 1_500.0)),
                              (LEFT, (2_500.0, 900.0)))  # fmt: skip
    plan, block = device(plan, "fuse-block-6", LEFT, (500.0, 850.0), "Block")
    plan, lamp = device(plan, "light-reading", LEFT, (2_500.0, 850.0), "Lamp")
    for each in (block, lamp):
        plan, _ = connect_to_nearest(plan, each)
    from core.edits.circuits import connect

    plan, _ = connect(plan, block, None, [lamp], library=library())
    return plan, lamp, detour


def test_a_wire_is_led_over_the_channel_that_is_clicked() -> None:
    """2,000 mm straight; 600 up, 2,000 along, 600 down the other way: 1,200 mm more."""
    plan, lamp, detour = ring()
    driver = Driver(plan)
    driver.session.select((lamp,))
    tool = driver.tool = RouteTool(driver.desk)
    reply = driver.move(driver.on(LEFT, (1_500.0, 1_500.0)))
    free = analyse(plan, library(), "quick")
    feed = next(w.id for w in free.wires.values() if w.role == "feed")
    assert f"{free.routes[feed].route_mm / 1000:.2f} m" in reply.word
    # The detour starts and ends where the straight one does: only a node within it leads over it.
    before = driver.plan
    driver.click(driver.on(LEFT, (1_500.0, 1_500.0)), items=(detour,))
    assert "+1.20 m to the shortest" in tool.show().word
    driver.obey(tool.key(KeyEvent("Return")))
    led = analyse(driver.plan, library(), "quick")
    assert led.routes[feed].route_mm - free.routes[feed].route_mm == pytest.approx(1_200.0)
    driver.session.undo()
    assert driver.plan is before  # node and leading are one step


def test_waypoints_are_nodes_and_can_be_taken_back() -> None:
    plan, lamp, detour = ring()
    from core.edits.channels import split

    plan, middle = split(plan, detour, 1_600.0)
    driver = Driver(plan)
    driver.tool = RouteTool(driver.desk)
    driver.click(driver.on(LEFT, (2_500.0, 850.0)), items=(lamp,))
    reply = driver.click(driver.on(LEFT, (1_500.0, 1_500.0)))
    assert "+1.20 m to the shortest" in reply.word
    driver.obey(driver.tool.key(KeyEvent("Backspace")))
    assert "to the shortest" not in driver.reply.word
    driver.click(driver.on(LEFT, (1_500.0, 1_500.0)))
    driver.obey(driver.tool.key(KeyEvent("Return")))
    (circuit,) = driver.plan.circuits
    assert circuit.stops[1].waypoints == (middle,)
    free, led = analyse(plan, library(), "quick"), analyse(driver.plan, library(), "quick")
    wire = next(iter(free.wires))
    assert led.routes[wire].route_mm - free.routes[wire].route_mm == pytest.approx(1_200.0)
