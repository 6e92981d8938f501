"""Stage `routes`: the channels of every wire.

Wires that belong together (feed and return of a leg, unless told) share one route, found for the first of them.
A wire that is already pulled keeps the route it was pulled on, whatever the plan would choose now; a locked channel
takes nobody new. Equal-cost ways are told apart by the smallest channel id.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from msgspec.structs import replace

from core.analysis.network import Network
from core.analysis.places import Fall
from core.analysis.results import Route, Step, Wire
from core.model import AsPulled, Channel, Device
from core.routing.shortest import BANNED, Tree, path, tree

#: Steps, wire in moving joints (mm), whether any of it is assumed or unknown.
_Way = tuple[tuple[Step, ...], float, bool]


@dataclass
class _Trees:
    """Shortest-path trees by (group, source vertex), grown once each."""

    network: Network
    banned: frozenset[str] = frozenset()
    _grown: dict[tuple[str, int], Tree] = field(default_factory=dict)
    _costs: dict[str, Sequence[int]] = field(default_factory=dict)

    def costs(self, group: str) -> Sequence[int]:
        if group not in self._costs:
            costs = self.network.costs[group]
            if self.banned:
                costs = tuple(
                    BANNED if link.channel in self.banned else cost
                    for link, cost in zip(self.network.links, costs, strict=True)
                )
            self._costs[group] = costs
        return self._costs[group]

    def edges(self, group: str, source: int, target: int) -> tuple[int, ...] | None:
        key = (group, source)
        if key not in self._grown:
            self._grown[key] = tree(self.network.arrays, self.costs(group), source)
        return path(self.network.arrays, self._grown[key], target)


def _stops(wire: Wire, network: Network, devices: Mapping[str, Device]) -> tuple[list[int], str]:
    """Vertices the wire has to pass, in order, or the reason why there is no way."""
    vertices: list[int] = []
    ends = [(wire.from_.node, wire.from_.device), *((node, None) for node in wire.waypoints)]
    for node, device in [*ends, (wire.to.node, wire.to.device)]:
        if node is None:
            name = devices[device].name if device is not None else ""
            return [], f"{name or device} joins no channel"
        vertex = network.vertex(node, devices[device].surface if device is not None else None)
        if vertex is None:
            return [], f"node {node} is not in the network"
        vertices.append(vertex)
    return vertices, ""


def _walk(trees: _Trees, group: str, vertices: list[int]) -> list[int] | None:
    edges: list[int] = []
    for a, b in zip(vertices, vertices[1:], strict=False):
        part = trees.edges(group, a, b)
        if part is None:
            return None
        edges.extend(part)
    return edges


def _steps(network: Network, start: int, edges: Sequence[int]) -> _Way:
    """Channel steps with direction, length of moving joints passed, whether anything is provisional."""
    here, steps, joints, provisional = start, [], 0.0, False
    for edge in edges:
        a, b = network.arrays.ends[edge]
        link = network.links[edge]
        forward = here == a
        here = b if forward else a
        provisional = provisional or link.provisional
        if link.channel:
            steps.append(Step(channel=link.channel, forward=forward))
        else:
            joints += link.length_mm
    return tuple(steps), joints, provisional


def _missing(wire: Wire, problem: str) -> Route:
    return Route(
        wire=wire.id,
        steps=(),
        from_fall_mm=0.0,
        to_fall_mm=0.0,
        joint_mm=0.0,
        route_mm=None,
        provisional=True,
        problem=problem,
    )


def _follow(network: Network, start: int, channels: Sequence[int]) -> list[int] | None:
    """The edges from `start` through these channels in order, with the moving joints between them; None when they
    do not connect."""
    ends = network.arrays.ends
    joints = [edge for edge, link in enumerate(network.links) if not link.channel]
    here, edges = start, []
    for edge in channels:
        if here not in ends[edge]:
            step = next((j for j in joints if here in ends[j] and set(ends[j]) & set(ends[edge])), None)
            if step is None:
                return None
            edges.append(step)
            here = sum(ends[step]) - here
        edges.append(edge)
        here = sum(ends[edge]) - here
    return edges


def _held(pulled: AsPulled, network: Network) -> _Way | None:
    """The frozen way of a pulled wire, from the channels its record names; None when they no longer connect."""
    number = {link.channel: edge for edge, link in enumerate(network.links) if link.channel}
    channels = [number[c] for c in pulled.channels if c in number]
    if not channels or len(channels) != len(pulled.channels):
        return None
    for start in network.arrays.ends[channels[0]]:
        edges = _follow(network, start, channels)
        if edges is not None:
            return _steps(network, start, edges)
    return None


def find_routes(
    network: Network,
    wires: Mapping[str, Wire],
    devices: tuple[Device, ...],
    falls: Mapping[str, Fall],
    as_pulled: tuple[AsPulled, ...],
    channels: tuple[Channel, ...],
    banned: Mapping[str, frozenset[str]] | None = None,
) -> dict[str, Route]:
    """Stage `routes`. `banned` forbids channels to single wires (by wire id): used for detours round a full bore."""
    device_by_id = {d.id: d for d in devices}
    pulled = {row.wire: row for row in as_pulled if row.channels and not row.spare}
    locked = frozenset(c.id for c in channels if c.wires == "locked")
    lengths = {link.channel: link.length_mm for link in network.links if link.channel}
    trees: dict[frozenset[str], _Trees] = {}
    routes: dict[str, Route] = {}
    found: dict[str, _Way | str] = {}
    for wire in wires.values():
        held = False
        record = pulled.get(wire.id)
        way: _Way | str | None = None
        if record is not None:
            way = _held(record, network)
            held = way is not None
        key = wire.lead if wire.waypoints == wires[wire.lead].waypoints else wire.id
        if way is None:
            way = found.get(key)
        if way is None:
            forbid = locked | (banned or {}).get(wire.id, frozenset())
            grown = trees.setdefault(forbid, _Trees(network, forbid))
            lead = wires[key]
            vertices, reason = _stops(lead, network, device_by_id)
            if reason:
                way = reason
            else:
                edges = _walk(grown, lead.group, vertices)
                way = (
                    _steps(network, vertices[0], edges)
                    if edges is not None
                    else f"no open channel for {lead.group.replace('_', ' ')} leads from "
                    f"{device_by_id[lead.from_.device].name} to {device_by_id[lead.to.device].name}"
                )
            found[key] = way
        if isinstance(way, str):
            routes[wire.id] = _missing(wire, way)
            continue
        steps, joints, provisional = way
        if not held and wire.from_.device != wires[key].from_.device:
            steps = tuple(Step(channel=s.channel, forward=not s.forward) for s in reversed(steps))
        ends = [falls.get(end.device) for end in (wire.from_, wire.to)]
        unknown = [
            end.device
            for end, fall in zip((wire.from_, wire.to), ends, strict=True)
            if fall is None or fall.length_mm is None
        ]
        if unknown:
            name = device_by_id[unknown[0]].name
            routes[wire.id] = _missing(wire, f"the fall at {name} has no length: its node lies on another surface")
            continue
        from_fall, to_fall = ((fall.length_mm or 0.0) if fall is not None else 0.0 for fall in ends)
        routes[wire.id] = Route(
            wire=wire.id,
            steps=steps,
            from_fall_mm=from_fall,
            to_fall_mm=to_fall,
            joint_mm=joints,
            route_mm=from_fall + to_fall + joints + sum(lengths[s.channel] for s in steps),
            provisional=provisional,
            held=held,
        )
    return routes


def measured_anew(route: Route, wire: Wire, lengths: Mapping[str, float], falls: Mapping[str, Fall]) -> Route:
    """The same way with the lengths that hold now; one that cannot be measured stays as it was."""
    ends = [falls.get(end.device) for end in (wire.from_, wire.to)]
    known = [fall.length_mm for fall in ends if fall is not None and fall.length_mm is not None]
    if route.route_mm is None or len(known) < 2:
        return route
    first, last = known
    along = sum(lengths[step.channel] for step in route.steps)
    return replace(route, from_fall_mm=first, to_fall_mm=last, route_mm=first + last + route.joint_mm + along)
