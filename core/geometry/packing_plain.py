"""What packing does most, in numpy: all layouts in lockstep. `packing_kernel` does the same sums compiled.

Descent is FIRE (Bitzek et al., Phys. Rev. Lett. 97, 170201, 2006). Sums are bincounts, since they add in order; numpy's
other sums add in an order of their own, which no loop gives again.
"""

import sys

import numpy as np

from core.geometry.packing_search import (
    HARDENS_BY,
    RENEW_EVERY,
    SKIN,
    SWELLING,
    TURNS,
    Effort,
    Floats,
    Found,
    Ints,
    Stack,
    best,
    chances,
    near_pairs,
    relaxed,
)


def relax(
    at: Floats, r: Floats, _first: Ints, sizes: Ints, radius: Floats, pressure: Floats, steps: int, harden: int
) -> tuple[Floats, Floats]:
    """See packing_search.Engine."""
    if steps == 0:
        return radius, radius.copy()
    layouts, size = len(sizes), len(r)
    owner = np.repeat(np.arange(layouts), sizes)
    wall_r = r
    # The container feels every circle at its wall; a mass keeps its motion as slow as theirs.
    c = 1.0 / np.sqrt(1.0 + 0.5 * np.sqrt(sizes.astype(np.float64)))
    radius = radius.copy()
    velocity = np.zeros((2, size))
    wall_velocity = np.zeros(layouts)
    dt = np.full(layouts, 0.3)
    alpha = np.full(layouts, 0.15)
    calm = np.zeros(layouts)
    i, j = near_pairs(at, r, owner, SKIN)
    both_i, both_j = np.concatenate((i, i + size)), np.concatenate((j, j + size))
    rest = r[i] + r[j]
    overlap, press = np.zeros(len(rest)), np.zeros(size)
    for step in range(steps):
        if step and step % (harden or RENEW_EVERY) == 0:
            swell, keys = overlap, i * size + j
            i, j = near_pairs(at, r, owner, SKIN)
            both_i, both_j = np.concatenate((i, i + size)), np.concatenate((j, j + size))
            rest = r[i] + r[j]
            if harden:
                # With the rest distance at touch + overlap the same force holds the pair at just touching.
                wall_r = r + press
                rest = rest + _carried(i * size + j, keys, swell)
        apart = np.take(at, i, axis=1)
        apart -= np.take(at, j, axis=1)
        distance = np.sqrt(apart[0] * apart[0] + apart[1] * apart[1])
        distance += 1e-12
        overlap = np.maximum(rest - distance, 0.0)
        apart *= overlap / distance
        push = apart.ravel()
        force = (np.bincount(both_i, push, 2 * size) - np.bincount(both_j, push, 2 * size)).reshape(2, size)
        out = np.sqrt(at[0] * at[0] + at[1] * at[1])
        out += 1e-12
        press = np.maximum(out + wall_r - radius[owner], 0.0)
        force -= at * (press / out)
        wall_force = c * (np.bincount(owner, press, layouts) - pressure)

        along = np.bincount(owner, velocity[0] * force[0] + velocity[1] * force[1], layouts)
        power = along + wall_velocity * wall_force
        force_sq = np.bincount(owner, force[0] * force[0] + force[1] * force[1], layouts) + wall_force * wall_force
        along = np.bincount(owner, velocity[0] * velocity[0] + velocity[1] * velocity[1], layouts)
        speed_sq = along + wall_velocity * wall_velocity
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
        at += velocity * dt[owner]
        radius = radius + c * wall_velocity * dt
    twice_energy = np.bincount(owner[i], overlap * overlap, layouts) + np.bincount(owner, press * press, layouts)
    return radius, radius + HARDENS_BY * twice_energy / pressure


def _carried(new_keys: Ints, keys: Ints, values: Floats) -> Floats:
    """Values of the pairs that are still there; new pairs start at zero. Both rows of keys are sorted."""
    carried = np.zeros(len(new_keys))
    if len(keys):
        place = np.minimum(np.searchsorted(keys, new_keys), len(keys) - 1)
        same = keys[place] == new_keys
        carried[same] = values[place][same]
    return carried


