"""Labels while something is dragged: nothing is placed anew, so nothing jumps."""

from msgspec.structs import replace

from core.model import Device
from core.pages.marks import AnyMark, TextMark
from core.pages.sheet_base import World
from core.pages.sheet_bundles import Pill, pill_words
from core.pages.sheet_labels import Labels
from core.pages.sheet_pills import on_longest
from core.pages.sheet_trunks import Trunks


def hold_labels(before: World, labels: Labels, world: World, trunks: Trunks) -> Labels:
    """Labels as they stood, names going along with devices that were moved: for a drag, where nothing may jump."""
    held = Labels(dict(labels.texts), {})
    old = {device.id: device for device in before.plan.devices}
    for device in world.plan.devices:
        was, key = old.get(device.id), f"name:{device.id}"
        if was is not device and was is not None and key in held.texts:
            held.texts[key] = held_name(before, world, was, device, held.texts[key])
    for channel, pills in labels.pills.items():
        kept = held_pills(before, world, trunks, channel, pills)
        if kept:
            held.pills[channel] = kept
    if held.pills == labels.pills:
        held.pills = labels.pills  # the very same, so that no bundle is looked at again
    return held


def held_name(
    before: World, world: World, was: Device, device: Device, marks: tuple[AnyMark, ...]
) -> tuple[AnyMark, ...]:
    """The name of a device as far from it as it was before the device was moved."""
    from_place, place = before.place(was.surface), world.place(device.surface)
    if from_place is None or place is None or was is device:
        return marks
    (x0, y0), (x1, y1) = from_place.to_sheet(was.at_mm), place.to_sheet(device.at_mm)
    return tuple(_shifted(mark, x1 - x0, y1 - y0) for mark in marks)


def held_pills(before: World, world: World, trunks: Trunks, channel: str, pills: tuple[Pill, ...]) -> tuple[Pill, ...]:
    """The pills of a channel where they stood; on its longest stretch where it was bent."""
    was_path, path = before.paths.get(channel), world.paths.get(channel)
    bundle = world.bundles.get(channel)
    if path is None or bundle is None or channel not in trunks.by_channel or not pills:
        return ()
    if was_path is path and before.bundles.get(channel) is bundle:
        return pills
    words = pill_words(bundle)
    if was_path == path:
        return tuple(Pill(p.at_mm, p.turn_deg, p.name, words) for p in pills)
    return on_longest(path, trunks.by_channel[channel].name, words, world.k)


def _shifted(mark: AnyMark, dx: float, dy: float) -> AnyMark:
    if not isinstance(mark, TextMark):
        return mark
    return replace(mark, at_mm=(mark.at_mm[0] + dx, mark.at_mm[1] + dy))
