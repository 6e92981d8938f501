"""Checks of fuses and breakers: that there is one, what it must not exceed, where it sits, what it can break."""

from collections.abc import Iterable

from core.analysis.analysis import Analysis
from core.analysis.fault_current import LOADED, fault_current_a
from core.analysis.results import Finding
from core.analysis.rules import number, source
from core.analysis.size_problem import IDLE
from core.electrical.protection import families, interrupting
from core.model import Circuit, Device, Way
from core.text import counted

#: Kinds of circuit that need no fuse of their own by their nature.
UNFUSED = frozenset({"signal", "antenna", "bond", "spare", "solar_string"})
_EPSILON = 1e-9


def fused(analysis: Analysis) -> Iterable[tuple[Circuit, float]]:
    """Circuits with a fuse or breaker of a known rating."""
    for circuit in analysis.plan.circuits:
        rating = analysis.circuit_sizes[circuit.id].fuse_a
        if rating is not None and circuit.protective.kind != "none":
            yield circuit, rating


def missing(analysis: Analysis) -> Iterable[Finding]:
    for circuit in analysis.plan.circuits:
        if circuit.protective.kind != "none" or circuit.protective.reason or circuit.kind in UNFUSED:
            continue
        amps = min((analysis.sized[w].ampacity_a or 0.0 for w in _wires(analysis, circuit)), default=None)
        yield Finding(
            code="fuse.missing",
            severity="error",
            subjects=(circuit.id,),
            message=f"{circuit.name} has no fuse and no reason is given"
            + (f"; its thinnest conductor carries {amps:.0f} A." if amps else "."),
            value=0.0,
            limit=1.0,
            unit="fuses",
            source="33 CFR 183.455(a)",
            remedy="choose a fuse, or write down why there is none",
        )


def _wires(analysis: Analysis, circuit: Circuit) -> list[str]:
    return [w.id for w in analysis.wires.values() if w.circuit == circuit.id and w.role in LOADED]


def family(analysis: Analysis) -> Iterable[Finding]:
    """The family exists, fits its holder, and stands the voltage."""
    for circuit in analysis.plan.circuits:
        if circuit.protective.kind == "none":
            continue
        known = families().get(circuit.protective.family)
        if known is None:
            yield Finding(
                code="fuse.family",
                severity="error",
                subjects=(circuit.id,),
                message=f"{circuit.name}: there are no ratings of a fuse family “{circuit.protective.family}”.",
                value=0.0,
                limit=1.0,
                unit="families",
                source="the program's table of standard ratings",
                remedy=f"choose one of {', '.join(families())}",
            )
            continue
        holder, way = _holder(analysis, circuit)
        if way is not None and way.fuse_family != circuit.protective.family:
            held = families().get(way.fuse_family)
            yield Finding(
                code="fuse.family",
                severity="warning",
                subjects=(circuit.id, holder),
                message=f"{circuit.name} wants a fuse of the family {known.title}, but way {way.name or way.id} of "
                f"{analysis.word(holder)} takes {held.title if held else way.fuse_family}.",
                value=0.0,
                limit=1.0,
                unit="fuses that fit",
                source="the holder's data",
                remedy="take the family of the holder",
            )
        rating = circuit.protective.rating_a
        if rating is not None and rating not in known.ratings_a:
            below = max((r for r in known.ratings_a if r < rating), default=None)
            above = min((r for r in known.ratings_a if r > rating), default=None)
            made = " and ".join(f"{r:g} A" for r in (below, above) if r is not None)
            yield Finding(
                code="fuse.rating",
                severity="warning",
                subjects=(circuit.id,),
                message=f"{circuit.name}: nobody makes {rating:g} A in the family {known.title}; there are {made}.",
                value=rating,
                limit=above if above is not None else below,
                unit="A",
                source="the program's table of standard ratings",
                remedy="choose a rating that is made, or the family that has it",
            )
        volts = analysis.loads[circuit.id].base_v
        if known.volts_dc_max is not None and volts > known.volts_dc_max:
            yield Finding(
                code="fuse.voltage",
                severity="error",
                subjects=(circuit.id,),
                message=f"{circuit.name} is on {volts:g} V; {known.title} is made for {known.volts_dc_max:g} V DC at "
                "most and may not break an arc above that.",
                value=volts,
                limit=known.volts_dc_max,
                unit="V",
                source="makers' data of the family (from memory)",
                remedy="a fuse or breaker for that voltage",
            )


def _way(analysis: Analysis, circuit: Circuit) -> Way | None:
    stop = circuit.stops[0]
    return next((w for w in analysis.devices[stop.device].ways if w.id == stop.way), None)


def _holder(analysis: Analysis, circuit: Circuit) -> tuple[str, Way | None]:
    """The device that holds the fuse, and the way of it: an in-line holder has only one."""
    source, told = circuit.stops[0].device, circuit.protective.device
    if told is None or told == source:
        return source, _way(analysis, circuit)
    stop = next((s for s in circuit.stops if s.device == told), None)
    ways = analysis.devices[told].ways
    own = next((w for w in ways if stop is not None and w.id == stop.way), ways[0] if len(ways) == 1 else None)
    return told, own


