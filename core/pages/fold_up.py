"""The vehicle folded up: surfaces, boxes, devices and bundles in space, seen from any side.

Walls that stand between the eye and the room are only outlined, so that one always looks in; their bundles are drawn
as if the wall were glass. Whoever shows it gives two
angles and a size; nothing here knows of a window. `folding_picture` is the small half-folded picture of the papers.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import cos, hypot, radians, sin

from core.analysis.analysis import Analysis
from core.geometry.edges import outline_of
from core.geometry.foldout import Layout, Point3, Pose, dot
from core.geometry.polygon import centre, sides
from core.model import Box, Device, Point, Surface
from core.pages.fillet import fillet, flatten
from core.pages.lettering import width_mm
from core.pages.marks import AnyMark, AreaMark, LineMark, TextMark
from core.pages.sheet_bundles import bend_radius_mm
from core.pages.sheet_trunks import find_trunks
from core.pages.transform import bounds, moved

#: Distance of the eye in sizes of the vehicle, for a view with perspective.
EYE = 2.6
#: Bundles are drawn at least this thick on paper.
THINNEST_MM = 0.7
LABEL_MM = 2.9
SMALLEST_LABEL_MM = 2.2
#: Faces seen at less than this (cosine) are a line, and only outlined.
EDGE_ON = 0.02
MOST_RISE_DEG = 89.0
#: With perspective the near end of the vehicle is larger than its middle.
NEARER = 0.72


@dataclass(frozen=True)
class View:
    """Where the eye is: turned round the vehicle (0 looks at the vehicle's left side, 90 from behind), and how high.

    `folded` is the share of every fold that is made: 1 the whole vehicle, 0 the flat sheet, for a moving picture.
    With a `zoom` the picture keeps its size and its middle while it is turned: 1 fits the vehicle whichever way it is
    turned. None fills the rectangle.
    """

    turn_deg: float = 28.0
    rise_deg: float = 32.0
    perspective: bool = True
    names: bool = True
    folded: float = 1.0
    zoom: float | None = None


@dataclass(frozen=True)
class _Seen:
    """A shape on the picture: how far away it is, and its marks before they are scaled."""

    away_mm: float
    marks: tuple[AnyMark, ...]


class _Eye:
    """Projects the vehicle's points: right, up, and how far away, in mm of the vehicle."""

    def __init__(self, view: View, middle: Point3, size_mm: float) -> None:
        turn = radians(view.turn_deg)
        rise = radians(max(-MOST_RISE_DEG, min(MOST_RISE_DEG, view.rise_deg)))
        # From the vehicle's left (-y) at turn 0; the nose, at small x, is then at the left of the picture.
        self.right: Point3 = (cos(turn), sin(turn), 0.0)
        ahead: Point3 = (-sin(turn) * cos(rise), cos(turn) * cos(rise), -sin(rise))
        self.ahead = ahead
        self.up: Point3 = (-sin(turn) * sin(rise), cos(turn) * sin(rise), cos(rise))
        self.middle, self.far = middle, EYE * size_mm if view.perspective else None

    def see(self, p: Point3) -> Point3:
        away = (p[0] - self.middle[0], p[1] - self.middle[1], p[2] - self.middle[2])
        x, y, z = dot(away, self.right), dot(away, self.up), dot(away, self.ahead)
        if self.far is None:
            return x, y, z
        share = self.far / max(self.far + z, self.far * 0.05)
        return x * share, y * share, z

    def faces(self, pose: Pose, at: Point3) -> bool:
        """Whether the room side of a surface is seen."""
        look = self.ahead
        if self.far is not None:
            eye = tuple(m - a * self.far for m, a in zip(self.middle, self.ahead, strict=True))
            size = sum((p - e) ** 2 for p, e in zip(at, eye, strict=True)) ** 0.5
            look = ((at[0] - eye[0]) / size, (at[1] - eye[1]) / size, (at[2] - eye[2]) / size)
        return dot(pose.normal, look) < -EDGE_ON


def fold_up(
    analysis: Analysis, view: View, width: float, height: float, left: float = 0.0, bottom: float = 0.0
) -> tuple[AnyMark, ...]:
    """The picture within a rectangle, in mm of paper or screen; empty where there is nothing folded.

    Subjects of marks are the records', so that a click finds them.
    """
    layout = analysis.sheet.layout if view.folded >= 1.0 else _half(analysis, view.folded)
    inside = [s for s in analysis.plan.surfaces if s.side != "outside" and _joined(layout, s) and len(s.corners) > 2]
    points = [layout.pose(s.id).to_vehicle(c.at_mm) for s in inside for c in s.corners]
    if not points:
        return ()
    low, high = [min(p[i] for p in points) for i in range(3)], [max(p[i] for p in points) for i in range(3)]
    middle: Point3 = ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2, (low[2] + high[2]) / 2)
    size = max(b - a for a, b in zip(low, high, strict=True))
    scene = _Scene(analysis, layout, _Eye(view, middle, size), min(width, height) / size)
    shapes, names = scene.marks(inside)
    box = bounds(shapes)
    if box is None or box.width <= 0 or box.height <= 0:
        return ()
    if view.zoom is None:
        scale = min(width / box.width, height / box.height)
        dx = left + (width - box.width * scale) / 2 - box.left * scale
        dy = bottom + (height - box.height * scale) / 2 - box.bottom * scale
    else:
        # The eye looks at the middle of the vehicle, which is the origin of the picture.
        ground, tall = (
            hypot(high[0] - low[0], high[1] - low[1]),
            hypot(*(b - a for a, b in zip(low, high, strict=True))),
        )
        scale = view.zoom * NEARER * min(width / max(ground, 1.0), height / max(0.6 * tall, 1.0))
        dx, dy = left + width / 2, bottom + height / 2
    lettered = _names(names, scale, dx, dy) if view.names else ()
    return (*moved(shapes, scale, dx, dy), *lettered)


