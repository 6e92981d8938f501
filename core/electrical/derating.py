"""The factors on each conductor's ampacity along its route: the worst place governs.

Grouping counts loaded conductors by their current against the ampacity of their *starting* section, so it does not
depend on what sizing makes of them.
"""

from collections.abc import Sequence

import msgspec

from core.electrical.ampacity import (
    Factor,
    FactorTable,
    ambient_factor,
    engine_space_factor,
    grouping_table,
    mil_curve,
)
from core.electrical.sizing_records import Conductor, SizingProblem, Stretch
from core.text import counted


class Derating(msgspec.Struct, frozen=True):
    """The factors at the worst place of a conductor, their product, the count of loaded ones there.

    `ambient` is the worst ambient factor anywhere on the route (for bonds, which carry current only in a fault).
    """

    factors: tuple[Factor, ...]
    product: float
    grouped: int
    ambient: float


def start_row(wire: Conductor) -> int:
    """The row that sizing starts at: the fixed section, else the first that is not below the minimum size."""
    sections = wire.table.sections_mm2
    least = max([wire.minimum_mm2, *(f.section_mm2 for f in wire.floors if f.reason == "minimum size")])
    if wire.fixed_mm2 is not None:
        least = wire.fixed_mm2 * (1 - 1e-3)
    return next((row for row, section in enumerate(sections) if section >= least), len(sections) - 1)


def deratings(problem: SizingProblem) -> list[Derating]:
    """One `Derating` a conductor, in the order of the problem."""
    rules = problem.rules
    # The curves ask for every wire in the bundle: what is idle in it is in the loading.
    loaded = [wire.counts if rules.by_loading else _is_loaded(problem, wire) for wire in problem.conductors]
    wires_on = [0] * len(problem.stretches)
    circuits_on: dict[int, dict[int, int]] = {}
    for wire, is_loaded in zip(problem.conductors, loaded, strict=True):
        if is_loaded:
            for s in wire.route:
                wires_on[s] += wire.parallel
            for s in wire.route if rules.count_by == "circuits" else ():
                here = circuits_on.setdefault(s, {})
                here[wire.circuit] = max(wire.parallel, here.get(wire.circuit, 0))

    tables = _curves(problem, wires_on) if rules.by_loading else [rules.grouping] * len(problem.stretches)
    found: dict[tuple[object, ...], Derating] = {}
    result = []
    for wire, is_loaded in zip(problem.conductors, loaded, strict=True):
        # Feed and return lie on the same route: most answers are wanted twice.
        key = (wire.route, wire.ambient_c, wire.table.insulation_c, wire.table.base_c, is_loaded,
               wire.circuit if rules.count_by == "circuits" else None, wire.parallel)  # fmt: skip
        if key not in found:
            if rules.count_by == "circuits":
                on = (circuits_on.get(s, {}) for s in wire.route)
                counts = [sum(({wire.circuit: wire.parallel} | here).values()) for here in on]
            else:
                counts = [wires_on[s] + (0 if is_loaded else wire.parallel) for s in wire.route]
            found[key] = _worst(problem, wire, counts or [wire.parallel], [tables[s] for s in wire.route])
        result.append(found[key])
    return result


def _curves(problem: SizingProblem, wires_on: Sequence[int]) -> list[FactorTable | None]:
    """The bundle curve of each stretch, by the currents in it against the ampacities of the starting sections."""
    drawn_a = [0.0] * len(problem.stretches)
    free_a = [0.0] * len(problem.stretches)
    for wire in problem.conductors:
        if not wire.counts:
            continue
        base_a = wire.table.ampacity_a[start_row(wire)] * problem.rules.altitude
        for stretch, factor in zip(wire.route, _ambient_factors(problem, wire), strict=False):
            drawn_a[stretch] += wire.current_a
            free_a[stretch] += base_a * factor
    return [
        grouping_table(f"mil5088l_{mil_curve(wires_on[s], drawn_a[s], free_a[s])}") if wires_on[s] else None
        for s in range(len(problem.stretches))
    ]


def _is_loaded(problem: SizingProblem, wire: Conductor) -> bool:
    if not wire.counts or wire.current_a <= 0:
        return False
    share = problem.rules.loaded_share
    if share <= 0:
        return True
    table = wire.table
    start_a = table.ampacity_a[start_row(wire)] * min(_ambient_factors(problem, wire))
    return wire.current_a > share * start_a


def _ambients(problem: SizingProblem, wire: Conductor) -> list[float]:
    on = [problem.stretches[s].ambient_c for s in wire.route]
    return [wire.ambient_c if ambient is None else ambient for ambient in on] or [wire.ambient_c]


def _ambient_factors(problem: SizingProblem, wire: Conductor) -> list[float]:
    """By place on the route. A cold place gives no credit: the same wire is warm in summer."""
    table = wire.table
    ambients = _ambients(problem, wire)
    by_ambient = {a: min(1.0, ambient_factor(a, table.insulation_c, table.base_c)) for a in set(ambients)}
    factors = [by_ambient[a] for a in ambients]
    if problem.rules.engine_factors:
        for place, stretch in enumerate(wire.route):
            if problem.stretches[stretch].engine_space:
                factors[place] = min(factors[place], engine_space_factor(table.insulation_c))
    return factors


