"""Draw box, rib, opening, metal edge, keep-out zone, panel, dimension, penetration, picture; raise box faces."""

from collections.abc import Iterable
from hashlib import sha256
from typing import Any

from core.edits.change import (
    add,
    find_any,
    free_name,
    get,
    made,
    name_or,
    new_id,
    new_ids,
    put,
    refuse,
    replaced,
    title,
)
from core.edits.surfaces import CLOSED_MM, check_within, clean_outline, propose_seams
from core.files.limits import PICTURE_BYTES
from core.geometry.foldout import lay_out
from core.geometry.plane import Point, Polyline, distance_mm
from core.geometry.polygon import sides
from core.model import (
    Apart,
    Box,
    Corner,
    Dimension,
    Fold,
    Image,
    Inside,
    KeepOutZone,
    MetalEdge,
    OnEdge,
    Opening,
    Panel,
    Penetration,
    Picture,
    Plan,
    Record,
    Rib,
    Surface,
    ids,
)

#: Word for a fresh name by kind of box.
BOX_WORDS = {"cabinet": "Cabinet", "wheel_arch": "Wheel arch", "seat_base": "Seat base", "bed": "Bed", "other": "Box"}
#: Room left on the sheet between surfaces that lie apart.
GAP_MM = 200.0


def draw_box(
    plan: Plan,
    surface_id: str,
    outline: Iterable[Point],
    height_mm: float,
    name: str | None = None,
    kind: str = "cabinet",
    **more: Any,
) -> tuple[Plan, str]:
    """Draw box: a cabinet, wheel arch or seat base, by its footprint in mm of the surface and its height above it."""
    if not height_mm > 0:
        refuse(f"A {BOX_WORDS.get(kind, 'box').lower()} must be higher than 0 mm; {height_mm:g} mm is not.")
    if kind == "wheel_arch":
        more = {"material": "steel", "wall_mm": 1.0, **more}
    word = BOX_WORDS.get(kind, "Box")
    return _draw_area(
        plan, "boxes", Box, surface_id, outline, name, word, height_mm=float(height_mm), kind=kind, **more
    )


def draw_opening(
    plan: Plan, surface_id: str, outline: Iterable[Point], name: str | None = None, kind: str = "window", **more: Any
) -> tuple[Plan, str]:
    """Draw opening: a window, door or hatch."""
    word = kind.replace("_", " ").capitalize()
    return _draw_area(plan, "openings", Opening, surface_id, outline, name, word, kind=kind, **more)


def draw_zone(
    plan: Plan, surface_id: str, outline: Iterable[Point], kind: str, name: str | None = None, **more: Any
) -> tuple[Plan, str]:
    """Draw keep-out zone: where wires must not lie, and why (hot, wet, moving, airbag, gas ...)."""
    word = f"{kind.capitalize()} zone"
    return _draw_area(plan, "zones", KeepOutZone, surface_id, outline, name, word, kind=kind, **more)


def draw_panel(
    plan: Plan, surface_id: str, outline: Iterable[Point], name: str | None = None, **more: Any
) -> tuple[Plan, str]:
    """Draw panel: a board that will cover the surface."""
    return _draw_area(plan, "panels", Panel, surface_id, outline, name, "Panel", **more)


def draw_rib(
    plan: Plan, surface_id: str, line_mm: Iterable[Point], width_mm: float, name: str | None = None, **more: Any
) -> tuple[Plan, str]:
    """Draw rib, pillar or batten by its centre line and width."""
    if not width_mm > 0:
        refuse(f"A rib must be wider than 0 mm; {width_mm:g} mm is not.")
    word = str(more.get("kind", "rib")).capitalize()
    return _draw_line(plan, "ribs", Rib, surface_id, line_mm, name, word, width_mm=float(width_mm), **more)


def draw_metal_edge(
    plan: Plan, surface_id: str, line_mm: Iterable[Point], name: str | None = None, **more: Any
) -> tuple[Plan, str]:
    """Draw metal edge: raw sheet metal that a bundle must not lie on unprotected."""
    return _draw_line(plan, "metal_edges", MetalEdge, surface_id, line_mm, name, "Metal edge", **more)


