"""What a thing costs: metres, volts, section and the rule that decided, fuse, bundle, weight, price. Pure."""

from collections.abc import Iterable
from dataclasses import dataclass

from app.tools.desk import Desk
from core.analysis.analysis import Analysis
from core.analysis.gap import gap_of, gap_words
from core.analysis.results import Allowance, Bundle, SizedWire, Wire
from core.tables.names import ROLE_WORDS, Names
from core.units import show, show_section


@dataclass(frozen=True)
class Cost:
    """One line: what, how much, and why or of what."""

    label: str
    value: str
    why: str = ""


@dataclass(frozen=True)
class WireLine:
    """A wire in a list: its id, where it leads, its size and one-way metres."""

    wire: str
    words: str
    section: str
    one_way: str
    colour: str


@dataclass(frozen=True)
class Costs:
    lines: tuple[Cost, ...] = ()
    bundle: Bundle | None = None
    wires: tuple[WireLine, ...] = ()
    provisional: bool = False


def metres(length_mm: float | None, desk: Desk) -> str:
    if length_mm is None:
        return "no route"
    return desk.show_mm(length_mm) if desk.unit == "in" else f"{length_mm / 1000:.2f} m"


def costs(analysis: Analysis, desk: Desk, record_id: str, collection: str) -> Costs:
    """What the record costs; of the whole plan for ""."""
    if not record_id:
        return _whole(analysis, desk)
    if record_id in analysis.wires:
        return Costs(_wire(analysis, desk, record_id), provisional=_provisional(analysis, (record_id,)))
    if collection == "circuits":
        return _circuit(analysis, desk, record_id)
    if collection == "devices":
        return _device(analysis, desk, record_id)
    if collection == "channels":
        return _channel(analysis, desk, record_id)
    return Costs()


def _whole(analysis: Analysis, desk: Desk) -> Costs:
    totals = analysis.totals
    lines = [
        Cost("Wire to cut", metres(totals.cut_mm, desk), f"{len(analysis.pieces)} pieces"),
        Cost("Tape", metres(totals.tape_mm, desk), f"{totals.rolls} roll{'s' if totals.rolls != 1 else ''}"),
        Cost("Securing points", str(len(analysis.securing))),
        Cost("Weight of wire", show(totals.mass_kg, "kg")),
    ]
    if totals.price is not None:
        lines.append(Cost("Price of wire", f"{totals.price:.2f}"))
    return Costs(tuple(lines) if analysis.wires else ())


def _wire(analysis: Analysis, desk: Desk, wire_id: str) -> tuple[Cost, ...]:
    wire, route, sized = analysis.wires[wire_id], analysis.routes.get(wire_id), analysis.sized.get(wire_id)
    names = Names(analysis.plan)
    piece = next((piece for piece in analysis.pieces if wire_id in piece.wires), None)
    lines = [
        Cost("Leads", f"{names.end(wire.from_)} → {names.end(wire.to)}"),
        Cost("One-way", metres(route.route_mm if route else None, desk), route.problem if route else ""),
    ]
    if piece is not None:
        lines.append(Cost("Cut at", metres(piece.cut_mm, desk), _allowances(piece.allowances, desk)))
    if sized is not None:
        lines += _sized(sized)
    return tuple(lines)


def _allowances(allowances: tuple[Allowance, ...], desk: Desk) -> str:
    told = [f"{row.name.replace('_', ' ')} {desk.show_mm(row.length_mm)}" for row in allowances if row.length_mm]
    return "with " + ", ".join(told) if told else ""


def _sized(sized: SizedWire) -> list[Cost]:
    lines = [
        Cost("Section", show_section(sized.section_mm2, sized.gauge_awg), sized.reason),
        Cost("Current", show(sized.current_a, "A"), _ampacity(sized)),
    ]
    if sized.drop_v is not None and sized.drop_percent is not None:
        lines.append(
            Cost("Voltage drop", f"{sized.drop_v:.2f} V", f"{sized.drop_percent:.1f} % from source to load and back")
        )
    if sized.fuse_a is not None:
        lines.append(Cost("Fuse", show(sized.fuse_a, "A")))
    return lines


def _ampacity(sized: SizedWire) -> str:
    return f"ampacity {show(sized.ampacity_a, 'A')}" if sized.ampacity_a is not None else ""


