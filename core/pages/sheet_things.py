"""Marks of what lies on surfaces: ribs, openings, boxes, zones, panels, metal edges, holes, pictures, dimensions.

Every function takes a record and the placement of its surface and returns marks in sheet millimetres; `k` is the
scale (mm of the sheet to one on paper). Names are put by `sheet_labels`.
"""

from collections.abc import Sequence
from math import cos, radians, sin
from struct import unpack

from core.geometry.plane import Placement, Segment, along_mm, between, distance_mm, offset, point_at
from core.geometry.polygon import clip
from core.model import (
    Box,
    Dimension,
    Image,
    KeepOutZone,
    MetalEdge,
    MovingPart,
    Opening,
    Panel,
    Penetration,
    Photo,
    Picture,
    Point,
    Rib,
)
from core.pages.marks import AnyMark, AreaMark, CircleMark, ImageMark, LineMark, TextMark
from core.pages.sheet_base import LABEL_MM, World, upright_deg
from core.pages.sheet_placement import upright
from core.text import mm

#: A dimension shorter than this is not drawn.
SHORTEST_MM = 0.5


def rib_marks(rib: Rib, place: Placement) -> tuple[AnyMark, ...]:
    if len(rib.line_mm) < 2:
        return ()
    half = rib.width_mm / 2
    band = (*offset(rib.line_mm, half), *reversed(offset(rib.line_mm, -half)))
    style = "rib:blocked" if rib.state == "blocked" else "rib"
    return (AreaMark(style=style, subject=rib.id, outline_mm=place.line_to_sheet(band)),)


def opening_marks(opening: Opening, place: Placement, k: float) -> tuple[AnyMark, ...]:
    door = opening.kind in ("door", "hatch")
    return (
        AreaMark(
            style="opening:door" if door else "opening",
            subject=opening.id,
            outline_mm=place.line_to_sheet(opening.outline),
            radius_mm=2.2 * k,
        ),
    )


def box_marks(box: Box, place: Placement) -> tuple[AnyMark, ...]:
    outline = place.line_to_sheet(box.outline)
    if box.base_mm > 0:
        return (LineMark(style="box:above", subject=box.id, points_mm=outline, closed=True),)
    arch = box.kind == "wheel_arch"
    return (
        AreaMark(
            style="box:arch" if arch else "box", subject=box.id, outline_mm=outline, radius_mm=40.0 if arch else 0.0
        ),
    )


def zone_marks(zone: KeepOutZone, place: Placement, k: float, hatched: bool) -> tuple[AnyMark, ...]:
    outline = place.line_to_sheet(zone.outline)
    marks: list[AnyMark] = []
    if hatched:
        marks += [LineMark(style="zone:hatch", subject=zone.id, points_mm=line) for line in hatch(outline, 2.6 * k)]
    marks.append(LineMark(style="zone", subject=zone.id, points_mm=outline, closed=True))
    return tuple(marks)


