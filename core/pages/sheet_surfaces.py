"""Marks of the surfaces: ground, outline, folds and seams, in sheet millimetres.

`k` is the scale: millimetres of the sheet to one on paper.
"""

from collections.abc import Sequence
from math import hypot

from core.geometry.edges import line_of, outline_of
from core.geometry.plane import Placement, Segment, between, distance_mm
from core.model import Inside, Point, Seam, Surface
from core.pages.marks import AnyMark, AreaMark, LineMark, TextMark
from core.pages.sheet_base import LABEL_MM, World

#: Lines of the sheet nearer than this are one line.
SAME_LINE_MM = 0.5


# --- surfaces, folds, seams ------------------------------------------------------------------------------------------


def fold_lines(world: World) -> dict[str, Segment]:
    """Where surfaces hang together on the sheet: child -> the stretch that both lines share."""
    found: dict[str, Segment] = {}
    for surface in world.plan.surfaces:
        fold, laid = surface.fold, world.layout.laid.get(surface.id)
        if fold is None or laid is None or laid.apart or laid.parent is None:
            continue
        parent = world.surfaces[laid.parent]
        line, onto = line_of(surface, fold.line), line_of(parent, fold.parent_line)
        if line is None or onto is None:
            continue
        size = distance_mm(*onto)
        low, high = max(fold.shift_mm, 0.0), min(fold.shift_mm + distance_mm(*line), size)
        if high - low > SAME_LINE_MM:
            place = world.layout.place(parent.id)
            found[surface.id] = (
                place.to_sheet(between(*onto, low / size)),
                place.to_sheet(between(*onto, high / size)),
            )
    return found


def ground_marks(surface: Surface, place: Placement) -> tuple[AnyMark, ...]:
    if len(surface.corners) < 3:
        return ()
    return (
        AreaMark(
            style="outline:floor" if surface.role == "floor" else "outline:ground",
            subject=surface.id,
            outline_mm=place.line_to_sheet(outline_of(surface)),
            holes_mm=tuple(place.line_to_sheet(hole) for hole in surface.holes),
        ),
    )


def outline_marks(surface: Surface, place: Placement, folds: tuple[Segment, ...]) -> tuple[AnyMark, ...]:
    """Edges and holes; the stretches that are folds are left to `fold_marks`."""
    corners = place.line_to_sheet(outline_of(surface))
    runs: list[list[Point]] = []
    for start, end in zip(corners, corners[1:] + corners[:1], strict=True):
        for a, b in _without((start, end), folds):
            if runs and runs[-1][-1] == a:
                runs[-1].append(b)
            else:
                runs.append([a, b])
    if len(runs) > 1 and runs[-1][-1] == runs[0][0]:
        runs[0] = runs.pop() + runs[0][1:]
    marks: list[AnyMark] = []
    for run in runs:
        closed = len(run) > 3 and run[0] == run[-1]
        marks.append(
            LineMark(
                style="outline",
                subject=surface.id,
                points_mm=tuple(run[:-1] if closed else run),
                closed=closed,
            )
        )
    marks += [
        LineMark(style="outline", subject=surface.id, points_mm=place.line_to_sheet(hole), closed=True)
        for hole in surface.holes
    ]
    return tuple(marks)


def _without(edge: Segment, folds: Sequence[Segment]) -> list[Segment]:
    """The edge less the folds that lie on it."""
    (ax, ay), (bx, by) = edge
    size = hypot(bx - ax, by - ay)
    if size <= SAME_LINE_MM:
        return []
    ux, uy = (bx - ax) / size, (by - ay) / size
    taken = []
    for fold in folds:
        away = [(p[0] - ax) * uy - (p[1] - ay) * ux for p in fold]
        if max(map(abs, away)) > SAME_LINE_MM:
            continue
        low, high = sorted((p[0] - ax) * ux + (p[1] - ay) * uy for p in fold)
        if high > SAME_LINE_MM and low < size - SAME_LINE_MM:
            taken.append((low, high))
    kept: list[Segment] = []
    at = 0.0
    for low, high in [*sorted(taken), (size, size)]:
        if low - at > SAME_LINE_MM:
            start = edge[0] if at == 0.0 else between(*edge, at / size)
            end = edge[1] if low >= size - SAME_LINE_MM else between(*edge, low / size)
            kept.append((start, end))
        at = max(at, high)
    return kept


def fold_marks(child: Surface, line: Segment) -> tuple[AnyMark, ...]:
    return (LineMark(style="fold", subject=child.id, points_mm=line),)


def apart_marks(world: World, surface: Surface) -> tuple[AnyMark, ...]:
    """The fold line of a surface that lies apart, on both surfaces, tabbed with the surface's name."""
    fold, laid = surface.fold, world.layout.laid.get(surface.id)
    if fold is None or laid is None or not laid.apart or laid.parent is None:
        return ()
    marks: list[AnyMark] = []
    for owner, line in ((surface, fold.line), (world.surfaces[laid.parent], fold.parent_line)):
        segment = line_of(owner, line)
        if segment is not None:
            ends = world.layout.place(owner.id).line_to_sheet(segment)
            marks.append(LineMark(style="seam", subject=surface.id, points_mm=ends))
    return tuple(marks)


def seam_marks(world: World, seam: Seam) -> tuple[AnyMark, ...]:
    """Both lines of a seam with letter tabs on the side away from the surface, as on a sewing pattern."""
    letter = world.analysis.sheet.seam_letters.get(seam.id, "")
    state = world.analysis.sheet.seam_states.get(seam.id)
    style = "seam:tab" if state is None or state.closes else "seam:open"
    marks: list[AnyMark] = []
    for surface_id, line in ((seam.a, seam.a_line), (seam.b, seam.b_line)):
        surface, place = world.surfaces.get(surface_id), world.place(surface_id)
        segment = None if surface is None else line_of(surface, line)
        if segment is None or place is None:
            continue
        start, end = place.line_to_sheet(segment)
        if isinstance(line, Inside):  # an edge has its outline already
            marks.append(LineMark(style="seam", subject=seam.id, points_mm=(start, end)))
        if not world.is_low:
            marks += _tab(seam.id, letter, start, end, world.k, style)
    return tuple(marks)


#: A seam shorter than this has no tab: drawn so small, its letter would be wider than the seam (mm on paper).
SHORTEST_TABBED = 4.5


def _tab(subject: str, letter: str, start: Point, end: Point, k: float, style: str) -> list[AnyMark]:
    """A small tongue outside the edge (surfaces run counter-clockwise: outside is on the right)."""
    size = distance_mm(start, end)
    if size < SHORTEST_TABBED * k:
        return []  # its letter would lie over those of its neighbours
    ux, uy = (end[0] - start[0]) / size, (end[1] - start[1]) / size
    nx, ny = uy, -ux
    mid = between(start, end, 0.5)
    wide = min(3.0 * k, size / 2)

    def at(along: float, out: float) -> Point:
        return (mid[0] + ux * along + nx * out, mid[1] + uy * along + ny * out)

    return [
        AreaMark(
            style=style,
            subject=subject,
            outline_mm=(
                at(-wide, 0.0),
                at(-wide * 0.72, 3.6 * k),
                at(wide * 0.72, 3.6 * k),
                at(wide, 0.0),
            ),
        ),
        TextMark(
            style="text",
            subject=subject,
            at_mm=at(0.0, 1.75 * k),
            text=letter,
            size_mm=LABEL_MM * k,
            anchor="middle",
            baseline="middle",
            font="label_bold",
        ),
    ]
