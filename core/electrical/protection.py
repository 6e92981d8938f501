"""Fuses and breakers: standard ratings, the rating for a current, interrupting capacity."""

from collections.abc import Iterable
from functools import lru_cache
from math import inf, isfinite

import msgspec

from core.electrical.tables import number, read_table
from core.units import awg_section_mm2


class FuseFamily(msgspec.Struct, frozen=True):
    """Fuses that fit one holder. `volts_dc_max` is None where no source gives it. `ratings_a` rise."""

    id: str
    title: str
    ratings_a: tuple[float, ...]
    volts_dc_max: float | None
    known: str
    colours: tuple[str, ...]


#: No rule limits the fuse: more than any fuse is rated.
_NO_LIMIT_A = 1e6


class FuseTable(msgspec.Struct, frozen=True):
    """The largest fuse allowed by section, whatever the ampacity: (section, amperes), ascending.

    Sections from `free_mm2` on are not in the table: there the ampacity alone decides.
    """

    id: str
    title: str
    rows: tuple[tuple[float, float], ...]
    free_mm2: float
    source: str
    known: str

    def largest_a(self, section_mm2: float) -> float:
        """The row of the section or the next thinner one; 0 below the table."""
        if section_mm2 >= self.free_mm2 * (1 - 2e-3):
            return _NO_LIMIT_A
        return max((a for row_mm2, a in self.rows if row_mm2 * (1 - 2e-3) <= section_mm2), default=0.0)


@lru_cache(maxsize=4)
def fuse_table(table_id: str) -> FuseTable:
    """``nec551``: NEC (2008) Table 551.10(E)(1), low voltage in recreational vehicles (values from memory).

    Raises ValueError for an unknown id.
    """
    if table_id != "nec551":
        raise ValueError(f"no fuse table {table_id!r}; expected nec551")
    table = read_table("nec551_low_voltage_ocp")
    rows = sorted((awg_section_mm2(row["awg"]), float(row["amps"])) for row in table.rows)
    free_mm2 = awg_section_mm2("8")
    return FuseTable(table_id, "NEC 551.10(E)(1)", tuple(rows), free_mm2, table.source, "memory")


@lru_cache(maxsize=1)
def families() -> dict[str, FuseFamily]:
    """All families by id (``blade_regular``, ``class_t``, ``breaker`` ...). Do not change the result."""
    rows: dict[str, list[dict[str, str]]] = {}
    for row in read_table("fuse_ratings").rows:
        rows.setdefault(row["family"], []).append(dict(row))
    found = {}
    for family, members in rows.items():
        members.sort(key=lambda row: float(row["amps"]))
        known = "; ".join(dict.fromkeys(row["known"] for row in members))
        found[family] = FuseFamily(
            family,
            members[0]["title"],
            tuple(float(row["amps"]) for row in members),
            number(members[0]["volts_dc_max"]),
            known,
            tuple(row["colour"] for row in members),
        )
    return found


def family_words(family: str) -> str:
    """A family as it is asked for over the counter, without standard and type: "blade, regular"; an unknown one as it
    is written."""
    known = families().get(family)
    return known.title.partition(" (")[0] if known is not None else family.replace("_", " ")


def ratings(family: str) -> tuple[float, ...]:
    """The standard ratings of a family, ascending. Raises ValueError for an unknown family."""
    try:
        return families()[family].ratings_a
    except KeyError:
        raise ValueError(f"no fuse family {family!r}; expected one of {', '.join(families())}") from None


def smallest_of_at_least(current_a: float, ratings_a: Iterable[float]) -> float | None:
    """The smallest rating that is not below the current; None when all are. Raises ValueError for no current."""
    if not (isfinite(current_a) and current_a >= 0):
        raise ValueError(f"a fuse for {current_a} A; expected a finite current, not negative")
    # 1.25 x 12 A must find the 15 A fuse whatever the last bit says.
    return min((rating for rating in ratings_a if rating >= current_a * (1 - 1e-12)), default=None)


def wanted_rating_a(current_a: float, factor: float = 1.25, temperature_factor: float = 1.0) -> float:
    """The rating a running current asks for: factor x current / temperature factor of the fuse.

    1.25 is that of a continuous load, of 3 h or more (NEC 210.19 / 210.20; read: public guide, definition memory).
    Raises ValueError for a negative current, or a factor that is not above zero.
    """
    if not (current_a >= 0 and 0 < factor < inf and 0 < temperature_factor < inf):
        raise ValueError(f"{current_a} A x {factor} / {temperature_factor} gives no rating")
    return factor * current_a / temperature_factor


class Interrupting(msgspec.Struct, frozen=True):
    """The current a fuse can safely break at a DC voltage, and how that is known."""

    capacity_a: float
    volts_dc: float
    known: str


def interrupting(family: str, voltage_v: float) -> Interrupting | None:
    """Interrupting capacity at the next higher tabled voltage; None when the table has none so high."""
    found = [
        Interrupting(float(row["kA"]) * 1000, float(row["volts"]), row["known"])
        for row in read_table("fuse_interrupting").rows
        if row["family"] == family and float(row["volts"]) >= voltage_v
    ]
    return min(found, key=lambda row: row.volts_dc, default=None)
