"""Stage `cutting`: which spool every piece comes off, and everything there is to buy."""

from collections import Counter
from collections.abc import Mapping
from math import ceil

from core.analysis.colours import WORDS
from core.analysis.results import (
    CircuitSize,
    Crossing,
    CutPiece,
    CutRow,
    Material,
    SecuringRow,
    SizedWire,
    Totals,
    WrapRow,
)
from core.harness.cutting import plan_cuts
from core.harness.wrap import rolls
from core.model import Assumptions, Circuit, StockSpool, TapeKind, WireKind

#: (kind, section, colour): what has to come off one and the same sort of spool.
Sort = tuple[str, float, str]
FIXING_WORDS = {
    "tie_mount": "tie mount with cable tie",
    "p_clip": "P-clip",
    "saddle": "saddle",
    "edge_clip": "edge clip",
    "fir_tree_clip": "fir-tree clip",
    "bonded_mount": "bonded mount with cable tie",
    "clip": "clip",
    "cable_tie": "cable tie",
    "bracket": "bracket",
    "screw": "screw through the back of the trunking",
}


def _sorts(pieces: tuple[CutPiece, ...]) -> dict[Sort, list[CutPiece]]:
    found: dict[Sort, list[CutPiece]] = {}
    for piece in pieces:
        found.setdefault((piece.kind, piece.section_mm2, piece.colour), []).append(piece)
    return found


def _new_spool_mm(kind: WireKind, needed_mm: float) -> float:
    """The smallest spool sold that holds all of it, else the largest one."""
    lengths = sorted(kind.spools_m) or [100.0]
    return 1000 * next((m for m in lengths if 1000 * m >= needed_mm), lengths[-1])


def spool_name(kind: WireKind, section_mm2: float, colour: str) -> str:
    """Words for a sort of wire, as they stand on a shelf label and the shopping list."""
    colour_word = WORDS.get(colour, colour)
    return f"{kind.name} {section_mm2:g} mm²{f' {colour_word}' if colour_word else ''}"


def cut_rows(
    pieces: tuple[CutPiece, ...], kinds: tuple[WireKind, ...], stock: tuple[StockSpool, ...], assumptions: Assumptions
) -> tuple[CutRow, ...]:
    """Stage `cutting`: every piece and the spool it comes off; a piece longer than any spool has the spool ""."""
    kind_by_id = {k.id: k for k in kinds}
    rows: list[CutRow] = []
    for (kind_id, section, colour), members in _sorts(pieces).items():
        kind = kind_by_id[kind_id]
        have = [
            (s.id, s.left_mm)
            for s in stock
            if s.kind == kind_id and abs(s.section_mm2 - section) < 1e-6 and (not colour or s.colour == colour)
        ]
        needed = sum(p.cut_mm + assumptions.kerf_mm for p in members)
        plan = plan_cuts({p.piece: p.cut_mm for p in members}, have, assumptions.kerf_mm, _new_spool_mm(kind, needed))
        spool_of = dict(plan.assignments)
        waste = dict(plan.waste_mm)
        bought = {s: n for n, s in enumerate((s for s in waste if s not in dict(have)), start=1)}
        name = spool_name(kind, section, colour)
        for piece in sorted(members, key=lambda p: (spool_of.get(p.piece, ""), -p.cut_mm, p.piece)):
            spool = spool_of.get(piece.piece)
            label = "" if spool is None else f"{name} #{bought[spool]}" if spool in bought else spool
            rows.append(
                CutRow(spool=label, piece=piece.piece, cut_mm=piece.cut_mm, waste_mm=waste.get(spool or "", 0.0))
            )
    return tuple(rows)


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"


def _wire_materials(
    pieces: tuple[CutPiece, ...], cut: tuple[CutRow, ...], kinds: Mapping[str, WireKind]
) -> list[Material]:
    spools = {row.piece: row.spool for row in cut}
    rows = []
    for (kind, section, colour), members in sorted(_sorts(pieces).items()):
        metres = sum(p.cut_mm for p in members) / 1000
        count = len({spools[p.piece] for p in members if spools.get(p.piece)})
        rows.append(
            Material(
                item=spool_name(kinds[kind], section, colour),
                quantity=ceil(metres * 10) / 10,
                unit="m",
                why=f"{_count(len(members), 'piece')} off {_count(count, 'spool')}",
            )
        )
    return rows


