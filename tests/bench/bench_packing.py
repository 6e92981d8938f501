"""Packing: gap to the best known circles, to much longer searches, and to a general optimiser given the same time.

python -m tests.bench.bench_packing [times longer, default 100] [plain]
"""

import random
import sys
import time
from collections.abc import Callable

import numpy as np
from scipy.optimize import minimize

from core.files.library import load_library
from core.geometry import packing_speed
from core.geometry.packing import Quality, pack
from core.geometry.packing_search import Effort, search
from tests.core.harness.tables import rows

# Outside diameters of thin-wall vehicle wire and of a few cables, and how often each is met (our choice).
WIRES_MM = [1.3, 1.7, 1.9, 2.4, 3.0, 3.6, 4.5, 6.5, 9.0]
OFTEN = [20, 20, 18, 14, 12, 7, 5, 2, 2]


def wires(count: int, start: int) -> list[float]:
    return random.Random(start).choices(WIRES_MM, OFTEN, k=count)


def timed(work: Callable[[], float]) -> tuple[float, float]:
    """What `work` answers, and its processor seconds: other programs on the machine count little."""
    start = time.process_time()
    return work(), time.process_time() - start


def against_best_known(quality: Quality) -> None:
    for name, column, wanted in (("packing_equal.csv", "ratio_R_over_r", 61), ("packing_unequal.csv", "best_R", 32)):
        gaps, times = [], []
        for row in rows(name):
            n = int(row["n"])
            if 4 <= n <= wanted:
                d = [2.0] * n if name == "packing_equal.csv" else [2.0 * k for k in range(1, n + 1)]
                found, spent = timed(lambda d=d: pack(d, quality).diameter_mm)  # type: ignore[misc]
                gaps.append(found / 2.0 / float(row[column]) - 1.0)
                times.append(spent)
        print(
            f"{name:22s} {quality:8s} gap mean {100 * np.mean(gaps):.2f} % worst {100 * max(gaps):.2f} %, "
            f"time mean {1e3 * np.mean(times):.0f} ms worst {1e3 * max(times):.0f} ms"
        )


def general_optimiser(d: list[float], seconds: float) -> float:
    """SLSQP on centres and radius from random starts until the time is over: what one would otherwise write."""
    r, n = np.array(d) / 2.0, len(d)
    i, j = np.triu_indices(n, 1)
    rng, best, stop = np.random.RandomState(1), float(np.sum(r)), time.process_time() + seconds
    while time.process_time() < stop:
        x0 = np.concatenate((rng.normal(size=2 * n) * np.sqrt(np.sum(r * r)), [2.0 * np.sqrt(np.sum(r * r))]))

        def room(v: np.ndarray) -> np.ndarray:
            x, y = v[:n], v[n : 2 * n]
            apart = (x[i] - x[j]) ** 2 + (y[i] - y[j]) ** 2 - (r[i] + r[j]) ** 2
            return np.concatenate((apart, v[-1] - r - np.hypot(x, y)))

        answer = minimize(
            lambda v: v[-1], x0, method="SLSQP", constraints={"type": "ineq", "fun": room}, options={"maxiter": 60}
        )
        if room(answer.x).min() > -1e-6:
            best = min(best, float(answer.x[-1]))
    return 2.0 * best


def mixed_sets() -> list[list[float]]:
    """78 bundles of 8 to 40: thin-wall wires, small ones often; every wire and cable of the catalogue; heavy tails."""
    kinds = {kind.id: sorted({size.od_mm for size in kind.sizes}) for kind in load_library().wire_kinds}
    thin, every = kinds["wire-thin-wall"], sorted({d for sizes in kinds.values() for d in sizes})
    sets: list[list[float]] = []
    for k in range(36):
        often = [20, 20, 18, 14, 10, 10, 8, 6, 4, 2, 1]
        sets.append(random.Random(1000 + k).choices(thin, often, k=8 + k * 32 // 35))
    rarer = [d**-1.5 for d in every]
    sets += [random.Random(2000 + k).choices(every, rarer, k=8 + k * 32 // 23) for k in range(24)]
    for k in range(18):
        rnd = random.Random(3000 + k)
        sets.append([round(min(1.3 * rnd.paretovariate(1.6), 20.0), 1) for _ in range(8 + k * 32 // 17)])
    return [sorted(wires_mm, reverse=True) for wires_mm in sets]


def longer_search_mm(d: list[float], times_longer: int) -> float:
    """Diameter that the same search finds with twice as many layouts kept and so many times the moves."""
    rounds = times_longer * 1400 // len(d)
    effort = Effort(60, 60, 10, rounds, rounds // 2, 1, 0, 26, 8, 300)
    return search([np.array(d) / d[0]], effort, packing_speed.engine())[0][0] * d[0]


def against_longer_search(times_longer: int) -> None:
    gaps, quick_gaps, times, factors = [], [], [], []
    for d in mixed_sets():
        quick = pack(d).diameter_mm
        found, spent = timed(lambda d=d: pack(d, "refined").diameter_mm)  # type: ignore[misc]
        longer, longest = timed(lambda d=d: longer_search_mm(d, times_longer))  # type: ignore[misc]
        longer = min(longer, found)
        gaps.append(found / longer - 1.0)
        quick_gaps.append(quick / longer - 1.0)
        times.append(spent)
        factors.append(longest / spent)
    print(
        f"{len(gaps)} mixed sets of 8 to 40 against {np.mean(factors):.0f} times longer: refined mean "
        f"{100 * np.mean(gaps):.2f} % worst {100 * max(gaps):.2f} %, {sum(gap > 0.01 for gap in gaps)} above 1 %, "
        f"{1e3 * np.mean(times):.1f} ms worst {1e3 * max(times):.1f} ms; quick mean {100 * np.mean(quick_gaps):.2f} % "
        f"worst {100 * max(quick_gaps):.2f} %"
    )


def against_general_optimiser() -> None:
    for count in (8, 16, 25, 40):
        d = sorted(wires(count, count), reverse=True)
        found, spent = timed(lambda d=d: pack(d, "refined").diameter_mm)  # type: ignore[misc]
        general = general_optimiser(d, spent)
        worse = 100 * (general / found - 1.0)
        print(f"{count:3d} mixed wires: general optimiser in the refined time {worse:.1f} % worse")


def large() -> None:
    for count in (151, 300, 1000, 5000):
        for quality in ("quick", "refined"):
            if quality == "quick" or count <= 1000:
                d = wires(count, count)
                found, spent = timed(lambda d=d, q=quality: pack(d, q).diameter_mm)  # type: ignore[misc]
                share = sum(v * v for v in d) / found**2
                print(f"{count:5d} mixed wires {quality:8s} {spent * 1e3:6.0f} ms, density {share:.3f}")


if __name__ == "__main__":
    if "plain" not in sys.argv:
        print("compiled" if packing_speed.load() else "numba is not at hand")
        pack([1.0] * 5, "refined")
    against_best_known("quick")
    against_best_known("refined")
    against_longer_search(next((int(word) for word in sys.argv[1:] if word.isdigit()), 100))
    against_general_optimiser()
    large()
