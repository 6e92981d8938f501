"""Files and texts that went wrong, for every reader: `python3 -m tests.soak.fuzz [INPUTS] [SEED]`.

Each input is a sound one changed by a random number generator; its number and the seed make it again. A reader either
takes it or refuses it with a sentence of ours, and within a second. What a reader of plans takes is also written and
read again.
"""

import copy
import json
import random
import struct
import sys
import tempfile
import time
import zlib
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final, NamedTuple

import app.asks
import app.recovery
from app import settings
from core.edits.clipboard import copy_out, paste
from core.errors import EditRefused, FileProblem
from core.exports.delimited import read_rows
from core.exports.load_list import load_list_bytes, read_load_list
from core.files import open_lock, underlays
from core.files.codec import decode, encode
from core.files.library import load_library
from core.files.pictures import look_at_picture
from core.model import records
from core.resources import resource
from core.units import UnitProblem, read_current_a, read_length_mm, read_section
from tests.helpers.plans import random_plan
from tests.helpers.underlay_files import dxf, pdf
from tests.helpers.vans import shell
from tests.helpers.wired import wired
from tests.soak.fuzz_child import OneAfterTheOther

#: No input of this size may take longer.
SLOWEST_S = 1.0
#: What mutations put in: the numbers, texts and signs that readers stumble over.
WORDS: Final = (
    b"null", b"true", b"-0", b"1e999", b"-1e308", b"NaN", b"Infinity", b"9" * 400, b"9" * 5000, b"0.1e-400", b'""',
    b'"\\ud800"', b'"\\u0000"', b"[]", b"{}", b"[" * 70, b"{" * 70, b"\xff\xfe", b"\xef\xbb\xbf", b"\x00", b"\xc3\x28",
    b'"format": 99', b'"id": "s1"', b'"x": 1, "x": 2', b"\r\n", b";", b"\t", b'"', b"'", b"=1+1", b"\\", b",", b":",
    b"A" * 10_000, b"1,2", b"#", b"[[devices]]", b"1979-05-27", b"0x", b"+", b"1/0", b"\xe2\x80\xa8",
)  # fmt: skip
Read = Callable[[bytes], object]


class Target(NamedTuple):
    """A reader, sound inputs for it, and its share of all inputs."""

    name: str
    read: Read
    seeds: tuple[bytes, ...]
    share: float


def _plan(data: bytes) -> object:
    plan = decode(data, "fuzz.loomplan")
    assert decode(encode(plan)) == plan
    return plan


def _lengths(data: bytes) -> object:
    text = data.decode("utf-8", "replace")
    for read in (read_length_mm, read_current_a, read_section):
        try:
            read(text)
        except UnitProblem as problem:
            if not str(problem).strip():
                raise AssertionError("refused without a word") from problem
    return None


def _small_png() -> bytes:
    rows = b"".join(b"\0" + bytes(9) for _ in range(3))
    chunks = ((b"IHDR", struct.pack(">IIBBBBB", 3, 3, 8, 2, 0, 0, 0)), (b"IDAT", zlib.compress(rows)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body)) for kind, body in chunks
    )


#: Start of image, JFIF, a frame of 16 x 16, start of scan, end (ITU-T T.81 annex B).
_SMALL_JPEG: Final = bytes.fromhex(
    "ffd8ffe000104a46494600010100000100010000ffc0000b080010001001011100ffda0008010100003f00d2cf20ffd9"
)


def _draw(document: Any) -> None:
    space = document.modelspace()
    space.add_line((0, 0), (1_000, 0), dxfattribs={"layer": "WALL"})
    space.add_circle((200, 0), 40)
    block = document.blocks.new("HOLE")
    block.add_line((0, 0), (0, 10))
    space.add_blockref("HOLE", (70, 5), dxfattribs={"rotation": 90})


#: Drawings as short as can be, so that a change hits something.
_LINES: Final = (
    b"0\nSECTION\n2\nENTITIES\n0\nLINE\n8\nWALL\n10\n0.0\n20\n0.0\n11\n1000.0\n21\n50.0\n0\nARC\n8\n0\n10\n5.0\n20\n5.0\n"
    b"40\n30.0\n50\n0.0\n51\n90.0\n0\nENDSEC\n0\nEOF\n"
)
_POLYLINES: Final = (
    b"0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n5\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n0\nPOLYLINE\n8\n0\n66\n1\n70\n1\n"
    b"0\nVERTEX\n8\n0\n10\n0\n20\n0\n0\nVERTEX\n8\n0\n10\n90\n20\n0\n42\n0.5\n0\nVERTEX\n8\n0\n10\n90\n20\n70\n0\nSEQEND\n0\nENDSEC\n"
    b"0\nEOF\n"
)


