"""New vehicle: the bare shell from measurements, folded, sewn and laid out, ready to draw on.

Everything made here is ordinary records: surfaces, folds, seams, ribs, openings, boxes. Nothing remembers the form.
"""

from collections.abc import Iterable, Sequence
from typing import Any

from msgspec.structs import replace

from core.edits.change import add, made, name_or, new_ids, refuse, replaced
from core.edits.measurements import Measurements, title_of
from core.edits.new_vehicle_checks import problems
from core.edits.new_vehicle_drawn import draw_openings, draw_ribs
from core.edits.new_vehicle_faces import Shape, arches, ends, floor, outsides, walls
from core.edits.surfaces import propose_seams
from core.geometry.foldout import lay_out, overlaps
from core.geometry.plane import length_mm
from core.geometry.shell import Face, fold_faces
from core.model import Apart, Box, MovingJoint, MovingPart, Plan, Surface, find

#: Room on the sheet between the folded body and what lies apart.
GAP_MM = 300.0
#: More of it round the net of a wheel arch, which has seam tabs on every side.
NET_GAP_MM = 150.0
#: Wire that a loop at a door pillar takes, open and closed (common practice, no source). Each is to be measured.
LOOP_OPEN_MM, LOOP_CLOSED_MM = 260.0, 180.0
TRAVEL_DEG = {"leaves": 180.0, "tailgate": 90.0}


def build_vehicle(plan: Plan, form: Measurements) -> Plan:
    """Build vehicle from measurements, in a plan that has none yet.

    Refuses a plan with surfaces, and a form with problems (`new_vehicle_checks.problems`), naming the first.
    """
    if plan.surfaces:
        refuse("The plan has a vehicle already. Start a new plan to build another one from measurements.")
    wrong = problems(form)
    if wrong:
        refuse(wrong[0].message)
    shape = Shape.of(form)
    plan, joints = _moving_joints(plan, form)
    faces = [floor(shape), *walls(shape), *ends(shape, joints)]
    by_side = arches(shape)
    loose = [*(face for side in by_side.values() for face in side), *outsides(shape)]
    keys = [face.key for face in (*faces, *loose)]
    ids = dict(zip(keys, new_ids(plan, "surfaces", len(keys)), strict=True))
    faces = _shifted(faces, ids)
    beside = _beside(shape, fold_faces(faces, ids))
    surfaces = fold_faces([*faces, *(_placed(face, beside) for face in loose)], ids)
    plan = propose_seams(add(plan, "surfaces", *surfaces))
    plan = _arch_boxes(plan, shape, by_side, ids)
    plan = _moving_parts(plan, form, ids, joints)
    plan = draw_openings(plan, shape, ids)
    plan = draw_ribs(plan, shape, ids)
    vehicle = replaced(
        plan.vehicle,
        description=name_or(plan.vehicle.description, title_of(form), ()),
        driver_side=form.driver_side,
    )
    return replaced(plan, vehicle=vehicle)


def _moving_joints(plan: Plan, form: Measurements) -> tuple[Plan, dict[str, str]]:
    names = {
        "leaves": {"rear right": "Loop at the right rear pillar", "rear left": "Loop at the left rear pillar"},
        "tailgate": {"rear": "Loop at the top of the tailgate"},
        "wall": {},
    }[form.rear]
    ids = new_ids(plan, "moving_joints", len(names))
    joints = [
        made(MovingJoint, id=each, name=name, open_mm=LOOP_OPEN_MM, closed_mm=LOOP_CLOSED_MM)
        for each, name in zip(ids, names.values(), strict=True)
    ]
    return add(plan, "moving_joints", *joints), dict(zip(names, ids, strict=True))


