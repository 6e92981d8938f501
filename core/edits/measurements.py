"""What a person measures of a bare vehicle with a tape: the fields of the form, by body, with what is typical.

A value is `assumed` until somebody has typed it; both stay apart as far as the surfaces that are made of them.
Typical sizes are of our own, of the kind such vehicles have (common practice, no source): they fill the form, they
replace no tape.
"""

from typing import Annotated, Literal

import msgspec
from msgspec import Meta

from core.edits.change import changed, refuse, replaced
from core.edits.measuring_bodies import BODIES, FIELDS, Body, BodyName, Field, OpeningDefault
from core.geometry.section import Section, section
from core.model import Record
from core.model.body import Known

OpeningKind = Literal["window", "door", "hatch", "roof_fan", "vent", "other"]
On = Literal["left", "right", "roof", "front", "rear", "rear left", "rear right"]
#: Words for the faces an opening can be in, as the form shows them.
ON_WORDS: dict[str, str] = {
    "left": "vehicle left",
    "right": "vehicle right",
    "roof": "roof",
    "front": "front",
    "rear": "rear wall or tailgate",
    "rear left": "rear door, left",
    "rear right": "rear door, right",
}
#: From where an opening is measured: along, and up.
OPENING_HELP: dict[str, tuple[str, str]] = {
    "left": ("from the front end of the wall to the near side of the opening", "from the floor, along the wall"),
    "right": ("from the front end of the wall to the near side of the opening", "from the floor, along the wall"),
    "roof": ("from the front end of the roof", "from the vehicle-right edge of the roof, along the curve"),
    "front": ("from the vehicle-left corner of the floor", "from the floor, upright"),
    "rear": ("from the vehicle-left corner of the floor", "from the floor, upright"),
    "rear left": ("from the middle of the vehicle, where the doors meet", "from the floor, upright"),
    "rear right": ("from the middle of the vehicle, where the doors meet", "from the floor, upright"),
}


class Measured(Record, frozen=True, kw_only=True):
    """One value of the form."""

    key: str
    value_mm: float
    known: Known = "assumed"


class WallOpening(Record, frozen=True, kw_only=True):
    """A door, window or hatch by tape: where it begins (`OPENING_HELP` says from where), and its size."""

    name: str
    on: On
    kind: OpeningKind = "window"
    from_mm: Annotated[float, Meta(ge=0)]
    up_mm: Annotated[float, Meta(ge=0)]
    width_mm: Annotated[float, Meta(ge=20)]
    height_mm: Annotated[float, Meta(ge=20)]
    known: Known = "assumed"


class Measurements(Record, frozen=True, kw_only=True):
    """A filled form. `fields_of` says which values a body has."""

    body: BodyName
    values: tuple[Measured, ...]
    openings: tuple[WallOpening, ...] = ()
    front: Literal["bulkhead", "wall", "open"] = "bulkhead"
    rear: Literal["leaves", "tailgate", "wall"] = "leaves"
    #: The skin's other side, for what is fixed there and for holes through it.
    roof_outside: bool = False
    underside: bool = False
    driver_side: Literal["left", "right"] = "right"

    def mm(self, key: str) -> float:
        """The value of a field; 0 where the body has no such field."""
        return next((each.value_mm for each in self.values if each.key == key), 0.0)

    def known(self, *keys: str) -> Known:
        """Measured where every one of these fields was."""
        assumed = (each for each in self.values if each.key in keys and each.known == "assumed")
        return "assumed" if next(assumed, None) else "measured"


class Problem(msgspec.Struct, frozen=True, kw_only=True):
    """What cannot be: the field (or the name of the opening) to look at, and why."""

    key: str
    message: str


def bodies() -> tuple[Body, ...]:
    """The bodies there are, in the order of the form."""
    return tuple(BODIES.values())


def fields_of(body: BodyName) -> tuple[Field, ...]:
    """The fields of a body's form, in the order to measure them."""
    return tuple(field for field in FIELDS if field.key in BODIES[body].typical_mm)


def typical(body: BodyName, driver_side: Literal["left", "right"] = "right") -> Measurements:
    """The form as it opens: everything typical of such a body, everything assumed, doors on the passenger's side."""
    row = BODIES[body]
    return Measurements(
        body=body,
        values=tuple(Measured(key=f.key, value_mm=row.typical_mm[f.key]) for f in fields_of(body)),
        openings=tuple(_opening(each, driver_side == "right") for each in row.openings),
        front=row.front,
        rear=row.rear,
        driver_side=driver_side,
    )


def _opening(row: OpeningDefault, exchanged: bool) -> WallOpening:
    name, on, kind, from_mm, up_mm, width_mm, height_mm = row
    sides = {"left": "right", "right": "left"} if exchanged else {"left": "left", "right": "right"}
    fields = {"from_mm": from_mm, "up_mm": up_mm, "width_mm": width_mm, "height_mm": height_mm}
    return msgspec.convert({"name": name.format(**sides), "on": sides.get(on, on), "kind": kind, **fields}, WallOpening)


def set_measure(form: Measurements, key: str, value_mm: float, known: Known = "measured") -> Measurements:
    """The form with a value typed in. Refuses a field the body has not, and a value no such vehicle has."""
    field = next((each for each in fields_of(form.body) if each.key == key), None)
    if field is None:
        refuse(f"A {BODIES[form.body].name.lower()} has no {key.replace('_', ' ')} to measure.")
    if not field.least_mm <= value_mm <= field.most_mm:
        refuse(
            f"{field.label} is between {field.least_mm:,.0f} and {field.most_mm:,.0f} mm; {value_mm:,.0f} mm is not."
        )
    new = Measured(key=key, value_mm=float(value_mm), known=known)
    return replaced(form, values=tuple(new if each.key == key else each for each in form.values))


def set_opening(form: Measurements, index: int, opening: WallOpening | None) -> Measurements:
    """The form with another opening at a place of its list, or one more behind the last; None takes it off."""
    if not 0 <= index <= len(form.openings):
        refuse(f"The form has {len(form.openings)} openings; there is no number {index + 1}.")
    if opening is not None:
        opening = changed(opening, **{name: getattr(opening, name) for name in opening.__struct_fields__})
    middle = () if opening is None else (opening,)
    return replaced(form, openings=(*form.openings[:index], *middle, *form.openings[index + 1 :]))


def section_of(form: Measurements) -> Section:
    """The cross-section at the rear."""
    return section(
        form.mm("floor_width"),
        form.mm("shoulder_width"),
        form.mm("shoulder_height"),
        form.mm("roof_width"),
        form.mm("side_height"),
        form.mm("centre_height"),
        BODIES[form.body].wall_strips,
    )


def title_of(form: Measurements) -> str:
    return BODIES[form.body].name


__all__ = [
    "ON_WORDS",
    "OPENING_HELP",
    "BodyName",
    "Field",
    "Measured",
    "Measurements",
    "Problem",
    "WallOpening",
    "bodies",
    "fields_of",
    "section_of",
    "set_measure",
    "set_opening",
    "title_of",
    "typical",
]
