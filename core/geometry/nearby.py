"""What is near a point, among many things: an index of points and lines by id (shapely's STRtree).

Build one for a set of things that does not change while it is asked; building 10,000 lines takes some milliseconds.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf, isfinite
from typing import Any

from core.geometry.plane import SAME_MM, Point, distance_mm, nearest_on

#: A line shorter than this is a point to the index.
TINY_MM = 1e-9


@dataclass(frozen=True, slots=True)
class Near:
    """A thing, its point nearest to the one asked for, where that lies along it, and how far away it is."""

    id: str
    point: Point
    along_mm: float
    distance_mm: float


class Nearby:
    """Index of polylines (one point is a thing without length) by id. Raises ValueError for one without points."""

    def __init__(self, items: Mapping[str, Sequence[Point]]) -> None:
        self._ids = tuple(items)
        self._lines = tuple(tuple(line) for line in items.values())
        for item, line in items.items():
            if not line:
                raise ValueError(f"{item} has no points")
        self._tree: Any = None

    def __len__(self) -> int:
        return len(self._ids)

    def nearest(self, p: Point, within_mm: float = inf) -> Near | None:
        """The nearest thing within reach; of equally near ones the first in the order given."""
        if not self._ids:
            return None
        import shapely

        # A hair wider than asked: how far a thing really is away is measured below.
        reach = {"max_distance": within_mm + SAME_MM} if isfinite(within_mm) and within_mm >= 0 else {}
        found = self._index().query_nearest(shapely.Point(p), all_matches=True, **reach)
        near = min((self._near(int(i), p) for i in sorted(found)), key=lambda one: one.distance_mm, default=None)
        return near if near is not None and near.distance_mm <= within_mm else None

    def within(self, p: Point, radius_mm: float) -> tuple[Near, ...]:
        """All things within the radius, nearest first."""
        if not self._ids:
            return ()
        import shapely

        reach = radius_mm + SAME_MM
        box = shapely.box(p[0] - reach, p[1] - reach, p[0] + reach, p[1] + reach)
        found = (self._near(int(i), p) for i in sorted(self._index().query(box)))
        return tuple(sorted((one for one in found if one.distance_mm <= radius_mm), key=lambda one: one.distance_mm))

    def in_box(self, low: Point, high: Point) -> tuple[str, ...]:
        """Ids of the things that reach into a box, in the order given."""
        if not self._ids:
            return ()
        import shapely

        found = self._index().query(shapely.box(*low, *high), predicate="intersects")
        return tuple(self._ids[int(i)] for i in sorted(found))

    def _near(self, index: int, p: Point) -> Near:
        nearest = nearest_on(self._lines[index], p)
        return Near(self._ids[index], nearest.point, nearest.along_mm, nearest.distance_mm)

    def _index(self) -> Any:
        """Made on the first question: importing shapely costs a tenth of a second."""
        if self._tree is None:
            import numpy as np
            import shapely

            shapes = np.empty(len(self._lines), dtype=object)
            for index, line in enumerate(self._lines):
                # To a length of next to nothing (1e-294) the distance would be no number.
                point = all(distance_mm(q, line[0]) < TINY_MM for q in line)
                shapes[index] = shapely.Point(line[0]) if point else shapely.LineString(line)
            self._tree = shapely.STRtree(shapes)
        return self._tree
