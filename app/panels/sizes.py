"""Width and height of what is drawn as an upright rectangle, as two numbers to type."""

from collections.abc import Sequence
from typing import Any, Literal

from core.edits.body import set_outline
from core.edits.change import refuse
from core.edits.corners import move_corner
from core.model import Plan, Point

Side = Literal["width", "height"]
EXACT_MM = 0.05


def points_of(record: Any) -> Sequence[Point]:
    """The corners of a surface, or the outline of what lies on one."""
    if hasattr(record, "corners"):
        return tuple(corner.at_mm for corner in record.corners)
    return tuple(getattr(record, "outline", ()))


def size_of(record: Any, side: Side) -> float | None:
    """Width or height; None for another shape than an upright rectangle."""
    points = points_of(record)
    if len(points) != 4:
        return None
    xs, ys = {round(x / EXACT_MM) for x, _ in points}, {round(y / EXACT_MM) for _, y in points}
    if len(xs) != 2 or len(ys) != 2:
        return None
    values = [point[0 if side == "width" else 1] for point in points]
    return max(values) - min(values)


def with_size(plan: Plan, collection: str, record: Any, side: Side, size_mm: float) -> Plan:
    """The plan with the right (or upper) side moved. Raises EditRefused."""
    if not size_mm > 0:
        refuse(f"The {side} must be more than 0 mm.")
    axis = 0 if side == "width" else 1
    points = points_of(record)
    low, high = min(point[axis] for point in points), max(point[axis] for point in points)

    def moved(point: Point) -> Point:
        value = low + size_mm if abs(point[axis] - high) <= EXACT_MM else point[axis]
        return (value, point[1]) if axis == 0 else (point[0], value)

    if collection == "surfaces":
        for corner in record.corners:
            if moved(corner.at_mm) != corner.at_mm:
                plan = move_corner(plan, record.id, corner.id, moved(corner.at_mm))
        return plan
    return set_outline(plan, record.id, [moved(point) for point in points])
