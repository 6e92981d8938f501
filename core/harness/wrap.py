"""Tape on a bundle: exact length of a spiral wrap, spot ties, joints, rolls. mm.

A tape of width w, its middle at diameter D' = D + t (bundle plus one tape thickness), runs at the angle a to the
circumference. Widths and overlaps are measured *across the tape*, so that each turn advances (1 - overlap) w across:

    sin a = (1 - overlap) w / (pi D')          length = L / sin a = pi D' L / ((1 - overlap) w)

This is exact for the helix: the wrapped surface over the net width. A gap that a person measures *along the bundle* is
another thing; `open_spiral_tape_mm` takes that. The tape starts and stops with full turns square to the bundle.
"""

import math
from collections.abc import Sequence


class WrapImpossible(ValueError):
    """No such helix exists. The text is a sentence for the person who chose the tape."""


def helix_angle_deg(diameter_mm: float, width_mm: float, overlap: float, thickness_mm: float = 0.0) -> float:
    """Angle of the tape to the circumference. Raises WrapImpossible when the tape is too wide for the bundle."""
    _check(diameter_mm, width_mm, thickness_mm)
    if not overlap < 1.0 or math.isinf(overlap):
        raise ValueError(f"overlap {overlap!r}; expected less than 1 (negative is a gap)")
    around = math.pi * (diameter_mm + thickness_mm)
    advance = (1.0 - overlap) * width_mm
    if advance >= around:
        raise WrapImpossible(
            f"Tape {width_mm:g} mm wide advances {advance:.1f} mm a turn, but once around the bundle of "
            f"{diameter_mm:.1f} mm is only {around:.1f} mm: use a narrower tape, more overlap, or wrap it lengthwise."
        )
    return math.degrees(math.asin(advance / around))


def spiral_tape_mm(
    diameter_mm: float,
    length_mm: float,
    width_mm: float,
    overlap: float,
    thickness_mm: float,
    end_turns: float = 1.0,
    stretch: float = 0.0,
) -> float:
    """Tape for a spiral on `length_mm` of bundle, with `end_turns` full turns at either end.

    `overlap` is the share of the width that covers the turn before; negative leaves a gap, as a share of the width.
    `stretch` is the share by which the tape is pulled longer. A bundle without length takes no tape. Raises
    WrapImpossible when the tape is too wide for the bundle.
    """
    angle = math.radians(helix_angle_deg(diameter_mm, width_mm, overlap, thickness_mm))
    return _with_ends(length_mm / math.sin(angle), diameter_mm, length_mm, thickness_mm, end_turns, stretch)


def open_spiral_tape_mm(
    diameter_mm: float,
    length_mm: float,
    width_mm: float,
    gap_mm: float,
    thickness_mm: float,
    end_turns: float = 1.0,
    stretch: float = 0.0,
) -> float:
    """Tape for an open spiral whose bare gap is `gap_mm` *along the bundle*.

    The tape covers w / cos a along the bundle, so tan a = (w / cos a + gap) / (pi D'), which solves to
    a = atan(gap / (pi D')) + asin(w / hypot(pi D', gap)). The trade's pi D L / (w + gap) takes the tape's width along
    the bundle and leaves out that a steep tape is longer than its turn: 12 m of 15 mm bundle with 19 mm tape and a
    25 mm gap come to 12.9 m that way, with the advance added as hypot(pi D, w + gap) / (w + gap) to 17.6 m, exactly to
    16.0 m. Raises WrapImpossible when the tape is too wide for the bundle.
    """
    _check(diameter_mm, width_mm, thickness_mm)
    if not 0.0 <= gap_mm < math.inf:
        raise ValueError(f"gap {gap_mm!r} mm; expected 0 or more")
    helix_angle_deg(diameter_mm, width_mm, 0.0, thickness_mm)
    around = math.pi * (diameter_mm + thickness_mm)
    angle = math.atan2(gap_mm, around) + math.asin(width_mm / math.hypot(around, gap_mm))
    return _with_ends(length_mm / math.sin(angle), diameter_mm, length_mm, thickness_mm, end_turns, stretch)


