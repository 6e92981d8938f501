"""Everything a plan can become: findings, tables, drawings, pages, files."""

from core.analysis.analysis import Analysis
from core.analysis.engine import analyse
from core.exports.csv_file import csv_bytes
from core.exports.dxf_file import dxf_bytes
from core.exports.svg_file import svg_bytes
from core.exports.xlsx_file import xlsx_bytes
from core.files.codec import decode, encode
from core.files.library import Library
from core.model import Plan
from core.pages.fold_out import sheet_drawing
from core.pages.imprint import imprint
from core.pages.papers import FOLD_OUT, PAPERS
from core.tables.all import TABLES
from core.tables.contract import findings_document, tables_document


def outputs(plan: Plan, library: Library) -> Analysis:
    """Make all of it and check what can be checked on any plan; the analysis."""
    assert decode(encode(plan)) == plan
    analysis = analyse(plan, library, "quick")
    about = imprint(plan, "1 Jan 2026")
    findings_document(analysis.findings)
    tables_document(analysis)
    for table in (build(analysis) for build in TABLES.values()):
        assert all(len(row) == len(table.columns) for row in table.rows)
        csv_bytes(table)
        xlsx_bytes([table], table.title)
    for name, build in PAPERS.items():
        pages = build(analysis, about)
        assert pages, f"the paper {name} has no page"
        if name == FOLD_OUT:
            svg_bytes(pages[0])
    dxf_bytes(sheet_drawing(analysis))
    return analysis
