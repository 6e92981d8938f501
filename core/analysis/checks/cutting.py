"""Checks of the cut list: pieces that come off no spool, cuts that may not be the best, cuts that must wait."""

from collections.abc import Iterable

from core.analysis.analysis import Analysis
from core.analysis.cutting import spool_name
from core.analysis.results import CutPiece, Finding


def _named(analysis: Analysis, piece: CutPiece) -> tuple[str, ...]:
    return tuple(dict.fromkeys(analysis.wires[w].circuit for w in piece.wires))


def without_spool(analysis: Analysis) -> Iterable[Finding]:
    """Pieces longer than every spool, or for which no wire is left: a splice is a decision, never made silently."""
    pieces = {p.piece: p for p in analysis.pieces}
    longest = {(p.kind, p.section_mm2, p.colour): p.spool_mm for p in analysis.spool_plans}
    kinds = {k.id: k for k in analysis.plan.wire_kinds}
    for row in analysis.cutting:
        if not row.problem:
            continue
        piece = pieces[row.piece]
        name = spool_name(kinds[piece.kind], piece.section_mm2, piece.colour)
        spool_mm = longest[piece.kind, piece.section_mm2, piece.colour]
        yield Finding(
            code="cutting.too_long" if row.problem == "too long" else "cutting.none_left",
            severity="error",
            subjects=_named(analysis, piece),
            message=f"{row.piece} is cut to {row.cut_mm / 1000:.2f} m: no spool of {name} is that long.",
            value=row.cut_mm,
            limit=spool_mm,
            unit="mm",
            source="the spool lengths of the wire kind",
            remedy="buy it by the metre and add that length to the spools of the kind, or plan a splice that can be "
            "reached",
        )


def unproven(analysis: Analysis) -> Iterable[Finding]:
    """Sorts of wire whose cuts could perhaps do with fewer spools, with the gap."""
    kinds = {k.id: k for k in analysis.plan.wire_kinds}
    for plan in analysis.spool_plans:
        if plan.proven or (plan.new_spools, plan.spools) <= (plan.least_new, plan.least_spools):
            continue
        circuits = dict.fromkeys(
            analysis.wires[w].circuit
            for p in analysis.pieces
            if (p.kind, p.section_mm2, p.colour) == (plan.kind, plan.section_mm2, plan.colour)
            for w in p.wires
        )
        yield Finding(
            code="cutting.unproven",
            severity="note",
            subjects=tuple(circuits),
            message=f"{spool_name(kinds[plan.kind], plan.section_mm2, plan.colour)}: the cuts take {plan.new_spools} "
            f"new spools and {plan.spools} in all; it is proven only that {plan.least_new} and {plan.least_spools} are "
            "needed.",
            value=float(plan.spools),
            limit=float(plan.least_spools),
            unit="spools",
            remedy="cut as listed: a better plan may exist, it was not found within the limits of the search",
        )


def provisional(analysis: Analysis) -> Iterable[Finding]:
    """Cuts over stretches that are assumed or unknown, in one note."""
    waiting = [p for p in analysis.pieces if p.provisional]
    if waiting:
        metres = sum(p.cut_mm for p in waiting) / 1000
        yield Finding(
            code="cutting.provisional",
            severity="note",
            subjects=tuple(dict.fromkeys(c for p in waiting for c in _named(analysis, p))),
            message=f"{len(waiting)} pieces, {metres:.1f} m in all, go over stretches that are assumed or unknown: "
            "do not cut them yet.",
            value=float(len(waiting)),
            limit=0.0,
            unit="pieces",
            remedy="measure those stretches first",
        )
