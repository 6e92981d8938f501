"""What protects a bundle where it passes something: in words, and as the part and the length to buy."""

from dataclasses import dataclass
from math import ceil

from core.harness.crossing import edge_trim_length_mm, gland_for, grommet_for, hole_needed_mm, split_conduit_for
from core.model import ConduitKind, GrommetKind

#: Split conduit over a rib, wall or arch reaches this far beyond it on either side (mm; common practice, no source).
CONDUIT_BEYOND_MM = 50.0


@dataclass(frozen=True)
class Cover:
    """A remedy. `size_mm` is a hole's, a bore's or a strip's, `length_mm` how much of what is sold by length."""

    words: str
    kind: str = ""
    size_mm: float | None = None
    part: str = ""
    length_mm: float = 0.0


@dataclass(frozen=True)
class Parts:
    """The catalogue's parts that protect."""

    grommets: tuple[GrommetKind, ...]
    conduits: tuple[ConduitKind, ...]


def hole_cover(parts: Parts, bundle_mm: float, sheet_mm: float, outside: bool, alone: bool = False) -> Cover:
    """A lined hole: a gland where one side is outside, a grommet where its groove takes the sheet, else a bushing.
    `alone`: it is one wire or cable, on which a gland seals."""
    need = hole_needed_mm(bundle_mm)
    gland = gland_for(bundle_mm) if outside and alone else None
    if gland is not None:
        words = (
            f"cable gland {gland.name} for a cable of {bundle_mm:.1f} mm, hole of {gland.hole_mm:g} mm, deburred and "
            "painted; drip loop below the entry"
        )
        return Cover(words, "gland", gland.hole_mm)
    if outside:
        words = (
            f"cable entry box, or a gland with a hole for each wire, for a bundle of {bundle_mm:.0f} mm, hole about "
            f"{need:.0f} mm, deburred and painted; drip loop below the entry"
        )
        return Cover(words, "gland", need)
    grommet = grommet_for(bundle_mm, sheet_mm, parts.grommets)
    if grommet is not None:
        words = (
            f"hole of {grommet.hole_mm:g} mm, deburred and painted, with a grommet of {grommet.bore_mm:g} mm bore for "
            f"sheet up to {grommet.sheet_mm:g} mm"
        )
        return Cover(words, "grommet", grommet.hole_mm, grommet.name)
    words = f"hole for a bushing of {ceil(need)} mm bore and {sheet_mm:g} mm length, edges broken on both sides"
    return Cover(words, "bushing", float(ceil(need)))


def through_or_over(
    parts: Parts, bundle_mm: float, sheet_mm: float, width_mm: float, through: bool, metal: bool = False, walls: int = 1
) -> Cover:
    """A rib, cabinet wall or wheel arch: a lined hole through each of its `walls`, or split conduit over it."""
    conduit = split_conduit_for(bundle_mm, parts.conduits)
    over = f"{_lower(conduit.name)} over it" if conduit is not None else "split conduit over it"
    length = width_mm + 2 * CONDUIT_BEYOND_MM
    if through:
        hole = hole_cover(parts, bundle_mm, sheet_mm, outside=False)
        look = "through it" if walls == 1 else "through both its walls"
        look += ", best where it has a hole already" if metal and walls == 1 else ""
        look += ", best where they have holes already; in each a" if walls > 1 else ""
        return Cover(
            f"{look}{':' if walls == 1 else ''} {hole.words}; or {length:.0f} mm of {over}",
            hole.kind,
            hole.size_mm,
            hole.part,
        )
    name = conduit.name if conduit is not None else ""
    bore = conduit.bore_mm if conduit is not None else hole_needed_mm(bundle_mm)
    return Cover(f"{length:.0f} mm of {over}", "split_conduit", bore, name, length)


def edge_cover(bundle_mm: float, angle_deg: float) -> Cover:
    """Trim on a bare edge under the bundle."""
    length = edge_trim_length_mm(bundle_mm, angle_deg)
    return Cover(f"edge trim, {length:.0f} mm long", "edge_trim", length, "", length)


def conduit_cover(parts: Parts, bundle_mm: float) -> Cover:
    """Split conduit where nothing more particular is known."""
    conduit = split_conduit_for(bundle_mm, parts.conduits)
    if conduit is None:
        return Cover("split conduit", "split_conduit")
    length = 2 * CONDUIT_BEYOND_MM
    return Cover(f"{length:.0f} mm of {_lower(conduit.name)}", "split_conduit", conduit.bore_mm, conduit.name, length)


def _lower(name: str) -> str:
    """A part's name inside a sentence; capitals of abbreviations stay."""
    return name[:1].lower() + name[1:] if name[1:2].islower() else name
