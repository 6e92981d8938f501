"""Faces of boxes: raised with a top, and following their box when it moves or gets another size."""

from core.edits.change import add, free_name, get, made, new_id, put, put_all, refuse, replaced
from core.edits.drawn import raise_faces
from core.edits.surfaces import propose_seams
from core.geometry.motion import Motion
from core.geometry.plane import Point, distance_mm
from core.geometry.polygon import is_simple, sides, signed_area_mm2
from core.model import Apart, Box, Corner, Fold, Inside, OnEdge, Plan, Surface


def raise_faces_and_top(plan: Plan, box_id: str, at_sheet_mm: Point | None = None) -> tuple[Plan, tuple[str, ...]]:
    """Raise faces with the top: the upright sides as surfaces apart, and the top folded to the first of them.

    On the sheet the top lies above the first side, as a lid that is opened. Gives sides first, the top last.
    """
    box: Box = get(plan, "boxes", box_id)
    before = {surface.id for surface in plan.surfaces}
    plan, fresh = raise_faces(plan, box_id, at_sheet_mm)
    head: Surface = get(plan, "surfaces", fresh[0])
    outline = _top_outline(box)
    deep = max(y for _, y in outline)
    if at_sheet_mm is None:
        # The lid needs room between its side and what lies above.
        lowered = (s if s.id in before else lowered_apart(s, deep) for s in plan.surfaces)
        plan = put_all(plan, "surfaces", lowered)
    top = made(
        Surface,
        id=new_id(plan, "surfaces"),
        name=free_name(f"{box.name} top", {surface.name for surface in plan.surfaces}),
        role="arch" if box.kind == "wheel_arch" else "face",
        corners=tuple(Corner(id=str(n), at_mm=p) for n, p in enumerate(outline, start=1)),
        fold=made(Fold, line=OnEdge(edge="1"), parent=head.id, parent_line=OnEdge(edge="3"), fold_deg=-90.0),
        material=box.material,
        thickness_mm=box.wall_mm,
    )
    box = get(plan, "boxes", box_id)
    with_top = put(add(plan, "surfaces", top), "boxes", replaced(box, faces=(*box.faces, top.id)))
    return propose_seams(with_top), (*fresh, top.id)


def _top_outline(box: Box) -> tuple[Point, ...]:
    """The footprint in the millimetres of its top: the first side along x."""
    (ax, ay), (bx, by) = box.outline[0], box.outline[1]
    size = distance_mm((ax, ay), (bx, by))
    ux, uy = (bx - ax) / size, (by - ay) / size
    return tuple(
        (round((x - ax) * ux + (y - ay) * uy, 6) + 0.0, round((y - ay) * ux - (x - ax) * uy, 6) + 0.0)
        for x, y in box.outline
    )


def faces_follow(plan: Plan, before: Box, motion: Motion) -> Plan:
    """Faces after their box was moved by a motion of its surface's millimetres: where they are folded goes along.

    Proposed seams of the faces with other surfaces are proposed anew. A mirror is refused: the faces would be inside.
    """
    if motion.flip:
        refuse(f"“{before.name}” cannot be mirrored while its faces are raised. Delete its faces first.")
    faces = set(before.faces)
    changed = []
    for surface in plan.surfaces:
        fold = surface.fold
        if surface.id in faces and fold is not None and fold.parent == before.surface:
            old = fold.parent_line
            if not isinstance(old, Inside):
                refuse(f"{surface.name} was folded elsewhere by hand; move it there.")
            line = Inside(start_mm=motion.at(old.start_mm), end_mm=motion.at(old.end_mm))
            changed.append(replaced(surface, fold=replaced(fold, parent_line=line)))
        else:
            changed.append(surface)
    return _sewn_anew(put_all(plan, "surfaces", changed), faces)


def _sewn_anew(plan: Plan, faces: set[str]) -> Plan:
    """Seams between faces and what they stand at, proposed again; drawn ones and those among the faces stay."""
    kept = (
        seam for seam in plan.seams if seam.origin == "drawn" or ((seam.a in faces) == (seam.b in faces))
    )  # fmt: skip
    return propose_seams(put_all(plan, "seams", kept))


def resize_box(plan: Plan, box_id: str, outline: tuple[Point, ...], height_mm: float | None = None) -> Plan:
    """Resize box: another footprint with as many corners, or another height; raised faces get their new sizes.

    Refused for faces that were redrawn: only rectangles folded at the footprint's sides follow by themselves.
    """
    from core.edits.drawn import set_outline

    before: Box = get(plan, "boxes", box_id)
    if height_mm is not None and not height_mm > 0:
        refuse(f"“{before.name}” must be higher than 0 mm; {height_mm:g} mm is not.")
    plan = set_outline(plan, box_id, outline)
    box: Box = get(plan, "boxes", box_id)
    box = replaced(box, height_mm=float(height_mm if height_mm is not None else box.height_mm))
    plan = put(plan, "boxes", box)
    if not box.faces:
        return plan
    if len(box.outline) != len(before.outline):
        refuse(f"“{box.name}” has raised faces, one for each of {len(before.outline)} sides; it keeps that many.")
    upright = dict(zip(box.faces, sides(box.outline), strict=False))
    changed = []
    for surface in plan.surfaces:
        if surface.id not in box.faces:
            changed.append(surface)
        elif surface.id in upright and len(surface.corners) == 4:
            changed.append(_side(surface, upright[surface.id], box))
        elif len(surface.corners) == len(box.outline):
            changed.append(_reshaped(surface, _top_outline(box)))
        else:
            refuse(f"{surface.name} was redrawn by hand; change it there, or delete the faces of “{box.name}” first.")
    return _sewn_anew(put_all(plan, "surfaces", changed), set(box.faces))


def _side(surface: Surface, side: tuple[Point, Point], box: Box) -> Surface:
    start, end = side
    width, high = distance_mm(start, end), box.height_mm
    fold = surface.fold
    if fold is None or fold.parent != box.surface or not isinstance(fold.parent_line, Inside):
        refuse(f"{surface.name} was folded elsewhere by hand; change it there.")
    line = Inside(start_mm=end, end_mm=start)
    sized = _reshaped(surface, ((0.0, 0.0), (width, 0.0), (width, high), (0.0, high)))
    return replaced(sized, fold=replaced(fold, parent_line=line))


def _reshaped(surface: Surface, outline: tuple[Point, ...]) -> Surface:
    if not is_simple(outline) or signed_area_mm2(outline) <= 0:
        refuse(f"The outline of {surface.name} would cross or touch itself.")
    corners = tuple(replaced(c, at_mm=p) for c, p in zip(surface.corners, outline, strict=True))
    same = all(a is b for a, b in zip(corners, surface.corners, strict=True))
    return surface if same else replaced(surface, corners=corners)


def lowered_apart(surface: Surface, by_mm: float) -> Surface:
    """The surface lying apart lower on the sheet by a distance."""
    if surface.apart is None:
        return surface
    x, y = surface.apart.at_mm
    return replaced(surface, apart=Apart(at_mm=(x, y - by_mm), turn_deg=surface.apart.turn_deg))
