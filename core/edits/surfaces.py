"""Draw floor, draw surface, raise wall, set fold, re-fold, place apart, propose seams."""

from collections.abc import Iterable
from math import inf

from core.edits.change import add, get, made, name_or, new_id, put, put_all, refuse, replaced
from core.geometry.edges import edge_length_mm, edge_of, line_of
from core.geometry.foldout import descendants, lay_out
from core.geometry.plane import SAME_MM, Point, distance_mm
from core.geometry.polygon import is_simple, point_in, signed_area_mm2
from core.geometry.refold import refold as refolded
from core.geometry.seams import propose_seams as proposed
from core.model import Apart, Corner, Fold, Line, OnEdge, Outline, Plan, Seam, Surface, ids
from core.model.body import Passage

#: Fold angles beyond this turn a surface into the one it is folded to.
MOST_DEG = 180.0
#: Two ends this near to each other are the same place for whoever drew them (the last click on the first).
CLOSED_MM = 0.5


def clean_outline(outline: Iterable[Point], what: str) -> Outline:
    """The outline counter-clockwise, without points that follow themselves. Refuses what is no simple polygon."""
    points: list[Point] = []
    for x, y in outline:
        if not (-inf < x < inf and -inf < y < inf):
            refuse(f"The outline of {what} has a corner without a place.")
        if not points or distance_mm(points[-1], (x, y)) > CLOSED_MM:
            points.append((float(x), float(y)))
    while len(points) > 1 and distance_mm(points[0], points[-1]) <= CLOSED_MM:
        points.pop()
    if len(points) < 3:
        refuse(f"The outline of {what} needs at least three corners; it has {len(points)}.")
    if not is_simple(points):
        refuse(f"The outline of {what} crosses or touches itself.")
    return tuple(points) if signed_area_mm2(points) > 0 else tuple(reversed(points))


def _corners(outline: Outline) -> tuple[Corner, ...]:
    return tuple(Corner(id=str(number), at_mm=point) for number, point in enumerate(outline, start=1))


def draw_floor(plan: Plan, outline: Iterable[Point], name: str | None = None) -> tuple[Plan, str]:
    """Draw floor: the surface that everything is folded to, in mm with the nose to the left. Only one per plan."""
    floor = next((surface for surface in plan.surfaces if surface.fold is None), None)
    if floor is not None:
        refuse(f"The plan has a floor already ({floor.name}). Draw another surface apart, or raise it from an edge.")
    corners = _corners(clean_outline(outline, "the floor"))
    surface_id = new_id(plan, "surfaces")
    surface = made(Surface, id=surface_id, name=name or "Floor", role="floor", corners=corners)
    return add(plan, "surfaces", surface), surface_id


def draw_surface(
    plan: Plan,
    name: str,
    outline: Iterable[Point],
    fold: Fold,
    role: str = "wall",
    apart_at: Point | None = None,
) -> tuple[Plan, str]:
    """Draw surface of any shape, folded as `fold` says; `apart_at` gives it a place of its own on the sheet."""
    parent = get(plan, "surfaces", fold.parent)
    corners = _corners(clean_outline(outline, name or "the surface"))
    surface_id = new_id(plan, "surfaces")
    surface = made(
        Surface,
        id=surface_id,
        name=name_or(name, "Surface", _names(plan)),
        role=role,
        corners=corners,
        fold=fold,
        apart=None if apart_at is None else made(Apart, at_mm=apart_at),
    )
    _check_angle(surface.name, fold.fold_deg)
    if line_of(parent, fold.parent_line) is None:
        refuse(f"{parent.name} has no such line to fold {surface.name} at.")
    if line_of(surface, fold.line) is None:
        refuse(f"{surface.name} has no such line to be folded at.")
    return propose_seams(add(plan, "surfaces", surface)), surface_id


