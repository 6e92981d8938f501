"""Remedies for ways: devices in no circuit or on no channel, gaps in the network, full bores, separation, sight."""

from collections.abc import Iterable
from math import dist, pi, sqrt

import networkx as nx

from core.analysis.analysis import Analysis
from core.analysis.bundles import bore_of
from core.analysis.detours import detour, detour_words
from core.analysis.results import Bundle, Finding, Wire
from core.analysis.routes import find_routes
from core.edits.change import add, get, listed, made, new_id, put, replaced
from core.edits.channels import CrossedChannels, join_crossing, set_groups, unjoined_crossings
from core.edits.circuits import connect
from core.edits.devices import connect_to_nearest, connect_to_node
from core.edits.kinds import use_kind
from core.edits.records import delete, set_field
from core.edits.risers import rise_or_fall
from core.errors import EditRefused
from core.files.library import Library
from core.geometry.polygon import segment_inside
from core.model import Bore, Channel, ConduitKind, Plan, Point, Rib
from core.studies.remedies.remedy import Case, Remedy, Work, edit
from core.studies.ways import offers, rough_a

#: A gap in the channels wider than this is no slip of the pen: somebody has to look where the bundle shall run (mm).
WIDEST_GAP_MM = 1_500.0
#: Points to feed a device from that are offered.
MOST_OFFERS = 3


def no_circuit(case: Case) -> Iterable[Remedy]:
    finding, analysis = case.finding, case.analysis
    device = analysis.devices[finding.subjects[0]]
    if device.kind == "battery" or device.ways:
        return  # what feeds others is wired by hand: its leads are a decision
    for offer in offers(analysis, device, rough_a(device))[:MOST_OFFERS]:

        def wire(
            plan: Plan, source: str = offer.source.id, way: str | None = offer.way.id if offer.way else None
        ) -> Plan:
            plan = joined(plan, device.id)
            return connect(plan, source, way, [device.id], library=case.library)[0]

        yield Remedy(f"Wire {device.name} to {offer.source.name}", wire, offer.words)


def joined(plan: Plan, device_id: str) -> Plan:
    """The plan with the device on the nearest channel, or node, where it has none yet and one is near; else as is."""
    if get(plan, "devices", device_id).node is not None:
        return plan
    for join in (connect_to_nearest, connect_to_node):
        try:
            return join(plan, device_id)[0]
        except EditRefused:
            continue
    return plan


def no_route(case: Case) -> Iterable[Remedy]:
    finding, analysis = case.finding, case.analysis
    circuit = analysis.circuits.get(finding.subjects[0])
    if circuit is None:
        return
    ends = [analysis.devices[d] for d in finding.subjects[1:] if d in analysis.devices]
    loose = [device for device in ends if device.node is None]
    if loose:
        names = listed([device.name for device in loose])

        def join(plan: Plan) -> Plan:
            for device in loose:
                plan = connect_to_nearest(plan, device.id)[0]
            return plan

        yield Remedy(f"Join {names} to the nearest channel", join, "with a short fall of its own, counted in the wire")

        def lead(plan: Plan) -> Plan:
            for device in loose:
                plan = rise_or_fall(plan, device.id)[0]
            return plan

        yield Remedy(f"Draw a channel from {names} to the nearest one", lead, "straight up, down or across, over folds")
    yield from _crossings(analysis)
    yield from _shut(analysis, finding)
    yield from _bridge(analysis, finding)


def _ends(analysis: Analysis, finding: Finding) -> list[tuple[Wire, tuple[str, int], tuple[str, int]]]:
    """The wires of the circuit without a way, with the vertices between which there is none."""
    names = {index: vertex for vertex, index in analysis.network.vertices.items()}
    found = []
    for wire in analysis.wires.values():
        if wire.circuit != finding.subjects[0] or analysis.routes[wire.id].route_mm is not None:
            continue
        if wire.lead != wire.id or wire.from_.node is None or wire.to.node is None:
            continue
        spots = [
            analysis.network.vertex(end.node, analysis.devices[end.device].surface)
            for end in (wire.from_, wire.to)
            if end.node is not None
        ]
        if len(spots) == 2 and spots[0] is not None and spots[1] is not None:
            found.append((wire, names[spots[0]], names[spots[1]]))
    return found


