"""Sew two edges, draw a surface next to another neighbour, raise a curved wall in strips, join two flat surfaces."""

from collections.abc import Sequence
from math import atan2, cos, degrees, hypot, radians, sin
from typing import Any, NamedTuple

from core.edits.change import add, free_name, get, new_id, put, put_all, refuse, replaced, take_out
from core.edits.network import place_at
from core.edits.surfaces import propose_seams, raise_wall, refold
from core.errors import EditRefused
from core.geometry.edges import line_of, outline_of, point_on_edge
from core.geometry.foldout import descendants, dot, lay_out, sub
from core.geometry.motion import Motion
from core.geometry.plane import Point, Polyline, Segment, distance_mm, nearest_on
from core.geometry.polygon import is_simple, sides, signed_area_mm2
from core.geometry.seams import seam_of_edges
from core.model import Corner, Inside, Line, OnEdge, OnLine, OnSurface, Plan, Surface, fresh_id

#: Two surfaces are one plane where they are flush within this, and turned from each other by less than that.
FLUSH_MM = 1.0
FLUSH_COSINE = 0.99999
#: Corners of two surfaces nearer than this are one.
SAME_CORNER_MM = 1.0
MOST_STRIPS = 24


def sew_edges(plan: Plan, a: tuple[str, str], b: tuple[str, str]) -> tuple[Plan, str]:
    """Sew edges: a seam of two edges picked by hand, each a surface and the corner its edge starts at.

    Where they coincide in the vehicle the seam is their common stretch, else both whole edges are sewn together.
    """
    for surface, _ in (a, b):
        get(plan, "surfaces", surface)
    fresh = new_id(plan, "seams")
    seam = seam_of_edges(plan.surfaces, lay_out(plan.surfaces), a, b, fresh)
    if any({(s.a, s.a_line), (s.b, s.b_line)} == {(seam.a, seam.a_line), (seam.b, seam.b_line)} for s in plan.seams):
        refuse("These two edges are sewn together already.")
    return add(plan, "seams", seam), fresh


class FoldChoice(NamedTuple):
    """A neighbour beside which a surface can be drawn: the seam, the neighbour, and why not ("" where it can)."""

    seam: str
    neighbour: str
    name: str
    why_not: str


def fold_choices(plan: Plan, surface_id: str) -> tuple[FoldChoice, ...]:
    """Where a surface could be drawn: at each of its seams. For the menu "draw next to"."""
    surface: Surface = get(plan, "surfaces", surface_id)
    found = []
    for seam in plan.seams:
        if surface.id not in (seam.a, seam.b) or seam.a == seam.b:
            continue
        other: Surface = get(plan, "surfaces", seam.b if seam.a == surface.id else seam.a)
        try:
            refold(plan, surface.id, seam.id)
            why_not = ""
        except EditRefused as refusal:
            why_not = str(refusal)
        found.append(FoldChoice(seam.id, other.id, other.name, why_not))
    return tuple(found)


def draw_next_to(plan: Plan, surface_id: str, neighbour_id: str) -> Plan:
    """Draw next to: the surface is drawn beside a neighbour it is sewn to (the roof, say, instead of the floor)."""
    surface: Surface = get(plan, "surfaces", surface_id)
    neighbour: Surface = get(plan, "surfaces", neighbour_id)
    choices = [choice for choice in fold_choices(plan, surface_id) if choice.neighbour == neighbour_id]
    if not choices:
        refuse(f"{surface.name} is not sewn to {neighbour.name}.")
    good = next((choice for choice in choices if not choice.why_not), None)
    if good is None:
        refuse(choices[0].why_not)
    return refold(plan, surface_id, good.seam)


