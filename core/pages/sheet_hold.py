"""Labels while something is dragged: nothing is placed anew, so nothing jumps."""

from msgspec.structs import replace

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
        was, place = old.get(device.id), world.place(device.surface)
        key = f"name:{device.id}"
        if was is device or was is None or place is None or key not in held.texts:
            continue
        from_place = before.place(was.surface)
        if from_place is not None:
            (x0, y0), (x1, y1) = from_place.to_sheet(was.at_mm), place.to_sheet(device.at_mm)
            held.texts[key] = tuple(_shifted(mark, x1 - x0, y1 - y0) for mark in held.texts[key])
    for channel, pills in labels.pills.items():
        was_path, path = before.paths.get(channel), world.paths.get(channel)
        bundle = world.bundles.get(channel)
        if path is None or bundle is None or channel not in trunks.by_channel:
            continue
        if was_path is path and before.bundles is world.bundles:
            held.pills[channel] = pills
        elif was_path == path:
            words = pill_words(bundle)
            held.pills[channel] = tuple(Pill(p.at_mm, p.turn_deg, p.name, words) for p in pills)
        else:
            held.pills[channel] = on_longest(path, trunks.by_channel[channel].name, pill_words(bundle), world.k)
    if held.pills == labels.pills:
        held.pills = labels.pills  # the very same, so that no bundle is looked at again
    return held


def _shifted(mark: AnyMark, dx: float, dy: float) -> AnyMark:
    if not isinstance(mark, TextMark):
        return mark
    return replace(mark, at_mm=(mark.at_mm[0] + dx, mark.at_mm[1] + dy))
