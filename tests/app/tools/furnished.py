"""The van the tools change in their tests: the box of `shell`, floor 3,000 x 1,700, walls 1,800, with a cabinet and
a rib; and a tool in hand on it."""

from core.edits.body import draw_box, draw_rib
from core.model import Plan, find
from tests.app.tools.driver import Driver
from tests.helpers.vans import shell
from tests.helpers.wired import FLOOR, LEFT

SHIFT, ALT = frozenset({"shift"}), frozenset({"alt"})
RIGHT, REAR, FRONT = "s3", "s4", "s5"


def furnished() -> tuple[Plan, str, str]:
    """The shell with a cabinet 600 x 400 at (200, 200) on the floor and a rib upright at 500 on the left wall."""
    plan, box = draw_box(shell(), FLOOR, ((200, 200), (800, 200), (800, 600), (200, 600)), 900)
    plan, rib = draw_rib(plan, LEFT, ((500, 0), (500, 1800)), 60)
    return plan, box, rib


PLAN, BOX, RIB = furnished()
SHELL = shell()


def driven(tool, *chosen: str, plan: Plan | None = None, **settings: object) -> Driver:
    d = Driver(PLAN if plan is None else plan, **settings)
    d.session.select(chosen)
    d.tool = tool(d.desk)
    return d


def outline(d: Driver, box: str = BOX) -> list[tuple[float, float]]:
    return [(round(x, 3), round(y, 3)) for x, y in find(d.plan, "boxes", box).outline]
