"""Risers and falls: channels straight up and down the walls, over folds and seams, from channel to channel."""

from collections.abc import Sequence
from math import hypot
from typing import Any, NamedTuple

from core.edits.change import get, refuse
from core.edits.devices import set_node
from core.edits.lines import LEVEL, draw_run, past_openings
from core.edits.network import channel_lines
from core.geometry.edges import outline_of
from core.geometry.entry import entry_point
from core.geometry.foldout import Layout, lay_out
from core.geometry.joints import Joints, across, join, may_pass
from core.geometry.plane import Point, Polyline, crossings, distance_mm, length_mm, nearest_on
from core.geometry.polygon import clip, point_in
from core.model import Channel, Device, Plan, Surface

#: A surface that rises less than this for each mm is a ceiling or a floor: a riser that meets no channel ends there.
STEEP = 0.3
#: A riser passes at most so many surfaces in each direction.
MOST_SURFACES = 6
#: How far beside a fold its neighbour is looked for (mm).
BESIDE_FOLD_MM = 1.0


class Run(NamedTuple):
    """A stretch of a riser on one surface, in mm of that surface."""

    surface: str
    line: Polyline


class _Way(NamedTuple):
    """The stretches from a point on, and whether they end on a channel."""

    runs: tuple[Run, ...]
    is_met: bool

    @property
    def size_mm(self) -> float:
        return sum(length_mm(run.line) for run in self.runs)