def lengthwise_tape_mm(
    diameter_mm: float, length_mm: float, width_mm: float, lap_mm: float, thickness_mm: float, fold_back_mm: float = 0.0
) -> float:
    """Tape laid along the bundle and closed around it, for bundles too thin for a spiral.

    As many strips side by side as it takes to go round once, each covering its neighbour by at least `lap_mm`, and
    `fold_back_mm` more at either end of every strip. Raises ValueError when the lap leaves nothing of the width.
    """
    _check(diameter_mm, width_mm, thickness_mm)
    if not 0.0 <= lap_mm < width_mm:
        raise ValueError(
            f"lap of {lap_mm!r} mm on a tape of {width_mm:g} mm; expected 0 or more and less than the tape"
        )
    around = math.pi * (diameter_mm + thickness_mm)
    strips = max(1, math.ceil(around / (width_mm - lap_mm) - 1e-9))
    return strips * (length_mm + 2.0 * fold_back_mm) if length_mm > 0.0 else 0.0


def spot_tape_mm(diameter_mm: float, thickness_mm: float, turns: float = 2.5) -> float:
    """Tape of one spot tie; 2.5 turns are common practice, no source."""
    return turns * math.pi * (diameter_mm + thickness_mm)


def spot_count(length_mm: float, pitch_mm: float) -> int:
    """Spot ties on a stretch: one at either end and none farther than `pitch_mm` from the next."""
    if not pitch_mm > 0.0:
        raise ValueError(f"pitch {pitch_mm!r} mm; expected a number above 0")
    return math.ceil(length_mm / pitch_mm - 1e-9) + 1 if length_mm > 0.0 else 0


def branch_joint_tape_mm(
    trunk_mm: float, branches_mm: Sequence[float], width_mm: float, thickness_mm: float, turns: float = 1.5
) -> float:
    """Tape that ties a breakout: `turns` on the trunk and on every branch, and for every branch one pass across the
    crotch (hypotenuse of the trunk's diameter and two tape widths; common practice, no source)."""
    own = turns * math.pi * (trunk_mm + thickness_mm)
    return own + sum(
        turns * math.pi * (branch + thickness_mm) + math.hypot(trunk_mm, 2.0 * width_mm) for branch in branches_mm
    )


def layers(overlap: float) -> float:
    """Layers of tape over the bundle on average: 1 / (1 - overlap); below 1 where the wrap leaves gaps."""
    if not overlap < 1.0:
        raise ValueError(f"overlap {overlap!r}; expected less than 1")
    return 1.0 / (1.0 - overlap)


def wrapped_diameter_mm(diameter_mm: float, thickness_mm: float, overlap: float) -> float:
    """Outside of the wrapped bundle, where the most layers lie on each other."""
    return diameter_mm + 2.0 * thickness_mm * math.ceil(layers(overlap) - 1e-9)


def passes_tape_mm(
    diameter_mm: float, length_mm: float, width_mm: float, overlap: float, thickness_mm: float, passes: int
) -> float:
    """Tape of several spiral wraps over each other: every pass goes over the diameter that the one before has made.
    Raises as `spiral_tape_mm`, and ValueError for no pass at all."""
    if passes < 1:
        raise ValueError(f"{passes!r} passes; expected 1 or more")
    total = 0.0
    for _ in range(passes):
        total += spiral_tape_mm(diameter_mm, length_mm, width_mm, overlap, thickness_mm)
        diameter_mm = wrapped_diameter_mm(diameter_mm, thickness_mm, overlap)
    return total


#: Widths at rest of the braided sleeve that is sold, each opening to about half as much again (typical, from memory).
SLEEVES_MM: tuple[float, ...] = (4.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0, 25.0, 32.0, 40.0, 50.0)
#: Angle of the strands to the bundle where the sleeve has its nominal width (memory), and what is melted or folded back
#: under the heat-shrink at either end (common practice, no source).
BRAID_DEG = 45.0
SLEEVE_END_MM = 25.0
SLEEVE_WALL_MM = 0.8


