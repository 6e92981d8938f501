"""Checks of routes: devices and wires without a way, provisional and pulled wires, full bores, separation, sight."""

from collections.abc import Iterable

from core.analysis.analysis import Analysis
from core.analysis.bundles import fill_rule
from core.analysis.detours import detour, detour_words, is_overfull, widening, widening_words
from core.analysis.gap import NEAR_MM, gap_of, gap_words
from core.analysis.results import Finding
from core.analysis.rules import source
from core.model import Device
from core.text import counted


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
        loose = [gap_of(analysis, analysis.devices[d]) for d in sorted(ends) if _is_loose(analysis, d)]
        gap = loose[0] if len(loose) == 1 else None
        far = f"; {gap_words(analysis, gap)}" if gap is not None else ""
        joins = gap is None or gap.near
        yield Finding(
            code="route.none",
            severity="error",
            subjects=(circuit, *sorted(ends)),
            message=f"{analysis.word(circuit)}: no way for {', '.join(wires)}: {problem}{far}.",
            value=gap.distance_mm if gap is not None else None,
            limit=NEAR_MM if gap is not None and gap.distance_mm is not None else None,
            unit="mm" if gap is not None and gap.distance_mm is not None else "",
            source="common practice" if gap is not None and gap.distance_mm is not None else "",
            remedy="draw a channel there, or join the device to the nearest one"
            if joins
            else "draw a channel to it: what is more than a metre away is not joined by itself",
        )


def _is_loose(analysis: Analysis, device_id: str) -> bool:
    device = analysis.devices.get(device_id)
    return device is not None and device.node is None


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


def overfull(analysis: Analysis) -> Iterable[Finding]:
    """Bores that are too full: both ways out with what they cost, and nothing is moved."""
    for bundle in analysis.bundles.values():
        if bundle.fill_percent is None or bundle.fill_limit_percent is None or not is_overfull(analysis, bundle):
            continue
        channel = analysis.channels[bundle.channel]
        way = detour(analysis, bundle)
        fits = bundle.fill_percent <= bundle.fill_limit_percent
        said = "too narrow for" if fits else f"{bundle.fill_percent:.0f} % full with"
        yield Finding(
            code="bore.overfull",
            severity="error",
            subjects=(channel.id, *way.circuits),
            message=f"{analysis.word(channel.id)} is {said} {counted(len(bundle.items), 'wire')}. Wide enough is "
            f"{widening_words(widening(analysis, bundle))}; {detour_words(analysis, way)}.",
            value=bundle.fill_percent,
            limit=bundle.fill_limit_percent,
            unit="%",
            source=source(analysis.profile, fill_rule(channel, len(bundle.items))),
            remedy="a wider conduit, or waypoints for those circuits: nothing is moved by itself",
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
