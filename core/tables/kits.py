"""What to put into one box for one wall, and what is stacked on which stud."""

from collections import Counter

from core.analysis.analysis import Analysis
from core.analysis.results import CutPiece
from core.model import Device
from core.tables.names import Names, capital, device_words, way_name
from core.tables.pulling import Pull, pulls
from core.tables.spots import Spot, spots_by_surface
from core.tables.table import Cell, Column, Table, swatch
from core.text import counted, metres

#: More terminals than this do not go on one stud (ABYC E-11; memory).
MOST_ON_A_STUD = 4
TORQUE = "________ Nm"
LARGEST_LOWEST = (
    "Largest lug lowest, against the metal of the stud; the maker of the device says the torque. "
    "Mark each nut with paint when it is tight."
)

WAYS_APART = "The ways of fuse blocks and their returns have terminals of their own, one wire each: not listed here."
#: How a spot begins where nothing is fitted before somebody has looked (`core.tables.spots`).
LOOK = "look:"
#: How one begins that nothing protects yet, and what the kit says of it: the remedy is a choice, told by the findings.
BARE = "NOT PROTECTED"
BARE_WORDS = "NOT PROTECTED yet: choose the part first, see the drill and fix list"

_COLUMNS = (
    Column(key="packed", title="packed", kind="tick", weight=0.4),
    Column(key="group", title="group", weight=0.8),
    Column(key="what", title="what", weight=3.4, important=True),
    Column(key="quantity", title="quantity", kind="quantity", weight=0.8, important=True),
    Column(key="unit", title="unit", weight=0.6),
    Column(key="note", title="note", weight=3.0),
)
Row = tuple[Cell, ...]


def kit_list(analysis: Analysis) -> Table:
    """Per surface: devices, fixings, holes and what protects them, tape, and the pieces that end there."""
    spots = spots_by_surface(analysis)
    rows: list[Row] = []
    headings: list[tuple[int, str]] = []
    for surface in analysis.plan.surfaces:
        here: list[Row] = [
            (False, "device", device.name, 1, "piece", device_words(device.kind))
            for device in analysis.plan.devices
            if device.surface == surface.id
        ]
        here += _parts(spots.get(surface.id, ()))
        here += _tape(analysis, surface.id)
        here += _pieces(analysis, surface.id)
        if here:
            headings.append((len(rows), analysis.word(surface.id)))
            rows += here
    total = metres(sum(piece.cut_mm for piece in analysis.pieces))
    return Table(
        name="kits",
        title="Kit list per wall",
        columns=_COLUMNS,
        rows=tuple(rows),
        headings=tuple(headings),
        notes=(f"{total} m of wire in all; a wire is listed on both walls it ends on.",),
    )


def kit_list_by_day(analysis: Analysis) -> Table:
    """The pull plan cut into days: each with its pieces, and with what the channels need that are laid in first then.

    A day takes as many pieces as the plan assumes; pulls are not parted, and what is pulled already needs no kit.
    """
    names = Names(analysis.plan)
    spots: dict[str, list[Spot]] = {}
    for group in spots_by_surface(analysis).values():
        for spot in group:
            spots.setdefault(spot.channel, []).append(spot)
    rows: list[Row] = []
    headings: list[tuple[int, str]] = []
    seen: set[str] = {channel for pull in pulls(analysis) if pull.done for channel in pull.way}
    for number, day in enumerate(_days(analysis), start=1):
        pieces = [piece for pull in day for piece in pull.pieces]
        fresh = [channel for channel in dict.fromkeys(c for pull in day for c in pull.way) if channel not in seen]
        seen.update(fresh)
        total = metres(sum(piece.cut_mm for piece in pieces))
        first, last = day[0].number, day[-1].number
        span = f"pull {first}" if first == last else f"pulls {first} to {last}"
        headings.append((len(rows), f"Day {number}: {span}, {counted(len(pieces), 'piece')}, {total} m"))
        for piece in pieces:
            wire = analysis.wires[piece.wires[0]]
            rows.append((False, "wire", _piece_words(names, piece), round(piece.cut_mm / 1000, 2), "m",
                         f"{names.end(wire.from_)} to {names.end(wire.to)}"))  # fmt: skip
        rows += _parts(tuple(spot for channel in fresh for spot in spots.get(channel, ())))
        rows += _tape_of(analysis, frozenset(fresh))
    return Table(
        name="kits-by-day",
        title="Kit list per day",
        columns=_COLUMNS,
        rows=tuple(rows),
        headings=tuple(headings),
        notes=(
            f"{analysis.plan.assumptions.pieces_per_day:g} pieces a day are assumed; change it in the plan's facts.",
        ),
    )


def _days(analysis: Analysis) -> list[list[Pull]]:
    most = analysis.plan.assumptions.pieces_per_day
    days: list[list[Pull]] = []
    count = 0
    for pull in pulls(analysis):
        if pull.done:
            continue
        if not days or count + len(pull.pieces) > most:
            days.append([])
            count = 0
        days[-1].append(pull)
        count += len(pull.pieces)
    return days


def _parts(spots: tuple[Spot, ...]) -> list[Row]:
    """Fixings by their kind; what protects in holes and over edges, with where it goes. What is only looked at takes
    no part."""
    fixings = Counter(spot.what for spot in spots if spot.kind == "fixing")
    rows: list[Row] = [(False, "fixing", what, count, _pieces_word(count), "") for what, count in fixings.items()]
    places: dict[tuple[str, str], list[str]] = {}
    for spot in spots:
        if spot.kind in ("hole", "edge") and not spot.detail.startswith(LOOK):
            places.setdefault((spot.kind, _cover_words(spot)), []).append(spot.what)
    for (kind, what), where in places.items():
        told = Counter(where)
        note = "; ".join(f"{count} × {place}" if count > 1 else place for place, count in told.items())
        rows.append((False, kind, what, len(where), _pieces_word(len(where)), note))
    return rows