def raise_curved_wall(
    plan: Plan,
    surface_id: str,
    edge_id: str,
    tape_mm: float,
    start_deg: float,
    end_deg: float,
    strips: int = 3,
    name: str | None = None,
) -> tuple[Plan, tuple[str, ...]]:
    """Raise curved wall: strips of equal height, together as high as the tape says along the curve.

    The wall leaves its edge leaning by `start_deg` (90 is upright) and ends leaning by `end_deg`, turning evenly. Gives
    the strips from the edge up.
    """
    if not 2 <= strips <= MOST_STRIPS:
        refuse(f"A curved wall has 2 to {MOST_STRIPS} strips; {strips} is not.")
    if not tape_mm / strips > 10.0:
        refuse(f"Strips of {tape_mm / strips:.0f} mm are too narrow to draw on.")
    turn = (end_deg - start_deg) / strips
    made: list[str] = []
    wall = ""
    for number in range(strips):
        parent, edge = (surface_id, edge_id) if number == 0 else (made[-1], "3")
        # The first strip leans as the curve does at its own middle.
        fold_deg = start_deg + turn / 2 if number == 0 else turn
        plan, fresh = raise_wall(plan, parent, edge, tape_mm / strips, name if number == 0 else None, fold_deg)
        first: Surface = get(plan, "surfaces", made[0] if made else fresh)
        # All are strips of the one wall, whatever a wall on the edge of a wall is usually called.
        wall = first.name if number == 0 else wall
        taken = {surface.name for surface in plan.surfaces}
        strip = replaced(
            get(plan, "surfaces", fresh), role=first.role, name=free_name(f"{wall}, strip {number + 1}", taken)
        )
        plan = put(plan, "surfaces", strip)
        made.append(fresh)
    return plan, tuple(made)


def join_surfaces(plan: Plan, kept_id: str, gone_id: str) -> Plan:
    """Join surfaces: two flat neighbours become one; the first keeps its id, its millimetres and its fold.

    All that lies on the second goes over. Refused where they do not lie in one plane edge to edge.
    """
    kept: Surface = get(plan, "surfaces", kept_id)
    gone: Surface = get(plan, "surfaces", gone_id)
    if kept_id == gone_id:
        refuse("Two different surfaces are needed to be joined.")
    if gone.fold is None or (kept.fold is not None and kept.fold.parent == gone_id):
        refuse(f"{kept.name} is folded to {gone.name}; join them the other way round.")
    if kept_id in descendants(plan.surfaces, gone_id):
        refuse(f"{kept.name} hangs on {gone.name}; join them the other way round.")
    return _Join(plan, kept, gone).done()


