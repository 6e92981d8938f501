"""Remedies for fuses and what feeds what: places, families, voltages, main switch, returns, meshes."""

from collections.abc import Iterable

from core.analysis.fault_current import fault_current_a
from core.edits.change import get, put, replaced
from core.edits.circuits import connect, set_protective, set_section
from core.edits.kinds import use_kind
from core.edits.records import reset_limit, set_field, set_limit
from core.electrical.protection import families, interrupting
from core.model import Circuit, Device, Electrical, Plan, ReturnPath, Stop, WireKind, limit, size_order_problem
from core.studies.difference import thickest
from core.studies.remedies.electrical import moves
from core.studies.remedies.remedy import Case, Remedy, Work, edit
from core.studies.ways import feeds, feeds_out

#: Points to be fed from that are offered.
MOST_SOURCES = 3


def place(case: Case) -> Iterable[Remedy]:
    """A fuse at the end that nothing protects; subjects are the circuit and the device at that end, if one is told."""
    circuit = case.analysis.circuits[case.finding.subjects[0]]
    if circuit.protective.kind == "none":
        return
    for device_id in (*case.finding.subjects[1:], circuit.stops[0].device):
        name = case.analysis.word(device_id)
        yield Remedy(
            f"Put the fuse of {circuit.name} at {name}",
            edit(set_protective, circuit.id, device=device_id, distance_mm=None),
            f"in a holder right at {name}",
        )
    yield Remedy(
        f"Say that the fuse of {circuit.name} sits at its source",
        edit(set_protective, circuit.id, device=None, distance_mm=0.0),
        "0 mm along the wire",
    )


def family(case: Case) -> Iterable[Remedy]:
    """The family of the holder, else one that there is."""
    circuit = case.analysis.circuits[case.finding.subjects[0]]
    source = case.analysis.devices[circuit.stops[0].device]
    way = next((w for w in source.ways if w.id == circuit.stops[0].way), None)
    wanted = [way.fuse_family] if way is not None else ["breaker" if circuit.group == "mains" else "blade_regular"]
    yield from _families(circuit, wanted)


def rating(case: Case) -> Iterable[Remedy]:
    """A rating that is made: chosen for the current, or the next above the one typed."""
    circuit = case.analysis.circuits[case.finding.subjects[0]]
    yield Remedy(
        f"Have the fuse of {circuit.name} chosen",
        edit(set_protective, circuit.id, rating_a=None),
        "the smallest rating for its current",
    )
    if case.finding.limit is not None:
        yield Remedy(
            f"Protect {circuit.name} by {case.finding.limit:g} A",
            edit(set_protective, circuit.id, rating_a=case.finding.limit),
            "the next rating that is made",
        )


def breaking(case: Case) -> Iterable[Remedy]:
    """A family that stands the voltage and breaks the short circuit, the smallest that does."""
    analysis = case.analysis
    found = [analysis.circuits[s] for s in case.finding.subjects if s in analysis.circuits]
    if not found:
        return
    above = analysis.supply.upstream(found[0]) if case.finding.code == "fuse.backup" else ()
    circuit = above[0] if above else found[0]
    origin = analysis.supply.origin(circuit)
    volts = analysis.loads[circuit.id].base_v
    fault_a = fault_current_a(analysis, circuit, origin)[0] if origin is not None and origin.kind == "battery" else 0.0
    able = []
    for each in families():
        known = interrupting(each, volts)
        if known is not None and known.capacity_a >= fault_a:
            able.append((known.capacity_a, each))
    yield from _families(circuit, [each for _, each in sorted(able)])


def _families(circuit: Circuit, wanted: Iterable[str]) -> Iterable[Remedy]:
    for each in wanted:
        known = families().get(each)
        if known is None or each == circuit.protective.family:
            continue
        kind = "circuit_breaker" if each.startswith("breaker") else "fuse"
        volts = f", for {known.volts_dc_max:g} V at most" if known.volts_dc_max is not None else ""
        yield Remedy(
            f"Protect {circuit.name} by {known.title}",
            edit(set_protective, circuit.id, family=each, kind=kind, rating_a=None),
            f"the smallest rating for its current{volts}; in a holder of that family",
        )


