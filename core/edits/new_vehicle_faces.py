"""The faces of a measured body in space: floor, walls in strips, roof, ends, doors, wheel arches, the skin's outside.

Vehicle frame: x from the front end of the floor to the rear, y to the vehicle's right, z up. See `core.geometry.shell`
for the order of corners: the first edge of a face lies on its parent.
"""

from dataclasses import dataclass

from core.edits.measurements import Measurements, section_of
from core.edits.measuring_bodies import BODIES
from core.geometry.foldout import Point3
from core.geometry.plane import Point
from core.geometry.section import Section
from core.geometry.shell import Face
from core.model.body import Passage

#: Names of strips from the floor up, by their number.
LEVELS = {1: ("",), 2: (", lower", ", upper"), 3: (", lower", ", middle", ", upper")}
ACROSS = {1: ("",), 3: (", right", ", middle", ", left")}
_WALL = ("length", "taper", "floor_width", "shoulder_width", "shoulder_height", "roof_width", "side_height")
_ROOF = ("length", "taper", "roof_width", "side_height", "centre_height")
_ENDS = (*_WALL[1:], "centre_height")
_ARCH = ("arch_gap", "arch_length", "arch_height", "arch_from_rear", "floor_width")


@dataclass(frozen=True)
class Shape:
    """A form's section and lengths, and its points in space."""

    form: Measurements
    section: Section
    length: float
    width: float
    taper: float

    @staticmethod
    def of(form: Measurements) -> "Shape":
        return Shape(form, section_of(form), form.mm("length"), form.mm("floor_width"), form.mm("taper"))

    def front(self, p: Point) -> Point3:
        """A point of the section at the front end, where the body may be narrower by the taper."""
        y, z = p
        less = self.taper / 2 if y > 0 else -self.taper / 2 if y < 0 else 0.0
        return 0.0, self.width / 2 + y - less, z

    def rear(self, p: Point) -> Point3:
        return self.length, self.width / 2 + p[0], p[1]

    @property
    def walls(self) -> int:
        return len(self.section.wall) - 1

    @property
    def roofs(self) -> int:
        return len(self.section.roof) - 1

    @property
    def pillar_strip(self) -> int:
        """The highest strip of a wall: doors turn on its rear edge."""
        wall = self.section.wall
        return max(range(self.walls), key=lambda k: wall[k + 1][1] - wall[k][1])


def mirrored(p: Point) -> Point:
    return -p[0], p[1]


def _level(number: int, count: int) -> str:
    names = LEVELS.get(count)
    return names[number] if names else f", strip {number + 1}"


def _across(number: int, count: int) -> str:
    names = ACROSS.get(count)
    return names[number] if names else f", strip {number + 1} from the right"


def floor(shape: Shape) -> Face:
    low = shape.section.wall[0]
    return _face(
        shape, "floor", "Floor", "floor", ("length", "floor_width", "taper"),
        (shape.front(mirrored(low)), shape.rear(mirrored(low)), shape.rear(low), shape.front(low)),
    )  # fmt: skip


def walls(shape: Shape) -> list[Face]:
    """Strips of the right wall, the roof and the left wall, each folded to the one before."""
    wall, roof = shape.section.wall, shape.section.roof
    faces = []
    for k, (low, high) in enumerate(zip(wall, wall[1:], strict=False)):
        name = f"Vehicle right{_level(k, shape.walls)}"
        points = (shape.front(low), shape.rear(low), shape.rear(high), shape.front(high))
        parent = f"right {k - 1}" if k else "floor"
        faces.append(_face(shape, f"right {k}", name, "wall", _WALL, points, parent, 2))
    for k, (near, far) in enumerate(zip(roof, roof[1:], strict=False)):
        name = f"Ceiling{_across(k, shape.roofs)}"
        points = (shape.front(near), shape.rear(near), shape.rear(far), shape.front(far))
        parent = f"roof {k - 1}" if k else f"right {shape.walls - 1}"
        faces.append(_face(shape, f"roof {k}", name, "ceiling", _ROOF, points, parent, 2))
    left = [mirrored(p) for p in wall]
    for k, (low, high) in enumerate(zip(left, left[1:], strict=False)):
        name = f"Vehicle left{_level(k, shape.walls)}"
        points = (shape.rear(low), shape.front(low), shape.front(high), shape.rear(high))
        parent, edge = (f"left {k - 1}", 2) if k else ("floor", 0)
        faces.append(_face(shape, f"left {k}", name, "wall", _WALL, points, parent, edge))
    return faces


def ends(shape: Shape, joints: dict[str, str]) -> list[Face]:
    """Front and rear; `joints` gives the moving joint of each door by its key."""
    right, roof = shape.section.wall, shape.section.roof
    left = tuple(mirrored(p) for p in right)
    faces = []
    if shape.form.front != "open":
        name = "Bulkhead" if shape.form.front == "bulkhead" else "Front wall"
        points = tuple(shape.front(p) for p in (left[0], *right, *roof[1:], *reversed(left[1:-1])))
        faces.append(_face(shape, "front", name, "end", _ENDS, points, "floor", 3))
    round_rear = (right[0], *left, *reversed(roof[1:-1]), *reversed(right[1:]))
    if shape.form.rear == "wall":
        points = tuple(shape.rear(p) for p in round_rear)
        faces.append(_face(shape, "rear", "Rear wall", "end", _ENDS, points, "floor", 1))
    elif shape.form.rear == "tailgate":
        middle = shape.roofs // 2
        start = round_rear.index(roof[middle + 1])
        points = tuple(shape.rear(p) for p in (*round_rear[start:], *round_rear[:start]))
        parent, joint = f"roof {middle}", joints.get("rear")
        faces.append(
            _face(shape, "rear", "Tailgate", "door", _ENDS, points, parent, 1, passage="moving_joint", joint=joint)
        )
    else:
        faces += _leaves(shape, joints)
    return faces


