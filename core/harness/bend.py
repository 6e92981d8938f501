"""Bends: the inside radius a bundle needs and the radius that fits a drawn corner. mm and degrees."""

import math
from collections.abc import Sequence


def required_inside_radius_mm(
    bundle_mm: float, largest_wire_mm: float, multiple_bundle: float, multiple_wire: float
) -> float:
    """The larger of the two rules: a multiple of the bundle and a multiple of its largest wire or cable.

    Both exist side by side: FAA practice (AC 43.13-1B chapter 11) counts from the bundle, SAE AS50881 from the largest
    wire; a rule that is not used has multiple 0.
    """
    return max(bundle_mm * multiple_bundle, largest_wire_mm * multiple_wire)


def fillet_radius_available_mm(segment_a_mm: float, segment_b_mm: float, turn_deg: float) -> float:
    """Largest radius of a centre line that rounds a corner inside half of each neighbouring segment.

    Tangent length of an arc of radius R that turns by t is R tan(t / 2). No turn: infinite; back on itself: 0.
    """
    turn = abs(turn_deg)
    if turn < 1e-9:
        return math.inf
    if turn >= 180.0:
        return 0.0
    return 0.5 * min(segment_a_mm, segment_b_mm) / math.tan(math.radians(turn) / 2.0)


def inside_radius_mm(centre_line_radius_mm: float, bundle_mm: float) -> float:
    """Radius on the inner side of a bundle whose middle runs on `centre_line_radius_mm`; 0 is a sharp corner."""
    return max(0.0, centre_line_radius_mm - bundle_mm / 2.0)


def corner_shortening_mm(radius_mm: float, turn_deg: float) -> float:
    """How much shorter the rounded corner is than the sharp one: 2 R tan(t / 2) - R t. Raises ValueError at 180
    degrees, where no arc joins the two segments."""
    turn = math.radians(abs(turn_deg))
    if turn >= math.pi:
        raise ValueError(f"a turn of {turn_deg!r} degrees cannot be rounded; expected less than 180")
    return radius_mm * (2.0 * math.tan(turn / 2.0) - turn)


def outside_of_bend_mm(radius_mm: float, turn_deg: float, bundle_mm: float) -> float:
    """How much longer the outermost wire of a bend is than the two sharp legs that are measured: half the bundle times
    the turn, less what rounding the middle on `radius_mm` saves. Not below 0: a wide bend is shorter than its legs, but
    nobody cuts a wire short for that. A bend that turns back on itself (180 degrees) saves nothing."""
    turn = math.radians(min(abs(turn_deg), 180.0))
    saved = corner_shortening_mm(radius_mm, turn_deg) if turn < math.pi else 0.0
    return max(0.0, 0.5 * bundle_mm * turn - saved)


def turn_angles_deg(points_mm: Sequence[Sequence[float]]) -> tuple[float, ...]:
    """Turn at every inner point of a polyline in 2D or 3D, 0 straight on, 180 back on itself.

    A point that repeats the one before has no direction of its own and counts as 0; its turn is at the last of them.
    """
    turns: list[float] = []
    before: tuple[float, ...] | None = None
    for k in range(1, len(points_mm)):
        step = tuple(b - a for a, b in zip(points_mm[k - 1], points_mm[k], strict=True))
        length = math.hypot(*step)
        direction = tuple(v / length for v in step) if length > 0.0 else None
        if k > 1:
            turns.append(_angle_deg(before, direction) if before and direction else 0.0)
        before = direction or before
    return tuple(turns)


def _angle_deg(a: tuple[float, ...], b: tuple[float, ...]) -> float:
    """Angle between unit vectors, exact near 0 and 180 too, where the arc cosine is not (Kahan's form)."""
    apart = math.hypot(*(p - q for p, q in zip(a, b, strict=True)))
    along = math.hypot(*(p + q for p, q in zip(a, b, strict=True)))
    return math.degrees(2.0 * math.atan2(apart, along))
