"""The survey sheet: what to measure of a bare vehicle, to fill in by hand, and what of a plan is still assumed."""

from collections.abc import Iterator, Sequence

from core.analysis.analysis import Analysis
from core.edits.measurements import ON_WORDS, OPENING_HELP, BodyName, Field, Measurements, bodies, fields_of, typical
from core.geometry.edges import edge_length_mm
from core.model import Plan, Surface
from core.pages.frame import Frame, frame
from core.pages.lettering import fitted, lines, text_mark
from core.pages.marks import AnyMark, LineMark, Page
from core.pages.measuring_picture import letters, measuring_picture, numbers
from core.pages.paper import Imprint, Paper, paper
from core.text import mm

TITLE = "Survey sheet"
PICTURE_MM = 132.0
ROW_MM = 9.2
NAME_MM = 3.4
HELP_MM = 2.5
HEAD_MM = 3.8
#: Width of a line to write on.
BLANK_MM = 24.0
#: Pitch of the grid to sketch on.
GRID_MM = 5.0
MOST_SURFACES = 200


def survey_pages(
    form: Measurements, imprint: Imprint, values: bool = False, on: Paper | None = None
) -> tuple[Page, ...]:
    """The sheet for a body: the picture with its numbers, a line to write on for each, openings, and room to sketch.

    `values` prints what the form holds beside the lines, for measuring again. Typical sizes are never printed as if
    they were measured.
    """
    on = on or paper(imprint.choices.paper, "portrait")
    rows = _opening_rows(form)
    first = frame(on, imprint, f"{TITLE}: {_name(form.body)}", 1, 2)
    second = frame(on, imprint, f"{TITLE}: {_name(form.body)}", 2, 2)
    return (
        _page(on, first, _first(form, first, values)),
        _page(on, second, _second(second, rows, values, form)),
    )


def survey_of_plan(analysis: Analysis, imprint: Imprint) -> tuple[Page, ...]:
    """The paper of a plan: the blank sheet of its body, and a page of what in it is assumed, not measured."""
    pages = survey_pages(typical(body_of(analysis.plan), analysis.plan.vehicle.driver_side), imprint)
    assumed = [surface for surface in analysis.plan.surfaces if surface.known == "assumed"][:MOST_SURFACES]
    if not assumed:
        return pages
    on = paper(imprint.choices.paper, "portrait")
    return (*pages, *_assumed_pages(assumed, on, imprint))


def body_of(plan: Plan) -> BodyName:
    """The body a plan was made for, by the words about its vehicle; a mid van where they tell nothing."""
    for body in bodies():
        if plan.vehicle.description.lower().startswith(body.name.lower()):
            return body.key
    return "mid_van"


def _name(body: BodyName) -> str:
    return next(each.name for each in bodies() if each.key == body)


def _page(on: Paper, around: Frame, marks: Sequence[AnyMark]) -> Page:
    return Page(width_mm=on.width_mm, height_mm=on.height_mm, marks=(*around.marks, *marks), title=TITLE)


def _first(form: Measurements, area: Frame, values: bool) -> list[AnyMark]:
    y = area.top - 3.0
    marks: list[AnyMark] = list(
        measuring_picture(
            form, area.right - area.left, PICTURE_MM, values, left=area.left, bottom=y - PICTURE_MM
        )
    )  # fmt: skip
    y -= PICTURE_MM + 6.0
    note = "Measure twice, inside the bare shell, in mm. Leave empty what you did not measure: it stays assumed."
    marks.append(text_mark(area.left, y, note, 2.9, font="text", style="text:muted"))
    y -= 4.0
    fields = fields_of(form.body)
    half = (len(fields) + 1) // 2
    wide = (area.right - area.left - 8.0) / 2
    for column, part in enumerate((fields[:half], fields[half:])):
        left, top = area.left + column * (wide + 8.0), y
        for field in part:
            top -= ROW_MM
            marks += _field_row(form, field, left, top, wide, values)
    return marks


def _field_row(form: Measurements, field: Field, left: float, y: float, wide: float, values: bool) -> Iterator[AnyMark]:
    number = numbers(form)[field.key]
    room = wide - BLANK_MM - 11.0
    yield text_mark(left, y + 3.0, f"{number}", NAME_MM, font="label_bold")
    label = fitted(field.label, "label_medium", NAME_MM, room)
    yield text_mark(left + 6.0, y + 3.0, label, NAME_MM, font="label_medium")
    told = lines(field.help, "label", HELP_MM, wide - 6.0)
    yield text_mark(left + 6.0, y - 0.4, told[0], HELP_MM, style="text:muted")
    yield from _blank(left + wide - BLANK_MM - 5.0, y + 2.6, BLANK_MM)
    yield text_mark(left + wide, y + 3.0, "mm", HELP_MM, style="text:muted", anchor="right")
    if values and form.known(field.key) == "measured":
        at = left + wide - BLANK_MM / 2 - 5.0
        yield text_mark(at, y + 3.2, mm(form.mm(field.key)), NAME_MM, font="label_bold", anchor="middle")


def _blank(left: float, y: float, wide: float) -> Iterator[AnyMark]:
    yield LineMark(style="dimension", points_mm=((left, y), (left + wide, y)))


