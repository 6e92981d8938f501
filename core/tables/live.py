"""What is still under voltage when the main switch is off, by how the circuits are connected."""

from collections.abc import Mapping
from itertools import pairwise

import msgspec

from core.analysis.analysis import Analysis
from core.analysis.supply import CHARGERS, chain
from core.model import Circuit, Stop

#: Circuits without a supply of their own.
NO_POWER = frozenset({"bond", "signal", "antenna", "spare"})
ALWAYS = "always live"


class LivePart(msgspec.Struct, frozen=True, kw_only=True):
    """A circuit that stays live. `whole`: a battery feeds all of it, with no switch between; `words` say how far or
    how long it is live."""

    circuit: str
    whole: bool
    words: str


def live_parts(analysis: Analysis) -> Mapping[str, LivePart]:
    """By circuit id, in the order of the plan: marked always-live or connected so. Common practice, no source."""
    found: dict[str, LivePart] = {}
    for circuit in analysis.plan.circuits:
        words = ALWAYS if circuit.always_live else _words(analysis, circuit)
        if words:
            found[circuit.id] = LivePart(circuit=circuit.id, whole=words == ALWAYS, words=words)
    return found


def _words(analysis: Analysis, circuit: Circuit) -> str:
    """How far or how long the circuit is live with the main switch off; empty where it is dead."""
    if circuit.kind in NO_POWER:
        return ""
    supply, devices = analysis.supply, analysis.devices
    kinds = {stop.device: devices[stop.device].kind for stop in circuit.stops}
    if any(kinds[stop.device] == "battery" and stop.role != "source" for stop in circuit.stops):
        # From the battery's end, whatever the other end is.
        return ALWAYS
    path = (*supply.upstream(circuit), circuit)
    if any(_switch(analysis, part, supply.source(fed).id) for part, fed in pairwise(path)):
        return ""
    origin = supply.origin(circuit)
    if origin is None:
        return ""
    if origin.kind == "solar":
        return "live in daylight"
    if origin.kind in CHARGERS:
        return f"live while {origin.name} charges"
    if origin.kind == "shore_inlet":
        return "live while shore power is plugged in"
    if origin.kind == "inverter":
        fed = supply.reaching.get(origin.id, [])
        # Inverters that feed one another would never end.
        live = [part for part in fed if _origin_kind(analysis, part) != "inverter" and _words(analysis, part)]
        shore = any(part.group == "mains" for part in live)
        battery = any(part.group != "mains" and not _switch(analysis, part, origin.id) for part in live)
        return f"live while {origin.name} runs" if battery else "live while shore power is plugged in" if shore else ""
    switches = [stop.device for stop in circuit.stops if kinds[stop.device] == "switch" and _cuts_feed(stop)]
    return f"live up to {devices[switches[0]].name}" if switches else ALWAYS


def _cuts_feed(stop: Stop) -> bool:
    """A switch in the return leaves the feed live."""
    return stop.role == "series" and stop.poles != "return"


def _switch(analysis: Analysis, circuit: Circuit, device: str) -> bool:
    """Whether a switch of the circuit lies between its source and a device; one behind a tap does not."""
    stop = next((stop for stop in circuit.stops[1:] if stop.device == device), None)
    steps = chain(circuit, stop) if stop is not None else circuit.stops
    return any(analysis.devices[step.device].kind == "switch" and _cuts_feed(step) for step in steps)


def _origin_kind(analysis: Analysis, circuit: Circuit) -> str:
    origin = analysis.supply.origin(circuit)
    return origin.kind if origin is not None else ""
