"""The test sheet: what is measured in which order, and what should come out."""

from core.analysis.analysis import Analysis
from core.tables.names import ROLE_WORDS, Names
from core.tables.table import Cell, Column, Table, swatch

#: Least insulation resistance and its test voltage for circuits up to 500 V (IEC 60364-6, table 6A; memory).
INSULATION_MOHM = 1.0
INSULATION_V = 500.0
ORDER = (
    "Order: 1 everything dead and unplugged, batteries and shore lead off. 2 Protective conductors. 3 Every wire end "
    "to end, and its polarity. 4 Insulation, mains only. 5 Fuses in one by one: volts and polarity at each device. "
    "6 RCD by its button and by a tester."
)
UNPLUG = (
    "Unplug electronics (inverter, chargers, displays, LED drivers) before any insulation test. Never put the test "
    "voltage on low-voltage circuits."
)
LICENSED = "Mains tests are for licensed people under local codes; limits are from memory of IEC 60364-6."
RESISTANCE = (
    "Expected resistance is at 20 °C over the cut length, one wire end to end; take off what the test leads have. "
    "Half as much again, or a reading that sways, is a bad crimp."
)
VOLTS = (
    "Expected volts = volts counted from less the drop there and back, from the source to the device. "
    "A charged battery stands higher: compare with the volts at its terminals."
)
BETWEEN = "line and neutral together, against protective earth"
WRITE = "________"


def continuity_tests(analysis: Analysis) -> Table:
    """Every wire: ohms at 20 C over its cut length, and its two ends for the polarity test."""
    names = Names(analysis.plan)
    cut = {wire: piece.cut_mm for piece in analysis.pieces for wire in piece.wires}
    rows: list[tuple[Cell, ...]] = []
    headings: list[tuple[int, str]] = []
    before = None
    ordered = sorted(analysis.wires.values(), key=lambda wire: wire.group != "mains")
    for wire in ordered:
        if wire.circuit != before:
            headings.append((len(rows), f"{names(wire.circuit)}{' · mains' if wire.group == 'mains' else ''}"))
            before = wire.circuit
        sized = analysis.sized.get(wire.id)
        ohm = resistance_ohm(analysis, wire.id, cut.get(wire.id))
        rows.append(
            (wire.id, swatch(sized.colour) if sized else None, ROLE_WORDS.get(wire.role, wire.role),
             names.end(wire.from_), names.end(wire.to), None if ohm is None else ohm * 1000, WRITE, False, False)
        )  # fmt: skip
    return Table(
        name="continuity",
        title="Dead: continuity and polarity",
        columns=(
            Column(key="wire", title="wire", weight=1.0, important=True),
            Column(key="colour", title="colour", kind="swatch", weight=1.2),
            Column(key="role", title="role", weight=1.0),
            Column(key="from", title="from", weight=2.2),
            Column(key="to", title="to", weight=2.2),
            Column(key="expected_mohm", title="expected", kind="milliohm", weight=0.7, important=True),
            Column(key="measured", title="measured, mΩ", weight=0.9),
            Column(key="continuous", title="whole", kind="tick", weight=0.4),
            Column(key="polarity", title="polarity", kind="tick", weight=0.5),
        ),
        rows=tuple(rows),
        headings=tuple(headings),
        notes=(ORDER, RESISTANCE),
    )


def resistance_ohm(analysis: Analysis, wire_id: str, length_mm: float | None) -> float | None:
    """Of one conductor over a length at 20 C, parallel ones together; None without size or length."""
    wire, sized = analysis.wires[wire_id], analysis.sized.get(wire_id)
    kind = next((kind for kind in analysis.plan.wire_kinds if kind.id == wire.kind), None)
    if sized is None or kind is None or length_mm is None:
        return None
    size = next((size for size in kind.sizes if size.section_mm2 == sized.section_mm2), None)
    return None if size is None else size.r20_ohm_per_km * length_mm / 1e6 / wire.parallel


def voltage_tests(analysis: Analysis) -> Table:
    """Volts at every load: idle, and with everything of its circuit running."""
    names = Names(analysis.plan)
    rows: list[tuple[Cell, ...]] = []
    for circuit in analysis.plan.circuits:
        load, size = analysis.loads.get(circuit.id), analysis.circuit_sizes.get(circuit.id)
        if load is None or size is None or not load.base_v:
            continue
        if circuit.kind == "bond" or circuit.group not in ("dc_power", "mains"):
            continue  # no volts to be measured
        devices = {stop.id: stop.device for stop in circuit.stops}
        for stop, drop_v, _limit_v, _length in size.drops:
            device = devices.get(stop)
            if device is None:
                continue
            running = None if drop_v is None else load.base_v - drop_v
            rows.append((circuit.name, names(device), load.base_v, running, WRITE, WRITE, False, False))
    return Table(
        name="volts",
        title="Live: volts and polarity at each device",
        columns=(
            Column(key="circuit", title="circuit", weight=1.8),
            Column(key="device", title="device", weight=2.2, important=True),
            Column(key="base_v", title="counted from", kind="v", weight=0.8),
            Column(key="expected_v", title="expected, running", kind="v", weight=0.9, important=True),
            Column(key="idle", title="measured, idle", unit="V", weight=0.9),
            Column(key="running", title="measured, running", unit="V", weight=0.9),
            Column(key="polarity", title="polarity", kind="tick", weight=0.5),
            Column(key="works", title="works", kind="tick", weight=0.4),
        ),
        rows=tuple(rows),
        notes=(VOLTS,),
    )


def insulation_tests(analysis: Analysis) -> Table:
    """Mains circuits only."""
    mains = [row for row in analysis.plan.circuits if row.group == "mains" and row.kind != "bond"]
    return Table(
        name="insulation",
        title="Dead: insulation, mains only",
        columns=(
            Column(key="circuit", title="circuit", weight=2.0, important=True),
            Column(key="between", title="between", weight=2.6),
            Column(key="test_v", title="test", kind="number", unit="V DC", weight=0.7),
            Column(key="least_mohm", title="at least", kind="number", unit="MΩ", weight=0.7, important=True),
            Column(key="measured", title="measured, MΩ", weight=1.0),
            Column(key="passed", title="passed", kind="tick", weight=0.5),
        ),
        rows=tuple((circuit.name, BETWEEN, INSULATION_V, INSULATION_MOHM, WRITE, False) for circuit in mains),
        notes=(UNPLUG, LICENSED),
    )
