"""Plan files: what is written can be read, is readable, and what cannot be read says where and why."""

import errno
import json
import random
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.errors import FileProblem
from core.files import decode, encode, limits, read_plan
from core.files.scan import positions, scan
from core.model import FORMAT, Corner, Plan, ProfileUse, Surface
from tests.helpers.plans import plans, random_plan

HEAD = '{"format": 1, "id": "p", "name": "van", "profile": {"id": "van-metric", "version": "1"}'


def plan_text(more: str = "") -> bytes:
    return (HEAD + (", " + more if more else "") + "}").encode()


def refused(data: bytes, name: str = "") -> FileProblem:
    with pytest.raises(FileProblem) as caught:
        decode(data, name)
    return caught.value


# --- writing and reading -----------------------------------------------------------------------------------------


@given(plans())
def test_what_is_written_is_read(plan: Plan) -> None:
    data = encode(plan)
    again = decode(data)
    assert again == plan
    assert encode(again) == data


def test_a_file_is_json_with_the_format_first_and_a_newline_last() -> None:
    data = encode(random_plan(1, 2))
    assert json.loads(data)["format"] == FORMAT
    assert next(iter(json.loads(data))) == "format"
    assert data.startswith(b'{\n  "format": 1,\n')
    assert data.endswith(b"}\n")
    assert b"\r" not in data


def plan_with_wall(*corners_mm: tuple[float, float]) -> Plan:
    corners = tuple(Corner(id=f"corner-{number}", at_mm=at_mm) for number, at_mm in enumerate(corners_mm))
    wall = Surface(id="wall", name="vehicle left wall", corners=corners)
    return Plan(format=FORMAT, id="p", name="van", profile=ProfileUse(id="v", version="1"), surfaces=(wall,))


def test_points_and_small_records_stand_on_one_line_and_whole_numbers_have_no_point() -> None:
    lines = encode(plan_with_wall((0.0, 0.0), (3000.0, 0.5), (3000.0, 1700.0), (0.0, 1700.0))).decode().splitlines()
    assert '        {"id": "corner-1", "at_mm": [3000, 0.5]},' in lines
    assert '  "profile": {"id": "v", "version": "1"},' in lines


def test_a_moved_corner_changes_one_line_of_the_file() -> None:
    before = encode(plan_with_wall((0.0, 0.0), (3000.0, 0.0), (3000.0, 1700.0), (0.0, 1700.0))).splitlines()
    after = encode(plan_with_wall((0.0, 0.0), (3000.0, 0.0), (2987.5, 1710.0), (0.0, 1700.0))).splitlines()
    assert [(a, b) for a, b in zip(before, after, strict=True) if a != b] == [
        (b'        {"id": "corner-2", "at_mm": [3000, 1700]},', b'        {"id": "corner-2", "at_mm": [2987.5, 1710]},')
    ]


def test_half_a_surrogate_pair_typed_by_a_broken_clipboard_is_replaced_and_not_lost_with_the_file() -> None:
    plan = Plan(format=FORMAT, id="p", name="van\ud83d", profile=ProfileUse(id="v", version="1"))
    assert decode(encode(plan)).name == "van\ufffd"


def test_a_byte_order_mark_is_tolerated() -> None:
    assert decode(b"\xef\xbb\xbf" + plan_text()) == decode(plan_text())


# --- values that do not fit --------------------------------------------------------------------------------------


NODE = '"nodes": [{"id": "n", "place": {"place": "surface", "surface": "s", "at_mm": [0, %s]}}]'