def _cover_words(spot: Spot) -> str:
    """What protects the wires at a hole or an edge, by the hole it fits: "Grommet for a 14.3 mm hole"."""
    if spot.detail.startswith(BARE):
        return BARE_WORDS
    fits = f" for a {spot.hole_mm:g} mm hole" if spot.hole_mm is not None else ""
    return capital(spot.detail) + fits


def _pieces_word(count: int) -> str:
    return "piece" if count == 1 else "pieces"


def _tape(analysis: Analysis, surface: str) -> list[Row]:
    here = frozenset(channel for channel, path in analysis.paths.items() if path.surface == surface)
    return _tape_of(analysis, here)


def _tape_of(analysis: Analysis, channels: frozenset[str]) -> list[Row]:
    names = {tape.id: tape.name for tape in analysis.plan.tape_kinds}
    lengths: dict[str, float] = {}
    for row in analysis.wrap:
        if row.tape is not None and row.tape_mm > 0 and row.channel in channels:
            lengths[row.tape] = lengths.get(row.tape, 0.0) + row.tape_mm
    return [(False, "tape", names.get(kind, kind), round(mm / 1000, 2), "m", "") for kind, mm in lengths.items()]


def _piece_words(names: Names, piece: CutPiece) -> str:
    colour = f" {swatch(piece.colour)}" if piece.colour else ""
    return f"{names(piece.piece)}{colour} {piece.section_mm2:g} mm²"


def _pieces(analysis: Analysis, surface: str) -> list[Row]:
    """Pieces that end on the surface, with where the other end goes."""
    names = Names(analysis.plan)
    rows: list[Row] = []
    for piece in analysis.pieces:
        wire = analysis.wires[piece.wires[0]]
        at_from, at_to = (analysis.devices[end.device].surface == surface for end in (wire.from_, wire.to))
        if not (at_from or at_to):
            continue
        other = "both ends here" if at_from and at_to else names.end(wire.to if at_from else wire.from_)
        rows.append((False, "wire", _piece_words(names, piece), round(piece.cut_mm / 1000, 2), "m", other))
    return rows


def way_words(device: Device, way_id: str) -> str:
    """The name of one of the device's ways."""
    return next((way_name(way) for way in device.ways if way.id == way_id), way_id)


def stud_stacks(analysis: Analysis) -> Table:
    """Every stud with its lugs from the bottom up: the largest lies lowest. Torque is written in by hand.

    A way has a terminal of its own, and its return a place of its own on the same device: on a bus bar a stud, on a
    fuse block a screw or a blade, which is no stack.
    """
    names = Names(analysis.plan)
    devices = {device.id: device for device in analysis.plan.devices}
    ways = {
        (stop.device, circuit.id): stop.way
        for circuit in analysis.plan.circuits
        for stop in circuit.stops
        if stop.role == "source" and stop.way is not None
    }
    stacks: dict[tuple[str, str], dict[str, list[str]]] = {}
    apart = False
    for wire in analysis.wires.values():
        for end in (wire.from_, wire.to):
            if end.port is None:
                continue
            way = end.way or ways.get((end.device, wire.circuit), "")
            if way and devices[end.device].kind != "bus_bar":
                apart = True
                continue
            stacks.setdefault((end.device, end.port), {}).setdefault(way, []).append(wire.id)
    rows: list[tuple[Cell, ...]] = []
    headings: list[tuple[int, str]] = []
    for device in analysis.plan.devices:
        for port in device.ports:
            for way, on_it in sorted(stacks.get((device.id, port.id), {}).items()):
                if port.stud_mm is None:
                    continue
                own = f", {way_words(device, way)}" if way else ""
                head = f"{device.name}, {port.name or port.id}{own}: M{port.stud_mm:g}"
                if len(on_it) > MOST_ON_A_STUD:
                    head += f" · {len(on_it)} LUGS: more than {MOST_ON_A_STUD}, use a bus bar"
                headings.append((len(rows), head))
                ordered = sorted(on_it, key=lambda wire: (-analysis.sized[wire].section_mm2, wire))
                for level, wire_id in enumerate(ordered, start=1):
                    wire, sized = analysis.wires[wire_id], analysis.sized[wire_id]
                    far = wire.to if wire.from_.device == device.id else wire.from_
                    torque = TORQUE if level == len(ordered) else ""
                    rows.append((level, wire_id, swatch(sized.colour), sized.section_mm2, f"{port.stud_mm:g}",
                                 names.end(far), torque, False))  # fmt: skip
    return Table(
        name="studs",
        title="Stud stacks",
        columns=(
            Column(key="level", title="from below", kind="count", weight=0.6, important=True),
            Column(key="wire", title="wire", weight=1.0, important=True),
            Column(key="colour", title="colour", kind="swatch", weight=1.2),
            Column(key="section_mm2", title="lug for", kind="mm2", weight=0.7),
            Column(key="eye", title="eye", kind="text", unit="mm", weight=0.5),
            Column(key="far", title="far end", weight=2.4),
            Column(key="torque", title="torque of the nut", weight=1.2),
            Column(key="done", title="tight, marked", kind="tick", weight=0.6),
        ),
        rows=tuple(rows),
        headings=tuple(headings),
        notes=(LARGEST_LOWEST, *((WAYS_APART,) if apart else ())),
    )
