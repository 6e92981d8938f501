"""The JSON Schema says what the decoder says, as far as types go."""

import json
from typing import Any

import msgspec
import pytest

from core.files import encode
from core.files.schema import schema, schema_text
from core.model import Plan
from tests.helpers.plans import random_plan

WHOLE = schema()


def fits(value: Any, rule: dict[str, Any]) -> bool:
    """A validator of the keywords that our schema uses, after JSON Schema 2020-12 (section 6 of "Validation"); it
    raises KeyError for a keyword it does not know, so that none goes unchecked."""
    if "$ref" in rule:
        return fits(value, WHOLE["$defs"][rule["$ref"].rpartition("/")[2]])
    checks = {
        "type": lambda wanted: any(is_type(value, one) for one in ([wanted] if isinstance(wanted, str) else wanted)),
        "enum": lambda wanted: value in wanted,
        "anyOf": lambda rules: any(fits(value, one) for one in rules),
        "minimum": lambda low: not is_number(value) or value >= low,
        "maximum": lambda high: not is_number(value) or value <= high,
        "exclusiveMinimum": lambda low: not is_number(value) or value > low,
        "exclusiveMaximum": lambda high: not is_number(value) or value < high,
        "minLength": lambda least: not isinstance(value, str) or len(value) >= least,
        "maxLength": lambda most: not isinstance(value, str) or len(value) <= most,
        "minItems": lambda least: not isinstance(value, list) or len(value) >= least,
        "maxItems": lambda most: not isinstance(value, list) or len(value) <= most,
        "prefixItems": lambda rules: not isinstance(value, list) or all(map(fits, value, rules)),
        "items": lambda one: (
            not isinstance(value, list)
            or one is False
            or all(fits(item, one) for item in value[len(rule.get("prefixItems", ())) :])
        ),
        "required": lambda names: not isinstance(value, dict) or set(names) <= set(value),
        "properties": lambda named: (
            not isinstance(value, dict) or all(fits(value[name], one) for name, one in named.items() if name in value)
        ),
        "additionalProperties": lambda allowed: (
            allowed or not isinstance(value, dict) or set(value) <= set(rule.get("properties", ()))
        ),
        "contentEncoding": lambda name: name == "base64",
        **dict.fromkeys(("title", "description", "default", "discriminator"), lambda _: True),
    }
    return all(checks[keyword](argument) for keyword, argument in rule.items())


def is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def is_type(value: Any, name: str) -> bool:
    kinds: dict[str, type | tuple[type, ...]] = {
        "string": str,
        "object": dict,
        "array": list,
        "boolean": bool,
        "null": type(None),
    }
    if name in kinds:
        return isinstance(value, kinds[name])
    return is_number(value) and (name == "number" or float(value).is_integer())


@pytest.mark.parametrize("seed", range(12))
def test_a_plan_fits_the_schema(seed: int) -> None:
    assert fits(json.loads(encode(random_plan(seed, 3))), {"$ref": WHOLE["$ref"]})


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("format", 2),
        ("name", 5),
        ("colour", "red"),
        ("surfaces", [{"id": "s", "name": "w", "corners": [{"id": "", "at_mm": [0, 0]}]}]),
        ("surfaces", [{"id": "s", "name": "w", "corners": [{"id": "c", "at_mm": [0]}]}]),
        ("surfaces", [{"id": "s", "name": "w", "corners": [], "material": "gold"}]),
        ("surfaces", [{"id": "s", "name": "w", "corners": [], "thickness_mm": -1}]),
        ("nodes", [{"id": "n", "place": {"place": "air"}}]),
        ("assumptions", {"lay_factor": 3}),
    ],
)
def test_what_the_decoder_refuses_the_schema_refuses(field: str, value: Any) -> None:
    document = json.loads(encode(random_plan(1, 1))) | {field: value}
    assert not fits(document, {"$ref": WHOLE["$ref"]})
    with pytest.raises(msgspec.ValidationError):
        msgspec.convert(document, Plan)


def test_the_schema_has_an_id_a_title_and_descriptions_and_is_json() -> None:
    assert json.loads(schema_text()) == WHOLE
    assert WHOLE["$id"] == "urn:loomwright:plan:1"
    assert WHOLE["$schema"].startswith("https://json-schema.org/")
    assert "Loomwright" in WHOLE["title"]
    assert "turns out of the sheet" in WHOLE["$defs"]["Fold"]["description"]
    assert set(WHOLE["$defs"]["Plan"]["required"]) == {"format", "id", "name", "profile"}
