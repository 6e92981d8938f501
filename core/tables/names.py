"""What people call the records that results refer to by id."""

from collections.abc import Mapping

from core.analysis.bought_fixings import FIXING_WORDS
from core.analysis.results import End, Severity
from core.electrical.protection import family_words
from core.model import Circuit, Device, Plan, Protective, Way, WireKind, records

ROLE_WORDS: dict[str, str] = {
    "feed": "feed",
    "return": "return",
    "switched": "switched feed",
    "line": "line",
    "neutral": "neutral",
    "protective_earth": "protective earth",
    "data": "data",
    "antenna": "antenna",
    "bond": "chassis bond",
    "spare": "spare",
}
DEVICE_WORDS: dict[str, str] = {"usb": "USB outlet", "rcd": "RCD", "converter": "DC–DC converter", "other": ""}
GROUP_WORDS: dict[str, str] = {"mains": "mains", "dc_power": "DC power", "signal": "signal", "antenna": "antenna"}
SEVERITY_ORDER: dict[Severity, int] = {"error": 0, "warning": 1, "note": 2}


def words(code: str) -> str:
    """A code of the model as words: "tie_mount" is "tie mount"."""
    return code.replace("_", " ")


def capital(text: str) -> str:
    """The text with a capital at its start, as items of a list have it."""
    return text[:1].upper() + text[1:]


def device_words(kind: str) -> str:
    """What sort of device it is, for people; empty where the kind says nothing."""
    return DEVICE_WORDS.get(kind, words(kind))


def fixing_words(kind: str) -> str:
    """What a fixing of that kind is, where the catalogue has no part of it."""
    return FIXING_WORDS.get(kind, words(kind))


class Names:
    """Names of one plan, looked up once. An id that the plan does not know is shown as it is."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.devices: Mapping[str, Device] = {device.id: device for device in plan.devices}
        self.circuits: Mapping[str, Circuit] = {circuit.id: circuit for circuit in plan.circuits}
        self.kinds: Mapping[str, WireKind] = {kind.id: kind for kind in plan.wire_kinds}
        self._channels = {channel.id: channel for channel in plan.channels}
        self._by_id = {record.id: getattr(record, "name", "") or record.id for _, record in records(plan)}

    def __call__(self, record_id: str) -> str:
        """The name of any record, its id where it has none."""
        return self._by_id.get(record_id, record_id)

    def end(self, end: End) -> str:
        """The device, and the way or port on it: "Fuse block, way 3"."""
        device = self.devices.get(end.device)
        if device is None:
            return self(end.device)
        return device.name + self._terminal(device, end)

    def _terminal(self, device: Device, end: End) -> str:
        way = next((way for way in device.ways if way.id == end.way), None)
        if way is not None:
            return f", {way_name(way)}"
        port = next((port for port in device.ports if port.id == end.port), None)
        if port is not None and len(device.ports) > 1:
            return f", {port.name or port.id}"
        return ""

    def where(self, channel_id: str) -> str:
        """What to look for in the vehicle: a channel's own name and its surface, or that it is known by the tape."""
        channel = self._channels.get(channel_id)
        if channel is None:
            return ""
        on = self(channel.surface) if channel.surface else "by tape"
        return f"{channel.name}, {on}" if channel.name else on


def way_name(way: Way) -> str:
    """The way's own name, or its number: "way 3" for the ids 3 and w3."""
    return way.name or f"way {way.id[1:] if way.id[:1] == 'w' and way.id[1:].isdigit() else way.id}"


def protection_words(protective: Protective, fuse_a: float | None) -> str:
    """The protective device of a circuit in a few words: "15 A fuse, blade, regular", "none: inside the battery"."""
    if protective.kind == "none":
        return f"none: {protective.reason}" if protective.reason else "none"
    rating = f"{fuse_a:g} A " if fuse_a is not None else ""
    kind, family = words(protective.kind), family_words(protective.family)
    if family.startswith(kind):  # "circuit breaker, 230 V"
        return rating + family
    return f"{rating}{kind}, {family}" if family else rating + kind
