"""Trim, extend, split and join lines; offset lines and outlines; place by a distance from an edge.

All on one surface, in its millimetres.
"""

from collections.abc import Iterator, Sequence
from typing import Any

from core.edits.change import add, find_any, free_name, get, new_id, put, refuse, replaced, take_out, title
from core.edits.drawn import set_outline
from core.edits.surfaces import check_within, clean_outline
from core.edits.transform import move
from core.geometry.edges import outline_of
from core.geometry.foldout import lay_out
from core.geometry.from_edge import shift_to_distance
from core.geometry.plane import (
    SAME_MM,
    Crossing,
    Point,
    Polyline,
    Segment,
    crossings,
    distance_mm,
    length_mm,
    nearest_on,
    part,
    side_of,
)
from core.geometry.plane import offset as parallel
from core.geometry.polygon import ring
from core.model import Plan, Surface

LINED = ("ribs", "metal_edges")
OUTLINED = ("boxes", "openings", "zones", "panels", "moving_parts")
#: Ends of lines that shall become one may lie this far apart.
JOIN_MM = 10.0
#: A stretch shorter than this is a slip of the hand.
SHORTEST_MM = 1.0
#: How far a line is extended at most: longer than any vehicle.
FAR_MM = 30_000.0


def trim(plan: Plan, record_id: str, at_mm: Point) -> Plan:
    """Trim line to edge: take off the stretch under a point, between the edges and lines it crosses there.

    At an end the end goes; in the middle the line becomes two; with no crossing at all it is refused.
    """
    collection, record = _line(plan, record_id)
    line: Polyline = record.line_mm
    found = sorted({round(c.a_mm, 6) for c in _crossed(plan, record)})
    size = length_mm(line)
    here = nearest_on(line, at_mm).along_mm
    inner = [at for at in found if SHORTEST_MM < at < size - SHORTEST_MM]
    if not inner:
        refuse(f"The {title(collection, record)} crosses no edge or line to be trimmed to.")
    low = max((at for at in inner if at <= here), default=0.0)
    high = min((at for at in inner if at > here), default=size)
    rest = [part(line, a, b) for a, b in ((0.0, low), (high, size)) if b - a > SHORTEST_MM]
    plan = put(plan, collection, replaced(record, line_mm=rest[0]))
    if len(rest) == 1:
        return plan
    return add(plan, collection, replaced(record, id=new_id(plan, collection), line_mm=rest[1]))


def extend(plan: Plan, record_id: str, end: int) -> Plan:
    """Extend line at its start (0) or end (1), straight on, to the next edge or line."""
    collection, record = _line(plan, record_id)
    line: Polyline = record.line_mm if end else tuple(reversed(record.line_mm))
    (ax, ay), (bx, by) = line[-2:]
    size = distance_mm((ax, ay), (bx, by))
    far = (bx + (bx - ax) / size * FAR_MM, by + (by - ay) / size * FAR_MM)
    met = (c for other in _others(plan, record) for c in crossings(((bx, by), far), other) if c.a_mm > SHORTEST_MM)
    goal: Crossing | None = min(met, key=lambda c: c.a_mm, default=None)
    if goal is None:
        refuse(f"The {title(collection, record)} meets no edge or line further on.")
    longer = (*line[:-1], goal.point)
    return set_outline(plan, record_id, longer if end else tuple(reversed(longer)))


def split_line(plan: Plan, record_id: str, at_mm: float) -> tuple[Plan, str]:
    """Split line at a distance from its start; the first part keeps the id. Gives the second."""
    collection, record = _line(plan, record_id)
    size = length_mm(record.line_mm)
    if not SHORTEST_MM < at_mm < size - SHORTEST_MM:
        refuse(f"The {title(collection, record)} is {size:,.0f} mm long; it cannot be split at {at_mm:,.0f} mm.")
    fresh = new_id(plan, collection)
    first = replaced(record, line_mm=part(record.line_mm, 0.0, at_mm))
    second = replaced(record, id=fresh, line_mm=part(record.line_mm, at_mm, size))
    return add(put(plan, collection, first), collection, second), fresh


def join_lines(plan: Plan, a: str, b: str) -> Plan:
    """Join two lines of a kind whose ends meet: the first keeps its id, the second goes."""
    collection, first = _line(plan, a)
    other, second = _line(plan, b)
    if a == b or collection != other or first.surface != second.surface:
        refuse("Only two lines of a kind, on one surface, can become one.")
    ends = [
        (distance_mm(p[-1], q[0]), p, q)
        for p in (first.line_mm, tuple(reversed(first.line_mm)))
        for q in (second.line_mm, tuple(reversed(second.line_mm)))
    ]
    gap, p, q = min(ends, key=lambda each: each[0])
    if gap > JOIN_MM:
        refuse(f"The ends of the two lines lie {gap:,.0f} mm apart; they cannot become one.")
    points = _straightened((*p, *(q[1:] if gap <= SAME_MM else q)))
    if p[0] != first.line_mm[0]:
        points = tuple(reversed(points))
    return take_out(put(plan, collection, replaced(first, line_mm=points)), collection, {b})