class _Join:
    def __init__(self, plan: Plan, kept: Surface, gone: Surface) -> None:
        self.plan, self.kept, self.gone = plan, kept, gone
        self.motion = self._motion()
        self.corners, self.whole = self._outline()

    def _motion(self) -> Motion:
        """From the millimetres of the surface that goes to those of the one that stays."""
        layout = lay_out(self.plan.surfaces)
        if not layout.joined(self.kept.id, self.gone.id):
            refuse(f"{self.kept.name} and {self.gone.name} do not hang together.")
        here, there = layout.pose(self.kept.id), layout.pose(self.gone.id)
        flush = dot(here.normal, there.normal) > FLUSH_COSINE
        off = max(abs(dot(sub(there.to_vehicle(c.at_mm), here.origin), here.normal)) for c in self.gone.corners)
        if not flush or off > FLUSH_MM:
            refuse(f"{self.kept.name} and {self.gone.name} do not lie in one plane; they stay two surfaces.")
        x, y, _ = here.to_local(there.origin)
        turned = degrees(atan2(dot(there.x_axis, here.y_axis), dot(there.x_axis, here.x_axis)))
        quarters = round(turned / 90.0) * 90.0
        turned = quarters if abs(turned - quarters) < 1e-6 else turned
        return Motion(cos(radians(turned)), sin(radians(turned)), False, x, y)

    def at(self, p: Point) -> Point:
        x, y = self.motion.at(p)
        return round(x, 4) + 0.0, round(y, 4) + 0.0

    def _outline(self) -> tuple[tuple[Corner, ...], Polyline]:
        """The outline of both together. Corners of the first keep their ids."""
        import shapely

        a = outline_of(self.kept)
        b = [self._snapped(self.at(p), a) for p in outline_of(self.gone)]
        both = shapely.union(shapely.Polygon(a), shapely.Polygon(b))
        common = shapely.intersection(shapely.Polygon(a), shapely.Polygon(b))
        if both.geom_type != "Polygon" or common.area > 1.0:
            refuse(f"{self.kept.name} and {self.gone.name} do not lie edge to edge.")
        if len(both.interiors) or self.kept.holes or self.gone.holes:
            refuse(f"{self.kept.name} and {self.gone.name} would have a hole; they cannot be joined yet.")
        points: list[Point] = [(float(x), float(y)) for x, y in both.exterior.coords[:-1]]
        if signed_area_mm2(points) < 0:
            points.reverse()
        points = _with_corners(points, [*a, *b])
        if not is_simple(points):
            refuse(f"{self.kept.name} and {self.gone.name} do not lie edge to edge.")
        names = {corner.at_mm: corner.id for corner in self.kept.corners}
        taken = set(names.values())
        corners = []
        for p in points:
            own = next((each for q, each in names.items() if distance_mm(p, q) < 1e-3), None)
            if own is None:
                own = fresh_id("", taken)
                taken.add(own)
            corners.append(Corner(id=own, at_mm=p))
        return tuple(corners), tuple(points)

    def _snapped(self, p: Point, outline: Sequence[Point]) -> Point:
        """A corner that meets the other outline within a millimetre lies on it."""
        for q in outline:
            if distance_mm(p, q) <= SAME_CORNER_MM:
                return q
        for side in sides(outline):
            near = nearest_on(side, p)
            if near.distance_mm <= SAME_CORNER_MM:
                return near.point
        return p

    def done(self) -> Plan:
        known = "measured" if {self.kept.known, self.gone.known} == {"measured"} else "assumed"
        fold = self.kept.fold
        if fold is not None:
            fold = replaced(fold, line=self._told(self.kept, fold.line, lambda p: p))
        whole = replaced(self.kept, corners=self.corners, fold=fold, known=known)
        plan = put(self.plan, "surfaces", whole)
        plan = self._children(plan)
        plan = self._seams(plan)
        plan = self._records(plan, whole)
        return propose_seams(take_out(plan, "surfaces", {self.gone.id}))

    def _told(self, surface: Surface, line: Line, at: Any) -> Line:
        """A line of one of the two, told by an edge of the whole; a line inside where it spans a corner."""
        ends = line_of(surface, line)
        if ends is None:
            return line
        start, end = at(ends[0]), at(ends[1])
        if isinstance(line, OnEdge):
            for corner, edge in zip(self.corners, sides(self.whole), strict=True):
                if all(nearest_on(edge, p).distance_mm <= SAME_CORNER_MM for p in (start, end)):
                    return _stretch(corner.id, edge, start, end)
        return Inside(start_mm=start, end_mm=end)

    def _children(self, plan: Plan) -> Plan:
        changed = []
        for child in plan.surfaces:
            fold = child.fold
            if fold is None or child.id in (self.gone.id, self.kept.id):
                continue
            if fold.parent == self.gone.id:
                line = self._told(self.gone, fold.parent_line, self.at)
                changed.append(replaced(child, fold=replaced(fold, parent=self.kept.id, parent_line=line)))
            elif fold.parent == self.kept.id:
                line = self._told(self.kept, fold.parent_line, lambda p: p)
                changed.append(replaced(child, fold=replaced(fold, parent_line=line)))
        return put(plan, "surfaces", *changed)

    def _seams(self, plan: Plan) -> Plan:
        both = {self.kept.id, self.gone.id}
        kept = []
        for seam in plan.seams:
            if not {seam.a, seam.b} & both:
                kept.append(seam)
                continue
            if seam.origin == "proposed" or {seam.a, seam.b} == both:
                continue
            changes: dict[str, Any] = {}
            for on, field in (("a", "a_line"), ("b", "b_line")):
                if getattr(seam, on) == self.gone.id:
                    changes |= {on: self.kept.id, field: self._told(self.gone, getattr(seam, field), self.at)}
                elif getattr(seam, on) == self.kept.id:
                    changes[field] = self._told(self.kept, getattr(seam, field), lambda p: p)
            kept.append(replaced(seam, **changes))
        return put_all(plan, "seams", kept)

    def _records(self, plan: Plan, whole: Surface) -> Plan:
        turn = self.motion.turn_deg
        for collection, fields in (
            ("boxes", ("outline",)),
            ("openings", ("outline",)),
            ("zones", ("outline",)),
            ("panels", ("outline",)),
            ("moving_parts", ("outline", "axis_mm")),
            ("ribs", ("line_mm",)),
            ("metal_edges", ("line_mm",)),
            ("channels", ("via_mm",)),
            ("dimensions", ("from_mm", "to_mm")),
            ("devices", ("at_mm",)),
            ("earth_points", ("at_mm",)),
            ("pictures", ("at_mm",)),
            ("photos", ("at_mm",)),
        ):
            changed = []
            for record in getattr(plan, collection):
                if record.surface != self.gone.id:
                    continue
                changes: dict[str, Any] = {"surface": self.kept.id}
                for field in fields:
                    changes[field] = self._carried(getattr(record, field))
                if hasattr(record, "turn_deg"):
                    changes["turn_deg"] = round((record.turn_deg + turn) % 360.0, 6)
                if collection == "dimensions":
                    changes |= {"from_on": None, "to_on": None}
                if collection == "moving_parts" and record.slide_mm is not None:
                    x, y = record.slide_mm
                    changes["slide_mm"] = (
                        self.motion.a * x - self.motion.b * y, self.motion.b * x + self.motion.a * y
                    )  # fmt: skip
                changed.append(replaced(record, **changes))
            plan = put(plan, collection, *changed)
        for on, at in (("a", "a_mm"), ("b", "b_mm")):
            holes = [
                replaced(hole, **{on: self.kept.id, at: self.at(getattr(hole, at))})
                for hole in plan.penetrations
                if getattr(hole, on) == self.gone.id
            ]
            plan = put(plan, "penetrations", *holes)
        for collection in ("nodes", "splices", "connectors"):
            plan = put(plan, collection, *(self._placed(record, whole) for record in getattr(plan, collection)))
        return plan

    def _carried(self, value: Any) -> Any:
        if value is None:
            return None
        if value and isinstance(value[0], tuple):
            return tuple(self.at(p) for p in value)
        return self.at(value) if value else value

    def _placed(self, record: Any, whole: Surface) -> Any:
        """A node of either surface on the whole: at the same point, on its edge where it lies on one."""
        place = record.place
        if not isinstance(place, OnSurface | OnLine) or place.surface not in (self.kept.id, self.gone.id):
            return record
        surface = self.kept if place.surface == self.kept.id else self.gone
        point = place.at_mm if isinstance(place, OnSurface) else point_on_edge(surface, place.edge, place.at_mm)
        if point is None:
            return record
        if surface is self.gone:
            point = self.at(point)
        elif isinstance(place, OnSurface):
            return record
        return replaced(record, place=place_at(whole, point))


def _with_corners(points: list[Point], known: Sequence[Point]) -> list[Point]:
    """The outline with every known corner that lies on it: a union drops those on straight edges."""
    result: list[Point] = []
    for start, end in zip(points, (*points[1:], points[0]), strict=True):
        result.append(start)
        size = hypot(end[0] - start[0], end[1] - start[1])
        between = {
            round(near.along_mm, 4): p
            for p in known
            if (near := nearest_on((start, end), p)).distance_mm < 1e-6 and 1e-3 < near.along_mm < size - 1e-3
        }
        result += [between[at] for at in sorted(between)]
    return result


def _stretch(corner: str, edge: Segment, start: Point, end: Point) -> OnEdge:
    low, high = nearest_on(edge, start).along_mm, nearest_on(edge, end).along_mm
    to_mm = None if high >= distance_mm(*edge) - 1e-3 else high
    return OnEdge(edge=corner, from_mm=0.0 if low < 1e-3 else low, to_mm=to_mm)
