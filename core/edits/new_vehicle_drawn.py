"""What is drawn on the faces of a new vehicle: openings, cut where a strip ends, and ribs, cut where an opening is."""

from collections.abc import Iterator
from itertools import pairwise

from core.edits.change import add, made, new_ids, refuse
from core.edits.measurements import ON_WORDS, WallOpening
from core.edits.measuring_bodies import BODIES
from core.edits.new_vehicle_faces import Shape
from core.geometry.edges import outline_of
from core.geometry.foldout import Point3, lay_out
from core.geometry.plane import SAME_MM, Point, along_mm
from core.geometry.polygon import clip, point_in
from core.geometry.section import places_of
from core.model import Opening, Plan, Rib, Surface, find

#: A piece of an opening or of a rib smaller than this is not drawn.
SMALLEST_MM = 30.0
#: Ribs end this far from the edges of the wall.
CLEAR_MM = 20.0
PILLAR_MM = 60.0


def draw_openings(plan: Plan, shape: Shape, ids: dict[str, str]) -> Plan:
    """Every opening of the form, on each face it reaches over; parts of one share its name."""
    rows = [piece for row in shape.form.openings for piece in _pieces(plan, shape, ids, row)]
    fresh = new_ids(plan, "openings", len(rows))
    new = [
        made(Opening, id=each, name=row.name, surface=surface, kind=row.kind, outline=outline)
        for each, (row, surface, outline) in zip(fresh, rows, strict=True)
    ]
    return add(plan, "openings", *new)


def _pieces(
    plan: Plan, shape: Shape, ids: dict[str, str], row: WallOpening
) -> Iterator[tuple[WallOpening, str, tuple[Point, ...]]]:
    """An opening on the strips it lies on, as rectangles in their millimetres."""
    if row.on in ("left", "right", "roof"):
        line = shape.section.roof if row.on == "roof" else shape.section.wall
        for k, (low, high) in enumerate(pairwise(along_mm(line))):
            bottom, top = max(row.up_mm, low) - low, min(row.up_mm + row.height_mm, high) - low
            if top - bottom >= SMALLEST_MM:
                surface: Surface = find(plan, "surfaces", ids[f"{row.on} {k}"])
                left, right = _along(surface, row)
                yield row, surface.id, ((left, bottom), (right, bottom), (right, top), (left, top))
        return
    surface = find(plan, "surfaces", ids[row.on])
    pose = lay_out(plan.surfaces).pose(surface.id)
    outline = tuple(pose.to_local(p)[:2] for p in _end_corners(shape, row))
    within = outline_of(surface)
    if not all(point_in(within, p, 0.5) for p in outline):
        refuse(f"{row.name} reaches beyond the {ON_WORDS[row.on]}.")
    yield row, surface.id, tuple((round(x, 3) + 0.0, round(y, 3) + 0.0) for x, y in outline)


def _along(surface: Surface, row: WallOpening) -> tuple[float, float]:
    """From and to along a strip; the left wall is seen with the front at its right."""
    left, right = row.from_mm, row.from_mm + row.width_mm
    if row.on != "left":
        return left, right
    size = surface.corners[1].at_mm[0]
    return size - right, size - left


def _end_corners(shape: Shape, row: WallOpening) -> tuple[Point3, ...]:
    """The corners of an opening at the front or rear, counter-clockwise as seen from the room."""
    low, high = row.up_mm, row.up_mm + row.height_mm
    near, far = row.from_mm, row.from_mm + row.width_mm
    if row.on == "front":
        a, b = shape.taper / 2 + near, shape.taper / 2 + far
        return (0.0, a, low), (0.0, b, low), (0.0, b, high), (0.0, a, high)
    if row.on == "rear left":
        a, b = shape.width / 2 - near, shape.width / 2 - far
    elif row.on == "rear right":
        a, b = shape.width / 2 + far, shape.width / 2 + near
    else:
        a, b = far, near
    right, left = max(a, b), min(a, b)
    return (
        (shape.length, right, low), (shape.length, left, low), (shape.length, left, high), (shape.length, right, high)
    )  # fmt: skip


def draw_ribs(plan: Plan, shape: Shape, ids: dict[str, str]) -> Plan:
    """Ribs up the walls and over the roof at the pitch measured, and the pillars the rear doors turn on."""
    form = shape.form
    width, depth = form.mm("rib_width"), form.mm("rib_depth")
    rows: list[tuple[str, str, str, tuple[Point, ...], float]] = []
    stands = places_of(form.mm("length"), form.mm("rib_pitch"), form.mm("rib_first"))
    for on, word, count in (
        ("right", "right", shape.walls),
        ("roof", "roof", shape.roofs),
        ("left", "left", shape.walls),
    ):
        for k in range(count):
            surface: Surface = find(plan, "surfaces", ids[f"{on} {k}"])
            size, height = surface.corners[1].at_mm[0], surface.corners[2].at_mm[1]
            low, high = (0.0 if k else CLEAR_MM), (height if k < count - 1 else height - CLEAR_MM)
            for number, at in enumerate(stands, start=1):
                x = size - at if on == "left" else at
                free = _free(plan, surface, ((x, low), (x, high)), width)
                rows += [(f"Rib {number}, {word}", surface.id, "rib", line, width) for line in free]
    if form.rear == "leaves":
        rows += _pillars(plan, shape, ids)
    fresh = new_ids(plan, "ribs", len(rows))
    material = BODIES[form.body].material
    new = [
        made(
            Rib, id=each, name=name, surface=surface_id, kind=kind, line_mm=line, width_mm=wide, depth_mm=depth,
            material=material,
        )
        for each, (name, surface_id, kind, line, wide) in zip(fresh, rows, strict=True)
    ]  # fmt: skip
    return add(plan, "ribs", *new)


def _pillars(plan: Plan, shape: Shape, ids: dict[str, str]) -> Iterator[tuple[str, str, str, tuple[Point, ...], float]]:
    for side in ("right", "left"):
        for k in range(shape.walls):
            surface: Surface = find(plan, "surfaces", ids[f"{side} {k}"])
            size, height = surface.corners[1].at_mm[0], surface.corners[2].at_mm[1]
            x = PILLAR_MM / 2 if side == "left" else size - PILLAR_MM / 2
            low, high = (0.0 if k else CLEAR_MM), (height if k < shape.walls - 1 else height - CLEAR_MM)
            for line in _free(plan, surface, ((x, low), (x, high)), PILLAR_MM):
                yield f"Rear pillar, {side}", surface.id, "pillar", line, PILLAR_MM


def _free(plan: Plan, surface: Surface, line: tuple[Point, Point], width_mm: float) -> Iterator[tuple[Point, ...]]:
    """The stretches of an upright line that lie on the surface and beside every opening, half a rib clear of each."""
    x = line[0][0]
    spans = [
        (min(q[1] for q in o.outline), max(q[1] for q in o.outline))
        for o in plan.openings
        if o.surface == surface.id
        and min(q[0] for q in o.outline) - width_mm / 2 < x < max(q[0] for q in o.outline) + width_mm / 2
    ]
    for stretch in clip(line, outline_of(surface)):
        (_, low), (_, high) = stretch.points[0], stretch.points[-1]
        for a, b in [*sorted(spans), (high, high)]:
            if a - low >= SMALLEST_MM:
                yield (x, low), (x, min(a, high))
            low = max(low, b)
            if low >= high - SAME_MM:
                break
