"""The sizing sheet of a wire: every size its kind is made in, each rule's word on it, and what would be if.

Worked out on demand from an analysis; nothing here is part of the analysis itself.
"""

from collections.abc import Callable, Iterator
from functools import cached_property

from msgspec.structs import replace

from core.analysis.analysis import Analysis
from core.analysis.results import Value
from core.analysis.size_problem import IDLE, LOW_VOLTS, PathInfo, SizeProblem, maker_rows, size_name
from core.analysis.sizes import reason, rule_source, worst_paths
from core.electrical.conductors import copper_g_per_m, trade_size_section_mm2
from core.electrical.sizing import (
    Candidate,
    Conductor,
    Floor,
    PathDrop,
    Rule,
    SizingProblem,
    SizingResult,
    Verdict,
    candidates,
    size,
)
from core.model import Circuit, WireKind

#: How the rules are called on the sheet.
_RULE_WORDS: dict[Rule, str] = {
    "minimum size": "smallest size", "ampacity": "carries the load", "fuse": "carries the fuse",
    "fuse table": "fuse allowed on it", "bond fuse": "carries the largest fuse", "maker's table": "maker's table",
    "voltage drop": "voltage drop", "fixed": "set by hand",
}  # fmt: skip


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
    ampacity_a: float
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


class WhatIf(Value, frozen=True, kw_only=True):
    """The circuit after one change: sizes, currents and drops of this wire, copper of the whole circuit."""

    change: str
    size: str
    section_mm2: float
    parallel: int
    current_a: float
    fuse_a: float | None
    ampacity_a: float
    path_drop_v: float | None
    drop_percent: float | None
    copper_g: float
    holds: bool
    remark: str


