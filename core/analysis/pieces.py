"""Stage `pieces`: what is cut. Cut length = route + named allowances; a cable is one piece with all its cores.

Rounding up is an allowance like the others, so that the sum of all cuts is the sum of all routes and all allowances.
The defaults (150 mm at a device, 300 at a panel, 3 % but at least 100 mm of tolerance) are common practice, no source.
"""

from collections.abc import Mapping
from math import ceil

from core.analysis.results import Allowance, CutPiece, Route, SizedWire, Wire
from core.model import DISTRIBUTION, Assumptions, Device

#: Nobody rounds to less than this (mm); below it is not rounded.
LEAST_STEP_MM = 1e-3
#: Less than this is the noise of adding lengths (mm).
NOISE_MM = 1e-6


def _end(device: Device, port_id: str | None, assumptions: Assumptions) -> float:
    """The most particular that is said: of the port, of the device, of the plan for panels and for all else."""
    port = next((p for p in device.ports if p.id == port_id), None)
    if port is not None and port.end_allowance_mm is not None:
        return port.end_allowance_mm
    if device.end_allowance_mm is not None:
        return device.end_allowance_mm
    return assumptions.panel_allowance_mm if device.kind in DISTRIBUTION else assumptions.end_allowance_mm


def _rounded(length_mm: float, step_mm: float) -> float:
    """The length up to a multiple of `step_mm`; one that is such already (but for noise) stays."""
    if step_mm < LEAST_STEP_MM:
        return length_mm
    return ceil(length_mm / step_mm - 1e-9) * step_mm


def _allowances(
    wire: Wire, route_mm: float, devices: Mapping[str, Device], a: Assumptions, outside_mm: float, drip_loops: int
) -> tuple[tuple[Allowance, ...], float]:
    """The named allowances and the cut length, which is a round one to the last digit."""
    rows = [
        Allowance(name="end at from", length_mm=_end(devices[wire.from_.device], wire.from_.port, a)),
        Allowance(name="end at to", length_mm=_end(devices[wire.to.device], wire.to.port, a)),
        Allowance(name="service loop", length_mm=a.service_loop_mm),
        Allowance(name="drip loop", length_mm=a.drip_loop_mm * drip_loops),
        Allowance(name="outside of bends", length_mm=outside_mm),
        Allowance(name="tolerance", length_mm=max(route_mm * a.tolerance_percent / 100, a.tolerance_least_mm)),
    ]
    whole = route_mm + sum(row.length_mm for row in rows)
    cut_mm = _rounded(whole, a.round_up_mm)
    if cut_mm - whole > NOISE_MM:
        rows.append(Allowance(name="rounding", length_mm=cut_mm - whole))
    return tuple(row for row in rows if row.length_mm > 0), cut_mm


def cut_pieces(
    wires: Mapping[str, Wire],
    routes: Mapping[str, Route],
    sized: Mapping[str, SizedWire],
    devices: tuple[Device, ...],
    assumptions: Assumptions,
    outside_mm: Mapping[str, float],
    drip_loops: Mapping[str, int],
) -> tuple[CutPiece, ...]:
    """Every piece that can be cut: wires without a route are left out (a finding names them).

    `outside_mm` is what a wire on the outside of a channel's bends is longer than the drawn line (`bends.outside_mm`),
    `drip_loops` how often a wire comes in from outside (`drip.drip_loops`).
    """
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
        bent_mm = sum(outside_mm.get(step.channel, 0.0) for step in routes[longest.id].steps)
        loops = max(drip_loops.get(w.id, 0) for w in members)
        allowances, cut_mm = _allowances(longest, route_mm, device_by_id, assumptions, bent_mm, loops)
        size = sized[longest.id]
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