def rounds(
    at: Floats, r: Floats, first: Ints, sizes: Ints, radius: Floats, score: Floats, _pressure: Floats, effort: Effort
) -> None:
    """See packing_search.Engine."""
    this = sys.modules[__name__]
    width = effort.kept * effort.children
    bundles = [r[f : f + n] for f, n in zip(first[:: effort.kept], sizes[:: effort.kept], strict=True)]
    kept, wide = Stack(bundles, effort.kept), Stack(bundles, width)
    shape = len(bundles), effort.kept
    pool = Found(kept, at, radius.reshape(shape), score.reshape(shape))
    parents = np.arange(width) % effort.kept
    for turn in range(effort.rounds):
        begins = pool.first()[:, parents].ravel()
        copies = wide.gathered(pool.at, begins)
        around = pool.radius[:, parents].ravel()
        _disturb(copies, wide, around, turn, _strain(pool), begins)
        tried = relaxed(this, wide, copies, around, effort.sift_steps)
        # The best child of each parent, of equal ones the first.
        child = np.argmin(tried.score.reshape(len(bundles), effort.children, effort.kept), axis=1)
        child = child * effort.kept + np.arange(effort.kept)
        grown = kept.gathered(tried.at, np.take_along_axis(tried.first(), child, axis=1).ravel())
        grown_radius = np.take_along_axis(tried.radius, child, axis=1).ravel()
        young = relaxed(this, kept, grown, grown_radius, effort.round_steps)
        if turn < effort.apart:
            better = young.score < pool.score
            both = np.concatenate((pool.at, young.at), axis=1)
            begin = np.where(better, young.first() + pool.at.shape[1], pool.first())
            radii = np.where(better, young.radius, pool.radius)
            pool = Found(kept, kept.gathered(both, begin.ravel()), radii, np.where(better, young.score, pool.score))
        else:
            pool = best([pool, young], kept)
    at[:] = pool.at
    radius[:], score[:] = pool.radius.ravel(), pool.score.ravel()


def _strain(found: Found) -> Floats:
    """By how much each circle overlaps others and the wall in all."""
    at, r, owner, size = found.at, found.stack.r, found.stack.owner, len(found.stack.r)
    i, j = near_pairs(at, r, owner, 0.0)
    apart = np.take(at, i, axis=1) - np.take(at, j, axis=1)
    over = r[i] + r[j] - np.sqrt(apart[0] * apart[0] + apart[1] * apart[1])
    press = np.maximum(np.sqrt(at[0] * at[0] + at[1] * at[1]) + r - found.radius.ravel()[owner], 0.0)
    strain: Floats = np.bincount(i, over, size) + np.bincount(j, over, size) + press
    return strain


def _disturb(at: Floats, stack: Stack, radius: Floats, turn: int, strain: Floats, parents: Ints) -> None:
    """Moves one or two circles of every layout, in place: into holes, or exchanges two of unlike size. `strain` of the
    layout that this is a copy of begins at `parents`.

    Of the exchanges drawn, that one is made which promises most: to grow by `step` in a place under strain costs
    strain times step, and the more the larger the step. Measured: holes pay for equal circles, exchanges as well for
    unlike ones; shaking everything pays for neither.
    """
    picks, spots = (table[turn % TURNS] for table in chances())
    for k, (begin, n) in enumerate(zip(stack.first.tolist(), stack.sizes.tolist(), strict=True)):
        here, radii = at[:, begin : begin + n], stack.r[begin : begin + n]
        row = k % stack.each
        move = row + turn
        equal = radii[-1] > 0.999
        if not equal and move % 3 != 0:
            own = strain[parents[k] : parents[k] + n]
            one, other = (picks[row, 2::2] * n).astype(np.int64), (picks[row, 3::2] * n).astype(np.int64)
            step = radii[one] - radii[other]
            cost = step * (own[other] - own[one]) + SWELLING * step * step
            cost[np.abs(step) <= 1e-9] = np.inf
            choice = int(np.argmin(cost))
            if cost[choice] < np.inf:
                i, j = int(one[choice]), int(other[choice])
                here[:, [i, j]] = here[:, [j, i]]
            continue
        for throw in range(1 + (move if equal else move // 3) % 2):
            i = int(picks[row, throw] * n)
            spot = spots[row, throw] * radius[k]
            dx, dy = spot[:, 0, None] - here[0], spot[:, 1, None] - here[1]
            room = np.sqrt(dx * dx + dy * dy) - radii
            room[:, i] = np.inf
            wall = radius[k] - np.sqrt(spot[:, 0] * spot[:, 0] + spot[:, 1] * spot[:, 1])
            here[:, i] = spot[int(np.argmax(np.minimum(room.min(axis=1), wall)))]
