"""Volts lost in one conductor, the current of a load of constant power, and how warm a conductor gets."""

from math import isfinite, sqrt


def conductor_drop_v(current_a: float, length_mm: float, r_ohm_per_m: float) -> float:
    """Volts lost in one conductor over its one-way length, by Ohm's law; feed and return are two conductors.

    Without current nothing is lost, whatever the resistance. Raises ValueError for a negative or infinite current or
    length.
    """
    for name, value in (("current", current_a), ("length", length_mm)):
        if not (isfinite(value) and value >= 0):
            raise ValueError(f"{name} is {value}; expected a finite number, not negative")
    return current_a * length_mm / 1000 * r_ohm_per_m if current_a else 0.0


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


def conductor_temperature_c(ambient_c: float, rated_c: float, current_a: float, allowed_a: float) -> float:
    """Estimate T2 = T1 + (TR - T1) sqrt(I2 / Imax) (AC 43.13-1B para 11-66: terms read, radical from memory).

    The circular itself calls it conservative. Raises ValueError for an allowed current that is not above zero.
    """
    if allowed_a <= 0 or current_a < 0:
        raise ValueError(f"{current_a} A of {allowed_a} A allowed gives no temperature")
    return ambient_c + (rated_c - ambient_c) * sqrt(current_a / allowed_a)
