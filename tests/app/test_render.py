"""Papers as PDF, opened and measured with PDFium, which is not our code."""

import re
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import pytest
from PySide6.QtGui import QImage, QPainter
from pytestqt.qtbot import QtBot

from app.render.painter import page_transform, paint, path_of, text_rect
from app.render.pdf import write_pdf
from app.theme import Theme, load_fonts
from core.errors import FileProblem
from core.pages.fillet import fillet
from core.pages.imprint import imprint
from core.pages.job import PaperJob, RenderJob, encode_job
from core.pages.lettering import text_mark, width_mm
from core.pages.marks import AreaMark, CircleMark, ImageMark, LineMark, Page, PathMark, TextMark
from core.pages.paper import paper
from core.pages.papers import PAPERS
from core.pages.tiles import tiled
from tests.helpers.results import analysis

DATE = "25 Nov 2026"
PX_PER_MM = 20


@pytest.fixture(autouse=True)
def _fonts(qapp: Any) -> None:
    load_fonts()


@contextmanager
def opened(path: Path) -> Iterator[Any]:
    document = pypdfium2.PdfDocument(path)
    try:
        yield document
    finally:
        document.close()


def picture(page: Any, px_per_mm: float) -> np.ndarray:
    """The page in grey, 0 black to 255 white, row 0 at the top."""
    bitmap = page.render(scale=px_per_mm * 25.4 / 72, grayscale=True)
    grey = bitmap.to_numpy().copy().reshape(bitmap.height, bitmap.width)
    bitmap.close()
    return grey


def drawn(marks: Any, width: int = 40, height: int = 40, theme: str = "print", **options: Any) -> np.ndarray:
    """Marks on an image of that many millimetres, ten pixels each, as grey from the top."""
    image = QImage(width * 10, height * 10, QImage.Format.Format_Grayscale8)
    image.fill(0xFFFFFFFF)
    with QPainter(image) as painter:
        painter.setWorldTransform(page_transform(height, 10))
        paint(painter, marks, Theme(theme), **options)  # type: ignore[arg-type]
    view = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine())
    return view[:, : image.width()].copy()


def dark(grey: np.ndarray) -> tuple[float, float, float, float]:
    """Left, bottom, right, top of what is dark, in mm (ten pixels each), y up."""
    rows, columns = np.where(grey < 128)
    height = grey.shape[0]
    return columns.min() / 10, (height - rows.max() - 1) / 10, (columns.max() + 1) / 10, (height - rows.min()) / 10


def test_a_hundred_millimetres_measure_a_hundred_in_the_pdf(tmp_path: Path) -> None:
    """Edges of the black bar, found to a fraction of a pixel, are 100 mm +- 0.1 apart; so is a bar that stands."""
    bars = (
        AreaMark(style="text", outline_mm=((50, 40), (150, 40), (150, 44), (50, 44))),
        AreaMark(style="text", outline_mm=((20, 60), (24, 60), (24, 160), (20, 160))),
    )
    write_pdf(tmp_path / "bar.pdf", [Page(width_mm=210, height_mm=297, marks=bars)], Theme("print"))
    with opened(tmp_path / "bar.pdf") as document:
        grey = picture(document[0], PX_PER_MM)
    ink = (255 - grey.astype(float)) / (255 - grey.min())
    across = ink[round((297 - 42) * PX_PER_MM)].sum() / PX_PER_MM
    upright = ink[:, round(22 * PX_PER_MM)].sum() / PX_PER_MM
    # The style has a line of its own round the area.
    line = Theme("print").pen("text").widthF()
    assert across == pytest.approx(100 + line, abs=0.1)
    assert upright == pytest.approx(100 + line, abs=0.1)


def test_the_print_check_bar_of_the_fold_out_plan_is_true(tmp_path: Path) -> None:
    made = analysis(12)
    pages = PAPERS["fold-out"](made, imprint(made.plan, DATE))
    write_pdf(tmp_path / "f.pdf", pages, Theme("print"))
    (start, end) = next(
        mark.points_mm
        for mark in pages[0].marks
        if isinstance(mark, LineMark)
        and len(mark.points_mm) == 2
        and mark.points_mm[1][0] - mark.points_mm[0][0] == 100
    )
    with opened(tmp_path / "f.pdf") as document:
        page = document[0]
        wide, high = page.get_size()
        # Qt writes a page's size in whole points (0.35 mm); what is drawn on it is not rounded.
        assert (wide, high) == (pytest.approx(594 / 25.4 * 72, abs=0.5), pytest.approx(420 / 25.4 * 72, abs=0.5))
        grey = picture(page, 10)
    row = grey[round((420 - start[1]) * 10) - 1 : round((420 - start[1]) * 10) + 2].min(axis=0)
    columns = np.where(row[round(start[0] * 10) - 30 : round(end[0] * 10) + 30] < 140)[0]
    # The strokes at both ends add their own width.
    assert (columns[-1] - columns[0] + 1) / 10 == pytest.approx(100 + 0.3, abs=0.25)


