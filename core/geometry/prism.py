"""Distance from points to an upright prism: an outline, filled, from one height to another. Arrays, in mm."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from core.geometry.plane import Point

Floats = NDArray[np.float64]
#: (x, y, height) of many points.
Points3 = tuple[Floats, Floats, Floats]


def line_distances_mm(points: Points3, line: Sequence[Point]) -> Floats:
    """Distance of every point to a polyline that lies at height 0; infinite for a line without length."""
    x, y, h = points
    flat = np.full(x.shape, np.inf)
    for (ax, ay), (bx, by) in zip(line, line[1:], strict=False):
        dx, dy = bx - ax, by - ay
        square = dx * dx + dy * dy
        if square > 0:
            t = np.clip(((x - ax) * dx + (y - ay) * dy) / square, 0.0, 1.0)
            flat = np.minimum(flat, np.hypot(x - ax - t * dx, y - ay - t * dy))
    away: Floats = np.hypot(flat, h)
    return away


def prism_distances_mm(points: Points3, outline: Sequence[Point], low_mm: float, high_mm: float) -> Floats:
    """Distance of every point to the prism, 0 inside it. The outline has three corners or more."""
    x, y, h = points
    corners = np.array(outline, dtype=np.float64)
    inside = np.zeros(x.shape, dtype=np.bool_)
    flat = np.full(x.shape, np.inf)
    for (ax, ay), (bx, by) in zip(corners.tolist(), np.roll(corners, -1, axis=0).tolist(), strict=True):
        dx, dy = bx - ax, by - ay
        square = dx * dx + dy * dy
        t = np.clip(((x - ax) * dx + (y - ay) * dy) / square, 0.0, 1.0) if square > 0 else np.zeros(x.shape)
        flat = np.minimum(flat, np.hypot(x - ax - t * dx, y - ay - t * dy))
        if ay != by:  # even-odd rule by a ray to the right
            inside ^= ((ay > y) != (by > y)) & ((x - ax) * abs(dy) < (y - ay) * (dx if dy > 0 else -dx))
    off = np.maximum(np.maximum(h - high_mm, low_mm - h), 0.0)
    away: Floats = np.hypot(np.where(inside, 0.0, flat), off)
    return away
