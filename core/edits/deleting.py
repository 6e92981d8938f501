"""Delete: what refers to a deleted record goes with it, or lets go of it, and is told.

Which field refers to what is said by the types of the records (`core.model.ids`), so a new record is handled as soon
as it exists. A field that may be empty is emptied, an item of a list is left out, anything else takes its record along.
What a type cannot say (children of a fold, ends of channels, chains of stops) is written out below.
"""

from collections.abc import Callable, Iterable
from functools import cache
from typing import Any, NamedTuple

import msgspec
from msgspec import inspect

from core.edits.change import find_any, listed, put, put_all, refuse, replaced, take_out, title
from core.edits.circuits import without_stops
from core.edits.network import place_at, spots_of
from core.errors import EditRefused
from core.files.references import references
from core.geometry.foldout import descendants
from core.geometry.joints import join
from core.geometry.refold import refold
from core.model import COLLECTIONS, OnLine, Plan, records

#: Collections of kinds: one that is in use stays.
KINDS = ("wire_kinds", "tape_kinds", "conduit_kinds", "grommet_kinds", "fixing_kinds", "wrap_styles")


class Deletion(NamedTuple):
    """What a deletion did beyond what it was asked for, each named as a sentence names it."""

    also_gone: tuple[str, ...]
    changed: tuple[str, ...]

    def __str__(self) -> str:
        parts = []
        if self.also_gone:
            parts.append(f"With it went {listed(self.also_gone)}.")
        if self.changed:
            parts.append(f"Changed: {listed(self.changed)}.")
        return " ".join(parts)


def delete(plan: Plan, record_ids: Iterable[str]) -> tuple[Plan, Deletion]:
    """Delete records and what cannot be without them. Surfaces folded to a deleted one are folded at a seam where one
    closes. Refuses the floor while anything is folded to it, kinds in use, and channels with pulled wires."""
    asked = tuple(dict.fromkeys(record_ids))
    gone: dict[str, None] = dict.fromkeys(asked)
    for record_id in asked:
        _check(plan, *find_any(plan, record_id), gone)
    after = plan
    while True:
        size = len(gone)
        after = _grown(after, gone)
        after = _stripped(after, gone)
        if len(gone) == size:
            break
    _check_pulled(plan, gone)
    after = _tidied(plan, after, gone)
    return after, _report(plan, after, set(asked))


def _check(plan: Plan, collection: str, record: Any, gone: dict[str, None]) -> None:
    if collection == "surfaces" and record.fold is None:
        others = [surface.name for surface in plan.surfaces if surface.id not in gone]
        if others:
            refuse(f"“{record.name}” carries {listed(tuple(others))}; delete those first.")
    if collection in KINDS:
        for path, _, target in references(plan):
            if target == record.id and (user := _owner(plan, path)) not in gone:
                what = title(*find_any(plan, user)) if user else "the plan's assumptions"
                refuse(f"The {title(collection, record)} is used by {what}.")


def _owner(plan: Plan, path: str) -> str:
    """Id of the record in whose fields a path lies; empty for the assumptions."""
    collection, bracket, rest = path.removeprefix("$.").partition("[")
    if not bracket:
        return ""
    return str(getattr(plan, collection)[int(rest.partition("]")[0])].id)


def _check_pulled(plan: Plan, gone: dict[str, None]) -> None:
    pulled = {channel for record in plan.as_pulled if record.id not in gone for channel in record.channels}
    for channel in plan.channels:
        if channel.id in gone and (channel.wires != "planned" or channel.id in pulled):
            refuse(f"Wires are pulled through {title('channels', channel)}; take them back to planned first.")


# --- what a type cannot say --------------------------------------------------------------------------------------


