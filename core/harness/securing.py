"""Securing points along one channel: the cheapest legal set, exactly. Positions in mm from the channel's start.

A set is legal when points lie only where something can be fixed, every window holds one, and neighbours are at most the
span apart. Where that cannot be met, the rest is still placed as well as it can be and the stretches that stay
unsupported are returned as gaps: a gap that no point can shorten runs between two neighbouring places that *can* hold
one, so both are taken and the search goes on behind it.

The search is a shortest path over candidate positions. The candidates hold an optimum: push every point of some best
set towards the end until it stops; then it sits at the end of a stretch, at the end of a window, or one span behind its
predecessor. Beside these, a lattice gives round numbers and even spacing among equally cheap sets.
"""

import bisect
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol, TypeVar

SAME_MM = 1e-6
# Costs are compared as whole thousandths, so that equal costs are equal whatever the order of adding.
COST_GRAIN = 1e-3
CANDIDATES = 20_000
# Candidates within a span above which arrays are quicker than a loop.
WIDE = 150


@dataclass(frozen=True, slots=True)
class Stretch:
    """Where the bundle can be fixed, what a point there costs (any unit, above 0) and what it is fixed with."""

    from_mm: float
    to_mm: float
    cost: float
    kind: str


@dataclass(frozen=True, slots=True)
class Placed:
    at_mm: float
    kind: str
    user: bool


@dataclass(frozen=True, slots=True)
class Gap:
    """A stretch without support that is longer than `span_mm` allows. `brackets_mm` are the places where brackets would
    close it; empty where nothing may be fixed at all."""

    from_mm: float
    to_mm: float
    span_mm: float
    brackets_mm: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Securing:
    points: tuple[Placed, ...]
    gaps: tuple[Gap, ...]
    #: Longest distance between neighbouring points (ends that count as held included).
    longest_span_mm: float
    #: Windows in which nothing can be fixed.
    missed: tuple[tuple[float, float], ...] = ()
    cost: float = 0.0


class HoldsBundle(Protocol):
    """A fixing part of a catalogue."""

    @property
    def largest_bundle_mm(self) -> float: ...


Part = TypeVar("Part", bound=HoldsBundle)


def place(
    length_mm: float,
    stretches: Sequence[Stretch],
    span_mm: float,
    *,
    forbidden: Sequence[tuple[float, float]] = (),
    windows: Sequence[tuple[float, float]] = (),
    fixed: Sequence[float] = (),
    end_mm: tuple[float | None, float | None] = (None, None),
    step_mm: float = 25.0,
) -> Securing:
    """Least-cost securing points; among equally cheap ones the most evenly spaced.

    `forbidden` stretches (open intervals: inside a bend, on a moving part) take no point, except those in `fixed`,
    which the user placed: they are kept, cost nothing and serve spans and windows. Each of `windows` must hold a point.
    `end_mm` is how far from either end the nearest point may be (0: right at the end); None means that the end is held
    by something else, so that the span counts from it. `step_mm` is the lattice of preferred positions.

    Raises ValueError for a negative length, a span or step that is not above 0, a cost that is not above 0, or a fixed
    point off the channel.
    """
    _check(length_mm, stretches, span_mm, fixed, end_mm, step_mm)
    kept = sorted({min(max(p, 0.0), length_mm) for p in fixed})
    free = [part for s in stretches for part in _outside(s, forbidden, length_mm)]
    wanted = [(max(0.0, a), min(length_mm, b)) for a, b in windows if b >= 0.0 and a <= length_mm]
    chosen, cost, missed = _solve(length_mm, free, span_mm, wanted, kept, end_mm, step_mm)
    users = set(kept)
    points = tuple(Placed(p, _kind_at(p, free, stretches), p in users) for p in chosen)
    bare, longest = _bare(chosen, length_mm, span_mm, end_mm)
    gaps = tuple(Gap(a, b, most, _brackets(a, b, most, span_mm, length_mm, forbidden)) for a, b, most in bare)
    return Securing(points, gaps, longest, missed, cost)


