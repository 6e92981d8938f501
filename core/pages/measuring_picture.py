"""What to measure of a vehicle: side, plan and rear view with numbered dimension lines, true in their proportions.

The numbers are those of the form (`numbers`); openings have letters (`letters`). The nose points to the left, as on the
sheet; the side view shows the vehicle's left from outside, openings of the far side dashed.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import hypot

from core.edits.measurements import Measurements, WallOpening, fields_of, section_of
from core.geometry.section import places_of
from core.model import Point
from core.pages.lettering import text_mark, width_mm
from core.pages.marks import AnyMark, AreaMark, CircleMark, LineMark, TextMark
from core.text import mm

#: Distance of a dimension line from what it measures, and of two of them from each other.
STEP_MM = 7.5
BALL_MM = 2.3
NUMBER_MM = 2.9
VALUE_MM = 2.7
TITLE_MM = 2.7
GAP_MM = 8.0
#: Front of the vehicle before the load space, in shares of the height: corners from the roof down (y up).
NOSES: dict[str, tuple[Point, ...]] = {
    "van": ((0.0, 1.0), (-0.22, 0.98), (-0.52, 0.58), (-0.86, 0.46), (-0.92, 0.28), (-0.92, -0.06), (0.0, -0.06)),
    "flat": ((0.0, 1.0), (-0.32, 0.98), (-0.40, 0.45), (-0.40, -0.10), (0.0, -0.10)),
    "cab": ((-0.06, 0.80), (-0.34, 0.80), (-0.48, 0.42), (-0.52, 0.35), (-0.52, -0.12), (-0.06, -0.12)),
    "drawbar": ((0.0, 0.04), (-0.42, -0.02), (-0.42, -0.07), (0.0, -0.07)),
    "bow": ((0.0, 0.55), (-0.75, 0.55), (-0.5, -0.05), (0.0, -0.05)),
}
NOSE_OF = {
    "small_van": "van",
    "mid_van": "van",
    "high_roof": "van",
    "boxy_bus": "flat",
    "truck_body": "cab",
    "trailer": "drawbar",
    "boat_cabin": "bow",
}


def numbers(form: Measurements) -> dict[str, int]:
    """The number of each field of the form, in the order of the form."""
    return {row.key: number for number, row in enumerate(fields_of(form.body), start=1)}


def letters(form: Measurements) -> tuple[str, ...]:
    """A letter for each opening of the form: a, b ... z, aa, ab ..."""
    found = []
    for number in range(len(form.openings)):
        first, last = divmod(number, 26)
        found.append((chr(ord("a") + first - 1) if first else "") + chr(ord("a") + last))
    return tuple(found)


@dataclass
class _View:
    """One view: where its origin lies on paper, its scale, and the marks so far."""

    left: float
    low: float
    scale: float
    form: Measurements
    values: bool
    chosen: str
    marks: list[AnyMark] = field(default_factory=list)

    def at(self, p: Point) -> Point:
        return self.left + p[0] * self.scale, self.low + p[1] * self.scale

    def line(self, points: Sequence[Point], style: str = "outline", closed: bool = False) -> None:
        self.marks.append(LineMark(style=style, points_mm=tuple(map(self.at, points)), closed=closed))

    def area(self, points: Sequence[Point], style: str) -> None:
        self.marks.append(AreaMark(style=style, outline_mm=tuple(map(self.at, points))))

    def dimension(self, key: str, a: Point, b: Point, step: float, share: float = 0.5) -> None:
        """The field's dimension line from a to b, `step` lines to the left of that direction; its number on it."""
        number = numbers(self.form).get(key)
        if number is None:
            return
        (ax, ay), (bx, by) = self.at(a), self.at(b)
        size = hypot(bx - ax, by - ay)
        if size < 0.5:
            return
        ux, uy = (bx - ax) / size, (by - ay) / size
        away = step * STEP_MM
        nx, ny = -uy * away, ux * away
        chosen = key == self.chosen
        style = "select" if chosen else "dimension"
        over = 1.2 if away > 0 else -1.2
        for x, y in ((ax, ay), (bx, by)):
            if away:
                tail = (x + nx - uy * over, y + ny + ux * over)
                self.marks.append(LineMark(style="dimension", points_mm=((x, y), tail), subject=key))
            foot, dx, dy = (x + nx, y + ny), (ux - uy) * 0.9, (uy + ux) * 0.9
            tick = ((foot[0] - dx, foot[1] - dy), (foot[0] + dx, foot[1] + dy))
            self.marks.append(LineMark(style="dimension:tick", points_mm=tick, subject=key))
        start, end = (ax + nx, ay + ny), (bx + nx, by + ny)
        self.marks.append(LineMark(style=style, points_mm=(start, end), subject=key))
        middle = (start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share)
        self._ball(key, str(number), middle, chosen)
        if self.values:
            self._value(key, middle, abs(ux) > abs(uy))

    def _ball(self, key: str, text: str, at: Point, chosen: bool) -> None:
        style = "select:fill" if chosen else "note"
        self.marks.append(CircleMark(style="blank", centre_mm=at, radius_mm=BALL_MM, filled=True))
        self.marks.append(CircleMark(style=style, centre_mm=at, radius_mm=BALL_MM, filled=True, subject=key))
        self.marks.append(
            TextMark(
                style="text", at_mm=at, text=text, size_mm=NUMBER_MM, anchor="middle", baseline="middle",
                font="label_bold", subject=key,
            )
        )  # fmt: skip

    def _value(self, key: str, at: Point, level: bool) -> None:
        """The value beside its number: plain where measured, grey and with a sign where it is only assumed."""
        assumed = self.form.known(key) == "assumed"
        text = f"{'≈ ' if assumed else ''}{mm(self.form.mm(key))}"
        style = "text:muted" if assumed else "text"
        size = width_mm(text, "label_medium", VALUE_MM)
        if level:
            left, y = at[0] - size / 2, at[1] + BALL_MM + 0.7
        else:
            left, y = at[0] + BALL_MM + 0.8, at[1] - 0.9
        right = left + size
        box = ((left - 0.3, y - 0.4), (right + 0.3, y - 0.4), (right + 0.3, y + 2.2), (left - 0.3, y + 2.2))
        self.marks.append(AreaMark(style="blank", outline_mm=box))
        self.marks.append(text_mark(left, y, text, VALUE_MM, font="label_medium", style=style))

    def letter(self, row: WallOpening, letter: str, middle: Point) -> None:
        chosen = row.name == self.chosen
        at = self.at(middle)
        style = "text:accent" if chosen else "text"
        self.marks.append(
            TextMark(
                style=style, at_mm=at, text=letter, size_mm=3.2, anchor="middle", baseline="middle",
                font="label_bold", subject=row.name,
            )
        )  # fmt: skip

    def title(self, text: str, below: Point) -> None:
        x, y = self.at(below)
        self.marks.append(text_mark(x, y, text, TITLE_MM, font="text_medium", style="text:muted"))


