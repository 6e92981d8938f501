"""Import loads: rows of a load list become devices and circuits, or change those there are.

A blank says nothing and changes nothing. A row that does not fit is left out whole and told; the others are done.
"""

from collections.abc import Callable, Sequence
from math import isclose
from typing import Any

import msgspec

from core.edits.change import get, listed, put, refuse, replaced
from core.edits.circuit_ends import SYSTEM_WORDS
from core.edits.circuits import (
    add_load,
    connect,
    free_ways,
    remove_stop,
    set_protective,
    set_section,
    set_way,
)
from core.edits.deleting import delete
from core.edits.devices import connect_to_nearest, place_device
from core.edits.records import set_field
from core.errors import EditRefused
from core.files.library import DeviceTemplate, Library
from core.files.search import search
from core.geometry.edges import outline_of
from core.geometry.polygon import centre, point_in
from core.model import DISTRIBUTION, Circuit, Device, Electrical, Plan, Point, Surface
from core.model.devices import DeviceKind, System

#: Devices of one row, at most.
MOST_OF_ONE = 50
#: Distance between devices whose place nobody told (mm).
PITCH_MM = 150.0


class LoadRow(msgspec.Struct, frozen=True, kw_only=True):
    """One row of a load list. None (or "") says nothing. `row` is its number for messages."""

    row: int = 0
    id: str = ""
    name: str = ""
    quantity: int | None = None
    kind: DeviceKind | None = None
    system: System | None = None
    power_w: float | None = None
    current_a: float | None = None
    peak_a: float | None = None
    duty: float | None = None
    critical: bool | None = None
    surface: str = ""
    x_mm: float | None = None
    y_mm: float | None = None
    circuit: str = ""
    source: str = ""
    way: str = ""
    fuse_a: float | None = None
    #: 0 is: chosen by the rules.
    section_mm2: float | None = None
    note: str | None = None


class RowProblem(msgspec.Struct, frozen=True):
    """Why a row (counted as in the file, the head is row 1) was left out: its column ("" for the whole row) and what
    was expected there."""

    row: int
    column: str
    found: str
    expected: str

    def __str__(self) -> str:
        where = f"Row {self.row}, {self.column}" if self.column else f"Row {self.row}"
        what = f": “{self.found}” cannot be used; expected {self.expected}" if self.found else f": {self.expected}"
        return f"{where}{what.rstrip('.')}."


class Imported(msgspec.Struct, frozen=True):
    """The plan with all rows that fit, ids of devices and circuits that are new, and what was left out."""

    plan: Plan
    devices: tuple[str, ...]
    circuits: tuple[str, ...]
    problems: tuple[RowProblem, ...]


def import_loads(plan: Plan, rows: Sequence[LoadRow], library: Library) -> Imported:
    """Import loads. Circuits named by several rows feed them as a daisy chain in the order of the rows."""
    known_devices = {device.id for device in plan.devices}
    known_circuits = {circuit.id for circuit in plan.circuits}
    problems: list[RowProblem] = []
    for row in rows:
        try:
            plan = _one(plan, row, library)
        except EditRefused as refused:
            problems.append(RowProblem(row.row, "", "", str(refused)))
    return Imported(
        plan,
        tuple(d.id for d in plan.devices if d.id not in known_devices),
        tuple(c.id for c in plan.circuits if c.id not in known_circuits),
        tuple(problems),
    )


def _one(plan: Plan, row: LoadRow, library: Library) -> Plan:
    if not row.name.strip() and not row.id:
        refuse("The row names no load.")
    device = _device(plan, row)
    ids = []
    if device is None:
        count = row.quantity or 1
        if not 1 <= count <= MOST_OF_ONE:
            refuse(f"{count} of “{row.name}” are too many; 1 to {MOST_OF_ONE} may stand in one row.")
        for _ in range(count):
            plan, fresh = _placed(plan, row, library)
            ids.append(fresh)
    else:
        plan = _moved(plan, device, row)
        ids.append(device.id)
    for each in ids:
        plan = _data(plan, each, row)
        plan = _wired(plan, each, row, library, alone=len(ids) == 1)
    return plan


# --- find -----------------------------------------------------------------------------------------------------------


def named(plan: Plan, collection: str, text: str) -> Any | None:
    """The record of a collection with that id, or that name (capitals do not matter); None where there is none.

    Refuses a name that several have.
    """
    rows = getattr(plan, collection)
    by_id = next((record for record in rows if record.id == text), None)
    if by_id is not None:
        return by_id
    found = [record for record in rows if record.name == text]
    found = found or [record for record in rows if record.name.casefold() == text.casefold()]
    if len(found) > 1:
        refuse(f"“{text}” is the name of {len(found)}; write the id ({listed([record.id for record in found])}).")
    return found[0] if found else None


