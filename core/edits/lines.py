"""Belt line, channel along a rib or an edge: whole runs drawn at once."""

from collections.abc import Iterable, Sequence
from math import hypot
from typing import Any

from core.edits.change import get, put, refuse, replaced
from core.edits.channels import draw_channel, join_crossing, unjoined_crossings
from core.geometry.edges import edge_of, outline_of
from core.geometry.foldout import Pose, lay_out
from core.geometry.plane import Point, Polyline, length_mm, nearest_on, offset
from core.geometry.polygon import clip, point_in
from core.model import Plan, Rib, Surface

#: A surface that rises less than this for each mm is level: it has no height to draw a line at.
LEVEL = 0.05
#: Stretches shorter than this are corners that are cut off, no run (mm).
SHORTEST_MM = 50.0
#: A channel passes an opening in a wall this far from its edge (mm; common practice, no source).
BESIDE_MM = 30.0
#: ... and this much more, so that it does not touch that distance (mm).
SLACK_MM = 5.0


def belt_line(
    plan: Plan, height_mm: float, surface_ids: Iterable[str] | None = None, **fields: Any
) -> tuple[Plan, tuple[str, ...]]:
    """Belt line: channels at one height above the floor over the walls, joined where they meet, led round openings.

    Without `surface_ids` it runs over every wall and end that reaches that height. `fields` are those of a channel.
    Gives the new channels in the order of the surfaces.
    """
    made: list[str] = []
    for surface, run in belt_runs(plan, height_mm, surface_ids):
        plan, new = draw_run(plan, surface.id, run, **fields)
        made += new
    return plan, tuple(made)


def belt_runs(
    plan: Plan, height_mm: float, surface_ids: Iterable[str] | None = None
) -> tuple[tuple[Surface, Polyline], ...]:
    """Where a belt line would run: surfaces with a line on each. Refuses as `belt_line` does; changes nothing."""
    chosen = _walls(plan, height_mm) if surface_ids is None else [get(plan, "surfaces", s) for s in surface_ids]
    if not chosen:
        refuse(f"No wall reaches {height_mm:g} mm above the floor.")
    layout = lay_out(plan.surfaces)
    found = []
    for surface in chosen:
        laid = layout.laid.get(surface.id)
        if laid is None:
            refuse(f"{surface.name} lies nowhere on the sheet.")
        runs = _level_runs(plan, surface, laid.pose, height_mm)
        if not runs:
            refuse(f"{surface.name} has no room for a line {height_mm:g} mm above the floor.")
        found += [(surface, run) for run in runs]
    return tuple(found)


def _walls(plan: Plan, height_mm: float) -> list[Surface]:
    layout = lay_out(plan.surfaces)
    found = []
    for surface in plan.surfaces:
        laid = layout.laid.get(surface.id)
        if laid is None or surface.role not in ("wall", "end") or laid.root != layout.root:
            continue
        rise = hypot(laid.pose.x_axis[2], laid.pose.y_axis[2])
        if rise >= LEVEL and _level_runs(plan, surface, laid.pose, height_mm):
            found.append(surface)
    return found


def _level_runs(plan: Plan, surface: Surface, pose: Pose, height_mm: float) -> list[Polyline]:
    """The lines of a surface at a height in the vehicle, from end to end of it, led round its openings."""
    gx, gy = pose.x_axis[2], pose.y_axis[2]
    steep = gx * gx + gy * gy
    if steep < LEVEL * LEVEL:
        refuse(f"{surface.name} is level; a line at a height needs a wall.")
    # The foot of the height on the surface, then along the level direction.
    up = (height_mm - pose.origin[2]) / steep
    foot = (gx * up, gy * up)
    outline = outline_of(surface)
    far = sum(length_mm((a, b)) for a, b in zip(outline, outline[1:], strict=False)) + hypot(*foot) + 1.0
    along = (gy / steep**0.5 * far, -gx / steep**0.5 * far)
    line = ((foot[0] - along[0], foot[1] - along[1]), (foot[0] + along[0], foot[1] + along[1]))
    runs = []
    for stretch in clip(line, outline, surface.holes):
        points = tuple(stretch.points)
        if length_mm(points) >= SHORTEST_MM:
            runs += past_openings(plan, surface, (points[0], points[-1]))
    return runs


