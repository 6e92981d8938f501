"""Checks of separation: mains, power, signals and antenna leads beside each other, in one channel or in two."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import atan2, degrees
from typing import Any

from core.analysis.analysis import Analysis
from core.analysis.obstacles import taped
from core.analysis.results import Finding
from core.analysis.rules import number, source
from core.geometry.plane import Point, distance_mm

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
    channel: str
    groups: frozenset[str]
    barrier: bool
    radius_mm: float
    line: tuple[Point, ...]
    scale: float


def _lines(analysis: Analysis) -> Mapping[str, list[_Line]]:
    """Bundles by surface."""
    found: dict[str, list[_Line]] = {}
    for bundle in analysis.bundles.values():
        path, channel = analysis.paths[bundle.channel], analysis.channels[bundle.channel]
        if path.surface is not None and len(path.local_mm) > 1:
            groups = frozenset(analysis.wires[w].group for w in bundle.wires)
            row = _Line(
                channel.id, groups, channel.kind in BARRIER, bundle.diameter_laid_mm / 2, path.local_mm, taped(path)
            )
            found.setdefault(path.surface, []).append(row)
    return found


def _rule(a: _Line, b: _Line) -> str:
    """The limit that holds between two bundles, "" for none; mains beside anything else is the stricter matter."""
    if ("mains" in a.groups) != ("mains" in b.groups):
        return "" if a.barrier or b.barrier else "separation.mains_mm"
    quiet, other = (a, b) if a.groups <= QUIET else (b, a)
    return "separation.data_mm" if quiet.groups <= QUIET and not other.groups <= QUIET else ""


def _beside(shapely: Any, a: _Line, b: _Line, reach_mm: float) -> tuple[float, float]:
    """(nearest distance of the middles, length of a that runs along b within reach); 0 where it only crosses b."""
    nearest, length = float("inf"), 0.0
    for p, q in zip(a.line, a.line[1:], strict=False):
        if distance_mm(p, q) <= 0:
            continue
        one, parts = shapely.LineString((p, q)), []
        for r, s in zip(b.line, b.line[1:], strict=False):
            if distance_mm(r, s) > 0 and _along(p, q, r, s):
                other = shapely.LineString((r, s))
                away = shapely.distance(one, other)
                if away < reach_mm:
                    nearest = min(nearest, float(away))
                    parts.append(shapely.intersection(one, shapely.buffer(other, reach_mm, cap_style="flat")))
        length += float(shapely.length(shapely.union_all(parts))) if parts else 0.0
    return nearest, length * a.scale


def _along(p: Point, q: Point, r: Point, s: Point) -> bool:
    turn = abs(degrees(atan2(q[1] - p[1], q[0] - p[0]) - atan2(s[1] - r[1], s[0] - r[0]))) % 180.0
    return min(turn, 180.0 - turn) < ALONG_DEG


def neighbours(analysis: Analysis) -> Iterable[Finding]:
    """Bundles of different groups that run along each other in two channels of one surface, nearer than the profile
    wants. Where they cross steeply nothing is said."""
    for rows in _lines(analysis).values():
        groups = frozenset[str]().union(*(row.groups for row in rows))
        if ("mains" in groups and len(groups) > 1) or (groups & QUIET and groups & LOUD):
            yield from _on_surface(analysis, rows)


def _on_surface(analysis: Analysis, rows: Sequence[_Line]) -> Iterable[Finding]:
    import shapely

    shapes = [shapely.LineString(row.line) for row in rows]
    tree = shapely.STRtree(shapes)
    widest = max(row.radius_mm for row in rows)
    most = max(number(analysis.profile, r) for r in ("separation.mains_mm", "separation.data_mm")) + 2 * widest
    asking = [i for i, row in enumerate(rows) if row.groups <= QUIET or "mains" in row.groups]
    for i in asking:
        for j in sorted(int(k) for k in tree.query(shapes[i], predicate="dwithin", distance=most)):
            a, b = rows[i], rows[j]
            if i == j or (j in asking and j < i):
                continue
            rule = _rule(a, b)
            if not rule:
                continue
            limit = number(analysis.profile, rule)
            nearest, length = _beside(shapely, a, b, limit + a.radius_mm + b.radius_mm)
            if length <= max(LEAST_MM, 4 * limit):
                continue
            away = max(0.0, nearest - a.radius_mm - b.radius_mm)
            mains = rule == "separation.mains_mm"
            yield Finding(
                code="separation.near",
                severity="error" if mains else "note",
                subjects=(a.channel, b.channel),
                message=f"{analysis.word(a.channel)} runs {away:.0f} mm beside {analysis.word(b.channel)} over "
                f"{length / 1000:.2f} m: {_words(a)} beside {_words(b)}.",
                value=away,
                limit=limit,
                unit="mm",
                source=source(analysis.profile, rule),
                remedy="lay them farther apart, or mains in a conduit of its own; crossings at right angles are fine",
            )


def _words(row: _Line) -> str:
    return " and ".join(sorted(group.replace("_", " ").replace("dc", "DC") for group in row.groups))
