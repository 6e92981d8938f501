"""Which piece comes off which spool: fewest new spools, then fewest spools cut into, then the least wire in them.

Best fit with the longest piece first is nearly always right; simple bounds then prove it. What they leave open goes to
an exact model: column generation (Gilmore and Gomory, Operations Research 9, 1961) where all spools are alike, a small
mixed-integer program else, both solved by HiGHS with limits on nodes, not seconds, so the answer is always the same.

Lengths count in whole millimetres: pieces and kerf rounded up, spools down.
"""

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

# Pieces times spools up to which the exact model is tried; above, an answer that no bound proves is returned as such.
EXACT_SIZE = 600
# Remnants up to which every set of them is looked at, and sets into which best fit is tried.
SUBSETS_OF = 10
SETS_TRIED = 200


@dataclass(frozen=True, slots=True)
class Cutting:
    """`assignments` are (piece, spool); new spools are called "new 1", "new 2" and so on."""

    assignments: tuple[tuple[str, str], ...]
    #: (spool, what is left of it after its last piece) for every spool that is cut into.
    waste_mm: tuple[tuple[str, float], ...]
    #: Spools cut into, those in stock first.
    opened: tuple[str, ...]
    #: New spools among them.
    new_spools: int
    #: Pieces longer than every spool: no splice is ever made silently.
    too_long: tuple[str, ...]
    #: Pieces that would fit a spool, but none is left and none can be bought.
    unplaced: tuple[str, ...]
    #: No plan needs fewer new spools, fewer spools, or (these being equal) less wire in them.
    proven: bool
    #: (new spools, spools cut into) that no plan gets below, the first counting first.
    least: tuple[int, int]


@dataclass(frozen=True, slots=True)
class _Spool:
    name: str
    length: int
    new: bool


_Plan = dict[str, _Spool]  # piece -> spool
_Value = tuple[int, int, int]  # new spools, spools cut into, their length


def plan_cuts(
    pieces_mm: Mapping[str, float],
    stock_mm: Sequence[tuple[str, float]],
    kerf_mm: float = 0.0,
    new_spool_mm: float | None = None,
) -> Cutting:
    """Plan of cuts for pieces of one kind, size and colour of wire.

    `stock_mm` are the spools and remnants at hand; `new_spool_mm` is the length of a spool that can be bought, None
    when there is none. Every piece costs `kerf_mm` more than its length. Every piece is in the answer: assigned, too
    long, or unplaced. Raises ValueError for lengths that are negative or not finite, and for two spools of one name.
    """
    _check(pieces_mm, stock_mm, kerf_mm, new_spool_mm)
    kerf = math.ceil(kerf_mm - 1e-6)
    need = {name: math.ceil(mm - 1e-6) + kerf for name, mm in pieces_mm.items()}
    stock = [_Spool(name, math.floor(mm + 1e-6), new=False) for name, mm in stock_mm]
    stock = [s for s in stock if s.length >= min(need.values(), default=0)]
    new_length = 0 if new_spool_mm is None else math.floor(new_spool_mm + 1e-6)
    longest = max([new_length, *(s.length for s in stock)], default=0)
    too_long = [name for name, mm in need.items() if mm > longest]
    order = sorted((name for name in need if need[name] <= longest), key=lambda name: (-need[name], name))

    plan, left_over = _best_fit(order, need, stock, new_length, _FreshNames(stock_mm))
    proven, least = False, (0, 0)
    if not left_over and not too_long:
        plan, proven, least = _better(order, need, stock, new_length, plan)
        if not proven:
            plan, proven, least = _exact(order, need, stock, new_length, plan, least, _FreshNames(stock_mm))
    return _cutting(plan, need, order, too_long, left_over, proven, least)


def _check(
    pieces_mm: Mapping[str, float], stock_mm: Sequence[tuple[str, float]], kerf_mm: float, new_spool_mm: float | None
) -> None:
    for name, mm in pieces_mm.items():
        if not 0.0 < mm < math.inf:
            raise ValueError(f"piece {name} is {mm!r} mm long; expected a length above 0")
    for name, mm in stock_mm:
        if not 0.0 <= mm < math.inf:
            raise ValueError(f"spool {name} holds {mm!r} mm; expected 0 or more")
    if len({name for name, _ in stock_mm}) < len(stock_mm):
        raise ValueError("two spools in stock have the same name")
    if not 0.0 <= kerf_mm < math.inf:
        raise ValueError(f"kerf {kerf_mm!r} mm; expected 0 or more")
    if new_spool_mm is not None and not 0.0 < new_spool_mm < math.inf:
        raise ValueError(f"new spool of {new_spool_mm!r} mm; expected a length above 0, or None")


class _FreshNames:
    """Names of new spools, none of which is taken in stock."""

    def __init__(self, stock_mm: Iterable[tuple[str, float]]) -> None:
        self._taken = {name for name, _ in stock_mm}
        self._number = 0

    def __call__(self) -> str:
        self._number += 1
        while f"new {self._number}" in self._taken:
            self._number += 1
        return f"new {self._number}"


def _best_fit(
    order: Sequence[str], need: Mapping[str, int], stock: Sequence[_Spool], new_length: int, fresh: _FreshNames
) -> tuple[_Plan, list[str]]:
    """Longest piece first into the opened spool with the least room that takes it. Opened next: the shortest spool in
    stock that holds all the rest, else the longest that holds the piece, else a new one."""
    room: dict[_Spool, int] = {}
    plan: _Plan = {}
    left_over: list[str] = []
    rest = sum(need[name] for name in order)
    unopened = sorted(stock, key=lambda s: (s.length, s.name))
    for name in order:
        mm = need[name]
        fitting = [s for s in room if room[s] >= mm]
        if fitting:
            spool = min(fitting, key=lambda s: (room[s], s.name))
        else:
            able = [s for s in unopened if s.length >= mm]
            if able:
                spool = next((s for s in able if s.length >= rest), able[-1])
                unopened.remove(spool)
            elif new_length >= mm:
                spool = _Spool(fresh(), new_length, new=True)
            else:
                left_over.append(name)
                rest -= mm
                continue
            room[spool] = spool.length
        room[spool] -= mm
        rest -= mm
        plan[name] = spool
    return plan, left_over


