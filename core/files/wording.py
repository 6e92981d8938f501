"""What is wrong with the values of a plan, in words: all faulty records, not only the first one."""

import difflib
import re
from functools import cache
from math import isfinite
from typing import Any, Final

import msgspec
from msgspec import inspect

from core.files import limits
from core.files.references import Problem
from core.files.scan import path_steps, path_text
from core.model import Plan
from core.model.plan import COLLECTIONS

_AT: Final = re.compile(r" - at `(?P<path>[^`]*)`$")
_FOUND: Final = re.compile(r"Expected `(?P<wanted>[^`]*)`, got `(?P<found>[^`]*)`")
_BOUND: Final = re.compile(r"Expected `(?P<wanted>[^`]*)` (?P<bound>.+)")
_MISSING: Final = re.compile(r"Object missing required field `(?P<name>[^`]*)`")
_UNKNOWN: Final = re.compile(r"Object contains unknown field `(?P<name>.*)`", re.DOTALL)
_CHOICE: Final = re.compile(r"Invalid (enum )?value")
_RECORD: Final = re.compile(r"\w+\.(?P<field>\w+) (?P<told>must be .*|is .*)")
_WORDS: Final = {
    "str": "a text",
    "float": "a number",
    "int": "a whole number",
    "bool": "true or false",
    "array": "a list",
    "object": "a record",
    "bytes": "a picture in base64",
    "null": "null",
}


def value_problems(raw: Any) -> tuple[Problem, ...]:
    """Every record of a decoded JSON document that is no record of a plan, with its path; empty for a plan.

    Of one record the first fault is told. Ends after `limits.LISTED` problems.
    """
    if not isinstance(raw, dict):
        return (Problem("$", f"there is {_kind(raw)}", "a record with the fields of a plan"),)
    found: list[Problem] = []
    rest = {name: value for name, value in raw.items() if name not in COLLECTIONS}
    _try(rest, Plan, "$", found)
    for field in msgspec.structs.fields(Plan):
        if field.name not in raw or field.name not in COLLECTIONS:
            continue
        items = raw[field.name]
        if not isinstance(items, list):
            found.append(Problem(f"$.{field.name}", f"there is {_kind(items)}", "a list of records"))
            continue
        record = field.type.__args__[0]
        for index, item in enumerate(items):
            if len(found) > limits.LISTED:
                return tuple(found)
            _try(item, record, f"$.{field.name}[{index}]", found)
    return tuple(found)


def _try(value: Any, kind: Any, path: str, found: list[Problem]) -> None:
    try:
        msgspec.convert(value, kind)
    except (msgspec.ValidationError, ValueError) as error:
        problem = words(str(error), value, kind)
        found.append(Problem(path + problem.path[1:], problem.message, problem.expected))


def words(told: str, raw: Any, kind: type) -> Problem:
    """msgspec's message about a document in our words, with what stands there; the path starts at the document."""
    at = _AT.search(told)
    path = at["path"] if at else "$"
    told = told[: at.start()] if at else told
    if match := _MISSING.fullmatch(told):
        return Problem(path, f"the field {match['name']!r} is missing", _wanted_field(kind, path, match["name"]))
    if match := _UNKNOWN.fullmatch(told):
        known = _fields(kind, path)
        close = difflib.get_close_matches(match["name"], known, 1, 0.7)
        told = f"the field {_cut(match['name'])!r} is not known"
        return Problem(path_text((*path_steps(path), match["name"])), told, close[0] if close else ", ".join(known))
    value = _value_at(raw, path)
    if _CHOICE.match(told):
        choices = _choices(kind, path)
        wanted = f"one of {', '.join(choices)}" if choices else "another value"
        return Problem(path, f"there is {_shown(value)}", wanted)
    if match := _FOUND.fullmatch(told):
        wanted = " or ".join(_WORDS.get(word, word) for word in match["wanted"].split(" | "))
        return Problem(path, f"there is {_shown(value)}", wanted)
    if match := _BOUND.fullmatch(told):
        wanted = _WORDS.get(match["wanted"], match["wanted"])
        return Problem(path, f"there is {_shown(value)}", f"{wanted} {_bound(match['bound'], wanted)}")
    if told == "Invalid base64 encoded string":
        return Problem(path, "the picture is damaged", "base64 text")
    if told == "Number out of range":
        return Problem(path, "the number is beyond all measure", "a finite number")
    if match := _RECORD.fullmatch(told):
        text, _, wanted = match["told"].partition(", expected ")
        text = "is not finite" if text.startswith("must") else text
        return Problem(f"{path}.{match['field']}", f"the number {text}", wanted or "a finite number")
    return Problem(path, f"there is {_shown(value)}, which does not fit ({told})")


