"""Volts lost in conductors, there and back, and the section that keeps within a limit.

Lengths are one-way lengths of single conductors; feed and return are two conductors that may differ in both length
and section.
"""

from collections.abc import Iterable
from math import inf, isfinite, sqrt

import msgspec

#: ABYC E-11: CM = K I L / E with L in feet there and back; 10.75 is copper at 29 C (read twice).
ABYC_K = 10.75
#: Copper's conductivity in the metric rule of thumb A = 2 L I / (kappa dU), m/(ohm mm2) (read: svb-media).
KAPPA_M_PER_OHM_MM2 = 56.0
_M_PER_FT = 0.3048


class Leg(msgspec.Struct, frozen=True):
    """One conductor on the way: its current, its one-way length, its resistance at working temperature."""

    current_a: float
    length_mm: float
    r_ohm_per_m: float


def conductor_drop_v(current_a: float, length_mm: float, r_ohm_per_m: float) -> float:
    """Volts lost in one conductor over its one-way length. Raises ValueError for negative or infinite numbers."""
    for name, value in (("current", current_a), ("length", length_mm), ("resistance", r_ohm_per_m)):
        if not (isfinite(value) and value >= 0):
            raise ValueError(f"{name} is {value}; expected a finite number, not negative")
    return current_a * length_mm / 1000 * r_ohm_per_m


def drop_v(current_a: float, feed: tuple[float, float], back: tuple[float, float]) -> float:
    """Volts lost in a feed and its return, each (one-way length in mm, ohm per metre)."""
    return conductor_drop_v(current_a, *feed) + conductor_drop_v(current_a, *back)


def source_to_load_drop_v(legs: Iterable[Leg]) -> float:
    """Volts lost from the source to the load and back: every feeder, branch and return conductor on the way."""
    return sum(conductor_drop_v(leg.current_a, leg.length_mm, leg.r_ohm_per_m) for leg in legs)


def percent(drop_volts: float, base_v: float) -> float:
    """The drop in per cent of the base voltage. Raises ValueError for a base that is not above zero."""
    if not (isfinite(base_v) and base_v > 0):
        raise ValueError(f"a drop cannot be a share of {base_v} V")
    return 100 * drop_volts / base_v


def constant_power_current_a(power_w: float, lowest_v: float, efficiency: float = 1.0) -> float:
    """The current of a load of constant power at its lowest working voltage: P / (efficiency x V).

    `power_w` is what comes out, `efficiency` above 0 and at most 1. Raises ValueError outside that.
    """
    if not (isfinite(power_w) and power_w >= 0):
        raise ValueError(f"a load of {power_w} W; expected a finite power, not negative")
    if not (isfinite(lowest_v) and lowest_v > 0):
        raise ValueError(f"a lowest working voltage of {lowest_v} V; expected one above zero")
    if not 0 < efficiency <= 1:
        raise ValueError(f"an efficiency of {efficiency}; expected one above 0 and at most 1")
    return power_w / (efficiency * lowest_v)


def highest_resistance_ohm_per_m(current_a: float, there_and_back_mm: float, limit_v: float) -> float:
    """The resistance per metre at which the limit is just met over conductors of one section; inf without current."""
    volts_per_ohm_per_m = conductor_drop_v(current_a, there_and_back_mm, 1.0)
    return limit_v / volts_per_ohm_per_m if volts_per_ohm_per_m > 0 else inf


def row_for_drop(
    current_a: float, there_and_back_mm: float, limit_v: float, r_ohm_per_m: tuple[float, ...]
) -> int | None:
    """The first row of a falling column of resistances that meets the limit; None when none does."""
    highest = highest_resistance_ohm_per_m(current_a, there_and_back_mm, limit_v)
    return next((row for row, r in enumerate(r_ohm_per_m) if r <= highest * (1 + 1e-12)), None)


def longest_one_way_mm(limit_v: float, current_a: float, r_ohm_per_m: float) -> float:
    """The longest single conductor within the limit; inf without current."""
    volts_per_mm = conductor_drop_v(current_a, 1.0, r_ohm_per_m)
    return limit_v / volts_per_mm if volts_per_mm > 0 else inf


def abyc_cmil(current_a: float, there_and_back_mm: float, limit_v: float, k: float = ABYC_K) -> float:
    """Circular mils by the boat formula CM = K I L / E, L in feet from the source to the load and back (read twice)."""
    if limit_v <= 0:
        raise ValueError(f"a drop limit of {limit_v} V; expected one above zero")
    return k * current_a * there_and_back_mm / 1000 / _M_PER_FT / limit_v


def metric_section_mm2(
    current_a: float, there_and_back_mm: float, limit_v: float, kappa_m_per_ohm_mm2: float = KAPPA_M_PER_OHM_MM2
) -> float:
    """Section by the metric rule A = L I / (kappa dU), L there and back (read: svb-media, there as 2 L)."""
    if limit_v <= 0:
        raise ValueError(f"a drop limit of {limit_v} V; expected one above zero")
    return current_a * there_and_back_mm / 1000 / (kappa_m_per_ohm_mm2 * limit_v)


def hot_length_ratio(conductor_c: float) -> float:
    """L2 / L1 for the same drop when copper is hot: 254.5 / (234.5 + T2) (AC 43.13-1B para 11-66d(4), read)."""
    return 254.5 / (234.5 + conductor_c)


def conductor_temperature_c(ambient_c: float, rated_c: float, current_a: float, allowed_a: float) -> float:
    """Estimate T2 = T1 + (TR - T1) sqrt(I2 / Imax) (AC 43.13-1B para 11-66: terms read, radical from memory).

    The circular itself calls it conservative. Raises ValueError for an allowed current that is not above zero.
    """
    if allowed_a <= 0 or current_a < 0:
        raise ValueError(f"{current_a} A of {allowed_a} A allowed gives no temperature")
    return ambient_c + (rated_c - ambient_c) * sqrt(current_a / allowed_a)
