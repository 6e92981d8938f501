"""How far a device is from the nearest channel its wires could join, and whether that is near enough to join."""

import msgspec

from core.analysis.analysis import Analysis
from core.edits.devices import GROUP_OF_SYSTEM
from core.geometry.entry import entry_point
from core.geometry.plane import Point, nearest_on
from core.model import ADAPTERS, Device

#: Devices within this of a channel are offered to join it (mm).
NEAR_MM = 1000.0


class Gap(msgspec.Struct, frozen=True, kw_only=True):
    """From the wire entry of a device to the nearest channel on its surface that may carry its wires; `channel` ""
    and no distance where its surface has none. Points are of the surface, in mm."""

    device: str
    surface: str
    entry_mm: Point
    channel: str = ""
    at_mm: Point = (0.0, 0.0)
    distance_mm: float | None = None

    @property
    def near(self) -> bool:
        return self.distance_mm is not None and self.distance_mm <= NEAR_MM


def gap_of(analysis: Analysis, device: Device) -> Gap:
    """The gap of a device, whether it has joined a node or not."""
    group = GROUP_OF_SYSTEM.get(device.electrical.system, "antenna" if device.kind == "antenna" else "dc_power")
    entry = entry_point(device)
    best = Gap(device=device.id, surface=device.surface, entry_mm=entry)
    for path in analysis.paths.values():
        channel = analysis.channels[path.channel]
        if path.surface != device.surface or len(path.local_mm) < 2 or channel.state == "blocked":
            continue
        if device.kind not in ADAPTERS and group not in channel.groups:
            continue
        found = nearest_on(path.local_mm, entry)
        if best.distance_mm is None or found.distance_mm < best.distance_mm:
            best = Gap(device=device.id, surface=device.surface, entry_mm=entry, channel=path.channel,
                       at_mm=found.point, distance_mm=found.distance_mm)  # fmt: skip
    return best


def gap_words(analysis: Analysis, gap: Gap) -> str:
    """The gap in words, for the end of a sentence."""
    surface = analysis.surfaces[gap.surface].name
    if gap.distance_mm is None:
        return f"{surface} has no channel that may carry its wires"
    return f"the nearest channel on {surface} is {gap.distance_mm / 1000:.2f} m away"
