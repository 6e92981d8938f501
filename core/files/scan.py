"""The first look at a file: is this JSON at all, and is it safe to hand to the decoder?

msgspec recurses, keeps the last of two equal keys and names no line, so its input is checked here first.
Everything runs in C over the whole text (translate, count, one regular expression, the JSON scanner of the standard
library); only the search for the place of a fault walks token by token.
"""

import json
import re
from array import array
from collections.abc import Iterable, Iterator
from itertools import accumulate
from typing import Any, Final, NoReturn

from core.errors import FileProblem
from core.files import limits

Step = str | int

#: A text, closed or running to the end of the file, so that a missing quote costs one scan and not one per quote.
_TEXT_BYTES: Final = re.compile(rb'"[^"\\]*+(?:\\.[^"\\]*+)*+"?', re.DOTALL)
_TOKEN: Final = re.compile(r'"[^"\\]*+(?:\\.[^"\\]*+)*+"?|[\[\]{},:]', re.DOTALL)
_BLANK: Final = re.compile(r"[ \t\r\n]*+")
_LONG_NUMBER: Final = re.compile(rb"[0-9]{%d}" % (limits.DIGITS + 1))
_STEP: Final = re.compile(r"\.([^.\[\]]+)|\[(\d+)\]")
_NO_NUMBERS: Final = ("NaN", "Infinity", "-Infinity")
_OUTSIDE: Final = bytes(sorted(set(range(256)) - set(b"[]{}")))
_TURNS: Final = bytes.maketrans(b"[{]}", b"\x01\x01\xff\xff")
_BRACKETS_AT_ONCE: Final = 1 << 20

#: Messages of the standard library's scanner in our words: what stands there, what was expected.
_SYNTAX: Final = {
    "Expecting value": ("there is no value", "a number, a text in quotes, a list or a record"),
    "Expecting property name enclosed in double quotes": ("there is no field name", 'a name in quotes, like "name"'),
    "Illegal trailing comma before end of object": ("a comma stands before the end of a record", "no comma"),
    "Illegal trailing comma before end of array": ("a comma stands before the end of a list", "no comma"),
    "Expecting ':' delimiter": ("a field name is not followed by a colon", "a colon"),
    "Expecting ',' delimiter": ("two values are not parted by a comma", "a comma or the closing bracket"),
    "Extra data": ("something follows the end of the plan", "the end of the file"),
    "Invalid control character at": ("a text holds a line break or control character", r"\n or \t inside texts"),
    "Unterminated string starting at": ("a text is not closed", "a closing quote"),
    "Invalid \\escape": ("a text holds a backslash that means nothing", r"one of \" \\ \/ \b \f \n \r \t \u"),
    "Invalid \\uXXXX escape": (r"a text holds a broken \u escape", r"\u and four hexadecimal digits"),
}


def scan(data: bytes) -> str:
    """The text of a file that is one JSON object within `limits`. Raises FileProblem with line and column.

    Refuses: too large, empty, not UTF-8 (a byte-order mark is tolerated), no object, too deep, too many records,
    a key twice in one object, NaN and Infinity, numbers of more than `limits.DIGITS` digits, broken JSON.
    """
    check_size(len(data))
    text = _text(data)
    _check_shape(data, text)
    _check_json(text)
    return text


def check_size(size: int) -> None:
    """Raises FileProblem for a size in bytes beyond the limit."""
    if size > limits.FILE_BYTES:
        raise FileProblem(
            f"the file has {size / 2**20:,.1f} MB", expected=f"a plan of at most {limits.FILE_BYTES // 2**20} MB"
        )


def line_of(text: str, position: int) -> str:
    """``line 12, column 5`` of a character."""
    line = text.count("\n", 0, position) + 1
    return f"line {line}, column {position - text.rfind(chr(10), 0, position)}"


def path_text(steps: Iterable[Step]) -> str:
    """``$.nodes[3].place`` of ("nodes", 3, "place")."""
    return "$" + "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in steps)


def path_steps(path: str) -> tuple[Step, ...]:
    """The opposite of `path_text`."""
    return tuple(name or int(index) for name, index in _STEP.findall(path))


