"""Checks of clearances: bundles near zones and near what moves, devices in the way of what moves."""

from collections.abc import Iterable

from core.analysis.analysis import Analysis
from core.analysis.results import Clearance, Finding, Severity
from core.analysis.rules import source
from core.harness.crossing import TRIM_MARGIN_MM

#: Nothing protects a bundle in these, so being too near is an error as well.
NEVER = frozenset({"airbag", "gas", "fuel"})
REMEDY = {
    "hot": "lead it farther away; behind a heat shield the maker of the hot part says how near it may come",
    "fuel": "lead it farther away and above the line, never below; wiring beside fuel is for people who are licensed",
    "gas": "lead it farther away; gas and what is near to it is for people who are licensed, under the local code",
    "brake": "lead it farther away and clamp it on both sides",
    "airbag": "keep out; the vehicle maker's rules for body builders go first",
    "wet": "lead it above the wet zone, or in closed conduit with a drip loop",
    "moving": "lead it farther away and clamp it so that it cannot sag into what moves",
    "sharp": "lead it farther away, or cover the edge",
}


def _crossed(analysis: Analysis) -> set[tuple[str, str]]:
    return {(row.channel, row.with_) for row in analysis.crossings if not row.protected}


def zones(analysis: Analysis) -> Iterable[Finding]:
    """Bundles nearer to a zone than they may be; one that goes over a zone's edge has its rub point already."""
    crossed = _crossed(analysis)
    names = {z.id: z.name or f"the {z.kind} zone" for z in analysis.plan.zones}
    for row in analysis.clearances:
        if row.with_ not in names or (row.channel, row.with_) in crossed:
            continue
        lies = "lies in" if row.distance_mm <= 0 else f"comes within {row.distance_mm:.0f} mm of"
        severity: Severity = "error" if row.kind in NEVER or row.distance_mm <= 0 else "warning"
        yield Finding(
            code=f"clearance.{row.kind}",
            severity=severity,
            subjects=(row.channel, row.with_),
            message=f"{analysis.word(row.channel)} {lies} {names[row.with_]}, at {row.at_mm:.0f} mm from its start; "
            f"{row.near_mm:.0f} mm of it are too near.",
            value=row.distance_mm,
            limit=row.limit_mm,
            unit="mm",
            source=_source(analysis, row),
            remedy=REMEDY.get(row.kind, "lead it farther away"),
        )


def along_edges(analysis: Analysis) -> Iterable[Finding]:
    """Bundles that run along a raw edge of metal, nearer than the clearance to structure."""
    wraps = {row.channel for row in analysis.wrap if row.sheltered}
    crossed = _crossed(analysis)
    for row in analysis.clearances:
        if row.kind != "edge" or row.channel in wraps or (row.channel, row.with_) in crossed:
            continue
        edge = next((e.name for e in analysis.plan.metal_edges if e.id == row.with_), "") or "a raw metal edge"
        yield Finding(
            code="clearance.edge",
            severity="warning",
            subjects=(row.channel, row.with_),
            message=f"{analysis.word(row.channel)} runs {row.distance_mm:.0f} mm beside {edge} over "
            f"{row.near_mm:.0f} mm.",
            value=row.distance_mm,
            limit=row.limit_mm,
            unit="mm",
            source=_source(analysis, row),
            remedy=f"edge trim over {row.near_mm + 2 * TRIM_MARGIN_MM:.0f} mm, or lead it farther away",
        )


def _source(analysis: Analysis, row: Clearance) -> str:
    return source(analysis.profile, row.rule) if row.rule else "the zone's own clearance in this plan"


def moving_parts(analysis: Analysis) -> Iterable[Finding]:
    """Bundles in the way of a moving part (an error), or nearer to it than anything fixed may be."""
    crossed = _crossed(analysis)
    for row in analysis.clearances:
        if row.kind != "moving_part" or (row.channel, row.with_) in crossed:
            continue
        part = analysis.word(row.with_)
        inside = row.distance_mm <= 0
        lies = f"lies in the way of {part}" if inside else f"comes within {row.distance_mm:.0f} mm of the way of {part}"
        yield Finding(
            code="moving.swept" if inside else "moving.near",
            severity="error" if inside else "warning",
            subjects=(row.channel, row.with_),
            message=f"{analysis.word(row.channel)} {lies}, at {row.at_mm:.0f} mm from its start; {row.near_mm:.0f} mm "
            "of it are too near.",
            value=row.distance_mm,
            limit=row.limit_mm,
            unit="mm",
            source=source(analysis.profile, "zone.moving_mm"),
            remedy="lead it round what moves, or behind a panel; nothing fixed may lie where a part goes",
        )


def devices_in_the_way(analysis: Analysis) -> Iterable[Finding]:
    for row in analysis.clearances:
        if row.kind == "device":
            yield Finding(
                code="moving.device",
                severity="warning",
                subjects=(row.channel, row.with_),
                message=f"{analysis.word(row.channel)} stands where {analysis.word(row.with_)} goes.",
                value=0.0,
                limit=0.0,
                unit="mm",
                source="common practice",
                remedy="move the device, or shorten the travel; a device on the moving part belongs on its own face",
            )
