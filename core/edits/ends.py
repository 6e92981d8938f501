"""Edit ends of a device: its terminals (ports) and its ways, one field at a time, as a person types them."""

from collections.abc import Callable
from typing import Any, NamedTuple, get_args

from core.edits.change import get, made, put, refuse, replaced
from core.electrical.protection import families
from core.model import Device, Plan, Port, Role, Way, fresh_id
from core.units import read_angle_deg, read_current_a

#: What a way that is added holds where the device has none to copy (A).
FIRST_WAY_A = 30.0
ROLES: tuple[Role, ...] = get_args(Role)


class EndColumn(NamedTuple):
    """A field of a terminal or way: how it is shown, and how a text is read into a value."""

    key: str
    title: str
    show: Callable[[Any], Any]
    tip: str = ""
    is_length: bool = False


def _role(port: Port) -> str:
    return port.role.replace("_", " ")


PORT_COLUMNS: tuple[EndColumn, ...] = (
    EndColumn("name", "Name", lambda port: port.name or port.id),
    EndColumn("role", "Conductor", _role, ", ".join(role.replace("_", " ") for role in ROLES)),
    EndColumn("terminal", "Ends in", lambda port: port.terminal, "ring terminal, blade terminal, screw clamp, tail …"),
    EndColumn("stud_mm", "Stud", lambda port: port.stud_mm, "Thread of the stud, such as 8 for M8", True),
    EndColumn("x_mm", "Along", lambda port: port.at_mm[0], "From the middle of the footprint", True),
    EndColumn("y_mm", "Up", lambda port: port.at_mm[1], "From the middle of the footprint", True),
    EndColumn("entry_deg", "Wire comes from", lambda port: port.entry_deg, "Degrees, 0 is from the right"),
    EndColumn("end_allowance_mm", "End allowance", lambda port: port.end_allowance_mm,
              "Wire beyond the terminal to make it off with", True),
)  # fmt: skip
WAY_COLUMNS: tuple[EndColumn, ...] = (
    EndColumn("name", "Way", lambda way: way.name or way.id),
    EndColumn("largest_a", "Largest fuse (A)", lambda way: f"{way.largest_a:g}"),
    EndColumn("fuse_family", "Fuse family", lambda way: _family_title(way.fuse_family)),
)


def _family_title(family_id: str) -> str:
    family = families().get(family_id)
    return family.title if family is not None else family_id


def set_end(plan: Plan, device_id: str, end_id: str, key: str, text: str, read_mm: Callable[[str], float]) -> Plan:
    """Set a field of a terminal or way from a text; `read_mm` reads lengths. Refuses (EditRefused, UnitProblem) what
    cannot be read. An empty text means: not said."""
    device: Device = get(plan, "devices", device_id)
    told = text.strip()
    if key in {column.key for column in WAY_COLUMNS} and any(way.id == end_id for way in device.ways):
        way = next(each for each in device.ways if each.id == end_id)
        changed = _way_with(way, key, told)
        return _put_ways(plan, device, tuple(changed if each is way else each for each in device.ways))
    port = next((each for each in device.ports if each.id == end_id), None)
    if port is None:
        refuse(f"“{device.name}” has no terminal or way {end_id}.")
    after = _port_with(port, key, told, read_mm)
    return _put_ports(plan, device, tuple(after if each is port else each for each in device.ports))


def _way_with(way: Way, key: str, told: str) -> Way:
    if key == "name":
        return replaced(way, name="" if told == way.id else told)
    if key == "largest_a":
        amps = read_current_a(told)
        if not amps > 0:
            refuse("A way holds a fuse of more than 0 A.")
        return replaced(way, largest_a=amps)
    found = [f for f in families().values() if told.casefold() in (f.id.casefold(), f.title.casefold())]
    if not found:
        refuse(f"“{told}” is no family of fuses; there are {'; '.join(f.title for f in families().values())}.")
    return replaced(way, fuse_family=found[0].id)


def _port_with(port: Port, key: str, told: str, read_mm: Callable[[str], float]) -> Port:
    match key:
        case "name":
            return replaced(port, name="" if told == port.id else told)
        case "role":
            role = told.casefold().replace(" ", "_")
            if role not in ROLES:
                refuse(f"“{told}” is no conductor; there are {', '.join(r.replace('_', ' ') for r in ROLES)}.")
            return replaced(port, role=role)
        case "terminal":
            return replaced(port, terminal=told)
        case "x_mm" | "y_mm":
            value = _signed(told, read_mm)
            at = (value, port.at_mm[1]) if key == "x_mm" else (port.at_mm[0], value)
            return replaced(port, at_mm=at)
        case "entry_deg":
            return replaced(port, entry_deg=read_angle_deg(told.replace("°", "")) if told else None)
        case _:
            return replaced(port, **{key: read_mm(told) if told else None})


def _signed(told: str, read_mm: Callable[[str], float]) -> float:
    return -read_mm(told[1:].strip()) if told.startswith(("-", "−")) else read_mm(told)


def add_port(plan: Plan, device_id: str) -> Plan:
    """Add terminal to a device, in the middle of its footprint."""
    device: Device = get(plan, "devices", device_id)
    fresh = fresh_id("t", {port.id for port in device.ports})
    return _put_ports(plan, device, (*device.ports, made(Port, id=fresh, role="feed")))


def remove_port(plan: Plan, device_id: str, port_id: str) -> Plan:
    """Remove terminal. Refuses one that a circuit ends at."""
    device: Device = get(plan, "devices", device_id)
    user = next((c for c in plan.circuits for s in c.stops if s.device == device_id and s.port == port_id), None)
    if user is not None:
        refuse(f"Circuit “{user.name}” ends at that terminal.")
    return _put_ports(plan, device, tuple(port for port in device.ports if port.id != port_id))


def add_way(plan: Plan, device_id: str) -> Plan:
    """Add way to a distribution point, like its last one."""
    device: Device = get(plan, "devices", device_id)
    taken = {way.id for way in device.ways}
    fresh = next(str(n) for n in range(1, len(taken) + 2) if str(n) not in taken)
    last = device.ways[-1] if device.ways else None
    new = made(Way, id=fresh, largest_a=FIRST_WAY_A) if last is None else replaced(last, id=fresh, name="")
    return _put_ways(plan, device, (*device.ways, new))


def remove_way(plan: Plan, device_id: str, way_id: str) -> Plan:
    """Remove way. Refuses one that feeds a circuit."""
    device: Device = get(plan, "devices", device_id)
    user = next((c for c in plan.circuits if c.stops[0].device == device_id and c.stops[0].way == way_id), None)
    if user is not None:
        refuse(f"Way {way_id} of “{device.name}” feeds “{user.name}”; move that circuit first.")
    return _put_ways(plan, device, tuple(way for way in device.ways if way.id != way_id))


def _put_ports(plan: Plan, device: Device, ports: tuple[Port, ...]) -> Plan:
    return put(plan, "devices", replaced(device, ports=ports))


def _put_ways(plan: Plan, device: Device, ways: tuple[Way, ...]) -> Plan:
    return put(plan, "devices", replaced(device, ways=ways))
