"""Securing points: the shortest path against a general integer program on the same candidates.

python -m tests.bench.bench_securing
"""

import bisect
import math
import time

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from core.harness.securing import Stretch, place

LENGTHS_MM = (1_000.0, 2_000.0, 4_000.0, 12_000.0)
LIMIT_S = 20.0  # of the integer program; its best so far is printed then
SPAN_MM, STEP_MM, END_MM = 300.0, 25.0, 100.0


def wall(length_mm: float) -> list[Stretch]:
    """Ribs every 450 mm, battens every 900 mm, the skin all over, at rising cost."""
    ribs = [Stretch(x, min(x + 60.0, length_mm), 1.0, "tie_mount") for x in np.arange(0.0, length_mm, 450.0)]
    battens = [Stretch(x, min(x + 200.0, length_mm), 1.6, "saddle") for x in np.arange(200.0, length_mm - 200.0, 900.0)]
    return [*ribs, *battens, Stretch(0.0, length_mm, 6.0, "bonded_mount")]


def integer_program(length_mm: float, stretches: list[Stretch]) -> float:
    """Least cost when every window of one span between lattice positions must hold a point."""
    at = sorted({*np.arange(0.0, length_mm + 1e-9, STEP_MM), *(e for s in stretches for e in (s.from_mm, s.to_mm))})
    cost = [min(s.cost for s in stretches if s.from_mm <= p <= s.to_mm) for p in at]
    count = len(at)
    rows: list[tuple[list[int], float]] = []  # columns that together must reach 1, or 0 when the first is chosen
    for k, p in enumerate(at):
        # Behind a chosen point another one within the span, until the last window is reached.
        if p < length_mm - END_MM:
            rows.append(([k, *range(k + 1, bisect.bisect_right(at, p + SPAN_MM + 1e-6))], 0.0))
    windows = [
        list(range(bisect.bisect_right(at, END_MM))),
        list(range(bisect.bisect_left(at, length_mm - END_MM), count)),
    ]
    matrix = np.zeros((len(rows) + 2, count))
    for i, (columns, _) in enumerate(rows):
        matrix[i, columns] = 1.0
        matrix[i, columns[0]] = -1.0
    for i, columns in enumerate(windows):
        matrix[len(rows) + i, columns] = 1.0
    answer = milp(
        np.array(cost),
        integrality=np.ones(count),
        bounds=Bounds(0.0, 1.0),
        constraints=LinearConstraint(matrix, lb=[low for _, low in rows] + [1.0, 1.0]),
        options={"time_limit": LIMIT_S},
    )
    return float(answer.fun) if answer.x is not None else math.inf


def main() -> None:
    for length in LENGTHS_MM:
        stretches = wall(length)
        start = time.perf_counter()
        found = place(length, stretches, SPAN_MM, end_mm=(END_MM, END_MM), step_mm=STEP_MM)
        own = time.perf_counter() - start
        start = time.perf_counter()
        least = integer_program(length, stretches)
        general = time.perf_counter() - start
        print(
            f"{length / 1000:4.0f} m: {len(found.points)} points, cost {found.cost:.1f} in {own * 1e3:.1f} ms; integer "
            f"program on the lattice {least:.1f} in {general * 1e3:.0f} ms, {general / own:.0f} times longer"
        )


if __name__ == "__main__":
    main()
