"""From flat faces in the vehicle to surfaces with folds: the other way round from `foldout`.

A body that was measured is known by its corners in space. Each face becomes a surface in its own millimetres, folded
at an edge it shares with its parent, so that the poses of the surfaces give back the corners.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan2, degrees, dist

from core.errors import EditRefused
from core.geometry.foldout import Point3, cross, dot, sub
from core.model import Corner, Fold, Inside, Line, OnEdge, Point, Surface
from core.model.body import Apart, Known, Material, Passage

#: A corner may lie this far off the plane of its face.
FLAT_MM = 0.5
#: Digits kept of a coordinate: a ten-thousandth of a millimetre.
DIGITS = 4


@dataclass(frozen=True, kw_only=True)
class Face:
    """A flat face of the vehicle: corners in space, counter-clockwise for somebody in the room (outside for an outside
    face). Its first edge lies on its parent: on the edge of that number (counted from 0), or somewhere inside it.

    `apart` is its place on the sheet. The first face of a shell has no parent and lies in the plane z = 0.
    """

    key: str
    name: str
    role: str
    points: tuple[Point3, ...]
    parent: str | None = None
    parent_edge: int | None = None
    passage: Passage = "free"
    joint: str | None = None
    side: str = "inside"
    material: Material = "steel"
    thickness_mm: float = 1.0
    known: Known = "measured"
    note: str = ""
    apart: Apart | None = None


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where a face is: origin, axes and normal."""

    origin: Point3
    x: Point3
    y: Point3
    normal: Point3

    def local(self, p: Point3) -> Point:
        away = sub(p, self.origin)
        return round(dot(away, self.x), DIGITS) + 0.0, round(dot(away, self.y), DIGITS) + 0.0


def fold_faces(faces: Sequence[Face], ids: dict[str, str]) -> tuple[Surface, ...]:
    """The faces as surfaces; `ids` gives the id of each by its key. Parents come before their children.

    Raises EditRefused for a face that is not flat, or whose first edge does not lie on its parent.
    """
    frames: dict[str, _Frame] = {}
    by_key: dict[str, Face] = {}
    surfaces = []
    for face in faces:
        frame = _frame(face)
        frames[face.key], by_key[face.key] = frame, face
        corners = tuple(Corner(id=str(n), at_mm=frame.local(p)) for n, p in enumerate(face.points, start=1))
        surfaces.append(
            Surface(
                id=ids[face.key],
                name=face.name,
                role=face.role,  # type: ignore[arg-type]  # one of the words of a surface
                corners=corners,
                fold=None if face.parent is None else _fold(face, frame, by_key[face.parent], frames, ids),
                apart=face.apart,
                side=face.side,  # type: ignore[arg-type]
                material=face.material,
                thickness_mm=face.thickness_mm,
                known=face.known,
                note=face.note,
            )
        )
    return tuple(surfaces)


def _frame(face: Face) -> _Frame:
    if face.parent is None:
        if any(abs(p[2]) > FLAT_MM for p in face.points):
            raise EditRefused(f"{face.name} does not lie level.")
        return _Frame((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    normal = _unit(_twice_area(face.points))
    x = _unit(sub(face.points[1], face.points[0]))
    frame = _Frame(face.points[0], x, cross(normal, x), normal)
    off = max(abs(dot(sub(p, face.points[0]), normal)) for p in face.points)
    if off > FLAT_MM:
        raise EditRefused(f"{face.name} is not flat: a corner of it lies {off:.0f} mm beside the others.")
    return frame


def _twice_area(points: Sequence[Point3]) -> Point3:
    """The normal times twice the area (Newell's method, from memory)."""
    total = (0.0, 0.0, 0.0)
    for p, q in zip(points, (*points[1:], points[0]), strict=True):
        c = cross(sub(p, points[0]), sub(q, points[0]))
        total = (total[0] + c[0], total[1] + c[1], total[2] + c[2])
    return total


def _unit(a: Point3) -> Point3:
    size = dot(a, a) ** 0.5
    return a[0] / size, a[1] / size, a[2] / size


def _fold(face: Face, frame: _Frame, parent: Face, frames: dict[str, _Frame], ids: dict[str, str]) -> Fold:
    onto = frames[parent.key]
    start, end = face.points[1], face.points[0]  # along the parent's line
    shift = 0.0
    line: Line
    if face.parent_edge is None:
        line = Inside(start_mm=onto.local(start), end_mm=onto.local(end))
        a = start
    else:
        count = len(parent.points)
        a, b = parent.points[face.parent_edge], parent.points[(face.parent_edge + 1) % count]
        line = OnEdge(edge=str(face.parent_edge + 1))
        along = _unit(sub(b, a))
        shift = round(dot(sub(start, a), along), DIGITS) + 0.0
        foot = tuple(p + u * shift for p, u in zip(a, along, strict=True))
        if dist(foot, start) > FLAT_MM or dot(along, _unit(sub(end, start))) < 0.999:
            raise EditRefused(f"{face.name} does not lie on the edge of {parent.name} it is folded to.")
    if abs(dot(sub(a, onto.origin), onto.normal)) > FLAT_MM:
        raise EditRefused(f"{face.name} does not lie on {parent.name}.")
    u = _unit(sub(end, start))
    out = cross(u, onto.normal)
    leaves = cross(frame.normal, frame.x)
    fold_deg = degrees(atan2(dot(leaves, onto.normal), dot(leaves, out)))
    return Fold(
        line=OnEdge(edge="1"),
        parent=ids[parent.key],
        parent_line=line,
        fold_deg=round(fold_deg, 9) + 0.0,
        shift_mm=shift,
        passage=face.passage,
        joint=face.joint,
    )
