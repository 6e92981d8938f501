"""What a dead short draws at the start of a circuit, from one battery or from all of a bank."""

from itertools import pairwise
from math import inf

from core.analysis.analysis import Analysis
from core.analysis.results import Mesh
from core.analysis.supply import chain
from core.model import Circuit, Device

#: Conductors that a short's current runs through.
LOADED = frozenset({"feed", "switched", "return", "line", "neutral"})
#: Copper is at its coldest when the fault comes: 20 C (IEC 60228's reference).
_COLD = 254.5


def fault_current_a(analysis: Analysis, circuit: Circuit, battery: Device) -> tuple[float, float]:
    """Amperes a dead short at the start of the circuit draws, with cold copper on the way, and the volts.

    V / (V / short-circuit current + feeders there and back): Ohm's law. What else a feeder leads to is not on the way.
    Batteries that feed the place together, through links or a bus, all drive into it: there the resistance behind the
    place is that of the solved network, taken cold all through (the safe side), and no more flows than all can give.
    Into a wire of the network itself no battery drives through the fuse that is reached only along this wire.
    """
    way = [*analysis.supply.upstream(circuit), circuit]
    volts = analysis.supply.volts(way[0])
    cold = _COLD / (234.5 + analysis.plan.assumptions.conductor_c)
    most = battery.electrical.short_circuit_a or 0.0
    inner = volts / most if most > 0 else 0.0
    for mesh in analysis.meshes:
        behind = {node.device: node.inner_ohm for node in mesh.nodes} if mesh.solved else {}
        places = [i for i, each in enumerate(way) if each.stops[0].device in behind]
        shorts = _shorts_a(analysis, mesh, circuit)
        if places and shorts and None not in shorts:
            way = way[places[-1] :]
            most = sum(a or 0.0 for a in shorts)
            own = circuit.id in mesh.feeders
            inner = volts / most if own and most > 0 else behind[way[0].stops[0].device] * cold
    ohm = 0.0
    for feeder, below in pairwise(way):
        joined = next((s for s in feeder.stops[1:] if s.device == below.stops[0].device), None)
        legs = {s.id for s in chain(feeder, joined)} if joined is not None else set()
        for wire in analysis.wires.values():
            if wire.circuit == feeder.id and wire.stop in legs and wire.role in LOADED:
                ohm += analysis.sized[wire.id].r_ohm_per_m * cold * (analysis.routes[wire.id].route_mm or 0.0) / 1000
    total = inner + ohm
    return (min(volts / total, most or inf) if total > 0 else 0.0), volts


def _shorts_a(analysis: Analysis, mesh: Mesh, circuit: Circuit) -> list[float | None]:
    """Short-circuit currents of the batteries of a mesh that reach the start of a circuit without passing through the
    circuit itself; None where one is not given."""
    reached, grown = {circuit.stops[0].device}, True
    others = [analysis.circuits[name] for name in mesh.feeders if name != circuit.id]
    while grown and circuit.id in mesh.feeders:
        grown = False
        for other in others:
            ends = {stop.device for stop in other.stops}
            if ends & reached and not ends <= reached:
                reached |= ends
                grown = True
    devices = [analysis.devices[source] for source in mesh.sources]
    return [
        device.electrical.short_circuit_a
        for device in devices
        if device.kind == "battery" and (circuit.id not in mesh.feeders or device.id in reached)
    ]
