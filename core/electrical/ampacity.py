"""What a conductor may carry for ever: table, ambient, grouping, covered length. Each factor keeps its name.

Nothing is ever interpolated upwards: a section between two rows takes the lower row, an insulation temperature between
two columns the cooler column.
"""

from functools import lru_cache
from itertools import pairwise
from math import isfinite, sqrt
from typing import Literal

import msgspec

from core.electrical.conductors import awg_section_mm2
from core.electrical.tables import number, read_table

AmpacityTableId = Literal["cfr183", "iso10133", "nec310_16", "ac43_13", "ac43_13_free"]
GroupingTableId = Literal[
    "cfr", "nec", "bs7671_bunched", "bs7671_layer", "mil5088b",
    "mil5088l_20", "mil5088l_40", "mil5088l_60", "mil5088l_80", "mil5088l_100",
]  # fmt: skip
#: The name of a grouping that follows the curves by what is in use in each bundle.
BY_LOADING = "mil5088l"
#: The curves of MIL-W-5088L: per cent of the bundle's capacity in use.
MIL_CURVES = (20, 40, 60, 80, 100)
CoveredEdition = Literal["1992", "2008"]

#: A catalogue's 2.08 mm2 is the table's 14 AWG (2.081 mm2): nominal sections are rounded.
_ROUNDING = 1 - 2e-3


class Factor(msgspec.Struct, frozen=True):
    """One factor of a derated ampacity, for show: ``Factor("grouping", 0.6, "5 loaded conductors, NEC")``."""

    name: str
    value: float
    note: str = ""


class Base(msgspec.Struct, frozen=True):
    """A value out of an ampacity table. `insulation_c` is the column's: the ambient factor is counted from it."""

    ampacity_a: float
    insulation_c: float
    row: str


class AmpacityTable(msgspec.Struct, frozen=True):
    """Amperes by section (rows, ascending) and insulation temperature (columns, ascending); None where it has no value.

    `already_grouped`: the table is for wires in a bundle, so no grouping factor comes on top.
    """

    id: str
    title: str
    base_c: float
    columns_c: tuple[float, ...]
    rows: tuple[tuple[str, float, tuple[float | None, ...]], ...]
    source: str
    known: Literal["read", "memory"]
    already_grouped: bool = False

    def base(self, section_mm2: float, insulation_c: float) -> Base | None:
        """The table's value for a section, without factors; None where the table says nothing (too thin, too cool)."""
        best: Base | None = None
        column = max((i for i, c in enumerate(self.columns_c) if c <= insulation_c), default=None)
        if column is None:
            return None
        for row, row_mm2, values in self.rows:
            if row_mm2 * _ROUNDING > section_mm2:
                break
            value = values[column]
            if value is not None:
                best = Base(value, self.columns_c[column], row)
        return best


class FactorTable(msgspec.Struct, frozen=True):
    """A factor by a number (conductors together, millimetres covered).

    `points` rise in their number and fall in their factor. Between two points the factor is that of the next one
    (`linear` False) or on the line between (`linear` True). Beyond the last point a stepped table goes on as
    1/sqrt(n), that is with the heat of the whole bundle held constant (derived, no source); a linear one stays.
    """

    id: str
    title: str
    points: tuple[tuple[float, float], ...]
    linear: bool
    source: str
    known: str
    #: From this number on the factors are from memory; None where none is.
    memory_from: float | None = None

    def told(self, n: float) -> str:
        """The table's title as it is shown beside its factor for n."""
        from_memory = self.memory_from is not None and n >= self.memory_from
        return self.title + (" (from memory)" if from_memory else "")

    def at(self, n: float) -> float:
        """The factor for n; 1.0 or the first point's below the table. Raises ValueError for a negative or no number."""
        if not (isfinite(n) and n >= 0):
            raise ValueError(f"{self.title}: {n} is no count")
        before: tuple[float, float] | None = None
        for x, factor in self.points:
            if n <= x:
                if not self.linear or before is None:
                    return factor
                return before[1] + (factor - before[1]) * (n - before[0]) / (x - before[0])
            before = (x, factor)
        last_n, last = self.points[-1]
        return last if self.linear else last * sqrt(last_n / n)


