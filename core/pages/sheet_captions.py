"""Captions of surfaces: outside where there is room, else inside where nothing else lies."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from core.geometry.edges import outline_of
from core.geometry.plane import Polyline
from core.model import Box, Opening, Point, Surface
from core.pages.lettering import CUTS, width_mm
from core.pages.marks import AnyMark
from core.pages.sheet_base import CAPTION_MM, NAME_MM, SMALL_MM, World, size_words
from core.pages.sheet_blocks import Anchor, Line, block_marks, block_quad
from core.pages.sheet_placement import Quad, Room, bounds, upright
from core.pages.sheet_text import cap_mm
from core.text import shorten

#: Squares of the grid of surfaces, on paper.
GROUND_MM = 48.0
#: Kept free round a caption.
CLEAR_MM = 1.0
#: Places that are tried inside a surface, across and up.
TRIES = (5, 9)
#: Smaller captions for where the usual one has no room, as a share of it.
SMALLER = (1.0, 0.8, 0.62)

#: A name of fewer letters, with its ellipsis, says nothing.
SHORTEST = 4

Frame = tuple[float, float, float, float]


@dataclass(frozen=True)
class Homeless:
    """A surface whose caption has no room outside: its frame on the sheet and its words."""

    surface: Surface
    frame: Frame
    words: str


def surface_size_words(surface: Surface) -> str:
    left, low, right, high = bounds(outline_of(surface))
    return size_words(right - left, high - low) + " mm"


def outer_captions(
    world: World, outlines: Mapping[str, Polyline], room: Room, texts: dict[str, tuple[AnyMark, ...]]
) -> list[Homeless]:
    """Captions beside, above and below their surfaces, into `texts`; the surfaces that have no room there."""
    k = world.k
    ground = Room(GROUND_MM * k)
    for outline in outlines.values():
        # Surfaces are nearly always four-cornered; the bounding box of others is good enough for a caption.
        ground.take(_shrunk(upright(*bounds(outline)), 0.5))
    homeless = []
    for surface in world.plan.surfaces:
        if surface.id not in outlines:
            continue
        frame = bounds(outlines[surface.id])
        whole, part = _named_parts(world, surface)
        if part:
            _word_of_face(world, surface, part, frame, room, texts)
            continue
        if whole != surface.name:
            frame = bounds(_net(world, outlines, whole))
        lines = _lines(world, surface, whole)
        for at, anchor in _outside(surface, whole, frame, k):
            quad = block_quad(at, lines, anchor)
            if room.is_free(_shrunk(quad, -CLEAR_MM * k)) and ground.is_free(quad):
                room.take(_shrunk(quad, -CLEAR_MM * k))
                texts[f"caption:{surface.id}"] = block_marks(surface.id, at, lines, anchor)
                break
        else:
            homeless.append(Homeless(surface, frame, whole))
    return homeless


def inner_captions(world: World, homeless: list[Homeless], room: Room, texts: dict[str, tuple[AnyMark, ...]]) -> None:
    """Captions inside their surfaces at the first place where nothing lies, smaller and without the size where there
    is none, cut off where the surface is narrow; left out where not even that is free."""
    things = _things(world) if homeless else Room(GROUND_MM * world.k)
    for each in homeless:
        for lines in _ways_to_set(world, each):
            places = list(_inside(each.frame, lines, world.k))
            quads = [block_quad(at, lines, anchor) for at, anchor in places]
            # On the bare surface rather than on a cabinet or a window, which have names of their own.
            number = next((n for n, quad in enumerate(quads) if room.is_free(quad) and things.is_free(quad)), None)
            number = number if number is not None else room.place(quads)
            if number is not None:
                room.take(quads[number])
                at, anchor = places[number]
                texts[f"caption:{each.surface.id}"] = block_marks(each.surface.id, at, lines, anchor)
                break


def _things(world: World) -> Room:
    """The bounding boxes of cabinets and openings on the sheet."""
    taken = Room(GROUND_MM * world.k)
    areas: list[Box | Opening] = [*world.plan.boxes, *world.plan.openings]
    for area in areas:
        place = world.place(area.surface)
        if place is not None and len(area.outline) >= 3:
            taken.take(upright(*bounds(place.line_to_sheet(area.outline))))
    return taken


def _ways_to_set(world: World, each: Homeless) -> Iterator[tuple[Line, ...]]:
    """Name and size, the name alone, both smaller, and at last the small name cut off."""
    free = each.frame[2] - each.frame[0] - 2.4 * world.k
    for share in SMALLER:
        whole = _lines(world, each.surface, each.words, share)
        for lines in (whole, whole[:1]):
            if _widest(lines) <= free:
                yield lines
    name = _lines(world, each.surface, each.words, SMALLER[-1])[0]
    cut = shorten(name.text, CUTS[name.font], name.size_mm, free)
    if len(cut) > SHORTEST:
        yield (replace(name, text=cut),)


def _lines(world: World, surface: Surface, words: str, share: float = 1.0) -> tuple[Line, ...]:
    k = world.k * share
    return (
        Line(words.upper(), CAPTION_MM * k, "label_bold", "text:heading"),
        Line(surface_size_words(surface), SMALL_MM * k, "label", "text:muted"),
    )


def _widest(lines: tuple[Line, ...]) -> float:
    return max(width_mm(line.text, line.font, line.size_mm) for line in lines)


def _outside(surface: Surface, whole: str, frame: Frame, k: float) -> list[tuple[Point, Anchor]]:
    """Places outside a surface, the best first: beside a wall at its upper corners, over and under an end or a face."""
    left, low, right, high = frame
    gap, drop = 2.6 * k, cap_mm("label_bold", CAPTION_MM) * k
    deep = drop + 4.2 * k
    beside: list[tuple[Point, Anchor]] = [
        ((left - gap, high - 1.2 * k - drop), "right"),
        ((right + gap, high - 1.2 * k - drop), "left"),
    ]
    if whole != surface.name:
        # A net has tabs all round; further out and at its feet there is mostly room.
        away = gap + 3.0 * k
        beside += [((left - away, low + 5.2 * k), "right"), ((right + away, low + 5.2 * k), "left")]
    over: list[tuple[Point, Anchor]] = [
        ((left + k, high + deep - drop + 1.4 * k), "left"),
        ((right - k, high + deep - drop + 1.4 * k), "right"),
        ((left + k, low - gap - drop), "left"),
        ((right - k, low - gap - drop), "right"),
    ]
    return over + beside if surface.role in ("end", "door", "face", "arch") else beside + over


def _inside(frame: Frame, lines: tuple[Line, ...], k: float) -> Iterator[tuple[Point, Anchor]]:
    """Places inside a frame: its corners first, lower left before the others, then all over it."""
    left, low, right, high = frame
    drop = cap_mm(lines[0].font, lines[0].size_mm)
    below = sum(line.size_mm * 1.32 for line in lines[1:]) + lines[-1].size_mm * 0.25
    foot, head = low + 1.6 * k + below, high - 2.2 * k - drop
    if head < foot:
        return
    yield ((left + 2.2 * k, foot), "left")
    yield ((right - 2.2 * k, foot), "right")
    yield ((left + 2.2 * k, head), "left")
    yield ((right - 2.2 * k, head), "right")
    wide = _widest(lines)
    first, last = left + 1.2 * k, right - 1.2 * k - wide
    across, up = TRIES
    for row in range(up):
        y = head - (head - foot) * row / (up - 1)
        for column in range(across):
            yield ((first + max(0.0, last - first) * column / (across - 1), y), "left")


def _word_of_face(
    world: World, surface: Surface, part: str, frame: Frame, room: Room, texts: dict[str, tuple[AnyMark, ...]]
) -> None:
    """A face of a net (wheel arch, cabinet): the net has one caption, its faces a word each."""
    left, low, right, high = frame
    k = world.k
    word = Line(part, NAME_MM * k, "label_medium", "text:muted")
    if width_mm(part, "label_medium", NAME_MM * k) >= right - left or high - low <= 2 * NAME_MM * k:
        return
    at = ((left + right) / 2, (low + high) / 2 - k)
    if room.place([block_quad(at, (word,), "middle")]) is not None:
        texts[f"caption:{surface.id}"] = block_marks(surface.id, at, (word,), "middle")


def _named_parts(world: World, surface: Surface) -> tuple[str, str]:
    """The name of a surface for its caption, and its own word where it lies beside another face of the same net:
    “Wheel arch, left: top” beside “Wheel arch, left: side”. The face the net hangs on speaks for all."""
    whole, colon, part = surface.name.partition(": ")
    if not colon or surface.role not in ("arch", "face"):
        return surface.name, ""
    laid = world.layout.laid.get(surface.id)
    beside = laid is not None and not laid.apart and laid.parent is not None
    return whole, part if beside else ""


def _net(world: World, outlines: Mapping[str, Polyline], name: str) -> Polyline:
    """Corners of all faces of a net on the sheet."""
    faces = (each.id for each in world.plan.surfaces if each.name.startswith(f"{name}: ") and each.id in outlines)
    return tuple(point for face in faces for point in outlines[face])


def _shrunk(quad: Quad, by: float) -> Quad:
    left, low, right, high = bounds(quad)
    return upright(left + by, low + by, right - by, high - by)