def past_openings(plan: Plan, surface: Surface, run: Polyline) -> list[Polyline]:
    """The run led round the openings in it; parted where there is no way round one (a door down to the floor)."""
    openings = [o for o in plan.openings if o.surface == surface.id and clip(run, o.outline)]
    if not openings:
        return [run]
    led = _squarely(surface, run, [o.outline for o in openings])
    if led is None:
        # Its libraries take a quarter of a second to load: the window's tools must not wait for them.
        from core.geometry.around import around

        led = around(run, [(o.outline, BESIDE_MM) for o in openings], 0.0, surface)
    if led is not None:
        return [led]
    left = clip(run, outline_of(surface), (*surface.holes, *(o.outline for o in openings)))
    return [tuple(s.points) for s in left if length_mm(s.points) >= SHORTEST_MM]


def _squarely(surface: Surface, run: Polyline, outlines: Sequence[Sequence[Point]]) -> Polyline | None:
    """The run level up to each opening, down or up beside it and level on, as bundles are laid; the nearer side that
    has room. None where it would start or end beside an opening, or where neither side has room."""
    (ax, ay), (bx, by) = run[0], run[-1]
    size = length_mm(run)
    ux, uy = (bx - ax) / size, (by - ay) / size

    def local(p: Point) -> Point:
        return (p[0] - ax) * ux + (p[1] - ay) * uy, (p[1] - ay) * ux - (p[0] - ax) * uy

    def back(along: float, up: float) -> Point:
        return ax + ux * along - uy * up, ay + uy * along + ux * up

    blocks: list[tuple[float, float, float, float]] = []  # along from and to, up from and to
    for outline in sorted(outlines, key=lambda each: min(local(p)[0] for p in each)):
        xs, ys = zip(*(local(p) for p in outline), strict=True)
        away = BESIDE_MM + SLACK_MM
        new = (min(xs) - away, max(xs) + away, min(ys) - away, max(ys) + away)
        if blocks and new[0] <= blocks[-1][1]:
            old = blocks.pop()
            new = (old[0], max(old[1], new[1]), min(old[2], new[2]), max(old[3], new[3]))
        blocks.append(new)
    points: list[Point] = [run[0]]
    for start, end, low, high in blocks:
        if start <= 0 or end >= size:
            return None
        sides = sorted((low, high), key=abs)
        ways = [tuple(back(*q) for q in ((start, 0.0), (start, v), (end, v), (end, 0.0))) for v in sides]
        way = next((each for each in ways if _lies_on(surface, each)), None)
        if way is None:
            return None
        points += way
    return (*points, run[-1])


def _lies_on(surface: Surface, line: Polyline) -> bool:
    kept = sum(length_mm(s.points) for s in clip(line, outline_of(surface), surface.holes))
    return abs(kept - length_mm(line)) < 1.0


def draw_run(plan: Plan, surface_id: str, run: Polyline, **fields: Any) -> tuple[Plan, tuple[str, ...]]:
    """Draw a line of points of one surface as a channel, joined where it crosses others. Gives the new channels."""
    place = lay_out(plan.surfaces).place(surface_id)
    plan, new = draw_channel(plan, [place.to_sheet(p) for p in run], surface_id, **fields)
    return joined_crossings(plan, new), new


def joined_crossings(plan: Plan, channel_ids: Sequence[str]) -> Plan:
    """Join every crossing of these channels with others: a junction at each."""
    for _ in range(200):
        ids = {channel.id for channel in plan.channels}
        crossed = unjoined_crossings(plan, [each for each in channel_ids if each in ids])
        if not crossed:
            return plan
        first = crossed[0]
        before = len(plan.channels)
        plan, _node = join_crossing(plan, first.a, first.b, first.point)
        fresh = [channel.id for channel in plan.channels if channel.id not in ids]
        channel_ids = (*channel_ids, *fresh)
        if len(plan.channels) == before:
            return plan  # both ended there already
    return plan


def _holds(points: Sequence[Point], p: Point) -> bool:
    return nearest_on(tuple(points), p).distance_mm < 1.0


