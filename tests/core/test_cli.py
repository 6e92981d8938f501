"""The command: what it says, what it writes, and its exit code."""

import json
import os
import subprocess
import sys
from pathlib import Path

import msgspec
import pypdfium2
import pytest

import core
from core import cli
from core.analysis.engine import analyse
from core.errors import FileProblem
from core.exports import papers as exports
from core.exports.papers import QT_MISSING, write_papers
from core.files.codec import encode
from core.files.library import load_library
from core.model import ProfileUse
from core.pages.papers import PAPERS
from core.tables.all import TABLES
from tests.helpers.results import analysis
from tests.helpers.sheet_van import van

ROOT = Path(core.__file__).resolve().parent.parent


@pytest.fixture(scope="module")
def plan_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("plans") / "my van.loomplan"
    file.write_bytes(encode(van()))
    return file


def test_check_as_json_says_what_the_analysis_found(plan_file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = analyse(van(), load_library()).findings
    code = cli.main(["check", str(plan_file), "--json"])
    said = capsys.readouterr()
    document = json.loads(said.out)
    assert said.err == ""
    assert sum(document["counts"].values()) == len(found)
    assert code == (1 if document["counts"]["error"] else 0)
    assert {f.code for f in found if not f.waived} == {row["code"] for row in document["findings"]}


def test_check_exits_with_1_only_for_errors(
    plan_file: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    made = analysis(12)
    monkeypatch.setattr(cli, "_analysed", lambda _: made)
    assert cli.main(["check", str(plan_file)]) == 1
    assert "ERROR (route.none): W12 has no route" in capsys.readouterr().out
    only = tuple(f for f in made.findings if f.severity != "error" or f.waived)
    object.__setattr__(made, "findings", only)
    assert cli.main(["check", str(plan_file)]) == 0, "a waived error is no error"
    assert "0 errors, 1 warning, 0 notes, 1 waived." in capsys.readouterr().out


def test_tables_as_json_and_as_text(plan_file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["tables", str(plan_file), "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["wires"]
    cut = sum({row["wire"]: row["cut_mm"] for row in document["wires"] if row["cut_mm"]}.values())
    assert cut == pytest.approx(document["totals"]["cut_mm"], abs=0.01 * len(document["wires"]))
    assert cli.main(["tables", str(plan_file)]) == 0
    text = capsys.readouterr().out
    assert "CUT LIST" in text
    assert "CIRCUIT SCHEDULE" in text


def test_schema_is_a_json_schema(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["schema"]) == 0
    schema = json.loads(capsys.readouterr().out)
    assert schema["$schema"].startswith("https://json-schema.org/")
    assert "Plan" in schema["$defs"]


def test_papers_writes_every_paper_and_leaves_nothing_else(plan_file: Path, tmp_path: Path) -> None:
    out = tmp_path / "new" / "for the shop"
    child = subprocess.run(
        [sys.executable, "-m", "core", "papers", str(plan_file), "--out", str(out)],
        cwd=ROOT, capture_output=True, timeout=120, text=True,
    )  # fmt: skip
    assert (child.returncode, child.stderr) == (0, "")
    expected = {f"{name}.pdf" for name in PAPERS} | {"fold-out.svg", "fold-out.dxf"}
    expected |= {f"{name}{suffix}" for name in TABLES for suffix in (".csv", ".xlsx")}
    assert {path.name for path in out.iterdir()} == expected
    assert {Path(line).name for line in child.stdout.splitlines()} == expected
    for pdf in out.glob("*.pdf"):
        document = pypdfium2.PdfDocument(pdf)
        assert len(document) >= 1
        document.close()


def test_only_what_is_named_is_written(plan_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["papers", str(plan_file), "--out", str(tmp_path), "--only", "cut-list", "cut-list"]) == 0
    assert {path.name for path in tmp_path.iterdir()} == {"cut-list.pdf", "cut-list.csv", "cut-list.xlsx"}
    capsys.readouterr()
    assert cli.main(["papers", str(plan_file), "--out", str(tmp_path / "x"), "--only", "cutlist"]) == 2
    said = capsys.readouterr().err
    assert "cutlist" in said
    assert "fold-out" in said
    assert not (tmp_path / "x").exists()


def test_without_qt_the_rest_is_written_and_it_says_so(
    plan_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A `PySide6` that cannot be imported stands before the real one on the child's path."""
    (tmp_path / "hide" / "PySide6").mkdir(parents=True)
    (tmp_path / "hide" / "PySide6" / "__init__.py").write_text("raise ImportError('hidden by a test')")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path / "hide"))
    out = tmp_path / "out"
    assert cli.main(["papers", str(plan_file), "--out", str(out), "--only", "cut-list", "fold-out"]) == 2
    said = capsys.readouterr()
    assert "No PDFs were made" in said.err
    assert "Traceback" not in said.err
    assert {path.suffix for path in out.iterdir()} == {".csv", ".xlsx", ".svg", ".dxf"}


def test_a_child_that_breaks_leaves_the_old_papers_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / "cut-list.csv").write_text("old")
    broken = tmp_path / "python"
    broken.write_text("#!/bin/sh\necho 'the printer ink is sad' >&2\nexit 5\n")
    broken.chmod(0o755)
    monkeypatch.setattr(exports.sys, "executable", str(broken))
    with pytest.raises(FileProblem, match="the printer ink is sad"):
        write_papers(analysis(4), out, ["cut-list"], "25 Nov 2026")
    assert [path.name for path in out.iterdir()] == ["cut-list.csv"]
    assert (out / "cut-list.csv").read_text() == "old"
    with pytest.raises(FileProblem):
        write_papers(analysis(4), tmp_path / "made" / "here", ["cut-list"], "25 Nov 2026")
    assert not (tmp_path / "made").exists()
    assert QT_MISSING == 3


@pytest.mark.parametrize("kind", ["a file", "under a file", "taken name"])
def test_a_folder_that_cannot_be_written_is_a_sentence(
    kind: str, plan_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Not by permissions: the tests may run as root, whom nothing is forbidden."""
    (tmp_path / "file").write_text("mine")
    out = {"a file": tmp_path / "file", "under a file": tmp_path / "file" / "x", "taken name": tmp_path / "out"}[kind]
    if kind == "taken name":
        (out / "cut-list.pdf").mkdir(parents=True)
    assert cli.main(["papers", str(plan_file), "--out", str(out), "--only", "cut-list"]) == 2
    said = capsys.readouterr()
    assert str(out) in said.err
    assert len(said.err.splitlines()) == 1
    assert (tmp_path / "file").read_text() == "mine"
    if kind == "taken name":
        assert [path.name for path in out.iterdir()] == ["cut-list.pdf"], "nothing half-written"


@pytest.mark.parametrize("command", ["check", "tables", "papers"])
@pytest.mark.parametrize(
    ("data", "where"),
    [
        (b"", "bad.loomplan"),
        (b'{"format": 1, "id": "p", "name": ', "line 1"),
        (b'{"format": 99}', "format"),
        (b'{"format": 1, "id": "p", "name": "n", "profile": {"id": "van-metric", "version": 1}}', "$.profile.version"),
        (b"[" * 100_000, "bad.loomplan"),
        (b'{"format": 1, "format": 1}', "format"),
        (b'{"format": NaN}', "NaN"),
        (b"\x00" * 4096, "bad.loomplan"),
    ],
)
def test_a_bad_file_is_told_with_its_place(
    command: str, data: bytes, where: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "bad.loomplan"
    file.write_bytes(data)
    more = ["--out", str(tmp_path / "out")] if command == "papers" else []
    assert cli.main([command, str(file), *more]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert where in said.err
    assert "Traceback" not in said.err
    assert not (tmp_path / "out").exists()
    assert file.read_bytes() == data


def test_a_missing_file_and_a_folder_are_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["check", str(tmp_path / "none.loomplan")]) == 2
    assert "none.loomplan" in capsys.readouterr().err
    assert cli.main(["check", str(tmp_path)]) == 2
    assert "folder" in capsys.readouterr().err


def test_an_unknown_profile_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "p.loomplan"
    file.write_bytes(encode(msgspec.structs.replace(van(), profile=ProfileUse(id="moon", version="1"))))
    assert cli.main(["check", str(file)]) == 2
    assert "moon" in capsys.readouterr().err


def test_wrong_usage_is_exit_code_2(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main([]) == 2
    assert cli.main(["paint"]) == 2
    assert cli.main(["papers", "x.loomplan"]) == 2
    assert "usage" in capsys.readouterr().err
    assert cli.main(["--version"]) == 0


def test_a_mistake_of_ours_is_a_sentence_too(
    plan_file: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(file: Path) -> None:
        raise ZeroDivisionError("of the engine")

    monkeypatch.setattr(cli, "_analysed", fail)
    assert cli.main(["check", str(plan_file)]) == 2
    said = capsys.readouterr().err
    assert "mistake of Loomwright" in said
    assert "Traceback" not in said
    monkeypatch.setenv(cli.TRACEBACK, "1")
    cli.main(["check", str(plan_file)])
    assert "Traceback" in capsys.readouterr().err


def test_a_reader_that_goes_away_does_no_harm(plan_file: Path) -> None:
    reader, writer = os.pipe()
    os.close(reader)
    child = subprocess.run(
        [sys.executable, "-m", "core", "tables", str(plan_file), "--json"],
        cwd=ROOT, stdout=writer, stderr=subprocess.PIPE, timeout=60,
    )  # fmt: skip
    os.close(writer)
    assert b"Traceback" not in child.stderr
    assert b"Exception ignored" not in child.stderr


def test_papers_on_the_paper_and_the_labels_that_are_asked_for(
    plan_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Letter is 8.5 by 11 inches (612 by 792 points); a wrong sheet or label is a sentence and leaves nothing."""
    asked = ["papers", str(plan_file), "--out", str(tmp_path / "a"), "--only", "labels", "pull-cards"]
    assert cli.main([*asked, "--paper", "Letter", "--no-qr", "--label-style", "wrap", "--first-label", "3"]) == 0
    for name in ("labels", "pull-cards"):
        document = pypdfium2.PdfDocument(tmp_path / "a" / f"{name}.pdf")
        wide, high = document[0].get_size()
        document.close()
        assert (wide, high) == (pytest.approx(612, abs=1), pytest.approx(792, abs=1))
    capsys.readouterr()
    for wrong, said in ((("--labels", "a4-66"), "a4-65"), (("--first-label", "99"), "1 to")):
        out = tmp_path / "none"
        assert cli.main(["papers", str(plan_file), "--out", str(out), "--only", "labels", *wrong]) == 2
        assert said in capsys.readouterr().err
        assert not out.exists()
