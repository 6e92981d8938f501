"""Packing, securing and cutting against what one would otherwise write, in one run: a general optimiser, an integer
program, an assignment program and brute force. `python3 -m tests.bench` prints it under the vehicles.

The larger runs are `python -m tests.bench.bench_packing`, `bench_securing` and `bench_cutting`.
"""

import random
import time
from itertools import combinations, product
from typing import Any

from core.geometry.packing import pack
from core.harness.cutting import plan_cuts
from core.harness.cutting_exact import small_model
from core.harness.securing import Stretch, place
from tests.bench import bench_packing, bench_securing
from tests.bench.bench_cutting import KERF_MM, NEW_MM, van

#: Sorts of wire that are cut, bundles that are packed.
CUT, PACKED = 20, (6, 10, 15, 20)
SECURED_MM = 1_000.0


def packing() -> dict[str, Any]:
    """Bundles of mixed wires: laid out afresh, and by SLSQP from random starts for the same time."""
    worse, spent = [], 0.0
    pack(bench_packing.wires(12, 1), "quick")  # what is imported or compiled on first use is not packing
    for count in PACKED:
        d = [x * 1.0001 for x in bench_packing.wires(count, 1_000 + count)]  # met for the first time, so not remembered
        found, seconds = bench_packing.timed(lambda d=d: pack(d, "quick").diameter_mm)  # type: ignore[misc]
        general = bench_packing.general_optimiser(d, seconds)
        worse.append(general / found - 1.0)
        spent += seconds
    return {"own_s": spent / len(PACKED), "general_above": sum(worse) / len(worse)}


def securing() -> dict[str, Any]:
    """A wall of ribs, battens and skin: the integer program on the same lattice; and every subset on a short one."""
    stretches = bench_securing.wall(SECURED_MM)
    start = time.perf_counter()
    ends = (bench_securing.END_MM, bench_securing.END_MM)
    own = place(SECURED_MM, stretches, bench_securing.SPAN_MM, end_mm=ends, step_mm=bench_securing.STEP_MM)
    between = time.perf_counter()
    least = bench_securing.integer_program(SECURED_MM, stretches)
    general = time.perf_counter() - between
    short = place(600.0, [Stretch(0.0, 600.0, 1.0, "")], 250.0, end_mm=(50.0, 50.0), step_mm=50.0)
    return {
        "own_s": between - start,
        "general_s": general,
        "cost": own.cost,
        "least": least,
        "brute_same": len(short.points) == _every_subset(600.0, 250.0, 50.0, 50.0),
    }


def _every_subset(length_mm: float, span_mm: float, end_mm: float, step_mm: float) -> int:
    """The fewest lattice points with neighbours within the span and one near either end, by looking at all sets."""
    lattice = [k * step_mm for k in range(int(length_mm / step_mm) + 1)]
    for count in range(1, len(lattice)):
        for chosen in combinations(lattice, count):
            steps = [b - a for a, b in zip(chosen, chosen[1:], strict=False)]
            if chosen[0] <= end_mm and length_mm - chosen[-1] <= end_mm and max(steps, default=0.0) <= span_mm:
                return count
    return len(lattice)


def cutting() -> dict[str, Any]:
    """Sorts of wire with remnants: an assignment program for every one; and every assignment of a few pieces."""
    rnd = random.Random(7)
    own = general = 0.0
    proven = better = 0
    for _ in range(CUT):
        pieces, stock = van(rnd)
        start = time.perf_counter()
        plan = plan_cuts(pieces, stock, KERF_MM, NEW_MM)
        between = time.perf_counter()
        lengths = tuple(int(mm + KERF_MM) for mm in pieces.values())
        spools = tuple([int(mm) for _, mm in stock] + [int(NEW_MM)] * (plan.new_spools + 1))
        new = tuple([False] * len(stock) + [True] * (plan.new_spools + 1))
        chosen, optimal = small_model(lengths, spools, new)
        own, general = own + between - start, general + time.perf_counter() - between
        proven += plan.proven
        if chosen is not None and optimal:
            used = set(chosen)
            better += (sum(new[k] for k in used), len(used)) < (plan.new_spools, len(plan.opened))
    few = {f"w{k}": mm for k, mm in enumerate((9_000.0, 8_000.0, 8_000.0, 7_000.0, 7_000.0, 6_000.0, 5_000.0))}
    return {
        "own_s": own / CUT,
        "general_s": general / CUT,
        "proven": proven,
        "of": CUT,
        "better": better,
        "brute_same": plan_cuts(few, [], 0.0, 25_000.0).new_spools == _every_assignment(list(few.values()), 25_000.0),
    }


def _every_assignment(lengths_mm: list[float], spool_mm: float) -> int:
    """The fewest spools, by looking at every way to put the pieces on them."""
    for count in range(1, len(lengths_mm) + 1):
        for spool_of in product(range(count), repeat=len(lengths_mm)):
            loads = [0.0] * count
            for mm, spool in zip(lengths_mm, spool_of, strict=True):
                loads[spool] += mm
            if max(loads) <= spool_mm:
                return count
    return len(lengths_mm)


def measured() -> dict[str, Any]:
    return {"packing": packing(), "securing": securing(), "cutting": cutting()}


def table(found: dict[str, Any]) -> str:
    p, s, c = found["packing"], found["securing"], found["cutting"]
    brute = {True: "yes", False: "NO"}
    lines = [
        "methods, against what one would otherwise write",
        (
            f"packing   {p['own_s'] * 1e3:.1f} ms a bundle; a general optimiser, given the same, ends "
            f"{100 * p['general_above']:.1f} % wider"
        ),
        (
            f"securing  {s['own_s'] * 1e3:.1f} ms, cost {s['cost']:.1f}; an integer program "
            f"{s['general_s'] * 1e3:.0f} ms, cost {s['least']:.1f}; as few as the best of all sets: "
            f"{brute[s['brute_same']]}"
        ),
        (
            f"cutting   {c['own_s'] * 1e3:.1f} ms a sort of wire, {c['proven']} of {c['of']} proven; an assignment "
            f"program {c['general_s'] * 1e3:.1f} ms, better in {c['better']}; as few spools as the best of all "
            f"assignments: {brute[c['brute_same']]}"
        ),
    ]
    return "\n".join(lines)


if __name__ == "__main__":
    print(table(measured()))
