"""Everything in a plan that points at something, checked; every problem listed, not only the first.

Which field points where is said by the types of the records (``Meta.extra["ref"]``, see `core.model.ids`), so a new
record is checked as soon as it exists. What a type cannot say (corners, ports, stops, cycles) is checked by name.
"""

from collections.abc import Callable, Iterator, Mapping
from functools import cache
from typing import Any, NamedTuple

from msgspec import inspect

from core.model import Circuit, Device, Inside, Line, OnLine, Plan
from core.model.plan import COLLECTIONS, records


class Problem(NamedTuple):
    """One fault of a plan: the JSON path of the value, what is wrong with it, what was expected (may be empty)."""

    path: str
    message: str
    expected: str = ""


class Reference(NamedTuple):
    """A field that points at a record: its path, the collections it may point into, the id it holds."""

    path: str
    collections: tuple[str, ...]
    id: str


def problems(plan: Plan) -> tuple[Problem, ...]:
    """All that makes a plan unreadable, in a fixed order; empty for a sound plan.

    Ids used twice; references to nothing; corners, ports, ways and stops that are not there; cycles of folds;
    outlines under three corners and lines under two points; and the same in every variant.
    """
    return tuple(_all(plan, "$"))


def references(plan: Plan) -> Iterator[Reference]:
    """Every reference of the plan by its type, its variants' own not included, in file order."""
    for name, visit in _visitors().items():
        yield from visit(getattr(plan, name), f"$.{name}")


def _all(plan: Plan, at: str) -> Iterator[Problem]:
    yield from _doubled(plan, at)
    yield from _dangling(plan, at)
    yield from _corners(plan, at)
    yield from _fold_cycles(plan, at)
    yield from _outlines(plan, at)
    yield from _ports(plan, at)
    devices = {device.id: device for device in plan.devices}
    for index, circuit in enumerate(plan.circuits):
        yield from _stops(circuit, devices, f"{at}.circuits[{index}]")
    for index, variant in enumerate(plan.variants):
        path = f"{at}.variants[{index}].plan"
        if variant.plan.variants:
            yield Problem(f"{path}.variants", f"the variant {variant.id} holds variants", "none inside a variant")
            continue
        yield from _all(variant.plan, path)


# --- ids ---------------------------------------------------------------------------------------------------------


def _doubled(plan: Plan, at: str) -> Iterator[Problem]:
    seen: dict[str, str] = {}
    count: dict[str, int] = {}
    for collection, record in records(plan):
        index = count.get(collection, 0)
        count[collection] = index + 1
        yield from _second(seen, record.id, f"{at}.{collection}[{index}].id")


def _second(seen: dict[str, str], name: str, path: str, of: str = "") -> Iterator[Problem]:
    first = seen.setdefault(name, path)
    if first != path:
        yield Problem(path, f"the id {name!r}{of} is used already by {first}", "an id of its own")


# --- references by type ------------------------------------------------------------------------------------------

_Visit = Callable[[Any, str], Iterator[Reference]]


def _dangling(plan: Plan, at: str) -> Iterator[Problem]:
    known = {name: {record.id for record in getattr(plan, name)} for name in COLLECTIONS}
    home = {record.id: name for name, record in records(plan)}
    for path, collections, name in references(plan):
        if not any(name in known[collection] for collection in collections):
            where = " or ".join(_said(collection) for collection in collections)
            other = f"; {name!r} is in {_said(home[name])}" if name in home else ""
            yield Problem(at + path[1:], f"there is no {name!r} in {where}{other}", f"an id of {where}")


def _said(collection: str) -> str:
    return collection.replace("_", " ")


@cache
def _visitors() -> dict[str, _Visit]:
    """By field of a plan that holds references. A variant's plan is checked as a plan of its own."""
    info = inspect.type_info(Plan)
    assert isinstance(info, inspect.StructType)
    fields = [field for field in info.fields if field.name != "variants"]
    return {field.name: visit for field in fields if (visit := _visitor(field.type))}


