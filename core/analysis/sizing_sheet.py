"""The sizing sheet of a wire: every size its kind is made in, and each rule's word on it, as an inspector asks for it.

Worked out on demand from an analysis; nothing here is part of the analysis itself. What would be if the circuit were
another is in `core.analysis.what_if`.
"""

from collections.abc import Iterator
from functools import cached_property

from core.analysis.analysis import Analysis
from core.analysis.left_in import left_in_mm
from core.analysis.results import Value, Wire
from core.analysis.size_inputs import inputs_of
from core.analysis.size_problem import IDLE, INFORMS, PathInfo, SizeProblem, size_name
from core.analysis.size_words import RULE_WORDS, factor_told, reason, refusal, rule_source
from core.analysis.sizes import worst_paths
from core.electrical.conductors import trade_size_section_mm2
from core.electrical.sizing import Candidate, PathDrop, Rule, SizingResult, Solved, Verdict
from core.model import Circuit, WireKind


class RuleVerdict(Value, frozen=True, kw_only=True):
    """One rule's word on one size: `value` is what the size has, `limit` what the rule wants, with its source."""

    rule: str
    value: float
    limit: float
    unit: str
    holds: bool
    source: str


class SizeRow(Value, frozen=True, kw_only=True):
    """One size of the kind. `path_drop_v` is the worst drop from source to load and back with this size."""

    size: str
    section_mm2: float
    #: None where nobody asks, or the table has no value.
    ampacity_a: float | None
    drop_v: float
    path_drop_v: float | None
    drop_percent: float | None
    mass_g_per_m: float
    price_per_m: float | None
    verdicts: tuple[RuleVerdict, ...]
    holds: bool
    chosen: bool
    #: Why not this one, or why this one.
    remark: str


class SizingSheet(Value, frozen=True, kw_only=True):
    """Everything that decides one wire's size. Lengths in mm; `factors` are words with their numbers.

    `left_in_mm` are ends made off and loops that stay in the vehicle beyond the route, `left_in_v` what they lose.
    """

    wire: str
    circuit: str
    circuit_name: str
    role: str
    from_: str
    to: str
    kind: str
    base_v: float
    conductor_c: float
    route_mm: float | None
    there_and_back_mm: float | None
    current_a: float
    peak_a: float
    fuse_a: float | None
    fuse_wanted_a: float | None
    left_in_mm: float | None
    left_in_v: float | None
    grouped: int
    factors: tuple[str, ...]
    rows: tuple[SizeRow, ...]
    decided_by: Rule
    reason: str
    notes: tuple[str, ...]


