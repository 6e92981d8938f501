"""Edges and corners of whatever is drawn: move, insert and delete a corner, move an edge, set its length.

A corner of a surface is named by its id, one of an outline or line by its number ("0" ...), as an anchor names it; an
edge by the corner it starts at. Of a channel the via points are its corners.
"""

from typing import NamedTuple

from core.edits import corners
from core.edits.change import find_any, refuse, title
from core.edits.channels import delete_via, insert_via, move_via
from core.edits.drawn import set_outline
from core.edits.faces import resize_box
from core.edits.network import channel_line
from core.errors import EditRefused
from core.geometry.edges import outline_of
from core.geometry.joints import join
from core.geometry.plane import Point, Segment, between, distance_mm
from core.model import Plan

OUTLINED = ("boxes", "openings", "zones", "panels", "moving_parts")
LINED = ("ribs", "metal_edges")
#: A new corner keeps this far from those there are.
APART_MM = 1.0


class Shape(NamedTuple):
    """The corners of a record in mm of its surface. `keys` names those that move ("" where one does not: a node)."""

    record: str
    surface: str
    keys: tuple[str, ...]
    points: tuple[Point, ...]
    closed: bool

    def edge(self, key: str) -> Segment | None:
        """The edge that starts at a corner; None where a line ends there."""
        number = self.keys.index(key)
        if number + 1 < len(self.points):
            return self.points[number], self.points[number + 1]
        return (self.points[number], self.points[0]) if self.closed else None


def shape_of(plan: Plan, record_id: str) -> Shape | None:
    """The corners of a record; None where it has none (a device, a measured channel)."""
    collection, record = find_any(plan, record_id)
    if collection == "surfaces":
        return Shape(record_id, record_id, tuple(c.id for c in record.corners), outline_of(record), True)
    if collection in OUTLINED:
        return Shape(record_id, record.surface, _numbers(record.outline), tuple(record.outline), True)
    if collection in LINED:
        return Shape(record_id, record.surface, _numbers(record.line_mm), tuple(record.line_mm), False)
    if collection == "channels" and record.surface is not None:
        line = channel_line(plan, join(plan.surfaces, plan.seams), record)
        if line is not None:
            return Shape(record_id, record.surface, ("start", *_numbers(line[1:-1]), "end"), tuple(line), False)
    return None


def _numbers(points: tuple[Point, ...]) -> tuple[str, ...]:
    return tuple(str(number) for number in range(len(points)))


def move_point(plan: Plan, record_id: str, key: str, to_mm: Point) -> Plan:
    """Move corner to a place on its surface. Raised faces of a box follow."""
    collection, _ = find_any(plan, record_id)
    if collection == "surfaces":
        return corners.move_corner(plan, record_id, key, to_mm)
    shape = _shape(plan, record_id)
    number = _number(shape, key)
    if collection == "channels":
        if not key.isdigit():
            refuse("A channel's end is a node: move the node.")
        return move_via(plan, record_id, int(key), to_mm)
    return _put(plan, record_id, (*shape.points[:number], to_mm, *shape.points[number + 1 :]))


def move_edge(plan: Plan, record_id: str, key: str, by_mm: Point) -> Plan:
    """Move edge: both its ends by the same distance."""
    shape = _shape(plan, record_id)
    edge = _edge(plan, shape, key)
    ends = (key, shape.keys[(shape.keys.index(key) + 1) % len(shape.keys)])
    moved = [(end, (p[0] + by_mm[0], p[1] + by_mm[1])) for end, p in zip(ends, edge, strict=True)]
    if find_any(plan, record_id)[0] in OUTLINED + LINED:
        points = list(shape.points)
        for end, to in moved:
            points[_number(shape, end)] = to
        return _put(plan, record_id, tuple(points))
    try:
        return _each(plan, record_id, moved)
    except EditRefused:
        # In one order the outline may cross itself on the way, in the other not.
        return _each(plan, record_id, moved[::-1])


