"""Every paper by its name: the pages to print."""

from collections.abc import Callable, Mapping

import msgspec

from core.analysis.analysis import Analysis
from core.pages.fold_out import fold_out_pages, tiled_fold_out_pages
from core.pages.formboard import formboard_pages, formboard_tiles
from core.pages.fuse_sticker import fuse_sticker_pages
from core.pages.label_pages import label_sheet_pages, label_tape_pages
from core.pages.leaves import bound
from core.pages.marks import Page
from core.pages.owners_book import owners_book_pages
from core.pages.panel_maps import full_size_pages, panel_map_pages
from core.pages.paper import Imprint, Paper, paper
from core.pages.proof import proof_pages
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
PAPER = frozenset({"paper"})
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


class About(msgspec.Struct, frozen=True, kw_only=True):
    """A paper for people: its title, what it is for, its group in a list of papers, and which choices it heeds
    (fields of `Choices`; all but plain tapes heed the paper)."""

    title: str
    what_for: str
    group: str
    heeds: frozenset[str] = frozenset({"paper"})
    build: Builder


LABELS = frozenset({"label_sheet", "label_style", "label_qr", "first_label"})
WORKSHOP, WALL, OFFICE, OWNER = "At the bench", "On the vehicle", "Ordering and checking", "For the owner"


def _about(
    title: str,
    what_for: str,
    group: str,
    build: Builder | None = None,
    *,
    table: str = "",
    heeds: frozenset[str] = PAPER,
) -> About:
    return About(title=title, what_for=what_for, group=group, heeds=heeds, build=build or _of_table(TABLES[table]))


ABOUT: Mapping[str, About] = {
    # At the bench
    "cut-list": _about("Cut list", "what to cut off which spool, longest first", WORKSHOP, table="cut-list"),
    "labels": _about("Labels on sheets", "both ends of every wire and where it passes a panel", WORKSHOP,
                     label_sheet_pages, heeds=PAPER | LABELS),
    "labels-tape": _about("Labels on tape", "the same for a label printer with 18 mm tape", WORKSHOP, label_tape_pages,
                          heeds=frozenset({"label_style", "label_qr"})),
    "formboard": _about("Formboard", "the harness laid flat, with its stations", WORKSHOP, formboard_pages),
    "formboard-tiles": _about("Formboard, full size", "the same at 1 : 1 in tiles to be glued", WORKSHOP,
                              formboard_tiles),
    "wrap-map": _about("Wrap map", "where each wrap starts and stops", WORKSHOP, wrap_map_pages),
    "wrap": _about("Wrapping", "tape for every channel", WORKSHOP, table="wrap"),
    "kits": _about("Kit list per wall", "what to put into one box for one wall", WORKSHOP, table="kits"),
    "kits-by-day": _about("Kit list per day", "what to put into one box for one day", WORKSHOP, table="kits-by-day"),
    "studs": _about("Stud stacks", "which lug lies on which, and the torque", WORKSHOP, table="studs"),
    # On the vehicle
    FOLD_OUT: _about("Fold-out plan", "the whole vehicle on one large sheet", WALL, fold_out_pages,
                     heeds=frozenset({"scale"})),
    "fold-out-tiles": _about("Fold-out plan, tiled", "the same in tiles to be glued", WALL, tiled_fold_out_pages,
                             heeds=frozenset({"paper", "scale"})),
    "surfaces": _about("Surfaces", "every wall with places from two fixed faces", WALL, surface_pages),
    "drilling": _about("Drill and fix list", "every hole and fixing", WALL, table="drilling"),
    "templates": _about("Drilling templates", "holes at 1 : 1 to be taped to the surface", WALL, template_pages),
    "securing": _about("Securing and drilling", "channel by channel, from its start on", WALL, table="securing"),
    "pull-plan": _about("Pull plan", "what is pulled together, and in which order", WALL, table="pull-plan"),
    "pull-cards": _about("Pull cards", "a slip for every piece, to write on", WALL, pull_card_pages),
    "panel-maps": _about("Panel maps", "where nothing may be screwed, at 1 : 10", WALL, panel_map_pages),
    "panel-maps-full-size": _about("Panel maps, full size", "the same at 1 : 1 for a plotter", WALL, full_size_pages,
                                   heeds=frozenset()),
    "survey": _about("Survey sheet", "what to measure in the bare shell", WALL, survey_of_plan),
    # Ordering and checking
    "shopping": _about("Shopping list", "what to buy, a list for every supplier", OFFICE, table="shopping"),
    "materials": _about("Materials", "all parts and what they are for", OFFICE, table="materials"),
    "circuit-schedule": _about("Circuit schedule", "what feeds what, through which fuse", OFFICE,
                               table="circuit-schedule"),
    "wires": _about("Wires", "every wire with its size, length and drop", OFFICE, table="wires"),
    "bundles": _about("Bundles", "what lies in every channel", OFFICE, table="bundles"),
    "proofs": _about("Proofs", "for every wire each rule with its numbers and source", OFFICE, proof_pages),
    "findings": _about("Findings", "what is wrong or missing", OFFICE, table="findings"),
    # For the owner
    "owners-book": _about("Owner's book", "all that the keeper of the vehicle needs", OWNER, owners_book_pages),
    "fuse-map": _about("Fuse map", "which fuse does what", OWNER, table="fuse-map"),
    "fuse-stickers": _about("Fuse stickers", "the fuse map for the door of the panel", OWNER, fuse_sticker_pages),
    "test-sheet": _about("Test sheet", "what is measured in which order", OWNER, test_sheet_pages),
    "as-pulled": _about("As pulled", "what was really pulled, beside the plan", OWNER, table="as-pulled"),
    "close-out": _about("Close-out", "what is missing before a panel may be closed", OWNER, table="close-out"),
}  # fmt: skip

PAPERS: Mapping[str, Builder] = {name: about.build for name, about in ABOUT.items()}