@pytest.mark.parametrize(
    ("more", "path", "message", "expected"),
    [
        (
            '"surfaces": [{"id": "s", "name": "w", "corners": [{"id": "a", "at_mm": [0, "1"]}]}]',
            "$.surfaces[0].corners[0].at_mm[1]",
            "the text '1'",
            "a number",
        ),
        (
            '"surfaces": [{"id": "s", "name": "w", "corners": [{"id": "a", "at_mm": [0, 1, 2]}]}]',
            "$.surfaces[0].corners[0].at_mm",
            "a list of 3",
            "a list of 2 values",
        ),
        (
            '"surfaces": [{"id": "s", "name": "w", "material": "gold", "corners": []}]',
            "$.surfaces[0].material",
            "'gold'",
            "plywood, steel",
        ),
        (
            '"surfaces": [{"id": "s", "name": "w", "thickness_mm": -1, "corners": []}]',
            "$.surfaces[0].thickness_mm",
            "-1",
            ">= 0",
        ),
        ('"surfaces": [{"id": "", "name": "w", "corners": []}]', "$.surfaces[0].id", "''", "at least 1 characters"),
        ('"surfaces": [{"id": "s", "corners": []}]', "$.surfaces[0]", "'name' is missing", "a text"),
        ('"surfaces": [{"id": "s", "name": "w", "corner": []}]', "$.surfaces[0].corner", "is not known", "corners"),
        ('"surfaces": {}', "$.surfaces", "a record", "a list of records"),
        ('"surfaces": [7]', "$.surfaces[0]", "the number 7", "a record"),
        (
            '"nodes": [{"id": "n", "place": {"at_mm": [0, 0]}}]',
            "$.nodes[0].place",
            "'place' is missing",
            "surface, line, penetration",
        ),
        (
            '"nodes": [{"id": "n", "place": {"place": "air"}}]',
            "$.nodes[0].place.place",
            "'air'",
            "surface, line, penetration",
        ),
        ('"assumptions": {"ambient_c": 1e999}', "$.assumptions.ambient_c", "beyond all measure", "a number <= "),
        (NODE % "1e999", "$.nodes[0].place.at_mm", "not finite", "a finite number"),
        (NODE % "1e12", "$.nodes[0].place.at_mm", "1e+12", "at most 1e+09"),
        ('"assumptions": {"ambient_c": 1' + "0" * 350 + "}", "$.assumptions.ambient_c", "", ""),
        ('"assumptions": {"ambient_c": true}', "$.assumptions.ambient_c", "true", "a number"),
        ('"images": [{"id": "i", "media_type": "image/png", "data": "%%"}]', "$.images[0].data", "damaged", "base64"),
        (
            '"variants": [{"id": "v", "name": "b", "plan": {"format": 1, "id": "q", "name": 5}}]',
            "$.variants[0].plan.name",
            "the number 5",
            "a text",
        ),
        ('"colour": "red"', "$.colour", "'colour' is not known", ""),
    ],
)
def test_a_value_that_does_not_fit_is_told_with_its_path(more: str, path: str, message: str, expected: str) -> None:
    problem = refused(plan_text(more), "a.loomplan")
    assert problem.location.startswith("a.loomplan, line 1, column ")
    assert problem.location.endswith(f", {path}")
    assert message in problem.message
    assert expected in problem.expected
    assert "`" not in str(problem), "a library's own text shows through"


def test_the_line_and_column_are_those_of_the_value() -> None:
    data = plan_text('"surfaces": [\n  {"id": "s", "name": "w",\n   "corners": [{"id": "a",\n"at_mm": [0, "1"]}]}]')
    assert refused(data).location == "line 4, column 14, $.surfaces[0].corners[0].at_mm[1]"


def test_every_faulty_record_is_told_and_not_only_the_first() -> None:
    problem = refused(plan_text('"surfaces": [{"id": 1}, {"id": 2}], "nodes": [{"id": 3}], "note": 4'))
    paths = [problem.location.split(", ")[-1], *(other.location.split(", ")[-1] for other in problem.others)]
    assert paths == ["$.note", "$.surfaces[0].id", "$.surfaces[1].id", "$.nodes[0].id"]


def test_a_thousand_faults_are_counted_and_not_all_listed() -> None:
    node = '{"id": "n%d", "place": {"place": "surface", "surface": "x", "at_mm": [0, 0]}}'
    nodes = ", ".join(node % number for number in range(1000))
    problem = refused(plan_text(f'"nodes": [{nodes}]'))
    assert len(problem.others) == limits.LISTED
    assert problem.others[-1].message == f"and {1000 - limits.LISTED} problems more"


# --- text that is no plan ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "the file is empty"),
        (b" \n\t ", "only blanks"),
        (b"[1, 2]", "starts with ["),
        (b"\x89PNG\r\n", "starts with the byte 0x89"),
        (b"\0" * 5000, "starts with the byte 0x00"),
        ("{}".encode("utf-16"), "UTF-16"),
        (b'{"format": 1,\n "id": "\xff"}', "line 2, byte 23: byte 0xff is no UTF-8 text"),
        (b"{'format': 1}", "no field name"),
        (b'{"format" 1}', "not followed by a colon"),
        (b'{"format": 1 "id": 2}', "line 1, column 14, at or after $.format: two values are not parted by a comma"),
        (b'{"format": 1}}', "something follows the end"),
        (b'{"format": 1, "id": "a\nb"}', "line break or control character"),
        (b'{"format": 1, "id": "a\\q"}', "a backslash that means nothing"),
        (b'{"format": 1, "id": "a\\uD8zz"}', "broken \\u escape"),
        (b'{"format": 1, "id": "a\\ud800"}', "half of a pair"),
        (b'{"format": 1, "id": nul}', "no value"),
        (b'{"format": 1, "x": ' + b"9" * 401 + b"}", "line 1, column 20, $.x: a number is too long"),
        (b'{"id": "p"}', "the format number is missing"),
        (b'{"format": "1"}', "no whole number"),
        (b'{"format": true}', "no whole number"),
        (b'{"format": 2}', "a newer Loomwright, in format 2"),
        (b'{"format": 0}', "there never was a format 0"),
        (b'{"format": -3}', "there never was a format -3"),
    ],
)
def test_what_is_no_plan_is_told(data: bytes, told: str) -> None:
    assert told in str(refused(data))


