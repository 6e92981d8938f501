"""A page for every surface: its drawing with running dimensions from two fixed faces, and the lists that go with it."""

from collections.abc import Iterable, Sequence
from math import dist

from core.analysis.analysis import Analysis
from core.geometry.entry import entry_point
from core.geometry.polygon import centre
from core.model import Surface
from core.pages.fold_out import SCALES
from core.pages.frame import warning_sign
from core.pages.leaves import Leaf, blank, bound
from core.pages.lettering import fitted, text_mark
from core.pages.marks import AnyMark, CircleMark, LineMark, Page, TextMark
from core.pages.paper import LARGER, Imprint, Paper, paper
from core.pages.sheet_bundles import diameter_words
from core.pages.sheet_devices import body_of
from core.pages.sheet_placement import bounds, upright
from core.pages.surface_view import (
    INSIDE_MM,
    Lettering,
    SurfaceView,
    body_marks,
    datum_flags,
    device_marks,
    side_words,
    spot_dot,
    surface_view,
    wiring_marks,
)
from core.pages.table_pages import flowing_leaves, table_pages
from core.pages.transform import Rect, moved
from core.tables.spots import Spot, local_point, spots_by_surface, view_of
from core.tables.surface_list import datum_words, surface_lists
from core.tables.table import Column, Table
from core.text import mm

#: Kept free round the drawing for running dimensions (left and below) and for the datum letters (right and above).
DIMENSIONS_MM = 20.0
FLAGS_MM = 11.0
#: Distance of two running dimensions on paper: their capitals are 3 mm high.
PITCH_MM = 4.4
ORDINATE_MM = 4.0
#: Two spots nearer than this along one datum share a running dimension.
SAME_MM = 0.5
#: Paper that a spot takes with its number and its neighbours' labels.
ROOM_MM2 = 250.0
LEGEND_MM = 9.5
#: Round a spot there is room for the numbers of so many spots (itself included) within this distance on paper.
NEAR_MM = 9.0
MOST_NEAR = 4


def surface_pages(analysis: Analysis, imprint: Imprint) -> tuple[Page, ...]:
    """Every surface that carries anything."""
    spots = spots_by_surface(analysis)
    leaves: list[Leaf] = []
    for surface in analysis.plan.surfaces:
        if surface.id in spots or any(device.surface == surface.id for device in analysis.plan.devices):
            leaves += surface_leaves(analysis, imprint, surface, spots.get(surface.id, ()))
    if not leaves:
        return nothing_yet(SURFACES, imprint)
    return bound(leaves, imprint)


SURFACES = "Surfaces"


def nothing_yet(title: str, imprint: Imprint, why: str = "") -> tuple[Page, ...]:
    """The page of a paper that has nothing to say, and why."""
    notes = (why,) if why else ()
    empty = Table(name="empty", title=title, columns=(Column(key="what", title="what"),), rows=(), notes=notes)
    return table_pages(empty, paper(imprint.choices.paper, "landscape"), imprint)


def surface_leaves(analysis: Analysis, imprint: Imprint, surface: Surface, spots: tuple[Spot, ...]) -> tuple[Leaf, ...]:
    """The drawing of one surface and the lists behind it; none for a surface without area or place."""
    view = view_of(analysis, surface)
    if view is None:
        return ()
    usual = on = paper(imprint.choices.paper, "landscape")
    area = drawing_area(on, imprint, surface.name)
    it = surface_view(analysis, surface, view, 1.0)
    scale = fitting_scale(it.box, area)
    if is_crowded(it, spots, scale):
        on = paper(LARGER.get(usual.name, usual.name), "landscape")
        area = drawing_area(on, imprint, surface.name)
        scale = fitting_scale(it.box, area)
    it = surface_view(analysis, surface, view, scale)
    drawing = Leaf(on, surface.name, tuple(_drawing(it, spots, area)), f"1 : {scale:g}")
    lists = surface_lists(analysis, surface, view, spots)
    return (drawing, *(flowing_leaves(f"{surface.name}: list", lists, usual, imprint, follows=True) if lists else ()))


def is_crowded(it: SurfaceView, spots: Sequence[Spot], scale: float) -> bool:
    """Whether running dimensions or numbers of spots would stand on each other at 1 : `scale`."""
    points = [it.view.to_view(spot.at_mm) for spot in spots]
    near_mm = NEAR_MM * scale
    if any(sum(dist(here, there) < near_mm for there in points) > MOST_NEAR for here in points):
        return True
    wide, high = it.box.width / scale, it.box.height / scale
    across, up = ({round(p[axis]) for p in points} for axis in (0, 1))
    return len(across) * PITCH_MM > wide or len(up) * PITCH_MM > high or len(spots) * ROOM_MM2 > wide * high


