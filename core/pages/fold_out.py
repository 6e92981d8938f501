"""The fold-out plan: the whole sheet at a round scale on one big page, or in tiles for a small printer."""

from itertools import chain
from math import ceil, floor, log10

from core.analysis.analysis import Analysis
from core.errors import LoomwrightError
from core.pages.fold_out_column import column
from core.pages.marks import AnyMark, AreaMark, LineMark, Page, TextMark
from core.pages.paper import LONGEST_MM, Imprint, Paper, paper
from core.pages.sheet import sheet_marks
from core.pages.tiles import check_tiles, tiled
from core.pages.transform import Rect, bounds, moved
from core.text import mm

#: Round scales (ISO 5455, with 15, 25, 30, 40 that people use too; from memory), on to the largest plan there can be.
SCALES = (1, 2, 5, 10, 15, 20, 25, 30, 40, 50, *(step * 10**power for power in range(2, 8) for step in (1, 2, 5)))
#: Numbers on a ruler stand at least this far apart.
RULER_STEP_MM = 20.0
COLUMN_MM = {"A4": 105.0, "Letter": 105.0, "A3": 140.0, "Tabloid": 140.0}
WIDE_COLUMN_MM = 150.0
GUTTER_MM = 14.0
RULER_MM = 5.0
RULER_GAP_MM = 3.0
#: A finer scale than this needs the next larger paper.
COARSEST_ON_A2 = 25.0
#: Scale of the plan in tiles, where none is asked for.
TILED_SCALE = 10.0
EMPTY = "Nothing is drawn yet."


def sheet_drawing(analysis: Analysis, scale: float = 20.0) -> tuple[AnyMark, ...]:
    """All marks of the sheet in vehicle millimetres, in drawing order; letters are sized for 1 : `scale`."""
    return tuple(chain.from_iterable(sheet_marks(analysis, "full", scale).values()))


def fold_out_pages(analysis: Analysis, imprint: Imprint) -> tuple[Page, ...]:
    """One page: on A2 where 1 : 25 or finer fits there, otherwise on A1; at a scale that is asked for on the smallest
    paper that takes it, or on one of its own size for a plotter.

    Raises LoomwrightError where that would be longer than a PDF page can be.
    """
    asked = _asked_scale(imprint)
    if asked:
        return (fold_out_page(analysis, imprint, _paper_for(analysis, asked), asked),)
    chosen = paper("A2", "landscape")
    scale = best_scale(analysis, chosen)
    if scale > COARSEST_ON_A2:
        chosen = paper("A1", "landscape")
        scale = best_scale(analysis, chosen)
    return (fold_out_page(analysis, imprint, chosen, scale),)


def _asked_scale(imprint: Imprint) -> float:
    """The scale that is asked for, 0 for none. Raises LoomwrightError for one that cannot be."""
    scale = imprint.choices.scale
    if scale and not 1 <= scale <= SCALES[-1]:
        raise LoomwrightError(f"The scale is 1 : {scale:g}; it must be 1 : 1 or coarser.")
    return scale


def _paper_for(analysis: Analysis, scale: float) -> Paper:
    box = bounds(sheet_drawing(analysis, scale))
    wide, high = (box.width / scale, box.height / scale) if box is not None else (0.0, 0.0)
    for name in ("A3", "A2", "A1", "A0"):
        on = paper(name, "landscape")
        area = _drawing_area(on)
        if wide <= area.width and high <= area.height:
            return on
    spare = _drawing_area(Paper(name="plot", width_mm=0.0, height_mm=0.0))
    on = Paper(name="plot", width_mm=wide - spare.width, height_mm=high - spare.height)
    if max(on.width_mm, on.height_mm) > LONGEST_MM:
        raise LoomwrightError(
            f"At 1 : {scale:g} the fold-out plan is {on.width_mm / 1000:.1f} m wide; a PDF page ends at "
            f"{LONGEST_MM / 1000:.1f} m. Choose a coarser scale, or the plan in tiles."
        )
    return on


def best_scale(analysis: Analysis, on: Paper) -> float:
    """The finest round scale at which the whole sheet fits beside the column."""
    area = _drawing_area(on)
    wide, high = _ground(analysis)
    for scale in SCALES:
        may_fit = 0 < wide <= area.width * scale and high <= area.height * scale
        box = bounds(sheet_drawing(analysis, scale)) if may_fit else None
        if box is not None and box.width / scale <= area.width and box.height / scale <= area.height:
            return float(scale)
    return float(SCALES[-1]) if analysis.plan.surfaces else 20.0


def _ground(analysis: Analysis) -> tuple[float, float]:
    """Width and height of the bare surfaces on the sheet: to draw all marks only to measure them is dear."""
    points = [
        laid.place.to_sheet(corner.at_mm)
        for surface in analysis.plan.surfaces
        if (laid := analysis.sheet.layout.laid.get(surface.id)) is not None
        for corner in surface.corners
    ]
    if not points:
        return 0.0, 0.0
    across, up = zip(*points, strict=True)
    return max(across) - min(across), max(up) - min(up)