def measuring_picture(
    form: Measurements,
    width: float,
    height: float,
    values: bool = True,
    chosen: str = "",
    left: float = 0.0,
    bottom: float = 0.0,
) -> tuple[AnyMark, ...]:
    """The picture within a rectangle of paper or screen millimetres.

    `values` writes the form's values beside the numbers (off for a sheet to fill by hand); `chosen` is the key of a
    field or the name of an opening to be lit. The subject of a mark is the key of its field or the opening's name.
    """
    shape = section_of(form)
    points = (*shape.wall, *shape.roof)
    wide, high = 2 * max(y for y, _ in points), max(z for _, z in points)
    length, floor = form.mm("length"), form.mm("floor_width")
    nose = NOSES[NOSE_OF[form.body]]
    front = -min(x for x, _ in nose) * high
    # Room for dimension lines and titles, in lines: over, between and under the views; beside and between them.
    room_x, room_y = 9.0 * STEP_MM + GAP_MM, 9.8 * STEP_MM
    beside = min((width - room_x) / (front + length + wide), (height - room_y) / (high + floor))
    # Or the section below the nose, where there is nothing else.
    low, reach = max(floor, high), max(front, wide + 4.4 * STEP_MM / max(beside, 1e-3))
    below = min((width - 6.2 * STEP_MM) / (reach + length), (height - room_y) / (high + low))
    scale = max(beside, below, 1e-3)
    if below > beside:
        spare_x = width - scale * (max(front, wide) + length) - 10.0 * STEP_MM
        spare_y = height - scale * (high + low) - room_y
        view_left = left + 6.8 * STEP_MM + scale * max(front, wide) + spare_x / 2
        rear_left = left + 2.2 * STEP_MM + scale * wide / 2 + spare_x / 3
        plan_low = bottom + 2.4 * STEP_MM + spare_y / 3
        rear_low, side_low = plan_low, plan_low + scale * low + 3.6 * STEP_MM + spare_y / 3
    else:
        spare_x = width - scale * (front + length + wide) - room_x
        spare_y = height - scale * (high + floor) - room_y
        view_left = left + 0.5 * STEP_MM + scale * front + spare_x / 4
        rear_left = view_left + scale * length + 3.2 * STEP_MM + GAP_MM + scale * wide / 2 + spare_x / 3
        plan_low = bottom + 1.4 * STEP_MM + spare_y / 3
        rear_low = side_low = plan_low + scale * floor + 3.6 * STEP_MM + spare_y / 3
    side, plan, rear = (
        _View(x, y, scale, form, values, chosen)
        for x, y in ((view_left, side_low), (view_left, plan_low), (rear_left, rear_low))
    )
    _side_view(side, nose, high)
    _plan_view(plan)
    _rear_view(rear, high)
    return (*side.marks, *plan.marks, *rear.marks)


