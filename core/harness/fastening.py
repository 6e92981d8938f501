"""What holds a bundle on a given ground, and how long its screw may be. mm.

Which part suits which ground is common practice, no source; so are the lengths a screw needs to hold.
"""

from collections.abc import Iterable, Sequence
from typing import Literal, Protocol, TypeVar

#: What there is to fix to: a metal rib or pillar, a timber batten, a board, sheet metal, the raw edge of sheet metal,
#: or nothing a part could hold on.
Ground = Literal["rib", "batten", "board", "skin", "edge", "nothing"]

#: Bundle from which on a clip that goes round it is better than a tie on a mount.
HEAVY_ON_RIB_MM = 12.0
HEAVY_ON_BOARD_MM = 20.0
#: A screw holds in no less than this of board, and keeps this much away from the far face.
LEAST_GRIP_MM = 6.0
RESERVE_MM = 2.0
#: Thickness of the foot of a mount, clip or saddle under the screw's head.
FOOT_MM = 2.0
#: Screws are sold in these lengths; the longest that cannot come through is taken, up to 16 mm, which is enough.
SCREWS_MM: tuple[float, ...] = (10.0, 12.0, 16.0)
#: Screw into a hollow rib whose depth nobody measured.
BLIND_SCREW_MM = 10.0


class Fixing(Protocol):
    """A fixing part of a catalogue."""

    @property
    def kind(self) -> str: ...
    @property
    def largest_bundle_mm(self) -> float: ...


Part = TypeVar("Part", bound=Fixing)


def kinds_for(
    ground: Ground,
    bundle_mm: float,
    thick_mm: float,
    *,
    duct: Literal["", "conduit", "trunking"] = "",
    harsh: bool = False,
) -> tuple[str, ...]:
    """Kinds of fixing that suit a ground, the best first; empty where nothing holds.

    `thick_mm` is the board's thickness, `duct` what is held instead of the bundle (trunking by screws
    through its back), `harsh` under the floor, outside or in the engine
    bay, where neither glue nor nylon lasts and lined clips are used.
    """
    if ground == "nothing":
        return ()
    if duct == "trunking":
        return ("screw",)
    if duct == "conduit":
        return ("saddle", "p_clip")
    if harsh:
        return ("p_clip", "saddle")
    if ground == "edge":
        return ("edge_clip",)
    if ground == "skin":  # glue first; a bundle too heavy for it takes a clip on a rivet nut
        return ("bonded_mount", "p_clip")
    if ground in ("board", "batten") and screw_mm(thick_mm) is None:
        return ("bonded_mount",)
    heavy = bundle_mm > (HEAVY_ON_RIB_MM if ground == "rib" else HEAVY_ON_BOARD_MM)
    return ("p_clip", "tie_mount") if heavy else ("tie_mount", "p_clip")


def part_of(kinds: Sequence[str], bundle_mm: float, rows: Iterable[Part]) -> tuple[str, Part | None] | None:
    """The first of `kinds` of which a part takes the bundle, with the smallest such part.

    A kind of which the catalogue has no part at all is taken without one (its part is None). None: all parts there are
    are too small.
    """
    by_kind: dict[str, list[Part]] = {}
    for row in rows:
        by_kind.setdefault(row.kind, []).append(row)
    for kind in kinds:
        if kind not in by_kind:
            return kind, None
        fitting = [row for row in by_kind[kind] if row.largest_bundle_mm >= bundle_mm]
        if fitting:
            return kind, min(fitting, key=lambda row: row.largest_bundle_mm)
    return None


def screw_mm(thick_mm: float) -> float | None:
    """The longest usual screw that does not come through a board of this thickness; None where the board is too thin
    to hold one and something bonded has to do."""
    deepest = thick_mm - RESERVE_MM
    fitting = [s for s in SCREWS_MM if s - FOOT_MM <= deepest]
    return max(fitting) if fitting and deepest >= LEAST_GRIP_MM else None


def rib_screw_mm(depth_mm: float) -> float:
    """The longest usual screw that goes into a rib without reaching the outer skin behind it; `depth_mm` 0 is not
    known, and then the shortest. A rib too shallow for the shortest screw gets it only with a stop (our choice)."""
    fitting = [s for s in SCREWS_MM if s - FOOT_MM <= depth_mm - RESERVE_MM]
    return max(fitting, default=BLIND_SCREW_MM)


def panel_screw_mm(depth_mm: float, bundle_mm: float) -> float:
    """The longest screw for a panel over a bundle whose middle lies `depth_mm` below the panel's face: it keeps its
    distance from the bundle. Never below 0."""
    return max(0.0, depth_mm - bundle_mm / 2.0 - RESERVE_MM)
