"""Where a device could be fed from: distribution points with a free way, the nearest along the channels first."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import inf

from core.analysis.analysis import Analysis
from core.analysis.rules import number
from core.edits.circuit_ends import SYSTEM_GROUP
from core.edits.circuits import free_ways
from core.model import DISTRIBUTION, NOMINAL_V, Circuit, Device, Electrical, SeparationGroup, Way
from core.routing.shortest import tree

#: A feeder below this share of its rating is worth a word (common practice, no source).
NEARLY_FULL = 0.9


@dataclass(frozen=True)
class Offer:
    """A way that could feed a load. `way` None: a bus bar that any wire may leave. `along_mm` is the way through the
    channels, None where there is none yet. `headroom_a` is what the point may still be asked for; None: no rating."""

    source: Device
    way: Way | None
    along_mm: float | None
    headroom_a: float | None

    @property
    def words(self) -> str:
        where = f"way {self.way.name or self.way.id} of {self.source.name}" if self.way else self.source.name
        return where if self.along_mm is None else f"{where}, {self.along_mm / 1000:.1f} m away"


def offers(analysis: Analysis, load: Device, needed_a: float, but: Iterable[str] = ()) -> tuple[Offer, ...]:
    """Every way that could carry `needed_a` to a load of this system, best first: those with a way through the
    channels before those without, near before far, and of one point the smallest way that is large enough."""
    shut = set(but) | {load.id}
    found = [
        offer
        for source in analysis.plan.devices
        if source.id not in shut and (offer := _offer(analysis, source, load, needed_a)) is not None
    ]
    return tuple(sorted(found, key=_rank))


def _rank(offer: Offer) -> tuple[bool, bool, float, str]:
    full = offer.headroom_a is not None and offer.headroom_a <= 0
    return full, offer.along_mm is None, offer.along_mm or 0.0, offer.source.id


def _offer(analysis: Analysis, source: Device, load: Device, needed_a: float) -> Offer | None:
    if source.kind not in DISTRIBUTION or source.electrical.system != load.electrical.system:
        return None
    if feeds(analysis, load, source):
        return None
    fitting = [way for way in free_ways(analysis.plan, source.id) if way.largest_a >= needed_a]
    if source.ways and not fitting:
        return None
    if not source.ways and not feeds_out(source):
        return None
    way = min(fitting, key=lambda each: (each.largest_a, source.ways.index(each)), default=None)
    along = distance_mm(analysis, SYSTEM_GROUP[load.electrical.system], source, load)
    return Offer(source, way, along, headroom_a(analysis, source))


def feeds_out(source: Device) -> bool:
    """Whether a point without ways may feed a circuit: a return bus only takes what comes back."""
    return not source.ports or any(port.role in ("feed", "line") for port in source.ports)


def feeds(analysis: Analysis, upper: Device, lower: Device) -> bool:
    """Whether current of one device comes through circuits to another, so that the other way round closes a ring."""
    seen: set[str] = set()
    waiting = [upper.id]
    while waiting:
        here = waiting.pop()
        if here == lower.id:
            return True
        if here in seen:
            continue
        seen.add(here)
        for circuit in analysis.plan.circuits:
            if circuit.stops[0].device == here and circuit.kind != "bond":
                waiting += [stop.device for stop in circuit.stops[1:]]
    return False


def headroom_a(analysis: Analysis, source: Device) -> float | None:
    """What may still be drawn from a point: what its own rating leaves, or its feeders' fuses where these are less."""
    limits = []
    own = [c for c in analysis.plan.circuits if c.stops[0].device == source.id and c.kind != "bond"]
    if source.electrical.rating_a is not None:
        limits.append(source.electrical.rating_a - sum(analysis.loads[c.id].current_a for c in own))
    room = feeder_room_a(analysis, source)
    if room is not None:
        limits.append(room)
    return min(limits, default=None)


def feeder_room_a(analysis: Analysis, source: Device) -> float | None:
    """What the feeders of a point carry more before their fuse, with its factor, is used up; None without a fuse."""
    factor = number(analysis.profile, "fuse.factor")
    rooms = []
    for circuit in analysis.plan.circuits:
        fuse_a = analysis.circuit_sizes[circuit.id].fuse_a
        if fuse_a is not None and reaches(circuit, source.id):
            rooms.append(fuse_a / factor - analysis.loads[circuit.id].current_a)
    return max(rooms, default=None)


def reaches(circuit: Circuit, device_id: str) -> bool:
    """Whether a circuit feeds a device."""
    return circuit.kind != "bond" and any(
        stop.device == device_id and stop.role in ("load", "tap") for stop in circuit.stops[1:]
    )


def distance_mm(analysis: Analysis, group: SeparationGroup, a: Device, b: Device) -> float | None:
    """The way from device to device through channels that this group may use, falls not counted; None: no way."""
    ends = [analysis.network.vertex(each.node, each.surface) for each in (a, b) if each.node is not None]
    if len(ends) < 2 or ends[0] is None or ends[1] is None:
        return None
    grown = tree(analysis.network.arrays, analysis.network.costs[group], ends[0])
    found = grown.distance[ends[1]]
    return None if found is None else found / 1000


def rough_a(device: Device) -> float:
    """What a device runs at, by its label; the analysis of its circuit knows better."""
    return load_a(device.electrical)


def load_a(data: Electrical) -> float:
    """What a label asks for (A): its current, else its power at the lowest voltage it works on."""
    if data.current_a is not None:
        return max(data.current_a, 0.0)
    volts = max(data.lowest_v or 0.0, 0.0) or NOMINAL_V.get(data.system, inf)
    return max(data.power_w or 0.0, 0.0) / ((max(data.efficiency, 0.0) or 1.0) * volts)
