"""Places where a bundle is rubbed: how bad it is and what protects it. mm and degrees."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, Protocol, TypeVar

Severity = Literal["note", "warning", "error"]
_LEVELS: tuple[Severity, ...] = ("note", "warning", "error")
# Level of an unprotected, steep crossing at rest. ISO 10133:2012 7.5 and 33 CFR 183.445(a) ask for protection wherever
# a conductor passes bulkheads, structural members, sharp edges or a rigid surface (read); grading the cases is common
# practice, no source.
_LEVEL: dict[str, int] = {
    "metal_edge": 2,
    "hole": 2,
    "opening": 2,
    "zone": 2,
    "sharp": 2,
    "moving_part": 2,
    "moving": 2,
    "moving_joint": 2,
    "hot": 2,
    "brake": 2,
    "rib": 1,
    "wheel_arch": 1,
    "panel_edge": 1,
    "box_wall": 1,
    "wet": 1,
    "other": 1,
    "seam": 0,
    "fold": 0,
    "batten": 0,
}
# No grommet or conduit makes a wire right in these (airbag makers, EN 1648 and BS 7671 section 721 on gas lockers, from
# memory; AC 43.13-1B 11-96w on fuel lines, read).
NEVER: frozenset[str] = frozenset({"airbag", "gas", "fuel"})
# Movement is not cured by a grommet either: it wants a flexible stretch that twists (AC 43.13-1B 11-115, read).
_MOVES: frozenset[str] = frozenset({"moving_part", "moving"})
# Below this angle the bundle lies along the edge instead of over it and rubs on a long stretch (common practice).
SHALLOW_DEG = 30.0
# Edge trim is never cut shorter for a bundle that runs along an edge than for this angle.
SHALLOWEST_DEG = 5.0

# AC 43.13-1B 11-249: a conduit's bore is about 25 % larger than the bundle (read); used for lined holes as well.
HOLE_FACTOR = 1.25
# Convoluted conduit handbook: bundle up to 70 % of the bore's area (read).
SPLIT_CONDUIT_FILL_PERCENT = 70.0
# Edge trim beyond the bundle on either side (common practice, no source).
TRIM_MARGIN_MM = 25.0


@dataclass(frozen=True, slots=True)
class Gland:
    """A cable gland: the hole it takes and the cables it seals on."""

    name: str
    hole_mm: float
    least_mm: float
    largest_mm: float


#: PG glands: DIN 40430 threads and the cables they clamp (a published table, read); the hole is the thread and 0.3 mm.
GLANDS: tuple[Gland, ...] = tuple(
    Gland(name, thread + 0.3, least, largest)
    for name, thread, least, largest in (
        ("PG7", 12.5, 3.0, 6.5),
        ("PG9", 15.5, 4.0, 8.0),
        ("PG11", 18.6, 5.0, 10.0),
        ("PG13.5", 20.4, 6.0, 12.0),
        ("PG16", 22.5, 10.0, 14.0),
        ("PG21", 28.3, 13.0, 18.0),
        ("PG29", 37.0, 18.0, 25.0),
    )
)


class Grommet(Protocol):
    @property
    def bore_mm(self) -> float: ...
    @property
    def hole_mm(self) -> float: ...
    @property
    def sheet_mm(self) -> float: ...


class Conduit(Protocol):
    @property
    def bore_mm(self) -> float: ...
    @property
    def split(self) -> bool: ...


GrommetRow = TypeVar("GrommetRow", bound=Grommet)
ConduitRow = TypeVar("ConduitRow", bound=Conduit)


def severity(kind: str, angle_deg: float, protected: bool, moving: bool) -> Severity:
    """How bad a crossing is. `angle_deg` between bundle and edge (90: straight over), `moving`: the bundle or the edge
    moves here.

    Protection brings a crossing down to a note, with movement to a warning; airbag, gas and fuel zones stay errors. A
    shallow angle or movement raises an unprotected one by a level. An unknown kind counts as `other`.
    """
    if kind in NEVER:
        return "error"
    level = _LEVEL.get(kind, _LEVEL["other"])
    if protected:
        return "warning" if level > 0 and (moving or kind in _MOVES) else "note"
    if level > 0 or moving:
        level += (acute_deg(angle_deg) < SHALLOW_DEG) + moving
    return _LEVELS[min(level, 2)]


def acute_deg(angle_deg: float) -> float:
    """Angle between two lines, 0 to 90, from any angle between directions."""
    turned = abs(angle_deg) % 180.0
    return min(turned, 180.0 - turned)


def hole_needed_mm(bundle_mm: float) -> float:
    """Inside of a lined hole (grommet, bushing) for a bundle: a quarter larger than the bundle."""
    return bundle_mm * HOLE_FACTOR


def plug_passes(plug_mm: float, hole_mm: float) -> bool:
    """Whether a plug of that diagonal goes through the hole, or has to be fitted after the pull."""
    return plug_mm <= hole_mm


def grommet_for(bundle_mm: float, sheet_mm: float, rows: Iterable[GrommetRow]) -> GrommetRow | None:
    """The grommet with the smallest bore that takes the bundle and a groove that takes the sheet; among equal bores the
    groove nearest to the sheet, then the smaller hole. None when no row fits."""
    fitting = [row for row in rows if row.bore_mm >= bundle_mm and row.sheet_mm >= sheet_mm]
    return min(fitting, key=lambda row: (row.bore_mm, row.sheet_mm, row.hole_mm), default=None)


def gland_for(cable_mm: float, rows: Iterable[Gland] = GLANDS) -> Gland | None:
    """The smallest gland that seals on a cable of that diameter; None when all are too small or too large. A bundle is
    no cable: several wires want an entry box or an insert with a hole for each."""
    fitting = [row for row in rows if row.least_mm <= cable_mm <= row.largest_mm]
    return min(fitting, key=lambda row: row.hole_mm, default=None)


def edge_trim_length_mm(bundle_mm: float, angle_deg: float, margin_mm: float = TRIM_MARGIN_MM) -> float:
    """Edge trim under a bundle: its width on the edge, bundle / sin(angle), and a margin on either side. A bundle that
    runs along the edge (below 5 degrees) takes at least this much; the length it runs along is the caller's to add."""
    angle = max(acute_deg(angle_deg), SHALLOWEST_DEG)
    return bundle_mm / math.sin(math.radians(angle)) + 2.0 * margin_mm


def split_conduit_for(
    bundle_mm: float, rows: Iterable[ConduitRow], fill_percent: float = SPLIT_CONDUIT_FILL_PERCENT
) -> ConduitRow | None:
    """The smallest split conduit of which the bundle (as a full circle) takes at most `fill_percent`; None when all are
    too small. The maker's handbook prints 2 to 4 % smaller bundles, for the least bore of each size."""
    share = math.sqrt(fill_percent / 100.0)
    fitting = [row for row in rows if row.split and row.bore_mm * share >= bundle_mm]
    return min(fitting, key=lambda row: row.bore_mm, default=None)
