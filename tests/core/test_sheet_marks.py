"""The sheet drawing: what is drawn, that labels keep apart, and that only what changed is drawn anew."""

from functools import cache
from itertools import combinations

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.analysis.analysis import Analysis
from core.analysis.engine import Analyser
from core.analysis.results import Bundle
from core.edits.devices import move_device
from core.files.library import load_library
from core.geometry.plane import length_mm
from core.model import Channel, find
from core.pages.marks import AreaMark, LineMark, PathMark, TextMark
from core.pages.sheet import LAYERS, SheetDrawing, find_trunks, record_of, sheet_marks
from core.pages.sheet_base import World
from core.pages.sheet_placement import Room, Rooms, along, overlap, turned, upright
from core.pages.sheet_surfaces import fold_lines
from core.pages.sheet_text import corners
from core.pages.sheet_things import hatch, pixels
from core.text import NARROW_SPACE
from tests.helpers.sheet_van import HEIGHT_MM, LENGTH_MM, WIDTH_MM, van


@cache
def analysed() -> Analysis:
    return Analyser(load_library()).analyse(van(), "quick")


def by_name(collection: str, name: str) -> str:
    return next(r.id for r in getattr(analysed().plan, collection) if r.name == name)


def test_surfaces_lie_on_the_sheet_as_folded() -> None:
    """The right wall stands above the floor, the ceiling above it, all true to size."""
    marks = sheet_marks(analysed())
    for name, low, high in (
        ("Floor", 0, WIDTH_MM),
        ("Right wall", WIDTH_MM, WIDTH_MM + HEIGHT_MM),
        ("Ceiling", WIDTH_MM + HEIGHT_MM, 2 * WIDTH_MM + HEIGHT_MM),
        ("Left wall", -HEIGHT_MM, 0),
    ):
        (area,) = marks[by_name("surfaces", name)]
        assert isinstance(area, AreaMark)
        xs, ys = zip(*area.outline_mm, strict=True)
        assert (min(xs), max(xs)) == pytest.approx((0, LENGTH_MM))
        assert (min(ys), max(ys)) == pytest.approx((low, high))


def test_folds_are_dash_dot_and_not_drawn_as_outline_too() -> None:
    marks = sheet_marks(analysed())
    folds = fold_lines(World.of(analysed(), "full", 20.0))
    wall = by_name("surfaces", "Right wall")
    (line,) = marks[f"fold:{wall}"]
    assert line.style == "fold"
    assert length_mm(folds[wall]) == pytest.approx(LENGTH_MM)
    solid = [
        length_mm((*m.points_mm, m.points_mm[0]) if m.closed else m.points_mm)
        for m in marks[f"outline:{wall}"]
        if isinstance(m, LineMark)
    ]
    # Two folds of its four edges: to the floor and to the ceiling.
    assert sum(solid) == pytest.approx(2 * HEIGHT_MM)


def test_a_fold_on_part_of_an_edge_leaves_the_rest_solid() -> None:
    """Both rear doors fold at the floor's rear edge, half of it each, so nothing of it is left solid."""
    marks = sheet_marks(analysed())
    floor = by_name("surfaces", "Floor")
    assert f"outline:{floor}" not in marks
    door = by_name("surfaces", "Rear door left")
    (line,) = marks[f"fold:{door}"]
    assert isinstance(line, LineMark)
    assert length_mm(line.points_mm) == pytest.approx(WIDTH_MM / 2)


def test_bundles_are_to_scale_unless_too_thin_to_see() -> None:
    analysis = analysed()
    for scale in (5.0, 20.0):
        marks = sheet_marks(analysis, scale=scale)
        for channel, bundle in analysis.bundles.items():
            widths = [m.width_mm for m in marks[channel] if m.style.startswith("bundle:") and isinstance(m, PathMark)]
            assert widths == [pytest.approx(max(bundle.diameter_laid_mm, 0.5 * scale))]


def test_a_tick_for_each_securing_point_that_no_label_covers() -> None:
    analysis = analysed()
    marks = sheet_marks(analysis)
    for channel in analysis.bundles:
        rows = sum(row.channel == channel for row in analysis.securing)
        ticks = sum(mark.style == "tick" for mark in marks[channel])
        assert ticks <= rows
        if f"pill:{channel}" not in marks:
            assert ticks == rows


def test_a_diamond_where_a_bundle_passes_a_fold() -> None:
    analysis = analysed()
    marks = sheet_marks(analysis)
    passing = {
        node
        for node, spot in analysis.node_spots.items()
        if len({c.surface for c in analysis.plan.channels if node in (c.start, c.end) and c.id in analysis.bundles}) > 1
        and spot.sheet_mm
    }
    assert len(passing) >= 4
    for node in analysis.node_spots:
        diamonds = [m for m in marks.get(node, ()) if m.style == "fold:mark"]
        assert bool(diamonds) == (node in passing)


