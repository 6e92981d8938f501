"""Circuit schedule, wire table and bundle table."""

from core.analysis.analysis import Analysis
from core.analysis.results import Wire
from core.model import Circuit
from core.tables.names import GROUP_WORDS, ROLE_WORDS, Names, protection_words, way_name, words
from core.tables.table import Cell, Column, Table, swatch


def circuit_schedule(analysis: Analysis) -> Table:
    """One row a circuit: what protects it, where it starts, what it feeds, its size, lengths and worst drop."""
    names = Names(analysis.plan)
    by_circuit: dict[str, list[Wire]] = {}
    for wire in analysis.wires.values():
        by_circuit.setdefault(wire.circuit, []).append(wire)
    rows = [_circuit(circuit, by_circuit.get(circuit.id, []), analysis, names) for circuit in analysis.plan.circuits]
    notes = ["Drop is the worst of the circuit, from the source to the load and back, at running current."]
    if any(circuit.group == "mains" for circuit in analysis.plan.circuits):
        notes.append("Mains circuits are planning values and not for approval.")
    return Table(
        name="circuit-schedule",
        title="Circuit schedule",
        columns=(
            Column(key="circuit", title="circuit", weight=2.0, important=True),
            Column(key="group", title="group", weight=0.9),
            Column(key="protection", title="protection", weight=1.7, important=True),
            Column(key="source", title="fed from", weight=2.0),
            Column(key="loads", title="feeds", weight=2.6),
            Column(key="current_a", title="running", kind="a", weight=0.7),
            Column(key="peak_a", title="peak", kind="a", weight=0.7),
            Column(key="size", title="wire size", weight=1.0),
            Column(key="one_way_mm", title="one-way", kind="mm", weight=0.8),
            Column(key="there_and_back_mm", title="there and back", kind="mm", weight=0.8),
            Column(key="drop_percent", title="drop", kind="percent", weight=0.6),
            Column(key="decided_by", title="size decided by", weight=1.3),
        ),
        rows=tuple(rows),
        notes=tuple(notes),
    )


def _circuit(circuit: Circuit, wires: list[Wire], analysis: Analysis, names: Names) -> tuple[Cell, ...]:
    load, size = analysis.loads.get(circuit.id), analysis.circuit_sizes.get(circuit.id)
    sized = [analysis.sized[wire.id] for wire in wires if wire.id in analysis.sized]
    drops = [row.drop_percent for row in sized if row.drop_percent is not None]
    source = next((stop for stop in circuit.stops if stop.role == "source"), None)
    device = names.devices.get(source.device) if source else None
    way = next((way_name(way) for way in device.ways if way.id == source.way), "") if device and source else ""
    largest = max(sized, key=lambda row: row.section_mm2, default=None)
    sections = sorted({row.section_mm2 for row in sized})
    size_text = " / ".join(f"{section:g}" for section in sections) + " mm²" if sections else None
    return (
        circuit.name,
        GROUP_WORDS.get(circuit.group, circuit.group),
        protection_words(circuit.protective, size.fuse_a if size else circuit.protective.rating_a),
        (device.name + (f", {way}" if way else "")) if device else None,
        ", ".join(names(stop.device) for stop in circuit.stops if stop.role == "load") or None,
        load.current_a if load else None,
        load.peak_a if load else None,
        size_text,
        size.one_way_mm if size else None,
        size.there_and_back_mm if size else None,
        max(drops, default=None),
        largest.decided_by if largest else None,
    )