def test_text_can_be_searched_with_all_its_digits(tmp_path: Path) -> None:
    made = analysis(40, mains=True)
    write_pdf(tmp_path / "cut.pdf", PAPERS["cut-list"](made, imprint(made.plan, DATE)), Theme("print"), "Cut list")
    with opened(tmp_path / "cut.pdf") as document:
        assert document.get_metadata_dict()["Title"] == "Cut list"
        assert document.get_metadata_dict()["Creator"].startswith("Loomwright")
        text = "\n".join(page.get_textpage().get_text_bounded() for page in document)
    squeezed = re.sub(r"\s", "", text)
    for piece in made.pieces:
        assert piece.piece in text
        assert f"{piece.cut_mm:.0f}" in squeezed, f"the length of {piece.piece} is not to be found"
    for word in ("Fuse block, way 1", "green/yellow", "licensed electrician", "1 of 3"):
        assert word in text


def test_fonts_are_embedded_and_none_is_a_stand_in(tmp_path: Path) -> None:
    made = analysis(12)
    write_pdf(tmp_path / "cut.pdf", PAPERS["cut-list"](made, imprint(made.plan, DATE)), Theme("print"))
    data = (tmp_path / "cut.pdf").read_bytes()
    names = set(re.findall(rb"/FontName\s*/([\w+-]+)", data))
    assert names
    assert all(b"Loomwright" in name for name in names), names
    assert data.count(b"/FontFile") == len(re.findall(rb"/FontName", data))


def test_text_is_as_wide_as_core_measured_it() -> None:
    for font in ("label", "label_bold", "text", "text_medium"):
        mark = text_mark(3, 20, "AVATAR 12 345 To fuse", 3.0, font=font)
        (left, _), (right, _) = text_rect(mark, Theme("print"))
        assert right - left == pytest.approx(width_mm(mark.text, font, 3.0), abs=0.03)


def test_marks_stand_upright_where_their_anchor_says() -> None:
    left, bottom, right, top = dark(drawn([TextMark(style="text", at_mm=(10, 10), text="H", size_mm=10)]))
    assert (left, bottom) == (pytest.approx(11, abs=1), pytest.approx(10, abs=0.15))
    assert top == pytest.approx(17, abs=0.4)
    turned = TextMark(style="text", at_mm=(20, 20), text="HHH", size_mm=6, turn_deg=90, anchor="middle",
                      baseline="middle")  # fmt: skip
    left, bottom, right, top = dark(drawn([turned]))
    assert (left + right) / 2 == pytest.approx(20, abs=0.15)
    assert (bottom + top) / 2 == pytest.approx(20, abs=0.3)
    assert top - bottom > right - left


def test_shapes_land_on_their_millimetres() -> None:
    box = dark(drawn([AreaMark(style="swatch:black", outline_mm=((5, 6), (15, 6), (15, 9), (5, 9)))]))
    assert box == pytest.approx((5, 6, 15, 9), abs=0.11)
    line = dark(drawn([LineMark(style="outline", points_mm=((5, 10), (25, 10)), width_mm=2)]))
    assert line == pytest.approx((5, 9, 25, 11), abs=0.11)
    disc = dark(drawn([CircleMark(style="node:0", centre_mm=(20, 20), radius_mm=5, filled=True)]))
    assert disc == pytest.approx((15, 15, 25, 25), abs=0.11)
    bent = PathMark(style="bundle:0", points_mm=((5, 5), (30, 5), (30, 30)), radius_mm=10, width_mm=2)
    grey = drawn([bent])
    assert dark(grey) == pytest.approx((5, 4, 31, 30), abs=0.15)
    assert grey[-51, 300] > 200, "the corner itself is cut"
    middle = (20 + 10 * 2**-0.5, 15 - 10 * 2**-0.5)
    assert grey[round((40 - middle[1]) * 10), round(middle[0] * 10)] < 128, "the arc goes through its middle"


