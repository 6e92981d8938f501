"""What the ends of wires take: terminals by section and stud, ferrules, heat-shrink, labels.

Sizes are those of the trade: ring terminals are named by stud and section, blade terminals by the width of the blade.
Which end goes where is common practice, no source; the makers' papers of a device go first.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

from core.analysis.results import Crossing, CutPiece, End, Route, SizedWire, Step, Wire
from core.model import Device, Port

#: Stud of a device whose maker's is not given, by kind (mm; typical).
STUDS: Mapping[str, float] = {"battery": 8, "bus_bar": 6, "shunt": 10, "inverter": 8, "charger": 6, "converter": 6}
#: Blade terminals are crimped on wires up to this; thicker ones get rings (mm2; typical).
BLADE_UP_TO_MM2 = 6.0
#: What is bought for a terminal that devices come with (common practice, no source).
BOUGHT_FOR: Mapping[str, str] = {
    "blade terminal": "blade terminal 6.3 mm",
    "screw clamp": "ferrule",
    "tail": "butt splice to the device's tail",
    "plug": "contact for the device's plug",
    "post": "battery post clamp",
    "ring terminal": "ring terminal",
    "coax plug": "coax plug",
    "solar plug": "solar plug",
}
#: Widths of 2:1 heat-shrink before it shrinks (mm; sixteenths of an inch, from memory), what it has to be wider than
#: the wire to go over a terminal, and its length on one end.
SHRINK_MM: tuple[float, ...] = (2.4, 3.2, 4.8, 6.4, 9.5, 12.7, 19.1, 25.4, 38.1)
SHRINK_OVER = 1.5
SHRINK_LENGTH_MM = 40.0
#: Labels on every end of every wire or cable.
LABELS_AT_END = 1
#: Where a builder looks for a wire again: holes through a thickness and edges of panels.
LABELLED_AT = frozenset({"hole", "panel_edge"})


def _port(device: Device, end: End) -> Port | None:
    return next((p for p in device.ports if p.id == end.port), None)


def terminal(device: Device, end: End, wire: Wire, section_mm2: float) -> str:
    """The words for what is put on this end of a conductor."""
    size = f"{section_mm2:g} mm²"
    port = _port(device, end)
    if port is not None and port.stud_mm is not None:
        return f"ring terminal M{port.stud_mm:g}, {size}"
    if end.way is not None and section_mm2 <= BLADE_UP_TO_MM2 and wire.group != "mains":
        return f"blade terminal 6.3 mm, {size}"
    if port is not None and port.terminal:
        return f"{BOUGHT_FOR.get(port.terminal, f'terminal for {port.terminal}')}, {size}"
    stud = STUDS.get(device.kind)
    if stud is not None and wire.group == "dc_power":
        return f"ring terminal M{stud:g}, {size}"
    if wire.group == "antenna":
        return "antenna plug"
    if wire.group == "signal":
        return f"signal contact or ferrule, {size}"
    return f"ferrule, {size}" if wire.group == "mains" else f"ferrule or crimp joint, {size}"


def _ends(wires: Mapping[str, Wire], devices: Mapping[str, Device]) -> Iterable[tuple[Wire, End, Device]]:
    for wire in wires.values():
        for end in (wire.from_, wire.to):
            yield wire, end, devices[end.device]


def terminals(wires: Mapping[str, Wire], sized: Mapping[str, SizedWire], devices: Mapping[str, Device]) -> Counter[str]:
    """How many of each terminal the ends of all conductors take; each of several in parallel has its own."""
    found: Counter[str] = Counter()
    for wire, end, device in _ends(wires, devices):
        found[terminal(device, end, wire, sized[wire.id].section_mm2)] += wire.parallel
    return found


def shrink_for(od_mm: float) -> float | None:
    """Width before shrinking that goes over a wire of this outside diameter and its terminal's barrel."""
    return next((width for width in SHRINK_MM if width >= SHRINK_OVER * od_mm), None)


def heat_shrink(
    wires: Mapping[str, Wire], sized: Mapping[str, SizedWire], devices: Mapping[str, Device]
) -> Counter[float]:
    """Ends that get heat-shrink over the barrel (ring and blade terminals), by its width before shrinking."""
    found: Counter[float] = Counter()
    for wire, end, device in _ends(wires, devices):
        word = terminal(device, end, wire, sized[wire.id].section_mm2)
        width = shrink_for(sized[wire.id].od_mm) if wire.cores == 1 else None
        if width is not None and word.startswith(("ring", "blade")):
            found[width] += wire.parallel
    return found


def passed(steps: Iterable[Step], crossings: Mapping[str, Sequence[Crossing]]) -> list[tuple[str, str]]:
    """(thing, channel) wherever a way passes a panel or a hole, each once. `crossings` are by channel."""
    return list(
        dict.fromkeys(
            (row.with_, row.channel)
            for step in steps
            for row in crossings.get(step.channel, ())
            if row.kind in LABELLED_AT
        )
    )


def labels(pieces: Sequence[CutPiece], routes: Mapping[str, Route], crossings: Sequence[Crossing]) -> int:
    """One on each end of every piece (a cable is one piece), and one wherever it passes a panel or a hole."""
    by_channel: dict[str, list[Crossing]] = {}
    for row in crossings:
        by_channel.setdefault(row.channel, []).append(row)
    return sum(2 * LABELS_AT_END + len(passed(routes[piece.wires[0]].steps, by_channel)) for piece in pieces)
