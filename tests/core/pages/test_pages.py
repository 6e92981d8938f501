"""Pages as data: everything lies on the paper, nothing is lost, what is to scale is to scale."""

from dataclasses import replace
from functools import cache

import msgspec
import pytest

from core.analysis.analysis import Analysis
from core.analysis.engine import analyse
from core.errors import LoomwrightError
from core.files.library import load_library
from core.model import KeepOutZone, Photo
from core.pages.fold_out import SCALES, best_scale, fold_out_page, fold_out_pages, fold_out_tiles, sheet_drawing
from core.pages.frame import BAR_MM
from core.pages.imprint import AIRBAG, MAINS, SIDES, cautions, imprint
from core.pages.job import PaperJob, RenderJob, decode_job, encode_job
from core.pages.lettering import CUTS
from core.pages.marks import LineMark, Page, TextMark
from core.pages.paper import LONGEST_MM, Choices, paper
from core.pages.papers import PAPERS
from core.pages.table_pages import table_pages
from core.pages.tiles import OVERLAP_MM, tile_name, tiled
from core.pages.transform import bounds, moved
from core.tables.all import TABLES
from core.tables.spots import spots_by_surface
from core.tables.table import Column, Table
from core.text import cap_height_mm
from tests.helpers.results import analysis
from tests.helpers.sheet_van import van

DATE = "25 Nov 2026"


@cache
def van_analysis() -> Analysis:
    return analyse(van(), load_library())


def texts(page: Page) -> list[TextMark]:
    return [mark for mark in page.marks if isinstance(mark, TextMark)]


def words(page: Page) -> str:
    return " ".join(mark.text for mark in texts(page)).replace("\N{NARROW NO-BREAK SPACE}", " ")


def bar(page: Page) -> float | None:
    """Length of the level line that is exactly as long as the print check."""
    lines = [mark.points_mm for mark in page.marks if isinstance(mark, LineMark) and len(mark.points_mm) == 2]
    lengths = [b[0] - a[0] for a, b in lines if a[1] == b[1]]
    return next((length for length in lengths if length == pytest.approx(BAR_MM, abs=1e-9)), None)


@pytest.mark.parametrize("size", ["A4", "A3", "Letter"])
@pytest.mark.parametrize("orientation", ["portrait", "landscape"])
def test_every_table_stays_inside_the_margins(size: str, orientation: str) -> None:
    made = analysis(40, mains=True)
    on = paper(size, orientation)  # type: ignore[arg-type]
    for build in TABLES.values():
        for page in table_pages(build(made), on, imprint(made.plan, DATE)):
            box = bounds(page.marks)
            assert box is not None
            assert box.left >= on.margin_mm - 0.6
            assert box.right <= on.width_mm - on.margin_mm + 0.6
            assert box.bottom >= on.margin_mm - 0.6
            assert box.top <= on.height_mm - on.margin_mm + 0.6


def test_the_cut_list_loses_no_wire_and_numbers_its_pages() -> None:
    made = analysis(300)
    pages = PAPERS["cut-list"](made, imprint(made.plan, DATE))
    seen = [mark.text for page in pages for mark in texts(page)]
    for piece in made.pieces:
        assert seen.count(piece.piece) == 1
    for number, page in enumerate(pages, start=1):
        assert f"{number} of {len(pages)}" in words(page)
        assert "cut length" in words(page), "the head is repeated"
        for fact in (made.plan.name, DATE, "van-metric", "millimetres", SIDES):
            assert fact in words(page)


def test_what_is_read_in_the_workshop_is_three_millimetres_high() -> None:
    made = analysis(12)
    (page,) = PAPERS["cut-list"](made, imprint(made.plan, DATE))
    names = {piece.piece for piece in made.pieces}
    heights = [cap_height_mm(CUTS[mark.font], mark.size_mm) for mark in texts(page) if mark.text in names]
    assert len(heights) == len(names)
    assert min(heights) >= 3.0


