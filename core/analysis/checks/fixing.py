"""Checks of what holds and protects bundles: rub points, holes, bends, wrap."""

from collections.abc import Iterable
from math import inf

from core.analysis.analysis import Analysis
from core.analysis.grounds import bend_stretches
from core.analysis.results import BendRow, Crossing, Finding, Severity
from core.analysis.rules import number, source
from core.model import PassThrough

#: Words for what is crossed, for one and for several.
WORDS = {
    "rib": ("rib", "ribs"),
    "batten": ("batten", "battens"),
    "metal_edge": ("metal edge", "metal edges"),
    "opening": ("edge of an opening", "edges of openings"),
    "box_wall": ("cabinet wall", "cabinet walls"),
    "wheel_arch": ("wheel arch", "wheel arches"),
    "panel_edge": ("panel edge", "panel edges"),
    "moving_part": ("moving part", "moving parts"),
    "hole": ("hole", "holes"),
    "moving_joint": ("moving joint", "moving joints"),
}
#: Where two surfaces meet.
SHEETS_MEET = ("fold", "seam")
_RANK: dict[Severity, int] = {"note": 0, "warning": 1, "error": 2}
#: Findings name at most this many places; the rest is counted.
PLACES = 6


def rub_points(analysis: Analysis) -> Iterable[Finding]:
    """One finding for each channel and kind of thing it crosses unprotected, with the places."""
    found: dict[tuple[str, str, Severity], list[Crossing]] = {}
    for row in analysis.crossings:
        if not row.protected and row.kind not in ("hole", *SHEETS_MEET):
            found.setdefault((row.channel, row.kind, row.severity), []).append(row)
    for (channel, kind, severity), rows in found.items():
        one, many = WORDS.get(kind, (f"{kind} zone", f"{kind} zones"))
        places = ", ".join(f"{r.at_mm:.0f}" for r in rows[:PLACES]) + (" ..." if len(rows) > PLACES else "")
        yield Finding(
            code=f"rub.{kind}",
            severity=severity,
            subjects=(channel, *dict.fromkeys(r.with_ for r in rows)),
            message=f"{analysis.word(channel)} crosses {len(rows)} {one if len(rows) == 1 else many} "
            f"without protection, at {places} mm from its start.",
            value=float(len(rows)),
            limit=0.0,
            unit="places",
            source="33 CFR 183.445(a): protect from abrasion at bulkheads, structural members and rigid surfaces",
            remedy=max(rows, key=lambda r: _RANK[r.severity]).remedy,
        )


def joints_passed(analysis: Analysis) -> Iterable[Finding]:
    """One note for all folds and seams between sheets of metal: each is marked, none is worth a finding of its own."""
    rows = [row for row in analysis.crossings if row.kind in SHEETS_MEET and not row.protected]
    if not rows:
        return
    channels = tuple(dict.fromkeys(row.channel for row in rows))
    yield Finding(
        code="rub.seam",
        severity="note",
        subjects=channels,
        message=f"Bundles pass {len(rows)} folds and seams between sheets of metal; whether an edge is bare there is "
        "seen on the vehicle only.",
        value=float(len(rows)),
        unit="places",
        source="33 CFR 183.445(a): protect from abrasion at bulkheads, structural members and rigid surfaces",
        remedy="feel for burrs and bare edges where the sheets meet; file them, or lay trim or split conduit there",
    )


def small_holes(analysis: Analysis) -> Iterable[Finding]:
    """Penetrations without protection, or with a hole that is too small for what goes through."""
    holes = {p.id: p for p in analysis.plan.penetrations}
    for row in analysis.crossings:
        hole = holes.get(row.with_) if row.kind == "hole" else None
        if hole is None:
            continue
        small = hole.hole_mm is not None and row.size_mm is not None and hole.hole_mm < row.size_mm
        if row.protected and not small:
            continue
        said = f"is {hole.hole_mm:g} mm, the bundle wants {row.size_mm:.0f} mm" if small else "has no protection"
        yield Finding(
            code="hole.small" if small else "hole.bare",
            severity="warning",
            subjects=(hole.id, row.channel),
            message=f"The hole {hole.name or hole.id} {said}.",
            value=hole.hole_mm,
            limit=row.size_mm,
            unit="mm",
            remedy=f"{row.remedy}; look what lies behind before drilling",
        )