def _value(plan: _Plan) -> _Value:
    used = set(plan.values())
    return sum(s.new for s in used), len(used), sum(s.length for s in used)


def _better(
    order: Sequence[str], need: Mapping[str, int], stock: Sequence[_Spool], new_length: int, plan: _Plan
) -> tuple[_Plan, bool, tuple[int, int]]:
    """(plan, whether it is proven, (new spools, spools) that no plan gets below).

    Sets of spools that hold the total and the longest piece, best first: the first into which best fit gets all pieces
    is the plan, and it is proven when it is the first of all. New spools alone are also bounded by the pieces of more
    than half a spool, no two of which share one.
    """
    if not order:
        return plan, True, (0, 0)
    bought = sorted((s for s in set(plan.values()) if s.new), key=lambda s: _natural(s.name))
    least_new = 0 if stock else sum(2 * mm > new_length for mm in need.values())
    sets = _sets(stock, bought, sum(need.values()), need[order[0]], _value(plan), least_new)
    if sets is None:
        return plan, False, (0, 1)
    least = _count(sets[0]) if sets else _count(set(plan.values()))
    for tried, spools in enumerate(sets[:SETS_TRIED]):
        found = _fit_all(order, need, spools)
        if found is not None:
            return found, tried == 0, least
    return plan, not sets, least


def _count(spools: Collection[_Spool]) -> tuple[int, int]:
    return sum(s.new for s in spools), len(spools)


def _sets(
    stock: Sequence[_Spool], bought: Sequence[_Spool], total: int, longest: int, value: _Value, least_new: int
) -> list[list[_Spool]] | None:
    """Sets of spools better than `value` that could do, best first; None when there are too many to list."""
    if len(stock) > SUBSETS_OF:
        return None
    rows: list[tuple[_Value, int, list[_Spool]]] = []
    for choice in range(1 << len(stock)):
        old = [s for k, s in enumerate(stock) if choice >> k & 1]
        for new in range(least_new, len(bought) + 1):
            spools = old + list(bought[:new])
            held = sum(s.length for s in spools)
            if held >= total and max(s.length for s in spools) >= longest and (new, len(spools), held) < value:
                rows.append(((new, len(spools), held), choice, spools))
    return [spools for _, _, spools in sorted(rows, key=lambda row: row[:2])]


def _fit_all(order: Sequence[str], need: Mapping[str, int], spools: Sequence[_Spool]) -> _Plan | None:
    """Best fit into just these spools, or None."""
    room = {s: s.length for s in spools}
    plan: _Plan = {}
    for name in order:
        fitting = [s for s in spools if room[s] >= need[name]]
        if not fitting:
            return None
        plan[name] = min(fitting, key=lambda s: (room[s], s.name))
        room[plan[name]] -= need[name]
    return plan


def _exact(
    order: Sequence[str],
    need: Mapping[str, int],
    stock: Sequence[_Spool],
    new_length: int,
    plan: _Plan,
    least: tuple[int, int],
    fresh: _FreshNames,
) -> tuple[_Plan, bool, tuple[int, int]]:
    """What `_better` returns, from the exact models: never worse than the plan given."""
    # It loads numpy, and mostly best fit is proven right without.
    from core.harness.cutting_exact import few_alike_spools, small_model

    lengths = tuple(need[name] for name in order)
    new_count, used, _ = _value(plan)
    if not stock:
        groups, bound = few_alike_spools(lengths, new_length, used)
        if groups is not None and len(groups) < used:
            spools = [_Spool(fresh(), new_length, new=True) for _ in groups]
            plan = {order[i]: spool for spool, group in zip(spools, groups, strict=True) for i in group}
        least = max(least, (bound, bound))
        if _count(set(plan.values())) == least:
            return plan, True, least
        new_count = len(set(plan.values()))
    spools = [*stock, *(_Spool(fresh(), new_length, new=True) for _ in range(new_count))]
    if len(order) * len(spools) > EXACT_SIZE:
        return plan, False, least
    chosen, optimal = small_model(lengths, tuple(s.length for s in spools), tuple(s.new for s in spools))
    if chosen is not None:
        plan = min(plan, {order[i]: spools[k] for i, k in enumerate(chosen)}, key=_value)
    return plan, optimal, _count(set(plan.values())) if optimal else least


def _cutting(
    plan: _Plan,
    need: Mapping[str, int],
    order: Sequence[str],
    too_long: Sequence[str],
    left_over: Sequence[str],
    proven: bool,
    least: tuple[int, int],
) -> Cutting:
    spools = sorted(set(plan.values()), key=lambda s: (s.new, _natural(s.name)))
    left = {s: s.length for s in spools}
    for name, spool in plan.items():
        left[spool] -= need[name]
    return Cutting(
        assignments=tuple((name, plan[name].name) for name in order if name in plan),
        waste_mm=tuple((s.name, float(left[s])) for s in spools),
        opened=tuple(s.name for s in spools),
        new_spools=sum(s.new for s in spools),
        too_long=tuple(too_long),
        unplaced=tuple(left_over),
        proven=proven,
        least=least,
    )


def _natural(name: str) -> tuple[int, str]:
    """Sorts new 10 after new 9."""
    return len(name), name