class SizingDesk:
    """The sizing problem of an analysis, solved once, for the sheets of several wires."""

    def __init__(self, analysis: Analysis, pulled: bool = True) -> None:
        """Without `pulled` the sizes are those of the plan, whatever was pulled already."""
        self.analysis = analysis
        self._pulled = pulled

    @cached_property
    def work(self) -> SizeProblem:
        return SizeProblem(inputs_of(self.analysis, pulled=self._pulled))

    @cached_property
    def solved(self) -> Solved:
        return Solved(self.work.problem)

    @property
    def result(self) -> SizingResult:
        return self.solved.result

    @cached_property
    def _left_in_mm(self) -> dict[str, float]:
        return left_in_mm(self.analysis.pieces)

    @cached_property
    def _worst(self) -> dict[str, tuple[PathInfo, PathDrop]]:
        return worst_paths(self.work, self.result)

    def sheet(self, wire_id: str) -> SizingSheet:
        """The sheet of one wire. Raises KeyError for a wire the analysis does not have."""
        a, work = self.analysis, self.work
        wire = a.wires[wire_id]
        index, circuit, sized = work.number[wire_id], work.circuits[wire.circuit], a.sized[wire_id]
        answer, kind = self.result.conductors[index], work.kinds[wire.kind]
        protection = work.protection_number.get(circuit.id)
        fuse = self.result.fuses[protection] if protection is not None and wire.role not in IDLE else None
        rows = tuple(self._rows(wire, kind, circuit))
        left_mm = self._left_in_mm.get(wire_id)
        informs = _informs(wire, circuit)
        size_row = a.circuit_sizes[circuit.id]
        fuse_a = fuse.rating_a if fuse is not None else None
        return SizingSheet(
            wire=wire_id,
            circuit=circuit.id,
            circuit_name=circuit.name,
            role=wire.role,
            from_=a.word(wire.from_.device),
            to=a.word(wire.to.device),
            kind=kind.name,
            base_v=a.loads[circuit.id].base_v,
            conductor_c=a.plan.assumptions.conductor_c,
            route_mm=a.routes[wire_id].route_mm,
            there_and_back_mm=size_row.there_and_back_mm,
            current_a=sized.current_a,
            peak_a=sized.peak_a,
            fuse_a=fuse_a,
            fuse_wanted_a=fuse.wanted_a if fuse is not None else None,
            left_in_mm=left_mm,
            left_in_v=sized.current_a * sized.r_ohm_per_m * left_mm / 1000 if left_mm is not None else None,
            grouped=answer.grouped,
            factors=() if informs else tuple(factor_told(f) for f in answer.factors),
            rows=rows,
            decided_by=answer.decided_by,
            reason=reason(work, wire, self.result, self._worst.get(wire_id)),
            notes=tuple(self._notes(wire, circuit, kind, answer.section_mm2)),
        )

    def _rows(self, wire: Wire, kind: WireKind, circuit: Circuit) -> Iterator[SizeRow]:
        base_v = self.analysis.loads[circuit.id].base_v
        found = self.solved.candidates(self.work.number[wire.id])
        informs = _informs(wire, circuit)
        chosen = next((c.section_mm2 for c in found if c.chosen), None)
        for row, made in zip(found, kind.sizes, strict=True):
            drop = next((v for v in row.verdicts if v.rule == "voltage drop"), None)
            # A bond carries current for as long as a fault lasts: the company it lies in does not count.
            fault = next((v for v in row.verdicts if v.rule == "bond fuse"), None)
            carries = fault.value if fault is not None else row.ampacity_a
            verdicts = tuple(
                RuleVerdict(
                    rule=RULE_WORDS[v.rule],
                    value=v.value,
                    limit=v.limit,
                    unit=v.unit,
                    holds=v.holds,
                    source=self._drop_source(wire.id, v)
                    if v.rule == "voltage drop"
                    else rule_source(self.analysis.profile, circuit, wire.role, v.rule),
                )
                for v in row.verdicts
                if v.limit > 0 or v.rule == "voltage drop"
            )
            yield SizeRow(
                size=size_name(made),
                section_mm2=made.section_mm2,
                ampacity_a=None if informs or carries <= 0 else carries,
                drop_v=row.drop_v,
                path_drop_v=drop.value if drop is not None else None,
                drop_percent=100 * drop.value / base_v if drop is not None and base_v > 0 else None,
                mass_g_per_m=made.mass_g_per_m,
                price_per_m=made.price_per_m,
                verdicts=verdicts,
                holds=row.holds,
                chosen=row.chosen,
                remark=_remark(row, chosen, circuit),
            )

    def _drop_source(self, wire_id: str, verdict: Verdict) -> str:
        for info in self.work.path_infos:
            if wire_id in info.wires and abs(info.limit_v - verdict.limit) < 1e-9:
                return info.why
        return "no limit"

    def _notes(self, wire: Wire, circuit: Circuit, kind: WireKind, section_mm2: float) -> Iterator[str]:
        if not _informs(wire, circuit) and wire.role not in IDLE:
            conductor_c = self.analysis.plan.assumptions.conductor_c
            yield f"Resistance counted with copper at {conductor_c:g} °C; a colder wire loses less."
            yield "Drop is counted over the route; what the ends and loops left in the vehicle lose comes on top."
        if circuit.group == "mains":
            yield "Mains: for planning only. A licensed person sizes it by the local code."
        if circuit.return_path.kind == "chassis":
            yield "The return is the body: only the feed's drop is counted."
        actual = trade_size_section_mm2(section_mm2)
        if actual is not None and kind.group == "dc_power" and kind.sizes[0].gauge_awg is None:
            yield (
                f"Order it by its copper section. “{section_mm2:g} mm” auto cable is named after its outside and holds "
                f"{actual:g} mm² only (read on three dealers' pages)."
            )
        if kind.known != "read":
            from_memory = "are from memory" if kind.known == "memory" else f"are {kind.known}"
            yield f"Resistances and diameters of {kind.name} {from_memory}: compare them with its data sheet."


def _informs(wire: Wire, circuit: Circuit) -> bool:
    return wire.role in ("data", "antenna") or circuit.group in INFORMS


def _remark(row: Candidate, chosen: float | None, circuit: Circuit) -> str:
    """Why not this size: the first rule that refuses it; or that it is the one."""
    if row.chosen:
        told = next((refusal(v, circuit) for v in row.verdicts if not v.holds), "")
        return f"chosen, but {told}" if told else "chosen"
    for verdict in row.verdicts:
        if not verdict.holds:
            return refusal(verdict, circuit)
    if chosen is not None and row.section_mm2 > chosen:
        return "more copper than needed"
    return "enough for this conductor alone"


def sizing_sheet(analysis: Analysis, wire_id: str) -> SizingSheet:
    """The sizing sheet of one wire. Raises KeyError for a wire the analysis does not have."""
    return SizingDesk(analysis).sheet(wire_id)


def sizing_sheets(analysis: Analysis) -> tuple[SizingSheet, ...]:
    """The sheets of all wires, in the order of the analysis."""
    desk = SizingDesk(analysis)
    return tuple(desk.sheet(wire) for wire in analysis.wires)


__all__ = ["RuleVerdict", "SizeRow", "SizingDesk", "SizingSheet", "sizing_sheet", "sizing_sheets"]
