"""How the sheet folds: the big surfaces half folded up like a cardboard box, drawn in parallel projection."""

from math import cos, radians, sin

import msgspec

from core.geometry.edges import outline_of
from core.geometry.foldout import lay_out
from core.geometry.polygon import centre, point_in
from core.model import Point, Surface
from core.pages.lettering import width_mm
from core.pages.marks import AnyMark, AreaMark, LineMark, TextMark
from core.pages.transform import bounds, moved

#: Share of every fold that is made: enough to see what turns where, not so much that walls hide each other.
FOLDED = 0.5
TURN_DEG = -24.0
#: How far above the horizon the eye stands.
ELEVATION_DEG = 52.0
SMALLEST_LABEL_MM = 2.2
LABEL_MM = 2.9
#: Surfaces that would only be clutter in a picture as small as this.
LEFT_OUT = ("face", "arch")


def folding_picture(
    surfaces: tuple[Surface, ...], left: float, bottom: float, width: float, height: float
) -> tuple[AnyMark, ...]:
    """The picture, as large as the given rectangle allows and in its middle. Empty when there is nothing to fold."""
    kept = tuple(surface for surface in surfaces if surface.role not in LEFT_OUT and surface.side == "inside")
    names = {surface.id for surface in kept}
    half = tuple(_half_folded(surface) for surface in kept if surface.fold is None or surface.fold.parent in names)
    laid = lay_out(half).laid
    faces = []
    for surface in half:
        if surface.id not in laid:
            continue
        pose = laid[surface.id].pose
        outline = outline_of(surface)
        points = [_seen(pose.to_vehicle(corner)) for corner in outline]
        middle = _seen(pose.to_vehicle(centre(outline)))
        faces.append((middle[2], surface, tuple((x, y) for x, y, _ in points), (middle[0], middle[1])))
    if len(faces) < 2:
        return ()
    # The farthest first: nearer ones cover it.
    faces.sort(key=lambda face: -face[0])
    shapes: list[AnyMark] = []
    for _, surface, outline, _ in faces:
        ground = "outline:floor" if surface.role == "floor" else "outline:ground"
        shapes.append(AreaMark(style=ground, subject=surface.id, outline_mm=outline))
        shapes.append(LineMark(style="outline", subject=surface.id, points_mm=outline, closed=True))
    box = bounds(shapes)
    if box is None or box.width <= 0 or box.height <= 0:
        return ()
    scale = min(width / box.width, height / box.height)
    dx = left + (width - box.width * scale) / 2 - box.left * scale
    dy = bottom + (height - box.height * scale) / 2 - box.bottom * scale
    labels = [
        _label(surface, outline, at, scale, dx, dy)
        for number, (_, surface, outline, at) in enumerate(faces)
        if not any(point_in(nearer, at) for _, _, nearer, _ in faces[number + 1 :])
    ]
    return (*moved(shapes, scale, dx, dy), *(label for label in labels if label is not None))


def _half_folded(surface: Surface) -> Surface:
    if surface.fold is None:
        return surface
    fold = msgspec.structs.replace(surface.fold, fold_deg=surface.fold.fold_deg * FOLDED)
    return msgspec.structs.replace(surface, fold=fold, apart=None)


def _seen(point: tuple[float, float, float]) -> tuple[float, float, float]:
    """Vehicle millimetres to picture: right, up, and how far away. The rear is at the right, vehicle right far away."""
    x, y, z = point
    turn, rise = radians(TURN_DEG), radians(ELEVATION_DEG)
    across, away = x * cos(turn) - y * sin(turn), x * sin(turn) + y * cos(turn)
    return across, away * sin(rise) + z * cos(rise), away * cos(rise) - z * sin(rise)


def _label(
    surface: Surface, outline: tuple[Point, ...], at: Point, scale: float, dx: float, dy: float
) -> TextMark | None:
    """The name in the middle of its face, smaller where the face is narrow, none where it could not be read."""
    room = _width_at(outline, at[1]) * scale * 0.85
    size = min(LABEL_MM, room / max(width_mm(surface.name, "label_medium", 1.0), 0.1))
    if not surface.name or size < SMALLEST_LABEL_MM:
        return None
    return TextMark(
        style="text",
        at_mm=(at[0] * scale + dx, at[1] * scale + dy),
        text=surface.name,
        size_mm=size,
        anchor="middle",
        baseline="middle",
        font="label_medium",
    )


def _width_at(outline: tuple[Point, ...], y: float) -> float:
    """How wide the face is on the line through its middle."""
    crossed = [
        a[0] + (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1])
        for a, b in zip(outline, (*outline[1:], outline[0]), strict=True)
        if (a[1] > y) != (b[1] > y)
    ]
    return max(crossed) - min(crossed) if crossed else 0.0
