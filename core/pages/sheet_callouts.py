"""Callouts of the worst findings: a numbered sign in a box of its own outside the drawing, with a line to the place."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import hypot

from core.analysis.results import Finding, Severity
from core.geometry.edges import outline_of
from core.geometry.plane import along_mm, point_at
from core.geometry.polygon import centre
from core.model import Box, Device, EarthPoint, KeepOutZone, MetalEdge, MovingPart, Opening, Panel, Point, Rib
from core.pages.lettering import CUTS, Font, width_mm
from core.pages.marks import AnyMark, AreaMark, CircleMark, LineMark, TextMark
from core.pages.sheet_base import World
from core.pages.sheet_placement import bounds, upright
from core.pages.sheet_text import cap_mm, corners
from core.text import shorten, wrap

#: No more than this many callouts: the list of findings has them all.
MOST = 6
TITLE_MM = 2.7
BOX_WIDE_MM = 54.0
SIGN_MM = 5.0
_Area = Box | Opening | KeepOutZone | Panel | MovingPart
#: Left, low, right, high.
Rect = tuple[float, float, float, float]
ORDER: dict[Severity, int] = {"error": 0, "warning": 1, "note": 2}


@dataclass(frozen=True)
class Callout:
    """A finding, its number on the drawing, the place it points to and where its box stands (lower left, size)."""

    number: int
    finding: Finding
    at_mm: Point
    box_mm: tuple[float, float, float, float]


def worst(
    findings: Sequence[Finding], spots: Mapping[str, Point], most: int = MOST
) -> tuple[tuple[Finding, Point], ...]:
    """The worst findings that have a place on the sheet, errors first, one for each code and place."""
    chosen: list[tuple[Finding, Point]] = []
    seen: set[tuple[str, Point]] = set()
    for finding in sorted(findings, key=lambda f: ORDER[f.severity]):
        if finding.waived or finding.severity == "note":
            continue
        spot = next((spots[subject] for subject in finding.subjects if subject in spots), None)
        if spot is None or (finding.code, spot) in seen:
            continue
        seen.add((finding.code, spot))
        chosen.append((finding, spot))
        if len(chosen) == most:
            break
    return tuple(chosen)


def spots_on_sheet(world: World) -> dict[str, Point]:
    """Where each record of the plan is on the sheet, one point each; what has no place is left out."""
    plan = world.plan
    spots: dict[str, Point] = {}
    for surface in plan.surfaces:
        place = world.place(surface.id)
        if place is not None and len(surface.corners) >= 3:
            spots[surface.id] = place.to_sheet(centre(outline_of(surface)))
    areas: tuple[_Area, ...] = (*plan.boxes, *plan.openings, *plan.zones, *plan.panels, *plan.moving_parts)
    lines: tuple[Rib | MetalEdge, ...] = (*plan.ribs, *plan.metal_edges)
    things: tuple[Device | EarthPoint, ...] = (*plan.devices, *plan.earth_points)
    for record in areas:
        place = world.place(record.surface)
        if place is not None and len(record.outline) >= 3:
            spots[record.id] = place.to_sheet(centre(record.outline))
    for line in lines:
        place = world.place(line.surface)
        if place is not None and len(line.line_mm) > 1:
            spots[line.id] = place.to_sheet(point_at(line.line_mm, along_mm(line.line_mm)[-1] / 2))
    for thing in things:
        place = world.place(thing.surface)
        if place is not None:
            spots[thing.id] = place.to_sheet(thing.at_mm)
    for node, spot in world.node_spots.items():
        if spot.sheet_mm:
            spots[node] = spot.sheet_mm[0]
    for channel, path in world.paths.items():
        if len(path.sheet_mm) > 1:
            spots[channel] = point_at(path.sheet_mm, along_mm(path.sheet_mm)[-1] / 2)
    return spots


def wanted_callouts(
    world: World, texts: Sequence[AnyMark]
) -> tuple[tuple[tuple[Finding, Point], ...], tuple[Rect, ...]]:
    """What is to be called out, and the rectangles of the sheet that are taken: surfaces, and the texts outside."""
    chosen = worst(world.analysis.findings, _precise(world, spots_on_sheet(world)))
    if not chosen:
        return (), ()
    k = world.k
    taken = []
    for surface in world.plan.surfaces:
        place = world.place(surface.id)
        if place is not None and len(surface.corners) >= 3:
            left, low, right, high = bounds(place.line_to_sheet(outline_of(surface)))
            taken.append((left - 4 * k, low - 4 * k, right + 4 * k, high + 4 * k))
    grounds = tuple(taken)
    for mark in texts:
        if isinstance(mark, TextMark):
            box = bounds(corners(mark))
            if not any(g[0] < box[0] and g[1] < box[1] and box[2] < g[2] and box[3] < g[3] for g in grounds):
                taken.append(box)
    return chosen, tuple(taken)


def place_callouts(chosen: Sequence[tuple[Finding, Point]], taken: Sequence[Rect], k: float) -> tuple[Callout, ...]:
    """Boxes on free paper as near to their places as they fit."""
    full = list(taken)
    callouts = []
    for number, (finding, spot) in enumerate(chosen):
        wide, high = box_size_mm(finding, k)
        corner = _nearest_free(full, spot, wide, high, k)
        if corner is None:
            continue
        x, y = corner
        full.append((x - 2 * k, y - 2 * k, x + wide + 2 * k, y + high + 2 * k))
        callouts.append(Callout(number + 1, finding, spot, (x, y, wide, high)))
    return tuple(callouts)


def _precise(world: World, spots: dict[str, Point]) -> dict[str, Point]:
    """Bends too tight and rub points say exactly where: their channel's spot is theirs."""
    exact = dict(spots)
    for crossing in world.crossings:
        if crossing.sheet_mm is not None and not crossing.protected and crossing.severity != "note":
            exact[crossing.channel] = crossing.sheet_mm
    for bend in world.analysis.bends:
        if bend.sheet_mm is not None and bend.drawn_mm < bend.needed_mm:
            exact[bend.channel] = bend.sheet_mm
    return exact


