"""Files for other programs, read back by programs that are not ours."""

import csv
from io import BytesIO, StringIO
from math import pi
from xml.etree import ElementTree as ET

import ezdxf
import ezdxf.recover
import openpyxl
import pytest
from ezdxf.math import bulge_to_arc

from core.exports.cells import harmless
from core.exports.csv_file import csv_bytes
from core.exports.dxf_file import dxf_bytes
from core.exports.svg_file import svg_bytes
from core.exports.xlsx_file import xlsx_bytes
from core.pages.marks import AreaMark, CircleMark, ImageMark, LineMark, Page, PathMark, TextMark
from core.tables.all import TABLES
from core.tables.table import Column, Table
from tests.helpers.results import analysis

SVG = "{http://www.w3.org/2000/svg}"
NASTY = ("=1+1", "+1", "-cmd|' /C calc'!A0", "@SUM(A1)", "\t=1", " =1", "http://x.invalid", "plain", "2-way")


@pytest.mark.parametrize("text", NASTY[:6])
def test_formulas_are_made_harmless(text: str) -> None:
    assert harmless(text) == "'" + text
    assert not harmless(text).lstrip().startswith(("=", "+", "-", "@"))


def test_what_is_no_formula_is_left_alone() -> None:
    assert [harmless(text) for text in NASTY[6:]] == list(NASTY[6:])


def nasty_table() -> Table:
    columns = (Column(key="a", title="a"), Column(key="n", title="n", kind="v"))
    return Table(name="t", title="Bad [names]/\\:*? that are far too long for a sheet", columns=columns,
                 rows=tuple((text, -1.5) for text in NASTY))  # fmt: skip


def test_csv_neutralises_text_and_keeps_negative_numbers() -> None:
    text = csv_bytes(nasty_table()).decode("utf-8-sig")
    rows = list(csv.reader(StringIO(text, newline="")))
    assert rows[0] == ["a", "n (V)"]
    assert [row[0] for row in rows[1:7]] == ["'" + text for text in NASTY[:6]]
    assert {row[1] for row in rows[1:]} == {"-1.5"}


def test_csv_of_the_cut_list_can_be_summed_by_a_program() -> None:
    made = analysis(30)
    rows = list(csv.DictReader(StringIO(csv_bytes(TABLES["cut-list"](made)).decode("utf-8-sig"), newline="")))
    wires = [row for row in rows if row["wire"].startswith("W")]
    assert sum(float(row["cut length (mm)"]) for row in wires) == pytest.approx(
        made.totals.cut_mm, abs=0.06 * len(wires)
    )
    assert {row["group"].split(" · ")[1] for row in wires} == {"spool S1", "spool S2", "spool S3"}


def test_csv_begins_with_a_mark_and_ends_lines_as_rfc_4180_says() -> None:
    data = csv_bytes(TABLES["materials"](analysis()))
    assert data.startswith(b"\xef\xbb\xbf")
    assert data.endswith(b"\r\n")
    assert "mm²".encode() in data


def test_xlsx_has_numbers_as_numbers_a_frozen_head_and_no_formula() -> None:
    made = analysis(30)
    book = openpyxl.load_workbook(BytesIO(xlsx_bytes([TABLES["cut-list"](made), nasty_table()], "title")))
    sheet = book["Cut list"]
    assert sheet.freeze_panes == "A2"
    head = [str(cell.value).split("\n")[0] for cell in sheet[1]]
    at = head.index("cut length")
    lengths = [row[at].value for row in sheet.iter_rows(min_row=2) if str(row[1].value).startswith("W")]
    assert sum(lengths) == pytest.approx(made.totals.cut_mm)
    assert book.properties.title == "title"
    nasty = book.worksheets[1]
    assert (
        nasty.title
        == "Bad [names]/\\:*? that are far too long for a sheet".translate(
            str.maketrans(dict.fromkeys("[]:*?/\\", "-"))
        )[:31]
    )
    for row, text in zip(nasty.iter_rows(min_row=2), NASTY, strict=True):
        assert (row[0].data_type, row[0].value) == ("s", text)
        assert row[0].hyperlink is None
        assert (row[1].data_type, row[1].value) == ("n", -1.5)


