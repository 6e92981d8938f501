"""What is written down while the harness is built: what was pulled, what was tested, photos, and panels closed.

None of it changes what is planned, but for one thing: the way a pulled wire took is frozen with its entry.
"""

from collections.abc import Sequence
from datetime import date
from math import isfinite

from core.edits.change import add, changed, get, made, new_id, put, refuse, replaced, take_out, title
from core.edits.drawn import stored_image
from core.model import AsPulled, CloseOut, Panel, Photo, Plan, Point, TestResult

#: A wire that is longer than this was mistyped.
LONGEST_MM = 1_000_000.0


def record_pulled(
    plan: Plan,
    wire: str,
    channels: Sequence[str] = (),
    *,
    length_mm: float | None = None,
    section_mm2: float | None = None,
    on: str = "",
    by: str = "",
    note: str = "",
    spare: bool = False,
) -> tuple[Plan, str]:
    """Record wire as pulled: measured length and size, day, by whom, a note. `channels` is the way it took.

    A wire has one entry; recording it again replaces what was said, and keeps the way where none is given.
    """
    if not wire.strip():
        refuse("Which wire was pulled?")
    _check_day(on)
    for what, value, most in (("length", length_mm, LONGEST_MM), ("size", section_mm2, 1000.0)):
        if value is not None and not (isfinite(value) and 0 < value <= most):
            refuse(f"The {what} of {wire} must be more than 0 and at most {most:,.0f}; {value:g} is not.")
    for channel in channels:
        get(plan, "channels", channel)
    fields = {"length_mm": length_mm, "section_mm2": section_mm2, "on": on, "by": by.strip(), "note": note.strip(),
              "spare": spare}  # fmt: skip
    before = pulled_entry(plan, wire)
    if before is not None:
        way = tuple(channels) or before.channels
        return put(plan, "as_pulled", changed(before, channels=way, **fields)), before.id
    fresh = new_id(plan, "as_pulled")
    entry = made(AsPulled, id=fresh, wire=wire.strip(), channels=tuple(channels), **fields)
    return add(plan, "as_pulled", entry), fresh


def forget_pulled(plan: Plan, wire: str) -> Plan:
    """Take an as-pulled entry back: the wire is open again."""
    entry = pulled_entry(plan, wire)
    if entry is None:
        refuse(f"Nothing is written down for the wire {wire}.")
    return take_out(plan, "as_pulled", {entry.id})


def pulled_entry(plan: Plan, wire: str) -> AsPulled | None:
    return next((entry for entry in plan.as_pulled if entry.wire == wire), None)


def record_test(
    plan: Plan,
    circuit: str,
    kind: str,
    passed: bool,
    *,
    device: str | None = None,
    value: float | None = None,
    unit: str = "",
    on: str = "",
    by: str = "",
    note: str = "",
) -> tuple[Plan, str]:
    """Record test of a circuit. Results are kept all; the last of each kind counts."""
    _check_day(on)
    get(plan, "circuits", circuit)
    if device is not None:
        get(plan, "devices", device)
    if value is not None and not isfinite(value):
        refuse("The measured value must be a number.")
    fresh = new_id(plan, "test_results")
    result = made(
        TestResult, id=fresh, circuit=circuit, kind=kind, passed=passed, device=device, value=value, unit=unit.strip(),
        on=on, by=by.strip(), note=note.strip(),
    )  # fmt: skip
    return add(plan, "test_results", result), fresh


def attach_photo(
    plan: Plan,
    data: bytes,
    media_type: str,
    *,
    panel: str | None = None,
    surface: str | None = None,
    at_mm: Point = (0.0, 0.0),
    caption: str = "",
    taken_on: str = "",
) -> tuple[Plan, str]:
    """Attach photo, to the panel it shows the wall behind of, and pinned to a place on a surface where one is given."""
    _check_day(taken_on)
    if panel is not None:
        get(plan, "panels", panel)
    if surface is not None:
        get(plan, "surfaces", surface)
    if not all(map(isfinite, at_mm)):
        refuse("The place of the photo must be two numbers.")
    plan, image = stored_image(plan, data, media_type, "The photo")
    fresh = new_id(plan, "photos")
    photo = made(Photo, id=fresh, image=image, panel=panel, surface=surface, at_mm=at_mm, caption=caption.strip(),
                 taken_on=taken_on)  # fmt: skip
    return add(plan, "photos", photo), fresh


def set_photo(plan: Plan, photo_id: str, **changes: object) -> Plan:
    """Set what is said of a photo: panel, surface, at_mm, caption, taken_on."""
    photo: Photo = get(plan, "photos", photo_id)
    for collection, field in (("panels", "panel"), ("surfaces", "surface")):
        target = changes.get(field)
        if target is not None:
            get(plan, collection, str(target))
    _check_day(str(changes.get("taken_on", "")))
    return put(plan, "photos", changed(photo, **changes))


# --- panels ----------------------------------------------------------------------------------------------------------


def tick_close_out(plan: Plan, panel_id: str, **done: bool) -> Plan:
    """Tick what only a person can see before a panel is closed: labels_done, secured_done."""
    panel = _open_panel(plan, panel_id)
    return put(plan, "panels", replaced(panel, close_out=changed(panel.close_out or CloseOut(), **done)))


def close_panel(
    plan: Plan, panel_id: str, on: str, by: str = "", missing: Sequence[str] = (), reason: str = ""
) -> Plan:
    """Close panel. `missing` is what is not done yet, in words (`core.tables.closing.missing`): then a typed reason is
    needed, which is printed with what was missing."""
    panel = _open_panel(plan, panel_id)
    if not on.strip():
        refuse(f"On which day was “{panel.name}” closed?")
    _check_day(on)
    if missing and not reason.strip():
        refuse(
            f"“{panel.name}” cannot be closed yet: {'; '.join(missing)}. To close it all the same, type the reason; it "
            "is printed."
        )
    if missing and plan.build_for == "customer" and not by.strip():
        refuse("In a plan for a customer closing a panel before it is ready needs the name of who decides it.")
    closed = replaced(
        panel.close_out or CloseOut(),
        closed_on=on,
        closed_by=by.strip(),
        override_reason=reason.strip() if missing else "",
        overridden=tuple(missing),
    )
    return put(plan, "panels", replaced(panel, close_out=closed))


def open_panel(plan: Plan, panel_id: str) -> Plan:
    """Open panel again: what was ticked has to be looked at anew."""
    panel: Panel = get(plan, "panels", panel_id)
    if panel.close_out is None or not panel.close_out.closed_on:
        refuse(f"“{panel.name}” is open.")
    return put(plan, "panels", replaced(panel, close_out=None))


def _open_panel(plan: Plan, panel_id: str) -> Panel:
    panel: Panel = get(plan, "panels", panel_id)
    if panel.close_out is not None and panel.close_out.closed_on:
        refuse(f"The {title('panels', panel)} was closed on {panel.close_out.closed_on}; open it first.")
    return panel


def _check_day(text: str) -> None:
    """Days are written 2026-11-25, as ISO 8601 has them; empty is no day."""
    if not text:
        return
    try:
        date.fromisoformat(text)
    except ValueError:
        refuse(f"“{text}” is no day; write it as 2026-11-25.")