def _draw_area(
    plan: Plan,
    collection: str,
    record: type[Record],
    surface_id: str,
    outline: Iterable[Point],
    name: str | None,
    word: str,
    **fields: Any,
) -> tuple[Plan, str]:
    surface: Surface = get(plan, "surfaces", surface_id)
    chosen = name_or(name, word, (other.name for other in getattr(plan, collection)))
    clean = clean_outline(outline, chosen)
    check_within(surface, clean, chosen)
    return _drawn(plan, collection, record, surface=surface_id, name=chosen, outline=clean, **fields)


def _draw_line(
    plan: Plan,
    collection: str,
    record: type[Record],
    surface_id: str,
    line_mm: Iterable[Point],
    name: str | None,
    word: str,
    **fields: Any,
) -> tuple[Plan, str]:
    surface: Surface = get(plan, "surfaces", surface_id)
    chosen = name_or(name, word, (other.name for other in getattr(plan, collection)))
    points = clean_line(line_mm, chosen)
    check_within(surface, points, chosen)
    return _drawn(plan, collection, record, surface=surface_id, name=chosen, line_mm=points, **fields)


def _drawn(plan: Plan, collection: str, record: type[Record], **fields: Any) -> tuple[Plan, str]:
    fresh = new_id(plan, collection)
    new = made(record, id=fresh, **fields)
    return add(plan, collection, new), fresh


def clean_line(line_mm: Iterable[Point], what: str) -> Polyline:
    """The line without points that follow themselves. Refuses one without length."""
    points: list[Point] = []
    for x, y in line_mm:
        if not points or distance_mm(points[-1], (x, y)) > CLOSED_MM:
            points.append((float(x), float(y)))
    if len(points) < 2:
        refuse(f"{what} needs two points at least that lie apart.")
    return tuple(points)


def set_outline(plan: Plan, record_id: str, outline: Iterable[Point]) -> Plan:
    """Change outline of a box, opening, zone, panel or moving part; or the line of a rib or metal edge."""
    collection, record = find_any(plan, record_id)
    surface: Surface = (
        get(plan, "surfaces", record.surface)
        if hasattr(record, "surface")
        else refuse(f"The {title(collection, record)} has no outline of its own.")
    )
    what = title(collection, record)
    if hasattr(record, "outline"):
        points = clean_outline(outline, f"the {what}")
        changed = {"outline": points}
    elif hasattr(record, "line_mm"):
        points = clean_line(outline, f"The {what}")
        changed = {"line_mm": points}
    else:
        refuse(f"The {what} has no outline.")
    check_within(surface, points, f"The {what}")
    return put(plan, collection, replaced(record, **changed))


def raise_faces(plan: Plan, box_id: str, at_sheet_mm: Point | None = None) -> tuple[Plan, tuple[str, ...]]:
    """Raise faces: the upright sides of a box as surfaces apart, folded at the sides of its footprint.

    They are placed side by side on the sheet from `at_sheet_mm` to the right (below everything where nothing is said),
    as somebody sees them who stands beside the box.
    """
    box: Box = get(plan, "boxes", box_id)
    if box.faces:
        refuse(f"The faces of {box.name} are raised already.")
    fresh = new_ids(plan, "surfaces", len(box.outline))
    taken = {surface.name for surface in plan.surfaces}
    faces = []
    x_mm, y_mm = at_sheet_mm if at_sheet_mm is not None else _free_place(plan, box.height_mm)
    for number, ((start, end), face_id) in enumerate(zip(sides(box.outline), fresh, strict=True), start=1):
        width = distance_mm(start, end)
        name = free_name(f"{box.name} face {number}", taken)
        taken.add(name)
        outline = ((0.0, 0.0), (width, 0.0), (width, box.height_mm), (0.0, box.height_mm))
        faces.append(
            made(
                Surface,
                id=face_id,
                name=name,
                role="arch" if box.kind == "wheel_arch" else "face",
                corners=tuple(Corner(id=str(n), at_mm=p) for n, p in enumerate(outline, start=1)),
                fold=made(
                    Fold,
                    line=OnEdge(edge="1"),
                    parent=box.surface,
                    # Against the footprint: the room side of a face is outside the box.
                    parent_line=made(Inside, start_mm=end, end_mm=start),
                    fold_deg=90.0,
                ),
                apart=made(Apart, at_mm=(x_mm, y_mm)),
                material=box.material,
                thickness_mm=box.wall_mm,
            )
        )
        x_mm += width + GAP_MM
    with_faces = put(add(plan, "surfaces", *faces), "boxes", replaced(box, faces=fresh))
    return propose_seams(with_faces), fresh