def test_holes_stay_white_and_arcs_are_as_long_as_in_core() -> None:
    area = AreaMark(style="swatch:black", outline_mm=((5, 5), (35, 5), (35, 35), (5, 35)),
                    holes_mm=(((10, 10), (20, 10), (20, 20), (10, 20)),), radius_mm=3)  # fmt: skip
    grey = drawn([area])
    assert grey[250, 150] == 255
    assert grey[100, 100] < 60
    assert grey[-52, 52] == 255, "the corner is round"
    path = path_of(fillet(((0, 0), (100, 0), (100, 100)), 10), closed=False)
    assert path.length() == pytest.approx(180 + 10 * np.pi / 2, rel=1e-3)


def test_a_screen_keeps_line_weights_and_drops_what_nobody_could_read() -> None:
    line = [LineMark(style="outline", points_mm=((0, 20), (40, 20)))]
    paper_px = (drawn(line) < 128)[:, 200].sum()
    far = (drawn(line, px_per_mm=0.5) < 128)[:, 200].sum()
    assert far > 4 * paper_px
    small = [TextMark(style="text", at_mm=(5, 5), text="small", size_mm=3)]
    assert (drawn(small, px_per_mm=0.5) == 255).all()
    assert (drawn(small, px_per_mm=10, detail="low") == 255).all()
    assert (drawn(small, px_per_mm=10) < 128).any()


def test_a_broken_picture_draws_nothing() -> None:
    assert (drawn([ImageMark(style="note", at_mm=(5, 5), width_mm=9, height_mm=9, data=b"no picture")]) == 255).all()


def test_tiles_hide_what_hangs_over_their_edge() -> None:
    marks = [LineMark(style="outline", points_mm=((0, 0), (500, 300)), width_mm=30)]
    plan = analysis(2).plan
    page = tiled(marks, paper("A4"), imprint(plan, DATE), "Drawing")[1]
    image = drawn(page.marks, 210, 297)
    # Neither in the right margin nor in the upper one; crop marks are short and thin.
    assert (image[:, 2020:] < 128).mean() < 0.01
    assert (image[:80] < 128).mean() < 0.01


def test_an_unwritable_pdf_is_told(tmp_path: Path) -> None:
    page = Page(width_mm=100, height_mm=100, marks=())
    with pytest.raises(FileProblem, match="cannot be written"):
        write_pdf(tmp_path / "no" / "folder.pdf", [page], Theme("print"))
    with pytest.raises(FileProblem, match="nothing to print"):
        write_pdf(tmp_path / "x.pdf", [], Theme("print"))


@pytest.mark.parametrize("text", [b"", b"{}", b'{"papers": [{"path": 1}]}', b"\xff\xfe"])
def test_the_child_refuses_what_is_no_job(text: bytes) -> None:
    child = subprocess.run([sys.executable, "-m", "app.render"], input=text, capture_output=True, timeout=60)
    assert child.returncode == 1
    assert child.stderr.startswith(b"This is no list of papers")
    assert b"Traceback" not in child.stderr


def test_the_child_writes_every_paper_of_its_job(tmp_path: Path, qtbot: QtBot) -> None:
    pages = (Page(width_mm=50, height_mm=40, marks=(text_mark(5, 5, "Tür 1", 5),)),) * 2
    job = RenderJob(papers=tuple(PaperJob(path=str(tmp_path / f"{n}.pdf"), title=n, pages=pages) for n in ("a", "b")))
    child = subprocess.run([sys.executable, "-m", "app.render"], input=encode_job(job), capture_output=True, timeout=60)
    assert (child.returncode, child.stderr) == (0, b"")
    for name in ("a", "b"):
        with opened(tmp_path / f"{name}.pdf") as document:
            assert len(document) == 2
            assert "Tür 1" in document[1].get_textpage().get_text_bounded()


def test_a_cut_list_of_300_wires_is_a_pdf_in_half_a_second(tmp_path: Path) -> None:
    """Once warm; in time of the processor, so that a busy machine changes little. The best of three rounds."""
    made, theme = analysis(300), Theme("print")
    about = imprint(made.plan, DATE)
    times = []
    for _ in range(4):
        start = time.process_time()
        write_pdf(tmp_path / "cut.pdf", PAPERS["cut-list"](made, about), theme)
        times.append(time.process_time() - start)
    assert min(times[1:]) < 0.5