def _opening_rows(form: Measurements) -> list[tuple[str, str, str, tuple[str, ...]]]:
    """Letter, name, where, and the values measured; some empty rows at the end for what the typical body has not."""
    rows = []
    for row, letter in zip(form.openings, letters(form), strict=True):
        shown = tuple(
            mm(each) if row.known == "measured" else ""
            for each in (row.from_mm, row.up_mm, row.width_mm, row.height_mm)
        )
        rows.append((letter, row.name, ON_WORDS[row.on], shown))
    empty = max(3, 9 - len(rows))
    return [*rows, *(("", "", "", ("", "", "", "")) for _ in range(empty))]


def _second(
    area: Frame, rows: Sequence[tuple[str, str, str, tuple[str, ...]]], values: bool, form: Measurements
) -> list[AnyMark]:
    left, right, y = area.left, area.right, area.top - 8.0
    marks: list[AnyMark] = [text_mark(left, y, "Doors, windows and roof openings", HEAD_MM, font="label_bold")]
    columns = ("from", "up", "width", "height")
    wide = 20.0
    first = right - 4 * wide
    y -= 6.0
    for number, word in enumerate(columns):
        marks.append(text_mark(first + number * wide + 2, y, word, HELP_MM, style="text:muted"))
    row_mm = min(8.0, (area.top - area.bottom) * 0.5 / max(len(rows), 1))
    for letter, name, where, shown in rows:
        y -= row_mm
        marks.append(text_mark(left, y + 1.6, letter, NAME_MM, font="label_bold"))
        if name:
            called = fitted(name, "label_medium", NAME_MM, 46)
            marks.append(text_mark(left + 6, y + 1.6, called, NAME_MM, font="label_medium"))
            marks.append(text_mark(left + 54, y + 1.6, where, HELP_MM, style="text:muted"))
        else:
            marks += [*_blank(left + 6, y + 1.0, 44), *_blank(left + 54, y + 1.0, 44)]
        for number, value in enumerate(shown):
            x = first + number * wide
            marks += _blank(x + 2, y + 1.0, wide - 4)
            if values and value:
                marks.append(text_mark(x + wide / 2, y + 1.6, value, NAME_MM, font="label_bold", anchor="middle"))
    y -= 4.0
    for on in dict.fromkeys(row.on for row in form.openings):
        along, up = OPENING_HELP[on]
        text = f"{ON_WORDS[on].capitalize()}: “from” is measured {along}; “up” {up}."
        for line in lines(text, "text", HELP_MM, right - left):
            y -= 3.4
            marks.append(text_mark(left, y, line, HELP_MM, font="text", style="text:muted"))
    y -= 8.0
    marks.append(text_mark(left, y, "Sketch: what the picture does not show (pillars, braces, holes, lights)", HEAD_MM,
                           font="label_bold"))  # fmt: skip
    marks += _grid(left, area.bottom + 5.0, right, y - 4.0)
    return marks


def _grid(left: float, low: float, right: float, top: float) -> Iterator[AnyMark]:
    across, up = int((right - left) / GRID_MM), int((top - low) / GRID_MM)
    if across < 1 or up < 1:
        return
    right, low = left + across * GRID_MM, top - up * GRID_MM
    for number in range(across + 1):
        x = left + number * GRID_MM
        yield LineMark(style="grid", points_mm=((x, low), (x, top)))
    for number in range(up + 1):
        y = low + number * GRID_MM
        yield LineMark(style="grid", points_mm=((left, y), (right, y)))


def _assumed_pages(surfaces: Sequence[Surface], on: Paper, imprint: Imprint) -> Iterator[Page]:
    """Each assumed surface with its edges as they are drawn, and a line for what the tape says."""
    title = "Still to be measured"
    blank = frame(on, imprint, title, 1, 1)
    per_page = max(1, int((blank.top - blank.bottom - 16.0) / (2 * ROW_MM)))
    groups = [surfaces[n : n + per_page] for n in range(0, len(surfaces), per_page)]
    for page, group in enumerate(groups, start=1):
        area = frame(on, imprint, title, page, len(groups))
        marks: list[AnyMark] = []
        y = area.top - 6.0
        note = "Assumed so far. Edges in their order round the surface, as drawn: write what the tape says."
        marks.append(text_mark(area.left, y, note, HELP_MM, font="text", style="text:muted"))
        for surface in group:
            y -= 2 * ROW_MM
            marks += _surface_row(surface, area, y)
        yield _page(on, area, marks)


def _surface_row(surface: Surface, area: Frame, y: float) -> Iterator[AnyMark]:
    wide = area.right - area.left
    yield text_mark(area.left, y + 10.5, fitted(surface.name, "label_bold", NAME_MM, 70), NAME_MM, font="label_bold")
    if surface.note:
        told = fitted(surface.note, "text", HELP_MM, wide - 74)
        yield text_mark(area.left + 74, y + 10.5, told, HELP_MM, font="text", style="text:muted")
    count = len(surface.corners)
    step = min(wide / count, 30.0)
    for number, corner in enumerate(surface.corners):
        x = area.left + number * step
        size = edge_length_mm(surface, corner.id) or 0.0
        yield text_mark(x, y + 6.6, mm(size), HELP_MM, style="text:muted")
        yield from _blank(x, y + 1.0, step - 3.0)
    yield LineMark(style="grid", points_mm=((area.left, y - 2.2), (area.right, y - 2.2)))
