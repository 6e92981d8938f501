"""Move, insert, delete corner. Folds, seams and nodes on the edges are carried along."""

from collections.abc import Callable
from typing import Any

from core.edits.change import get, put, put_all, refuse, replaced
from core.edits.surfaces import propose_seams
from core.geometry.edges import (
    edge_length_mm,
    edge_of,
    line_of,
    outline_of,
    point_on_edge,
    rebase_line,
    rebase_on_edge,
)
from core.geometry.edges import insert_corner as with_corner
from core.geometry.plane import Point, distance_mm, nearest_on
from core.geometry.polygon import is_simple, signed_area_mm2
from core.model import Line, OnEdge, OnLine, Plan, Surface, fresh_id

#: A corner this near to the line between its neighbours bends nothing.
STRAIGHT_MM = 0.01


def move_corner(plan: Plan, surface_id: str, corner_id: str, to_mm: Point) -> Plan:
    """Move corner of a surface. What lies on its edges keeps its distance from their start, as far as they reach."""
    surface: Surface = get(plan, "surfaces", surface_id)
    _check_corner(surface, corner_id)
    to = (float(to_mm[0]), float(to_mm[1]))
    corners = tuple(replaced(c, at_mm=to) if c.id == corner_id else c for c in surface.corners)
    return _reshaped(plan, surface, replaced(surface, corners=corners))


def set_edge_length(plan: Plan, surface_id: str, edge_id: str, length_mm: float) -> Plan:
    """Set edge length: its end moves along it, the edge's start stays."""
    surface: Surface = get(plan, "surfaces", surface_id)
    edge = edge_of(surface, edge_id)
    if edge is None:
        refuse(f"{surface.name} has no edge {edge_id}.")
    if not length_mm > 0:
        refuse(f"An edge of {surface.name} must be longer than 0 mm; {length_mm:g} mm is not.")
    (ax, ay), (bx, by) = edge
    share = length_mm / distance_mm(*edge)
    ids = [corner.id for corner in surface.corners]
    end = ids[(ids.index(edge_id) + 1) % len(ids)]
    return move_corner(plan, surface_id, end, (ax + (bx - ax) * share, ay + (by - ay) * share))


def insert_corner(plan: Plan, surface_id: str, edge_id: str, at_mm: float) -> tuple[Plan, str]:
    """Insert corner in an edge. Nothing moves and nothing is renumbered; gives the new corner's id."""
    before: Surface = get(plan, "surfaces", surface_id)
    fresh = fresh_id("", {corner.id for corner in before.corners})
    after = with_corner(before, edge_id, at_mm, fresh)
    plan = put(plan, "surfaces", after)

    def line(old: Line) -> Line:
        return rebase_line(old, before, edge_id, at_mm, fresh)

    def place(old: OnLine) -> OnLine:
        edge, at = rebase_on_edge(old.edge, old.at_mm, edge_id, at_mm, fresh)
        return replaced(old, edge=edge, at_mm=at)

    return _carried(plan, surface_id, line, place), fresh


def delete_corner(plan: Plan, surface_id: str, corner_id: str) -> Plan:
    """Delete corner. On a straight edge nothing moves; a fold or seam at a corner that bends is refused."""
    before: Surface = get(plan, "surfaces", surface_id)
    _check_corner(before, corner_id)
    if len(before.corners) == 3:
        refuse(f"{before.name} has three corners left; it needs them all.")
    ids = [corner.id for corner in before.corners]
    previous = ids[ids.index(corner_id) - 1]
    first, second = edge_of(before, previous), edge_of(before, corner_id)
    assert first is not None
    assert second is not None
    joined = (first[0], second[1])
    bends = nearest_on(joined, first[1]).distance_mm > STRAIGHT_MM
    if bends:
        _check_no_line(plan, before, {previous, corner_id})
    split_mm = distance_mm(*first)
    after = replaced(before, corners=tuple(c for c in before.corners if c.id != corner_id))

    def line(old: Line) -> Line:
        if not isinstance(old, OnEdge) or bends or old.edge not in (previous, corner_id):
            return old
        if old.edge == previous:
            return replaced(old, to_mm=split_mm if old.to_mm is None else old.to_mm)
        to_mm = None if old.to_mm is None else old.to_mm + split_mm
        return replaced(old, edge=previous, from_mm=old.from_mm + split_mm, to_mm=to_mm)

    def place(old: OnLine) -> OnLine:
        if old.edge not in (previous, corner_id):
            return old
        point = point_on_edge(before, old.edge, old.at_mm)
        assert point is not None
        return replaced(old, edge=previous, at_mm=nearest_on(joined, point).along_mm)

    fold = after.fold
    if fold is not None:
        after = replaced(after, fold=replaced(fold, line=line(fold.line)))
    carried = _carried(put(plan, "surfaces", after), surface_id, line, place)
    return _reshaped(carried, before, after)


