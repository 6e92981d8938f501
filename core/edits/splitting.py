"""Split surface: cut a surface in two along a straight line. Nothing moves, in the vehicle or on the sheet."""

from dataclasses import dataclass
from typing import Any

from core.edits.change import add, free_name, get, new_id, put, refuse, replaced, take_out, title
from core.edits.network import channel_line, place_at
from core.edits.reshaping import FAR_MM, LINED, OUTLINED, SHORTEST_MM, shape_of
from core.edits.surfaces import propose_seams
from core.errors import EditRefused
from core.geometry.edges import line_of, outline_of, point_on_edge
from core.geometry.plane import SAME_MM, Point, Segment, along_mm, crossings, distance_mm, nearest_on, point_at, side_of
from core.geometry.polygon import point_in, ring
from core.model import Corner, Fold, Inside, Line, OnEdge, OnLine, OnSurface, Plan, Surface, fresh_id


def split_surface(plan: Plan, surface_id: str, line_mm: Segment) -> tuple[Plan, str]:
    """Split surface along a straight line from edge to edge: the part with its own fold keeps the id, the other part
    is folded to it, flat. Nothing moves, in the vehicle or on the sheet. Gives the new surface.

    Refused where anything drawn lies across the line, or a fold or drawn seam does.
    """
    surface: Surface = get(plan, "surfaces", surface_id)
    return _Split(plan, surface, line_mm).done()