def raise_wall(
    plan: Plan,
    surface_id: str,
    edge_id: str,
    height_mm: float,
    name: str | None = None,
    lean_deg: float = 90.0,
    from_mm: float = 0.0,
    to_mm: float | None = None,
) -> tuple[Plan, str]:
    """Raise wall from an edge of a surface, or from a stretch of it: a rectangle as high as the tape says.

    `lean_deg` is the fold: 90 stands upright, 95 leans in by 5 degrees. Seams that close in the vehicle are drawn too.
    """
    parent: Surface = get(plan, "surfaces", surface_id)
    size = edge_length_mm(parent, edge_id)
    if size is None:
        refuse(f"{parent.name} has no edge {edge_id}.")
    if not height_mm > 0:
        refuse(f"A wall must be higher than 0 mm; {height_mm:g} mm is not.")
    high = size if to_mm is None else min(to_mm, size)
    if not (0 <= from_mm < high and high - from_mm > SAME_MM):
        refuse(f"The edge of {parent.name} is {size:.0f} mm long; no wall fits from {from_mm:g} to {high:g} mm of it.")
    _check_angle(name or "A wall", lean_deg)
    _check_edge_free(plan, parent, edge_id, from_mm, high)
    role, word = _role_and_word(parent, edge_id)
    width = high - from_mm
    surface = made(
        Surface,
        id=new_id(plan, "surfaces"),
        name=name_or(name, word, _names(plan)),
        role=role,
        corners=_corners(((0.0, 0.0), (width, 0.0), (width, float(height_mm)), (0.0, float(height_mm)))),
        fold=made(
            Fold,
            line=OnEdge(edge="1"),
            parent=surface_id,
            parent_line=made(OnEdge, edge=edge_id, from_mm=from_mm, to_mm=None if high >= size - SAME_MM else high),
            fold_deg=lean_deg,
        ),
    )
    return propose_seams(add(plan, "surfaces", surface)), surface.id


def _check_angle(name: str, fold_deg: float) -> None:
    if not -MOST_DEG <= fold_deg <= MOST_DEG:
        refuse(f"{name} cannot be folded by {fold_deg:g} degrees; a fold is between -180 and 180.")


def _check_edge_free(plan: Plan, parent: Surface, edge_id: str, from_mm: float, to_mm: float) -> None:
    """Two surfaces folded to one stretch would lie on each other."""
    if parent.fold is not None and _overlap(parent, parent.fold.line, edge_id, from_mm, to_mm):
        refuse(f"At this edge {parent.name} itself is folded to {get(plan, 'surfaces', parent.fold.parent).name}.")
    for other in plan.surfaces:
        fold = other.fold if other.fold is not None and other.fold.parent == parent.id else None
        if fold is not None and _overlap(parent, fold.parent_line, edge_id, from_mm, to_mm):
            refuse(f"{other.name} is folded to this edge of {parent.name} already.")
    for seam in plan.seams:
        sides = ((seam.a, seam.a_line, seam.b), (seam.b, seam.b_line, seam.a))
        for mine, line, theirs in sides:
            if mine == parent.id and _overlap(parent, line, edge_id, from_mm, to_mm):
                refuse(f"This edge of {parent.name} is sewn to {get(plan, 'surfaces', theirs).name} already.")


def _overlap(surface: Surface, line: Line, edge_id: str, from_mm: float, to_mm: float) -> bool:
    if not isinstance(line, OnEdge) or line.edge != edge_id:
        return False
    size = edge_length_mm(surface, edge_id) or 0.0
    high = size if line.to_mm is None else line.to_mm
    return min(high, to_mm) - max(line.from_mm, from_mm) > 1.0


def _role_and_word(parent: Surface, edge_id: str) -> tuple[str, str]:
    """What a wall on this edge is. The nose points to the left of the sheet, so the floor's lower edge is the left."""
    edge = edge_of(parent, edge_id)
    assert edge is not None
    along_x, along_y = edge[1][0] - edge[0][0], edge[1][1] - edge[0][1]
    if parent.fold is None:
        if abs(along_x) >= abs(along_y):
            return "wall", "Vehicle left" if along_x > 0 else "Vehicle right"
        return "end", "Rear" if along_y > 0 else "Front"
    if parent.role in ("wall", "end") and isinstance(parent.fold.line, OnEdge):
        bottom = edge_of(parent, parent.fold.line.edge)
        if bottom is not None and _runs_against(edge, bottom):
            return "ceiling", "Ceiling"
    return "other", "Surface"


def _runs_against(edge: tuple[Point, Point], other: tuple[Point, Point]) -> bool:
    """Whether two edges of one outline face each other: nearly parallel, in opposite directions."""
    (ax, ay), (bx, by) = edge
    (cx, cy), (dx, dy) = other
    product = (bx - ax) * (dx - cx) + (by - ay) * (dy - cy)
    return product < -0.9 * distance_mm(*edge) * distance_mm(*other)


def _names(plan: Plan) -> list[str]:
    return [surface.name for surface in plan.surfaces]


def propose_seams(plan: Plan) -> Plan:
    """Propose seams: those whose lines meet in the folded-up vehicle and are not in the plan yet."""
    new = proposed(plan.surfaces, lay_out(plan.surfaces), plan.seams, ids(plan))
    return add(plan, "seams", *new)


