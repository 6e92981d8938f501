"""Checks of separation: mains, power, signals and antenna leads beside each other, in one channel or in two."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from core.analysis.analysis import Analysis
from core.analysis.obstacles import taped
from core.analysis.results import Finding
from core.analysis.rules import number, source
from core.geometry.alongside import alongside, union_mm
from core.geometry.foldout import Point3

#: What a neighbour disturbs.
QUIET = frozenset({"signal", "antenna"})
LOUD = frozenset({"mains", "dc_power"})
#: Channels whose wall parts mains from what is beside it.
BARRIER = frozenset({"closed_conduit", "trunking"})
#: Two bundles run along each other where they meet at less than this (degrees, our choice); steeper they cross, which
#: is fine.
ALONG_DEG = 45.0
#: Shorter stretches together are where channels meet or branch (mm; our choice).
LEAST_MM = 100.0
#: A finding names so many circuits, and counts the rest.
NAMED = 5


def shared_channels(analysis: Analysis) -> Iterable[Finding]:
    """Signal and antenna circuits with power in the same channels, in one finding, each with its metres."""
    over: dict[str, dict[str, float]] = {}
    for bundle in analysis.bundles.values():
        groups = {analysis.wires[w].group for w in bundle.wires}
        if not groups & QUIET or not groups & LOUD:
            continue
        for wire in bundle.wires:
            if analysis.wires[wire].group in QUIET:
                over.setdefault(analysis.wires[wire].circuit, {})[bundle.channel] = bundle.length_mm
    if not over:
        return
    metres = {circuit: sum(channels.values()) / 1000 for circuit, channels in over.items()}
    longest = sorted(metres, key=lambda c: (-metres[c], c))
    named = ", ".join(f"{analysis.word(c)} over {metres[c]:.1f} m" for c in longest[:NAMED])
    more = f" and {len(over) - NAMED} more" if len(over) > NAMED else ""
    one = len(over) == 1
    yield Finding(
        code="separation.data",
        severity="note",
        subjects=tuple(over),
        message=f"{len(over)} signal or antenna circuit{' lies' if one else 's lie'} with power in the same channel: "
        f"{named}{more}.",
        value=0.0,
        limit=number(analysis.profile, "separation.data_mm"),
        unit="mm",
        source=source(analysis.profile, "separation.data_mm"),
        remedy="channels of their own, twisted or screened pairs, or cross the power at right angles",
    )


@dataclass(frozen=True)
class _Line:
    """A bundle in the vehicle's coordinates; `root` is the tree of surfaces in which it has its place."""

    channel: str
    groups: frozenset[str]
    barrier: bool
    outside: bool
    radius_mm: float
    root: str
    corners: tuple[Point3, ...]
    scale: float

    @property
    def box(self) -> tuple[float, float, float, float, float, float]:
        xs, ys, zs = zip(*self.corners, strict=True)
        return min(xs), min(ys), min(zs), max(xs), max(ys), max(zs)


def _lines(analysis: Analysis) -> list[_Line]:
    found = []
    for bundle in analysis.bundles.values():
        path, channel = analysis.paths[bundle.channel], analysis.channels[bundle.channel]
        laid = analysis.sheet.layout.laid.get(path.surface or "")
        if path.surface is None or laid is None or len(path.local_mm) < 2:
            continue
        row = _Line(
            channel.id,
            frozenset(analysis.wires[w].group for w in bundle.wires),
            channel.kind in BARRIER,
            analysis.surfaces[path.surface].side == "outside",
            bundle.diameter_laid_mm / 2,
            laid.root,
            tuple(laid.pose.to_vehicle(p) for p in path.local_mm),
            taped(path),
        )
        found.append(row)
    return found


def _rule(a: _Line, b: _Line) -> str:
    """The limit that holds between two bundles, "" for none; mains beside anything else is the stricter matter."""
    if ("mains" in a.groups) != ("mains" in b.groups):
        return "" if a.barrier or b.barrier else "separation.mains_mm"
    quiet, other = (a, b) if a.groups <= QUIET else (b, a)
    return "separation.data_mm" if quiet.groups <= QUIET and not other.groups <= QUIET else ""


