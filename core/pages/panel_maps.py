"""Panel maps: a panel as seen from the room, with the bands where nothing may be screwed, at 1:10 and at full size."""

from collections.abc import Iterable
from dataclasses import replace

from core.analysis.analysis import Analysis
from core.analysis.no_screw import Band, no_screw_bands, skin_screw_mm
from core.geometry.plane import Polyline
from core.geometry.polygon import centre
from core.geometry.upright import upright_part
from core.model import Panel
from core.pages.fold_out import SCALES
from core.pages.leaves import Leaf, bound
from core.pages.lettering import fitted, text_mark
from core.pages.marks import AnyMark, AreaMark, LineMark, Page
from core.pages.paper import LONGEST_MM, SIZES, Imprint, Paper, paper
from core.pages.sheet_things import hatch, opening_marks, panel_marks, rib_marks
from core.pages.surface_pages import (
    DIMENSIONS_MM,
    FLAGS_MM,
    LEGEND_MM,
    drawing_area,
    nothing_yet,
    ordinates,
    placed,
    shift,
)
from core.pages.surface_view import Lettering, SurfaceView, datum_flags, side_words, surface_view
from core.pages.table_pages import table_leaves
from core.pages.transform import Rect
from core.tables.panel_bands import band_list, skin_words
from core.text import mm

TITLE = "Panel map"
SCALE = 10.0
#: Added to a panel at full size for dimensions, title and cautions.
FULL_ROOM_MM = (90.0, 150.0)
#: Names of channels: on a page, and on a board of full size that is read standing.
LETTERS_MM, FULL_LETTERS_MM = 3.6, 12.0
#: Spacing of the hatch on paper.
HATCH_MM = 2.2


def panel_map_pages(analysis: Analysis, imprint: Imprint) -> tuple[Page, ...]:
    """Every panel at 1:10, on the smallest paper from the usual one on that takes it, and its list of bands."""
    leaves: list[Leaf] = []
    for panel in _panels(analysis):
        it = _view(analysis, panel, SCALE)
        bands = no_screw_bands(analysis, panel)
        on, scale = _paper(it, imprint)
        leaves.append(_leaf(replace(it, scale=scale), panel, bands, on, imprint))
        lines = band_list(panel, it.view, bands, skin_screw_mm(it.surface))
        leaves += table_leaves(lines, paper(imprint.choices.paper, "landscape"), imprint, follows=True)
    return bound(leaves, imprint) if leaves else nothing_yet(TITLE, imprint)


def full_size_pages(analysis: Analysis, imprint: Imprint) -> tuple[Page, ...]:
    """Every panel at 1:1 on a page of its own size, for a plotter, or a printer that tiles."""
    leaves = []
    for panel in _panels(analysis):
        it = _view(analysis, panel, 1.0)
        wide, high = it.box.width + FULL_ROOM_MM[0], it.box.height + FULL_ROOM_MM[1]
        # A page longer than a PDF can be is drawn at the next scale that fits.
        scale = next(float(s) for s in SCALES if max(wide, high) / s <= LONGEST_MM)
        on = Paper(name="plot", width_mm=max(wide / scale, 297.0), height_mm=max(high / scale, 210.0))
        leaves.append(_leaf(replace(it, scale=scale), panel, no_screw_bands(analysis, panel), on, imprint))
    return bound(leaves, imprint) if leaves else nothing_yet(TITLE, imprint)


def _panels(analysis: Analysis) -> list[Panel]:
    """Panels that have an area, on a surface that has a place."""
    laid = analysis.sheet.layout.laid
    return [panel for panel in analysis.plan.panels if panel.surface in laid and len(panel.outline) > 2]


def _view(analysis: Analysis, panel: Panel, scale: float) -> SurfaceView:
    surface = analysis.surfaces[panel.surface]
    view = upright_part(panel.outline, analysis.sheet.layout.pose(surface.id))
    return surface_view(analysis, surface, view, scale)


def _paper(it: SurfaceView, imprint: Imprint) -> tuple[Paper, float]:
    """The usual paper or a larger one of its kind on which the panel is drawn at 1:10; coarser beyond the largest."""
    names = list(SIZES)
    usual = imprint.choices.paper
    metric = [name for name in names if name.startswith("A")]
    family = metric[metric.index(usual) :] if usual in metric else [usual, "Tabloid", "A2", "A1", "A0"]
    on = paper(usual, "landscape")
    for name in family:
        on = paper(name, "landscape")
        area = drawing_area(on, imprint, TITLE)
        if it.box.width <= area.width * SCALE and it.box.height <= area.height * SCALE:
            return on, SCALE
    area = drawing_area(on, imprint, TITLE)
    return on, float(next(s for s in SCALES if it.box.width <= area.width * s and it.box.height <= area.height * s))


def _leaf(it: SurfaceView, panel: Panel, bands: tuple[Band, ...], on: Paper, imprint: Imprint) -> Leaf:
    title = f"{TITLE}: {panel.name}"
    area = drawing_area(on, imprint, title)
    return Leaf(on, title, tuple(panel_map_marks(it, panel, bands, area)), f"1 : {it.scale:g}")


