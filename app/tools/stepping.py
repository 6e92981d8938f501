"""The things on the sheet in the order in which Tab steps through them: surface by surface, from the top left."""

from app.tools.desk import Desk
from core.edits.network import channel_lines, node_on
from core.model import Plan, Point

#: Collections whose records lie on a surface with an outline, a line or a point.
LYING = ("boxes", "openings", "panels", "zones", "ribs", "metal_edges", "moving_parts", "devices", "earth_points",
         "pictures", "dimensions")  # fmt: skip
#: Things whose places differ less than this from top to bottom stand in one row.
ROW_MM = 200.0


def in_order(desk: Desk) -> tuple[str, ...]:
    """Ids: each surface, then what lies on it row by row as the sheet shows it; then what lies on no surface."""
    places: dict[str, list[tuple[Point, str]]] = {surface.id: [] for surface in desk.plan.surfaces}
    for record_id, surface, at in _places(desk):
        if surface in places and surface in desk.layout.laid:
            places[surface].append((desk.to_sheet(surface, at), record_id))
    found: list[str] = []
    for surface_id, lying in places.items():
        found.append(surface_id)
        rows = sorted(lying, key=lambda each: (-round(each[0][1] / ROW_MM), each[0][0], each[1]))
        found += [record_id for _, record_id in rows]
    return tuple(dict.fromkeys(found))


def stepped(desk: Desk, chosen: tuple[str, ...], by: int) -> str | None:
    """The thing after (or before) the one chosen; None beyond the last (or the first)."""
    order = in_order(desk)
    if not order:
        return None
    if not chosen or chosen[-1] not in order:
        return order[0] if by > 0 else order[-1]
    number = order.index(chosen[-1]) + by
    return order[number] if 0 <= number < len(order) else None


def _places(desk: Desk) -> list[tuple[str, str, Point]]:
    plan: Plan = desk.plan
    found: list[tuple[str, str, Point]] = []
    for collection in LYING:
        for record in getattr(plan, collection):
            for field in ("at_mm", "outline", "line_mm", "from_mm"):
                at = getattr(record, field, None)
                if at is not None:
                    found.append((record.id, record.surface, at if isinstance(at[0], int | float) else at[0]))
                    break
    surfaces = {channel.id: channel.surface for channel in plan.channels}
    for channel, line in channel_lines(plan, desk.joints).items():
        surface = surfaces[channel]
        if surface is not None:
            found.append((channel, surface, line[0]))
    for node in plan.nodes:
        for surface_id in dict.fromkeys((getattr(node.place, "surface", ""), *(s.id for s in plan.surfaces))):
            at = node_on(plan, desk.joints, node, surface_id) if surface_id else None
            if at is not None:
                found.append((node.id, surface_id, at))
                break
    return found
