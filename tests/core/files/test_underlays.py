"""Pictures, PDF pages and DXF drawings as underlays: read where they are sound, refused in a sentence where not."""

import struct
import time
import zlib
from math import hypot

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PySide6.QtCore import QBuffer, QIODevice
from PySide6.QtGui import QColor, QImage

from core.errors import FileProblem
from core.files import underlays
from core.files.limits import CHILD_SECONDS, IMPORT_BYTES, PICTURE_BYTES
from core.files.pictures import PNG, look_at_picture, png_bytes
from core.files.underlay_child import answer
from core.files.underlays import Job, pdf_pages, pdf_picture, read_dxf
from core.geometry.plane import length_mm
from tests.helpers.underlay_files import dxf, pdf


def encoded(image: QImage, kind: str) -> bytes:
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    assert image.save(buffer, kind)
    return bytes(buffer.data().data())


def picture(wide: int, high: int, kind: str) -> bytes:
    image = QImage(wide, high, QImage.Format.Format_RGB32)
    image.fill(QColor("#3377aa"))
    return encoded(image, kind)


# --- PNG and JPEG: Qt writes them, and reads what we write -----------------------------------------------------------


@pytest.mark.parametrize("kind", ["png", "jpeg"])
def test_the_size_is_read_from_the_head(kind: str) -> None:
    info = look_at_picture(picture(640, 360, kind))
    assert (info.width_px, info.height_px, info.media_type) == (640, 360, f"image/{kind}")
    assert info.fits


def test_a_large_picture_is_to_be_reduced() -> None:
    info = look_at_picture(picture(4_000, 1_000, "jpeg"))
    assert not info.fits
    assert info.reduced_px == (2_000, 500)


def test_a_jpeg_says_how_it_is_turned() -> None:
    data = picture(60, 40, "jpeg")
    entry = struct.pack("<HHIHH", 0x0112, 3, 1, 6, 0)
    tiff = b"II*\0" + struct.pack("<I", 8) + struct.pack("<H", 1) + entry + b"\0\0\0\0"
    body = b"Exif\0\0" + tiff
    turned = data[:2] + b"\xff\xe1" + struct.pack(">H", len(body) + 2) + body + data[2:]
    info = look_at_picture(turned)
    assert (info.orientation, info.width_px, info.height_px) == (6, 60, 40)
    assert not info.fits


@pytest.mark.parametrize("kind", ["png", "jpeg"])
def test_a_picture_that_breaks_off_anywhere_is_refused(kind: str) -> None:
    data = picture(30, 20, kind)
    for length in range(len(data) - 2):
        with pytest.raises(FileProblem):
            look_at_picture(data[:length], "photo")


def test_bombs_and_strangers_are_refused_in_words() -> None:
    head = struct.pack(">IIBBBBB", 60_000, 60_000, 8, 2, 0, 0, 0)

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    bomb = PNG + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 1_000)) + chunk(b"IEND", b"")
    for data, says in (
        (bomb, "60,000 × 60,000 pixels"),
        (b"GIF89a" + b"\0" * 50, "PNG or JPEG"),
        (b"", "PNG or JPEG"),
        (PNG + chunk(b"IEND", b""), "no head"),
        (
            PNG
            + chunk(b"IHDR", struct.pack(">IIBBBBB", 0, 5, 8, 2, 0, 0, 0))
            + chunk(b"IDAT", b"")
            + chunk(b"IEND", b""),
            "no pixels",
        ),
        (PNG + chunk(b"IHDR", head) + chunk(b"IEND", b""), "holds no picture"),
        (b"\xff\xd8" + b"\0" * (IMPORT_BYTES + 1), "at most 64 MB"),
    ):
        with pytest.raises(FileProblem) as caught:
            look_at_picture(data, "photo.png")
        assert says in str(caught.value)
        assert "photo.png" in str(caught.value)


@settings(max_examples=200)
@given(
    st.one_of(
        st.binary(max_size=400),
        st.binary(max_size=200).map(lambda b: PNG + b),
        st.binary(max_size=200).map(lambda b: b"\xff\xd8" + b),
    )
)
def test_any_bytes_end_in_a_sentence(data: bytes) -> None:
    try:
        look_at_picture(data)
    except FileProblem as problem:
        words = str(problem)
    else:
        words = "a picture"
    assert words


