"""The gap between a selected device and the nearest channel, as long as its wires join none."""

from app.tools import overlay
from app.tools.desk import Desk
from core.analysis.gap import gap_of, gap_words
from core.pages.marks import AnyMark, LineMark


def gap_marks(desk: Desk, mm_per_px: float) -> tuple[AnyMark, ...]:
    """A line to the nearest channel with its length, or words that there is none."""
    chosen, analysis = set(desk.session.selection), desk.session.analysis
    marks: list[AnyMark] = []
    for device in desk.plan.devices if chosen else ():
        if device.id not in chosen or device.node is not None or device.surface not in desk.layout.laid:
            continue
        if device.id not in analysis.devices:
            continue  # the analysis is still that of the plan before
        gap = gap_of(analysis, device)
        a = desk.to_sheet(gap.surface, gap.entry_mm)
        if gap.distance_mm is None:
            x, y = a
            marks.append(overlay.text((x, y - 26.0 * mm_per_px), gap_words(analysis, gap), mm_per_px))
            continue
        b = desk.to_sheet(gap.surface, gap.at_mm)
        marks.append(LineMark(style="error:line" if not gap.near else "dimension", points_mm=(a, b)))
        marks += overlay.dimension(a, b, f"gap {desk.show_mm(round(gap.distance_mm))}", mm_per_px)
        marks.append(overlay.handle(b, mm_per_px))
    return tuple(marks)