def _half(analysis: Analysis, folded: float) -> Layout:
    """The layout with a share of every fold made."""
    from msgspec.structs import replace

    from core.geometry.foldout import lay_out

    share = max(0.0, folded)
    return lay_out(
        tuple(
            s if s.fold is None else replace(s, fold=replace(s.fold, fold_deg=s.fold.fold_deg * share))
            for s in analysis.plan.surfaces
        )
    )


def _joined(layout: Layout, surface: Surface) -> bool:
    return layout.root is not None and layout.joined(surface.id, layout.root)


#: A surface, its outline on the picture, and where its name stands.
_Named = tuple[Surface, tuple[Point, ...], Point]


class _Scene:
    """Everything that is seen, from the farthest on."""

    def __init__(self, analysis: Analysis, layout: Layout, eye: _Eye, scale: float) -> None:
        self.analysis, self.layout, self.eye, self.scale = analysis, layout, eye, scale
        self.trunks = find_trunks(analysis.plan.channels, analysis.bundles)

    def marks(self, surfaces: Sequence[Surface]) -> tuple[list[AnyMark], list[_Named]]:
        """Marks in the order of drawing, and for each wall that is seen from inside its name's outline and place."""
        ground: list[_Seen] = []
        within: list[_Seen] = []
        near: list[AnyMark] = []
        names = []
        for surface in surfaces:
            pose = self.layout.pose(surface.id)
            outline = outline_of(surface)
            seen = [self.eye.see(pose.to_vehicle(p)) for p in outline]
            flat = tuple((x, y) for x, y, _ in seen)
            away = sum(z for _, _, z in seen) / len(seen)
            if not self.eye.faces(pose, pose.to_vehicle(centre(outline))):
                if surface.role not in ("face", "arch"):
                    near.append(LineMark(style="note:line", subject=surface.id, points_mm=flat, closed=True))
                    near += [
                        LineMark(
                            style="note:line",
                            subject=opening.id,
                            points_mm=self._flat(pose, opening.outline),
                            closed=True,
                        )
                        for opening in self.analysis.plan.openings
                        if opening.surface == surface.id
                    ]
                    near += self._channels(surface, pose)
                continue
            marks = (*self._wall(surface, flat), *self._on_wall(surface, pose))
            if surface.role in ("face", "arch"):
                within.append(_Seen(away, marks))
            else:
                ground.append(_Seen(away, marks))
                names.append((surface, flat, self.eye.see(pose.to_vehicle(centre(outline)))[:2]))
        within += self._boxes()
        within += self._devices()
        near += self._devices_on_glass()
        through = list(self._measured())
        ordered = [*sorted(ground, key=_farthest), *sorted([*within, *through], key=_farthest)]
        return [*(mark for each in ordered for mark in each.marks), *near], names

    def _wall(self, surface: Surface, flat: tuple[Point, ...]) -> Iterator[AnyMark]:
        style = "outline:floor" if surface.role == "floor" else "outline:ground"
        if surface.role in ("face", "arch"):
            style = "box" if surface.role == "face" else "box:arch"
        yield AreaMark(style=style, subject=surface.id, outline_mm=flat)
        yield LineMark(style="outline", subject=surface.id, points_mm=flat, closed=True)

    def _on_wall(self, surface: Surface, pose: Pose) -> Iterator[AnyMark]:
        """Openings, ribs and the channels that lie on a surface."""
        plan = self.analysis.plan
        for opening in plan.openings:
            if opening.surface == surface.id:
                style = "opening:door" if opening.kind in ("door", "hatch") else "opening"
                yield AreaMark(style=style, subject=opening.id, outline_mm=self._flat(pose, opening.outline))
        for rib in plan.ribs:
            if rib.surface == surface.id:
                width = rib.width_mm
                yield LineMark(style="rib", subject=rib.id, points_mm=self._flat(pose, rib.line_mm), width_mm=width)
        yield from self._channels(surface, pose)

    def _channels(self, surface: Surface, pose: Pose) -> Iterator[AnyMark]:
        for channel in self.analysis.plan.channels:
            path = self.analysis.paths.get(channel.id)
            if path is None or path.surface != surface.id or len(path.local_mm) < 2:
                continue
            bundle = self.analysis.bundles.get(channel.id)
            if bundle is None:
                yield LineMark(style="channel", subject=channel.id, points_mm=self._flat(pose, path.local_mm))
                continue
            width = max(bundle.diameter_laid_mm, THINNEST_MM / max(self.scale, 1e-6))
            line = flatten(fillet(path.local_mm, bend_radius_mm(channel, width)), sagitta_mm=2.0)
            trunk = self.trunks.by_channel.get(channel.id)
            style = f"bundle:{trunk.colour if trunk is not None else 0}"
            yield LineMark(style=style, subject=channel.id, points_mm=self._flat(pose, line), width_mm=width)

    def _flat(self, pose: Pose, points: Sequence[Point], height_mm: float = 0.0) -> tuple[Point, ...]:
        return tuple(self.eye.see(pose.to_vehicle(p, height_mm))[:2] for p in points)

    def _boxes(self) -> Iterator[_Seen]:
        """Boxes whose faces are not raised, as solids."""
        for box in self.analysis.plan.boxes:
            if box.faces or box.surface not in self.layout.laid or len(box.outline) < 3:
                continue
            style = "box:arch" if box.kind == "wheel_arch" else "box"
            yield from self._solid(box.id, style, box.surface, box.outline, box.base_mm, box.base_mm + _tall(box))

    def _devices(self) -> Iterator[_Seen]:
        for device in self.analysis.plan.devices:
            if device.surface in self.layout.laid and self._is_seen(device.surface):
                outline = _footprint(device)
                yield from self._solid(device.id, "device", device.surface, outline, 0.0, max(device.depth_mm, 1.0))

    def _devices_on_glass(self) -> Iterator[AnyMark]:
        """Devices on walls that are only outlined: outlined too, so that one looks past them."""
        for device in self.analysis.plan.devices:
            if device.surface in self.layout.laid and not self._is_seen(device.surface):
                for solid in self._solid(
                    device.id, "device", device.surface, _footprint(device), 0.0, max(device.depth_mm, 1.0)
                ):
                    yield from (
                        LineMark(style="note:line", subject=device.id, points_mm=mark.points_mm, closed=True)
                        for mark in solid.marks
                        if isinstance(mark, LineMark)
                    )

    def _is_seen(self, surface_id: str) -> bool:
        surface = self.analysis.surfaces[surface_id]
        pose = self.layout.pose(surface_id)
        return self.eye.faces(pose, pose.to_vehicle(centre(outline_of(surface))))

    def _solid(
        self, subject: str, style: str, surface: str, outline: Sequence[Point], low: float, high: float
    ) -> Iterator[_Seen]:
        """The sides of a solid that are turned to the eye, and its top."""
        pose = self.layout.pose(surface)
        marks: list[AnyMark] = []
        depths = []
        shapes = [[(p, low), (q, low), (q, high), (p, high)] for p, q in sides(outline)]
        shapes.append([(p, high) for p in outline])
        for corners in shapes:
            seen = [self.eye.see(pose.to_vehicle(p, h)) for p, h in corners]
            if _turned_away(seen):
                continue
            flat = tuple((x, y) for x, y, _ in seen)
            depths.append(sum(z for _, _, z in seen) / len(seen))
            marks.append(AreaMark(style=style, subject=subject, outline_mm=flat))
            marks.append(LineMark(style=style.partition(":")[0], subject=subject, points_mm=flat, closed=True))
        if marks:
            yield _Seen(sum(depths) / len(depths), tuple(marks))

    def _measured(self) -> Iterator[_Seen]:
        """Channels known by their length alone: straight from node to node."""
        for channel in self.analysis.plan.channels:
            path = self.analysis.paths.get(channel.id)
            if path is None or path.surface is not None:
                continue
            ends = [self._node(node) for node in (channel.start, channel.end)]
            if ends[0] is not None and ends[1] is not None:
                seen = [self.eye.see(p) for p in ends if p is not None]
                flat = tuple((x, y) for x, y, _ in seen)
                away = sum(z for _, _, z in seen) / 2
                yield _Seen(away, (LineMark(style="channel", subject=channel.id, points_mm=flat),))

    def _node(self, node: str) -> Point3 | None:
        spot = self.analysis.node_spots.get(node)
        if spot is None or not spot.spots or spot.spots[0][0] not in self.layout.laid:
            return None
        surface, point = spot.spots[0]
        return self.layout.pose(surface).to_vehicle(point)


