"""Where every name of the sheet stands. Obstacles first, then names by importance, each at its best free place.

`place_labels` gives, for each record, the finished text marks (and pills for bundles). A name that fits nowhere is cut
off with an ellipsis, and left out where not even that is possible: the canvas shows it when the pointer rests there.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from core.edits.dimensions import attached
from core.geometry.edges import outline_of
from core.geometry.plane import Polyline
from core.geometry.polygon import centre as inner_point
from core.model import Box, Device, KeepOutZone, Opening, Panel, Point
from core.pages.lettering import CUTS, width_mm
from core.pages.marks import AnyMark, AreaMark, TextMark
from core.pages.sheet_base import NAME_MM, SMALL_MM, World, size_words
from core.pages.sheet_blocks import Anchor, Line, block_marks, block_quad
from core.pages.sheet_bundles import Pill, as_drawn, drawn_width_mm
from core.pages.sheet_captions import inner_captions, outer_captions
from core.pages.sheet_devices import body_of, entry_on_sheet
from core.pages.sheet_pills import place_pills
from core.pages.sheet_placement import Room, Rooms, bounds, turned, upright
from core.pages.sheet_surfaces import seam_marks
from core.pages.sheet_text import cap_mm
from core.pages.sheet_trunks import Trunks
from core.text import shorten, wrap

#: Distance of the grid of squares that finds neighbours, on paper.
CELL_MM = 12.0


@dataclass
class Labels:
    """Text marks by key: `caption:SURFACE`, `name:RECORD`; pills by channel."""

    texts: dict[str, tuple[AnyMark, ...]] = field(default_factory=dict)
    pills: dict[str, tuple[Pill, ...]] = field(default_factory=dict)


def place_labels(world: World, trunks: Trunks, folds: Sequence[tuple[Point, Point]]) -> Labels:
    """All labels of one state of the sheet."""
    room = Rooms(CELL_MM * world.k)
    labels = Labels()
    outlines = _outlines(world)
    for seam in world.plan.seams:
        for mark in seam_marks(world, seam):
            if isinstance(mark, AreaMark):
                room.take(upright(*bounds(mark.outline_mm)))
    homeless = outer_captions(world, outlines, room, labels.texts)
    if world.is_low:
        inner_captions(world, homeless, room, labels.texts)
        return labels
    _take_obstacles(world, folds, room)
    inner_captions(world, homeless, room, labels.texts)
    _device_names(world, room, labels, inside=True)
    labels.pills = place_pills(world, trunks, room)
    _take_edges(world, outlines, room)
    _box_names(world, room, labels)
    _device_names(world, room, labels, inside=False)
    if world.is_full:
        _area_names(world, room, labels)
    return labels


def _outlines(world: World) -> dict[str, Polyline]:
    return {
        surface.id: world.layout.place(surface.id).line_to_sheet(outline_of(surface))
        for surface in world.plan.surfaces
        if surface.id in world.layout.laid and len(surface.corners) >= 3
    }


def _take_obstacles(world: World, folds: Sequence[tuple[Point, Point]], room: Room) -> None:
    k = world.k
    for device in world.plan.devices:
        place = world.place(device.surface)
        if place is not None:
            room.take(body_of(device, place, k))
    for channel in world.plan.channels:
        path = world.paths.get(channel.id)
        bundle = world.bundles.get(channel.id)
        if path is not None and bundle is not None and len(path.sheet_mm) > 1:
            wide = drawn_width_mm(bundle, k)
            room.take_line(as_drawn(path, channel, wide), wide + 0.8 * k)
    for device in world.plan.devices:
        place, spot = world.place(device.surface), world.node_spots.get(device.node or "")
        if place is not None and spot is not None and spot.sheet_mm:
            room.take_line((entry_on_sheet(device, place), spot.sheet_mm[0]), 1.2 * k)
    for crossing in world.crossings:
        if crossing.sheet_mm is not None:
            room.take(turned(crossing.sheet_mm, 2.4 * k, 2.4 * k, 0.0))
    for fold in folds:
        room.take_line(fold, 0.6 * k)
    for dimension in (attached(world.plan, each) for each in world.plan.dimensions):
        place = world.place(dimension.surface)
        if place is not None:
            room.take_line(place.line_to_sheet((dimension.from_mm, dimension.to_mm)), 1.0 * k)


def _take_edges(world: World, outlines: Mapping[str, Polyline], room: Rooms) -> None:
    """Edges that a name should not lie on, but may where there is no better place."""
    k = world.k
    for outline in outlines.values():
        room.soft.take_line((*outline, outline[0]), 0.5 * k)
    things: list[Opening | Box] = [*world.plan.openings, *world.plan.boxes]
    for thing in things:
        place = world.place(thing.surface)
        if place is not None and len(thing.outline) >= 3:
            outline = place.line_to_sheet(thing.outline)
            room.soft.take_line((*outline, outline[0]), 0.5 * k)


# --- names of devices ------------------------------------------------------------------------------------------------


def _device_names(world: World, room: Rooms, labels: Labels, inside: bool) -> None:
    """First the names inside their boxes, which disturb nothing; later those beside them."""
    k = world.k
    for device in world.plan.devices:
        place = world.place(device.surface)
        key = f"name:{device.id}"
        if place is None or not device.name or key in labels.texts:
            continue
        left, low, right, high = bounds(body_of(device, place, k))
        if inside:
            if device.kind not in ("light", "fan"):
                marks = _inside(device, (left + right) / 2, (low + high) / 2, right - left, high - low, k)
                if marks:
                    labels.texts[key] = marks
            continue
        size = NAME_MM * k
        gap, cap = 1.0 * k, cap_mm("label_medium", NAME_MM) * k
        name = shorten(device.name, CUTS["label_medium"], size, 34 * k)
        line = (Line(name, size, "label_medium"),)
        mid_x, mid_y = (left + right) / 2, (low + high) / 2
        options: list[tuple[Point, Anchor]] = [
            ((right + gap, mid_y - cap / 2), "left"),
            ((mid_x, high + gap), "middle"),
            ((mid_x, low - gap - cap), "middle"),
            ((left - gap, mid_y - cap / 2), "right"),
            ((right + gap, high - cap / 2), "left"),
            ((left - gap, high - cap / 2), "right"),
            ((right + gap, low - cap / 2), "left"),
            ((left - gap, low - cap / 2), "right"),
            ((left, high + gap), "left"),
            ((right, high + gap), "right"),
            ((left, low - gap - cap), "left"),
            ((right, low - gap - cap), "right"),
        ]
        number = room.place(block_quad(at, line, anchor) for at, anchor in options)
        if number is not None:
            labels.texts[key] = block_marks(device.id, options[number][0], line, options[number][1])


def _inside(device: Device, x: float, y: float, wide: float, high: float, k: float) -> tuple[AnyMark, ...]:
    """The name in the middle of its box, on one line or two, a little smaller if it must be."""
    for size_mm in (NAME_MM, SMALL_MM * 0.93):
        size = size_mm * k
        free = wide - 1.2 * k
        if width_mm(device.name, "label_medium", size) <= free and high >= size * 1.1:
            return _stack(device.id, (device.name,), x, y, size)
        words = device.name.split(" ")
        splits = [(" ".join(words[:n]), " ".join(words[n:])) for n in range(1, len(words))]
        splits.sort(key=lambda two: max(width_mm(part, "label_medium", size) for part in two))
        fitting = [two for two in splits if max(width_mm(part, "label_medium", size) for part in two) <= free]
        if fitting and high >= size * 2.4:
            return _stack(device.id, fitting[0], x, y, size)
    return ()


def _stack(subject: str, lines: Sequence[str], x: float, y: float, size: float) -> tuple[AnyMark, ...]:
    pitch = size * 1.2
    top = y + pitch * (len(lines) - 1) / 2
    return tuple(
        TextMark(
            style="text",
            subject=subject,
            at_mm=(x, top - number * pitch),
            text=text,
            size_mm=size,
            anchor="middle",
            baseline="middle",
            font="label_medium",
        )
        for number, text in enumerate(lines)
    )


# --- names of boxes, openings, zones, panels -------------------------------------------------------------------------


def _box_names(world: World, room: Rooms, labels: Labels) -> None:
    k = world.k
    for box in world.plan.boxes:
        place = world.place(box.surface)
        if place is None or len(box.outline) < 3 or box.kind == "wheel_arch":
            continue
        outline = place.line_to_sheet(box.outline)
        frame = bounds(outline)
        free = frame[2] - frame[0] - 2.4 * k
        size_line = Line(_box_words(box), SMALL_MM * k, "label", "text:muted")
        fits = width_mm(size_line.text, "label", SMALL_MM * k) <= free
        blocks: list[tuple[Line, ...]] = []
        for texts in _name_lines(box.name, NAME_MM * k, free):
            name = tuple(Line(text, NAME_MM * k, "label_bold") for text in texts)
            blocks += [(*name, size_line), name] if fits else [name]
        for lines in blocks:
            if _place_inside(box.id, frame, lines, room, labels, k):
                break


def _name_lines(name: str, size_mm: float, free_mm: float) -> list[tuple[str, ...]]:
    """Ways to set a name: on one line, on two, and on one cut off with an ellipsis."""
    cut = CUTS["label_bold"]
    if width_mm(name, "label_bold", size_mm) <= free_mm:
        return [(name,)]
    broken = wrap(name, cut, size_mm, free_mm)
    whole_words = " ".join(broken) == name
    short = shorten(name, cut, size_mm, free_mm)
    return ([broken] if len(broken) == 2 and whole_words else []) + ([(short,)] if short else [])


def _box_words(box: Box) -> str:
    left, low, right, high = bounds(box.outline)
    if box.base_mm > 0:
        return f"underside {size_words(box.base_mm)} mm above"
    return size_words(right - left, high - low, box.height_mm)


def _place_inside(
    subject: str,
    frame: tuple[float, float, float, float],
    lines: tuple[Line, ...],
    room: Rooms,
    labels: Labels,
    k: float,
    key: str = "",
) -> bool:
    """Put a block at one of the places along the inside of a frame."""
    left, low, right, high = frame
    pad = 1.3 * k
    cap = cap_mm(lines[0].font, lines[0].size_mm)
    deep = cap + sum(line.size_mm * 1.32 for line in lines[1:]) + lines[-1].size_mm * 0.25
    wide = max(width_mm(line.text, line.font, line.size_mm) for line in lines)
    if wide > right - left - 1.6 * k or deep > high - low - 1.2 * k:
        return False
    tops = [high - pad - cap, low + pad + deep - cap]
    steps = max(1, min(8, int((high - low) / (4 * k))))
    tops += [high - pad - cap + (tops[1] - tops[0]) * n / steps for n in range(1, steps)]
    options: list[tuple[Point, Anchor]] = []
    for top in tops:
        options += [((left + pad, top), "left"), ((right - pad, top), "right"), (((left + right) / 2, top), "middle")]
    number = room.place(block_quad(at, lines, anchor) for at, anchor in options)
    if number is None:
        return False
    labels.texts[key or f"name:{subject}"] = block_marks(subject, options[number][0], lines, options[number][1])
    return True


def _area_names(world: World, room: Rooms, labels: Labels) -> None:
    """Quiet names in the middle of openings, zones and wheel arches; of panels in a corner."""
    k = world.k
    arches = [box for box in world.plan.boxes if box.kind == "wheel_arch"]
    things: list[Opening | KeepOutZone | Box] = [*world.plan.openings, *world.plan.zones, *arches]
    for thing in things:
        place = world.place(thing.surface)
        name = thing.name or (thing.kind.replace("_", " ") if isinstance(thing, KeepOutZone) else "")
        if place is None or not name or len(thing.outline) < 3:
            continue
        outline = place.line_to_sheet(thing.outline)
        left, low, right, high = bounds(outline)
        text = shorten(name, CUTS["label"], SMALL_MM * k, right - left - 1.6 * k)
        if len(text) < min(4, len(name)) or high - low < SMALL_MM * 1.3 * k:
            continue
        line = (Line(text, SMALL_MM * k, "label", "text:muted"),)
        cap = cap_mm("label", SMALL_MM) * k
        x, y = inner_point(outline)
        options: list[tuple[Point, Anchor]] = [
            ((x, y - cap / 2 + (high - low) * lift), "middle") for lift in (0.0, 0.2, -0.2, 0.35, -0.35)
        ]
        number = room.place(block_quad(at, line, anchor) for at, anchor in options)
        if number is not None:
            labels.texts[f"name:{thing.id}"] = block_marks(thing.id, options[number][0], line, options[number][1])
    for panel in world.plan.panels:
        _panel_name(world, panel, room, labels)


def _panel_name(world: World, panel: Panel, room: Rooms, labels: Labels) -> None:
    place, k = world.place(panel.surface), world.k
    if place is None or not panel.name or len(panel.outline) < 3:
        return
    frame = bounds(place.line_to_sheet(panel.outline))
    closed = panel.close_out is not None and bool(panel.close_out.closed_on)
    words = f"{panel.name}, closed" if closed else panel.name
    text = shorten(words, CUTS["label"], SMALL_MM * 0.9 * k, frame[2] - frame[0] - 2.6 * k)
    if text:
        _place_inside(panel.id, frame, (Line(text, SMALL_MM * 0.9 * k, "label", "text:muted"),), room, labels, k)
