"""Devices: placed, moved, turned, repeated, and joined to channels."""

from math import hypot

import pytest
from msgspec.structs import replace

from core.edits.channels import draw_channel, set_groups
from core.edits.devices import (
    array,
    connect_to_nearest,
    connect_to_node,
    duplicate,
    entry_point,
    move_device,
    place_device,
    set_node,
    spaced,
    turn_device,
)
from core.edits.network import channel_line
from core.files.library import load_library
from core.geometry.joints import join
from core.model import Device, Electrical, Plan, find
from tests.core.edits.checks import refused, sound
from tests.helpers.vans import shell

LIGHT = Device(id="x", name="Light", kind="light", surface="x", at_mm=(0, 0), electrical=Electrical(power_w=6.0))


def _with_trunk() -> tuple[Plan, str]:
    plan, (trunk,) = draw_channel(shell(), ((200.0, 800.0), (2800.0, 800.0)))
    return plan, trunk


def test_a_template_of_the_library_is_placed() -> None:
    before = shell()
    for template in load_library().devices:
        plan, device = place_device(before, template, "s2", (500.0, 600.0))
        sound(before, plan, "devices")
        placed = find(plan, "devices", device)
        assert (placed.name, placed.kind, placed.electrical) == (template.name, template.kind, template.electrical)
        assert placed.at_mm == (500.0, 600.0)
    refused(place_device, before, load_library().devices[0], "s2", (5000.0, 0.0), says="does not lie on Vehicle left")
    refused(place_device, before, load_library().devices[0], "s99", (0.0, 0.0), says="no surface s99")


def test_names_of_devices_stay_apart() -> None:
    plan = shell()
    for _ in range(3):
        plan, _ = place_device(plan, LIGHT, "s1", (500.0, 500.0))
    plan, _ = place_device(plan, LIGHT, "s1", (500.0, 500.0), name="Reading light")
    assert [device.name for device in plan.devices] == ["Light", "Light 2", "Light 3", "Reading light"]


def test_a_moved_device_keeps_its_node() -> None:
    before, _ = _with_trunk()
    before, light = place_device(before, LIGHT, "s1", (1000.0, 700.0))
    before, node = connect_to_nearest(before, light)
    plan = sound(before, move_device(before, light, "s1", (1500.0, 300.0)), "devices")
    assert find(plan, "devices", light).node == node
    assert find(plan, "devices", light).at_mm == (1500.0, 300.0)
    assert move_device(before, light, "s1", (1000.0, 700.0)) is before
    refused(move_device, before, light, "s1", (-10.0, 300.0), says="“Light” does not lie on Floor")
    refused(move_device, before, light, "s1", (float("nan"), 0.0), says="does not lie on Floor")


def test_turning_turns_the_wire_entry() -> None:
    before, device = place_device(shell(), LIGHT, "s1", (1000.0, 700.0))
    plan = turn_device(before, device, -270.0)
    sound(before, plan, "devices")
    turned = find(plan, "devices", device)
    assert turned.turn_deg == 90.0
    with_entry = Device(id="d", name="d", surface="s1", at_mm=(100, 100), entry_mm=(50, 0), turn_deg=90)
    assert entry_point(with_entry) == pytest.approx((100.0, 150.0))


def test_the_nearest_channel_is_split_where_the_device_is() -> None:
    before, trunk = _with_trunk()
    before, light = place_device(before, LIGHT, "s1", (1000.0, 700.0))
    plan, node = connect_to_nearest(before, light)
    sound(before, plan, "devices", "channels", "nodes")
    joints = join(plan.surfaces, plan.seams)
    line = channel_line(plan, joints, find(plan, "channels", trunk))
    assert line is not None
    assert line[-1] == pytest.approx((1000.0, 800.0))
    assert hypot(line[-1][0] - 1000.0, line[-1][1] - 700.0) == pytest.approx(100.0)
    assert find(plan, "devices", light).node == node
    # near an end no sliver is cut off
    other, near_end = place_device(plan, LIGHT, "s1", (205.0, 700.0))
    after, end = connect_to_nearest(other, near_end)
    sound(other, after, "devices")
    assert end == find(plan, "channels", trunk).start


def test_an_aerial_is_joined_to_a_channel_for_aerials() -> None:
    """An aerial works on signals, but its coax keeps apart from them: a channel for signals alone is not its own."""
    before, trunk = _with_trunk()
    aerial = replace(LIGHT, kind="antenna", electrical=Electrical(system="signal"))
    before, aerial_id = place_device(before, aerial, "s1", (1000.0, 700.0))
    refused(connect_to_nearest, set_groups(before, (trunk,), ("signal",)), aerial_id, says="may carry the wires")
    plan, node = connect_to_nearest(set_groups(before, (trunk,), ("antenna",)), aerial_id)
    assert find(plan, "devices", aerial_id).node == node


def test_channels_out_of_reach_or_for_others_are_not_taken() -> None:
    before, trunk = _with_trunk()
    before, light = place_device(before, LIGHT, "s1", (1000.0, 200.0))
    refused(connect_to_nearest, before, light, 500.0, says="Floor has no channel within 500 mm")
    only_mains = set_groups(before, (trunk,), ("mains",))
    refused(connect_to_nearest, only_mains, light, says="may carry the wires of “Light”")
    before, wall = place_device(before, LIGHT, "s2", (1000.0, 200.0))
    refused(connect_to_nearest, before, wall, says="Vehicle left has no channel")


def test_a_node_is_set_and_taken_off() -> None:
    before, trunk = _with_trunk()
    before, light = place_device(before, LIGHT, "s1", (300.0, 700.0))
    plan, node = connect_to_node(before, light)
    sound(before, plan, "devices")
    assert node == find(plan, "channels", trunk).start
    plan = sound(plan, set_node(plan, light, None), "devices")
    assert find(plan, "devices", light).node is None
    refused(set_node, plan, light, "n77", says="no node n77")
    refused(connect_to_node, before, light, 50.0, says="no node within 50 mm of “Light”")


def test_devices_are_repeated_evenly() -> None:
    before, light = place_device(shell(), LIGHT, "s1", (200.0, 300.0))
    plan, new = array(before, light, (2600.0, 300.0), 5)
    sound(before, plan, "devices")
    assert len(new) == 4
    assert [device.at_mm[0] for device in plan.devices] == pytest.approx([200, 800, 1400, 2000, 2600])
    assert [device.name for device in plan.devices][-1] == "Light 5"
    spread, _ = spaced(before, light, (2600.0, 300.0), 700.0)
    assert [device.at_mm[0] for device in spread.devices] == pytest.approx([200, 800, 1400, 2000, 2600])
    copy, fresh = duplicate(before, light, (50.0, 0.0))
    assert find(copy, "devices", fresh).at_mm == (250.0, 300.0)
    refused(array, before, light, (9000.0, 300.0), 5, says="does not lie on Floor")
    refused(array, before, light, (2600.0, 300.0), 1, says="two at least")
    refused(spaced, before, light, (2600.0, 300.0), 0.0, says="more than 0 mm")
