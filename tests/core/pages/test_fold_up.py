"""The vehicle folded up: what is seen, in which order, and that it fits."""

from itertools import product

import pytest

from core.analysis.analysis import Analysis
from core.analysis.engine import analyse
from core.edits.measurements import bodies, typical
from core.edits.new_vehicle import build_vehicle
from core.files.library import load_library
from core.pages.fold_up import View, fold_up
from core.pages.marks import AreaMark, LineMark, TextMark
from core.pages.transform import bounds
from tests.helpers.sheet_van import van
from tests.helpers.vans import empty, shell

LIBRARY = load_library()


@pytest.fixture(scope="module")
def furnished() -> Analysis:
    return analyse(van(), LIBRARY)


def test_a_parallel_view_of_a_box_is_where_geometry_says() -> None:
    """Straight from the left, parallel: 3,000 wide and 1,800 high, so 200 x 120 mm in a frame of 200 mm."""
    marks = fold_up(analyse(shell(), LIBRARY), View(turn_deg=0, rise_deg=0, perspective=False, names=False), 200, 300)
    box = bounds(marks)
    assert box is not None
    assert (box.left, box.right) == (pytest.approx(0), pytest.approx(200))
    assert box.top - box.bottom == pytest.approx(120)
    # The far wall, vehicle right, is filled; the near one, vehicle left, only outlined.
    filled = {mark.subject for mark in marks if isinstance(mark, AreaMark)}
    assert "s3" in filled
    assert "s2" not in filled
    assert any(isinstance(mark, LineMark) and mark.subject == "s2" for mark in marks)


def test_from_behind_the_rear_is_glass_and_the_front_is_seen() -> None:
    analysis = analyse(shell(), LIBRARY)
    names = {surface.id: surface.role + surface.name for surface in analysis.plan.surfaces}
    marks = fold_up(analysis, View(turn_deg=90, rise_deg=20), 200, 200)
    filled = {names[mark.subject] for mark in marks if isinstance(mark, AreaMark)}
    assert "endFront" in filled
    assert "endRear" not in filled
    below = fold_up(analysis, View(turn_deg=90, rise_deg=-30), 200, 200)
    assert "ceilingCeiling" in {names[mark.subject] for mark in below if isinstance(mark, AreaMark)}


@pytest.mark.parametrize(("turn", "rise"), tuple(product((-150, -60, 28, 95, 180), (-80, 0, 32, 89))))
def test_every_side_fits_its_frame_and_shows_every_bundle(furnished, turn, rise) -> None:  # type: ignore[no-untyped-def]
    marks = fold_up(furnished, View(turn_deg=turn, rise_deg=rise), 160, 100, left=20, bottom=30)
    box = bounds([mark for mark in marks if not isinstance(mark, TextMark)])
    assert box is not None
    assert box.left >= 20 - 1e-6
    assert box.bottom >= 30 - 1e-6
    assert box.right <= 180 + 1e-6
    assert box.top <= 130 + 1e-6
    drawn = {mark.subject for mark in marks}
    assert set(furnished.bundles) <= drawn
    assert all(mark.subject for mark in marks)


def test_a_bundle_lies_over_its_wall(furnished) -> None:  # type: ignore[no-untyped-def]
    marks = fold_up(furnished, View(), 160, 100)
    order = {mark.subject: number for number, mark in enumerate(marks)}
    first = {mark.subject: number for number, mark in reversed(list(enumerate(marks))) if isinstance(mark, AreaMark)}
    for channel in furnished.bundles:
        surface = furnished.paths[channel].surface
        if surface in first:
            assert order[channel] > first[surface]


def test_unfolding_ends_flat_like_the_sheet() -> None:
    analysis = analyse(shell(), LIBRARY)
    flat = fold_up(analysis, View(turn_deg=0, rise_deg=89, perspective=False, names=False, folded=0), 500, 500)
    box = bounds(flat)
    assert box is not None
    # From above: 3,000 + 2 x 1,800 along, 1,700 + 1,800 x 2 + the ceiling's 1,700 across.
    assert (box.right - box.left) / (box.top - box.bottom) == pytest.approx(6_600 / 7_000, rel=1e-3)


@pytest.mark.parametrize("body", [body.key for body in bodies()])
def test_every_body_folds_up(body) -> None:  # type: ignore[no-untyped-def]
    analysis = analyse(build_vehicle(empty(), typical(body)), LIBRARY)
    marks = fold_up(analysis, View(), 160, 100)
    assert {surface.id for surface in analysis.plan.surfaces if surface.role != "arch"} <= {m.subject for m in marks}
    assert any(isinstance(mark, TextMark) for mark in marks)


def test_nothing_folded_is_an_empty_picture() -> None:
    assert fold_up(analyse(empty(), LIBRARY), View(), 100, 100) == ()
