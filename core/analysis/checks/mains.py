"""Checks of mains circuits: the caution, protective earth, residual-current protection, poles. Not for approval."""

from collections.abc import Iterable

from core.analysis.analysis import Analysis
from core.analysis.results import Finding
from core.analysis.rules import number, source
from core.model import Circuit

CAUTION = "Mains can kill. Have it designed, installed and tested by a licensed person under the local code."


def mains(analysis: Analysis) -> Iterable[Finding]:
    """The caution every plan with mains carries, and what mains circuits must have."""
    circuits = [c for c in analysis.plan.circuits if c.group == "mains"]
    if circuits:
        yield Finding(
            code="caution.mains",
            severity="note",
            subjects=tuple(c.id for c in circuits),
            message=f"{len(circuits)} mains circuits, not for approval. {CAUTION}",
            value=float(len(circuits)),
            unit="circuits",
            source="local code",
        )
    for circuit in circuits:
        if circuit.kind in ("bond", "signal", "spare"):
            continue
        if "protective_earth" not in circuit.conductors:
            yield Finding(
                code="mains.earth",
                severity="error",
                subjects=(circuit.id,),
                message=f"{circuit.name} has no protective earth.",
                value=0.0,
                limit=1.0,
                unit="conductors",
                source="IEC 60364-7-721 (title known, text not read)",
                remedy="use a cable with a protective earth core",
            )
        yield from _residual(analysis, circuit)
        yield from _poles(analysis, circuit)


def _residual(analysis: Analysis, circuit: Circuit) -> Iterable[Finding]:
    way = (*analysis.supply.upstream(circuit), circuit)
    devices = [
        analysis.devices[s.device] for part in way for s in part.stops if s.role != "load" or part is not circuit
    ]
    after = {s.device for s in circuit.stops[1:]}
    if any(d.kind == "rcd" for d in devices) or any(analysis.devices[d].kind == "rcd" for d in after):
        return
    board = next((d for d in devices if d.kind == "panelboard"), None)
    limit = number(analysis.profile, "mains.rcd_ma")
    if board is None and analysis.supply.leaving.get(circuit.stops[-1].device):
        board = next((analysis.devices[d] for d in after if analysis.devices[d].kind == "panelboard"), None)
    yield Finding(
        code="mains.rcd",
        severity="warning" if board is None else "note",
        subjects=(circuit.id,) if board is None else (circuit.id, board.id),
        message=f"{circuit.name} has no RCD drawn before it."
        if board is None
        else f"{circuit.name}: no RCD is drawn; see that {board.name} holds one of {limit:g} mA for both poles.",
        limit=limit,
        unit="mA",
        source=source(analysis.profile, "mains.rcd_ma"),
        remedy="a two-pole RCD next to the inlet; the licensed person decides",
    )


def _poles(analysis: Analysis, circuit: Circuit) -> Iterable[Finding]:
    for stop in circuit.stops[1:]:
        device = analysis.devices[stop.device]
        if stop.role == "series" and stop.poles != "all" and device.kind in ("switch", "rcd", "fuse"):
            yield Finding(
                code="mains.single_pole",
                severity="warning",
                subjects=(circuit.id, device.id),
                message=f"{circuit.name}: {device.name} breaks the line only. A plug at the site may be turned round, "
                "so the neutral may be the live one.",
                value=1.0,
                limit=2.0,
                unit="poles",
                source="IEC 60364-7-721 (title known, text not read)",
                remedy="a two-pole part",
            )