def limits(analysis: Analysis) -> Iterable[Finding]:
    """The fuse against what holds it, what lies in series with it, and what it feeds."""
    for circuit, rating in fused(analysis):
        way = _way(analysis, circuit)
        holder = circuit.stops[0].device
        if way is not None and rating > way.largest_a + _EPSILON:
            yield Finding(
                code="fuse.holder",
                severity="error",
                subjects=(circuit.id, holder),
                message=f"{circuit.name}: a {rating:g} A fuse is too large for way {way.name or way.id} of "
                f"{analysis.word(holder)} ({way.largest_a:g} A at most).",
                value=rating,
                limit=way.largest_a,
                unit="A",
                source="the holder's data",
                remedy="feed it from a larger way or straight from the bus bar",
            )
        for stop in circuit.stops[1:]:
            device = analysis.devices[stop.device]
            if stop.role == "series":
                yield from _in_series(analysis, circuit, device, rating)
            elif device.electrical.largest_fuse_a is not None and rating > device.electrical.largest_fuse_a + _EPSILON:
                most = device.electrical.largest_fuse_a
                yield Finding(
                    code="fuse.device",
                    severity="error",
                    subjects=(circuit.id, device.id),
                    message=f"{circuit.name}: the maker of {device.name} allows a fuse of {most:g} A at most, it is "
                    f"{rating:g} A.",
                    value=rating,
                    limit=most,
                    unit="A",
                    source="the device's data",
                    remedy="a circuit of its own with a smaller fuse",
                )


def _in_series(analysis: Analysis, circuit: Circuit, device: Device, rating: float) -> Iterable[Finding]:
    most = device.electrical.rating_a
    most = min([a for a in (most, *(w.largest_a for w in device.ways)) if a is not None], default=None)
    if most is None or rating <= most + _EPSILON:
        return
    running = analysis.loads[circuit.id].current_a
    too_much = running > most + _EPSILON
    yield Finding(
        code="fuse.switch",
        severity="error" if too_much else "warning",
        subjects=(circuit.id, device.id),
        message=f"{circuit.name}: {device.name} is rated {most:g} A and lies behind a {rating:g} A fuse"
        + (f"; already {running:.1f} A run through it." if too_much else "."),
        value=rating,
        limit=most,
        unit="A",
        source="the device's data",
        remedy="a part rated for the fuse, or a smaller fuse",
    )


def terminals(analysis: Analysis) -> Iterable[Finding]:
    """Terminals that carry more, or lie behind a larger fuse, than their maker allows: one finding a terminal."""
    told: set[tuple[str, str]] = set()
    for wire in analysis.wires.values():
        if wire.role in IDLE:
            continue
        circuit, sized = analysis.circuits[wire.circuit], analysis.sized[wire.id]
        for end in (wire.from_, wire.to):
            port = next((p for p in analysis.devices[end.device].ports if p.id == end.port), None)
            most = port.largest_a if port is not None else None
            asked = max(sized.current_a, sized.fuse_a or 0.0)
            if port is None or most is None or asked <= most + _EPSILON or (end.device, port.id) in told:
                continue
            told.add((end.device, port.id))
            fuse = sized.fuse_a is not None and sized.fuse_a > most
            yield Finding(
                code="fuse.terminal",
                severity="error",
                subjects=(circuit.id, end.device),
                message=f"{circuit.name}: the terminal {port.name or port.terminal or port.id} of "
                f"{analysis.word(end.device)} may carry {most:g} A, "
                + (f"the fuse is {asked:g} A." if fuse else f"{asked:.1f} A run through it."),
                value=asked,
                limit=most,
                unit="A",
                source="the terminal's data",
                remedy="a smaller fuse, or a terminal made for the current",
            )


def peak(analysis: Analysis) -> Iterable[Finding]:
    for circuit, rating in fused(analysis):
        peak_a = analysis.loads[circuit.id].peak_a
        if rating < peak_a - 1e-6:
            yield Finding(
                code="fuse.peak",
                severity="warning",
                subjects=(circuit.id,),
                message=f"{circuit.name} draws {peak_a:.1f} A at its peak through a {rating:g} A fuse: it holds only "
                "if the peak is short.",
                value=rating,
                limit=peak_a,
                unit="A",
                source="common practice",
                remedy="look at the fuse's time curve and the maker's data; a larger fuse wants a thicker wire",
            )


