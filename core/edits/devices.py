"""Place, move, turn, duplicate device; connect it to the nearest channel."""

from collections.abc import Callable
from math import ceil, hypot

from core.edits.change import add, free_name, get, new_id, new_ids, put, refuse, replaced
from core.edits.network import nearest_channel, node_on, split_channel
from core.edits.surfaces import check_within
from core.files.library import DeviceTemplate, placed
from core.geometry.entry import entry_point
from core.geometry.joints import join
from core.geometry.plane import Point, distance_mm
from core.model import ADAPTERS, Channel, Device, Plan, SeparationGroup, Surface

#: A device whose wires join a channel this near to one of its ends joins that end's node.
AT_NODE_MM = 10.0
GROUP_OF_SYSTEM: dict[str, SeparationGroup] = {"ac230": "mains", "ac120": "mains", "signal": "signal"}


def place_device(
    plan: Plan, device: DeviceTemplate | Device, surface_id: str, at_mm: Point, name: str | None = None
) -> tuple[Plan, str]:
    """Place device: the middle of its footprint at a point of a surface. A template or another device is copied."""
    surface: Surface = get(plan, "surfaces", surface_id)
    wanted = name.strip() if name is not None and name.strip() else None
    named = wanted or free_name(device.name, (other.name for other in plan.devices))
    check_within(surface, (at_mm,), f"“{named}”")
    fresh = new_id(plan, "devices")
    at = (float(at_mm[0]), float(at_mm[1]))
    if isinstance(device, DeviceTemplate):
        new = placed(device, fresh, surface_id, at, named)
    else:
        new = replaced(device, id=fresh, name=named, surface=surface_id, at_mm=at, node=None)
    return add(plan, "devices", new), fresh


def move_device(plan: Plan, device_id: str, surface_id: str, at_mm: Point) -> Plan:
    """Move device. Its wires still join the same node, so their falls and lengths follow it."""
    device: Device = get(plan, "devices", device_id)
    surface: Surface = get(plan, "surfaces", surface_id)
    check_within(surface, (at_mm,), f"“{device.name}”")
    at = (float(at_mm[0]), float(at_mm[1]))
    return put(plan, "devices", replaced(device, surface=surface_id, at_mm=at))


def turn_device(plan: Plan, device_id: str, turn_deg: float) -> Plan:
    """Turn device to an angle, counter-clockwise, kept between 0 and 360 degrees."""
    device: Device = get(plan, "devices", device_id)
    return put(plan, "devices", replaced(device, turn_deg=float(turn_deg) % 360.0))


def set_node(plan: Plan, device_id: str, node_id: str | None) -> Plan:
    """Set node where the wires of a device join the channels; None takes it off."""
    device: Device = get(plan, "devices", device_id)
    if node_id is not None:
        get(plan, "nodes", node_id)
    return put(plan, "devices", replaced(device, node=node_id))


def connect_to_nearest(
    plan: Plan, device_id: str, within_mm: float = 1_000.0, allowed: Callable[[str], bool] = lambda _: True
) -> tuple[Plan, str]:
    """Connect to nearest channel: join a device's wires to the nearest channel on its surface that may carry them.

    Gives the node; near an end of the channel its node there, else a new one, which splits the channel. `allowed`
    says by id which channels are looked at. Refuses when there is none within reach.
    """
    device: Device = get(plan, "devices", device_id)
    surface: Surface = get(plan, "surfaces", device.surface)
    group = "antenna" if device.kind == "antenna" else GROUP_OF_SYSTEM.get(device.electrical.system, "dc_power")
    entry = entry_point(device)
    joints = join(plan.surfaces, plan.seams)
    either = device.kind in ADAPTERS

    def may_carry(channel: Channel) -> bool:
        return channel.state != "blocked" and (either or group in channel.groups) and allowed(channel.id)

    near = nearest_channel(plan, joints, device.surface, entry, within_mm, may_carry)
    if near is None:
        refuse(f"{surface.name} has no channel within {within_mm:g} mm that may carry the wires of “{device.name}”.")
    for node_id, end in ((near.channel.start, near.line[0]), (near.channel.end, near.line[-1])):
        if distance_mm(end, near.point) <= AT_NODE_MM:
            return set_node(plan, device_id, node_id), node_id
    plan, node_id, _ = split_channel(plan, near.channel.id, near.at_mm, joints)
    return set_node(plan, device_id, node_id), node_id


def connect_to_node(plan: Plan, device_id: str, within_mm: float = 1_000.0) -> tuple[Plan, str]:
    """Connect to the nearest node of the device's surface, where no channel is drawn yet."""
    device: Device = get(plan, "devices", device_id)
    surface: Surface = get(plan, "surfaces", device.surface)
    entry = entry_point(device)
    joints = join(plan.surfaces, plan.seams)
    near = [
        (distance_mm(entry, point), node.id)
        for node in plan.nodes
        if (point := node_on(plan, joints, node, device.surface)) is not None
    ]
    best = min(near, default=None)
    if best is None or best[0] > within_mm:
        refuse(f"There is no node within {within_mm:g} mm of “{device.name}” on {surface.name}.")
    return set_node(plan, device_id, best[1]), best[1]


def duplicate(plan: Plan, device_id: str, by_mm: Point) -> tuple[Plan, str]:
    """Duplicate device, the copy `by_mm` away on the same surface, connected to nothing."""
    device: Device = get(plan, "devices", device_id)
    at = (device.at_mm[0] + by_mm[0], device.at_mm[1] + by_mm[1])
    return place_device(plan, device, device.surface, at)


def array(plan: Plan, device_id: str, to_mm: Point, count: int) -> tuple[Plan, tuple[str, ...]]:
    """Array: `count` devices in all, evenly from the device's place to `to_mm`; the new ones' ids in that order."""
    device: Device = get(plan, "devices", device_id)
    if count < 2:
        refuse(f"An array of “{device.name}” needs two at least.")
    if count > 1_000:
        refuse(f"An array of {count} is more than one vehicle can hold.")
    x, y = device.at_mm
    surface: Surface = get(plan, "surfaces", device.surface)
    check_within(surface, (to_mm,), f"The last “{device.name}”")
    fresh = new_ids(plan, "devices", count - 1)
    names = {other.name for other in plan.devices}
    new = []
    for number, new_device_id in enumerate(fresh, start=1):
        share = number / (count - 1)
        at = (x + (to_mm[0] - x) * share, y + (to_mm[1] - y) * share)
        check_within(surface, (at,), f"One of the “{device.name}”")
        name = free_name(device.name, names)
        names.add(name)
        new.append(replaced(device, id=new_device_id, name=name, at_mm=at, node=None))
    return add(plan, "devices", *new), fresh


def spaced(plan: Plan, device_id: str, to_mm: Point, pitch_mm: float) -> tuple[Plan, tuple[str, ...]]:
    """Array by spacing: devices no further apart than `pitch_mm`, from the device's place to `to_mm`."""
    device: Device = get(plan, "devices", device_id)
    if not pitch_mm > 0:
        refuse(f"The spacing of “{device.name}” must be more than 0 mm; {pitch_mm:g} mm is not.")
    length = hypot(to_mm[0] - device.at_mm[0], to_mm[1] - device.at_mm[1])
    return array(plan, device_id, to_mm, ceil(length / pitch_mm - 1e-9) + 1)


__all__ = [
    "array",
    "connect_to_nearest",
    "connect_to_node",
    "duplicate",
    "entry_point",
    "move_device",
    "place_device",
    "set_node",
    "spaced",
    "turn_device",
]
