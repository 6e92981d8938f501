"""Smallest circle around given circles: the cross-section of a bundle.

No formula gives the smallest enclosing circle of more than three unlike circles; the best known values for many cases
come from long computer searches. `pack` searches briefly and always answers with a layout that is really possible, so
its diameter is an upper bound of the optimum; `lower_bound_mm` is a bound from below.

Measured by tests/bench/bench_packing.py, diameter above the best known. 4 to 61 equal circles (E. Specht's table):
quick 1.0 % on average and 3.9 % at worst, refined 0.2 % and 1.2 %. Radii 1 to n for n up to 32: refined 0.9 % and
2.8 %. 78 mixed sets of 8 to 40 wires against searches about 80 times longer: refined 0.4 % and 2.6 %, 7 of them more
than 1 %; quick 2.8 % and 7.6 %; against the best that many searches found, 0.7 % and 2.4 %, 20 more than 1 %. One takes
1 to 4 ms quick and 10 to 15 ms refined where the search is compiled (`packing_speed`), and the same answer seven times
as long where it is not. Above 150 circles the wires take 75 to 80 % of the area quick and 82 to 84 % refined; an
endless search may reach about 85 %.
"""

import math
import threading
from collections import OrderedDict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    # numpy is imported with the first bundle of more than three wires: the window does not wait for it
    from core.geometry.packing_search import Effort

Quality = Literal["quick", "refined"]

MAX_CIRCLES = 20_000
CACHE_ENTRIES = 4096
CACHE_CIRCLES = 1_000_000  # centres kept in all, so that a few huge bundles cannot fill the memory
GRAIN = 1e-8  # radii are told apart to this part of the largest
BATCH_CIRCLES = 8_000  # circles that are relaxed side by side
PLAIN_S_PER_CIRCLE = 0.003  # about what a refined layout takes uncompiled
DENSE_UP_TO = 150  # circles; above, the search is shorter


@dataclass(frozen=True, slots=True)
class Packing:
    """Circles laid in a circle about (0, 0). `centres_mm[k]` belongs to the k-th diameter given; +x right, +y up."""

    diameter_mm: float
    centres_mm: tuple[tuple[float, float], ...]


def pack(diameters_mm: Sequence[float], quality: Quality = "quick") -> Packing:
    """Smallest enclosing circle found for circles of these diameters, and where each lies in it.

    The diameter depends only on the set of diameters, not on their order, and scales with them; the same question
    always gets the same answer, and `refined` is never worse than `quick`. Up to three circles the answer is exact.
    The search is shorter for many circles; the module's text states the quality. Raises ValueError for a diameter
    that is not a positive finite number or more than 20,000 circles.
    """
    return pack_all([diameters_mm], quality)[0]


def pack_all(sets_mm: Sequence[Sequence[float]], quality: Quality = "quick") -> list[Packing]:
    """What `pack` answers for each set of diameters, in a fraction of the time: what is new is searched side by side.

    Raises ValueError as `pack` does.
    """
    if quality not in ("quick", "refined"):
        raise ValueError(f"packing quality must be quick or refined, not {quality!r}")
    checked = [_checked(diameters_mm) for diameters_mm in sets_mm]
    orders = [sorted(range(len(given)), key=lambda k, given=given: -given[k]) for given in checked]  # type: ignore[misc]
    # Rounded up (but for noise of the division), so that a layout for the rounded radii holds the true ones.
    keys = [
        tuple(math.ceil(given[k] / given[order[0]] / GRAIN - 1e-3) for k in order) if len(given) > 3 else ()
        for given, order in zip(checked, orders, strict=True)
    ]
    layouts = _packed([key for key in keys if key], quality)
    packings = []
    for given, order, key in zip(checked, orders, keys, strict=True):
        if not given:
            packings.append(Packing(0.0, ()))
            continue
        largest_mm = given[order[0]]
        radius, at = layouts[key] if key else _few([given[k] / largest_mm for k in order])
        scale_mm = 0.5 * largest_mm
        centres: list[tuple[float, float]] = [(0.0, 0.0)] * len(given)
        for place, k in enumerate(order):
            centres[k] = (at[place][0] * scale_mm, at[place][1] * scale_mm)
        packings.append(Packing(radius * largest_mm, tuple(centres)))
    return packings


