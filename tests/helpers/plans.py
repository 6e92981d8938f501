"""Random plans in which every reference holds, made from the types of the records.

A new record or field is covered as soon as it exists; only what types cannot say (corners, stops, ports) is written
here. The same seed gives the same plan.
"""

import random
from functools import cache
from typing import Any

import msgspec
from hypothesis import strategies as st
from msgspec import inspect

from core.model import FORMAT, Circuit, Corner, Fold, Inside, OnEdge, OnLine, Plan, Seam, Stop, Surface
from core.model.plan import COLLECTIONS

WORDS = (
    "",
    "Dachlüfter",
    'feed "A"',
    "back\\slash",
    "line\nbreak\ttab",
    "=1+1",
    "日本語 🚐",
    "\u2028\x7f",
    "½ in × 2",
    "{[]},:",
    "NaN",
    "\u0000zero",
    "a" * 150,
)
NUMBERS = (0.0, -0.0, 1.0, 0.1 + 0.2, 1e-9, -1234.5, 850.0, 1e9, -1e9, 2.0**-40, 1 / 3, 12.75)

#: Collections others cannot do without: at least one record each in a plan that is not empty.
NEEDED = frozenset(
    {"surfaces", "images", "penetrations", "nodes", "channels", "devices", "circuits", "wire_kinds", "moving_parts"}
)


def plans(largest: int = 3) -> st.SearchStrategy[Plan]:
    """Plans of up to `largest` records in a collection, with and without variants."""
    return st.builds(random_plan, st.integers(0, 2**32 - 1), st.integers(0, largest))


def random_plan(seed: int, size: int, variants: bool = True) -> Plan:
    """A sound plan with up to `size` records in each collection; size 0 is a plan that holds nothing."""
    return _Maker(random.Random(seed), size, variants).plan()


@cache
def _info(cls: type) -> inspect.StructType:
    info = inspect.type_info(cls)
    assert isinstance(info, inspect.StructType)
    return info


class _Nothing(Exception):
    """There is no record a reference could point to."""


