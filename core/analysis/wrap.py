"""Stage `wrap`: tape, split conduit or sleeve for every bundle, with end turns and the joints where branches leave."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import pi

from msgspec.structs import replace

from core.analysis.results import Bundle, WrapRow
from core.harness.crossing import split_conduit_for
from core.harness.wrap import (
    SLEEVE_WALL_MM,
    WrapImpossible,
    braided_sleeve_mm,
    branch_joint_tape_mm,
    layers,
    lengthwise_tape_mm,
    open_spiral_tape_mm,
    passes_tape_mm,
    sleeve_for,
    spot_count,
    spot_tape_mm,
    wrapped_diameter_mm,
)
from core.model import Assumptions, Channel, ConduitKind, TapeKind, WrapStyle

#: Kinds of channel that protect by themselves: their bundles are not wrapped unless told.
UNWRAPPED = frozenset({"closed_conduit", "split_conduit", "trunking"})
#: Cover of a lengthwise wrap on itself (mm; common practice, no source).
LENGTHWISE_LAP_MM = 5.0
#: Wall of split conduit on both sides where the catalogue does not say its outside (mm; our choice).
CONDUIT_WALL_MM = 4.0
#: Work to slip conduit or sleeve on, against a close half-lap of tape (our choice).
SLIPPED_ON = 0.25


def _row(
    channel: Channel,
    bundle: Bundle,
    style: WrapStyle,
    tape: TapeKind | None,
    conduits: tuple[ConduitKind, ...],
    minutes_per_m: float,
) -> WrapRow:
    worn = {
        "spiral": _spiral,
        "spot": _spot,
        "split_conduit": _split_conduit,
        "sleeve": _sleeve,
    }[style.kind](bundle.diameter_laid_mm, bundle.length_mm, style, tape, conduits)
    return WrapRow(
        channel=channel.id,
        style=style.name,
        tape=tape.id if tape is not None else None,
        tape_width_mm=tape.width_mm if tape is not None else None,
        overlap=style.overlap,
        layers=worn.layers,
        tape_mm=worn.tape_mm,
        note=worn.note,
        outside_mm=worn.outside_mm,
        minutes=minutes_per_m * bundle.length_mm / 1000 * worn.effort,
        part=worn.part,
        part_mm=worn.part_mm,
        sheltered=style.kind == "split_conduit" and bool(worn.part),
    )


@dataclass(frozen=True)
class _Worn:
    """What is over a bundle. `effort` is the work for a metre against that of a close half-lap."""

    outside_mm: float
    tape_mm: float = 0.0
    layers: float = 0.0
    effort: float = 0.0
    note: str = ""
    part: str = ""
    part_mm: float = 0.0


def _spiral(
    diameter: float, length: float, style: WrapStyle, tape: TapeKind | None, _conduits: tuple[ConduitKind, ...]
) -> _Worn:
    if tape is None:
        return _Worn(diameter, note="this wrap style names no tape")
    width, thick = tape.width_mm, tape.thickness_mm
    half_lap = pi * (diameter + thick) * length / (0.5 * width)
    try:
        if style.gap_mm is not None:
            used = open_spiral_tape_mm(diameter, length, width, style.gap_mm, thick)
            covered = min(1.0, used * width / (pi * (diameter + thick) * length)) if length > 0 else 0.0
            return _Worn(diameter + 2 * thick, used, covered, used / half_lap if half_lap > 0 else 0.0)
        used = passes_tape_mm(diameter, length, width, style.overlap, thick, style.passes)
    except WrapImpossible as impossible:
        used = lengthwise_tape_mm(diameter, length, width, LENGTHWISE_LAP_MM, thick)
        return _Worn(diameter + 2 * thick, used, 1.0, 1.0, f"{impossible} Counted as a lengthwise wrap.")
    outside = diameter
    for _ in range(style.passes):
        outside = wrapped_diameter_mm(outside, thick, style.overlap)
    covered = layers(style.overlap) * style.passes
    return _Worn(outside, used, covered, used / half_lap if half_lap > 0 else 0.0)


def _spot(
    diameter: float, length: float, style: WrapStyle, tape: TapeKind | None, _conduits: tuple[ConduitKind, ...]
) -> _Worn:
    if tape is None:
        return _Worn(diameter, note="this wrap style names no tape")
    used = spot_count(length, style.pitch_mm) * spot_tape_mm(diameter, tape.thickness_mm)
    half_lap = pi * (diameter + tape.thickness_mm) * length / (0.5 * tape.width_mm)
    return _Worn(diameter + 6 * tape.thickness_mm, used, 0.0, used / half_lap if half_lap > 0 else 0.0)


def _split_conduit(
    diameter: float, length: float, style: WrapStyle, tape: TapeKind | None, conduits: tuple[ConduitKind, ...]
) -> _Worn:
    """Split conduit over the bundle, taped at its ends and every pitch between, where the style names a tape."""
    conduit = split_conduit_for(diameter, conduits)
    if conduit is None:
        return _Worn(diameter, note=f"no split conduit of the catalogue is wide enough for {diameter:.0f} mm")
    outside = conduit.od_mm or conduit.bore_mm + CONDUIT_WALL_MM
    used = 0.0
    if tape is not None:
        used = spot_count(length, style.pitch_mm) * spot_tape_mm(outside, tape.thickness_mm)
    return _Worn(outside, used, 0.0, SLIPPED_ON, "", conduit.name, length)


def _sleeve(
    diameter: float, length: float, _style: WrapStyle, _tape: TapeKind | None, _conduits: tuple[ConduitKind, ...]
) -> _Worn:
    width = sleeve_for(diameter)
    if width is None:
        return _Worn(diameter, note=f"no braided sleeve is sold for a bundle of {diameter:.0f} mm")
    needed = braided_sleeve_mm(diameter, length, width)
    return _Worn(diameter + 2 * SLEEVE_WALL_MM, 0.0, 0.0, SLIPPED_ON, "", f"braided sleeve, {width:g} mm", needed)


def _joints(
    channels: tuple[Channel, ...],
    bundles: Mapping[str, Bundle],
    rows: Mapping[str, WrapRow],
    tapes: Mapping[str, TapeKind],
) -> dict[str, float]:
    """Tape of the joints at nodes where three or more wrapped bundles meet, by the thickest channel there."""
    at_node: dict[str, list[str]] = {}
    for channel in channels:
        row = rows.get(channel.id)
        if row is not None and row.tape is not None and row.layers > 0:
            for node in (channel.start, channel.end):
                at_node.setdefault(node, []).append(channel.id)
    extra: dict[str, float] = {}
    for meeting in at_node.values():
        if len(meeting) < 3:
            continue
        trunk, *branches = sorted(meeting, key=lambda c: (-bundles[c].diameter_laid_mm, c))
        tape = tapes[rows[trunk].tape or ""]
        # the trunk goes on through the joint: only the thinner ones leave it
        leaving = [bundles[c].diameter_laid_mm for c in branches[1:]]
        extra[trunk] = extra.get(trunk, 0.0) + branch_joint_tape_mm(
            bundles[trunk].diameter_laid_mm, leaving, tape.width_mm, tape.thickness_mm
        )
    return extra


def find_wrap(
    channels: tuple[Channel, ...],
    bundles: Mapping[str, Bundle],
    styles: tuple[WrapStyle, ...],
    tapes: tuple[TapeKind, ...],
    conduits: tuple[ConduitKind, ...],
    assumptions: Assumptions,
) -> tuple[WrapRow, ...]:
    """One row for every bundle that is wrapped."""
    style_by_id = {s.id: s for s in styles}
    tape_by_id = {t.id: t for t in tapes}
    rows: dict[str, WrapRow] = {}
    for channel in channels:
        bundle = bundles.get(channel.id)
        # One wire or cable has its own sheath and is no bundle; wrapped only where its channel says so.
        alone = bundle is not None and len(bundle.items) < 2
        usual = None if channel.kind in UNWRAPPED or alone else assumptions.wrap
        style = style_by_id.get(channel.wrap or usual or "")
        if bundle is None or style is None or style.kind == "none":
            continue
        tape = tape_by_id.get(style.tape or "")
        rows[channel.id] = _row(channel, bundle, style, tape, conduits, assumptions.wrap_minutes_per_m)
    extra = _joints(channels, bundles, rows, tape_by_id)
    return tuple(
        replace(row, tape_mm=row.tape_mm + extra[row.channel], note=row.note or "joint of the branches included")
        if row.channel in extra
        else row
        for row in rows.values()
    )