def _moving_parts(plan: Plan, form: Measurements, ids: dict[str, str], joints: dict[str, str]) -> Plan:
    """Each door as a part that turns on its first edge; its loop knows it."""
    parts, loops = [], []
    for (key, joint), part_id in zip(joints.items(), new_ids(plan, "moving_parts", len(joints)), strict=True):
        door: Surface = find(plan, "surfaces", ids[key])
        outline = tuple(corner.at_mm for corner in door.corners)
        parts.append(
            made(
                MovingPart,
                id=part_id,
                name=door.name,
                surface=door.id,
                outline=outline,
                axis_mm=outline[:2],
                travel_deg=TRAVEL_DEG[form.rear],
            )
        )
        loops.append(replaced(find(plan, "moving_joints", joint), part=part_id))
    for loop in loops:
        others = (loop if each.id == loop.id else each for each in plan.moving_joints)
        plan = replace(plan, moving_joints=tuple(others))
    return add(plan, "moving_parts", *parts)


def _arch_boxes(plan: Plan, shape: Shape, by_side: dict[str, list[Face]], ids: dict[str, str]) -> Plan:
    boxes: list[dict[str, Any]] = []
    for side, faces in by_side.items():
        (ax, ay, _), (bx, by, _) = faces[0].points[:2]
        wall_y = shape.width if side == "right" else 0.0
        # The inner side runs against the footprint, which goes round counter-clockwise.
        boxes.append(
            {
                "name": f"Wheel arch, {side}",
                "outline": ((bx, by), (ax, ay), (ax, wall_y), (bx, wall_y)),
                "faces": tuple(ids[face.key] for face in faces),
            }
        )
    new = [
        made(
            Box, id=each, surface=ids["floor"], kind="wheel_arch", height_mm=shape.form.mm("arch_height"),
            material=faces[0].material, wall_mm=1.0, **fields,
        )
        for each, fields, faces in zip(
            new_ids(plan, "boxes", len(boxes)), boxes, by_side.values(), strict=True
        )
    ]  # fmt: skip
    return add(plan, "boxes", *new)


def _shifted(faces: Sequence[Face], ids: dict[str, str]) -> list[Face]:
    """Doors on a wall that bends inwards would lie on it: they lie apart then, a step to the rear."""
    laid = fold_faces(faces, ids)
    layout = lay_out(laid)
    covered = {surface for each in overlaps(layout, laid) for surface in (each.a, each.b)}
    places = {}
    for face in faces:
        if ids[face.key] in covered and face.role == "door":
            place = layout.place(ids[face.key])
            places[face.key] = Apart(at_mm=(place.x_mm + GAP_MM, place.y_mm), turn_deg=place.turn_deg)
    return [_placed(face, places) for face in faces]


def _beside(shape: Shape, laid: Sequence[Surface]) -> dict[str, Apart]:
    """Places on the sheet for what lies apart, by its key: arches at the left, beside the wall they stand at; the
    outside at the right, beside its inside and turned as the inside is, the nose to the left."""
    layout = lay_out(laid)
    points = [layout.place(s.id).to_sheet(corner.at_mm) for s in laid for corner in s.corners]
    right = max(x for x, _ in points) + GAP_MM
    form, width = shape.form, shape.width
    front = [y for y, _ in (*shape.section.wall, *shape.section.roof)]
    bulge = max(front) + width / 2 + GAP_MM + NET_GAP_MM
    depth = form.mm("floor_width") / 2 - form.mm("arch_gap") / 2 + 200
    places = {
        "arch right": Apart(at_mm=(-GAP_MM - depth - form.mm("arch_length"), bulge)),
        "arch left": Apart(at_mm=(-GAP_MM - depth, width - bulge), turn_deg=180.0),
        "underside": Apart(at_mm=(right + shape.length, width), turn_deg=180.0),
    }
    top = width + length_mm(shape.section.wall) + length_mm(shape.section.roof)
    return places | {"roof outside 0": Apart(at_mm=(right + shape.length, top), turn_deg=180.0)}


def _placed(face: Face, places: dict[str, Apart]) -> Face:
    if face.key not in places:
        return face
    fields = {name: getattr(face, name) for name in face.__dataclass_fields__}
    return Face(**{**fields, "apart": places[face.key]})


def assumed(plan: Plan) -> Iterable[Surface]:
    """The surfaces of which something was not measured."""
    return (surface for surface in plan.surfaces if surface.known == "assumed")