def test_labels_of_bundles_devices_and_captions_lie_on_nothing_of_each_other() -> None:
    for scale in (14.0, 20.0, 28.0):
        marks = sheet_marks(analysed(), scale=scale)
        devices = {d.id for d in analysed().plan.devices}
        rooms = []
        for key, found in marks.items():
            if key.startswith("pill:"):
                rooms += [(key, m.outline_mm) for m in found if isinstance(m, AreaMark)]
            elif key.startswith("caption:") or (key.startswith("name:") and record_of(key) in devices):
                rooms += [(key, corners(m)) for m in found if isinstance(m, TextMark)]
        clashes = [(a, b) for (a, p), (b, q) in combinations(rooms, 2) if a != b and overlap(p, q)]
        assert not clashes
        assert len(rooms) > 30


def test_names_in_boxes_are_cut_off_rather_than_run_over() -> None:
    plan = van()
    box = find(plan, "boxes", by_name("boxes", "Wardrobe"))
    long = msgspec.structs.replace(box, name="Wardrobe with the very long name of its own, and hooks")
    plan = msgspec.structs.replace(plan, boxes=tuple(long if b is box or b.id == box.id else b for b in plan.boxes))
    marks = sheet_marks(Analyser(load_library()).analyse(plan, "quick"))
    name = marks[f"name:{box.id}"][0]
    assert isinstance(name, TextMark)
    assert name.text.endswith("…")
    xs = [p[0] for p in corners(name)]
    assert min(xs) >= 1500
    assert max(xs) <= 2200


def test_measures_have_narrow_spaces_between_thousands() -> None:
    texts = {m.text for found in sheet_marks(analysed()).values() for m in found if isinstance(m, TextMark)}
    assert f"1{NARROW_SPACE}400" in texts  # the dimension
    assert f"3{NARROW_SPACE}700 × 1{NARROW_SPACE}900 mm" in texts  # a wall's size


def test_every_seam_is_lettered_on_both_its_edges() -> None:
    analysis = analysed()
    marks = sheet_marks(analysis)
    assert analysis.plan.seams
    for seam in analysis.plan.seams:
        letters = [m.text for m in marks[seam.id] if isinstance(m, TextMark)]
        assert letters == [analysis.sheet.seam_letters[seam.id]] * 2


def test_the_way_of_a_wire_is_lit_over_folds() -> None:
    analysis = analysed()
    wire, route = max(analysis.routes.items(), key=lambda pair: (len(pair[1].steps), pair[0]))
    marks = sheet_marks(analysis, highlight=wire)[f"route:{wire}"]
    lit = [m for m in marks if m.style == "route"]
    assert len(lit) == len(route.steps) + 2  # the falls at both ends
    drawn = sum(length_mm(m.points_mm) for m in lit if isinstance(m, PathMark))
    assert drawn == pytest.approx(route.route_mm, abs=1.0)


def test_layers_are_in_order_and_detail_leaves_out() -> None:
    drawn = SheetDrawing().draw(analysed())
    order = [LAYERS.index(one.layer) for one in drawn.values()]
    assert order == sorted(order)
    counts = [
        sum(len(marks) for marks in sheet_marks(analysed(), detail).values()) for detail in ("full", "medium", "low")
    ]
    assert counts[0] > counts[1] > counts[2]


def test_only_what_changed_is_drawn_anew() -> None:
    analyser, drawing = Analyser(load_library()), SheetDrawing()
    plan = van()
    before = drawing.draw(analyser.analyse(plan, "quick"))
    again = drawing.draw(analyser.analyse(plan, "quick"))
    assert all(before[key] is one for key, one in again.items())
    device = next(d for d in plan.devices if d.name == "Switches")
    moved = move_device(plan, device.id, device.surface, (device.at_mm[0] + 40, device.at_mm[1]))
    after = drawing.draw(analyser.analyse(moved, "quick"))
    changed = {record_of(key) for key, one in after.items() if before.get(key) is not one}
    assert device.id in changed
    assert len(changed) < 6


def test_while_dragging_labels_stay_and_names_go_along() -> None:
    analyser, drawing = Analyser(load_library()), SheetDrawing()
    plan = van()
    full = analyser.analyse(plan, "quick")
    before = drawing.draw(full)
    device = next(d for d in plan.devices if d.name == "Fridge")
    moved = move_device(plan, device.id, device.surface, (device.at_mm[0] + 100, device.at_mm[1]))
    during = drawing.draw(analyser.estimate(moved, full))
    (was,), (now,) = before[f"name:{device.id}"].marks, during[f"name:{device.id}"].marks
    assert isinstance(was, TextMark)
    assert isinstance(now, TextMark)
    assert now.at_mm != was.at_mm
    assert {k: one.marks for k, one in before.items() if k.startswith("caption:")} == {
        k: one.marks for k, one in during.items() if k.startswith("caption:")
    }


# --- trunks ----------------------------------------------------------------------------------------------------------


