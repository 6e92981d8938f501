"""How thick a bundle is and what fits into a bore. Diameters in mm, areas in mm2."""

import math
from collections.abc import Sequence

from core.geometry.packing import Quality, pack

# NEC Chapter 9 Table 1, percent of the bore's cross-section (read in four copies).
FILL_LIMITS_PERCENT = {1: 53.0, 2: 31.0}
FILL_LIMIT_MANY_PERCENT = 40.0
# NEC Chapter 9 Table 1, informational note 2: three conductors of one size can jam between these ratios of bore to
# outside diameter (read).
JAM_RATIO_LOW, JAM_RATIO_HIGH = 2.8, 3.2


def tight_diameter_mm(od_mm: Sequence[float], quality: Quality = "quick") -> float:
    """Smallest circle found around wires of these outside diameters: the best layout of a search, not a proven bound.

    Refined, long searches get about 1 % below it, for few wires nothing does; quick, some 3 % (core.geometry.packing,
    whose `lower_bound_mm` is proven). Raises ValueError for a diameter that is not above 0.
    """
    return pack(od_mm, quality).diameter_mm


def laid_diameter_mm(tight_mm: float, lay_factor: float) -> float:
    """Diameter as it lies by hand: wires cross and leave gaps. `lay_factor` is at least 1 (ValueError)."""
    if not lay_factor >= 1.0 or math.isinf(lay_factor):
        raise ValueError(f"lay factor {lay_factor!r}; a bundle is never thinner than packed tight: expected 1 or more")
    return tight_mm * lay_factor


def lay_factor_measured(tight_mm: float, measured_mm: float) -> float:
    """Lay factor of the person who made a bundle that measures `measured_mm`; never below 1."""
    if not (tight_mm > 0.0 and measured_mm > 0.0):
        raise ValueError(f"bundle of {tight_mm!r} mm tight and {measured_mm!r} mm measured; expected both above 0")
    return max(1.0, measured_mm / tight_mm)


def circle_area_mm2(diameter_mm: float) -> float:
    return math.pi / 4.0 * diameter_mm * diameter_mm


def fill_percent(od_mm: Sequence[float], bore_area_mm2: float) -> float:
    """Share of the bore's cross-section that the wires take. Raises ValueError for a bore without area."""
    if not bore_area_mm2 > 0.0:
        raise ValueError(f"bore of {bore_area_mm2!r} mm2; expected an area above 0")
    return 100.0 * sum(circle_area_mm2(d) for d in od_mm) / bore_area_mm2


def fill_limit_percent(wires: int) -> float:
    """Largest fill of a closed conduit for that many wires or cables (NEC Chapter 9 Table 1: 53, 31, 40 %)."""
    return FILL_LIMITS_PERCENT.get(max(wires, 1), FILL_LIMIT_MANY_PERCENT)


def conduit_bore_needed_mm(
    od_mm: Sequence[float], limit_percent: float | None = None, quality: Quality = "quick"
) -> float:
    """Smallest round bore that these wires may fill: to `limit_percent` (None: by their number) and not tighter than
    they pack at all. A bore in which three of them can jam is passed over for the next that cannot."""
    if not od_mm:
        return 0.0
    limit = fill_limit_percent(len(od_mm)) if limit_percent is None else limit_percent
    if not 0.0 < limit <= 100.0:
        raise ValueError(f"fill limit {limit!r} %; expected above 0 and at most 100")
    by_fill = math.sqrt(sum(d * d for d in od_mm) * 100.0 / limit)
    bore = max(by_fill, tight_diameter_mm(od_mm, quality))
    return JAM_RATIO_HIGH * sum(od_mm) / 3.0 if jams(od_mm, bore) else bore


def jams(od_mm: Sequence[float], bore_mm: float) -> bool:
    """Whether three wires can wedge side by side in the bore: ratio of bore to their mean diameter from 2.8 up to
    (not at) 3.2. The rule is for three wires of one size; alike is taken as within 10 % of their mean (common
    practice, no source)."""
    if len(od_mm) != 3:
        return False
    mean = sum(od_mm) / 3.0
    alike = all(abs(d - mean) <= 0.1 * mean for d in od_mm)
    return alike and JAM_RATIO_LOW * mean <= bore_mm < JAM_RATIO_HIGH * mean
