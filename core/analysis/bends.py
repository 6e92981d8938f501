"""Stage `bends`: the inside radius a bundle needs, against the radius that is drawn at vias."""

from collections.abc import Mapping
from math import dist

from core.analysis.places import sheet_point
from core.analysis.results import BendRow, Bundle, ChannelPath, Wire
from core.analysis.rules import number
from core.geometry.plane import along_mm
from core.harness.bend import fillet_radius_available_mm, inside_radius_mm, turn_angles_deg
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
            before, at, after = path.local_mm[i - 1 : i + 2]
            # An end leg is all free for the arc; a leg between two bends gives each of them half.
            first = dist(before, at) * (2 if i == 1 else 1)
            last = dist(at, after) * (2 if i == len(path.local_mm) - 2 else 1)
            middle = fillet_radius_available_mm(first, last, turn)
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
