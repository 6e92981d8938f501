"""One surface turned upright, with all that lies on it, in millimetres of the vehicle: for pages that show a wall."""

from dataclasses import dataclass
from math import dist

import msgspec

from core.analysis.analysis import Analysis
from core.geometry.entry import entry_point
from core.geometry.plane import Placement
from core.geometry.upright import Upright, Way
from core.model import Point, Surface
from core.pages import sheet_bundles as wiring
from core.pages import sheet_devices as devices
from core.pages import sheet_surfaces as ground
from core.pages import sheet_things as things
from core.pages.lettering import CUTS, Font, width_mm
from core.pages.marks import AnyMark, AreaMark, CircleMark, LineMark, TextMark
from core.pages.sheet_base import World
from core.pages.sheet_placement import Quad, Room, along, bounds, turned, upright
from core.pages.sheet_trunks import Trunks, find_trunks
from core.pages.transform import Rect
from core.text import wrap

#: Where a label may stand round its point: directions, then the same farther away with a line to the point.
AROUND = ((1.0, 1.0), (-1.0, 1.0), (1.0, -1.0), (-1.0, -1.0), (0.0, 1.0), (0.0, -1.0), (1.0, 0.0), (-1.0, 0.0))
#: Parts of the free height at which a name may stand in its area, from the middle.
WITHIN = (0.0, 0.35, -0.35, 0.7, -0.7, 1.0, -1.0)
FAR = (1.0, 2.6, 4.4, 6.5, 10.0)
NUMBER_MM = 3.5
#: Names of devices inside their boxes.
INSIDE_MM = 3.1


@dataclass(frozen=True)
class SurfaceView:
    """A surface to be drawn at 1 : `scale`; its marks are in the view's millimetres."""

    analysis: Analysis
    surface: Surface
    view: Upright
    scale: float
    world: World
    trunks: Trunks

    @property
    def place(self) -> Placement:
        return self.view.place

    @property
    def box(self) -> Rect:
        xs, ys = zip(*self.view.outline, strict=True)
        return Rect(min(xs), min(ys), max(xs), max(ys))


def surface_view(analysis: Analysis, surface: Surface, view: Upright, scale: float) -> SurfaceView:
    world = World.of(analysis, "full", scale)
    return SurfaceView(analysis, surface, view, scale, world, find_trunks(analysis.plan.channels, analysis.bundles))


def body_marks(it: SurfaceView) -> list[AnyMark]:
    """The bare surface: outline, ribs, openings, boxes, zones, panels, edges."""
    plan, here, place, k = it.analysis.plan, it.surface.id, it.place, it.scale
    marks: list[AnyMark] = [*ground.ground_marks(it.surface, place)]
    marks += [mark for rib in plan.ribs if rib.surface == here for mark in things.rib_marks(rib, place)]
    marks += [mark for row in plan.openings if row.surface == here for mark in things.opening_marks(row, place, k)]
    marks += [mark for box in plan.boxes if box.surface == here for mark in things.box_marks(box, place)]
    marks += [mark for zone in plan.zones if zone.surface == here for mark in things.zone_marks(zone, place, k, True)]
    marks += [mark for row in plan.panels if row.surface == here for mark in things.panel_marks(row, place)]
    edges = (edge for edge in plan.metal_edges if edge.surface == here)
    marks += [mark for edge in edges for mark in things.metal_edge_marks(edge, place, k, True)]
    marks += ground.outline_marks(it.surface, place, ())
    return marks


def wiring_marks(it: SurfaceView, ticks: bool = True) -> list[AnyMark]:
    """Falls, channels and bundles with their securing ticks."""
    plan, here = it.analysis.plan, it.surface.id
    marks: list[AnyMark] = []
    for device in plan.devices:
        if device.surface == here and device.node is not None:
            spots = tuple(it.place.to_sheet(at) for s, at in it.analysis.node_spots[device.node].spots if s == here)
            entry = it.place.to_sheet(entry_point(device))
            marks += devices.fall_marks(device.id, entry, spots, None, 0.0)
    for channel in plan.channels:
        path = it.analysis.paths[channel.id]
        if path.surface != here:
            continue
        path = msgspec.structs.replace(path, sheet_mm=it.place.line_to_sheet(path.local_mm))
        bundle = it.analysis.bundles.get(channel.id)
        if bundle is None:
            marks += wiring.free_channel_marks(channel, path, it.scale, "full")
            continue
        at = tuple(row.at_mm for row in it.analysis.securing if row.channel == channel.id) if ticks else ()
        colour = it.trunks.by_channel[channel.id].colour
        marks += wiring.bundle_marks(channel, path, bundle, colour, at, (), it.scale, "full")
    return marks


