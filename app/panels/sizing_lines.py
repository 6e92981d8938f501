"""What the sizing sheet says, in cells and lines. Pure."""

from dataclasses import dataclass
from html import escape

from core.analysis.analysis import Analysis
from core.analysis.size_problem import IDLE
from core.analysis.size_words import RULE_WORDS
from core.analysis.sizing_sheet import RuleVerdict, SizeRow, SizingSheet
from core.analysis.what_if import WhatIf
from core.tables.names import ROLE_WORDS
from core.text import trimmed
from core.units import show

HOLDS, FAILS = "✓", "✗"
_UNITS = {"mm2": "mm²"}
#: The rules in one word, for a narrow column.
_SHORT = {
    "smallest size": "too small", "carries the load": "load", "carries the fuse": "fuse", "fuse allowed on it": "fuse",
    "carries the largest fuse": "fault", "maker's table": "maker", "voltage drop": "drop",
}  # fmt: skip


@dataclass(frozen=True)
class Line:
    """A line of words, with its source or note below it."""

    words: str
    under: str = ""
    strong: bool = False

    def html(self, muted: str) -> str:
        """As rich text; `muted` is the colour of what is below."""
        words = f"<b>{escape(self.words)}</b>" if self.strong else escape(self.words)
        under = f'<span style="font-size: 8.5pt; color: {muted}">{escape(self.under)}</span>' if self.under else ""
        return f'<p style="margin: 0 0 3px 0">{"<br>".join(part for part in (words, under) if part)}</p>'

    def plain(self) -> str:
        return ". ".join(part for part in (self.words, self.under) if part)


def sheet_wires(analysis: Analysis, record_id: str) -> tuple[str, ...]:
    """The wires whose sheet can be shown for a wire or circuit: of a circuit those with load current go first."""
    if record_id in analysis.wires:
        return (record_id,)
    own = [wire for wire in analysis.wires.values() if wire.circuit == record_id]
    return tuple(wire.id for wire in sorted(own, key=lambda wire: wire.role in IDLE))


def wire_words(analysis: Analysis, wire_id: str) -> str:
    wire = analysis.wires[wire_id]
    return f"{wire_id}, {ROLE_WORDS[wire.role]}: {analysis.word(wire.from_.device)} → {analysis.word(wire.to.device)}"


def candidate_cells(row: SizeRow) -> tuple[str, ...]:
    """Size, what it carries, the drop from source to load and back, and a sign with the verdict."""
    carries = show(row.ampacity_a, "A") if row.ampacity_a is not None else "–"
    drop = f"{row.path_drop_v:.2f} V" if row.path_drop_v is not None else "–"
    return row.size, carries, drop, f"{HOLDS if row.holds else FAILS} {_verdict(row)}"


def _verdict(row: SizeRow) -> str:
    failed = [_SHORT.get(verdict.rule, verdict.rule) for verdict in row.verdicts if not verdict.holds]
    if row.chosen:
        return "chosen" if not failed else f"chosen: {failed[0]}"
    return failed[0] if failed else "holds"


def rule_lines(row: SizeRow) -> tuple[Line, ...]:
    """Every rule on one size: what the size has against what is wanted, with the source."""
    return (Line(f"{row.size}: {row.remark}", strong=True), *(_rule(verdict) for verdict in row.verdicts))


def _rule(verdict: RuleVerdict) -> Line:
    unit = _UNITS.get(verdict.unit, verdict.unit)
    digits = 2 if verdict.unit in ("V", "mm2") else 1
    has, wants = trimmed(verdict.value, digits), trimmed(verdict.limit, digits)
    most = verdict.rule == "voltage drop"
    told = f"{has} {unit}, {wants} {unit} at {'most' if most else 'least'}"
    return Line(f"{HOLDS if verdict.holds else FAILS} {verdict.rule}: {told}", verdict.source)


def about_lines(sheet: SizingSheet) -> tuple[Line, ...]:
    """Which rule decided, what the current and the fuse are, the factors, and what else is to be known."""
    lines = [Line(f"Decided by: {RULE_WORDS[sheet.decided_by]}", sheet.reason, strong=True)]
    if sheet.current_a > 0:
        peak = f", peak {show(sheet.peak_a, 'A')}" if sheet.peak_a > sheet.current_a * 1.001 else ""
        lines.append(Line(f"Running {show(sheet.current_a, 'A')}{peak} at {sheet.base_v:g} V"))
    if sheet.fuse_a is not None:
        wanted = f"{show(sheet.fuse_wanted_a, 'A')} wanted at least" if sheet.fuse_wanted_a else ""
        lines.append(Line(f"Fuse {sheet.fuse_a:g} A", wanted))
    lines += [Line(factor[:1].upper() + factor[1:]) for factor in sheet.factors]
    if sheet.left_in_mm and sheet.left_in_v:
        lines.append(
            Line(f"Ends and loops left in: {sheet.left_in_mm:.0f} mm, {sheet.left_in_v:.2f} V more on this wire")
        )
    return (*lines, *(Line("", note) for note in sheet.notes))


def what_if_cells(row: WhatIf) -> tuple[str, ...]:
    size = row.size if row.parallel == 1 else f"{row.parallel} × {row.size}"
    drop = f"{row.drop_percent:.1f} %" if row.drop_percent is not None else "–"
    sign = HOLDS if row.holds else FAILS
    return f"{sign} {row.change}", size, drop


def what_if_lines(row: WhatIf, planned: WhatIf) -> tuple[Line, ...]:
    """A change in words, and what it makes of the copper of the whole circuit."""
    told = [f"{show(row.current_a, 'A')} running"]
    if row.ampacity_a is not None:
        told.append(f"carries {show(row.ampacity_a, 'A')}")
    if row.fuse_a is not None:
        told.append(f"{row.fuse_a:g} A fuse")
    if row.path_drop_v is not None:
        told.append(f"{row.path_drop_v:.2f} V lost to the load and back")
    state = "every rule holds" if row.holds else "a rule does not hold"
    more = row.copper_g - planned.copper_g
    copper = f"Copper of the circuit: {row.copper_g:.0f} g" + (f", {more:+.0f} g" if abs(more) >= 0.5 else "")
    return (Line(f"{row.change}: {state}", row.remark, strong=True), Line(", ".join(told)), Line(copper))