def _free_place(plan: Plan, height_mm: float) -> Point:
    """Where surfaces of a height lie on the sheet under all there are, starting at the left."""
    layout = lay_out(plan.surfaces)
    points = [
        layout.place(surface.id).to_sheet(corner.at_mm)
        for surface in plan.surfaces
        if surface.id in layout.laid
        for corner in surface.corners
    ]
    return min(x for x, _ in points), min(y for _, y in points) - GAP_MM - height_mm


def add_dimension(
    plan: Plan, surface_id: str, from_mm: Point, to_mm: Point, offset_mm: float = 0.0
) -> tuple[Plan, str]:
    """Add dimension between two points of a surface."""
    surface: Surface = get(plan, "surfaces", surface_id)
    if distance_mm(from_mm, to_mm) <= CLOSED_MM:
        refuse(f"A dimension on {surface.name} needs two points that lie apart.")
    fresh = new_id(plan, "dimensions")
    new = made(Dimension, id=fresh, surface=surface_id, from_mm=from_mm, to_mm=to_mm, offset_mm=float(offset_mm))
    return add(plan, "dimensions", new), fresh


def draw_penetration(
    plan: Plan, a: str, a_mm: Point, b: str, b_mm: Point, name: str | None = None, **more: Any
) -> tuple[Plan, str]:
    """Draw penetration: one point of surface a is one point of surface b, through a thickness."""
    first: Surface = get(plan, "surfaces", a)
    second: Surface = get(plan, "surfaces", b)
    chosen = name_or(name, "Penetration", (other.name for other in plan.penetrations))
    check_within(first, (a_mm,), chosen)
    check_within(second, (b_mm,), chosen)
    return _drawn(plan, "penetrations", Penetration, name=chosen, a=a, a_mm=a_mm, b=b, b_mm=b_mm, **more)


def place_picture(
    plan: Plan,
    surface_id: str,
    data: bytes,
    media_type: str,
    at_mm: Point,
    mm_per_pixel: float,
    name: str | None = None,
) -> tuple[Plan, str]:
    """Place picture under a surface; its bytes are kept once, however often it is placed."""
    surface: Surface = get(plan, "surfaces", surface_id)
    plan, image_id = stored_image(plan, data, media_type, f"The picture for {surface.name}")
    chosen = name_or(name, "Picture", (other.name for other in plan.pictures))
    return _drawn(
        plan,
        "pictures",
        Picture,
        name=chosen,
        surface=surface_id,
        image=image_id,
        at_mm=at_mm,
        mm_per_pixel=float(mm_per_pixel),
    )


def stored_image(plan: Plan, data: bytes, media_type: str, what: str) -> tuple[Plan, str]:
    """The plan with the picture's bytes, kept once however often they are shown, and their id. Refuses what is no
    PNG or JPEG, is empty or too large, naming `what`."""
    if not data:
        refuse(f"{what} is empty.")
    if len(data) > PICTURE_BYTES:
        refuse(
            f"{what} has {len(data) / 2**20:.1f} MB; at most {PICTURE_BYTES / 2**20:.0f} MB are kept. Reduce it first."
        )
    if media_type not in ("image/png", "image/jpeg"):
        refuse(f"A picture must be PNG or JPEG; this one is {media_type}.")
    image_id = f"img-{sha256(data).hexdigest()[:32]}"
    if image_id in ids(plan):
        return plan, image_id
    return add(plan, "images", made(Image, id=image_id, media_type=media_type, data=data)), image_id
