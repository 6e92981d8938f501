"""Tables for the bench: materials, securing and drilling, wrap; and the findings."""

from core.analysis.analysis import Analysis
from core.tables.contract import standing_findings
from core.tables.crossed import Crossed
from core.tables.names import Names, capital, fixing_words, words
from core.tables.table import Cell, Column, Table
from core.text import counted, mm

DRILLING = (
    "Before every hole: look at the other side, keep off airbags, fuel and brake lines, and never drill structural "
    "members without the vehicle maker's word. Deburr, paint, then fit the grommet."
)
LARGE = 1000.0
SEVERITY_WORDS = {"error": "ERROR", "warning": "warning", "note": "note"}


def materials_list(analysis: Analysis) -> Table:
    """What to buy or take from the shelf, and what it is for."""
    return Table(
        name="materials",
        title="Materials",
        columns=(
            Column(key="have", title="have", kind="tick", weight=0.35),
            Column(key="item", title="item", weight=4.0, important=True),
            Column(key="quantity", title="quantity", kind="number", weight=0.8, important=True),
            Column(key="unit", title="unit", weight=0.7),
            Column(key="why", title="what for", weight=4.0),
        ),
        rows=tuple((False, capital(row.item), row.quantity, row.unit, row.why) for row in analysis.materials),
        notes=(
            f"Weight of all wire and cable: {analysis.totals.mass_kg:.1f} kg.",
            "Quantities hold the waste and spares that the plan states.",
        ),
    )


def findings_list(analysis: Analysis) -> Table:
    """Everything wrong or missing, worst first; then what was waived, with the reason."""
    names = Names(analysis.plan)
    standing = standing_findings(analysis.findings)
    waived = [finding for finding in analysis.findings if finding.waived]
    rows: list[tuple[Cell, ...]] = [
        (
            "waived" if finding.waived else SEVERITY_WORDS[finding.severity],
            finding.message,
            f"Waived: {finding.waived}" if finding.waived else finding.remedy,
            told_number(finding.value),
            told_number(finding.limit),
            finding.unit,
            ", ".join(names(subject) for subject in finding.subjects),
            finding.source,
        )
        for finding in [*standing, *waived]
    ]
    return Table(
        name="findings",
        title="Findings",
        columns=(
            Column(key="severity", title="severity", weight=0.8, important=True),
            Column(key="message", title="what is wrong", weight=3.6),
            Column(key="remedy", title="what to do", weight=2.8),
            Column(key="value", title="value", kind="number", weight=0.65),
            Column(key="limit", title="limit", kind="number", weight=0.65),
            Column(key="unit", title="unit", weight=0.5),
            Column(key="subjects", title="where", weight=1.6),
            Column(key="source", title="source", weight=2.0),
        ),
        rows=tuple(rows),
        notes=() if rows else ("Nothing found.",),
    )


def told_number(value: float | None) -> float | None:
    """A value of a finding as precise as people want it: no tenths in the thousands, else four digits."""
    if value is None or abs(value) >= LARGE:
        return value if value is None else float(round(value))
    return float(f"{value:.4g}")


#: Remedies for which nothing is drilled: their size is no hole.
NOT_DRILLED = ("edge_trim", "split_conduit", "flexible")