def _straightened(line: Polyline) -> Polyline:
    """Without inner points that lie on the straight line between their neighbours."""
    kept = [line[0]]
    for here, after in zip(line[1:], line[2:], strict=False):
        if abs(side_of((kept[-1], after), here)) > 1e-3 * max(distance_mm(kept[-1], after), 1.0):
            kept.append(here)
    return (*kept, line[-1])


def offset(plan: Plan, record_id: str, by_mm: float) -> tuple[Plan, str]:
    """Offset: a copy beside a line (to the left of its direction where positive) or round an outline (outwards).

    Refused where the copy would leave the surface or cross itself.
    """
    collection, record = find_any(plan, record_id)
    if collection not in (*LINED, *OUTLINED) or collection == "moving_parts":
        refuse(f"The {title(collection, record)} has no outline to be offset.")
    field = "line_mm" if collection in LINED else "outline"
    closed = field == "outline"
    points = parallel(getattr(record, field), -by_mm if closed else by_mm, closed)
    what = f"The copy of {title(collection, record)}"
    if closed:
        if by_mm < 0 and _turned_inside_out(record.outline, points):
            refuse(f"{what} would have no room {-by_mm:,.0f} mm inside it.")
        points = clean_outline(points, f"the copy of {title(collection, record)}")
    check_within(get(plan, "surfaces", record.surface), points, what)
    fresh = new_id(plan, collection)
    changes: dict[str, Any] = {"id": fresh, field: points}
    if record.name:
        changes["name"] = free_name(record.name, (each.name for each in getattr(plan, collection)))
    if collection == "boxes":
        changes["faces"] = ()
    return add(plan, collection, replaced(record, **changes)), fresh


def _turned_inside_out(before: Polyline, after: Polyline) -> bool:
    """Whether a side of an outline runs the other way after an offset, so that nothing is left between."""
    if len(before) != len(after):
        return False
    pairs = zip(before, (*before[1:], before[0]), after, (*after[1:], after[0]), strict=True)
    return any((q[0] - p[0]) * (s[0] - r[0]) + (q[1] - p[1]) * (s[1] - r[1]) <= 0 for p, q, r, s in pairs)


def set_distance(plan: Plan, record_ids: str | Sequence[str], edge_sheet_mm: Segment, away_mm: float) -> Plan:
    """Set distance from an edge: what is drawn moves square to it, until its nearest point lies so far away.

    Several things move together, as one.
    """
    ids = (record_ids,) if isinstance(record_ids, str) else tuple(record_ids)
    if not away_mm >= 0:
        refuse(f"A distance is 0 mm or more; {away_mm:g} mm is not.")
    if distance_mm(*edge_sheet_mm) <= SAME_MM:
        refuse("The edge has no length to measure from.")
    layout = lay_out(plan.surfaces)
    shape: list[Point] = []
    for record_id in ids:
        collection, record = find_any(plan, record_id)
        surface = getattr(record, "surface", None)
        if surface is None or surface not in layout.laid:
            refuse(f"The {title(collection, record)} has no place on the sheet to be measured.")
        shape += layout.place(surface).line_to_sheet(shape_of(collection, record))
    if not shape:
        refuse("Select what is to lie at that distance first.")
    return move(plan, ids, shift_to_distance(edge_sheet_mm, away_mm, shape))


def shape_of(collection: str, record: Any) -> tuple[Point, ...]:
    if collection in LINED:
        return tuple(record.line_mm)
    if collection in OUTLINED:
        return tuple(record.outline)
    if not hasattr(record, "at_mm"):
        refuse(f"The {title(collection, record)} cannot be placed by a distance.")
    return (record.at_mm,)


def _line(plan: Plan, record_id: str) -> tuple[str, Any]:
    collection, record = find_any(plan, record_id)
    if collection not in LINED:
        refuse(f"The {title(collection, record)} is no rib or metal edge; only lines are trimmed, split and joined.")
    return collection, record


def _others(plan: Plan, record: Any) -> Iterator[Polyline]:
    """The edges and lines of the record's surface, but its own."""
    surface: Surface = get(plan, "surfaces", record.surface)
    yield ring(outline_of(surface))
    for hole in surface.holes:
        yield ring(hole)
    for collection in OUTLINED:
        for each in getattr(plan, collection):
            if each.surface == surface.id:
                yield ring(each.outline)
    for collection in LINED:
        for each in getattr(plan, collection):
            if each.surface == surface.id and each.id != record.id:
                yield each.line_mm


def _crossed(plan: Plan, record: Any) -> Iterator[Crossing]:
    for other in _others(plan, record):
        yield from crossings(record.line_mm, other)
