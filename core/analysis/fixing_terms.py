"""What holds for the securing points of one channel: the spacing, the rule it is from, how near to its ends."""

from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from typing import Literal

from core.analysis.grounds import BEND_TURN_DEG
from core.analysis.places import Fall, Sheet
from core.analysis.results import Bundle, ChannelPath
from core.analysis.rules import number, source
from core.analysis.turns import Turn
from core.harness.fastening import HEAVY_CABLE_MM
from core.model import Channel, Circuit, Device, Profile

#: However long a wire hangs between a device and its channel, the channel's first point may be this far from its end
#: (mm; our choice: room for a hand and the corner that is usually there).
LEAST_FIRST_MM = 50.0
#: A channel that rises by this share of its length is vertical (our choice: 45 degrees).
UPRIGHT = 0.7


@dataclass(frozen=True)
class Terms:
    """What holds for one channel: the spacing, the rule it comes from, how far from either end the first point may be,
    and at which ends a branch leaves or the wires turn."""

    rule: str
    source: str
    span_mm: float
    ends_mm: tuple[float, float]
    near: tuple[Literal["", "bend", "breakout"], Literal["", "bend", "breakout"]]


def span_rules(channel: Channel, battery: bool, mains: bool, upright: bool) -> list[str]:
    """The rules of the profile that hold for a channel; the shortest spacing of them counts."""
    rules = ["securing.cabinet_span_mm" if channel.kind == "furniture" else "securing.span_mm"]
    if battery:
        rules.append("securing.battery_span_mm")
    if mains:
        rules.append("securing.mains_vertical_mm" if upright else "securing.mains_mm")
    return rules


def _upright(path: ChannelPath, sheet: Sheet) -> bool:
    laid = sheet.layout.laid.get(path.surface or "")
    if laid is None or len(path.local_mm) < 2 or path.length_mm <= 0:
        return False
    rise = laid.pose.to_vehicle(path.local_mm[-1])[2] - laid.pose.to_vehicle(path.local_mm[0])[2]
    return abs(rise) >= UPRIGHT * path.length_mm


class FixingTerms:
    """Works out the terms of one channel after the other."""

    def __init__(
        self,
        channels: Sequence[Channel],
        circuits: Sequence[Circuit],
        devices: Sequence[Device],
        falls: Mapping[str, Fall],
        bundles: Mapping[str, Bundle],
        wire_circuits: Mapping[str, str],
        endings: AbstractSet[tuple[str, str]],
        turns: Sequence[Turn],
        sheet: Sheet,
        profile: Profile,
    ) -> None:
        self._owner = {c.id: c for c in circuits}
        self._wire_circuits = wire_circuits
        self._battery = {w for w, c in wire_circuits.items() if self._owner[c].kind == "battery_lead"}
        self._mains = {w for w, c in wire_circuits.items() if self._owner[c].group == "mains"}
        self._sheet, self._profile = sheet, profile
        self._busy: dict[str, int] = {}
        # Every channel in which a wire ends at a device holds it there; those that only pass by go on from there.
        self._endings = endings
        self._holder: dict[str, str] = {node: "" for node, _ in endings}
        for channel in channels:
            if channel.id in bundles:
                for node in {channel.start, channel.end}:
                    self._busy[node] = self._busy.get(node, 0) + 1
                    self._holder.setdefault(node, channel.id)
        self._turned = {t.node for t in turns if t.turn_deg >= BEND_TURN_DEG}
        self._hanging: dict[str, float] = {}
        for device in devices:
            fall = falls.get(device.id)
            if device.node is not None:
                hangs = fall.length_mm if fall is not None and fall.length_mm is not None else 0.0
                self._hanging[device.node] = max(hangs, self._hanging.get(device.node, 0.0))

    def of(self, channel: Channel, path: ChannelPath, bundle: Bundle) -> Terms:
        battery = not self._battery.isdisjoint(bundle.wires)
        mains = not self._mains.isdisjoint(bundle.wires)
        rules = span_rules(channel, battery, mains, mains and _upright(path, self._sheet))
        rule = min(rules, key=lambda r: number(self._profile, r))
        span = number(self._profile, rule)
        first = number(self._profile, "securing.first_mm")

        def end(node: str) -> float:
            if node not in self._hanging:
                return span / 2
            near_mm = min(max(first - self._hanging[node], LEAST_FIRST_MM), span)
            holds = (node, channel.id) in self._endings or self._holder[node] == channel.id
            return near_mm if holds else span - near_mm

        def near(node: str) -> Literal["", "bend", "breakout"]:
            if self._busy.get(node, 0) > 2:
                return "breakout"
            return "bend" if node in self._turned and node not in self._hanging else ""

        a, b = channel.start, channel.end
        ends = (end(a), end(b))
        if a in self._hanging and b in self._hanging and path.length_mm <= 2 * first:
            # Between two devices this near to each other one point in the middle holds the wires of both.
            ends = (max(ends[0], path.length_mm / 2), max(ends[1], path.length_mm / 2))
        return Terms(rule, source(self._profile, rule), span, ends, (near(a), near(b)))

    def heavy(self, bundle: Bundle) -> bool:
        """Whether a battery cable that wants a clip round it lies in the bundle."""
        return any(
            item.od_mm >= HEAVY_CABLE_MM and self._owner[self._wire_circuits[item.wires[0]]].group == "dc_power"
            for item in bundle.items
            if item.wires
        )