def drawing_area(on: Paper, imprint: Imprint, title: str) -> Rect:
    """Where a page to scale has room for the drawing itself."""
    free = blank(on, imprint, title, "1 : 10")
    return Rect(
        free.left + DIMENSIONS_MM,
        free.bottom + DIMENSIONS_MM + LEGEND_MM,
        free.right - FLAGS_MM,
        free.top - FLAGS_MM,
    )


def fitting_scale(box: Rect, area: Rect) -> float:
    """The finest round scale at which the box fits the area."""
    fits = (s for s in SCALES if box.width <= area.width * s and box.height <= area.height * s)
    return float(next(fits, SCALES[-1]))


def placed(marks: Iterable[AnyMark], it: SurfaceView, area: Rect) -> tuple[AnyMark, ...]:
    """Marks of the view on the page, the surface in the middle of the area."""
    return moved(marks, 1 / it.scale, *shift(it, area))


def shift(it: SurfaceView, area: Rect) -> tuple[float, float]:
    box = it.box
    dx = area.left + (area.width - box.width / it.scale) / 2 - box.left / it.scale
    dy = area.bottom + (area.height - box.height / it.scale) / 2 - box.bottom / it.scale
    return dx, dy


def _drawing(it: SurfaceView, spots: tuple[Spot, ...], area: Rect) -> list[AnyMark]:
    k = it.scale
    box = it.box
    inside = Rect(box.left, box.bottom, box.right + FLAGS_MM * k, box.top + FLAGS_MM * k / 2)
    letters = Lettering(k, inside)
    marks = [*body_marks(it), *wiring_marks(it), *device_marks(it)]
    for spot in spots:
        marks += spot_dot(it.view.to_view(spot.at_mm), k, spot.kind, spot.hole_mm)
    take_bundles(it, letters)
    take_devices(it, letters)
    for spot in spots:
        x, y = it.view.to_view(spot.at_mm)
        letters.take(upright(x - 0.9 * k, y - 0.9 * k, x + 0.9 * k, y + 0.9 * k))
    for spot in spots:
        marks += letters.at(it.view.to_view(spot.at_mm), spot.number, spot.subject)
    marks += device_names(it, letters)
    marks += bundle_labels(it, letters)
    marks += area_names(it, letters)
    marks += datum_flags(it)
    dx, dy = shift(it, area)
    on_page = [*placed(marks, it, area)]
    on_paper = Rect(box.left / k + dx, box.bottom / k + dy, box.right / k + dx, box.top / k + dy)
    points = [it.view.to_view(spot.at_mm) for spot in spots if spot.kind != "node" or "breakout" in spot.what]
    on_page += ordinates(
        [(x / k + dx, mm(abs(x - it.view.a.at_mm))) for x, _ in points], on_paper, area, standing=False
    )
    on_page += ordinates([(y / k + dy, mm(abs(y - it.view.b.at_mm))) for _, y in points], on_paper, area, standing=True)
    edges = Rect(area.left - DIMENSIONS_MM, on_paper.bottom, area.right + FLAGS_MM, area.top + FLAGS_MM - 1.5)
    on_page += side_words(it.view, edges)
    on_page += _legend(it, area)
    return on_page


def ordinates(values: Sequence[tuple[float, str]], box: Rect, area: Rect, standing: bool) -> list[AnyMark]:
    """Running dimensions (ISO 129-1): each value once, at the left (`standing`) or below, apart where they crowd.

    `values` are places on the page and what is written there.
    """
    low, high = (area.bottom, area.top) if standing else (area.left, area.right)
    shown: list[tuple[float, str]] = []
    for at, text in sorted(values):
        if not shown or text != shown[-1][1]:
            shown.append((at, text))
    most = int((high - low) / PITCH_MM)
    if len(shown) > most:
        # More than there is room for: the list behind has them all.
        step = len(shown) / most
        shown = [shown[int(index * step)] for index in range(most)]
    marks: list[AnyMark] = []
    for (at, text), label in zip(shown, spread([at for at, _ in shown], low, high), strict=True):
        edge = box.left if standing else box.bottom
        path = ((edge - 0.8, at), (edge - 2.2, at), (edge - 5.0, label), (edge - 6.0, label))
        points = path if standing else tuple((y, x) for x, y in path)
        marks.append(LineMark(style="dimension", points_mm=points))
        end = (edge - 6.6, label) if standing else (label, edge - 6.6)
        marks.append(
            TextMark(style="text", at_mm=end, text=text, size_mm=ORDINATE_MM, anchor="right", baseline="middle",
                     turn_deg=0.0 if standing else 90.0, font="label_medium")
        )  # fmt: skip
    return marks


