"""20,000 files and texts that went wrong, and the shapes that hang a careless program. Longer: tests/soak/fuzz.py."""

import json
import time
import tracemalloc
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from app import settings
from app.recovery import left_over
from core.analysis.engine import analyse
from core.errors import FileProblem
from core.files import limits
from core.files.codec import decode, encode
from core.files.library import load_library
from core.units import UnitProblem, read_current_a, read_length_mm
from tests.helpers.wired import wired
from tests.soak.fuzz import Readers, Target, one

INPUTS, SEED = 20_200, 1
NAMES = (
    "plan", "plan by its parts", "library", "clipboard", "load list", "table", "picture", "settings",
    "note of autosave", "lock", "typed lengths", "DXF", "PDF", "request",
)  # fmt: skip
SECONDS = 20.0


@pytest.fixture(scope="module")
def readers(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Readers]:
    made = Readers(tmp_path_factory.mktemp("fuzz"))
    yield made
    made.close()


def share_of(target: Target, readers: Readers) -> int:
    return int(INPUTS * target.share / sum(each.share for each in readers.targets))


def test_every_reader_is_tried(readers: Readers) -> None:
    assert tuple(target.name for target in readers.targets) == NAMES
    assert sum(share_of(target, readers) for target in readers.targets) >= 20_000


@pytest.mark.parametrize("name", NAMES)
def test_whatever_comes_is_taken_or_refused_in_words(readers: Readers, name: str) -> None:
    target = next(target for target in readers.targets if target.name == name)
    answers = set()
    for number in range(share_of(target, readers)):
        answers.add(one(target, number, SEED)[0])
    # a fuzzer whose inputs are all refused, or all taken, looks at the door only
    never = ("library", "settings", "note of autosave", "lock", "typed lengths", "request")
    assert answers == ({"taken"} if name in never else {"taken", "refused"})


# --- found by the fuzzer and kept ------------------------------------------------------------------------------------


@pytest.mark.parametrize("text", ["2 (", "12 ft6(", "1 m/0", "3 [", "5 **", "7 mm*()", "1 " + "(" * 60])
def test_no_typed_unit_is_evaluated_to_a_crash(text: str) -> None:
    for read in (read_length_mm, read_current_a):
        with pytest.raises(UnitProblem):
            read(text)


def test_a_number_of_5000_digits_in_an_own_library_is_told(tmp_path: Path) -> None:
    (tmp_path / "own.toml").write_text("[[devices]]\nwidth_mm = " + "9" * 5_000)
    (problem,) = load_library(tmp_path).problems
    assert "a number is too long" in str(problem)
    assert "own.toml" in str(problem)


def test_settings_and_notes_that_are_no_text_are_passed_over(tmp_path: Path) -> None:
    (tmp_path / "settings.json").write_bytes(b'{"theme": "\xff"}')
    assert settings.load(tmp_path / "settings.json") == settings.Settings()
    (tmp_path / "a.loomplan").write_bytes(encode(wired()))
    (tmp_path / "a.json").write_bytes(b'{"path": "\xff"}')
    (left,) = left_over(tmp_path)
    assert left.original is None


# --- what hangs a careless program -----------------------------------------------------------------------------------


def _document() -> dict[str, Any]:
    document: dict[str, Any] = json.loads(encode(wired()))
    return document


def _outlined(corners: list[tuple[float, float]]) -> bytes:
    document = _document()
    floor = document["surfaces"][0]
    floor["corners"] = [{"id": str(i), "at_mm": at} for i, at in enumerate(corners, 1)]
    return json.dumps(document).encode()


def _star(points: int) -> list[tuple[float, float]]:
    """Every corner across from the one before: as many crossings as can be."""
    half = points // 2
    return [(1_000.0 * (i % 2), 10.0 * ((i * half) % points)) for i in range(points)]