def values(text: str) -> Iterator[tuple[int, list[Step]]]:
    """Position and path of every value of a JSON text that may be broken, in file order.

    The path is one list that changes as the walk goes on: copy what is kept.
    """
    path: list[Step] = []
    in_list: list[bool] = []
    key = ""
    yield _after_blank(text, 0), path
    for found in _TOKEN.finditer(text):
        token = found[0]
        if token[0] == '"':
            key = token
        elif token == ":":
            if in_list and not in_list[-1]:
                path[-1] = _key(key)
                yield _after_blank(text, found.end()), path
        elif token in "[{":
            in_list.append(token == "[")
            path.append(0 if in_list[-1] else "")
            if in_list[-1]:
                yield _after_blank(text, found.end()), path
        elif token == ",":
            if in_list and in_list[-1]:
                path[-1] = int(path[-1]) + 1
                yield _after_blank(text, found.end()), path
        elif in_list:
            in_list.pop()
            path.pop()


def path_at(text: str, position: int) -> str:
    """The path of the last value that starts at or before a character."""
    last: tuple[Step, ...] = ()
    for start, path in values(text):
        if start > position:
            break
        last = tuple(path)
    return path_text(last)


def positions(text: str, paths: Iterable[str]) -> dict[str, int]:
    """Where the value of each path starts; of a value that is not there, its nearest owner. One walk for all."""
    steps = {path: path_steps(path) for path in paths}
    wanted = {path[:count] for path in steps.values() for count in range(len(path) + 1)}
    found: dict[tuple[Step, ...], int] = {}
    for start, path in values(text):
        place = tuple(path)
        if place in wanted:
            found.setdefault(place, start)
            if len(found) == len(wanted):
                break
    return {
        path: next((found[place[:count]] for count in range(len(place), -1, -1) if place[:count] in found), 0)
        for path, place in steps.items()
    }


def _after_blank(text: str, position: int) -> int:
    blank = _BLANK.match(text, position)
    return blank.end() if blank else position


def _key(token: str) -> str:
    if "\\" not in token:
        return token.strip('"')
    try:
        return str(json.loads(token))
    except ValueError:
        return token.strip('"')


def _text(data: bytes) -> str:
    data = data.removeprefix(b"\xef\xbb\xbf")
    if not data.strip():
        raise FileProblem("the file is empty" if not data else "the file holds only blanks", expected="a plan")
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise FileProblem("the file is UTF-16 text", "byte 1", "UTF-8")
    first = data.lstrip()[:1]
    if first != b"{":
        raise FileProblem(f"this is not a plan: it starts with {_shown(first)}", "line 1", "a JSON object, so {")
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise FileProblem(
            f"byte {data[error.start]:#04x} is no UTF-8 text", f"line {line}, byte {error.start + 1}", "UTF-8"
        ) from None


def _shown(first: bytes) -> str:
    return chr(first[0]) if first.isascii() and first.decode().isprintable() else f"the byte {first[0]:#04x}"


def _check_shape(data: bytes, text: str) -> None:
    if data.count(b'"') > 2 * limits.TEXTS:
        raise FileProblem("the file holds too many texts", expected=f"at most {limits.TEXTS:,}")
    bare = _TEXT_BYTES.sub(b"", data)
    if (records := bare.count(b"{")) > limits.RECORDS:
        raise FileProblem(f"the file holds {records:,} records", expected=f"at most {limits.RECORDS:,}")
    too_deep = _depth_beyond(bare.translate(_TURNS, _OUTSIDE))
    if too_deep:
        depth = 0
        for found in _TOKEN.finditer(text):
            depth += {"[": 1, "{": 1, "]": -1, "}": -1}.get(found[0], 0)
            if depth > limits.DEPTH:
                raise FileProblem(
                    f"records and lists lie more than {limits.DEPTH} deep inside each other",
                    line_of(text, found.start()),
                    f"at most {limits.DEPTH} levels",
                )
    if (commas := bare.count(b",")) > limits.VALUES:
        raise FileProblem(f"the file holds {commas:,} values", expected=f"at most {limits.VALUES:,}")
    if (lists := bare.count(b"[")) > limits.LISTS:
        raise FileProblem(f"the file holds {lists:,} lists", expected=f"at most {limits.LISTS:,}")
    if _LONG_NUMBER.search(bare):
        where = re.compile(rf'"[^"\\]*+(?:\\.[^"\\]*+)*+"?|([0-9]{{{limits.DIGITS + 1}}})', re.DOTALL)
        place = next((found.start() for found in where.finditer(text) if found[1]), 0)
        raise FileProblem("a number is too long", _place(text, place), f"at most {limits.DIGITS} digits")


