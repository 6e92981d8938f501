"""Shortest paths against a general reference library (networkx), and the rule for ties."""

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.routing import Graph, path, tree
from core.routing.shortest import BANNED

Edges = list[tuple[int, int, int]]


@st.composite
def networks(draw: st.DrawFn) -> tuple[int, Edges]:
    count = draw(st.integers(2, 12))
    vertex = st.integers(0, count - 1)
    cost = st.one_of(st.integers(1, 4), st.just(BANNED))  # few costs: many ties
    return count, draw(st.lists(st.tuples(vertex, vertex, cost), max_size=30))


def grown(count: int, edges: Edges, source: int = 0):
    graph = Graph(count, tuple((a, b) for a, b, _ in edges))
    costs = [cost for *_, cost in edges]
    return graph, costs, tree(graph, costs, source)


@given(networks())
def test_distances_are_those_of_networkx(network: tuple[int, Edges]) -> None:
    count, edges = network
    reference = nx.MultiGraph()
    reference.add_nodes_from(range(count))
    reference.add_edges_from((a, b, {"cost": cost}) for a, b, cost in edges if cost != BANNED)
    expected = nx.single_source_dijkstra_path_length(reference, 0, weight="cost")
    graph, costs, got = grown(count, edges)
    assert {v: d for v, d in enumerate(got.distance) if d is not None} == expected
    for vertex in range(count):
        way = path(graph, got, vertex)
        if way is None:
            assert vertex not in expected
        else:
            assert sum(costs[edge] for edge in way) == expected[vertex]


@given(networks(), st.randoms(use_true_random=False))
def test_ties_do_not_depend_on_the_order_of_looking(network: tuple[int, Edges], shuffle) -> None:
    """Renumbering the vertices changes which one is looked at first, but never the edges of a path."""
    count, edges = network
    number = list(range(count))
    shuffle.shuffle(number)
    graph, _, got = grown(count, edges)
    moved = [(number[a], number[b], cost) for a, b, cost in edges]
    other_graph, _, other = grown(count, moved, number[0])
    for vertex in range(count):
        assert path(graph, got, vertex) == path(other_graph, other, number[vertex])


def test_a_tie_goes_to_the_smaller_edge_number() -> None:
    graph, _, got = grown(2, [(0, 1, 5), (0, 1, 5)])
    assert path(graph, got, 1) == (0,)


def test_a_path_to_its_own_source_is_empty() -> None:
    graph, _, got = grown(2, [(0, 1, 5)])
    assert path(graph, got, 0) == ()


def test_a_cost_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="edge 0 costs 0"):
        grown(2, [(0, 1, 0)])
