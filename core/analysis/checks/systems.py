"""Checks of the distribution tree: voltages, what feeds what, rings, always-live circuits, the body as a return."""

from collections.abc import Iterable
from math import dist

from core.analysis.analysis import Analysis
from core.analysis.loads import own_draw
from core.analysis.results import Finding, Mesh
from core.analysis.rules import number, source
from core.analysis.supply import ORIGINS, PASSES_ON, base_volts
from core.geometry.polygon import point_in
from core.model import NOMINAL_V, Box, Circuit, Device, EarthPoint, impossible

SYSTEM_WORDS = {
    "dc12": "12 V", "dc24": "24 V", "dc48": "48 V", "ac230": "230 V mains", "ac120": "120 V mains",
    "solar": "a solar string", "signal": "signals",
}  # fmt: skip
#: Beyond this a load's way to the bolt on the body is a cable of its own, mm (our choice, no source).
NEAR_POINT_MM = 500.0
_NOT_POWER = frozenset({"signal", "antenna", "bond", "spare"})
#: Devices with a metal case that a fault can make live.
_CASED = frozenset({"inverter", "charger", "converter"})


def voltages(analysis: Analysis) -> Iterable[Finding]:
    """A device on a circuit of another voltage, and wire that is not insulated for it."""
    kinds = {k.id: k for k in analysis.plan.wire_kinds}
    for circuit in analysis.plan.circuits:
        if circuit.kind in _NOT_POWER:
            continue
        system = analysis.supply.system(circuit)
        for stop in circuit.stops[1:]:
            device = analysis.devices[stop.device]
            own = device.electrical.system
            if system is None or stop.role == "series" or device.kind in PASSES_ON or own in ("signal", "solar"):
                continue
            if (device.kind == "charger" and system == "solar") or device.electrical.output == system:
                continue  # a charge controller's panels; the shore side of an inverter/charger
            if not analysis.supply.works_on(device, circuit):
                yield Finding(
                    code="voltage.mismatch",
                    severity="error",
                    subjects=(circuit.id, device.id),
                    message=f"{device.name} is made for {SYSTEM_WORDS[own]}; {circuit.name} is on "
                    f"{SYSTEM_WORDS[system]}.",
                    value=NOMINAL_V.get(system),
                    limit=NOMINAL_V.get(own),
                    unit="V",
                    source="the device's data",
                    remedy="feed it from another source, or through a DC–DC converter",
                )
        volts = analysis.loads[circuit.id].base_v
        for kind_id in sorted({w.kind for w in analysis.wires.values() if w.circuit == circuit.id}):
            kind = kinds[kind_id]
            if volts > kind.voltage_v:
                yield Finding(
                    code="wire.voltage",
                    severity="error",
                    subjects=(circuit.id, kind.id),
                    message=f"{circuit.name} is on {volts:g} V; {kind.name} is insulated for {kind.voltage_v:g} V.",
                    value=volts,
                    limit=kind.voltage_v,
                    unit="V",
                    source=kind.standard or kind.source.partition("\n")[0] or kind.name,
                    remedy="a wire made for that voltage",
                )


def unfed(analysis: Analysis) -> Iterable[Finding]:
    """Distribution points and loops of feeders that no source reaches."""
    looped = {f for mesh in analysis.meshes if not mesh.sources for f in mesh.feeders}
    for mesh in analysis.meshes:
        if not mesh.sources:
            names = ", ".join(analysis.word(f) for f in mesh.feeders)
            yield Finding(
                code="feeder.loop",
                severity="error",
                subjects=mesh.feeders,
                message=f"The feeders {names} run in a loop that no source feeds.",
                value=0.0,
                limit=1.0,
                unit="sources",
                source="Kirchhoff's current law",
                remedy="connect the loop to a battery or DC–DC converter, or take one feeder away",
            )
    told: set[str] = set()
    for circuit in analysis.plan.circuits:
        top = next(iter(analysis.supply.upstream(circuit)), circuit)
        device = analysis.supply.source(top)
        if circuit.kind in _NOT_POWER or top.id in looped or device.id in told:
            continue
        if device.kind in PASSES_ON and device.kind not in ORIGINS and analysis.loads[circuit.id].current_a > 0:
            told.add(device.id)
            yield Finding(
                code="point.unfed",
                severity="warning",
                subjects=(device.id,),
                message=f"{device.name} feeds circuits, but nothing feeds {device.name}.",
                value=0.0,
                limit=1.0,
                unit="feeders",
                source="common practice",
                remedy="connect it to a battery, DC–DC converter or shore inlet",
            )


