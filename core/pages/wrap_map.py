"""The wrap map: surface by surface which wrap goes where, with the marks where it starts and stops."""

from core.analysis.analysis import Analysis
from core.geometry.plane import distance_mm
from core.geometry.upright import Upright
from core.model import Point, Surface
from core.pages.leaves import Leaf, bound
from core.pages.lettering import fitted, text_mark
from core.pages.marks import AnyMark, LineMark, Page
from core.pages.paper import LARGER, Imprint, paper
from core.pages.surface_pages import (
    DIMENSIONS_MM,
    FLAGS_MM,
    LEGEND_MM,
    drawing_area,
    fitting_scale,
    nothing_yet,
    placed,
    take_bundles,
    take_devices,
)
from core.pages.surface_view import (
    Lettering,
    SurfaceView,
    body_marks,
    device_marks,
    side_words,
    surface_view,
    wiring_marks,
)
from core.pages.table_pages import table_leaves
from core.pages.transform import Rect
from core.tables.spots import local_point, view_of
from core.tables.wrapping import Stretch, stretches, wrap_stretches_table

TITLE = "Wrap map"
#: Half the length of the bar that says "start or stop here", on paper.
STOP_MM = 2.2
#: Paper that the number of a stretch takes with the bars at its ends.
ROOM_MM2 = 500.0


def wrap_map_pages(analysis: Analysis, imprint: Imprint) -> tuple[Page, ...]:
    """A drawing of every surface that has something to wrap, then the list of stretches and rolls."""
    rows = stretches(analysis)
    if not rows:
        return nothing_yet(TITLE, imprint)
    on = paper(imprint.choices.paper, "landscape")
    leaves: list[Leaf] = []
    for surface in analysis.plan.surfaces:
        here = {channel for row in rows for channel in row.channels if analysis.paths[channel].surface == surface.id}
        view = view_of(analysis, surface)
        if not here or view is None:
            continue
        leaves.append(_surface_leaf(analysis, imprint, surface, view, rows))
    leaves += table_leaves(wrap_stretches_table(analysis), on, imprint, follows=bool(leaves))
    return bound(leaves, imprint)


def _surface_leaf(
    analysis: Analysis, imprint: Imprint, surface: Surface, view: Upright, rows: tuple[Stretch, ...]
) -> Leaf:
    """The drawing on the usual paper, or on the next larger one where a stretch finds no room for its number."""
    usual = imprint.choices.paper
    here = sum(any(analysis.paths[channel].surface == surface.id for channel in row.channels) for row in rows)
    leaf, fits = _leaf_on(usual, analysis, imprint, surface, view, rows, here)
    if not fits and usual in LARGER:
        leaf, _ = _leaf_on(LARGER[usual], analysis, imprint, surface, view, rows, here)
    return leaf


def _leaf_on(
    name: str,
    analysis: Analysis,
    imprint: Imprint,
    surface: Surface,
    view: Upright,
    rows: tuple[Stretch, ...],
    here: int,
) -> tuple[Leaf, bool]:
    """The drawing on that paper, and whether it has room for all `here` stretches."""
    title = f"{TITLE}: {surface.name}"
    on = paper(name, "landscape")
    area = drawing_area(on, imprint, title)
    box = surface_view(analysis, surface, view, 1.0).box
    scale = fitting_scale(box, area)
    marks, named = _drawing(surface_view(analysis, surface, view, scale), rows, area, surface)
    fits = named == here and box.width * box.height / scale**2 >= here * ROOM_MM2
    return Leaf(on, title, tuple(marks), f"1 : {scale:g}"), fits


def _drawing(it: SurfaceView, rows: tuple[Stretch, ...], area: Rect, surface: Surface) -> tuple[list[AnyMark], int]:
    """The marks, and how many stretches have their number on them."""
    k = it.scale
    letters = Lettering(k)
    marks = [*body_marks(it), *wiring_marks(it, ticks=False), *device_marks(it)]
    take_devices(it, letters)
    take_bundles(it, letters)
    for row in rows:
        for node, channel in ((row.start, row.channels[0]), (row.end, row.channels[-1])):
            bars = _stop(it, node, channel)
            marks += bars
            for bar in bars:
                letters.take_line(bar.points_mm, it.scale)
    named = 0
    for row in sorted(rows, key=lambda row: -row.length_mm):
        here = [channel for channel in row.channels if it.analysis.paths[channel].surface == surface.id]
        if not here:
            continue
        longest = max(here, key=lambda channel: it.analysis.paths[channel].length_mm)
        path = it.analysis.paths[longest]
        middle = local_point(path, path.length_mm / 2)
        if middle is not None:
            words = f"{row.number}{row.letter}"
            number = letters.at(it.view.to_view(middle), words, longest, 4.3, gap_mm=1.4)
            marks += number
            named += bool(number)
    on_page: list[AnyMark] = list(placed(marks, it, area))
    edges = Rect(area.left - DIMENSIONS_MM, area.bottom, area.right + FLAGS_MM, area.top + FLAGS_MM - 1.5)
    on_page += side_words(it.view, edges)
    told = " · ".join(f"{letter} {style}" for letter, style in dict.fromkeys((row.letter, row.style) for row in rows))
    left, y, width = edges.left, area.bottom - DIMENSIONS_MM - LEGEND_MM, edges.width
    on_page.append(text_mark(left, y + 6.8, fitted(told, "label_bold", 3.6, width), 3.6, font="label_bold"))
    words = "Number and letter: stretch and wrap, as in the list. A bar across a bundle: wrap starts or stops there."
    on_page.append(text_mark(left, y + 2.2, fitted(words, "label", 3.2, width), 3.2))
    return on_page, named


def _stop(it: SurfaceView, node: str, channel: str) -> list[LineMark]:
    """A thick bar across the end of the bundle, a little way in, so that neighbours do not share one."""
    path = it.analysis.paths[channel]
    spot = next((at for surface, at in it.analysis.node_spots[node].spots if surface == it.surface.id), None)
    if path.surface != it.surface.id or spot is None or len(path.local_mm) < 2:
        return []
    at_start = distance_mm(path.local_mm[0], spot) <= distance_mm(path.local_mm[-1], spot)
    inward = min(1.6 * it.scale, path.length_mm / 3)
    at = local_point(path, inward if at_start else path.length_mm - inward)
    ahead = local_point(path, inward + 1 if at_start else path.length_mm - inward - 1)
    if at is None or ahead is None:
        return []
    a, b = it.view.to_view(at), it.view.to_view(ahead)
    size = distance_mm(a, b) or 1.0
    bundle = it.analysis.bundles[channel]
    half = bundle.diameter_laid_mm / 2 + STOP_MM * it.scale
    nx, ny = -(b[1] - a[1]) / size * half, (b[0] - a[0]) / size * half
    ends: tuple[Point, Point] = ((a[0] - nx, a[1] - ny), (a[0] + nx, a[1] + ny))
    return [LineMark(style="metal_edge", subject=channel, points_mm=ends)]