def _grown(plan: Plan, gone: dict[str, None]) -> Plan:
    """Adds to `gone` what follows by meaning, and hangs on elsewhere what can stay."""
    plan = _rehung(plan, gone)
    gone.update(dict.fromkeys(face for box in plan.boxes if box.id in gone for face in box.faces))
    plan = _rehomed(plan, gone)
    for channel in plan.channels:
        if channel.surface in gone or channel.start in gone or channel.end in gone:
            gone[channel.id] = None
    gone.update(dict.fromkeys(_lonely(plan, gone)))
    for circuit in plan.circuits:
        if circuit.stops[0].device in gone:
            gone[circuit.id] = None
            continue
        cut = {stop.id for stop in circuit.stops if stop.device in gone}
        if cut:
            rest = without_stops(circuit, cut)
            if rest is None:
                gone[circuit.id] = None
            else:
                plan = put(plan, "circuits", rest)
    for waiver in plan.waivers:
        if any(subject in gone for subject in waiver.subjects):
            gone[waiver.id] = None
    return plan


def _rehung(plan: Plan, gone: dict[str, None]) -> Plan:
    """Surfaces that were folded to one that goes: folded at a seam that closes, else gone too."""
    for surface in plan.surfaces:
        if surface.id in gone or surface.fold is None or surface.fold.parent not in gone:
            continue
        below = descendants(plan.surfaces, surface.id)
        for seam in plan.seams:
            other = seam.b if seam.a == surface.id else seam.a if seam.b == surface.id else None
            if other is None or other in gone or other in below:
                continue
            try:
                surfaces, seams = refold(plan.surfaces, plan.seams, surface.id, seam.id)
            except EditRefused:
                continue
            plan = put_all(put_all(plan, "surfaces", surfaces), "seams", seams)
            break
        else:
            gone[surface.id] = None
    return plan


def _rehomed(plan: Plan, gone: dict[str, None]) -> Plan:
    """Nodes on the edge of a surface that goes, still needed on its neighbour: placed there."""
    lost = [node for node in plan.nodes if isinstance(node.place, OnLine) and node.place.surface in gone]
    lost = [node for node in lost if node.id not in gone]
    if not lost:
        return plan
    joints = join(plan.surfaces, plan.seams)
    used: dict[str, set[str]] = {}
    for channel in plan.channels:
        if channel.id not in gone and channel.surface is not None and channel.surface not in gone:
            used.setdefault(channel.start, set()).add(channel.surface)
            used.setdefault(channel.end, set()).add(channel.surface)
    moved = []
    for node in lost:
        spots = [spot for spot in spots_of(plan, joints, node.place) if spot.surface not in gone]
        wanted = [spot for spot in spots if spot.surface in used.get(node.id, ())]
        if wanted:
            place = place_at(joints.surface(wanted[0].surface), wanted[0].point)
            moved.append(replaced(node, place=place))
    return put(plan, "nodes", *moved)


def _lonely(plan: Plan, gone: dict[str, None]) -> list[str]:
    """Nodes that lose their last channel and that nothing else uses."""
    had = {node for channel in plan.channels for node in (channel.start, channel.end)}
    kept = {node for channel in plan.channels if channel.id not in gone for node in (channel.start, channel.end)}
    kept |= {device.node for device in plan.devices if device.id not in gone and device.node is not None}
    kept |= {point.node for point in plan.earth_points if point.id not in gone and point.node is not None}
    kept |= {node for circuit in plan.circuits for stop in circuit.stops for node in stop.waypoints}
    return [node for node in had - kept if node not in gone]


def _tidied(before: Plan, after: Plan, gone: dict[str, None]) -> Plan:
    """Loose ends that no reference tells: pulled wires of circuits that went, unused pictures, joints of parts."""
    circuits = tuple(f"{circuit.id}-" for circuit in before.circuits if circuit.id in gone)
    if circuits:
        spare = [replaced(record, spare=True) for record in after.as_pulled if record.wire.startswith(circuits)]
        after = put(after, "as_pulled", *spare)
        cables = []
        for cable in after.cables:
            cores = tuple(
                core if core.circuit is not None or core.role == "spare" else replaced(core, role="spare")
                for core in cable.cores
            )
            cables.append(replaced(cable, cores=cores) if cores != cable.cores else cable)
        after = put_all(after, "cables", cables)
    after = put(
        after, "moving_joints", *(replaced(joint, part=None) for joint in after.moving_joints if joint.part in gone)
    )
    if after.pictures is not before.pictures or after.photos is not before.photos:
        after = take_out(after, "images", _shown_images(before) - _shown_images(after))
    return after


