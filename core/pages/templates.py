"""Drilling templates at 1:1: holes that are near each other on one sheet of paper, to be taped to the surface.

Screws of fixings are on a template only where a hole is near: one sheet of paper for a single screw helps nobody, and
its place is in the drill and fix list. A hole is drilled from the side its template lies on. A hole that goes on to
another surface has a template there too, drawn as it is seen there. Where no surface is seen from outside, a mirrored
template serves who drills from behind.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from core.analysis.analysis import Analysis
from core.geometry.polygon import clip
from core.geometry.upright import Upright
from core.model import Point, Surface
from core.pages.frame import Frame, caution_block
from core.pages.imprint import DRILLING
from core.pages.leaves import Leaf, blank, bound
from core.pages.lettering import fitted, text_mark
from core.pages.marks import AnyMark, CircleMark, LineMark, Page
from core.pages.paper import Imprint, paper
from core.pages.sheet_placement import upright
from core.pages.surface_pages import nothing_yet
from core.pages.surface_view import Lettering, side_words
from core.pages.transform import Rect
from core.tables.spots import Spot, spots_by_surface, view_of
from core.text import mm, trimmed

TITLE = "Drilling templates 1 : 1"
#: Kept free round a hole on its template, so that its cross and its words are on it.
BORDER_MM = 22.0
#: Room at the head of the paper for what the template says about itself.
HEAD_MM = 33.0
CROSS_MM = 9.0


@dataclass(frozen=True)
class Template:
    """Holes on one sheet of paper, in the middle of which `middle` of the view stands.

    `mirrored` is for who stands behind the surface.
    """

    surface: Surface
    view: Upright
    spots: tuple[Spot, ...]
    middle: Point
    mirrored: bool


def template_pages(analysis: Analysis, imprint: Imprint) -> tuple[Page, ...]:
    """All templates, surface by surface."""
    on = paper(imprint.choices.paper, "portrait")
    free = blank(on, imprint, TITLE, "1 : 1")
    leaves = [
        Leaf(on, TITLE, tuple(template_marks(template, free)), "1 : 1")
        for template in templates(analysis, free.right - free.left, free.top - free.bottom)
    ]
    return bound(leaves, imprint) if leaves else nothing_yet(TITLE, imprint)


def templates(analysis: Analysis, wide_mm: float, high_mm: float) -> list[Template]:
    """What has to be drilled, grouped for paper with a free area of this size."""
    field = wide_mm - 2 * BORDER_MM, high_mm - HEAD_MM - 2 * BORDER_MM
    spots = spots_by_surface(analysis)
    found = []
    for surface in analysis.plan.surfaces:
        view = view_of(analysis, surface)
        drilled = [spot for spot in spots.get(surface.id, ()) if spot.hole_mm]
        if view is None:
            continue
        for holes in clusters(view, [spot for spot in drilled if spot.kind == "hole"], *field):
            group = _with_fixings(view, holes, drilled, *field)
            found.append(_template(surface, view, group, mirrored=False))
            behind = tuple(spot for spot in group if _asks_for_mirror(analysis, surface, spot))
            if behind:
                found.append(_template(surface, view, behind, mirrored=True))
    return found


def _with_fixings(
    view: Upright, holes: tuple[Spot, ...], drilled: Sequence[Spot], wide: float, high: float
) -> tuple[Spot, ...]:
    """The holes and the fixings that still fit on their paper."""
    group = list(holes)
    for spot in drilled:
        if spot.kind == "fixing":
            xs, ys = zip(*(view.to_view(one.at_mm) for one in (*group, spot)), strict=True)
            if max(xs) - min(xs) <= wide and max(ys) - min(ys) <= high:
                group.append(spot)
    return tuple(group)


def _template(surface: Surface, view: Upright, spots: tuple[Spot, ...], mirrored: bool) -> Template:
    xs, ys = zip(*(view.to_view(spot.at_mm) for spot in spots), strict=True)
    return Template(surface, view, spots, ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2), mirrored)


def _asks_for_mirror(analysis: Analysis, surface: Surface, spot: Spot) -> bool:
    """A hole through an inside surface of which neither end is a surface seen from outside."""
    hole = next((row for row in analysis.plan.penetrations if row.id == spot.subject), None)
    if hole is None or surface.side != "inside":
        return False
    return all(analysis.surfaces[end].side != "outside" for end in (hole.a, hole.b))


def clusters(view: Upright, spots: Sequence[Spot], wide: float, high: float) -> list[tuple[Spot, ...]]:
    """Spots that fit together on a field of this size, greedily from the left; every spot in one group."""
    left = sorted(spots, key=lambda spot: view.to_view(spot.at_mm))
    groups = []
    while left:
        start, low = view.to_view(left[0].at_mm)
        group, top = [left[0]], low
        for spot in left[1:]:
            x, y = view.to_view(spot.at_mm)
            if x - start <= wide and max(top, y) - min(low, y) <= high:
                group.append(spot)
                low, top = min(low, y), max(top, y)
        groups.append(tuple(group))
        left = [spot for spot in left if spot not in group]
    return groups


def template_marks(it: Template, free: Frame) -> list[AnyMark]:
    """The template on the free area of its page, true to size."""
    field = Rect(free.left, free.bottom + 2, free.right, free.top - HEAD_MM)
    middle = ((field.left + field.right) / 2, (field.bottom + field.top) / 2)
    hand = -1.0 if it.mirrored else 1.0

    def on_page(x: float, y: float) -> Point:
        return middle[0] + hand * (x - it.middle[0]), middle[1] + y - it.middle[1]

    marks = _head(it, free)
    window = upright(field.left, field.bottom, field.right, field.top)
    marks.append(LineMark(style="rule:thin", points_mm=window, closed=True))
    outline = [on_page(*p) for p in it.view.outline]
    for stretch in clip((*outline, outline[0]), window):
        marks.append(LineMark(style="metal_edge", points_mm=stretch.points))
    letters = Lettering(1.0, field)
    places = [on_page(*it.view.to_view(spot.at_mm)) for spot in it.spots]
    for spot, (x, y) in zip(it.spots, places, strict=True):
        radius = (spot.hole_mm or 0.0) / 2
        arm = radius + CROSS_MM
        marks.append(CircleMark(style="rule", subject=spot.subject, centre_mm=(x, y), radius_mm=radius))
        marks.append(LineMark(style="dimension", points_mm=((x - arm, y), (x + arm, y))))
        marks.append(LineMark(style="dimension", points_mm=((x, y - arm), (x, y + arm))))
        letters.take(upright(x - arm, y - 0.4, x + arm, y + 0.4))
        letters.take(upright(x - 0.4, y - arm, x + 0.4, y + arm))
        letters.take(upright(x - radius, y - radius, x + radius, y + radius))
    for spot, place in zip(it.spots, places, strict=True):
        a_mm, b_mm = it.view.measured(spot.at_mm)
        clear = ((spot.hole_mm or 0.0) / 2,) * 2
        marks += letters.at(place, f"A {mm(a_mm)} · B {mm(b_mm)}", spot.subject, 4.3, "label_medium", clear_mm=clear)
        told = f"{spot.number}  Ø {trimmed(spot.hole_mm or 0.0, 1)}"
        marks += letters.at(place, told, spot.subject, 4.4, clear_mm=clear)
    for spot, place in zip(it.spots, places, strict=True):
        clear = ((spot.hole_mm or 0.0) / 2,) * 2
        marks += letters.at(place, spot.what, spot.subject, 3.2, "label", style="text:muted", clear_mm=clear)
    marks += side_words(it.view, field, mirrored=it.mirrored)
    return marks


def _head(it: Template, free: Frame) -> list[AnyMark]:
    """Which surface, from which side, how to lay the paper, and the caution of drilling."""
    here = {"inside": "INSIDE", "outside": "OUTSIDE", "board": "THE ROOM"}[it.surface.side]
    side = "FROM BEHIND: MIRRORED" if it.mirrored else f"FROM {here}: as seen from there"
    how = (
        "Drill a 3 mm pilot hole from the other side first; lay the cross of its hole over it."
        if it.mirrored
        else f"A is the {it.view.a.name}, B the {it.view.b.name}. Measure each cross again before you centre-punch."
    )
    width, y = free.right - free.left, free.top - 7.5
    marks: list[AnyMark] = [
        text_mark(free.left, y, fitted(f"{it.surface.name} · drill {side}", "label_bold", 5.4, width), 5.4,
                  font="label_bold"),
        text_mark(free.left, y - 6.0, fitted(how, "label_medium", 3.6, width), 3.6, font="label_medium"),
    ]  # fmt: skip
    cautions, _ = caution_block((DRILLING,), free.left, y - 16.5, free.right)
    return [*marks, *cautions]