def materials(
    pieces: tuple[CutPiece, ...],
    cut: tuple[CutRow, ...],
    wrap: tuple[WrapRow, ...],
    securing: tuple[SecuringRow, ...],
    crossings: tuple[Crossing, ...],
    circuits: tuple[Circuit, ...],
    sizes: Mapping[str, CircuitSize],
    kinds: tuple[WireKind, ...],
    tapes: tuple[TapeKind, ...],
    assumptions: Assumptions,
) -> tuple[Material, ...]:
    """Stage `materials`: wire, tape, fixings, edge protection and fuses to buy, with the reason for each."""
    rows = _wire_materials(pieces, cut, {k.id: k for k in kinds})
    for tape in tapes:
        used = sum(r.tape_mm for r in wrap if r.tape == tape.id)
        if used > 0:
            count = rolls(used, tape.roll_mm, assumptions.tape_reserve_percent / 100)
            why = f"{used / 1000:.1f} m of tape and {assumptions.tape_reserve_percent:g} % reserve"
            rows.append(Material(item=tape.name, quantity=count, unit="rolls", why=why))
    for kind, count in sorted(Counter(r.kind for r in securing).items()):
        rows.append(Material(item=FIXING_WORDS.get(kind, kind), quantity=count, unit="pieces", why="securing points"))
    open_crossings = [c for c in crossings if not c.protected and c.size_mm is not None]
    trim = sum(c.size_mm or 0.0 for c in open_crossings if c.kind in ("metal_edge", "opening", "panel_edge"))
    if trim > 0:
        rows.append(
            Material(item="edge trim", quantity=ceil(trim / 100) / 10, unit="m", why="edges that bundles cross")
        )
    holes = Counter(round(c.size_mm or 0.0, 1) for c in open_crossings if c.kind in ("rib", "box_wall", "hole"))
    for hole, count in sorted(holes.items()):
        rows.append(
            Material(item=f"grommet for a {hole:g} mm hole", quantity=count, unit="pieces", why="ribs, walls and holes")
        )
    fuses = Counter(
        (c.protective.family, sizes[c.id].fuse_a or 0.0)
        for c in circuits
        if c.protective.kind == "fuse" and sizes[c.id].fuse_a is not None
    )
    for (family, amps), count in sorted(fuses.items()):
        word = family.replace("_", " ")
        rows.append(
            Material(item=f"fuse {amps:g} A, {word}", quantity=count, unit="pieces", why="one a circuit; add spares")
        )
    return tuple(rows)


def totals(
    pieces: tuple[CutPiece, ...],
    wrap: tuple[WrapRow, ...],
    sized: Mapping[str, SizedWire],
    tapes: tuple[TapeKind, ...],
    assumptions: Assumptions,
) -> Totals:
    """Sums over all pieces; the price is None as long as one kind has none."""
    tape_mm = sum(r.tape_mm for r in wrap)
    used = {t.id: sum(r.tape_mm for r in wrap if r.tape == t.id) for t in tapes}
    prices = [sized[p.wires[0]].price_per_m for p in pieces]
    price = None
    if pieces and all(p is not None for p in prices):
        price = sum((p or 0.0) * piece.cut_mm / 1000 for p, piece in zip(prices, pieces, strict=True))
    return Totals(
        route_mm=sum(p.route_mm for p in pieces),
        allowance_mm=sum(p.cut_mm - p.route_mm for p in pieces),
        cut_mm=sum(p.cut_mm for p in pieces),
        tape_mm=tape_mm,
        rolls=sum(
            rolls(used[t.id], t.roll_mm, assumptions.tape_reserve_percent / 100) for t in tapes if used[t.id] > 0
        ),
        mass_kg=sum(sized[p.wires[0]].mass_g_per_m * p.cut_mm for p in pieces) / 1e6,
        price=price,
    )