def test_rows_do_not_run_into_each_other() -> None:
    """No two texts of a page overlap, wrapped cells and all."""
    made = analysis(40, mains=True)
    long = "a very long name that has to be broken into several lines because it says where the thing is fixed " * 3
    findings = tuple(msgspec.structs.replace(f, message=long, remedy=long[:150]) for f in made.findings)
    made = replace(made, findings=findings)
    for name in ("findings", "cut-list", "circuit-schedule"):
        for page in PAPERS[name](made, imprint(made.plan, DATE)):
            boxes = [(mark.text, bounds([mark])) for mark in texts(page)]
            for index, (one, a) in enumerate(boxes):
                for other, b in boxes[index + 1 :]:
                    assert a is not None
                    assert b is not None
                    apart = a.right <= b.left or b.right <= a.left or a.top <= b.bottom + 0.9 or b.top <= a.bottom + 0.9
                    assert apart, f"{one!r} lies on {other!r} in {name}"


@pytest.mark.parametrize("rows_of_a_group", [1, 2, 3, 5, 7, 40])
def test_a_group_goes_on_under_its_heading_on_the_next_page(rows_of_a_group: int) -> None:
    """On every page each row stands under the heading of its group, and no heading stands without a row below it."""
    count = 90
    table = Table(
        name="groups",
        title="Groups",
        columns=(Column(key="group", title="group"), Column(key="what", title="from A")),
        rows=tuple((f"g{index // rows_of_a_group}", f"row {index}") for index in range(count)),
        headings=tuple((index, f"Group {index // rows_of_a_group}.") for index in range(0, count, rows_of_a_group)),
        notes=("A note.",),
    )
    pages = table_pages(table, paper("A4"), imprint(analysis(2).plan, DATE))
    assert len(pages) > 2
    seen = 0
    for page in pages:
        words = sorted((mark for mark in page.marks if isinstance(mark, TextMark)), key=lambda mark: -mark.at_mm[1])
        told = [mark.text for mark in words if mark.text.startswith(("Group ", "row ", "A note", "g"))]
        told = [text for text in told if text not in ("group", "Groups")]
        group = ""
        for text, after in zip(told, [*told[1:], ""], strict=True):
            if text.startswith("Group "):
                group = f"g{text.removeprefix('Group ').partition('.')[0]}"
                assert after.startswith(("g", "row")), f"{text} stands alone"
            elif text.startswith("g"):
                assert text == group
                seen += 1
        if page is not pages[0] and rows_of_a_group == 40:
            assert "(continued)" in told[0] or told[0].startswith("Group 1.")
    assert seen == count


def test_an_empty_table_says_so() -> None:
    table = Table(name="t", title="Nothing", columns=(Column(key="a", title="a"),), rows=())
    (page,) = table_pages(table, paper("A4"), imprint(analysis(2).plan, DATE))
    assert "Nothing to list." in words(page)


def test_a_row_higher_than_the_page_ends() -> None:
    columns = (Column(key="a", title="a", weight=2.0),)
    table = Table(name="t", title="Long", columns=columns, rows=(("word " * 5000,),) * 3)
    assert 1 <= len(table_pages(table, paper("A4"), imprint(analysis(2).plan, DATE))) <= 3


#: They are cut up and stuck round wires; the caution is on the papers they are printed with.
STICKERS = frozenset({"labels", "labels-tape"})


def test_cautions_follow_what_the_plan_touches() -> None:
    plain = analysis(4).plan
    assert cautions(plain) == ()
    zone = KeepOutZone(id="z", surface="floor", kind="airbag", outline=((0, 0), (1, 0), (1, 1)))
    assert cautions(msgspec.structs.replace(plain, zones=(zone,)))[0] == AIRBAG
    mains = analysis(4, mains=True)
    assert cautions(mains.plan)[0] == MAINS
    for name, build in PAPERS.items():
        if name in STICKERS:
            continue
        made = build(mains, imprint(mains.plan, DATE))
        assert MAINS.partition(".")[0] in words(made[0]), name
        for page in made:
            assert "licensed electrician" in words(page), name