def lower_bound_mm(diameters_mm: Sequence[float]) -> float:
    """A diameter that no layout of these circles can get below.

    Largest of: the two largest side by side; the circle of the same area; Groemer's bound for points at least 1 apart
    in a convex figure, count <= 2 A / sqrt(3) + P / 2 + 1 (H. Groemer, Math. Z. 73, 1960, from memory), applied to the
    k largest circles, each cut down to the k-th. Raises ValueError as `pack` does.
    """
    import numpy as np

    d = np.sort(np.array(_checked(diameters_mm)))[::-1]
    if len(d) == 0:
        return 0.0
    if len(d) == 1:
        return float(d[0])
    scaled = d / d[0]
    count = np.arange(1, len(d) + 1)
    a = 2.0 * math.pi / math.sqrt(3.0)
    rho = (-math.pi + np.sqrt(math.pi**2 + 4.0 * a * (count - 1.0))) / (2.0 * a)
    groemer = float(np.max((2.0 * rho + 1.0) * scaled))
    area = math.sqrt(float(np.sum(scaled * scaled)))
    return float(d[0]) * max(1.0 + float(scaled[1]), area, groemer)


def _checked(diameters_mm: Sequence[float]) -> list[float]:
    given = [float(d) for d in diameters_mm]
    for place, d in enumerate(given):
        if not math.isfinite(d) or d <= 0.0:
            raise ValueError(f"diameter number {place + 1} is {d!r} mm; expected a number above 0")
    if len(given) > MAX_CIRCLES:
        raise ValueError(f"{len(given)} circles in one bundle; at most {MAX_CIRCLES} can be laid out")
    return given


_Key = tuple[int, ...]  # radii from the largest down, in grains of it
_Layout = tuple[float, tuple[tuple[float, float], ...]]  # radius and centres for the largest radius 1

_lock = threading.Lock()
_cache: OrderedDict[tuple[str, _Key], _Layout] = OrderedDict()
_cached_circles = 0


def _packed(keys: Iterable[_Key], quality: Quality) -> dict[_Key, _Layout]:
    global _cached_circles
    found: dict[_Key, _Layout] = {}
    missing: list[_Key] = []
    with _lock:
        for key in dict.fromkeys(keys):
            layout = _cache.get((quality, key))
            if layout is None:
                missing.append(key)
            else:
                _cache.move_to_end((quality, key))
                found[key] = layout
    if not missing:
        return found
    made = _laid_out(missing, quality)  # outside the lock: two threads may both work, and get the same answer
    with _lock:
        for key, layout in made.items():
            if (quality, key) not in _cache:
                _cache[quality, key] = layout
                _cached_circles += len(key)
        while len(_cache) > CACHE_ENTRIES or (_cached_circles > CACHE_CIRCLES and len(_cache) > 1):
            (_, old), _ = _cache.popitem(last=False)
            _cached_circles -= len(old)
    return found | made


def _laid_out(keys: Sequence[_Key], quality: Quality) -> dict[_Key, _Layout]:
    """Bundles that get the same effort are searched side by side, as many as fit the cache of the processor."""
    import numpy as np

    from core.geometry.packing_search import search
    from core.geometry.packing_speed import engine, load_if_worth

    if quality == "refined":
        load_if_worth(PLAIN_S_PER_CIRCLE * sum(len(key) for key in keys))
    known = _packed(keys, "quick") if quality == "refined" else {}
    made: dict[_Key, _Layout] = {}
    for effort, alike in groupby(sorted(keys, key=len), key=lambda key: _effort(key, quality)):
        for batch in _batches(alike, effort.layouts):
            radii = [np.array(key, dtype=np.float64) / key[0] for key in batch]
            starts = [np.array(known[key][1]).T for key in batch] if known else None
            for key, (radius, at) in zip(batch, search(radii, effort, engine(), starts), strict=True):
                made[key] = radius, tuple(zip(at[0].tolist(), at[1].tolist(), strict=True))
    return made


