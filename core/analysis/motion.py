"""What moves: the outline a drawer, door, bed or slide sweeps on its surface, and how near it comes to a point.

A part is its outline, as thick as the box it carries. It slides along `slide_mm` in its surface, or turns about
`axis_mm`, which lies in its surface, by `travel_deg`; a positive travel lifts it into the room.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import ceil, hypot, radians
from typing import TYPE_CHECKING

from core.geometry.edges import outline_of
from core.geometry.polygon import signed_area_mm2
from core.model import Box, MovingPart, Outline, Point, Surface

if TYPE_CHECKING:
    from core.geometry.prism import Floats, Points3

#: The motion is looked at in steps no longer than this (mm), and in no more than so many steps.
STEP_MM = 25.0
MOST_STEPS = 120
#: A part of at least this share of a surface is that surface (our choice).
WHOLE = 0.9


def rides(part: MovingPart, surface: Surface) -> bool:
    """Whether the part is the whole surface it is drawn on, as a door is: what lies on it moves with it."""
    area = abs(signed_area_mm2(outline_of(surface)))
    return surface.role == "door" or abs(signed_area_mm2(part.outline)) >= WHOLE * area


def swept_outline(part: MovingPart) -> Outline:
    """The convex outline that covers the part on its surface over its travel, to either end of a slide; a part that
    turns covers its own outline there, and where it turns by more than a right angle its mirror image too."""
    points = list(part.outline)
    if part.slide_mm is not None:
        points += [(x + part.slide_mm[0], y + part.slide_mm[1]) for x, y in part.outline]
    elif part.axis_mm is not None and abs(part.travel_deg) > 90.0:
        import numpy as np

        corners = np.array(part.outline)
        xs, ys, _ = _turned(
            (corners[:, 0], corners[:, 1], np.zeros(len(corners))), part.axis_mm, part.travel_deg, _side(part)
        )
        points += list(zip(xs.tolist(), ys.tolist(), strict=True))
    return _hull(points)


def _hull(points: Sequence[Point]) -> Outline:
    """Convex hull, counter-clockwise (Andrew's monotone chain)."""
    ordered = sorted(set(points))
    if len(ordered) < 3:
        return tuple(ordered)

    def half(row: Sequence[Point]) -> list[Point]:
        chain: list[Point] = []
        for x, y in row:
            while len(chain) > 1:
                (ax, ay), (bx, by) = chain[-2], chain[-1]
                if (bx - ax) * (y - ay) - (by - ay) * (x - ax) > 0:
                    break
                chain.pop()
            chain.append((x, y))
        return chain[:-1]

    return (*half(ordered), *half(ordered[::-1]))


@dataclass(frozen=True)
class Motion:
    """A part and how it moves; `low_mm` and `high_mm` are how far it reaches from its surface when closed."""

    part: MovingPart
    low_mm: float
    high_mm: float

    @property
    def steps(self) -> int:
        return max(1, min(MOST_STEPS, ceil(self.reach_mm / STEP_MM)))

    @property
    def reach_mm(self) -> float:
        """How far the point that moves most is moved, along its way."""
        part = self.part
        if part.slide_mm is not None:
            return hypot(*part.slide_mm)
        if part.axis_mm is None or not part.travel_deg:
            return 0.0
        (ax, ay), (bx, by) = part.axis_mm
        size = hypot(bx - ax, by - ay)
        if size <= 0.0:
            return 0.0
        farthest = max(abs((x - ax) * (by - ay) - (y - ay) * (bx - ax)) / size for x, y in part.outline)
        return radians(min(abs(part.travel_deg), 360.0)) * hypot(farthest, self.high_mm)

    def back(self, p: Points3, share: float | Floats) -> Points3:
        """Where on the closed part the points lie that touch it after `share` of its travel."""
        part = self.part
        if part.slide_mm is not None:
            return p[0] - share * part.slide_mm[0], p[1] - share * part.slide_mm[1], p[2]
        if part.axis_mm is None or not part.travel_deg:
            return p
        return _turned(p, part.axis_mm, -share * part.travel_deg, _side(part))


def _side(part: MovingPart) -> float:
    """Which side of its hinge the part lies on: of its corner that is farthest from it."""
    assert part.axis_mm is not None
    (ax, ay), (bx, by) = part.axis_mm
    across = [(y - ay) * (bx - ax) - (x - ax) * (by - ay) for x, y in part.outline]
    return 1.0 if max(across, key=abs) >= 0 else -1.0


def _turned(p: Points3, axis: tuple[Point, Point], deg: float | Floats, side: float) -> Points3:
    """Points turned about an axis in the plane z = 0; positive lifts what lies on `side` of it (1 left, -1 right)."""
    (ax, ay), (bx, by) = axis
    size = hypot(bx - ax, by - ay)
    if size <= 0.0:
        return p
    ux, uy = (bx - ax) / size, (by - ay) / size
    along = (p[0] - ax) * ux + (p[1] - ay) * uy
    out = ((p[1] - ay) * ux - (p[0] - ax) * uy) * side
    import numpy as np

    c, s = np.cos(np.radians(deg)), np.sin(np.radians(deg))
    out, up = (out * c - p[2] * s) * side, out * s + p[2] * c
    return ax + along * ux - out * uy, ay + along * uy + out * ux, up


def motions(parts: Iterable[MovingPart], boxes: Mapping[str, Box]) -> tuple[Motion, ...]:
    """Every part that has an outline and really moves."""
    rows = []
    for part in parts:
        box = boxes.get(part.box or "")
        low = box.base_mm if box is not None else 0.0
        motion = Motion(part, low, low + (box.height_mm if box is not None else 0.0))
        if len(part.outline) > 2 and motion.reach_mm > 0:
            rows.append(motion)
    return tuple(rows)
