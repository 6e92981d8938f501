"""What packing does most, compiled by numba: layout by layout the very sums of `packing_plain`, in the same order.

Not imported by hand: `packing_speed` does, once numba knows where it may keep what it compiled. Without fastmath numba
neither reorders sums nor fuses a product into one, and a square root is correctly rounded, so the bits are the same.
"""

import math

import numpy as np
from numba import njit

from core.geometry import packing_plain
from core.geometry.packing_search import HARDENS_BY, RENEW_EVERY, SKIN, SWELLING, Effort, Floats, Ints, chances

EVERY_PAIR_UP_TO = 1500  # circles; above, the sweep of the plain way is quicker than a look at every pair

compiled = njit(cache=True, nogil=True, error_model="numpy")


@compiled
def _watched(x, y, r, begins, other):  # type: ignore[no-untyped-def]
    """Pairs closer than touching plus SKIN: those of circle i with later ones stand in `other` from begins[i] up to
    begins[i + 1]. `other` is room for them, and grows."""
    n, count = len(r), 0
    for i in range(n):
        begins[i] = count
        for j in range(i + 1, n):
            dx, dy, reach = x[i] - x[j], y[i] - y[j], r[i] + r[j] + SKIN
            if dx * dx + dy * dy < reach * reach:
                if count == len(other):
                    wider = np.empty(2 * count + 8, np.uint32)
                    wider[:count] = other
                    other = wider
                other[count] = j
                count += 1
    begins[n] = count
    return other


@compiled
def _rested(r, begins, other, rest):  # type: ignore[no-untyped-def]
    """How far apart each watched pair rests when it touches; `rest` is room for it, and grows."""
    n = len(r)
    if begins[n] > len(rest):
        rest = np.empty(begins[n] + 8)
    for i in range(n):
        for k in range(begins[i], begins[i + 1]):
            rest[k] = r[i] + r[other[k]]
    return rest


