"""Seams: proposed from the folded-up vehicle, judged against it, and lettered like a sewing pattern."""

from collections.abc import Container, Iterable, Sequence
from dataclasses import dataclass
from math import dist, inf

from core.errors import EditRefused
from core.geometry.edges import line_of, outline_of
from core.geometry.foldout import Layout, Point3, descendants, dot, sub
from core.geometry.joints import Joints, join, length_tolerance_mm, meeting_places, seam_joint
from core.geometry.plane import SAME_MM, Point, Segment, between, distance_mm, nearest_on
from core.geometry.polygon import point_in, ring, segment_inside
from core.model import Inside, Line, OnEdge, Seam, Surface, fresh_id
from core.model.body import Passage

#: The two lines of a seam may lie this far apart in the folded-up vehicle.
GAP_MM = 10.0
#: Shorter stretches are corners that happen to be near, not seams.
SHORTEST_MM = 2 * GAP_MM
#: Lines that turn from each other by more than about 10 degrees are no seam, however short they are.
LEAST_COSINE = 0.985


@dataclass(frozen=True, slots=True)
class SeamState:
    """Lengths of both lines and how far their ends lie apart in the vehicle.

    `gap_start_mm` is at the start of a (the end of b), `gap_end_mm` at the end of a. Infinite where it cannot be
    told. `message` is empty where the seam closes and its lengths agree; `closes` asks for both.
    """

    length_a_mm: float
    length_b_mm: float
    gap_start_mm: float
    gap_end_mm: float
    closes: bool
    message: str


def seam_state(seam: Seam, surfaces: Sequence[Surface], layout: Layout) -> SeamState:
    by_id = {surface.id: surface for surface in surfaces}
    a, b = by_id.get(seam.a), by_id.get(seam.b)
    if a is None or b is None:
        return SeamState(0.0, 0.0, inf, inf, False, f"{seam.a if a is None else seam.b} is not there")
    a_line, b_line = line_of(a, seam.a_line), line_of(b, seam.b_line)
    if a_line is None or b_line is None:
        missing = a if a_line is None else b
        return SeamState(0.0, 0.0, inf, inf, False, f"its line on {missing.name} is not there or has no length")
    length_a, length_b = distance_mm(*a_line), distance_mm(*b_line)
    problems = []
    if abs(length_a - length_b) > length_tolerance_mm(max(length_a, length_b)):
        problems.append(
            f"lengths differ by {abs(length_a - length_b):,.0f} mm: "
            f"{length_a:,.0f} mm on {a.name}, {length_b:,.0f} mm on {b.name}"
        )
    if not layout.joined(a.id, b.id):
        loose = a if layout.root is None or not layout.joined(a.id, layout.root) else b
        problems.append(f"cannot be checked: the place of {loose.name} in the vehicle is not known")
        return SeamState(length_a, length_b, inf, inf, False, "; ".join(problems))
    start, end = (layout.pose(a.id).to_vehicle(p) for p in a_line)
    other_end, other_start = (layout.pose(b.id).to_vehicle(p) for p in b_line)
    gap_start, gap_end = dist(start, other_start), dist(end, other_end)
    if max(gap_start, gap_end) > GAP_MM:
        worse, better = (start, end) if gap_start > gap_end else (end, start)
        where = "at both ends" if abs(gap_start - gap_end) <= 1.0 else f"at the {end_name(worse, better)} end"
        problems.append(f"does not close: {max(gap_start, gap_end):,.0f} mm {where}")
    return SeamState(length_a, length_b, gap_start, gap_end, not problems, "; ".join(problems))


def end_name(end: Point3, other: Point3) -> str:
    """Which end of a line this is, by the axis of the vehicle along which it mostly runs."""
    away = sub(end, other)
    axis = max(range(3), key=lambda i: abs(away[i]))
    return (("front", "rear"), ("left", "right"), ("lower", "upper"))[axis][away[axis] > 0]


def seam_letters(seams: Iterable[Seam]) -> dict[str, str]:
    """The letter of each seam, in their order: A to Z, AA, AB ..."""
    letters = {}
    for number, seam in enumerate(seams):
        rest, letter = number, ""
        while rest >= 0:
            letter = chr(ord("A") + rest % 26) + letter
            rest = rest // 26 - 1
        letters[seam.id] = letter
    return letters