def bends(analysis: Analysis) -> Iterable[Finding]:
    for row in analysis.bends:
        if row.into or row.drawn_mm >= row.needed_mm * (1 - 1e-6):
            continue
        yield Finding(
            code="bend.tight",
            severity="warning",
            subjects=(row.channel,),
            message=f"{analysis.word(row.channel)} turns by {row.turn_deg:.0f} degrees at {row.at_mm:.0f} mm "
            f"on an inside radius of {row.drawn_mm:.0f} mm; the bundle needs {row.needed_mm:.0f} mm.",
            value=row.drawn_mm,
            limit=row.needed_mm,
            unit="mm",
            source=source(analysis.profile, "bend.bundle_multiple"),
            remedy="move the corner so that both sides of it get longer, or split the bundle",
        )


def bends_in_holes(analysis: Analysis) -> Iterable[Finding]:
    """Holes that lie in a bend of their channel: the bundle presses on the rim all the time."""
    tight = number(analysis.profile, "bend.bundle_supported_multiple")
    holes: dict[str, list[PassThrough]] = {}
    for row in analysis.plan.pass_throughs:
        if row.kind != "edge":
            holes.setdefault(row.channel, []).append(row)
    for channel_id, rows in holes.items():
        channel, bundle, path = analysis.channels[channel_id], analysis.bundles.get(channel_id), None
        if bundle is not None and channel.via_mm:
            path = analysis.paths[channel_id]
        if bundle is None or path is None:
            continue
        thick = bundle.diameter_laid_mm
        arcs = bend_stretches(channel, path, tight * thick, thick, inf)
        bent = [row for row in rows if any(arc.from_mm < row.at_mm < arc.to_mm for arc in arcs)]
        if bent:
            places = ", ".join(f"{row.at_mm:.0f}" for row in bent[:PLACES])
            yield Finding(
                code="bend.hole",
                severity="note",
                subjects=(channel_id, *(row.id for row in bent)),
                message=f"{analysis.word(channel_id)} bends where it passes the hole at {places} mm from its start: it "
                "presses on the rim there.",
                value=float(len(bent)),
                limit=0.0,
                unit="places",
                source="common practice",
                remedy="move the corner away from the hole, so that the bundle passes it straight",
            )


def bends_at_nodes(analysis: Analysis) -> Iterable[Finding]:
    """Turns from channel to channel that are tighter than the bundle wants, in one note: corners between short channels
    are drawn square by habit, and wires that part there round them by themselves."""
    tight = [row for row in analysis.bends if row.into and row.drawn_mm < row.needed_mm * (1 - 1e-6)]
    if not tight:
        return
    worst = sorted(tight, key=lambda r: (r.drawn_mm - r.needed_mm, r.channel))
    named = "; ".join(f"{_turn(analysis, r)} {r.drawn_mm:.0f} of {r.needed_mm:.0f} mm" for r in worst[:PLACES])
    more = f"; and {len(tight) - PLACES} more" if len(tight) > PLACES else ""
    yield Finding(
        code="bend.node",
        severity="note",
        subjects=tuple(dict.fromkeys(c for r in worst for c in (r.channel, r.into))),
        message=f"At {len(tight)} turns from channel to channel the inside radius that fits is less than is wanted: "
        f"{named}{more}.",
        value=worst[0].drawn_mm,
        limit=worst[0].needed_mm,
        unit="mm",
        source=source(analysis.profile, "bend.bundle_supported_multiple"),
        remedy="give the bundle room to round these corners, and hold it on both sides of them",
    )


def _turn(analysis: Analysis, row: BendRow) -> str:
    """From where to where: by the channels' names, or by their surfaces where one channel of that name goes on."""
    names = analysis.word(row.channel), analysis.word(row.into)
    if names[0] != names[1]:
        return f"{names[0]} into {names[1]}"
    here, there = (analysis.channels[c].surface for c in (row.channel, row.into))
    if here is None or there is None or here == there:
        return f"within {names[0]}"
    return f"{names[0]} from {analysis.word(here)} to {analysis.word(there)}"


def wrap(analysis: Analysis) -> Iterable[Finding]:
    for row in analysis.wrap:
        if row.note and "joint" not in row.note:
            yield Finding(
                code="wrap.impossible",
                severity="note",
                subjects=(row.channel,),
                message=f"{analysis.word(row.channel)}: {row.note}",
                remedy="a narrower tape for thin bundles",
            )