def meshes(analysis: Analysis) -> Iterable[Finding]:
    """Feeders in a ring or between sources: solved with the user's sizes, or said why not."""
    for mesh in analysis.meshes:
        if not mesh.sources:
            continue
        names = ", ".join(analysis.word(f) for f in mesh.feeders)
        if not mesh.solved:
            amps = max((analysis.loads[f].current_a for f in mesh.feeders), default=0.0)
            bare = [f for f in mesh.feeders if analysis.circuits[f].section_mm2 is None]
            yield Finding(
                code="mesh.size",
                severity="warning",
                subjects=mesh.feeders,
                message=f"{names}: current can divide here ({_ways_in(analysis, mesh)}), by the sizes of the wires, "
                f"and {mesh.problem}. Until then each is taken to carry all of it, {amps:.1f} A.",
                value=float(len(bare)),
                limit=0.0,
                unit="feeders without a size",
                source="Kirchhoff's laws",
                remedy="choose a size for each of them: meshes are checked, never sized",
            )
            continue
        for node in mesh.nodes:
            volts = max((analysis.loads[f].base_v for f in mesh.feeders), default=0.0)
            limit = volts * number(analysis.profile, "drop.critical") / 100
            if node.drop_v > limit > 0:
                yield Finding(
                    code="mesh.drop",
                    severity="warning",
                    subjects=(node.device, *mesh.feeders),
                    message=f"{analysis.word(node.device)} lies {node.drop_v:.2f} V below its sources, {limit:.2f} V "
                    f"allowed, with {names} in parallel.",
                    value=node.drop_v,
                    limit=limit,
                    unit="V",
                    source=source(analysis.profile, "drop.critical"),
                    remedy="larger feeders",
                )


def _ways_in(analysis: Analysis, mesh: Mesh) -> str:
    if len(mesh.sources) > 1:
        return f"{' and '.join(analysis.word(s) for s in mesh.sources)} feed it together"
    return "the feeders close a ring"


def stated_currents(analysis: Analysis) -> Iterable[Finding]:
    """Circuits whose typed current cannot be."""
    for circuit in analysis.plan.circuits:
        if circuit.current_a is not None and circuit.current_a < 0:
            yield Finding(
                code="circuit.number",
                severity="error",
                subjects=(circuit.id,),
                message=f"{circuit.name} is said to carry {circuit.current_a:g} A, which cannot be; it is not counted.",
                value=circuit.current_a,
                limit=0.0,
                unit="A",
                source="the plan itself",
                remedy="type the current without a sign, or leave it to the loads",
            )


def loads(analysis: Analysis) -> Iterable[Finding]:
    """Devices whose numbers are missing or make no sense."""
    fed = {s.device: c for c in analysis.plan.circuits for s in c.stops[1:] if s.role == "load"}
    for device in analysis.plan.devices:
        e = device.electrical
        bad = impossible(e)
        for each in bad:
            yield Finding(
                code="device.number",
                severity="error",
                subjects=(device.id,),
                message=f"{device.name} has a {each.words} of {each.value:g}, which cannot be; it is not counted.",
                value=each.value,
                limit=each.limit,
                unit=each.unit,
                source="the device's data",
                remedy="read it off the label again",
            )
        circuit = fed.get(device.id)
        if circuit is None or circuit.kind in _NOT_POWER or e.system == "signal" or bad:
            continue
        yield from _unknown_load(analysis, device, circuit)
        yield from _lowest_volts(device, circuit)