def coordination(analysis: Analysis) -> Iterable[Finding]:
    """The fuse next to a fault opens first, so none may be larger than the one before it."""
    ratings = {circuit.id: rating for circuit, rating in fused(analysis)}
    for circuit_id, rating in ratings.items():
        circuit = analysis.circuits[circuit_id]
        above = [c for c in analysis.supply.upstream(circuit) if c.id in ratings]
        if above and rating > ratings[above[-1].id] + _EPSILON:
            feeder = above[-1]
            yield Finding(
                code="fuse.coordination",
                severity="error",
                subjects=(circuit_id, feeder.id),
                message=f"{circuit.name} has a {rating:g} A fuse behind the {ratings[feeder.id]:g} A fuse of "
                f"{feeder.name}: a fault in it darkens everything on that feeder.",
                value=rating,
                limit=ratings[feeder.id],
                unit="A",
                source="common practice",
                remedy="a smaller fuse, or a feeder that carries a larger one",
            )


def exception(analysis: Analysis) -> Iterable[Finding]:
    share = number(analysis.profile, "fuse.ampacity_share")
    if share <= 1:
        return
    for circuit, rating in fused(analysis):
        wires = [analysis.sized[w] for w in _wires(analysis, circuit)]
        least = min((w.ampacity_a or 0.0 for w in wires), default=0.0)
        if rating > least + _EPSILON:
            yield Finding(
                code="fuse.exception",
                severity="note",
                subjects=(circuit.id,),
                message=f"{circuit.name}: its {rating:g} A fuse is above the {least:.1f} A its wire may carry; "
                f"the chosen exception allows {share:g} times that.",
                value=rating,
                limit=share * least,
                unit="A",
                source=source(analysis.profile, "fuse.ampacity_share"),
                remedy="set the share back to 1 to have the wire protected in full",
            )


def breaking(analysis: Analysis) -> Iterable[Finding]:
    """What a battery can drive into a short circuit, against what the fuses can break."""
    unknown: dict[str, None] = {}
    backed: dict[tuple[str, bool], list[tuple[Circuit, float, float]]] = {}
    for circuit, _ in fused(analysis):
        origin = analysis.supply.origin(circuit)
        if origin is None or origin.kind != "battery" or circuit.group == "mains":
            continue
        bank = [mesh for mesh in analysis.meshes if origin.id in mesh.sources]
        beside = [analysis.devices[source] for mesh in bank for source in mesh.sources]
        silent = [d for d in (origin, *beside) if d.kind == "battery" and d.electrical.short_circuit_a is None]
        unknown |= dict.fromkeys(device.id for device in silent)
        if origin in silent:
            continue
        fault_a, volts = fault_current_a(analysis, circuit, origin)
        able = interrupting(circuit.protective.family, volts)
        if able is not None and able.capacity_a >= fault_a:
            continue
        above = [c for c in analysis.supply.upstream(circuit) if c.protective.kind != "none"]
        first = above[0] if above else None
        strong = interrupting(first.protective.family, volts) if first is not None else None
        if first is None:
            yield _cannot_break(circuit, origin, fault_a, able.capacity_a if able is not None else None)
        elif able is not None:
            helped = strong is not None and strong.capacity_a >= fault_a
            backed.setdefault((circuit.stops[0].device, helped), []).append((circuit, fault_a, able.capacity_a))
    for (device, helped), rows in backed.items():
        worst = max(rows, key=lambda row: row[1])
        yield Finding(
            code="fuse.backup",
            severity="note" if helped else "warning",
            subjects=(device, *(row[0].id for row in rows)),
            message=f"{counted(len(rows), 'fuse')} at {analysis.word(device)} can break {worst[2]:,.0f} A, a dead "
            f"short there draws up to {worst[1]:,.0f} A: {'it relies' if len(rows) == 1 else 'they rely'} on the fuse "
            "at the battery to open as well" + ("." if helped else ", and that one cannot break it either."),
            value=worst[1],
            limit=worst[2],
            unit="A",
            source="fuse makers' data (from memory)",
            remedy="ask the makers whether the two work together" if helped else "a class T fuse at the battery",
        )
    for battery in unknown:
        yield Finding(
            code="battery.short_circuit",
            severity="note",
            subjects=(battery,),
            message=f"{analysis.word(battery)}: its short-circuit current is not given, so whether the fuses can break "
            "it is not checked.",
            value=0.0,
            limit=1.0,
            unit="numbers given",
            source="ABYC E-11 (interrupting capacity by the battery's short-circuit current)",
            remedy="take it from the battery's data sheet; lithium batteries give several thousand amperes",
        )


def _cannot_break(circuit: Circuit, battery: Device, fault_a: float, able_a: float | None) -> Finding:
    title = families()[circuit.protective.family].title if circuit.protective.family in families() else "its fuse"
    told = f"can break {able_a:,.0f} A" if able_a is not None else "has no known breaking capacity at that voltage"
    return Finding(
        code="fuse.interrupting",
        severity="error" if able_a is not None else "warning",
        subjects=(circuit.id, battery.id),
        message=f"{circuit.name}: a dead short draws up to {fault_a:,.0f} A from {battery.name}; {title} {told}.",
        value=fault_a,
        limit=able_a,
        unit="A",
        source="fuse makers' data (from memory); ABYC 11.10.1.2.3.2 asks for 20 kA above a bank of 10 kA",
        remedy="a class T fuse at the battery",
    )
