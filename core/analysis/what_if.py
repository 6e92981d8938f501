"""What would be if: a circuit at 24 V instead of 12, with its wire one size up, with two conductors in parallel."""

from collections.abc import Callable, Iterator

from msgspec.structs import replace

from core.analysis.results import Value
from core.analysis.rules import number
from core.analysis.size_problem import IDLE, INFORMS, LOW_VOLTS, maker_rows, size_name
from core.analysis.sizing_sheet import SizingDesk
from core.electrical.conductors import copper_g_per_m
from core.electrical.sizing import Conductor, Floor, SizingProblem, SizingResult, size

PLANNED = "as planned"
AT_24_V = "at 24 V"
ONE_UP = "next size up"
PARALLEL = "two in parallel"


class WhatIf(Value, frozen=True, kw_only=True):
    """The circuit after one change: sizes, currents and drops of this wire, copper of the whole circuit.

    `path_drop_v` is lost from source to load and back, at the worst load of the circuit; `holds` says whether every
    rule of the circuit does, and `remark` which does not, or what the change asks for.
    """

    change: str
    size: str
    section_mm2: float
    parallel: int
    current_a: float
    fuse_a: float | None
    ampacity_a: float | None
    path_drop_v: float | None
    drop_percent: float | None
    copper_g: float
    holds: bool
    remark: str


def what_if(desk: SizingDesk, wire_id: str) -> tuple[WhatIf, ...]:
    """The circuit of a wire as planned, then after each change; nothing for a wire without load current.

    Raises KeyError for a wire the analysis does not have.
    """
    return tuple(_cases(desk, wire_id))


def _cases(desk: SizingDesk, wire_id: str) -> Iterator[WhatIf]:
    wire, work = desk.analysis.wires[wire_id], desk.work
    circuit, kind = work.circuits[wire.circuit], work.kinds[wire.kind]
    if wire.role in IDLE or circuit.group in INFORMS:
        return
    yield _answer(desk, PLANNED, wire_id, work.problem, desk.result, "")
    base_v = desk.analysis.loads[circuit.id].base_v
    if base_v == 12.0:
        doubled = at_24_volts(desk)
        told = "all 12 V circuits at 24 V: half the current for the same power, twice the volts to lose"
        if circuit.protective.rating_a is not None:
            told += "; the fuse set by hand stays"
        yield _answer(desk, AT_24_V, wire_id, doubled, size(doubled), told, times_v=2.0)
    number_of = work.number[wire_id]
    group = next((frozenset(g) for g in work.problem.together if number_of in g), frozenset({number_of}))
    chosen = desk.result.conductors[number_of]
    if 0 <= chosen.index < len(kind.sizes) - 1:
        larger = kind.sizes[chosen.index + 1].section_mm2
        problem = _with(work.problem, group, lambda c: replace(c, fixed_mm2=larger))
        yield _answer(desk, ONE_UP, wire_id, problem, size(problem), "")
    table = work.table(kind, 2 * wire.parallel, circuit.group == "dc_power" and base_v < LOW_VOLTS)
    problem = _with(work.problem, group, lambda c: replace(c, table=table, parallel=2 * wire.parallel))
    least = number(desk.analysis.profile, "parallel.min_section_mm2")
    told = f"below {least:g} mm² each, conductors in parallel are a finding; both the same length, one lug each"
    yield _answer(desk, PARALLEL, wire_id, problem, size(problem), told, times_parallel=2)


def _with(problem: SizingProblem, members: frozenset[int], change: Callable[[Conductor], Conductor]) -> SizingProblem:
    """The problem with some of its conductors changed."""
    conductors = tuple(change(c) if i in members else c for i, c in enumerate(problem.conductors))
    return replace(problem, conductors=conductors)


def at_24_volts(desk: SizingDesk) -> SizingProblem:
    """All circuits on 12 V with half the current and twice the limit; makers' tables by their rows for 24 V."""
    work = desk.work
    halved = {c.id for c in work.circuits.values() if desk.analysis.loads[c.id].base_v == 12.0}
    floors: dict[str, float] = {}
    for (circuit, stop), answer in work.makers.items():
        device = work.devices[next(s.device for s in work.circuits[circuit].stops if s.id == stop)]
        rows = maker_rows(device, "dc24")
        row = next((r for r in rows if answer.length_mm <= r.up_to_mm + 1e-6), rows[-1] if rows else answer.row)
        floors[circuit] = max(floors.get(circuit, 0.0), row.section_mm2)
    conductors = []
    for wire, conductor in zip(work.wires.values(), work.problem.conductors, strict=True):
        if wire.circuit in halved:
            own = conductor.floors
            if own and wire.circuit in floors:
                own = (Floor(floors[wire.circuit]),)
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
    desk: SizingDesk,
    change: str,
    wire_id: str,
    problem: SizingProblem,
    result: SizingResult,
    told: str,
    *,
    times_v: float = 1.0,
    times_parallel: int = 1,
) -> WhatIf:
    analysis, work = desk.analysis, desk.work
    wire = analysis.wires[wire_id]
    index, kind = work.number[wire_id], work.kinds[wire.kind]
    answer = result.conductors[index]
    protection = work.protection_number.get(wire.circuit)
    own_paths = [
        (info, path)
        for info, path in zip(work.path_infos, result.paths, strict=True)
        if info.circuit == wire.circuit and wire_id in info.wires
    ]
    drop_v = max((path.drop_v for info, path in own_paths if not info.at_peak), default=None)
    base_v = analysis.loads[wire.circuit].base_v * times_v
    copper_g, faults = 0.0, []
    for i, other in enumerate(work.wires.values()):
        if other.circuit == wire.circuit:
            metres = (analysis.routes[other.id].route_mm or 0.0) / 1000 * other.parallel * times_parallel
            copper_g += copper_g_per_m(result.conductors[i].section_mm2) * metres
            faults += list(result.conductors[i].faults)
    faults += [fault for _, path in own_paths for fault in path.faults]
    return WhatIf(
        change=change,
        size=size_name(kind.sizes[answer.index]) if answer.index >= 0 else f"{answer.section_mm2:g} mm²",
        section_mm2=answer.section_mm2,
        parallel=wire.parallel * times_parallel,
        current_a=problem.conductors[index].current_a,
        fuse_a=result.fuses[protection].rating_a if protection is not None else None,
        ampacity_a=answer.ampacity_a if answer.base_ampacity_a > 0 else None,
        path_drop_v=drop_v,
        drop_percent=100 * drop_v / base_v if drop_v is not None and base_v > 0 else None,
        copper_g=copper_g,
        holds=not faults,
        remark=faults[0].message if faults else told,
    )
