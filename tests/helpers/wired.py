"""A small wired van for tests of the engine: battery, fuse block, light and pump on a floor, a wall and a ceiling."""

from core.edits.body import draw_rib
from core.edits.channels import draw_channel
from core.edits.circuits import connect
from core.edits.devices import connect_to_nearest, place_device
from core.files.library import Library, load_library
from core.geometry.foldout import lay_out
from core.model import Plan, Point
from tests.helpers.vans import shell

FLOOR, LEFT, CEILING = "s1", "s2", "s6"


def library() -> Library:
    return load_library()


def on_sheet(plan: Plan, surface: str, *points: Point) -> list[Point]:
    place = lay_out(plan.surfaces).place(surface)
    return [place.to_sheet(p) for p in points]


def channel(plan: Plan, *stretches: tuple[str, Point], **fields) -> tuple[Plan, tuple[str, ...]]:
    """Draw a channel through points given as (surface, local point)."""
    stroke = [on_sheet(plan, surface, point)[0] for surface, point in stretches]
    return draw_channel(plan, stroke, **fields)


def device(plan: Plan, template: str, surface: str, at_mm: Point, name: str) -> tuple[Plan, str]:
    row = next(d for d in library().devices if d.id == template)
    return place_device(plan, row, surface, at_mm, name)


def wired() -> Plan:
    """Local x runs along the vehicle on the left wall (x from the rear there) and on the floor; see `shell`."""
    plan = shell()
    for x in (500.0, 1_100.0, 1_700.0, 2_300.0):
        plan, _ = draw_rib(plan, LEFT, ((x, 0.0), (x, 1_800.0)), 60.0)
    plan, battery = device(plan, "battery-house", FLOOR, (2_400.0, 400.0), "Battery")
    plan, block = device(plan, "fuse-block-6", LEFT, (800.0, 500.0), "Fuse block")
    plan, light = device(plan, "light-spot", CEILING, (1_500.0, 850.0), "Light")
    plan, pump = device(plan, "water-pump", LEFT, (2_600.0, 300.0), "Pump")
    plan, _ = channel(plan, (FLOOR, (2_400.0, 300.0)), (FLOOR, (2_400.0, 0.0)), (LEFT, (800.0, 450.0)))
    plan, _ = channel(plan, (LEFT, (800.0, 450.0)), (LEFT, (800.0, 1_000.0)), (LEFT, (2_600.0, 1_000.0)))
    plan, _ = channel(plan, (LEFT, (2_600.0, 1_000.0)), (LEFT, (2_600.0, 350.0)))
    plan, _ = channel(plan, (LEFT, (1_500.0, 1_000.0)), (LEFT, (1_500.0, 1_800.0)), (CEILING, (1_500.0, 800.0)))
    for record in (battery, block, light, pump):
        plan, _ = connect_to_nearest(plan, record)
    for source, load in ((battery, block), (block, light), (block, pump)):
        plan, _ = connect(plan, source, None, [load], library=library())
    return plan
