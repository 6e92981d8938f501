"""Stage `bends`: the inside radius a bundle needs, against the radius that is drawn at vias."""

from collections.abc import Mapping
from math import dist, sqrt

from core.analysis.places import sheet_point
from core.analysis.results import BendRow, Bundle, ChannelPath, Wire
from core.analysis.rules import number
from core.geometry.plane import along_mm
from core.harness.bend import (
    fillet_radius_available_mm,
    inside_radius_mm,
    outside_of_bend_mm,
    turn_angles_deg,
)
from core.model import Channel, Profile

#: A turn smaller than this is no bend (degrees; our choice).
SMALLEST_TURN_DEG = 5.0


def needed_radius_mm(bundle: Bundle, wires: Mapping[str, Wire], profile: Profile) -> float:
    """Inside radius: the strictest of the multiples for the bundle, its thickest wire, coax and mains cable."""
    radius = number(profile, "bend.bundle_multiple") * bundle.diameter_laid_mm if len(bundle.items) > 1 else 0.0
    for item in bundle.items:
        group = wires[item.wires[0]].group
        rule = {"antenna": "bend.coax_multiple", "mains": "bend.mains_multiple"}.get(group, "bend.wire_multiple")
        radius = max(radius, number(profile, rule) * item.od_mm)
    return radius


def _legs_mm(path: ChannelPath, i: int) -> tuple[float, float]:
    """Room for the arc at a via, before and after it: all of an end leg (as twice a half), half of others."""
    before, at, after = path.local_mm[i - 1 : i + 2]
    return dist(before, at) * (2 if i == 1 else 1), dist(at, after) * (2 if i == len(path.local_mm) - 2 else 1)


def outside_mm(
    channels: tuple[Channel, ...],
    paths: Mapping[str, ChannelPath],
    bundles: Mapping[str, Bundle],
) -> dict[str, float]:
    """By channel, what a wire on the outside of all its bends is longer than the drawn line; only where that is not 0.

    The bundle is taken as 1.2 sqrt(sum d2) (a handbook's formula for mixed wires, read in two printings): lengths must
    not change with the effort of packing. A bend is made no wider than ten bundles.
    """
    found = {}
    for channel in channels:
        path, bundle = paths[channel.id], bundles.get(channel.id)
        if bundle is None or len(path.local_mm) < 3:
            continue
        mixed = 1.2 if len(bundle.items) > 1 else 1.0
        thick = mixed * sqrt(sum(i.od_mm**2 for i in bundle.items))
        more = 0.0
        for i, turn in enumerate(turn_angles_deg(path.local_mm), start=1):
            if turn >= SMALLEST_TURN_DEG:
                middle = min(fillet_radius_available_mm(*_legs_mm(path, i), turn), 10 * thick)
                asked = channel.bend_mm + thick / 2 if channel.bend_mm > 0 else middle
                more += outside_of_bend_mm(min(middle, asked), turn, thick)
        if more > 0:
            found[channel.id] = more
    return found


def find_bends(
    channels: tuple[Channel, ...],
    paths: Mapping[str, ChannelPath],
    bundles: Mapping[str, Bundle],
    wires: Mapping[str, Wire],
    profile: Profile,
) -> tuple[BendRow, ...]:
    """Every via at which a channel with wires turns."""
    rows = []
    for channel in channels:
        path, bundle = paths[channel.id], bundles.get(channel.id)
        if bundle is None or len(path.local_mm) < 3:
            continue
        needed = needed_radius_mm(bundle, wires, profile)
        along = along_mm(path.local_mm)
        for i, turn in enumerate(turn_angles_deg(path.local_mm), start=1):
            if turn < SMALLEST_TURN_DEG:
                continue
            middle = fillet_radius_available_mm(*_legs_mm(path, i), turn)
            fits = inside_radius_mm(middle, bundle.diameter_laid_mm)
            rows.append(
                BendRow(
                    channel=channel.id,
                    at_mm=along[i],
                    turn_deg=turn,
                    needed_mm=needed,
                    drawn_mm=min(channel.bend_mm, fits) if channel.bend_mm > 0 else fits,
                    sheet_mm=sheet_point(path, along[i]),
                )
            )
    return tuple(rows)
