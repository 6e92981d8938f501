"""Growing conductors until every drop holds, with little copper.

Drop is linear in the resistance of each item (an item is one conductor, or several that get one section):
``drop = constant + sum(weight_am[item] * r_ohm_per_m[row of item])`` with the weight in ampere metres.
"""

from heapq import heapify, heappop, heappush

import msgspec

#: Drops are compared with this slack, far below anything a meter shows, so that rounding never buys copper.
_EPSILON_V = 1e-9
#: An exchange has to save more copper than rounding makes, mm3.
_EPSILON_COPPER = 1e-3
_EXCHANGE_ROUNDS = 4


class Item(msgspec.Struct, frozen=True):
    """What grows as one. `length_mm` is the sum of its conductors; columns as in `SizeTable`."""

    length_mm: float
    sections_mm2: tuple[float, ...]
    r_ohm_per_m: tuple[float, ...]

    def copper(self, row: int) -> float:
        """Copper volume in mm3 in that row."""
        return self.length_mm * self.sections_mm2[row]


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
    the first. Each item takes at most one step per row of its table. Then items are taken back, most copper first,
    as far as every path still holds, so no single row above `start` can be lowered; and one item is exchanged for
    others where that saves copper (rows up, others back down): with two items in series that ends at the least copper
    there is. Paths that no choice of rows can satisfy grow nothing.
    """
    growth = _Growth(items, [path for path in paths if path.best_v(items) <= path.limit_v + _EPSILON_V], start)
    growth.grow()
    growth.take_back(growth.grown())
    growth.exchange()
    return growth.rows


class _Growth:
    """The rows of one problem while they are looked for."""

    def __init__(self, items: tuple[Item, ...], paths: list[Series], start: list[int]) -> None:
        self.items, self.paths, self.start = items, paths, start
        self.rows = list(start)
        #: The paths an item lies on with any current, by item.
        self.on_item: dict[int, list[int]] = {}
        for p, path in enumerate(paths):
            for item, weight in path.weight_am.items():
                if weight > 0:
                    self.on_item.setdefault(item, []).append(p)

    def holds(self, path: int) -> bool:
        return self.paths[path].holds(self.items, self.rows)

    def grown(self) -> set[int]:
        return {item for item in self.on_item if self.rows[item] > self.start[item]}

    def copper_above_start(self, item: int) -> float:
        return self.items[item].copper(self.rows[item]) - self.items[item].copper(self.start[item])

    def grow(self) -> None:
        rows = self.rows
        failing = {p for p in range(len(self.paths)) if not self.holds(p)}

        def pull_am(item: int) -> float:
            return sum(self.paths[p].weight_am[item] for p in self.on_item[item] if p in failing)

        pulls = {item: pull_am(item) for item in sorted(self.on_item)}

        def can_grow(item: int) -> bool:
            return pulls[item] > 0 and rows[item] + 1 < len(self.items[item].sections_mm2)

        def entry(item: int) -> tuple[float, int, int, float]:
            row, it = rows[item], self.items[item]
            saved_v = pulls[item] * (it.r_ohm_per_m[row] - it.r_ohm_per_m[row + 1])
            return (-saved_v / (it.copper(row + 1) - it.copper(row)), item, row, pulls[item])

        heap = [entry(item) for item in pulls if can_grow(item)]
        heapify(heap)
        while failing:
            _, item, row, pull = heappop(heap)
            if (row, pull) != (rows[item], pulls[item]):
                continue  # an older entry of this item
            rows[item] += 1
            mended = [p for p in self.on_item[item] if p in failing and self.holds(p)]
            failing.difference_update(mended)
            # Only the pulls of items on paths that hold now have changed.
            changed = {i for p in mended for i, weight in self.paths[p].weight_am.items() if weight > 0} | {item}
            for i in sorted(changed):
                pulls[i] = pull_am(i)
                if can_grow(i):
                    heappush(heap, entry(i))

    def take_back(self, which: set[int]) -> None:
        """Lower rows as far as every path holds. Lowering one only uses up what another could have: one pass does."""
        for item in sorted(which, key=lambda i: (-self.copper_above_start(i), i)):
            while self.rows[item] > self.start[item]:
                self.rows[item] -= 1
                if not all(self.holds(p) for p in self.on_item[item]):
                    self.rows[item] += 1
                    break

    def exchange(self) -> None:
        """Rows up for one item, others on its paths back down, as long as that saves copper."""
        for _ in range(_EXCHANGE_ROUNDS):
            saved = False
            barriers: dict[int, list[int]] = {}
            for item in sorted(self.on_item):
                own_paths = set(self.on_item[item])
                beside = {i for p in own_paths for i in self.paths[p].weight_am if i in self.on_item} - {item}
                near = set()
                for other in beside:
                    if self.rows[other] > self.start[other]:
                        if other not in barriers:
                            barriers[other] = self.barriers(other)
                        if own_paths.issuperset(barriers[other]):
                            near.add(other)
                if near and self.raise_for(item, near):
                    saved = True
                    barriers.clear()
            if not saved:
                return
            self.take_back(self.grown())

    def barriers(self, item: int) -> list[int]:
        """The paths that keep a grown item from coming down a row."""
        self.rows[item] -= 1
        paths = [p for p in self.on_item[item] if not self.holds(p)]
        self.rows[item] += 1
        return paths

    def raise_for(self, item: int, near: set[int]) -> bool:
        """Raise the item to the first higher row at which its neighbours give back more copper than that costs."""
        it, row = self.items[item], self.rows[item]
        before = {i: self.rows[i] for i in near}
        could_save = sum(self.copper_above_start(i) for i in sorted(near))
        for higher in range(row + 1, len(it.sections_mm2)):
            cost = it.copper(higher) - it.copper(row)
            if cost >= could_save - _EPSILON_COPPER:
                break
            self.rows[item] = higher
            self.take_back(near)
            saving = sum(self.items[i].copper(old) - self.items[i].copper(self.rows[i]) for i, old in before.items())
            if saving > cost + _EPSILON_COPPER:
                return True
            self.rows[item] = row
            for i, old in before.items():
                self.rows[i] = old
        return False