def securing_list(analysis: Analysis) -> Table:
    """Where to fix and where to drill: channel by channel, from its start on."""
    names = Names(analysis.plan)
    found: dict[str, list[tuple[float, tuple[Cell, ...]]]] = {}

    def add(channel: str, at_mm: float, what: str, hole_mm: float | None, why: str) -> None:
        found.setdefault(channel, []).append((at_mm, (False, channel, at_mm, what, hole_mm, why)))

    for point in analysis.securing:
        on = f"on {names(point.on)}; " if point.on else ""
        hand = "placed by hand; " if point.user else ""
        why = f"{hand}{on}{point.why or 'spacing of the profile'}"
        add(point.channel, point.at_mm, capital(point.part or fixing_words(point.kind)), point.hole_mm, why)
    for gap in analysis.securing_gaps:
        lies = gap.why or "nothing to fix to"
        why = f"{lies}, for {mm(gap.to_mm - gap.from_mm)} mm, limit {mm(gap.limit_mm)} mm"
        add(gap.channel, gap.from_mm, "GAP: add a fixing", None, why)
    crossed = Crossed(analysis)
    for crossing in analysis.crossings:
        what = crossed.protection(crossing) or crossing.remedy or words(crossing.kind)
        hole_mm = crossing.size_mm if crossing.remedy_kind not in NOT_DRILLED else None
        add(crossing.channel, crossing.at_mm, what, hole_mm, f"crosses {crossed.thing(crossing)}")
    rows: list[tuple[Cell, ...]] = []
    headings = []
    for channel in (channel.id for channel in analysis.plan.channels if channel.id in found):
        headings.append((len(rows), _channel_heading(analysis, names, channel)))
        rows += [row for _, row in sorted(found[channel], key=lambda item: item[0])]
    return Table(
        name="securing",
        title="Securing and drilling",
        columns=(
            Column(key="done", title="done", kind="tick", weight=0.4),
            Column(key="channel", title="channel", weight=0.8),
            Column(key="at_mm", title="from its start", kind="mm", weight=0.8, important=True),
            Column(key="what", title="what", weight=3.2),
            Column(key="hole_mm", title="hole", kind="diameter", weight=0.6, important=True),
            Column(key="why", title="why", weight=3.0),
        ),
        rows=tuple(rows),
        headings=tuple(headings),
        notes=(DRILLING,),
    )


def _channel_heading(analysis: Analysis, names: Names, channel_id: str) -> str:
    """Which channel, where it lies and what is in it, as far as that is known."""
    bundle = analysis.bundles.get(channel_id)
    parts = [channel_id, names.where(channel_id)]
    if bundle is not None:
        parts.append(f"{counted(len(bundle.wires), 'wire')}, Ø {bundle.diameter_laid_mm:.1f} mm")
        parts.append(f"{mm(bundle.length_mm)} mm one-way")
    return " · ".join(part for part in parts if part)


def wrap_table(analysis: Analysis) -> Table:
    """Tape for every channel by its wrap style."""
    names = Names(analysis.plan)
    styles = {style.id: style.name for style in analysis.plan.wrap_styles}
    rows: list[tuple[Cell, ...]] = [
        (
            False,
            row.channel,
            names.where(row.channel),
            styles.get(row.style, words(row.style)),
            row.tape_width_mm,
            row.overlap * 100 if row.layers > 0 else None,
            row.layers if row.layers > 0 else None,
            row.tape_mm / 1000,
            round(row.minutes),
            row.note or None,
        )
        for row in analysis.wrap
    ]
    total = sum(row.tape_mm for row in analysis.wrap) / 1000
    rolls = analysis.totals.rolls
    return Table(
        name="wrap",
        title="Wrapping",
        columns=(
            Column(key="done", title="done", kind="tick", weight=0.4),
            Column(key="channel", title="channel", weight=0.8, important=True),
            Column(key="where", title="where", weight=1.8),
            Column(key="style", title="style", weight=1.8),
            Column(key="tape_width_mm", title="tape width", kind="mm", weight=0.7),
            Column(key="overlap", title="overlap", kind="percent", weight=0.7),
            Column(key="layers", title="layers", kind="number", weight=0.6),
            Column(key="tape_m", title="tape", kind="m", weight=0.8, important=True),
            Column(key="minutes", title="time", kind="count", unit="min", weight=0.6),
            Column(key="note", title="note", weight=3.2),
        ),
        rows=tuple(rows),
        totals=(
            (
                None,
                "Total",
                None,
                counted(rolls, "roll"),
                None,
                None,
                None,
                total,
                round(analysis.totals.wrap_minutes),
                None,
            ),
        ),
    )
