"""From folds to places: every surface on the flat sheet and in the vehicle.

The root (the floor) lies in the plane z = 0, its own axes being the vehicle's (x to the rear, y to the vehicle's
right, z up). Every other surface follows from its fold. Nothing here raises or hangs on a bad plan: what cannot be
placed lies flat beside the rest and is a `FoldProblem`.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import inf

from core.geometry.edges import line_of, outline_of
from core.geometry.plane import IDENTITY, Placement, Point, Segment, placed_against
from core.model import Surface

Point3 = tuple[float, float, float]

#: Room between the sheet and a surface that hangs on nothing.
BESIDE_MM = 500.0
#: Surfaces may lie on each other on the sheet by this area before it is worth a word.
OVERLAP_MM2 = 1.0


@dataclass(frozen=True, slots=True)
class Pose:
    """Where a surface is in the vehicle: its origin, its two axes and its normal towards the room."""

    origin: Point3
    x_axis: Point3
    y_axis: Point3
    normal: Point3

    def to_vehicle(self, p: Point, height_mm: float = 0.0) -> Point3:
        """The vehicle's coordinates of a point of the surface, `height_mm` above it in the room."""
        o, x, y, n = self.origin, self.x_axis, self.y_axis, self.normal
        px, py = p
        return (
            o[0] + px * x[0] + py * y[0] + height_mm * n[0],
            o[1] + px * x[1] + py * y[1] + height_mm * n[1],
            o[2] + px * x[2] + py * y[2] + height_mm * n[2],
        )

    def to_local(self, q: Point3) -> tuple[float, float, float]:
        """(x, y, height) of a point of the vehicle over this surface."""
        away = sub(q, self.origin)
        return dot(away, self.x_axis), dot(away, self.y_axis), dot(away, self.normal)


