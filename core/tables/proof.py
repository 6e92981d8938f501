"""The proof of one wire: what it is, every rule with its numbers and source, every size, and what was found of it."""

from core.analysis.analysis import Analysis
from core.analysis.results import CutPiece
from core.analysis.sizing_sheet import SizeRow, SizingSheet
from core.tables.contract import standing_findings
from core.tables.names import ROLE_WORDS, Names
from core.tables.table import Cell, Column, Table, swatch
from core.tables.workshop import SEVERITY_WORDS, told_number
from core.text import counted, mm, trimmed
from core.units import show

BACK = "Drop: from the source to the load and back, at the current that flows all the time."


def proof_tables(analysis: Analysis, sheet: SizingSheet) -> tuple[Table, ...]:
    """Facts, rules of the chosen size, all sizes, findings; a wire without sizes to choose from has facts only."""
    tables = (_facts(analysis, sheet), _rules(sheet), _sizes(sheet), _found(analysis, sheet))
    return tuple(table for table in tables if table.rows)


def _facts(analysis: Analysis, sheet: SizingSheet) -> Table:
    names = Names(analysis.plan)
    wire, sized = analysis.wires[sheet.wire], analysis.sized[sheet.wire]
    piece = next((piece for piece in analysis.pieces if sheet.wire in piece.wires), None)
    channels = [step.channel for step in analysis.routes[sheet.wire].steps]
    chosen = f"{swatch(sized.colour)} {sized.section_mm2:g} mm²" + (
        f" (AWG {sized.gauge_awg})" if sized.gauge_awg else ""
    )
    fuse = "none on this wire"
    if sheet.fuse_a is not None:
        wanted = f", at least {trimmed(sheet.fuse_wanted_a, 1)} A wanted" if sheet.fuse_wanted_a else ""
        fuse = f"{sheet.fuse_a:g} A{wanted}"
    facts: list[tuple[str, str]] = [
        ("circuit", f"{sheet.circuit_name}: {ROLE_WORDS.get(sheet.role, sheet.role)}"),
        ("chosen", chosen + (f", {wire.parallel} in parallel" if wire.parallel > 1 else "")),
        ("from", names.end(wire.from_)),
        ("to", names.end(wire.to)),
        ("kind", sheet.kind),
        ("decided by", sheet.decided_by),
        ("current", f"running {show(sheet.current_a, 'A')}, peak {show(sheet.peak_a, 'A')}"),
        ("fuse", fuse),
        ("volts", f"{sheet.base_v:g} V; copper counted at {sheet.conductor_c:g} °C"),
        ("there and back", "–" if sheet.there_and_back_mm is None else f"{mm(sheet.there_and_back_mm)} mm"),
        ("bundled", f"{counted(sheet.grouped, 'conductor')} with current"),
        ("factors", "; ".join(sheet.factors) or "none"),
        ("cut length", cut_words(piece)),
        ("way", " · ".join(channels) or "beside each other, no channel"),
    ]
    rows = tuple((*left, *right) for left, right in zip(facts[::2], facts[1::2], strict=True))
    return Table(
        name="proof-facts",
        title="What it is",
        columns=(
            Column(key="what", title="what", weight=0.9),
            Column(key="fact", title="how it is", weight=4.0),
            Column(key="what2", title="what", weight=0.9),
            Column(key="fact2", title="how it is", weight=4.0),
        ),
        rows=rows,
        notes=(sheet.reason,),
    )


def cut_words(piece: CutPiece | None) -> str:
    """The cut as a sum: "3 421 route + 150 end at from + … = 3 950 mm"."""
    if piece is None:
        return "no way yet, so nothing to cut"
    parts = [f"{mm(piece.route_mm)} route", *(f"{mm(row.length_mm)} {row.name}" for row in piece.allowances)]
    return f"{' + '.join(parts)} = {mm(piece.cut_mm)} mm"


def _rules(sheet: SizingSheet) -> Table:
    chosen = next((row for row in sheet.rows if row.chosen), None)
    rows: tuple[tuple[Cell, ...], ...] = ()
    if chosen is not None:
        rows = tuple(
            (verdict.rule, _rounded(verdict.value, verdict.unit), _rounded(verdict.limit, verdict.unit),
             verdict.unit.replace("mm2", "mm²"),
             "holds" if verdict.holds else "DOES NOT HOLD", verdict.source)
            for verdict in chosen.verdicts
        )  # fmt: skip
    return Table(
        name="proof-rules",
        title=f"Every rule on {chosen.size}" if chosen else "Rules",
        columns=(
            Column(key="rule", title="rule", weight=1.6, important=True),
            Column(key="value", title="this wire", kind="number", weight=0.8, important=True),
            Column(key="limit", title="limit", kind="number", weight=0.8, important=True),
            Column(key="unit", title="unit", weight=0.5),
            Column(key="holds", title="holds", weight=0.9),
            Column(key="source", title="source", weight=5.0),
        ),
        rows=rows,
    )


def _rounded(value: float, unit: str) -> float:
    """Volts are told apart by their thousandths, amperes by their tenths."""
    return round(value, 1 if unit == "A" else 3)


def _sizes(sheet: SizingSheet) -> Table:
    shown = _near(sheet.rows)
    return Table(
        name="proof-sizes",
        title="Every size" if len(shown) == len(sheet.rows) else "Sizes round the chosen one",
        columns=(
            Column(key="chosen", title="", weight=0.4),
            Column(key="size", title="size", weight=0.9, important=True),
            Column(key="ampacity_a", title="carries", kind="a", weight=0.7),
            Column(key="drop_v", title="drop", kind="v", weight=0.7),
            Column(key="drop_percent", title="drop", kind="percent", weight=0.6),
            Column(key="mass", title="weight", kind="number", unit="g/m", weight=0.6),
            Column(key="remark", title="why, or why not", weight=5.0),
        ),
        rows=tuple(
            ("►" if row.chosen else "", row.size, row.ampacity_a, row.path_drop_v, row.drop_percent,
             round(row.mass_g_per_m, 1), row.remark)
            for row in shown
        ),
        notes=(" ".join((BACK, *sheet.notes)),),
    )  # fmt: skip


def _near(rows: tuple[SizeRow, ...], each_side: int = 2) -> tuple[SizeRow, ...]:
    """The sizes next to the chosen one, so that a proof is one page."""
    at = next((index for index, row in enumerate(rows) if row.chosen), None)
    return rows if at is None else rows[max(0, at - each_side) : at + each_side + 1]


def _found(analysis: Analysis, sheet: SizingSheet) -> Table:
    about = {sheet.wire, sheet.circuit}
    rows = tuple(
        (SEVERITY_WORDS[row.severity], row.message, told_number(row.value), told_number(row.limit), row.unit,
         row.source)
        for row in standing_findings(analysis.findings)
        if about & set(row.subjects)
    )  # fmt: skip
    return Table(
        name="proof-findings",
        title="Findings about it",
        columns=(
            Column(key="severity", title="severity", weight=0.8, important=True),
            Column(key="message", title="what is wrong", weight=4.0),
            Column(key="value", title="value", kind="number", weight=0.6),
            Column(key="limit", title="limit", kind="number", weight=0.6),
            Column(key="unit", title="unit", weight=0.5),
            Column(key="source", title="source", weight=2.4),
        ),
        rows=rows,
    )
