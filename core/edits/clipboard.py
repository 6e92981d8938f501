"""Copy and paste between plans and windows: drawn things and devices as bytes of their own, checked like a file.

Places are kept as they lie on the sheet, about the middle of what was copied; pasting lays them on one surface.
"""

from collections.abc import Iterable, Sequence
from typing import Any, Literal

import msgspec

from core.edits.change import add, find_any, free_name, get, new_id, refuse, replaced, title
from core.edits.surfaces import check_within
from core.edits.transform import LINED, OUTLINED, POINTED, middle_of
from core.errors import EditRefused
from core.files.limits import CLIP_BYTES, CLIP_THINGS
from core.geometry.foldout import lay_out
from core.geometry.motion import Motion, shift
from core.geometry.plane import Point
from core.geometry.polygon import is_simple
from core.model import Box, Device, KeepOutZone, MetalEdge, Opening, Panel, Plan, Record, Rib

#: What may be copied, and its type. Pictures stay: their bytes would be copied with them.
KINDS: dict[str, type[Record]] = {
    "boxes": Box,
    "openings": Opening,
    "zones": KeepOutZone,
    "panels": Panel,
    "ribs": Rib,
    "metal_edges": MetalEdge,
    "devices": Device,
}
MIME = "application/x-loomwright-things"


class _Piece(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    collection: str
    record: msgspec.Raw


class _Clip(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    format: Literal[1]
    pieces: tuple[_Piece, ...]


def copy_out(plan: Plan, record_ids: Iterable[str]) -> bytes:
    """Copy: the things as bytes for the clipboard. Refuses what cannot be copied, naming it."""
    ids = tuple(dict.fromkeys(record_ids))
    if not ids:
        refuse("Nothing is selected that could be copied.")
    layout = lay_out(plan.surfaces)
    x, y = middle_of(plan, ids)
    pieces = []
    for record_id in ids:
        collection, record = find_any(plan, record_id)
        if collection not in KINDS:
            refuse(f"The {title(collection, record)} cannot be copied to another place.")
        place = layout.place(record.surface)
        to_sheet = Motion(place.cos, place.sin, False, place.x_mm, place.y_mm).then(shift((-x, -y)))
        loose: dict[str, Any] = {}
        if collection == "boxes":
            loose["faces"] = ()
        if collection == "devices":
            loose["node"] = None
        laid = replaced(_carried(collection, record, to_sheet), **loose)
        pieces.append(_Piece(collection=collection, record=msgspec.Raw(msgspec.json.encode(laid))))
    return msgspec.json.encode(_Clip(format=1, pieces=tuple(pieces)))


def paste(plan: Plan, data: bytes, surface_id: str, at_mm: Point) -> tuple[Plan, tuple[str, ...]]:
    """Paste onto a surface, the middle of what was copied at a point of it. Gives the new things.

    Refuses bytes that are no copy of ours, and what would not lie on the surface.
    """
    surface = get(plan, "surfaces", surface_id)
    layout = lay_out(plan.surfaces)
    if surface_id not in layout.laid:
        refuse(f"{surface.name} has no place on the sheet to paste on.")
    place = layout.place(surface_id)
    here = Motion(place.cos, place.sin, False, place.x_mm, place.y_mm)
    x, y = here.at(at_mm)
    onto = shift((x, y)).then(here.inverse())
    new = []
    for collection, record in _read(data):
        what = f"The {title(collection, record)}"
        laid = _carried(collection, record, onto)
        check_within(surface, _points(collection, laid), what)
        if collection in OUTLINED and not is_simple(laid.outline):
            refuse(f"{what} has an outline that crosses itself.")
        fresh = new_id(plan, collection)
        changes: dict[str, Any] = {"id": fresh, "surface": surface_id}
        if laid.name:
            changes["name"] = free_name(laid.name, (each.name for each in getattr(plan, collection)))
        plan = add(plan, collection, replaced(laid, **changes))
        new.append(fresh)
    return plan, tuple(new)


def is_ours(data: bytes) -> bool:
    """Whether bytes of the clipboard can be pasted; for the state of the command."""
    try:
        _read(data)
    except EditRefused:
        return False
    return True


def _read(data: bytes) -> list[tuple[str, Any]]:
    if len(data) > CLIP_BYTES:
        refuse(f"The clipboard holds {len(data) / 2**20:.0f} MB; that is no part of a plan.")
    try:
        clip = msgspec.json.decode(data, type=_Clip)
        if not 0 < len(clip.pieces) <= CLIP_THINGS:
            refuse("The clipboard holds nothing that can be pasted.")
        found: list[tuple[str, Any]] = []
        for piece in clip.pieces:
            kind = KINDS.get(piece.collection)
            if kind is None:
                refuse("The clipboard holds things that cannot be pasted.")
            record = msgspec.json.decode(piece.record, type=kind)
            found.append((piece.collection, record))
    except (msgspec.DecodeError, ValueError, RecursionError):
        raise EditRefused("The clipboard holds nothing of a plan.") from None
    for collection, record in found:
        if (collection == "boxes" and record.faces) or (collection == "devices" and record.node is not None):
            refuse("The clipboard holds things that hang on others; copy them again.")
    return found


def _carried(collection: str, record: Any, motion: Motion) -> Any:
    if collection in OUTLINED:
        return replaced(record, outline=_tidy(motion.area(record.outline)))
    if collection in LINED:
        return replaced(record, line_mm=_tidy(motion.line(record.line_mm)))
    assert collection in POINTED
    turned = round((record.turn_deg + motion.turn_deg) % 360.0, 6)
    return replaced(record, at_mm=_tidy((record.at_mm,), motion)[0], turn_deg=turned)


def _tidy(points: Sequence[Point], motion: Motion | None = None) -> tuple[Point, ...]:
    moved = points if motion is None else motion.line(points)
    return tuple((round(x, 6) + 0.0, round(y, 6) + 0.0) for x, y in moved)


def _points(collection: str, record: Any) -> tuple[Point, ...]:
    if collection in OUTLINED:
        return tuple(record.outline)
    return tuple(record.line_mm) if collection in LINED else (record.at_mm,)