def panel_map_marks(it: SurfaceView, panel: Panel, bands: tuple[Band, ...], area: Rect) -> list[AnyMark]:
    """The panel in the middle of the area of the page, with running dimensions of the edges of the bands."""
    k = it.scale
    marks: list[AnyMark] = list(panel_marks(panel, it.place))
    marks += _behind(it, panel)
    outlines = [(band, it.place.line_to_sheet(outline)) for band in bands for outline in band.outlines_mm]
    marks += [AreaMark(style="no_screw", subject=band.channel, outline_mm=outline) for band, outline in outlines]
    for band, outline in outlines:
        step = HATCH_MM * k * (0.5 if band.kind == "bay" else 1.0)
        marks += [LineMark(style="no_screw:hatch", points_mm=line) for line in hatch(outline, step)]
    marks.append(LineMark(style="outline", points_mm=it.view.outline, closed=True))
    letters = Lettering(k)
    for _, outline in outlines:
        letters.take_line((*outline, outline[0]), 0.4 * k)
    for band, outline in sorted(outlines, key=lambda row: -_size(row[1])):
        words = f"{band.channel}: WAY UNKNOWN" if band.kind == "bay" else band.channel
        size = LETTERS_MM if k > 1 else FULL_LETTERS_MM
        marks += letters.at(centre(outline), words, band.channel, size, gap_mm=size * 0.7)
    marks += datum_flags(it)
    dx, dy = shift(it, area)
    box = it.box
    on_paper = Rect(box.left / k + dx, box.bottom / k + dy, box.right / k + dx, box.top / k + dy)
    across, along = free_edges([outline for _, outline in outlines])
    a, b = it.view.a.at_mm, it.view.b.at_mm
    on_page = list(placed(marks, it, area))
    on_page += ordinates([(x / k + dx, mm(abs(x - a))) for x in across], on_paper, area, standing=False)
    on_page += ordinates([(y / k + dy, mm(abs(y - b))) for y in along], on_paper, area, standing=True)
    edges = Rect(area.left - DIMENSIONS_MM, on_paper.bottom, area.right + FLAGS_MM, area.top + FLAGS_MM - 1.5)
    on_page += side_words(it.view, edges)
    on_page += _legend(it, area)
    return on_page


def _behind(it: SurfaceView, panel: Panel) -> list[AnyMark]:
    """Ribs and openings of the surface as far as they lie behind the panel."""
    from shapely import Polygon

    board = Polygon(it.view.outline).buffer(0)
    plan, here = it.analysis.plan, panel.surface
    whole = [mark for rib in plan.ribs if rib.surface == here for mark in rib_marks(rib, it.place)]
    whole += [mark for row in plan.openings if row.surface == here for mark in opening_marks(row, it.place, it.scale)]
    marks: list[AnyMark] = []
    for mark in whole:
        if isinstance(mark, AreaMark):
            seen = Polygon(mark.outline_mm).buffer(0).intersection(board)
            for shape in getattr(seen, "geoms", (seen,)):
                if shape.geom_type == "Polygon" and not shape.is_empty:
                    outline = tuple((x, y) for x, y in shape.exterior.coords[:-1])
                    marks.append(AreaMark(style=mark.style, subject=mark.subject, outline_mm=outline))
    return marks


def free_edges(outlines: list[Polyline]) -> tuple[list[float], list[float]]:
    """Where areas end across and upwards; an end inside another area is no edge to be measured."""
    from shapely import Point, Polygon

    areas = [Polygon(outline) for outline in outlines]
    found: tuple[list[float], list[float]] = ([], [])
    for number, outline in enumerate(outlines):
        others = [area for other, area in enumerate(areas) if other != number]
        for axis in (0, 1):
            for end in _ends(p[axis] for p in outline):
                ends = [p for p in outline if abs(p[axis] - end) < 0.5]
                if not all(any(area.distance(Point(p)) < 0.5 for area in others) for p in ends):
                    found[axis].append(end)
    return found


def _ends(values: Iterable[float]) -> tuple[float, float]:
    found = list(values)
    return min(found), max(found)


def _size(outline: Polyline) -> float:
    (left, right), (low, high) = _ends(p[0] for p in outline), _ends(p[1] for p in outline)
    return (right - left) * (high - low)


def _legend(it: SurfaceView, area: Rect) -> list[AnyMark]:
    left, right = area.left - DIMENSIONS_MM, area.right + FLAGS_MM
    y = area.bottom - DIMENSIONS_MM - LEGEND_MM
    words = (
        "NO SCREWS IN THE HATCHED BANDS. Seen from the room, true left and right. "
        f"A is the panel's {it.view.a.name}, B its {it.view.b.name}."
    )
    return [
        text_mark(left, y + 6.8, fitted(words, "label_bold", 3.6, right - left), 3.6, font="label_bold"),
        text_mark(left, y + 2.2, fitted(skin_words(skin_screw_mm(it.surface)), "label_medium", 3.4, right - left), 3.4,
                  font="label_medium"),
    ]  # fmt: skip
