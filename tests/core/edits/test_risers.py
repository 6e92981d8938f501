"""Risers over folds: lengths are those a tape gives along the wall and on over the ceiling."""

import pytest

from core.analysis.engine import analyse
from core.edits.body import draw_opening
from core.edits.devices import place_device
from core.edits.lines import belt_line
from core.edits.measurements import typical
from core.edits.new_vehicle import build_vehicle
from core.edits.risers import fall_runs, rise_at, rise_or_fall, rise_runs
from core.edits.start import new_plan
from core.files.library import load_library
from core.geometry.plane import length_mm
from core.model import Device, Plan
from tests.core.edits.checks import refused, sound
from tests.helpers.vans import HEIGHT_MM, shell
from tests.helpers.wired import CEILING, LEFT, channel

LIBRARY = load_library()
SHELL = shell()


def test_a_riser_goes_on_over_the_fold_to_the_channel_on_the_ceiling() -> None:
    """Belt line at 900 on a wall of 1,800 mm, a channel 300 mm in on the ceiling: 900 and 300 mm, joined at both."""
    plan, _ = belt_line(SHELL, 900.0, [LEFT])
    plan, (above,) = channel(plan, (CEILING, (200.0, 300.0)), (CEILING, (2_800.0, 300.0)))
    runs = rise_runs(plan, LEFT, (1_000.0, 1_200.0))
    assert [run.surface for run in runs] == [LEFT, CEILING]
    assert [length_mm(run.line) for run in runs] == pytest.approx([HEIGHT_MM - 900.0, 300.0])
    after, made = rise_at(plan, LEFT, (1_000.0, 1_200.0))
    sound(plan, after, "channels", "nodes")
    paths = analyse(after, LIBRARY, "quick").paths
    assert sum(paths[each].length_mm for each in made) == pytest.approx(HEIGHT_MM - 900.0 + 300.0)
    ends = [node for each in after.channels if each.id in made for node in (each.start, each.end)]
    assert len(set(ends)) == 3, "one node at the fold for both"
    others = [node for each in after.channels if each.id not in made for node in (each.start, each.end)]
    assert len(set(ends) & set(others)) == 2
    assert above in {each.id for each in after.channels}


def test_without_a_channel_above_it_ends_where_the_walls_end() -> None:
    plan, _ = belt_line(SHELL, 900.0, [LEFT])
    (run,) = rise_runs(plan, LEFT, (1_000.0, 1_200.0))
    assert (run.surface, length_mm(run.line)) == (LEFT, HEIGHT_MM - 900.0)


def test_pointing_at_the_very_edges_of_a_wall_is_pointing_at_the_wall() -> None:
    for y in (0.0, HEIGHT_MM):
        runs = rise_runs(SHELL, LEFT, (1_000.0, y))
        assert sum(length_mm(run.line) for run in runs) == pytest.approx(HEIGHT_MM)
        assert {run.surface for run in runs} == {LEFT}


def test_both_parts_of_a_wall_are_one_wall() -> None:
    """The mid van's wall stands in two parts, of 700.64 and 600.17 mm along the skin (`core.geometry.section`)."""
    plan = build_vehicle(new_plan(LIBRARY, "Van", LIBRARY.profiles[0].id), typical("mid_van"))
    lower, upper = (next(s for s in plan.surfaces if s.name == f"Vehicle right, {w}") for w in ("lower", "upper"))
    runs = rise_runs(plan, lower.id, (1_800.0, 400.0))
    assert [run.surface for run in runs] == [lower.id, upper.id]
    top = max(corner.at_mm[1] for corner in upper.corners)
    foot = max(corner.at_mm[1] for corner in lower.corners)
    assert sum(length_mm(run.line) for run in runs) == pytest.approx(foot + top)


def test_a_window_is_passed_and_a_door_refused() -> None:
    window = ((1_000.0, 700.0), (1_800.0, 700.0), (1_800.0, 1_200.0), (1_000.0, 1_200.0))
    plan, _ = draw_opening(SHELL, LEFT, window, name="Window")
    (run,) = rise_runs(plan, LEFT, (1_100.0, 300.0))
    assert sorted({round(x) for x, _ in run.line}) == [965, 1_100]  # 30 (and 5) mm beside it
    door = ((0.0, 600.0), (3_000.0, 600.0), (3_000.0, 1_200.0), (0.0, 1_200.0))
    plan, _ = draw_opening(SHELL, LEFT, door, name="Wide door", kind="door")
    refused(rise_at, plan, LEFT, (1_100.0, 300.0), says="Wide door")
    refused(rise_at, plan, LEFT, (9_000.0, 300.0), says="does not lie on")


def _with(plan: Plan, surface: str, at) -> tuple[Plan, str]:
    return place_device(plan, Device(id="new", name="Lamp", kind="light", surface=surface, at_mm=at), surface, at)


def test_a_device_reaches_a_channel_beyond_the_fold() -> None:
    plan, _ = channel(SHELL, (CEILING, (200.0, 300.0)), (CEILING, (2_800.0, 300.0)))
    plan, device = _with(plan, LEFT, (1_000.0, 1_500.0))
    assert sum(length_mm(run.line) for run in fall_runs(plan, device)) == pytest.approx(HEIGHT_MM - 1_500.0 + 300.0)
    after, made = rise_or_fall(plan, device)
    sound(plan, after, "channels", "nodes", "devices")
    assert len(made) == 2
    assert after.devices[-1].node in {each.start for each in after.channels if each.id in made}


def test_from_a_ceiling_without_channels_the_way_goes_over_its_nearest_edge() -> None:
    """A fan 500 mm from the left edge of the ceiling, belt line at 900 of 1,800 mm: 500 and 900 mm."""
    plan, _ = belt_line(SHELL, 900.0, [LEFT])
    plan, device = _with(plan, CEILING, (1_000.0, 500.0))
    runs = fall_runs(plan, device)
    assert [run.surface for run in runs] == [CEILING, LEFT]
    assert sum(length_mm(run.line) for run in runs) == pytest.approx(500.0 + 900.0)


def test_a_device_beside_the_only_channel_is_led_across() -> None:
    plan, _ = channel(SHELL, (LEFT, (2_000.0, 100.0)), (LEFT, (2_000.0, 1_700.0)))
    plan, device = _with(plan, LEFT, (1_000.0, 500.0))
    (run,) = fall_runs(plan, device)
    assert length_mm(run.line) == pytest.approx(1_000.0)


def test_a_riser_does_not_cross_the_floor_to_the_other_wall() -> None:
    plan, _ = belt_line(SHELL, 900.0)
    runs = rise_runs(plan, LEFT, (1_000.0, 500.0))
    assert [run.surface for run in runs] == [LEFT]
    assert length_mm(runs[0].line) == pytest.approx(900.0), "from the foot of the wall to the belt line"