def _worst(problem: SizingProblem, wire: Conductor, counts: list[int], tables: list[FactorTable | None]) -> Derating:
    rules, table = problem.rules, wire.table
    stretches = [problem.stretches[s] for s in wire.route] or [Stretch(wire.length_mm)]
    ambients = _ambients(problem, wire)
    grouped = lasting_counts(counts, [s.length_mm for s in stretches], rules.shared_min_mm)
    covered = [s.covered_mm for s in stretches]
    covered = covered_runs_mm(covered) if rules.covered and any(covered) else [0.0] * len(stretches)
    ambient_factors = _ambient_factors(problem, wire)
    products = ambient_factors
    if any(tables):
        pairs = list(zip(grouped, tables, strict=True))
        by_count = {(n, table.id): table.at(n) for n, table in set(pairs) if table}
        products = [
            product * (by_count[n, table.id] if table else 1.0)
            for product, (n, table) in zip(products, pairs, strict=True)
        ]
    if rules.covered and any(covered):
        by_cover = {mm: rules.covered.at(mm) for mm in set(covered)}
        products = [product * by_cover[mm] for product, mm in zip(products, covered, strict=True)]
    worst = products.index(min(products))
    where = "engine space, " if stretches[worst].engine_space else ""
    if where and rules.engine_factors:
        where = "engine space, 33 CFR 183.425 Table 5 note 1 (0.85 at 105 °C read, else from memory), "
    note = f"{where}{ambients[worst]:g} °C, insulation {table.insulation_c:g} °C"
    factors = [Factor("ambient", ambient_factors[worst], note)]
    table_here = tables[worst] if tables else None
    if table_here:
        what = "loaded circuit" if rules.count_by == "circuits" else "loaded conductor"
        what = "conductor" if rules.by_loading else what
        together = f"{counted(grouped[worst], what)} together" if grouped[worst] > 1 else f"one {what}, alone"
        note = f"{together}, {table_here.told(grouped[worst])}"
        factors.append(Factor("grouping", table_here.at(grouped[worst]), note))
    if rules.covered and covered[worst] > 0:
        note = f"{covered[worst]:.0f} mm in insulation, {rules.covered.told(covered[worst])}"
        factors.append(Factor("covered length", rules.covered.at(covered[worst]), note))
    if rules.altitude < 1:
        factors.append(Factor("altitude", rules.altitude, "thin air cools less, FAA AC 43.13-1B (from memory)"))
    return Derating(tuple(factors), products[worst] * rules.altitude, grouped[worst], min(ambient_factors))


def lasting_counts(counts: list[int], lengths_mm: list[float], shared_min_mm: float) -> list[int]:
    """For each place the largest k such that k or more lie together over a run through it longer than the minimum.

    So a bundle drawn as ten short channels counts like one long channel. At least 1.
    """
    lasting = [1] * len(counts)
    open_places = []
    for place, (count, length_mm) in enumerate(zip(counts, lengths_mm, strict=True)):
        if shared_min_mm <= 0 or length_mm > shared_min_mm:
            lasting[place] = max(1, count)
        elif count > 1:
            open_places.append(place)
    if not open_places:
        return lasting
    # From the fullest place downwards runs grow together; the first that is long enough settles all that lie in it.
    most = max(counts[place] for place in open_places)
    first, last, length = list(range(len(counts))), list(range(len(counts))), list(lengths_mm)
    inside, settled = [False] * len(counts), [False] * len(counts)
    by_count = sorted((place for place, count in enumerate(counts) if count > 1), key=lambda place: -counts[place])
    for place in by_count:
        start, end, total = place, place, lengths_mm[place]
        if place > 0 and inside[place - 1]:
            start = first[place - 1]
            total += length[place - 1]
        if place + 1 < len(counts) and inside[place + 1]:
            end = last[place + 1]
            total += length[place + 1]
        inside[place] = True
        # Only the two ends of a run are ever looked at again.
        last[start], length[start], first[end], length[end] = end, total, start, total
        k = counts[place]
        if total > shared_min_mm and k <= most:
            # A run settles as a whole: beside one that is settled only what joins it now is left to settle.
            low = place if start < place and settled[place - 1] else start
            high = place if end > place and settled[place + 1] else end
            for each in range(low, high + 1):
                settled[each] = True
                lasting[each] = max(lasting[each], k)
    return lasting


def covered_runs_mm(covered_mm: list[float]) -> list[float]:
    """For each place the covered length of the unbroken run of covered stretches it lies in.

    Where a stretch is covered in part, the part is taken to touch its neighbour's.
    """
    runs = list(covered_mm)
    start = 0
    while start < len(runs):
        end = start
        while end < len(runs) and covered_mm[end] > 0:
            end += 1
        if end > start:
            runs[start:end] = [sum(covered_mm[start:end])] * (end - start)
        start = max(end, start + 1)
    return runs
