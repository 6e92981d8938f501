"""Belt lines, risers and falls, channels along ribs and edges: whole runs at once, joined where they meet."""

from hypothesis import given
from hypothesis import strategies as st

from core.analysis.engine import analyse
from core.edits.body import draw_floor, draw_opening, draw_rib, raise_wall
from core.edits.devices import place_device
from core.edits.lines import along_edge, along_rib, belt_line, route_by
from core.edits.risers import rise_or_fall
from core.files.library import load_library
from core.model import Device, Plan, find
from tests.core.edits.checks import refused, sound
from tests.helpers.vans import LENGTH_MM, WIDTH_MM, empty, shell
from tests.helpers.wired import CEILING, FLOOR, LEFT, channel, wired

LIBRARY = load_library()
SHELL = shell()


def lengths(plan: Plan) -> dict[str, float]:
    return {name: path.length_mm for name, path in analyse(plan, LIBRARY, "quick").paths.items()}


def test_a_belt_line_runs_round_the_vehicle_and_closes() -> None:
    """Two walls of 3,000 and two ends of 1,700 mm, all joined: four channels, four nodes, 9,400 mm."""
    plan, made = belt_line(SHELL, 900.0)
    sound(SHELL, plan, "channels", "nodes")
    assert len(made) == 4
    assert len(plan.nodes) == 4
    assert abs(sum(lengths(plan).values()) - 2 * (LENGTH_MM + WIDTH_MM)) < 1e-6
    ends = [node for each in plan.channels for node in (each.start, each.end)]
    assert all(ends.count(node.id) == 2 for node in plan.nodes)


def test_a_leaning_wall_gets_its_line_at_the_same_height() -> None:
    """A wall that leans in by 20 degrees: 900 mm above the floor is 900 / cos 20 = 957.8 mm along it."""
    plan, floor = draw_floor(empty(), ((0, 0), (3_000, 0), (3_000, 1_700), (0, 1_700)))
    plan, wall = raise_wall(plan, floor, "1", 1_800.0, lean_deg=110.0)
    plan, (made,) = belt_line(plan, 900.0, [wall])
    analysis = analyse(plan, LIBRARY, "quick")
    ys = [y for _, y in analysis.paths[made].local_mm]
    assert all(abs(y - 957.8) < 0.1 for y in ys)
    pose = analysis.sheet.layout.pose(wall)
    assert all(abs(pose.to_vehicle(p)[2] - 900.0) < 1e-6 for p in analysis.paths[made].local_mm)


def test_a_window_is_passed_and_a_door_parts_the_line() -> None:
    """The window reaches from 700 to 1,200 mm: the shorter way round it is 30 mm (and 5) under its lower edge."""
    window = ((1_000.0, 700.0), (1_800.0, 700.0), (1_800.0, 1_200.0), (1_000.0, 1_200.0))
    plan, _ = draw_opening(SHELL, LEFT, window, name="Window")
    plan, (made,) = belt_line(plan, 900.0, [LEFT])
    via = find(plan, "channels", made).via_mm
    assert [round(y) for _, y in via] == [900, 665, 665, 900]
    assert sorted({round(x) for x, _ in via}) == [965, 1_835]  # upright beside it, level under it
    door = ((1_000.0, 0.0), (1_800.0, 0.0), (1_800.0, 1_800.0), (1_000.0, 1_800.0))
    plan, _ = draw_opening(SHELL, LEFT, door, name="Door", kind="door")
    plan, made_two = belt_line(plan, 900.0, [LEFT])
    assert sorted(round(lengths(plan)[each]) for each in made_two) == [1_000, 1_200]


def test_a_belt_line_joins_the_channels_it_crosses() -> None:
    plan, _ = channel(SHELL, (LEFT, (1_500.0, 100.0)), (LEFT, (1_500.0, 1_700.0)))
    plan, _ = belt_line(plan, 900.0, [LEFT])
    assert len(plan.channels) == 4
    ends = [node for each in plan.channels for node in (each.start, each.end)]
    assert max(ends.count(node.id) for node in plan.nodes) == 4


def test_no_line_on_a_level_surface_or_above_the_roof() -> None:
    refused(belt_line, SHELL, 900.0, [FLOOR], says="level")
    refused(belt_line, SHELL, 2_500.0, [LEFT], says="no room")
    refused(belt_line, SHELL, 2_500.0, says="No wall reaches")


