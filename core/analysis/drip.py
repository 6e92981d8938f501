"""Where water can run along a wire into the vehicle, so that it hangs in a drip loop before it goes in.

A wire comes in from outside at a device that stands in the weather, where its way goes from a channel outside into one
inside, and at a gland or entry box on its way. One loop a place (common practice, no source).
"""

from collections.abc import Mapping, Sequence

from core.analysis.passages import OUTDOORS
from core.analysis.results import Route, Wire
from core.model import Channel, Device, PassThrough, Surface

#: Devices that stand in the weather by what they are.
IN_THE_WEATHER = frozenset({"shore_inlet", "solar"})
_SEALED = frozenset({"gland", "cable_entry_box"})


def outdoors(channel: Channel, surfaces: Mapping[str, Surface]) -> bool:
    """Whether a channel lies outside the living space."""
    surface = surfaces.get(channel.surface or "")
    return channel.kind in OUTDOORS or (surface is not None and surface.side == "outside")


def in_the_weather(device: Device, surfaces: Mapping[str, Surface]) -> bool:
    surface = surfaces.get(device.surface)
    return device.outdoors or device.kind in IN_THE_WEATHER or (surface is not None and surface.side == "outside")


def drip_loops(
    wires: Mapping[str, Wire],
    routes: Mapping[str, Route],
    channels: Mapping[str, Channel],
    surfaces: tuple[Surface, ...],
    devices: tuple[Device, ...],
    pass_throughs: tuple[PassThrough, ...],
    twice: frozenset[str] = frozenset(),
) -> dict[str, int]:
    """Drip loops of every wire that has any. `twice` are pass-throughs that name a hole between two surfaces again."""
    surface_by_id = {s.id: s for s in surfaces}
    wet_devices = {d.id for d in devices if in_the_weather(d, surface_by_id)}
    wet = {name for name, channel in channels.items() if outdoors(channel, surface_by_id)}
    sealed: dict[str, int] = {}
    for row in pass_throughs:
        if row.id not in twice and (row.kind == "gland" or row.protection in _SEALED):
            sealed[row.channel] = sealed.get(row.channel, 0) + 1
    if not wet_devices and not wet and not sealed:
        return {}
    found = {}
    for wire in wires.values():
        steps = [step.channel for step in routes[wire.id].steps]
        count = _along(wire, steps, wet, wet_devices) + sum(sealed.get(channel, 0) for channel in steps)
        if count:
            found[wire.id] = count
    return found


def _along(wire: Wire, steps: Sequence[str], wet: set[str], wet_devices: set[str]) -> int:
    """How often the way goes from outside to inside or back, its devices being its ends."""
    way = [wire.from_.device in wet_devices, *(channel in wet for channel in steps), wire.to.device in wet_devices]
    if steps:
        # A device inside whose wires join a channel outside is passed into at its own entry, which is a place as well.
        return sum(a != b for a, b in zip(way, way[1:], strict=False))
    return int(way[0] != way[-1])
