"""New vehicles from measurements: every body, at typical and other sizes, gives a shell without a finding."""

from math import hypot

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from core.analysis.engine import analyse
from core.edits.channels import draw_channel
from core.edits.drawn import draw_penetration
from core.edits.measurements import (
    Measurements,
    WallOpening,
    bodies,
    fields_of,
    section_of,
    set_measure,
    set_opening,
    typical,
)
from core.edits.new_vehicle import build_vehicle
from core.edits.new_vehicle_checks import problems
from core.edits.start import new_plan
from core.files.library import load_library
from core.geometry.edges import outline_of
from core.geometry.foldout import lay_out, overlaps
from core.geometry.joints import join
from core.geometry.plane import distance_mm, length_mm
from core.geometry.polygon import point_in
from core.geometry.seams import seam_state
from core.geometry.shortest import surface_path_length
from core.model import Plan, Surface
from tests.core.edits.checks import refused, sound

LIBRARY = load_library()
BODIES = tuple(body.key for body in bodies())


def empty() -> Plan:
    return new_plan(LIBRARY, "New vehicle", "van-metric", "plan")


def named(plan: Plan, name: str) -> Surface:
    return next(surface for surface in plan.surfaces if surface.name == name)


def closed_and_tidy(plan: Plan) -> None:
    """Every seam closes to a tenth of a millimetre, nothing overlaps, all that is drawn lies on its face."""
    layout = lay_out(plan.surfaces)
    assert not layout.problems
    assert overlaps(layout, plan.surfaces) == ()
    assert plan.seams
    for seam in plan.seams:
        state = seam_state(seam, plan.surfaces, layout)
        assert state.closes, state.message
        assert max(state.gap_start_mm, state.gap_end_mm) < 0.1
    outlines = {surface.id: outline_of(surface) for surface in plan.surfaces}
    for opening in plan.openings:
        assert all(point_in(outlines[opening.surface], p, 0.5) for p in opening.outline)
    for rib in plan.ribs:
        assert all(point_in(outlines[rib.surface], p, 0.5) for p in rib.line_mm)


@pytest.mark.parametrize("body", BODIES)
@pytest.mark.parametrize("outside", [False, True])
def test_every_body_at_typical_sizes_gives_a_shell_without_findings(body, outside) -> None:  # type: ignore[no-untyped-def]
    form = replace(typical(body), roof_outside=outside, underside=outside)
    assert problems(form) == ()
    before = empty()
    plan = build_vehicle(before, form)
    sound(
        before, plan, "surfaces", "seams", "boxes", "ribs", "openings", "moving_parts", "moving_joints"
    )  # fmt: skip
    closed_and_tidy(plan)
    assert analyse(plan, LIBRARY).findings == ()
    assert {surface.known for surface in plan.surfaces} == {"assumed"}
    assert any(surface.side == "outside" for surface in plan.surfaces) == outside


@pytest.mark.parametrize("body", BODIES)
@pytest.mark.parametrize("rear", ["leaves", "tailgate", "wall"])
@pytest.mark.parametrize("driver", ["left", "right"])
def test_every_kind_of_rear(body, rear, driver) -> None:  # type: ignore[no-untyped-def]
    form = typical(body, driver)
    kept = tuple(row for row in form.openings if not row.on.startswith("rear"))
    plan = build_vehicle(empty(), replace(form, rear=rear, openings=kept))
    closed_and_tidy(plan)
    doors = [surface for surface in plan.surfaces if surface.role == "door"]
    assert len(doors) == {"leaves": 2, "tailgate": 1, "wall": 0}[rear]
    for door in doors:
        # A bundle enters a door over its loop and nowhere else.
        assert door.fold is not None
        assert door.fold.passage == "moving_joint"
        assert door.fold.joint in {joint.id for joint in plan.moving_joints}
        assert {seam.passage for seam in plan.seams if door.id in (seam.a, seam.b)} == {"none"}
    assert analyse(plan, LIBRARY).findings == ()
    assert plan.vehicle.driver_side == driver


def test_lengths_are_those_of_the_form() -> None:
    form = typical("high_roof")
    plan = build_vehicle(empty(), form)
    floor = outline_of(named(plan, "Floor"))
    assert distance_mm(floor[0], floor[1]) == form.mm("length")
    assert distance_mm(floor[1], floor[2]) == form.mm("floor_width")
    # By hand: up the lower wall (1850 - 1780) / 2 = 35 out over 900, then (1850 - 1560) / 2 = 145 in over 900.
    lower, upper = hypot(35, 900), hypot(145, 900)
    assert distance_mm(*outline_of(named(plan, "Vehicle right, lower"))[1:3]) == pytest.approx(lower, abs=1e-3)
    assert distance_mm(*outline_of(named(plan, "Vehicle right, upper"))[1:3]) == pytest.approx(upper, abs=1e-3)
    layout = lay_out(plan.surfaces)
    leaf = named(plan, "Rear door, left")
    corners = [layout.pose(leaf.id).to_vehicle(corner.at_mm) for corner in leaf.corners]
    assert all(x == pytest.approx(3_700, abs=1e-3) for x, _, _ in corners)
    assert max(z for _, _, z in corners) == pytest.approx(max(z for _, z in section_of(form).roof), abs=1e-3)