def spread(wanted: Sequence[float], low: float, high: float, pitch: float = PITCH_MM) -> list[float]:
    """Places in the same order, `pitch` apart at least and between `low` and `high` where that has room for them, so
    that the sum of the squares of their ways is least: crowds that would overlap are pooled and stand round their
    middle (pool adjacent violators, the usual method of isotonic regression)."""
    pools: list[tuple[float, int]] = []
    for index, value in enumerate(wanted):
        mean, count = value - index * pitch, 1
        while pools and pools[-1][0] > mean:
            before, size = pools.pop()
            mean = (mean * count + before * size) / (count + size)
            count += size
        pools.append((mean, count))
    last = max(low, high - (len(wanted) - 1) * pitch)
    flat = [min(max(mean, low), last) for mean, count in pools for _ in range(count)]
    return [base + index * pitch for index, base in enumerate(flat)]


def bundle_labels(it: SurfaceView, letters: Lettering) -> list[AnyMark]:
    """The trunk, channel, number of wires and diameter at the middle of every bundle that is long enough for it."""
    marks: list[AnyMark] = []
    for bundle in sorted(it.analysis.bundles.values(), key=lambda row: -row.length_mm):
        path = it.analysis.paths[bundle.channel]
        middle = local_point(path, bundle.length_mm / 2)
        if path.surface != it.surface.id or middle is None:
            continue
        words = f"{bundle.channel}: {len(bundle.wires)} × {diameter_words(bundle.diameter_laid_mm)}"
        marks += letters.at(it.view.to_view(middle), words, bundle.channel, 3.0, "label", gap_mm=1.6)
    return marks


def take_bundles(it: SurfaceView, letters: Lettering) -> None:
    """No label lies on a bundle."""
    for path in it.analysis.paths.values():
        if path.surface == it.surface.id:
            bundle = it.analysis.bundles.get(path.channel)
            wide = bundle.diameter_laid_mm if bundle is not None else 0.0
            letters.take_line(it.place.line_to_sheet(path.local_mm), max(wide, it.scale))


def take_devices(it: SurfaceView, letters: Lettering) -> None:
    """No label lies on a device."""
    for device in it.analysis.plan.devices:
        if device.surface == it.surface.id:
            letters.take(body_of(device, it.place, it.scale))


def device_names(it: SurfaceView, letters: Lettering) -> list[AnyMark]:
    """Names of devices beside them, and a dot where their wires enter."""
    marks: list[AnyMark] = []
    for device in it.analysis.plan.devices:
        if device.surface != it.surface.id:
            continue
        body = body_of(device, it.place, it.scale)
        left, low, right, high = bounds(body)
        half = ((right - left) / 2, (high - low) / 2)
        at = it.view.to_view(device.at_mm)
        within = letters.inside(at, device.name, device.id, 2 * half[0], 2 * half[1])
        # A device is never without its name, whatever stands round it.
        marks += (
            within
            or letters.at(at, device.name, device.id, 3.1, "label_medium", clear_mm=half)
            or letters.beside(at, device.name, device.id, 3.1)
        )
        entry = it.view.to_view(entry_point(device))
        if within and dist(at, entry) < INSIDE_MM * it.scale:
            continue  # the dot would stand in the name
        marks.append(CircleMark(style="node", centre_mm=entry, radius_mm=0.5 * it.scale, filled=True))
    return marks


def area_names(it: SurfaceView, letters: Lettering) -> list[AnyMark]:
    """Names of boxes, openings and zones in their middle."""
    plan, here = it.analysis.plan, it.surface.id
    marks: list[AnyMark] = []
    for group in (plan.boxes, plan.openings, plan.zones):
        for record in group:
            if record.surface == here and len(record.outline) > 2:
                at = it.view.to_view(centre(record.outline))
                name = record.name or record.kind
                left, low, right, high = bounds([it.view.to_view(corner) for corner in record.outline])
                marks += letters.within(Rect(left, low, right, high), name, record.id, 2.9, "text:muted") or letters.at(
                    at, name, record.id, 2.9, "label", style="text:muted"
                )
    return marks


def _legend(it: SurfaceView, area: Rect) -> list[AnyMark]:
    """Two lines at the foot: what the letters mean, and what is measured from where."""
    left, right = area.left - DIMENSIONS_MM, area.right + FLAGS_MM
    y = area.bottom - DIMENSIONS_MM - LEGEND_MM
    words = "F securing point · N node, breakout · H hole · E edge or rubbing place · P photo · numbers as in the list"
    side = {"inside": "Seen from inside the vehicle.", "outside": "Seen from OUTSIDE.", "board": "Seen from the room."}
    told = f"{side[it.surface.side]} {datum_words(it.view)}"
    marks: list[AnyMark] = [
        text_mark(left, y + 5.6, fitted(told, "label_medium", 3.4, right - left), 3.4, font="label_medium"),
        text_mark(left, y + 1.4, fitted(words, "label", 3.0, right - left), 3.0, style="text:muted"),
    ]
    if it.surface.known == "assumed":
        marks += warning_sign(right - 62, y + 6.6, 3.6)
        marks.append(text_mark(right, y + 5.6, "Assumed sizes: measure first.", 3.4, font="label_bold", anchor="right"))
    return marks
