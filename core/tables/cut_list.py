"""The cut list: pieces by spool, longest first, with named allowances and boxes to tick."""

from collections.abc import Iterable

from core.analysis.analysis import Analysis
from core.analysis.cutting import spool_name
from core.analysis.results import CutPiece, CutRow
from core.tables.names import Names
from core.tables.table import Cell, Column, Table, swatch
from core.text import counted, metres, mm

COLUMNS = (
    Column(key="cut", title="cut", kind="tick", weight=0.42),
    Column(key="wire", title="wire", weight=1.15, important=True),
    Column(key="colour", title="colour", kind="swatch", weight=1.25),
    Column(key="section_mm2", title="size", kind="mm2", weight=0.6),
    Column(key="gauge_awg", title="AWG", weight=0.5),
    Column(key="from", title="from", weight=2.0),
    Column(key="to", title="to", weight=2.0),
    Column(key="route_mm", title="one-way route", kind="mm", weight=0.8),
    Column(key="allowances", title="allowances, mm", weight=3.6),
    Column(key="cut_mm", title="cut length", kind="mm", weight=0.95, important=True),
    Column(key="labelled", title="label", kind="tick", weight=0.45),
    Column(key="pulled", title="pulled", kind="tick", weight=0.5),
)
UNPLACED = "On no spool: buy or measure these by themselves"


def cut_list(analysis: Analysis) -> Table:
    """Every piece once. A length that rests on an assumed stretch is marked and not to be cut before it is measured."""
    names = Names(analysis.plan)
    pieces = {piece.piece: piece for piece in analysis.pieces}
    by_spool = _by_spool(analysis.cutting, pieces)
    rows: list[tuple[Cell, ...]] = []
    headings: list[tuple[int, str]] = []
    for spool, cuts in by_spool:
        headings.append((len(rows), _heading(spool, cuts, pieces, names)))
        ordered = sorted((pieces[cut.piece] for cut in cuts), key=lambda piece: (-piece.cut_mm, piece.piece))
        rows += [_row(piece, analysis, names) for piece in ordered]
    placed = {cut.piece for cut in analysis.cutting}
    unplaced = sorted((p for p in analysis.pieces if p.piece not in placed), key=lambda p: (-p.cut_mm, p.piece))
    if unplaced:
        headings.append((len(rows), UNPLACED))
        rows += [_row(piece, analysis, names) for piece in unplaced]
    return Table(
        name="cut-list",
        title="Cut list",
        columns=COLUMNS,
        rows=tuple(rows),
        headings=tuple(headings),
        totals=(_totals(analysis.pieces),),
        notes=_notes(analysis, by_spool, names),
    )


def _by_spool(cutting: Iterable[CutRow], pieces: dict[str, CutPiece]) -> list[tuple[str, list[CutRow]]]:
    """Spools in the order of kind, size and colour of what is cut from them."""
    spools: dict[str, list[CutRow]] = {}
    for cut in cutting:
        if cut.piece in pieces:
            spools.setdefault(cut.spool, []).append(cut)

    def order(item: tuple[str, list[CutRow]]) -> tuple[str, float, str, str]:
        first = pieces[item[1][0].piece]
        return first.kind, first.section_mm2, first.colour, item[0]

    return sorted(spools.items(), key=order)


def _heading(spool: str, cuts: list[CutRow], pieces: dict[str, CutPiece], names: Names) -> str:
    first = pieces[cuts[0].piece]
    kind = names.kinds.get(first.kind)
    used, waste = sum(cut.cut_mm for cut in cuts), min(cut.waste_mm for cut in cuts)
    what = f"{kind.name if kind else first.kind} {first.section_mm2:g} mm²"
    if first.colour:
        what += f" {swatch(first.colour)}"
    # The engine names a new spool after what is on it; a spool from the shelf has a name of its own.
    engines = spool_name(kind, first.section_mm2, first.colour) if kind else what
    name = names(spool).removeprefix(engines).strip(" #").removeprefix("spool").strip()
    count = f"{len(cuts)} piece{'s' if len(cuts) > 1 else ''}"
    which = f"{'stock spool' if cuts[0].stock else 'spool'} {name}"
    return f"{what} · {which} · {count}, {metres(used)} m, {metres(waste)} m left over"


def _row(piece: CutPiece, analysis: Analysis, names: Names) -> tuple[Cell, ...]:
    wire = analysis.wires.get(piece.wires[0]) if piece.wires else None
    sized = analysis.sized.get(piece.wires[0]) if piece.wires else None
    label = names(piece.piece) + (" *" if piece.provisional else "")
    allowances = " · ".join(
        f"{a.name.removeprefix('end at ')} {mm(a.length_mm)}" for a in piece.allowances if a.length_mm
    )
    return (
        False,
        label,
        swatch(piece.colour),
        piece.section_mm2,
        sized.gauge_awg if sized else None,
        names.end(wire.from_) if wire else None,
        names.end(wire.to) if wire else None,
        piece.route_mm,
        allowances,
        piece.cut_mm,
        False,
        False,
    )


def _totals(pieces: Iterable[CutPiece]) -> tuple[Cell, ...]:
    pieces = tuple(pieces)
    route, cut = sum(piece.route_mm for piece in pieces), sum(piece.cut_mm for piece in pieces)
    count = counted(len(pieces), "piece")
    allowances = f"allowances {mm(cut - route)}"
    return (None, "Total", None, None, None, count, None, route, allowances, cut, None, None)


def _notes(analysis: Analysis, by_spool: list[tuple[str, list[CutRow]]], names: Names) -> tuple[str, ...]:
    waste = sum(min(cut.waste_mm for cut in cuts) for _, cuts in by_spool)
    notes = [
        "Cut length = one-way route + allowances. Measure the first piece of every spool twice.",
        f"Left over on {counted(len(by_spool), 'spool')}: {metres(waste)} m in all.",
    ]
    if any(piece.provisional for piece in analysis.pieces):
        notes.append("* rests on a stretch that is assumed or unknown: measure it before cutting.")
    lost = [names(wire) for wire, route in analysis.routes.items() if route.route_mm is None]
    if lost:
        notes.append(f"Not in this list, because no route was found: {', '.join(sorted(lost))}.")
    return tuple(notes)