def _visitor(kind: inspect.Type) -> _Visit | None:
    """A function that finds the references in a value of this type; None where there can be none."""
    if isinstance(kind, inspect.Metadata):
        collections = (kind.extra or {}).get("ref")
        return _visit_reference(tuple(collections)) if collections else _visitor(kind.type)
    if isinstance(kind, inspect.VarTupleType):
        return _visit_items(kind.item_type)
    if isinstance(kind, inspect.UnionType):
        return _visit_union(kind.types)
    if isinstance(kind, inspect.StructType):
        return _visit_record(kind)
    return None


def _visit_reference(collections: tuple[str, ...]) -> _Visit:
    def visit(value: Any, path: str) -> Iterator[Reference]:
        yield Reference(path, collections, value)

    return visit


def _visit_items(kind: inspect.Type) -> _Visit | None:
    inner = _visitor(kind)
    if inner is None:
        return None

    def visit(value: Any, path: str) -> Iterator[Reference]:
        for index, item in enumerate(value):
            yield from inner(item, f"{path}[{index}]")

    return visit


def _visit_union(kinds: tuple[inspect.Type, ...]) -> _Visit | None:
    by_class = {kind.cls: found for kind in kinds if isinstance(kind, inspect.StructType) and (found := _visitor(kind))}
    others = [found for kind in kinds if not isinstance(kind, inspect.StructType) and (found := _visitor(kind))]
    if not by_class and not others:
        return None

    def visit(value: Any, path: str) -> Iterator[Reference]:
        if value is None:
            return
        chosen = by_class.get(type(value)) or (others[0] if others else None)
        if chosen is not None:
            yield from chosen(value, path)

    return visit


def _visit_record(kind: inspect.StructType) -> _Visit | None:
    found = {field.name: inner for field in kind.fields if (inner := _visitor(field.type))}
    if not found:
        return None

    def visit(value: Any, path: str) -> Iterator[Reference]:
        for name, inner in found.items():
            yield from inner(getattr(value, name), f"{path}.{name}")

    return visit


# --- corners, folds, outlines ------------------------------------------------------------------------------------


def _corners(plan: Plan, at: str) -> Iterator[Problem]:
    on = {surface.id: {corner.id for corner in surface.corners} for surface in plan.surfaces}
    for index, surface in enumerate(plan.surfaces):
        seen: dict[str, str] = {}
        for number, corner in enumerate(surface.corners):
            path = f"{at}.surfaces[{index}].corners[{number}].id"
            yield from _second(seen, corner.id, path, f" of the surface {surface.id}")
        if surface.fold is not None:
            path = f"{at}.surfaces[{index}].fold"
            yield from _edge(surface.fold.line, surface.id, on, f"{path}.line")
            yield from _edge(surface.fold.parent_line, surface.fold.parent, on, f"{path}.parent_line")
    for index, seam in enumerate(plan.seams):
        yield from _edge(seam.a_line, seam.a, on, f"{at}.seams[{index}].a_line")
        yield from _edge(seam.b_line, seam.b, on, f"{at}.seams[{index}].b_line")
    for collection in ("nodes", "splices", "connectors"):
        for index, record in enumerate(getattr(plan, collection)):
            if isinstance(record.place, OnLine):
                yield from _edge(record.place, record.place.surface, on, f"{at}.{collection}[{index}].place")


def _edge(line: Line | OnLine, surface: str, on: Mapping[str, set[str]], path: str) -> Iterator[Problem]:
    # a surface that is not there is told by its own reference
    if not isinstance(line, Inside) and surface in on and line.edge not in on[surface]:
        yield Problem(
            f"{path}.edge", f"the surface {surface} has no corner {line.edge!r}", "the corner at which the edge starts"
        )


