"""Growing conductors until every drop holds, with little copper.

Drop is linear in the resistance of each item (an item is one conductor, or several that get one section):
``drop = constant + sum(weight_am[item] * r_ohm_per_m[row of item])`` with the weight in ampere metres.
"""

from heapq import heapify, heappop, heappush

import msgspec

#: Drops are compared with this slack, far below anything a meter shows, so that rounding never buys copper.
_EPSILON_V = 1e-9


class Item(msgspec.Struct, frozen=True):
    """What grows as one. `length_mm` is the sum of its conductors; columns as in `SizeTable`."""

    length_mm: float
    sections_mm2: tuple[float, ...]
    r_ohm_per_m: tuple[float, ...]


class Series(msgspec.Struct, frozen=True):
    """A path: volts that nothing changes, ampere metres by item, the limit."""

    constant_v: float
    weight_am: dict[int, float]
    limit_v: float

    def drop_v(self, items: tuple[Item, ...], rows: list[int]) -> float:
        """The drop with each item at its row."""
        return self.constant_v + sum(w * items[i].r_ohm_per_m[rows[i]] for i, w in self.weight_am.items())

    def holds(self, items: tuple[Item, ...], rows: list[int]) -> bool:
        return self.drop_v(items, rows) <= self.limit_v + _EPSILON_V

    def best_v(self, items: tuple[Item, ...]) -> float:
        """The least drop that the tables allow."""
        return self.constant_v + sum(w * items[i].r_ohm_per_m[-1] for i, w in self.weight_am.items())


def grow(items: tuple[Item, ...], paths: tuple[Series, ...], start: list[int]) -> list[int]:
    """Rows, none below `start`, with which every path that can hold does hold. Pure and deterministic.

    Each step grows the item that takes most volts off the paths that do not hold per copper volume added; ties go to
    the first. Each item takes at most one step per row of its table. At the end items are taken back, most copper
    first, as far as every path still holds, so no single row above `start` can be lowered. Paths that no choice of
    rows can satisfy grow nothing.
    """
    rows = list(start)
    reachable = [path for path in paths if path.best_v(items) <= path.limit_v + _EPSILON_V]
    on_item: dict[int, list[int]] = {}
    for p, path in enumerate(reachable):
        for item, weight in path.weight_am.items():
            if weight > 0:
                on_item.setdefault(item, []).append(p)
    failing = {p for p, path in enumerate(reachable) if not path.holds(items, rows)}

    def pull_am(item: int) -> float:
        return sum(reachable[p].weight_am[item] for p in on_item[item] if p in failing)

    pulls = {item: pull_am(item) for item in sorted(on_item)}

    def entry(item: int) -> tuple[float, int, int, float]:
        row, it = rows[item], items[item]
        saved_v = pulls[item] * (it.r_ohm_per_m[row] - it.r_ohm_per_m[row + 1])
        copper = it.length_mm * (it.sections_mm2[row + 1] - it.sections_mm2[row])
        return (-saved_v / copper if copper > 0 else float("-inf"), item, row, pulls[item])

    def can_grow(item: int) -> bool:
        return pulls[item] > 0 and rows[item] + 1 < len(items[item].sections_mm2)

    heap = [entry(item) for item in pulls if can_grow(item)]
    heapify(heap)
    while failing:
        _, item, row, pull = heappop(heap)
        if (row, pull) != (rows[item], pulls[item]):
            continue  # an older entry of this item
        rows[item] += 1
        mended = [p for p in on_item[item] if p in failing and reachable[p].holds(items, rows)]
        failing.difference_update(mended)
        # Only the pulls of items on paths that hold now have changed.
        changed = {i for p in mended for i, weight in reachable[p].weight_am.items() if weight > 0} | {item}
        for i in sorted(changed):
            pulls[i] = pull_am(i)
            if can_grow(i):
                heappush(heap, entry(i))
    _take_back(items, reachable, on_item, start, rows)
    return rows


def _take_back(
    items: tuple[Item, ...], paths: list[Series], on_item: dict[int, list[int]], start: list[int], rows: list[int]
) -> None:
    """Lower rows as far as every path holds. Lowering one only uses up what another could have, so one pass does."""

    def copper(item: int) -> float:
        it = items[item]
        return it.length_mm * (it.sections_mm2[rows[item]] - it.sections_mm2[start[item]])

    grown = [item for item in on_item if rows[item] > start[item]]
    for item in sorted(grown, key=lambda i: (-copper(i), i)):
        while rows[item] > start[item]:
            rows[item] -= 1
            if not all(paths[p].holds(items, rows) for p in on_item[item]):
                rows[item] += 1
                break
