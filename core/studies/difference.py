"""What a change costs: metres, volts, sizes, kilograms and money before and after, and what came or went of findings.

It only reads two analyses, so it is quick enough for every frame of a drag.
"""

from dataclasses import dataclass
from itertools import chain
from math import inf

from core.analysis.analysis import Analysis
from core.analysis.results import Finding

#: Changes smaller than this are noise of the arithmetic.
SAME = 1e-6


@dataclass(frozen=True)
class SizeStep:
    """A circuit whose thickest conductor changed. None: it has no size there (not yet, or no more)."""

    circuit: str
    name: str
    before_mm2: float | None
    after_mm2: float | None


@dataclass(frozen=True)
class Difference:
    """After minus before. `drop_v` is that of the circuit that uses most of its limit, `drop_share` its share of it.

    Findings are those that are not waived. `provisional`: findings and routes of one side are held, not worked out.
    `metres` is wire to cut; `price` None where one of the two has no price for a kind of wire.
    """

    metres: float
    bundle_metres: float
    kg: float
    price: float | None
    rolls: int
    worst_before: str
    worst_after: str
    drop_v: float | None
    drop_share: float | None
    sizes: tuple[SizeStep, ...]
    fuses: tuple[tuple[str, float | None, float | None], ...]
    gained: tuple[Finding, ...]
    gone: tuple[Finding, ...]
    provisional: bool

    @property
    def nothing(self) -> bool:
        """Whether both sides are alike in all that is counted here."""
        numbers = (self.metres, self.bundle_metres, self.kg, self.price or 0.0, self.drop_v or 0.0)
        same = all(abs(number) < SAME for number in numbers)
        return same and not (self.rolls or self.sizes or self.fuses or self.gained or self.gone)

    @property
    def words(self) -> str:
        """The change in a line: `+1.20 m, +0.05 V, Pump 2.5 to 4 mm², +0.03 kg`; `no change` where there is none."""
        parts = []
        if abs(self.metres) >= 0.005:
            parts.append(f"{self.metres:+.2f} m")
        if self.drop_v is not None and abs(self.drop_v) >= 0.005:
            parts.append(f"{self.drop_v:+.2f} V")
        parts += [_step_words(step) for step in self.sizes[:2]]
        if len(self.sizes) > 2:
            parts.append(f"{len(self.sizes) - 2} more sizes")
        if abs(self.kg) >= 0.005:
            parts.append(f"{self.kg:+.2f} kg")
        if self.price is not None and abs(self.price) >= 0.005:
            parts.append(f"{self.price:+.2f} for wire")
        if self.gone:
            parts.append(f"{len(self.gone)} finding{'s' * (len(self.gone) > 1)} gone")
        if self.gained:
            parts.append(f"{len(self.gained)} new finding{'s' * (len(self.gained) > 1)}")
        return ", ".join(parts) or "no change"


def _step_words(step: SizeStep) -> str:
    before, after = (f"{mm2:g}" if mm2 is not None else "none" for mm2 in (step.before_mm2, step.after_mm2))
    return f"{step.name} {before} to {after} mm²"


def difference(before: Analysis, after: Analysis) -> Difference:
    """What changed from one analysis to another of the same plan edited, or of a variant of it."""
    held = before.provisional or after.provisional
    old, new = worst_drop(before), worst_drop(after)
    return Difference(
        metres=(after.totals.cut_mm - before.totals.cut_mm) / 1000,
        bundle_metres=(_bundled_mm(after) - _bundled_mm(before)) / 1000,
        kg=after.totals.mass_kg - before.totals.mass_kg,
        price=_price(before, after),
        rolls=after.totals.rolls - before.totals.rolls,
        worst_before=old[0] if old else "",
        worst_after=new[0] if new else "",
        drop_v=new[1] - old[1] if old and new else None,
        drop_share=new[2] - old[2] if old and new else None,
        sizes=_sizes(before, after),
        fuses=_fuses(before, after),
        gained=() if held else missing(after.findings, before.findings),
        gone=() if held else missing(before.findings, after.findings),
        provisional=held,
    )


def worst_drop(analysis: Analysis) -> tuple[str, float, float] | None:
    """(circuit, volts, share of its limit) of the load that uses most of what it may lose; None without a drop."""
    worst: tuple[str, float, float] | None = None
    for size in analysis.circuit_sizes.values():
        for _, drop_v, limit_v, _ in size.drops:
            if drop_v is not None and limit_v > 0 and (worst is None or drop_v / limit_v > worst[2]):
                worst = (size.circuit, drop_v, drop_v / limit_v)
    return worst


def thickest(analysis: Analysis) -> dict[str, float]:
    """Section of the thickest conductor of every circuit that has one."""
    found: dict[str, float] = {}
    for wire in analysis.wires.values():
        size = analysis.sized.get(wire.id)
        if size is not None and size.section_mm2 > found.get(wire.circuit, -inf):
            found[wire.circuit] = size.section_mm2
    return found


def key(finding: Finding) -> tuple[str, tuple[str, ...]]:
    """What makes two findings the same one: its rule and its subjects; numbers and words may change."""
    return finding.code, tuple(sorted(finding.subjects))


def missing(of: tuple[Finding, ...], against: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """The standing findings of one set that the other does not have."""
    there = {key(finding) for finding in against if not finding.waived}
    return tuple(finding for finding in of if not finding.waived and key(finding) not in there)


def _bundled_mm(analysis: Analysis) -> float:
    return sum(bundle.length_mm for bundle in analysis.bundles.values())


def _price(before: Analysis, after: Analysis) -> float | None:
    """A plan without wire costs nothing; one with a wire that has no price cannot be told."""
    prices = [0.0 if not each.pieces else each.totals.price for each in (before, after)]
    return None if prices[0] is None or prices[1] is None else prices[1] - prices[0]


def _sizes(before: Analysis, after: Analysis) -> tuple[SizeStep, ...]:
    old, new = thickest(before), thickest(after)
    return tuple(
        SizeStep(circuit, (after if circuit in new else before).word(circuit), old.get(circuit), new.get(circuit))
        for circuit in dict.fromkeys(chain(old, new))
        if old.get(circuit) != new.get(circuit)
    )


def _fuses(before: Analysis, after: Analysis) -> tuple[tuple[str, float | None, float | None], ...]:
    old = {circuit: size.fuse_a for circuit, size in before.circuit_sizes.items()}
    new = {circuit: size.fuse_a for circuit, size in after.circuit_sizes.items()}
    changed = ((c, old.get(c), new.get(c)) for c in dict.fromkeys(chain(old, new)))
    return tuple(row for row in changed if row[1] != row[2])
