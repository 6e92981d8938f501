"""The owner's book: contents that tell the right pages, and chapters that hold what they are called."""

from base64 import b64decode

import pytest
from msgspec.structs import replace

from core.analysis.analysis import Analysis
from core.analysis.engine import analyse
from core.files.library import load_library
from core.model import AsPulled, Box, Hatch, Image, Photo, Plan
from core.pages.imprint import imprint
from core.pages.marks import ImageMark, Page, TextMark
from core.pages.owners_book import owners_book_pages
from core.tables.handing_over import always_live, as_pulled, inspection, waivers
from core.tables.reach import OPEN, place_words, reach_words, spare_ducts, where_to_find
from tests.helpers.samples import SAMPLES, sample
from tests.helpers.walls import RIGHT, at, rectangle, wall

#: The smallest picture there is: one pixel (PNG).
PIXEL = b64decode("iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==")


def made(plan: Plan) -> Analysis:
    return analyse(plan, load_library())


def book(analysis: Analysis) -> tuple[Page, ...]:
    return owners_book_pages(analysis, imprint(analysis.plan, "25 Nov 2026"))


def texts(page: Page) -> list[str]:
    return [mark.text for mark in page.marks if isinstance(mark, TextMark)]


@pytest.mark.parametrize("name", SAMPLES)
def test_the_contents_tell_the_pages_on_which_the_chapters_begin(name: str) -> None:
    pages = book(sample(name))
    marks = [m for m in pages[0].marks if isinstance(m, TextMark)]
    rows = {m.at_mm[1]: m.text for m in marks if m.anchor == "right" and m.text.isdigit()}
    chapters = {m.text: int(rows[m.at_mm[1]]) for m in marks if m.at_mm[1] in rows and not m.text.isdigit()}
    assert len(chapters) >= 6
    begins = {}
    for number, page in enumerate(pages, start=1):
        begins.setdefault(page.title, number)
    assert sorted(chapters.values()) == sorted(begins.values())[1:]
    assert "Waivers" in chapters


def test_every_waiver_is_printed_with_its_reason() -> None:
    analysis = sample("long-van")
    assert analysis.plan.waivers
    reasons = {waiver.reason for waiver in analysis.plan.waivers}
    assert {row[2] for row in waivers(analysis).rows} == reasons
    said = " ".join(text for page in book(analysis) for text in texts(page))
    for reason in reasons:
        assert reason in said
    assert "No finding was set aside" in " ".join(t for page in book(made(wall())) for t in texts(page))


#: Followed by hand on the circuits of both samples, from each battery to the first switch.
STAYS_LIVE = {
    "weekend-camper": {
        "House feed": "always live",
        "Feed of the fuse block": "live up to Main switch",
        "Charger, from the vehicle battery": "always live",
        "Charger, to the house battery": "always live",
        "Air heater": "always live",
    },
    "long-van": {
        "House feed": "live up to Main switch",
        "Battery link": "always live",
        "Feed, always-live block": "always live",
        "Vehicle battery to alternator charger": "always live",
        "Alternator charger to the bus": "live while Alternator charger charges",
        "Charge controller to the bus": "live while Charge controller charges",
        "Solar string 1": "live in daylight",
        "Solar string 2": "live in daylight",
        "Air heater": "always live",
        "Gas alarm": "always live",
        "Control display": "always live",
        # The inverter's 12 V side is behind the main switch; shore power goes through it.
        **dict.fromkeys(
            ("Shore feed", "Inverter output to panelboard", "Outlets, left", "Outlets, right", "Induction hob",
             "Water heater"), "live while shore power is plugged in",
        ),
    },
}  # fmt: skip


@pytest.mark.parametrize("name", SAMPLES)
def test_what_stays_live_is_what_hangs_before_the_main_switch(name: str) -> None:
    analysis = sample(name)
    assert {row[0]: row[1] for row in always_live(analysis).rows} == STAYS_LIVE[name]


def test_a_switch_in_the_return_leaves_all_behind_it_live() -> None:
    """The main switch of the weekend camper put into the return: the feeds stay at battery voltage."""
    plan = sample("weekend-camper").plan
    feed = next(circuit for circuit in plan.circuits if circuit.name == "Feed of the fuse block")
    stops = tuple(replace(stop, poles="return") if stop.role == "series" else stop for stop in feed.stops)
    changed = replace(feed, stops=stops)
    circuits = tuple(changed if circuit.id == feed.id else circuit for circuit in plan.circuits)
    live = {row[0]: row[1] for row in always_live(made(replace(plan, circuits=circuits))).rows}
    behind = {c.name for c in plan.circuits if c.kind == "branch" and c.group == "dc_power"}
    assert behind <= set(live)
    assert live["Feed of the fuse block"] == "always live"


