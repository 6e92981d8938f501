"""Underlays from other files: a page of a PDF as a picture, a DXF drawing as lines in millimetres.

Both are read by a child process with a time limit, for a broken or hostile file may take a reader down or hold it for
ever. What comes back is checked; nothing of a file is run.
"""

import os
import subprocess
import sys
from pathlib import Path

import msgspec

import core
from core.errors import FileProblem
from core.files.limits import CHILD_SECONDS, DRAWING_MM, IMPORT_BYTES, PICTURE_BYTES, PICTURE_PIXELS
from core.files.pictures import look_at_picture
from core.model import Point

MM_PER_INCH = 25.4
#: PDF lengths are in points of 1/72 inch (ISO 32000-1, 8.3.2; from memory).
MM_PER_POINT = MM_PER_INCH / 72


class PdfPage(msgspec.Struct, frozen=True, kw_only=True):
    """A page of a PDF: its size on paper."""

    width_mm: float
    height_mm: float


class PdfPicture(msgspec.Struct, frozen=True, kw_only=True):
    """A page as PNG, and how much of the paper a pixel covers. A drawing at 1:20 is 20 times as large."""

    data: bytes
    mm_per_pixel: float


class DxfLine(msgspec.Struct, frozen=True, kw_only=True):
    """A line of a drawing: its layer, and its points in mm; the last is the first again where it is closed."""

    layer: str
    points_mm: tuple[Point, ...]
    closed: bool = False


class DxfDrawing(msgspec.Struct, frozen=True, kw_only=True):
    """Lines of a drawing. `unit` is what the file says it is drawn in; "" says nothing, millimetres were assumed."""

    lines: tuple[DxfLine, ...]
    unit: str
    #: Kinds of things that were not read, and how many of each.
    left_out: dict[str, int] = {}

    @property
    def size_mm(self) -> tuple[Point, Point]:
        """The lower left and upper right corner of everything."""
        points = [p for line in self.lines for p in line.points_mm]
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        return (min(xs), min(ys)), (max(xs), max(ys))


class Job(msgspec.Struct, frozen=True, kw_only=True):
    """What the child is asked."""

    kind: str
    page: int = 0
    longest_px: int = PICTURE_PIXELS
    most_bytes: int = PICTURE_BYTES


class Answer(msgspec.Struct, frozen=True, kw_only=True):
    """What it found; `problem` is a sentence for a person where it found nothing."""

    problem: str = ""
    expected: str = ""
    pages: tuple[PdfPage, ...] = ()
    picture: PdfPicture | None = None
    drawing: DxfDrawing | None = None


def pdf_pages(data: bytes, name: str = "the PDF") -> tuple[PdfPage, ...]:
    """The pages of a PDF. Raises FileProblem for one that cannot be read, is locked, or takes too long."""
    answer = _ask(data, Job(kind="pages"), name)
    return answer.pages


def pdf_picture(data: bytes, page: int, name: str = "the PDF") -> PdfPicture:
    """A page (counted from 0) as a picture that can be stored. Raises FileProblem."""
    answer = _ask(data, Job(kind="picture", page=page), name)
    if answer.picture is None:
        raise FileProblem("the page could not be drawn", name)
    info = look_at_picture(answer.picture.data, name)
    if not info.fits:
        raise FileProblem("the page is too detailed to be kept as a picture", name, "a simpler page, or a photo of it")
    return answer.picture


def read_dxf(data: bytes, name: str = "the drawing") -> DxfDrawing:
    """The lines of a DXF drawing in mm, curves as short chords. Raises FileProblem."""
    answer = _ask(data, Job(kind="dxf"), name)
    if answer.drawing is None or not answer.drawing.lines:
        raise FileProblem("the drawing holds no lines", name, "lines, polylines, arcs, circles or curves")
    (left, low), (right, high) = answer.drawing.size_mm
    if max(right - left, high - low) > DRAWING_MM:
        raise FileProblem(
            f"the drawing is {max(right - left, high - low) / 1_000:,.0f} m large", name, "a drawing of a vehicle"
        )
    return answer.drawing


def _ask(data: bytes, job: Job, name: str) -> Answer:
    if len(data) > IMPORT_BYTES:
        raise FileProblem(f"the file has {len(data) / 2**20:.0f} MB", name, f"at most {IMPORT_BYTES // 2**20} MB")
    root = str(Path(core.__file__).resolve().parent.parent)
    search = os.pathsep.join(filter(None, (root, os.environ.get("PYTHONPATH", ""))))
    try:
        child = subprocess.run(
            [sys.executable, "-m", "core.files.underlay_child", msgspec.json.encode(job).decode()],
            input=data,
            capture_output=True,
            env={**os.environ, "PYTHONPATH": search},
            timeout=CHILD_SECONDS,
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise FileProblem(f"reading took longer than {CHILD_SECONDS} s and was stopped", name) from None
    except OSError as error:
        raise FileProblem(f"the file cannot be read now: {error.strerror}", name) from error
    try:
        answer = msgspec.msgpack.decode(child.stdout, type=Answer)
    except msgspec.DecodeError:
        raise FileProblem("the file is broken: its reader gave up", name, "a whole file; save it again") from None
    if answer.problem:
        raise FileProblem(answer.problem, name, answer.expected)
    return answer