def part_for(bundle_mm: float, rows: Iterable[Part]) -> Part | None:
    """The smallest tie, clip or saddle that takes the bundle; None when all are too small."""
    fitting = [row for row in rows if row.largest_bundle_mm >= bundle_mm]
    return min(fitting, key=lambda row: row.largest_bundle_mm, default=None)


def _check(
    length_mm: float,
    stretches: Sequence[Stretch],
    span_mm: float,
    fixed: Sequence[float],
    end_mm: tuple[float | None, float | None],
    step_mm: float,
) -> None:
    if not 0.0 <= length_mm < math.inf:
        raise ValueError(f"channel of {length_mm!r} mm; expected a length of 0 or more")
    if not (0.0 < span_mm < math.inf and 0.0 < step_mm < math.inf):
        raise ValueError(f"span {span_mm!r} mm and step {step_mm!r} mm; expected both above 0")
    for s in stretches:
        if not (COST_GRAIN <= s.cost < math.inf) or math.isnan(s.from_mm) or math.isnan(s.to_mm):
            raise ValueError(f"stretch {s.from_mm!r} to {s.to_mm!r} mm of cost {s.cost!r}; expected a cost above 0.001")
    for p in fixed:
        if not -SAME_MM <= p <= length_mm + SAME_MM:
            raise ValueError(f"securing point at {p!r} mm on a channel of {length_mm:g} mm")
    for e in end_mm:
        if e is not None and not e >= 0.0:
            raise ValueError(f"first support within {e!r} mm of the end; expected 0 or more")


def _outside(stretch: Stretch, forbidden: Sequence[tuple[float, float]], length_mm: float) -> list[Stretch]:
    """The parts of a stretch that lie on the channel and in no forbidden interval."""
    parts = [(max(0.0, stretch.from_mm), min(length_mm, stretch.to_mm))]
    for lo, hi in forbidden:
        cut: list[tuple[float, float]] = []
        for a, b in parts:
            if b <= lo or a >= hi or lo >= hi:
                cut.append((a, b))
            else:
                cut += [(a, lo)] if a <= lo else []
                cut += [(hi, b)] if b >= hi else []
        parts = cut
    return [Stretch(a, b, stretch.cost, stretch.kind) for a, b in parts if a <= b]


def _solve(
    length_mm: float,
    free: Sequence[Stretch],
    span_mm: float,
    windows: Sequence[tuple[float, float]],
    kept: Sequence[float],
    end_mm: tuple[float | None, float | None],
    step_mm: float,
) -> tuple[list[float], float, tuple[tuple[float, float], ...]]:
    """(positions, cost, windows without any place for a point)."""
    start_mm, stop_mm = end_mm
    starts = [] if start_mm is None else [(0.0, min(start_mm, length_mm))]
    stops = [] if stop_mm is None else [(max(0.0, length_mm - stop_mm), length_mm)]
    spots = _candidates(length_mm, free, span_mm, [*windows, *starts, *stops], kept, step_mm)
    at = [p for p, _ in spots]
    starts_met, stops_met = all(_any_within(at, w) for w in starts), all(_any_within(at, w) for w in stops)
    met = [w for w in windows if _any_within(at, w)]
    steps = _Steps(spots, length_mm, span_mm)
    for lo, hi in [*met, *((p, p) for p in kept), *(starts if starts_met else []), *(stops if stops_met else [])]:
        steps.must_touch(lo, hi)
    if not starts_met:
        steps.must_touch(0.0, at[0] if at else length_mm)
    if not stops_met:
        steps.must_touch(at[-1] if at else 0.0, length_mm)
    chosen, grains = steps.shortest(any_first=start_mm is not None, any_last=stop_mm is not None)
    return chosen, grains * COST_GRAIN, tuple(sorted({w for w in windows if w not in met}))