def _each(plan: Plan, record_id: str, moved: list[tuple[str, Point]]) -> Plan:
    for key, to in moved:
        plan = move_point(plan, record_id, key, to)
    return plan


def insert_point(plan: Plan, record_id: str, key: str, at_mm: float) -> tuple[Plan, str]:
    """Insert corner in an edge, at a distance from the corner it starts at. Gives the new corner's name."""
    shape = _shape(plan, record_id)
    edge = _edge(plan, shape, key)
    size = distance_mm(*edge)
    if not APART_MM <= at_mm <= size - APART_MM:
        refuse(f"The edge is {size:,.0f} mm long; a corner fits no {at_mm:,.0f} mm from its start.")
    collection, _ = find_any(plan, record_id)
    if collection == "surfaces":
        return corners.insert_corner(plan, record_id, key, at_mm)
    number, point = _number(shape, key), between(*edge, at_mm / size)
    if collection == "channels":
        return insert_via(plan, record_id, number, point), str(number)
    points = (*shape.points[: number + 1], point, *shape.points[number + 1 :])
    return _put(plan, record_id, points), str(number + 1)


def delete_point(plan: Plan, record_id: str, key: str) -> Plan:
    """Delete corner."""
    collection, record = find_any(plan, record_id)
    if collection == "surfaces":
        return corners.delete_corner(plan, record_id, key)
    shape = _shape(plan, record_id)
    number = _number(shape, key)
    if collection == "channels":
        if not key.isdigit():
            refuse("A channel's end is a node; delete the channel instead.")
        return delete_via(plan, record_id, int(key))
    least = 3 if shape.closed else 2
    if len(shape.points) <= least:
        refuse(f"The {title(collection, record)} has {least} corners left; it needs them all.")
    return _put(plan, record_id, (*shape.points[:number], *shape.points[number + 1 :]))


def set_length(plan: Plan, record_id: str, key: str, length_mm: float) -> Plan:
    """Set edge length: its end moves along it, the edge's start stays."""
    if find_any(plan, record_id)[0] == "surfaces":
        return corners.set_edge_length(plan, record_id, key, length_mm)
    shape = _shape(plan, record_id)
    edge = _edge(plan, shape, key)
    if not length_mm > 0:
        refuse(f"An edge must be longer than 0 mm; {length_mm:g} mm is not.")
    (ax, ay), (bx, by) = edge
    share = length_mm / distance_mm(*edge)
    end = shape.keys[(shape.keys.index(key) + 1) % len(shape.keys)]
    return move_point(plan, record_id, end, (ax + (bx - ax) * share, ay + (by - ay) * share))


def _shape(plan: Plan, record_id: str) -> Shape:
    shape = shape_of(plan, record_id)
    if shape is None:
        refuse(f"The {title(*find_any(plan, record_id))} has no edges and corners to be edited.")
    return shape


def _number(shape: Shape, key: str) -> int:
    if key not in shape.keys:
        refuse(f"There is no corner {key}.")
    return shape.keys.index(key)


def _edge(plan: Plan, shape: Shape, key: str) -> Segment:
    _number(shape, key)
    edge = shape.edge(key)
    if edge is None or distance_mm(*edge) <= 0.0:
        refuse(f"The {title(*find_any(plan, shape.record))} has no edge there.")
    return edge


def _put(plan: Plan, record_id: str, points: tuple[Point, ...]) -> Plan:
    collection, record = find_any(plan, record_id)
    if collection != "boxes":
        return set_outline(plan, record_id, points)
    if record.faces and len(points) != len(record.outline):
        refuse(f"“{record.name}” has a raised face for each of its sides. Delete its faces first.")
    return resize_box(plan, record_id, points)


__all__ = ["Shape", "delete_point", "insert_point", "move_edge", "move_point", "set_length", "shape_of"]