@pytest.mark.parametrize("word", ["NaN", "Infinity", "-Infinity"])
def test_numbers_that_are_none_are_told_with_their_path_all_of_them(word: str) -> None:
    problem = refused(plan_text(f'"assumptions": {{"ambient_c": {word},\n "conductor_c": {word}}}'))
    assert problem.location.endswith("$.assumptions.ambient_c")
    assert word in problem.message
    assert [other.location for other in problem.others] == ["line 2, column 17, $.assumptions.conductor_c"]


def test_a_key_twice_in_one_record_is_told_with_its_path_also_in_another_spelling() -> None:
    problem = refused(plan_text('"note": "a", "vehicle": {"note": "x", "n\\u006fte": "y"}, "note": "b"'))
    told = [str(problem), *map(str, problem.others)]
    assert [line.split(": ")[0].split(", ")[-1] for line in told] == ["$.vehicle.note", "$.note"]
    assert all("twice" in line for line in told)


def test_the_same_key_in_two_records_is_no_fault() -> None:
    assert decode(plan_text('"vehicle": {"note": "x"}, "customer": {"note": "y"}')).customer.note == "y"


DEEP: list[Callable[[int], bytes]] = [
    lambda depth: b'{"a":' * depth,
    lambda depth: b'{"a":' + b"[" * depth,
    lambda depth: b'{"a":' * depth + b"1" + b"}" * depth,
    lambda depth: plan_text('"note": ' + "[" * depth + "]" * depth),
]


@pytest.mark.parametrize("make", DEEP)
def test_nesting_a_hundred_thousand_deep_is_refused_at_once(make: Callable[[int], bytes]) -> None:
    data = make(100_000)
    start = time.perf_counter()
    problem = refused(data)
    assert time.perf_counter() - start < 0.5
    assert "more than 64 deep" in problem.message
    assert problem.location.startswith("line 1, column ")


def test_brackets_inside_texts_are_not_counted() -> None:
    note = "[" * 5000 + '\\"' + "{" * 5000
    assert decode(plan_text(f'"note": "{note}"')).note == "[" * 5000 + '"' + "{" * 5000


@pytest.mark.parametrize(
    ("filling", "told"),
    [
        (b"{}," * 1_000_002, "records"),
        (b"[]," * 4_000_002, "lists"),
        (b"1," * 5_000_002, "values"),
        (b'"",' * 10_000_002, "texts"),
        (b'\\"' * 20_000_002, "texts"),
    ],
)
def test_too_many_of_anything_is_refused_soon(filling: bytes, told: str) -> None:
    start = time.perf_counter()
    problem = refused(b'{"a": [' + filling)
    assert told in problem.message
    assert time.perf_counter() - start < 5


def test_200_mb_of_zeros_are_refused_before_they_are_read(tmp_path: Path) -> None:
    path = tmp_path / "zeros.loomplan"
    with path.open("wb") as file:
        file.truncate(200 * 1024 * 1024)
    start = time.process_time()  # a busy machine changes little
    with pytest.raises(FileProblem, match=r"zeros.loomplan: the file has 200.0 MB .expected a plan of at most 64 MB"):
        read_plan(path)
    assert time.process_time() - start < 0.1


