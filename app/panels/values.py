"""Values of records as a person reads and types them, and back; and the edit that sets a field."""

from typing import Any

from app.panels.fields import Field
from app.panels.sizes import size_of, with_size
from app.tools.desk import Desk
from core.edits.change import changed, find_any, refuse
from core.edits.circuits import set_protective, set_section
from core.edits.records import rename, set_field, set_plan
from core.edits.surfaces import set_fold_deg
from core.errors import EditRefused
from core.model import Plan
from core.units import (
    UnitProblem,
    read_angle_deg,
    read_current_a,
    read_power_w,
    read_section_mm2,
    read_temperature_c,
    read_voltage_v,
    show,
)

UNITS = {"angle": "°", "current": "A", "power": "W", "voltage": "V", "temperature": "°C", "percent": "%", "factor": ""}
READERS = {
    "angle": read_angle_deg,
    "current": read_current_a,
    "power": read_power_w,
    "voltage": read_voltage_v,
    "temperature": read_temperature_c,
    "section": read_section_mm2,
}


def value_of(record: Any, path: str) -> Any:
    """The value at a path of a record; None where a nested record is missing."""
    if path.startswith("size."):
        return size_of(record, "width" if path == "size.width" else "height")
    for step in path.split("."):
        if record is None:
            return None
        record = record[int(step)] if step.isdigit() else getattr(record, step)
    return record


def has(record: Any, path: str) -> bool:
    """Whether a record has such a field now: a surface without a fold has no angle."""
    head, _, rest = path.partition(".")
    if head == "size":
        return size_of(record, "width") is not None
    return not rest or head == "bore" or getattr(record, head) is not None


def shown(desk: Desk, field: Field, value: Any) -> str:
    """Text for a line edit; "" for None."""
    if value is None:
        return ""
    match field.kind:
        case "length":
            return desk.show_mm(value)
        case "section":
            return show(value, "mm²", 3)
        case "angle":
            return f"{value:g}°"
        case "text" | "note" | "choice" | "record" | "flag" | "point":
            return str(value)
        case kind:
            return show(value, UNITS[kind], 3).strip()


def read(desk: Desk, field: Field, text: str) -> Any:
    """The value typed. Raises EditRefused with a sentence."""
    text = text.strip()
    if field.kind in ("text", "note", "choice", "record"):
        return text
    if not text or text == field.empty:
        if field.empty is None:
            refuse(f"{field.label} needs a value.")
        return None
    try:
        if field.kind == "length":
            return desk.read_mm(text)
        if field.kind in READERS:
            return READERS[field.kind](text.replace("°", "") if field.kind == "angle" else text)
        return float(text.replace("%", "").replace(",", "."))
    except UnitProblem as problem:
        raise EditRefused(str(problem)) from None
    except ValueError:
        raise EditRefused(f"“{text}” is not a number.") from None


def with_value(plan: Plan, record_id: str, field: Field, value: Any) -> Plan:
    """The plan with the field of a record set; "" is the plan itself. Raises EditRefused."""
    head, _, rest = field.path.partition(".")
    if not record_id:
        return set_plan(plan, **({head: {rest: value}} if rest else {head: value}))
    collection, record = find_any(plan, record_id)
    if head == "size":
        return with_size(plan, collection, record, "width" if rest == "width" else "height", value)
    if field.path == "name":
        return rename(plan, record_id, str(value))
    if field.path == "fold.fold_deg":
        return set_fold_deg(plan, record_id, value)
    if collection == "circuits" and field.path == "section_mm2":
        return set_section(plan, record_id, value)
    if head == "protective":
        return set_protective(plan, record_id, **{rest: value})
    if head == "bore":
        return set_field(plan, record_id, bore=_bore(record.bore, rest, value))
    if rest.isdigit():
        point = list(getattr(record, head))
        point[int(rest)] = value
        return set_field(plan, record_id, **{head: tuple(point)})
    if head == "electrical":
        # A number that somebody typed is that of a label, no longer a typical one.
        own = changed(record.electrical, **{rest: value})
        return set_field(plan, record_id, electrical=changed(own, typical=False) if own != record.electrical else own)
    if rest:
        return set_field(plan, record_id, **{head: changed(getattr(record, head), **{rest: value})})
    return set_field(plan, record_id, **{head: value})


def _bore(old: Any, field: str, value: Any) -> dict[str, Any] | None:
    """A bore as set_field takes it: without a width there is none."""
    told = {"width_mm": None, "height_mm": None} if old is None else {"width_mm": old.width_mm}
    if old is not None and old.height_mm is not None:
        told["height_mm"] = old.height_mm
    told[field] = value
    if told.get("width_mm") is None:
        if field == "height_mm" and value is not None:
            refuse("Give the bore a width first.")
        return None
    return {key: each for key, each in told.items() if each is not None}
