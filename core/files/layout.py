"""The text of a plan file: JSON a person can read and compare, one record on a few lines, points on one line."""

import json
from typing import Any, Final

#: Columns of a line that is not broken further. A longer single text stays on its line.
WIDTH: Final = 118
_INDENT: Final = "  "


def laid_out(value: Any) -> str:
    """JSON of dicts, lists, texts, numbers and None. What fits in `WIDTH` columns stands on one line; anything longer
    is broken into its members. Equal values give equal text; fields keep their order. Ends without a newline."""
    out: list[str] = []
    _lay(value, "", "", out)
    return "".join(out)


def plain(value: Any) -> Any:
    """The same value with whole numbers written without ``.0``; reading gives equal values back."""
    if isinstance(value, float):
        return int(value) if value.is_integer() and abs(value) < 1e15 else value
    if isinstance(value, dict):
        return {name: plain(item) for name, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    return value


def _lay(value: Any, indent: str, before: str, out: list[str]) -> None:
    out.append(before)
    if not isinstance(value, dict | list) or not value:
        out.append(_flat(value))
        return
    if not _surely_long(value):
        flat = _flat(value)
        if len(indent) + len(before) + len(flat) <= WIDTH:
            out.append(flat)
            return
    deeper = indent + _INDENT
    is_record = isinstance(value, dict)
    out.append("{" if is_record else "[")
    comma = ""
    members = value.items() if isinstance(value, dict) else ((None, item) for item in value)
    for name, item in members:
        out.append(f"{comma}\n{deeper}")
        _lay(item, deeper, f"{_flat(name)}: " if is_record else "", out)
        comma = ","
    out.append(f"\n{indent}{'}' if is_record else ']'}")


def _surely_long(value: dict[str, Any] | list[Any]) -> bool:
    """Saves writing a whole plan to find that it does not fit on one line: a member takes three columns at least."""
    members = value.values() if isinstance(value, dict) else value
    most = WIDTH // 3
    return len(value) > most or any(isinstance(item, dict | list) and len(item) > most for item in members)


_flat: Final = json.JSONEncoder(ensure_ascii=False, allow_nan=False).encode
