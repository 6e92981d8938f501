"""Marks of devices and of the small parts wires end in. Sheet millimetres; `k` is the scale."""

from math import cos, hypot, pi, sin

from core.geometry.entry import entry_point
from core.geometry.plane import Placement
from core.model import Connector, Device, EarthPoint, Point, Splice
from core.pages.marks import AnyMark, AreaMark, CircleMark, LineMark
from core.pages.sheet_placement import Quad, turned

#: No device is drawn smaller than this on paper, so that it can be seen and met.
SMALLEST_MM = 2.2


def drawn_size_mm(device: Device, k: float) -> tuple[float, float]:
    """Width and height as drawn: to scale, but never too small to see. A light is round, a fan square."""
    least = SMALLEST_MM * k
    wide, high = device.width_mm, device.height_mm
    if device.kind == "light":
        wide = high = max(min(wide, high, 6.0 * k), 2.6 * k)
    return max(wide, least), max(high, least)


def body_of(device: Device, place: Placement, k: float) -> Quad:
    """The drawn footprint on the sheet."""
    wide, high = drawn_size_mm(device, k)
    return turned(place.to_sheet(device.at_mm), wide, high, device.turn_deg + place.turn_deg)


def device_marks(device: Device, place: Placement, k: float, detail: str) -> tuple[AnyMark, ...]:
    """A rounded box to scale; lights are circles with a cross, fans show their vanes."""
    centre = place.to_sheet(device.at_mm)
    wide, high = drawn_size_mm(device, k)
    if device.kind == "light" and detail != "low":
        return _light(device.id, centre, wide / 2)
    corner = min(0.8 * k, min(wide, high) * 0.25)
    body = AreaMark(
        style="device",
        subject=device.id,
        outline_mm=body_of(device, place, k),
        radius_mm=0.0 if detail == "low" else corner,
    )
    if detail == "full" and device.kind == "fan":
        return (body, *_fan(device.id, centre, min(wide, high) * 0.37))
    return (body,)


def _light(subject: str, centre: Point, radius: float) -> tuple[AnyMark, ...]:
    x, y = centre
    d = radius * cos(pi / 4)
    return (
        CircleMark(style="device", subject=subject, centre_mm=centre, radius_mm=radius, filled=True),
        LineMark(style="device:glyph", subject=subject, points_mm=((x - d, y - d), (x + d, y + d))),
        LineMark(style="device:glyph", subject=subject, points_mm=((x - d, y + d), (x + d, y - d))),
    )


def _fan(subject: str, centre: Point, radius: float) -> tuple[AnyMark, ...]:
    x, y = centre
    hub = radius * 0.18
    vanes = []
    for number in range(6):
        angle = number * pi / 3 + 0.2
        # Each vane leans, so that the wheel seems to turn.
        root, tip = angle + 0.9, angle
        vanes.append(
            LineMark(
                style="device:glyph",
                subject=subject,
                points_mm=(
                    (x + hub * cos(root), y + hub * sin(root)),
                    (x + radius * cos(tip), y + radius * sin(tip)),
                ),
            )
        )
    return (
        CircleMark(style="device:glyph", subject=subject, centre_mm=centre, radius_mm=radius),
        *vanes,
        CircleMark(style="device:glyph", subject=subject, centre_mm=centre, radius_mm=hub),
    )


def entry_on_sheet(device: Device, place: Placement) -> Point:
    """Where the wires enter, on the sheet."""
    return place.to_sheet(entry_point(device))


def fall_marks(
    subject: str, entry: Point, spots: tuple[Point, ...], colour: int | None, width_mm: float
) -> tuple[AnyMark, ...]:
    """The wires between a node and a device: in the colour of their bundle, dashed grey where none lie there yet."""
    if not spots:
        return ()
    spot = min(spots, key=lambda p: hypot(p[0] - entry[0], p[1] - entry[1]))
    if hypot(spot[0] - entry[0], spot[1] - entry[1]) < 1.0:
        return ()
    if colour is None:
        return (LineMark(style="device:fall", subject=subject, points_mm=(spot, entry)),)
    return (LineMark(style=f"bundle:{colour}", subject=subject, points_mm=(spot, entry), width_mm=width_mm),)


def splice_marks(splice: Splice, spots: tuple[Point, ...], k: float) -> tuple[AnyMark, ...]:
    return tuple(
        AreaMark(style="device", subject=splice.id, outline_mm=turned(spot, 2.6 * k, 1.3 * k, 0.0), radius_mm=0.65 * k)
        for spot in spots[:1]
    )


def connector_marks(connector: Connector, spots: tuple[Point, ...], k: float) -> tuple[AnyMark, ...]:
    marks: list[AnyMark] = []
    for x, y in spots[:1]:
        wide = max(connector.width_mm or 0.0, 3.2 * k)
        body = turned((x, y), wide, 2.0 * k, 0.0)
        marks.append(AreaMark(style="device", subject=connector.id, outline_mm=body, radius_mm=0.3 * k))
        # The line where plug and socket part.
        marks.append(
            LineMark(style="device:glyph", subject=connector.id, points_mm=((x, y - 1.0 * k), (x, y + 1.0 * k)))
        )
    return tuple(marks)


def earth_point_marks(point: EarthPoint, place: Placement, k: float) -> tuple[AnyMark, ...]:
    """The sign of IEC 60417-5020 (frame or chassis) is close: here the plain earth sign, three shrinking bars."""
    x, y = place.to_sheet(point.at_mm)
    marks: list[AnyMark] = [
        CircleMark(style="device", subject=point.id, centre_mm=(x, y), radius_mm=1.7 * k, filled=True),
        LineMark(style="device:glyph", subject=point.id, points_mm=((x, y + 1.1 * k), (x, y))),
    ]
    for number, half in enumerate((1.0, 0.65, 0.3)):
        level = y - number * 0.45 * k
        marks.append(
            LineMark(style="device:glyph", subject=point.id, points_mm=((x - half * k, level), (x + half * k, level)))
        )
    return tuple(marks)
