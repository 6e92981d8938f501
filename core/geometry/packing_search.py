"""Search for small circles that hold given circles: many trial layouts, of one bundle or of many, relaxed side by side.

The circles are soft discs inside a round container that a constant pressure closes. A layout at rest under pressure is
a local optimum of the hard problem but for a small overlap, so the search works at high pressure (a smooth landscape,
quick to relax) and only the best layouts are hardened at the end, where the overlaps are driven to zero by moving each
contact's rest distance (the method of multipliers: Hestenes 1969, Powell 1969). Descent is FIRE (Bitzek et al.,
Phys. Rev. Lett. 97, 170201, 2006), in lockstep for all layouts. All sums run within one layout, so the answer for a
bundle does not depend on what is searched beside it.

Everything here is in units of the largest radius and works on radii sorted from the largest down. Random numbers come
from numpy's legacy generator, whose stream never changes, so an answer depends on the radii alone.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

GOLDEN_ANGLE_RAD = math.pi * (3.0 - math.sqrt(5.0))
HARDENING_PRESSURE = 0.1
SKIN = 0.5  # pairs this far from touching are watched until the next renewal
RENEW_EVERY = 20
SAME_SIZE = 0.8  # smallest over largest radius from which a hexagonal start is worth a trial


@dataclass(frozen=True)
class Effort:
    """How long to search. Counts, never seconds: the answer must not depend on the machine."""

    starts: int
    start_steps: int
    rounds: int  # of trial moves on the best layouts so far
    width: int  # trial layouts per round
    round_steps: int
    kept: int
    harden: int  # layouts driven to zero overlap at the end
    harden_steps: int

    @property
    def layouts(self) -> int:
        """The most layouts of one bundle that are relaxed at a time."""
        return max(self.starts + 1, self.width, self.harden)


class Trials:
    """Layouts relaxed together: layout k holds the circles `first[k]` to `first[k + 1]` of `at` (2, all) and `r`."""

    def __init__(self, layouts: Sequence[Floats], radii: Sequence[Floats], radius: Sequence[float] | None = None):
        self.sizes = np.array([len(r) for r in radii])
        ends = np.cumsum(self.sizes)
        self.first = ends - self.sizes
        self.owner = np.repeat(np.arange(len(radii)), self.sizes)
        self.at: Floats = np.concatenate(layouts, axis=1)
        self.r: Floats = np.concatenate(radii)
        self.radius: Floats = self._reach() if radius is None else np.array(radius)
        self.score: Floats = self.radius  # radius that a layout promises once hard; set by relax

    def layout(self, k: int) -> Floats:
        """Centres of layout k, shape (2, n)."""
        return self.at[:, self.first[k] : self.first[k] + self.sizes[k]].copy()

    def _reach(self) -> Floats:
        reach: Floats = np.maximum.reduceat(np.hypot(self.at[0], self.at[1]) + self.r, self.first)
        return reach

    def _sum(self, values: Floats) -> Floats:
        """Sums by layout."""
        total: Floats = np.add.reduceat(values, self.first)
        return total

    def near_pairs(self, skin: float) -> tuple[Ints, Ints, Floats]:
        """Circles of one layout closer than touching plus `skin`, and their distance when they touch. A sweep."""
        order = np.lexsort((self.at[0], self.owner))
        (x, y), r, owner = self.at[:, order], self.r[order], self.owner[order]
        window = 2.0 * float(self.r.max()) + skin
        first: list[Ints] = []
        second: list[Ints] = []
        here = np.arange(len(order) - 1)
        for gap in range(1, len(order)):
            # Whoever is out of reach at this gap is so at every wider one.
            here = here[: np.searchsorted(here, len(order) - gap)]
            here = here[(x[here + gap] - x[here] < window) & (owner[here + gap] == owner[here])]
            if not len(here):
                break
            there = here + gap
            dx, dy, reach = x[there] - x[here], y[there] - y[here], r[there] + r[here] + skin
            hit = np.nonzero(dx * dx + dy * dy < reach * reach)[0]
            first.append(order[here[hit]])
            second.append(order[there[hit]])
        i, j = (np.concatenate(part) if part else np.zeros(0, np.int64) for part in (first, second))
        return i, j, self.r[i] + self.r[j]

    def relax(self, pressure: Floats, steps: int, *, harden_every: int = 0) -> None:
        """Descend for `steps` under the pressure of each layout. With `harden_every`, every so many steps the contacts'
        rest distances grow by their overlap, which drives the overlaps to zero without raising the stiffness."""
        owner, size, flat = self.owner, len(self.r), self.at
        wall_r = self.r
        # The container feels every circle at its wall; a mass keeps its motion as slow as theirs.
        c = 1.0 / np.sqrt(1.0 + 0.5 * np.sqrt(self.sizes))
        radius = self.radius.copy()
        velocity = np.zeros((2, size))
        wall_velocity = np.zeros(len(self.sizes))
        dt = np.full(len(self.sizes), 0.3)
        alpha = np.full(len(self.sizes), 0.15)
        calm = np.zeros(len(self.sizes))
        i, j, touch = self.near_pairs(SKIN)
        both_i, both_j = np.concatenate((i, i + size)), np.concatenate((j, j + size))
        rest, overlap, press = touch, np.zeros(len(touch)), np.zeros(size)
        for step in range(steps):
            if step and step % (harden_every or RENEW_EVERY) == 0:
                swell, keys = overlap, i * size + j
                i, j, touch = self.near_pairs(SKIN)
                both_i, both_j = np.concatenate((i, i + size)), np.concatenate((j, j + size))
                rest = touch
                if harden_every:
                    # With the rest distance at touch + overlap the same force holds the pair at just touching.
                    wall_r = self.r + press
                    rest = touch + _carry(i * size + j, keys[swell > 0.0], swell[swell > 0.0])
            apart = np.take(flat, i, axis=1)
            apart -= np.take(flat, j, axis=1)
            distance = np.sqrt(apart[0] * apart[0] + apart[1] * apart[1])
            distance += 1e-12
            overlap = np.maximum(rest - distance, 0.0)
            apart *= overlap / distance
            push = apart.ravel()
            force = (np.bincount(both_i, push, 2 * size) - np.bincount(both_j, push, 2 * size)).reshape(2, size)
            out = np.sqrt(flat[0] * flat[0] + flat[1] * flat[1])
            out += 1e-12
            press = np.maximum(out + wall_r - radius[owner], 0.0)
            force -= flat * (press / out)
            wall_force = c * (self._sum(press) - pressure)

            power = self._sum(velocity[0] * force[0] + velocity[1] * force[1]) + wall_velocity * wall_force
            force_sq = self._sum(force[0] * force[0] + force[1] * force[1]) + wall_force * wall_force
            speed_sq = self._sum(velocity[0] * velocity[0] + velocity[1] * velocity[1]) + wall_velocity * wall_velocity
            downhill = power > 0.0
            keep = np.where(downhill, 1.0 - alpha, 0.0)
            gain = np.where(downhill, alpha * np.sqrt(speed_sq / (force_sq + 1e-30)), 0.0)
            calm = np.where(downhill, calm + 1.0, 0.0)
            steady = calm > 5.0
            dt = np.where(downhill, np.where(steady, np.minimum(dt * 1.1, 0.6), dt), np.maximum(dt * 0.5, 0.02))
            alpha = np.where(downhill, np.where(steady, alpha * 0.99, alpha), 0.15)
            gain += dt
            velocity *= keep[owner]
            force *= gain[owner]
            velocity += force
            wall_velocity = wall_velocity * keep + wall_force * gain
            flat += velocity * dt[owner]
            radius = radius + c * wall_velocity * dt
        self.radius = radius
        twice_energy = np.bincount(owner[i], overlap * overlap, len(self.sizes)) + self._sum(press * press)
        self.score = radius + 0.5 * twice_energy / pressure

    def hard(self) -> tuple[Floats, Floats]:
        """(radius of each layout once blown up until nothing overlaps, the factor it takes)."""
        i, j, reach = self.near_pairs(0.0)
        factor = np.ones(len(self.sizes))
        np.maximum.at(factor, self.owner[i], reach / (np.hypot(*(self.at[:, i] - self.at[:, j])) + 1e-300))
        spread = np.hypot(self.at[0], self.at[1]) * factor[self.owner] + self.r
        return np.maximum.reduceat(spread, self.first), factor


def _carry(new_keys: Ints, keys: Ints, values: Floats) -> Floats:
    """Values of the pairs that are still there; new pairs start at zero."""
    carried = np.zeros(len(new_keys))
    if len(keys):
        order = np.argsort(keys, kind="stable")
        place = np.minimum(np.searchsorted(keys[order], new_keys), len(keys) - 1)
        same = keys[order][place] == new_keys
        carried[same] = values[order][place][same]
    return carried


_Member = tuple[float, float, Floats]  # score, container radius, centres (2, n)


@dataclass
class _Bundle:
    """One set of circles under search."""

    r: Floats
    pressure: float
    rng: np.random.RandomState
    known: Floats | None
    pool: list[_Member]


def search(
    bundles: Sequence[Floats], effort: Effort, known: Sequence[Floats | None] | None = None
) -> list[tuple[float, Floats]]:
    """(radius, centres of shape (2, n)) of the best layout found for each set of radii, largest first, largest 1.

    `known` are layouts without overlap to start from as well; the answers are never worse.
    """
    work = [
        # The wall carries the pressure on about sqrt(n) contacts: this keeps the softness of each contact the same.
        _Bundle(r, 0.08 * math.sqrt(len(r)), np.random.RandomState(20241), at, [])
        for r, at in zip(bundles, known or [None] * len(bundles), strict=True)
    ]
    starts = [(b, at, None) for b in work for at in _starts(b.r, effort.starts, b.rng)]
    starts += [(b, b.known, None) for b in work if b.known is not None]
    _relaxed(starts, effort.start_steps)
    for b in work:
        b.pool = _distinct(b.pool, effort.kept)
    for turn in range(effort.rounds):
        moved = []
        for b in work:
            share = max(1, effort.width // len(b.pool))
            for _, radius, at in b.pool:
                moved += [(b, copy, radius) for copy in _moved(at, radius, b.r, share, turn, b.rng)]
        _relaxed(moved, effort.round_steps)
        for b in work:
            b.pool = _distinct(b.pool, effort.kept)
    best = [(b, at, radius) for b in work for _, radius, at in b.pool[: effort.harden]]
    trials = Trials([at for _, at, _ in best], [b.r for b, _, _ in best], [radius for _, _, radius in best])
    every = max(20, effort.harden_steps // 10)
    trials.relax(np.full(len(best), HARDENING_PRESSURE), effort.harden_steps, harden_every=every)
    radii, factor = trials.hard()
    answers = []
    for b in work:
        k = min((k for k, (owner, _, _) in enumerate(best) if owner is b), key=lambda k: float(radii[k]))
        answer = float(radii[k]), trials.layout(k) * factor[k]
        if b.known is not None:
            known_radius = float(np.max(np.hypot(b.known[0], b.known[1]) + b.r))
            answer = min(answer, (known_radius, b.known), key=lambda a: a[0])
        answers.append(answer)
    return answers


def _relaxed(layouts: Sequence[tuple[_Bundle, Floats, float | None]], steps: int) -> None:
    """Relaxes the layouts and adds them to the pools of their bundles."""
    if not layouts:
        return
    radius = [r for _, _, r in layouts if r is not None]
    trials = Trials([at for _, at, _ in layouts], [b.r for b, _, _ in layouts], radius or None)
    trials.relax(np.array([b.pressure for b, _, _ in layouts]), steps)
    for k, (bundle, _, _) in enumerate(layouts):
        bundle.pool.append((float(trials.score[k]), float(trials.radius[k]), trials.layout(k)))


def _distinct(pool: list[_Member], count: int) -> list[_Member]:
    """The best `count`; equal scores are the same layout turned or mirrored and would only repeat each other."""
    chosen: list[_Member] = []
    for member in sorted(pool, key=lambda m: m[0]):
        if all(abs(member[0] - other[0]) > 1e-5 * other[0] for other in chosen):
            chosen.append(member)
            if len(chosen) == count:
                break
    return chosen


def _starts(r: Floats, count: int, rng: np.random.RandomState) -> list[Floats]:
    """First layouts: hexagonal patches about different centres for circles of like size, sunflower spirals with the
    large ones inside, roughly inside, or anywhere."""
    n = len(r)
    at = np.empty((2, count, n))
    alike = float(r[-1]) > SAME_SIZE
    offsets = ((0.0, 0.0), (0.5, 0.0), (0.5, math.sqrt(3.0) / 6.0), (0.25, 0.1), (0.25, 0.3), (0.5, 0.15))
    for k in range(count):
        order = np.arange(n)
        if k % 3 == 1:
            order = np.argsort(-r * (1.0 + 0.6 * (rng.random_sample(n) - 0.5)), kind="stable")
        elif k % 3 == 2:
            order = np.argsort(rng.random_sample(n), kind="stable")
        if alike and k % 3 != 2:
            off_x, off_y = offsets[(k - k // 3) % 6]
            reach = int(math.sqrt(n)) + 4
            a, b = np.meshgrid(np.arange(-reach, reach + 1), np.arange(-reach, reach + 1))
            x, y = (a + 0.5 * b - off_x).ravel(), (b * math.sqrt(0.75) - off_y).ravel()
            near = np.argsort(np.round(x * x + y * y, 9), kind="stable")[:n]
            spacing = 2.0 * float(r.mean())
            at[0, k, order], at[1, k, order] = x[near] * spacing, y[near] * spacing
        else:
            area = r[order] ** 2
            out = np.sqrt((np.cumsum(area) - 0.5 * area) / 0.82)
            angle = np.arange(n) * GOLDEN_ANGLE_RAD + k
            # Rounded, because the last bit of a sine differs between machines and the search would drift apart.
            at[0, k, order] = np.round(out * np.cos(angle), 6)
            at[1, k, order] = np.round(out * np.sin(angle), 6)
        at[:, k] += (rng.random_sample((2, n)) - 0.5) * 0.2
    return [at[:, k] for k in range(count)]


def _moved(at: Floats, radius: float, r: Floats, count: int, turn: int, rng: np.random.RandomState) -> list[Floats]:
    """`count` copies of a layout, each with one or two circles thrown into holes or two of unlike size exchanged.

    Measured: holes pay for equal circles, exchanges as well for unlike ones; shaking everything pays for neither.
    """
    n = len(r)
    copies = np.repeat(at[:, None, :], count, axis=1)
    equal = float(r[-1]) > 0.999
    for k in range(count):
        move = k + turn
        if not equal and move % 2 == 0:
            i = rng.randint(n)
            others = np.nonzero(np.abs(r - r[i]) > 1e-9)[0]
            nearest = others[np.argsort(np.abs(r[others] - r[i]), kind="stable")]
            j = nearest[rng.randint(min(len(nearest), 1 + n // 4))]
            copies[:, k, [i, j]] = copies[:, k, [j, i]]
            continue
        for _ in range(1 + (move // 2 if not equal else move) % 2):
            i = rng.randint(n)
            out = radius * np.sqrt(rng.random_sample(60))
            angle = 2.0 * math.pi * rng.random_sample(60)
            spot = np.round(np.stack((out * np.cos(angle), out * np.sin(angle))), 6)
            room = np.hypot(spot[0, :, None] - copies[0, k], spot[1, :, None] - copies[1, k]) - r
            room[:, i] = math.inf
            widest = int(np.argmax(np.minimum(room.min(axis=1), radius - out)))
            copies[:, k, i] = spot[:, widest]
    return [copies[:, k] for k in range(count)]