def _crossings(analysis: Analysis) -> Iterable[Remedy]:
    """Channels that cross without a node do not connect."""
    crossed = unjoined_crossings(analysis.plan, [channel.id for channel in analysis.plan.channels])
    for each in crossed[:12]:
        yield Remedy(
            f"Join {analysis.word(each.a)} and {analysis.word(each.b)} where they cross",
            edit(_join, each),
            "a junction there: wires may turn from one into the other",
        )


def _join(plan: Plan, crossed: CrossedChannels) -> Plan:
    return join_crossing(plan, crossed.a, crossed.b, crossed.point)[0]


def _shut(analysis: Analysis, finding: Finding) -> Iterable[Remedy]:
    """A way there is, but some channels of it are not open for the group (never offered for mains)."""
    for wire, start, end in _ends(analysis, finding):
        way = _cheapest(analysis, wire, start, end)
        channels = [analysis.channels[c] for c in way if wire.group not in analysis.channels[c].groups]
        if not channels or wire.group == "mains" or any("mains" in c.groups for c in channels):
            continue
        ids = [c.id for c in channels]

        def let_in(plan: Plan, ids: list[str] = ids, wire: Wire = wire) -> Plan:
            for channel_id in ids:
                channel = get(plan, "channels", channel_id)
                plan = set_groups(plan, [channel_id], (*channel.groups, wire.group))
            return plan

        names = listed([analysis.word(c) for c in ids], 3)
        word = wire.group.replace("_", " ")
        yield Remedy(f"Let {word} use {names}", let_in, "they are closed to this separation group now")


def _cheapest(analysis: Analysis, wire: Wire, start: tuple[str, int], end: tuple[str, int]) -> list[str]:
    """The channels of the way that asks for the fewest millimetres of channels the group may not use now."""

    def weight(_a: object, _b: object, edges: dict[str, dict[str, object]]) -> float | None:
        costs = [
            float(str(edge["length_mm"])) * (1 if wire.group in list(edge["groups"]) else 1_000)  # type: ignore[call-overload]
            for key, edge in edges.items()
            if key not in analysis.channels or _open(analysis, analysis.channels[key])
        ]
        return min(costs, default=None)

    graph = analysis.graph
    try:
        vertices = nx.dijkstra_path(graph, start, end, weight=weight)
    except (nx.NetworkXNoPath, nx.NodeNotFound):
        return []
    found = []
    for a, b in zip(vertices, vertices[1:], strict=False):
        keys = [key for key in graph[a][b] if key in analysis.channels and _open(analysis, analysis.channels[key])]
        keys.sort(key=lambda k: (wire.group not in analysis.channels[k].groups, graph[a][b][k]["length_mm"], k))
        found += keys[:1]
    return found


def _open(analysis: Analysis, channel: Channel) -> bool:
    ribs: dict[str, Rib] = {rib.id: rib for rib in analysis.plan.ribs}
    rib = ribs.get(channel.runs_inside or "")
    blocked = channel.state == "blocked" or (rib is not None and rib.state == "blocked")
    return not (blocked or channel.spare_duct or channel.wires == "locked" or analysis.paths[channel.id].problem)


def _bridge(analysis: Analysis, finding: Finding) -> Iterable[Remedy]:
    """A channel over the smallest gap between what the one end reaches and what the other end reaches."""
    spots = {node: dict(spot.spots) for node, spot in analysis.node_spots.items()}
    for wire, start, end in _ends(analysis, finding):
        open_graph: nx.Graph[tuple[str, int]] = nx.Graph()
        open_graph.add_nodes_from((start, end))
        open_graph.add_edges_from(
            (a, b) for a, b, edge in analysis.graph.edges(data=True) if wire.group in edge["groups"]
        )
        here = nx.node_connected_component(open_graph, start)
        there = nx.node_connected_component(open_graph, end)
        gaps = [
            (dist(p, spots[b][surface]), a, b, surface)
            for a in {node for node, _ in here}
            for surface, p in spots.get(a, {}).items()
            for b in {node for node, _ in there}
            if a != b and surface in spots.get(b, {})
        ]
        inside = (
            row for row in sorted(gaps) if _straight(analysis, row[3], spots[row[1]][row[3]], spots[row[2]][row[3]])
        )
        best = next(inside, None)
        if best is None or best[0] > WIDEST_GAP_MM:
            continue

        def draw(plan: Plan, best: tuple[float, str, str, str] = best, wire: Wire = wire) -> Plan:
            groups = ("mains",) if wire.group == "mains" else ("dc_power", "signal", "antenna")
            new = made(Channel, id=new_id(plan, "channels"), start=best[1], end=best[2], surface=best[3], groups=groups)
            return add(plan, "channels", new)

        yield Remedy(
            f"Close the gap on {analysis.word(best[3])} with a channel",
            draw,
            f"{best[0]:.0f} mm are missing between what one end reaches and what the other does",
        )


