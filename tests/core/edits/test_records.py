"""Fields are set only to what fits; deleting takes along what cannot be without, and nothing else."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.edits.body import draw_box, draw_opening, draw_panel, draw_penetration, draw_rib, place_picture, raise_faces
from core.edits.change import add
from core.edits.channels import (
    add_pass_through,
    add_securing_point,
    dissolve_node,
    draw_channel,
    set_wires_state,
    split,
)
from core.edits.circuits import connect
from core.edits.devices import connect_to_nearest, place_device
from core.edits.records import (
    delete,
    rename,
    reset_limit,
    set_assumptions,
    set_field,
    set_limit,
    set_plan,
    unwaive,
    waive,
)
from core.errors import EditRefused
from core.files.references import problems, references
from core.model import (
    AsPulled,
    Cable,
    Core,
    Device,
    Electrical,
    InPenetration,
    Limit,
    MovingJoint,
    MovingPart,
    Node,
    Photo,
    Plan,
    Splice,
    StockSpool,
    TestResult,
    Waiver,
    Way,
    find,
    records,
)
from tests.core.edits.checks import refused, sound
from tests.helpers.vans import by_name, shell

SQUARE = ((100.0, 100.0), (600.0, 100.0), (600.0, 500.0), (100.0, 500.0))


def _full() -> Plan:
    """One of nearly everything, all of it tied together."""
    plan = shell()
    plan, trunk = draw_channel(plan, ((500, -1200), (500, 2500)), name="Trunk")
    plan, _ = draw_channel(plan, ((500, 800), (2500, 800)), name="Branch")
    plan, _ = add_securing_point(plan, trunk[1], 200.0)
    plan, _ = add_pass_through(plan, trunk[0], 200.0)
    plan, cabinet = draw_box(plan, "s1", SQUARE, 850, "Cabinet")
    plan, _ = raise_faces(plan, cabinet, (0.0, 9000.0))
    plan, rib = draw_rib(plan, "s2", ((500, 0), (500, 1800)), 40)
    plan = set_field(plan, trunk[0], runs_inside=rib)
    plan, panel = draw_panel(plan, "s2", SQUARE)
    plan, _ = draw_opening(plan, "s3", SQUARE)
    plan, hole = draw_penetration(plan, "s1", (50, 50), "s2", (50, 50))
    plan, _ = place_picture(plan, "s2", b"picture", "image/png", (0, 0), 1.0)
    ways = tuple(Way(id=str(n), largest_a=20.0) for n in range(1, 5))
    for name, kind, more in (
        ("Fuses", "fuse_block", {"ways": ways}),
        ("Light", "light", {}),
        ("Pump", "pump", {}),
        ("Fan", "fan", {}),
        ("Switch", "switch", {}),
    ):
        device = Device(
            id="x", name=name, kind=kind, surface="s1", at_mm=(0, 0), electrical=Electrical(power_w=20), **more
        )
        plan, placed = place_device(plan, device, "s1", (1000.0 + 300 * len(plan.devices), 600.0))
        plan, _ = connect_to_nearest(plan, placed)
    ids = {device.name: device.id for device in plan.devices}
    plan, lights = connect(plan, ids["Fuses"], None, (ids["Switch"], ids["Light"], ids["Fan"]), "Lights")
    plan, pump = connect(plan, ids["Fuses"], None, (ids["Pump"],), "Pump")
    stops = find(plan, "circuits", lights).stops
    waypoint = find(plan, "channels", trunk[1]).start
    plan = set_field(plan, lights, stops=(*stops[:-1], {**_fields(stops[-1]), "waypoints": (waypoint,)}))
    plan = add(plan, "as_pulled", AsPulled(id="ap1", wire=f"{pump}-1F", channels=()))
    plan = add(
        plan, "test_results", TestResult(id="tr1", circuit=pump, kind="polarity", device=ids["Pump"], passed=True)
    )
    plan = add(plan, "photos", Photo(id="ph1", image=plan.images[0].id, panel=panel))
    plan = add(plan, "moving_parts", MovingPart(id="mp1", name="Drawer", surface="s1", outline=SQUARE, box=cabinet))
    plan = add(plan, "moving_joints", MovingJoint(id="mj1", name="Loop", part="mp1", open_mm=300, closed_mm=200))
    plan = add(plan, "nodes", Node(id="n90", place=InPenetration(penetration=hole)))
    plan = add(plan, "splices", Splice(id="sp1", place=InPenetration(penetration=hole)))
    kind = plan.assumptions.mains_kind
    assert kind is not None
    plan = add(plan, "cables", Cable(id="cab1", kind=kind, cores=(Core(colour="red", circuit=pump, role="feed"),)))
    plan = add(plan, "spools", StockSpool(id="spool1", kind=kind, section_mm2=1.5, left_mm=5000))
    return add(plan, "waivers", Waiver(id="wv1", code="x", subjects=(ids["Fan"],), reason="because"))


def _fields(record: Any) -> dict[str, Any]:
    return {name: getattr(record, name) for name in record.__struct_fields__}


def _kinds(plan: Plan) -> tuple[Any, ...]:
    return (*plan.wire_kinds, *plan.tape_kinds, *plan.conduit_kinds, *plan.grommet_kinds, *plan.wrap_styles)


FULL = _full()
ID = {record.name: record.id for _, record in records(FULL) if getattr(record, "name", "")}


#: The floor, and kinds that something else uses.
MUST_STAY = {"s1", *(target for _, _, target in references(FULL) if target in {k.id for k in _kinds(FULL)})}


def test_the_full_plan_is_sound() -> None:
    assert problems(FULL) == ()


# --- deleting ----------------------------------------------------------------------------------------------------


@given(st.sets(st.sampled_from([record.id for _, record in records(FULL)]), min_size=1, max_size=6))
def test_whatever_is_deleted_leaves_a_sound_plan(chosen: set[str]) -> None:
    if chosen & MUST_STAY:
        with pytest.raises(EditRefused):
            delete(FULL, chosen)
        return
    after, told = delete(FULL, chosen)
    kept = {record.id for _, record in records(after)}
    assert not chosen & kept
    # every record that went or changed beyond what was asked is told
    gone = {record.id for _, record in records(FULL)} - kept - chosen
    assert len(told.also_gone) == len(gone)
    old = {record.id: record for _, record in records(FULL)}
    assert len(told.changed) == sum(old[record.id] is not record for _, record in records(after))
    sound(FULL, after, *(name for name in FULL.__struct_fields__ if _other(FULL, after, name)))
    names = {channel.start for channel in after.channels} | {channel.end for channel in after.channels}
    assert names <= {node.id for node in after.nodes}


def _other(before: Plan, after: Plan, name: str) -> bool:
    value = getattr(before, name)
    return isinstance(value, tuple) and getattr(after, name) is not value


def test_a_device_leaves_its_circuit_and_the_chain_closes() -> None:
    after, told = delete(FULL, (ID["Light"],))
    circuit = find(after, "circuits", ID["Lights"])
    assert [(stop.id, stop.after) for stop in circuit.stops] == [("0", None), ("1", "0"), ("3", "1")]
    assert "circuit “Lights”" in told.changed
    assert "Changed: circuit “Lights”" in str(told)


def test_the_last_load_takes_its_circuit_along_and_pulled_wire_becomes_spare() -> None:
    after, told = delete(FULL, (by_name(FULL, "devices", "Pump"),))
    assert [circuit.name for circuit in after.circuits] == ["Lights"]
    assert "circuit “Pump”" in told.also_gone
    assert "test result tr1" in told.also_gone
    assert after.as_pulled[0].spare
    assert after.cables[0].cores[0] == Core(colour="red")


def test_a_source_takes_its_circuits_along() -> None:
    after, _ = delete(FULL, (ID["Fuses"],))
    assert after.circuits == ()


def test_a_channel_takes_what_is_fixed_to_it_and_nodes_nobody_needs() -> None:
    left, floor = (channel for channel in FULL.channels if channel.name == "Trunk" and channel.surface in ("s2", "s3"))
    after, _ = delete(FULL, (left.id,))
    assert not any(record.channel == left.id for record in after.pass_throughs)
    nodes = {node.id for node in after.nodes}
    assert left.start not in nodes
    assert left.end in nodes  # the next channel starts there
    assert "n90" in nodes  # was alone before
    assert floor in after.channels
    pulled = set_wires_state(FULL, (left.id,), "pulled")
    refused(delete, pulled, (left.id,), says="Wires are pulled through channel “Trunk”")
    refused(delete, pulled, ("s2",), says="Wires are pulled through channel “Trunk”")


def test_a_deleted_wall_hands_its_ceiling_to_another() -> None:
    before = shell()
    after, _ = delete(before, ("s2",))
    ceiling = find(after, "surfaces", "s6")
    assert ceiling.fold is not None
    assert ceiling.fold.parent in ("s3", "s4", "s5")
    assert not any("s2" in (seam.a, seam.b) for seam in after.seams)
    alone, _ = delete(before, ("s2", "s3", "s4", "s5"))
    assert [surface.id for surface in alone.surfaces] == ["s1"]


def test_nodes_on_the_edge_of_a_deleted_wall_stay_on_the_floor() -> None:
    plan, new = draw_channel(shell(), ((500, -1200), (500, 800)))
    on_wall = find(plan, "nodes", find(plan, "channels", new[1]).start)
    assert on_wall.place.surface == "s2"
    after, _ = delete(plan, ("s2",))
    assert find(after, "nodes", on_wall.id).place.surface == "s1"
    assert [channel.id for channel in after.channels] == [new[1]]


def test_a_box_takes_its_faces_along() -> None:
    after, _ = delete(FULL, (ID["Cabinet"],))
    assert len(after.surfaces) == 6
    assert after.moving_parts[0].box is None


def test_pictures_that_nobody_shows_go() -> None:
    after, _ = delete(FULL, (FULL.pictures[0].id,))
    assert after.images is FULL.images  # the photo shows it still
    after, _ = delete(after, ("ph1",))
    assert after.images == ()


def test_what_must_stay_is_refused() -> None:
    refused(delete, FULL, ("s1",), says="“Floor” carries Vehicle left")
    refused(delete, FULL, (FULL.assumptions.wire_kind,), says="is used by the plan's assumptions")
    style = find(FULL, "wrap_styles", FULL.assumptions.wrap)
    refused(delete, FULL, (style.tape,), says=f"is used by wrap style “{style.name}”")
    refused(delete, FULL, ("nowhere",), says="Nothing in the plan has the id nowhere")


def test_dissolving_a_node_is_the_other_way_round_from_splitting() -> None:
    before, (trunk,) = draw_channel(shell(), ((200, 800), (900, 800), (900, 1500)), covered_mm=70.0)
    before, _ = add_securing_point(before, trunk, 300.0)
    before, _ = add_securing_point(before, trunk, 1100.0)
    for at_mm in (400.0, 1000.0):
        plan, node = split(before, trunk, at_mm)
        back = sound(plan, dissolve_node(plan, node), *_loose(plan, dissolve_node(plan, node)))
        assert back.nodes == before.nodes
        whole = find(back, "channels", trunk)
        assert whole.via_mm == find(before, "channels", trunk).via_mm
        assert whole.covered_mm == pytest.approx(70.0)
        assert [point.at_mm for point in back.securing_points] == pytest.approx([300.0, 1100.0])
        assert {point.channel for point in back.securing_points} == {trunk}
    refused(dissolve_node, before, find(before, "channels", trunk).start, says="does not join two channels")
    plan, node = split(before, trunk, 400.0)
    refused(dissolve_node, set_field(plan, "c2", kind="void"), node, says="are not alike")


def _loose(before: Plan, after: Plan) -> list[str]:
    names = ("nodes", "channels", "securing_points", "pass_throughs")
    return [name for name in names if getattr(before, name) is not getattr(after, name)]


# --- fields ------------------------------------------------------------------------------------------------------


def test_fields_are_set() -> None:
    plan = sound(FULL, set_field(FULL, ID["Pump"], name="Water pump", drop_percent=3), "circuits")
    assert find(plan, "circuits", ID["Pump"]).name == "Water pump"


def test_fields_of_devices_are_set() -> None:
    pump = by_name(FULL, "devices", "Pump")
    plan = sound(FULL, set_field(FULL, pump, end_allowance_mm=200, electrical={"power_w": 60}), "devices")
    assert find(plan, "devices", pump).electrical.power_w == 60
    assert set_field(plan, pump, end_allowance_mm=200.0) is plan
    plan = sound(FULL, rename(FULL, pump, "  Water pump "), "devices")
    assert find(plan, "devices", pump).name == "Water pump"


def test_fields_that_do_not_fit_are_refused() -> None:
    pump = by_name(FULL, "devices", "Pump")
    trunk = FULL.channels[0].id
    refused(set_field, FULL, pump, width_mm="wide", says="“Pump” cannot have width mm 'wide'")
    refused(set_field, FULL, pump, width_mm=0, says="> 0")
    refused(set_field, FULL, pump, turn_deg=float("nan"), says="finite")
    refused(set_field, FULL, pump, colour="red", says="“Pump” has no field colour")
    refused(set_field, FULL, pump, id="other", says="has no field id")
    refused(set_field, FULL, pump, kind="castle", says="“Pump” cannot have kind 'castle'")
    refused(set_field, FULL, pump, electrical={"power_w": -5}, says="“Pump” cannot have a power of -5")
    refused(set_field, FULL, FULL.circuits[0].id, current_a=-1, says="cannot carry -1 A")
    refused(set_field, FULL, pump, node="n404", says="device “Pump” cannot refer to n404: the plan has no such node")
    refused(set_field, FULL, pump, at_mm=(-500, 0), says="does not lie on Floor")
    refused(set_field, FULL, trunk, start="n404", says="no such node")
    refused(set_field, FULL, "t1", at_mm=99_999, says="must lie on channel “Trunk”")
    refused(set_field, FULL, ID["Cabinet"], outline=SQUARE[:2], says="three corners")
    refused(set_field, FULL, "s2", corners=(), says="one by one")
    refused(rename, FULL, ID["Lights"], "  ", says="needs a name")
    refused(rename, FULL, "t1", "x", says="A securing point has no name")


def test_what_would_make_the_plan_unreadable_is_refused() -> None:
    fuses = by_name(FULL, "devices", "Fuses")
    refused(set_field, FULL, fuses, ways=(), says="device “Fuses” cannot be so")
    wall = find(FULL, "surfaces", "s2")
    circle = {**_fields(wall.fold), "parent": "s6"}
    refused(set_field, FULL, "s2", fold=circle, says="the folds run in a circle")


def test_what_holds_for_the_whole_plan() -> None:
    plan = sound(FULL, set_plan(FULL, name="Weekender", customer={"name": "A customer"}, build_for="customer"))
    assert plan.customer.name == "A customer"
    plan = sound(FULL, set_assumptions(FULL, ambient_c=40))
    assert plan.assumptions.ambient_c == 40.0
    assert plan.assumptions.wire_kind == FULL.assumptions.wire_kind
    refused(set_assumptions, FULL, wire_kind="none-such", says="cannot assume none-such")
    refused(set_assumptions, FULL, lay_factor=9, says="lay factor 9")
    refused(set_plan, FULL, devices=(), says="devices is not set this way")
    refused(set_plan, FULL, name=" ", says="needs a name")
    row = Limit(rule="drop.other", value=5.0, unit="%", source="the owner", known="common practice")
    plan = sound(FULL, set_limit(FULL, row))
    assert set_limit(plan, row) is plan
    assert reset_limit(plan, "drop.other") == FULL


def test_waivers_need_a_reason() -> None:
    plan, waiver = waive(FULL, "drop.other", ("W1",), "Short use only")
    sound(FULL, plan, "waivers")
    assert unwaive(plan, waiver) == FULL
    refused(waive, FULL, "drop.other", ("W1",), "  ", says="only with a reason")
    refused(waive, plan, "drop.other", ("W1",), "Again", says="waived already")
    refused(waive, set_plan(FULL, build_for="customer"), "drop.other", ("W1",), "Because", says="for a customer")
