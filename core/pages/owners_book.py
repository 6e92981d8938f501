"""The owner's book: everything the keeper of the vehicle and an inspector need, bound as one paper."""

from core.analysis.analysis import Analysis
from core.model import Photo
from core.pages.leaves import Leaf, blank, bound
from core.pages.lettering import Font, fitted, lines, text_mark
from core.pages.marks import AnyMark, AreaMark, ImageMark, LineMark, Page
from core.pages.paper import Imprint, paper
from core.pages.sheet_placement import upright
from core.pages.sheet_things import pixels
from core.pages.table_pages import flowing_leaves
from core.pages.transform import Rect
from core.tables.closing import close_out_sheet
from core.tables.fuse_map import fuse_map
from core.tables.handing_over import always_live, as_pulled, inspection, results_of_tests, waivers
from core.tables.names import Names
from core.tables.reach import spare_ducts, where_to_find
from core.tables.schedules import circuit_schedule, wire_table
from core.tables.table import Table
from core.tables.workshop import findings_list
from core.text import mm

TITLE = "Owner's book"
#: Photos on a page, across and down.
PHOTOS = (2, 2)
CAPTION_MM = 3.4


def owners_book_pages(analysis: Analysis, imprint: Imprint) -> tuple[Page, ...]:
    """Cover with contents, then the chapters; a chapter that has nothing to say is left out, but for the waivers."""
    on = paper(imprint.choices.paper, "landscape")
    chapters: list[tuple[str, tuple[Leaf, ...]]] = []
    for title, tables, always in _chapters(analysis):
        kept = [table for table in tables if table.rows or always]
        if kept:
            leaves = flowing_leaves(title, kept, on, imprint, follows=True)
            chapters.append((title, leaves))
    photos = _photo_leaves(analysis, imprint)
    if photos:
        chapters.append(("Photos", photos))
    cover = _cover(analysis, imprint, [(title, len(leaves)) for title, leaves in chapters])
    return bound((cover, *(leaf for _, leaves in chapters for leaf in leaves)), imprint)


def _chapters(analysis: Analysis) -> tuple[tuple[str, tuple[Table, ...], bool], ...]:
    return (
        ("Fuse map", (fuse_map(analysis),), False),
        ("What stays live", (always_live(analysis),), False),
        ("Where to find it", (where_to_find(analysis), spare_ducts(analysis)), False),
        ("Circuit schedule", (circuit_schedule(analysis),), False),
        ("Wires", (wire_table(analysis),), False),
        ("Tests and close-out", (results_of_tests(analysis), as_pulled(analysis), close_out_sheet(analysis)), False),
        ("Findings", (findings_list(analysis),), True),
        ("Waivers", (waivers(analysis),), True),
        ("For the inspector", (inspection(analysis),), True),
    )


def _cover(analysis: Analysis, imprint: Imprint, chapters: list[tuple[str, int]]) -> Leaf:
    """Name, vehicle, customer, revisions, and the contents with their pages."""
    on = paper(imprint.choices.paper, "landscape")
    free = blank(on, imprint, TITLE)
    plan = analysis.plan
    middle = (free.left + free.right) / 2
    y = free.top - 18
    marks: list[AnyMark] = []
    texts: list[tuple[str, Font, float]] = [(plan.name, "label_bold", 11.0), (plan.vehicle.description, "text", 4.2)]
    if plan.build_for == "customer" and plan.customer.name:
        texts.append((f"For {plan.customer.name} {plan.customer.reference}".strip(), "text", 4.2))
    if plan.revisions:
        last = plan.revisions[-1]
        texts.append((f"Revision {last.letter} {last.on} {last.note}".strip(), "text", 3.6))
    for text, font, size in texts:
        for line in lines(text, font, size, middle - free.left - 8):
            marks.append(text_mark(free.left, y, line, size, font=font))
            y -= size * 1.4
    at, x = free.top - 14.0, middle + 8
    marks.append(text_mark(x, at, "Contents", 5.0, font="label_bold"))
    number = 2
    for title, count in chapters:
        at -= 8.4
        marks.append(text_mark(x, at, title, 4.3, font="label_medium"))
        marks.append(text_mark(free.right, at, str(number), 4.3, font="label_bold", anchor="right"))
        marks.append(LineMark(style="rule:thin", points_mm=((x, at - 2.2), (free.right, at - 2.2))))
        number += count
    return Leaf(on, TITLE, tuple(marks))


def _photo_leaves(analysis: Analysis, imprint: Imprint) -> tuple[Leaf, ...]:
    """Photos by wall and board, four on a page, with caption and date."""
    on = paper(imprint.choices.paper, "landscape")
    title = "Photos of what is behind the boards"
    free = blank(on, imprint, title, brief=True)
    plan = analysis.plan
    panels = {panel.id: index for index, panel in enumerate(plan.panels)}
    walls = {surface.id: index for index, surface in enumerate(plan.surfaces)}
    wall_of = {panel.id: panel.surface for panel in plan.panels}
    photos = sorted(
        plan.photos,
        key=lambda photo: (
            walls.get(photo.surface or wall_of.get(photo.panel or "", ""), len(walls)),
            panels.get(photo.panel or "", len(panels)),
        ),
    )
    across, down = PHOTOS
    wide, high = (free.right - free.left) / across, (free.top - free.bottom - 3) / down
    leaves = []
    for start in range(0, len(photos), across * down):
        marks: list[AnyMark] = []
        for number, photo in enumerate(photos[start : start + across * down]):
            row, column = divmod(number, across)
            left, top = free.left + column * wide, free.top - 2 - row * high
            marks += _photo_marks(analysis, photo, Rect(left + 1, top - high + 1, left + wide - 1, top - 1))
        leaves.append(Leaf(on, title, tuple(marks), brief=True))
    return tuple(leaves)


def _photo_marks(analysis: Analysis, photo: Photo, box: Rect) -> list[AnyMark]:
    """The picture as large as fits above its caption; a grey field for one that is no picture."""
    names = Names(analysis.plan)
    told = " · ".join(
        text
        for text in (
            names(photo.panel) if photo.panel else "",
            photo.caption,
            f"{names(photo.surface)} {mm(photo.at_mm[0])}, {mm(photo.at_mm[1])}" if photo.surface else "",
            photo.taken_on,
        )
        if text
    )
    caption = fitted(told or photo.id, "label_medium", CAPTION_MM, box.width)
    marks: list[AnyMark] = [text_mark(box.left, box.bottom + 1, caption, CAPTION_MM, font="label_medium")]
    image = next((row for row in analysis.plan.images if row.id == photo.image), None)
    size = pixels(image.data) if image is not None else None
    room = Rect(box.left, box.bottom + CAPTION_MM * 1.6, box.right, box.top)
    if image is None or size is None:
        marks.append(AreaMark(style="opening", outline_mm=upright(room.left, room.bottom, room.right, room.top)))
        return marks
    scale = min(room.width / size[0], room.height / size[1])
    wide, high = size[0] * scale, size[1] * scale
    at = (room.left + (room.width - wide) / 2, room.bottom + (room.height - high) / 2)
    marks.append(ImageMark(style="text", at_mm=at, width_mm=wide, height_mm=high, data=image.data))
    return marks