def part(case: Case) -> Iterable[Remedy]:
    """A fuse that a switch or other part in series can carry."""
    analysis, most = case.analysis, case.finding.limit or 0.0
    circuit = analysis.circuits[case.finding.subjects[0]]
    known = families().get(circuit.protective.family)
    fitting = [a for a in (known.ratings_a if known else ()) if analysis.loads[circuit.id].current_a <= a <= most]
    if fitting:
        yield Remedy(
            f"Protect {circuit.name} with {max(fitting):g} A",
            edit(set_protective, circuit.id, rating_a=max(fitting)),
            f"{analysis.word(case.finding.subjects[1])} is rated {most:g} A",
        )


def order(case: Case) -> Iterable[Remedy]:
    """The fuse behind no larger than the one before it: either chosen anew."""
    for circuit_id in reversed(case.finding.subjects):
        circuit = case.analysis.circuits[circuit_id]
        if circuit.protective.rating_a is not None:
            yield Remedy(
                f"Let the fuse of {circuit.name} be chosen",
                edit(set_protective, circuit_id, rating_a=None),
                f"instead of {circuit.protective.rating_a:g} A set by hand",
            )


def exception(case: Case) -> Iterable[Remedy]:
    row = limit(case.analysis.profile, "fuse.ampacity_share")
    yield Remedy(
        "Take the exception back", edit(reset_limit, "fuse.ampacity_share"), "the share of the profile holds again"
    )
    yield Remedy(
        "Protect every wire in full",
        edit(set_limit, replaced(row, value=1.0, source="set by the owner", known="common practice")),
        "no fuse above what its wire may carry; wires may grow",
    )


def live(case: Case) -> Iterable[Remedy]:
    circuit = case.analysis.circuits[case.finding.subjects[0]]
    if circuit.always_live:
        yield Remedy(
            f"Let the main switch cut {circuit.name} off",
            edit(set_field, circuit.id, always_live=False),
            "it is not always live any more",
        )
    else:
        yield Remedy(
            f"Mark {circuit.name} always-live", edit(set_field, circuit.id, always_live=True), "as it is connected now"
        )


def poles(case: Case) -> Iterable[Remedy]:
    """A switch of mains that breaks line and neutral."""
    circuit = case.analysis.circuits[case.finding.subjects[0]]

    def double(plan: Plan) -> Plan:
        now = get(plan, "circuits", circuit.id)
        stops: tuple[Stop, ...] = tuple(
            replaced(stop, poles="all") if stop.role == "series" else stop for stop in now.stops
        )
        return put(plan, "circuits", replaced(now, stops=stops))

    yield Remedy(
        f"Break both poles of {circuit.name}",
        double,
        "a double-pole part; mains work is for a licensed person under the local code",
    )


def mismatch(case: Case) -> Iterable[Remedy]:
    """The circuit on a point of the device's own system."""
    circuit = case.analysis.circuits[case.finding.subjects[0]]
    yield from moves(circuit, case.analysis, case.analysis.circuit_sizes[circuit.id].fuse_a or 0.0)


def insulation(case: Case) -> Iterable[Remedy]:
    """A kind of wire that is insulated for the voltage."""
    circuit = case.analysis.circuits[case.finding.subjects[0]]
    volts = case.finding.value or 0.0
    kinds = {k.id: k for k in (*case.analysis.plan.wire_kinds, *case.library.wire_kinds)}
    needed = len(circuit.conductors)
    fitting = [
        k for k in kinds.values() if k.voltage_v >= volts and not size_order_problem(k) and k.cores in (1, needed)
    ]
    fitting.sort(key=lambda k: (k.group != circuit.group, k.cores != needed, k.voltage_v))
    for kind in fitting[:2]:

        def use(plan: Plan, kind: WireKind = kind) -> Plan:
            plan = use_kind(plan, kind)
            now = get(plan, "circuits", circuit.id)
            changed = replaced(now, wire_kind=kind.id, as_cable=kind.cores > 1, section_mm2=None)
            return put(plan, "circuits", changed)

        yield Remedy(f"Use {kind.name} for {circuit.name}", use, f"insulated for {kind.voltage_v:g} V")