def fold_out_page(analysis: Analysis, imprint: Imprint, on: Paper, scale: float | None = None) -> Page:
    """Drawing at the left, column at the right. A sheet too large for a scale that is asked for runs off the page."""
    scale = scale or best_scale(analysis, on)
    area = _drawing_area(on)
    drawing = sheet_drawing(analysis, scale)
    marks: list[AnyMark] = []
    box = bounds(drawing)
    if box is None:
        middle = ((area.left + area.right) / 2, (area.bottom + area.top) / 2)
        marks.append(TextMark(style="text:muted", at_mm=middle, text=EMPTY, size_mm=5.0, anchor="middle"))
    else:
        dx = area.left + (area.width - box.width / scale) / 2 - box.left / scale
        dy = area.bottom + (area.height - box.height / scale) / 2 - box.bottom / scale
        marks += _rulers(area, scale, dx, dy)
        marks += moved(drawing, 1 / scale, dx, dy)
    left, right = on.width_mm - on.margin_mm - _column_mm(on), on.width_mm - on.margin_mm
    marks += column(analysis, imprint, scale, on.name, left, right, on.margin_mm, on.height_mm - on.margin_mm)
    return Page(
        width_mm=on.width_mm, height_mm=on.height_mm, marks=tuple(marks), title=f"Fold-out plan – {imprint.plan}"
    )


def fold_out_tiles(analysis: Analysis, imprint: Imprint, on: Paper, scale: float) -> tuple[Page, ...]:
    """The drawing alone at 1 : `scale` on as many small pages as it takes, to be glued together.

    Raises LoomwrightError for more pages than anybody would glue.
    """
    title = f"Fold-out plan 1 : {scale:g}"
    wide, high = _ground(analysis)
    check_tiles(wide / scale, high / scale, on, imprint, title)
    return tiled(moved(sheet_drawing(analysis, scale), 1 / scale, 0, 0), on, imprint, title, skip_empty=True)


def tiled_fold_out_pages(analysis: Analysis, imprint: Imprint) -> tuple[Page, ...]:
    """The fold-out plan in tiles on the usual paper, at 1 : 10 or as asked for; coarser where that is too many."""
    on = paper(imprint.choices.paper, "landscape")
    asked = _asked_scale(imprint) or TILED_SCALE
    for scale in (asked, *(float(step) for step in SCALES if step > asked)):
        try:
            return fold_out_tiles(analysis, imprint, on, scale) or fold_out_pages(analysis, imprint)
        except LoomwrightError:
            if imprint.choices.scale:
                raise
    return fold_out_pages(analysis, imprint)


def _column_mm(on: Paper) -> float:
    return COLUMN_MM.get(on.name, WIDE_COLUMN_MM)


def _drawing_area(on: Paper) -> Rect:
    ruler = RULER_MM + RULER_GAP_MM
    return Rect(
        left=on.margin_mm + ruler,
        bottom=on.margin_mm,
        right=on.width_mm - on.margin_mm - _column_mm(on) - GUTTER_MM,
        top=on.height_mm - on.margin_mm - ruler,
    )


def _rulers(area: Rect, scale: float, dx: float, dy: float) -> list[AnyMark]:
    """Strips along the upper and left side with the vehicle's millimetres: numbers about every 25 mm of paper."""
    power = 10 ** floor(log10(scale * RULER_STEP_MM))
    step = next(step for step in (power, 2 * power, 5 * power, 10 * power) if step >= scale * RULER_STEP_MM)
    marks: list[AnyMark] = []
    low, high = area.top + RULER_GAP_MM, area.top + RULER_GAP_MM + RULER_MM
    marks.append(_strip(area.left, low, area.right, high))
    for value in _ticks(area.left, area.right, dx, scale, step / 5):
        x, whole = value / scale + dx, abs(value / step - round(value / step)) < 1e-6
        marks.append(LineMark(style="dimension", points_mm=((x, low), (x, low + (1.6 if whole else 0.9)))))
        if whole:
            marks.append(
                TextMark(style="text:muted", at_mm=(x, low + 2.3), text=mm(value), size_mm=2.4, anchor="middle")
            )
    right, left = area.left - RULER_GAP_MM, area.left - RULER_GAP_MM - RULER_MM
    marks.append(_strip(left, area.bottom, right, area.top))
    for value in _ticks(area.bottom, area.top, dy, scale, step / 5):
        y, whole = value / scale + dy, abs(value / step - round(value / step)) < 1e-6
        marks.append(LineMark(style="dimension", points_mm=((right, y), (right - (1.6 if whole else 0.9), y))))
        if whole:
            marks.append(
                TextMark(style="text:muted", at_mm=(right - 2.3, y), text=mm(value), size_mm=2.4, anchor="middle",
                         turn_deg=90.0)
            )  # fmt: skip
    return marks


def _ticks(low: float, high: float, shift: float, scale: float, step: float) -> list[float]:
    first, last = ceil((low - shift) * scale / step), floor((high - shift) * scale / step)
    return [number * step for number in range(first, last + 1)]


def _strip(left: float, bottom: float, right: float, top: float) -> AreaMark:
    return AreaMark(style="ruler", outline_mm=((left, bottom), (right, bottom), (right, top), (left, top)))
