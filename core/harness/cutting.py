"""Which piece comes off which spool: fewest new spools, then fewest spools cut into, then the least wire in them.

Best fit with the longest piece first is nearly always right; simple bounds then prove it. What they leave open goes to
an exact model: column generation (Gilmore and Gomory, Operations Research 9, 1961) where all spools are alike, a small
mixed-integer program else, both solved by HiGHS with limits on nodes, not seconds, so the answer is always the same.

Lengths count in whole millimetres: pieces and kerf rounded up, spools down.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from core.harness.cutting_exact import few_alike_spools, small_model

# Pieces times spools up to which the exact model is tried; above, an answer that no bound proves is returned as such.
EXACT_SIZE = 600


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
    #: Number of spools that no plan can get below.
    least_spools: int


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
    proven, least = False, 0
    if not left_over and not too_long:
        least_value = _bound(need, stock, new_length)
        least = least_value[1]
        proven = _value(plan) == least_value
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


def _bound(need: Mapping[str, int], stock: Sequence[_Spool], new_length: int) -> _Value:
    """A value that no plan beats: total lengths, and pieces of more than half a spool, no two of which share one."""
    total = sum(need.values())
    in_stock = sorted((s.length for s in stock), reverse=True)
    new = 0
    if new_length:
        new = max(0, math.ceil((total - sum(in_stock)) / new_length))
        if not stock:
            new = max(new, sum(mm * 2 > new_length for mm in need.values()))
    least_new = new
    lengths = sorted([*in_stock, *[new_length] * least_new], reverse=True)
    spools, held = 0, 0
    for length in lengths:
        if held >= total:
            break
        held += length
        spools += 1
    if spools == least_new and not stock:
        return least_new, spools, spools * new_length
    # Any set of that many spools that holds the total holds at least the total: the shortest single spool says more.
    least_length = total
    if spools == 1:
        least_length = min(length for length in lengths if length >= total)
    return least_new, spools, least_length


def _exact(
    order: Sequence[str],
    need: Mapping[str, int],
    stock: Sequence[_Spool],
    new_length: int,
    plan: _Plan,
    least: int,
    fresh: _FreshNames,
) -> tuple[_Plan, bool, int]:
    """(plan, whether it is proven, least number of spools): never worse than the plan given."""
    lengths = [need[name] for name in order]
    new_count, used, _ = _value(plan)
    if not stock:
        groups, bound = few_alike_spools(lengths, new_length, used)
        if groups is not None and len(groups) < used:
            spools = [_Spool(fresh(), new_length, new=True) for _ in groups]
            plan = {order[i]: spool for spool, group in zip(spools, groups, strict=True) for i in group}
        return plan, len(set(plan.values())) == max(bound, least), max(bound, least)
    spools = [*stock, *(_Spool(fresh(), new_length, new=True) for _ in range(new_count))]
    if len(order) * len(spools) > EXACT_SIZE:
        return plan, False, least
    chosen, optimal = small_model(lengths, [s.length for s in spools], [s.new for s in spools])
    if chosen is not None:
        found = {order[i]: spools[k] for i, k in enumerate(chosen)}
        plan = min(plan, found, key=_value)
    return plan, optimal, _value(plan)[1] if optimal else least


def _cutting(
    plan: _Plan,
    need: Mapping[str, int],
    order: Sequence[str],
    too_long: Sequence[str],
    left_over: Sequence[str],
    proven: bool,
    least: int,
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
        least_spools=least,
    )


def _natural(name: str) -> tuple[int, str]:
    """Sorts new 10 after new 9."""
    return len(name), name