def _circuit(analysis: Analysis, desk: Desk, circuit_id: str) -> Costs:
    size, load = analysis.circuit_sizes.get(circuit_id), analysis.loads.get(circuit_id)
    wires = tuple(wire for wire in analysis.wires.values() if wire.circuit == circuit_id)
    lines: list[Cost] = []
    if size is not None:
        lines.append(Cost("One-way", metres(size.one_way_mm, desk)))
        lines.append(Cost("There and back", metres(size.there_and_back_mm, desk)))
    lines += _cut(analysis, desk, wires)
    if load is not None:
        peak = "" if load.peak_a <= load.current_a * 1.001 else f"peak {show(load.peak_a, 'A')}"
        lines.append(Cost("Current", show(load.current_a, "A"), peak))
    if size is not None and load is not None and any(volts is not None for _, volts, _, _ in size.drops):
        lines.append(_drop(size.drops, load.base_v))
    first = next((analysis.sized[wire.id] for wire in wires if wire.id in analysis.sized), None)
    if first is not None:
        lines.append(Cost("Section", show_section(first.section_mm2, first.gauge_awg), first.reason))
    if size is not None and size.fuse_a is not None:
        lines.append(Cost("Fuse", show(size.fuse_a, "A")))
    lines += _mass_and_price(analysis, wires)
    listed = _listed(analysis, desk, wires)
    return Costs(tuple(lines), wires=listed, provisional=_provisional(analysis, tuple(wire.id for wire in wires)))


def _drop(drops: tuple[tuple[str, float | None, float, float | None], ...], base_v: float) -> Cost:
    volts, limit = max((volts, limit) for _, volts, limit, _ in drops if volts is not None)
    percent = f" ({100 * volts / base_v:.1f} %)" if base_v else ""
    return Cost("Voltage drop", f"{volts:.2f} V{percent}", f"limit {limit:.2f} V")


def _cut(analysis: Analysis, desk: Desk, wires: tuple[Wire, ...]) -> list[Cost]:
    mine = {wire.id for wire in wires}
    pieces = [piece for piece in analysis.pieces if mine & set(piece.wires)]
    if not pieces:
        return []
    total = sum(piece.cut_mm for piece in pieces)
    return [Cost("To cut", metres(total, desk), f"{len(pieces)} pieces" if len(pieces) > 1 else "one piece")]


def _mass_and_price(analysis: Analysis, wires: tuple[Wire, ...]) -> list[Cost]:
    mine = {wire.id for wire in wires}
    grams, price, priced = 0.0, 0.0, True
    for piece in analysis.pieces:
        if not mine & set(piece.wires) or piece.wires[0] not in analysis.sized:
            continue
        row = analysis.sized[piece.wires[0]]
        grams += row.mass_g_per_m * piece.cut_mm / 1000
        if row.price_per_m is None:
            priced = False
        else:
            price += row.price_per_m * piece.cut_mm / 1000
    lines = [Cost("Weight", show(grams / 1000, "kg", 2))] if grams else []
    return [*lines, Cost("Price", f"{price:.2f}")] if priced and price else lines


def _listed(analysis: Analysis, desk: Desk, wires: Iterable[Wire]) -> tuple[WireLine, ...]:
    return tuple(_line(analysis, desk, wire) for wire in wires)


def _line(analysis: Analysis, desk: Desk, wire: Wire) -> WireLine:
    sized, route = analysis.sized.get(wire.id), analysis.routes.get(wire.id)
    section = show_section(sized.section_mm2, sized.gauge_awg) if sized is not None else "–"
    words = f"{ROLE_WORDS[wire.role]}, {analysis.word(wire.from_.device)} → {analysis.word(wire.to.device)}"
    one_way = metres(route.route_mm if route is not None else None, desk)
    return WireLine(wire.id, words, section, one_way, sized.colour if sized is not None else "")