@pytest.mark.parametrize("shape", [(5, 7), (4, 3, 3), (1, 1, 3)])
def test_what_is_written_is_read_back_by_somebody_else(shape: tuple[int, ...]) -> None:
    rng = np.random.default_rng(5)
    pixels = rng.integers(0, 256, shape, dtype=np.uint8)
    data = png_bytes(pixels)
    image = QImage.fromData(data, "png")
    assert (image.height(), image.width()) == shape[:2]
    for y in range(shape[0]):
        for x in range(shape[1]):
            colour = image.pixelColor(x, y)
            wanted = [int(pixels[y, x])] * 3 if len(shape) == 2 else [int(v) for v in pixels[y, x]]
            assert [colour.red(), colour.green(), colour.blue()] == wanted
    assert look_at_picture(data).fits
    with pytest.raises(ValueError, match="cannot write"):
        png_bytes(np.zeros((3, 3, 4), dtype=np.uint8))


# --- PDF --------------------------------------------------------------------------------------------------------------


def test_a_pdf_page_becomes_a_picture_true_to_scale() -> None:
    (page,) = pdf_pages(pdf())
    assert (page.width_mm, page.height_mm) == (pytest.approx(127), pytest.approx(254))
    found = pdf_picture(pdf(), 0)
    image = QImage.fromData(found.data, "png")
    assert max(image.width(), image.height()) == 2_000
    assert image.width() * found.mm_per_pixel == pytest.approx(127, abs=0.2)
    inch = 25.4 / found.mm_per_pixel
    left, upper = inch, image.height() - 2 * inch  # the rectangle's upper left corner
    assert image.pixelColor(round(left) + 3, round(upper) + 3).red() == 0
    assert image.pixelColor(round(left) - 3, round(upper) + 3).red() == 255
    assert image.pixelColor(round(left + 2 * inch) - 3, round(upper + inch) - 3).red() == 0
    assert image.pixelColor(round(left + 2 * inch) + 3, round(upper + inch) - 3).red() == 255


def test_pdfs_that_cannot_be_read() -> None:
    with pytest.raises(FileProblem, match="no page 8"):
        pdf_picture(pdf(), 7)
    for data in (b"", b"no pdf at all", pdf()[:60], b"%PDF-1.4\n" + b"\xff" * 500):
        with pytest.raises(FileProblem):
            pdf_pages(data, "plan.pdf")
    with pytest.raises(FileProblem, match="at most 64 MB"):
        pdf_pages(b"%PDF-" + b" " * IMPORT_BYTES)


def test_a_reader_that_hangs_is_stopped(monkeypatch) -> None:  # type: ignore[no-untyped-def]
    monkeypatch.setattr(underlays, "CHILD_SECONDS", 0.05)
    with pytest.raises(FileProblem, match="was stopped"):
        pdf_pages(pdf())


def test_a_pdf_that_swells_when_it_is_unpacked_is_drawn_or_refused_soon() -> None:
    """97 kB that become 100 MB; the child has 2 GB and 25 s of the processor at most."""
    packed = zlib.compress(b" " * 100_000_000, 9)
    stream = b"<< /Length %d /Filter /FlateDecode >>\nstream\n%s" % (len(packed), packed)
    bomb = pdf(b"@@").replace(b"<< /Length 2 >>\nstream\n@@", stream)
    assert len(bomb) < 120_000
    started_s = time.monotonic()
    try:
        assert look_at_picture(pdf_picture(bomb, 0).data).fits
    except FileProblem as problem:
        assert str(problem)  # noqa: PT017 (drawing it is the other good answer)
    assert time.monotonic() - started_s < CHILD_SECONDS + 5


# --- DXF --------------------------------------------------------------------------------------------------------------


