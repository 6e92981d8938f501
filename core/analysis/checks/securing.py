"""Checks of securing points: stretches without support, points in the wrong place, falls, screws of panels."""

from collections.abc import Iterable
from math import inf

from core.analysis.analysis import Analysis
from core.analysis.results import Finding
from core.analysis.rules import number, source
from core.geometry.polygon import clip
from core.harness.fastening import SCREWS_MM, panel_screw_mm

#: Channels that lie behind the panel that is screwed over them.
BEHIND = frozenset({"behind_panel", "void"})
#: Panels are rarely put up with longer screws than this (mm; common practice, no source).
LONG_SCREW_MM = 25.0


def gaps(analysis: Analysis) -> Iterable[Finding]:
    """Stretches between two points that are too long, with the places where brackets would close them."""
    for gap in analysis.securing_gaps:
        if gap.near != "span":
            continue
        brackets = ", ".join(f"{at:.0f}" for at in gap.brackets_mm)
        why = f": it lies {gap.why}" if gap.why else ""
        yield Finding(
            code="securing.gap",
            severity="warning",
            subjects=(gap.channel,),
            message=f"{analysis.word(gap.channel)}: nothing holds the bundle from {gap.from_mm:.0f} to "
            f"{gap.to_mm:.0f} mm{why}.",
            value=gap.to_mm - gap.from_mm,
            limit=gap.limit_mm,
            unit="mm",
            source=source(analysis.profile, gap.rule),
            remedy=f"a bracket at {brackets} mm" if brackets else "lead the channel another way round there",
        )


def wanted(analysis: Analysis) -> Iterable[Finding]:
    """Bends and breakouts beside which nothing can be fixed."""
    for gap in analysis.securing_gaps:
        if gap.near == "span":
            continue
        why = f": it lies {gap.why}" if gap.why else ", there is nothing to fix to"
        yield Finding(
            code=f"securing.{gap.near}",
            severity="note",
            subjects=(gap.channel,),
            message=f"{analysis.word(gap.channel)} is not held beside the {gap.near}, between {gap.from_mm:.0f} and "
            f"{gap.to_mm:.0f} mm{why}.",
            value=gap.to_mm - gap.from_mm,
            limit=gap.limit_mm,
            unit="mm",
            source="common practice",
            remedy="a bracket there, or move the corner away from what is in the way",
        )


def places(analysis: Analysis) -> Iterable[Finding]:
    """Points of the user where none should be: they stay where they are, and are told."""
    for row in analysis.securing:
        if row.user and row.problem:
            points = (p.id for p in analysis.plan.securing_points if p.channel == row.channel and p.at_mm == row.at_mm)
            yield Finding(
                code="securing.place",
                severity="warning",
                subjects=(row.channel, *points),
                message=f"{analysis.word(row.channel)}: the securing point at {row.at_mm:.0f} mm is {row.problem}.",
                value=row.at_mm,
                unit="mm",
                source="common practice",
                remedy="move the point, or put a bracket there",
            )


def falls(analysis: Analysis) -> Iterable[Finding]:
    """Wires that hang free for longer than the spacing between their device and their channel."""
    most = number(analysis.profile, "securing.span_mm")
    wired = {end.device for w in analysis.wires.values() for end in (w.from_, w.to)}
    for device in analysis.plan.devices:
        fall = analysis.falls.get(device.id)
        if fall is None or fall.length_mm is None or fall.length_mm <= most or device.id not in wired:
            continue
        yield Finding(
            code="securing.fall",
            severity="warning",
            subjects=(device.id,),
            message=f"The wires of {device.name} run {fall.length_mm:.0f} mm from the channel to its entry, in no "
            "channel and without a securing point.",
            value=fall.length_mm,
            limit=most,
            unit="mm",
            source=source(analysis.profile, "securing.span_mm"),
            remedy="lead a channel nearer to the device, or fix the wires on the way",
        )


def panel_screws(analysis: Analysis) -> Iterable[Finding]:
    """The longest screws of a panel that do not reach the bundles behind it; told where usual screws would."""
    for panel in analysis.plan.panels:
        least, where = inf, ""
        for channel in analysis.plan.channels:
            bundle = analysis.bundles.get(channel.id)
            if bundle is None or channel.depth_mm is None or channel.kind not in BEHIND:
                continue
            path = analysis.paths[channel.id]
            if path.surface != panel.surface or not clip(path.local_mm, panel.outline):
                continue
            screw = panel_screw_mm(channel.depth_mm, bundle.diameter_laid_mm)
            if screw < least:
                least, where = screw, channel.id
        if where and least < LONG_SCREW_MM:
            yield Finding(
                code="securing.panel_screw",
                severity="warning" if least < min(SCREWS_MM) else "note",
                subjects=(panel.id, where),
                message=f"A screw through {panel.name} longer than {least:.0f} mm reaches the bundle in "
                f"{analysis.word(where)}.",
                value=least,
                limit=LONG_SCREW_MM,
                unit="mm",
                source="common practice",
                remedy="mark the bundle on the panel, use shorter screws, or keep them away from it",
            )
