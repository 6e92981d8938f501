"""Wire all unwired loads to a fuse block: which share a way, in which order, as a chain or a star; move loads over.

Lights are grouped by the side of the vehicle they hang on, so that one fuse never leaves it dark; sockets, critical
loads and what starts with a high current stay apart. Where the ways do not suffice, the groups that lose least are
put together, and what still has no way is told. The grouping is common practice, no source.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import permutations

from core.analysis.analysis import Analysis
from core.analysis.engine import Analyser
from core.analysis.rules import number
from core.edits.change import get, listed, refuse
from core.edits.circuit_ends import SYSTEM_GROUP
from core.edits.circuits import connect, free_ways, remove_stop, set_way
from core.edits.forms import star
from core.errors import EditRefused
from core.files.library import Library
from core.model import DISTRIBUTION, Circuit, Device, Plan, SeparationGroup, Way
from core.routing.shortest import tree
from core.studies.difference import Difference, difference
from core.studies.remedies.routing import joined
from core.studies.ways import rough_a

#: Kinds that stay on a way of their own: one failing must not take others along, or their current is high.
APART = frozenset({"socket", "usb", "fridge", "heater", "pump", "inverter", "charger", "converter", "mains_outlet"})
#: Kinds that are no loads of a fuse block: what leads to them is a decision of its own.
NOT_LOADS = DISTRIBUTION | {
    "battery", "solar", "shunt", "switch", "fuse", "rcd", "shore_inlet", "antenna", "charger", "inverter", "converter",
}  # fmt: skip
#: Loads on one circuit, at most (common practice, no source).
MOST_TOGETHER = 8
#: Chains of up to this many loads are ordered exactly, longer ones by the nearest next one.
EXACT = 7
#: Off the middle of the vehicle by more than this is a side (mm).
MIDDLE_MM = 150.0


@dataclass(frozen=True)
class Group:
    """Loads that share a way. `chain_mm` and `star_mm` are one-way, along the channels, falls not counted; None where
    one of them has no way through the channels yet."""

    name: str
    devices: tuple[str, ...]
    way: str | None
    current_a: float
    chain_mm: float | None
    star_mm: float | None
    form: str
    why: str


@dataclass(frozen=True)
class Proposal:
    """`plan` has every group wired; `cost` against the plan as it was. `left_out` are (device, reason)."""

    plan: Plan
    groups: tuple[Group, ...]
    left_out: tuple[tuple[str, str], ...]
    cost: Difference


@dataclass(frozen=True)
class Wanted:
    """A group before it has a way: its loads, and what it may be put together with."""

    name: str
    devices: tuple[Device, ...]
    mixes: str
    why: str

    @property
    def current_a(self) -> float:
        return sum(rough_a(device) for device in self.devices)


def unwired(plan: Plan, system: str) -> tuple[Device, ...]:
    """The loads of a system that are in no circuit."""
    used = {stop.device for circuit in plan.circuits for stop in circuit.stops}
    return tuple(
        device
        for device in plan.devices
        if device.id not in used
        and device.kind not in NOT_LOADS
        and device.electrical.system == system
        and (device.electrical.current_a or device.electrical.power_w)
    )


def wire_all(analysis: Analysis, source_id: str, library: Library, only: Sequence[str] | None = None) -> Proposal:
    """Wire every unwired load (or `only` these) to the free ways of a distribution point. Changes nothing itself.

    Refuses (EditRefused) a source without ways, and where there is nothing to wire.
    """
    source: Device = get(analysis.plan, "devices", source_id)
    if not source.ways:
        refuse(f"“{source.name}” has no ways; choose a fuse block or panelboard.")
    loads = [d for d in unwired(analysis.plan, source.electrical.system) if only is None or d.id in only]
    if not loads:
        refuse(f"Every load on the system of “{source.name}” is in a circuit already.")
    plan = analysis.plan
    for load in (source, *loads):
        plan = joined(plan, load.id)
    analyser = Analyser(library)
    ready = analyser.analyse(plan, "quick")
    factor = number(analysis.profile, "fuse.factor")
    ways = list(free_ways(plan, source_id))
    most_a = max((way.largest_a for way in ways), default=0.0) / factor
    possible = _groups(ready, [ready.devices[load.id] for load in loads], most_a)
    large = [want for want in possible if ways and want.current_a > most_a]
    left_out = [(d.id, f"no way holds {factor * want.current_a:.1f} A") for want in large for d in want.devices]
    wanted, left_over = _fit([want for want in possible if want not in large], len(ways), most_a)
    left_out += left_over
    groups = []
    for want in sorted(wanted, key=lambda w: -w.current_a):
        way = next((w for w in sorted(ways, key=_size) if w.largest_a >= factor * want.current_a), None)
        if way is None:
            left_out += [(d.id, f"no free way holds {factor * want.current_a:.1f} A") for d in want.devices]
            continue
        ways.remove(way)
        plan, group = _wired(plan, ready, ready.devices[source_id], way, want, library)
        groups.append(group)
    order = {way.id: index for index, way in enumerate(source.ways)}
    groups.sort(key=lambda g: order[g.way] if g.way else -1)
    cost = difference(analysis, analyser.analyse(plan, "quick"))
    return Proposal(plan, tuple(groups), tuple(left_out), cost)


def _size(way: Way) -> float:
    return way.largest_a


# --- which belong together --------------------------------------------------------------------------------------


def _groups(analysis: Analysis, loads: Sequence[Device], most_a: float) -> list[Wanted]:
    rows: dict[tuple[str, str], list[Device]] = {}
    why: dict[tuple[str, str], str] = {}
    for load in loads:
        key, reason = _key(analysis, load)
        rows.setdefault(key, []).append(load)
        why[key] = reason
    wanted = []
    for (mixes, name), members in rows.items():
        for part in _parts(members, most_a):
            title = name if len(part) > 1 or mixes else part[0].name
            wanted.append(Wanted(title, tuple(part), mixes, why[(mixes, name)]))
    return wanted


def _key(analysis: Analysis, load: Device) -> tuple[tuple[str, str], str]:
    """((what it may be mixed with, group), why)."""
    if load.electrical.critical:
        return ("", load.id), "critical, so nothing else may blow its fuse"
    if load.kind in APART:
        return ("", load.id), "on its own: what is plugged in or starts hard must not take others along"
    if load.kind == "light":
        surface = analysis.surfaces[load.surface]
        where = "outside" if surface.side == "outside" else side(analysis, load)
        return ("light", f"Lights {where}"), "lights of one side together, so that one fuse never leaves it dark"
    if load.kind in ("sensor", "alarm"):
        return (load.kind, f"{load.kind.capitalize()}s"), "small and always on"
    return ("", load.id), "on its own"


def side(analysis: Analysis, device: Device) -> str:
    """ "left", "right" or "middle" of the vehicle, by where the device is in the folded-up vehicle."""
    laid = analysis.sheet.layout.laid.get(device.surface)
    root = analysis.surfaces.get(laid.root) if laid is not None else None
    if laid is None or root is None:
        return "middle"
    ys = [corner.at_mm[1] for corner in root.corners]
    middle = (min(ys) + max(ys)) / 2
    off = laid.pose.to_vehicle(device.at_mm)[1] - middle
    if abs(off) <= MIDDLE_MM:
        return "middle"
    return "right" if off > 0 else "left"


def _parts(members: list[Device], most_a: float) -> list[list[Device]]:
    """The members in as few parts as carry no more than a way does and hold no more than belong together."""
    parts: list[list[Device]] = []
    for device in sorted(members, key=lambda d: -rough_a(d)):
        amps = rough_a(device)
        room = (p for p in parts if len(p) < MOST_TOGETHER and sum(map(rough_a, p)) + amps <= most_a)
        part = next(room, None)
        if part is None:
            parts.append([device])
        else:
            part.append(device)
    return [sorted(part, key=members.index) for part in parts]


def _fit(wanted: list[Wanted], ways: int, most_a: float) -> tuple[list[Wanted], list[tuple[str, str]]]:
    """Puts groups together until they fit the ways; then leaves out the smallest that is not critical."""
    wanted = list(wanted)
    while len(wanted) > ways and (pair := _pair(wanted, most_a)) is not None:
        one, other = pair
        name = "Lights" if one.mixes == "light" else one.name
        merged = Wanted(name, (*one.devices, *other.devices), one.mixes, f"{one.why}; put together for want of ways")
        wanted = [w for w in wanted if w is not one and w is not other] + [merged]
    left_out = []
    while len(wanted) > ways:
        last = min(wanted, key=lambda w: (any(d.electrical.critical for d in w.devices), w.current_a))
        wanted.remove(last)
        left_out += [(device.id, "no free way is left") for device in last.devices]
    return wanted, left_out


def _pair(wanted: list[Wanted], most_a: float) -> tuple[Wanted, Wanted] | None:
    """The two groups of one sort that together carry least."""
    pairs = [
        (one.current_a + other.current_a, index, one, other)
        for index, one in enumerate(wanted)
        for other in wanted[:index]
        if one.mixes
        and one.mixes == other.mixes
        and one.current_a + other.current_a <= most_a
        and len(one.devices) + len(other.devices) <= MOST_TOGETHER
    ]
    return min(pairs, key=lambda p: p[:2])[2:] if pairs else None


# --- chain or star ----------------------------------------------------------------------------------------------


def _wired(
    plan: Plan, analysis: Analysis, source: Device, way: Way, want: Wanted, library: Library
) -> tuple[Plan, Group]:
    order, chain_mm, star_mm = chain_and_star(analysis, source, want.devices)
    form = "star" if chain_mm is not None and star_mm is not None and star_mm < chain_mm else "chain"
    name = want.name if len(order) > 1 else None
    plan, circuit_id = connect(plan, source.id, way.id, order, name, library=library)
    if form == "star":
        plan = star(plan, circuit_id)
    return plan, Group(want.name, order, way.id, want.current_a, chain_mm, star_mm, form, want.why)


def chain_and_star(
    analysis: Analysis, source: Device, loads: Sequence[Device]
) -> tuple[tuple[str, ...], float | None, float | None]:
    """(the loads in the shortest daisy chain, its metres in mm, those of a star), one-way along the channels."""
    group: SeparationGroup = SYSTEM_GROUP[source.electrical.system]
    stations = [source, *loads]
    table = [_reached(analysis, group, station, stations) for station in stations]
    known = all(mm is not None for row in table for mm in row)
    if not known:
        return tuple(d.id for d in loads), None, None
    far = [[mm or 0.0 for mm in row] for row in table]
    order = _shortest(far)
    chain = sum(far[a][b] for a, b in zip((0, *order), order, strict=False))
    return tuple(stations[i].id for i in order), chain, sum(far[0][1:])


def _reached(analysis: Analysis, group: SeparationGroup, start: Device, ends: Sequence[Device]) -> list[float | None]:
    """Millimetres through the channels from one device to each of these."""
    first = analysis.network.vertex(start.node, start.surface) if start.node is not None else None
    if first is None:
        return [None] * len(ends)
    grown = tree(analysis.network.arrays, analysis.network.costs[group], first)
    found: list[float | None] = []
    for end in ends:
        vertex = analysis.network.vertex(end.node, end.surface) if end.node is not None else None
        distance = grown.distance[vertex] if vertex is not None else None
        found.append(None if distance is None else distance / 1000)
    return found


def _shortest(far: Sequence[Sequence[float]]) -> tuple[int, ...]:
    """The order of stations 1.. that makes the shortest way from station 0; exact for a few, else nearest next."""
    count = len(far) - 1
    if count <= EXACT:
        return min(
            permutations(range(1, count + 1)),
            key=lambda order: sum(far[a][b] for a, b in zip((0, *order), order, strict=False)),
        )
    order, left, here = [], set(range(1, count + 1)), 0
    while left:
        here = min(left, key=lambda i: (far[here][i], i))
        left.remove(here)
        order.append(here)
    return tuple(order)


def forms(analysis: Analysis, circuit_id: str, library: Library) -> tuple[Analysis, Analysis]:
    """A circuit as the shortest daisy chain and as a star, both analysed: show `difference` of each to the plan.

    Refuses a circuit whose form is set wire by wire (switches between its loads).
    """
    from core.edits.forms import daisy_chain

    circuit = analysis.circuits[circuit_id]
    source = analysis.devices[circuit.stops[0].device]
    loads = [analysis.devices[stop.device] for stop in circuit.stops[1:] if stop.role in ("load", "tap")]
    order, _, _ = chain_and_star(analysis, source, loads)
    analyser = Analyser(library)
    chained = daisy_chain(analysis.plan, circuit_id, order)
    return analyser.analyse(chained, "quick"), Analyser(library).analyse(star(analysis.plan, circuit_id), "quick")


# --- another block ----------------------------------------------------------------------------------------------


def move_loads(plan: Plan, device_ids: Sequence[str], source_id: str, library: Library) -> Plan:
    """Move loads to another distribution point: circuits that feed nothing else move whole, others lose the load,
    which gets a circuit of its own. Refuses, naming them, where ways are missing."""
    source: Device = get(plan, "devices", source_id)
    asked = set(device_ids)
    missing = []
    for circuit in plan.circuits:
        fed = {stop.device for stop in circuit.stops[1:] if stop.role in ("load", "tap")}
        mine = fed & asked
        if not mine or circuit.stops[0].device == source_id or circuit.kind == "bond":
            continue
        try:
            plan = _moved(plan, circuit, sorted(mine), fed, source, library)
        except EditRefused as refused:
            missing.append(f"{circuit.name} ({str(refused).rstrip('.')})")
    if missing:
        refuse(f"Not everything fits on “{source.name}”: {listed(missing, 4)}.")
    return plan


def _moved(plan: Plan, circuit: Circuit, mine: list[str], fed: set[str], source: Device, library: Library) -> Plan:
    if fed == set(mine):
        way = next(iter(free_ways(plan, source.id)), None)
        if source.ways and way is None:
            refuse(f"“{source.name}” has no free way")
        need = sum(rough_a(get(plan, "devices", device)) for device in mine)
        fitting = [w for w in free_ways(plan, source.id) if w.largest_a >= need]
        chosen = min(fitting, key=_size, default=way)
        return set_way(plan, circuit.id, source.id, chosen.id if chosen else None)
    for device in mine:
        stop = next(s for s in get(plan, "circuits", circuit.id).stops[1:] if s.device == device)
        plan = remove_stop(plan, circuit.id, stop.id)
        plan, _ = connect(plan, source.id, None, [device], library=library)
    return plan