class _Maker:
    def __init__(self, rng: random.Random, size: int, variants: bool):
        self.rng = rng
        self.size = size
        self.ids: dict[str, list[str]] = {}
        for name in COLLECTIONS:
            least = 1 if size and name in NEEDED else 0
            count = 0 if name == "variants" and not variants else rng.randint(least, max(least, size))
            self.ids[name] = [f"{name[:2]}{name[-3:]}{number}" for number in range(count)]
        self.corners: dict[str, list[str]] = {
            surface: [f"c{number}" for number in range(rng.randint(3, 6))] for surface in self.ids["surfaces"]
        }
        self.devices: dict[str, Any] = {}

    def plan(self) -> Plan:
        made: dict[str, Any] = {"format": FORMAT, "id": "plan"}
        for field in _info(Plan).fields:
            if field.name in made:
                continue
            if field.name not in self.ids:
                made[field.name] = self.value(field.type)
                continue
            assert isinstance(field.type, inspect.VarTupleType)
            cls = next(f.type.__args__[0] for f in msgspec.structs.fields(Plan) if f.name == field.name)
            made[field.name] = tuple(self.record(cls, name) for name in self.ids[field.name])
        return Plan(**made)

    def record(self, cls: type, name: str) -> Any:
        known: dict[str, Any] = {"id": name}
        if cls.__name__ == "Variant":
            known["plan"] = random_plan(self.rng.getrandbits(32), min(self.size, 1), variants=False)
        elif cls is Surface:
            known["corners"] = tuple(Corner(id=corner, at_mm=self.point()) for corner in self.corners[name])
            known["fold"] = self.fold(name)
        elif cls is Seam:
            known["a"], known["b"] = self.one("surfaces"), self.one("surfaces")
            known["a_line"], known["b_line"] = self.line(known["a"]), self.line(known["b"])
        elif cls is Circuit:
            known["stops"] = self.stops()
        made = self.struct(_info(cls), known)
        if "devices" in self.ids and name in self.ids["devices"]:
            self.devices[name] = made
        return made

    def fold(self, name: str) -> Fold | None:
        before = self.ids["surfaces"][: self.ids["surfaces"].index(name)]
        if not before:
            return None
        parent = self.rng.choice(before)
        known = {"line": self.line(name), "parent": parent, "parent_line": self.line(parent)}
        return self.struct(_info(Fold), known)  # type: ignore[no-any-return]

    def line(self, surface: str) -> OnEdge | Inside:
        if self.rng.random() < 0.3:
            return Inside(start_mm=self.point(), end_mm=self.point())
        return OnEdge(edge=self.rng.choice(self.corners[surface]), from_mm=abs(self.number()))

    def stops(self) -> tuple[Stop, ...]:
        made: list[Stop] = []
        for number in range(self.rng.randint(1, 4)):
            device = self.one("devices")
            ports, ways = ([r.id for r in getattr(self.devices[device], name)] for name in ("ports", "ways"))
            known = {
                "id": f"s{number}",
                "device": device,
                "role": self.rng.choice(("series", "tap", "load")) if number else "source",
                "after": self.rng.choice(made).id if made and self.rng.random() < 0.8 else None,
                "port": self.rng.choice(ports) if ports else None,
                "way": self.rng.choice(ways) if ways else None,
            }
            made.append(self.struct(_info(Stop), known))
        return tuple(made)

    def one(self, collection: str) -> str:
        if not self.ids[collection]:
            raise _Nothing
        return self.rng.choice(self.ids[collection])

    def number(self) -> float:
        return self.rng.choice(NUMBERS) if self.rng.random() < 0.5 else round(self.rng.uniform(-5e3, 5e3), 3)

    def point(self) -> tuple[float, float]:
        return self.number(), self.number()

    def struct(self, info: inspect.StructType, known: dict[str, Any] | None = None) -> Any:
        made = dict(known or {})
        if info.cls is OnLine:
            made["surface"] = self.one("surfaces")
            made["edge"] = self.rng.choice(self.corners[made["surface"]])
        for field in info.fields:
            if field.name in made or (not field.required and self.rng.random() < 0.3):
                continue
            try:
                made[field.name] = self.value(field.type, field.name)
            except _Nothing:
                if field.required:
                    raise
        return info.cls(**made)

    def value(self, kind: inspect.Type, name: str = "") -> Any:
        rng = self.rng
        match kind:
            case inspect.Metadata(extra={"ref": collections}):
                return self.one(rng.choice([c for c in collections if self.ids[c]] or list(collections)))
            case inspect.Metadata(type=inner):
                return self.value(inner, name)
            case inspect.UnionType(types=kinds):
                for inner in rng.sample(kinds, len(kinds)):
                    try:
                        return self.value(inner, name)
                    except _Nothing:
                        continue
                raise _Nothing
            case inspect.NoneType():
                return None
            case inspect.BoolType():
                return rng.random() < 0.5
            case inspect.LiteralType(values=values):
                return rng.choice(values)
            case inspect.StrType(min_length=least, max_length=most):
                word = rng.choice(WORDS)[: most or None]
                return word if len(word) >= (least or 0) else "x" * (least or 0)
            case inspect.BytesType():
                return rng.randbytes(rng.randint(0, 40))
            case inspect.IntType(ge=least, le=most):
                return rng.randint(least or 0, most or 1000)
            case inspect.FloatType():
                return self.bounded(kind)
            case inspect.TupleType(item_types=kinds):
                return tuple(self.value(inner) for inner in kinds)
            case inspect.VarTupleType(item_type=inner, min_length=fewest):
                least = 3 if name in ("outline", "corners", "line_mm") or isinstance(inner, inspect.VarTupleType) else 0
                least = max(fewest or 0, 3 if name == "" else least)  # no name: a hole of a surface
                return tuple(self.item(inner, number) for number in range(rng.randint(least, least + 2)))
            case inspect.StructType():
                return self.struct(kind)
        raise AssertionError(f"no value for {kind}")

    def item(self, kind: inspect.Type, number: int) -> Any:
        """Ports, ways and the like have ids of their own within their record."""
        if isinstance(kind, inspect.StructType) and any(field.name == "id" for field in kind.fields):
            return self.struct(kind, {"id": f"i{number}"})
        return self.value(kind)

    def bounded(self, kind: inspect.FloatType) -> float:
        low = max(kind.ge if kind.ge is not None else -1e9, kind.gt if kind.gt is not None else -1e9)
        high = min(kind.le if kind.le is not None else 1e9, kind.lt if kind.lt is not None else 1e9)
        value = self.number()
        if low <= value <= high and value not in (kind.gt, kind.lt):
            return value
        return low + (min(high, low + 1000.0) - low) * self.rng.uniform(0.1, 0.9)
