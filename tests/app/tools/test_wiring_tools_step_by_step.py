"""The tools of channels and circuits on a wired van: Escape leads out of each step, odd input is refused in words."""

import contextlib
from collections.abc import Callable, Iterator

import pytest

from app.tools.base import BaseTool
from app.tools.desk import Desk
from app.tools.events import KeyEvent
from app.tools.toolbox import TOOLS
from core.errors import EditRefused
from core.files.codec import read_plan
from core.model import Point
from core.resources import samples
from tests.app.tools.driver import Driver
from tests.app.tools.test_changing_tools import ODD

PLAN = read_plan(next(path for path in samples() if path.stem == "weekend-camper"))
WIRING = ("along", "belt", "riser", "measured", "connect", "switch", "route", "securing")
STEPS_OUT = 6


def _driver(make: Callable[[Desk], BaseTool]) -> Driver:
    driver = Driver(PLAN)
    driver.session.select((next(circuit.id for circuit in PLAN.circuits if circuit.kind == "branch"),))
    driver.tool = make(driver.desk)
    return driver


def _places(d: Driver) -> Iterator[tuple[Point, tuple[str, ...]]]:
    """Something of every kind to click on: a switch, a block, a load, a channel, a rib, a wall, nothing."""
    for kind in ("switch", "fuse_block", "light", "battery"):
        device = next(each for each in PLAN.devices if each.kind == kind)
        yield d.desk.entry_on_sheet(device), (device.id,)
    channel = next(each for each in PLAN.channels if each.surface and each.via_mm)
    yield d.on(channel.surface or "", channel.via_mm[0]), (channel.id,)
    rib = PLAN.ribs[0]
    (ax, ay), (bx, by) = rib.line_mm[0], rib.line_mm[-1]
    yield d.on(rib.surface, ((ax + bx) / 2, (ay + by) / 2)), (rib.id,)
    wall = next(each for each in PLAN.surfaces if each.role == "wall")
    yield d.on(wall.id, (700.0, 500.0)), (wall.id,)
    yield (-50_000.0, -50_000.0), ()


def begin(d: Driver, at: Point, items: tuple[str, ...], gesture: Callable[..., object]) -> None:
    """Point there and make the gesture, which may be refused."""
    with contextlib.suppress(EditRefused):
        d.move(at, items=items)
        gesture(at, items=items)


@pytest.mark.parametrize("tool_id", WIRING)
def test_escape_leads_out_wherever_it_was_begun(tool_id: str) -> None:
    make = next(row.make for row in TOOLS if row.id == tool_id)
    begun = 0
    for first in range(8):
        for second in (None, 2, 4, 5):
            d = _driver(make)
            places = list(_places(d))
            begin(d, *places[first], d.click)
            if second is not None:
                begin(d, *places[second], d.press)
            before = d.plan
            begun += d.reply.prompt != "" or bool(d.reply.overlay)
            for _ in range(STEPS_OUT):
                reply = d.tool.key(KeyEvent("Escape"))
                if reply is None:
                    break
                d.obey(reply)
            assert d.tool.key(KeyEvent("Escape")) is None, f"{tool_id} from {first} and {second}"
            assert d.plan is before
            assert not d.session.previewing
    assert begun, f"nothing was ever begun with {tool_id}"


@pytest.mark.parametrize("tool_id", WIRING)
def test_odd_input_is_refused_in_words_wherever_it_was_begun(tool_id: str) -> None:
    make = next(row.make for row in TOOLS if row.id == tool_id)
    for first in range(8):
        d = _driver(make)
        begin(d, *list(_places(d))[first], d.click)
        before = d.plan
        for text in ODD:
            with pytest.raises(EditRefused) as told:
                d.type_in(text)
            sentence = str(told.value)
            assert sentence[0].isupper() or sentence[0] == "“", sentence
            assert d.plan is before
