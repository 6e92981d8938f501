"""The papers of both samples: nothing is lost, nothing leaves the paper, pages are numbered, scales are true."""

from functools import cache

import msgspec
import pytest
from scipy.optimize import minimize

from core.analysis.engine import analyse
from core.files.library import load_library
from core.pages.imprint import SIDES, imprint
from core.pages.leaves import blank
from core.pages.marks import AreaMark, CircleMark, LineMark, Page, TextMark
from core.pages.paper import Choices, paper
from core.pages.papers import PAPERS
from core.pages.surface_pages import spread
from core.pages.templates import Template, template_marks, templates
from core.pages.transform import bounds
from core.tables.names import Names
from tests.helpers.samples import SAMPLES, sample
from tests.helpers.vans import empty

#: Papers that are cut up, and so have no frame.
BARE = frozenset({"labels", "labels-tape"})
#: Papers cut in tiles: what reaches over the edge of a tile is covered by its margins.
TILED = frozenset({"formboard-tiles", "fold-out-tiles"})
#: Paper by what it must name: ids of all wires, or of all pieces (a cable is one).
BY_WIRE = ("wires", "test-sheet")
BY_PIECE = ("cut-list", "labels", "labels-tape", "pull-cards", "pull-plan", "kits")
#: Papers on which the length of every cut stands.
LENGTHS = ("cut-list", "labels", "labels-tape", "pull-cards")
SCALED = ("surfaces", "wrap-map", "templates", "panel-maps", "panel-maps-full-size", "formboard")
GROUND = ("outline:floor", "outline:ground")
THIN = "\N{NARROW NO-BREAK SPACE}"


@cache
def pages(name: str, of: str, size: str = "A4") -> tuple[Page, ...]:
    analysis = sample(name)
    about = imprint(analysis.plan, "25 Nov 2026")
    return PAPERS[of](analysis, msgspec.structs.replace(about, choices=Choices(paper=size)))


def texts(page: Page) -> list[str]:
    return [mark.text for mark in page.marks if isinstance(mark, TextMark)]


def all_words(name: str, of: str) -> str:
    """All text of a paper; thousands are not set apart, so that a number is one word."""
    return " ".join(text for page in pages(name, of) for text in texts(page)).replace(THIN, "")


@pytest.mark.parametrize("name", SAMPLES)
@pytest.mark.parametrize("paper", sorted(set(PAPERS) - BARE - TILED))
def test_every_page_is_numbered_and_keeps_its_margins(name: str, paper: str) -> None:
    made = pages(name, paper)
    for number, page in enumerate(made, start=1):
        said = texts(page)
        if paper != "survey":
            assert any(f"{number} of {len(made)}" in text for text in said), f"page {number}"
        assert SIDES in " ".join(said), f"page {number}"
        box = bounds(page.marks)
        assert box is not None
        assert min(box.left, box.bottom) >= 10.0, f"page {number}"
        assert box.right <= page.width_mm - 10.0, f"page {number}"
        assert box.top <= page.height_mm - 10.0, f"page {number}"


@pytest.mark.parametrize("size", ["A3", "Letter"])
def test_papers_come_on_the_paper_that_is_asked_for(size: str) -> None:
    wide = {"A3": 420.0, "Letter": 279.4}[size]
    for of in ("cut-list", "surfaces", "pull-plan", "test-sheet", "wrap-map"):
        for page in pages("weekend-camper", of, size):
            # A crowded surface is drawn on the next larger paper; nothing else is.
            larger = {420.0: 594.0, 279.4: 431.8}[wide] if of == "surfaces" and "Scale" in texts(page) else wide
            assert max(page.width_mm, page.height_mm) in (wide, larger), of
            box = bounds(page.marks)
            assert box is not None
            assert box.right <= page.width_mm - 10.0, paper


@pytest.mark.parametrize("name", SAMPLES)
def test_no_paper_loses_a_wire(name: str) -> None:
    analysis = sample(name)
    for of in BY_WIRE:
        said = set(all_words(name, of).split())
        assert set(analysis.wires) <= said, of
    names = Names(analysis.plan)
    pieces = {names(piece.piece) for piece in analysis.pieces}
    for of in BY_PIECE:
        said = all_words(name, of)
        alone = set(said.replace("·", " ").replace(",", " ").split())
        assert [piece for piece in pieces if piece not in (said if " " in piece else alone)] == [], of
    # Every bundle on its surface names the wires in it.
    said = set(all_words(name, "surfaces").split())
    on_surfaces = {
        wire for bundle in analysis.bundles.values() if analysis.paths[bundle.channel].surface for wire in bundle.wires
    }
    assert on_surfaces <= said


@pytest.mark.parametrize("name", SAMPLES)
def test_no_paper_loses_a_length(name: str) -> None:
    analysis = sample(name)
    lengths = {f"{piece.cut_mm:.0f}" for piece in analysis.pieces}
    for of in LENGTHS:
        assert lengths <= set(all_words(name, of).split()), of
    spots = set(all_words(name, "surfaces").split())
    for row in analysis.securing:
        assert f"{row.at_mm:.0f}" in spots


@pytest.mark.parametrize("name", SAMPLES)
@pytest.mark.parametrize("paper", SCALED)
def test_a_page_with_a_scale_has_the_bar_of_100_mm(name: str, paper: str) -> None:
    found = 0
    for page in pages(name, paper):
        if "Scale" not in texts(page):
            continue
        found += 1
        lines = [m.points_mm for m in page.marks if isinstance(m, LineMark) and len(m.points_mm) == 2]
        assert any(a[1] == b[1] and b[0] - a[0] == pytest.approx(100.0, abs=1e-9) for a, b in lines)
    assert found or name == "weekend-camper"


