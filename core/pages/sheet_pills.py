"""Where the labels of bundles stand: one for each run on each surface, turned along it, on nothing else."""

from collections.abc import Iterator, Mapping, Sequence
from math import cos, radians, sin

from core.analysis.results import ChannelPath
from core.geometry.plane import between, distance_mm
from core.model import Point
from core.pages.sheet_base import World, upright_deg
from core.pages.sheet_bundles import PILL_HIGH_MM, Pill, drawn_width_mm, pill_length_mm, pill_words
from core.pages.sheet_placement import Quad, Room, turned
from core.pages.sheet_trunks import Trunks


def place_pills(world: World, trunks: Trunks, room: Room) -> dict[str, tuple[Pill, ...]]:
    """Labels by channel, the thickest bundles first; a run whose straight stretches are too short has none."""
    pills: dict[str, tuple[Pill, ...]] = {}
    k = world.k
    order: list[tuple[int, str, list[str]]] = []
    for run in trunks.runs:
        by_surface: dict[str, list[str]] = {}
        for channel in run:
            path = world.paths.get(channel)
            if path is not None and path.surface is not None and len(path.sheet_mm) > 1:
                by_surface.setdefault(path.surface, []).append(channel)
        for surface, part in by_surface.items():
            order.append((-len(world.bundles[run[0]].wires), surface, part))
    order.sort(key=lambda item: item[0])
    for _, _, part in order:
        bundle = max((world.bundles[channel] for channel in part), key=lambda b: b.diameter_laid_mm)
        pill = Pill((0.0, 0.0), 0.0, trunks.by_channel[part[0]].name, pill_words(bundle))
        wide, high = pill_length_mm(pill, k), PILL_HIGH_MM * k
        for channel, at, turn in _on_straights(part, world.paths, wide):
            # Its own bundle is an obstacle for all others: look at the room beside it on either side.
            if all(room.is_free(side) for side in _beside(at, turn, wide, high, drawn_width_mm(bundle, k) + 0.9 * k)):
                room.take(turned(at, wide, high, turn))
                done = Pill(at, turn, pill.name, pill.words)
                pills[channel] = (*pills.get(channel, ()), done)
                break
    return pills


def _beside(at: Point, turn: float, wide: float, high: float, core: float) -> tuple[Quad, ...]:
    """The two strips of a label that reach over its bundle, and a thin bar across either end."""
    c, s = cos(radians(turn)), sin(radians(turn))
    strip = (high - core) / 2
    if strip <= 0:
        return ()
    out = core / 2 + strip / 2
    return tuple(turned((at[0] - s * out * side, at[1] + c * out * side), wide, strip, turn) for side in (1.0, -1.0))


def _on_straights(
    channels: Sequence[str], paths: Mapping[str, ChannelPath], wide: float
) -> Iterator[tuple[str, Point, float]]:
    """Places on the straight stretches that are long enough, the longest first: middle, then towards the ends."""
    stretches = []
    for channel in channels:
        points = paths[channel].sheet_mm
        for start, end in zip(points, points[1:], strict=False):
            size = distance_mm(start, end)
            if size > wide * 1.12:
                stretches.append((size, channel, start, end))
    stretches.sort(key=lambda item: -item[0])
    for size, channel, start, end in stretches:
        reach = 0.5 - wide * 0.56 / size
        for share in (0.0, -0.5, 0.5, -1.0, 1.0, -0.25, 0.25, -0.75, 0.75):
            yield channel, between(start, end, 0.5 + share * reach), upright_deg(start, end)


def on_longest(path: ChannelPath, name: str, words: str, k: float) -> tuple[Pill, ...]:
    """The label in the middle of the longest straight stretch, whatever lies there; none where it is too long."""
    pill = Pill((0.0, 0.0), 0.0, name, words)
    first = next(_on_straights((path.channel,), {path.channel: path}, pill_length_mm(pill, k)), None)
    return () if first is None else (Pill(first[1], first[2], name, words),)
