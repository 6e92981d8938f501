"""All papers and exports of one plan into a folder: everything or nothing, the old files whole until the end."""

import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from msgspec.structs import replace

import core
from core.analysis.analysis import Analysis
from core.errors import FileProblem, Stopped
from core.exports.csv_file import csv_bytes
from core.exports.dxf_file import dxf_bytes
from core.exports.svg_file import svg_bytes
from core.exports.xlsx_file import xlsx_bytes
from core.pages.fold_out import sheet_drawing
from core.pages.imprint import imprint
from core.pages.job import PaperJob, RenderJob, encode_job
from core.pages.marks import Page
from core.pages.paper import Choices
from core.pages.papers import ABOUT, FOLD_OUT, PAPERS
from core.tables.all import TABLES

#: A PDF of a coach takes a second or two; a child that needs longer than this hangs.
CHILD_SECONDS = 300
#: How often it is asked whether to stop while PDFs are made.
POLL_S = 0.1
#: What `app.render` returns where Qt is missing or cannot start.
QT_MISSING = 3


@dataclass(frozen=True)
class Written:
    """The files that were written, and why there are no PDFs ("" when there are)."""

    files: tuple[Path, ...]
    without_pdf: str = ""


#: Is told how far it is: what is being made, how many steps are done, how many there are. True stops it.
Progress = Callable[[str, int, int], bool]


def write_papers(
    analysis: Analysis,
    out: Path,
    names: Sequence[str],
    date: str,
    choices: Choices | None = None,
    progress: Progress | None = None,
) -> Written:
    """Write the papers of these names (keys of PAPERS) into the folder `out`, which is made where it is missing.

    Everything is written beside first; a failure leaves `out` as it was. Where Qt is missing the rest is written and
    the result says so. `progress` is called on this thread between two papers and while PDFs are made. Raises
    FileProblem for a folder or a file that cannot be written, Stopped where `progress` said so.
    """
    about = replace(imprint(analysis.plan, date), choices=choices or Choices())
    told = _Told(progress, 2 * len(names))
    with _beside(out) as folder:
        pages: dict[str, tuple[Page, ...]] = {}
        for name in names:
            told.step(ABOUT[name].title)
            pages[name] = PAPERS[name](analysis, about)
            for suffix, data in _exports(name, analysis, pages[name]):
                (folder / f"{name}{suffix}").write_bytes(data)
        without_pdf = _render(folder, pages, told)
        told.end()
        return Written(_move(folder, out), without_pdf)


class _Told:
    """Counts the steps and tells them; raises Stopped where nobody wants to wait any more."""

    def __init__(self, progress: Progress | None, steps: int) -> None:
        self._progress, self._steps, self._done = progress, steps, 0

    def step(self, what: str) -> None:
        """`what` is begun."""
        self.waiting(what)
        self._done += 1

    def made(self, count: int) -> None:
        """So many PDFs are there, all others were made before."""
        self._done = self._steps // 2 + count
        self.waiting("PDF files")

    def end(self) -> None:
        self.made(self._steps // 2)

    def waiting(self, what: str) -> None:
        """Tell how far it is, and ask whether to stop."""
        if self._progress is not None and self._progress(what, self._done, self._steps):
            raise Stopped("The papers were stopped; nothing was written.")


def _exports(name: str, analysis: Analysis, pages: tuple[Page, ...]) -> Iterator[tuple[str, bytes]]:
    if name == FOLD_OUT:
        yield ".svg", svg_bytes(pages[0])
        yield ".dxf", dxf_bytes(sheet_drawing(analysis))
        return
    if name not in TABLES:
        return
    table = TABLES[name](analysis)
    yield ".csv", csv_bytes(table)
    yield ".xlsx", xlsx_bytes([table], f"{table.title} – {analysis.plan.name}")


@contextmanager
def _beside(out: Path) -> Iterator[Path]:
    """A folder in `out` that nobody sees in the end; `out` itself goes too when it was made here and nothing came."""
    made = [folder for folder in (out, *out.parents) if not folder.exists()]
    try:
        out.mkdir(parents=True, exist_ok=True)
        folder = Path(tempfile.mkdtemp(prefix=".loomwright-", dir=out))
    except OSError as error:
        _remove(made)
        raise FileProblem(f"the folder cannot be written: {error.strerror}", str(out)) from error
    try:
        yield folder
    except OSError as error:
        raise FileProblem(f"writing failed: {error.strerror}", str(error.filename or out)) from error
    finally:
        shutil.rmtree(folder, ignore_errors=True)
        _remove(made)


def _remove(folders: Sequence[Path]) -> None:
    """Remove these folders, inner ones first, as far as they are empty."""
    for folder in folders:
        try:
            folder.rmdir()
        except OSError:
            return


def _render(folder: Path, pages: dict[str, tuple[Page, ...]], told: _Told) -> str:
    """Have the child make the PDFs; returns why there are none. Raises FileProblem when it fails otherwise, Stopped."""
    job = RenderJob(
        papers=tuple(
            PaperJob(path=str(folder / f"{name}.pdf"), title=made[0].title, pages=made) for name, made in pages.items()
        )
    )
    root = str(Path(core.__file__).resolve().parent.parent)
    search = os.pathsep.join(filter(None, (root, os.environ.get("PYTHONPATH", ""))))
    environment = {**os.environ, "QT_QPA_PLATFORM": "offscreen", "PYTHONPATH": search}
    # Files instead of pipes: nobody has to read along for the child to go on, so this can ask whether to stop.
    with tempfile.TemporaryFile() as asked, tempfile.TemporaryFile() as said, tempfile.TemporaryFile() as failed:
        asked.write(encode_job(job))
        asked.seek(0)
        child = subprocess.Popen(
            [sys.executable, "-m", "app.render"], stdin=asked, stdout=said, stderr=failed, env=environment
        )
        try:
            _wait(child, folder, told)
        finally:
            if child.poll() is None:
                child.kill()
                child.wait()
        failed.seek(0)
        sentences = failed.read().decode(errors="replace").strip().splitlines()
    if child.returncode == 0:
        return ""
    sentence = sentences[-1] if sentences else f"the program that makes PDFs ended with code {child.returncode}"
    if child.returncode == QT_MISSING:
        for pdf in folder.glob("*.pdf"):
            pdf.unlink()
        return sentence
    raise FileProblem(f"the PDFs could not be made: {sentence}")


def _wait(child: "subprocess.Popen[bytes]", folder: Path, told: _Told) -> None:
    """Until the child has ended, telling each PDF as it appears. Raises FileProblem where it takes too long."""
    until = time.monotonic() + CHILD_SECONDS
    while True:
        told.made(len(list(folder.glob("*.pdf"))))
        try:
            child.wait(POLL_S)
        except subprocess.TimeoutExpired:
            pass
        else:
            return
        if time.monotonic() > until:
            raise FileProblem(f"making the PDFs took longer than {CHILD_SECONDS} s and was stopped")


def _move(folder: Path, out: Path) -> tuple[Path, ...]:
    """Put the finished files in their place."""
    files = sorted(folder.iterdir())
    for file in files:
        target = out / file.name
        if target.is_dir():
            raise FileProblem("there is a folder of this name", str(target), "a file, or nothing")
    moved = []
    for file in files:
        file.replace(out / file.name)
        moved.append(out / file.name)
    return tuple(moved)
