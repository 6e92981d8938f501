"""Meshes of feeders against Kirchhoff's laws written out by hand, and against a dense solve of random networks."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.electrical.mesh import Branch, Draw, Source, solve


def test_two_sources_on_one_bus_by_the_nodal_equation() -> None:
    """12.6 V behind 0.02 ohm and 12.2 V behind 0.03 ohm meet at a bus that draws 40 A.

    (12.6 - V) / 0.02 + (12.2 - V) / 0.03 = 40: V (50 + 33.333) = 630 + 406.667 - 40, V = 11.96 V.
    """
    found = solve(3, [Branch(0, 2, 0.02), Branch(1, 2, 0.03)], [Source(0, 12.6), Source(1, 12.2)], [Draw(2, 40.0)])
    volts = (630 + 12.2 / 0.03 - 40) / (50 + 1 / 0.03)
    assert volts == pytest.approx(11.96)
    assert found.volts[2] == pytest.approx(volts)
    assert found.amps == pytest.approx(((12.6 - volts) / 0.02, (12.2 - volts) / 0.03))
    assert found.amps == pytest.approx((32.0, 8.0))
    assert sum(found.source_amps) == pytest.approx(40.0)
    assert found.inner_ohm[0] == pytest.approx(0.02 * 0.03 / 0.05)  # the two in parallel


def test_a_ring_divides_by_the_ways_round() -> None:
    """One source, two buses, a ring of 10, 20 and 30 milliohm: loads of 6 A and 12 A.

    With V the drop below the source: a / 0.01 + (a - b) / 0.03 = 6 and b / 0.02 + (b - a) / 0.03 = 12, that is
    400 a - 100 b = 18 and 250 b - 100 a = 36 (both times 3): a = 0.09 V, b = 0.18 V.
    """
    ring = [Branch(0, 1, 0.01), Branch(0, 2, 0.02), Branch(1, 2, 0.03)]
    found = solve(3, ring, [Source(0, 12.0)], [Draw(1, 6.0), Draw(2, 12.0)])
    assert found.volts == pytest.approx((12.0, 11.91, 11.82))
    assert found.amps == pytest.approx((9.0, 9.0, 3.0))
    # 0.01 ohm straight, 0.05 ohm the other way round
    assert found.inner_ohm[0] == pytest.approx(0.01 * 0.05 / 0.06)
    assert found.shares[0] == pytest.approx((5 / 6, 1 / 6, -1 / 6))


def test_a_loop_that_nothing_feeds_has_no_voltage() -> None:
    found = solve(4, [Branch(0, 1, 0.1), Branch(2, 3, 0.1)], [Source(0, 12.0)], [Draw(1, 1.0), Draw(3, 5.0)])
    assert found.volts[2:] == (None, None)
    assert found.amps == pytest.approx((1.0, 0.0))
    assert found.inner_ohm[1] is None


def test_inner_resistance_of_a_source() -> None:
    """A battery of 12.8 V that gives 2,560 A into a short has 5 milliohm inside; 100 A lose 0.5 V there."""
    found = solve(2, [Branch(0, 1, 0.001)], [Source(0, 12.8, 12.8 / 2560)], [Draw(1, 100.0)])
    assert found.volts == pytest.approx((12.3, 12.2))
    assert found.source_amps == pytest.approx((100.0,))


def test_a_bank_taken_diagonally_by_kirchhoffs_laws() -> None:
    """Two batteries of 12.6 V behind 4 milliohm; plus is taken from the first, minus from the second; between their
    plus posts 0.6, between their minus posts 1.0 milliohm; 200 A.

    With i the current of the first battery, 200 - i that of the second: the plus link carries what the second gives,
    200 - i, the minus link what the first gives, i. Once round: 4 i + 1.0 i = 4 (200 - i) + 0.6 (200 - i), so
    i = 200 x 4.6 / 9.6 = 95.833 A.
    """
    links = [Branch(2, 0, 0.0006), Branch(None, 1, 0.0010)]  # plus second -> plus first, minus first -> minus second
    bank = [Source(0, 12.6, 0.004), Source(2, 12.6, 0.004, back=1)]
    found = solve(3, links, bank, [Draw(0, 200.0, back=1)])
    one = 200 * 4.6 / 9.6
    assert found.source_amps == pytest.approx((one, 200 - one))
    assert found.amps == pytest.approx((200 - one, -one))
    # at the posts that are used: 12.6 V less 4 milliohm of the first and the minus link
    assert found.volts[0] - found.volts[1] == pytest.approx(12.6 - one * 0.005)
    assert found.inner_ohm == pytest.approx((0.005 * 0.0046 / 0.0096,))


def test_ideal_sources_between_nodes() -> None:
    """Two cells of 12 V in series lift a lamp of 5 A behind 0.1 ohm to 24 V less 0.5 V; both give 5 A."""
    found = solve(3, [Branch(1, 2, 0.1)], [Source(0, 12.0), Source(1, 12.0, back=0)], [Draw(2, 5.0)])
    assert found.volts == pytest.approx((12.0, 24.0, 23.5))
    assert found.source_amps == pytest.approx((5.0, 5.0))


@pytest.mark.parametrize(
    ("branches", "sources", "drawn", "said"),
    [
        ([Branch(0, 1, 0.0)], [], [], "resistance"),
        ([Branch(0, 5, 0.1)], [], [], "outside"),
        ([Branch(0, 0, 0.1)], [], [], "different"),
        ([Branch(0, 1, 0.1)], [Source(0, 12.0), Source(0, 24.0)], [], "two ideal"),
        ([Branch(0, 1, 0.1)], [Source(0, float("nan"))], [], "finite"),
        ([Branch(0, 1, 0.1)], [Source(0, 12.0)], [Draw(1, float("inf"))], "finite"),
    ],
)
def test_what_is_no_network_is_refused(branches, sources, drawn, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        solve(2, branches, sources, drawn)


@given(st.integers(2, 8), st.data())
def test_random_networks_against_a_dense_solve_and_both_laws(nodes: int, data: st.DataObject) -> None:
    """Kirchhoff: what flows into a node flows out; Ohm: every branch. The same from a dense nodal matrix."""
    ohm = st.floats(0.001, 1.0)
    tree = [Branch(data.draw(st.integers(0, n - 1)), n, data.draw(ohm)) for n in range(1, nodes)]
    pairs = st.tuples(st.integers(0, nodes - 1), st.integers(0, nodes - 1)).filter(lambda p: p[0] != p[1])
    more = [Branch(*pair, data.draw(ohm)) for pair in data.draw(st.lists(pairs, max_size=6))]
    branches = tree + more
    drawn = {n: data.draw(st.floats(0, 50)) for n in range(1, nodes)}
    found = solve(nodes, branches, [Source(0, 12.0)], [Draw(n, amps) for n, amps in drawn.items()])
    for node in range(1, nodes):
        into = sum(i for i, b in zip(found.amps, branches, strict=True) if b.b == node)
        out = sum(i for i, b in zip(found.amps, branches, strict=True) if b.a == node)
        assert into - out == pytest.approx(drawn[node], abs=1e-6)
    g = np.zeros((nodes, nodes))
    for b in branches:
        g[b.a, b.a] += 1 / b.r_ohm
        g[b.b, b.b] += 1 / b.r_ohm
        g[b.a, b.b] -= 1 / b.r_ohm
        g[b.b, b.a] -= 1 / b.r_ohm
    drops = np.linalg.solve(g[1:, 1:], np.array([drawn[n] for n in range(1, nodes)]))
    assert [12.0 - v for v in found.volts[1:] if v is not None] == pytest.approx(list(drops), rel=1e-7, abs=1e-7)
