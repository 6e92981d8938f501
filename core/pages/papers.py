"""Every paper by its name: the pages to print."""

from collections.abc import Callable, Mapping

from core.analysis.analysis import Analysis
from core.pages.fold_out import fold_out_pages
from core.pages.formboard import formboard_pages, formboard_tiles
from core.pages.fuse_sticker import fuse_sticker_pages
from core.pages.label_pages import label_sheet_pages, label_tape_pages
from core.pages.leaves import bound
from core.pages.marks import Page
from core.pages.owners_book import owners_book_pages
from core.pages.panel_maps import full_size_pages, panel_map_pages
from core.pages.paper import Imprint, Paper, paper
from core.pages.pull_cards import pull_card_pages
from core.pages.surface_pages import surface_pages
from core.pages.survey import survey_of_plan
from core.pages.table_pages import flowing_leaves, table_pages
from core.pages.templates import template_pages
from core.pages.wrap_map import wrap_map_pages
from core.tables.all import TABLES
from core.tables.table import Table
from core.tables.testing import continuity_tests, insulation_tests, voltage_tests

Builder = Callable[[Analysis, Imprint], tuple[Page, ...]]
#: Name and file name of the drawing.
FOLD_OUT = "fold-out"


def _of_table(build: Callable[[Analysis], Table]) -> Builder:
    def pages(analysis: Analysis, imprint: Imprint) -> tuple[Page, ...]:
        return table_pages(build(analysis), table_paper(imprint), imprint)

    return pages


def test_sheet_pages(analysis: Analysis, imprint: Imprint) -> tuple[Page, ...]:
    """All tests in their order on one paper; a plan without mains has no insulation test."""
    tables = [continuity_tests(analysis), insulation_tests(analysis), voltage_tests(analysis)]
    asked = [table for table in tables if table.rows] or tables[:1]
    return bound(flowing_leaves("Test sheet", asked, table_paper(imprint), imprint), imprint)


def table_paper(imprint: Imprint) -> Paper:
    """Tables are wide: the usual paper across."""
    return paper(imprint.choices.paper, "landscape")


PAPERS: Mapping[str, Builder] = {
    "cut-list": _of_table(TABLES["cut-list"]),
    "labels": label_sheet_pages,
    "labels-tape": label_tape_pages,
    "pull-cards": pull_card_pages,
    FOLD_OUT: fold_out_pages,
    "owners-book": owners_book_pages,
    "test-sheet": test_sheet_pages,
    "fuse-stickers": fuse_sticker_pages,
    "wrap-map": wrap_map_pages,
    "formboard": formboard_pages,
    "formboard-tiles": formboard_tiles,
    "surfaces": surface_pages,
    "survey": survey_of_plan,
    "templates": template_pages,
    "panel-maps": panel_map_pages,
    "panel-maps-full-size": full_size_pages,
    **{name: _of_table(build) for name, build in TABLES.items() if name != "cut-list"},
}