def called(plan: Plan, collection: str, record_id: str) -> str:
    """What `named` finds this record by: its name, or its id where the name does not tell it."""
    record = get(plan, collection, record_id)
    rows = getattr(plan, collection)
    taken = [each for each in rows if each.name.casefold() == record.name.casefold()]
    told = record.name == record.name.strip() != "" and len(taken) == 1
    return record.name if told and all(each.id != record.name for each in rows) else record_id


def _device(plan: Plan, row: LoadRow) -> Device | None:
    if row.id:
        found = next((device for device in plan.devices if device.id == row.id), None)
        if found is not None:
            return found
        if not row.name:
            refuse(f"The plan has no device {row.id}.")
    found = named(plan, "devices", row.name)
    assert found is None or isinstance(found, Device)
    return found if not (row.quantity or 1) > 1 else None


# --- devices -----------------------------------------------------------------------------------------------------


def _placed(plan: Plan, row: LoadRow, library: Library) -> tuple[Plan, str]:
    surface = _surface(plan, row)
    at = _place(plan, surface, row)
    template = _template(row, library)
    name = row.name.strip()
    taken = {device.name for device in plan.devices}
    number = 2
    while name in taken:
        name, number = f"{row.name.strip()} {number}", number + 1
    if template is not None:
        return place_device(plan, template, surface.id, at, name)
    blank = Device(id="new", name=name, kind=row.kind or "other", surface=surface.id, at_mm=at)
    return place_device(plan, blank, surface.id, at, name)


def _template(row: LoadRow, library: Library) -> DeviceTemplate | None:
    """The best template of the catalogue by name and kind; its numbers stand until the row's own replace them."""
    for found in search(library.devices, row.name):
        fits = row.kind in (None, found.kind) and row.system in (None, found.electrical.system, *found.electrical.also)
        if fits and found.kind not in DISTRIBUTION:
            return found
    return None


def _surface(plan: Plan, row: LoadRow) -> Surface:
    if row.surface:
        found = named(plan, "surfaces", row.surface)
        if found is None:
            names = listed([surface.name for surface in plan.surfaces])
            refuse(f"The plan has no surface “{row.surface}”{f'; it has {names}' if names else ''}.")
        assert isinstance(found, Surface)
        return found
    floor = next((s for s in plan.surfaces if s.role == "floor"), next(iter(plan.surfaces), None))
    if floor is None:
        refuse(f"“{row.name}” needs a surface to lie on; draw the floor first.")
    return floor


def _place(plan: Plan, surface: Surface, row: LoadRow) -> Point:
    """The place told, else the next one of a row of free places through the middle of the surface."""
    if row.x_mm is not None and row.y_mm is not None:
        return row.x_mm, row.y_mm
    if (row.x_mm is None) != (row.y_mm is None):
        refuse(f"“{row.name}” has one measure of its place; x and y are needed, or neither.")
    outline = outline_of(surface)
    _, y = centre(outline)
    x = min(p[0] for p in outline) + PITCH_MM
    high = max(p[1] for p in outline)
    taken = {device.at_mm for device in plan.devices if device.surface == surface.id}
    while (x, y) in taken or not point_in(outline, (x, y)):
        x += PITCH_MM
        if x > max(p[0] for p in outline):
            x, y = min(p[0] for p in outline) + PITCH_MM, y + PITCH_MM
        if y > high:
            return centre(outline)
    return x, y


def _moved(plan: Plan, device: Device, row: LoadRow) -> Plan:
    changes: dict[str, Any] = {}
    if row.id and row.name and row.name != device.name:
        changes["name"] = row.name
    if row.kind is not None and row.kind != device.kind:
        changes["kind"] = row.kind
    if row.surface:
        surface = _surface(plan, row)
        if surface.id != device.surface:
            if row.x_mm is None or row.y_mm is None:
                refuse(f"“{device.name}” moves to {surface.name}; its x and y there are needed.")
            changes["surface"] = surface.id
    x, y = (
        old if new is None or _same(new, old) else new
        for new, old in zip((row.x_mm, row.y_mm), device.at_mm, strict=True)
    )
    if (x, y) != device.at_mm:
        changes["at_mm"] = (x, y)
    return set_field(plan, device.id, **changes) if changes else plan


def _same(told: Any, there: Any) -> bool:
    """Alike but for digits beyond those that numbers are read with, so that a list that comes back changes nothing."""
    if isinstance(told, float) and isinstance(there, float):
        return isclose(told, there, rel_tol=1e-12, abs_tol=1e-9)
    return bool(told == there)


def _data(plan: Plan, device_id: str, row: LoadRow) -> Plan:
    device: Device = get(plan, "devices", device_id)
    told = {
        "system": row.system,
        "power_w": row.power_w,
        "current_a": row.current_a,
        "peak_a": row.peak_a,
        "duty": row.duty,
        "critical": row.critical,
    }
    changes: dict[str, Any] = {name: value for name, value in told.items() if value is not None}
    if row.power_w is not None and row.current_a is None and not _same(row.power_w, device.electrical.power_w):
        changes["current_a"] = None  # a current beside it would win over the power that was told
    own = {name: value for name, value in changes.items() if not _same(value, getattr(device.electrical, name))}
    if own:
        electrical: Electrical = replaced(device.electrical, **{**own, "typical": False})
        device = replaced(device, electrical=electrical)
    if row.note is not None and row.note != device.note:
        device = replaced(device, note=row.note)
    return put(plan, "devices", device)