def test_how_to_reach_a_thing_is_told_from_the_room_inwards() -> None:
    """The same place behind a board, in a box with a hatch, in one that comes out, and in one nobody can open."""
    plan = wall()
    point = at(2_000.0, 900.0)
    outline = rectangle(1_900.0, 800.0, 2_100.0, 1_000.0)
    box = Box(id="box", name="Locker", surface=RIGHT, outline=outline, height_mm=300.0)
    hatch = replace(box, hatches=(Hatch(side="front", width_mm=200.0, height_mm=150.0),))
    bare = replace(plan, panels=())
    assert reach_words(made(bare), RIGHT, point) == OPEN
    assert reach_words(made(plan), RIGHT, point) == "unscrew Board"
    both = made(replace(plan, boxes=(hatch,)))
    assert reach_words(both, RIGHT, point) == "unscrew Board; Locker: hatch front 200 × 150"
    loose = replace(bare, boxes=(replace(box, fixed=False),))
    assert reach_words(made(loose), RIGHT, point) == "take out Locker"
    assert "FIXED" in reach_words(made(replace(bare, boxes=(box,))), RIGHT, point)
    assert reach_words(made(replace(bare, boxes=(box,))), RIGHT, at(500.0, 900.0)) == OPEN


def test_a_place_is_told_by_two_edges() -> None:
    said = place_words(made(wall()), RIGHT, at(2_000.0, 900.0)).replace("\N{NARROW NO-BREAK SPACE}", "")
    assert said.endswith("2000 from the front edge, 900 from the lower edge")


def test_fuses_splices_connectors_bonds_and_spare_ducts_can_be_found() -> None:
    analysis = sample("long-van")
    plan = analysis.plan
    rows = {str(row[1]): row for row in where_to_find(analysis).rows}
    wanted = [d.name for d in plan.devices if d.kind in ("fuse", "fuse_block", "battery", "bus_bar")]
    for name in [*wanted, *(r.name for g in (plan.splices, plan.connectors, plan.earth_points) for r in g)]:
        assert name in rows
        assert rows[name][2]
        assert rows[name][3]
    assert plan.splices[0].access in str(rows[plan.splices[0].name][3])
    ducts = [channel for channel in plan.channels if channel.spare_duct]
    assert [row[0] for row in spare_ducts(analysis).rows] == [channel.name for channel in ducts]


def test_what_was_pulled_otherwise_is_told() -> None:
    plan = wall()
    wire = next(iter(made(plan).wires))
    entries = (AsPulled(id="a", wire=wire, section_mm2=95.0, length_mm=99_000.0), AsPulled(id="b", wire="gone"))
    planned = made(plan).sized[wire].section_mm2
    table = as_pulled(made(replace(plan, as_pulled=entries)))
    at = [column.key for column in table.columns].index("difference")
    first, second = (str(row[at]) for row in table.rows)
    assert "longer than the cut" in first
    # The plan's own size stays beside what was pulled, though the analysis now counts with the pulled one.
    assert f"95 instead of {planned:g} mm²" in first
    assert table.rows[0][1] == planned
    assert "no such wire" in second


def test_photos_are_bound_in_with_their_board() -> None:
    plan = replace(
        wall(),
        images=(Image(id="i", media_type="image/png", data=PIXEL), Image(id="j", media_type="image/png", data=b"none")),
        photos=(Photo(id="p", image="i", panel="board", caption="Before the board", taken_on="2026-11-24"),
                Photo(id="q", image="j")),
    )  # fmt: skip
    page = next(page for page in book(made(plan)) if page.title.startswith("Photos"))
    (picture,) = [mark for mark in page.marks if isinstance(mark, ImageMark)]
    assert picture.width_mm == pytest.approx(picture.height_mm)
    assert any("Board · Before the board · 2026-11-24" in text for text in texts(page))


def test_the_inspector_is_told_of_missing_residual_current_protection() -> None:
    analysis = sample("long-van")
    told = {str(row[0]): str(row[1]) for row in inspection(analysis).rows}
    assert "RCD" in told["Residual-current protection"]
    without = made(replace(analysis.plan, devices=tuple(
        replace(d, kind="other") if d.kind == "rcd" else d for d in analysis.plan.devices
    )))  # fmt: skip
    assert {row[0]: row[1] for row in inspection(without).rows}["Residual-current protection"] == "NONE"
