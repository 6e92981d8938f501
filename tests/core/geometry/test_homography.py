"""Straightening a photo by four points."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.geometry.homography import of_four_points, straighten, warp

#: A window of 900 x 500 mm as a camera sees it from the side (pixels, y down).
SEEN = ((120.0, 80.0), (860.0, 180.0), (850.0, 620.0), (110.0, 700.0))


def test_corners_come_to_lie_on_corners_and_straight_lines_stay_straight() -> None:
    work = straighten(SEEN, 900, 500)
    assert work.width_px / work.height_px == pytest.approx(900 / 500, rel=5e-3)
    assert work.mm_per_pixel * work.width_px == pytest.approx(900)
    goals = ((0, 0), (work.width_px - 1, 0), (work.width_px - 1, work.height_px - 1), (0, work.height_px - 1))
    for p, q in zip(SEEN, goals, strict=True):
        assert work.homography.at(p) == pytest.approx(q, abs=1e-6)
    # The crossing of the diagonals of a rectangle is its middle, whatever the perspective.
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = SEEN
    t = ((bx - ax) * (by - dy) - (by - ay) * (bx - dx)) / ((cx - ax) * (by - dy) - (cy - ay) * (bx - dx))
    middle = (ax + (cx - ax) * t, ay + (cy - ay) * t)
    assert work.homography.at(middle) == pytest.approx(((work.width_px - 1) / 2, (work.height_px - 1) / 2), abs=1e-6)


def test_a_picture_that_is_straight_stays_as_it_is() -> None:
    rng = np.random.default_rng(3)
    pixels = rng.integers(0, 256, (40, 60, 3), dtype=np.uint8)
    work = straighten(((0, 0), (59, 0), (59, 39), (0, 39)), 590, 390)
    straight = warp(pixels, work)
    assert (work.width_px, work.height_px) == (59, 39)
    assert straight.shape == (39, 59, 3)
    grey = warp(pixels[:, :, 0], work)
    assert np.array_equal(grey, straight[:, :, 0])
    assert np.array_equal(straight[0, 0], pixels[0, 0])
    assert np.array_equal(straight[-1, -1], pixels[39, 59])


def test_a_drawn_board_is_found_again() -> None:
    """A board of 8 x 5 squares, seen aslant, is a board again: each square's middle has its colour."""
    board = of_four_points(((0, 0), (800, 0), (800, 500), (0, 500)), SEEN)
    seen = np.full((760, 960), 128, dtype=np.uint8)
    back = board.inverse()
    for y in range(seen.shape[0]):
        for x in range(seen.shape[1]):
            u, v = back.at((x, y))
            if 0 <= u < 800 and 0 <= v < 500:
                seen[y, x] = 255 if (int(u // 100) + int(v // 100)) % 2 else 0
    work = straighten(SEEN, 800, 500, longest_px=400)
    straight = warp(seen, work)
    for column in range(8):
        for row in range(5):
            value = straight[round((row + 0.5) * work.height_px / 5), round((column + 0.5) * work.width_px / 8)]
            assert abs(int(value) - (255 if (column + row) % 2 else 0)) < 30


def test_points_that_say_nothing_are_refused() -> None:
    with pytest.raises(ValueError, match="one line"):
        straighten(((0, 0), (100, 0), (200, 0), (0, 100)), 900, 500)
    with pytest.raises(ValueError, match="order round"):
        straighten(((0, 0), (100, 100), (100, 0), (0, 100)), 900, 500)
    with pytest.raises(ValueError, match="four points"):
        straighten(SEEN[:3], 900, 500)
    with pytest.raises(ValueError, match="more than 0"):
        straighten(SEEN, 0, 500)


offsets = st.tuples(*(st.floats(-150, 150) for _ in range(8)))


@given(offsets, st.floats(100, 5_000), st.floats(100, 5_000))
def test_there_and_back_is_where_one_was(moved, wide, high) -> None:  # type: ignore[no-untyped-def]
    base = ((0.0, 0.0), (1_000.0, 0.0), (1_000.0, 800.0), (0.0, 800.0))
    corners = [(x + moved[2 * k], y + moved[2 * k + 1]) for k, (x, y) in enumerate(base)]
    work = straighten(corners, wide, high)
    assert max(work.width_px, work.height_px) <= 2_000
    for p in corners:
        assert work.homography.inverse().at(work.homography.at(p)) == pytest.approx(p, abs=1e-4)
