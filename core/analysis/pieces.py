"""Stage `pieces`: what is cut. Cut length = route + named allowances; a cable is one piece with all its cores."""

from collections.abc import Mapping

from core.analysis.results import Allowance, CutPiece, Route, SizedWire, Wire
from core.model import Assumptions, Device


def _end(device: Device, port_id: str | None, assumptions: Assumptions) -> float:
    port = next((p for p in device.ports if p.id == port_id), None)
    if port is not None and port.end_allowance_mm is not None:
        return port.end_allowance_mm
    return device.end_allowance_mm if device.end_allowance_mm is not None else assumptions.end_allowance_mm


def _allowances(wire: Wire, route_mm: float, devices: Mapping[str, Device], a: Assumptions) -> tuple[Allowance, ...]:
    rows = [
        Allowance(name="end at from", length_mm=_end(devices[wire.from_.device], wire.from_.port, a)),
        Allowance(name="end at to", length_mm=_end(devices[wire.to.device], wire.to.port, a)),
        Allowance(name="service loop", length_mm=a.service_loop_mm),
        Allowance(name="drip loop", length_mm=a.drip_loop_mm if devices[wire.to.device].kind == "shore_inlet" else 0.0),
        Allowance(name="tolerance", length_mm=route_mm * a.tolerance_percent / 100),
    ]
    return tuple(row for row in rows if row.length_mm > 0)


def cut_pieces(
    wires: Mapping[str, Wire],
    routes: Mapping[str, Route],
    sized: Mapping[str, SizedWire],
    devices: tuple[Device, ...],
    assumptions: Assumptions,
) -> tuple[CutPiece, ...]:
    """Every piece that can be cut: wires without a route are left out (a finding names them)."""
    device_by_id = {d.id: d for d in devices}
    together: dict[str, list[Wire]] = {}
    for wire in wires.values():
        if routes[wire.id].route_mm is None:
            continue
        whole = wire.cable if wire.cable is not None and wire.cores > 1 else wire.id
        together.setdefault(whole, []).append(wire)
    pieces: list[CutPiece] = []
    for name, members in together.items():
        longest = max(members, key=lambda w: routes[w.id].route_mm or 0.0)
        route_mm = routes[longest.id].route_mm or 0.0
        allowances = _allowances(longest, route_mm, device_by_id, assumptions)
        size = sized[longest.id]
        cut_mm = route_mm + sum(row.length_mm for row in allowances)
        pieces += [
            CutPiece(
                piece=name if longest.parallel == 1 else f"{name}.{n + 1}",
                wires=tuple(w.id for w in members),
                kind=longest.kind,
                section_mm2=size.section_mm2,
                colour="" if len(members) > 1 else size.colour,
                route_mm=route_mm,
                allowances=allowances,
                cut_mm=cut_mm,
                provisional=any(routes[w.id].provisional for w in members),
            )
            for n in range(longest.parallel)
        ]
    return tuple(pieces)
