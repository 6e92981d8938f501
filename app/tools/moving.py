"""What moves when it is dragged or nudged, and how: by a distance on the sheet, each on its own surface."""

from collections.abc import Sequence
from functools import partial
from math import hypot

from app.tools.desk import Desk
from core.edits.change import find_any, title
from core.edits.channels import move_node_to, move_via
from core.edits.devices import move_device
from core.edits.network import node_on
from core.edits.records import set_field
from core.edits.transform import move
from core.errors import EditRefused
from core.model import COLLECTIONS, Plan, Point, find

OUTLINED = frozenset({"boxes", "openings", "zones", "panels", "moving_parts"})
LINED = frozenset({"ribs", "metal_edges"})
POINTED = frozenset({"devices", "earth_points", "pictures"})
#: What a drag moves only when it is selected: on a board that lies apart, or a panel that covers a wall, one wants to
#: draw a rubber band too.
WHEN_CHOSEN = frozenset({"channels", "surfaces", "panels"})
MOVABLE = OUTLINED | LINED | POINTED | {"nodes"}


def collection_of(plan: Plan, record_id: str) -> str | None:
    """The collection that holds a record, None for what is no record of the plan (a wire)."""
    for collection in COLLECTIONS:
        if any(record.id == record_id for record in getattr(plan, collection)):
            return collection
    return None


def movable(plan: Plan, record_id: str, *, chosen: bool = True) -> bool:
    """Whether a drag moves it; `chosen` says whether it is selected. Of surfaces only those that lie apart move."""
    collection = collection_of(plan, record_id)
    if collection == "surfaces":
        return chosen and find(plan, "surfaces", record_id).apart is not None
    if collection == "channels":
        channel = find(plan, "channels", record_id)
        return chosen and channel.surface is not None
    if collection == "pictures":
        return not find(plan, "pictures", record_id).locked
    if collection in WHEN_CHOSEN:
        return chosen
    return collection in MOVABLE


def moved(desk: Desk, plan: Plan, record_ids: Sequence[str], by_sheet: Point) -> Plan:
    """The plan with these records moved on the sheet. Raises EditRefused; then nothing has moved."""
    # Asked for every frame of a drag, nearly always of the committed plan, which is looked up at once.
    known = desk.kind_of if plan is desk.plan else partial(collection_of, plan)
    kinds = {record_id: known(record_id) for record_id in record_ids}
    seen = OUTLINED | LINED | WHEN_CHOSEN
    if "channels" in kinds.values():
        # A node that is selected with its channel moves once, with it.
        seen |= {"nodes"}
    together = [record_id for record_id, kind in kinds.items() if kind in seen]
    if together:
        plan = move(plan, together, by_sheet)
    for record_id in record_ids:
        if record_id not in together:
            plan = _moved_one(desk, plan, kinds[record_id], record_id, by_sheet)
    return plan


def _moved_one(desk: Desk, plan: Plan, collection: str | None, record_id: str, by: Point) -> Plan:
    if collection is None:
        raise EditRefused("This is no part of the plan by itself; it cannot be moved.")
    record = find(plan, collection, record_id)
    if collection == "devices":
        surface, at = _dragged(desk, record.surface, record.at_mm, by)
        return move_device(plan, record_id, surface, at)
    if collection in POINTED:
        return set_field(plan, record_id, at_mm=_shifted(desk, record.surface, (record.at_mm,), by)[0])
    if collection == "nodes":
        return _moved_node(desk, plan, record_id, by)
    raise EditRefused("This does not move by itself; move what it lies on.")


def _shifted(desk: Desk, surface: str, points: Sequence[Point], by: Point) -> tuple[Point, ...]:
    place = desk.place(surface)
    back = place.inverse()
    zero = back.to_sheet((0.0, 0.0))
    along = back.to_sheet(by)
    x, y = along[0] - zero[0], along[1] - zero[1]
    return tuple((point[0] + x, point[1] + y) for point in points)


def _dragged(desk: Desk, surface: str, at: Point, by: Point) -> tuple[str, Point]:
    """Where a point comes to lie; beyond the edge of its surface that is another one."""
    here = desk.to_sheet(surface, at)
    there = (here[0] + by[0], here[1] + by[1])
    own = _shifted(desk, surface, (at,), by)[0]
    found = desk.spots(there)
    if not found or any(spot[0] == surface for spot in found):
        return surface, own
    return found[0]


def _moved_node(desk: Desk, plan: Plan, node_id: str, by: Point) -> Plan:
    node = next(node for node in plan.nodes if node.id == node_id)
    surfaces = {
        channel.surface
        for channel in plan.channels
        if node_id in (channel.start, channel.end) and channel.surface is not None
    }
    for surface in (*sorted(surfaces), *(surface.id for surface in plan.surfaces)):
        at = node_on(plan, desk.joints, node, surface)
        if at is not None:
            return move_node_to(plan, node_id, surface, _shifted(desk, surface, (at,), by)[0])
    raise EditRefused("This node lies on no surface; it cannot be moved on the sheet.")


def via_near(desk: Desk, selection: Sequence[str], at: Point, within_mm: float) -> tuple[str, int] | None:
    """The via point of a selected channel under the pointer: channel and number."""
    chosen = set(selection)
    for channel in desk.plan.channels:
        if channel.id not in chosen or channel.surface is None or channel.surface not in desk.layout.laid:
            continue
        for number, point in enumerate(channel.via_mm):
            x, y = desk.to_sheet(channel.surface, point)
            if hypot(x - at[0], y - at[1]) <= within_mm:
                return channel.id, number
    return None


def moved_via(desk: Desk, plan: Plan, via: tuple[str, int], by: Point) -> Plan:
    channel = next(channel for channel in plan.channels if channel.id == via[0])
    assert channel.surface is not None
    (point,) = _shifted(desk, channel.surface, (channel.via_mm[via[1]],), by)
    return move_via(plan, via[0], via[1], point)


def named(plan: Plan, record_ids: Sequence[str]) -> str:
    """Records in a few words, for the label of an edit: "rib r3", "4 things"."""
    return title(*find_any(plan, record_ids[0])) if len(record_ids) == 1 else f"{len(record_ids)} things"
