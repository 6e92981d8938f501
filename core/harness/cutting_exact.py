"""Exact models of the cutting stock problem, solved by HiGHS. Lengths are whole numbers of one unit.

All limits are numbers of nodes, columns or digits, never seconds, and one thread works, so that an answer does not
depend on the machine.
"""

import math
from collections import Counter
from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

NODES = 500
COLUMNS = 400
# The knapsack table has one entry per unit of the spool; longer spools are counted in a coarser unit, pieces up.
TABLE = 20_000


def _solver() -> Any:
    import highspy  # late: a plan without an open question never needs it

    solver: Any = highspy.Highs()  # type: ignore[no-untyped-call]
    for option, value in (
        ("output_flag", False),
        ("threads", 1),
        ("random_seed", 1),
        ("mip_max_nodes", NODES),
        ("mip_rel_gap", 0.0),
        ("mip_abs_gap", 0.5),
    ):
        solver.setOptionValue(option, value)
    return solver


def few_alike_spools(pieces: Sequence[int], spool: int, used: int) -> tuple[list[list[int]] | None, int]:
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
        value, duals, _ = _master(patterns, [demand[s] for s in sizes], whole=False)
        pattern, worth = _best_pattern(sizes, [demand[s] for s in sizes], duals, spool)
        # Farley's bound: with the best pattern worth w, no plan needs fewer than value / w.
        bound = max(bound, math.ceil(value / max(worth, 1.0) - 1e-6))
        if bound >= used:
            return None, bound
        if worth <= 1.0 + 1e-7 or pattern in patterns:
            break
        patterns.append(pattern)
    _, _, counts = _master(patterns, [demand[s] for s in sizes], whole=True)
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


def _master(
    patterns: Sequence[tuple[int, ...]], demand: Sequence[int], *, whole: bool
) -> tuple[float, list[float], list[int] | None]:
    """Fewest patterns that cover the demand: (their number, worth of each size, how often each pattern)."""
    import highspy

    solver = _solver()
    for d in demand:
        solver.addRow(float(d), highspy.kHighsInf, 0, [], [])
    for pattern in patterns:
        rows = [i for i, times in enumerate(pattern) if times]
        solver.addCol(1.0, 0.0, highspy.kHighsInf, len(rows), rows, [float(pattern[i]) for i in rows])
    if whole:
        kinds = np.array([highspy.HighsVarType.kInteger] * len(patterns))
        solver.changeColsIntegrality(len(patterns), np.arange(len(patterns), dtype=np.int32), kinds)
    solver.run()
    solution = solver.getSolution()
    value = float(solver.getInfo().objective_function_value)
    if not whole:
        return value, [float(y) for y in solution.row_dual], None
    if not math.isfinite(value) or value > 1e15:
        return value, [], None
    return value, [], [round(x) for x in solution.col_value]


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


def small_model(pieces: Sequence[int], spools: Sequence[int], new: Sequence[bool]) -> tuple[list[int] | None, bool]:
    """(spool of each piece or None, whether that is proven best): fewest new spools, then fewest, then least length.

    The three aims are one objective whose weights keep them apart: a spool weighs more than all their lengths.
    """
    import highspy

    total = sum(spools) + 1
    weight = [
        float(total * (len(spools) + 1) * is_new + total + length) for length, is_new in zip(spools, new, strict=True)
    ]
    solver = _solver()
    count, m = len(pieces), len(spools)
    inf = highspy.kHighsInf
    for _ in range(count):
        solver.addRow(1.0, 1.0, 0, [], [])
    for _ in range(m):
        solver.addRow(-inf, 0.0, 0, [], [])
    columns = before = 0
    where: dict[int, tuple[int, int]] = {}
    for k, length in enumerate(spools):
        solver.addCol(weight[k], 0.0, 1.0, 1, [count + k], [-float(length)])
        opened = columns
        columns += 1
        for i, piece in enumerate(pieces):
            if piece <= length:
                solver.addCol(0.0, 0.0, 1.0, 2, [i, count + k], [1.0, float(piece)])
                where[columns] = (i, k)
                columns += 1
        if k and spools[k - 1] == length and new[k - 1] == new[k]:  # alike: open them in order
            solver.addRow(0.0, inf, 2, [before, opened], [1.0, -1.0])
        before = opened
    solver.changeColsIntegrality(
        columns, np.arange(columns, dtype=np.int32), np.array([highspy.HighsVarType.kInteger] * columns)
    )
    solver.run()
    values = solver.getSolution().col_value
    chosen: list[int] = [-1] * count
    for column, (i, k) in where.items():
        if column < len(values) and values[column] > 0.5:
            chosen[i] = k
    room = list(spools)
    for i, k in enumerate(chosen):
        if k < 0:
            return None, False
        room[k] -= pieces[i]
    if min(room, default=0) < 0:
        return None, False
    return chosen, bool(solver.getModelStatus() == highspy.HighsModelStatus.kOptimal)
