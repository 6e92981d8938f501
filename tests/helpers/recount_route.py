"""Routes counted again: which way a wire may go, how long its way is, and the shortest there could be.

networkx over sides of nodes: a node counts once for every surface its channels lie on, because going from one to
another may need a moving joint (its longest length) or a hole (its thickness), or be forbidden.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import combinations, pairwise

import networkx as nx

from core.model import Channel, Device, EarthPoint, InPenetration, MovingJoint, Plan
from tests.helpers.recount_place import Sheet

Side = tuple[str, str]


class Ways:
    """The channels of a plan as a network for each separation group."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.sheet = Sheet(plan)
        self.lengths_mm = {channel.id: self.sheet.length_mm(channel) for channel in plan.channels}
        self.joints: dict[str, MovingJoint] = {joint.id: joint for joint in plan.moving_joints}
        self.carriers: dict[str, Device | EarthPoint] = {device.id: device for device in plan.devices}
        self.carriers |= {point.id: point for point in plan.earth_points}
        self._passages: dict[frozenset[str], tuple[str, str | None]] = {}
        for seam in plan.seams:
            self._passages[frozenset((seam.a, seam.b))] = (seam.passage, seam.joint)
        for surface in plan.surfaces:
            if surface.fold is not None:
                pair = frozenset((surface.id, surface.fold.parent))
                self._passages[pair] = (surface.fold.passage, surface.fold.joint)
        self._graphs: dict[str, nx.MultiGraph[Side]] = {}

    def step_mm(self, node_id: str, a: str, b: str) -> float | None:
        """Wire needed at a node to go from surface a to b; None where it may not."""
        if a == b:
            return 0.0
        place = self.sheet.nodes[node_id].place
        if isinstance(place, InPenetration):
            return self.sheet.penetrations[place.penetration].thickness_mm
        passage, joint = self._passages.get(frozenset((a, b)), ("free", None))
        if passage == "none":
            return None
        if passage == "moving_joint":
            held = self.joints[joint] if joint else None
            return max(held.open_mm, held.closed_mm) if held else 0.0
        return 0.0

    def graph(self, group: str) -> nx.MultiGraph[Side]:
        """Sides of nodes, and the channels between them that are not blocked and may carry the group."""
        if group not in self._graphs:
            net: nx.MultiGraph[Side] = nx.MultiGraph()
            for channel in self.plan.channels:
                if channel.state != "blocked" and group in channel.groups:
                    start, end = self.sides(channel)
                    net.add_edge(start, end, key=channel.id, mm=self.lengths_mm[channel.id])
            at: dict[str, list[str]] = {}
            for node, surface in list(net.nodes):
                at.setdefault(node, []).append(surface)
            for node, surfaces in at.items():
                for a, b in combinations(surfaces, 2):
                    step = self.step_mm(node, a, b)
                    if step is not None:
                        net.add_edge((node, a), (node, b), key="step", mm=step)
            self._graphs[group] = net
        return self._graphs[group]

    def sides(self, channel: Channel) -> tuple[Side, Side]:
        surface = channel.surface or "measured"
        return (channel.start, surface), (channel.end, surface)

    def shortest_mm(self, group: str, start: str, end: str) -> float | None:
        """The shortest way from one node to another, falls not counted; None where there is none."""
        if start == end:
            return 0.0
        net = self.graph(group)
        begins = [side for side in net.nodes if side[0] == start]
        if not begins:
            return None
        found: dict[Side, float] = nx.multi_source_dijkstra_path_length(net, set(begins), weight="mm")
        return min((mm for side, mm in found.items() if side[0] == end), default=None)

    def fall_mm(self, carrier_id: str) -> float:
        return self.sheet.fall_mm(self.carriers[carrier_id])

    def walked(self, start: str, channels: Iterable[str]) -> tuple[str, float]:
        """Where a walk along channels from a node ends, and what it takes. AssertionError where it breaks off."""
        at, total = start, 0.0
        path = [self.sheet.channels[name] for name in channels]
        for before, after in pairwise([None, *path]):
            assert after is not None
            assert at in (after.start, after.end), f"{after.id} does not go on at {at}"
            if before is not None and before.surface and after.surface:
                step = self.step_mm(at, before.surface, after.surface)
                assert step is not None, f"no way at {at} from {before.id} to {after.id}"
                total += step
            total += self.lengths_mm[after.id]
            at = after.end if at == after.start else after.start
        return at, total
