"""The JSON Schema of a plan file, made from the types of the records."""

from typing import Any, Final

import msgspec

from core.files.layout import laid_out
from core.model import FORMAT, Plan

#: Dialect the schema is written in.
DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"


def schema() -> dict[str, Any]:
    """The schema as plain dicts and lists: a record per definition, with its docstring as description.

    It says what types say. Ids that must be there, cycles and the like are checked by `core.files.references`.
    """
    made: dict[str, Any] = {
        "$schema": DIALECT,
        "$id": f"urn:loomwright:plan:{FORMAT}",
        "title": f"Loomwright plan, format {FORMAT}",
        **msgspec.json.schema(Plan),
    }
    return msgspec.json.decode(msgspec.json.encode(made), type=dict[str, Any])  # tuples among the defaults


def schema_text() -> str:
    """The schema as JSON that can be read, with a newline at the end."""
    return laid_out(schema()) + "\n"
