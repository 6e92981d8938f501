"""Straightening a photo: the plane map that takes four points of it to the corners of a rectangle.

Points are pixels, x to the right and y DOWN, as in a picture. Method: direct linear transform of four points
(R. Hartley, A. Zisserman, "Multiple View Geometry in Computer Vision", section 4.1; from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from core.geometry.plane import Point, distance_mm, side_of

#: Corners of a photo nearer than this to one line give no plane (pixels).
FLAT_PX = 2.0
#: A straightened picture has at most this many pixels on a side.
MOST_PX = 8_000


@dataclass(frozen=True)
class Homography:
    """A 3 x 3 matrix that maps points of the photo to points of the straightened picture."""

    matrix: NDArray[np.float64]

    def at(self, p: Point) -> Point:
        x, y, w = self.matrix @ np.array((p[0], p[1], 1.0))
        return float(x / w), float(y / w)

    def inverse(self) -> "Homography":
        return Homography(np.asarray(np.linalg.inv(self.matrix), dtype=np.float64))


def of_four_points(photo: Sequence[Point], straight: Sequence[Point]) -> Homography:
    """The map that takes each of four points to its counterpart.

    Raises ValueError for other than four points, and where three of them lie on one line or the outline crosses
    itself: such points say nothing about the plane.
    """
    for points in (photo, straight):
        if len(points) != 4:
            raise ValueError(f"four points are needed, {len(points)} were given")
        _check_round(points)
    rows = []
    goals = []
    for (x, y), (u, v) in zip(photo, straight, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        goals += [u, v]
    solved = np.linalg.solve(np.array(rows, dtype=float), np.array(goals, dtype=float))
    matrix = np.ones(9, dtype=np.float64)
    matrix[:8] = solved
    return Homography(matrix.reshape(3, 3))


def _check_round(points: Sequence[Point]) -> None:
    """The four points go round a convex figure."""
    turns = []
    for k in range(4):
        a, b, c = points[k - 1], points[k], points[(k + 1) % 4]
        size = max(distance_mm(a, c), 1e-9)
        turns.append(side_of((a, c), b) / size)
    if min(map(abs, turns)) < FLAT_PX:
        raise ValueError("three of the four points lie on one line")
    if not (all(t > 0 for t in turns) or all(t < 0 for t in turns)):
        raise ValueError("the four points must be given in their order round the figure")


@dataclass(frozen=True)
class Straightening:
    """How a photo becomes straight: its map, the size of the result in pixels, and its scale."""

    homography: Homography
    width_px: int
    height_px: int
    mm_per_pixel: float


def straighten(corners: Sequence[Point], width_mm: float, height_mm: float, longest_px: int = 2_000) -> Straightening:
    """The four corners of a rectangle in the photo (upper left, upper right, lower right, lower left) and its size.

    The result is the rectangle alone, as sharp as the photo shows it but with at most `longest_px` on a side. Raises
    ValueError, in words for a sentence.
    """
    if not (width_mm > 0 and height_mm > 0):
        raise ValueError("both distances must be more than 0 mm")
    if len(corners) != 4:
        raise ValueError(f"four points are needed, {len(corners)} were given")
    across = max(distance_mm(corners[0], corners[1]), distance_mm(corners[3], corners[2]))
    up = max(distance_mm(corners[0], corners[3]), distance_mm(corners[1], corners[2]))
    per_mm = min(max(across / width_mm, up / height_mm), min(longest_px, MOST_PX) / max(width_mm, height_mm))
    wide, high = max(2, round(width_mm * per_mm)), max(2, round(height_mm * per_mm))
    goal = ((0.0, 0.0), (wide - 1.0, 0.0), (wide - 1.0, high - 1.0), (0.0, high - 1.0))
    return Straightening(of_four_points(corners, goal), wide, high, width_mm / wide)


#: How far the straightened picture goes on beyond the rectangle, in sizes of the rectangle.
BEYOND = 4.0


@dataclass(frozen=True)
class Widened:
    """A straightening that keeps what lies round the rectangle, and where the rectangle lies in it (pixels, y down)."""

    work: Straightening
    left_px: float
    top_px: float


def widened(work: Straightening, photo_px: tuple[int, int], longest_px: int = 2_000) -> Widened:
    """The straightening of as much of a photo as lies on the same plane before the eye, at most `BEYOND` sizes of the
    rectangle on each side, with at most `longest_px` on a side.
    """
    wide, high = photo_px
    back = work.homography.inverse()
    edge = [(wide * t, high * u) for t, u in ((0, 0), (0.5, 0), (1, 0), (1, 0.5), (1, 1), (0.5, 1), (0, 1), (0, 0.5))]
    matrix = work.homography.matrix
    middle = back.at((work.width_px / 2, work.height_px / 2))
    sign = matrix[2, 0] * middle[0] + matrix[2, 1] * middle[1] + matrix[2, 2]
    left, top, right, low = 0.0, 0.0, float(work.width_px), float(work.height_px)
    most_x, most_y = BEYOND * work.width_px, BEYOND * work.height_px
    for p in edge:
        if (matrix[2, 0] * p[0] + matrix[2, 1] * p[1] + matrix[2, 2]) * sign <= 0:
            # Behind the eye: the photo shows the plane up to its horizon there.
            left, top, right, low = -most_x, -most_y, work.width_px + most_x, work.height_px + most_y
            continue
        x, y = work.homography.at(p)
        left, right = min(left, max(x, -most_x)), max(right, min(x, work.width_px + most_x))
        top, low = min(top, max(y, -most_y)), max(low, min(y, work.height_px + most_y))
    share = min(1.0, longest_px / max(right - left, low - top))
    shift = np.array(((share, 0.0, -left * share), (0.0, share, -top * share), (0.0, 0.0, 1.0)))
    size = max(2, round((right - left) * share)), max(2, round((low - top) * share))
    whole = Straightening(Homography(shift @ matrix), size[0], size[1], work.mm_per_pixel / share)
    return Widened(whole, -left * share, -top * share)


def warp(pixels: NDArray[np.uint8], work: Straightening) -> NDArray[np.uint8]:
    """The straightened picture: rows x columns x channels (or rows x columns), each pixel between its four nearest.

    What lies outside the photo becomes white. Works in bands, so that a large picture needs little memory.
    """
    back = work.homography.inverse().matrix
    high, wide = pixels.shape[:2]
    result = np.full((work.height_px, work.width_px, *pixels.shape[2:]), 255, dtype=np.uint8)
    columns = np.arange(work.width_px, dtype=float)
    for top in range(0, work.height_px, 256):
        rows = np.arange(top, min(top + 256, work.height_px), dtype=float)[:, None]
        w = back[2, 0] * columns + back[2, 1] * rows + back[2, 2]
        w = np.where(np.abs(w) < 1e-12, 1e-12, w)
        x = (back[0, 0] * columns + back[0, 1] * rows + back[0, 2]) / w
        y = (back[1, 0] * columns + back[1, 1] * rows + back[1, 2]) / w
        inside = (x >= 0) & (x <= wide - 1) & (y >= 0) & (y <= high - 1)
        x, y = np.clip(x, 0, wide - 1), np.clip(y, 0, high - 1)
        left, upper = np.floor(x).astype(int), np.floor(y).astype(int)
        right, lower = np.minimum(left + 1, wide - 1), np.minimum(upper + 1, high - 1)
        fx: Any = x - left
        fy: Any = y - upper
        if pixels.ndim == 3:
            fx, fy, inside = fx[..., None], fy[..., None], inside[..., None]
        mixed = (pixels[upper, left] * (1 - fx) + pixels[upper, right] * fx) * (1 - fy) + (
            pixels[lower, left] * (1 - fx) + pixels[lower, right] * fx
        ) * fy
        band = np.where(inside, np.rint(mixed), 255).astype(np.uint8)
        result[top : top + len(rows)] = band
    return result