@pytest.mark.parametrize("name", SAMPLES)
def test_surfaces_are_drawn_to_the_scale_they_name(name: str) -> None:
    analysis = sample(name)
    seen = 0
    for page in pages(name, "surfaces"):
        title = page.title.removesuffix(f" – {analysis.plan.name}")
        surface = next((s for s in analysis.plan.surfaces if s.name == title), None)
        if surface is None or "Scale" not in texts(page):
            continue
        scale = float(next(text for text in texts(page) if text.startswith("1 : ")).removeprefix("1 : "))
        ground = next(m for m in page.marks if isinstance(m, AreaMark) and m.style in GROUND)
        drawn, real = _area(ground.outline_mm), _area([corner.at_mm for corner in surface.corners])
        assert drawn == pytest.approx(real / scale**2, rel=1e-6), "neither stretched nor mirrored"
        seen += 1
    assert seen >= 6


def _area(points) -> float:  # type: ignore[no-untyped-def]
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, [*points[1:], points[0]], strict=True)) / 2


def test_what_matters_is_3_mm_high() -> None:
    """Names and lengths on cards and labels: capitals of 3 mm and more are an em of 4.2 mm (cap height 0.7)."""
    analysis = sample("long-van")
    names = Names(analysis.plan)
    pieces = {names(piece.piece) for piece in analysis.pieces}
    for of in ("labels", "labels-tape", "pull-cards"):
        sizes = [m.size_mm for page in pages("long-van", of) for m in page.marks
                 if isinstance(m, TextMark) and m.text in pieces]  # fmt: skip
        assert sizes, of
        assert min(sizes) * 0.7 >= 3.0, paper


def test_templates_are_true_to_size_and_the_mirrored_ones_mirrored() -> None:
    analysis = sample("long-van")
    about = imprint(analysis.plan, "")
    free = blank(paper("A4"), about, "Templates", "1 : 1")
    made = templates(analysis, free.right - free.left, free.top - free.bottom)
    holes = {hole.id for hole in analysis.plan.penetrations} | {p.id for p in analysis.plan.pass_throughs if p.hole_mm}
    assert holes <= {spot.subject for template in made for spot in template.spots}
    pair = next(template for template in made if len(template.spots) > 1)
    straight = _centres(template_marks(pair, free))
    mirrored = _centres(template_marks(Template(pair.surface, pair.view, pair.spots, pair.middle, True), free))
    a, b = (pair.view.to_view(spot.at_mm) for spot in pair.spots[:2])
    for centres, hand in ((straight, 1.0), (mirrored, -1.0)):
        assert centres[1][0] - centres[0][0] == pytest.approx(hand * (b[0] - a[0]))
        assert centres[1][1] - centres[0][1] == pytest.approx(b[1] - a[1])
    for template in made:
        said = " ".join(m.text for m in template_marks(template, free) if isinstance(m, TextMark)).replace(THIN, "")
        for spot in template.spots:
            a_mm, b_mm = template.view.measured(spot.at_mm)
            assert f"A {a_mm:.0f} · B {b_mm:.0f}" in said
            assert f"{spot.number}  Ø {spot.hole_mm:g}" in said
    radii = [m.radius_mm for m in template_marks(pair, free) if isinstance(m, CircleMark)]
    assert radii[: len(pair.spots)] == [(spot.hole_mm or 0) / 2 for spot in pair.spots]


def _centres(marks) -> list[tuple[float, float]]:  # type: ignore[no-untyped-def]
    return [mark.centre_mm for mark in marks if isinstance(mark, CircleMark)]


def test_a_template_says_from_which_side_and_carries_the_caution() -> None:
    said = [" ".join(texts(page)) for page in pages("long-van", "templates")]
    assert any("Roof, outside · drill FROM OUTSIDE" in text for text in said)
    assert all("FROM INSIDE" in t or "FROM OUTSIDE" in t or "FROM THE ROOM" in t or "MIRRORED" in t for t in said)
    assert all("deburr, paint" in text for text in said)


def test_an_empty_plan_has_every_paper() -> None:
    analysis = analyse(empty(), load_library())
    about = imprint(analysis.plan, "")
    for name, build in PAPERS.items():
        assert len(build(analysis, about)) >= 1, name


def test_running_dimensions_stand_apart_in_their_order_and_near_their_place() -> None:
    """Against a plain search: no other places that are as far apart have a smaller sum of squared ways."""
    wanted = [0.0, 1.0, 2.0, 30.0, 31.0, 60.0]
    places = spread(wanted, -50.0, 100.0, 4.0)
    assert all(b - a >= 4.0 - 1e-9 for a, b in zip(places, places[1:], strict=False))
    assert places[:3] == pytest.approx([-3.0, 1.0, 5.0]), "a crowd stands round its middle"
    assert places[3:5] == pytest.approx([28.5, 32.5])
    assert places[5] == 60.0
    solved = minimize(
        lambda x: float(sum((a - b) ** 2 for a, b in zip(x, wanted, strict=True))), places,
        constraints=[{"type": "ineq", "fun": lambda x, n=n: x[n + 1] - x[n] - 4.0} for n in range(5)],
    )  # fmt: skip
    assert sum((a - b) ** 2 for a, b in zip(places, wanted, strict=True)) == pytest.approx(solved.fun, abs=1e-4)
    # Nothing leaves the area as long as it has room.
    low = spread([0.0, 0.0, 0.0], 0.0, 100.0, 4.0)
    assert low == pytest.approx([0.0, 4.0, 8.0])
    assert spread([100.0, 100.0], 0.0, 100.0, 4.0) == pytest.approx([96.0, 100.0])
    assert spread([], 0.0, 1.0) == []