def _fold_cycles(plan: Plan, at: str) -> Iterator[Problem]:
    parent = {surface.id: surface.fold.parent for surface in plan.surfaces if surface.fold is not None}
    index = {surface.id: number for number, surface in enumerate(plan.surfaces)}
    done: set[str] = set()
    for start in parent:
        chain: list[str] = []
        on_chain: set[str] = set()
        here: str | None = start
        while here is not None and here not in done and here not in on_chain:
            chain.append(here)
            on_chain.add(here)
            here = parent.get(here)
        if here is not None and here in on_chain:
            ring = [*chain[chain.index(here) :], here]
            yield Problem(
                f"{at}.surfaces[{index[here]}].fold.parent",
                f"the folds run in a circle: {' → '.join(ring[:12])}{' → …' if len(ring) > 12 else ''}",
                "a chain of folds that ends at a surface without one",
            )
        done.update(chain)


#: Collections with a closed outline, and with a line of points.
_OUTLINED = dict.fromkeys(("boxes", "openings", "zones", "panels", "moving_parts"), "outline")
_LINED = {"ribs": "line_mm", "metal_edges": "line_mm"}


def _outlines(plan: Plan, at: str) -> Iterator[Problem]:
    for index, surface in enumerate(plan.surfaces):
        path = f"{at}.surfaces[{index}]"
        yield from _count(surface.corners, f"{path}.corners", 3, "corners")
        for number, hole in enumerate(surface.holes):
            yield from _count(hole, f"{path}.holes[{number}]", 3, "corners")
    for table, least, word in ((_OUTLINED, 3, "corners"), (_LINED, 2, "points")):
        for collection, field in table.items():
            for index, record in enumerate(getattr(plan, collection)):
                yield from _count(getattr(record, field), f"{at}.{collection}[{index}].{field}", least, word)


def _count(points: tuple[Any, ...], path: str, least: int, word: str) -> Iterator[Problem]:
    if len(points) < least:
        yield Problem(path, f"there are {len(points)} {word}", f"{least} {word} at least")


# --- joints, ports, circuits -------------------------------------------------------------------------------------


def _ports(plan: Plan, at: str) -> Iterator[Problem]:
    for index, device in enumerate(plan.devices):
        for name in ("ports", "ways"):
            seen: dict[str, str] = {}
            for number, record in enumerate(getattr(device, name)):
                path = f"{at}.devices[{index}].{name}[{number}].id"
                yield from _second(seen, record.id, path, f" of the device {device.id}")


def _stops(circuit: Circuit, devices: Mapping[str, Device], at: str) -> Iterator[Problem]:
    seen: dict[str, str] = {}
    all_ids = {stop.id for stop in circuit.stops}
    for index, stop in enumerate(circuit.stops):
        path = f"{at}.stops[{index}]"
        if index == 0:
            if stop.role != "source":
                yield Problem(f"{path}.role", f"the first stop of the circuit {circuit.id} is a {stop.role}", "source")
            if stop.after is not None:
                yield Problem(f"{path}.after", f"the first stop follows {stop.after!r}", "nothing before the source")
        elif stop.after is not None and stop.after not in seen:
            later = "comes later" if stop.after in all_ids and stop.after != stop.id else "is not there"
            if stop.after == stop.id:
                later = "is the stop itself"
            yield Problem(f"{path}.after", f"the stop {stop.after!r} {later}", "an earlier stop of the circuit")
        yield from _second(seen, stop.id, f"{path}.id", f" of the circuit {circuit.id}")
        device = devices.get(stop.device)
        if device is None:
            continue  # told by its own reference
        for name in ("port", "way"):
            wanted = getattr(stop, name)
            if wanted is not None and all(record.id != wanted for record in getattr(device, f"{name}s")):
                known = ", ".join(record.id for record in getattr(device, f"{name}s")) or "none; it has none"
                yield Problem(f"{path}.{name}", f"the device {device.id} has no {name} {wanted!r}", known)
