"""Room for labels against shapely: what is free is what shares no area with anything taken."""

import random

from shapely import Polygon

from core.pages.sheet_placement import Quad, Room, Rooms, turned, upright


def shares_area(a: Quad, b: Quad) -> bool:
    return Polygon(a).intersection(Polygon(b)).area > 1e-9


def test_a_place_is_free_exactly_where_nothing_taken_shares_an_area_with_it() -> None:
    rng = random.Random(7)
    for _ in range(20):
        room = Room(12.0)
        taken: list[Quad] = []
        for number in range(40):
            centre = (rng.uniform(-60, 60), rng.uniform(-60, 60))
            turn = rng.choice([0.0, 90.0, rng.uniform(0, 180)])
            # Some are far larger than the grid can hold.
            wide = rng.uniform(1, 30) if number % 13 else 900.0
            quad = turned(centre, wide, rng.uniform(1, 12), turn)
            assert room.is_free(quad) == (not any(shares_area(quad, other) for other in taken))
            if number % 2:
                room.take(quad)
                taken.append(quad)


def test_what_only_touches_is_free() -> None:
    room = Room(12.0)
    room.take(upright(0, 0, 10, 10))
    assert room.is_free(upright(10, 0, 20, 10))
    assert room.is_free(upright(0, 10, 10, 20))
    assert not room.is_free(upright(9.9, 0, 20, 10))


def test_a_line_is_taken_all_along() -> None:
    room = Room(12.0)
    room.take_line(((0, 0), (200, 100), (200, 300)), 2.0)
    assert not room.is_free(upright(99, 49, 101, 51))
    assert not room.is_free(upright(199, 250, 201, 251))
    assert room.is_free(upright(120, 20, 130, 30))


def test_soft_things_are_kept_off_where_there_is_another_place() -> None:
    rooms = Rooms(12.0)
    rooms.soft.take(upright(0, 0, 10, 10))
    assert rooms.place([upright(0, 0, 5, 5), upright(20, 0, 25, 5)]) == 1
    assert rooms.place([upright(2, 2, 6, 6)]) == 0
    assert rooms.place([upright(3, 3, 5, 5)]) is None
