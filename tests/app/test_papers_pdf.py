"""The workshop papers as PDF files, read and measured by PDFium, which is not our code."""

import re
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import pytest

from app.fonts import load_fonts
from app.render.pdf import write_pdf
from app.theme import Theme
from core.pages.imprint import imprint
from core.pages.marks import AreaMark, LineMark
from core.pages.papers import PAPERS
from tests.helpers.samples import sample

#: PDFium gives the thin space between thousands as one blank or another.
THOUSANDS = re.compile("(?<=[0-9])[ \N{NARROW NO-BREAK SPACE}\N{NO-BREAK SPACE}](?=[0-9]{3}(?![0-9]))")
PX_PER_MM = 20


@pytest.fixture(autouse=True)
def _fonts(qapp: Any) -> None:
    load_fonts()


def made(tmp_path: Path, paper: str, name: str = "weekend-camper") -> tuple[Path, tuple[Any, ...]]:
    analysis = sample(name)
    pages = PAPERS[paper](analysis, imprint(analysis.plan, "25 Nov 2026"))
    path = tmp_path / f"{paper}.pdf"
    write_pdf(path, pages, Theme("print"))
    return path, pages


def text_of(path: Path) -> str:
    document = pypdfium2.PdfDocument(path)
    try:
        parts = []
        for page in document:
            text = page.get_textpage()
            parts.append(text.get_text_bounded())
            text.close()
            page.close()
        return THOUSANDS.sub("", " ".join(parts))
    finally:
        document.close()


@pytest.mark.parametrize("paper", ["cut-list", "labels", "labels-tape", "pull-cards", "kits"])
def test_text_extraction_finds_every_piece_and_every_length(tmp_path: Path, paper: str) -> None:
    path, _ = made(tmp_path, paper)
    said = text_of(path)
    for piece in sample("weekend-camper").pieces:
        assert piece.piece in said
        if paper != "kits":  # metres there
            assert f"{piece.cut_mm:.0f}" in said, piece.piece


@pytest.mark.parametrize("paper", ["wires", "test-sheet", "surfaces"])
def test_text_extraction_finds_every_wire(tmp_path: Path, paper: str) -> None:
    path, _ = made(tmp_path, paper)
    said = text_of(path)
    analysis = sample("weekend-camper")
    lying = {wire for bundle in analysis.bundles.values() for wire in bundle.wires}
    # A wire between neighbours lies in no channel, and so on no surface's list.
    asked = lying if paper == "surfaces" else set(analysis.wires)
    assert [wire for wire in asked if wire not in said] == []


def test_a_panel_at_full_size_measures_what_it_is(tmp_path: Path) -> None:
    """The ceiling board of 2,220 by 1,440 mm: its page is larger than it, and a band is as wide on paper as it is."""
    path, pages = made(tmp_path, "panel-maps-full-size")
    page = pages[0]
    band = next(m for m in page.marks if isinstance(m, AreaMark) and m.style == "no_screw" and m.subject == "c22")
    xs = [x for x, _ in band.outline_mm]
    middle = sum(y for _, y in band.outline_mm) / len(band.outline_mm)
    document = pypdfium2.PdfDocument(path)
    try:
        shown = document[0]
        wide, high = shown.get_size()
        assert (wide / 72 * 25.4, high / 72 * 25.4) == (pytest.approx(page.width_mm, abs=0.4),
                                                        pytest.approx(page.height_mm, abs=0.4))  # fmt: skip
        # A strip round the band only: the page at this fineness would fill the memory.
        left, low = min(xs) - 10, middle - 1
        crop = (left / 25.4 * 72, low / 25.4 * 72, wide - (max(xs) + 10) / 25.4 * 72, high - (low + 2) / 25.4 * 72)
        bitmap = shown.render(scale=PX_PER_MM * 25.4 / 72, grayscale=True, crop=crop)
        grey = bitmap.to_numpy().copy().reshape(bitmap.height, bitmap.width)
        bitmap.close()
        shown.close()
    finally:
        document.close()
    # The darkest columns are the two edges of the band; hatch lines are slanted and fill no column.
    columns = np.where(grey.max(axis=0) < 120)[0]
    assert (columns[-1] - columns[0] + 1) / PX_PER_MM == pytest.approx(max(xs) - min(xs) + 0.36, abs=0.1)


@pytest.mark.parametrize("paper", ["surfaces", "panel-maps", "wrap-map"])
def test_the_print_check_bar_is_100_mm_within_a_tenth(tmp_path: Path, paper: str) -> None:
    path, pages = made(tmp_path, paper)
    number = next(n for n, page in enumerate(pages) if "Scale" in {getattr(m, "text", "") for m in page.marks})
    start, end = next(
        m.points_mm for m in pages[number].marks
        if isinstance(m, LineMark) and len(m.points_mm) == 2
        and m.points_mm[0][1] == m.points_mm[1][1] and m.points_mm[1][0] - m.points_mm[0][0] == pytest.approx(100.0)
    )  # fmt: skip
    document = pypdfium2.PdfDocument(path)
    try:
        page = document[number]
        bitmap = page.render(scale=PX_PER_MM * 25.4 / 72, grayscale=True)
        grey = bitmap.to_numpy().copy().reshape(bitmap.height, bitmap.width)
        bitmap.close()
        page.close()
    finally:
        document.close()
    row = grey[round((pages[number].height_mm - start[1]) * PX_PER_MM) - 2 :][:4].min(axis=0)
    near = row[round((start[0] - 3) * PX_PER_MM) : round((end[0] + 3) * PX_PER_MM)]
    dark = np.where(near < 128)[0]
    # The ticks at both ends are 0.3 mm thick and stand half outside.
    assert (dark[-1] - dark[0] + 1) / PX_PER_MM == pytest.approx(100.0 + 0.3, abs=0.1)