class SizingSheet(Value, frozen=True, kw_only=True):
    """Everything that decides one wire's size. Lengths in mm; `factors` are words with their numbers."""

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
    grouped: int
    factors: tuple[str, ...]
    rows: tuple[SizeRow, ...]
    decided_by: str
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
        a, plan = self.analysis, self.analysis.plan
        entries = plan.as_pulled if self._pulled else ()
        pulled = {row.wire: row.section_mm2 for row in entries if row.section_mm2 is not None and not row.spare}
        lengths = {channel: path.length_mm for channel, path in a.paths.items()}
        return SizeProblem(
            plan.circuits, plan.devices, plan.wire_kinds, plan.channels, a.wires, a.routes, a.loads, lengths,
            a.ambients, a.profile, plan.assumptions, pulled,
        )  # fmt: skip

    @cached_property
    def result(self) -> SizingResult:
        return size(self.work.problem)

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
        rows = tuple(self._rows(wire_id, kind, circuit))
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
            grouped=answer.grouped,
            factors=tuple(f"{f.name} {f.value:.2f}: {f.note}" for f in answer.factors),
            rows=rows,
            decided_by=answer.decided_by,
            reason=reason(work, wire, answer, fuse_a, self._worst.get(wire_id)),
            notes=tuple(self._notes(circuit, kind, answer.section_mm2)),
        )

    def _rows(self, wire_id: str, kind: WireKind, circuit: Circuit) -> Iterator[SizeRow]:
        base_v = self.analysis.loads[circuit.id].base_v
        role = self.analysis.wires[wire_id].role
        found = candidates(self.work.problem, self.result, self.work.number[wire_id])
        chosen = next((c.section_mm2 for c in found if c.chosen), None)
        for row, made in zip(found, kind.sizes, strict=True):
            drop = next((v for v in row.verdicts if v.rule == "voltage drop"), None)
            verdicts = tuple(
                RuleVerdict(
                    rule=_RULE_WORDS[v.rule],
                    value=v.value,
                    limit=v.limit,
                    unit=v.unit,
                    holds=v.holds,
                    source=self._drop_source(wire_id, v)
                    if v.rule == "voltage drop"
                    else rule_source(self.analysis.profile, circuit, role, v.rule),
                )
                for v in row.verdicts
                if v.limit > 0 or v.rule == "voltage drop"
            )
            yield SizeRow(
                size=size_name(made),
                section_mm2=made.section_mm2,
                ampacity_a=row.ampacity_a,
                drop_v=row.drop_v,
                path_drop_v=drop.value if drop is not None else None,
                drop_percent=100 * drop.value / base_v if drop is not None and base_v > 0 else None,
                mass_g_per_m=made.mass_g_per_m,
                price_per_m=made.price_per_m,
                verdicts=verdicts,
                holds=row.holds,
                chosen=row.chosen,
                remark=_remark(row, chosen),
            )

    def _drop_source(self, wire_id: str, verdict: Verdict) -> str:
        for info in self.work.path_infos:
            if wire_id in info.wires and abs(info.limit_v - verdict.limit) < 1e-9:
                return info.why
        return "no limit"

    def _notes(self, circuit: Circuit, kind: WireKind, section_mm2: float) -> Iterator[str]:
        conductor_c = self.analysis.plan.assumptions.conductor_c
        yield f"Resistance counted with copper at {conductor_c:g} °C; a colder wire loses less."
        yield "Drop is counted over the route. What end allowances leave coiled up at the ends loses more: cut it off."
        if circuit.return_path.kind == "chassis":
            yield "The return is the body: only the feed's drop is counted."
        actual = trade_size_section_mm2(section_mm2)
        if actual is not None and kind.group == "dc_power" and kind.sizes[0].gauge_awg is None:
            yield (
                f"Order it by its copper section. “{section_mm2:g} mm” auto cable is named after its outside and holds "
                f"{actual:g} mm² only (read on three dealers' pages)."
            )
        if kind.known != "read":
            yield f"Sizes of {kind.name}: {kind.known}; see the catalogue for the source."

    # --- what if ----------------------------------------------------------------------------------------------------

    def what_if(self, wire_id: str) -> tuple[WhatIf, ...]:
        """The circuit as it is, at 24 V instead of 12, one size up, with two conductors in parallel."""
        wire, work = self.analysis.wires[wire_id], self.work
        circuit, kind = work.circuits[wire.circuit], work.kinds[wire.kind]
        if wire.role in IDLE or circuit.group in ("signal", "antenna"):
            return ()
        found = [self._answer("as planned", wire_id, work.problem, self.result, 1.0, "")]
        if self.analysis.loads[circuit.id].base_v == 12.0:
            doubled = self._at_24_volts()
            remark = "everything on this battery at 24 V: half the current for the same power, twice the volts to lose"
            found.append(self._answer("24 V instead of 12 V", wire_id, doubled, size(doubled), 2.0, remark))
        group = self._group(wire_id)
        chosen = self.result.conductors[work.number[wire_id]]
        if 0 <= chosen.index < len(kind.sizes) - 1:
            larger = kind.sizes[chosen.index + 1].section_mm2
            problem = _with(work.problem, group, lambda c: replace(c, fixed_mm2=larger))
            found.append(self._answer("next size up", wire_id, problem, size(problem), 1.0, ""))
        low = circuit.group == "dc_power" and self.analysis.loads[circuit.id].base_v < LOW_VOLTS
        table = work.table(kind, 2 * wire.parallel, low)
        problem = _with(work.problem, group, lambda c: replace(c, table=table))
        least = (
            next((r.used for r in self.analysis.profile.limits if r.rule == "parallel.min_section_mm2"), None) or 0.0
        )
        remark = f"conductors below {least:g} mm² are not laid in parallel: a finding"
        found.append(self._answer("two in parallel", wire_id, problem, size(problem), 1.0, remark, 2))
        return tuple(found)

    def _group(self, wire_id: str) -> frozenset[int]:
        number = self.work.number[wire_id]
        return next((frozenset(g) for g in self.work.problem.together if number in g), frozenset({number}))

    def _at_24_volts(self) -> SizingProblem:
        """All circuits on 12 V with half the current and twice the limit; makers' tables by their rows for 24 V."""
        work = self.work
        halved = {c.id for c in work.circuits.values() if self.analysis.loads[c.id].base_v == 12.0}
        floors: dict[str, float] = {}
        for (circuit, stop), answer in work.makers.items():
            device = work.devices[next(s.device for s in work.circuits[circuit].stops if s.id == stop)]
            rows = maker_rows(device, "dc24")
            row = next((r for r in rows if answer.length_mm <= r.up_to_mm + 1e-6), rows[-1] if rows else answer.row)
            floors[circuit] = max(floors.get(circuit, 0.0), row.section_mm2)
        conductors = []
        for wire, conductor in zip(work.wires.values(), work.problem.conductors, strict=True):
            if wire.circuit in halved:
                own = (
                    (Floor(floors[wire.circuit]),) if conductor.floors and wire.circuit in floors else conductor.floors
                )
                amps, peak = conductor.current_a / 2, conductor.peak_a / 2
                conductors.append(replace(conductor, current_a=amps, peak_a=peak, floors=own))
            else:
                conductors.append(conductor)
        protections = tuple(
            replace(p, current_a=p.current_a / 2, least_a=p.least_a / 2) if c.id in halved else p
            for c, p in zip(work.protected, work.problem.protections, strict=True)
        )
        paths = tuple(
            replace(p, currents_a=tuple(a / 2 for a in p.currents_a), limit_v=p.limit_v * 2, fixed_v=p.fixed_v / 2)
            if info.circuit in halved
            else p
            for info, p in zip(work.path_infos, work.problem.paths, strict=True)
        )
        return replace(work.problem, conductors=tuple(conductors), protections=protections, paths=paths)

    def _answer(
        self,
        change: str,
        wire_id: str,
        problem: SizingProblem,
        result: SizingResult,
        times_v: float,
        remark: str,
        parallel: int = 1,
    ) -> WhatIf:
        work, wire = self.work, self.analysis.wires[wire_id]
        index, kind = work.number[wire_id], work.kinds[wire.kind]
        answer = result.conductors[index]
        number = work.protection_number.get(wire.circuit)
        drops = [
            path.drop_v
            for info, path in zip(work.path_infos, result.paths, strict=True)
            if wire_id in info.wires and not info.at_peak and info.circuit == wire.circuit
        ]
        base_v = self.analysis.loads[wire.circuit].base_v * times_v
        own = [i for i, w in enumerate(work.wires.values()) if w.circuit == wire.circuit]
        copper_g = sum(
            copper_g_per_m(result.conductors[i].section_mm2)
            * (self.analysis.routes[w].route_mm or 0.0) / 1000 * self.analysis.wires[w].parallel * parallel
            for i, w in ((i, list(work.wires)[i]) for i in own)
        )  # fmt: skip
        faults = [f for i in own for f in result.conductors[i].faults]
        faults += [
            f
            for info, path in zip(work.path_infos, result.paths, strict=True)
            if info.circuit == wire.circuit
            for f in path.faults
        ]
        return WhatIf(
            change=change,
            size=size_name(kind.sizes[answer.index]) if answer.index >= 0 else f"{answer.section_mm2:g} mm²",
            section_mm2=answer.section_mm2,
            parallel=wire.parallel * parallel,
            current_a=problem.conductors[index].current_a,
            fuse_a=result.fuses[number].rating_a if number is not None else None,
            ampacity_a=answer.ampacity_a,
            path_drop_v=max(drops, default=None),
            drop_percent=100 * max(drops) / base_v if drops and base_v > 0 else None,
            copper_g=copper_g,
            holds=not faults,
            remark=faults[0].message if faults else remark,
        )