class Readers:
    """All readers; a folder of theirs takes what has to be a file."""

    def __init__(self, folder: Path) -> None:
        van = wired()
        self._folder = folder
        self._van = van
        self.child = OneAfterTheOther()
        rows = [record.id for collection, record in records(van) if collection in ("ribs", "devices")]
        clips = copy_out(van, rows[-1:]), copy_out(van, rows[:2])
        plans = (encode(shell()), encode(random_plan(5, 1)), encode(random_plan(8, 2)), encode(van))
        note = json.dumps({"path": "/tmp/x", "name": "Van", "written": "2026"}).encode()
        lock = json.dumps({"pid": 1, "host": "h", "since": "s", "started": ""}).encode()
        toml = resource("wire_kinds.toml").read_bytes()[:3000], resource("profiles/van-metric.toml").read_bytes()[:2500]
        stored = json.dumps({"theme": "dark", "recent": ["/a"], "grid_mm": 5, "window": "AAAA"}).encode()
        self.targets: tuple[Target, ...] = (
            Target("plan", _plan, plans, 10),
            Target("plan by its parts", _plan, plans, 5),
            Target("library", self._library, toml, 4),
            Target("clipboard", self._clipboard, clips, 3),
            Target("load list", read_load_list, (load_list_bytes(van),), 3),
            Target("table", read_rows, (load_list_bytes(van), b"a;b\n1,5;2\n", "ä\tb\n".encode("utf-16")), 3),
            Target("picture", look_at_picture, (_small_png(), _SMALL_JPEG), 5),
            Target("settings", self._settings, (stored,), 1),
            Target("note of autosave", self._note, (note,), 1),
            Target("lock", self._lock, (lock,), 1),
            Target("typed lengths", _lengths, (b"2 ft 6 1/2 in", b"1,2 m + 30", b"850", b"12 AWG", b"4/0"), 4),
            Target("DXF", self._dxf, (_LINES, _POLYLINES, dxf(4, _draw, "R12")), 0.5),
            Target("PDF", self._pdf, (pdf(), pdf(b"1 w 0 0 m 9 9 l S q 2 0 0 2 0 0 cm Q")), 0.5),
            Target("request", self._request, (b'{"path": "/home/x/van.loomplan"}',), 1),
        )

    def close(self) -> None:
        self.child.close()

    @contextmanager
    def _asking_child(self) -> Iterator[None]:
        real, underlays._ask = underlays._ask, self.child.ask
        try:
            yield
        finally:
            underlays._ask = real

    def _dxf(self, data: bytes) -> object:
        with self._asking_child():
            return underlays.read_dxf(data)

    def _pdf(self, data: bytes) -> object:
        with self._asking_child():
            pages = underlays.pdf_pages(data)
            return underlays.pdf_picture(data, 0) if pages else pages

    def _request(self, data: bytes) -> object:
        return app.asks._read(self._file("request.json", data))

    def _file(self, name: str, data: bytes) -> Path:
        path = self._folder / name
        path.write_bytes(data)
        return path

    def _library(self, data: bytes) -> object:
        self._file("own.toml", data)
        library = load_library(self._folder)
        assert all(str(problem) for problem in library.problems)
        return library

    def _clipboard(self, data: bytes) -> object:
        plan, _ = paste(self._van, data, "s2", (1_500.0, 900.0))
        assert decode(encode(plan)) == plan
        return plan

    def _settings(self, data: bytes) -> object:
        return settings.load(self._file("settings.json", data))

    def _note(self, data: bytes) -> object:
        self._file("x.json", data)
        return app.recovery._read_note(self._folder / "x.loomplan")

    def _lock(self, data: bytes) -> object:
        plan = self._folder / "y.loomplan"
        open_lock.lock_path(plan).write_bytes(data)
        return str(open_lock.holder(plan))


def mutated(target: Target, number: int, seed: int) -> bytes:
    """Input `number` of a target: the same for the same seed."""
    rng = random.Random(f"{target.name} {seed} {number}")
    data = rng.choice(target.seeds)
    if target.name == "plan by its parts":
        return _shuffled(data, rng)
    for _ in range(rng.choice((1, 1, 2, 3, 8))):
        data = _changed(data, rng, target.seeds)
    return data