def _straight(analysis: Analysis, surface_id: str, p: Point, q: Point) -> bool:
    surface = analysis.surfaces[surface_id]
    return segment_inside(tuple(c.at_mm for c in surface.corners), surface.holes, p, q)


def provisional(case: Case) -> Iterable[Remedy]:
    finding, analysis = case.finding, case.analysis
    channel = analysis.channels[finding.subjects[0]]

    def measured(plan: Plan) -> Plan:
        plan = set_field(plan, channel.id, known="measured", state="open")
        rib = next((r for r in plan.ribs if r.id == channel.runs_inside), None)
        return set_field(plan, rib.id, state="open") if rib is not None and rib.state == "unknown" else plan

    yield Remedy(
        f"Mark {analysis.word(channel.id)} measured and open",
        measured,
        "once you have looked and measured: its wires may be cut then",
    )


def pulled(case: Case) -> Iterable[Remedy]:
    finding = case.finding
    yield Remedy(
        "Delete the as-pulled entry",
        lambda plan: delete(plan, finding.subjects[:1])[0],
        "its wire is planned anew; what is in the vehicle must be pulled again",
    )


def overfull(case: Case) -> Iterable[Remedy]:
    finding, analysis = case.finding, case.analysis
    channel = analysis.channels[finding.subjects[0]]
    bundle = analysis.bundles.get(channel.id)
    if bundle is None or bundle.fill_limit_percent is None:
        return
    yield from wider(analysis, case.library, channel, bundle)
    yield from _another_way(analysis, bundle)