_TABLES: dict[str, tuple[str, str, float, dict[str, float], Literal["read", "memory"], bool]] = {
    # id: (file, title, ambient of the table, column -> insulation temperature, known, already grouped)
    "cfr183": (
        "ampacity_33cfr183", "33 CFR 183.425 Table 5", 30.0,
        {"A_60C": 60, "A_75C": 75, "A_80C": 80, "A_90C": 90, "A_105C": 105, "A_125C": 125, "A_200C": 200},
        "read", False,
    ),
    "iso10133": (
        "ampacity_iso10133", "ISO 10133 Annex A", 30.0,
        {"A_60C": 60, "A_70C": 70, "A_85_90C": 85, "A_105C": 105, "A_125C": 125, "A_200C": 200}, "memory", False,
    ),
    "nec310_16": (
        "ampacity_nec310_16", "NEC Table 310.16", 30.0, {"A_60C": 60, "A_75C": 75, "A_90C": 90}, "read", False,
    ),
    "ac43_13": (
        "ampacity_ac43_13", "FAA AC 43.13-1B Table 11-9", 70.0, {"A_105C": 105, "A_150C": 150, "A_200C": 200},
        "read", True,
    ),
    "ac43_13_free": (
        "ampacity_ac43_13", "FAA AC 43.13-1B Table 11-9 taken back to free air (derived)", 70.0,
        {"A_105C": 105, "A_150C": 150, "A_200C": 200}, "memory", False,
    ),
}  # fmt: skip
#: What Table 11-9 has in it: 33 wires or more at 20 % loading (0.52 from memory, the circular's first example), from
#: size 8 on 9 wires (0.775 of the curve, read), and 60,000 ft (0.79, from memory).
_IN_11_9, _IN_11_9_HEAVY, _ALTITUDE_11_9 = 0.52, 0.775, 0.79
#: Feet above the sea and the factor on free-air ampacity, FAA AC 43.13-1B figure 11-5 (from memory).
_ALTITUDE = ((0.0, 1.0), (20_000.0, 0.91), (60_000.0, 0.79))
_M_PER_FT = 0.3048


def _row_mm2(row: dict[str, str]) -> tuple[str, float]:
    if "area_mm2" in row:
        return f"{row['area_mm2']} mm2", float(row["area_mm2"])
    size = row.get("awg") or row["size"]
    if size.isdecimal() and int(size) >= 250:  # kcmil in the NEC
        return f"{size} kcmil", int(size) * 1000 * 5.067075e-4
    if "cmil" in row:  # the handbook's conductors are a little thicker than the gauge
        return f"{size} AWG", max(float(row["cmil"]) * 5.067075e-4, awg_section_mm2(size))
    return f"{size} AWG", awg_section_mm2(size)


@lru_cache(maxsize=8)
def ampacity_table(table_id: str) -> AmpacityTable:
    """The table of that id (`AmpacityTableId`). Raises ValueError for an unknown one."""
    try:
        file, title, base_c, columns, known, grouped = _TABLES[table_id]
    except KeyError:
        raise ValueError(f"no ampacity table {table_id!r}; expected one of {', '.join(_TABLES)}") from None
    table = read_table(file)
    rows = []
    for row in table.rows:
        name, mm2 = _row_mm2(dict(row))
        in_bundle = 1.0
        if table_id == "ac43_13_free":
            heavy = mm2 >= awg_section_mm2("8") * _ROUNDING
            in_bundle = _ALTITUDE_11_9 * (_IN_11_9_HEAVY if heavy else _IN_11_9)
        amps = (number(row[column]) for column in columns)
        rows.append((name, mm2, tuple(a / in_bundle if a is not None else None for a in amps)))
    rows.sort(key=lambda r: r[1])
    return AmpacityTable(table_id, title, base_c, tuple(columns.values()), tuple(rows), table.source, known, grouped)


@lru_cache(maxsize=16)
def grouping_table(table_id: str) -> FactorTable:
    """Factor by the number of loaded conductors (BS 7671: circuits) together. Raises ValueError for an unknown id.

    ``mil5088b`` is read to 5 wires only. The MIL-W-5088L curves also ask how much of the bundle's capacity is in
    use: that share is the end of their id (``mil5088l_40``), see `mil_grouping_factor`.
    """
    table = read_table("bundle_factors")
    if table_id in ("mil5088l_20", "mil5088l_40", "mil5088l_60", "mil5088l_80", "mil5088l_100"):
        loading = int(table_id.removeprefix("mil5088l_"))
        curve = tuple((float(n), _mil_curves()[n, loading]) for n in range(1, 20))
        title = f"MIL-W-5088L, {loading} % of the bundle's capacity in use"
        return FactorTable(table_id, title, curve, False, table.source, "read")
    rows = [row for row in table.rows if row["table"] == table_id and not row["loading_percent"]]
    if not rows:
        ids = sorted({row["table"] for row in table.rows if not row["loading_percent"]})
        raise ValueError(f"no grouping table {table_id!r}; expected one of {', '.join(ids)}")
    points = [(float(row["n_max"]), float(row["factor"])) for row in rows]
    if float(rows[0]["n_min"]) > 1:
        points.insert(0, (1.0, 1.0))
    # The 33 CFR note was read for 3 to 24 conductors; its last row is from memory.
    memory_from = 25.0 if "25+ = memory" in rows[0]["known"] else None
    return FactorTable(table_id, rows[0]["source"], tuple(points), False, table.source, rows[0]["known"], memory_from)


