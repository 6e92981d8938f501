"""Wire beyond the route that stays in the vehicle and carries current: ends made off in a device, loops, bends.

The limits of voltage drop are held over the route, as a contract of the tables says. What is left in at the ends loses
more; a check names the circuits in which that goes beyond the limit, and the sizing sheet says how much it is.
"""

from collections.abc import Iterable

from core.analysis.results import CutPiece

#: Cut off when the wire is made off: what was added for measuring and to a round number.
TRIMMED = frozenset({"tolerance", "rounding"})


def left_in_mm(pieces: Iterable[CutPiece]) -> dict[str, float]:
    """By wire, the millimetres of its cut that stay in the vehicle on top of its route."""
    found: dict[str, float] = {}
    for piece in pieces:
        left = sum(row.length_mm for row in piece.allowances if row.name not in TRIMMED)
        for wire in piece.wires:
            found[wire] = left
    return found
