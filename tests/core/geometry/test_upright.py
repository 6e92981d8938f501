"""A surface as it is seen by who stands before it, and the two faces to measure from."""

import pytest

from core.geometry.foldout import lay_out
from core.geometry.upright import upright, upright_part
from tests.helpers.boxes import box_room
from tests.helpers.vans import HEIGHT_MM, LENGTH_MM, shell


def test_front_is_left_on_the_right_wall_and_right_on_the_left_wall() -> None:
    """Standing inside and facing the vehicle's right, the front is at the left hand; facing left, at the right."""
    plan = shell()
    laid = lay_out(plan.surfaces).laid
    ways = {s.id: upright(s, laid[s.id].pose).sides for s in plan.surfaces}
    assert (ways["s3"]["left"], ways["s3"]["right"], ways["s3"]["up"]) == ("front", "rear", "upper")
    assert (ways["s2"]["left"], ways["s2"]["right"], ways["s2"]["up"]) == ("rear", "front", "upper")
    # Facing the rear door the vehicle's right is at the left hand; facing the bulkhead at the right.
    assert ways["s4"]["left"] == "vehicle right"
    assert ways["s5"]["left"] == "vehicle left"
    # Level surfaces have the rear at the right. Looking up, left and right change places.
    assert (ways["s1"]["right"], ways["s1"]["up"]) == ("rear", "vehicle right")
    assert (ways["s6"]["right"], ways["s6"]["up"]) == ("rear", "vehicle left")


def test_measures_are_from_the_front_edge_and_the_lower_edge() -> None:
    plan = shell()
    laid = lay_out(plan.surfaces).laid
    for surface in plan.surfaces:
        if surface.id not in ("s2", "s3"):
            continue
        pose = laid[surface.id].pose
        view = upright(surface, pose)
        assert (view.a.name, view.b.name) == ("front edge", "lower edge")
        assert (view.a.straight, view.b.straight) == (True, True)
        for corner in surface.corners:
            x, _, z = pose.to_vehicle(corner.at_mm)
            assert view.measured(corner.at_mm) == (pytest.approx(x, abs=1e-6), pytest.approx(z, abs=1e-6))


def test_a_view_only_turns_and_never_mirrors() -> None:
    room = box_room(4000, 1800, 1900)
    laid = lay_out(room).laid
    for surface in room:
        view = upright(surface, laid[surface.id].pose)
        corners = [corner.at_mm for corner in surface.corners]
        turned = [view.to_view(corner) for corner in corners]
        assert area(turned) == pytest.approx(area(corners))
        assert area(turned) > 0


def area(points: list[tuple[float, float]]) -> float:
    """Twice the area, positive counter-clockwise: a mirrored outline would turn it over."""
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, [*points[1:], points[0]], strict=True))


def test_a_slanted_end_is_measured_from_its_outermost_corner() -> None:
    plan = shell()
    wall = next(surface for surface in plan.surfaces if surface.id == "s3")
    pose = lay_out(plan.surfaces).laid["s3"].pose
    slanted = tuple(pose.to_local((x, 1700.0, z))[:2] for x, z in ((0, 0), (3000, 0), (2800, 1800), (400, 1800)))
    view = upright_part(slanted, pose)
    assert wall.id == "s3"
    assert (view.a.straight, view.b.straight) == (False, True)
    assert view.measured(slanted[3]) == (pytest.approx(400), pytest.approx(HEIGHT_MM))
    assert view.measured(slanted[1])[0] == pytest.approx(LENGTH_MM)


def test_an_inner_step_is_not_taken_for_the_edge() -> None:
    """A short notch at the front does not move the datum away from the long front edge."""
    pose = lay_out(shell().surfaces).laid["s3"].pose
    shape = ((100, 0), (3000, 0), (3000, 1800), (0, 1800), (0, 300), (100, 300))
    view = upright_part(tuple(pose.to_local((x, 1700.0, z))[:2] for x, z in shape), pose)
    point = pose.to_local((500, 1700.0, 900))[:2]
    assert view.measured(point) == (pytest.approx(500), pytest.approx(900))
