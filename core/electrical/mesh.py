"""A DC network of feeders: node voltages and branch currents by one sparse solve of Kirchhoff's current law.

For meshes, where a current divides by the resistances (two sources on one bus, a ring). The network is linear, so
what one more ampere at a node does is worked out once and serves every other case.
"""

from collections.abc import Mapping, Sequence
from math import isfinite

import msgspec

#: Conductors have some resistance, however short: below this the equations are not well posed (ohm).
LEAST_OHM = 1e-9


class Branch(msgspec.Struct, frozen=True):
    """Two nodes joined by a resistance, feed and return in series. Its current is positive from `a` to `b`."""

    a: int
    b: int
    r_ohm: float


class Source(msgspec.Struct, frozen=True):
    """A voltage at a node behind an inner resistance; 0 ohm is an ideal source."""

    node: int
    volts: float
    inner_ohm: float = 0.0


class Solution(msgspec.Struct, frozen=True):
    """`volts` by node, None where no source reaches; `amps` by branch, 0 there. `source_amps` are given by the sources.

    `inner_ohm` by node: volts lost there for each further ampere drawn there (None where no source reaches).
    `shares[node]` by branch: amperes more in that branch for one ampere more drawn at the node.
    """

    volts: tuple[float | None, ...]
    amps: tuple[float, ...]
    source_amps: tuple[float, ...]
    inner_ohm: tuple[float | None, ...]
    shares: Mapping[int, tuple[float, ...]]


def solve(nodes: int, branches: Sequence[Branch], sources: Sequence[Source], drawn_a: Mapping[int, float]) -> Solution:
    """Voltages and currents when `drawn_a` (by node, constant currents) is drawn. Shares are for the nodes of it.

    Raises ValueError for a node outside the network, a resistance that is not above zero, a number not finite.
    """
    _check(nodes, branches, sources, drawn_a)
    reached = _reached(nodes, branches, sources)
    # An ideal source fixes its node; the others are unknown.
    fixed = {source.node: source.volts for source in sources if source.inner_ohm == 0}
    unknown = [n for n in range(nodes) if n in reached and n not in fixed]
    row = {node: i for i, node in enumerate(unknown)}
    currents = {node: drawn_a.get(node, 0.0) for node in unknown}
    volts = _Network(branches, sources, fixed, row)

    def branch_amps(at: Mapping[int, float]) -> tuple[float, ...]:
        return tuple((at[b.a] - at[b.b]) / b.r_ohm if b.a in at and b.b in at else 0.0 for b in branches)

    potential = volts.solved([-currents[n] for n in unknown], with_sources=True)
    inner: dict[int, float] = dict.fromkeys((n for n in fixed if n in reached), 0.0)
    shares: dict[int, tuple[float, ...]] = {n: (0.0,) * len(branches) for n in drawn_a if n in reached}
    for node in unknown:
        change = volts.solved([-1.0 if n == node else 0.0 for n in unknown], with_sources=False)
        inner[node] = -change[node]
        if node in drawn_a:
            shares[node] = branch_amps(change)
    amps = branch_amps(potential)
    given = []
    for source in sources:
        if source.inner_ohm > 0:
            given.append((source.volts - potential[source.node]) / source.inner_ohm)
            continue
        out = sum(i for i, b in zip(amps, branches, strict=True) if b.a == source.node)
        into = sum(i for i, b in zip(amps, branches, strict=True) if b.b == source.node)
        given.append(out - into + drawn_a.get(source.node, 0.0))
    return Solution(
        volts=tuple(potential.get(n) for n in range(nodes)),
        amps=amps,
        source_amps=tuple(given),
        inner_ohm=tuple(inner.get(n) for n in range(nodes)),
        shares=shares,
    )


class _Network:
    """The factorised conductance matrix of the unknown nodes."""

    def __init__(
        self, branches: Sequence[Branch], sources: Sequence[Source], fixed: Mapping[int, float], row: dict[int, int]
    ) -> None:
        # Late: most plans have no mesh, and scipy takes long to import.
        from scipy.sparse import coo_array
        from scipy.sparse.linalg import splu

        self.row, self.fixed = row, fixed
        self.from_sources = [0.0] * len(row)
        entries: list[tuple[int, int, float]] = []
        for branch in branches:
            g = 1 / branch.r_ohm
            for here, there in ((branch.a, branch.b), (branch.b, branch.a)):
                if here in row:
                    entries.append((row[here], row[here], g))
                    if there in row:
                        entries.append((row[here], row[there], -g))
                    elif there in fixed:
                        self.from_sources[row[here]] += g * fixed[there]
        for source in sources:
            if source.inner_ohm > 0 and source.node in row:
                entries.append((row[source.node], row[source.node], 1 / source.inner_ohm))
                self.from_sources[row[source.node]] += source.volts / source.inner_ohm
        self.factors = None
        if row:
            rows, columns, values = zip(*entries, strict=True)
            matrix = coo_array((values, (rows, columns)), shape=(len(row), len(row)))
            self.factors = splu(matrix.tocsc())

    def solved(self, injected_a: list[float], *, with_sources: bool) -> dict[int, float]:
        """Volts by node; without sources only what the injected currents change."""
        import numpy as np

        found = {node: volts if with_sources else 0.0 for node, volts in self.fixed.items()}
        if self.factors is not None:
            right = np.array(injected_a) + (np.array(self.from_sources) if with_sources else 0.0)
            solution = self.factors.solve(right)
            found |= {node: float(solution[i]) for node, i in self.row.items()}
        return found


def _check(nodes: int, branches: Sequence[Branch], sources: Sequence[Source], drawn_a: Mapping[int, float]) -> None:
    used = [n for b in branches for n in (b.a, b.b)] + [s.node for s in sources] + list(drawn_a)
    if any(not 0 <= n < nodes for n in used):
        raise ValueError(f"a node outside 0..{nodes - 1}")
    if any(not (isfinite(b.r_ohm) and b.r_ohm >= LEAST_OHM) for b in branches):
        raise ValueError(f"a branch needs a resistance of at least {LEAST_OHM:g} ohm")
    if any(b.a == b.b for b in branches):
        raise ValueError("a branch joins two different nodes")
    if any(not (isfinite(s.volts) and isfinite(s.inner_ohm) and s.inner_ohm >= 0) for s in sources):
        raise ValueError("a source needs a finite voltage and an inner resistance that is not negative")
    if any(not isfinite(amps) for amps in drawn_a.values()):
        raise ValueError("a current drawn is not finite")
    ideal: dict[int, float] = {}
    for source in sources:
        if source.inner_ohm == 0 and ideal.setdefault(source.node, source.volts) != source.volts:
            raise ValueError(f"two ideal sources of different voltage at node {source.node}")


def _reached(nodes: int, branches: Sequence[Branch], sources: Sequence[Source]) -> set[int]:
    beside: dict[int, list[int]] = {n: [] for n in range(nodes)}
    for branch in branches:
        beside[branch.a].append(branch.b)
        beside[branch.b].append(branch.a)
    waiting = [source.node for source in sources]
    found = set(waiting)
    while waiting:
        for node in beside[waiting.pop()]:
            if node not in found:
                found.add(node)
                waiting.append(node)
    return found
