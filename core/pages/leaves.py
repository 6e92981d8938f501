"""Pages before they are numbered: a paper is leaves from several makers, bound together as "page x of y"."""

from collections.abc import Iterable
from dataclasses import dataclass

from core.pages.frame import Frame, frame
from core.pages.marks import AnyMark, Page
from core.pages.paper import Imprint, Paper


@dataclass(frozen=True)
class Leaf:
    """One page: its marks lie inside the frame. A `scale` in words brings the bar that proves the print.

    A leaf without a frame (`bare`) brings its own edges: a tile, a sheet of labels. A `brief` one points to the
    cautions of the first page.
    """

    paper: Paper
    title: str
    marks: tuple[AnyMark, ...]
    scale: str = ""
    bare: bool = False
    brief: bool = False


def blank(paper: Paper, imprint: Imprint, title: str, scale: str = "", brief: bool = False) -> Frame:
    """The frame a leaf will get, to know the free area."""
    return frame(paper, imprint, title, 1, 1, scale=scale, brief=brief)


def bound(leaves: Iterable[Leaf], imprint: Imprint) -> tuple[Page, ...]:
    """The pages, numbered through."""
    leaves = tuple(leaves)
    pages = []
    for number, leaf in enumerate(leaves, start=1):
        around: tuple[AnyMark, ...] = ()
        if not leaf.bare:
            made = frame(leaf.paper, imprint, leaf.title, number, len(leaves), scale=leaf.scale, brief=leaf.brief)
            around = made.marks
        pages.append(
            Page(
                width_mm=leaf.paper.width_mm,
                height_mm=leaf.paper.height_mm,
                marks=(*around, *leaf.marks),
                title=f"{leaf.title} – {imprint.plan}",
            )
        )
    return tuple(pages)