def rib_line(plan: Plan, rib_id: str, inside: bool = False, other_side: bool = False) -> Polyline:
    """The line of `along_rib`. Refuses as it does."""
    rib: Rib = get(plan, "ribs", rib_id)
    surface: Surface = get(plan, "surfaces", rib.surface)
    word = rib.name or f"rib {rib.id}"
    if inside and rib.state == "blocked":
        refuse(f"{word[:1].upper()}{word[1:]} is blocked; nothing can run inside it.")
    aside_mm = (rib.width_mm / 2 + BESIDE_MM) * (-1.0 if other_side else 1.0)
    line = tuple(rib.line_mm) if inside else offset(rib.line_mm, aside_mm)
    if not all(point_in(outline_of(surface), p) for p in line):
        whole = max(clip(line, outline_of(surface), surface.holes), key=lambda s: length_mm(s.points), default=None)
        if whole is None:
            refuse(f"{word[:1].upper()}{word[1:]} has no room beside it on {surface.name}.")
        line = tuple(whole.points)
    return line


def along_rib(
    plan: Plan, rib_id: str, inside: bool = False, other_side: bool = False, **fields: Any
) -> tuple[Plan, tuple[str, ...]]:
    """Channel along a rib or pillar: inside its hollow, or beside it at half its width (on its left as it is drawn,
    or on the other side)."""
    rib: Rib = get(plan, "ribs", rib_id)
    own = {"kind": "void", "runs_inside": rib.id} if inside else {}
    return draw_run(plan, rib.surface, rib_line(plan, rib_id, inside, other_side), **{**own, **fields})


def edge_line(plan: Plan, surface_id: str, edge_id: str, inset_mm: float = BESIDE_MM) -> Polyline:
    """The line of `along_edge`. Refuses as it does."""
    surface: Surface = get(plan, "surfaces", surface_id)
    edge = edge_of(surface, edge_id)
    if edge is None:
        refuse(f"{surface.name} has no edge {edge_id}.")
    if not inset_mm >= 0:
        refuse(f"A channel lies 0 mm or more inside an edge, not {inset_mm:g} mm.")
    (ax, ay), (bx, by) = edge
    size = hypot(bx - ax, by - ay)
    if size < SHORTEST_MM:
        refuse(f"Edge {edge_id} of {surface.name} is only {size:.0f} mm long.")
    # Counter-clockwise outlines have their inside on the left of each edge.
    ux, uy = (bx - ax) / size, (by - ay) / size
    far = sum(abs(x) + abs(y) for x, y in outline_of(surface)) + 1.0
    foot = (ax - uy * inset_mm, ay + ux * inset_mm)
    line = ((foot[0] - ux * far, foot[1] - uy * far), (foot[0] + ux * far, foot[1] + uy * far))
    middle = (foot[0] + ux * size / 2, foot[1] + uy * size / 2)
    found = [s.points for s in clip(line, outline_of(surface), surface.holes) if _holds(s.points, middle)]
    if not found:
        refuse(f"{surface.name} has no room {inset_mm:g} mm inside edge {edge_id}.")
    return found[0][0], found[0][-1]


def along_edge(
    plan: Plan, surface_id: str, edge_id: str, inset_mm: float = BESIDE_MM, **fields: Any
) -> tuple[Plan, tuple[str, ...]]:
    """Channel along an edge of a surface, `inset_mm` inside it, from one neighbouring edge to the other."""
    return draw_run(plan, surface_id, edge_line(plan, surface_id, edge_id, inset_mm), **fields)


def route_by(plan: Plan, circuit_id: str, stop_id: str | None, node_ids: Sequence[str]) -> Plan:
    """Route this way: the legs of a circuit (or of one stop) pass these nodes in this order; none sets them free."""
    circuit = get(plan, "circuits", circuit_id)
    for node in node_ids:
        get(plan, "nodes", node)
    if stop_id is not None and all(stop.id != stop_id for stop in circuit.stops[1:]):
        refuse(f"Circuit “{circuit.name}” does not lead to {stop_id}.")
    stops = tuple(
        replaced(stop, waypoints=tuple(node_ids)) if stop.role != "source" and stop_id in (None, stop.id) else stop
        for stop in circuit.stops
    )
    return put(plan, "circuits", replaced(circuit, stops=stops))


__all__ = [
    "along_edge",
    "along_rib",
    "belt_line",
    "belt_runs",
    "draw_run",
    "edge_line",
    "joined_crossings",
    "rib_line",
    "route_by",
]