@pytest.mark.parametrize("part", range(1, 50))
def test_a_truncated_file_says_where_it_ends(part: int) -> None:
    data = encode(random_plan(5, 2))
    cut = data[: len(data) * part // 50]
    problem = refused(cut, "van.loomplan")
    assert "van.loomplan, line " in problem.location
    ends = cut.decode(errors="ignore").rstrip().count("\n") + 1
    if "no UTF-8" not in problem.message:
        assert "the file ends too early, after $" in problem.message
        assert f"line {ends}," in problem.location


PIECES = (b'"', b"{", b"}", b"[", b"]", b",", b":", b"\\", b"NaN", b"-", b"9" * 30, b"null")


def outcome(data: bytes) -> Plan | FileProblem:
    """What `decode` comes to; anything else it raises fails the test."""
    try:
        return decode(data, "x")
    except FileProblem as problem:
        return problem


@given(st.integers(0, 2**32 - 1))
def test_random_changes_of_bytes_give_a_plan_or_a_problem(seed: int) -> None:
    rng = random.Random(seed)
    data = bytearray(encode(random_plan(seed % 7, 2)))
    for _ in range(rng.randint(1, 4)):
        at = rng.randrange(len(data))
        match rng.randrange(5):
            case 0:
                data[at] = rng.randrange(256)
            case 1:
                data[at:at] = rng.choice(PIECES)
            case 2:
                del data[at : at + rng.randint(1, 30)]
            case 3:
                end = min(len(data), at + rng.randint(1, 200))
                data[at:at] = data[at:end]
            case 4:
                data[at : at + 1] = bytes(str(rng.choice((-1, 0, 1e300, 10**25))), "ascii")
    came = outcome(bytes(data))
    if isinstance(came, FileProblem):
        assert came.message
        assert str(came).startswith("x")
    else:
        assert decode(encode(came)) == came


@given(st.binary(max_size=300), st.booleans())
def test_any_bytes_give_a_problem(data: bytes, in_object: bool) -> None:
    assert str(refused(b"{" + data if in_object else data))


ANY_JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
)


@given(ANY_JSON, st.sampled_from(["surfaces", "nodes", "assumptions", "variants", "circuits", "x"]))
def test_any_json_in_a_plan_gives_a_plan_or_a_problem(value: Any, field: str) -> None:
    document = json.loads(plan_text()) | {field: value}
    came = outcome(json.dumps(document).encode())
    assert isinstance(came, Plan) or "`" not in came.message or "`" in json.dumps(value)


# --- files -------------------------------------------------------------------------------------------------------


def test_a_plan_is_read_from_a_file(tmp_path: Path) -> None:
    plan = random_plan(3, 2)
    path = tmp_path / "mein Bus.loomplan"
    path.write_bytes(encode(plan))
    assert read_plan(path) == plan


def test_no_file_and_a_folder_are_told(tmp_path: Path) -> None:
    with pytest.raises(FileProblem, match="there is no such file"):
        read_plan(tmp_path / "none.loomplan")
    with pytest.raises(FileProblem, match="this is a folder"):
        read_plan(tmp_path)


@pytest.mark.skipif(sys.platform == "win32", reason="no such device there")
def test_a_device_that_never_ends_does_not_fill_the_memory() -> None:
    with pytest.raises(FileProblem, match="MB"):
        read_plan(Path("/dev/zero"))


def test_a_file_without_rights_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "mine.loomplan"
    path.write_bytes(plan_text())

    def denied(*_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, "Permission denied")  # root may read everything, so chmod would not do

    monkeypatch.setattr(Path, "open", denied)
    with pytest.raises(FileProblem, match="cannot be read: you may not read or write there"):
        read_plan(path)


# --- speed and the walk ------------------------------------------------------------------------------------------


def big_plan_bytes(records: int) -> bytes:
    node = '{"id": "n%d", "name": "node %d", "place": {"place": "surface", "surface": "s", "at_mm": [%d.25, 12.5]}}'
    return plan_text('"nodes": [' + ",\n".join(node % (i, i, i) for i in range(records)) + "]")


def test_the_scan_takes_little_longer_than_the_scanner_of_the_standard_library() -> None:
    data = big_plan_bytes(50_000)
    assert len(data) > 5_000_000

    def best(what: Callable[[], object]) -> float:
        times = []
        for _ in range(3):
            start = time.perf_counter()
            what()
            times.append(time.perf_counter() - start)
        return min(times)

    own, plain = best(lambda: scan(data)), best(lambda: json.loads(data))
    assert own < 3 * plain, f"scan {own:.3f} s, json.loads {plain:.3f} s"


def test_positions_of_missing_values_are_those_of_their_owner() -> None:
    text = '{"a": [1, {"b": 2}], "c": "}]"}'
    found = positions(text, ["$", "$.a[1].b", "$.a[1].x", "$.c", "$.d.e"])
    assert {path: text[at : at + 3] for path, at in found.items()} == {
        "$": '{"a',
        "$.a[1].b": "2}]",
        "$.a[1].x": '{"b',
        "$.c": '"}]',
        "$.d.e": '{"a',
    }