@lru_cache(maxsize=1)
def _mil_curves() -> dict[tuple[int, int], float]:
    rows = (row for row in read_table("bundle_factors").rows if row["table"] == "mil5088l")
    return {(int(row["n_min"]), int(row["loading_percent"])): float(row["factor"]) for row in rows}


def mil_grouping_factor(wires: int, loading_percent: float) -> float:
    """MIL-W-5088L / AS50881 bundle curve (read, to 19 wires): next higher loading curve, never between upwards.

    `loading_percent` is the share of the bundle's whole capacity in use, 0..100. Beyond 19 wires the 19-wire value
    falls as 1/sqrt(n) (derived, no source). Raises ValueError outside that.
    """
    if wires < 1 or not 0 <= loading_percent <= 100:
        raise ValueError(f"{wires} wires at {loading_percent} % loading; expected at least one and 0..100 %")
    curve = next(c for c in MIL_CURVES if loading_percent <= c)
    factor = _mil_curves()[min(wires, 19), curve]
    return factor * sqrt(19 / wires) if wires > 19 else factor


def mil_curve(wires: int, drawn_a: float, free_air_a: float) -> int:
    """The curve that a bundle is on: the least loading in per cent at which its currents together are within that share
    of what its wires may carry together on that curve; 100 beyond the last.

    `drawn_a` is the sum of the currents, `free_air_a` that of the ampacities before the bundle's factor. The circular
    says "at most 20 per cent of the harness capacity" and counts the capacity with the factor in it (example 1 of
    AC 43.13-1B, from memory: 0.20 x the sum of derated ampacities).
    """
    for curve in MIL_CURVES:
        if drawn_a <= curve / 100 * mil_grouping_factor(wires, curve) * free_air_a * (1 + 1e-12):
            return curve
    return MIL_CURVES[-1]


def altitude_factor(altitude_m: float) -> float:
    """Factor on a free-air ampacity for thin air, lines between 0, 20,000 and 60,000 ft (from memory).

    1 at sea level and below; beyond the last point its value falls no further. Raises ValueError for no number.
    """
    if not isfinite(altitude_m):
        raise ValueError(f"an altitude of {altitude_m} m")
    feet = max(altitude_m / _M_PER_FT, 0.0)
    for (low_ft, low), (high_ft, high) in pairwise(_ALTITUDE):
        if feet <= high_ft:
            return low + (high - low) * (feet - low_ft) / (high_ft - low_ft)
    return _ALTITUDE[-1][1]


@lru_cache(maxsize=4)
def covered_table(edition: str = "1992") -> FactorTable:
    """Factor by the length in mm wholly surrounded by heat insulation, BS 7671 (from memory; lines between rows).

    Raises ValueError for an unknown edition (`CoveredEdition`).
    """
    table = read_table("covered_length")
    points = tuple((float(r["covered_mm"]), float(r["factor"])) for r in table.rows if r["edition"] == edition)
    if not points:
        raise ValueError(f"no covered-length table of edition {edition!r}; expected 1992 or 2008")
    return FactorTable(edition, f"BS 7671 covered length, edition {edition}", points, True, table.source, "memory", 0.0)


@lru_cache(maxsize=1)
def _engine_space() -> dict[float, float]:
    rows = (r for r in read_table("ambient_factors").rows if r["source"].startswith("33 CFR 183.425 Table 5 note 1"))
    return {float(row["insulation_C"]): float(row["factor"]) for row in rows}


def ambient_factor(ambient_c: float, insulation_c: float, base_c: float = 30.0) -> float:
    """sqrt((Tins - Tamb) / (Tins - Tbase)); 0 where the ambient is at or above the insulation's temperature.

    Fits every printed ambient table to 0.01 from its base upwards. Above 1 where it is cooler than the base: the NEC
    prints that too, BS 7671 only half of it.
    Raises ValueError when the insulation is not rated above the base.
    """
    if insulation_c <= base_c:
        raise ValueError(f"insulation for {insulation_c} C under a table for {base_c} C ambient")
    return sqrt(max(insulation_c - ambient_c, 0.0) / (insulation_c - base_c))


def engine_space_factor(insulation_c: float) -> float:
    """33 CFR 183.425 Table 5 note 1 at 50 C (0.85 at 105 C read, the rest memory), never above the closed form.

    The note prints 1.00 for 200 C insulation where the closed form gives 0.94, and 0.85 for 105 C where it gives 0.856.
    """
    closed = ambient_factor(50.0, insulation_c)
    return min(closed, _engine_space().get(insulation_c, closed))