LEVEL = Pose((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


@dataclass(frozen=True, slots=True)
class Laid:
    """One surface laid out. `root` names the tree it hangs in: poses of two trees say nothing about each other.

    `apart` is true where the surface does not lie beside its parent, so that its fold line is drawn as a seam.
    """

    surface: str
    place: Placement
    pose: Pose
    root: str
    apart: bool
    parent: str | None


@dataclass(frozen=True, slots=True)
class FoldProblem:
    surface: str
    message: str


@dataclass(frozen=True, slots=True)
class Layout:
    """Every surface's place and pose, in the order of folding (parents first)."""

    laid: Mapping[str, Laid]
    problems: tuple[FoldProblem, ...]
    root: str | None

    def place(self, surface: str) -> Placement:
        return self.laid[surface].place

    def pose(self, surface: str) -> Pose:
        return self.laid[surface].pose

    def joined(self, a: str, b: str) -> bool:
        """True where both surfaces hang in one tree, so that their poses can be compared."""
        return a in self.laid and b in self.laid and self.laid[a].root == self.laid[b].root


def dot(a: Point3, b: Point3) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Point3, b: Point3) -> Point3:
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


def sub(a: Point3, b: Point3) -> Point3:
    return a[0] - b[0], a[1] - b[1], a[2] - b[2]


def lay_out(surfaces: Sequence[Surface]) -> Layout:
    """Place every surface on the sheet and in the vehicle.

    The first floor without a fold is the root, or, where there is none, the first surface without one. Surfaces that
    hang on nothing (a second root, a missing parent, a circle of folds, a fold line that is not there) lie apart or
    beside the sheet, flat at z = 0, each the root of a tree of its own.
    """
    by_id: dict[str, Surface] = {}
    problems = [
        FoldProblem(surface.id, f"Two surfaces have the id {surface.id}; the second is left out.")
        for surface in surfaces
        if by_id.setdefault(surface.id, surface) is not surface
    ]
    children, roots = _trees(by_id, problems)
    laid: dict[str, Laid] = {}
    right_mm = _lay_tree(roots[0], by_id, children, laid, IDENTITY) if roots else 0.0
    for root in roots[1:]:
        outline = outline_of(by_id[root])
        left, low = min((p[0] for p in outline), default=0.0), min((p[1] for p in outline), default=0.0)
        beside = Placement(right_mm + BESIDE_MM - left, -low)
        right_mm = max(right_mm, _lay_tree(root, by_id, children, laid, beside))
    return Layout(laid, tuple(problems), roots[0] if roots else None)


def _trees(by_id: Mapping[str, Surface], problems: list[FoldProblem]) -> tuple[dict[str, list[str]], list[str]]:
    """Children of each surface, and the roots, the vehicle's first."""
    children: dict[str, list[str]] = {surface: [] for surface in by_id}
    unfolded = [surface for surface in by_id.values() if surface.fold is None]
    first = next((surface.id for surface in unfolded if surface.role == "floor"), None)
    if first is None and unfolded:
        first = unfolded[0].id
    roots = [] if first is None else [first]
    for surface in by_id.values():
        if surface.fold is None:
            if surface.id != first:
                roots.append(surface.id)
                problems.append(
                    FoldProblem(surface.id, f"{surface.name} has no fold, so its place in the vehicle is not known.")
                )
            continue
        trouble = _fold_trouble(surface, by_id)
        if trouble:
            roots.append(surface.id)
            problems.append(FoldProblem(surface.id, trouble))
        else:
            children[surface.fold.parent].append(surface.id)
    return children, roots + _cut_circles(by_id, children, roots, problems)


def _fold_trouble(surface: Surface, by_id: Mapping[str, Surface]) -> str:
    fold = surface.fold
    assert fold is not None
    parent = by_id.get(fold.parent)
    if parent is None:
        return f"{surface.name} is folded on {fold.parent}, which is not there."
    if line_of(surface, fold.line) is None:
        return f"The fold line of {surface.name} is not there or has no length."
    if line_of(parent, fold.parent_line) is None:
        return f"The line of {parent.name} on which {surface.name} is folded is not there or has no length."
    return ""


def _cut_circles(
    by_id: Mapping[str, Surface], children: dict[str, list[str]], roots: Sequence[str], problems: list[FoldProblem]
) -> list[str]:
    """Surfaces that no root reaches hang in a circle: cut each circle at its first surface."""
    reached = set(_descendants(children, roots))
    cut: list[str] = []
    for surface in by_id.values():
        if surface.id in reached:
            continue
        seen = {surface.id}
        walker = surface
        while walker.fold is not None and walker.fold.parent not in seen:
            walker = by_id[walker.fold.parent]
            seen.add(walker.id)
        assert walker.fold is not None
        start = by_id[walker.fold.parent]  # the first surface met twice lies on the circle
        assert start.fold is not None
        children[start.fold.parent].remove(start.id)
        parent = by_id[start.fold.parent]
        by_way = "" if parent is start else f" by way of {parent.name}"
        problems.append(FoldProblem(start.id, f"{start.name} is folded on itself{by_way}."))
        cut.append(start.id)
        reached.update(_descendants(children, [start.id]))
    return cut


def _descendants(children: Mapping[str, Sequence[str]], roots: Iterable[str]) -> list[str]:
    todo, found = list(roots), []
    while todo:
        surface = todo.pop()
        found.append(surface)
        todo.extend(children[surface])
    return found


def descendants(surfaces: Sequence[Surface], surface_id: str) -> frozenset[str]:
    """The surface and all that hangs on it by folds, at any depth. Ends on circles too."""
    children: dict[str, list[str]] = {}
    for surface in surfaces:
        if surface.fold is not None:
            children.setdefault(surface.fold.parent, []).append(surface.id)
    todo, found = [surface_id], set[str]()
    while todo:
        here = todo.pop()
        if here not in found:
            found.add(here)
            todo.extend(children.get(here, ()))
    return frozenset(found)


def _lay_tree(
    root: str,
    by_id: Mapping[str, Surface],
    children: Mapping[str, Sequence[str]],
    laid: dict[str, Laid],
    beside: Placement,
) -> float:
    """Lay a tree of folds; returns how far right it reaches on the sheet."""
    first = by_id[root]
    place = _apart(first) or beside
    pose = LEVEL
    if laid:  # not the vehicle's own tree: flat where it is drawn
        x_axis, y_axis = (place.cos, place.sin, 0.0), (-place.sin, place.cos, 0.0)
        pose = Pose((place.x_mm, place.y_mm, 0.0), x_axis, y_axis, (0.0, 0.0, 1.0))
    laid[root] = Laid(root, place, pose, root, first.apart is not None, None)
    right_mm = -inf
    todo = [root]
    while todo:
        here = laid[todo.pop()]
        surface = by_id[here.surface]
        right_mm = max(right_mm, *(here.place.to_sheet(corner.at_mm)[0] for corner in surface.corners), place.x_mm)
        for child_id in children[here.surface]:
            laid[child_id] = _fold_on(by_id[child_id], surface, here)
        todo.extend(reversed(children[here.surface]))
    return right_mm


def _apart(surface: Surface) -> Placement | None:
    return None if surface.apart is None else Placement.turned(*surface.apart.at_mm, surface.apart.turn_deg)


def _fold_on(child: Surface, parent: Surface, laid: Laid) -> Laid:
    fold = child.fold
    assert fold is not None
    line, onto = line_of(child, fold.line), line_of(parent, fold.parent_line)
    # Looked at when the trees were made.
    assert line is not None
    assert onto is not None
    place = _apart(child) or placed_against(line, onto, fold.shift_mm).then(laid.place)
    pose = folded_pose(line, onto, fold.fold_deg, fold.shift_mm, laid.pose)
    return Laid(child.id, place, pose, laid.root, child.apart is not None, parent.id)


def folded_pose(line: Segment, onto: Segment, fold_deg: float, shift_mm: float, parent: Pose) -> Pose:
    """The pose of a surface whose `line` lies against the parent's line `onto`, turned by `fold_deg` to the room.

    With u along the parent's line, n the parent's normal and w = u x n pointing away from the parent, the child
    leaves its line in the direction cos(fold) w + sin(fold) n.
    """
    flat = placed_against(line, onto, shift_mm)
    x_flat, y_flat = (flat.cos, flat.sin), (-flat.sin, flat.cos)
    size = ((onto[1][0] - onto[0][0]) ** 2 + (onto[1][1] - onto[0][1]) ** 2) ** 0.5
    ux, uy = (onto[1][0] - onto[0][0]) / size, (onto[1][1] - onto[0][1]) / size
    c, s = _turn(fold_deg)

    def turned(x: float, y: float) -> Point3:
        """A direction of the flat child, turned about the line."""
        along, out = x * ux + y * uy, x * uy - y * ux
        flat_x, flat_y, up = along * ux + out * c * uy, along * uy - out * c * ux, out * s
        return _direction(parent, flat_x, flat_y, up)

    x_axis, y_axis = turned(*x_flat), turned(*y_flat)
    end = parent.to_vehicle((onto[0][0] + ux * shift_mm, onto[0][1] + uy * shift_mm))
    bx, by = line[1]
    origin = (
        end[0] - bx * x_axis[0] - by * y_axis[0],
        end[1] - bx * x_axis[1] - by * y_axis[1],
        end[2] - bx * x_axis[2] - by * y_axis[2],
    )
    return Pose(origin, x_axis, y_axis, cross(x_axis, y_axis))


def _direction(pose: Pose, x: float, y: float, up: float) -> Point3:
    a, b, n = pose.x_axis, pose.y_axis, pose.normal
    return (
        x * a[0] + y * b[0] + up * n[0],
        x * a[1] + y * b[1] + up * n[1],
        x * a[2] + y * b[2] + up * n[2],
    )


def _turn(deg: float) -> tuple[float, float]:
    turned = Placement.turned(0.0, 0.0, deg)
    return turned.cos, turned.sin


@dataclass(frozen=True, slots=True)
class Overlap:
    """Two surfaces that lie on each other on the sheet. Remedy: lay one of them apart."""

    a: str
    b: str
    area_mm2: float


def overlaps(layout: Layout, surfaces: Sequence[Surface]) -> tuple[Overlap, ...]:
    """Pairs of surfaces that share more than `OVERLAP_MM2` of the sheet, in the order of the surfaces.

    Holes count as covered: nobody can draw in another surface's hole.
    """
    ids: list[str] = []
    outlines = []
    for surface in surfaces:
        if surface.id in layout.laid and len(surface.corners) >= 3 and surface.id not in ids:
            ids.append(surface.id)
            outlines.append(layout.place(surface.id).line_to_sheet(outline_of(surface)))
    if len(ids) < 2:
        return ()
    import shapely  # not before there is something to compare: it takes long to load

    shapes = [shapely.make_valid(shapely.Polygon(outline)) for outline in outlines]
    tree = shapely.STRtree(shapes)
    found = []
    for i, j in sorted(map(tuple, tree.query(shapes, predicate="intersects").T.tolist())):
        if i < j:
            area = float(shapely.area(shapely.intersection(shapes[i], shapes[j])))
            if area > OVERLAP_MM2:
                found.append(Overlap(ids[i], ids[j], area))
    return tuple(found)
