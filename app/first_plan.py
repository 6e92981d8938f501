"""The guided first plan: ten steps on the real window. A step is done when the plan says so, however it came about."""

from collections.abc import Callable
from dataclasses import dataclass

from core.model import DISTRIBUTION, SOURCES, Plan

LOADS = 3


@dataclass(frozen=True)
class Step:
    """`tool` is taken in hand, or `action` run, by "Show me"; "" for both only goes to the stage."""

    words: str
    told: str
    stage: str
    is_done: Callable[[Plan, int], bool]
    tool: str = ""
    action: str = ""


def _walls(plan: Plan) -> int:
    return sum(surface.fold is not None for surface in plan.surfaces)


def _has_device(plan: Plan, *kinds: str) -> bool:
    return any(device.kind in kinds for device in plan.devices)


def _loads(plan: Plan) -> int:
    return sum(device.kind not in SOURCES for device in plan.devices)


#: `is_done` gets the plan and how many errors its findings hold.
STEPS: tuple[Step, ...] = (
    Step("The floor", "Click a corner, then type 2400, Tab, 1600, Return: a floor of 2.4 by 1.6 m. "
         "Or fill in New vehicle, which makes walls and ceiling too.", "survey",
         lambda plan, _: bool(plan.surfaces), tool="floor"),
    Step("Walls and ceiling", "Click an edge of the floor, type the height (1400), Return. One wall on each long side, "
         "and the ceiling from the top of a wall.", "survey", lambda plan, _: _walls(plan) >= 3, tool="wall"),
    Step("What is in the way", "Draw a rib by its centre line, or a window or door by two corners.", "survey",
         lambda plan, _: bool(plan.ribs or plan.openings), tool="rib"),
    Step("A cabinet", "Two corners of its outline on the floor, then its height. It is to hold the battery.", "fit-out",
         lambda plan, _: any(box.kind != "wheel_arch" for box in plan.boxes), tool="cabinet"),
    Step("The battery", "Type “battery” in Devices at hand, Return, and click inside the cabinet.", "devices",
         lambda plan, _: _has_device(plan, "battery"), action="find-device"),
    Step("The fuse block", "Type “fuse block”, Return, and click on the wall behind the cabinet.", "devices",
         lambda plan, _: _has_device(plan, *DISTRIBUTION), action="find-device"),
    Step("What wants current", f"Place {LOADS} things: lights on the ceiling, a socket or USB on a wall, a pump.",
         "devices", lambda plan, _: _loads(plan) >= LOADS, action="find-device"),
    Step("Where the bundle runs", "Draw a channel from the battery past the fuse block, up the wall and over the fold "
         "to the lights. Return ends it.", "channels", lambda plan, _: bool(plan.channels), tool="channel"),
    Step("Connect", "Drag from the battery to the fuse block, then from the fuse block to each thing it feeds, "
         f"{LOADS} circuits. Sizes and fuses follow.", "circuits",
         lambda plan, _: len(plan.circuits) >= LOADS, tool="connect"),
    Step("Check and print", "Step through the findings (F8), mend the errors; then preview the papers.", "checks",
         lambda plan, errors: len(plan.circuits) >= LOADS and not errors, action="next-finding"),
)  # fmt: skip


def first_open(plan: Plan, errors: int) -> int:
    """The number of the first step that is not done yet; `len(STEPS)` when all are."""
    return next((number for number, step in enumerate(STEPS) if not step.is_done(plan, errors)), len(STEPS))
