"""Panel maps: true left and right, bands as wide as they must be, whole bays where the way is unknown."""

from math import hypot

import pytest
from msgspec.structs import replace

from core.analysis.analysis import Analysis
from core.analysis.engine import analyse
from core.analysis.no_screw import PLACE_TOLERANCE_MM, STEP_MM, no_screw_bands, sag_mm, skin_screw_mm
from core.files.library import load_library
from core.geometry.upright import upright_part
from core.harness.fastening import RESERVE_MM
from core.model import Panel, Plan
from core.pages.imprint import imprint
from core.pages.marks import AreaMark, LineMark, Page, TextMark
from core.pages.panel_maps import full_size_pages, panel_map_pages
from core.tables.panel_bands import band_list
from core.tables.table import shown
from tests.helpers.walls import DOOR_REAR_MM, RIGHT, WIRE_MM, at, rectangle, wall


def made(plan: Plan) -> Analysis:
    return analyse(plan, load_library())


def extent(page: Page, style: str, subject: str) -> tuple[float, float, float, float]:
    points = [
        p for mark in page.marks if isinstance(mark, AreaMark) and (mark.style, mark.subject) == (style, subject)
        for p in mark.outline_mm
    ]  # fmt: skip
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def words(page: Page) -> str:
    text = " ".join(mark.text for mark in page.marks if isinstance(mark, TextMark))
    return text.replace("\N{NARROW NO-BREAK SPACE}", "")


def test_a_wire_300_mm_right_of_the_door_prints_300_mm_right() -> None:
    """Seen from inside; at 1:10 that is 30 mm on paper, at full size 300."""
    analysis = made(wall())
    about = imprint(analysis.plan, "25 Nov 2026")
    for pages, scale in ((panel_map_pages(analysis, about), 10.0), (full_size_pages(analysis, about), 1.0)):
        page = pages[0]
        _, _, door_right, _ = extent(page, "opening:door", "door")
        left, _, right, _ = extent(page, "no_screw", "c")
        assert (left + right) / 2 - door_right == pytest.approx((WIRE_MM - DOOR_REAR_MM) / scale, abs=0.01)
        assert f"1 : {scale:g}" in words(page)
        bars = [m.points_mm for m in page.marks if isinstance(m, LineMark) and len(m.points_mm) == 2]
        assert any(b[0] - a[0] == pytest.approx(100.0) and a[1] == b[1] for a, b in bars)


def test_the_map_is_not_mirrored() -> None:
    """The front is at the left hand of somebody who faces the vehicle's right wall."""
    analysis = made(wall())
    page = panel_map_pages(analysis, imprint(analysis.plan, ""))[0]
    front = next(m for m in page.marks if isinstance(m, TextMark) and m.text == "FRONT")
    rear = next(m for m in page.marks if isinstance(m, TextMark) and m.text == "REAR")
    assert front.at_mm[0] < rear.at_mm[0]


def test_the_sag_is_that_of_a_line_a_little_longer_than_its_span() -> None:
    """The length of the parabola itself, added up in small steps, is the span and its slack."""
    for span, slack in ((450.0, 0.005), (600.0, 0.01)):
        sag, count = sag_mm(span, slack), 2000
        points = [(span * n / count, 4 * sag * (n / count) * (1 - n / count)) for n in range(count + 1)]
        length = sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in zip(points, points[1:], strict=False))
        assert length == pytest.approx(span * (1 + slack), rel=2e-4)


def test_a_band_reaches_over_radius_tolerance_and_sag() -> None:
    analysis = made(wall())
    (band,) = [b for b in no_screw_bands(analysis, analysis.plan.panels[0]) if b.channel == "c"]
    held = sorted(row.at_mm for row in analysis.securing if row.channel == "c")
    marks = [0.0, *held, analysis.paths["c"].length_mm]
    longest = max(b - a for a, b in zip(marks, marks[1:], strict=False))
    needed = analysis.bundles["c"].diameter_laid_mm / 2 + PLACE_TOLERANCE_MM + sag_mm(longest)
    assert needed <= band.half_mm < needed + STEP_MM
    xs = [x for outline in band.outlines_mm for x, _ in outline]
    assert max(xs) - min(xs) == pytest.approx(2 * band.half_mm)
    assert band.kind == "band"