def test_a_way_from_wall_over_the_roof_to_the_other_wall_is_as_long_as_by_hand() -> None:
    """Over a fold, the roof's strips and a seam: to 1 mm of the tape."""
    form = typical("high_roof")
    plan = build_vehicle(empty(), form)
    right, left = named(plan, "Vehicle right, upper"), named(plan, "Vehicle left, upper")
    joints = join(plan.surfaces, plan.seams)
    tops = outline_of(right)[2][1]
    start, end = (1_000.0, tops - 200), (form.mm("length") - 1_000, tops - 300)
    strips = [named(plan, f"Ceiling, {word}") for word in ("right", "middle", "left")]
    mid = outline_of(strips[1])[2][1] / 2
    way = surface_path_length(joints, [(right.id, start), (strips[1].id, (1_000.0, mid)), (left.id, end)])
    # Arc over a chord of 1560 mm with a rise of 130 mm: r = 2405 mm, angle 2 asin(780 / 2405), 1588.7 mm.
    assert way == pytest.approx(200 + 300 + 1_588.7, abs=1.0)


def test_wheel_arches_have_faces_that_are_sewn_to_floor_and_wall() -> None:
    form = typical("mid_van")
    plan = build_vehicle(empty(), form)
    layout = lay_out(plan.surfaces)
    assert [box.name for box in plan.boxes] == ["Wheel arch, right", "Wheel arch, left"]
    for box in plan.boxes:
        assert len(box.faces) == 4
        names = {surface.id: surface.name.rpartition(": ")[2] for surface in plan.surfaces}
        assert {names[face] for face in box.faces} == {"side", "top", "front", "rear"}
        top = next(s for s in plan.surfaces if s.id in box.faces and s.name.endswith("top"))
        points = [layout.pose(top.id).to_vehicle(corner.at_mm) for corner in top.corners]
        assert all(z == pytest.approx(form.mm("arch_height")) for _, _, z in points)
        assert layout.pose(top.id).normal[2] == pytest.approx(1.0)  # seen from above
        sewn = {seam.b if seam.a in box.faces else seam.a for seam in plan.seams if {seam.a, seam.b} & set(box.faces)}
        assert named(plan, "Floor").id in sewn
    front = next(s for s in plan.surfaces if s.name == "Wheel arch, left: front")
    xs = [layout.pose(front.id).to_vehicle(corner.at_mm)[0] for corner in front.corners]
    assert all(x == pytest.approx(2_600 - 560 - 760, abs=1e-3) for x in xs)


def test_openings_are_cut_at_the_bend_and_ribs_at_the_openings() -> None:
    plan = build_vehicle(empty(), typical("high_roof", "left"))
    pieces = [opening for opening in plan.openings if opening.name == "Sliding door"]
    walls = {surface.id: surface.name for surface in plan.surfaces}
    assert [walls[piece.surface] for piece in pieces] == ["Vehicle right, lower", "Vehicle right, upper"]
    heights = [max(y for _, y in piece.outline) - min(y for _, y in piece.outline) for piece in pieces]
    assert sum(heights) == pytest.approx(1_700, abs=1e-3)
    assert all(piece.cut_edge for piece in plan.openings)
    for rib in plan.ribs:
        for piece in pieces:
            if rib.surface == piece.surface:
                inside = [p for p in rib.line_mm if min(q[0] for q in piece.outline) < p[0] < 1_300]
                low, high = min(q[1] for q in piece.outline), max(q[1] for q in piece.outline)
                assert all(not low < y < high for _, y in inside)


def test_outside_and_inside_of_the_roof_are_one_place_for_a_hole() -> None:
    plan = build_vehicle(empty(), replace(typical("truck_body"), roof_outside=True, underside=True))
    layout = lay_out(plan.surfaces)
    roof, outside = named(plan, "Ceiling"), named(plan, "Roof outside")
    spot = layout.pose(roof.id).to_vehicle((1_000.0, 700.0))
    x, y, away = layout.pose(outside.id).to_local(spot)
    assert away == pytest.approx(0.0, abs=1e-6)
    assert layout.pose(outside.id).normal == pytest.approx((0.0, 0.0, 1.0))
    after, _ = draw_penetration(plan, roof.id, (1_000.0, 700.0), outside.id, (x, y))
    assert analyse(after, LIBRARY).findings == ()
    under = named(plan, "Floor underside")
    assert layout.pose(under.id).normal == pytest.approx((0.0, 0.0, -1.0))


def test_a_bundle_runs_from_wall_to_door_over_the_loop() -> None:
    plan = build_vehicle(empty(), typical("mid_van"))
    layout = lay_out(plan.surfaces)
    wall, door = named(plan, "Vehicle left, lower"), named(plan, "Rear door, left")
    start = layout.place(wall.id).to_sheet((300.0, 400.0))
    end = layout.place(door.id).to_sheet((400.0, 300.0))
    plan, ids = draw_channel(plan, (start, end))
    assert [next(c.surface for c in plan.channels if c.id == each) for each in ids] == [wall.id, door.id]