# --- circuits ----------------------------------------------------------------------------------------------------


def circuit_of(plan: Plan, device_id: str) -> Circuit | None:
    """The circuit that feeds a device: of several the first that carries power."""
    rows = [
        circuit
        for circuit in plan.circuits
        if circuit.kind != "bond" and any(s.device == device_id and s.role == "load" for s in circuit.stops[1:])
    ]
    return next((c for c in rows if c.group in ("dc_power", "mains")), next(iter(rows), None))


def _wired(plan: Plan, device_id: str, row: LoadRow, library: Library, alone: bool) -> Plan:
    device: Device = get(plan, "devices", device_id)
    circuit = circuit_of(plan, device_id)
    if not (row.circuit or row.source or row.way or row.fuse_a is not None or row.section_mm2 is not None):
        return plan
    name = row.circuit or (circuit.name if circuit is not None else row.name if not alone else device.name)
    wanted = named(plan, "circuits", row.circuit) if row.circuit else circuit
    if wanted is None and not row.circuit and not alone:
        wanted = named(plan, "circuits", name)
    if circuit is not None and (wanted is None or wanted.id != circuit.id):
        plan = _taken_off(plan, circuit, device_id)
    if wanted is None:
        source = _source(plan, row, device)
        way = _way(source, row.way)
        plan, circuit_id = connect(plan, source.id, way, [device_id], name, library=library)
    else:
        circuit_id = wanted.id
        if circuit is None or circuit.id != wanted.id:
            plan, _ = add_load(plan, circuit_id, device_id)
        plan = _resourced(plan, circuit_id, row)
    if device.node is None:
        plan = _tried(plan, lambda p: connect_to_nearest(p, device_id)[0])
    stands = get(plan, "circuits", circuit_id)
    if row.fuse_a is not None and not _same(row.fuse_a, stands.protective.rating_a):
        plan = set_protective(plan, circuit_id, rating_a=row.fuse_a or None)
    if row.section_mm2 is not None and not _same(row.section_mm2, stands.section_mm2):
        plan = set_section(plan, circuit_id, row.section_mm2 or None)
    return plan


def _tried(plan: Plan, edit: Callable[[Plan], Plan]) -> Plan:
    try:
        return edit(plan)
    except EditRefused:
        return plan


def _taken_off(plan: Plan, circuit: Circuit, device_id: str) -> Plan:
    stops = [stop for stop in circuit.stops[1:] if stop.device == device_id]
    others = [stop for stop in circuit.stops[1:] if stop.role in ("load", "tap") and stop.device != device_id]
    if not others:
        return delete(plan, [circuit.id])[0]
    for stop in stops:
        plan = remove_stop(plan, circuit.id, stop.id)
    return plan


def _source(plan: Plan, row: LoadRow, device: Device) -> Device:
    if row.source:
        found = named(plan, "devices", row.source)
        if found is None:
            refuse(f"The plan has no device “{row.source}” to feed “{device.name}” from.")
        assert isinstance(found, Device)
        return found
    system = device.electrical.system
    points = [d for d in plan.devices if d.kind in DISTRIBUTION and d.ways and d.electrical.system == system]
    points = [d for d in points if free_ways(plan, d.id)] or points
    if len(points) != 1:
        which = listed([d.name for d in points]) if points else "none"
        refuse(f"“{device.name}” needs a source named in its row: for {SYSTEM_WORDS[system]} the plan has {which}.")
    return points[0]


def _way(source: Device, text: str) -> str | None:
    if not text:
        return None
    way = next((w for w in source.ways if w.id == text), None)
    way = way or next((w for w in source.ways if w.name and w.name.casefold() == text.casefold()), None)
    if way is None:
        refuse(f"“{source.name}” has no way {text}.")
    return way.id


def _resourced(plan: Plan, circuit_id: str, row: LoadRow) -> Plan:
    circuit: Circuit = get(plan, "circuits", circuit_id)
    first = circuit.stops[0]
    if not row.source and not row.way:
        return plan
    source = named(plan, "devices", row.source) if row.source else get(plan, "devices", first.device)
    if source is None:
        refuse(f"The plan has no device “{row.source}”.")
    way = _way(source, row.way)
    if source.id == first.device and (way is None or way == first.way):
        return plan
    if way is None and source.ways:
        free = free_ways(plan, source.id)
        if not free:
            refuse(f"“{source.name}” has no free way.")
        way = free[0].id
    return set_way(plan, circuit_id, source.id, way)