@given(height=st.floats(60.0, 1_740.0), lean=st.floats(70.0, 110.0))
def test_every_point_of_a_belt_line_has_its_height(height: float, lean: float) -> None:
    plan, floor = draw_floor(empty(), ((0, 0), (3_000, 0), (3_000, 1_700), (0, 1_700)))
    for edge in ("1", "2", "3", "4"):
        plan, _ = raise_wall(plan, floor, edge, 1_800.0 / abs(__import__("math").sin(__import__("math").radians(lean))),
                             lean_deg=lean)  # fmt: skip
    plan, made = belt_line(plan, height)
    analysis = analyse(plan, LIBRARY, "quick")
    assert len(made) == 4
    for each in made:
        path = analysis.paths[each]
        pose = analysis.sheet.layout.pose(path.surface)
        assert all(abs(pose.to_vehicle(p)[2] - height) < 1e-3 for p in path.local_mm)


def _with(plan: Plan, surface: str, at) -> tuple[Plan, str]:
    lamp = Device(id="new", name="Lamp", kind="light", surface=surface, at_mm=at)
    return place_device(plan, lamp, surface, at)


def test_a_riser_and_a_fall_go_straight_to_the_nearest_channel() -> None:
    plan, _ = belt_line(SHELL, 900.0, [LEFT])
    for y, length in ((300.0, 600.0), (1_600.0, 700.0)):
        hung, device = _with(plan, LEFT, (1_000.0, y))
        after, (made,) = rise_or_fall(hung, device)
        sound(hung, after, "channels", "nodes", "devices")
        assert abs(lengths(after)[made] - length) < 1e-6
        assert find(after, "devices", device).node == find(after, "channels", made).start


def test_on_the_ceiling_the_fall_is_square_to_the_channel() -> None:
    plan, _ = channel(SHELL, (CEILING, (200.0, 850.0)), (CEILING, (2_800.0, 850.0)))
    plan, device = _with(plan, CEILING, (1_300.0, 400.0))
    plan, (made,) = rise_or_fall(plan, device)
    assert abs(lengths(plan)[made] - 450.0) < 1e-6


def test_with_nothing_above_or_below_it_says_so() -> None:
    plan, device = _with(SHELL, LEFT, (1_000.0, 300.0))
    refused(rise_or_fall, plan, device, says="No channel lies straight above, below or beside")


def test_along_a_rib_inside_and_beside() -> None:
    plan, rib = draw_rib(SHELL, LEFT, ((1_000.0, 100.0), (1_000.0, 1_700.0)), 60.0)
    inside, (made,) = along_rib(plan, rib, inside=True)
    row = find(inside, "channels", made)
    assert (row.runs_inside, row.kind) == (rib, "void")
    assert abs(lengths(inside)[made] - 1_600.0) < 1e-6
    beside, (made,) = along_rib(plan, rib)
    (x, _), _ = analyse(beside, LIBRARY, "quick").paths[made].local_mm
    assert abs(abs(x - 1_000.0) - 60.0) < 1e-6
    from core.edits.records import set_field

    refused(along_rib, set_field(plan, rib, state="blocked"), rib, inside=True, says="blocked")


def test_along_an_edge() -> None:
    plan, (made,) = along_edge(SHELL, LEFT, "3", 40.0, kind="behind_panel")
    analysis = analyse(plan, LIBRARY, "quick")
    assert all(abs(y - 1_760.0) < 1e-6 for _, y in analysis.paths[made].local_mm)
    assert abs(analysis.paths[made].length_mm - 3_000.0) < 1e-6
    assert find(plan, "channels", made).kind == "behind_panel"
    refused(along_edge, SHELL, LEFT, "9", says="no edge 9")
    refused(along_edge, SHELL, LEFT, "3", 5_000.0, says="no room")


def test_a_leg_passes_the_nodes_that_are_picked() -> None:
    plan = wired()
    circuit = plan.circuits[2]
    node = plan.nodes[-1].id
    led = sound(plan, route_by(plan, circuit.id, None, [node]), "circuits")
    channels = analyse(led, LIBRARY, "quick").routes[f"{circuit.id}-1F"].steps
    ends = {n for s in channels for n in (find(led, "channels", s.channel).start, find(led, "channels", s.channel).end)}
    assert node in ends
    assert route_by(led, circuit.id, None, []) == plan
    refused(route_by, plan, circuit.id, "9", [node], says="does not lead to 9")
    refused(route_by, plan, circuit.id, None, ["nowhere"], says="no node")
