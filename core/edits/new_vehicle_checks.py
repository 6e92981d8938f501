"""What of a filled measuring form cannot be, said by field."""

from collections.abc import Iterator, Mapping
from itertools import combinations

from core.edits.measurements import ON_WORDS, Measurements, Problem, WallOpening, fields_of, section_of
from core.geometry.plane import length_mm

#: Measures that must be smaller than another one: key, the larger one, least difference in mm, why.
_SMALLER = (
    ("shoulder_height", "side_height", 50.0, "The shoulder lies below the edge of the roof"),
    ("side_height", "centre_height", 0.0, "The roof is at its middle at least as high as at the side"),
    ("arch_gap", "floor_width", 60.0, "The wheel arches stand on the floor"),
    ("taper", "floor_width", 300.0, "The floor keeps a width at the front"),
)


def problems(form: Measurements) -> tuple[Problem, ...]:
    """Everything that cannot be, in the order of the form; empty for a form that can be built."""
    found = [*_ranges(form), *_order(form)]
    return tuple(found or (*_arches(form), *_openings(form)))


def _ranges(form: Measurements) -> Iterator[Problem]:
    given = {each.key: each.value_mm for each in form.values}
    for field in fields_of(form.body):
        if field.key not in given:
            yield Problem(key=field.key, message=f"{field.label} is missing.")
        elif not field.least_mm <= given[field.key] <= field.most_mm:
            yield Problem(
                key=field.key,
                message=f"{field.label} is {given[field.key]:,.0f} mm; between {field.least_mm:,.0f} and "
                f"{field.most_mm:,.0f} mm was expected.",
            )


def _order(form: Measurements) -> Iterator[Problem]:
    labels = {field.key: field.label for field in fields_of(form.body)}
    arches = form.mm("arch_length") > 0
    for small, large, least_mm, why in _SMALLER:
        if small not in labels or (small == "arch_gap" and not arches):
            continue
        if form.mm(small) > form.mm(large) - least_mm:
            yield Problem(
                key=small,
                message=f"{why}: {labels[small].lower()} is {form.mm(small):,.0f} mm, "
                f"{labels[large].lower()} {form.mm(large):,.0f} mm.",
            )
    if form.mm("taper") > 0 and form.mm("centre_height") > form.mm("side_height"):
        yield Problem(key="centre_height", message="A body that narrows to the front is built with a flat roof.")
    for key, height in (("shoulder_width", "shoulder_height"), ("roof_width", "side_height")):
        if abs(form.mm(key) - form.mm("floor_width")) / 2 > form.mm(height):
            yield Problem(key=key, message=f"{labels[key]}: the wall would lean by more than 45 degrees.")


def _arches(form: Measurements) -> Iterator[Problem]:
    if form.mm("arch_length") <= 0:
        return
    if form.mm("arch_from_rear") + form.mm("arch_length") > form.mm("length"):
        yield Problem(key="arch_from_rear", message="The wheel arches reach beyond the front end of the floor.")
    first_bend = section_of(form).wall[1][1]
    if form.mm("arch_height") > first_bend - 20:
        yield Problem(
            key="arch_height",
            message=f"The wheel arches reach above the bend of the wall at {first_bend:,.0f} mm.",
        )
    if form.mm("taper") > 0:
        yield Problem(key="taper", message="A body that narrows to the front is built without wheel arches.")


def room_of(form: Measurements) -> Mapping[str, tuple[float, float]]:
    """How far each face reaches along and up, in the directions its openings are measured."""
    shape = section_of(form)
    length, width, taper = form.mm("length"), form.mm("floor_width"), form.mm("taper")
    wall, roof = length_mm(shape.wall), length_mm(shape.roof)
    height = max(z for _, z in shape.roof)
    rooms = {"left": (length, wall), "right": (length, wall), "roof": (length, roof)}
    if form.front != "open":
        rooms["front"] = (width - taper, height)
    if form.rear == "leaves":
        rooms |= {"rear left": (width / 2, height), "rear right": (width / 2, height)}
    else:
        rooms["rear"] = (width, height)
    return rooms


def _openings(form: Measurements) -> Iterator[Problem]:
    rooms = room_of(form)
    for row in form.openings:
        if row.on not in rooms:
            yield Problem(key=row.name, message=f"{row.name}: this body has no {ON_WORDS[row.on]}.")
            continue
        along, up = rooms[row.on]
        if row.from_mm + row.width_mm > along + 0.5 or row.up_mm + row.height_mm > up + 0.5:
            yield Problem(
                key=row.name,
                message=f"{row.name} reaches beyond the {ON_WORDS[row.on]}: {row.from_mm + row.width_mm:,.0f} of "
                f"{along:,.0f} mm along, {row.up_mm + row.height_mm:,.0f} of {up:,.0f} mm up.",
            )
        if row.on in ("left", "right") and _meets_arch(form, row):
            yield Problem(key=row.name, message=f"{row.name} lies behind the wheel arch.")
    for a, b in combinations(form.openings, 2):
        if a.on == b.on and _overlap(a, b):
            yield Problem(key=b.name, message=f"{b.name} and {a.name} lie on each other.")


def _meets_arch(form: Measurements, row: WallOpening) -> bool:
    size = form.mm("arch_length")
    start = form.mm("length") - form.mm("arch_from_rear") - size
    low, high = row.from_mm, row.from_mm + row.width_mm
    return size > 0 and low < start + size and high > start and row.up_mm < form.mm("arch_height")


def _overlap(a: WallOpening, b: WallOpening) -> bool:
    return (
        a.from_mm < b.from_mm + b.width_mm
        and b.from_mm < a.from_mm + a.width_mm
        and a.up_mm < b.up_mm + b.height_mm
        and b.up_mm < a.up_mm + a.height_mm
    )
