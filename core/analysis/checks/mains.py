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
            limit=0.0,
            unit="circuits",
            source="local code",
            remedy="a licensed person designs, installs and tests mains by the local code",
        )
    boards: dict[str, list[str]] = {}
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
        yield from _residual(analysis, circuit, boards)
        yield from _poles(analysis, circuit)
    limit = number(analysis.profile, "mains.rcd_ma")
    for board, behind in boards.items():
        yield Finding(
            code="mains.rcd",
            severity="note",
            subjects=(board, *behind),
            message=f"No RCD is drawn for {len(behind)} circuits of {analysis.word(board)}: see that it holds one of "
            f"{limit:g} mA for both poles.",
            value=0.0,
            limit=1.0,
            unit="RCDs drawn",
            source=source(analysis.profile, "mains.rcd_ma"),
            remedy="draw the RCD, or note in the panelboard that it has one",
        )


def _residual(analysis: Analysis, circuit: Circuit, boards: dict[str, list[str]]) -> Iterable[Finding]:
    """A circuit without an RCD before it; those of a panelboard, which may hold one, are put on `boards`."""
    way = (*analysis.supply.upstream(circuit), circuit)
    devices = [
        analysis.devices[s.device] for part in way for s in part.stops if s.role != "load" or part is not circuit
    ]
    after = {s.device for s in circuit.stops[1:]}
    if any(d.kind == "rcd" for d in devices) or any(analysis.devices[d].kind == "rcd" for d in after):
        return
    board = next((d for d in devices if d.kind == "panelboard"), None)
    if board is None and analysis.supply.leaving.get(circuit.stops[-1].device):
        board = next((analysis.devices[d] for d in after if analysis.devices[d].kind == "panelboard"), None)
    if board is not None:
        boards.setdefault(board.id, []).append(circuit.id)
        return
    yield Finding(
        code="mains.rcd",
        severity="warning",
        subjects=(circuit.id,),
        message=f"{circuit.name} has no RCD drawn before it.",
        value=0.0,
        limit=1.0,
        unit="RCDs",
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
