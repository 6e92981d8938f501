"""What stands on the labels: one at each end of every piece, and one wherever it passes a panel or a hole."""

from collections.abc import Mapping, Sequence

import msgspec

from core.analysis.analysis import Analysis
from core.analysis.results import Crossing, CutPiece
from core.analysis.wire_ends import passed
from core.tables.names import Names
from core.text import mm

#: A blank at which no line is broken.
FIRM = "\N{NO-BREAK SPACE}"


class Label(msgspec.Struct, frozen=True, kw_only=True):
    """`here` is the end or crossing this label belongs to, `there` the far end. `code` is for the QR sign."""

    wire: str
    here: str
    there: str
    facts: str
    code: str
    od_mm: float
    at_end: bool


def labels(analysis: Analysis) -> tuple[Label, ...]:
    """In the order of the cut list: both ends of a piece, then its crossings along the way."""
    names = Names(analysis.plan)
    order = {row.piece: index for index, row in enumerate(_in_cutting_order(analysis))}
    pieces = sorted(analysis.pieces, key=lambda piece: (order.get(piece.piece, len(order)), piece.piece))
    crossings: dict[str, list[Crossing]] = {}
    for row in analysis.crossings:
        crossings.setdefault(row.channel, []).append(row)
    return tuple(label for piece in pieces for label in _of_piece(analysis, names, piece, crossings))


def _in_cutting_order(analysis: Analysis) -> list[CutPiece]:
    by_id = {piece.piece: piece for piece in analysis.pieces}
    cut = [by_id[row.piece] for row in analysis.cutting if row.piece in by_id]
    return sorted(cut, key=lambda piece: (piece.kind, piece.section_mm2, piece.colour, -piece.cut_mm, piece.piece))


def _of_piece(
    analysis: Analysis, names: Names, piece: CutPiece, crossings: Mapping[str, Sequence[Crossing]]
) -> list[Label]:
    wire, sized = analysis.wires[piece.wires[0]], analysis.sized[piece.wires[0]]
    name = names(piece.piece)
    fuse = f" · {sized.fuse_a:g}{FIRM}A" if sized.fuse_a is not None else ""
    cores = f"{len(piece.wires)}{FIRM}×{FIRM}" if len(piece.wires) > 1 else ""
    facts = f"{mm(piece.cut_mm)} · {cores}{piece.section_mm2:g}{FIRM}mm²{fuse}"
    # Capitals, digits and "-" only: the densest way of a QR sign.
    code = f"{name.upper()} {round(piece.cut_mm)} MM"
    ends = (names.end(wire.from_), names.end(wire.to))

    def label(here: str, there: str, at_end: bool) -> Label:
        return Label(wire=name, here=here, there=there, facts=facts, code=code, od_mm=sized.od_mm, at_end=at_end)

    found = [label(ends[0], ends[1], True), label(ends[1], ends[0], True)]
    for thing, _ in passed(analysis.routes[wire.id].steps, crossings):
        found.append(label(f"at {names(thing)}", f"{ends[0]} – {ends[1]}", False))
    return found
