"""Edit circuits as in a spreadsheet: each column shows a circuit as text and reads what is typed into it.

Typing into one cell, filling down and pasting a block are all `set_cells`: what can be read is done, the rest is told.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import suppress
from typing import NamedTuple

from core.edits.change import get, listed, put, refuse, replaced
from core.edits.circuits import add_load, connect, free_ways, remove_stop, set_protective, set_section, set_way
from core.edits.devices import connect_to_nearest
from core.edits.kinds import use_kind
from core.edits.load_rows import called, named
from core.edits.records import rename, set_field
from core.electrical.protection import families
from core.errors import EditRefused
from core.files.library import Library
from core.model import DISTRIBUTION, Circuit, Device, Plan
from core.units import UnitProblem, read_current_a, read_section_mm2, show_section

#: Typed to let the rules choose.
AUTOMATIC = frozenset({"", "auto", "automatic", "-", "–"})
#: Between the names of several loads.
PARTING = ";"


class Column(NamedTuple):
    """A column of the circuit table. `show` gives a cell's text, "" where the rules choose; `set` reads one. A column
    without `set` cannot be typed into."""

    key: str
    title: str
    show: Callable[[Plan, Circuit], str]
    set: Callable[[Plan, str, str, Library], Plan] | None = None


class Typed(NamedTuple):
    """A text typed or pasted into a cell: the circuit's id, the column's key, the text."""

    circuit: str
    column: str
    text: str


class Refused(NamedTuple):
    """A cell that could not be set, and why, in a sentence."""

    cell: Typed
    reason: str


def set_cells(plan: Plan, cells: Iterable[Typed], library: Library) -> tuple[Plan, tuple[Refused, ...]]:
    """Edit circuits: every cell that can be read is set, in this order; the plan itself where nothing changes."""
    refused = []
    for cell in cells:
        column = _BY_KEY.get(cell.column)
        try:
            if column is None or column.set is None:
                refuse(f"The column {column.title if column else cell.column} cannot be typed into.")
            plan = column.set(plan, cell.circuit, cell.text.strip(), library)
        except EditRefused as no:
            refused.append(Refused(cell, str(no)))
        except UnitProblem as no:
            text = str(no).rstrip(".")
            refused.append(Refused(cell, f"{text[:1].upper()}{text[1:]}."))
    return plan, tuple(refused)


def pasted(
    rows: Sequence[Sequence[str]], circuits: Sequence[str], columns: Sequence[str], at: tuple[int, int]
) -> tuple[Typed, ...]:
    """The cells that a pasted block of texts falls on: `circuits` and `columns` are ids and keys as they are shown,
    `at` the row and column of its upper left cell. What hangs over is left out; a single text is no more than one."""
    top, left = at
    return tuple(
        Typed(circuits[top + i], columns[left + j], text)
        for i, row in enumerate(rows)
        for j, text in enumerate(row)
        if top + i < len(circuits) and left + j < len(columns)
    )


def filled_down(plan: Plan, column: str, circuits: Sequence[str]) -> tuple[Typed, ...]:
    """Fill down: the text of the first of these circuits in a column, for all others."""
    first = get(plan, "circuits", circuits[0])
    text = _BY_KEY[column].show(plan, first)
    return tuple(Typed(circuit, column, text) for circuit in circuits[1:])


def add_circuit(plan: Plan, texts: Mapping[str, str], library: Library) -> tuple[Plan, str]:
    """Add circuit: a row typed below the others. Loads are needed, all else may be left to the rules: without a source
    that one is taken which is alone in feeding the system of the loads. Refuses what cannot be read, and then nothing
    is done; devices whose wires join no channel yet join the nearest. Gives the id of the circuit."""
    loads = [_device(plan, each.strip()) for each in texts.get("loads", "").split(PARTING) if each.strip()]
    if not loads:
        refuse("A circuit needs a load.")
    told = texts.get("source", "").strip()
    source = _device(plan, told) if told else _only_source(plan, loads[0])
    way = texts.get("way", "").strip()
    chosen = next((w.id for w in source.ways if way and way.casefold() in (w.id.casefold(), w.name.casefold())), None)
    if way and chosen is None:
        refuse(f"“{source.name}” has no way {way}.")
    for each in (source, *loads):
        if each.node is None:
            with suppress(EditRefused):
                plan, _ = connect_to_nearest(plan, each.id)
    ids = [load.id for load in loads]
    plan, circuit = connect(plan, source.id, chosen, ids, texts.get("name"), library=library)
    others = [Typed(circuit, key, text) for key, text in texts.items() if key not in _MADE_OF and text.strip()]
    plan, refused = set_cells(plan, others, library)
    if refused:
        refuse(refused[0].reason)
    return plan, circuit


_MADE_OF = frozenset({"name", "source", "way", "loads"})


def _only_source(plan: Plan, load: Device) -> Device:
    """The one distribution point with a free way for a load."""
    system = load.electrical.system
    points = [
        device
        for device in plan.devices
        if device.kind in DISTRIBUTION and device.electrical.system == system and free_ways(plan, device.id)
    ]
    if len(points) != 1:
        refuse(
            f"Name the source of “{load.name}”: "
            + (
                f"{listed([each.name for each in points])} could feed it."
                if points
                else "no fuse block has a free way."
            )
        )
    return points[0]


def row_texts(plan: Plan, circuit: Circuit) -> tuple[str, ...]:
    """The texts of a circuit in all columns."""
    return tuple(column.show(plan, circuit) for column in COLUMNS)


# --- columns ---------------------------------------------------------------------------------------------------


def _set_name(plan: Plan, circuit_id: str, text: str, _library: Library) -> Plan:
    return rename(plan, circuit_id, text)


def _show_source(plan: Plan, circuit: Circuit) -> str:
    return called(plan, "devices", circuit.stops[0].device)


def _set_source(plan: Plan, circuit_id: str, text: str, _library: Library) -> Plan:
    circuit: Circuit = get(plan, "circuits", circuit_id)
    source = _device(plan, text)
    if source.id == circuit.stops[0].device:
        return plan
    free = free_ways(plan, source.id)
    if source.ways and not free:
        refuse(f"“{source.name}” has no free way.")
    return set_way(plan, circuit_id, source.id, free[0].id if free else None)


def _device(plan: Plan, text: str) -> Device:
    found = named(plan, "devices", text) if text else None
    if found is None:
        refuse(f"The plan has no device “{text}”.")
    assert isinstance(found, Device)
    return found


def _show_way(_plan: Plan, circuit: Circuit) -> str:
    return circuit.stops[0].way or ""


def _set_way(plan: Plan, circuit_id: str, text: str, _library: Library) -> Plan:
    circuit: Circuit = get(plan, "circuits", circuit_id)
    source: Device = get(plan, "devices", circuit.stops[0].device)
    if not text:
        if source.ways and circuit.stops[0].way is not None:
            refuse(f"Circuit “{circuit.name}” needs a way of “{source.name}”.")
        return plan
    way = next((w for w in source.ways if w.id == text), None)
    way = way or next((w for w in source.ways if w.name and w.name.casefold() == text.casefold()), None)
    if way is None:
        refuse(f"“{source.name}” has no way {text}.")
    return set_way(plan, circuit_id, source.id, way.id)


def _show_loads(plan: Plan, circuit: Circuit) -> str:
    return f"{PARTING} ".join(called(plan, "devices", s.device) for s in circuit.stops[1:] if s.role == "load")


def _set_loads(plan: Plan, circuit_id: str, text: str, _library: Library) -> Plan:
    """Loads left out of the text leave the circuit, new ones follow the last."""
    if text == _show_loads(plan, get(plan, "circuits", circuit_id)):
        return plan
    wanted = [_device(plan, each.strip()).id for each in text.split(PARTING) if each.strip()]
    if not wanted:
        refuse("A circuit needs a load; delete the circuit instead.")
    if len(set(wanted)) < len(wanted):
        refuse("A load stands in the circuit twice.")
    circuit: Circuit = get(plan, "circuits", circuit_id)
    there = {stop.device: stop.id for stop in circuit.stops[1:] if stop.role == "load"}
    for device in wanted:
        if device not in there:
            plan, _ = add_load(plan, circuit_id, device)
    for device, stop in there.items():
        if device not in wanted:
            plan = remove_stop(plan, circuit_id, stop)
    return plan


def _show_fuse(_plan: Plan, circuit: Circuit) -> str:
    rating = circuit.protective.rating_a
    return "" if rating is None else f"{rating:g}"


def _set_fuse(plan: Plan, circuit_id: str, text: str, _library: Library) -> Plan:
    rating = None if text.casefold() in AUTOMATIC else read_current_a(text)
    if rating == 0:
        refuse("A fuse of 0 A is none; say why there is none in the circuit's facts.")
    circuit: Circuit = get(plan, "circuits", circuit_id)
    if rating is not None and circuit.protective.kind == "none":
        refuse(f"Circuit “{circuit.name}” has no fuse or breaker; choose one first.")
    return set_protective(plan, circuit_id, rating_a=rating)


def _show_family(_plan: Plan, circuit: Circuit) -> str:
    family = families().get(circuit.protective.family)
    return "" if circuit.protective.kind == "none" else family.title if family else circuit.protective.family


def _set_family(plan: Plan, circuit_id: str, text: str, _library: Library) -> Plan:
    plain = text.casefold()
    found = [f for f in families().values() if plain in (f.id.casefold(), f.title.casefold())]
    found = found or [f for f in families().values() if plain and f.title.casefold().startswith(plain)]
    if len(found) != 1:
        titles = "; ".join(f.title for f in families().values())
        refuse(f"“{text}” is no family of fuses; there are {titles}.")
    kind = "circuit_breaker" if found[0].id.startswith("breaker") else "fuse"
    return set_protective(plan, circuit_id, family=found[0].id, kind=kind, reason="")


def _show_section(plan: Plan, circuit: Circuit) -> str:
    mm2 = circuit.section_mm2
    if mm2 is None:
        return ""
    kinds = [k for k in plan.wire_kinds if k.id == circuit.wire_kind]
    gauge = next((row.gauge_awg for k in kinds for row in k.sizes if abs(row.section_mm2 - mm2) < 1e-6), None)
    return show_section(mm2, gauge) if gauge else f"{mm2:g}"


def _set_section(plan: Plan, circuit_id: str, text: str, _library: Library) -> Plan:
    if text.casefold() in AUTOMATIC:
        return set_section(plan, circuit_id, None)
    return set_section(plan, circuit_id, read_section_mm2(text))


def _show_kind(plan: Plan, circuit: Circuit) -> str:
    return "" if circuit.wire_kind is None else called(plan, "wire_kinds", circuit.wire_kind)


def _set_kind(plan: Plan, circuit_id: str, text: str, library: Library) -> Plan:
    circuit: Circuit = get(plan, "circuits", circuit_id)
    if text.casefold() in AUTOMATIC:
        return put(plan, "circuits", replaced(circuit, wire_kind=None))
    found = named(plan, "wire_kinds", text)
    found = found or next((k for k in library.wire_kinds if text.casefold() in (k.id, k.name.casefold())), None)
    if found is None:
        refuse(f"There is no kind of wire “{text}”.")
    if found.group != circuit.group:
        refuse(f"“{found.name}” is for {found.group.replace('_', ' ')}, not for circuit “{circuit.name}”.")
    return put(use_kind(plan, found), "circuits", replaced(circuit, wire_kind=found.id))


def _show_drop(_plan: Plan, circuit: Circuit) -> str:
    return "" if circuit.drop_percent is None else f"{circuit.drop_percent:g}"


def _set_drop(plan: Plan, circuit_id: str, text: str, _library: Library) -> Plan:
    plain = text.removesuffix("%").strip().replace(",", ".")
    if plain.casefold() in AUTOMATIC:
        return set_field(plan, circuit_id, drop_percent=None)
    try:
        percent = float(plain)
    except ValueError:
        refuse(f"“{text}” is no percentage such as 3 or 3 %.")
    if not 0 < percent <= 50:
        refuse(f"A drop of {percent:g} % is no limit; more than 0 and up to 50 can be allowed.")
    return set_field(plan, circuit_id, drop_percent=percent)


def _show_note(_plan: Plan, circuit: Circuit) -> str:
    return circuit.note


def _set_note(plan: Plan, circuit_id: str, text: str, _library: Library) -> Plan:
    return set_field(plan, circuit_id, note=text)


def _show_colour(_plan: Plan, circuit: Circuit) -> str:
    return circuit.colour


def _set_colour(plan: Plan, circuit_id: str, text: str, _library: Library) -> Plan:
    return set_field(plan, circuit_id, colour=text)


COLUMNS: tuple[Column, ...] = (
    Column("id", "Id", lambda _, circuit: circuit.id),
    Column("name", "Circuit", lambda _, circuit: circuit.name, _set_name),
    Column("source", "Source", _show_source, _set_source),
    Column("way", "Way", _show_way, _set_way),
    Column("loads", "Loads", _show_loads, _set_loads),
    Column("fuse", "Fuse (A)", _show_fuse, _set_fuse),
    Column("family", "Fuse family", _show_family, _set_family),
    Column("section", "Section (mm²)", _show_section, _set_section),
    Column("kind", "Wire", _show_kind, _set_kind),
    Column("drop", "Drop limit (%)", _show_drop, _set_drop),
    Column("colour", "Colour", _show_colour, _set_colour),
    Column("note", "Note", _show_note, _set_note),
)
_BY_KEY = {column.key: column for column in COLUMNS}