def _side_view(view: _View, nose: Sequence[Point], high: float) -> None:
    form = view.form
    length, side = form.mm("length"), form.mm("side_height")
    view.line([(x * high, z * high) for x, z in nose], "note:line")
    view.area(((0, 0), (length, 0), (length, side), (0, side)), "outline:ground")
    _wheels(view, length, high)
    _side_ribs(view, length, side)
    b = length - form.mm("arch_from_rear")
    a, top = b - form.mm("arch_length"), form.mm("arch_height")
    if form.mm("arch_length") > 0:
        view.area(((a, 0), (b, 0), (b, top), (a, top)), "box:arch")
        view.line(((a, 0), (b, 0), (b, top), (a, top)), "outline", closed=True)
    view.line(((0, 0), (length, 0), (length, side), (length, high), (0, high), (0, side)), "outline", closed=True)
    view.line(((0, side), (length, side)), "dimension")
    shoulder = form.mm("shoulder_height")
    view.line(((0, shoulder), (length, shoulder)), "seam")
    _openings(view, ("left",), "opening")
    _openings(view, ("right",), "opening:door")
    if form.mm("arch_length") > 0:
        view.dimension("arch_length", (a, 0), (b, 0), -1)
        view.dimension("arch_from_rear", (b, 0), (length, 0), -1)
        view.dimension("arch_height", (a, 0), (a, top), 0.9)
    _rib_dimensions(view, length, side)
    view.dimension("length", (0, 0), (length, 0), -2)
    view.title("Side: vehicle left from outside (far side dashed)", (0, high + 2.95 * STEP_MM / view.scale))


def _wheels(view: _View, length: float, high: float) -> None:
    form = view.form
    if form.body == "boat_cabin":
        return
    size = form.mm("arch_length") or 0.26 * high
    middle = length - form.mm("arch_from_rear") - size / 2 if form.mm("arch_length") > 0 else length * 0.6
    centre = view.at((middle, -0.02 * high))
    radius = min(size * 0.36, 0.19 * high) * view.scale
    view.marks.append(CircleMark(style="note:line", centre_mm=centre, radius_mm=radius))


def _side_ribs(view: _View, length: float, side: float) -> None:
    form = view.form
    first, pitch, width = form.mm("rib_first"), form.mm("rib_pitch"), form.mm("rib_width")
    if pitch <= 0:
        return
    for at in places_of(length, pitch, first):
        view.area(((at - width / 2, 0), (at + width / 2, 0), (at + width / 2, side), (at - width / 2, side)), "rib")


def _rib_dimensions(view: _View, length: float, side: float) -> None:
    form = view.form
    first, pitch, width = form.mm("rib_first"), form.mm("rib_pitch"), form.mm("rib_width")
    if pitch <= 0:
        return
    top = view.form.mm("centre_height")
    view.dimension("rib_first", (0, top), (first, top), 0.9)
    if first + pitch < length:
        # A line higher, so that the numbers of narrow bays do not touch.
        view.dimension("rib_pitch", (first, top), (first + pitch, top), 2.0)
    last = places_of(length, pitch, first)[:4][-1:]
    for at in last:
        # Beside the first two it would cover their numbers: on the rib itself then.
        beside = at < first + 2 * pitch
        level, step = (side * 0.4, 0.0) if beside else (top, 0.9)
        view.dimension("rib_width", (at - width / 2, level), (at + width / 2, level), step)