def _shown_images(plan: Plan) -> set[str]:
    return {picture.image for picture in plan.pictures} | {photo.image for photo in plan.photos}


# --- what the types say ------------------------------------------------------------------------------------------


class _Lost:
    """Stands for a value that cannot be without what it referred to."""


_LOST = _Lost()
_Strip = Callable[[Any, dict[str, None]], Any]


def _stripped(plan: Plan, gone: dict[str, None]) -> Plan:
    """The plan without what is gone; what is lost by that is added to `gone`, to be taken out in the next round."""
    known = dict(gone)  # what is lost in this round has to go through `_grown` before others let go of it
    for collection in COLLECTIONS:
        strip = _strip_of(_record_type(collection))
        kept = []
        for record in getattr(plan, collection):
            if record.id in gone:
                continue
            left = strip(record, known) if strip is not None else record
            if left is _LOST:
                gone[record.id] = None
            else:
                kept.append(left)
        plan = put_all(plan, collection, kept)
    return plan


@cache
def _record_type(collection: str) -> type[msgspec.Struct]:
    info = inspect.type_info(Plan)
    assert isinstance(info, inspect.StructType)
    kind = next(field.type for field in info.fields if field.name == collection)
    assert isinstance(kind, inspect.VarTupleType)
    assert isinstance(kind.item_type, inspect.StructType)
    return kind.item_type.cls


@cache
def _strip_of(record: type[msgspec.Struct]) -> _Strip | None:
    info = inspect.type_info(record)
    assert isinstance(info, inspect.StructType)
    if record is Plan:
        return None  # variants are plans of their own
    fields = {field.name: strip for field in info.fields if (strip := _stripper(field.type)) is not None}
    if not fields:
        return None

    def strip_record(value: Any, gone: dict[str, None]) -> Any:
        changes = {}
        for name, strip in fields.items():
            old = getattr(value, name)
            new = strip(old, gone)
            if new is _LOST:
                return _LOST
            if new is not old:
                changes[name] = new
        return replaced(value, **changes) if changes else value

    return strip_record


def _stripper(kind: inspect.Type) -> _Strip | None:
    if isinstance(kind, inspect.Metadata):
        return _strip_reference if (kind.extra or {}).get("ref") else _stripper(kind.type)
    if isinstance(kind, inspect.StructType):
        return _strip_of(kind.cls)
    if isinstance(kind, inspect.VarTupleType):
        return _strip_items(_stripper(kind.item_type))
    if isinstance(kind, inspect.UnionType):
        return _strip_union(kind.types)
    return None


def _strip_reference(value: Any, gone: dict[str, None]) -> Any:
    return _LOST if value in gone else value


def _strip_items(strip: _Strip | None) -> _Strip | None:
    if strip is None:
        return None

    def strip_items(value: Any, gone: dict[str, None]) -> Any:
        kept = tuple(item for item in (strip(each, gone) for each in value) if item is not _LOST)
        return value if len(kept) == len(value) and all(a is b for a, b in zip(kept, value, strict=True)) else kept

    return strip_items


def _strip_union(kinds: tuple[inspect.Type, ...]) -> _Strip | None:
    may_be_empty = any(isinstance(kind, inspect.NoneType) for kind in kinds)
    by_class = {kind.cls: _strip_of(kind.cls) for kind in kinds if isinstance(kind, inspect.StructType)}
    other = next((s for kind in kinds if not isinstance(kind, inspect.StructType) and (s := _stripper(kind))), None)
    if other is None and not any(by_class.values()):
        return None

    def strip_union(value: Any, gone: dict[str, None]) -> Any:
        strip = by_class.get(type(value), other)
        if value is None or strip is None:
            return value
        left = strip(value, gone)
        return None if left is _LOST and may_be_empty else left

    return strip_union


def _report(before: Plan, after: Plan, asked: set[str]) -> Deletion:
    now = {record.id: record for _, record in records(after)}
    gone = tuple(title(c, r) for c, r in records(before) if r.id not in now and r.id not in asked)
    changed = tuple(title(c, r) for c, r in records(before) if r.id in now and now[r.id] is not r)
    return Deletion(gone, changed)
