"""Electrical stages of a van with 60 circuits behind a feeder, against an integer program that chooses the sections.

python -m tests.bench.bench_electrical
"""

import time
from collections.abc import Callable

import numpy as np
from msgspec.structs import replace
from scipy.optimize import Bounds, LinearConstraint, milp

from core.analysis import loads, meshes, sizes
from core.analysis.analysis import Analysis
from core.analysis.checks import find_all
from core.analysis.engine import Analyser
from core.analysis.size_inputs import inputs_of
from core.analysis.sizing_sheet import SizingDesk
from core.electrical.sizing import SizingProblem, SizingResult, Solved, size
from core.files.library import load_library
from core.model import Circuit, Device, Electrical, Plan, Protective, Stop
from tests.bench.vehicles import vehicle

AIM_MS = 50.0
WARM = 7


def sixty_circuits() -> Plan:
    """The van of the benchmarks with a second load on every place, and a battery that feeds its block."""
    van = vehicle("van")
    lamps = [d for d in van.devices if d.kind == "light"]
    more = tuple(replace(d, id=f"{d.id}b", name=f"{d.name}b") for d in lamps)
    block = van.devices[0]
    beside = next(c for c in van.channels if c.start == block.node).end
    cable = next(k for k in load_library().wire_kinds if k.id == "wire-battery")
    battery = Device(
        id="battery", name="Battery", kind="battery", surface="floor", at_mm=block.at_mm, node=beside,
        electrical=Electrical(short_circuit_a=2_000.0, rating_a=200.0),
    )  # fmt: skip
    feed = Circuit(
        id="F", name="Feed", kind="feeder", wire_kind=cable.id,
        protective=Protective(family="class_t", device="battery"),
        stops=(Stop(id="0", device="battery", role="source"), Stop(id="1", device=block.id, after="0")),
    )  # fmt: skip
    again = tuple(
        replace(
            c,
            id=f"{c.id}b",
            name=f"{c.name}b",
            stops=(
                replace(c.stops[0], way=f"w{30 + i}"),
                replace(c.stops[1], device=f"{c.stops[1].device}b"),
            ),
        )
        for i, c in enumerate(van.circuits)
    )
    return replace(
        van,
        devices=(*van.devices, *more, battery),
        circuits=(*van.circuits, *again, feed),
        wire_kinds=(*van.wire_kinds, cable),
    )


def best_ms(work: Callable[[], object]) -> float:
    """Processor time of the quickest of several runs: other work on the machine does not change it."""
    best = float("inf")
    for _ in range(WARM):
        start = time.process_time()
        work()
        best = min(best, time.process_time() - start)
    return 1_000 * best


def chosen_by_program(problem: SizingProblem, result: SizingResult) -> tuple[float, float]:
    """(copper in mm3, milliseconds) of an integer program: one row for each group, every drop within its limit."""
    solved = Solved(problem)
    groups = [*problem.together, *((c,) for c in range(len(problem.conductors)) if c not in sum(problem.together, ()))]
    columns: list[tuple[int, int]] = []
    cost: list[float] = []
    for g, group in enumerate(groups):
        rows = [
            row
            for row in range(len(problem.conductors[group[0]].table.sections_mm2))
            if all(v.holds for c in group for v in solved.candidates(c)[row].verdicts if v.rule != "voltage drop")
        ] or [result.conductors[group[0]].index]
        for row in rows:
            columns.append((g, row))
            cost.append(
                sum(problem.conductors[c].length_mm for c in group)
                * problem.conductors[group[0]].table.sections_mm2[row]
            )
    of = {c: g for g, group in enumerate(groups) for c in group}
    one = np.array([[1.0 if g == k else 0.0 for g, _ in columns] for k in range(len(groups))])
    drops, most = [], []
    for path, answer in zip(problem.paths, result.paths, strict=True):
        if answer.best_v > path.limit_v:
            continue
        weight: dict[int, float] = {}
        for c, amps in zip(path.conductors, path.currents_a, strict=True):
            weight[of[c]] = weight.get(of[c], 0.0) + amps * problem.conductors[c].length_mm / 1000
        drops.append(
            [weight.get(g, 0.0) * problem.conductors[groups[g][0]].table.r_ohm_per_m[row] for g, row in columns]
        )
        most.append(path.limit_v - path.fixed_v)
    limits = [LinearConstraint(one, 1, 1), LinearConstraint(np.array(drops), -np.inf, np.array(most) + 1e-9)]
    start = time.process_time()
    found = milp(cost, constraints=limits, integrality=np.ones(len(cost)), bounds=Bounds(0, 1))
    return float(found.fun), 1_000 * (time.process_time() - start)


def copper(problem: SizingProblem, result: SizingResult) -> float:
    return sum(
        answer.section_mm2 * wire.length_mm for answer, wire in zip(result.conductors, problem.conductors, strict=True)
    )


def main() -> None:
    plan, analyser = sixty_circuits(), Analyser(load_library())
    analysis: Analysis = analyser.analyse(plan, "quick")

    def stage_sizes() -> object:
        return sizes.compute(inputs_of(analysis))

    def from_scratch() -> object:
        return Analyser(analyser.library).analyse(plan, "quick")

    def one_fuse_changed() -> object:
        changed = replace(plan, circuits=(replace(plan.circuits[0], always_live=True), *plan.circuits[1:]))
        analyser.analyse(plan, "quick")
        start = time.process_time()
        analyser.analyse(changed, "quick")
        return time.process_time() - start

    parts = {
        "loads": best_ms(lambda: loads.circuit_loads(plan.circuits, plan.devices)),
        "meshes": best_ms(
            lambda: meshes.solve_meshes(
                plan.circuits,
                plan.devices,
                plan.wire_kinds,
                analysis.wires,
                analysis.routes,
                analysis.loads,
                plan.assumptions,
                {},
            )
        ),
        "sizes": best_ms(stage_sizes),
        "findings": best_ms(lambda: find_all(analysis)),
    }
    whole = best_ms(from_scratch)
    edited = 1_000 * min(float(str(one_fuse_changed())) for _ in range(WARM))
    desk = SizingDesk(analysis)
    problem, result = desk.work.problem, desk.result
    first = next(iter(analysis.wires))
    told = ", ".join(f"{name} {ms:.1f} ms" for name, ms in parts.items())
    print(f"{len(plan.circuits)} circuits, {len(analysis.wires)} wires: {told}")
    print(f"electrical {sum(parts.values()):.1f} ms, {sum(parts.values()) / AIM_MS:.2f} of the aim of {AIM_MS:g} ms")
    print(f"whole analysis, all stages anew: {whole:.1f} ms, {whole / AIM_MS:.2f} of the aim")
    print(f"after an edit of one circuit: {edited:.1f} ms, {edited / AIM_MS:.2f} of the aim")
    print(f"sizing sheet of one wire: {best_ms(lambda: SizingDesk(analysis).sheet(first)):.1f} ms")
    least, spent = chosen_by_program(problem, result)
    solved = best_ms(lambda: size(problem))
    print(
        f"sections {solved:.1f} ms; the integer program takes {spent / solved:.0f} times longer for "
        f"{100 * (1 - least / copper(problem, result)):.2f} % less copper"
    )


if __name__ == "__main__":
    main()
