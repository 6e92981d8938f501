"""All papers into a folder: everything or nothing, with progress, and to be stopped."""

import errno
import subprocess
import sys
import time
from io import StringIO
from pathlib import Path
from typing import Any

import pytest

from core import cli
from core.errors import FileProblem, Stopped
from core.exports import papers as exports
from core.exports.papers import write_papers
from tests.helpers.results import analysis

NAMES = ("cut-list", "fuse-map", "fold-out")
DATE = "25 Nov 2026"


def test_progress_tells_every_paper_in_its_order(tmp_path: Path) -> None:
    told: list[tuple[str, int, int]] = []

    def tell(*step: Any) -> bool:
        told.append(step)
        return False

    written = write_papers(analysis(4), tmp_path, NAMES, DATE, progress=tell)
    assert {path.name for path in written.files} >= {"cut-list.pdf", "fuse-map.xlsx", "fold-out.dxf"}
    assert [what for what, _, _ in told[:4]] == ["Cut list", "Fuse map", "Fold-out plan", "PDF files"]
    done = [step for _, step, _ in told]
    assert done == sorted(done)
    assert (done[0], told[-1][1]) == (0, 2 * len(NAMES))
    assert {of for _, _, of in told} == {2 * len(NAMES)}


@pytest.mark.parametrize("after", [0, 2, 3, 5])
def test_stopping_leaves_nothing_behind_and_the_old_files_whole(tmp_path: Path, after: int) -> None:
    """At any step: before the first paper, between two, and while the child makes PDFs."""
    out = tmp_path / "papers"
    out.mkdir()
    (out / "cut-list.pdf").write_bytes(b"old")
    calls = 0

    def tell(*_: Any) -> bool:
        nonlocal calls
        calls += 1
        return calls > after

    with pytest.raises(Stopped, match="nothing was written"):
        write_papers(analysis(4), out, NAMES, DATE, progress=tell)
    assert [path.name for path in out.iterdir()] == ["cut-list.pdf"]
    assert (out / "cut-list.pdf").read_bytes() == b"old"


def test_a_full_disk_is_told_and_nothing_is_half_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    out = tmp_path / "papers"
    write = Path.write_bytes

    def full(self: Path, data: bytes) -> int:
        if self.suffix == ".xlsx":
            write(self, data[:10])
            raise OSError(errno.ENOSPC, "No space left on device", str(self))
        return write(self, data)

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(FileProblem, match="No space left on device"):
        write_papers(analysis(4), out, NAMES, DATE)
    assert not out.exists()


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="the device that is always full is there on Linux only")
def test_a_disk_that_is_full_for_the_pdf_is_told(qapp: Any) -> None:
    from app.fonts import load_fonts
    from app.render.pdf import write_pdf
    from app.theme import Theme
    from core.pages.imprint import imprint
    from core.pages.papers import PAPERS

    load_fonts()
    made = analysis(40)
    with pytest.raises(FileProblem, match="enough room on the disk"):
        write_pdf(Path("/dev/full"), PAPERS["cut-list"](made, imprint(made.plan, DATE)), Theme("print"))


def test_a_folder_that_is_a_file_is_told(tmp_path: Path) -> None:
    (tmp_path / "papers").write_text("mine")
    with pytest.raises(FileProblem, match="cannot be written"):
        write_papers(analysis(4), tmp_path / "papers", NAMES, DATE)
    assert (tmp_path / "papers").read_text() == "mine"


def test_a_child_that_hangs_is_ended(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A child that would sleep for a minute: whoever waits is told at once, and it does not live on."""
    children: list[subprocess.Popen[bytes]] = []
    start = subprocess.Popen

    def sleeper(_: object, **streams: Any) -> "subprocess.Popen[bytes]":
        children.append(start([sys.executable, "-c", "import time; time.sleep(60)"], **streams))
        return children[-1]

    monkeypatch.setattr(exports.subprocess, "Popen", sleeper)
    monkeypatch.setattr(exports, "CHILD_SECONDS", 0.2)
    before = time.monotonic()
    with pytest.raises(FileProblem, match="was stopped"):
        write_papers(analysis(4), tmp_path / "out", NAMES, DATE)
    assert time.monotonic() - before < 30
    assert [child.poll() is not None for child in children] == [True]
    assert not (tmp_path / "out").exists()


def test_the_command_tells_a_terminal_how_far_it_is_and_a_program_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    class Terminal(StringIO):
        def isatty(self) -> bool:
            return True

    for stream, said in ((Terminal(), "1 of 4  Wires"), (StringIO(), "")):
        monkeypatch.setattr(sys, "stderr", stream)
        assert not cli._told("Wires", 1, 4)
        assert stream.getvalue().strip() == said