def bundle(channel: str, *wires: str) -> Bundle:
    return Bundle(
        channel=channel,
        length_mm=1000.0,
        wires=wires,
        items=(),
        diameter_tight_mm=5.0,
        diameter_laid_mm=6.0,
        fill_percent=None,
        fill_limit_percent=None,
        mass_g_per_m=1.0,
    )


def star(arms: int) -> tuple[tuple[Channel, ...], dict[str, Bundle]]:
    """A line of channels that loses one wire at each node to an arm."""
    channels, bundles = [], {}
    for n in range(arms):
        channels.append(Channel(id=f"t{n}", start=f"n{n}", end=f"n{n + 1}"))
        bundles[f"t{n}"] = bundle(f"t{n}", *(f"w{m}" for m in range(n, arms + 1)))
        channels.append(Channel(id=f"a{n}", start=f"n{n + 1}", end=f"e{n}"))
        bundles[f"a{n}"] = bundle(f"a{n}", f"w{n}")
    return tuple(channels), bundles


def test_a_trunk_goes_on_in_the_thicker_channel() -> None:
    channels, bundles = star(4)
    trunks = find_trunks(channels, bundles)
    assert {trunks.by_channel[f"t{n}"].name for n in range(3)} == {"B1"}
    assert trunks.by_channel["a0"].name != "B1"


@given(st.integers(1, 30))
def test_there_are_never_more_colours_than_the_palette_has(arms: int) -> None:
    channels, bundles = star(arms)
    trunks = find_trunks(channels, bundles)
    assert len(trunks.trunks) <= 6
    assert sorted(c for t in trunks.trunks for c in t.channels) == sorted(bundles)
    assert len({t.colour for t in trunks.trunks}) == len(trunks.trunks)
    assert find_trunks(tuple(reversed(channels)), bundles).trunks[0].name == "B1"


def test_channels_with_the_same_wires_share_a_run() -> None:
    channels = tuple(Channel(id=f"c{n}", start=f"n{n}", end=f"n{n + 1}") for n in range(3))
    bundles = {"c0": bundle("c0", "a", "b"), "c1": bundle("c1", "a", "b"), "c2": bundle("c2", "a")}
    assert find_trunks(channels, bundles).runs[0] == ("c0", "c1")


# --- placement -------------------------------------------------------------------------------------------------------


def test_turned_rectangles_overlap_only_where_they_share_an_area() -> None:
    square = upright(0, 0, 10, 10)
    assert overlap(square, turned((12, 5), 10, 2, 0.0))
    assert not overlap(square, upright(10, 0, 20, 10))
    # The corner of a square on its tip, 7.07 from its middle, reaches just short of 10 or just over it.
    assert not overlap(square, turned((17.1, 5), 10, 10, 45.0))
    assert overlap(square, turned((17.0, 5), 10, 10, 45.0))
    # Bounding boxes meet here, the strips do not.
    assert not overlap(along((0, 0), (100, 100), 2), upright(60, 10, 80, 30))


@given(st.lists(st.tuples(st.floats(0, 500), st.floats(0, 500), st.floats(-90, 90)), max_size=30))
def test_what_is_placed_never_overlaps(wanted: list[tuple[float, float, float]]) -> None:
    room, placed = Room(20.0), []
    for x, y, turn in wanted:
        options = [turned((x + dx, y), 60, 12, turn) for dx in (0, 70, -70)]
        number = room.place(options)
        if number is not None:
            placed.append(options[number])
    assert not any(overlap(a, b) for a, b in combinations(placed, 2))


def test_a_second_best_place_is_better_than_none() -> None:
    room = Rooms(10.0)
    room.soft.take(upright(0, 0, 10, 10))
    assert room.place([upright(0, 0, 5, 5), upright(20, 0, 25, 5)]) == 1
    assert room.place([upright(0, 0, 5, 5), upright(20, 0, 25, 5)]) == 0
    assert room.place([upright(0, 0, 5, 5)]) is None


def test_hatching_stays_inside_and_is_bounded() -> None:
    lines = hatch(upright(0, 0, 100, 50), 10.0)
    assert lines
    assert all(-1e-6 <= x <= 100 + 1e-6 and -1e-6 <= y <= 50 + 1e-6 for line in lines for x, y in line)
    assert len(hatch(upright(0, 0, 1e6, 1e6), 1.0)) <= 201


def test_sizes_of_pictures_are_read_from_their_heads() -> None:
    png = b"\x89PNG\r\n\x1a\n" + b"\x00\x00\x00\rIHDR" + (640).to_bytes(4, "big") + (480).to_bytes(4, "big")
    assert pixels(png) == (640, 480)
    # SOI, an APP0 segment of 16 bytes, then SOF0: length 17, 8 bits, 300 lines of 400 samples (ITU-T T.81, B.2.2).
    jpeg = b"\xff\xd8\xff\xe0\x00\x10" + bytes(14) + b"\xff\xc0\x00\x11\x08\x01\x2c\x01\x90\x03" + bytes(9)
    assert pixels(jpeg) == (400, 300)
    assert pixels(b"GIF89a") is None
    assert pixels(b"\xff\xd8\xff") is None
