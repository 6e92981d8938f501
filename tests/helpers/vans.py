"""Small plans made by the edits themselves, for tests."""

from core.edits.body import draw_floor, raise_wall
from core.edits.start import new_plan
from core.files.library import load_library
from core.model import Plan, find

LENGTH_MM, WIDTH_MM, HEIGHT_MM = 3_000.0, 1_700.0, 1_800.0


def empty() -> Plan:
    return new_plan(load_library(), "Test van", load_library().profiles[0].id, "plan")


def shell() -> Plan:
    """A box: floor s1, vehicle left s2, vehicle right s3, rear s4, front s5, ceiling s6 folded to the left wall.

    3.0 x 1.7 m floor, walls 1.8 m; the floor's corner 1 is at the front left, its edge 1 the vehicle's left side.
    """
    plan, floor = draw_floor(empty(), ((0, 0), (LENGTH_MM, 0), (LENGTH_MM, WIDTH_MM), (0, WIDTH_MM)))
    plan, left = raise_wall(plan, floor, "1", HEIGHT_MM)
    for edge in ("3", "2", "4"):
        plan, _ = raise_wall(plan, floor, edge, HEIGHT_MM)
    plan, _ = raise_wall(plan, left, "3", WIDTH_MM)
    return plan


def by_name(plan: Plan, collection: str, name: str) -> str:
    """Id of the one record of that name."""
    (record,) = (record for record in getattr(plan, collection) if record.name == name)
    assert find(plan, collection, record.id) is record
    return str(record.id)
