"""Re-folding: a surface is drawn beside another neighbour. One fold and one seam change places, nothing else."""

from collections.abc import Sequence
from math import atan2, degrees

from msgspec.structs import replace

from core.errors import EditRefused
from core.geometry.edges import line_of
from core.geometry.foldout import Layout, Point3, cross, descendants, dot, lay_out, sub
from core.geometry.plane import SAME_MM, Segment, between, distance_mm
from core.geometry.seams import seam_state
from core.model import Fold, Inside, Line, OnEdge, Seam, Surface


def refold(
    surfaces: Sequence[Surface], seams: Sequence[Seam], surface_id: str, seam_id: str
) -> tuple[tuple[Surface, ...], tuple[Seam, ...]]:
    """Fold a surface where one of its seams is; its fold so far becomes the seam and takes the seam's id.

    Angle and shift come from the pose, and every point keeps its millimetres in its own surface. The pose stays as
    exactly as the seam closes. Raises EditRefused where the seam does not close (with the gap), is none of the
    surface's, or where its other surface hangs on this one.
    """
    by_id = {surface.id: surface for surface in surfaces}
    surface = by_id.get(surface_id)
    seam = next((seam for seam in seams if seam.id == seam_id), None)
    if surface is None or seam is None:
        raise EditRefused(f"There is no {'surface' if surface is None else 'seam'} to fold at.")
    if surface.fold is None:
        raise EditRefused(f"{surface.name} has no fold to exchange: all others are folded on it.")
    if surface_id not in (seam.a, seam.b):
        raise EditRefused(f"{surface.name} does not meet that seam.")
    own, onto, other_id = (
        (seam.a_line, seam.b_line, seam.b) if seam.a == surface_id else (seam.b_line, seam.a_line, seam.a)
    )
    other = by_id.get(other_id)
    layout = lay_out(surfaces)
    state = seam_state(seam, surfaces, layout)
    if other is None or not state.closes:
        raise EditRefused(f"{surface.name} cannot be folded at this seam: {state.message}.")
    if other_id in descendants(surfaces, surface_id):
        raise EditRefused(f"{other.name} hangs on {surface.name}: fold it elsewhere first.")
    parent = by_id[surface.fold.parent]
    new_seam = _seam_of(surface, surface.fold, parent, seam)
    fold = _fold_at(surface, own, other, onto, seam, layout)
    if new_seam is None or fold is None:
        raise EditRefused(f"{surface.name} and {parent.name} share no line that could become a seam.")
    changed = tuple(replace(s, fold=fold) if s.id == surface_id else s for s in surfaces)
    return changed, tuple(new_seam if s.id == seam_id else s for s in seams)


def _fold_at(surface: Surface, own: Line, other: Surface, onto: Line, seam: Seam, layout: Layout) -> Fold | None:
    """The fold of `surface` on `other` that gives the pose it has now."""
    line, parent_line = line_of(surface, own), line_of(other, onto)
    if line is None or parent_line is None:
        return None
    pose, parent = layout.pose(surface.id), layout.pose(other.id)
    start = parent.to_vehicle(parent_line[0])
    u = _unit(sub(parent.to_vehicle(parent_line[1]), start))
    out = cross(u, parent.normal)
    leaves = cross(pose.normal, _unit(sub(pose.to_vehicle(line[1]), pose.to_vehicle(line[0]))))
    fold_deg = degrees(atan2(dot(leaves, parent.normal), dot(leaves, out)))
    shift_mm = dot(sub(pose.to_vehicle(line[1]), start), u)
    return Fold(
        line=own,
        parent=other.id,
        parent_line=onto,
        # Rounding noise of the pose is dropped: a billionth of a degree moves nothing by a ten-thousandth of a mm.
        fold_deg=round(fold_deg, 9),
        shift_mm=0.0 if abs(shift_mm) < SAME_MM else round(shift_mm, 9),
        passage=seam.passage,
        joint=seam.joint,
    )


def _unit(a: Point3) -> Point3:
    size = dot(a, a) ** 0.5
    return a[0] / size, a[1] / size, a[2] / size


def _seam_of(child: Surface, fold: Fold, parent: Surface, seam: Seam) -> Seam | None:
    """The fold so far as a seam: the stretch that both lines share."""
    onto, line = line_of(parent, fold.parent_line), line_of(child, fold.line)
    if onto is None or line is None:
        return None
    size_a, size_b, shift = distance_mm(*onto), distance_mm(*line), fold.shift_mm
    low, high = max(0.0, shift), min(size_a, shift + size_b)
    if high - low <= SAME_MM:
        return None
    return Seam(
        id=seam.id,
        a=parent.id,
        a_line=_trimmed(fold.parent_line, onto, low, high),
        b=child.id,
        b_line=_trimmed(fold.line, line, size_b - (high - shift), size_b - (low - shift)),
        passage=fold.passage,
        joint=fold.joint,
        origin=seam.origin,
    )


def _trimmed(line: Line, ends: Segment, low: float, high: float) -> Line:
    """The stretch of a line from `low` to `high` after its start; the line itself where that is all of it."""
    size = distance_mm(*ends)
    if low <= SAME_MM and high >= size - SAME_MM:
        return line
    if isinstance(line, OnEdge):
        to_mm = line.to_mm if high >= size - SAME_MM else line.from_mm + high
        return OnEdge(edge=line.edge, from_mm=line.from_mm + max(low, 0.0), to_mm=to_mm)
    return Inside(start_mm=between(*ends, max(low, 0.0) / size), end_mm=between(*ends, min(high / size, 1.0)))