@dataclass(frozen=True, slots=True)
class _Candidate:
    """Two lines that coincide: on whole or part edges (kind 0), or an edge that stands on a surface (kind 1)."""

    kind: int
    gap_mm: float
    length_mm: float
    a: str
    a_line: Line
    b: str
    b_line: Line


@dataclass(frozen=True, slots=True)
class _Edge:
    surface: Surface
    corner: str
    flat: Segment
    start: Point3
    end: Point3
    length_mm: float


def propose_seams(
    surfaces: Sequence[Surface], layout: Layout, existing: Sequence[Seam], taken: Container[str] = ()
) -> tuple[Seam, ...]:
    """Seams for lines that coincide in the folded-up vehicle and are not joined yet; only the new ones.

    Edges against edges, whole or in part, and edges that stand on the face of another surface. Both must lie in one
    tree of folds and on one side of the skin. No wire may pass the seams of a door, which moves. `taken` are ids that
    the new seams must not use.
    """
    ids = {surface.id for surface in surfaces} | {seam.id for seam in existing}
    candidates = _edge_candidates(surfaces, layout) + _face_candidates(surfaces, layout)
    candidates.sort(key=lambda c: (c.kind, c.gap_mm > 1.0, -c.length_mm, c.gap_mm, c.a, c.b))
    joints = join(surfaces, existing)
    by_id = {surface.id: surface for surface in surfaces}
    found: list[Seam] = []
    for candidate in candidates:
        if _already_meets(candidate, by_id, joints):
            continue
        seam_id = fresh_id("seam", _Either(ids, taken))
        seam = Seam(
            id=seam_id,
            a=candidate.a,
            a_line=candidate.a_line,
            b=candidate.b,
            b_line=candidate.b_line,
            passage=_passage(by_id[candidate.a], by_id[candidate.b], surfaces),
        )
        joint = seam_joint(seam, by_id)
        if joint is not None:
            ids.add(seam_id)
            found.append(seam)
            joints = joints.plus(joint)
    return tuple(found)


def seam_of_edges(
    surfaces: Sequence[Surface], layout: Layout, a: tuple[str, str], b: tuple[str, str], seam_id: str
) -> Seam:
    """The seam of two edges picked by hand, each as (surface, corner): of their common stretch where they coincide in
    the vehicle, else of both whole edges. Raises EditRefused where an edge is missing or both are the same."""
    by_id = {surface.id: surface for surface in surfaces}
    for surface, corner in (a, b):
        if surface not in by_id or line_of(by_id[surface], OnEdge(edge=corner)) is None:
            raise EditRefused("A seam needs two edges that have a length; one of them is not there.")
    if a == b:
        raise EditRefused("A seam needs two edges; this is one edge twice.")
    edges = {(edge.surface.id, edge.corner): edge for edge in _edges((by_id[a[0]], by_id[b[0]]), layout)}
    common = _overlap(edges[a], edges[b]) if a in edges and b in edges and layout.joined(a[0], b[0]) else None
    a_line, b_line = (OnEdge(edge=a[1]), OnEdge(edge=b[1])) if common is None else (common.a_line, common.b_line)
    passage = _passage(by_id[a[0]], by_id[b[0]], surfaces)
    return Seam(id=seam_id, a=a[0], a_line=a_line, b=b[0], b_line=b_line, passage=passage, origin="drawn")


def _passage(a: Surface, b: Surface, surfaces: Sequence[Surface]) -> Passage:
    """A door moves away from what its edge lies against: a wire enters it at its pillar alone."""
    if "door" not in (a.role, b.role):
        return "free"
    one_body = a.role == b.role and (a.id in descendants(surfaces, b.id) or b.id in descendants(surfaces, a.id))
    return "free" if one_body else "none"


class _Either:
    def __init__(self, first: Container[str], second: Container[str]) -> None:
        self.first, self.second = first, second

    def __contains__(self, item: object) -> bool:
        return item in self.first or item in self.second


