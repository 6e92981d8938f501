"""Edges and lines of a surface, and the new corner that moves nothing.

An edge is named by the corner it starts at, so a new corner renumbers nothing. What lies on the edge (nodes, fold
and seam lines) is re-based by `rebase_on_edge` and `rebase_line`.
"""

import msgspec

from core.errors import EditRefused
from core.geometry.plane import SAME_MM, Point, Polyline, Segment, between, distance_mm, nearest_on
from core.model import Corner, Inside, Line, OnEdge, Surface


def outline_of(surface: Surface) -> Polyline:
    return tuple(corner.at_mm for corner in surface.corners)


def edge_of(surface: Surface, corner_id: str) -> Segment | None:
    """The edge that starts at that corner; None where the surface has no such corner."""
    corners = surface.corners
    for index, corner in enumerate(corners):
        if corner.id == corner_id:
            return corner.at_mm, corners[(index + 1) % len(corners)].at_mm
    return None


def edge_length_mm(surface: Surface, corner_id: str) -> float | None:
    edge = edge_of(surface, corner_id)
    return None if edge is None else distance_mm(*edge)


def line_of(surface: Surface, line: Line) -> Segment | None:
    """Both ends of a line in the surface's own millimetres.

    A stretch that reaches past its edge ends with the edge. None where the edge is unknown or no length is left.
    """
    if isinstance(line, Inside):
        ends = (line.start_mm, line.end_mm)
        return ends if distance_mm(*ends) > SAME_MM else None
    edge = edge_of(surface, line.edge)
    if edge is None:
        return None
    size = distance_mm(*edge)
    low = min(max(line.from_mm, 0.0), size)
    high = size if line.to_mm is None else min(line.to_mm, size)
    if high - low <= SAME_MM:
        return None
    start = edge[0] if low == 0.0 else between(*edge, low / size)
    end = edge[1] if high == size else between(*edge, high / size)
    return start, end


def point_on_edge(surface: Surface, corner_id: str, at_mm: float) -> Point | None:
    """The point `at_mm` after the start of the edge, at most its end; None where there is no such edge."""
    edge = edge_of(surface, corner_id)
    if edge is None:
        return None
    size = distance_mm(*edge)
    if size <= SAME_MM:
        return edge[0]
    return edge[1] if at_mm >= size else between(*edge, max(at_mm, 0.0) / size)


def edge_at(surface: Surface, p: Point, within_mm: float = 0.5) -> tuple[str, float] | None:
    """The nearest edge within reach of p: its corner's id, and how far along it p lies. At a corner, the edge that
    starts there."""
    best: tuple[float, str, float] | None = None
    for corner in surface.corners:
        edge = edge_of(surface, corner.id)
        if edge is None:
            continue
        near = nearest_on(edge, p)
        away = near.distance_mm
        starts_here = near.along_mm <= SAME_MM
        if away <= within_mm and (
            best is None or away < best[0] - SAME_MM or (away < best[0] + SAME_MM and starts_here)
        ):
            best = (away, corner.id, near.along_mm)
    return None if best is None else best[1:]


def insert_corner(surface: Surface, edge_id: str, at_mm: float, new_id: str) -> Surface:
    """The surface with a corner more on an edge; the outline keeps its shape and every other corner its id.

    The surface's own fold line is re-based. Whoever holds the plan re-bases the rest (nodes, seams, folds of
    children) with `rebase_on_edge` and `rebase_line`. Raises EditRefused where the edge is unknown, the place lies
    on or beyond an end of it, or the id is taken.
    """
    size = edge_length_mm(surface, edge_id)
    if size is None:
        raise EditRefused(f"{surface.name} has no edge {edge_id}.")
    if any(corner.id == new_id for corner in surface.corners):
        raise EditRefused(f"{surface.name} already has a corner {new_id}.")
    if not SAME_MM < at_mm < size - SAME_MM:
        raise EditRefused(f"A new corner must lie between the ends of its edge, 0 to {size:g} mm, not at {at_mm:g} mm.")
    index = next(i for i, corner in enumerate(surface.corners) if corner.id == edge_id)
    point = point_on_edge(surface, edge_id, at_mm)
    assert point is not None
    corners = (*surface.corners[: index + 1], Corner(id=new_id, at_mm=point), *surface.corners[index + 1 :])
    fold = surface.fold
    if fold is not None:
        fold = msgspec.structs.replace(fold, line=rebase_line(fold.line, surface, edge_id, at_mm, new_id))
    return msgspec.structs.replace(surface, corners=corners, fold=fold)


def rebase_on_edge(edge: str, at_mm: float, old_edge: str, split_mm: float, new_edge: str) -> tuple[str, float]:
    """Where a point on an edge is after a corner `new_edge` was put in `old_edge` at `split_mm`: (edge, at_mm)."""
    if edge == old_edge and at_mm >= split_mm:
        return new_edge, at_mm - split_mm
    return edge, at_mm


def rebase_line(line: Line, before: Surface, old_edge: str, split_mm: float, new_edge: str) -> Line:
    """The same line after the split. `before` is the surface as it was.

    A stretch wholly on one half stays on an edge; one that spans the new corner becomes a line inside with the same
    ends, so nothing that is folded or sewn to it moves.
    """
    if isinstance(line, Inside) or line.edge != old_edge:
        return line
    size = edge_length_mm(before, old_edge)
    if size is None:
        return line
    low, high = min(line.from_mm, size), size if line.to_mm is None else min(line.to_mm, size)
    to_end = line.to_mm is None or high >= size
    if high <= split_mm + SAME_MM:
        return OnEdge(edge=old_edge, from_mm=line.from_mm, to_mm=None if high >= split_mm - SAME_MM else high)
    if low >= split_mm - SAME_MM:
        return OnEdge(edge=new_edge, from_mm=max(low - split_mm, 0.0), to_mm=None if to_end else high - split_mm)
    ends = line_of(before, line)
    return line if ends is None else Inside(start_mm=ends[0], end_mm=ends[1])
