"""Exact models of the cutting stock problem, solved by HiGHS inside scipy. Lengths are whole numbers of one unit.

All limits are numbers of nodes or columns, never seconds, so that an answer does not depend on the machine. The answers
are remembered (do not change them): the feed and the return of a harness ask the same question in two colours. The
solver's own Python package prints a banner on the standard output as soon as it is used, which would spoil a table.
"""

import math
from collections import Counter
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import numpy.typing as npt

NODES = 500
COLUMNS = 400
# The knapsack table has one entry per unit of the spool; longer spools are counted in a coarser unit, pieces up.
TABLE = 5_000


@lru_cache(maxsize=256)
def few_alike_spools(pieces: tuple[int, ...], spool: int, used: int) -> tuple[list[list[int]] | None, int]:
    """(pieces by spool as indices or None, least number of spools) for spools of one length.

    Column generation: patterns that fill a spool, priced by a bounded knapsack; then whole numbers of the patterns
    found. The bound is the linear program's, rounded up; it holds for every plan. `used` is the number to beat.
    """
    sizes = sorted(set(pieces), reverse=True)
    demand = Counter(pieces)
    patterns = [
        tuple(min(spool // s, demand[s]) if i == k else 0 for i, s in enumerate(sizes)) for k in range(len(sizes))
    ]
    bound = 0
    while len(patterns) < COLUMNS + len(sizes):
        value, duals = _master_relaxed(patterns, [demand[s] for s in sizes])
        pattern, worth = _best_pattern(sizes, [demand[s] for s in sizes], duals, spool)
        # Farley's bound: with the best pattern worth w, no plan needs fewer than value / w.
        bound = max(bound, math.ceil(value / max(worth, 1.0) - 1e-6))
        if bound >= used:
            return None, bound
        if worth <= 1.0 + 1e-7 or pattern in patterns:
            break
        patterns.append(pattern)
    counts = _master_whole(patterns, [demand[s] for s in sizes])
    if counts is None:
        return None, bound
    waiting = {s: [i for i, p in enumerate(pieces) if p == s] for s in sizes}
    groups: list[list[int]] = []
    for pattern, count in zip(patterns, counts, strict=True):
        for _ in range(count):
            taken = [
                waiting[s].pop(0) for s, times in zip(sizes, pattern, strict=True) for _ in range(times) if waiting[s]
            ]
            if taken:
                groups.append(taken)
    if any(waiting.values()):
        return None, bound
    return groups, bound


def _master_relaxed(patterns: Sequence[tuple[int, ...]], demand: Sequence[int]) -> tuple[float, list[float]]:
    """Fewest patterns, parts of patterns allowed, that cover the demand: their number, and the worth of each size."""
    from scipy.optimize import linprog

    made = np.array(patterns, dtype=np.float64).T
    answer = linprog(np.ones(len(patterns)), A_ub=-made, b_ub=-np.array(demand, dtype=np.float64), method="highs")
    assert answer.fun is not None  # every size has a pattern of its own, so the program always has a solution
    return float(answer.fun), [float(-y) for y in answer.ineqlin.marginals]


def _master_whole(patterns: Sequence[tuple[int, ...]], demand: Sequence[int]) -> list[int] | None:
    """How often to cut each pattern; None when the node limit ended the search without an answer."""
    from scipy.optimize import LinearConstraint, milp

    made = np.array(patterns, dtype=np.float64).T
    answer = milp(
        np.ones(len(patterns)),
        integrality=np.ones(len(patterns), np.int64),
        constraints=LinearConstraint(made, lb=np.array(demand, dtype=np.float64)),
        options={"node_limit": NODES},
    )
    return None if answer.x is None else [round(x) for x in answer.x.tolist()]


def _best_pattern(
    sizes: Sequence[int], demand: Sequence[int], worth: Sequence[float], spool: int
) -> tuple[tuple[int, ...], float]:
    """The most valuable filling of one spool (bounded knapsack by dynamic programming) and a value none exceeds."""
    unit = max(1, math.ceil(spool / TABLE))
    room = spool // unit
    # Rounding pieces down lets every true filling fit the table, so the value is a bound; a filling that turns out too
    # long is then shortened, which costs only speed.
    small = [s // unit for s in sizes]
    value = np.zeros(room + 1)
    choice: list[npt.NDArray[np.int64]] = []
    for size, most, each in zip(small, demand, worth, strict=True):
        best, taken = value.copy(), np.zeros(room + 1, np.int64)
        if each > 0.0:
            for times in range(1, min(most, room // max(size, 1)) + 1):
                moved = np.full(room + 1, -1.0)
                moved[times * size :] = value[: room + 1 - times * size] + times * each
                better = moved > best + 1e-12
                best[better], taken[better] = moved[better], times
        value = best
        choice.append(taken)
    left = room
    counts = [0] * len(sizes)
    for i in range(len(sizes) - 1, -1, -1):
        counts[i] = int(choice[i][left])
        left -= counts[i] * small[i]
    over = sum(c * s for c, s in zip(counts, sizes, strict=True)) - spool
    for i in sorted(range(len(sizes)), key=lambda i: worth[i] / sizes[i]):
        while over > 0 and counts[i]:
            counts[i] -= 1
            over -= sizes[i]
    return tuple(counts), float(value.max())


@lru_cache(maxsize=256)
def small_model(
    pieces: tuple[int, ...], spools: tuple[int, ...], new: tuple[bool, ...]
) -> tuple[list[int] | None, bool]:
    """(spool of each piece or None, whether that is proven best): fewest new spools, then fewest, then least length.

    The three aims are one objective whose weights keep them apart: a spool weighs more than all their lengths.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csr_array

    count, m = len(pieces), len(spools)
    total = sum(spools) + 1
    weight = [total * (m + 1) * is_new + total + length for length, is_new in zip(spools, new, strict=True)]
    # Columns: m spools opened, then piece i on spool k for every pair that fits.
    pairs = [(i, k) for i, piece in enumerate(pieces) for k, length in enumerate(spools) if piece <= length]
    entries = [(i, m + column, 1.0) for column, (i, _) in enumerate(pairs)]
    entries += [(count + k, m + column, float(pieces[i])) for column, (i, k) in enumerate(pairs)]
    entries += [(count + k, k, -float(length)) for k, length in enumerate(spools)]
    lower, upper = [1.0] * count + [-np.inf] * m, [1.0] * count + [0.0] * m
    for k in range(1, m):
        if spools[k - 1] == spools[k] and new[k - 1] == new[k]:  # alike: open them in order
            entries += [(len(lower), k - 1, 1.0), (len(lower), k, -1.0)]
            lower.append(0.0)
            upper.append(np.inf)
    row, column_of, value = zip(*entries, strict=True)
    matrix = csr_array((value, (row, column_of)), shape=(len(lower), m + len(pairs)))
    answer = milp(
        np.array(weight + [0.0] * len(pairs)),
        integrality=np.ones(m + len(pairs), np.int64),
        bounds=Bounds(0.0, 1.0),
        constraints=LinearConstraint(matrix, lower, upper),
        options={"node_limit": NODES, "mip_rel_gap": 0.0},
    )
    if answer.x is None:
        return None, False
    chosen = [-1] * count
    room = list(spools)
    for (i, k), taken in zip(pairs, answer.x[m:].tolist(), strict=True):
        if taken > 0.5:
            chosen[i] = k
            room[k] -= pieces[i]
    if min(chosen) < 0 or min(room) < 0:
        return None, False
    return chosen, answer.status == 0
