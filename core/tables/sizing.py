"""The sizing sheets of `python3 -m core tables --json`: every wire with each size and each rule's word on it."""

from typing import Any

import msgspec

from core.analysis.analysis import Analysis
from core.analysis.sizing_sheet import SizingSheet, sizing_sheets

#: Finer digits are noise of the arithmetic.
DIGITS = 3


def sizing_document(analysis: Analysis) -> list[dict[str, Any]]:
    """One sheet for each wire, in the order of the analysis, as plain values for JSON."""
    return [_plain(sheet) for sheet in sizing_sheets(analysis)]


def _plain(sheet: SizingSheet) -> dict[str, Any]:
    document: dict[str, Any] = _rounded(msgspec.to_builtins(sheet))
    return {"from" if key == "from_" else key: value for key, value in document.items()}


def _rounded(value: Any) -> Any:
    match value:
        case float():
            return round(value, DIGITS)
        case dict():
            return {key: _rounded(item) for key, item in value.items()}
        case list() | tuple():
            return [_rounded(item) for item in value]
    return value