def device_marks(it: SurfaceView) -> list[AnyMark]:
    return [
        mark
        for device in it.analysis.plan.devices
        if device.surface == it.surface.id
        for mark in devices.device_marks(device, it.place, it.scale, "full")
    ]


class Lettering:
    """Labels at points, none on another. `k` is the scale; sizes are those on paper. None leaves `within`."""

    def __init__(self, k: float, within: Rect | None = None) -> None:
        self._k = k
        self._within = within
        self._room = Room(12.0 * k)
        #: What is written, which no thin line shall strike through.
        self._written = Room(12.0 * k)
        self._lines = Room(12.0 * k)

    def take(self, quad: Quad) -> None:
        self._room.take(quad)

    def take_line(self, points: tuple[Point, ...], wide: float) -> None:
        self._room.take_line(points, wide)
        self._lines.take_line(points, wide)

    def at(
        self, point: Point, text: str, subject: str = "", size_mm: float = NUMBER_MM, font: Font = "label_bold",
        gap_mm: float = 1.0, style: str = "text", clear_mm: Point = (0.0, 0.0),
    ) -> list[AnyMark]:  # fmt: skip
        """The text beside its point at the first free place, farther away with a thin line; empty where there is none.

        `clear_mm` is half the width and height of what stands at the point, in the view's millimetres.
        """
        k, size = self._k, size_mm * self._k
        wide, high = width_mm(text, font, size), size * 0.74
        crossing: tuple[Point, Point, Quad] | None = None
        for far in FAR:
            led = far > FAR[1]
            for dx, dy in AROUND:
                out_x, out_y = (
                    (wide / 2 + gap_mm * k * far + clear_mm[0]) * dx,
                    (high / 2 + gap_mm * k * far + clear_mm[1]) * dy,
                )
                centre = (point[0] + out_x, point[1] + out_y)
                quad = turned(centre, wide + 0.5 * k, high + 0.5 * k, 0.0)
                if not self._is_seen(quad) or not self._room.is_free(quad):
                    continue
                end = (centre[0] - dx * wide / 2, centre[1] - dy * high / 2)
                if led and not self._written.is_free(along(point, end, 0.4 * k)):
                    # A thin line through other words only where there is no place without.
                    crossing = crossing or (centre, end, quad)
                    continue
                return self._write(text, subject, size, font, style, centre, quad, (point, end) if led else None)
        if crossing is None:
            return []
        centre, end, quad = crossing
        return self._write(text, subject, size, font, style, centre, quad, (point, end))

    def inside(self, centre: Point, text: str, subject: str, wide: float, high: float) -> list[AnyMark]:
        """The text in the middle of what stands there, on one line or two; empty where it is too small, or where
        something is written. `wide` and `high` are its size in the view's millimetres."""
        size = INSIDE_MM * self._k
        room = wide - 1.6 * self._k
        broken = wrap(text, CUTS["label_medium"], size, max(room, size))
        if len(broken) > 2 or any(width_mm(line, "label_medium", size) > room for line in broken):
            return []
        if len(broken) * size * 1.2 > high - 0.8 * self._k:
            return []
        block = turned(centre, max(width_mm(line, "label_medium", size) for line in broken), len(broken) * size, 0.0)
        if not self._written.is_free(block) or not self._lines.is_free(block):
            return []
        self._written.take(block)
        top = centre[1] + size * 1.2 * (len(broken) - 1) / 2
        return [
            TextMark(style="text", subject=subject, at_mm=(centre[0], top - size * 1.2 * number), text=line,
                     size_mm=size, anchor="middle", baseline="middle", font="label_medium")
            for number, line in enumerate(broken)
        ]  # fmt: skip

    def within(self, area: Rect, text: str, subject: str, size_mm: float, style: str) -> list[AnyMark]:
        """The text on one line anywhere in the area, its middle first; empty where it has no free place there."""
        size = size_mm * self._k
        wide, high = width_mm(text, "label", size) + self._k, size
        room_x, room_y = (area.width - wide) / 2, (area.height - high) / 2 - 0.5 * self._k
        if room_x < 0 or room_y < 0:
            return []
        middle = ((area.left + area.right) / 2, (area.bottom + area.top) / 2)
        spots = [(middle[0] + x * room_x, middle[1] + y * room_y) for y in WITHIN for x in (0.0, -1.0, 1.0)]
        for centre in sorted(spots, key=lambda spot: dist(spot, middle)):
            quad = turned(centre, wide, high, 0.0)
            if self._is_seen(quad) and self._room.is_free(quad):
                return self._write(text, subject, size, "label", style, centre, quad, None)
        return []

    def _write(
        self, text: str, subject: str, size: float, font: Font, style: str, centre: Point, quad: Quad,
        line: tuple[Point, Point] | None,
    ) -> list[AnyMark]:  # fmt: skip
        self._room.take(quad)
        self._written.take(quad)
        word = TextMark(style=style, subject=subject, at_mm=centre, text=text, size_mm=size, anchor="middle",
                        baseline="middle", font=font)  # fmt: skip
        if line is None:
            return [word]
        return [LineMark(style="dimension", subject=subject, points_mm=line), word]

    def _is_seen(self, quad: Quad) -> bool:
        if self._within is None:
            return True
        left, low, right, high = bounds(quad)
        box = self._within
        return box.left <= left and right <= box.right and box.bottom <= low and high <= box.top

    def beside(self, point: Point, text: str, subject: str, size_mm: float) -> list[AnyMark]:
        """The text to the right of its point, a little lower or higher where something stands there, else anywhere
        near with a thin line, at last on what stands there."""
        k, size = self._k, size_mm * self._k
        wide, high = width_mm(text, "label", size), size * 0.74
        centres = [(point[0] + 1.6 * k + wide / 2, point[1] + step * 0.5 * high) for step in (0, -1, 1, -2, 2, -3, 3)]
        centre = next((spot for spot in centres if self._room.is_free(turned(spot, wide, high, 0.0))), None)
        if centre is None:
            led = self.at(point, text, subject, size_mm, "label")
            if led:
                return led
            # Lines can be blanked, words cannot.
            over = (spot for spot in centres if self._written.is_free(turned(spot, wide, high, 0.0)))
            centre = next(over, centres[0])
        quad = turned(centre, wide, high, 0.0)
        self._room.take(quad)
        self._written.take(quad)
        return [
            AreaMark(style="blank", subject=subject, outline_mm=quad),
            TextMark(style="text", subject=subject, at_mm=centre, text=text, size_mm=size, anchor="middle",
                     baseline="middle")
        ]  # fmt: skip


