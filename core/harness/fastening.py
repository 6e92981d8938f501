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
#: A cable from this outside diameter on (about 25 mm2 of copper) is stiff and heavy by itself: battery leads are held
#: by lined clamps, not by a thin tie (ABYC E-11 asks for lined metal clamps or straps, from memory).
HEAVY_CABLE_MM = 9.0
#: Usual widths of nylon ties by the bundle they go round (largest bundle, width), and the least for a heavy cable
#: (common practice, no source; loops hold 8.1, 18.2, 22.2 and 54.4 kg, a tie seller's page, read).
TIE_WIDTHS_MM: tuple[tuple[float, float], ...] = ((10.0, 2.5), (20.0, 3.6), (40.0, 4.8))
WIDEST_TIE_MM, HEAVY_TIE_MM = 7.6, 4.8
#: Holes for rivet nuts by thread (makers' usual values, from memory). A pilot hole is 0.7 of its screw (common
#: practice).
RIVET_NUT_HOLES_MM: dict[float, float] = {4.0: 6.0, 5.0: 7.0, 6.0: 9.0}
#: A hole in a rib or wall takes the place of a fixing: no screw or foot this near to its rim (mm; our choice).
BESIDE_HOLE_MM = 15.0
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
    heavy: bool = False,
    outer: bool = False,
) -> tuple[str, ...]:
    """Kinds of fixing that suit a ground, the best first; empty where nothing holds.

    `thick_mm` is the board's thickness, `duct` what is held instead of the bundle (trunking by screws through its
    back), `harsh` under the floor or in the engine bay, where neither glue nor nylon lasts and lined clips are used,
    `heavy` a battery cable that wants a clip round it. `outer` says that a skin is the vehicle's own outside (wall,
    roof, door), seen from either side: nobody drills it for a bundle, so mounts are bonded and trunking is glued on.
    """
    if ground == "nothing":
        return ()
    if ground == "skin" and outer:
        return ("adhesive",) if duct == "trunking" else ("bonded_mount",)
    if duct == "trunking":
        return ("screw",)
    if duct == "conduit":
        return ("saddle", "p_clip")
    if harsh:
        return ("p_clip", "saddle")
    if ground == "edge":
        return ("edge_clip",)
    if ground == "skin":  # glue first; a bundle too heavy for it takes a clip on a rivet nut
        return ("p_clip", "bonded_mount") if heavy else ("bonded_mount", "p_clip")
    if ground in ("board", "batten") and screw_mm(thick_mm) is None:
        return ("bonded_mount",)
    heavy = heavy or bundle_mm > (HEAVY_ON_RIB_MM if ground == "rib" else HEAVY_ON_BOARD_MM)
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


def tie_width_mm(bundle_mm: float, heavy: bool = False) -> float:
    """The usual width of the tie that goes round a bundle, no less than 4.8 mm round a heavy cable."""
    width = next((wide for most, wide in TIE_WIDTHS_MM if bundle_mm <= most), WIDEST_TIE_MM)
    return max(width, HEAVY_TIE_MM) if heavy else width


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


def bolt_mm(part_hole_mm: float | None) -> float:
    """Diameter of the screw that goes through a part's foot; 4 mm where the part does not say."""
    return float(max(4, int(part_hole_mm))) if part_hole_mm is not None else 4.0


def drilled_mm(bolt: float, threaded: bool) -> float:
    """The hole for that screw: for a rivet nut in sheet metal, else the pilot hole of a wood or sheet screw."""
    return RIVET_NUT_HOLES_MM.get(bolt, bolt + 2.0) if threaded else round(0.7 * bolt * 2.0) / 2.0


def panel_screw_mm(depth_mm: float, bundle_mm: float) -> float:
    """The longest screw for a panel over a bundle whose middle lies `depth_mm` below the panel's face: it keeps its
    distance from the bundle. Never below 0."""
    return max(0.0, depth_mm - bundle_mm / 2.0 - RESERVE_MM)