def _beside(a: _Line, b: _Line, reach_mm: float) -> tuple[float, float]:
    """(nearest distance of the middles, length of a that runs along b within reach); 0 where it only crosses b."""
    nearest, length = float("inf"), 0.0
    for p, q in pairwise(a.corners):
        parts = []
        for r, s in pairwise(b.corners):
            found = alongside(p, q, r, s, reach_mm, ALONG_DEG)
            if found is not None:
                nearest = min(nearest, found[2])
                parts.append(found[:2])
        length += union_mm(parts)
    return nearest, length * a.scale


@dataclass
class _Pair:
    """Two lines, each of all channels of its name, that run along each other."""

    a: _Line
    b: _Line
    rule: str
    away_mm: float
    length_mm: float
    channels: dict[str, None]


def neighbours(analysis: Analysis) -> Iterable[Finding]:
    """Bundles of different groups that run along each other in two channels, in the vehicle and whatever surfaces they
    lie on, nearer than the profile wants. Where they cross steeply nothing is said, nor through the vehicle's skin."""
    rows = _lines(analysis)
    groups = frozenset[str]().union(*(row.groups for row in rows))
    if not (("mains" in groups and len(groups) > 1) or (groups & QUIET and groups & LOUD)):
        return
    pairs: dict[tuple[str, str, str], _Pair] = {}
    for a, b, rule in _near(analysis, rows):
        limit = number(analysis.profile, rule)
        nearest, length = _beside(a, b, limit + a.radius_mm + b.radius_mm)
        if length <= max(LEAST_MM, 4 * limit):
            continue
        away = max(0.0, nearest - a.radius_mm - b.radius_mm)
        key = (rule, analysis.word(a.channel), analysis.word(b.channel))
        pair = pairs.setdefault(key, _Pair(a, b, rule, away, 0.0, {}))
        pair.away_mm = min(pair.away_mm, away)
        pair.length_mm += length
        pair.channels |= dict.fromkeys((a.channel, b.channel))
    for pair in pairs.values():
        yield _told(analysis, pair)


def _near(analysis: Analysis, rows: Sequence[_Line]) -> Iterable[tuple[_Line, _Line, str]]:
    """Pairs of bundles for which a rule holds and whose boxes come near enough, the asking one first."""
    import numpy as np
    import shapely

    boxes = np.array([row.box for row in rows])
    widest = max(row.radius_mm for row in rows)
    most = max(number(analysis.profile, r) for r in ("separation.mains_mm", "separation.data_mm")) + 2 * widest
    tree = shapely.STRtree(shapely.box(*boxes[:, [0, 1, 3, 4]].T))
    asking = np.array([i for i, row in enumerate(rows) if row.groups <= QUIET or "mains" in row.groups], dtype=int)
    wide = shapely.box(*(boxes[asking][:, [0, 1, 3, 4]] + np.array([-most, -most, most, most])).T)
    found, other = tree.query(wide)
    first = asking[found]
    apart = np.maximum(boxes[other, 2] - boxes[first, 5], boxes[first, 2] - boxes[other, 5])
    asks = set(asking.tolist())
    for i, j in sorted(zip(first[apart < most].tolist(), other[apart < most].tolist(), strict=True)):
        a, b = rows[i], rows[j]
        if i == j or (j in asks and j < i) or a.root != b.root or a.outside != b.outside:
            continue
        rule = _rule(a, b)
        if rule:
            yield a, b, rule


def _told(analysis: Analysis, pair: _Pair) -> Finding:
    a, b = pair.a, pair.b
    mains = pair.rule == "separation.mains_mm"
    surfaces = [analysis.channels[row.channel].surface or "" for row in (a, b)]
    where = "" if surfaces[0] == surfaces[1] else f", on {analysis.word(surfaces[0])} and {analysis.word(surfaces[1])}"
    return Finding(
        code="separation.near",
        severity="error" if mains else "note",
        subjects=tuple(pair.channels),
        message=f"{analysis.word(a.channel)} runs {pair.away_mm:.0f} mm beside {analysis.word(b.channel)} over "
        f"{pair.length_mm / 1000:.2f} m{where}: {_words(a)} beside {_words(b)}.",
        value=pair.away_mm,
        limit=number(analysis.profile, pair.rule),
        unit="mm",
        source=source(analysis.profile, pair.rule),
        remedy="lay them farther apart, or mains in a conduit of its own; crossings at right angles are fine",
    )


def _words(row: _Line) -> str:
    return " and ".join(sorted(group.replace("_", " ").replace("dc", "DC") for group in row.groups))