def _unknown_load(analysis: Analysis, device: Device, circuit: Circuit) -> Iterable[Finding]:
    if device.kind in PASSES_ON or device.kind in ("battery", "solar", "sensor") or circuit.current_a:
        return
    load = analysis.loads[circuit.id]
    if own_draw(device).running_a == 0 and load.current_a == 0:
        yield Finding(
            code="load.unknown",
            severity="warning",
            subjects=(device.id, circuit.id),
            message=f"{device.name}: neither current nor power is given, so {circuit.name} gets the smallest wire and "
            "fuse there are.",
            value=0.0,
            limit=1.0,
            unit="numbers given",
            source="the device's data",
            remedy="read its current or power off the label",
        )


def _lowest_volts(device: Device, circuit: Circuit) -> Iterable[Finding]:
    least, base = device.electrical.lowest_v, base_volts(device)
    if least is not None and base > 0 and least >= base and device.kind != "battery":
        yield Finding(
            code="device.lowest_v",
            severity="warning",
            subjects=(device.id, circuit.id),
            message=f"{device.name} is said to work down to {least:g} V only, on a {base:g} V system: no wire is thick "
            "enough for that, so the limit of the profile is used.",
            value=least,
            limit=base,
            unit="V",
            source="the device's data",
            remedy="read the lowest working voltage off its data sheet again",
        )


def always_live(analysis: Analysis) -> Iterable[Finding]:
    """Circuits that are marked always-live but switched off by the main switch, and the other way round."""
    supply = analysis.supply
    for circuit in analysis.plan.circuits:
        if circuit.group != "dc_power" or circuit.kind in _NOT_POWER or circuit.kind == "solar_string":
            continue
        switches = []
        for part in (*supply.upstream(circuit), circuit):
            own = part is circuit
            switches += [
                analysis.devices[s.device]
                for s in part.stops
                if analysis.devices[s.device].kind == "switch" and (s.role != "load" or not own)
            ]
        origin = supply.origin(circuit)
        if circuit.always_live and switches:
            yield Finding(
                code="live.switched",
                severity="warning",
                subjects=(circuit.id, switches[0].id),
                message=f"{circuit.name} is to be always live, but {switches[0].name} cuts it off.",
                value=float(len(switches)),
                limit=0.0,
                unit="switches",
                source="common practice",
                remedy="connect it before the main switch, with a fuse at the battery",
            )
        loaded = any(s.role == "load" and analysis.devices[s.device].kind not in PASSES_ON for s in circuit.stops[1:])
        unmarked = not circuit.always_live and not switches and circuit.kind == "branch" and loaded
        if unmarked and supply.has_main_switch and origin is not None and origin.kind == "battery":
            yield Finding(
                code="live.unmarked",
                severity="note",
                subjects=(circuit.id,),
                message=f"{circuit.name} stays live when the main switch is off, and is not marked always-live.",
                value=0.0,
                limit=1.0,
                unit="switches",
                source="common practice",
                remedy="mark it always-live, or connect it behind the main switch",
            )


def returns(analysis: Analysis) -> Iterable[Finding]:
    """The body as a return: what is counted, where it is bolted, whether it can be reached; or no return at all."""
    points = analysis.plan.earth_points
    for circuit in analysis.plan.circuits:
        if circuit.group != "dc_power" or circuit.kind in _NOT_POWER:
            continue
        if circuit.return_path.kind == "none" and analysis.loads[circuit.id].current_a > 0:
            yield Finding(
                code="return.none",
                severity="error",
                subjects=(circuit.id,),
                message=f"{circuit.name} draws {analysis.loads[circuit.id].current_a:.1f} A and has no way back.",
                value=analysis.loads[circuit.id].current_a,
                limit=0.0,
                unit="A",
                source="Kirchhoff's current law",
                remedy="give it a return wire, or the body where that is allowed",
            )
        if circuit.return_path.kind != "chassis":
            continue
        drops = [(drop, limit) for _, drop, limit, _ in analysis.circuit_sizes[circuit.id].drops if drop is not None]
        yield Finding(
            code="return.chassis",
            severity="note",
            subjects=(circuit.id,),
            message=f"{circuit.name} comes back through the body: only the feed is counted"
            + (f", {max(drops)[0]:.2f} V. " if drops else ". ")
            + "Joints of the body and paint under a bolt lose more; measure it loaded.",
            value=max(drops)[0] if drops else None,
            limit=max(drops)[1] if drops else None,
            unit="V",
            source="common practice",
            remedy="a return wire, or a clean bolt close by",
        )
        yield from _chassis_points(analysis, circuit, points)


