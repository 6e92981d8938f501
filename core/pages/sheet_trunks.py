"""Which channels belong together on the drawing: trunks with a name and a colour, and runs that share one label.

A trunk goes on, at each node, in the channel that carries most of its wires. As there are six colours, the smallest
trunks are melted into the neighbour that is most like them until six are left (or nothing touches any more).
Nothing here looks at lengths, so a drag that keeps the routes keeps every name and colour.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from heapq import heapify, heappop, heappush
from itertools import combinations

from core.analysis.results import Bundle
from core.model import Channel

COLOURS = 6


@dataclass(frozen=True)
class Trunk:
    """Channels drawn in one colour, `colour` 0 to 5, `name` B1, B2 ... from the one with most wires on."""

    name: str
    colour: int
    channels: tuple[str, ...]


@dataclass(frozen=True)
class Trunks:
    trunks: tuple[Trunk, ...]
    by_channel: Mapping[str, Trunk]
    #: Chains of channels with the very same wires, each within one trunk, in the order of the plan.
    runs: tuple[tuple[str, ...], ...]


class _Sets:
    """Disjoint sets; a set is named by its smallest member, so that the result does not depend on the order."""

    def __init__(self, members: Iterable[str]) -> None:
        self._parent = {member: member for member in members}

    def find(self, member: str) -> str:
        while self._parent[member] != member:
            self._parent[member] = self._parent[self._parent[member]]
            member = self._parent[member]
        return member

    def join(self, a: str, b: str) -> str:
        low, high = sorted((self.find(a), self.find(b)))
        self._parent[high] = low
        return low


def find_trunks(channels: tuple[Channel, ...], bundles: Mapping[str, Bundle]) -> Trunks:
    """Trunks and runs of the channels that carry wires."""
    carrying = [channel for channel in channels if channel.id in bundles]
    wires = {channel.id: frozenset(bundles[channel.id].wires) for channel in carrying}
    touching: dict[str, list[str]] = defaultdict(list)
    for channel in carrying:
        touching[channel.start].append(channel.id)
        if channel.end != channel.start:
            touching[channel.end].append(channel.id)
    shared: dict[tuple[str, str], float] = {}
    sets, same = _Sets(wires), _Sets(wires)
    for at_node in touching.values():
        best: dict[str, tuple[float, str]] = {}
        for a, b in combinations(at_node, 2):
            common = len(wires[a] & wires[b])
            # The legs of a daisy chain share no wire, but they touch.
            shared[a, b] = max(shared.get((a, b), 0.0), common + 0.5)
            if not common:
                continue
            ratio = common / max(len(wires[a]), len(wires[b]))
            best[a] = max(best.get(a, (0.0, "")), (ratio, b))
            best[b] = max(best.get(b, (0.0, "")), (ratio, a))
            if ratio == 1.0:
                same.join(a, b)
        for a, (ratio, b) in best.items():
            if ratio > 0.5 and best[b][1] == a:
                sets.join(a, b)
    _melt(sets, wires, shared)
    groups: dict[str, list[str]] = defaultdict(list)
    for channel in carrying:
        groups[sets.find(channel.id)].append(channel.id)
    ordered = sorted(
        groups.values(),
        key=lambda group: (-max(len(wires[c]) for c in group), -sum(len(wires[c]) for c in group), group),
    )
    trunks = tuple(Trunk(f"B{number + 1}", number % COLOURS, tuple(group)) for number, group in enumerate(ordered))
    by_channel = {channel: trunk for trunk in trunks for channel in trunk.channels}
    runs: dict[tuple[str, str], list[str]] = defaultdict(list)
    for channel in carrying:
        runs[by_channel[channel.id].name, same.find(channel.id)].append(channel.id)
    return Trunks(trunks, by_channel, tuple(tuple(run) for run in runs.values()))


def _melt(sets: _Sets, wires: Mapping[str, frozenset[str]], shared: Mapping[tuple[str, str], float]) -> None:
    """Join the smallest sets with their nearest neighbours until as many are left as there are colours."""
    size: dict[str, int] = {}
    for channel, its in wires.items():
        root = sets.find(channel)
        size[root] = size.get(root, 0) + len(its)
    near: dict[str, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for (a, b), common in shared.items():
        one, other = sets.find(a), sets.find(b)
        if one != other:
            near[one][other] += common
            near[other][one] += common
    queue = [(weight, name) for name, weight in size.items()]
    heapify(queue)
    left = len(size)
    while left > COLOURS and queue:
        weight, name = heappop(queue)
        if size.get(name) != weight or not near[name]:
            continue  # melted or grown since, or nothing touches it
        # Shared with a small neighbour counts more, else everything would end in the thickest trunk.
        other = max(near[name], key=lambda key: (near[name][key] / size[key], key))
        total = size.pop(name) + size.pop(other)
        kept = sets.join(name, other)
        gone = other if kept == name else name
        for key, common in near.pop(gone).items():
            del near[key][gone]
            if key != kept:
                near[kept][key] += common
                near[key][kept] += common
        size[kept] = total
        left -= 1
        heappush(queue, (total, kept))