def test_lines_curves_and_blocks_come_in_millimetres() -> None:
    def fill(document) -> None:  # type: ignore[no-untyped-def]
        space = document.modelspace()
        space.add_line((0, 0), (100, 0), dxfattribs={"layer": "WALL"})
        space.add_lwpolyline([(0, 0), (50, 0), (50, 30), (0, 30)], close=True)
        space.add_circle((200, 0), 40)
        block = document.blocks.new("HOLE")
        block.add_line((0, 0), (0, 10))
        space.add_blockref("HOLE", (70, 5), dxfattribs={"rotation": 90, "xscale": 2, "yscale": 2, "zscale": 2})
        space.add_text("not read")

    drawing = read_dxf(dxf(5, fill))
    assert drawing.unit == "cm"
    wall = next(line for line in drawing.lines if line.layer == "WALL")
    assert wall.points_mm == ((0, 0), (1_000, 0))
    outline = next(line for line in drawing.lines if line.closed and len(line.points_mm) == 5)
    assert length_mm(outline.points_mm) == pytest.approx(1_600)
    circle = next(line for line in drawing.lines if line.closed and len(line.points_mm) > 8)
    assert length_mm(circle.points_mm) == pytest.approx(2 * 3.14159265 * 400, rel=2e-3)
    assert all(hypot(x - 2_000, y) == pytest.approx(400, abs=0.2) for x, y in circle.points_mm)
    block = [line for line in drawing.lines if line.points_mm[0] == pytest.approx((700, 50))]
    assert block[0].points_mm[1] == pytest.approx((500, 50))
    assert drawing.left_out == {"TEXT": 1}


def test_a_drawing_without_a_unit_says_so() -> None:
    drawing = read_dxf(dxf(0, lambda document: document.modelspace().add_line((0, 0), (1_240, 0))))
    assert drawing.unit == ""
    assert drawing.size_mm == ((0, 0), (1_240, 0))


def test_drawings_that_cannot_be_used() -> None:
    with pytest.raises(FileProblem, match="no lines"):
        read_dxf(dxf(4, lambda document: document.modelspace().add_text("words")))
    with pytest.raises(FileProblem, match="m large"):
        read_dxf(dxf(6, lambda document: document.modelspace().add_line((0, 0), (9_000, 0))))
    for data in (b"", b"\x00\x01\x02" * 200, b"0\nSECTION\n2\nENTITIES\n0\nLINE\n10\nabc", b"%PDF-1.4"):
        with pytest.raises(FileProblem):
            read_dxf(data, "plan.dxf")


def test_a_block_that_holds_itself_ends() -> None:
    def fill(document) -> None:  # type: ignore[no-untyped-def]
        block = document.blocks.new("A")
        block.add_line((0, 0), (10, 0))
        block.add_blockref("A", (5, 5))
        document.modelspace().add_blockref("A", (0, 0))

    drawing = read_dxf(dxf(4, fill))
    assert 1 <= len(drawing.lines) <= 20
    assert drawing.left_out.get("INSERT") == 1


@pytest.mark.parametrize("far", [1e9, 1e30, 9e307])
def test_curves_as_large_as_the_sun_end_soon(far: float) -> None:
    """Found by the fuzzer: the chords of a bulge of 1e120 mm had no end."""

    def fill(document) -> None:  # type: ignore[no-untyped-def]
        space = document.modelspace()
        space.add_line((0, 0), (10, 0))
        space.add_lwpolyline([(0, 0, 0, 0, 0.5), (far, 0, 0, 0, 0.5), (90, 70, 0, 0, 0)], close=True)
        space.add_circle((0, 0), far)

    started_s = time.process_time()
    found = answer(Job(kind="dxf"), dxf(4, fill)).drawing
    assert time.process_time() - started_s < 5.0
    assert found is not None
    assert (0.0, 0.0) in found.lines[0].points_mm
    assert sum(found.left_out.values()) >= (0 if far < 1e10 else 2)


def test_a_pdf_whose_page_is_broken_is_told() -> None:
    """Found by the fuzzer: a document that opens and has no page to load."""
    data = pdf().replace(b"/Kids [3 0 R]", b"/Kids [9 0 R]")
    with pytest.raises(FileProblem, match=r"broken|no page"):
        pdf_picture(data, 0)


def test_what_a_plan_keeps_of_a_page_is_small_enough() -> None:
    rng = np.random.default_rng(1)
    content = b"".join(
        b"%.2f %.2f %.2f rg %d %d 3 3 re f " % (*rng.random(3), *rng.integers(0, 360, 2)) for _ in range(4_000)
    )
    assert len(pdf_picture(pdf(content, "0 0 360 360"), 0).data) <= PICTURE_BYTES