def _device(analysis: Analysis, desk: Desk, device_id: str) -> Costs:
    fed = [
        circuit
        for circuit in analysis.plan.circuits
        if any(stop.device == device_id and stop.role != "source" for stop in circuit.stops)
    ]
    gives = [circuit for circuit in analysis.plan.circuits if circuit.stops and circuit.stops[0].device == device_id]
    about = _about(analysis, desk, device_id)
    if not fed and not gives:
        return Costs((Cost("Circuit", "none yet", "Connect it from a fuse block."), *about))
    if len(fed) == 1 and not gives:
        made = _circuit(analysis, desk, fed[0].id)
        ends = tuple(
            line for line in made.wires
            if device_id in (analysis.wires[line.wire].from_.device, analysis.wires[line.wire].to.device)
        )  # fmt: skip
        all_lines = (Cost("Circuit", fed[0].name), *made.lines, *about)
        return Costs(all_lines, wires=ends, provisional=made.provisional)
    mine = tuple(wire for wire in analysis.wires.values() if device_id in (wire.from_.device, wire.to.device))
    lines = [
        *([Cost("Fed by", ", ".join(circuit.name for circuit in fed))] if fed else []),
        *([Cost("Feeds", f"{len(gives)} circuit{'s' if len(gives) != 1 else ''}")] if gives else []),
        *_cut(analysis, desk, mine),
        *about,
    ]
    listed = _listed(analysis, desk, mine)
    return Costs(tuple(lines), wires=listed, provisional=_provisional(analysis, tuple(wire.id for wire in mine)))


def _about(analysis: Analysis, desk: Desk, device_id: str) -> tuple[Cost, ...]:
    """How its wires come to it, whether its data are typical, and the advice of the catalogue."""
    device = analysis.devices.get(device_id)
    if device is None:
        return ()
    lines = []
    fall = analysis.falls.get(device_id)
    if device.node is not None and fall is not None:
        lines.append(Cost("Fall to the channel", metres(fall.length_mm, desk), "counted in the wire"))
    elif device.node is None:
        gap = gap_of(analysis, device)
        if gap.distance_mm is None:
            lines.append(Cost("No way to it", "–", f"{gap_words(analysis, gap)}: draw one."))
        else:
            told = "Join it (Ctrl+J), or draw a fall." if gap.near else "Draw a channel to within 1 m of it."
            lines.append(Cost("No way to it", f"{metres(gap.distance_mm, desk)} gap", told))
    if device.electrical.typical:
        lines.append(Cost("Data", "typical", "Read the label of yours and type its numbers."))
    template = next((row for row in desk.library.devices if row.id == device.made_from), None)
    if template is not None and template.advice:
        lines.append(Cost("Advice", "", template.advice))
    return tuple(lines)


def _channel(analysis: Analysis, desk: Desk, channel_id: str) -> Costs:
    path, bundle = analysis.paths.get(channel_id), analysis.bundles.get(channel_id)
    lines = [Cost("Way along it", metres(path.length_mm, desk), path.problem)] if path is not None else []
    wrap = next((row for row in analysis.wrap if row.channel == channel_id), None)
    secured = sum(1 for row in analysis.securing if row.channel == channel_id)
    if bundle is None:
        return Costs((*lines, Cost("Wires", "none")))
    lines += [
        Cost("Wires", str(len(bundle.wires))),
        Cost("Bundle", f"Ø {bundle.diameter_laid_mm:.1f} mm", f"packed tight Ø {bundle.diameter_tight_mm:.1f} mm"),
    ]
    for item in bundle.items:
        if item.conduit:
            owners = dict.fromkeys(analysis.word(analysis.wires[w].circuit) for w in item.wires if w in analysis.wires)
            inside = f"with {', '.join(owners)}" if owners else "empty"
            lines.append(Cost("Conduit in it", f"Ø {item.od_mm:g} mm", f"{item.label}, {inside}"))
    if bundle.fill_percent is not None:
        limit = f"at most {bundle.fill_limit_percent:.0f} %" if bundle.fill_limit_percent is not None else ""
        lines.append(Cost("Fill of the bore", f"{bundle.fill_percent:.0f} %", limit))
    lines.append(Cost("Weight", f"{bundle.mass_g_per_m * bundle.length_mm / 1e6:.2f} kg"))
    lines.append(Cost("Securing points", str(secured)))
    if wrap is not None and wrap.tape_mm:
        time = f"about {wrap.minutes:.0f} min" if wrap.minutes >= 1 else ""
        lines.append(Cost("Tape", metres(wrap.tape_mm, desk), "; ".join(told for told in (time, wrap.note) if told)))
    listed = _listed(analysis, desk, (analysis.wires[wire] for wire in bundle.wires if wire in analysis.wires))
    return Costs(tuple(lines), bundle, listed, analysis.provisional)


def _provisional(analysis: Analysis, wires: tuple[str, ...]) -> bool:
    if analysis.provisional:
        return True
    return any(route.provisional for wire in wires if (route := analysis.routes.get(wire)) is not None)
