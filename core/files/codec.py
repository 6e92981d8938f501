"""Bytes of a plan file to a Plan and back. What cannot be read ends in a FileProblem that says where and why."""

import json
import re
from pathlib import Path
from typing import Any, Final

import msgspec

from core.errors import FileProblem
from core.files import layout, limits, migrate
from core.files.references import Problem, problems
from core.files.safe_write import reason
from core.files.scan import check_size, line_of, positions, scan
from core.files.wording import value_problems
from core.model import FORMAT, Plan

#: Ending of a plan file.
SUFFIX: Final = ".loomplan"
_BROKEN_TEXT: Final = re.compile("[\ud800-\udfff]")
_DECODER: Final = msgspec.json.Decoder(Plan)


class _Head(msgspec.Struct):
    """The one field that is read before all others, whatever it holds."""

    format: Any = None


def read_plan(path: Path) -> Plan:
    """The plan in a file. Raises FileProblem: not there, no rights, a folder, too large (told before it is read),
    or anything `decode` refuses."""
    try:
        if path.is_dir():
            raise FileProblem("this is a folder", str(path), f"a {SUFFIX} file")
        with path.open("rb") as file:
            check_size(path.stat().st_size)
            # one byte more than allowed: a file that grows, or a device without a size, must not fill the memory
            data = file.read(limits.FILE_BYTES + 1)
    except FileNotFoundError:
        raise FileProblem("there is no such file", str(path)) from None
    except (OSError, ValueError) as error:
        raise FileProblem(f"the file cannot be read: {reason(error)}", str(path)) from error
    except FileProblem as problem:
        raise _named(problem, path.name) from None
    return decode(data, path.name)


def decode(data: bytes, name: str = "") -> Plan:
    """The plan in the bytes of a file; `name` is set before the location of a problem.

    Raises FileProblem with the JSON path, line and column of what is wrong; further problems are its `others`.
    """
    try:
        return _decoded(data)
    except FileProblem as problem:
        raise _named(problem, name) from None
    except (RecursionError, MemoryError) as error:
        raise FileProblem(f"the file is too much to read ({type(error).__name__})", name, "a plan") from None


def encode(plan: Plan) -> bytes:
    """The bytes of a plan file: UTF-8 JSON with a newline at the end. Equal plans give equal bytes.

    Half of a surrogate pair, which no UTF-8 text can hold, becomes U+FFFD.
    """
    text = layout.laid_out(layout.plain(msgspec.to_builtins(plan))) + "\n"
    try:
        return text.encode()
    except UnicodeEncodeError:
        return _BROKEN_TEXT.sub("\ufffd", text).encode()


def _decoded(data: bytes) -> Plan:
    text = scan(data)
    # below, json.loads gives the document where msgspec refuses it: it takes numbers beyond all measure
    data = data.removeprefix(b"\xef\xbb\xbf")
    number = _format(data, text)
    if number != FORMAT:
        raw = migrate.upgrade(json.loads(text), number)
        wrong = value_problems(raw)
        plan = None if wrong else msgspec.convert(raw, Plan)
    else:
        try:
            plan, wrong = _DECODER.decode(data), ()
        except msgspec.ValidationError:
            plan, wrong = None, value_problems(json.loads(text))
        except msgspec.DecodeError as error:
            raise _undecoded(error, data) from None
    if plan is not None:
        wrong = problems(plan)
    if wrong or plan is None:
        raise _listed(wrong or (Problem("$", "this is no plan"),), text)
    return plan


def _format(data: bytes, text: str) -> int:
    try:
        number = msgspec.json.decode(data, type=_Head).format
    except msgspec.DecodeError as error:
        raise _undecoded(error, data) from None
    if isinstance(number, int) and not isinstance(number, bool):
        return number
    told = "the format number is missing" if number is None else "the format is no whole number"
    raise _listed((Problem("$" if number is None else "$.format", told, f'"format": {FORMAT}'),), text)


def _undecoded(error: msgspec.DecodeError, data: bytes) -> FileProblem:
    """What the scanner of the standard library takes and msgspec does not is half of a surrogate pair."""
    byte = re.search(r"\(byte (\d+)\)", str(error))
    place = line_of(before := data[: int(byte[1])].decode(errors="replace"), len(before)) if byte else ""
    return FileProblem(r"a text holds half of a pair of \u escapes", place, "both halves")


def _listed(wrong: tuple[Problem, ...], text: str) -> FileProblem:
    shown = wrong[: limits.LISTED]
    where = positions(text, [problem.path for problem in shown])
    first, *others = [
        FileProblem(problem.message, f"{line_of(text, where[problem.path])}, {problem.path}", problem.expected)
        for problem in shown
    ]
    if len(wrong) > len(shown):
        others.append(FileProblem(f"and {len(wrong) - len(shown):,} problems more"))
    return FileProblem(first.message, first.location, first.expected, tuple(others))


def _named(problem: FileProblem, name: str) -> FileProblem:
    if not name:
        return problem
    location = f"{name}, {problem.location}" if problem.location else name
    return FileProblem(problem.message, location, problem.expected, problem.others)