SHAPES = {
    "edges of no length": [(0.0, 0.0)] * 3 + [(3_000.0, 0.0)] * 3 + [(3_000.0, 1_700.0), (0.0, 1_700.0)],
    "all corners in one place": [(5.0, 5.0)] * 6,
    "all corners on one line": [(100.0 * i, 100.0 * i) for i in range(8)],
    "an outline that crosses itself": [(0.0, 0.0), (3_000.0, 1_700.0), (3_000.0, 0.0), (0.0, 1_700.0)],
    "an outline that crosses itself everywhere": _star(400),
    "an outline against the clock": [(0.0, 0.0), (0.0, 1_700.0), (3_000.0, 1_700.0), (3_000.0, 0.0)],
    "a thousand kilometres": [(0.0, 0.0), (1e9, 0.0), (1e9, 1e9), (0.0, 1e9)],
    "a hair": [(0.0, 0.0), (3_000.0, 0.0), (3_000.0, 1e-9), (0.0, 1e-9)],
}


@pytest.mark.parametrize("name", SHAPES)
def test_an_absurd_outline_is_refused_or_becomes_findings(name: str) -> None:
    start = time.process_time()
    try:
        plan = decode(_outlined(SHAPES[name]), "absurd.loomplan")
    except FileProblem as problem:
        assert "$.surfaces[0]" in str(problem)  # noqa: PT017 (taking it is the other good answer)
    else:
        analyse(plan, load_library(), "quick")
        assert decode(encode(plan)) == plan
    assert time.process_time() - start < SECONDS


def test_a_circle_of_folds_is_refused_with_its_chain() -> None:
    document = _document()
    walls = [s for s in document["surfaces"] if s.get("fold")]
    walls[0]["fold"]["parent"] = walls[-1]["id"]
    walls[0]["fold"]["parent_line"] = walls[-1]["fold"]["line"]
    walls[-1]["fold"]["parent"] = walls[0]["id"]
    walls[-1]["fold"]["parent_line"] = walls[0]["fold"]["line"]
    with pytest.raises(FileProblem, match=r"fold"):
        decode(json.dumps(document).encode())


def _many_nodes(count: int) -> bytes:
    document = _document()
    here = json.dumps(document["nodes"][0]["place"])
    rows = "".join(f', {{"id": "m{i}", "place": {here}}}' for i in range(count - len(document["nodes"])))
    document["nodes"].append("X")
    return json.dumps(document).replace(', "X"', rows).encode()


@pytest.mark.parametrize(
    ("make", "told"),
    [
        (lambda: _many_nodes(1_100_000), r"MB|records"),
        (lambda: b'{"format": 1, "name": "' + b"x" * 10_000_000 + b'"}', r"characters|name"),
        (lambda: encode(wired())[:-3] + b', "name": "' + b"y" * 10_000_000 + b'"}', r"twice|characters"),
        (lambda: b'{"format": 1, "notes": ' + b"[" * 10_000_000, r"deep|early"),
        (lambda: b'{"format": ' + b"9" * 10_000_000 + b"}", r"too long|digits"),
        (lambda: b'{"format": 1,' + b'"id": "a",' * 300_000 + b'"id": "a"}', r"twice|texts"),
    ],
    ids=[
        "a million nodes",
        "10 MB name",
        "10 MB doubled name",
        "10 MB of brackets",
        "10 MB number",
        "300,000 equal keys",
    ],
)
def test_a_huge_file_is_refused_soon_and_in_little_memory(make: Any, told: str) -> None:
    data = make()
    start = time.process_time()
    tracemalloc.start()
    try:
        with pytest.raises(FileProblem, match=told):
            decode(data, "huge.loomplan")
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert time.process_time() - start < SECONDS
    # the bytes, the text, and a few copies of it; never a multiple that a file could choose
    assert peak < 12 * limits.FILE_BYTES


def test_a_hundred_thousand_nodes_open() -> None:
    plan = decode(_many_nodes(100_000))
    assert len(plan.nodes) == 100_000