class _Split:
    """Both halves keep the surface's millimetres, so that what lies on them keeps its place."""

    def __init__(self, plan: Plan, surface: Surface, line: Segment) -> None:
        self.plan, self.surface = plan, surface
        outline = outline_of(surface)
        if surface.holes:
            refuse(f"{surface.name} has a hole; it cannot be split yet.")
        size = distance_mm(*line)
        if size <= SAME_MM:
            refuse("The line to split along has no length.")
        ux, uy = (line[1][0] - line[0][0]) / size, (line[1][1] - line[0][1]) / size
        far = FAR_MM
        long = ((line[0][0] - ux * far, line[0][1] - uy * far), (line[1][0] + ux * far, line[1][1] + uy * far))
        met = [c for c in crossings(long, ring(outline)) if c.angle_deg > 0.1]
        if len(met) != 2:
            refuse(f"The line must cross {surface.name} from edge to edge; it meets its outline {len(met)} times.")
        self.cut: Segment = (met[0].point, met[1].point)
        self.left, self.right = self._halves([c.b_mm for c in met])

    def _halves(self, at: list[float]) -> tuple[tuple[Corner, ...], tuple[Corner, ...]]:
        """The corners on either side of the cut, each half with a new corner where the cut enters and leaves."""
        corners = self.surface.corners
        marks = along_mm(ring(outline_of(self.surface)))[:-1]
        taken = {corner.id for corner in corners}
        fresh = []
        for _ in range(2):
            fresh.append(fresh_id("", taken))
            taken.add(fresh[-1])
        order = sorted(range(2), key=lambda k: at[k])
        (first, a), (second, b) = [((self.cut[k], fresh[k]), at[k]) for k in order]
        inner = [c for c, mark in zip(corners, marks, strict=True) if a + SHORTEST_MM < mark < b - SHORTEST_MM]
        before = [c for c, mark in zip(corners, marks, strict=True) if mark < a - SHORTEST_MM]
        after = [c for c, mark in zip(corners, marks, strict=True) if mark > b + SHORTEST_MM]
        start, end = (Corner(id=name, at_mm=point) for point, name in (first, second))
        one, other = (start, *inner, end), (*before, start, end, *after)
        if len(one) < 3 or len(other) < 3:
            refuse(f"The line to split along runs along an edge of {self.surface.name}.")
        return one, other

    def done(self) -> tuple[Plan, str]:
        surface, fold = self.surface, self.surface.fold
        halves = (self.left, self.right)
        parts = [None if fold is None else self._portion(half, fold.line) for half in halves]
        # The half with more of the fold keeps the id; the other is folded beside it, or flat to it where it has none.
        keeps = max((1, 0), key=lambda k: 0.0 if parts[k] is None else parts[k].size_mm)  # type: ignore[union-attr]
        stays, goes = halves[keeps], halves[1 - keeps]
        fresh = new_id(self.plan, "surfaces")
        names = [each.name for each in self.plan.surfaces]
        first, second = parts[keeps], parts[1 - keeps]
        if fold is not None and first is None:
            refuse(f"The fold of {surface.name} lies along the line; cut it elsewhere.")
        flat = Fold(
            line=OnEdge(edge=self._edge_on_cut(goes)),
            parent=surface.id,
            parent_line=OnEdge(edge=self._edge_on_cut(stays)),
            fold_deg=0.0,
        )
        new = replaced(
            surface,
            id=fresh,
            name=free_name(surface.name, names),
            corners=goes,
            apart=None,
            fold=flat if fold is None or second is None else self._own(fold, second),
        )
        kept = surface if fold is None or first is None else replaced(surface, fold=self._own(fold, first))
        plan = add(put(self.plan, "surfaces", replaced(kept, corners=stays)), "surfaces", new)
        plan = self._records(plan, goes, fresh)
        plan = self._children(plan, stays, goes, fresh)
        return propose_seams(self._seams(plan, stays, goes, fresh)), fresh

    def _own(self, fold: Fold, portion: "_Portion") -> Fold:
        """The surface's fold at a portion of its line: the end of the line lies further along the parent's."""
        return replaced(fold, line=portion.line, shift_mm=fold.shift_mm + portion.after_mm)

    def _portion(self, corners: tuple[Corner, ...], line: Line) -> "_Portion | None":
        """The stretch of a line of the whole surface that lies on a half, told by the half's edges."""
        ends = line_of(self.surface, line)
        if ends is None:
            return None
        if isinstance(line, Inside):
            outline = tuple(corner.at_mm for corner in corners)
            whole = all(point_in(outline, p, 0.01) for p in ends)
            return _Portion(line, distance_mm(*ends), 0.0, 0.0) if whole else None
        for corner, following in zip(corners, (*corners[1:], corners[0]), strict=True):
            edge = (corner.at_mm, following.at_mm)
            low, high = nearest_on(ends, edge[0]), nearest_on(ends, edge[1])
            on_line = max(
                nearest_on(edge, point_at(ends, each.along_mm)).distance_mm for each in (low, high)
            )  # fmt: skip
            size = high.along_mm - low.along_mm
            if on_line > 0.01 or size < SHORTEST_MM:
                continue
            start = nearest_on(edge, point_at(ends, low.along_mm)).along_mm
            end = nearest_on(edge, point_at(ends, high.along_mm)).along_mm
            to_mm = None if end >= distance_mm(*edge) - 1e-6 else end
            told = OnEdge(edge=corner.id, from_mm=0.0 if start < 1e-6 else start, to_mm=to_mm)
            return _Portion(told, size, low.along_mm, distance_mm(*ends) - high.along_mm)
        return None

    def _edge_on_cut(self, corners: tuple[Corner, ...]) -> str:
        for corner, following in zip(corners, (*corners[1:], corners[0]), strict=True):
            ends = {corner.at_mm, following.at_mm}
            if ends == set(self.cut):
                return corner.id
        raise EditRefused(f"{self.surface.name} cannot be split there.")

    def _records(self, plan: Plan, goes: tuple[Corner, ...], fresh: str) -> Plan:
        outline = tuple(corner.at_mm for corner in goes)
        for collection in (*OUTLINED, *LINED, "devices", "earth_points", "pictures", "photos", "dimensions",
                           "channels"):  # fmt: skip
            changed = []
            for record in getattr(plan, collection):
                if getattr(record, "surface", None) != self.surface.id:
                    continue
                points = self._points(collection, record)
                inside = [point_in(outline, p, 0.01) for p in points]
                across = [abs(side_of(self.cut, p)) > 0.01 * distance_mm(*self.cut) for p in points]
                clear = [flag for flag, off in zip(inside, across, strict=True) if off]
                if any(clear) and not all(clear):
                    refuse(f"The {title(collection, record)} lies across the line; move or split it first.")
                if clear and all(clear):
                    changed.append(replaced(record, surface=fresh))
            plan = put(plan, collection, *changed)
        for on, at in (("a", "a_mm"), ("b", "b_mm")):
            holes = [
                replaced(hole, **{on: fresh})
                for hole in plan.penetrations
                if getattr(hole, on) == self.surface.id and point_in(outline, getattr(hole, at), 0.0)
            ]
            plan = put(plan, "penetrations", *holes)
        return self._nodes(plan, goes, fresh)

    def _points(self, collection: str, record: Any) -> tuple[Point, ...]:
        if collection == "dimensions":
            return record.from_mm, record.to_mm
        if collection == "channels":
            from core.geometry.joints import join

            return channel_line(self.plan, join(self.plan.surfaces, self.plan.seams), record) or ()
        return shape_of(collection, record)

    def _nodes(self, plan: Plan, goes: tuple[Corner, ...], fresh: str) -> Plan:
        after: Surface = get(plan, "surfaces", fresh)
        kept: Surface = get(plan, "surfaces", self.surface.id)
        outline = tuple(corner.at_mm for corner in goes)
        for collection in ("nodes", "splices", "connectors"):
            changed = []
            for record in getattr(plan, collection):
                place = record.place
                if not isinstance(place, OnSurface | OnLine) or place.surface != self.surface.id:
                    continue
                if isinstance(place, OnSurface):
                    point: Point | None = place.at_mm
                else:
                    point = point_on_edge(self.surface, place.edge, place.at_mm)
                if point is not None:
                    changed.append(replaced(record, place=place_at(after if point_in(outline, point) else kept, point)))
            plan = put(plan, collection, *changed)
        return plan

    def _children(self, plan: Plan, stays: tuple[Corner, ...], goes: tuple[Corner, ...], fresh: str) -> Plan:
        """Surfaces folded to the split one: at the half that has more of their line; the rest becomes a seam."""
        changed = []
        for child in plan.surfaces:
            fold = child.fold
            if fold is None or fold.parent != self.surface.id or child.id == fresh:
                continue
            halves = ((stays, self.surface.id), (goes, fresh))
            parts = [(self._portion(half, fold.parent_line), on) for half, on in halves]
            best, on = max(parts, key=lambda each: 0.0 if each[0] is None else each[0].size_mm)
            if best is None:
                refuse(f"{child.name} is folded across the line; cut elsewhere.")
            shift = fold.shift_mm - best.before_mm
            changed.append(replaced(child, fold=replaced(fold, parent=on, parent_line=best.line, shift_mm=shift)))
        return put(plan, "surfaces", *changed)

    def _seams(self, plan: Plan, stays: tuple[Corner, ...], goes: tuple[Corner, ...], fresh: str) -> Plan:
        """Drawn seams go along; proposed ones are proposed anew."""
        gone, moved = set(), []
        for seam in plan.seams:
            if self.surface.id not in (seam.a, seam.b):
                continue
            if seam.origin == "proposed":
                gone.add(seam.id)
                continue
            changes: dict[str, Any] = {}
            for on, field in (("a", "a_line"), ("b", "b_line")):
                if getattr(seam, on) == self.surface.id:
                    line = getattr(seam, field)
                    parts = [(self._portion(half, line), half) for half in (stays, goes)]
                    whole = [(part, half) for part, half in parts if part and part.before_mm + part.after_mm < 0.01]
                    if not whole:
                        refuse("A drawn seam lies across the line; delete it first.")
                    changes[field] = whole[0][0].line
                    if whole[0][1] is goes:
                        changes[on] = fresh
            moved.append(replaced(seam, **changes))
        return take_out(put(plan, "seams", *moved), "seams", gone)


@dataclass(frozen=True, slots=True)
class _Portion:
    """A stretch of a line, its length, and how much of the line lies before and after it."""

    line: Line
    size_mm: float
    before_mm: float
    after_mm: float