def _check_corner(surface: Surface, corner_id: str) -> None:
    if all(corner.id != corner_id for corner in surface.corners):
        refuse(f"{surface.name} has no corner {corner_id}.")


def _reshaped(plan: Plan, before: Surface, after: Surface) -> Plan:
    """The plan with a surface of another outline. Refuses one that crosses itself or takes a fold its line."""
    if after is before:
        return plan
    outline = outline_of(after)
    if not is_simple(outline) or signed_area_mm2(outline) <= 0:
        refuse(f"The outline of {after.name} would cross or touch itself.")
    for owner, line in _lines_on(plan, after):
        if line_of(after, line) is None:
            refuse(f"At {after.name} the {owner} would have no length left.")

    def place(old: OnLine) -> OnLine:
        size = edge_length_mm(after, old.edge)
        return old if size is None or old.at_mm <= size else replaced(old, at_mm=size)

    plan = _carried(put(plan, "surfaces", after), after.id, lambda line: line, place)
    return propose_seams(plan)


def _lines_on(plan: Plan, surface: Surface) -> list[tuple[str, Line]]:
    """Every fold and seam line on a surface, with whose it is."""
    found: list[tuple[str, Line]] = []
    if surface.fold is not None:
        found.append((f"fold of {surface.name}", surface.fold.line))
    found += [
        (f"fold of {other.name}", other.fold.parent_line)
        for other in plan.surfaces
        if other.fold is not None and other.fold.parent == surface.id
    ]
    for seam in plan.seams:
        if seam.a == surface.id:
            found.append((f"seam with {get(plan, 'surfaces', seam.b).name}", seam.a_line))
        if seam.b == surface.id:
            found.append((f"seam with {get(plan, 'surfaces', seam.a).name}", seam.b_line))
    return found


def _check_no_line(plan: Plan, surface: Surface, edges: set[str]) -> None:
    for owner, line in _lines_on(plan, surface):
        if isinstance(line, OnEdge) and line.edge in edges:
            refuse(f"The {owner} lies at this corner of {surface.name}; the corner cannot go.")


def _carried(
    plan: Plan,
    surface_id: str,
    line: Callable[[Line], Line],
    place: Callable[[OnLine], OnLine],
) -> Plan:
    """The plan with everything that is said by edges of a surface said anew: folds of children, seams, places."""
    surfaces = []
    for surface in plan.surfaces:
        fold = surface.fold
        if fold is not None and fold.parent == surface_id:
            fold = replaced(fold, parent_line=line(fold.parent_line))
        surfaces.append(replaced(surface, fold=fold))
    plan = put_all(plan, "surfaces", surfaces)
    seams = []
    for seam in plan.seams:
        changes: dict[str, Any] = {}
        if seam.a == surface_id:
            changes["a_line"] = line(seam.a_line)
        if seam.b == surface_id:
            changes["b_line"] = line(seam.b_line)
        seams.append(replaced(seam, **changes))
    plan = put_all(plan, "seams", seams)
    for collection in ("nodes", "splices", "connectors"):
        moved = [
            replaced(record, place=place(record.place))
            for record in getattr(plan, collection)
            if isinstance(record.place, OnLine) and record.place.surface == surface_id
        ]
        plan = put(plan, collection, *moved)
    return plan
