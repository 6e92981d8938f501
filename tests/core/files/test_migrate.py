"""Older formats come up step by step; newer ones are refused kindly."""

import json
from pathlib import Path
from typing import Any

import pytest

from core.analysis.engine import analyse
from core.edits.start import new_plan
from core.errors import FileProblem
from core.files import decode, encode, migrate, read_plan
from core.files.library import load_library
from core.files.schema import schema
from core.model import FORMAT


def from_zero(document: dict[str, Any]) -> dict[str, Any]:
    """An invented format 0: the plan's name was its title, and walls had widths and heights instead of corners."""
    document["name"] = document.pop("title")
    for wall in document.get("surfaces", []):
        width, height = wall.pop("width_mm"), wall.pop("height_mm")
        points = [(0, 0), (width, 0), (width, height), (0, height)]
        wall["corners"] = [{"id": f"c{number}", "at_mm": at} for number, at in enumerate(points)]
    return document


OLD = {
    "format": 0,
    "id": "p",
    "title": "old van",
    "profile": {"id": "van-metric", "version": "1"},
    "surfaces": [{"id": "floor", "name": "floor", "width_mm": 1700, "height_mm": 3000}],
}


def test_an_old_file_opens_in_the_present_format(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(migrate.STEPS, 0, from_zero)
    plan = decode(json.dumps(OLD).encode())
    assert (plan.format, plan.name) == (FORMAT, "old van")
    assert plan.surfaces[0].corners[2].at_mm == (1700.0, 3000.0)


def test_what_an_old_file_lacks_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(migrate.STEPS, 0, from_zero)
    damaged = OLD | {"title": "t", "surfaces": [{"id": "floor", "name": "floor", "width_mm": 1}]}
    with pytest.raises(FileProblem, match=r"format 0 cannot be brought up to format 1: it is damaged .KeyError"):
        decode(json.dumps(damaged).encode())
    dangling = OLD | {"ribs": [{"id": "r", "surface": "roof", "line_mm": [[0, 0], [1, 1]], "width_mm": 4}]}
    with pytest.raises(FileProblem, match=r"\$\.ribs\[0\]\.surface: there is no 'roof' in surfaces"):
        decode(json.dumps(dangling).encode())


def test_steps_run_in_order_and_the_number_is_kept_up() -> None:
    def step(document: dict[str, Any]) -> dict[str, Any]:
        return document | {"seen": [*document["seen"], document["format"]]}

    steps = dict.fromkeys((1, 2, 3), step)
    assert migrate.upgrade({"format": 1, "seen": []}, 1, steps, present=4) == {"format": 4, "seen": [1, 2, 3]}


def test_a_hole_in_the_steps_and_a_newer_format_are_refused() -> None:
    with pytest.raises(FileProblem, match="there never was a format 2"):
        migrate.upgrade({"format": 1}, 1, {1: lambda document: document}, present=4)
    with pytest.raises(FileProblem, match="a newer Loomwright, in format 5"):
        migrate.upgrade({"format": 5}, 5, {}, present=4)


def test_there_is_a_step_for_every_format_before_this_one() -> None:
    assert set(migrate.STEPS) == set(range(1, FORMAT))


# --- a sample of every format that ever was, never changed after its release -----------------------------------------

KEPT = sorted((Path(__file__).resolve().parents[2] / "data" / "formats").glob("*.loomplan"))


def test_a_sample_of_every_format_is_kept() -> None:
    assert {int(path.stem.partition("-")[0]) for path in KEPT} == set(range(1, FORMAT + 1))


@pytest.mark.parametrize("path", KEPT, ids=lambda path: path.stem)
def test_a_kept_sample_opens_whole_and_is_written_in_the_present_format(path: Path) -> None:
    told = json.loads(path.read_bytes())
    plan = read_plan(path)
    assert plan.format == FORMAT
    assert plan.name == told["name"]
    # nothing of it is passed over
    for collection, rows in told.items():
        if isinstance(rows, list) and rows and isinstance(rows[0], dict) and "id" in rows[0]:
            assert [record.id for record in getattr(plan, collection)] == [row["id"] for row in rows], collection
    assert decode(encode(plan)) == plan
    assert len(analyse(plan, load_library(), "quick").wires) > 20


def test_what_a_file_leaves_out_means_what_it_meant_when_it_was_written() -> None:
    """The writer leaves out what is at its default, so a default is part of the format: where one has to change, raise
    FORMAT and let a step write the old one into older plans, or let `new_plan` say the new one. The table holds what
    the fields of a format meant; add those that are new to it."""
    told = json.loads((KEPT[0].parent / f"left-out-{FORMAT}.json").read_text(encoding="utf-8"))
    now = {
        f"{record}.{field}": rule["default"]
        for record, row in schema()["$defs"].items()
        for field, rule in row.get("properties", {}).items()
        if "default" in rule
    }
    assert {name: now.get(name, "a value that has to be there") for name in told} == told


def test_a_plan_from_before_drip_loops_keeps_its_cuts_and_a_new_one_hangs_loops() -> None:
    """The first plans knew the field and left it at no loop; later ones say the loop they are cut with."""
    assert read_plan(KEPT[0].with_name("1-first.loomplan")).assumptions.drip_loop_mm == 0.0
    new = new_plan(load_library(), "Weekender", "van-metric")
    assert b'"drip_loop_mm": 100' in encode(new)
    assert decode(encode(new)).assumptions.drip_loop_mm == 100.0


def test_a_newer_file_is_refused_kindly_before_anything_else_is_said(tmp_path: Path) -> None:
    """What a newer program writes need not look like a plan of ours at all."""
    newer = tmp_path / "van.loomplan"
    newer.write_text(json.dumps({"format": FORMAT + 1, "vehicle": {"walls": []}, "name": 5}))
    with pytest.raises(FileProblem) as caught:
        read_plan(newer)
    told = str(caught.value)
    assert f"saved by a newer Loomwright, in format {FORMAT + 1}" in told
    assert "open it with the newer program" in told
    assert caught.value.others == ()