def _candidates(
    length_mm: float,
    free: Sequence[Stretch],
    span_mm: float,
    windows: Sequence[tuple[float, float]],
    kept: Sequence[float],
    step_mm: float,
) -> list[tuple[float, int]]:
    """(position, cost in grains) sorted; equal positions merged to the cheapest, fixed ones free of cost."""
    edges = {0.0, *kept} | {e for s in free for e in (s.from_mm, s.to_mm)} | {e for w in windows for e in w}
    step = max(step_mm, length_mm / CANDIDATES)
    wished = edges | {k * step for k in range(int(length_mm / step) + 1)}
    hops = int(length_mm / span_mm)
    if hops * len(edges) <= CANDIDATES:
        wished |= {a + k * span_mm for a in edges for k in range(1, hops + 1)}
    ordered = sorted(wished)
    cost: dict[float, int] = {}
    for s in free:
        grains = round(s.cost / COST_GRAIN)
        for p in ordered[bisect.bisect_left(ordered, s.from_mm) : bisect.bisect_right(ordered, s.to_mm)]:
            cost[p] = min(grains, cost.get(p, grains))
    cost.update(dict.fromkeys(kept, 0))
    fixed = set(kept)
    merged: list[tuple[float, int]] = []
    for p in sorted(cost):
        if merged and p - merged[-1][0] <= SAME_MM and not (p in fixed and merged[-1][0] in fixed):
            if p in fixed or (merged[-1][0] not in fixed and cost[p] < merged[-1][1]):
                merged[-1] = (p, cost[p])
        else:
            merged.append((p, cost[p]))
    return merged


class _Steps:
    """The graph of one channel: node 0 is its start, the last node its end, the candidates lie between.

    A step leads forward over at most the span, or to the very next candidate however far that is, and jumps over
    nothing that must be touched.
    """

    def __init__(self, spots: Sequence[tuple[float, int]], length_mm: float, span_mm: float) -> None:
        self.at = [0.0, *(p for p, _ in spots), length_mm]
        self.price = [0, *(c for _, c in spots), 0]
        self.span_mm = span_mm
        self.limit = [len(self.at) - 1] * len(self.at)  # the last node that a step from here may lead to

    def must_touch(self, from_mm: float, to_mm: float) -> None:
        """Some node of the closed interval, which holds one, has to be chosen."""
        first = bisect.bisect_left(self.at, from_mm - SAME_MM, 1, len(self.at) - 1)
        last = bisect.bisect_right(self.at, to_mm + SAME_MM, 1, len(self.at) - 1) - 1
        if last >= first:
            self.limit[first - 1] = min(self.limit[first - 1], last)

    def shortest(self, *, any_first: bool, any_last: bool) -> tuple[list[float], int]:
        """Positions of the least (cost, sum of squared distances), and the cost. `any_first`: the first step may be
        of any length; `any_last`: so may the last."""
        n = len(self.at)
        limit = self.limit[:]
        for k in range(n - 2, -1, -1):
            limit[k] = min(limit[k], limit[k + 1])
        at = self.at
        total, uneven, came = [0] * n, [0.0] * n, [0] * n
        arrays = _Wide(at) if n > WIDE else None
        lowest = near = 0
        for j in range(1, n):
            while limit[lowest] < j:  # limits only grow from left to right
                lowest += 1
            while at[near] < at[j] - (self.span_mm + SAME_MM):
                near += 1
            lo = lowest if any_last and j == n - 1 else min(max(lowest, near), j - 1)
            if arrays is not None and j - lo > WIDE:
                pick, even = arrays.pick(lo, j)
                best = total[pick]
            else:
                best, even, pick = min(total[lo:j]), math.inf, lo
                for k in range(lo, j):
                    if total[k] == best and (square := uneven[k] + (at[j] - at[k]) * (at[j] - at[k])) < even:
                        even, pick = square, k
            if any_first and lowest == 0 < lo and (0, at[j] ** 2) < (best, even):
                best, even, pick = 0, at[j] ** 2, 0
            total[j], uneven[j], came[j] = best + self.price[j], even, pick
            if arrays is not None:
                arrays.total[j], arrays.uneven[j] = total[j], even
        chosen: list[float] = []
        k = came[n - 1]
        while k > 0:
            chosen.append(self.at[k])
            k = came[k]
        return chosen[::-1], total[n - 1]