def test_the_fold_out_plan_is_at_a_round_scale_with_a_true_bar() -> None:
    made = van_analysis()
    (page,) = fold_out_pages(made, imprint(made.plan, DATE))
    assert (page.width_mm, page.height_mm) == (594, 420)
    assert bar(page) is not None
    scale = best_scale(made, paper("A2", "landscape"))
    assert scale in SCALES
    assert f"1 : {scale:g} on A2" in words(page)
    # The floor is 3,700 mm long: drawn, it is that over the scale.
    floor = next(m for m in page.marks if m.style == "outline:floor" and m.subject)
    box = bounds([floor])
    assert box is not None
    assert box.width == pytest.approx(3700 / scale)
    outer = bounds(page.marks)
    assert outer is not None
    assert outer.left >= 11.4
    assert outer.right <= 594 - 11.4
    assert outer.bottom >= 11.4
    assert outer.top <= 420 - 11.4
    for fact in ("BUNDLES", "CHECK BEFORE BUILDING", "READING THE DRAWING", "HOW THE SHEET FOLDS", "Bulkhead", SIDES):
        assert fact in words(page)


def test_smaller_paper_takes_a_coarser_scale() -> None:
    made = van_analysis()
    scales = [best_scale(made, paper(name, "landscape")) for name in ("A0", "A1", "A2", "A3", "A4")]
    assert scales == sorted(scales)
    assert scales[0] < scales[-1]


def test_a_plan_without_surfaces_still_gives_its_papers() -> None:
    empty = replace(analysis(2), plan=msgspec.structs.replace(analysis(2).plan, surfaces=(), nodes=(), channels=(),
                                                              devices=(), circuits=()), bundles={}, crossings=(),
                    securing=(), securing_gaps=())  # fmt: skip
    bare = analyse(empty.plan, load_library())
    empty = replace(empty, sheet=bare.sheet, paths=bare.paths)
    page = fold_out_page(empty, imprint(empty.plan, DATE), paper("A3", "landscape"))
    assert "Nothing is drawn yet." in words(page)


def test_tiles_cover_the_drawing_with_their_overlap() -> None:
    made = van_analysis()
    on, scale = paper("A4"), 20.0
    key, *tiles = fold_out_tiles(made, imprint(made.plan, DATE), on, scale)
    names = {mark.text.removeprefix("Tile ") for page in tiles for mark in texts(page) if mark.text.startswith("Tile ")}
    assert names <= {mark.text for mark in texts(key)}, "the first page shows where every tile lies"
    whole = bounds(moved(sheet_drawing(made, scale), 1 / scale, 0, 0))
    assert whole is not None
    across = max(int(mark.text[-1]) for page in tiles for mark in texts(page) if mark.text.startswith("Tile "))
    wide = 210 - 2 * on.margin_mm
    assert across * wide - (across - 1) * OVERLAP_MM >= whole.width
    assert (across - 1) * wide - (across - 2) * OVERLAP_MM < whole.width
    assert all(bar(page) is not None for page in tiles)
    drawn = {mark.subject for page in tiles for mark in page.marks}
    assert {device.id for device in made.plan.devices} <= drawn


def test_no_tile_is_printed_for_white_paper_and_none_is_missing() -> None:
    """A line down the whole left side, one across the top and a spot far below: only tiles with ink are there."""
    on, told = paper("A4", "landscape"), imprint(analysis(2).plan, DATE)
    lines = [
        LineMark(style="outline", points_mm=((0.0, 0.0), (0.0, 900.0))),
        LineMark(style="outline", points_mm=((0.0, 900.0), (1500.0, 900.0))),
        LineMark(style="outline", points_mm=((1400.0, 10.0), (1450.0, 10.0))),
    ]
    everything = tiled(lines, on, told, "Board")[1:]
    some = tiled(lines, on, told, "Board", skip_empty=True)[1:]
    inked = [[m for m in page.marks if isinstance(m, LineMark) and m.style == "outline"] for page in some]
    assert all(inked), "a blank tile"
    columns, rows = 6, len(everything) // 6
    assert len(everything) == columns * rows
    assert len(some) == columns + rows - 1 + 1
    spots = tuple(LineMark(style="outline", points_mm=((x, x), (x + 5.0, x))) for x in (0.0, 555.0, 1111.0, 1900.0))
    assert len(tiled(spots, on, told, "Board", skip_empty=True)[1:]) == len(spots)