def _chassis_points(analysis: Analysis, circuit: Circuit, points: tuple[EarthPoint, ...]) -> Iterable[Finding]:
    if not points:
        yield Finding(
            code="chassis.no_point",
            severity="warning",
            subjects=(circuit.id,),
            message=f"{circuit.name} comes back through the body, but no place is drawn where it is bolted to it.",
            value=0.0,
            limit=1.0,
            unit="earth points",
            source="common practice",
            remedy="draw an earth point near the load",
        )
        return
    for stop in circuit.stops[1:]:
        device = analysis.devices[stop.device]
        if stop.role != "load":
            continue
        there = [p for p in points if p.surface == device.surface]
        near = min((dist(device.at_mm, p.at_mm) for p in there), default=None)
        if near is None or near > NEAR_POINT_MM:
            told = f"{near:.0f} mm away" if near is not None else "on another surface"
            yield Finding(
                code="chassis.far",
                severity="note",
                subjects=(circuit.id, device.id),
                message=f"{device.name}: the nearest earth point is {told}; the wire to it is not planned.",
                value=near,
                limit=NEAR_POINT_MM,
                unit="mm",
                source="common practice",
                remedy="an earth point nearer to it, or a return wire",
            )


def reach(analysis: Analysis) -> Iterable[Finding]:
    """Fuses and bolts on the body inside a fixed box without a hatch: nobody gets at them any more."""
    held = {c.stops[0].device for c in analysis.plan.circuits if c.protective.kind != "none"}
    held |= {c.protective.device for c in analysis.plan.circuits if c.protective.device is not None}
    spots = [
        (d.id, d.name, d.surface, d.at_mm, "fuse")
        for d in analysis.plan.devices
        if d.id in held and (d.kind in PASSES_ON or d.ways)
    ]
    spots += [(p.id, p.name or p.id, p.surface, p.at_mm, "bolt") for p in analysis.plan.earth_points]
    for box in analysis.plan.boxes:
        if not box.fixed or box.hatches or box.base_mm > 0 or box.kind == "wheel_arch" or len(box.outline) < 3:
            continue
        for record, name, surface, at_mm, what in spots:
            if surface == box.surface and point_in(box.outline, at_mm):
                yield _out_of_reach(box, record, name, what)


def _out_of_reach(box: Box, record: str, name: str, what: str) -> Finding:
    return Finding(
        code="reach.fixed",
        severity="warning",
        subjects=(record, box.id),
        message=f"{name} lies inside {box.name}, which is fixed and has no hatch: its {what} cannot be reached.",
        value=0.0,
        limit=1.0,
        unit="hatches",
        source="common practice",
        remedy="a hatch in front of it, or another place",
    )


def cases(analysis: Analysis) -> Iterable[Finding]:
    """Metal cases with a terminal for a bond that no bond joins."""
    bonded = {s.device for c in analysis.plan.circuits if c.kind == "bond" for s in c.stops}
    used = {s.device for c in analysis.plan.circuits for s in c.stops}
    for device in analysis.plan.devices:
        wants = any(port.role == "bond" for port in device.ports) and device.kind in _CASED
        if wants and device.id in used and device.id not in bonded:
            yield Finding(
                code="bond.missing",
                severity="warning",
                subjects=(device.id,),
                message=f"The case of {device.name} is bonded to nothing.",
                value=0.0,
                limit=1.0,
                unit="bonds",
                source=source(analysis.profile, "bond.min_section_mm2"),
                remedy="a bond to the body, as large as the largest fuse that can feed a fault into the case asks for",
            )
