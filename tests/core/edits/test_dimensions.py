"""Dimensions stay at what they measure."""

from core.analysis.engine import analyse
from core.edits.body import draw_opening, move_corner, set_outline
from core.edits.deleting import delete
from core.edits.dimensions import (
    add_attached_dimension,
    anchor_at,
    attached,
    detach,
    dimension_length_mm,
    dimensions_of_box,
)
from core.edits.resizing import stretch
from core.edits.transform import copy_by, move
from core.files.library import load_library
from core.model import Plan, find
from core.pages.marks import TextMark
from core.pages.sheet import sheet_marks
from core.text import mm
from tests.core.edits.checks import refused, sound
from tests.helpers.vans import shell

WINDOW = ((1_200.0, 900.0), (1_800.0, 900.0), (1_800.0, 1_300.0), (1_200.0, 1_300.0))


def measured() -> tuple[Plan, str, str]:
    """From the wall's front lower corner to the window's."""
    plan, window = draw_opening(shell(), "s3", WINDOW, "Window")
    before = plan
    plan, dimension = add_attached_dimension(plan, "s3", (0, 900), (1_200, 900))
    sound(before, plan, "dimensions")
    return plan, window, dimension


def test_an_end_at_a_corner_is_attached_and_one_beside_is_not() -> None:
    plan, window, dimension = measured()
    record = find(plan, "dimensions", dimension)
    assert record.from_on is None
    assert record.to_on is not None
    assert (record.to_on.record, record.to_on.corner) == (window, "0")
    corner = anchor_at(plan, "s3", (0.2, 0.1))
    assert corner is not None
    assert (corner.record, corner.corner) == ("s3", "1")


def test_it_follows_a_move_another_shape_and_a_longer_body() -> None:
    plan, window, dimension = measured()
    assert dimension_length_mm(plan, dimension) == 1_200
    assert dimension_length_mm(move(plan, (window,), (150, 0)), dimension) == 1_350
    moved = tuple((x + 75, y) for x, y in WINDOW)
    assert dimension_length_mm(set_outline(plan, window, moved), dimension) == 1_275
    longer, _ = stretch(plan, "length", 400, 600)
    assert dimension_length_mm(longer, dimension) == 1_600
    whole, edge = add_attached_dimension(plan, "s3", (0, 0), (3_000, 0))
    assert dimension_length_mm(whole, edge) == 3_000
    assert dimension_length_mm(move_corner(whole, "s3", "2", (2_950, 0)), edge) == 2_950


def test_it_is_drawn_where_it_lies_now() -> None:
    plan, window, dimension = measured()
    after = move(plan, (window,), (150, 0))
    marks = sheet_marks(analyse(after, load_library()))[dimension]
    assert mm(1_350) in [mark.text for mark in marks if isinstance(mark, TextMark)]


def test_what_it_measured_is_deleted_and_it_stays_where_it_was() -> None:
    plan, window, dimension = measured()
    after, _ = delete(plan, (window,))
    record = find(after, "dimensions", dimension)
    assert record.to_on is None
    assert record.to_mm == (1_200, 900)


def test_a_copy_and_one_that_was_moved_or_detached_let_go() -> None:
    plan, window, dimension = measured()
    plan, (copy,) = copy_by(plan, (dimension,), (0, 100))
    assert find(plan, "dimensions", copy).to_on is None
    moved = move(plan, (window,), (150, 0))
    assert dimension_length_mm(moved, copy) == 1_200
    free = detach(moved, dimension)
    assert attached(free, find(free, "dimensions", dimension)).to_mm == (1_350, 900)
    assert dimension_length_mm(move(free, (window,), (50, 0)), dimension) == 1_350


def test_width_and_height_of_a_thing() -> None:
    plan, window, _ = measured()
    plan, both = dimensions_of_box(plan, window)
    assert [dimension_length_mm(plan, each) for each in both] == [600, 400]
    refused(dimensions_of_box, plan, "s3", says="no outline")