def test_measured_and_assumed_stay_apart() -> None:
    form = set_measure(set_measure(typical("mid_van"), "length", 2_640), "floor_width", 1_652)
    plan = build_vehicle(empty(), form)
    known = {surface.name: surface.known for surface in plan.surfaces}
    assert known["Floor"] == "measured"
    assert known["Vehicle right, lower"] == "assumed"
    wall = named(plan, "Vehicle right, lower")
    assert "shoulder width" in wall.note
    assert "length" not in wall.note.split(":")[1].split(",")[0]
    for field in fields_of("mid_van"):
        form = set_measure(form, field.key, form.mm(field.key))
    done = build_vehicle(empty(), form)
    assert {surface.known for surface in done.surfaces} == {"measured"}
    assert {surface.note for surface in done.surfaces} == {""}


def test_what_cannot_be_is_said_by_field() -> None:
    form = typical("high_roof")
    refused(set_measure, form, "length", 90, says="between 600 and 15,000 mm")
    refused(set_measure, form, "taper", 100, says="no taper to measure")
    high = set_measure(form, "shoulder_height", 1_790)
    assert [problem.key for problem in problems(high)] == ["shoulder_height"]
    refused(build_vehicle, empty(), high, says="shoulder lies below the edge of the roof")
    assert [p.key for p in problems(set_measure(form, "arch_gap", 1_760))] == ["arch_gap"]
    assert [p.key for p in problems(set_measure(form, "arch_from_rear", 3_600))] == ["arch_from_rear"]
    assert [p.key for p in problems(set_measure(form, "centre_height", 1_700))] == ["side_height"]
    assert [p.key for p in problems(replace(form, rear="wall"))] == ["Rear window, left", "Rear window, right"]
    row = WallOpening(name="Too long", on="right", from_mm=3_000, up_mm=900, width_mm=900, height_mm=400)
    assert [p.key for p in problems(set_opening(form, len(form.openings), row))] == ["Too long"]
    behind = replace(row, name="Behind", from_mm=2_200, up_mm=100, width_mm=300)
    assert [p.key for p in problems(set_opening(form, len(form.openings), behind))] == ["Behind"]
    twice = set_opening(form, len(form.openings), replace(form.openings[0], name="Twice"))
    assert [p.key for p in problems(twice)] == ["Twice"]
    refused(set_opening, form, 9, row, says="no number 10")
    refused(build_vehicle, build_vehicle(empty(), form), form, says="has a vehicle already")
    boat = set_measure(typical("boat_cabin"), "centre_height", 1_900)
    assert "centre_height" in [p.key for p in problems(boat)]


def test_an_opening_can_be_taken_off_the_form() -> None:
    form = typical("small_van")
    assert set_opening(form, 0, None).openings == form.openings[1:]


sizes = st.fixed_dictionaries(
    {
        "length": st.floats(1_500, 7_000),
        "floor_width": st.floats(1_300, 2_300),
        "out": st.floats(-60, 150),
        "in": st.floats(0, 250),
        "side_height": st.floats(1_000, 2_200),
        "rise": st.floats(0, 250),
        "rib_pitch": st.floats(200, 1_200),
        "arch_height": st.floats(150, 350),
    }
)


@settings(max_examples=40, derandomize=True, suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(sizes, st.sampled_from(["small_van", "high_roof", "trailer"]), st.sampled_from(["leaves", "tailgate", "wall"]))
def test_any_sizes_that_have_no_problem_give_a_shell_that_closes(given_mm, body, rear) -> None:  # type: ignore[no-untyped-def]
    form: Measurements = replace(typical(body), openings=(), rear=rear, roof_outside=True, underside=True)
    width = given_mm["floor_width"]
    values = {
        "length": given_mm["length"],
        "floor_width": width,
        "shoulder_width": width + given_mm["out"],
        "shoulder_height": given_mm["side_height"] * 0.45,
        "side_height": given_mm["side_height"],
        "roof_width": width - given_mm["in"],
        "centre_height": given_mm["side_height"] + given_mm["rise"],
        "rib_pitch": given_mm["rib_pitch"],
    }
    if body != "trailer":
        values |= {"arch_gap": width - 350, "arch_height": given_mm["arch_height"]}
    for key, value in values.items():
        form = set_measure(form, key, value)
    if problems(form):
        refused(build_vehicle, empty(), form, says=problems(form)[0].message)
        return
    plan = build_vehicle(empty(), form)
    closed_and_tidy(plan)
    assert [finding for finding in analyse(plan, LIBRARY).findings if finding.severity != "note"] == []
    # The folded body is as high in the middle and as wide at the shoulder as was measured.
    layout = lay_out(plan.surfaces)
    points = [layout.pose(s.id).to_vehicle(c.at_mm) for s in plan.surfaces for c in s.corners]
    widest = max(width, values["roof_width"], values["shoulder_width"])
    assert max(y for _, y, _ in points) - min(y for _, y, _ in points) == pytest.approx(widest, abs=3.1)
    assert length_mm(section_of(form).roof) >= values["roof_width"]
