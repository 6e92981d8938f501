"""Proof pages: for every wire, or for the one that is asked for, all that decides its size and length."""

from collections.abc import Iterable

from core.analysis.analysis import Analysis
from core.analysis.sizing_sheet import SizingDesk
from core.pages.leaves import bound
from core.pages.marks import Page
from core.pages.paper import Imprint, paper
from core.pages.surface_pages import nothing_yet
from core.pages.table_pages import flowing_leaves
from core.tables.proof import proof_tables

TITLE = "Proof"


def proof_pages(analysis: Analysis, imprint: Imprint) -> tuple[Page, ...]:
    """A page for every wire of the plan, more where one does not hold all that is to be said."""
    return wire_proof_pages(analysis, imprint, analysis.wires)


def wire_proof_pages(analysis: Analysis, imprint: Imprint, wires: Iterable[str]) -> tuple[Page, ...]:
    """The same for the wires of these ids. Raises KeyError for one that the analysis does not have."""
    on = paper(imprint.choices.paper, "portrait")
    desk = SizingDesk(analysis)
    leaves = [
        leaf
        for number, wire in enumerate(wires)
        for leaf in flowing_leaves(
            f"{TITLE}: {wire}", proof_tables(analysis, desk.sheet(wire)), on, imprint, follows=number > 0
        )
    ]
    return bound(leaves, imprint) if leaves else nothing_yet(TITLE, imprint)
