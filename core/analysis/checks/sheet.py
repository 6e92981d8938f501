"""Checks of the sheet: folds, overlaps, seams, outlines, channels that do not lie on their surface."""

from collections import defaultdict
from collections.abc import Iterable
from math import isfinite

from core.analysis.analysis import Analysis
from core.analysis.results import Finding
from core.geometry.edges import outline_of
from core.geometry.polygon import is_simple, point_in
from core.model import Opening


def profile_version(analysis: Analysis) -> Iterable[Finding]:
    used, known = analysis.plan.profile, analysis.profile
    if used.version != known.version:
        yield Finding(
            code="profile.version",
            severity="warning",
            subjects=(),
            message=f"The plan was made with {known.name} version {used.version}; this program has version "
            f"{known.version}, so limits may differ.",
            remedy="compare the limits, then accept the new version in the plan's facts",
        )


def folds(analysis: Analysis) -> Iterable[Finding]:
    for problem in analysis.sheet.layout.problems:
        yield Finding(
            code="sheet.fold",
            severity="error",
            subjects=(problem.surface,),
            message=f"{analysis.word(problem.surface)}: {problem.message}",
            remedy="fold the surface at an edge of its neighbour, or lay it apart",
        )


def overlaps(analysis: Analysis) -> Iterable[Finding]:
    for overlap in analysis.sheet.overlaps:
        yield Finding(
            code="sheet.overlap",
            severity="warning",
            subjects=(overlap.a, overlap.b),
            message=f"{analysis.word(overlap.a)} and {analysis.word(overlap.b)} overlap on the sheet by "
            f"{overlap.area_mm2 / 1e4:.1f} cm².",
            value=overlap.area_mm2,
            limit=1.0,
            unit="mm2",
            remedy="lay one of them apart: nothing else changes",
        )


def seams(analysis: Analysis) -> Iterable[Finding]:
    for seam in analysis.plan.seams:
        state = analysis.sheet.seam_states[seam.id]
        if not state.closes:
            letter = analysis.sheet.seam_letters[seam.id]
            gap = max(state.gap_start_mm, state.gap_end_mm)
            yield Finding(
                code="seam.open",
                severity="warning",
                subjects=(seam.id, seam.a, seam.b),
                message=f"Seam {letter} between {analysis.word(seam.a)} and {analysis.word(seam.b)}: {state.message}.",
                value=gap if isfinite(gap) else None,
                limit=10.0,
                unit="mm",
                remedy="measure both edges again; lengths along surfaces stay true meanwhile",
            )


def outlines(analysis: Analysis) -> Iterable[Finding]:
    for surface in analysis.plan.surfaces:
        if not is_simple(outline_of(surface)):
            yield Finding(
                code="surface.outline",
                severity="error",
                subjects=(surface.id,),
                message=f"The outline of {surface.name} crosses itself or has no area.",
                remedy="move its corners until the outline goes round once, counter-clockwise",
            )
    if not any(s.role == "floor" for s in analysis.plan.surfaces) and analysis.plan.surfaces:
        yield Finding(
            code="surface.no_floor",
            severity="note",
            subjects=(),
            message="No surface is the floor; the first one without a fold lies in the middle of the sheet.",
        )


def channels(analysis: Analysis) -> Iterable[Finding]:
    for channel in analysis.plan.channels:
        path = analysis.paths[channel.id]
        if path.problem:
            yield Finding(
                code="channel.place",
                severity="error",
                subjects=(channel.id,),
                message=f"{analysis.word(channel.id)}: {path.problem}.",
                remedy="move its node onto the surface, or draw the channel again",
            )


def in_openings(analysis: Analysis) -> Iterable[Finding]:
    """Devices where a door or window is: there is no wall to fix them to."""
    openings: dict[str, list[Opening]] = defaultdict(list)
    for opening in analysis.plan.openings:
        if opening.kind in ("door", "window"):
            openings[opening.surface].append(opening)
    for device in analysis.plan.devices:
        for opening in openings.get(device.surface, ()):
            if point_in(opening.outline, device.at_mm):
                yield Finding(
                    code="device.opening",
                    severity="warning",
                    subjects=(device.id, opening.id),
                    message=f"{device.name} stands where {opening.name} is: there is no wall behind it.",
                    remedy="place it beside the opening; waive this where it sits in the door itself",
                )


def outside(analysis: Analysis) -> Iterable[Finding]:
    for device in analysis.plan.devices:
        surface = analysis.surfaces[device.surface]
        if not point_in(outline_of(surface), device.at_mm):
            yield Finding(
                code="device.outside",
                severity="warning",
                subjects=(device.id,),
                message=f"{device.name} lies outside {surface.name}.",
                remedy="move it onto a surface",
            )