def wire_table(analysis: Analysis) -> Table:
    """One row a conductor between two terminals."""
    names = Names(analysis.plan)
    cut = {wire: piece.cut_mm for piece in analysis.pieces for wire in piece.wires}
    rows: list[tuple[Cell, ...]] = []
    for wire in analysis.wires.values():
        sized, route = analysis.sized.get(wire.id), analysis.routes.get(wire.id)
        rows.append(
            (
                wire.id,
                names(wire.circuit),
                ROLE_WORDS.get(wire.role, wire.role),
                swatch(sized.colour) if sized else None,
                sized.section_mm2 if sized else None,
                names.end(wire.from_),
                names.end(wire.to),
                route.route_mm if route else None,
                cut.get(wire.id),
                sized.current_a if sized else None,
                sized.ampacity_a if sized else None,
                sized.drop_v if sized else None,
                sized.drop_percent if sized else None,
                sized.fuse_a if sized else None,
                sized.decided_by if sized else None,
            )
        )
    return Table(
        name="wires",
        title="Wires",
        columns=(
            Column(key="wire", title="wire", weight=1.1, important=True),
            Column(key="circuit", title="circuit", weight=1.7),
            Column(key="role", title="role", weight=1.1),
            Column(key="colour", title="colour", kind="swatch", weight=1.2),
            Column(key="section_mm2", title="size", kind="mm2", weight=0.6),
            Column(key="from", title="from", weight=2.0),
            Column(key="to", title="to", weight=2.0),
            Column(key="route_mm", title="one-way route", kind="mm", weight=0.8),
            Column(key="cut_mm", title="cut length", kind="mm", weight=0.8),
            Column(key="current_a", title="running", kind="a", weight=0.7),
            Column(key="ampacity_a", title="ampacity", kind="a", weight=0.75),
            Column(key="drop_v", title="own drop", kind="v", weight=0.65),
            Column(key="drop_percent", title="whole drop", kind="percent", weight=0.65),
            Column(key="fuse_a", title="fuse", kind="number", unit="A", weight=0.5),
            Column(key="decided_by", title="decided by", weight=1.2),
        ),
        rows=tuple(rows),
        notes=("Own drop is this conductor's alone; the whole drop is from the source to the load and back.",),
    )


def bundle_table(analysis: Analysis) -> Table:
    """One row a channel that has wires in it."""
    names = Names(analysis.plan)
    channels = {channel.id: channel for channel in analysis.plan.channels}
    rows: list[tuple[Cell, ...]] = []
    for bundle in analysis.bundles.values():
        channel = channels.get(bundle.channel)
        rows.append(
            (
                bundle.channel,
                channel.name if channel and channel.name else None,
                names(channel.surface) if channel and channel.surface else None,
                words(channel.kind) if channel else None,
                len(bundle.wires),
                bundle.diameter_tight_mm,
                bundle.diameter_laid_mm,
                bundle.length_mm,
                bundle.fill_percent,
                bundle.fill_limit_percent,
                round(bundle.mass_g_per_m),
                ", ".join(
                    [
                        *sorted({names(analysis.wires[w].circuit) for w in bundle.wires if w in analysis.wires}),
                        *(f"in it {item.label}" for item in bundle.items if item.conduit),
                    ]
                ),
            )
        )
    return Table(
        name="bundles",
        title="Bundles",
        columns=(
            Column(key="channel", title="channel", weight=0.8, important=True),
            Column(key="name", title="name", weight=1.7),
            Column(key="surface", title="on", weight=1.4),
            Column(key="kind", title="kind", weight=1.2),
            Column(key="wires", title="wires", kind="count", weight=0.55, important=True),
            Column(key="diameter_tight_mm", title="Ø tight", kind="diameter", weight=0.6),
            Column(key="diameter_laid_mm", title="Ø laid", kind="diameter", weight=0.6, important=True),
            Column(key="length_mm", title="one-way", kind="mm", weight=0.75),
            Column(key="fill_percent", title="fill", kind="percent", weight=0.55),
            Column(key="fill_limit_percent", title="fill limit", kind="percent", weight=0.55),
            Column(key="mass_g_per_m", title="weight", kind="count", unit="g/m", weight=0.65),
            Column(key="circuits", title="circuits", weight=3.4),
        ),
        rows=tuple(rows),
        notes=("Ø tight is the smallest circle round the wires, Ø laid the bundle as it is tied by hand.",),
    )
