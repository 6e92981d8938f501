"""Sections of bodies, and faces in space turned into folded surfaces."""

from itertools import pairwise
from math import asin, dist

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.errors import EditRefused
from core.geometry.foldout import lay_out
from core.geometry.plane import length_mm
from core.geometry.section import arc, arc_length_mm, places_of, section
from core.geometry.shell import Face, fold_faces


def test_a_roof_of_strips_is_as_long_as_the_tape_says() -> None:
    # Circle of radius 2000 mm: a chord of 2000 mm subtends 60 degrees; sagitta r (1 - cos 30) and arc r pi / 3.
    rise = 2_000 * (1 - 3**0.5 / 2)
    assert arc_length_mm(2_000, rise) == pytest.approx(2_000 * 3.14159265358979 / 3)
    shape = section(2_000, 2_000, 900, 2_000, 1_500, 1_500 + rise)
    assert length_mm(shape.roof) == pytest.approx(2_094.395, abs=0.01)
    assert shape.wall == ((1_000, 0), (1_000, 1_500))  # straight within 3 mm: one strip
    assert len(shape.roof) % 2 == 0  # an odd number of strips
    middle = len(shape.roof) // 2
    assert shape.roof[middle - 1][1] == pytest.approx(shape.roof[middle][1])


def test_a_roof_that_is_hardly_curved_is_flat() -> None:
    # 2 r asin(c / 2r) - c is about 8 h² / 3 c: 0.27 mm for a rise of 15 mm over 2,200 mm.
    assert section(2_200, 2_200, 900, 2_200, 2_000, 2_015).roof == ((1_100, 2_000), (-1_100, 2_000))
    assert section(2_200, 2_200, 900, 2_200, 2_000, 2_000).roof == ((1_100, 2_000), (-1_100, 2_000))


def test_a_bent_wall_has_a_corner_at_the_shoulder_and_a_curved_one_more() -> None:
    assert section(1_700, 1_850, 900, 1_560, 1_800, 1_800).wall == ((850, 0), (925, 900), (780, 1_800))
    curved = section(1_700, 1_850, 900, 1_560, 1_800, 1_800, wall_strips=4)
    assert len(curved.wall) == 5
    assert curved.outline[: len(curved.wall)] == curved.wall
    assert {(-y, z) for y, z in curved.outline} == set(curved.outline)  # alike left and right


@given(st.floats(200, 3_000), st.floats(5, 400), st.integers(2, 9))
def test_an_arc_in_pieces_ends_where_it_should_and_has_its_length(chord: float, rise: float, strips: int) -> None:
    rise = min(rise, chord / 2.5)
    points = arc((chord / 2, 0.0), (0.0, rise), (-chord / 2, 0.0), strips)
    assert points[0] == (chord / 2, 0.0)
    assert points[-1] == (-chord / 2, 0.0)
    radius = (chord**2 / 4 + rise**2) / (2 * rise)
    assert length_mm(points) == pytest.approx(2 * radius * asin(chord / 2 / radius), rel=1e-6)
    assert len(points) == strips + 1


def test_ribs_stand_at_their_pitch() -> None:
    assert places_of(2_000, 500, 300) == (300, 800, 1_300, 1_800)
    assert places_of(1_810, 500, 300) == (300, 800, 1_300)  # the last would stand on the edge
    assert places_of(2_000, 0, 300) == ()


FLOOR = Face(
    key="floor", name="Floor", role="floor", points=((0, 0, 0), (3_000, 0, 0), (3_000, 1_600, 0), (0, 1_600, 0))
)


def _wall(lean_mm: float, high: float) -> Face:
    points = ((0, 1_600, 0), (3_000, 1_600, 0), (3_000, 1_600 + lean_mm, high), (0, 1_600 + lean_mm, high))
    return Face(key="wall", name="Wall", role="wall", points=points, parent="floor", parent_edge=2)


@given(st.floats(-700, 700), st.floats(100, 2_500))
def test_poses_give_back_the_corners_of_the_faces(lean_mm: float, high: float) -> None:
    wall = _wall(lean_mm, high)
    surfaces = fold_faces((FLOOR, wall), {"floor": "s1", "wall": "s2"})
    layout = lay_out(surfaces)
    assert not layout.problems
    for face, surface in zip((FLOOR, wall), surfaces, strict=True):
        for corner, point in zip(surface.corners, face.points, strict=True):
            assert dist(layout.pose(surface.id).to_vehicle(corner.at_mm), point) < 0.01
    for (ax, ay), (bx, by) in pairwise(corner.at_mm for corner in surfaces[1].corners):
        assert (ax, ay) != (bx, by)


def test_an_upright_wall_folds_by_90_degrees_and_one_leaning_in_by_more() -> None:
    upright, leaning = (fold_faces((FLOOR, _wall(x, 1_000)), {"floor": "a", "wall": "b"})[1].fold for x in (0, -100))
    assert upright is not None
    assert leaning is not None
    assert upright.fold_deg == 90
    assert leaning.fold_deg == pytest.approx(90 + 5.7106, abs=1e-3)  # atan(100 / 1000)


def test_a_face_that_is_not_flat_or_does_not_lie_on_its_parent_is_refused() -> None:
    bent = Face(
        key="x", name="Bent", role="wall", parent="floor", parent_edge=2,
        points=((0, 1_600, 0), (3_000, 1_600, 0), (3_000, 1_700, 900), (0, 1_600, 900)),
    )  # fmt: skip
    with pytest.raises(EditRefused, match="Bent is not flat"):
        fold_faces((FLOOR, bent), {"floor": "a", "x": "b"})
    loose = Face(
        key="x", name="Loose", role="wall", parent="floor", parent_edge=2,
        points=((0, 1_600, 50), (3_000, 1_600, 50), (3_000, 1_600, 900), (0, 1_600, 900)),
    )  # fmt: skip
    with pytest.raises(EditRefused, match="Loose does not lie on"):
        fold_faces((FLOOR, loose), {"floor": "a", "x": "b"})