def _bound(told: str, wanted: str) -> str:
    told = told.partition(", got")[0]
    if not told.startswith("of length "):
        return told
    counted = "characters" if wanted == "a text" else "values"
    signs = {"<=": "of at most", ">=": "of at least"}
    sign, _, number = told.removeprefix("of length ").rpartition(" ")
    return f"{signs.get(sign, 'of')} {number} {counted}"


def _kind(value: Any) -> str:
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true or false"
    if isinstance(value, int | float):
        return "a number"
    return "a text" if isinstance(value, str) else "a list" if isinstance(value, list) else "a record"


def _cut(text: str) -> str:
    return text if len(text) <= 40 else text[:37] + "..."


def _shown(value: Any) -> str:
    if isinstance(value, str):
        return f"the text {_cut(value)!r}"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float) and not isfinite(value):
        return "a number beyond all measure"
    if isinstance(value, int | float):
        return f"the number {_cut(str(value))}"
    if isinstance(value, list):
        return f"a list of {len(value)}"
    return _kind(value)


def _value_at(raw: Any, path: str) -> Any:
    for step in path_steps(path):
        try:
            raw = raw[step]
        except (KeyError, IndexError, TypeError):
            return None
    return raw


@cache
def _type(kind: type) -> inspect.Type:
    return inspect.type_info(kind)


def _types_at(owner: type, path: str) -> list[inspect.Type]:
    """The types the value at a path may have; several in a union of records."""
    here = _parts(_type(owner))
    for step in path_steps(path):
        there: list[inspect.Type] = []
        for kind in here:
            if isinstance(kind, inspect.StructType) and isinstance(step, str):
                for field in kind.fields:
                    if field.encode_name == step:
                        there += _parts(field.type)
                if kind.tag_field == step:
                    there.append(inspect.LiteralType((kind.tag,)))
            elif isinstance(kind, inspect.VarTupleType) and isinstance(step, int):
                there += _parts(kind.item_type)
            elif isinstance(kind, inspect.TupleType) and isinstance(step, int) and step < len(kind.item_types):
                there += _parts(kind.item_types[step])
        here = there
    return here


def _parts(kind: inspect.Type) -> list[inspect.Type]:
    if isinstance(kind, inspect.Metadata):
        return _parts(kind.type)
    if isinstance(kind, inspect.UnionType):
        return [part for one in kind.types for part in _parts(one)]
    return [kind]


def _choices(owner: type, path: str) -> list[str]:
    return [
        str(value)
        for kind in _types_at(owner, path)
        if isinstance(kind, inspect.LiteralType)
        for value in kind.values
        if value is not None
    ]


def _fields(owner: type, path: str) -> list[str]:
    return [
        field.encode_name
        for kind in _types_at(owner, path)
        if isinstance(kind, inspect.StructType)
        for field in kind.fields
    ]


def _wanted_field(owner: type, path: str, name: str) -> str:
    for kind in _types_at(owner, f"{path}.{name}"):
        word = {
            inspect.StrType: "a text",
            inspect.FloatType: "a number",
            inspect.IntType: "a whole number",
            inspect.BoolType: "true or false",
            inspect.StructType: "a record",
            inspect.VarTupleType: "a list",
            inspect.TupleType: "a list",
        }.get(type(kind))
        if word:
            return word
    choices = _choices(owner, f"{path}.{name}")
    return f"one of {', '.join(choices)}" if choices else ""
