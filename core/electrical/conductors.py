"""Sections and resistances of copper conductors: AWG, IEC 60228, vehicle cable.

A section is mapped to another system never to a smaller one.
"""

from collections.abc import Iterable
from functools import lru_cache
from math import isfinite
from typing import Literal

from core.electrical.tables import number, read_table
from core.units import MM2_PER_CMIL, awg_diameter_mm, awg_section_mm2, gauge_name, gauge_number

__all__ = [
    "COPPER_G_PER_CM3", "COPPER_OHM_MM2_PER_KM", "MM2_PER_CMIL", "SOLD_GAUGES", "Strands", "awg_diameter_mm",
    "awg_for_section", "awg_r20_ohm_per_km", "awg_section_mm2", "cmil", "copper_g_per_m", "gauge_name", "gauge_number",
    "iec60228_r20_ohm_per_km", "next_not_smaller", "resistance_ohm_per_m", "sae_section_mm2", "trade_size_section_mm2",
    "vehicle_cable_od_mm", "vehicle_cable_r20_ohm_per_km",
]  # fmt: skip

#: Annealed copper at 20 C (IACS; IEC 60028), ohm mm2/km; read on a page on IEC 60228.
COPPER_OHM_MM2_PER_KM = 17.241
#: Density of annealed copper, g/cm3 (IEC 60028, from memory).
COPPER_G_PER_CM3 = 8.89
#: Inferred zero-resistance temperature of copper, -234.5 C (FAA AC 43.13-1B para 11-66d, read).
_COPPER_ZERO_C = 234.5

#: Gauges that are sold, thin to thick (common practice, no source).
SOLD_GAUGES: tuple[str, ...] = (
    "30", "28", "26", "24", "22", "20", "18", "16", "14", "12", "10", "8", "6", "4", "2", "1",
    "1/0", "2/0", "3/0", "4/0",
)  # fmt: skip

Strands = Literal["class5_plain", "class5_tinned", "class1_2_plain", "class2_tinned"]


def awg_for_section(section_mm2: float, gauges: Iterable[str] = SOLD_GAUGES) -> str | None:
    """The thinnest of `gauges` that is not smaller than the section; None when even the thickest is smaller."""
    if not (isfinite(section_mm2) and section_mm2 > 0):
        raise ValueError(f"a section must be a positive number of mm2, not {section_mm2}")
    # Catalogues print 2.08 or 53.5 mm2 for gauges that are 2.081 and 53.475: half a per mille is rounding, not copper.
    enough = [g for g in gauges if awg_section_mm2(g) >= section_mm2 * (1 - 5e-4)]
    return min(enough, key=awg_section_mm2, default=None)


def next_not_smaller(section_mm2: float, sections_mm2: Iterable[float]) -> float | None:
    """The smallest of the sections that is not smaller than the one given; None when all are."""
    return min((s for s in sections_mm2 if s >= section_mm2), default=None)


def cmil(section_mm2: float) -> float:
    """Section in circular mils."""
    return section_mm2 / MM2_PER_CMIL


def resistance_ohm_per_m(r20_ohm_per_km: float, temperature_c: float) -> float:
    """Resistance of copper at a conductor temperature: R20 (234.5 + T) / 254.5 (AC 43.13-1B para 11-66d, read).

    Raises ValueError below absolute zero or above copper's 300 C of any cable, where the line no longer holds.
    """
    if not -200 <= temperature_c <= 300:
        raise ValueError(f"a conductor at {temperature_c} C is outside -200..300 C")
    return r20_ohm_per_km / 1000 * (_COPPER_ZERO_C + temperature_c) / (_COPPER_ZERO_C + 20)


def awg_r20_ohm_per_km(gauge: str, lay_factor: float = 1.0) -> float:
    """Resistance at 20 C of solid copper of that gauge, times the lay factor of a stranded one.

    Lay factor 1.02-1.04 for class 2, 1.05-1.08 for fine strands (read on a page on IEC 60228).
    """
    return COPPER_OHM_MM2_PER_KM / awg_section_mm2(gauge) * lay_factor


@lru_cache(maxsize=8)
def iec60228_r20_ohm_per_km(strands: Strands = "class5_plain") -> dict[float, float]:
    """Largest resistance at 20 C by nominal section in mm2 (IEC 60228, read). Do not change the result."""
    return {float(row["area_mm2"]): float(row[strands]) for row in read_table("iec60228").rows}


@lru_cache(maxsize=1)
def vehicle_cable_r20_ohm_per_km() -> dict[float, float]:
    """Largest resistance at 20 C of thin-wall vehicle cable by section in mm2 (ISO 6722-1, from memory)."""
    return {float(row["area_mm2"]): float(row["r20_max_mohm_per_m"]) for row in read_table("iso6722_od").rows}


@lru_cache(maxsize=1)
def vehicle_cable_od_mm() -> dict[float, float]:
    """Largest outside diameter of thin-wall vehicle cable by section in mm2 (ISO 6722-1, from memory)."""
    return {float(row["area_mm2"]): float(row["od_max_mm"]) for row in read_table("iso6722_od").rows}


def sae_section_mm2(gauge: str) -> float:
    """Copper section of SAE (vehicle) cable of that number: 3 to 12 % less than AWG (read on two dealer tables).

    Raises ValueError for a number the table does not hold.
    """
    wanted = gauge_name(gauge_number(gauge))
    for row in read_table("sae_vs_awg_cmil").rows:
        if row["size"] == wanted:
            return float(row["sae_cmil"]) * MM2_PER_CMIL
    sizes = ", ".join(row["size"] for row in read_table("sae_vs_awg_cmil").rows)
    raise ValueError(f"no SAE section is known for number {wanted}; expected one of {sizes}")


def trade_size_section_mm2(trade_mm: float) -> float | None:
    """Copper section behind an Australian "auto cable" size: "4 mm" cable is 4 mm over all and holds 1.84 mm2.

    None when no such trade size is known. Read on three pages.
    """
    for row in read_table("au_auto_cable").rows:
        if number(row["auto_size_mm"]) == trade_mm:
            return float(row["area_mm2"])
    return None


def copper_g_per_m(section_mm2: float) -> float:
    """Mass of the copper alone."""
    return section_mm2 * COPPER_G_PER_CM3
