"""A DC network of feeders: node voltages and branch currents by one sparse solve of Kirchhoff's laws.

For meshes, where a current divides by the resistances (two sources on one bus, a ring). Plus and minus conductors are
branches of their own, so a bank wired diagonally comes out right. The network is linear: what one more ampere at a
place does is worked out once and serves every other case.
"""

from collections.abc import Sequence
from math import isfinite

import msgspec

#: Conductors have some resistance, however short: below this the equations are not well posed (ohm).
LEAST_OHM = 1e-9


class Branch(msgspec.Struct, frozen=True):
    """A conductor between two nodes. Its current is positive from `a` to `b`; node None is the reference, 0 V."""

    a: int | None
    b: int | None
    r_ohm: float


class Source(msgspec.Struct, frozen=True):
    """A voltage from `back` (None: the reference) up to `node`, behind an inner resistance; 0 ohm is an ideal one."""

    node: int | None
    volts: float
    inner_ohm: float = 0.0
    back: int | None = None


class Draw(msgspec.Struct, frozen=True):
    """A constant current taken out at `node` and given back at `back` (None: the reference)."""

    node: int | None
    amps: float
    back: int | None = None


class Solution(msgspec.Struct, frozen=True):
    """`volts` by node, None where no source reaches; `amps` by branch, 0 there. `source_amps` are given by the sources.

    `inner_ohm` by draw: volts lost between its ends for each further ampere drawn there (None where no source
    reaches). `shares` by draw, in it by branch: amperes more in that branch for one ampere more drawn there.
    """

    volts: tuple[float | None, ...]
    amps: tuple[float, ...]
    source_amps: tuple[float, ...]
    inner_ohm: tuple[float | None, ...]
    shares: tuple[tuple[float, ...], ...]


def solve(nodes: int, branches: Sequence[Branch], sources: Sequence[Source], draws: Sequence[Draw]) -> Solution:
    """Voltages and currents when all of `draws` is drawn.

    Raises ValueError for a node outside the network, a resistance that is not above zero, a number not finite, two
    ideal sources between the same nodes.
    """
    _check(nodes, branches, sources, draws)
    reached = _reached(branches, sources)
    network = _Network(branches, sources, reached)
    alive = [i for i, draw in enumerate(draws) if draw.node in reached and draw.back in reached]

    def branch_amps(at: "_Answer") -> tuple[float, ...]:
        return tuple(
            (at.volts[b.a] - at.volts[b.b]) / b.r_ohm if b.a in reached and b.b in reached else 0.0 for b in branches
        )

    whole = network.answer([draws[i] for i in alive], with_sources=True)
    inner: list[float | None] = [None] * len(draws)
    shares = [(0.0,) * len(branches)] * len(draws)
    for i in alive:
        one = network.answer([Draw(draws[i].node, 1.0, draws[i].back)], with_sources=False)
        inner[i] = one.volts[draws[i].back] - one.volts[draws[i].node]
        shares[i] = branch_amps(one)
    return Solution(
        volts=tuple(whole.volts.get(n) for n in range(nodes)),
        amps=branch_amps(whole),
        source_amps=whole.source_amps,
        inner_ohm=tuple(inner),
        shares=tuple(shares),
    )


class _Answer(msgspec.Struct, frozen=True):
    volts: dict[int | None, float]
    source_amps: tuple[float, ...]


