"""The drawing while something is dragged in a large plan: only the records that the drag touches are drawn again.

An estimate of `core.analysis.drag` shares everything it did not touch with the analysis of the press, so that what to
draw is found by identity, in a pass over the plan that costs a few milliseconds for ten thousand records.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import compress
from operator import is_not
from typing import Any, TypeVar

from core.analysis.analysis import Analysis
from core.analysis.drag import DRAGGED
from core.diff import changed_fields
from core.model import Channel, Device, Node
from core.pages.sheet_base import World
from core.pages.sheet_hold import held_name, held_pills
from core.pages.sheet_labels import Labels
from core.pages.sheet_parts import Index, Parts, channel_parts, node_part, one_device_parts, text_layer
from core.pages.sheet_trunks import Trunks

T = TypeVar("T")


@dataclass(frozen=True)
class Pressed:
    """What was drawn when the drag began."""

    world: World
    trunks: Trunks
    labels: Labels
    index: Index


@dataclass(frozen=True)
class _Touched:
    """Records that are drawn again."""

    nodes: tuple[Node, ...]
    channels: tuple[Channel, ...]
    devices: tuple[Device, ...]


def dragged_world(pressed: Pressed, analysis: Analysis) -> World | None:
    """The estimate as a state to draw; None where it is not of a drag that began at what was drawn."""
    before = pressed.world.analysis
    shared = (
        analysis.provisional
        and analysis.sheet is before.sheet
        and analysis.wires is before.wires
        and analysis.securing is before.securing
        and analysis.crossings is before.crossings
        and analysis.findings is before.findings
        and not before.provisional
    )
    if not shared or not set(changed_fields(before.plan, analysis.plan)) <= DRAGGED.keys():
        return None
    world = pressed.world
    return World(
        analysis, world.detail, world.k, world.surfaces, analysis.paths, analysis.node_spots, analysis.bundles,
        world.securing, world.crossings,
    )  # fmt: skip


def dragged_parts(pressed: Pressed, world: World) -> Parts:
    """What is drawn again, with the inputs that records have in the whole drawing."""
    touched = _touched(pressed, world)
    index, trunks, base = pressed.index, pressed.trunks, pressed.world
    ticks, meeting, colours = index.ticks(base), index.meeting(base), index.colours(base, trunks)
    for channel in touched.channels:
        pills = held_pills(base, world, trunks, channel.id, pressed.labels.pills.get(channel.id, ()))
        yield from channel_parts(world, channel, trunks, pills, ticks.get(channel.id, ()))
    if not world.is_low and touched.nodes:
        at, channels = index.channels(base), world.plan.channels
        for node in touched.nodes:
            yield node_part(world, node, [channels[at[each]] for each in meeting.get(node.id, ())], trunks)
    was = {device.id for device in touched.devices}
    before = {device.id: device for device in base.plan.devices if device.id in was}
    for device in touched.devices:
        yield from one_device_parts(world, device, colours)
        key = f"name:{device.id}"
        if key in pressed.labels.texts:
            marks = held_name(base, world, before[device.id], device, pressed.labels.texts[key])
            yield text_layer(key, frozenset(was)), key, (marks,), _same


def _same(marks: Any) -> Any:
    return marks


def _touched(pressed: Pressed, world: World) -> _Touched:
    base, index = pressed.world, pressed.index
    plan, old = world.plan, base.plan
    spots = set(_changed(base.analysis.node_spots, world.node_spots))
    lines = {*_changed(base.analysis.paths, world.paths), *_changed(base.analysis.bundles, world.bundles)}
    # An estimate measures every channel anew that ends at a moved node: their paths are others.
    lines |= {channel.id for channel in _others(plan.channels, old.channels)}
    moved = spots | {node.id for node in _others(plan.nodes, old.nodes)}
    shifted = {device.id for device in _others(plan.devices, old.devices)}
    channels, nodes = index.channels(base), index.nodes(base)
    return _Touched(
        tuple(plan.nodes[nodes[each]] for each in sorted(moved) if each in nodes),
        tuple(plan.channels[channels[each]] for each in sorted(lines) if each in channels),
        tuple(d for d in plan.devices if d.id in shifted or d.node in moved),
    )


def _changed(before: Mapping[str, Any], now: Mapping[str, Any]) -> Iterable[str]:
    """Keys whose values are not the very same. The keys of an estimate are those of the press, in their order."""
    return () if before is now else compress(now, map(is_not, now.values(), before.values()))


def _others(now: Sequence[T], before: Sequence[T]) -> Iterable[T]:
    """Records that are not the very same as before; a drag neither adds nor takes away any."""
    return () if before is now else compress(now, map(is_not, now, before))