def _depth_beyond(turns: bytes) -> bool:
    """Whether brackets, given as +1 and -1 in signed bytes, ever lie deeper than the limit. In pieces: the worst
    file is refused at its first thousand."""
    depth = 0
    for start in range(0, len(turns), _BRACKETS_AT_ONCE):
        piece = array("b", turns[start : start + _BRACKETS_AT_ONCE])
        if max(accumulate(piece, initial=depth)) > limits.DEPTH:
            return True
        depth += sum(piece)
    return False


def _place(text: str, position: int) -> str:
    return f"{line_of(text, position)}, {path_at(text, position)}"


class _NoNumber(Exception):
    """Raised inside the scanner for NaN and its like."""


def _no_number(_: str) -> NoReturn:
    raise _NoNumber


def _check_json(text: str) -> None:
    doubled = False

    def members(pairs: list[tuple[str, Any]]) -> None:
        nonlocal doubled
        if len(pairs) > 1 and len(dict(pairs)) < len(pairs):
            doubled = True
        # nothing is kept: the scan costs no memory but for long lists of numbers

    try:
        json.loads(text, object_pairs_hook=members, parse_constant=_no_number)
    except _NoNumber:
        raise _several(text, _no_numbers(text)) from None
    except json.JSONDecodeError as error:
        raise _syntax(text, error) from None
    except (RecursionError, ValueError, MemoryError) as error:
        raise FileProblem(f"the file cannot be read as JSON ({type(error).__name__})", expected="a plan") from None
    if doubled:
        raise _several(text, _doubles(text))


def _several(text: str, problems: list[FileProblem]) -> FileProblem:
    first, *others = problems or [FileProblem("the file cannot be read as JSON", line_of(text, 0))]
    return FileProblem(first.message, first.location, first.expected, tuple(others))


def _no_numbers(text: str) -> list[FileProblem]:
    found: list[FileProblem] = []
    for start, path in values(text):
        if text.startswith(_NO_NUMBERS, start) and len(found) < limits.LISTED:
            word = next(word for word in _NO_NUMBERS if text.startswith(word, start))
            place = f"{line_of(text, start)}, {path_text(path)}"
            found.append(FileProblem(f"{word} is no measurement", place, "a finite number"))
    return found


def _doubles(text: str) -> list[FileProblem]:
    found: list[FileProblem] = []
    keys: list[set[Step]] = []
    for start, path in values(text):
        depth = len(path)
        del keys[depth:]
        while len(keys) < depth:
            keys.append(set())
        if depth and isinstance(path[-1], str):
            if path[-1] in keys[-1] and len(found) < limits.LISTED:
                place = f"{line_of(text, start)}, {path_text(path)}"
                found.append(FileProblem(f"the field {path[-1]!r} stands twice in one record", place, "it once"))
            keys[-1].add(path[-1])
    return found


def _syntax(text: str, error: json.JSONDecodeError) -> FileProblem:
    end = len(text.rstrip())
    message, expected = _SYNTAX.get(error.msg, ("this is no JSON", "JSON"))
    place = path_at(text, error.pos)
    rest = text[error.pos : end]
    cut_word = any(word.startswith(rest) for word in ("true", "false", "null", "-"))
    cut_number = rest.lower() in (".", "e", "e-", "e+")
    cut_escape = len(rest) < 5 and "\\u" in error.msg
    if cut_word or cut_number or cut_escape or error.msg.startswith("Unterminated"):
        # "Unterminated" points at the opening quote; what the person needs is where the file stops
        return FileProblem(f"the file ends too early, after {place} began", line_of(text, end), "the rest of the plan")
    return FileProblem(message, f"{line_of(text, error.pos)}, at or after {place}", expected)