def _changed(data: bytes, rng: random.Random, seeds: tuple[bytes, ...]) -> bytes:
    at = rng.randrange(len(data) + 1)
    to = min(len(data), at + rng.choice((1, 1, 2, 4, 16, 200)))
    match rng.randrange(8):
        case 0:
            return data[:at] + bytes([rng.randrange(256)]) + data[at + 1 :]
        case 1:
            return data[:at] + data[to:]
        case 2:
            return data[:at] + rng.choice(WORDS) + data[at:]
        case 3:
            return data[:at] + rng.choice(WORDS) + data[to:]
        case 4:
            return data[:to] + data[at:to] * rng.choice((1, 3, 60)) + data[to:]
        case 5:
            return data[:at]
        case 6:
            other = rng.choice(seeds)
            cut = rng.randrange(len(other) + 1)
            return data[:at] + other[cut : cut + rng.choice((4, 50, 2_000))] + data[at:]
    flipped = bytearray(data)
    for _ in range(rng.randint(1, 6)):
        if flipped:
            flipped[rng.randrange(len(flipped))] ^= 1 << rng.randrange(8)
    return bytes(flipped)


_VALUES: Final = (
    None, True, 0, -1, 1e308, -1e9, 1e-300, "", "s1", "1", "x" * 300, [], {}, [0, 0], [[0, 0], [0, 0]], [1e9, -1e9]
)  # fmt: skip


def _shuffled(data: bytes, rng: random.Random) -> bytes:
    """A plan that is sound JSON, with values and records exchanged, left out and doubled."""
    plan = json.loads(data)
    for _ in range(rng.choice((1, 1, 2, 4))):
        holders: list[Any] = []
        _collect(plan, holders)
        holder = rng.choice(holders)
        keys = list(holder) if isinstance(holder, dict) else list(range(len(holder)))
        if not keys:
            continue
        key = rng.choice(keys)
        other = rng.choice(holders)
        match rng.randrange(5):
            case 0:
                holder[key] = rng.choice(_VALUES)
            case 1:
                del holder[key]
            case 2 if other:
                taken = rng.choice(list(other.values()) if isinstance(other, dict) else other)
                holder[key] = copy.deepcopy(taken)
            case 3 if isinstance(holder, list):
                holder.insert(rng.randrange(len(holder)), holder[key])
            case _:
                if isinstance(holder[key], int | float) and not isinstance(holder[key], bool):
                    holder[key] *= rng.choice((-1, 0, 1e3, 1e6, 1e-6))
    return json.dumps(plan).encode()


def _collect(value: Any, holders: list[Any]) -> None:
    if isinstance(value, dict | list):
        holders.append(value)
        for each in value.values() if isinstance(value, dict) else value:
            _collect(each, holders)


def one(target: Target, number: int, seed: int) -> tuple[str, float]:
    """(taken or refused, seconds). Raises AssertionError with how to make the input again."""
    data = mutated(target, number, seed)
    start = time.process_time()
    try:
        target.read(data)
        answer = "taken"
    except (FileProblem, EditRefused) as problem:
        answer = "refused" if str(problem).strip() else "refused without a word"
    except BaseException as error:
        raise AssertionError(
            f"{target.name}, input {number} of seed {seed}: {type(error).__name__}: {error}"
        ) from error
    spent = time.process_time() - start
    assert answer != "refused without a word", f"{target.name}, input {number} of seed {seed}"
    assert spent < SLOWEST_S, f"{target.name}, input {number} of seed {seed}: {spent:.1f} s"
    return answer, spent


def fuzz(inputs: int, seed: int) -> dict[str, tuple[Counter[str], float]]:
    """By target how many inputs were taken and refused, and the slowest of them in seconds."""
    found = {}
    with tempfile.TemporaryDirectory(prefix="loomwright-fuzz-") as folder:
        readers = Readers(Path(folder))
        shares = sum(target.share for target in readers.targets)
        for target in readers.targets:
            counts: Counter[str] = Counter()
            slowest_s = 0.0
            for number in range(int(inputs * target.share / shares)):
                answer, spent_s = one(target, number, seed)
                counts[answer] += 1
                slowest_s = max(slowest_s, spent_s)
            if target.name in ("DXF", "PDF"):
                slowest_s = readers.child.slowest_s
                readers.child.slowest_s = 0.0
            found[target.name] = counts, slowest_s
        readers.close()
        print(f"readers of DXF and PDF that took their process down: {readers.child.given_up}, "
              f"that raised: {readers.child.raised}")  # fmt: skip
    return found


if __name__ == "__main__":
    started = time.monotonic()
    result = fuzz(int(sys.argv[1]) if len(sys.argv) > 1 else 20_000, int(sys.argv[2]) if len(sys.argv) > 2 else 1)
    for name, (counts, slowest_s) in result.items():
        print(f"{name:18s} {counts.total():6,} inputs: {counts['taken']:6,} taken, {counts['refused']:6,} refused, "
              f"slowest {1e3 * slowest_s:4.0f} ms")  # fmt: skip
    print(f"{sum(c.total() for c, _ in result.values()):,} inputs in {time.monotonic() - started:.0f} s, none else")
