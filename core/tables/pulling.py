"""The pull plan: which pieces are pulled together, in which order, and what of it is still open."""

import msgspec

from core.analysis.analysis import Analysis
from core.analysis.results import CutPiece
from core.tables.names import Names
from core.tables.table import Cell, Column, Table
from core.text import metres

#: Names of pieces in one row: a longer row would be cut short on paper.
PIECES_IN_A_ROW = 12


class Pull(msgspec.Struct, frozen=True, kw_only=True):
    """Pieces that go the same way and are pulled in one go. `way` are the channels from the pulling end on."""

    number: int
    pieces: tuple[CutPiece, ...]
    way: tuple[str, ...]
    start: str
    end: str
    done: bool

    @property
    def longest_mm(self) -> float:
        return max(piece.cut_mm for piece in self.pieces)

    @property
    def thickest_mm2(self) -> float:
        return max(piece.section_mm2 for piece in self.pieces)


def pulls(analysis: Analysis) -> tuple[Pull, ...]:
    """All pulls in their order: what is open first, of that the longest, then the thickest.

    Pieces share a pull when they lie in the same channels from end to end, whichever way they were drawn.
    """
    names = Names(analysis.plan)
    pulled = {row.wire for row in analysis.plan.as_pulled}
    groups: dict[tuple[str, ...], list[CutPiece]] = {}
    for piece in analysis.pieces:
        way = way_of(analysis, piece)
        groups.setdefault(min(way, way[::-1]), []).append(piece)
    found = []
    for pieces in groups.values():
        ordered = tuple(sorted(pieces, key=lambda piece: (-piece.cut_mm, -piece.section_mm2, piece.piece)))
        way, wire = way_of(analysis, ordered[0]), analysis.wires[ordered[0].wires[0]]
        held = bool(way) and all(analysis.channels[channel].wires != "planned" for channel in way)
        done = held or all(pulled.issuperset(piece.wires) for piece in pieces)
        found.append(
            Pull(number=0, pieces=ordered, way=way, start=names(wire.from_.device), end=names(wire.to.device),
                 done=done)
        )  # fmt: skip
    found.sort(key=lambda pull: (pull.done, -pull.longest_mm, -pull.thickest_mm2, pull.pieces[0].piece))
    return tuple(msgspec.structs.replace(pull, number=number) for number, pull in enumerate(found, start=1))


def way_of(analysis: Analysis, piece: CutPiece) -> tuple[str, ...]:
    """The channels of a piece from its start to its end."""
    return tuple(step.channel for step in analysis.routes[piece.wires[0]].steps)


def way_words(analysis: Analysis, way: tuple[str, ...]) -> str:
    """The channels by name, neighbours of one name once: "Cabinet back → Right riser → Right belt"."""
    told: list[str] = []
    for channel in way:
        name = analysis.channels[channel].name or channel
        if not told or told[-1] != name:
            told.append(name)
    return " → ".join(told) or "beside each other, no channel"


def pull_plan(analysis: Analysis) -> Table:
    """One row a pull; more where its pieces need more room."""
    names = Names(analysis.plan)
    rows: list[tuple[Cell, ...]] = []
    headings: list[tuple[int, str]] = []
    before: bool | None = None
    for pull in pulls(analysis):
        if pull.done != before:
            headings.append((len(rows), "Pulled" if pull.done else "Open: longest and thickest first"))
            before = pull.done
        pieces = [names(piece.piece) for piece in pull.pieces]
        for start in range(0, len(pieces), PIECES_IN_A_ROW):
            here = " · ".join(pieces[start : start + PIECES_IN_A_ROW])
            if start:
                rows.append((None, None, here, None, "", "", "", None))
                continue
            rows.append(
                (pull.done, pull.number, here, len(pieces), pull.start, pull.end, way_words(analysis, pull.way),
                 pull.longest_mm)
            )  # fmt: skip
    total = sum(piece.cut_mm for piece in analysis.pieces)
    return Table(
        name="pull-plan",
        title="Pull plan",
        columns=(
            Column(key="done", title="done", kind="tick", weight=0.4),
            Column(key="pull", title="pull", kind="count", weight=0.5, important=True),
            Column(key="pieces", title="pulled together", weight=2.4, important=True),
            Column(key="count", title="pieces", kind="count", weight=0.5),
            Column(key="start", title="from", weight=1.4),
            Column(key="end", title="to", weight=1.4),
            Column(key="way", title="way", weight=3.4),
            Column(key="longest_mm", title="longest", kind="mm", weight=0.7, important=True),
        ),
        rows=tuple(rows),
        headings=tuple(headings),
        notes=(
            f"{len(analysis.pieces)} pieces, {metres(total)} m in all. Label both ends before pulling.",
            "Pull mains by itself, never with low voltage in one pull; keep its channel closed to the others.",
        ),
    )