def _nearest_free(taken: Sequence[Rect], spot: Point, wide: float, high: float, k: float) -> Point | None:
    """Lower left corner of the free box that is nearest to the spot, looking outwards on a grid."""
    step = 8.0 * k
    candidates = []
    for i in range(-40, 41):
        for j in range(-30, 31):
            x, y = spot[0] + i * step, spot[1] + j * step
            # Level with the place is calmer than slanted.
            away = hypot(x - spot[0], (y - spot[1]) * 1.6)
            candidates.append((away, x if i >= 0 else x - wide, y - high / 2))
    candidates.sort()
    for _, x, y in candidates:
        if not any(left < x + wide and x < right and low < y + high and y < top for left, low, right, top in taken):
            return (x, y)
    return None


def _words(finding: Finding, k: float) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Title and remedy, at most two lines each."""
    free = (BOX_WIDE_MM - SIGN_MM - 5.0) * k
    size = TITLE_MM * k
    return (
        _lines(finding.message, "label_bold", size, free),
        _lines(finding.remedy, "label", size, free) if finding.remedy else (),
    )


def _lines(text: str, font: Font, size: float, free: float) -> tuple[str, ...]:
    """At most two lines, the second cut off where there would be more."""
    lines = wrap(text, CUTS[font], size, free)
    return lines if len(lines) <= 2 else (lines[0], shorten(" ".join(lines[1:]), CUTS[font], size, free))


def box_size_mm(finding: Finding, k: float) -> tuple[float, float]:
    title, remedy = _words(finding, k)
    size = TITLE_MM * k
    text = max(
        [width_mm(line, "label_bold", size) for line in title] + [width_mm(line, "label", size) for line in remedy]
    )
    lines = len(title) + len(remedy)
    return text + (SIGN_MM + 5.0) * k, max(lines * TITLE_MM * 1.32 + 2.6, SIGN_MM + 2.6) * k


def callout_marks(callout: Callout, k: float) -> tuple[AnyMark, ...]:
    finding = callout.finding
    subject = finding.subjects[0] if finding.subjects else ""
    family = "error" if finding.severity == "error" else "warning"
    x, y, wide, high = callout.box_mm
    ring = 2.0 * k
    marks: list[AnyMark] = [
        CircleMark(style=f"{family}:line", subject=subject, centre_mm=callout.at_mm, radius_mm=ring),
        LineMark(style=f"{family}:line", subject=subject, points_mm=_leader(callout.at_mm, ring, (x, y, wide, high))),
        AreaMark(
            style=family,
            subject=subject,
            outline_mm=upright(x, y, x + wide, y + high),
            radius_mm=0.6 * k,
        ),
        *sign_marks(callout.number, family, (x + (1.4 + SIGN_MM / 2) * k, y + high / 2), SIGN_MM * k, subject),
    ]
    title, remedy = _words(finding, k)
    size = TITLE_MM * k
    pitch = size * 1.32
    left = x + (SIGN_MM + 2.8) * k
    count = len(title) + len(remedy)
    base = y + high / 2 + pitch * (count - 1) / 2 - cap_mm("label", size) / 2
    for number, (text, bold) in enumerate([(line, True) for line in title] + [(line, False) for line in remedy]):
        marks.append(
            TextMark(
                style="text",
                subject=subject,
                at_mm=(left, base - number * pitch),
                text=text,
                size_mm=size,
                font="label_bold" if bold else "label",
            )
        )
    return tuple(marks)


def sign_marks(number: int, family: str, centre_mm: Point, size_mm: float, subject: str) -> tuple[AnyMark, ...]:
    """A triangle with the finding's number, in the colours of a warning or an error."""
    x, y = centre_mm
    half, low, high = size_mm / 2, y - size_mm * 0.43, y + size_mm * 0.43
    return (
        AreaMark(
            style=f"sign:{family}",
            subject=subject,
            outline_mm=((x - half, low), (x + half, low), (x, high)),
            radius_mm=size_mm * 0.04,
        ),
        TextMark(
            style="text:sign" if family == "warning" else "text:sign_error",
            subject=subject,
            at_mm=(x, y - size_mm * 0.13),
            text=str(number),
            size_mm=size_mm * 0.6,
            anchor="middle",
            baseline="middle",
            font="label_bold",
        ),
    )


def _leader(at: Point, ring: float, box: tuple[float, float, float, float]) -> tuple[Point, Point]:
    """From the ring to the nearest middle of a side of the box."""
    x, y, wide, high = box
    sides = ((x, y + high / 2), (x + wide, y + high / 2), (x + wide / 2, y), (x + wide / 2, y + high))
    end = min(sides, key=lambda p: hypot(p[0] - at[0], p[1] - at[1]))
    size = hypot(end[0] - at[0], end[1] - at[1]) or 1.0
    return (at[0] + (end[0] - at[0]) * ring / size, at[1] + (end[1] - at[1]) * ring / size), end