class _Wide:
    """The same sums as arrays: where a span holds very many candidates a loop over them would be slow."""

    def __init__(self, at: Sequence[float]) -> None:
        import numpy as np

        self.at = np.array(at)
        self.total = np.zeros(len(at), np.int64)
        self.uneven = np.zeros(len(at))

    def pick(self, lo: int, hi: int) -> tuple[int, float]:
        """The node from which `hi` is reached cheapest, then most evenly, and the evenness."""
        import numpy as np

        step = self.at[hi] - self.at[lo:hi]
        before = self.total[lo:hi]
        squares = np.where(before == before.min(), self.uneven[lo:hi] + step * step, math.inf)
        pick = int(squares.argmin())
        return lo + pick, float(squares[pick])


def _bare(
    chosen: Sequence[float], length_mm: float, span_mm: float, end_mm: tuple[float | None, float | None]
) -> tuple[list[tuple[float, float, float]], float]:
    """(from, to, most that is allowed) of the stretches that are too long, and the longest distance of supports."""
    start_mm, stop_mm = end_mm
    if chosen:
        steps = [(a, b, span_mm) for a, b in zip(chosen, chosen[1:], strict=False)]
        ends = [(0.0, chosen[0], start_mm), (chosen[-1], length_mm, stop_mm)]
        steps += [(a, b, span_mm) for a, b, within in ends if within is None]
        tails = [(a, b, within) for a, b, within in ends if within is not None]
    else:
        steps = [(0.0, length_mm, min(span_mm, *(math.inf if e is None else e for e in end_mm)))]
        tails = []
    bare = sorted(s for s in (*steps, *tails) if s[1] - s[0] > s[2] + SAME_MM)
    return bare, max((b - a for a, b, _ in steps), default=0.0)


def _brackets(
    from_mm: float,
    to_mm: float,
    most_mm: float,
    span_mm: float,
    length_mm: float,
    forbidden: Sequence[tuple[float, float]],
) -> tuple[float, ...]:
    """Where brackets would close a bare stretch: as few as can be, none where nothing may be fixed."""
    width = to_mm - from_mm
    moved = [(a - from_mm, b - from_mm) for a, b in forbidden]
    tail = most_mm < span_mm
    ends = (most_mm if tail and from_mm <= 0.0 else None, most_mm if tail and to_mm >= length_mm else None)
    # The points at either end of the stretch are there already.
    lo = -SAME_MM if ends[0] is not None else SAME_MM
    hi = width + SAME_MM if ends[1] is not None else width - SAME_MM
    room = _outside(Stretch(max(0.0, lo), min(width, hi), 1.0, ""), moved, width)
    chosen, _, _ = _solve(width, room, span_mm, (), (), ends, max(width / 8.0, 1.0))
    return tuple(from_mm + p for p in chosen)


def _any_within(positions: Sequence[float], window: tuple[float, float]) -> bool:
    k = bisect.bisect_left(positions, window[0] - SAME_MM)
    return k < len(positions) and positions[k] <= window[1] + SAME_MM


def _kind_at(position_mm: float, free: Sequence[Stretch], stretches: Sequence[Stretch]) -> str:
    """What holds there: the cheapest stretch; a point of the user's may lie where none is free, or on no stretch."""
    for rows in (free, stretches):
        here = [s for s in rows if s.from_mm - SAME_MM <= position_mm <= s.to_mm + SAME_MM]
        if here:
            return min(here, key=lambda s: s.cost).kind
    return ""
