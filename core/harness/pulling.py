"""How hard a bundle pulls through a duct or a hole. N, kg, mm, degrees.

An estimate: the capstan relation for every bend, T_out = T_in e^(mu theta) (Euler and Eytelwein; cable makers' pulling
guides use it), and weight times friction along the straights. Jamming, sharp edges and a bundle wider than its hole are
not in it.
"""

import math
from collections.abc import Sequence

STANDARD_GRAVITY = 9.80665
#: Friction of insulation in plastic conduit without lubricant (cable makers' guides, 0.35 to 0.5, memory); of cloth
#: tape, and of tape whose glue comes through (our choice).
FRICTION, FRICTION_CLOTH, FRICTION_TACKY = 0.4, 0.45, 0.6
#: Pull that copper conductors take (cable makers' guides, 50 N/mm2, memory), and what a hand gives without tools
#: (common practice, no source).
COPPER_N_PER_MM2 = 50.0
HAND_N = 300.0


def pull_force_n(
    legs_mm: Sequence[float], turns_deg: Sequence[float], mass_g_per_m: float, friction: float, start_n: float = 0.0
) -> float:
    """Pull at the end of a duct of straight legs with a turn between each two, all of it level (the worst case).

    Raises ValueError unless there is one leg more than turns.
    """
    if len(legs_mm) != len(turns_deg) + 1:
        raise ValueError(f"{len(legs_mm)} legs and {len(turns_deg)} turns; expected one leg more than turns")
    weight_n_per_mm = mass_g_per_m * 1e-6 * STANDARD_GRAVITY
    force = start_n
    for k, leg in enumerate(legs_mm):
        force += friction * weight_n_per_mm * leg
        if k < len(turns_deg):
            force *= math.exp(friction * math.radians(abs(turns_deg[k])))
    return force


def pull_limit_n(copper_mm2: float) -> float:
    """What may be pulled: by the copper, and by a hand."""
    return min(copper_mm2 * COPPER_N_PER_MM2, HAND_N)


def slides_through(tight_mm: float, hole_mm: float) -> bool:
    """Whether a bundle can pass at all: packed as tight as it goes, with its wrap, it is no thicker than the hole."""
    return tight_mm <= hole_mm
