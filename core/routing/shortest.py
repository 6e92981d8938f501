"""Shortest paths on an undirected graph with whole-number costs, ties broken by the smallest edge number.

Costs are integers (micrometres of effective length), so equal costs are really equal and the chosen path depends only
on the graph, never on the order in which something was looked at.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from heapq import heappop, heappush

#: A cost that says the edge may not be used.
BANNED = -1


@dataclass(frozen=True)
class Graph:
    """`ends[e]` are the two vertices of edge e; `neighbours[v]` lists (other vertex, edge)."""

    count: int
    ends: tuple[tuple[int, int], ...]
    neighbours: tuple[tuple[tuple[int, int], ...], ...] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        around: list[list[tuple[int, int]]] = [[] for _ in range(self.count)]
        for edge, (a, b) in enumerate(self.ends):
            around[a].append((b, edge))
            if a != b:
                around[b].append((a, edge))
        object.__setattr__(self, "neighbours", tuple(tuple(row) for row in around))


@dataclass(frozen=True)
class Tree:
    """Shortest distances from `source` (None where out of reach) and the edge by which each vertex is reached."""

    source: int
    distance: tuple[int | None, ...]
    edge: tuple[int, ...]


def tree(graph: Graph, cost: Sequence[int], source: int) -> Tree:
    """Dijkstra's tree from `source`. `cost[e]` is at least 1, or BANNED.

    Of several edges that reach a vertex at the same distance the one with the smallest number is kept.
    Raises ValueError on a cost of 0 (ties could then run in a ring).
    """
    distance: list[int | None] = [None] * graph.count
    reached_by = [-1] * graph.count
    distance[source] = 0
    heap = [(0, source)]
    settled = [False] * graph.count
    while heap:
        here, vertex = heappop(heap)
        if settled[vertex]:
            continue
        settled[vertex] = True
        for other, edge in graph.neighbours[vertex]:
            step = cost[edge]
            if step == BANNED:
                continue
            if step <= 0:
                raise ValueError(f"edge {edge} costs {step}, expected at least 1")
            there = here + step
            known = distance[other]
            if known is None or there < known:
                distance[other] = there
                reached_by[other] = edge
                heappush(heap, (there, other))
            elif there == known and edge < reached_by[other]:
                reached_by[other] = edge
    return Tree(source, tuple(distance), tuple(reached_by))


def path(graph: Graph, grown: Tree, target: int) -> tuple[int, ...] | None:
    """Edges from the tree's source to `target`, in order; () when they are one vertex, None when out of reach."""
    if grown.distance[target] is None:
        return None
    edges: list[int] = []
    vertex = target
    while vertex != grown.source:
        edge = grown.edge[vertex]
        edges.append(edge)
        a, b = graph.ends[edge]
        vertex = a if b == vertex else b
    return tuple(reversed(edges))
