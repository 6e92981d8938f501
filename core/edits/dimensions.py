"""Dimensions that stay attached: each end at a corner of something drawn, wherever that goes."""

from collections.abc import Iterator

from core.edits.change import add, find_any, get, made, new_ids, put, refuse, replaced, title
from core.edits.drawn import add_dimension
from core.geometry.plane import Point, distance_mm
from core.model import Anchor, Dimension, Plan, Surface

#: Collections a dimension can be attached to, and where their corners are.
OUTLINED = ("boxes", "openings", "zones", "panels", "moving_parts")
LINED = ("ribs", "metal_edges")
#: A point this near to a corner means the corner.
AT_CORNER_MM = 0.5


def corners_on(plan: Plan, surface_id: str) -> Iterator[tuple[Point, Anchor]]:
    """Every corner of a surface and of what is drawn on it, with the anchor that names it."""
    surface: Surface = get(plan, "surfaces", surface_id)
    for corner in surface.corners:
        yield corner.at_mm, Anchor(record=surface.id, corner=corner.id)
    for collection in (*OUTLINED, *LINED):
        for record in getattr(plan, collection):
            if record.surface == surface_id:
                for number, point in enumerate(record.line_mm if collection in LINED else record.outline):
                    yield point, Anchor(record=record.id, corner=str(number))


def anchor_at(plan: Plan, surface_id: str, p: Point, within_mm: float = AT_CORNER_MM) -> Anchor | None:
    """The corner at a point of a surface, the nearest within reach; None where there is none. Things win over the
    surface where both have a corner there: it is the thing that is measured."""
    near = [
        (round(distance_mm(point, p), 6), anchor.record == surface_id, anchor.record, anchor.corner, anchor)
        for point, anchor in corners_on(plan, surface_id)
        if distance_mm(point, p) <= within_mm
    ]
    return min(near, key=lambda each: each[:4])[4] if near else None


def add_attached_dimension(
    plan: Plan, surface_id: str, from_mm: Point, to_mm: Point, offset_mm: float = 0.0, within_mm: float = AT_CORNER_MM
) -> tuple[Plan, str]:
    """Add dimension; an end at a corner is attached to it and follows it."""
    start, end = (anchor_at(plan, surface_id, p, within_mm) for p in (from_mm, to_mm))
    plan, fresh = add_dimension(plan, surface_id, from_mm, to_mm, offset_mm)
    dimension: Dimension = get(plan, "dimensions", fresh)
    return put(plan, "dimensions", replaced(dimension, from_on=start, to_on=end)), fresh


def attached(plan: Plan, dimension: Dimension) -> Dimension:
    """The dimension as it lies now: attached ends where their anchors are. Itself where nothing moved."""
    if dimension.from_on is None and dimension.to_on is None:
        return dimension
    start = _place(plan, dimension, dimension.from_on) or dimension.from_mm
    end = _place(plan, dimension, dimension.to_on) or dimension.to_mm
    if start == dimension.from_mm and end == dimension.to_mm:
        return dimension
    return replaced(dimension, from_mm=start, to_mm=end)


def dimension_length_mm(plan: Plan, dimension_id: str) -> float:
    """What a dimension measures now."""
    now = attached(plan, get(plan, "dimensions", dimension_id))
    return distance_mm(now.from_mm, now.to_mm)


def detach(plan: Plan, dimension_id: str) -> Plan:
    """Detach dimension: it stays where it lies now."""
    dimension: Dimension = get(plan, "dimensions", dimension_id)
    return put(plan, "dimensions", replaced(attached(plan, dimension), from_on=None, to_on=None))


def dimensions_of_box(plan: Plan, record_id: str, away_mm: float = 80.0) -> tuple[Plan, tuple[str, ...]]:
    """Add dimensions of width and height to a thing with an outline, attached to its corners."""
    collection, record = find_any(plan, record_id)
    if collection not in OUTLINED:
        refuse(f"The {title(collection, record)} has no outline with a width and a height.")
    ids = new_ids(plan, "dimensions", 2)
    new = [
        made(
            Dimension,
            id=each,
            surface=record.surface,
            from_mm=record.outline[a],
            to_mm=record.outline[a + 1],
            offset_mm=-away_mm,
            from_on=Anchor(record=record_id, corner=str(a)),
            to_on=Anchor(record=record_id, corner=str(a + 1)),
        )
        for a, each in enumerate(ids)
    ]
    return add(plan, "dimensions", *new), ids


def _place(plan: Plan, dimension: Dimension, anchor: Anchor | None) -> Point | None:
    """Where an anchor is on the dimension's surface; None where it is not there any more."""
    if anchor is None:
        return None
    if anchor.record == dimension.surface:
        for surface in plan.surfaces:
            if surface.id == anchor.record:
                return next((corner.at_mm for corner in surface.corners if corner.id == anchor.corner), None)
    for collection in (*OUTLINED, *LINED):
        for record in getattr(plan, collection):
            if record.id == anchor.record:
                points: tuple[Point, ...] = record.line_mm if collection in LINED else record.outline
                number = int(anchor.corner) if anchor.corner.isdigit() else len(points)
                here = record.surface == dimension.surface and number < len(points)
                return points[number] if here else None
    return None