def _leaves(shape: Shape, joints: dict[str, str]) -> list[Face]:
    """Two doors that meet in the middle and turn on the rear edges of the walls."""
    wall, roof, k = shape.section.wall, shape.section.roof, shape.pillar_strip
    top = (0.0, roof[shape.roofs // 2][1] if shape.roofs > 1 else roof[0][1])
    half = roof[1 : (shape.roofs + 1) // 2]
    # Looking to the rear: down the pillar, along the sill to the middle, up, and back along the roof.
    right = (*reversed(wall[: k + 2]), (0.0, 0.0), top, *reversed(half), *reversed(wall[k + 2 :]))
    left = tuple(mirrored(p) for p in reversed(right))
    start = left.index(mirrored(wall[k]))
    left = (*left[start:], *left[:start])
    return [
        _face(
            shape, f"rear {side}", f"Rear door, {side}", "door", _ENDS, tuple(shape.rear(p) for p in points),
            f"{side} {k}", edge, "moving_joint", joints.get(f"rear {side}"),
        )
        for side, points, edge in (("right", right, 1), ("left", left, 3))
    ]  # fmt: skip


def outsides(shape: Shape) -> list[Face]:
    """The other side of the skin: each face turns back on its inside, and no wire goes round the fold."""
    faces = []
    if shape.form.roof_outside:
        roof = shape.section.roof
        for k, (near, far) in enumerate(zip(roof, roof[1:], strict=False)):
            name = f"Roof outside{_across(k, shape.roofs)}"
            points = (shape.rear(near), shape.front(near), shape.front(far), shape.rear(far))
            parent, edge = (f"roof outside {k - 1}", 2) if k else ("roof 0", 0)
            passage: Passage = "free" if k else "none"
            faces.append(
                _face(shape, f"roof outside {k}", name, "other", _ROOF, points, parent, edge, passage, side="outside")
            )
    if shape.form.underside:
        low = shape.section.wall[0]
        points = (
            shape.rear(mirrored(low)), shape.front(mirrored(low)), shape.front(low), shape.rear(low)
        )  # fmt: skip
        keys = ("length", "floor_width", "taper")
        faces.append(
            _face(shape, "underside", "Floor underside", "other", keys, points, "floor", 0, "none", side="outside")
        )
    return faces


def arches(shape: Shape) -> dict[str, list[Face]]:
    """By side the faces of its wheel arch: towards the middle, top, front and rear. Empty where there are none."""
    form = shape.form
    size, height, half = form.mm("arch_length"), form.mm("arch_height"), form.mm("arch_gap") / 2
    if size <= 0:
        return {}
    (y0, _), (y1, z1) = shape.section.wall[:2]
    top = y0 + (y1 - y0) * height / z1
    b = shape.length - form.mm("arch_from_rear")
    a = b - size
    found = {}
    for side, sign in (("right", 1.0), ("left", -1.0)):

        def at(x: float, y: float, z: float, sign: float = sign) -> Point3:
            return x, shape.width / 2 + sign * y, z

        # Seen by somebody who stands before the arch: its low left corner first.
        (p, q), key = ((a, b) if sign > 0 else (b, a)), f"arch {side}"
        inner = (at(p, half, 0), at(q, half, 0), at(q, half, height), at(p, half, height))
        upper = (inner[3], inner[2], at(q, top, height), at(p, top, height))
        first = (inner[0], inner[3], at(p, top, height), at(p, y0, 0))
        second = (inner[2], inner[1], at(q, y0, 0), at(q, top, height))
        words = ("front", "rear") if sign > 0 else ("rear", "front")
        name = f"Wheel arch, {side}"
        found[side] = [
            _face(shape, key, f"{name}: side", "arch", _ARCH, inner, "floor"),
            _face(shape, f"{key} top", f"{name}: top", "arch", _ARCH, upper, key, 2),
            _face(shape, f"{key} {words[0]}", f"{name}: {words[0]}", "arch", _ARCH, first, key, 3),
            _face(shape, f"{key} {words[1]}", f"{name}: {words[1]}", "arch", _ARCH, second, key, 1),
        ]
    return found


def _face(
    shape: Shape,
    key: str,
    name: str,
    role: str,
    measures: tuple[str, ...],
    points: tuple[Point3, ...],
    parent: str | None = None,
    parent_edge: int | None = None,
    passage: Passage = "free",
    joint: str | None = None,
    side: str = "inside",
) -> Face:
    """A face whose `measures` say whether it was measured; what was not is named in its note."""
    assumed = [each for each in measures if shape.form.known(each) == "assumed"]
    return Face(
        key=key,
        name=name,
        role=role,
        points=points,
        parent=parent,
        parent_edge=parent_edge,
        passage=passage,
        joint=joint,
        side=side,
        material=BODIES[shape.form.body].material,
        known="assumed" if assumed else "measured",
        note="" if not assumed else f"Assumed, not measured: {', '.join(each.replace('_', ' ') for each in assumed)}.",
    )
