"""Which fuse or breaker does what, and where it is: by the device that holds it."""

from collections.abc import Mapping

import msgspec

from core.analysis.analysis import Analysis
from core.model import DISTRIBUTION, Circuit, Device
from core.tables.live import ALWAYS, LivePart, live_parts
from core.tables.names import Names, protection_words, way_name
from core.tables.table import Cell, Column, Table

NEVER_LARGER = "Never fit a larger fuse than this list says. What is marked live stays so when the main switch is off."


class FuseRow(msgspec.Struct, frozen=True, kw_only=True):
    """One protective device. `rating_a` None: not sized; `circuit` "" is a free way."""

    holder: str
    way: str
    rating_a: float | None
    words: str
    circuit: str
    feeds: tuple[str, ...]
    size_mm2: float | None
    #: How far or how long it stays live with the main switch off, empty where it does not.
    live: str
    mains: bool

    @property
    def always_live(self) -> bool:
        return self.live == ALWAYS


def fuse_rows(analysis: Analysis) -> tuple[FuseRow, ...]:
    """Distribution points way by way, free ways included, then every other place that protects a circuit."""
    names, parts = Names(analysis.plan), live_parts(analysis)
    by_way: dict[tuple[str, str], Circuit] = {}
    elsewhere: list[tuple[str, Circuit]] = []
    for circuit in analysis.plan.circuits:
        source = next((stop for stop in circuit.stops if stop.role == "source"), None)
        holder = circuit.protective.device or (source.device if source else "")
        way = source.way if source is not None and circuit.protective.device is None else None
        if way is not None:
            by_way[holder, way] = circuit
        elif circuit.kind not in ("bond", "signal", "antenna", "spare"):
            elsewhere.append((holder, circuit))
    rows = []
    for device in analysis.plan.devices:
        if device.kind in DISTRIBUTION:
            rows += [
                _way_row(analysis, parts, names, device, way.id, by_way.get((device.id, way.id))) for way in device.ways
            ]
    rows += [_row(analysis, parts, names, names(holder), "", circuit) for holder, circuit in elsewhere]
    # A fuse on a bus bar that is in none of its ways stands under the same heading.
    order = list(dict.fromkeys(row.holder for row in rows))
    return tuple(sorted(rows, key=lambda row: order.index(row.holder)))


def _way_row(
    analysis: Analysis,
    parts: Mapping[str, LivePart],
    names: Names,
    device: Device,
    way_id: str,
    circuit: Circuit | None,
) -> FuseRow:
    way = next(way for way in device.ways if way.id == way_id)
    if circuit is not None:
        return _row(analysis, parts, names, device.name, way_name(way), circuit)
    return FuseRow(holder=device.name, way=way_name(way), rating_a=None, words="free", circuit="", feeds=(),
                   size_mm2=None, live="", mains=False)  # fmt: skip


def _row(
    analysis: Analysis, parts: Mapping[str, LivePart], names: Names, holder: str, way: str, circuit: Circuit
) -> FuseRow:
    size = analysis.circuit_sizes.get(circuit.id)
    rating = size.fuse_a if size is not None else circuit.protective.rating_a
    sections = [
        analysis.sized[wire.id].section_mm2
        for wire in analysis.wires.values()
        if wire.circuit == circuit.id and wire.id in analysis.sized
    ]
    return FuseRow(
        holder=holder,
        way=way,
        rating_a=rating if circuit.protective.kind != "none" else None,
        words=protection_words(circuit.protective, rating),
        circuit=circuit.name,
        feeds=tuple(names(stop.device) for stop in circuit.stops if stop.role == "load"),
        size_mm2=min(sections, default=None),
        live=parts[circuit.id].words if circuit.id in parts else "",
        mains=circuit.group == "mains",
    )


def fuse_map(analysis: Analysis) -> Table:
    """The fuse map as a list, a heading for every holder."""
    rows: list[tuple[Cell, ...]] = []
    headings: list[tuple[int, str]] = []
    places = {device.name: _place(analysis, device) for device in analysis.plan.devices}
    before = None
    for row in fuse_rows(analysis):
        if row.holder != before:
            place = places.get(row.holder, "")
            headings.append((len(rows), f"{row.holder}{f' · {place}' if place else ''}"))
            before = row.holder
        told = " · ".join(text for text in (row.live, "mains: not for approval" if row.mains else "") if text)
        rows.append((row.way or "–", row.words, row.circuit or "spare way", ", ".join(row.feeds), row.size_mm2, told))
    return Table(
        name="fuse-map",
        title="Fuse map",
        columns=(
            Column(key="way", title="way", weight=0.9, important=True),
            Column(key="protection", title="fuse", weight=1.6, important=True),
            Column(key="circuit", title="circuit", weight=2.0, important=True),
            Column(key="feeds", title="feeds", weight=3.0),
            Column(key="size_mm2", title="thinnest wire", kind="mm2", weight=0.7),
            Column(key="note", title="note", weight=1.2),
        ),
        rows=tuple(rows),
        headings=tuple(headings),
        notes=(NEVER_LARGER,),
    )


def _place(analysis: Analysis, device: Device) -> str:
    """Where to look for it: its surface, and the box it stands in."""
    surface = analysis.surfaces.get(device.surface)
    return f"on {surface.name}" if surface is not None else ""