class _Walls:
    """What a riser needs to know of the plan."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.joints: Joints = join(plan.surfaces, plan.seams)
        self.layout: Layout = lay_out(plan.surfaces)
        self._lines: dict[str, list[Polyline]] = {}

    def lines(self, surface_id: str) -> list[Polyline]:
        if surface_id not in self._lines:
            self._lines[surface_id] = list(channel_lines(self.plan, self.joints, surface_id).values())
        return self._lines[surface_id]

    def uphill(self, surface_id: str) -> tuple[Point, float]:
        """The direction on a surface that rises most, and how much it rises for each mm."""
        laid = self.layout.laid.get(surface_id)
        gx, gy = (laid.pose.x_axis[2], laid.pose.y_axis[2]) if laid is not None else (0.0, 0.0)
        steep = hypot(gx, gy)
        return ((gx / steep, gy / steep), steep) if steep >= LEVEL else ((0.0, 0.0), steep)

    def way(self, surface_id: str, start: Point, turn: Point) -> _Way:
        """Straight on from a point to the first channel, over folds and seams where a bundle may pass: from a wall on
        over a ceiling or floor, or the other way, but not down the next wall beyond."""
        runs: list[Run] = []
        turned = False
        at = start
        for _ in range(MOST_SURFACES):
            surface = self.joints.surfaces[surface_id]
            end = _as_far_as(surface, at, turn)
            if end is None and runs:
                break
            if end is None:
                end = at
            met = [c.point for line in self.lines(surface_id) for c in crossings((at, end), line)]
            near = min((p for p in met if distance_mm(p, at) > 1.0), key=lambda p: distance_mm(p, at), default=None)
            if end != at:
                runs.append(Run(surface_id, (at, end if near is None else near)))
            if near is not None:
                return _Way(tuple(runs), True)
            on = self._over(surface_id, end, {surface_id, *(run.surface for run in runs)})
            if on is None:
                break
            turns = self._is_wall(on[0]) != self._is_wall(surface_id)
            if turns and turned:
                break
            turned = turned or turns
            surface_id, at, turn = on
        return _Way(tuple(runs), False)

    def _is_wall(self, surface_id: str) -> bool:
        return self.uphill(surface_id)[1] >= STEEP

    def _over(self, surface_id: str, end: Point, seen: set[str]) -> tuple[str, Point, Point] | None:
        """The neighbour beyond an end, where the end lies on it, and square away from the line between both."""
        meetings = [m for m in across(self.joints, surface_id, end) if m.surface not in seen and may_pass(m)]
        for meeting in sorted(meetings, key=lambda m: m.kind):
            for joint, first in self.joints.sides(surface_id):
                if joint.via != meeting.via or (joint.b if first else joint.a) != meeting.surface:
                    continue
                (ax, ay), (bx, by) = joint.b_line if first else joint.a_line
                size = hypot(bx - ax, by - ay)
                square = (-(by - ay) / size, (bx - ax) / size)
                for turn in (square, (-square[0], -square[1])):
                    beside = meeting.point[0] + BESIDE_FOLD_MM * turn[0], meeting.point[1] + BESIDE_FOLD_MM * turn[1]
                    if point_in(outline_of(self.joints.surfaces[meeting.surface]), beside):
                        return meeting.surface, meeting.point, turn
        return None

    def kept(self, way: _Way, own: str) -> tuple[Run, ...]:
        """The stretches worth drawing: all of them to a channel, else those on the own surface and on walls."""
        if way.is_met:
            return way.runs
        walls = sum(run.surface == own for run in way.runs[:1])
        while walls < len(way.runs) and self._is_wall(way.runs[walls].surface):
            walls += 1
        return way.runs[:walls]


def rise_or_fall(plan: Plan, device_id: str, **fields: Any) -> tuple[Plan, tuple[str, ...]]:
    """Riser or fall: a channel from a device straight up or down to the nearest channel, over folds and seams too;
    straight across where none is met so.

    On a level surface (floor, ceiling) it runs square to the nearest channel there, else straight on to the nearest
    one over an edge. The device joins its start.
    """
    runs = fall_runs(plan, device_id)
    plan, new = _drawn(plan, runs, **fields)
    start: Channel = get(plan, "channels", new[0])
    return set_node(plan, device_id, start.start), new


def rise_runs(plan: Plan, surface_id: str, at_mm: Point) -> tuple[Run, ...]:
    """The upright stretches through a point of a wall, from the channel below it to that above it, over folds and
    seams; where there is no channel, from the foot or to the top of the walls.

    On a level surface it runs across: square to the nearest channel there and on to what lies beyond. Led round
    windows. Refuses a point off the surface, and where a door or window leaves no way.
    """
    surface: Surface = get(plan, "surfaces", surface_id)
    walls = _Walls(plan)
    up, steep = walls.uphill(surface_id)
    if steep < LEVEL:
        near = _nearest(walls.lines(surface_id), at_mm)
        away = (0.0, 0.0) if near is None else (near[0] - at_mm[0], near[1] - at_mm[1])
        size = hypot(*away)
        up = (away[0] / size, away[1] / size) if size >= 1.0 else (0.0, 1.0)
    if not point_in(outline_of(surface), at_mm):
        refuse(f"That point does not lie on {surface.name}.")
    above = walls.kept(walls.way(surface_id, at_mm, up), surface_id)
    below = walls.kept(walls.way(surface_id, at_mm, (-up[0], -up[1])), surface_id)
    # At the very edge one of both ways begins on the neighbour.
    own = [run.line[-1] for run in (*below[:1], *above[:1]) if run.surface == surface_id]
    if not own:
        refuse(f"There is no room for a riser on {surface.name} here.")
    middle = Run(surface_id, (own[0], own[1]) if len(own) == 2 else (at_mm, own[0]))
    back = tuple(Run(run.surface, run.line[::-1]) for run in reversed(below) if run.surface != surface_id)
    return _past(plan, (*back, middle, *(run for run in above if run.surface != surface_id)))


def rise_at(plan: Plan, surface_id: str, at_mm: Point, **fields: Any) -> tuple[Plan, tuple[str, ...]]:
    """Riser or fall through a point of a wall: channels along `rise_runs`."""
    return _drawn(plan, rise_runs(plan, surface_id, at_mm), **fields)


def fall_runs(plan: Plan, device_id: str) -> tuple[Run, ...]:
    """Where the riser or fall of a device would run. Refuses as `rise_or_fall` does."""
    device: Device = get(plan, "devices", device_id)
    surface: Surface = get(plan, "surfaces", device.surface)
    entry = entry_point(device)
    walls = _Walls(plan)
    up, steep = walls.uphill(surface.id)
    if steep < LEVEL:
        near = _nearest(walls.lines(surface.id), entry)
        if near is not None and distance_mm(near, entry) > 1.0:
            return _past(plan, (Run(surface.id, (entry, near)),))
        up = (0.0, 1.0)
    # Up or down first; across, where there is nothing above and below, or no above and below.
    beside = (up[1], -up[0])
    met: list[_Way] = []
    for turns in ((up,), (beside,)) if steep >= LEVEL else ((up, beside),):
        both = [(sign * x, sign * y) for x, y in turns for sign in (1.0, -1.0)]
        met = met or [way for way in (walls.way(surface.id, entry, turn) for turn in both) if way.is_met]
    if not met:
        refuse(f"No channel lies straight above, below or beside “{device.name}”.")
    return _past(plan, min(met, key=lambda way: way.size_mm).runs)


def _drawn(plan: Plan, runs: Sequence[Run], **fields: Any) -> tuple[Plan, tuple[str, ...]]:
    new: list[str] = []
    for run in runs:
        plan, fresh = draw_run(plan, run.surface, run.line, **fields)
        new += fresh
    return plan, tuple(new)


def _past(plan: Plan, runs: Sequence[Run]) -> tuple[Run, ...]:
    """The stretches led round windows. Refuses where an opening leaves no way."""
    led: list[Run] = []
    for run in runs:
        surface: Surface = get(plan, "surfaces", run.surface)
        lines = past_openings(plan, surface, run.line)
        if len(lines) != 1 or lines[0][0] != run.line[0] or lines[0][-1] != run.line[-1]:
            crossed = next(o for o in plan.openings if o.surface == surface.id and clip(run.line, o.outline))
            refuse(f"A riser here would cross {crossed.name or crossed.id}.")
        led.append(Run(run.surface, lines[0]))
    return tuple(led)


def _as_far_as(surface: Surface, at: Point, turn: Point) -> Point | None:
    """Straight on from a point of a surface to its edge; None where that is no stretch worth its name."""
    outline = outline_of(surface)
    size = sum(abs(x) + abs(y) for x, y in outline) + 1.0
    ray = (at, (at[0] + turn[0] * size, at[1] + turn[1] * size))
    end = next((s.points[-1] for s in clip(ray, outline, surface.holes) if distance_mm(s.points[0], at) < 1.0), None)
    return None if end is None or distance_mm(at, end) < 1.0 else end


def _nearest(lines: Sequence[Polyline], at: Point) -> Point | None:
    return min((nearest_on(line, at).point for line in lines), key=lambda p: distance_mm(p, at), default=None)
