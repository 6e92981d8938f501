"""How far one straight leg runs along another in space. mm and degrees."""

from collections.abc import Iterable
from math import cos, radians, sqrt

from core.geometry.foldout import Point3, dot, sub

#: Legs that are this nearly parallel keep one distance (square of the sine).
PARALLEL = 1e-12


def alongside(
    p: Point3, q: Point3, r: Point3, s: Point3, reach_mm: float, along_deg: float
) -> tuple[float, float, float] | None:
    """(from, to, nearest): where on the leg p-q, counted from p, the leg r-s lies square beside it within reach, and
    how near it comes there; None where it does not, or where the legs meet at `along_deg` or more, as at a crossing."""
    one, two = sub(q, p), sub(s, r)
    length, other = sqrt(dot(one, one)), sqrt(dot(two, two))
    if length <= 0.0 or other <= 0.0:
        return None
    d = (one[0] / length, one[1] / length, one[2] / length)
    e = (two[0] / other, two[1] / other, two[2] / other)
    cosine = dot(d, e)
    if abs(cosine) <= cos(radians(along_deg)):
        return None
    apart = sub(p, r)
    # The foot on the other leg at t along this one is u0 + cosine t; it has to lie on that leg.
    u0 = dot(apart, e)
    low, high = sorted(((0.0 - u0) / cosine, (other - u0) / cosine))
    low, high = max(0.0, low), min(length, high)
    # The square of the distance between t and its foot is a t2 + b t + c.
    a, b, c = 1.0 - cosine * cosine, 2.0 * (dot(apart, d) - u0 * cosine), dot(apart, apart) - u0 * u0
    if a > PARALLEL:
        room = b * b - 4.0 * a * (c - reach_mm * reach_mm)
        if room <= 0.0:
            return None
        half = sqrt(room) / (2.0 * a)
        low, high = max(low, -b / (2.0 * a) - half), min(high, -b / (2.0 * a) + half)
        at = min(max(-b / (2.0 * a), low), high)
    else:
        at = low
        if c > reach_mm * reach_mm:
            return None
    if high <= low:
        return None
    return low, high, sqrt(max(0.0, (a * at + b) * at + c))


def union_mm(stretches: Iterable[tuple[float, float]]) -> float:
    """Length of what stretches cover together."""
    total, end = 0.0, float("-inf")
    for low, high in sorted(stretches):
        total += max(0.0, high - max(low, end))
        end = max(end, high)
    return total
