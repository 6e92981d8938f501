"""Snapping with words, and the index of what is near."""

from math import dist

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from core.geometry.nearby import Nearby
from core.geometry.plane import nearest_on
from core.geometry.snap import WORDS, Targets, snap

FLOOR = (((0.0, 0.0), (1000.0, 0.0)), ((1000.0, 0.0), (1000.0, 600.0)))


def word(p: tuple[float, float], targets: Targets, radius_mm: float = 20.0) -> tuple[str, tuple[float, float]] | None:
    found = snap(p, targets, radius_mm)
    return None if found is None else (found.word, found.point)


def test_a_corner_wins_over_the_edges_that_make_it() -> None:
    assert word((990.0, 1.0), Targets(segments=FLOOR)) == ("end", (1000.0, 0.0))


def test_middle_and_edge() -> None:
    assert word((510.0, 4.0), Targets(segments=FLOOR)) == ("middle", (500.0, 0.0))
    assert word((300.0, 4.0), Targets(segments=FLOOR)) == ("edge", (300.0, 0.0))


def test_crossing_of_two_lines() -> None:
    rib = ((700.0, -100.0), (700.0, 700.0))
    assert word((705.0, 6.0), Targets(segments=(*FLOOR, rib))) == ("crossing", (700.0, 0.0))


def test_the_foot_of_a_perpendicular() -> None:
    assert word((303.0, 5.0), Targets(segments=FLOOR, from_point=(300.0, 400.0))) == ("perpendicular", (300.0, 0.0))
    # Not where the foot would lie past the end of the line.
    assert word((20.0, 5.0), Targets(segments=FLOOR, from_point=(-30.0, 400.0)), 15.0) == ("edge", (20.0, 0.0))


def test_aligned_with_one_point_two_points_and_an_edge() -> None:
    one = Targets(aligned_to=((200.0, 300.0),))
    assert word((212.0, 800.0), one) == ("aligned", (200.0, 800.0))
    two = Targets(aligned_to=((200.0, 300.0), (900.0, 500.0)))
    assert word((195.0, 506.0), two) == ("aligned", (200.0, 500.0))
    edge = Targets(segments=FLOOR, aligned_to=((200.0, 300.0),))
    assert word((208.0, 7.0), edge) == ("aligned", (200.0, 0.0))


def test_in_line_with_something_named_only_when_near_to_it() -> None:
    light = Targets(aligned_to=((200.0, 300.0),), aligned_things=("Light left 2",), align_mm=5.0)
    found = snap((204.0, 800.0), light, 20.0)
    assert found is not None
    assert (found.point, found.words) == ((200.0, 800.0), "in line with Light left 2")
    assert snap((206.0, 800.0), light, 20.0) is None


def test_what_else_holds_is_said_too() -> None:
    """Where a guide meets an edge, and where two guides meet."""
    targets = Targets(
        segments=FLOOR, things=("sill",), aligned_to=((200.0, 300.0), (700.0, 500.0)), aligned_things=("pump", "fan")
    )
    found = snap((204.0, 3.0), targets, 10.0)
    assert found is not None
    assert (found.point, found.words) == ((200.0, 0.0), "in line with pump, on sill")
    both = snap((203.0, 497.0), targets, 10.0)
    assert both is not None
    assert both.point == (200.0, 500.0)
    assert sorted(both.words.split(", ")) == ["in line with fan", "in line with pump"]


def test_things_are_named() -> None:
    targets = Targets(segments=FLOOR, things=("fold", "seam"), from_point=(300.0, 400.0))
    for p, words in (
        ((990.0, 1.0), "end of fold"),
        ((510.0, 4.0), "middle of fold"),
        ((303.0, 5.0), "perpendicular to fold"),
        ((650.0, 4.0), "on fold"),
        ((1_004.0, 150.0), "on seam"),
    ):
        found = snap(p, targets, 12.0)
        assert found is not None
        assert found.words == words
    rib = ((700.0, -100.0), (700.0, 700.0))
    found = snap((702.0, 3.0), Targets(segments=(*FLOOR, rib), things=("fold", "seam", "rib")), 12.0)
    assert found is not None
    assert found.words == "crossing of fold and rib"
    assert snap((510.0, 4.0), Targets(segments=FLOOR), 20.0).words == "middle"  # type: ignore[union-attr]


