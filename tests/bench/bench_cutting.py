"""Cutting: best fit with proof against the general assignment program for every case.

python -m tests.bench.bench_cutting
"""

import random
import time

from core.harness.cutting import plan_cuts
from core.harness.cutting_exact import small_model

NEW_MM, KERF_MM = 25_000.0, 50.0


def van(rnd: random.Random) -> tuple[dict[str, float], list[tuple[str, float]]]:
    """Pieces of one sort of wire, 0.4 to 9 m, and up to three remnants."""
    pieces = {f"w{k}": float(rnd.randint(400, 9_000)) for k in range(rnd.randint(4, 30))}
    return pieces, [(f"rest {k}", float(rnd.randint(3_000, 24_000))) for k in range(rnd.randint(0, 3))]


def main() -> None:
    rnd = random.Random(2)
    own = general = 0.0
    proven = worse = compared = 0
    slowest = 0.0
    cases = 60
    for _ in range(cases):
        pieces, stock = van(rnd)
        start = time.perf_counter()
        plan = plan_cuts(pieces, stock, KERF_MM, NEW_MM)
        spent = time.perf_counter() - start
        own, slowest = own + spent, max(slowest, spent)
        proven += plan.proven
        lengths = [int(mm + KERF_MM) for mm in pieces.values()]
        spools = [int(mm) for _, mm in stock] + [int(NEW_MM)] * (plan.new_spools + 1)
        new = [False] * len(stock) + [True] * (plan.new_spools + 1)
        start = time.perf_counter()
        chosen, optimal = small_model(tuple(lengths), tuple(spools), tuple(new))
        general += time.perf_counter() - start
        if chosen is not None and optimal:
            compared += 1
            used = set(chosen)
            worse += (plan.new_spools, len(plan.opened)) > (sum(new[k] for k in used), len(used))
    print(
        f"{cases} sorts of wire: {proven} proven, mean {1e3 * own / cases:.1f} ms, slowest {1e3 * slowest:.0f} ms; the "
        f"assignment program solved {compared}, found better in {worse}, {general / own:.1f} times longer"
    )


if __name__ == "__main__":
    main()
