"""A line led round areas it would pass: the shortest way on a surface that keeps its distance."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import dist

import networkx as nx
import shapely

from core.geometry.edges import outline_of
from core.model import Outline, Point, Surface

#: Beyond the clearance itself, so that the line lies outside for sure, and never nearer to the surface's edge (mm).
SPARE_MM = 5.0
#: Corners of an area beyond which a way round is not looked for: it is no outline somebody drew.
MOST_CORNERS = 200


def around(
    line: Sequence[Point], areas: Sequence[tuple[Outline, float]], radius_mm: float, surface: Surface
) -> tuple[Point, ...] | None:
    """The line with the shortest ways round the areas in it, each area's clearance and half the bundle (`radius_mm`)
    away from it; its points within an area are left out. None where an end lies in one or there is no room to pass.

    `areas` are (outline, clearance) in mm of the surface.
    """
    ground = shapely.Polygon(outline_of(surface), [h for h in surface.holes if len(h) > 2])
    walls = [shapely.Polygon(o).buffer(c + radius_mm + SPARE_MM, join_style="mitre") for o, c in areas if len(o) > 2]
    if not walls or not ground.is_valid:
        return None
    wall = shapely.union_all([w for w in walls if w.is_valid])
    kept = [p for p in line[1:-1] if not wall.contains(shapely.Point(p))]
    if any(wall.contains(shapely.Point(end)) for end in (line[0], line[-1])):
        return None
    corners = [p for p in _corners(wall) if ground.contains(shapely.Point(p))]
    if len(corners) > MOST_CORNERS:
        return None
    free = _Free(ground.buffer(1e-3), wall.buffer(-1e-6))
    found = [line[0]]
    for here, there in pairwise((line[0], *kept, line[-1])):
        way = free.way(here, there, corners)
        if way is None:
            return None
        found += way[1:]
    return tuple(p for i, p in enumerate(found) if i == 0 or p != found[i - 1])


@dataclass(frozen=True)
class _Free:
    """Where a straight leg may run: on the ground and not through the wall."""

    ground: shapely.Geometry
    wall: shapely.Geometry

    def leg(self, p: Point, q: Point) -> bool:
        line = shapely.LineString((p, q))
        return bool(self.ground.contains(line)) and not self.wall.intersects(line)

    def way(self, start: Point, end: Point, corners: Sequence[Point]) -> list[Point] | None:
        """The shortest way over corners; the leg itself where it is free."""
        if start == end or self.leg(start, end):
            return [start, end]
        points = [start, end, *corners]
        seen: nx.Graph[int] = nx.Graph()
        for i, p in enumerate(points):
            for j in range(i):
                if p != points[j] and self.leg(p, points[j]):
                    seen.add_edge(i, j, weight=dist(p, points[j]))
        try:
            return [points[i] for i in nx.dijkstra_path(seen, 0, 1)]
        except (nx.NetworkXNoPath, nx.NodeNotFound):
            return None


def _corners(wall: shapely.Geometry) -> list[Point]:
    rings = [part.exterior for part in shapely.get_parts(wall) if isinstance(part, shapely.Polygon)]
    return [(float(x), float(y)) for each in rings for x, y in list(each.coords)[:-1]]
