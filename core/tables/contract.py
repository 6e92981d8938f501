"""The rows of `python3 -m core tables --json`. Other programs read them: the keys never change."""

from typing import Any

from core.analysis.analysis import Analysis
from core.analysis.results import Crossing, CutPiece, Finding, Wire
from core.tables.names import SEVERITY_ORDER

#: Lengths and currents are given to a thousandth: finer digits are noise of the arithmetic.
DIGITS = 3


def tables_document(analysis: Analysis) -> dict[str, Any]:
    """All tables of a plan by name, as plain values for JSON."""
    pieces = {piece.piece: piece for piece in analysis.pieces}
    piece_of = {wire: piece for piece in analysis.pieces for wire in piece.wires}
    totals = analysis.totals
    return {
        "wires": [_wire(wire, analysis, piece_of.get(wire.id)) for wire in analysis.wires.values()],
        "bundles": [
            {
                "channel": bundle.channel,
                "length_mm": _number(bundle.length_mm),
                "wires": list(bundle.wires),
                "diameter_tight_mm": _number(bundle.diameter_tight_mm),
                "diameter_laid_mm": _number(bundle.diameter_laid_mm),
                "fill_percent": _number(bundle.fill_percent),
            }
            for bundle in analysis.bundles.values()
        ],
        "securing": [
            {"channel": row.channel, "at_mm": _number(row.at_mm), "kind": row.kind, "user": row.user}
            for row in analysis.securing
        ],
        "crossings": [_crossing(crossing, analysis) for crossing in analysis.crossings],
        "wrap": [
            {
                "channel": row.channel,
                "style": row.style,
                "tape_width_mm": _number(row.tape_width_mm),
                "overlap": _number(row.overlap),
                "layers": _number(row.layers),
                "tape_mm": _number(row.tape_mm),
            }
            for row in analysis.wrap
        ],
        "cutting": [
            {
                "spool": row.spool,
                **_piece_names(pieces.get(row.piece), row.piece, analysis),
                "cut_mm": _number(row.cut_mm),
                "waste_mm": _number(row.waste_mm),
            }
            for row in analysis.cutting
        ],
        "materials": [
            {"item": row.item, "quantity": _number(row.quantity), "unit": row.unit, "why": row.why}
            for row in analysis.materials
        ],
        "totals": {
            "route_mm": _number(totals.route_mm),
            "allowance_mm": _number(totals.allowance_mm),
            "cut_mm": _number(totals.cut_mm),
            "tape_mm": _number(totals.tape_mm),
            "rolls": totals.rolls,
            "mass_kg": _number(totals.mass_kg),
        },
    }


def findings_document(findings: tuple[Finding, ...]) -> dict[str, Any]:
    """The findings that are not waived, worst first, and how many there are of each severity (and waived)."""
    standing = standing_findings(findings)
    return {
        "findings": [
            {
                "code": finding.code,
                "severity": finding.severity,
                "subjects": list(finding.subjects),
                "message": finding.message,
                "value": _number(finding.value),
                "limit": _number(finding.limit),
                "unit": finding.unit,
                "source": finding.source,
            }
            for finding in standing
        ],
        "counts": {
            **{severity: sum(f.severity == severity for f in standing) for severity in SEVERITY_ORDER},
            "waived": len(findings) - len(standing),
        },
    }


def standing_findings(findings: tuple[Finding, ...]) -> list[Finding]:
    """Findings that are not waived, worst first, otherwise in the order of the analysis."""
    return sorted((f for f in findings if not f.waived), key=lambda finding: SEVERITY_ORDER[finding.severity])


def _number(value: float | None) -> float | None:
    return None if value is None else round(value, DIGITS)


def _wire(wire: Wire, analysis: Analysis, piece: CutPiece | None) -> dict[str, Any]:
    route, sized = analysis.routes.get(wire.id), analysis.sized.get(wire.id)
    return {
        "wire": wire.id,
        "circuit": wire.circuit,
        "role": wire.role,
        "from": wire.from_.device,
        "to": wire.to.device,
        "kind": wire.kind,
        "cable": wire.cable,
        "parallel": wire.parallel,
        "section_mm2": sized.section_mm2 if sized else None,
        "gauge_awg": sized.gauge_awg if sized else None,
        "od_mm": _number(sized.od_mm) if sized else None,
        "colour": sized.colour if sized else None,
        "route_mm": _number(route.route_mm) if route else None,
        "allowances": {row.name: _number(row.length_mm) for row in piece.allowances} if piece else {},
        "cut_mm": _number(piece.cut_mm) if piece else None,
        "current_a": _number(sized.current_a) if sized else None,
        "peak_a": _number(sized.peak_a) if sized else None,
        "ampacity_a": _number(sized.ampacity_a) if sized else None,
        "drop_v": _number(sized.drop_v) if sized else None,
        "drop_percent": _number(sized.drop_percent) if sized else None,
        "decided_by": sized.decided_by if sized else None,
        "fuse_a": sized.fuse_a if sized else None,
        "channels": [step.channel for step in route.steps] if route else [],
    }


def _piece_names(piece: CutPiece | None, piece_id: str, analysis: Analysis) -> dict[str, str | None]:
    """A piece is a wire, or a cable with all its cores: one of the two names is null."""
    first = analysis.wires.get(piece.wires[0]) if piece and piece.wires else None
    if first is None:
        return {"wire": piece_id, "cable": None}
    if first.cable is not None:
        return {"wire": None, "cable": first.cable}
    return {"wire": first.id, "cable": None}


def _crossing(crossing: Crossing, analysis: Analysis) -> dict[str, Any]:
    both = {crossing.channel, crossing.with_}
    finding = next(
        (f.code for f in analysis.findings if f.code.startswith(("rub.", "hole.")) and both <= set(f.subjects)), None
    )
    return {
        "channel": crossing.channel,
        "at_mm": _number(crossing.at_mm),
        "with": crossing.with_,
        "kind": crossing.kind,
        "angle_deg": _number(crossing.angle_deg),
        "severity": crossing.severity,
        "remedy": crossing.remedy,
        "size_mm": _number(crossing.size_mm),
        "finding": finding,
    }