def test_parallel_square_and_in_line_with_a_guide() -> None:
    slope = ((0.0, 0.0), (400.0, 300.0))
    targets = Targets(guides=(slope,), from_point=(1_000.0, 0.0))
    # Along (4, 3) from (1000, 0), 500 mm on: (1400, 300). Across it, 500 mm on: (700, 400).
    assert word((1_398.0, 303.0), targets) == ("parallel", pytest.approx((1_400.0, 300.0), abs=2.5))
    assert word((702.0, 402.0), targets) == ("square", pytest.approx((700.0, 400.0), abs=3.0))
    assert word((803.0, 598.0), targets) == ("in line", pytest.approx((800.0, 600.0), abs=3.0))
    assert word((200.0, 156.0), targets) is None  # beside the guide itself: that is its edge's business
    # A guide and an edge: where they cross.
    assert word((1_004.0, 9.0), Targets(segments=FLOOR, guides=(((-50.0, 5.0), (-20.0, 5.0)),)), 15.0) == (
        "end",
        (1_000.0, 0.0),
    )
    assert word((1_006.0, 254.0), Targets(segments=FLOOR, guides=(((-50.0, 250.0), (-20.0, 250.0)),))) == (
        "in line",
        (1_000.0, 250.0),
    )


def test_the_grid_comes_last() -> None:
    targets = Targets(segments=FLOOR, grid_mm=50.0)
    assert word((148.0, 5.0), targets) == ("edge", (148.0, 0.0))
    assert word((148.0, 305.0), targets) == ("grid", (150.0, 300.0))
    assert word((125.0, 325.0), targets) is None  # the nearest grid point is 35 mm away


def test_nothing_near_is_nothing() -> None:
    assert snap((5000.0, 5000.0), Targets(segments=FLOOR, points=((0.0, 0.0),)), 20.0) is None


near_point = st.tuples(st.floats(-100, 1100), st.floats(-100, 700))


@given(near_point, st.floats(0.1, 60.0), st.one_of(st.none(), near_point))
def test_a_snap_is_near_and_has_a_word(p, radius_mm, start) -> None:  # type: ignore[no-untyped-def]
    found = snap(p, Targets(segments=FLOOR, grid_mm=25.0, from_point=start, aligned_to=((333.0, 222.0),)), radius_mm)
    if found is not None:
        assert found.word in WORDS
        assert dist(found.point, p) == pytest.approx(found.distance_mm)
        assert found.distance_mm <= radius_mm


lines = st.dictionaries(
    st.text("abcdefgh", min_size=1, max_size=3), st.lists(near_point, min_size=1, max_size=4), max_size=12
)


@settings(max_examples=60)
@example({"a": [(0.0, 0.0), (0.0, 2.6e-294)]}, (0.0, 0.0), 1.0)
@given(lines, near_point, st.floats(1.0, 400.0))
def test_the_index_finds_what_looking_at_all_finds(items, p, radius_mm) -> None:  # type: ignore[no-untyped-def]
    index = Nearby(items)
    away = {item: nearest_on(line, p).distance_mm for item, line in items.items()}
    nearest = index.nearest(p)
    assert (nearest is None) == (not items)
    if nearest is not None:
        assert nearest.distance_mm == pytest.approx(min(away.values()), abs=1e-9)
    assert {near.id for near in index.within(p, radius_mm)} == {i for i, mm in away.items() if mm <= radius_mm}
    reached = index.nearest(p, radius_mm)
    assert (reached is not None) == any(mm <= radius_mm for mm in away.values())


def test_a_box_takes_what_reaches_into_it() -> None:
    index = Nearby({"across": ((-10.0, 5.0), (20.0, 5.0)), "away": ((50.0, 50.0),), "in": ((1.0, 1.0),)})
    assert index.in_box((0.0, 0.0), (10.0, 10.0)) == ("across", "in")
    assert len(index) == 3
    assert Nearby({}).nearest((0.0, 0.0)) is None


def test_a_thing_without_points_is_refused() -> None:
    with pytest.raises(ValueError, match="lost has no points"):
        Nearby({"lost": ()})