class _Network:
    """The factorised equations: Kirchhoff's current law at every node, and a row for each ideal source's voltage."""

    def __init__(self, branches: Sequence[Branch], sources: Sequence[Source], reached: set[int | None]) -> None:
        # Late: most plans have no mesh, and scipy takes long to import.
        from scipy.sparse import coo_array
        from scipy.sparse.linalg import splu

        self.sources = [(s, s.node in reached) for s in sources]
        self.row: dict[int, int] = {n: i for i, n in enumerate(sorted(n for n in reached if n is not None))}
        entries: list[tuple[int, int, float]] = []

        def conduct(a: int | None, b: int | None, g: float) -> None:
            for here, there in ((a, b), (b, a)):
                if here is not None:
                    entries.append((self.row[here], self.row[here], g))
                    if there is not None:
                        entries.append((self.row[here], self.row[there], -g))

        for branch in branches:
            if branch.a in reached and branch.b in reached:
                conduct(branch.a, branch.b, 1 / branch.r_ohm)
        self.size = len(self.row)
        #: Row of the current of each ideal source, by its index.
        self.ideal: dict[int, int] = {}
        for i, (source, alive) in enumerate(self.sources):
            if not alive:
                continue
            if source.inner_ohm > 0:
                conduct(source.node, source.back, 1 / source.inner_ohm)
                continue
            self.ideal[i] = self.size
            for node, sign in ((source.node, 1.0), (source.back, -1.0)):
                if node is not None:
                    entries += [(self.row[node], self.size, -sign), (self.size, self.row[node], sign)]
            self.size += 1
        self.factors = None
        if self.size:
            rows, columns, values = zip(*entries, strict=True)
            self.factors = splu(coo_array((values, (rows, columns)), shape=(self.size, self.size)).tocsc())

    def answer(self, draws: Sequence[Draw], *, with_sources: bool) -> _Answer:
        """Volts by node and the sources' currents; without sources only what the draws change."""
        import numpy as np

        right = np.zeros(self.size)

        def inject(node: int | None, amps: float) -> None:
            if node is not None:
                right[self.row[node]] += amps

        for draw in draws:
            inject(draw.node, -draw.amps)
            inject(draw.back, draw.amps)
        for i, (source, alive) in enumerate(self.sources):
            if not (alive and with_sources):
                continue
            if i in self.ideal:
                right[self.ideal[i]] = source.volts
            else:
                inject(source.node, source.volts / source.inner_ohm)
                inject(source.back, -source.volts / source.inner_ohm)
        solution = self.factors.solve(right) if self.factors is not None else right
        volts: dict[int | None, float] = {node: float(solution[i]) for node, i in self.row.items()}
        volts[None] = 0.0
        given = []
        for i, (source, alive) in enumerate(self.sources):
            if not alive:
                given.append(0.0)
            elif i in self.ideal:
                given.append(float(solution[self.ideal[i]]))
            else:
                own = source.volts if with_sources else 0.0
                given.append((own - volts[source.node] + volts[source.back]) / source.inner_ohm)
        return _Answer(volts, tuple(given))


def _check(nodes: int, branches: Sequence[Branch], sources: Sequence[Source], draws: Sequence[Draw]) -> None:
    used = [n for b in branches for n in (b.a, b.b)] + [n for s in sources for n in (s.node, s.back)]
    used += [n for draw in draws for n in (draw.node, draw.back)]
    if any(n is not None and not 0 <= n < nodes for n in used):
        raise ValueError(f"a node outside 0..{nodes - 1}")
    if any(not (isfinite(b.r_ohm) and b.r_ohm >= LEAST_OHM) for b in branches):
        raise ValueError(f"a branch needs a resistance of at least {LEAST_OHM:g} ohm")
    if any(b.a == b.b for b in branches) or any(s.node == s.back for s in sources):
        raise ValueError("a branch or a source joins two different nodes")
    if any(not (isfinite(s.volts) and isfinite(s.inner_ohm) and s.inner_ohm >= 0) for s in sources):
        raise ValueError("a source needs a finite voltage and an inner resistance that is not negative")
    if any(not isfinite(draw.amps) for draw in draws):
        raise ValueError("a current drawn is not finite")
    ideal = [frozenset((s.node, s.back)) for s in sources if s.inner_ohm == 0]
    if len(set(ideal)) < len(ideal):
        raise ValueError("two ideal sources between the same nodes")


def _reached(branches: Sequence[Branch], sources: Sequence[Source]) -> set[int | None]:
    """The nodes that a voltage is known for: joined with the reference by branches or sources."""
    beside: dict[int | None, list[int | None]] = {None: []}
    for a, b in [(b.a, b.b) for b in branches] + [(s.node, s.back) for s in sources]:
        beside.setdefault(a, []).append(b)
        beside.setdefault(b, []).append(a)
    waiting: list[int | None] = [None]
    found: set[int | None] = {None}
    while waiting:
        for node in beside[waiting.pop()]:
            if node not in found:
                found.add(node)
                waiting.append(node)
    return found
