"""The child process that opens PDF and DXF files: ``python -m core.files.underlay_child JOB`` with the file on
standard input; a msgpack answer on standard output. See `core.files.underlays`.
"""

import io
import sys
from collections import Counter
from collections.abc import Iterator
from itertools import islice
from typing import Any

import msgspec

from core.files.limits import (
    BLOCK_DEPTH,
    CHILD_BYTES,
    CHILD_CPU_SECONDS,
    DRAWING_LINES,
    DRAWING_POINTS,
    DRAWING_REACH_MM,
    PAGES,
)
from core.files.pictures import png_bytes
from core.files.underlays import (
    MM_PER_POINT,
    Answer,
    DxfDrawing,
    DxfLine,
    Job,
    PdfPage,
    PdfPicture,
)
from core.model import Point

#: How far a chord may stray from its curve, in mm.
CHORD_MM = 0.5
#: Lengths of one unit in mm by the number in $INSUNITS (DXF reference, header variables; from memory).
UNITS: dict[int, tuple[str, float]] = {
    1: ("in", 25.4),
    2: ("ft", 304.8),
    4: ("mm", 1.0),
    5: ("cm", 10.0),
    6: ("m", 1_000.0),
    14: ("dm", 100.0),
}


def answer(job: Job, data: bytes) -> Answer:
    if job.kind == "dxf":
        return _dxf(data)
    return _pdf(job, data)


def _pdf(job: Job, data: bytes) -> Answer:
    import pypdfium2

    if b"%PDF-" not in data[:1024]:
        return Answer(problem="this is no PDF")
    try:
        document = pypdfium2.PdfDocument(data)
    except pypdfium2.PdfiumError as error:
        if "password" in str(error).lower():
            return Answer(problem="the PDF is locked with a password", expected="one that opens without")
        return Answer(problem="the PDF is broken", expected="a whole file; save it again")
    try:
        count = len(document)
        if job.kind == "pages":
            sizes = (document.get_page_size(k) for k in range(min(count, PAGES)))
            return Answer(pages=tuple(PdfPage(width_mm=w * MM_PER_POINT, height_mm=h * MM_PER_POINT) for w, h in sizes))
        if not 0 <= job.page < count:
            return Answer(problem=f"the PDF has {count} pages; there is no page {job.page + 1}")
        return _page(document, job)
    except pypdfium2.PdfiumError:
        return Answer(problem="the PDF is broken", expected="a whole file; save it again")
    finally:
        document.close()


def _page(document: Any, job: Job) -> Answer:
    """The page as large as allowed; smaller, where its bytes would be too many."""
    page = document[job.page]
    wide, high = page.get_size()
    longest = max(wide, high)
    if not 1.0 <= longest <= 100_000.0:
        return Answer(problem="the page has no size that can be drawn")
    for share in (1.0, 0.75, 0.5, 0.35, 0.25):
        scale = job.longest_px * share / longest
        bitmap = page.render(scale=scale, may_draw_forms=False, rev_byteorder=True)
        pixels = bitmap.to_numpy()[:, :, :3] if bitmap.n_channels >= 3 else bitmap.to_numpy()[:, :, 0]
        # A pixel more than asked for, by rounding up, would not fit.
        pixels = pixels[: job.longest_px, : job.longest_px]
        data = png_bytes(pixels.copy())
        bitmap.close()
        if len(data) <= job.most_bytes:
            return Answer(picture=PdfPicture(data=data, mm_per_pixel=MM_PER_POINT / scale))
    return Answer(problem="the page is too detailed to be kept as a picture", expected="a simpler page")


def _dxf(data: bytes) -> Answer:
    from ezdxf import recover
    from ezdxf.lldxf.const import DXFError

    try:
        drawing, _ = recover.read(io.BytesIO(data))
    except (DXFError, OSError, ValueError, KeyError, IndexError, TypeError, AttributeError):
        return Answer(problem="this is no DXF drawing, or it is broken", expected="a DXF file; save it again")
    number = int(drawing.header.get("$INSUNITS", 0))
    unit, factor = UNITS.get(number, ("", 1.0))
    left_out: Counter[str] = Counter()
    lines: list[DxfLine] = []
    points = 0
    for entity in _flat(drawing.modelspace(), left_out, 0):
        line = _line(entity, factor, left_out)
        if line is None:
            continue
        points += len(line.points_mm)
        if len(lines) >= DRAWING_LINES or points > DRAWING_POINTS:
            return Answer(
                problem=f"the drawing has more than {DRAWING_LINES:,} lines or {DRAWING_POINTS:,} points",
                expected="the part of it that is needed",
            )
        lines.append(line)
    return Answer(drawing=DxfDrawing(lines=tuple(lines), unit=unit, left_out=dict(left_out)))


def _flat(entities: Any, left_out: Counter[str], depth: int) -> Iterator[Any]:
    """Entities with blocks opened."""
    for entity in entities:
        if entity.dxftype() != "INSERT":
            yield entity
        elif depth >= BLOCK_DEPTH:
            left_out["INSERT"] += 1
        else:
            yield from _flat(entity.virtual_entities(), left_out, depth + 1)


def _line(entity: Any, factor: float, left_out: Counter[str]) -> DxfLine | None:
    from ezdxf import path

    try:
        made = path.make_path(entity)
        # a curve as large as the sun would have no end of chords
        if not all(_is_near(v.x * factor, v.y * factor) for v in made.control_vertices()):
            raise ValueError("too far away")
        chords = islice(made.flattening(CHORD_MM / factor), DRAWING_POINTS + 1)
        found = [(v.x * factor, v.y * factor) for v in chords]
    except (TypeError, ValueError, ArithmeticError, AttributeError):
        left_out[entity.dxftype()] += 1
        return None
    points: list[Point] = []
    for x, y in found:
        if not _is_near(x, y):
            left_out[entity.dxftype()] += 1
            return None
        point = (round(x, 4) + 0.0, round(y, 4) + 0.0)
        if not points or points[-1] != point:
            points.append(point)
    if len(points) < 2:
        return None
    closed = len(points) > 3 and points[0] == points[-1]
    return DxfLine(layer=str(entity.dxf.get("layer", "0"))[:200], points_mm=tuple(points), closed=closed)


def _is_near(x_mm: float, y_mm: float) -> bool:
    """False for what is no number too."""
    return abs(x_mm) < DRAWING_REACH_MM and abs(y_mm) < DRAWING_REACH_MM


def _limit() -> None:
    """Memory and time, where the system can hold a process to them."""
    try:
        import resource
    except ImportError:
        return
    resource.setrlimit(resource.RLIMIT_AS, (CHILD_BYTES, CHILD_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (CHILD_CPU_SECONDS, CHILD_CPU_SECONDS))


def main() -> int:
    _limit()
    job = msgspec.json.decode(sys.argv[1], type=Job)
    data = sys.stdin.buffer.read()
    try:
        found = answer(job, data)
    except (MemoryError, RecursionError):
        found = Answer(problem="the file needs more memory than it should", expected="a simpler file")
    sys.stdout.buffer.write(msgspec.msgpack.encode(found))
    return 0


if __name__ == "__main__":
    sys.exit(main())
