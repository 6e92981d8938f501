"""The answer while something is dragged in a large plan: only what the drag touches is worked out again.

Routes, sections, what lies in a channel, fixing points, wrap and findings stay those of the press; paths, falls,
lengths, drops and cut lengths of the touched wires follow. It costs what the touched wires cost, and a pass over the
plan.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace

from msgspec.structs import replace as changed

from core.analysis import bends, cutting, drip, pieces, places
from core.analysis.analysis import Analysis
from core.analysis.results import ChannelPath, CircuitSize, Route, SizedWire, Wire
from core.analysis.routes import measured_anew
from core.analysis.sizes import IDLE
from core.analysis.supply import chain
from core.analysis.wires import BACKWARD, carrying
from core.diff import changed_fields
from core.model import Channel, Circuit, Device, Node, Plan

#: What a drag changes, and nothing else: fields by collection.
DRAGGED = {
    "nodes": frozenset({"place"}),
    "channels": frozenset({"via_mm", "measured_mm"}),
    "devices": frozenset({"surface", "at_mm", "turn_deg"}),
}


def patched(plan: Plan, held: Analysis) -> Analysis | None:
    """`held` with the touched channels, devices and wires measured anew, marked provisional.

    None where more than places of nodes, devices and via points differs.
    """
    moved = _moved(held.plan, plan)
    if moved is None:
        return None
    nodes, channels, devices = moved
    at_nodes = {node.id for node in nodes}
    bent = {channel.id for channel in channels}
    if bent or at_nodes:
        channels = [c for c in plan.channels if c.id in bent or c.start in at_nodes or c.end in at_nodes]
    shifted = {device.id for device in devices}
    devices = [d for d in plan.devices if d.id in shifted or d.node in at_nodes]

    spots = {**held.node_spots, **places.node_spots(held.sheet, tuple(nodes), plan.penetrations)}
    paths = {**held.paths, **places.channel_paths(held.sheet, spots, tuple(channels))}
    falls = {**held.falls, **places.falls(held.sheet, spots, tuple(devices))}
    touched = _touched(held, [c.id for c in channels], [d.id for d in devices])
    routes = {**held.routes, **{each: _measured(held, each, paths, falls) for each in touched}}
    sized = {**held.sized, **{w: _resized(held.sized[w], held.routes[w], routes[w]) for w in touched}}
    gained_v = _gained_v(held, touched, sized)
    sizes = {**held.circuit_sizes, **_circuits(held, gained_v, routes, sized)}
    bundles = {
        **held.bundles,
        **{
            c.id: changed(held.bundles[c.id], length_mm=paths[c.id].length_mm) for c in channels if c.id in held.bundles
        },
    }
    estimate = replace(
        held, plan=plan, node_spots=spots, paths=paths, falls=falls, routes=routes, sized=sized, circuit_sizes=sizes,
        bundles=bundles, provisional=True,
    )  # fmt: skip
    return _recut(estimate, touched, held.channels if plan.channels is held.plan.channels else estimate.channels)


def _moved(old: Plan, new: Plan) -> tuple[list[Node], list[Channel], list[Device]] | None:
    """The nodes, channels and devices that are not the same; None where anything else differs too."""
    if not set(changed_fields(old, new)) <= DRAGGED.keys():
        return None
    found: dict[str, list[Node | Channel | Device]] = {name: [] for name in DRAGGED}
    for name, fields in DRAGGED.items():
        before, after = getattr(old, name), getattr(new, name)
        if before is after:
            continue
        if len(before) != len(after):
            return None
        for was, now in zip(before, after, strict=True):
            if was is now:
                continue
            if was.id != now.id or not set(changed_fields(was, now)) <= fields:
                return None
            found[name].append(now)
    nodes, channels, devices = (found[name] for name in ("nodes", "channels", "devices"))
    return (
        [n for n in nodes if isinstance(n, Node)],
        [c for c in channels if isinstance(c, Channel)],
        [d for d in devices if isinstance(d, Device)],
    )


def _touched(held: Analysis, channels: Iterable[str], devices: Iterable[str]) -> list[str]:
    """Wires that lie in these channels or end at these devices, with all cores of their cables; in order."""
    found = {wire for channel in channels if channel in held.bundles for wire in held.bundles[channel].wires}
    ends = frozenset(devices)
    found |= {w.id for w in held.wires.values() if w.from_.device in ends or w.to.device in ends}
    cables = {held.wires[wire].cable for wire in found} - {None}
    return [w.id for w in held.wires.values() if w.id in found or w.cable in cables]


def _measured(held: Analysis, wire: str, paths: Mapping[str, ChannelPath], falls: Mapping[str, places.Fall]) -> Route:
    """The route of a wire with its length measured anew."""
    route = held.routes[wire]
    lengths = {step.channel: paths[step.channel].length_mm for step in route.steps}
    return measured_anew(route, held.wires[wire], lengths, falls)


def _resized(size: SizedWire, old: Route, new: Route) -> SizedWire:
    """The drop of a conductor grows with its length; `_circuits` sets its percent."""
    if size.drop_v is None or not old.route_mm or new.route_mm is None:
        return size
    return changed(size, drop_v=size.drop_v * new.route_mm / old.route_mm)


def _gained_v(held: Analysis, touched: Iterable[str], sized: Mapping[str, SizedWire]) -> dict[tuple[str, str], float]:
    """What the conductors of each touched leg (circuit, stop) drop more than before, there and back."""
    gained: dict[tuple[str, str], float] = {}
    for wire in carrying(held.wires[wire_id] for wire_id in touched):
        now_v, then_v = sized[wire.id].drop_v, held.sized[wire.id].drop_v
        if wire.role not in IDLE:
            leg = (wire.circuit, wire.stop)
            gained[leg] = gained.get(leg, 0.0) + (now_v or 0.0) - (then_v or 0.0)
    return gained


def _circuits(
    held: Analysis,
    gained_v: Mapping[tuple[str, str], float],
    routes: Mapping[str, Route],
    sized: dict[str, SizedWire],
) -> dict[str, CircuitSize]:
    """Drops and lengths of the circuits with touched wires and of those they feed; puts percents into `sized`."""
    moved = {circuit for circuit, _ in gained_v}
    members: dict[str, list[Wire]] = {
        c.id: [] for c in held.plan.circuits if c.id in moved or moved.intersection(held.loads[c.id].upstream)
    }
    for wire in held.wires.values():
        if wire.circuit in members:
            members[wire.circuit].append(wire)
    return {each: _circuit(held, rows, gained_v, routes, sized) for each, rows in members.items() if rows}


def _fed_v(held: Analysis, circuit: Circuit, gained_v: Mapping[tuple[str, str], float]) -> float:
    """What is lost more than before between the original source and where this circuit starts."""
    total_v, below = 0.0, circuit
    for feeder_id in reversed(held.loads[circuit.id].upstream):
        feeder = held.circuits[feeder_id]
        stop = next((s for s in feeder.stops[1:] if s.device == below.stops[0].device), None)
        if stop is None:
            break
        total_v += sum(gained_v.get((feeder_id, s.id), 0.0) for s in chain(feeder, stop))
        below = feeder
    return total_v


def _circuit(
    held: Analysis,
    members: list[Wire],
    gained_v: Mapping[tuple[str, str], float],
    routes: Mapping[str, Route],
    sized: dict[str, SizedWire],
) -> CircuitSize:
    circuit, size = held.circuits[members[0].circuit], held.circuit_sizes[members[0].circuit]
    conductors: dict[str, list[Wire]] = {}
    for wire in carrying(members):
        if wire.role not in IDLE:
            conductors.setdefault(wire.stop, []).append(wire)
    stops = {stop.id: stop for stop in circuit.stops}
    base_v, fed_v = held.loads[circuit.id].base_v, _fed_v(held, circuit, gained_v)
    worst_v: dict[str, float] = {}
    drops, ways = [], []
    for stop_id, old_v, limit_v, old_mm in size.drops:
        on_way = [stop.id for stop in chain(circuit, stops[stop_id])]
        drop_v, total_mm = old_v, old_mm
        if old_v is not None:
            drop_v = old_v + fed_v + sum(gained_v.get((circuit.id, stop), 0.0) for stop in on_way)
            for stop in on_way:
                worst_v[stop] = max(worst_v.get(stop, 0.0), drop_v)
        if old_mm is not None:
            along = [wire for stop in on_way for wire in conductors.get(stop, [])]
            total_mm = sum(routes[w.id].route_mm or 0.0 for w in along)
            ways.append((sum(routes[w.id].route_mm or 0.0 for w in along if w.role not in BACKWARD), total_mm))
        drops.append((stop_id, drop_v, limit_v, total_mm))
    for wire in members:
        if base_v > 0 and sized[wire.id].drop_percent is not None and wire.stop in worst_v:
            sized[wire.id] = changed(sized[wire.id], drop_percent=100 * worst_v[wire.stop] / base_v)
    one_way_mm, there_and_back_mm = max(ways, default=(size.one_way_mm, size.there_and_back_mm))
    return changed(size, drops=tuple(drops), one_way_mm=one_way_mm, there_and_back_mm=there_and_back_mm)


def _recut(estimate: Analysis, touched: list[str], by_id: Mapping[str, Channel]) -> Analysis:
    """Cut lengths of the touched wires, and the sums. `by_id` are the channels of the estimate."""
    on_way = {step.channel for wire in touched for step in estimate.routes[wire].steps}
    channels = tuple(by_id[channel] for channel in on_way)
    outside = bends.outside_mm(channels, estimate.paths, estimate.bundles)
    wires = {wire: estimate.wires[wire] for wire in touched}
    plan = estimate.plan
    loops = drip.drip_loops(
        wires,
        estimate.routes,
        {channel.id: channel for channel in channels},
        plan.surfaces,
        plan.devices,
        plan.pass_throughs,
        estimate.twice,
    )
    cut = pieces.cut_pieces(wires, estimate.routes, estimate.sized, plan.devices, plan.assumptions, outside, loops)
    fresh = {piece.piece: piece for piece in cut}
    whole = tuple(fresh.get(piece.piece, piece) for piece in estimate.pieces)
    totals = cutting.totals(whole, estimate.wrap, estimate.sized, plan.tape_kinds, plan.assumptions)
    return replace(estimate, pieces=whole, totals=totals)