def draw_seam(plan: Plan, a: str, a_line: Line, b: str, b_line: Line, passage: Passage = "free") -> tuple[Plan, str]:
    """Draw seam by hand, where the pose does not propose one. `b_line` runs against `a_line`."""
    first, second = get(plan, "surfaces", a), get(plan, "surfaces", b)
    if line_of(first, a_line) is None:
        refuse(f"{first.name} has no such line for a seam.")
    if line_of(second, b_line) is None:
        refuse(f"{second.name} has no such line for a seam.")
    if a == b and a_line == b_line:
        refuse(f"A seam of {first.name} with itself needs two different lines.")
    seam_id = new_id(plan, "seams")
    seam = made(Seam, id=seam_id, a=a, a_line=a_line, b=b, b_line=b_line, passage=passage, origin="drawn")
    return add(plan, "seams", seam), seam_id


def set_fold_deg(plan: Plan, surface_id: str, fold_deg: float) -> Plan:
    """Set fold: the angle at which a surface turns out of the sheet."""
    surface: Surface = get(plan, "surfaces", surface_id)
    if surface.fold is None:
        refuse(f"{surface.name} is the floor and folded to nothing.")
    _check_angle(surface.name, fold_deg)
    changed = replaced(surface, fold=replaced(surface.fold, fold_deg=float(fold_deg)))
    return plan if changed is surface else propose_seams(put(plan, "surfaces", changed))


def set_fold_line(
    plan: Plan, surface_id: str, parent_id: str, parent_line: Line, line: Line, shift_mm: float = 0.0
) -> Plan:
    """Set fold line: where and to which surface a surface is folded. A circle of folds is refused."""
    surface: Surface = get(plan, "surfaces", surface_id)
    parent: Surface = get(plan, "surfaces", parent_id)
    if surface.fold is None:
        refuse(f"{surface.name} is the floor and folded to nothing.")
    if parent_id == surface_id or parent_id in descendants(plan.surfaces, surface_id):
        refuse(f"{surface.name} cannot be folded to {parent.name}, which is folded to it.")
    if line_of(surface, line) is None:
        refuse(f"{surface.name} has no such line to be folded at.")
    if line_of(parent, parent_line) is None:
        refuse(f"{parent.name} has no such line to fold {surface.name} at.")
    fold = replaced(surface.fold, parent=parent_id, parent_line=parent_line, line=line, shift_mm=float(shift_mm))
    changed = replaced(surface, fold=fold)
    return plan if changed is surface else propose_seams(put(plan, "surfaces", changed))


def refold(plan: Plan, surface_id: str, seam_id: str) -> Plan:
    """Re-fold: exchange a surface's fold with one of its seams. Nothing moves on any surface."""
    get(plan, "surfaces", surface_id)
    get(plan, "seams", seam_id)
    surfaces, seams = refolded(plan.surfaces, plan.seams, surface_id, seam_id)
    return put_all(put_all(plan, "surfaces", surfaces), "seams", seams)


def place_apart(plan: Plan, surface_id: str, at_mm: Point | None, turn_deg: float = 0.0) -> Plan:
    """Place apart: give a surface a place of its own on the sheet; None puts it back at its fold."""
    surface: Surface = get(plan, "surfaces", surface_id)
    if surface.fold is None:
        refuse(f"{surface.name} is the floor; the sheet is laid out from it.")
    apart = None if at_mm is None else made(Apart, at_mm=at_mm, turn_deg=float(turn_deg))
    return put(plan, "surfaces", replaced(surface, apart=apart))


def cut_hole(plan: Plan, surface_id: str, outline: Iterable[Point]) -> Plan:
    """Cut hole: a part of a surface where there is no material."""
    surface: Surface = get(plan, "surfaces", surface_id)
    hole = clean_outline(outline, f"the hole in {surface.name}")
    check_within(surface, hole, f"The hole in {surface.name}")
    return put(plan, "surfaces", replaced(surface, holes=(*surface.holes, hole)))


def check_within(surface: Surface, points: Iterable[Point], what: str) -> None:
    """Refuse what does not lie on the surface, half a millimetre of rounding allowed."""
    outline = tuple(corner.at_mm for corner in surface.corners)
    for x, y in points:
        if not (-inf < x < inf and -inf < y < inf) or not point_in(outline, (x, y), CLOSED_MM):
            refuse(f"{what} does not lie on {surface.name}: the point {x:.0f}, {y:.0f} mm is outside it.")


__all__ = [
    "check_within",
    "clean_outline",
    "cut_hole",
    "draw_floor",
    "draw_seam",
    "draw_surface",
    "place_apart",
    "propose_seams",
    "raise_wall",
    "refold",
    "set_fold_deg",
    "set_fold_line",
]