def _farthest(seen: _Seen) -> float:
    return -seen.away_mm


def _tall(box: Box) -> float:
    return max(box.height_mm, 1.0)


def _footprint(device: Device) -> tuple[Point, ...]:
    turn = radians(device.turn_deg)
    c, s, half, deep = cos(turn), sin(turn), device.width_mm / 2, device.height_mm / 2
    x, y = device.at_mm
    corners = ((-half, -deep), (half, -deep), (half, deep), (-half, deep))
    return tuple((x + c * a - s * b, y + s * a + c * b) for a, b in corners)


def _turned_away(seen: Sequence[Point3]) -> bool:
    """Whether the corners, counter-clockwise from outside, run clockwise on the picture."""
    area = 0.0
    for (px, py, _), (qx, qy, _) in zip(seen, (*seen[1:], seen[0]), strict=True):
        area += px * qy - qx * py
    return area <= 0.0


def _names(surfaces: Sequence[_Named], scale: float, dx: float, dy: float) -> Iterator[AnyMark]:
    """Names of the walls one looks at, where there is room for them."""
    for surface, flat, (x, y) in surfaces:
        crossed = [
            a[0] + (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1])
            for a, b in zip(flat, (*flat[1:], flat[0]), strict=True)
            if (a[1] > y) != (b[1] > y)
        ]
        room = (max(crossed) - min(crossed)) * scale * 0.85 if crossed else 0.0
        size = min(LABEL_MM, room / max(width_mm(surface.name, "label_medium", 1.0), 0.1))
        if surface.name and size >= SMALLEST_LABEL_MM:
            yield TextMark(
                style="text:muted",
                subject=surface.id,
                at_mm=(x * scale + dx, y * scale + dy),
                text=surface.name,
                size_mm=size,
                anchor="middle",
                baseline="middle",
                font="label_medium",
            )