def hatch(outline: Sequence[Point], step_mm: float) -> tuple[Segment, ...]:
    """Slanted lines (45 degrees) inside a polygon, on one grid for the whole sheet; at most 200 of them."""
    if len(outline) < 3:
        return ()
    low_x, high_x = min(p[0] for p in outline), max(p[0] for p in outline)
    low_y, high_y = min(p[1] for p in outline), max(p[1] for p in outline)
    # Lines y = x + c
    low_c, high_c = low_y - high_x, high_y - low_x
    step = max(step_mm * 1.4142, (high_c - low_c) / 200)
    lines: list[Segment] = []
    c = (low_c // step + 1) * step
    while c < high_c:
        line = ((low_x, low_x + c), (high_x, high_x + c))
        lines += [(stretch.points[0], stretch.points[-1]) for stretch in clip(line, outline)]
        c += step
    return tuple(lines)


def panel_marks(panel: Panel, place: Placement) -> tuple[AnyMark, ...]:
    outline = place.line_to_sheet(panel.outline)
    if panel.close_out is not None and panel.close_out.closed_on:
        return (LineMark(style="panel:closed", subject=panel.id, points_mm=outline, closed=True),)
    return (LineMark(style="panel", subject=panel.id, points_mm=outline, closed=True),)


def metal_edge_marks(edge: MetalEdge, place: Placement, k: float, toothed: bool) -> tuple[AnyMark, ...]:
    """A raw edge has teeth, a protected one is a plain grey line."""
    line = place.line_to_sheet(edge.line_mm)
    if len(line) < 2:
        return ()
    if edge.protected:
        return (LineMark(style="metal_edge:protected", subject=edge.id, points_mm=line),)
    marks: list[AnyMark] = [LineMark(style="metal_edge", subject=edge.id, points_mm=line)]
    total = along_mm(line)[-1]
    count = min(200, int(total / (2.4 * k))) if toothed else 0
    for number in range(count):
        here = point_at(line, total * (number + 0.5) / count)
        ahead = point_at(line, min(total, total * (number + 0.5) / count + 0.1 * k))
        size = distance_mm(here, ahead) or 1.0
        ux, uy = (ahead[0] - here[0]) / size, (ahead[1] - here[1]) / size
        tip = (here[0] + (ux * 0.6 - uy) * 1.1 * k, here[1] + (uy * 0.6 + ux) * 1.1 * k)
        marks.append(LineMark(style="dimension", subject=edge.id, points_mm=(here, tip)))
    return tuple(marks)


def moving_part_marks(part: MovingPart, place: Placement) -> tuple[AnyMark, ...]:
    marks: list[AnyMark] = [
        LineMark(style="panel", subject=part.id, points_mm=place.line_to_sheet(part.outline), closed=True)
    ]
    if part.axis_mm is not None:
        marks.append(LineMark(style="fold", subject=part.id, points_mm=place.line_to_sheet(part.axis_mm)))
    return tuple(marks)


def penetration_marks(hole: Penetration, world: World) -> tuple[AnyMark, ...]:
    """The hole on both its surfaces, to scale where its size is known."""
    marks: list[AnyMark] = []
    for surface, point in ((hole.a, hole.a_mm), (hole.b, hole.b_mm)):
        place = world.place(surface)
        if place is None:
            continue
        centre = place.to_sheet(point)
        radius = max((hole.hole_mm or 0.0) / 2, 1.1 * world.k)
        marks.append(CircleMark(style="fold:mark", subject=hole.id, centre_mm=centre, radius_mm=radius, filled=True))
        marks.append(CircleMark(style="fold:mark", subject=hole.id, centre_mm=centre, radius_mm=radius * 0.55))
    return tuple(marks)


def picture_marks(picture: Picture, image: Image | None, place: Placement) -> tuple[AnyMark, ...]:
    size = None if image is None else pixels(image.data)
    if image is None or size is None:
        return ()
    return (
        ImageMark(
            style="note",
            subject=picture.id,
            at_mm=place.to_sheet(picture.at_mm),
            width_mm=size[0] * picture.mm_per_pixel,
            height_mm=size[1] * picture.mm_per_pixel,
            data=image.data,
            turn_deg=picture.turn_deg + place.turn_deg,
            opacity=picture.opacity,
        ),
    )


def pixels(data: bytes) -> tuple[int, int] | None:
    """Width and height of a PNG or JPEG picture from its head; None for anything else.

    PNG: the IHDR chunk is the first (ISO/IEC 15948, 11.2.2). JPEG: the frame header SOF0..SOF15 but DHT, JPG and DAC
    (ITU-T T.81, table B.1 and B.2.2).
    """
    if data[:8] == b"\x89PNG\r\n\x1a\n" and len(data) >= 24:
        wide, high = unpack(">II", data[16:24])
        return (wide, high) if wide and high else None
    if data[:2] != b"\xff\xd8":
        return None
    at = 2
    while at + 9 < len(data) and data[at] == 0xFF:
        kind, size = data[at + 1], int.from_bytes(data[at + 2 : at + 4], "big")
        if 0xC0 <= kind <= 0xCF and kind not in (0xC4, 0xC8, 0xCC):
            high, wide = unpack(">HH", data[at + 5 : at + 9])
            return (wide, high) if wide and high else None
        at += 1 if kind == 0xFF else 2 + size
    return None


def dimension_marks(dimension: Dimension, place: Placement, k: float) -> tuple[AnyMark, ...]:
    """Extension lines, dimension line with slashes (the building trade's ends, ISO 129-1), the measure along it."""
    start, end = place.to_sheet(dimension.from_mm), place.to_sheet(dimension.to_mm)
    size = distance_mm(start, end)
    if size <= SHORTEST_MM:
        return ()
    ux, uy = (end[0] - start[0]) / size, (end[1] - start[1]) / size
    nx, ny, out = -uy, ux, dimension.offset_mm
    a, b = (start[0] + nx * out, start[1] + ny * out), (end[0] + nx * out, end[1] + ny * out)
    marks: list[AnyMark] = []
    if abs(out) > 0.5 * k:
        over = out + (0.8 * k if out > 0 else -0.8 * k)
        for p in (start, end):
            far = (p[0] + nx * over, p[1] + ny * over)
            marks.append(LineMark(style="dimension", subject=dimension.id, points_mm=(p, far)))
    marks.append(LineMark(style="dimension", subject=dimension.id, points_mm=(a, b)))
    half = 0.9 * k
    for x, y in (a, b):
        dx, dy = (ux + nx) * half * 0.7071, (uy + ny) * half * 0.7071
        marks.append(
            LineMark(style="dimension:tick", subject=dimension.id, points_mm=((x - dx, y - dy), (x + dx, y + dy)))
        )
    turn = upright_deg(a, b)
    # Above the line as it is read.
    lift = 0.8 * k if ny * cos(radians(turn)) - nx * sin(radians(turn)) > 0 else -0.8 * k
    mid = between(a, b, 0.5)
    marks.append(
        TextMark(
            style="text",
            subject=dimension.id,
            at_mm=(mid[0] + nx * lift, mid[1] + ny * lift),
            text=mm(round(size, 6)),
            size_mm=LABEL_MM * k,
            anchor="middle",
            turn_deg=turn,
            font="label_medium",
        )
    )
    return tuple(marks)


def photo_marks(photo: Photo, place: Placement, k: float) -> tuple[AnyMark, ...]:
    """The pin of a photo on the sheet; it stands for no record that can be moved there."""
    return tuple(photo_pin(place.to_sheet(photo.at_mm), k))


def photo_pin(at: Point, k: float) -> list[AnyMark]:
    """The sign of a photo: a small camera whose lens is the place."""
    x, y = at
    body = upright(x - 1.9 * k, y - 1.3 * k, x + 1.9 * k, y + 1.3 * k)
    top = (
        (x - 0.8 * k, y + 1.3 * k),
        (x - 0.4 * k, y + 1.9 * k),
        (x + 0.4 * k, y + 1.9 * k),
        (x + 0.8 * k, y + 1.3 * k),
    )
    return [
        AreaMark(style="device", outline_mm=top),
        AreaMark(style="device", outline_mm=body, radius_mm=0.4 * k),
        CircleMark(style="dimension", centre_mm=at, radius_mm=0.7 * k),
    ]
