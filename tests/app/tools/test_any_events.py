"""Whatever is clicked, dragged, typed and pressed in whatever order: a tool answers, or refuses in a sentence, and
Escape leads out. Seeds make the same rows of events again; a failure names its own."""

from random import Random

import pytest

from app.tools.events import KeyEvent, Modifier
from app.tools.place import PlaceDeviceTool
from app.tools.select import SelectTool
from app.tools.toolbox import TOOLS
from core.errors import EditRefused
from core.model import Plan, records
from tests.app.tools.driver import Driver, NoSight
from tests.helpers.wired import wired

pytestmark = pytest.mark.usefixtures("qapp")

TYPED = ("100", "12.5", "-40", "300\t90", "\t30", "0", "1 ft", "2\t3\t400", "90\t4", "x", "", "\t", "1500\t90\t110\t3",
         "99999", "1e9", "5' 6 1/2\"", "-")  # fmt: skip
KEYS = ("Escape", "Return", "Backspace", "D", "L", "J", "R", "T", "Insert", "Left", "Up", "Tab", "Backtab")
HELD: tuple[Modifier, ...] = ("shift", "ctrl", "alt")
MAKES = {row.id: row.make for row in TOOLS} | {
    "select": lambda desk: SelectTool(desk, NoSight()),
    "place": lambda desk: PlaceDeviceTool(desk, desk.library.devices[0]),
}
PLAN = wired()


def places(d: Driver, chance: Random, plan: Plan) -> list[tuple[float, float]]:
    """Anywhere on the sheet and beside it, and corners of what is drawn, where people click."""
    found = [(chance.uniform(-2500, 5000), chance.uniform(-2500, 4500)) for _ in range(4)]
    for surface in plan.surfaces:
        found += [d.on(surface.id, corner.at_mm) for corner in surface.corners]
    found += [d.on(rib.surface, point) for rib in plan.ribs for point in rib.line_mm]
    found += [d.on(device.surface, device.at_mm) for device in plan.devices]
    return found


def happen(d: Driver, chance: Random, places: list[tuple[float, float]]) -> None:
    """One event, of any kind."""
    x, y = chance.choice(places)
    at = (x + chance.choice((0, 3, -20)), y + chance.choice((0, 2, 30)))
    held = frozenset(chance.sample(HELD, chance.choice((0, 0, 0, 1, 2))))
    items = tuple(chance.sample([record.id for _, record in records(d.plan)], 2)) if chance.random() < 0.5 else ()
    items = (*items, *(surface for surface, _ in d.desk.spots(at)))
    match chance.choice(("move", "click", "click", "click", "double", "drag", "key", "type", "undo")):
        case "move":
            d.move(at, held, items)
        case "click":
            d.move(at, held, items)
            d.press(at, held, items)
            d.release(at, held, items)
        case "double":
            d.double(at)
        case "drag":
            d.press(at, held, items)
            d.move(chance.choice(places), held)
            d.release(at, held)
        case "key":
            reply = d.tool.key(KeyEvent(chance.choice(KEYS), modifiers=held))
            if reply is not None:
                d.obey(reply)
        case "type":
            d.type_in(chance.choice(TYPED))
        case "undo":
            d.session.undo()
    assert isinstance(d.tool.hint, str)


@pytest.mark.parametrize("tool_id", MAKES)
def test_a_tool_answers_or_refuses_whatever_happens_and_escape_leads_out(tool_id: str) -> None:
    for seed in range(3):
        chance = Random(f"{seed} {tool_id}")
        d = Driver(PLAN)
        d.session.select(chance.sample([record.id for _, record in records(PLAN)], seed))
        d.tool = MAKES[tool_id](d.desk)
        where = places(d, chance, PLAN)
        for _ in range(15):
            try:
                happen(d, chance, where)
            except EditRefused as refusal:
                sentence = str(refusal)
                assert sentence[0].isupper() or sentence[0] == "“", sentence
        d.session.select(())
        for _ in range(8):
            reply = d.tool.key(KeyEvent("Escape"))
            if reply is None or (tool_id == "select" and reply.select == ()):
                break
            d.obey(reply)
        else:
            pytest.fail(f"Escape does not lead out of {tool_id} with seed {seed}")
