"""Checks of routes: devices and wires without a way, provisional and pulled wires, full bores, separation, sight."""

from collections.abc import Iterable
from math import sqrt

from core.analysis.analysis import Analysis
from core.analysis.bundles import bore_of, fill_rule
from core.analysis.results import Bundle, Finding
from core.analysis.routes import find_routes
from core.analysis.rules import source
from core.model import Channel, Device
from core.text import counted

#: Devices within this of a channel are offered to join it (mm).
NEAR_MM = 1000.0


def _electric(device: Device) -> bool:
    e = device.electrical
    return bool(e.current_a or e.power_w or device.ways)


def unconnected_devices(analysis: Analysis) -> Iterable[Finding]:
    used = {stop.device for circuit in analysis.plan.circuits for stop in circuit.stops}
    for device in analysis.plan.devices:
        if _electric(device) and device.id not in used:
            yield Finding(
                code="device.no_circuit",
                severity="note",
                subjects=(device.id,),
                message=f"{device.name} is in no circuit.",
                remedy="connect it to a fuse block",
            )


def wires_without_route(analysis: Analysis) -> Iterable[Finding]:
    """One finding for each reason within a circuit, not one for each conductor."""
    seen: dict[tuple[str, str], list[str]] = {}
    for wire in analysis.wires.values():
        route = analysis.routes[wire.id]
        if route.route_mm is None:
            seen.setdefault((wire.circuit, route.problem), []).append(wire.id)
    for (circuit, problem), wires in seen.items():
        ends = {end.device for w in wires for end in (analysis.wires[w].from_, analysis.wires[w].to)}
        yield Finding(
            code="route.none",
            severity="error",
            subjects=(circuit, *sorted(ends)),
            message=f"{analysis.word(circuit)}: no way for {', '.join(wires)}: {problem}.",
            remedy="draw a channel there, or join the device to the nearest one",
        )


def provisional_routes(analysis: Analysis) -> Iterable[Finding]:
    doubtful: dict[str, set[str]] = {}
    for route in analysis.routes.values():
        if not route.provisional or route.route_mm is None:
            continue
        for step in route.steps:
            channel = analysis.channels[step.channel]
            if channel.known == "assumed" or channel.state == "unknown":
                doubtful.setdefault(channel.id, set()).add(analysis.wires[route.wire].circuit)
    for channel_id, circuits in doubtful.items():
        yield Finding(
            code="route.provisional",
            severity="note",
            subjects=(channel_id, *sorted(circuits)),
            message=f"{analysis.word(channel_id)} is assumed or not looked into: the wires of "
            f"{counted(len(circuits), 'circuit')} through it are provisional, do not cut them yet.",
            value=float(len(circuits)),
            unit="circuits",
            remedy="measure or open it, then mark it measured and open",
        )


def moved_pulled_wires(analysis: Analysis) -> Iterable[Finding]:
    for row in analysis.plan.as_pulled:
        route = analysis.routes.get(row.wire)
        if row.channels and not row.spare and route is not None and not route.held:
            yield Finding(
                code="route.pulled",
                severity="warning",
                subjects=(row.id,),
                message=f"{row.wire} was pulled through channels that no longer connect; it is planned anew.",
                remedy="draw the channels as they were pulled, or delete the as-pulled entry",
            )


def _biggest_circuit(analysis: Analysis, bundle: Bundle) -> str:
    areas: dict[str, float] = {}
    for item in bundle.items:
        circuit = analysis.wires[item.wires[0]].circuit
        areas[circuit] = areas.get(circuit, 0.0) + item.od_mm**2
    return max(sorted(areas), key=lambda c: areas[c])


def _detour(analysis: Analysis, channel: Channel, circuit: str) -> str:
    """What it costs to lead the largest circuit round the full bore, in words."""
    own = {w.id: w for w in analysis.wires.values() if w.circuit == circuit}
    if any(analysis.routes[w].held for w in own):
        return "its wires are pulled already and stay"
    ban = {w: frozenset({channel.id}) for w in own}
    ways = find_routes(analysis.network, own, analysis.plan.devices, analysis.falls, (), analysis.plan.channels, ban)
    if any(route.route_mm is None for route in ways.values()):
        return "there is no other way for it"
    more = sum((ways[w].route_mm or 0.0) - (analysis.routes[w].route_mm or 0.0) for w in own)
    return f"leading it another way costs {more / 1000:+.2f} m of wire in all"


def overfull(analysis: Analysis) -> Iterable[Finding]:
    conduits = {c.id: c for c in analysis.plan.conduit_kinds}
    for bundle in analysis.bundles.values():
        if bundle.fill_percent is None or bundle.fill_limit_percent is None:
            continue
        channel = analysis.channels[bundle.channel]
        bore = bore_of(channel, conduits)
        wide = bore is not None and bundle.diameter_tight_mm > min(bore.width_mm, bore.height_mm or bore.width_mm)
        if bundle.fill_percent <= bundle.fill_limit_percent and not wide:
            continue
        circuit = _biggest_circuit(analysis, bundle)
        need = sqrt(sum(i.od_mm**2 for i in bundle.items) * 100 / bundle.fill_limit_percent)
        yield Finding(
            code="bore.overfull",
            severity="error",
            subjects=(channel.id, circuit),
            message=f"{analysis.word(channel.id)} is {bundle.fill_percent:.0f} % full with "
            f"{counted(len(bundle.items), 'wire')}. A bore of {max(need, bundle.diameter_tight_mm):.0f} mm is wide "
            f"enough; or take out the largest, {analysis.word(circuit)}: {_detour(analysis, channel, circuit)}.",
            value=bundle.fill_percent,
            limit=bundle.fill_limit_percent,
            unit="%",
            source=source(analysis.profile, fill_rule(channel, len(bundle.items))),
            remedy="a wider conduit, or a waypoint for one circuit: nothing is moved by itself",
        )


def separation(analysis: Analysis) -> Iterable[Finding]:
    for bundle in analysis.bundles.values():
        groups = {analysis.wires[w].group for w in bundle.wires}
        if "mains" in groups and len(groups) > 1:
            yield Finding(
                code="separation.mains",
                severity="error",
                subjects=(bundle.channel,),
                message=f"Mains and low-voltage wires share {analysis.word(bundle.channel)}.",
                remedy="give mains a channel of its own; mains work is for licensed people under local codes",
                source="ISO 10133 7.8 and NEC 552.10(C)(3)",
            )


def visible(analysis: Analysis) -> Iterable[Finding]:
    for bundle in analysis.bundles.values():
        if analysis.channels[bundle.channel].visible:
            yield Finding(
                code="wire.visible",
                severity="note",
                subjects=(bundle.channel,),
                message=f"Wire can be seen in {analysis.word(bundle.channel)}: {bundle.length_mm:.0f} mm.",
                value=bundle.length_mm,
                unit="mm",
                remedy="lead it behind a panel, or cover it with trunking",
            )