def spot_dot(at: Point, k: float, kind: str, hole_mm: float | None) -> list[AnyMark]:
    """The sign of a spot: a dot for a fixing, a ring for a node, a circle with a cross for a hole."""
    x, y = at
    if kind == "hole":
        r = max((hole_mm or 0.0) / 2, 1.2 * k)
        arm = r + 0.9 * k
        return [
            CircleMark(style="fold:mark", centre_mm=at, radius_mm=r, filled=True),
            LineMark(style="dimension", points_mm=((x - arm, y), (x + arm, y))),
            LineMark(style="dimension", points_mm=((x, y - arm), (x, y + arm))),
        ]
    if kind == "node":
        return [CircleMark(style="fold:mark", centre_mm=at, radius_mm=0.9 * k, filled=True)]
    return things.photo_pin(at, k) if kind == "photo" else []


def datum_flags(it: SurfaceView) -> list[AnyMark]:
    """The two lines that are measured from, thick, with their letters in boxes outside the surface."""
    box, k = it.box, it.scale
    a, b = it.view.a, it.view.b
    reach = 4.0 * k
    at_a, at_b = (a.at_mm, box.top + reach + 2.2 * k), (box.right + reach + 2.2 * k, b.at_mm)
    lines = (((a.at_mm, box.bottom), (a.at_mm, box.top + reach)), ((box.left, b.at_mm), (box.right + reach, b.at_mm)))
    marks: list[AnyMark] = [LineMark(style="tick", points_mm=line) for line in lines]
    for letter, (x, y) in (("A", at_a), ("B", at_b)):
        half = 2.2 * k
        marks.append(LineMark(style="rule", points_mm=upright(x - half, y - half, x + half, y + half), closed=True))
        marks.append(TextMark(style="text", at_mm=(x, y), text=letter, size_mm=3.6 * k, anchor="middle",
                              baseline="middle", font="label_bold"))  # fmt: skip
    return marks


def side_words(view: Upright, area: Rect, mirrored: bool = False) -> list[AnyMark]:
    """Which way is the front, up and so on: words in the middle of three sides of an area of the page."""
    middle = (area.bottom + area.top) / 2
    sides: dict[Way, tuple[float, float, float]] = {
        "left": (area.left + 1.2, middle, 90.0),
        "right": (area.right - 1.2, middle, 90.0),
        "up": ((area.left + area.right) / 2, area.top - 1.6, 0.0),
    }
    across: dict[Way, Way] = {"left": "right", "right": "left", "up": "up"} if mirrored else {}
    return [
        TextMark(style="text:muted", at_mm=(x, y), text=view.sides[across.get(way, way)].upper(), size_mm=3.1,
                 anchor="middle", baseline="middle", turn_deg=turn, font="label_bold")
        for way, (x, y, turn) in sides.items()
    ]  # fmt: skip