def unfed(case: Case) -> Iterable[Remedy]:
    """A feeder to the point from a source of its system, batteries and buses first."""
    analysis = case.analysis
    point = analysis.devices[case.finding.subjects[0]]
    order_of = {"battery": 0, "bus_bar": 1, "shore_inlet": 2, "inverter": 3, "converter": 4, "fuse_block": 5}
    able = [
        device
        for device in analysis.plan.devices
        if device.kind in order_of and device.id != point.id and _gives(device) == point.electrical.system
        and feeds_out(device) and not feeds(analysis, point, device)
    ]  # fmt: skip
    able.sort(key=lambda device: (order_of[device.kind], device.id))
    for source in able[:MOST_SOURCES]:

        def feed(plan: Plan, source: str = source.id) -> Plan:
            return connect(plan, source, None, [point.id], library=case.library)[0]

        yield Remedy(f"Feed {point.name} from {source.name}", feed, "a feeder, sized for all that hangs on it")


def _gives(device: Device) -> str | None:
    return device.electrical.output if device.kind in ("inverter", "converter") else device.electrical.system


def back(case: Case) -> Iterable[Remedy]:
    circuit = case.analysis.circuits[case.finding.subjects[0]]

    def wire(plan: Plan) -> Plan:
        now = get(plan, "circuits", circuit.id)
        roles = now.conductors if "return" in now.conductors else (*now.conductors, "return")
        return put(plan, "circuits", replaced(now, return_path=ReturnPath(), conductors=roles))

    yield Remedy(f"Give {circuit.name} a return wire", wire, "as thick as its feed, back to its source")


def mesh(case: Case) -> Iterable[Remedy]:
    """Every feeder of the mesh fixed at the size it has now."""
    sizes = thickest(case.analysis)
    members = [case.analysis.circuits[c] for c in case.finding.subjects if c in case.analysis.circuits]
    open_ones = [c for c in members if c.section_mm2 is None and c.id in sizes]
    if not open_ones:
        return

    def fix(plan: Plan) -> Plan:
        for circuit in open_ones:
            plan = set_section(plan, circuit.id, sizes[circuit.id])
        return plan

    told = ", ".join(f"{c.name} {sizes[c.id]:g} mm²" for c in open_ones)
    yield Remedy("Fix the sizes of these feeders", fix, f"{told}: enough for each to carry all of it")


def lowest(case: Case) -> Iterable[Remedy]:
    device = case.analysis.devices[case.finding.subjects[0]]

    def take_off(plan: Plan) -> Plan:
        now: Device = get(plan, "devices", device.id)
        electrical: Electrical = replaced(now.electrical, lowest_v=None)
        return put(plan, "devices", replaced(now, electrical=electrical))

    yield Remedy(f"Take the lowest voltage off {device.name}", take_off, "the drop limit of the profile holds")


REMEDIES: dict[str, Work] = {
    "fuse.both_ends": place,
    "fuse.place": place,
    "fuse.family": family,
    "fuse.rating": rating,
    "fuse.voltage": breaking,
    "fuse.interrupting": breaking,
    "fuse.backup": breaking,
    "fuse.switch": part,
    "fuse.coordination": order,
    "fuse.exception": exception,
    "live.switched": live,
    "live.unmarked": live,
    "mains.single_pole": poles,
    "voltage.mismatch": mismatch,
    "wire.voltage": insulation,
    "point.unfed": unfed,
    "return.none": back,
    "return.chassis": back,
    "chassis.no_point": back,
    "chassis.far": back,
    "mesh.size": mesh,
    "device.lowest_v": lowest,
}