def wider(analysis: Analysis, library: Library, channel: Channel, bundle: Bundle) -> Iterable[Remedy]:
    kinds = {c.id: c for c in (*library.conduit_kinds, *analysis.plan.conduit_kinds)}
    now = kinds.get(channel.conduit or "")
    word = analysis.word(channel.id)
    limit = bundle.fill_limit_percent or 100.0
    need = max(sqrt(sum(i.od_mm**2 for i in bundle.items) * 100 / limit), bundle.diameter_tight_mm)
    if now is not None and channel.bore is None:
        sort = now.id.rpartition("-")[0]
        fitting = [c for c in kinds.values() if c.bore_mm >= need and c.split == now.split]
        fitting.sort(key=lambda c: (c.id.rpartition("-")[0] != sort, c.bore_mm))
        for conduit in fitting[:1]:

            def wider(plan: Plan, conduit: ConduitKind = conduit) -> Plan:
                return set_field(use_kind(plan, conduit), channel.id, conduit=conduit.id)

            yield Remedy(f"Use {conduit.name} for {word}", wider, f"{conduit.bore_mm:g} mm bore, {now.bore_mm:g} now")
        return
    bore = bore_of(channel, kinds)
    if bore is None:
        return
    if bore.height_mm is None:
        wanted = Bore(width_mm=float(-(-need // 1)))
    else:
        area = pi / 4 * sum(i.od_mm**2 for i in bundle.items) * 100 / limit
        low = max(bore.height_mm, float(-(-bundle.diameter_tight_mm // 1)))
        wanted = Bore(width_mm=float(-(-max(area / low, bundle.diameter_tight_mm) // 1)), height_mm=low)
    size = f"{wanted.width_mm:g}" + (f" x {wanted.height_mm:g}" if wanted.height_mm else "")
    yield Remedy(
        f"Make {word} {size} mm wide inside",
        lambda plan: put(plan, "channels", replaced(get(plan, "channels", channel.id), bore=wanted)),
        f"{bundle.fill_percent:.0f} % full now, {limit:.0f} % allowed",
    )


def _another_way(analysis: Analysis, bundle: Bundle) -> Iterable[Remedy]:
    """Lead the circuits of the detour another way, by waypoints on their stops."""
    found = detour(analysis, bundle)
    if not found.enough:
        return
    points: dict[tuple[str, str], tuple[str, str]] = {}
    for wire_id, route in found.routes.items():
        wire = analysis.wires[wire_id]
        old = {step.channel for step in analysis.routes[wire_id].steps}
        if bundle.channel not in old:
            continue
        fresh = [step for step in route.steps if step.channel not in old]
        if not fresh:
            return
        middle = max(fresh, key=lambda step: (analysis.paths[step.channel].length_mm, step.channel))
        ends = analysis.channels[middle.channel]
        first, second = (ends.start, ends.end) if middle.forward else (ends.end, ends.start)
        back = wire.role in ("return", "neutral", "protective_earth")
        points[wire.circuit, wire.stop] = (second, first) if back else (first, second)

    def lead(plan: Plan) -> Plan:
        for circuit_id in found.circuits:
            circuit = get(plan, "circuits", circuit_id)
            stops = tuple(
                replaced(stop, waypoints=points[circuit_id, stop.id]) if (circuit_id, stop.id) in points else stop
                for stop in circuit.stops
            )
            plan = put(plan, "circuits", replaced(circuit, stops=stops))
        return plan

    names = listed([analysis.word(c) for c in found.circuits], 3)
    yield Remedy(f"Lead {names} another way", lead, f"{detour_words(analysis, found)}; by waypoints on its legs")


def separation(case: Case) -> Iterable[Remedy]:
    """Close the channel to one of the two, where its wires have another way."""
    finding, analysis = case.finding, case.analysis
    channel = analysis.channels[finding.subjects[0]]
    bundle = analysis.bundles.get(channel.id)
    if bundle is None:
        return
    for mains in (False, True):
        own = {w: analysis.wires[w] for w in bundle.wires if (analysis.wires[w].group == "mains") is mains}
        groups = tuple(g for g in channel.groups if (g == "mains") is not mains)
        if not groups or not own or any(analysis.routes[w].held for w in own):
            continue
        leads = {w.lead for w in own.values()}
        whole = {w.id: w for w in analysis.wires.values() if w.lead in leads}
        ban = {w: frozenset({channel.id}) for w in whole}
        ways = find_routes(
            analysis.network, whole, analysis.plan.devices, analysis.falls, (), analysis.plan.channels, ban
        )
        if any(way.route_mm is None for way in ways.values()):
            continue
        more = sum((ways[w].route_mm or 0.0) - (analysis.routes[w].route_mm or 0.0) for w in whole) / 1000
        what = "mains" if mains else "low voltage"
        yield Remedy(
            f"Keep {what} out of {analysis.word(channel.id)}",
            edit(set_groups, [channel.id], groups),
            f"{more:+.2f} m of wire; mains work is for licensed people under local codes",
        )


def visible(case: Case) -> Iterable[Remedy]:
    finding, analysis = case.finding, case.analysis
    channel = analysis.channels[finding.subjects[0]]
    yield Remedy(
        f"Cover {analysis.word(channel.id)} with trunking",
        lambda plan: set_field(plan, channel.id, kind="trunking", visible=False),
        f"{analysis.paths[channel.id].length_mm / 1000:.2f} m of it",
    )
    yield Remedy(
        f"Lay {analysis.word(channel.id)} behind the panel",
        lambda plan: set_field(plan, channel.id, kind="behind_panel", visible=False),
        "walls in the sun are hot behind the panel: sizes may grow",
    )


REMEDIES: dict[str, Work] = {
    "device.no_circuit": no_circuit,
    "route.none": no_route,
    "route.provisional": provisional,
    "route.pulled": pulled,
    "bore.overfull": overfull,
    "separation.mains": separation,
    "wire.visible": visible,
}
