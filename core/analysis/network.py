"""Stage `network`: channels and nodes as arrays for routing, and as a networkx graph for reading.

A node on a fold or seam that no bundle may pass is a vertex of its own on either side; where a moving joint leads
over, the two are linked by an edge as long as the joint needs when open.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from core.analysis.places import Sheet
from core.analysis.results import ChannelPath, NodeSpot
from core.geometry.joints import across
from core.model import GROUPS, Channel, MovingJoint, Penetration, Rib
from core.routing.shortest import BANNED, Graph

if TYPE_CHECKING:
    import networkx as nx

Vertex = tuple[str, int]

#: How much longer a channel counts than it is, so that a hidden and cool way wins over a slightly shorter one.
#: Our choice; lengths that are shown are never multiplied.
PENALTY_VISIBLE = 1.5
PENALTY_HOT = 1.25
PENALTY_EXPOSED = 1.5
PENALTY_UNKNOWN = 1.25
HOT_C = 60.0
EXPOSED = frozenset({"exterior", "underfloor", "engine_bay"})


@dataclass(frozen=True)
class Link:
    """One edge of the network: a channel, or the passage of a moving joint or a hole (channel "")."""

    channel: str
    joint: str
    a: Vertex
    b: Vertex
    length_mm: float
    provisional: bool


@dataclass(frozen=True)
class Network:
    """`arrays`, `links` and `costs` (per separation group) are for routing."""

    vertices: Mapping[Vertex, int]
    sides: Mapping[str, tuple[frozenset[str], ...]]
    links: tuple[Link, ...]
    arrays: Graph
    costs: Mapping[str, tuple[int, ...]]

    @cached_property
    def graph(self) -> "nx.MultiGraph[Vertex]":
        """The same for reading: an edge has its channel as key, a `length_mm`, and the `groups` it is open to."""
        import networkx as nx

        graph: nx.MultiGraph[Vertex] = nx.MultiGraph()
        graph.add_nodes_from(self.vertices)
        for number, link in enumerate(self.links):
            key = link.channel or f"passage {number}"
            groups = tuple(group for group in GROUPS if self.costs[group][number] != BANNED)
            graph.add_edge(link.a, link.b, key=key, length_mm=link.length_mm, groups=groups)
        return graph

    def vertex(self, node: str, surface: str | None) -> int | None:
        """The vertex of a node as reached from a surface; None when the network has no such node."""
        sides = self.sides.get(node)
        if sides is None:
            return None
        side = next((i for i, names in enumerate(sides) if surface in names), 0)
        return self.vertices.get((node, side))


@dataclass(frozen=True)
class _Passage:
    """From one side of a node to another: over a moving joint, or through the thickness of a hole."""

    node: str
    one: int
    other: int
    joint: str
    hole_mm: float | None = None


def _sides(
    sheet: Sheet, spot: NodeSpot, hole: Penetration | None, passages: set[_Passage]
) -> tuple[frozenset[str], ...]:
    """Surfaces of a node by what can be passed freely; what is passed with some more wire is put on `passages`."""
    surfaces = [surface for surface, _ in spot.spots]
    group = {surface: i for i, surface in enumerate(surfaces)}
    moving: list[tuple[str, str, str]] = []
    for surface, point in spot.spots:
        for meeting in across(sheet.joints, surface, point):
            if meeting.surface not in group:
                continue
            if meeting.passage == "free":
                old, new = group[meeting.surface], group[surface]
                group = {s: new if g == old else g for s, g in group.items()}
            elif meeting.passage == "moving_joint":
                moving.append((surface, meeting.surface, meeting.joint or ""))
    numbers = sorted(set(group.values()))
    sides = tuple(frozenset(s for s in surfaces if group[s] == n) for n in numbers)
    place = {s: i for i, names in enumerate(sides) for s in names}
    for a, b, joint in moving:
        if place[a] != place[b]:
            passages.add(_Passage(spot.node, place[a], place[b], joint))
    if hole is not None and place.get(hole.a) != place.get(hole.b):
        passages.add(_Passage(spot.node, place[hole.a], place[hole.b], "", hole.thickness_mm))
    return sides


def _factor(channel: Channel, ambient_c: float) -> float:
    factor = 1.0
    if channel.visible:
        factor *= PENALTY_VISIBLE
    if ambient_c > HOT_C:
        factor *= PENALTY_HOT
    if channel.kind in EXPOSED:
        factor *= PENALTY_EXPOSED
    if channel.state == "unknown":
        factor *= PENALTY_UNKNOWN
    return factor


def usable(channel: Channel, path: ChannelPath, ribs: Mapping[str, Rib]) -> bool:
    """Whether any wire may be planned into the channel: not blocked, not a spare duct, and really there."""
    rib = ribs.get(channel.runs_inside or "")
    blocked = channel.state == "blocked" or (rib is not None and rib.state == "blocked")
    return not (blocked or channel.spare_duct or path.problem)


def make_network(
    sheet: Sheet,
    spots: Mapping[str, NodeSpot],
    holes: Mapping[str, Penetration],
    channels: tuple[Channel, ...],
    paths: Mapping[str, ChannelPath],
    ribs: tuple[Rib, ...],
    joints: tuple[MovingJoint, ...],
    ambient_c: Mapping[str, float],
) -> Network:
    """Stage `network`. `holes` by the node that lies in them, `ambient_c` by channel; costs are whole micrometres of
    effective length."""
    rib_by_id = {rib.id: rib for rib in ribs}
    joint_by_id = {joint.id: joint for joint in joints}
    passages: set[_Passage] = set()
    sides: dict[str, tuple[frozenset[str], ...]] = {}
    for spot in spots.values():
        sides[spot.node] = _sides(sheet, spot, holes.get(spot.node), passages) or (frozenset(),)
    vertices: dict[Vertex, int] = {}
    for node, parts in sides.items():
        for side in range(len(parts)):
            vertices[(node, side)] = len(vertices)
    links: list[Link] = []
    costs: dict[str, list[int]] = {group: [] for group in GROUPS}

    def side_of(node: str, surface: str | None) -> Vertex:
        parts = sides[node]
        return (node, 0 if len(parts) == 1 else next((i for i, names in enumerate(parts) if surface in names), 0))

    for channel in sorted(channels, key=lambda c: c.id):
        path = paths[channel.id]
        if channel.start not in sides or channel.end not in sides:
            continue
        a, b = side_of(channel.start, channel.surface), side_of(channel.end, channel.surface)
        open_for = channel.groups if usable(channel, path, rib_by_id) else ()
        rib = rib_by_id.get(channel.runs_inside or "")
        provisional = path.provisional or (rib is not None and rib.state == "unknown")
        link = Link(channel.id, "", a, b, path.length_mm, provisional)
        effective = max(1, round(path.length_mm * 1000 * _factor(channel, ambient_c.get(channel.id, 0.0))))
        for group in GROUPS:
            costs[group].append(effective if group in open_for else BANNED)
        links.append(link)
    for passage in sorted(passages, key=lambda p: (p.node, p.one, p.other, p.joint)):
        joint = joint_by_id.get(passage.joint)
        length = passage.hole_mm if passage.hole_mm is not None else joint.open_mm if joint is not None else 0.0
        a, b = (passage.node, passage.one), (passage.node, passage.other)
        links.append(Link("", passage.joint, a, b, length, joint is None and passage.hole_mm is None))
        for group in GROUPS:
            costs[group].append(max(1, round(length * 1000)))
    arrays = Graph(len(vertices), tuple((vertices[link.a], vertices[link.b]) for link in links))
    return Network(vertices, sides, tuple(links), arrays, {g: tuple(c) for g, c in costs.items()})
