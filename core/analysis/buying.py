"""What the shopping list is made from: what the other stages say, what can be bought, and how it is counted.

Small parts are bought with the plan's spares and in whole packs; what is sold by length with the plan's waste.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import ceil

from core.analysis.results import (
    Bundle,
    ChannelPath,
    CircuitSize,
    Crossing,
    CutPiece,
    CutRow,
    Material,
    Route,
    SecuringRow,
    SizedWire,
    SpoolPlan,
    Wire,
    WrapRow,
)
from core.model import (
    Assumptions,
    ConduitKind,
    FixingKind,
    GrommetKind,
    PassThrough,
    Penetration,
    TapeKind,
    WireKind,
)

#: Channels laid in conduit of their own.
CONDUITS = frozenset({"closed_conduit", "split_conduit"})


@dataclass(frozen=True)
class Needs:
    """What the other stages say, gathered for the shopping list."""

    wires: Mapping[str, Wire]
    routes: Mapping[str, Route]
    sized: Mapping[str, SizedWire]
    pieces: tuple[CutPiece, ...]
    cut: tuple[CutRow, ...]
    spool_plans: tuple[SpoolPlan, ...]
    wrap: tuple[WrapRow, ...]
    securing: tuple[SecuringRow, ...]
    crossings: tuple[Crossing, ...]
    paths: Mapping[str, ChannelPath]
    bundles: Mapping[str, Bundle]
    sizes: Mapping[str, CircuitSize]


@dataclass(frozen=True)
class Shelf:
    """What can be bought: the plan's own kinds, else those of the library."""

    wires: tuple[WireKind, ...]
    tapes: tuple[TapeKind, ...]
    conduits: tuple[ConduitKind, ...]
    grommets: tuple[GrommetKind, ...]
    fixings: tuple[FixingKind, ...]


@dataclass(frozen=True)
class Placed:
    """What the plan says is put into holes and over edges already."""

    pass_throughs: tuple[PassThrough, ...]
    penetrations: tuple[Penetration, ...]
    #: Pass-throughs that name one of the penetrations once more.
    twice: frozenset[str] = frozenset()


def pieces(item: str, used: int, why: str, a: Assumptions, pack: int = 1, price: float | None = None) -> Material:
    """A small part: as many as are used and the plan's spares, in whole packs."""
    wanted = used + ceil(used * a.spares_percent / 100 - 1e-9)
    packs = ceil(wanted / pack) if pack > 1 else 0
    bought = packs * pack if packs else wanted
    spare = f", {wanted - used} spare" if wanted > used else ""
    return Material(
        item=item,
        quantity=wanted,
        unit="pieces",
        why=f"{why}: {used} in use{spare}",
        pack=pack,
        packs=packs,
        price=None if price is None else price * bought,
    )


def metres(item: str, used_mm: float, why: str, a: Assumptions, price: float | None = None) -> Material:
    """What is sold by length: what is used and the plan's waste, up to the next 0.1 m."""
    metres = ceil(used_mm / 1000 * (1 + a.waste_percent / 100) * 10 - 1e-9) / 10
    waste = f" and {a.waste_percent:g} % waste" if a.waste_percent > 0 else ""
    return Material(
        item=item,
        quantity=metres,
        unit="m",
        why=f"{why}: {used_mm / 1000:.2f} m{waste}",
        price=None if price is None else price * metres,
    )