def test_the_same_table_gives_the_same_workbook() -> None:
    table = TABLES["wires"](analysis(20))
    assert xlsx_bytes([table], "t") == xlsx_bytes([table], "t")


MARKS = (
    AreaMark(style="box", subject="box1", outline_mm=((0, 0), (40, 0), (40, 30), (0, 30)),
             holes_mm=(((5, 5), (10, 5), (10, 10)),), radius_mm=4),
    LineMark(style="outline", points_mm=((0, 0), (50, 0), (50, 40)), closed=True),
    LineMark(style="fold", points_mm=((0, 20), (50, 20))),
    PathMark(style="bundle:1", subject="ch1", points_mm=((0, 0), (20, 0), (20, 20)), radius_mm=5, width_mm=3),
    CircleMark(style="node:2", centre_mm=(10, 10), radius_mm=2, filled=True),
    TextMark(style="text", at_mm=(10, 30), text='Fuse & "15 A" <2 300> ^A %%d \x07', size_mm=4, turn_deg=90,
             anchor="middle", baseline="middle"),
    ImageMark(style="note", at_mm=(5, 5), width_mm=10, height_mm=5, data=b"\x89PNG..."),
)  # fmt: skip


def test_svg_is_well_formed_in_millimetres_with_text_as_text() -> None:
    root = ET.fromstring(svg_bytes(Page(width_mm=100, height_mm=60, marks=MARKS, title="A & B")))
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("100mm", "60mm", "0 0 100 60")
    assert root.findtext(f"{SVG}title") == "A & B"
    text = root.find(f"{SVG}text")
    assert text is not None
    assert text.text == 'Fuse & "15 A" <2 300> ^A %%d '
    assert text.get("transform") == "translate(10 30) rotate(-90)"
    line = root.find(f"{SVG}polyline")
    assert line is not None
    assert line.get("points") == "0,40 50,40"
    assert {element.get("data-record") for element in root} >= {"box1", "ch1"}
    style = root.findtext(f"{SVG}style") or ""
    for element in root:
        for name in (element.get("class") or "").split():
            assert f".{name}{{" in style


def test_the_arc_of_a_bundle_bends_the_right_way_in_svg() -> None:
    """From (0,0) to the right and then up: a left turn, which SVG draws with sweep flag 0 on its turned axis."""
    root = ET.fromstring(svg_bytes(Page(width_mm=100, height_mm=60, marks=(MARKS[3],))))
    path = root.find(f"{SVG}path")
    assert path is not None
    assert path.get("d") == "M0 60L15 60A5 5 0 0 0 20 55L20 40"
    assert "stroke-width:3" in (path.get("style") or "")


def test_dxf_opens_without_a_fault_and_has_layers_by_family() -> None:
    document, auditor = ezdxf.recover.read(BytesIO(dxf_bytes(MARKS)))
    assert not auditor.errors
    assert not auditor.fixes
    assert document.dxfversion == "AC1024"
    assert document.units == ezdxf.units.MM
    layers = {layer.dxf.name for layer in document.layers}
    assert {"BOX", "OUTLINE", "FOLD", "BUNDLE", "NODE", "TEXT", "IMAGE"} <= layers
    space = document.modelspace()
    texts = [entity.dxf.text for entity in space.query("TEXT")]
    assert texts == ['Fuse & "15 A" <2 300> ^ A % %d  ']
    records = {entity.get_xdata("LOOMWRIGHT")[0].value for entity in space if entity.has_xdata("LOOMWRIGHT")}
    assert records == {"box1", "ch1"}


def test_the_rounded_corner_in_dxf_is_a_true_arc() -> None:
    document = ezdxf.read(StringIO(dxf_bytes([MARKS[3]]).decode()))
    line = document.modelspace().query("LWPOLYLINE").first
    points = list(line.get_points("xyb"))
    assert line.dxf.const_width == 3
    centre, start, end, radius = bulge_to_arc(points[1][:2], points[2][:2], points[1][2])
    assert radius == pytest.approx(5)
    assert (centre.x, centre.y) == (pytest.approx(15), pytest.approx(5))
    assert (end - start) % (2 * pi) == pytest.approx(pi / 2)