def test_the_largest_plan_there_can_be_still_makes_a_page() -> None:
    plan = analysis(2).plan
    far = 9e8
    corners = tuple(
        msgspec.structs.replace(corner, at_mm=(corner.at_mm[0] and far, corner.at_mm[1] and far))
        for corner in plan.surfaces[0].corners
    )
    surface = msgspec.structs.replace(plan.surfaces[0], corners=corners)
    made = analyse(msgspec.structs.replace(plan, surfaces=(surface,)), load_library())
    on = paper("A2", "landscape")
    page = fold_out_page(made, imprint(made.plan, DATE), on)
    assert best_scale(made, on) in SCALES
    assert len(page.marks) < 2000
    with pytest.raises(LoomwrightError, match="Choose a coarser scale"):
        fold_out_tiles(made, imprint(made.plan, DATE), paper("A4"), 20.0)


def test_tiles_are_named_like_a_map() -> None:
    assert [tile_name(0, 0), tile_name(25, 2), tile_name(26, 0), tile_name(701, 9)] == ["A1", "Z3", "AA1", "ZZ10"]


def test_a_job_survives_the_way_to_the_child() -> None:
    made = van_analysis()
    pages = fold_out_pages(made, imprint(made.plan, DATE))
    job = RenderJob(papers=(PaperJob(path="/tmp/x.pdf", title="ü", pages=pages),))
    assert decode_job(encode_job(job)) == job


def test_the_fold_out_plan_at_a_scale_that_is_asked_for() -> None:
    """On the smallest paper that takes it; on one of its own size where none does; never beyond what a PDF can be."""
    made = van_analysis()

    def page(scale: float) -> Page:
        about = msgspec.structs.replace(imprint(made.plan, DATE), choices=Choices(scale=scale))
        return fold_out_pages(made, about)[0]

    for scale in (100.0, 40.0, 25.0, 10.0, 5.0):
        made_page = page(scale)
        drawn = bounds([mark for mark in made_page.marks if mark.subject])
        assert drawn is not None
        assert max(made_page.width_mm, made_page.height_mm) <= LONGEST_MM
        assert drawn.left >= 0
        assert drawn.right <= made_page.width_mm
        assert f"1 : {scale:g}" in words(made_page)
    assert page(100.0).width_mm < page(10.0).width_mm
    with pytest.raises(LoomwrightError, match="Choose a coarser scale"):
        page(1.0)
    for wrong in (-2.0, 0.5, float("nan")):
        with pytest.raises(LoomwrightError, match="1 : 1 or coarser"):
            page(wrong)


def test_photos_that_are_pinned_stand_on_the_sheet_and_on_their_surface() -> None:
    made = van_analysis()
    surface = made.plan.surfaces[0].id
    photos = (
        Photo(id="ph1", image="none", surface=surface, at_mm=(400.0, 300.0), caption="Before"),
        Photo(id="ph2", image="x"),
    )
    pinned = replace(made, plan=msgspec.structs.replace(made.plan, photos=photos))
    more = len(sheet_drawing(pinned)) - len(sheet_drawing(made))
    assert more == 3, "a camera of three marks for the one that is pinned"
    rows = spots_by_surface(pinned)[surface]
    (spot,) = [row for row in rows if row.kind == "photo"]
    assert (spot.number, spot.at_mm, spot.what) == ("P1", (400.0, 300.0), "Before")
