"""Where wire can be seen: a hidden harness is the aim."""

from collections.abc import Iterable

from core.analysis.analysis import Analysis
from core.analysis.obstacles import taped
from core.analysis.results import Finding
from core.geometry.plane import Point
from core.geometry.polygon import clip

#: Kinds of channel that are in plain sight unless something covers them.
PLAIN = frozenset({"open", "split_conduit"})
#: Shorter stretches are ends at devices (mm; our choice).
LEAST_MM = 150.0
Interval = tuple[float, float]


def _left_over(length_mm: float, covered: list[Interval]) -> list[Interval]:
    """What a set of stretches leaves of the whole length."""
    rest, at = [], 0.0
    for low, high in sorted(covered):
        if low > at:
            rest.append((at, low))
        at = max(at, high)
    if at < length_mm:
        rest.append((at, length_mm))
    return rest


def uncovered(analysis: Analysis) -> Iterable[Finding]:
    """Open channels on surfaces with panels, where no panel and no cabinet lies over them. Those marked visible have
    their finding already; a surface without any panel is not built yet."""
    covers: dict[str, list[tuple[Point, ...]]] = {}
    for panel in analysis.plan.panels:
        covers.setdefault(panel.surface, []).append(panel.outline)
    built = set(covers)
    for box in analysis.plan.boxes:
        covers.setdefault(box.surface, []).append(box.outline)
    for bundle in analysis.bundles.values():
        channel, path = analysis.channels[bundle.channel], analysis.paths[bundle.channel]
        if channel.visible or channel.kind not in PLAIN or path.surface not in built or len(path.local_mm) < 2:
            continue
        if channel.runs_inside or analysis.surfaces[path.surface].side != "inside":
            continue
        scale = taped(path)
        covered = [
            (s.from_mm * scale, s.to_mm * scale)
            for outline in covers[path.surface]
            if len(outline) > 2
            for s in clip(path.local_mm, outline)
        ]
        seen = [(a, b) for a, b in _left_over(path.length_mm, covered) if b - a > LEAST_MM]
        if not seen:
            continue
        total = sum(b - a for a, b in seen)
        places = ", ".join(f"{a:.0f} to {b:.0f}" for a, b in seen)
        yield Finding(
            code="wire.visible",
            severity="note",
            subjects=(channel.id,),
            message=f"Wire can be seen in {analysis.word(channel.id)}, {total:.0f} mm: no panel covers it at "
            f"{places} mm.",
            value=total,
            unit="mm",
            remedy="lead it behind a panel, or cover it with trunking",
        )
