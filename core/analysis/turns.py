"""Stage `turns`: how sharply wires turn where they go from one channel into the next, in the vehicle."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import atan2, degrees, dist, sqrt

from core.analysis.places import Sheet
from core.analysis.results import ChannelPath, Route
from core.geometry.foldout import Point3, dot, sub
from core.model import Channel

#: Nodes nearer together than this have no direction between them (mm).
SAME_MM = 1e-6
#: A corner from which on a leg ends there (degrees): below it the bundle runs on (our choice).
STRAIGHT_DEG = 10.0


@dataclass(frozen=True, slots=True)
class Turn:
    """Wires go from channel `a` into channel `b` at `node` and turn by `turn_deg`. `legs_mm` is the room for the arc on
    either side: to the next corner, twice as much where the wires end before one."""

    node: str
    a: str
    b: str
    turn_deg: float
    legs_mm: tuple[float, float]
    wires: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Way:
    """The corners of a route, relative to each other, and at which of them it goes from channel to channel."""

    steps: tuple[Point3, ...]
    nodes: Mapping[int, tuple[str, str, str]]


#: A channel's tree and its steps from corner to corner; None where nothing is drawn.
_Drawn = tuple[str, list[Point3]] | None


def _vectors(path: ChannelPath, sheet: Sheet, forward: bool) -> _Drawn:
    """(tree, steps from corner to corner) of a channel in the vehicle; None for one that is measured only."""
    laid = sheet.layout.laid.get(path.surface or "")
    if laid is None or len(path.local_mm) < 2:
        return None
    line = [laid.pose.to_vehicle(p) for p in (path.local_mm if forward else path.local_mm[::-1])]
    return laid.root, [sub(q, p) for p, q in zip(line, line[1:], strict=False) if dist(p, q) > SAME_MM]


def _ways(
    passed: Sequence[tuple[str, bool]], by_id: Mapping[str, Channel], known: Mapping[tuple[str, bool], _Drawn]
) -> list[_Way]:
    """The drawn stretches of a route, each in one tree: what is only measured parts them."""
    ways: list[_Way] = []
    steps: list[Point3] = []
    nodes: dict[int, tuple[str, str, str]] = {}
    root = ""
    for k, (name, forward) in enumerate(passed):
        drawn = known[name, forward]
        if drawn is None or (steps and drawn[0] != root):
            ways.append(_Way(tuple(steps), nodes))
            steps, nodes = [], {}
        if drawn is None:
            continue
        root = drawn[0]
        if steps and drawn[1]:
            channel = by_id[name]
            nodes[len(steps)] = (channel.start if forward else channel.end, passed[k - 1][0], name)
        steps += drawn[1]
    ways.append(_Way(tuple(steps), nodes))
    return [way for way in ways if way.nodes]


def _turns(way: _Way) -> list[tuple[tuple[str, str, str], float, tuple[float, float]]]:
    """(node and channels, turn, legs) at every node of a way."""
    angles = (0.0, *(_angle(p, q) for p, q in zip(way.steps, way.steps[1:], strict=False)), 0.0)
    sizes = [sqrt(dot(s, s)) for s in way.steps]
    corners = [0, *(k for k in range(1, len(sizes)) if angles[k] >= STRAIGHT_DEG), len(sizes)]
    found = []
    for i, corner in enumerate(corners[1:-1], start=1):
        if corner in way.nodes:
            before, after = sum(sizes[corners[i - 1] : corner]), sum(sizes[corner : corners[i + 1]])
            before *= 2 if i == 1 else 1
            after *= 2 if i == len(corners) - 2 else 1
            found.append((way.nodes[corner], angles[corner], (before, after)))
    return found


def _angle(p: Point3, q: Point3) -> float:
    x, y, z = p[1] * q[2] - p[2] * q[1], p[2] * q[0] - p[0] * q[2], p[0] * q[1] - p[1] * q[0]
    return degrees(atan2(sqrt(x * x + y * y + z * z), p[0] * q[0] + p[1] * q[1] + p[2] * q[2]))


def _key(route: Route) -> tuple[tuple[str, bool], ...]:
    """The channels of a route in one of its two directions: there and back is the same way."""
    there = tuple((s.channel, s.forward) for s in route.steps)
    back = tuple((channel, not forward) for channel, forward in there[::-1])
    return min(there, back)


def find_turns(
    channels: tuple[Channel, ...], paths: Mapping[str, ChannelPath], routes: Mapping[str, Route], sheet: Sheet
) -> tuple[Turn, ...]:
    """Every pair of channels between which wires turn, with the least room that one of them has, by node and channel.

    Channels without a drawing, and surfaces of different trees, say nothing of their angle and are left out.
    """
    by_id = {c.id: c for c in channels}
    same: dict[tuple[tuple[str, bool], ...], list[Route]] = {}
    for route in routes.values():
        if len(route.steps) > 1:
            same.setdefault(_key(route), []).append(route)
    steps = {step for key in same for step in key}
    known = {(c, forward): _vectors(paths[c], sheet, forward) for c, forward in steps}
    found: dict[tuple[str, str, str], tuple[float, tuple[float, float], list[str]]] = {}
    for passed, members in same.items():
        for way in _ways(passed, by_id, known):
            for (node, a, b), turn, legs in _turns(way):
                key = (node, min(a, b), max(a, b))
                room = legs if a <= b else legs[::-1]
                _, old, wires = found.get(key, (turn, room, []))
                wires += [r.wire for r in members]
                found[key] = (turn, (min(old[0], room[0]), min(old[1], room[1])), wires)
    return tuple(Turn(*key, turn, legs, tuple(wires)) for key, (turn, legs, wires) in sorted(found.items()))