@compiled
def _relax_one(x, y, r, radius, pressure, steps, harden):  # type: ignore[no-untyped-def]  # noqa: C901 (one loop)
    n = len(r)
    if steps == 0:
        return radius, radius
    c = 1.0 / math.sqrt(1.0 + 0.5 * math.sqrt(float(n)))
    plus, minus = np.empty((2, n)), np.zeros((2, n))
    velocity = np.zeros((2, n))
    press = np.zeros(n)
    wall_r = r.copy()
    wall_velocity, dt, alpha, calm = 0.0, 0.3, 0.15, 0
    # Numbers without a sign: an index that cannot be negative needs no look whether it counts from the end.
    begins = np.empty(n + 1, np.uint32)
    other = _watched(x, y, r, begins, np.empty(min(n * (n - 1) // 2, 6 * n), np.uint32))
    rest = _rested(r, begins, other, np.empty(begins[n]))
    overlap = np.zeros(begins[n] if harden > 0 else 0)
    twice_energy = wall_energy = 0.0
    every = harden if harden > 0 else RENEW_EVERY
    for step in range(steps):
        if step > 0 and step % every == 0:
            if harden > 0:
                old_begins, old_other, swell = begins.copy(), other.copy(), overlap
                other = _watched(x, y, r, begins, other)
                rest = _rested(r, begins, other, rest)
                overlap = np.zeros(begins[n])
                for i in range(n):
                    wall_r[i] = r[i] + press[i]
                    old = old_begins[i]
                    for k in range(begins[i], begins[i + 1]):
                        while old < old_begins[i + 1] and old_other[old] < other[k]:
                            old += 1
                        if old < old_begins[i + 1] and old_other[old] == other[k]:
                            rest[k] += swell[old]
            else:
                other = _watched(x, y, r, begins, other)
                rest = _rested(r, begins, other, rest)
        twice_energy = wall_energy = 0.0
        for i in range(n):
            here_x, here_y, push_x, push_y = x[i], y[i], 0.0, 0.0
            for k in range(begins[i], begins[i + 1]):
                j = other[k]
                dx, dy = here_x - x[j], here_y - y[j]
                square = dx * dx + dy * dy
                over = 0.0
                if square < rest[k] * rest[k]:
                    distance = math.sqrt(square) + 1e-12
                    over = rest[k] - distance
                    if over > 0.0:
                        twice_energy += over * over
                        stiff = over / distance
                        dx *= stiff
                        dy *= stiff
                        push_x += dx
                        push_y += dy
                        minus[0, j] += dx
                        minus[1, j] += dy
                    else:
                        over = 0.0
                if harden > 0:
                    overlap[k] = over
            plus[0, i], plus[1, i] = push_x, push_y
        pressed = along = force_sq = speed_sq = 0.0
        for i in range(n):
            fx, fy = plus[0, i] - minus[0, i], plus[1, i] - minus[1, i]
            minus[0, i] = minus[1, i] = 0.0
            square, room = x[i] * x[i] + y[i] * y[i], radius - wall_r[i]
            press[i] = 0.0
            if room < 0.01 or square > room * room * (1.0 - 1e-8):  # else it is safely off the wall
                out = math.sqrt(square) + 1e-12
                beyond = max(out + wall_r[i] - radius, 0.0)
                press[i] = beyond
                pressed += beyond
                wall_energy += beyond * beyond
                stiff = beyond / out
                fx -= x[i] * stiff
                fy -= y[i] * stiff
            plus[0, i], plus[1, i] = fx, fy
            along += velocity[0, i] * fx + velocity[1, i] * fy
            force_sq += fx * fx + fy * fy
            speed_sq += velocity[0, i] * velocity[0, i] + velocity[1, i] * velocity[1, i]
        wall_force = c * (pressed - pressure)
        force_sq += wall_force * wall_force
        speed_sq += wall_velocity * wall_velocity
        if along + wall_velocity * wall_force > 0.0:
            keep = 1.0 - alpha
            gain = alpha * math.sqrt(speed_sq / (force_sq + 1e-30))
            calm += 1
            if calm > 5:
                dt = min(dt * 1.1, 0.6)
                alpha *= 0.99
        else:
            keep = gain = 0.0
            calm = 0
            dt = max(dt * 0.5, 0.02)
            alpha = 0.15
        gain += dt
        for i in range(n):
            velocity[0, i] = velocity[0, i] * keep + plus[0, i] * gain
            velocity[1, i] = velocity[1, i] * keep + plus[1, i] * gain
            x[i] += velocity[0, i] * dt
            y[i] += velocity[1, i] * dt
        wall_velocity = wall_velocity * keep + wall_force * gain
        radius = radius + c * wall_velocity * dt
    return radius, radius + HARDENS_BY * (twice_energy + wall_energy) / pressure


@compiled
def _relax_all(at, r, first, sizes, radius, pressure, steps, harden):  # type: ignore[no-untyped-def]
    ended, score = np.empty(len(sizes)), np.empty(len(sizes))
    for k in range(len(sizes)):
        a, b = first[k], first[k] + sizes[k]
        ended[k], score[k] = _relax_one(at[0, a:b], at[1, a:b], r[a:b], radius[k], pressure[k], steps, harden)
    return ended, score


@compiled
def _strain(x, y, r, radius, plus, minus):  # type: ignore[no-untyped-def]
    """Into `plus`: by how much each circle overlaps others and the wall in all."""
    n = len(r)
    for i in range(n):
        plus[i] = minus[i] = 0.0
    for i in range(n):
        for j in range(i + 1, n):
            dx, dy, reach = x[i] - x[j], y[i] - y[j], r[i] + r[j]
            square = dx * dx + dy * dy
            if square < reach * reach:
                over = reach - math.sqrt(square)
                plus[i] += over
                minus[j] += over
    for i in range(n):
        plus[i] = plus[i] + minus[i] + max(math.sqrt(x[i] * x[i] + y[i] * y[i]) + r[i] - radius, 0.0)


@compiled
def _exchange(x, y, r, strain, picks):  # type: ignore[no-untyped-def]
    n = len(r)
    least, one, other = math.inf, -1, -1
    for k in range(2, len(picks), 2):
        i, j = int(picks[k] * n), int(picks[k + 1] * n)
        step = r[i] - r[j]
        if abs(step) > 1e-9:
            cost = step * (strain[j] - strain[i]) + SWELLING * step * step
            if cost < least:
                least, one, other = cost, i, j
    if one >= 0:
        x[one], x[other] = x[other], x[one]
        y[one], y[other] = y[other], y[one]


@compiled
def _disturb(x, y, r, radius, move, strain, picks, spots):  # type: ignore[no-untyped-def]
    n = len(r)
    equal = r[n - 1] > 0.999
    if not equal and move % 3 != 0:
        _exchange(x, y, r, strain, picks)
        return
    for throw in range(1 + (move if equal else move // 3) % 2):
        i = int(picks[throw] * n)
        widest, best_x, best_y = -math.inf, 0.0, 0.0
        for s in range(spots.shape[1]):
            px, py = spots[throw, s, 0] * radius, spots[throw, s, 1] * radius
            room = radius - math.sqrt(px * px + py * py)
            for j in range(n):
                if room <= widest:
                    break
                if j != i:
                    dx, dy, reach = px - x[j], py - y[j], room + r[j]
                    square = dx * dx + dy * dy
                    if reach > 0.0 and square < reach * reach * (1.0 + 1e-9):  # else it leaves more room: no root
                        room = min(room, math.sqrt(square) - r[j])
            if room > widest:
                widest, best_x, best_y = room, px, py
        x[i], y[i] = best_x, best_y


@compiled
def _merged(score, young_score, chosen):  # type: ignore[no-untyped-def]
    """The order of packing_search.best for one bundle: `chosen` (2 kept,) places, the young ones after the old."""
    kept = len(score)
    both, order = np.empty(2 * kept), np.empty(2 * kept, np.int64)
    for k in range(2 * kept):
        both[k] = score[k] if k < kept else young_score[k - kept]
        place = k
        while place > 0 and both[order[place - 1]] > both[k]:
            order[place] = order[place - 1]
            place -= 1
        order[place] = k
    place = 0
    for wanted in (False, True):
        for k in range(2 * kept):
            again = k > 0 and both[order[k]] - both[order[k - 1]] <= 1e-5 * both[order[k - 1]]
            if again == wanted:
                chosen[place] = order[k]
                place += 1


@compiled
def _copied(to, source):  # type: ignore[no-untyped-def]
    for axis in range(2):
        for i in range(to.shape[1]):
            to[axis, i] = source[axis, i]


@compiled
def _rounds_one(  # type: ignore[no-untyped-def]
    pool, r, radius, score, pressure, rounds, apart, children, sift_steps, round_steps, picks, spots
):
    """The rounds of one bundle; `pool` (kept, 2, n), `radius` and `score` (kept,)."""
    kept, n = len(pool), len(r)
    young, old, child = np.empty(pool.shape), np.empty(pool.shape), np.empty((2, n))
    young_radius, young_score = np.empty(kept), np.empty(kept)
    old_radius, old_score = np.empty(kept), np.empty(kept)
    chosen = np.empty(2 * kept, np.int64)
    strain, room = np.zeros(n), np.zeros(n)
    for turn in range(rounds):
        chance = turn % picks.shape[0]
        for k in range(kept):
            promise = math.inf
            if r[n - 1] <= 0.999:
                _strain(pool[k, 0], pool[k, 1], r, radius[k], strain, room)
            for c in range(children):
                row = c * kept + k
                _copied(child, pool[k])
                _disturb(child[0], child[1], r, radius[k], row + turn, strain, picks[chance, row], spots[chance, row])
                around, hope = _relax_one(child[0], child[1], r, radius[k], pressure, sift_steps, 0)
                if hope < promise:
                    promise, young_radius[k] = hope, around
                    _copied(young[k], child)
            young_radius[k], young_score[k] = _relax_one(
                young[k, 0], young[k, 1], r, young_radius[k], pressure, round_steps, 0
            )
        if turn < apart:
            for k in range(kept):
                chosen[k] = kept + k if young_score[k] < score[k] else k
        else:
            _merged(score, young_score, chosen)
        for k in range(kept):
            _copied(old[k], pool[k])
            old_radius[k], old_score[k] = radius[k], score[k]
        for k in range(kept):
            taken = chosen[k]
            if taken < kept:
                _copied(pool[k], old[taken])
                radius[k], score[k] = old_radius[taken], old_score[taken]
            else:
                _copied(pool[k], young[taken - kept])
                radius[k], score[k] = young_radius[taken - kept], young_score[taken - kept]


@compiled
def _rounds_all(  # type: ignore[no-untyped-def]
    at, r, first, sizes, radius, score, pressure, kept, rounds, apart, children, sift_steps, round_steps, picks, spots
):
    for b in range(0, len(sizes), kept):
        begin, n = first[b], sizes[b]
        own = np.empty((kept, 2, n))
        for k in range(kept):
            _copied(own[k], at[:, begin + k * n : begin + (k + 1) * n])
        _rounds_one(
            own, r[begin : begin + n], radius[b : b + kept], score[b : b + kept], pressure[b], rounds, apart, children,
            sift_steps, round_steps, picks, spots,
        )  # fmt: skip
        for k in range(kept):
            _copied(at[:, begin + k * n : begin + (k + 1) * n], own[k])


def relax(
    at: Floats, r: Floats, first: Ints, sizes: Ints, radius: Floats, pressure: Floats, steps: int, harden: int
) -> tuple[Floats, Floats]:
    """See packing_search.Engine."""
    if max(sizes) > EVERY_PAIR_UP_TO:
        return packing_plain.relax(at, r, first, sizes, radius, pressure, steps, harden)
    ended, score = _relax_all(at, r, first, sizes, radius, pressure, steps, harden)
    return ended, score


def rounds(
    at: Floats, r: Floats, first: Ints, sizes: Ints, radius: Floats, score: Floats, pressure: Floats, effort: Effort
) -> None:
    """See packing_search.Engine."""
    if max(sizes) > EVERY_PAIR_UP_TO:
        packing_plain.rounds(at, r, first, sizes, radius, score, pressure, effort)
        return
    picks, spots = chances()
    _rounds_all(
        at, r, first, sizes, radius, score, pressure, effort.kept, effort.rounds, effort.apart, effort.children,
        effort.sift_steps, effort.round_steps, picks, spots,
    )  # fmt: skip
