"""The cut list on paper against the cut list as data: nothing that is to be cut is missing on the page."""

import os
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.filemanagement import readfile

from tests.helpers.recount_sample import FOLDER, Sample, sample


@pytest.fixture(scope="module")
def papers(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("papers")
    command = [sys.executable, "-m", "core", "papers", str(FOLDER / "long-van.loomplan"), "--out", str(folder)]
    command += ["--only", "cut-list", "fold-out"]
    env = os.environ | {"QT_QPA_PLATFORM": "offscreen"}
    done = subprocess.run(command, env=env, capture_output=True, text=True, timeout=120, check=False, cwd=FOLDER.parent)
    assert done.returncode == 0, done.stderr
    return folder


@pytest.fixture(scope="module")
def told() -> Sample:
    return sample("long-van")


def _text(path: Path) -> str:
    document = pypdfium2.PdfDocument(path)
    try:
        pages = [document[index] for index in range(len(document))]
        return "\n".join(page.get_textpage().get_text_range() for page in pages)
    finally:
        document.close()


def test_every_piece_of_the_cut_list_is_on_its_paper(papers: Path, told: Sample) -> None:
    text = _text(papers / "cut-list.pdf")
    names = {cable.id: cable.name or cable.id for cable in told.plan.cables}
    pieces = {wire["cable"] or wire["wire"] for wire in told.wires}
    missing = {one for one in pieces if not re.search(re.escape(names.get(one, one)) + r"(?!\w)", text)}
    assert not missing


def test_the_lengths_to_cut_are_on_the_paper(papers: Path, told: Sample) -> None:
    # A reader gives the space between thousands as one of these, the same as between two columns.
    text = re.sub(r"[\u202f\u00a0\u2009]", " ", _text(papers / "cut-list.pdf"))
    shown = {wire["wire"]: f"{wire['cut_mm']:,.0f}".replace(",", " ?") for wire in told.wires}
    assert not {name for name, length in shown.items() if not re.search(rf"(?<!\d){length}(?!\d)", text)}


def test_the_fold_out_names_every_surface(papers: Path, told: Sample) -> None:
    text = " ".join(_text(papers / "fold-out.pdf").split())
    assert not {surface.name for surface in told.plan.surfaces if surface.name.lower() not in text.lower()}


def test_the_fold_out_as_dxf_has_every_corner_where_the_folds_put_it(papers: Path, told: Sample) -> None:
    drawing = readfile(papers / "fold-out.dxf")
    assert drawing.header["$INSUNITS"] == 4, "not in millimetres"
    lines = [line for line in drawing.modelspace() if isinstance(line, LWPolyline) and line.dxf.layer == "OUTLINE"]
    drawn = np.array([(float(x), float(y)) for line in lines for x, y, *_ in line.get_points()])
    for surface in told.plan.surfaces:
        for corner in surface.corners:
            at = told.ways.sheet.flat[surface.id].of(corner.at_mm)[:2]
            assert np.linalg.norm(drawn - at, axis=1).min() < 0.05, (surface.name, corner.id)
