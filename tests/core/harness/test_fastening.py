"""Screws that hold and do not come through. The lengths a screw needs are common practice, no source."""

import pytest

from core.harness.fastening import panel_screw_mm, rib_screw_mm, screw_mm


@pytest.mark.parametrize(
    ("thick_mm", "screw"),
    # By hand: 2 mm of the screw lie in the foot, 2 mm of the board stay whole, 6 mm hold.
    [(7.9, None), (9.9, None), (10.0, 10.0), (11.9, 10.0), (12.0, 12.0), (14.0, 12.0), (15.9, 12.0), (16.0, 16.0),
     (40.0, 16.0)],
)  # fmt: skip
def test_the_longest_screw_that_cannot_come_through_a_board(thick_mm: float, screw: float | None) -> None:
    assert screw_mm(thick_mm) == screw


def test_a_rib_of_unknown_depth_gets_the_shortest_screw() -> None:
    assert rib_screw_mm(0.0) == 10.0
    assert rib_screw_mm(14.0) == 12.0
    assert rib_screw_mm(16.0) == 16.0


def test_a_screw_through_a_panel_ends_before_the_bundle() -> None:
    # By hand: middle of the bundle 30 mm behind the face, radius 8 mm, 2 mm to spare.
    assert panel_screw_mm(30.0, 16.0) == 20.0
    assert panel_screw_mm(5.0, 16.0) == 0.0
