"""The measure tool: between two points, along the surfaces over folds and seams, and straight through the air."""

from collections.abc import Sequence
from math import dist

import msgspec

from core.geometry.foldout import lay_out
from core.geometry.joints import join
from core.geometry.shortest import SurfacePath, shortest_surface_path
from core.geometry.stroke import cut_stroke, true_length_mm
from core.model import Plan, Point

#: Surfaces passed by the way along; more than a vehicle has from one end to the other.
MOST_FACES = 7


class Measure(msgspec.Struct, frozen=True, kw_only=True):
    """Between two points. `along_mm` is None where no way leads along surfaces, `straight_mm` where a surface has no
    place in the vehicle; `across_mm` are its parts to the rear, to the vehicle's right, and up."""

    along_mm: float | None
    straight_mm: float | None
    across_mm: tuple[float, float, float] | None
    #: The way along, as lines on the sheet: one for each surface, for they may lie apart there.
    lines_sheet_mm: tuple[tuple[Point, Point], ...]
    #: Surfaces the way passes, in order.
    surfaces: tuple[str, ...]


def measure(plan: Plan, a: tuple[str, Point], b: tuple[str, Point]) -> Measure:
    """Measure between two points, each given as a surface and a point of it."""
    layout, joints = lay_out(plan.surfaces), join(plan.surfaces, plan.seams)
    way: SurfacePath | None = shortest_surface_path(joints, a, b, MOST_FACES)
    lines: tuple[tuple[Point, Point], ...] = ()
    if way is not None:
        lines = tuple(
            (layout.place(surface).to_sheet(p), layout.place(surface).to_sheet(q))
            for surface, p, q in way.pieces
            if surface in layout.laid
        )
    straight, across = None, None
    if layout.joined(a[0], b[0]):
        p, q = layout.pose(a[0]).to_vehicle(a[1]), layout.pose(b[0]).to_vehicle(b[1])
        straight = dist(p, q)
        across = (q[0] - p[0], q[1] - p[1], q[2] - p[2])
    return Measure(
        along_mm=None if way is None else way.length_mm,
        straight_mm=straight,
        across_mm=across,
        lines_sheet_mm=lines,
        surfaces=() if way is None else way.surfaces,
    )


def measure_stroke(plan: Plan, points_sheet_mm: Sequence[Point], start_surface: str | None = None) -> tuple[float, str]:
    """Length of a line drawn on the sheet, over folds; and in words where it stopped."""
    pieces = cut_stroke(join(plan.surfaces, plan.seams), lay_out(plan.surfaces), tuple(points_sheet_mm), start_surface)
    return true_length_mm(pieces.pieces), pieces.message