def _plan_view(view: _View) -> None:
    form = view.form
    length, width, less = form.mm("length"), form.mm("floor_width"), form.mm("taper") / 2
    floor = ((0, less), (length, 0), (length, width), (0, width - less))
    view.area(floor, "outline:floor")
    view.line(floor, "outline", closed=True)
    if form.mm("arch_length") > 0:
        deep = (width - form.mm("arch_gap")) / 2
        b = length - form.mm("arch_from_rear")
        a = b - form.mm("arch_length")
        for low in (0.0, width - deep):
            arch = ((a, low), (b, low), (b, low + deep), (a, low + deep))
            view.area(arch, "box:arch")
            view.line(arch, "outline", closed=True)
        view.dimension("arch_gap", (a, deep), (a, width - deep), 0.7, 0.25)
    view.dimension("floor_width", (length, 0), (length, width), -1)
    if less:
        view.dimension("taper", (0, 0), (0, 2 * less), 1)
        view.line(((0, 0), (length, 0)), "dimension")
    for row, letter in zip(form.openings, letters(form), strict=True):
        if row.on == "roof":
            y = width / 2 + form.mm("roof_width") / 2 - row.up_mm - row.height_mm
            corners = _rectangle(row.from_mm, y, row.width_mm, row.height_mm)
            view.line(corners, "opening:door", closed=True)
            view.letter(row, letter, (row.from_mm + row.width_mm / 2, y + row.height_mm / 2))
    view.title("Floor from above; vehicle right is up", (0, -1.0 * STEP_MM / view.scale))


def _rear_view(view: _View, high: float) -> None:
    """Looking to the front from behind: vehicle left is at the left."""
    form = view.form
    shape = section_of(form)
    outline = shape.outline
    view.area(outline, "outline:ground")
    view.line(outline, "outline", closed=True)
    for row, letter in zip(form.openings, letters(form), strict=True):
        corners = _at_rear(form, row)
        if corners:
            view.line(corners, "opening:door", closed=True)
            view.letter(row, letter, ((corners[0][0] + corners[2][0]) / 2, (corners[0][1] + corners[2][1]) / 2))
    if form.rear == "leaves":
        view.line(((0, 0), (0, high)), "dimension")
    half, shoulder = form.mm("shoulder_width") / 2, form.mm("shoulder_height")
    roof, side = form.mm("roof_width") / 2, form.mm("side_height")
    edge = max(half, roof)
    view.line(((-edge, high), (0, high)), "dimension")
    view.dimension("centre_height", (-edge, 0), (-edge, high), 1.7)
    view.dimension("shoulder_width", (-half, shoulder), (half, shoulder), 0, 0.5)
    view.dimension("roof_width", (-roof, side), (roof, side), 0, 0.5)
    view.dimension("shoulder_height", (edge, 0), (edge, shoulder), -1)
    view.dimension("side_height", (edge, 0), (edge, side), -2.4)
    floor = form.mm("floor_width") / 2
    view.line(((-floor, 0), (floor, 0)), "outline")
    if form.mm("rib_depth") > 0:
        view.title(f"Rib depth ({numbers(form)['rib_depth']}): skin to face", (-edge, -2.1 * STEP_MM / view.scale))
    view.title("Section, looking to the front", (-edge, -1.5 * STEP_MM / view.scale))


def _at_rear(form: Measurements, row: WallOpening) -> tuple[Point, ...]:
    low, near, far = row.up_mm, row.from_mm, row.from_mm + row.width_mm
    half = form.mm("floor_width") / 2
    if row.on == "rear left":
        return _rectangle(-far, low, row.width_mm, row.height_mm)
    if row.on == "rear right":
        return _rectangle(near, low, row.width_mm, row.height_mm)
    if row.on in ("rear", "front"):
        return _rectangle(near - half, low, row.width_mm, row.height_mm)
    return ()


def _rectangle(x: float, y: float, wide: float, high: float) -> tuple[Point, ...]:
    return (x, y), (x + wide, y), (x + wide, y + high), (x, y + high)


def _openings(view: _View, on: Sequence[str], style: str) -> None:
    for row, letter in zip(view.form.openings, letters(view.form), strict=True):
        if row.on in on:
            corners = _rectangle(row.from_mm, row.up_mm, row.width_mm, row.height_mm)
            if style == "opening":
                view.area(corners, style)
            else:
                view.line(corners, style, closed=True)
            share = 0.5 if style == "opening" else 0.2
            view.letter(row, letter, (row.from_mm + row.width_mm * share, row.up_mm + row.height_mm * (1 - share)))
