"""The line on the sheet from a selected device that joins no channel to the nearest one it could join."""

import pytest

from app.tools.select import SelectTool
from core.edits.devices import connect_to_nearest
from core.edits.records import set_field
from core.model import Plan
from core.pages.marks import AnyMark, LineMark, TextMark
from tests.app.tools.driver import Driver, NoSight
from tests.helpers.wired import CEILING, FLOOR, LEFT, device, wired


def shown(plan: Plan, *selected: str) -> tuple[Driver, tuple[AnyMark, ...]]:
    driver = Driver(plan)
    driver.session.select(selected)
    return driver, SelectTool(driver.desk, NoSight()).show().overlay


def lines(marks: tuple[AnyMark, ...], style: str) -> list[LineMark]:
    return [mark for mark in marks if isinstance(mark, LineMark) and mark.style == style]


def words(marks: tuple[AnyMark, ...]) -> str:
    return " ".join(mark.text for mark in marks if isinstance(mark, TextMark))


def test_a_gap_is_drawn_from_the_wire_entry_to_the_nearest_channel_with_its_length() -> None:
    """The riser on the wall runs at x = 1,500; the wire entry of the lamp is at (2,000, 1,600): 500 mm."""
    plan, lamp = device(wired(), "light-reading", LEFT, (2_000.0, 1_600.0), "Lamp")
    driver, marks = shown(plan, lamp)
    ends = (driver.on(LEFT, (2_000.0, 1_600.0)), driver.on(LEFT, (1_500.0, 1_600.0)))
    assert any(line.points_mm == (pytest.approx(ends[0]), pytest.approx(ends[1])) for line in lines(marks, "dimension"))
    assert "gap 500" in words(marks)
    assert not lines(marks, "error:line")


def test_a_gap_that_is_too_long_to_join_is_drawn_as_a_fault() -> None:
    """More than a metre: the lamp at (300, 1,500) of the floor."""
    plan, lamp = device(wired(), "light-reading", FLOOR, (300.0, 1_500.0), "Lamp")
    _, marks = shown(plan, lamp)
    assert len(lines(marks, "error:line")) == 1


def test_where_no_channel_may_be_joined_words_say_so() -> None:
    plan, lamp = device(wired(), "light-reading", CEILING, (1_500.0, 400.0), "Lamp")
    for channel in plan.channels:
        if channel.surface == CEILING:
            plan = set_field(plan, channel.id, state="blocked")
    _, marks = shown(plan, lamp)
    assert "has no channel that may carry its wires" in words(marks)
    assert not lines(marks, "error:line")


def test_a_device_that_has_joined_or_is_not_selected_has_no_gap() -> None:
    plan, lamp = device(wired(), "light-reading", LEFT, (2_000.0, 1_600.0), "Lamp")
    assert "gap" not in words(shown(plan)[1])
    joined, _ = connect_to_nearest(plan, lamp)
    assert "gap" not in words(shown(joined, lamp)[1])