def sleeve_for(bundle_mm: float) -> float | None:
    """The narrowest braided sleeve that goes over the bundle without being pushed open; None above the widest."""
    return next((width for width in SLEEVES_MM if width >= bundle_mm), None)


def braided_sleeve_mm(bundle_mm: float, length_mm: float, nominal_mm: float, end_mm: float = SLEEVE_END_MM) -> float:
    """Sleeve, measured at rest, that covers `length_mm` of bundle, with `end_mm` at either end.

    A strand keeps its length and its number of turns: with the angle a to the axis, sin a grows as the diameter and the
    length as cos a. So a sleeve drawn onto a thinner bundle gets longer, and one that is pushed open gets shorter.
    Raises ValueError where the strands would have to lie square to the bundle (no such state).
    """
    sine = math.sin(math.radians(BRAID_DEG)) * bundle_mm / nominal_mm
    if not 0.0 <= sine < 1.0:
        raise ValueError(f"a braided sleeve of {nominal_mm:g} mm does not open to {bundle_mm:g} mm")
    if length_mm <= 0.0:
        return 0.0
    return length_mm * math.cos(math.radians(BRAID_DEG)) / math.sqrt(1.0 - sine * sine) + 2.0 * end_mm


def rolls_without_joints(stretches_mm: Sequence[float], roll_mm: float, reserve: float = 0.0) -> int:
    """Rolls to buy so that no stretch shorter than a roll is wrapped from two: longest first into the roll with the
    least rest that takes it. A stretch longer than a roll takes whole rolls and then counts with what is left of it.
    Never fewer than `rolls` of the sum."""
    fewest = rolls(sum(stretches_mm), roll_mm, reserve)
    rests: list[float] = []
    whole = 0
    for stretch in sorted((s * (1.0 + reserve) for s in stretches_mm), reverse=True):
        full = math.floor(stretch / roll_mm + 1e-6)
        whole += full
        left = stretch - full * roll_mm
        if left <= 1e-6 * roll_mm:
            continue
        fitting = [k for k, rest in enumerate(rests) if rest >= left - 1e-6]
        if fitting:
            best = min(fitting, key=lambda k: rests[k])
            rests[best] -= left
        else:
            rests.append(roll_mm - left)
    return max(fewest, whole + len(rests))


def rolls(total_mm: float, roll_mm: float, reserve: float = 0.0) -> int:
    """Rolls to buy for `total_mm` of tape and a share `reserve` more. The millionth part of a roll is not a roll."""
    if not roll_mm > 0.0 or not total_mm >= 0.0 or not reserve >= 0.0:
        raise ValueError(
            f"{total_mm!r} mm from rolls of {roll_mm!r} mm with reserve {reserve!r}; expected no negative numbers"
        )
    return math.ceil(total_mm * (1.0 + reserve) / roll_mm - 1e-6)


def _with_ends(
    helix_mm: float, diameter_mm: float, length_mm: float, thickness_mm: float, end_turns: float, stretch: float
) -> float:
    if not 0.0 <= length_mm < math.inf or not end_turns >= 0.0 or not stretch >= 0.0:
        raise ValueError(
            f"bundle of {length_mm!r} mm, {end_turns!r} end turns, stretch {stretch!r}; expected no negative numbers"
        )
    if length_mm == 0.0:
        return 0.0
    return (helix_mm + 2.0 * end_turns * math.pi * (diameter_mm + thickness_mm)) / (1.0 + stretch)


def _check(diameter_mm: float, width_mm: float, thickness_mm: float) -> None:
    if not (0.0 < diameter_mm < math.inf and 0.0 < width_mm < math.inf and 0.0 <= thickness_mm < math.inf):
        raise ValueError(
            f"bundle of {diameter_mm!r} mm, tape {width_mm!r} mm wide and {thickness_mm!r} mm thick; expected positive "
            "numbers"
        )