def _edges(surfaces: Sequence[Surface], layout: Layout) -> list[_Edge]:
    found = []
    for surface in surfaces:
        if surface.id not in layout.laid:
            continue
        pose = layout.pose(surface.id)
        for corner in surface.corners:
            flat = line_of(surface, OnEdge(edge=corner.id))
            if flat is not None and distance_mm(*flat) >= SHORTEST_MM:
                start, end = pose.to_vehicle(flat[0]), pose.to_vehicle(flat[1])
                found.append(_Edge(surface, corner.id, flat, start, end, distance_mm(*flat)))
    return found


def _may_meet(a: Surface, b: Surface, layout: Layout) -> bool:
    """The outside of a skin coincides with its inside here, but a wire cannot go round its edge."""
    return a.id != b.id and (a.side == "outside") == (b.side == "outside") and layout.joined(a.id, b.id)


def _edge_candidates(surfaces: Sequence[Surface], layout: Layout) -> list[_Candidate]:
    import numpy as np

    edges = _edges(surfaces, layout)
    if not edges:
        return []
    ends = np.array([(edge.start, edge.end) for edge in edges])
    low, high = ends.min(axis=1) - GAP_MM, ends.max(axis=1) + GAP_MM
    direction = ends[:, 1] - ends[:, 0]
    direction /= np.linalg.norm(direction, axis=1)[:, None]
    found = []
    for i, edge in enumerate(edges):
        near = ((low[i + 1 :] <= high[i]) & (high[i + 1 :] >= low[i])).all(axis=1)
        near &= direction[i + 1 :] @ direction[i] <= -LEAST_COSINE  # seen from one side, shared edges run against
        for j in np.flatnonzero(near) + i + 1:
            other = edges[int(j)]
            if _may_meet(edge.surface, other.surface, layout):
                candidate = _overlap(edge, other)
                if candidate is not None:
                    found.append(candidate)
    return found


def _overlap(a: _Edge, b: _Edge) -> _Candidate | None:
    """The common stretch of two edges that run against each other; None where they are apart or too short."""
    u = tuple((q - p) / a.length_mm for p, q in zip(a.start, a.end, strict=True))
    axis: Point3 = (u[0], u[1], u[2])
    b_far, b_near = dot(sub(b.start, a.start), axis), dot(sub(b.end, a.start), axis)
    low, high = max(0.0, b_near), min(a.length_mm, b_far)
    if high - low < SHORTEST_MM or b_far - b_near < LEAST_COSINE * b.length_mm:
        return None
    share = b.length_mm / (b_far - b_near)  # of b's length to its shadow on a
    b_low, b_high = (b_far - high) * share, (b_far - low) * share
    a_low, a_high = _whole(low, high, a.length_mm)
    b_low, b_high = _whole(b_low, b_high, b.length_mm)
    size_a, size_b = a_high - a_low, b_high - b_low
    if abs(size_a - size_b) > length_tolerance_mm(max(size_a, size_b)):
        a_low, a_high, b_low, b_high = low, high, (b_far - high) * share, (b_far - low) * share
    gaps = (
        dist(_along(a, a_low), _along(b, b_high)),
        dist(_along(a, a_high), _along(b, b_low)),
    )
    if max(gaps) > GAP_MM:
        return None
    return _Candidate(
        0,
        max(gaps),
        a_high - a_low,
        a.surface.id,
        _stretch(a, a_low, a_high),
        b.surface.id,
        _stretch(b, b_low, b_high),
    )


def _whole(low: float, high: float, size: float) -> tuple[float, float]:
    """A stretch that leaves less than the tolerance at an end goes on to that end."""
    return (0.0 if low <= GAP_MM else low), (size if high >= size - GAP_MM else high)


def _along(edge: _Edge, at_mm: float) -> Point3:
    t = at_mm / edge.length_mm
    p, q = edge.start, edge.end
    return p[0] + (q[0] - p[0]) * t, p[1] + (q[1] - p[1]) * t, p[2] + (q[2] - p[2]) * t


