"""Scale, level and lock pictures under surfaces."""

import pytest

from core.edits.body import place_picture
from core.edits.underlays import level_picture, lock_picture, scale_picture, set_opacity
from core.files.limits import PICTURE_BYTES
from core.geometry.motion import turn
from core.model import Plan, Point, find
from tests.core.edits.checks import refused, sound
from tests.helpers.vans import shell


def with_picture() -> tuple[Plan, str]:
    return place_picture(shell(), "s1", b"bytes", "image/png", (200, 100), 2.0)


def on_surface(plan: Plan, picture: str, pixel: Point) -> Point:
    """Where a pixel (counted from the lower left) lies on the surface."""
    record = find(plan, "pictures", picture)
    x, y = pixel[0] * record.mm_per_pixel, pixel[1] * record.mm_per_pixel
    return turn((0, 0), record.turn_deg).at((x, y))[0] + record.at_mm[0], turn((0, 0), record.turn_deg).at((x, y))[
        1
    ] + record.at_mm[1]


def test_two_points_and_a_distance_scale_a_picture_about_the_first() -> None:
    plan, picture = with_picture()
    p, q = on_surface(plan, picture, (100, 50)), on_surface(plan, picture, (400, 450))
    after = scale_picture(plan, picture, p, q, 1_250)  # it was 1,000
    sound(plan, after, "pictures")
    assert find(after, "pictures", picture).mm_per_pixel == pytest.approx(2.5)
    assert on_surface(after, picture, (100, 50)) == pytest.approx(p)
    x, y = on_surface(after, picture, (400, 450))
    assert ((x - p[0]) ** 2 + (y - p[1]) ** 2) ** 0.5 == pytest.approx(1_250)
    refused(scale_picture, plan, picture, p, p, 100, says="further apart")
    refused(scale_picture, plan, picture, p, q, 0, says="more than 0")
    refused(scale_picture, plan, picture, p, q, 9e8, says="check the distance")


def test_a_picture_is_levelled_about_the_first_point() -> None:
    plan, picture = with_picture()
    pixels = (100.0, 50.0), (400.0, 90.0)
    p, q = (on_surface(plan, picture, each) for each in pixels)
    after = level_picture(plan, picture, p, q)
    first, second = (on_surface(after, picture, each) for each in pixels)
    assert first == pytest.approx(p)
    assert second[1] == pytest.approx(p[1])
    upright = level_picture(plan, picture, p, on_surface(plan, picture, (120, 500)))
    assert on_surface(upright, picture, (120, 500))[0] == pytest.approx(p[0])


def test_a_locked_picture_stays() -> None:
    plan, picture = with_picture()
    locked = lock_picture(plan, picture)
    refused(scale_picture, locked, picture, (0, 0), (10, 0), 20, says="is locked")
    assert lock_picture(locked, picture, False) == plan
    assert find(set_opacity(plan, picture, 0.3), "pictures", picture).opacity == 0.3
    refused(set_opacity, plan, picture, 3, says="between 0 and 1")


def test_a_picture_larger_than_is_kept_is_refused() -> None:
    refused(place_picture, shell(), "s1", b"x" * (PICTURE_BYTES + 1), "image/png", (0, 0), 1.0, says="Reduce it first")
