"""Search for small circles that hold given circles: many trial layouts, of one bundle or of many, relaxed side by side.

The circles are soft discs inside a round container that a constant pressure closes. A layout at rest under pressure is
a local optimum of the hard problem but for a small overlap, so the search works at high pressure (a smooth landscape,
quick to relax) and only the best layouts are hardened at the end, where the overlaps are driven to zero by moving each
contact's rest distance (the method of multipliers: Hestenes 1969, Powell 1969). A round of the search disturbs copies
of each good layout, relaxes all of them a little, and only the most promising of its copies on. The disturbance that
counts exchanges two circles of unlike size; of some drawn by chance that one is made which the strain in the layout
says will pay.

What takes the time is two functions, `relax` and `rounds`: in numpy for all layouts in lockstep (`packing_plain`) and
compiled, layout by layout (`packing_kernel`). Both do the same sums in the same order, so an answer has the same bits
from either. All sums run within one layout, so it does not depend on what is searched beside it either.

Everything here is in units of the largest radius and works on radii sorted from the largest down. Random numbers come
from numpy's legacy generator, whose stream never changes, so an answer depends on the radii alone.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Protocol

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

GOLDEN_ANGLE_RAD = math.pi * (3.0 - math.sqrt(5.0))
PRESSURE = 0.08
HARDENING_PRESSURE = 0.1
TURNS, CHILDREN = 64, 32  # most rounds without a repeat, most children a bundle
SKIN = 0.3  # pairs this far from touching are watched until the next renewal
RENEW_EVERY = 20
SPOTS = 60  # places tried for a circle that is thrown into a hole
SWAPS = 20  # exchanges weighed, of which the most promising is tried
SWELLING = 0.7  # what a change of size costs beside the strain, by its square; the best of those tried
# While no contact opens or closes, the radius lacks twice the energy over the pressure of the hard one. All of that
# foretells the hard radius best; with half of it the score is what the descent makes least, which an early end of it
# hardly changes. Three quarters found the best answers.
HARDENS_BY = 0.75
SAME_SIZE = 0.8  # smallest over largest radius from which a hexagonal start is worth a trial
SEED = 20241


@dataclass(frozen=True)
class Effort:
    """How long to search. Counts, never seconds: the answer must not depend on the machine."""

    starts: int
    start_steps: int
    kept: int  # best layouts that go through the rounds
    rounds: int  # of moves
    apart: int  # of the rounds, the first: layouts only follow their own kind, so that they stay unlike
    children: int  # disturbed copies of each layout a round
    sift_steps: int  # of all of them; 0 with a single child
    round_steps: int  # more of the best child of each layout
    harden: int  # layouts driven to zero overlap at the end, at most those kept
    harden_steps: int

    def __post_init__(self) -> None:
        # The compiled loops do not look where their tables end.
        if self.kept * self.children > CHILDREN or not 0 < self.harden <= self.kept:
            raise ValueError(f"{self}: at most {CHILDREN} children a bundle, and no more hardened than kept")

    @property
    def layouts(self) -> int:
        """The most layouts of one bundle that are relaxed at a time."""
        return max(self.starts + 1, self.kept * self.children)


class Engine(Protocol):
    """The two functions that take the time; layout k is the circles `first[k]` on, `sizes[k]` of them."""

    def relax(
        self,
        at: Floats,
        r: Floats,
        first: Ints,
        sizes: Ints,
        radius: Floats,
        pressure: Floats,
        steps: int,
        harden: int,
        /,
    ) -> tuple[Floats, Floats]:
        """Descends for `steps`, moving `at` (2, all) in place. Answers (radius, score) by layout: of the container at
        the end, and the radius that the layout promises once hard. With `harden` above 0, every so many steps the
        contacts' rest distances grow by their overlap, which drives the overlaps to zero without raising the
        stiffness."""

    def rounds(
        self,
        at: Floats,
        r: Floats,
        first: Ints,
        sizes: Ints,
        radius: Floats,
        score: Floats,
        pressure: Floats,
        effort: Effort,
        /,
    ) -> None:
        """The rounds of moves on layouts that `effort.kept` a bundle stand one after the other, all in place. What is
        left to chance is in `chances`: row c of a turn is for the child c of a bundle, whose parent is c mod kept."""


class Stack:
    """`each` layouts of every bundle, one after the other in flat arrays."""

    def __init__(self, bundles: Sequence[Floats], each: int):
        self.each, self.bundles = each, len(bundles)
        self.sizes: Ints = np.repeat(np.array([len(r) for r in bundles], dtype=np.int64), each)
        ends = np.cumsum(self.sizes)
        self.first: Ints = ends - self.sizes
        self.owner: Ints = np.repeat(np.arange(len(self.sizes)), self.sizes)
        self.r: Floats = np.concatenate([np.tile(r, each) for r in bundles])
        self.places: Ints = np.arange(len(self.r)) - np.repeat(self.first, self.sizes)
        self.pressure: Floats = PRESSURE * np.sqrt(self.sizes.astype(np.float64))

    def reach(self, at: Floats) -> Floats:
        """Radius about the origin that holds each layout."""
        reach: Floats = np.maximum.reduceat(np.sqrt(at[0] * at[0] + at[1] * at[1]) + self.r, self.first)
        return reach

    def gathered(self, at: Floats, first: Ints) -> Floats:
        """The layouts of this stack, copied from `at`, where they begin at `first`."""
        taken: Floats = np.take(at, np.repeat(first, self.sizes) + self.places, axis=1)
        return taken


@dataclass
class Found:
    """Layouts of a stack with what they came to; radius and score by bundle and layout."""

    stack: Stack
    at: Floats
    radius: Floats
    score: Floats

    def first(self) -> Ints:
        return self.stack.first.reshape(self.score.shape)


def search(
    bundles: Sequence[Floats], effort: Effort, engine: Engine, known: Sequence[Floats] | None = None
) -> list[tuple[float, Floats]]:
    """(radius, centres of shape (2, n)) of the best layout found for each set of radii, largest first, largest 1.

    `known` are layouts without overlap to start from as well, one a bundle; the answers are never worse.
    """
    starts = _starts(bundles, effort.starts)
    if known is not None:
        starts = [np.concatenate((at, k[:, None, :]), axis=1) for at, k in zip(starts, known, strict=True)]
    stack = Stack(bundles, effort.starts + (known is not None))
    at = np.concatenate([rows.reshape(2, -1) for rows in starts], axis=1)
    kept = Stack(bundles, effort.kept)
    pool = best([relaxed(engine, stack, at, stack.reach(at), effort.start_steps)], kept)
    if effort.rounds:
        radius, score = pool.radius.ravel(), pool.score.ravel()
        engine.rounds(pool.at, kept.r, kept.first, kept.sizes, radius, score, kept.pressure, effort)
        pool = best([Found(kept, pool.at, radius.reshape(-1, effort.kept), score.reshape(-1, effort.kept))], kept)
    last = Stack(bundles, effort.harden)
    at = last.gathered(pool.at, pool.first()[:, : effort.harden].ravel())
    radius = np.ascontiguousarray(pool.radius[:, : effort.harden]).ravel()
    every = max(20, effort.harden_steps // 10)
    engine.relax(
        at, last.r, last.first, last.sizes, radius, np.full(len(radius), HARDENING_PRESSURE), effort.harden_steps, every
    )
    return _answers(bundles, last, at, known)


def _answers(
    bundles: Sequence[Floats], stack: Stack, at: Floats, known: Sequence[Floats] | None
) -> list[tuple[float, Floats]]:
    """The best hardened layout of each bundle, blown up by the little that it takes until nothing overlaps."""
    i, j = near_pairs(at, stack.r, stack.owner, 0.0)
    dx, dy = at[0, i] - at[0, j], at[1, i] - at[1, j]
    factor = np.ones(len(stack.sizes))
    np.maximum.at(factor, stack.owner[i], (stack.r[i] + stack.r[j]) / (np.sqrt(dx * dx + dy * dy) + 1e-300))
    at = at * factor[stack.owner]
    radii = stack.reach(at).reshape(stack.bundles, stack.each)
    answers = []
    for b, r in enumerate(bundles):
        k = int(np.argmin(radii[b]))
        first = stack.first[b * stack.each + k]
        answer = float(radii[b, k]), at[:, first : first + len(r)]
        if known is not None:
            there = known[b]
            known_radius = float(np.max(np.sqrt(there[0] * there[0] + there[1] * there[1]) + r))
            answer = min(answer, (known_radius, there), key=lambda a: a[0])
        answers.append(answer)
    return answers


def near_pairs(at: Floats, r: Floats, owner: Ints, skin: float) -> tuple[Ints, Ints]:
    """Circles of one layout closer than touching plus `skin`, by first and second circle. A sweep along x."""
    order = np.lexsort((at[0], owner))
    (x, y), sorted_r, sorted_owner = at[:, order], r[order], owner[order]
    window = 2.0 * float(r.max()) + skin
    first: list[Ints] = []
    second: list[Ints] = []
    here = np.arange(len(order) - 1)
    for gap in range(1, len(order)):
        # Whoever is out of reach at this gap is so at every wider one.
        here = here[: np.searchsorted(here, len(order) - gap)]
        here = here[(x[here + gap] - x[here] < window) & (sorted_owner[here + gap] == sorted_owner[here])]
        if not len(here):
            break
        there = here + gap
        dx, dy, reach = x[there] - x[here], y[there] - y[here], sorted_r[there] + sorted_r[here] + skin
        hit = np.nonzero(dx * dx + dy * dy < reach * reach)[0]
        first.append(order[here[hit]])
        second.append(order[there[hit]])
    if not first:
        return np.zeros(0, np.int64), np.zeros(0, np.int64)
    one, other = np.concatenate(first), np.concatenate(second)
    keys = np.sort(np.minimum(one, other) * len(r) + np.maximum(one, other))
    return keys // len(r), keys % len(r)


def relaxed(engine: Engine, stack: Stack, at: Floats, radius: Floats, steps: int) -> Found:
    # The wall carries the pressure on about sqrt(n) contacts: that share keeps the softness of each contact the same.
    radius, score = engine.relax(at, stack.r, stack.first, stack.sizes, radius, stack.pressure, steps, 0)
    shape = stack.bundles, stack.each
    return Found(stack, at, radius.reshape(shape), score.reshape(shape))


def best(found: Sequence[Found], stack: Stack) -> Found:
    """The best layouts of each bundle, as many as the stack has. Equal scores are the same layout turned or mirrored
    and would only repeat each other: they come last."""
    score = np.concatenate([f.score for f in found], axis=1)
    radius = np.concatenate([f.radius for f in found], axis=1)
    lengths = [f.at.shape[1] for f in found]
    begins = [sum(lengths[:k]) for k in range(len(found))]
    first = np.concatenate([f.first() + begin for f, begin in zip(found, begins, strict=True)], axis=1)
    order = np.argsort(score, axis=1, kind="stable")
    ranked = np.take_along_axis(score, order, axis=1)
    again = np.zeros(ranked.shape, dtype=bool)
    again[:, 1:] = ranked[:, 1:] - ranked[:, :-1] <= 1e-5 * ranked[:, :-1]
    chosen = np.take_along_axis(order, np.argsort(again, axis=1, kind="stable"), axis=1)
    while chosen.shape[1] < stack.each:  # fewer layouts than are to be kept
        chosen = np.concatenate((chosen, chosen), axis=1)
    chosen = chosen[:, : stack.each]
    at = found[0].at if len(found) == 1 else np.concatenate([f.at for f in found], axis=1)
    return Found(
        stack,
        stack.gathered(at, np.take_along_axis(first, chosen, axis=1).ravel()),
        np.take_along_axis(radius, chosen, axis=1),
        np.take_along_axis(score, chosen, axis=1),
    )


@lru_cache(maxsize=1)
def chances() -> tuple[Floats, Floats]:
    """What the rounds leave to chance, the same for every bundle and again from the start after TURNS rounds: `picks`
    (TURNS, CHILDREN, 2 + 2 SWAPS), numbers from 0 to 1, and `spots` (TURNS, CHILDREN, 2, SPOTS, 2) in the circle of
    radius 1."""
    rng = np.random.RandomState(SEED)
    picks = rng.random_sample((TURNS, CHILDREN, 2 + 2 * SWAPS))
    out = np.sqrt(rng.random_sample((TURNS, CHILDREN, 2, SPOTS)))
    angle = 2.0 * math.pi * rng.random_sample((TURNS, CHILDREN, 2, SPOTS))
    # Rounded, because the last bit of a sine differs between machines and the search would drift apart.
    return picks, np.round(np.stack((out * np.cos(angle), out * np.sin(angle)), axis=-1), 6)


@lru_cache(maxsize=64)
def _scatter(k: int, count: int) -> Floats:
    """Four rows of random numbers for start k; those of a shorter row are the first of a longer one."""
    return np.stack([np.random.RandomState(SEED + 1000 * (row + 1) + k).random_sample(count) for row in range(4)])


@lru_cache(maxsize=64)
def _sunflower(k: int, count: int) -> Floats:
    angle = np.arange(count) * GOLDEN_ANGLE_RAD + k
    return np.round(np.stack((np.cos(angle), np.sin(angle))), 9)


@lru_cache(maxsize=512)
def _patch(count: int, k: int) -> Floats:
    """Points about 1 apart: the `count` of a hexagonal lattice that are nearest one of six centres, or rings about one
    point or about three, since many best layouts of equal circles are rings (all of 7, 19, 37 and 61, curved)."""
    k %= 8
    if k >= 6:
        ring, in_it, points = (0.0, 1, 0) if k == 6 else (math.sqrt(1.0 / 3.0), 3, 0)
        rows: list[Floats] = []
        while points < count:
            there = min(in_it, count - points)
            angle = 2.0 * math.pi * np.arange(there) / there
            rows.append(ring * np.stack((np.cos(angle), np.sin(angle))))
            points += there
            ring, in_it = ring + 0.95, in_it + (5 if in_it == 1 else 6)
        return np.concatenate(rows, axis=1).round(6)
    off_x, off_y = (
        (0.0, 0.0), (0.5, 0.0), (0.5, math.sqrt(3.0) / 6.0), (0.25, 0.1), (0.25, 0.3), (0.5, 0.15),
    )[k]  # fmt: skip
    reach = int(math.sqrt(count)) + 4
    a, b = np.meshgrid(np.arange(-reach, reach + 1), np.arange(-reach, reach + 1))
    x, y = (a + 0.5 * b - off_x).ravel(), (b * math.sqrt(0.75) - off_y).ravel()
    near = np.argsort(np.round(x * x + y * y, 9), kind="stable")[:count]
    lattice: Floats = np.stack((x[near], y[near]))
    return lattice


def _starts(bundles: Sequence[Floats], count: int) -> list[Floats]:
    """First layouts (2, count, n) of each bundle: hexagonal patches and rings for circles of like size,
    sunflower spirals with the large ones inside, roughly inside, or anywhere."""
    most = max(len(r) for r in bundles)
    room = 1 << max(6, (most - 1).bit_length())  # few sizes of the remembered rows
    rows = np.arange(len(bundles))[:, None]
    r = np.zeros((len(bundles), most))
    for b, radii in enumerate(bundles):
        r[b, : len(radii)] = radii
    absent = r == 0.0
    layouts = np.empty((2, count, len(bundles), most))
    for k in range(count):
        chance = _scatter(k, room)[:, :most]
        keys = -r
        if k % 3 == 1:
            keys = -r * (1.0 + 0.6 * (chance[0] - 0.5))
        elif k % 3 == 2:
            keys = np.broadcast_to(chance[1], r.shape)
        order = np.argsort(np.where(absent, np.inf, keys), axis=1, kind="stable")
        area = r[rows, order] ** 2
        out = np.sqrt((np.cumsum(area, axis=1) - 0.5 * area) / 0.82)
        turned = _sunflower(k, room)
        for axis in (0, 1):
            layouts[axis, k, rows, order] = np.round(out * turned[axis, :most], 6)
        for b, radii in enumerate(bundles):
            if k % 3 != 2 and radii[-1] > SAME_SIZE:
                n = len(radii)
                layouts[:, k, b, order[b, :n]] = _patch(n, k - k // 3) * (2.0 * float(radii.mean()))
        layouts[:, k] += ((chance[2:] - 0.5) * 0.2)[:, None, :]
    return [np.ascontiguousarray(layouts[:, :, b, : len(radii)]) for b, radii in enumerate(bundles)]
