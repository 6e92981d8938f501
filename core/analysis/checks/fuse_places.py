"""Where fuses sit: how far along the wire from every end that something can feed, one source or two."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from core.analysis.analysis import Analysis
from core.analysis.checks.protection import UNFUSED
from core.analysis.results import Finding
from core.analysis.rules import number, source
from core.analysis.supply import CHARGERS, PASSES_ON, chain
from core.analysis.wires import passes
from core.model import Circuit, Device

_FEEDS = ("feed", "switched", "line")
#: Kinds of channel that enclose a wire all round.
_ENCLOSING = frozenset({"closed_conduit", "split_conduit", "trunking"})


@dataclass(frozen=True)
class _Line:
    """A circuit's feed as distances from its source; None where a wire has no route."""

    at_mm: Mapping[str, float | None]
    sheathed: Mapping[str, bool]


def _line(analysis: Analysis, circuit: Circuit) -> _Line:
    legs: dict[str, tuple[float | None, bool]] = {}
    for wire in analysis.wires.values():
        if wire.circuit != circuit.id or wire.role not in _FEEDS or wire.stop in legs:
            continue
        route = analysis.routes[wire.id]
        enclosed = bool(route.steps) and all(analysis.channels[s.channel].kind in _ENCLOSING for s in route.steps)
        legs[wire.stop] = (route.route_mm, wire.cable is not None or wire.cores > 1 or enclosed)
    at_mm: dict[str, float | None] = {circuit.stops[0].id: 0.0}
    sheathed: dict[str, bool] = {circuit.stops[0].id: True}
    for stop in circuit.stops[1:]:
        total: float | None = 0.0
        covered = True
        for step in chain(circuit, stop):
            # A part in the return alone (a shunt) is passed by.
            length, enclosed = legs.get(step.id, (None, False)) if passes(step, "feed") else (0.0, True)
            total = None if total is None or length is None else total + length
            covered = covered and enclosed
        at_mm[stop.id], sheathed[stop.id] = total, covered
    return _Line(at_mm, sheathed)


def _places(analysis: Analysis, circuit: Circuit, line: _Line) -> tuple[list[float], str]:
    """Distances of every fuse of the circuit from its source, and what is unclear about them."""
    protective, first = circuit.protective, circuit.stops[0]
    in_line = [s for s in circuit.stops[1:] if s.role == "series" and analysis.devices[s.device].kind == "fuse"]
    found = [at for s in in_line if (at := line.at_mm[s.id]) is not None]
    if protective.kind == "none":
        return found, ""
    if protective.distance_mm is not None:
        return [*found, protective.distance_mm], ""
    if protective.device == first.device:
        return [*found, 0.0], ""
    if protective.device is not None:
        stop = next((s for s in circuit.stops[1:] if s.device == protective.device), None)
        if stop is None:
            return found, f"its fuse is said to sit in {analysis.word(protective.device)}, which is no part of it"
        at = line.at_mm[stop.id]
        return found if at is None else [*found, at], ""
    holder = analysis.devices[first.device]
    if in_line:
        return found, ""
    holds = bool(holder.ways) or holder.kind in ("fuse_block", "panelboard", "fuse", "rcd", "shore_inlet")
    on_post = holder.kind == "battery" and protective.family == "on_post"
    if holds or on_post:
        return [0.0], ""
    if holder.kind in CHARGERS:
        return [], f"{holder.name} holds no fuse"
    return [0.0], f"{holder.name} holds no fuse of this family, so it is taken to sit right beside it"


def _live_ends(analysis: Analysis, circuit: Circuit) -> list[tuple[str, Device]]:
    """(stop, device) of every end that can drive current into the wire beyond what it is sized for."""
    supply = analysis.supply
    first = supply.source(circuit)
    ends = [] if first.kind in CHARGERS else [(circuit.stops[0].id, first)]
    meshed = {feeder for mesh in analysis.meshes for feeder in mesh.feeders}
    two_way = circuit.id in meshed or (first.kind in CHARGERS and supply.charges(circuit))
    for stop in circuit.stops[1:]:
        device = analysis.devices[stop.device]
        if stop.role == "series" or circuit.kind == "bond":
            continue
        if device.kind == "battery" or (two_way and device.kind in PASSES_ON):
            ends.append((stop.id, device))
    return ends


def distances(analysis: Analysis) -> Iterable[Finding]:
    """The wire between each live end and its nearest fuse, measured along the real route."""
    for circuit in analysis.plan.circuits:
        if circuit.kind in UNFUSED or circuit.group != "dc_power" or len(circuit.stops) < 2:
            continue
        line = _line(analysis, circuit)
        places, unclear = _places(analysis, circuit, line)
        if circuit.protective.kind == "none" and not places:
            continue  # another check asks for a fuse or a reason
        ends = _live_ends(analysis, circuit)
        for stop, device in ends:
            end_mm = line.at_mm[stop]
            if end_mm is None:
                continue  # another check says that there is no route
            nearest = min((abs(end_mm - at) for at in places), default=None)
            yield from _too_far(analysis, circuit, stop, device, nearest, line, len(ends) > 1)
        if unclear and circuit.protective.kind != "none":
            yield Finding(
                code="fuse.place",
                severity="warning" if not places else "note",
                subjects=(circuit.id,),
                message=f"{circuit.name}: {unclear}.",
                value=places[0] if places else None,  # nobody knows how far
                limit=number(analysis.profile, "fuse.distance_mm"),
                unit="mm",
                source=source(analysis.profile, "fuse.distance_mm"),
                remedy="put an in-line fuse into the circuit, or say how far along the wire the fuse sits",
            )


def _too_far(
    analysis: Analysis,
    circuit: Circuit,
    stop: str,
    device: Device,
    nearest: float | None,
    line: _Line,
    several: bool,
) -> Iterable[Finding]:
    far = circuit.stops[0].id != stop
    sheathed = line.sheathed[stop] if far else all(line.sheathed.values())
    battery = device.kind == "battery"
    rule = "fuse.distance_mm"
    if sheathed:
        rule = "fuse.distance_battery_mm" if battery else "fuse.distance_sheathed_mm"
    most = number(analysis.profile, rule)
    if nearest is not None and nearest <= most + 1e-6:
        return
    told = f"the nearest fuse is {nearest:.0f} mm along the wire" if nearest is not None else "there is no fuse on it"
    how = "sheathed all the way" if sheathed else "not sheathed all the way"
    yield Finding(
        code="fuse.both_ends" if far else "fuse.distance",
        severity="error",
        subjects=(circuit.id, device.id),
        message=f"{circuit.name}: {device.name} can feed this wire "
        + ("from its far end" if several and far else "from here")
        + f", and {told} from there; {most:.0f} mm are allowed ({how}).",
        value=nearest,
        limit=most,
        unit="mm",
        source=source(analysis.profile, rule),
        remedy=f"a fuse at {device.name}" + (" as well" if several and nearest is not None else ""),
    )
