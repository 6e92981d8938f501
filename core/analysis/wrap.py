"""Stage `wrap`: tape for every bundle, exact helix, with end turns and the joints where branches leave."""

from collections.abc import Mapping

from msgspec.structs import replace

from core.analysis.results import Bundle, WrapRow
from core.harness.wrap import (
    WrapImpossible,
    branch_joint_tape_mm,
    layers,
    lengthwise_tape_mm,
    spiral_tape_mm,
    spot_count,
    spot_tape_mm,
)
from core.model import Assumptions, Channel, TapeKind, WrapStyle

#: Kinds of channel that protect by themselves: their bundles are not wrapped unless told.
UNWRAPPED = frozenset({"closed_conduit", "split_conduit", "trunking"})
#: Cover of a lengthwise wrap on itself (mm; common practice, no source).
LENGTHWISE_LAP_MM = 5.0


def _row(channel: Channel, bundle: Bundle, style: WrapStyle, tape: TapeKind | None) -> WrapRow:
    note, used = "", 0.0
    diameter = bundle.diameter_laid_mm
    covered = layers(style.overlap)
    if style.kind in ("spiral", "spot") and tape is None:
        note = "this wrap style names no tape"
    elif tape is not None and style.kind == "spiral":
        try:
            used = spiral_tape_mm(diameter, bundle.length_mm, tape.width_mm, style.overlap, tape.thickness_mm)
        except WrapImpossible as impossible:
            note = f"{impossible} Counted as a lengthwise wrap."
            used = lengthwise_tape_mm(diameter, bundle.length_mm, tape.width_mm, LENGTHWISE_LAP_MM, tape.thickness_mm)
    elif tape is not None and style.kind == "spot":
        used = spot_count(bundle.length_mm, style.pitch_mm) * spot_tape_mm(diameter, tape.thickness_mm)
        covered = 0.0
    return WrapRow(
        channel=channel.id,
        style=style.name,
        tape=tape.id if tape is not None else None,
        tape_width_mm=tape.width_mm if tape is not None else None,
        overlap=style.overlap,
        layers=covered if tape is not None else 0.0,
        tape_mm=used,
        note=note,
    )


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
    assumptions: Assumptions,
) -> tuple[WrapRow, ...]:
    """One row for every bundle that is wrapped."""
    style_by_id = {s.id: s for s in styles}
    tape_by_id = {t.id: t for t in tapes}
    rows: dict[str, WrapRow] = {}
    for channel in channels:
        bundle = bundles.get(channel.id)
        usual = None if channel.kind in UNWRAPPED else assumptions.wrap
        style = style_by_id.get(channel.wrap or usual or "")
        if bundle is None or style is None or style.kind == "none":
            continue
        rows[channel.id] = _row(channel, bundle, style, tape_by_id.get(style.tape or ""))
    extra = _joints(channels, bundles, rows, tape_by_id)
    return tuple(
        replace(row, tape_mm=row.tape_mm + extra[row.channel], note=row.note or "joint of the branches included")
        if row.channel in extra
        else row
        for row in rows.values()
    )