def test_the_whole_bay_is_forbidden_where_the_way_is_unknown() -> None:
    """From the front of the board to the rib, not beyond it."""
    plan = wall(state="unknown")
    analysis = made(plan)
    (band,) = [b for b in no_screw_bands(analysis, plan.panels[0]) if b.channel == "c"]
    assert (band.kind, band.screw_mm) == ("bay", None)
    xs = [x for outline in band.outlines_mm for x, _ in outline]
    ends = sorted((at(0.0, 0.0)[0], at(2_370.0, 0.0)[0]))
    assert (min(xs), max(xs)) == (pytest.approx(ends[0]), pytest.approx(ends[1]))
    assert "WAY UNKNOWN" in words(panel_map_pages(analysis, imprint(plan, ""))[0])


def test_a_measured_channel_between_two_places_of_the_wall_forbids_its_bay() -> None:
    plan = wall(surface=None, measured_mm=1_400.0)
    kinds = {b.channel: b.kind for b in no_screw_bands(made(plan), plan.panels[0])}
    assert kinds == {"c": "bay"}


def test_a_screw_length_is_given_only_where_the_depth_is_known() -> None:
    blind = made(wall())
    board = blind.plan.panels[0]
    assert [b.screw_mm for b in no_screw_bands(blind, board)] == [None]
    deep = made(wall(depth_mm=25.0))
    (band,) = no_screw_bands(deep, board)
    # The middle lies 25 mm deep: the screw stays short of the bundle's near side by the reserve.
    assert band.screw_mm == pytest.approx(25.0 - deep.bundles["c"].diameter_laid_mm / 2 - RESERVE_MM)
    assert skin_screw_mm(blind.surfaces[RIGHT]) == pytest.approx(40.0 - RESERVE_MM)
    assert skin_screw_mm(blind.surfaces["s1"]) is None


def test_a_panel_elsewhere_has_no_bands_and_one_in_the_way_is_cut_at_its_edge() -> None:
    plan = wall()
    analysis = made(plan)
    away = Panel(id="away", name="Away", surface=RIGHT, outline=rectangle(0.0, 50.0, 900.0, 1_750.0))
    assert no_screw_bands(analysis, away) == ()
    upper = Panel(id="upper", name="Upper", surface=RIGHT, outline=rectangle(1_500.0, 900.0, 2_600.0, 1_750.0))
    (band,) = no_screw_bands(analysis, upper)
    ys = [y for outline in band.outlines_mm for _, y in outline]
    edge = at(0.0, 900.0)[1]
    assert min(abs(y - edge) for y in ys) == pytest.approx(0.0, abs=1e-6)
    flat = replace(upper, outline=upper.outline[:2])
    assert no_screw_bands(analysis, flat) == ()


def test_the_list_says_the_reach_from_the_panels_own_edges() -> None:
    analysis = made(wall())
    board = analysis.plan.panels[0]
    bands = no_screw_bands(analysis, board)
    view = upright_part(board.outline, analysis.sheet.layout.pose(RIGHT))
    table = band_list(board, view, bands, skin_screw_mm(analysis.surfaces[RIGHT]))
    (row,) = table.rows
    half = bands[0].half_mm
    assert str(row[3]).replace("\N{NARROW NO-BREAK SPACE}", "") == f"{WIRE_MM - half:.0f} – {WIRE_MM + half:.0f}"
    # From the board's lower edge, 50 mm above the floor; square ends reach half a width beyond the wire.
    assert str(row[4]).replace("\N{NARROW NO-BREAK SPACE}", "") == f"{250 - half:.0f} – {1450 + half:.0f}"
    assert shown(row[6], "mm") == "–"