def _stretch(edge: _Edge, low: float, high: float) -> OnEdge:
    to_end = high >= edge.length_mm - SAME_MM
    return OnEdge(edge=edge.corner, from_mm=0.0 if low < SAME_MM else low, to_mm=None if to_end else high)


def _face_candidates(surfaces: Sequence[Surface], layout: Layout) -> list[_Candidate]:
    """Edges that stand on the face of a surface: a partition on a wall, a wheel arch on a floor."""
    import numpy as np

    edges = _edges(surfaces, layout)
    if not edges:
        return []
    ends = np.array([(edge.start, edge.end) for edge in edges])
    found = []
    for surface in surfaces:
        if surface.id not in layout.laid or len(surface.corners) < 3:
            continue
        pose, outline = layout.pose(surface.id), outline_of(surface)
        local = (ends - np.array(pose.origin)) @ np.array((pose.x_axis, pose.y_axis, pose.normal)).T
        flat = np.array(outline)
        low, high = flat.min(axis=0) - GAP_MM, flat.max(axis=0) + GAP_MM
        on_plane = (np.abs(local[:, :, 2]) <= GAP_MM).all(axis=1)
        on_plane &= (local[:, :, :2] >= low).all(axis=(1, 2)) & (local[:, :, :2] <= high).all(axis=(1, 2))
        for index in np.flatnonzero(on_plane):
            edge = edges[int(index)]
            if not _may_meet(edge.surface, surface, layout) or _is_flush(edge, pose_normal=pose.normal, layout=layout):
                continue
            start: Point = (float(local[index, 0, 0]), float(local[index, 0, 1]))
            end: Point = (float(local[index, 1, 0]), float(local[index, 1, 1]))
            if (
                _runs_along(outline, start, end)
                or _from_corner(outline, start, end)
                or not _on_face(surface, start, end)
            ):
                continue
            gap = float(np.abs(local[index, :, 2]).max())
            line = Inside(start_mm=end, end_mm=start)
            found.append(
                _Candidate(1, gap, edge.length_mm, edge.surface.id, OnEdge(edge=edge.corner), surface.id, line)
            )
    return found


def _is_flush(edge: _Edge, pose_normal: Point3, layout: Layout) -> bool:
    """True where the edge's own surface lies in the other's plane: a panel on a wall is no seam."""
    return abs(dot(layout.pose(edge.surface.id).normal, pose_normal)) > LEAST_COSINE


def _runs_along(outline: Sequence[Point], start: Point, end: Point) -> bool:
    """True where the line lies on the outline: that is a case of edge against edge."""
    closed = ring(outline)
    return all(nearest_on(closed, between(start, end, t)).distance_mm <= GAP_MM for t in (0.1, 0.5, 0.9))


def _from_corner(outline: Sequence[Point], start: Point, end: Point) -> bool:
    """True where the line starts or ends at a corner: an outline that was measured wrong (a leaning wall against an
    upright end), which a seam of the two edges has to tell, and no partition."""
    return any(distance_mm(corner, p) <= GAP_MM for corner in outline for p in (start, end))


def _on_face(surface: Surface, start: Point, end: Point) -> bool:
    """True where the line lies on the surface; its ends may miss the outline by the tolerance."""
    outline = outline_of(surface)
    if not all(point_in(outline, p, GAP_MM) for p in (start, end)):
        return False
    size = distance_mm(start, end)
    inset = min(GAP_MM / size, 0.25)
    return segment_inside(outline, surface.holes, between(start, end, inset), between(start, end, 1 - inset))


def _already_meets(candidate: _Candidate, by_id: dict[str, Surface], joints: Joints) -> bool:
    """True where the folds and seams so far bring the middle of the one line to the other."""
    a_line, b_line = line_of(by_id[candidate.a], candidate.a_line), line_of(by_id[candidate.b], candidate.b_line)
    if a_line is None or b_line is None:
        return True
    for t in (0.5, 0.1, 0.9):
        places = meeting_places(joints, candidate.a, between(*a_line, t))
        goal = between(*b_line, 1.0 - t)
        if any(s.surface == candidate.b and distance_mm(s.point, goal) <= 2 * GAP_MM for s in places):
            return True
    return False
