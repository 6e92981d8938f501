"""Search for a small circle that holds given circles: many trial layouts relaxed side by side.

The circles are soft discs inside a round container that a constant pressure closes. A layout at rest under pressure is
a local optimum of the hard problem but for a small overlap, so the search works at high pressure (a smooth landscape,
quick to relax) and only the best layouts are hardened at the end, where the overlaps are driven to zero by moving each
contact's rest distance (the method of multipliers: Hestenes 1969, Powell 1969). Descent is FIRE (Bitzek et al.,
Phys. Rev. Lett. 97, 170201, 2006), in lockstep for all layouts.

Everything here is in units of the largest radius and works on radii sorted from the largest down. Random numbers come
from numpy's legacy generator, whose stream never changes, so an answer depends on the radii alone.
"""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

GOLDEN_ANGLE_RAD = math.pi * (3.0 - math.sqrt(5.0))
DENSE_UP_TO = 150  # circles; above, neighbours are found by a sweep because all pairs no longer fit the cache
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
    pressure: float


class Trials:
    """Layouts of the same n circles, relaxed together. `at` has shape (2, layouts, n), `radius` (layouts,)."""

    def __init__(self, at: Floats, r: Floats, radius: Floats | None = None) -> None:
        self.at = np.ascontiguousarray(at)
        self.r = r
        self.count, self.n = at.shape[1], at.shape[2]
        self.radius: Floats = np.max(np.hypot(at[0], at[1]) + r, axis=1) if radius is None else radius
        self.score: Floats = self.radius  # radius that the layout promises once hard; set by relax
        if self.n <= DENSE_UP_TO:
            self._i, self._j = np.triu_indices(self.n, 1)
            self._reach = r[self._i] + r[self._j]

    def near_pairs(self, skin: float) -> tuple[Ints, Ints, Floats]:
        """Flat indices of circles closer than touching plus `skin`, and their distance when they touch."""
        if self.n <= DENSE_UP_TO:
            dx, dy = self.at[:, :, self._i] - self.at[:, :, self._j]
            layout, pair = np.nonzero(dx * dx + dy * dy < (self._reach + skin) ** 2)
            return layout * self.n + self._i[pair], layout * self.n + self._j[pair], self._reach[pair]
        parts = [self._sweep(k, skin) for k in range(self.count)]
        first, second, reach = (np.concatenate(column) for column in zip(*parts, strict=True))
        return first, second, reach

    def _sweep(self, layout: int, skin: float) -> tuple[Ints, Ints, Floats]:
        order = np.argsort(self.at[0, layout], kind="stable")
        x, y, r = self.at[0, layout, order], self.at[1, layout, order], self.r[order]
        window = 2.0 * float(self.r[0]) + skin
        first: list[Ints] = []
        second: list[Ints] = []
        for gap in range(1, self.n):
            dx = x[gap:] - x[:-gap]
            if float(dx.min()) >= window:
                break
            dy = y[gap:] - y[:-gap]
            hit = np.nonzero(dx * dx + dy * dy < (r[gap:] + r[:-gap] + skin) ** 2)[0]
            first.append(order[hit])
            second.append(order[hit + gap])
        i, j = (np.concatenate(part) if part else np.zeros(0, np.int64) for part in (first, second))
        return i + layout * self.n, j + layout * self.n, self.r[i] + self.r[j]

    def relax(self, pressure: float, steps: int, *, harden_every: int = 0) -> None:
        """Descend for `steps`. With `harden_every`, every so many steps the contacts' rest distances grow by their
        overlap, which drives the overlaps to zero without raising the stiffness."""
        count, n = self.count, self.n
        size = count * n
        flat = self.at.reshape(2, size)
        r = np.tile(self.r, count)
        wall_r = r
        # The container feels every circle at its wall; a mass keeps its motion as slow as theirs.
        c = 1.0 / math.sqrt(1.0 + 0.5 * math.sqrt(n))
        radius = self.radius.copy()
        velocity = np.zeros((2, count, n))
        wall_velocity = np.zeros(count)
        dt = np.full(count, 0.3)
        alpha = np.full(count, 0.15)
        calm = np.zeros(count)
        i, j, touch = self.near_pairs(SKIN)
        rest, overlap, press = touch, np.zeros(len(touch)), np.zeros(size)
        for step in range(steps):
            if step and step % (harden_every or RENEW_EVERY) == 0:
                swell, keys = overlap, i * size + j
                i, j, touch = self.near_pairs(SKIN)
                rest = touch
                if harden_every:
                    # With the rest distance at touch + overlap the same force holds the pair at just touching.
                    wall_r = r + press
                    rest = touch + _carry(i * size + j, keys[swell > 0.0], swell[swell > 0.0])
            both_i, both_j = np.concatenate((i, i + size)), np.concatenate((j, j + size))
            apart = np.take(flat, i, axis=1) - np.take(flat, j, axis=1)
            distance = np.sqrt(apart[0] * apart[0] + apart[1] * apart[1]) + 1e-12
            overlap = np.maximum(rest - distance, 0.0)
            push = (apart * (overlap / distance)).ravel()
            force = (np.bincount(both_i, push, 2 * size) - np.bincount(both_j, push, 2 * size)).reshape(2, size)
            out = np.sqrt(flat[0] * flat[0] + flat[1] * flat[1]) + 1e-12
            press = np.maximum(out + wall_r - np.repeat(radius, n), 0.0)
            force -= flat * (press / out)
            force3 = force.reshape(2, count, n)
            wall_force = c * (press.reshape(count, n).sum(axis=1) - pressure)

            power = (velocity * force3).sum(axis=(0, 2)) + wall_velocity * wall_force
            force_sq = (force3 * force3).sum(axis=(0, 2)) + wall_force * wall_force
            speed_sq = (velocity * velocity).sum(axis=(0, 2)) + wall_velocity * wall_velocity
            downhill = power > 0.0
            keep = np.where(downhill, 1.0 - alpha, 0.0)
            gain = np.where(downhill, alpha * np.sqrt(speed_sq / (force_sq + 1e-30)), 0.0)
            calm = np.where(downhill, calm + 1.0, 0.0)
            steady = calm > 5.0
            dt = np.where(downhill, np.where(steady, np.minimum(dt * 1.1, 0.6), dt), np.maximum(dt * 0.5, 0.02))
            alpha = np.where(downhill, np.where(steady, alpha * 0.99, alpha), 0.15)
            gain += dt
            velocity = velocity * keep[:, None] + force3 * gain[:, None]
            wall_velocity = wall_velocity * keep + wall_force * gain
            self.at += velocity * dt[:, None]
            radius = radius + c * wall_velocity * dt
        self.radius = radius
        twice_energy = np.bincount(i // n, overlap * overlap, count) + (press * press).reshape(count, n).sum(axis=1)
        self.score = radius + 0.5 * twice_energy / pressure

    def hard(self) -> tuple[Floats, Floats]:
        """(radius of each layout once blown up until nothing overlaps, the factor it takes)."""
        i, j, reach = self.near_pairs(0.0)
        flat = self.at.reshape(2, -1)
        factor = np.ones(self.count)
        np.maximum.at(factor, i // self.n, reach / (np.hypot(*(flat[:, i] - flat[:, j])) + 1e-300))
        return np.max(np.hypot(self.at[0], self.at[1]) * factor[:, None] + self.r, axis=1), factor


def _carry(new_keys: Ints, keys: Ints, values: Floats) -> Floats:
    """Values of the pairs that are still there; new pairs start at zero."""
    carried = np.zeros(len(new_keys))
    if len(keys):
        order = np.argsort(keys, kind="stable")
        place = np.minimum(np.searchsorted(keys[order], new_keys), len(keys) - 1)
        same = keys[order][place] == new_keys
        carried[same] = values[order][place][same]
    return carried


def search(r: Floats, effort: Effort, known: Floats | None = None) -> tuple[float, Floats]:
    """(radius, centres of shape (2, n)) of the best layout found for radii `r`, largest first, largest 1.

    `known` is a layout without overlap to start from as well; the answer is never worse.
    """
    rng = np.random.RandomState(20241)
    trials = Trials(_starts(r, effort.starts, rng), r)
    trials.relax(effort.pressure, effort.start_steps)
    pool = _members(trials)
    if known is not None:
        again = Trials(known[:, None, :].copy(), r)
        again.relax(effort.pressure, effort.start_steps)
        pool += _members(again)
    best = _distinct(pool, effort.kept)
    for turn in range(effort.rounds):
        share = max(1, effort.width // len(best))
        moved = [_moved(at, radius, r, share, turn, rng) for _, radius, at in best]
        trials = Trials(np.concatenate(moved, axis=1), r, np.repeat([radius for _, radius, _ in best], share))
        trials.relax(effort.pressure, effort.round_steps)
        best = _distinct(best + _members(trials), effort.kept)
    best = best[: effort.harden]
    trials = Trials(np.stack([at for _, _, at in best], axis=1), r, np.array([radius for _, radius, _ in best]))
    trials.relax(HARDENING_PRESSURE, effort.harden_steps, harden_every=max(20, effort.harden_steps // 10))
    radii, factor = trials.hard()
    k = int(np.argmin(radii))
    if known is not None:
        known_radius = float(np.max(np.hypot(known[0], known[1]) + r))
        if known_radius <= float(radii[k]):
            return known_radius, known
    return float(radii[k]), trials.at[:, k] * factor[k]


_Member = tuple[float, float, Floats]  # score, container radius, centres (2, n)


def _members(trials: Trials) -> list[_Member]:
    return [(float(trials.score[k]), float(trials.radius[k]), trials.at[:, k].copy()) for k in range(trials.count)]


def _distinct(pool: list[_Member], count: int) -> list[_Member]:
    """The best `count`; equal scores are the same layout turned or mirrored and would only repeat each other."""
    chosen: list[_Member] = []
    for member in sorted(pool, key=lambda m: m[0]):
        if all(abs(member[0] - other[0]) > 1e-5 * other[0] for other in chosen):
            chosen.append(member)
            if len(chosen) == count:
                break
    return chosen


def _starts(r: Floats, count: int, rng: np.random.RandomState) -> Floats:
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
    return at


def _moved(at: Floats, radius: float, r: Floats, count: int, turn: int, rng: np.random.RandomState) -> Floats:
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
    return copies
