"""Outlines told by numbers alone, as they stand on a sheet of measurements."""

import pytest

from app.tools.outline import CABINET, WINDOW, Making, OutlineTool
from core.errors import EditRefused
from tests.app.tools.driver import Driver
from tests.helpers.vans import shell
from tests.helpers.wired import LEFT


def _taking(making: Making) -> Driver:
    driver = Driver(shell())
    driver.tool = OutlineTool(driver.desk, making)
    return driver


def test_place_and_sizes_are_typed_at_once_from_the_corner_that_is_nearest() -> None:
    d = _taking(CABINET)
    # The floor is 3000 by 1700 mm. Near its far right corner: distances count from there, the sizes go away from it.
    d.move((2900, 1600))
    assert d.reply.prompt == "from the side ⇥ from the edge ⇥ width ⇥ depth ⇥ height"
    d.type_in("200\t0\t1100\t450\t720")
    (box,) = d.plan.boxes
    assert sorted(box.outline) == [(1700, 1250), (1700, 1700), (2800, 1250), (2800, 1700)]
    assert box.height_mm == 720.0
    d.move((100, 100))
    d.type_in("0\t150\t500\t600")
    assert d.reply.prompt == "height"
    d.key("Return")
    assert sorted(d.plan.boxes[1].outline) == [(0, 150), (0, 750), (500, 150), (500, 750)]
    assert d.plan.boxes[1].height_mm == 720.0, "the height before is kept"


def test_the_corner_alone_is_typed_and_then_the_sizes() -> None:
    d = _taking(CABINET)
    d.move((20, 20))
    assert d.type_in("300\t40").prompt == "width ⇥ depth ⇥ height"
    d.type_in("400\t500\t600")
    (box,) = d.plan.boxes
    assert sorted(box.outline) == [(300, 40), (300, 540), (700, 40), (700, 540)]
    assert box.height_mm == 600.0


def test_a_window_has_no_height_of_its_own() -> None:
    d = _taking(WINDOW)
    d.move(d.on(LEFT, (100, 100)))
    d.type_in("500\t700\t800\t400")
    (window,) = d.plan.openings
    assert window.surface == LEFT
    assert sorted(window.outline) == [
        pytest.approx(p) for p in ((500, 700), (500, 1100), (1300, 700), (1300, 1100))
    ]  # fmt: skip
    assert not d.reply.done, "several windows in a row"


@pytest.mark.parametrize(
    "text", ["abc", "1\t2\t3", "1\t2\t0\t5", "1\t2\t3\t4\t5\t6", "1\t2\t300\t9e9", "0\t0\t300\t300\t-5", "-1"]
)
def test_odd_numbers_are_refused_in_a_sentence_and_change_nothing(text: str) -> None:
    d = _taking(CABINET)
    d.move((100, 100))
    before = d.plan
    with pytest.raises(EditRefused) as told:
        d.type_in(text)
    assert str(told.value).endswith(".")
    assert d.plan is before
