"""Stages `cutting` and `totals`: which spool every piece comes off, and the sums over all of them."""

from collections.abc import Mapping
from functools import lru_cache

from core.analysis.colours import WORDS
from core.analysis.results import CutPiece, CutRow, SizedWire, SpoolPlan, Totals, WrapRow
from core.harness.cutting import Cutting, plan_cuts
from core.harness.wrap import rolls_without_joints
from core.model import Assumptions, StockSpool, TapeKind, WireKind

#: (kind, section, colour): what has to come off one and the same sort of spool.
Sort = tuple[str, float, str]


def sorts(pieces: tuple[CutPiece, ...]) -> dict[Sort, list[CutPiece]]:
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


@lru_cache(maxsize=1_024)
def _planned(
    lengths_mm: tuple[float, ...], have: tuple[tuple[str, float], ...], kerf_mm: float, new_mm: float
) -> Cutting:
    """Cuts of pieces that are called by their number. An edit changes one or two sorts of wire, and a return is as
    long as its feed: what was planned before is remembered."""
    return plan_cuts({f"{k:06}": mm for k, mm in enumerate(lengths_mm)}, have, kerf_mm, new_mm)


def cut_rows(
    pieces: tuple[CutPiece, ...], kinds: tuple[WireKind, ...], stock: tuple[StockSpool, ...], assumptions: Assumptions
) -> tuple[tuple[CutRow, ...], tuple[SpoolPlan, ...]]:
    """Stage `cutting`: every piece and the spool it comes off (a piece that fits none has the spool ""), and for every
    sort of wire how good the plan is."""
    kind_by_id = {k.id: k for k in kinds}
    rows: list[CutRow] = []
    plans: list[SpoolPlan] = []
    for (kind_id, section, colour), members in sorts(pieces).items():
        kind = kind_by_id[kind_id]
        have = [
            (s.id, s.left_mm)
            for s in stock
            if s.kind == kind_id and abs(s.section_mm2 - section) < 1e-6 and (not colour or s.colour == colour)
        ]
        needed = sum(p.cut_mm + assumptions.kerf_mm for p in members)
        new_mm = _new_spool_mm(kind, needed)
        ordered = sorted(members, key=lambda p: (-p.cut_mm, p.piece))
        plan = _planned(tuple(p.cut_mm for p in ordered), tuple(have), assumptions.kerf_mm, new_mm)
        named = {f"{k:06}": p.piece for k, p in enumerate(ordered)}
        spool_of = {named[number]: spool for number, spool in plan.assignments}
        waste = dict(plan.waste_mm)
        in_stock = dict(have)
        bought = {s: n for n, s in enumerate((s for s in waste if s not in in_stock), start=1)}
        name = spool_name(kind, section, colour)
        problems = dict.fromkeys((named[number] for number in plan.too_long), "too long")
        problems |= dict.fromkeys((named[number] for number in plan.unplaced), "none left")
        for piece in sorted(members, key=lambda p: (spool_of.get(p.piece, ""), -p.cut_mm, p.piece)):
            spool = spool_of.get(piece.piece)
            label = "" if spool is None else f"{name} #{bought[spool]}" if spool in bought else spool
            rows.append(
                CutRow(
                    spool=label,
                    piece=piece.piece,
                    cut_mm=piece.cut_mm,
                    waste_mm=waste.get(spool or "", 0.0),
                    stock=spool if spool is not None and spool in in_stock else "",
                    problem=problems.get(piece.piece, ""),
                )
            )
        plans.append(
            SpoolPlan(
                kind=kind_id,
                section_mm2=section,
                colour=colour,
                new_spools=plan.new_spools,
                spools=len(plan.opened),
                least_new=plan.least[0],
                least_spools=plan.least[1],
                proven=plan.proven,
                spool_mm=new_mm,
            )
        )
    return tuple(rows), tuple(plans)


def rolls_of(tape: TapeKind, wrap: tuple[WrapRow, ...], assumptions: Assumptions) -> int:
    """Rolls of one tape to buy, reserve included, so that no stretch shorter than a roll is wrapped from two."""
    stretches = [row.tape_mm for row in wrap if row.tape == tape.id and row.tape_mm > 0]
    return rolls_without_joints(stretches, tape.roll_mm, assumptions.tape_reserve_percent / 100)


def totals(
    pieces: tuple[CutPiece, ...],
    wrap: tuple[WrapRow, ...],
    sized: Mapping[str, SizedWire],
    tapes: tuple[TapeKind, ...],
    assumptions: Assumptions,
) -> Totals:
    """Sums over all pieces; the price is None as long as one kind has none."""
    prices = [sized[p.wires[0]].price_per_m for p in pieces]
    price = None
    if pieces and all(p is not None for p in prices):
        price = sum((p or 0.0) * piece.cut_mm / 1000 for p, piece in zip(prices, pieces, strict=True))
    return Totals(
        route_mm=sum(p.route_mm for p in pieces),
        allowance_mm=sum(p.cut_mm - p.route_mm for p in pieces),
        cut_mm=sum(p.cut_mm for p in pieces),
        tape_mm=sum(r.tape_mm for r in wrap),
        rolls=sum(rolls_of(t, wrap, assumptions) for t in tapes),
        mass_kg=sum(sized[p.wires[0]].mass_g_per_m * p.cut_mm for p in pieces) / 1e6,
        price=price,
        wrap_minutes=sum(r.minutes for r in wrap),
    )