def _with(problem: SizingProblem, members: frozenset[int], change: Callable[[Conductor], Conductor]) -> SizingProblem:
    """The problem with some of its conductors changed."""
    conductors = tuple(change(c) if i in members else c for i, c in enumerate(problem.conductors))
    return replace(problem, conductors=conductors)


def _remark(row: Candidate, chosen: float | None) -> str:
    """Why not this size: the first rule that refuses it; or that it is the one."""
    if row.chosen:
        return "chosen" if row.holds else f"chosen, but {_refusal(next(v for v in row.verdicts if not v.holds))}"
    for verdict in row.verdicts:
        if not verdict.holds:
            return _refusal(verdict)
    return "more copper than needed" if chosen is not None and row.section_mm2 > chosen else "holds as well"


def _refusal(verdict: Verdict) -> str:
    value, limit, unit = verdict.value, verdict.limit, verdict.unit
    match verdict.rule:
        case "voltage drop":
            return f"loses {value:.2f} V there and back, {limit:.2f} V allowed"
        case "ampacity":
            return f"may carry {value:.1f} A, {limit:.1f} A wanted"
        case "fuse" | "bond fuse":
            return f"may carry {value:.1f} A, the fuse is {limit:g} A"
        case "fuse table":
            return f"a fuse of {value:g} A at most is allowed on it, it is {limit:g} A"
    return f"{limit:g} {'mm²' if unit == 'mm2' else unit} at least: {_RULE_WORDS[verdict.rule]}"


def sizing_sheet(analysis: Analysis, wire_id: str) -> SizingSheet:
    """The sizing sheet of one wire. Raises KeyError for a wire the analysis does not have."""
    return SizingDesk(analysis).sheet(wire_id)


def sizing_sheets(analysis: Analysis) -> tuple[SizingSheet, ...]:
    """The sheets of all wires, in the order of the analysis."""
    desk = SizingDesk(analysis)
    return tuple(desk.sheet(wire) for wire in analysis.wires)


def what_if(analysis: Analysis, wire_id: str) -> tuple[WhatIf, ...]:
    """What would be if: see `SizingDesk.what_if`. Raises KeyError for a wire the analysis does not have."""
    return SizingDesk(analysis).what_if(wire_id)


__all__ = ["RuleVerdict", "SizeRow", "SizingDesk", "SizingSheet", "WhatIf", "sizing_sheet", "sizing_sheets", "what_if"]