def _batches(keys: Iterable[_Key], layouts: int) -> Iterator[list[_Key]]:
    batch: list[_Key] = []
    circles = 0
    for key in keys:
        if batch and circles + len(key) * layouts > BATCH_CIRCLES:
            yield batch
            batch, circles = [], 0
        batch.append(key)
        circles += len(key) * layouts
    if batch:
        yield batch


def _effort(key: _Key, quality: Quality) -> "Effort":
    from core.geometry.packing_search import TURNS, Effort

    n = len(key)
    equal = key[-1] > 0.999 * key[0]
    if n > DENSE_UP_TO:
        steps = 120 if n <= 1000 else 60
        if quality == "quick":
            return Effort(2, steps, 1, 0, 0, 0, 0, 0, 1, 60)
        return Effort(6 if n <= 1000 else 3, 2 * steps, 3, 8 if n <= 500 else 0, 4, 2, 20, 60, 2, 200)
    if quality == "quick":
        if n <= 12:
            return Effort(6, 50, 4, 7, 2, 2, 6, 20, 3, 70)
        if n <= 40:
            return Effort(10, 60, 3, 5, 0, 3, 8, 30, 2, 80)
        if n <= 60:
            return Effort(6, 50, 3, 3, 0, 2, 6, 20, 2, 70)
        return Effort(2, 60, 2, 0 if equal else 1, 0, 2, 6, 20, 1, 60)
    # As many rounds as some ten milliseconds hold, compiled. Equal circles have layouts that lead nowhere near the best
    # one, so many different ones are kept; unlike ones gain more from more rounds, and have their exchanges weighed
    # before they are made: no need to sift children as well.
    if equal:
        rounds = max(4, min(TURNS, 700 // n))
        return Effort(12, 60, 8, rounds, rounds * 3 // 4, 2, 8, 25, 4, 200)
    rounds = max(8, 2800 // n)
    return Effort(12, 60, 5, rounds, rounds // 2, 1, 0, 26, 3, 200)


def _few(r: list[float]) -> _Layout:
    """Exact for one to three circles, largest first (Descartes' circle theorem for three that touch each other)."""
    if len(r) == 1:
        return r[0], ((0.0, 0.0),)
    a, b = r[0], r[1]
    around = a + b
    pair = ((-b, 0.0), (a, 0.0))
    if len(r) == 2:
        return around, pair
    c = r[2]
    # The gap beside two circles that fill the container holds a third one of curvature 1/a + 1/b - 1/(a + b).
    if c * (1.0 / a + 1.0 / b - 1.0 / around) > 1.0:
        curvature = 1.0 / a + 1.0 / b + 1.0 / c - 2.0 * math.sqrt(1.0 / (a * b) + 1.0 / (b * c) + 1.0 / (c * a))
        around = -1.0 / curvature
    # Centre of the container at the origin, a to its left; each centre lies around - r from it, touching a and b.
    out_a, out_b, out_c = around - a, around - b, around - c
    turn_b = _turn(out_a, out_b, a + b)
    turn_c = _turn(out_a, out_c, a + c)
    return around, (
        (-out_a, 0.0),
        (-out_b * math.cos(turn_b), -out_b * math.sin(turn_b)),
        (-out_c * math.cos(turn_c), out_c * math.sin(turn_c)),
    )


def _turn(p: float, q: float, opposite: float) -> float:
    """Angle between sides p and q of a triangle."""
    return math.acos(max(-1.0, min(1.0, (p * p + q * q - opposite * opposite) / (2.0 * p * q))))
