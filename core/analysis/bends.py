"""Stage `bends`: the inside radius a bundle needs, against the radius that is drawn at vias and nodes."""

from collections.abc import Mapping, Sequence
from math import dist, sqrt

from core.analysis.places import sheet_point
from core.analysis.results import BendRow, Bundle, BundleItem, ChannelPath, Wire
from core.analysis.rules import number
from core.analysis.turns import Turn
from core.geometry.plane import along_mm
from core.harness.bend import (
    fillet_radius_available_mm,
    inside_radius_mm,
    outside_of_bend_mm,
    required_inside_radius_mm,
    turn_angles_deg,
)
from core.model import Channel, Profile

#: A turn smaller than this is no bend (degrees; our choice).
SMALLEST_TURN_DEG = 5.0
#: At a node, where every wire finds its own way round, a turn smaller than this is none (degrees; our choice).
NODE_TURN_DEG = 30.0
#: The profile's multiple for the wires of a group.
WIRE_RULES = {"antenna": "bend.coax_multiple", "mains": "bend.mains_multiple"}


def needed_radius_mm(bundle: Bundle, wires: Mapping[str, Wire], profile: Profile) -> float:
    """Inside radius: the strictest of the multiples for the bundle, its thickest wire, coax and mains cable."""
    of_bundle = number(profile, "bend.bundle_multiple") if len(bundle.items) > 1 else 0.0
    thick = bundle.diameter_laid_mm
    asked = (
        required_inside_radius_mm(thick, item.od_mm, of_bundle, number(profile, _rule(item, wires)))
        for item in bundle.items
    )
    return max(asked, default=0.0)


def _rule(item: BundleItem, wires: Mapping[str, Wire]) -> str:
    """The profile's multiple for a wire, a cable, or a conduit with what lies in it."""
    groups = {wires[w].group for w in item.wires}
    return next((WIRE_RULES[g] for g in WIRE_RULES if g in groups), "bend.wire_multiple")


def _mixed_mm(ods_mm: Sequence[float]) -> float:
    """A bundle's diameter without packing it: 1.2 sqrt(sum d2) for mixed wires (a handbook's formula, read twice)."""
    return (1.2 if len(ods_mm) > 1 else 1.0) * sqrt(sum(od * od for od in ods_mm))


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

    Lengths must not change with the effort of packing (`_mixed_mm`). A bend is made no wider than ten bundles.
    """
    found = {}
    for channel in channels:
        path, bundle = paths[channel.id], bundles.get(channel.id)
        if bundle is None or len(path.local_mm) < 3:
            continue
        thick = _mixed_mm([i.od_mm for i in bundle.items])
        more = 0.0
        for i, turn in enumerate(turn_angles_deg(path.local_mm), start=1):
            if turn >= SMALLEST_TURN_DEG:
                middle = min(fillet_radius_available_mm(*_legs_mm(path, i), turn), 10 * thick)
                asked = channel.bend_mm + thick / 2 if channel.bend_mm > 0 else middle
                more += outside_of_bend_mm(min(middle, asked), turn, thick)
        if more > 0:
            found[channel.id] = more
    return found


def _node_bend(
    turn: Turn, channel: Channel, path: ChannelPath, bundle: Bundle, wires: Mapping[str, Wire], profile: Profile
) -> BendRow:
    """What goes on from channel to channel has to make this bend; it is held on both sides of it."""
    through = set(turn.wires)
    items = [item for item in bundle.items if through.intersection(item.wires)]
    thick = _mixed_mm([item.od_mm for item in items])
    needed = number(profile, "bend.bundle_supported_multiple") * thick if len(items) > 1 else 0.0
    for item in items:
        rule = _rule(item, wires)
        needed = max(needed, number(profile, rule) * item.od_mm)
    middle = fillet_radius_available_mm(*turn.legs_mm, turn.turn_deg)
    at = 0.0 if channel.start == turn.node else path.length_mm
    return BendRow(
        channel=channel.id,
        at_mm=at,
        turn_deg=turn.turn_deg,
        needed_mm=needed,
        drawn_mm=inside_radius_mm(middle, thick),
        sheet_mm=sheet_point(path, at),
        into=turn.b if channel.id == turn.a else turn.a,
    )


def find_bends(
    channels: tuple[Channel, ...],
    paths: Mapping[str, ChannelPath],
    bundles: Mapping[str, Bundle],
    wires: Mapping[str, Wire],
    turns: tuple[Turn, ...],
    profile: Profile,
) -> tuple[BendRow, ...]:
    """Every via at which a channel with wires turns, and every node at which wires turn from channel to channel."""
    by_id = {c.id: c for c in channels}
    rows = [
        _node_bend(turn, by_id[turn.a], paths[turn.a], bundles[turn.a], wires, profile)
        for turn in turns
        if turn.turn_deg >= NODE_TURN_DEG and turn.a in bundles
    ]
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
