"""The sheet counted again: surfaces placed by their folds, lengths of channels, and wire falls, straight from the plan.

Written from the design of the sheet and the model records alone, with numpy; nothing of the engine is used here, so
that a slip in the engine is not repeated. Lengths in mm.
"""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from core.model import (
    Apart,
    Channel,
    Device,
    EarthPoint,
    InPenetration,
    Inside,
    Node,
    OnEdge,
    OnSurface,
    Plan,
    Surface,
)

Vector = np.ndarray
#: How far a point may lie off a surface and still be on it.
ON_MM = 1.0


@dataclass(frozen=True)
class Pose:
    """Where the local axes of a surface lie: a point is `origin + x * right + y * up`."""

    origin: Vector
    right: Vector
    up: Vector

    def of(self, at_mm: tuple[float, float]) -> Vector:
        return self.origin + at_mm[0] * self.right + at_mm[1] * self.up

    def local(self, point: Vector) -> tuple[float, float, float]:
        """x and y on the surface, and the distance off it."""
        away = point - self.origin
        x, y = float(away @ self.right), float(away @ self.up)
        return x, y, float(np.linalg.norm(away - x * self.right - y * self.up))


def ends(surface: Surface, line: OnEdge | Inside) -> tuple[Vector, Vector]:
    """Start and end of a line in the coordinates of its surface."""
    if isinstance(line, Inside):
        return np.array(line.start_mm), np.array(line.end_mm)
    corners = surface.corners
    first = next(index for index, corner in enumerate(corners) if corner.id == line.edge)
    start = np.array(corners[first].at_mm, float)
    stop = np.array(corners[(first + 1) % len(corners)].at_mm, float)
    along = (stop - start) / np.linalg.norm(stop - start)
    return start + line.from_mm * along, stop if line.to_mm is None else start + line.to_mm * along


def _turned(vector: Vector) -> Vector:
    """A quarter turn counter-clockwise."""
    return np.array([-vector[1], vector[0]])


class Sheet:
    """Places of all surfaces of a plan, in the vehicle and on the flat sheet."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.surfaces = {surface.id: surface for surface in plan.surfaces}
        self.nodes = {node.id: node for node in plan.nodes}
        self.channels = {channel.id: channel for channel in plan.channels}
        self.penetrations = {hole.id: hole for hole in plan.penetrations}

    @cached_property
    def vehicle(self) -> dict[str, Pose]:
        """Every surface folded up."""
        return {key: self._posed(key, flat=False) for key in self.surfaces}

    @cached_property
    def flat(self) -> dict[str, Pose]:
        """Every surface on the sheet: as if all folds were 0, those that lie apart on their own place."""
        return {key: self._posed(key, flat=True) for key in self.surfaces}

    def _posed(self, surface_id: str, *, flat: bool) -> Pose:
        surface = self.surfaces[surface_id]
        if flat and isinstance(surface.apart, Apart):
            turn = math.radians(surface.apart.turn_deg)
            right = np.array([math.cos(turn), math.sin(turn), 0.0])
            return Pose(np.array([*surface.apart.at_mm, 0.0]), right, np.array([-right[1], right[0], 0.0]))
        if surface.fold is None:
            return Pose(np.zeros(3), np.array([1.0, 0, 0]), np.array([0, 1.0, 0]))
        fold = surface.fold
        parent = self._posed(fold.parent, flat=flat)
        start, stop = ends(self.surfaces[fold.parent], fold.parent_line)
        along = (stop - start) / np.linalg.norm(stop - start)
        own_start, own_stop = ends(surface, fold.line)
        own = own_stop - own_start
        length = float(np.linalg.norm(own))
        own /= length
        # the child's line runs against the parent's, and ends `shift` after the parent line's start
        begins = parent.of(tuple(start + (fold.shift_mm + length) * along))
        runs = -(along[0] * parent.right + along[1] * parent.up)
        normal = np.cross(parent.right, parent.up)
        angle = 0.0 if flat else math.radians(fold.fold_deg)
        inward = math.cos(angle) * np.cross(normal, runs) + math.sin(angle) * normal
        across = _turned(own)
        # local axes: x and y written in the frame of the line (along it, and to its left)
        right = own[0] * runs + across[0] * inward
        up = own[1] * runs + across[1] * inward
        return Pose(begins - own_start[0] * right - own_start[1] * up, right, up)

    def points(self, node: Node) -> list[Vector]:
        """Where a node is in the vehicle: one point, or both sides of a penetration."""
        place = node.place
        if isinstance(place, InPenetration):
            hole = self.penetrations[place.penetration]
            return [self.vehicle[hole.a].of(hole.a_mm), self.vehicle[hole.b].of(hole.b_mm)]
        if isinstance(place, OnSurface):
            return [self.vehicle[place.surface].of(place.at_mm)]
        start, stop = ends(self.surfaces[place.surface], OnEdge(edge=place.edge))
        along = (stop - start) / np.linalg.norm(stop - start)
        return [self.vehicle[place.surface].of(tuple(start + place.at_mm * along))]

    def on(self, node_id: str, surface_id: str) -> tuple[float, float] | None:
        """A node in the coordinates of a surface; None where it does not lie on it.

        A node in a penetration is on the two surfaces of its hole, any other also on what comes to lie there in the
        vehicle (the walls that meet in its line).
        """
        node = self.nodes[node_id]
        place = node.place
        if isinstance(place, InPenetration):
            hole = self.penetrations[place.penetration]
            return {hole.a: hole.a_mm, hole.b: hole.b_mm}.get(surface_id)
        if isinstance(place, OnSurface) and place.surface == surface_id:
            return place.at_mm
        x, y, off = self.vehicle[surface_id].local(self.points(node)[0])
        return (x, y) if off <= ON_MM else None

    def length_mm(self, channel: Channel) -> float:
        """One-way length of a channel: typed from the tape, else drawn from node to node over its via points."""
        if channel.measured_mm is not None:
            return channel.measured_mm
        assert channel.surface is not None, f"{channel.id} lies nowhere and was not measured"
        first, last = self.on(channel.start, channel.surface), self.on(channel.end, channel.surface)
        assert first is not None, f"{channel.id} does not start on {channel.surface}"
        assert last is not None, f"{channel.id} does not end on {channel.surface}"
        path = np.array([first, *channel.via_mm, last], float)
        return float(np.linalg.norm(np.diff(path, axis=0), axis=1).sum())

    def fall_mm(self, device: Device | EarthPoint) -> float:
        """Wire between the node a device is joined to and its entry: typed, or straight along the surface."""
        assert device.node is not None
        if isinstance(device, Device) and device.fall_mm is not None:
            return device.fall_mm
        entry = np.array(device.at_mm, float)
        if isinstance(device, Device):
            turn = math.radians(device.turn_deg)
            x, y = device.entry_mm
            entry = entry + np.array([x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn)])
        node = self.on(device.node, device.surface)
        assert node is not None, f"{device.id} has no fall along its surface"
        return float(np.linalg.norm(np.array(node) - entry))
