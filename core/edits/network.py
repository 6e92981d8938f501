"""Where nodes and channels lie, and the splitting of channels: shared by the edits of channels and devices."""

from collections.abc import Callable, Mapping
from typing import NamedTuple

from core.edits.change import add, get, listed, made, new_id, put, put_all, refuse, replaced, take_out, title
from core.geometry.edges import edge_at, point_on_edge
from core.geometry.joints import SAME_PLACE_MM, Joints, Spot, join, meeting_places, node_places
from core.geometry.plane import (
    SAME_MM,
    Nearest,
    Point,
    Polyline,
    along_mm,
    distance_mm,
    length_mm,
    nearest_on,
    point_at,
)
from core.model import AsPulled, Channel, InPenetration, Node, OnLine, OnSurface, Place, Plan, Surface

#: A new node this near to an edge lies on the edge, so that it is on the surface beyond as well.
ON_EDGE_MM = 0.5


class Near(NamedTuple):
    """A channel near a point: its line, the nearest point of it, how far along the channel that is, and how far off."""

    channel: Channel
    line: Polyline
    point: Point
    at_mm: float
    distance_mm: float


def spots_of(plan: Plan, joints: Joints, place: Place) -> tuple[Spot, ...]:
    """Every surface and point at which a place lies, its own first."""
    if isinstance(place, InPenetration):
        hole = next((each for each in plan.penetrations if each.id == place.penetration), None)
        if hole is None:
            return ()
        found = (*meeting_places(joints, hole.a, hole.a_mm), *meeting_places(joints, hole.b, hole.b_mm))
        return tuple(dict.fromkeys(found))
    return node_places(joints, place)


def node_on(plan: Plan, joints: Joints, node: Node, surface_id: str, near: Point | None = None) -> Point | None:
    """The point of a surface at which a node lies, of several the one nearest to `near`; None when there is none."""
    points = [spot.point for spot in spots_of(plan, joints, node.place) if spot.surface == surface_id]
    if not points:
        return None
    return points[0] if near is None else min(points, key=lambda point: distance_mm(point, near))


def channel_line(
    plan: Plan, joints: Joints, channel: Channel, nodes: Mapping[str, Node] | None = None
) -> Polyline | None:
    """The points of a channel on its surface; None for a measured one without surface, or when an end is not on it."""
    if channel.surface is None:
        return None
    by_id = nodes if nodes is not None else {node.id: node for node in plan.nodes}
    start, end = by_id[channel.start], by_id[channel.end]
    after = channel.via_mm[0] if channel.via_mm else None
    before = channel.via_mm[-1] if channel.via_mm else None
    first = node_on(plan, joints, start, channel.surface, after)
    last = node_on(plan, joints, end, channel.surface, before if before is not None else first)
    if first is None or last is None:
        return None
    return (first, *channel.via_mm, last)


def channel_lines(plan: Plan, joints: Joints, surface_id: str | None = None) -> dict[str, Polyline]:
    """The lines of all channels that have one, of one surface or of all."""
    nodes = {node.id: node for node in plan.nodes}
    found = {}
    for channel in plan.channels:
        if surface_id is None or channel.surface == surface_id:
            line = channel_line(plan, joints, channel, nodes)
            if line is not None:
                found[channel.id] = line
    return found


def channel_length_mm(plan: Plan, joints: Joints, channel: Channel) -> float:
    """Typed from the tape where it was, else drawn. Refuses a channel that has neither."""
    if channel.measured_mm is not None:
        return channel.measured_mm
    line = channel_line(plan, joints, channel)
    if line is None:
        refuse(f"The {title('channels', channel)} has no length: its ends do not lie on its surface.")
    return length_mm(line)


def tape_mm(channel: Channel, line: Polyline, drawn_mm: float) -> float:
    """Millimetres along the drawn line as millimetres of the channel, which count where its length was typed."""
    return drawn_mm if channel.measured_mm is None else drawn_mm * channel.measured_mm / length_mm(line)


def place_at(surface: Surface, point: Point) -> Place:
    """The place of a new node: on the edge when the point is at one, else on the surface."""
    edge = edge_at(surface, point, ON_EDGE_MM)
    if edge is not None:
        return made(OnLine, surface=surface.id, edge=edge[0], at_mm=max(edge[1], 0.0))
    return made(OnSurface, surface=surface.id, at_mm=(float(point[0]), float(point[1])))


def add_node(plan: Plan, place: Place, name: str = "") -> tuple[Plan, str]:
    """Add node at a place."""
    fresh = new_id(plan, "nodes")
    return add(plan, "nodes", made(Node, id=fresh, name=name, place=place)), fresh


def split_channel(
    plan: Plan, channel_id: str, at_mm: float, joints: Joints | None = None, node_id: str | None = None
) -> tuple[Plan, str, str]:
    """Split channel `at_mm` from its start: (plan, node between, id of the half at the end).

    The half at the start keeps the id. Securing points, pass-throughs, typed and covered lengths and as-pulled routes
    are shared out. `node_id` names a node that is there already; else one is made.
    """
    channel: Channel = get(plan, "channels", channel_id)
    joints = join(plan.surfaces, plan.seams) if joints is None else joints
    line = channel_line(plan, joints, channel)
    if line is None:
        refuse(f"The {title('channels', channel)} cannot be split: it is not drawn on a surface.")
    drawn_mm = length_mm(line)
    size_mm = channel.measured_mm if channel.measured_mm is not None else drawn_mm
    if not SAME_MM < at_mm < size_mm - SAME_MM:
        refuse(f"The {title('channels', channel)} is {size_mm:.0f} mm long; it cannot be split at {at_mm:.0f} mm.")
    share = at_mm / size_mm
    at_drawn = drawn_mm * share
    if node_id is None:
        assert channel.surface is not None
        plan, node_id = add_node(plan, place_at(joints.surface(channel.surface), point_at(line, at_drawn)))
    else:
        get(plan, "nodes", node_id)
    second = new_id(plan, "channels")
    lengths = along_mm(line)
    inner = list(zip(line[1:-1], lengths[1:-1], strict=True))
    measured = channel.measured_mm
    first_half = replaced(
        channel,
        end=node_id,
        via_mm=tuple(p for p, at in inner if at < at_drawn - SAME_MM),
        measured_mm=None if measured is None else measured * share,
        covered_mm=channel.covered_mm * share,
    )
    second_half = replaced(
        channel,
        id=second,
        start=node_id,
        via_mm=tuple(p for p, at in inner if at > at_drawn + SAME_MM),
        measured_mm=None if measured is None else measured * (1 - share),
        covered_mm=channel.covered_mm * (1 - share),
    )
    after = []
    for each in plan.channels:
        after += [first_half, second_half] if each.id == channel_id else [each]
    pulled = tuple(_rerouted(record, channel, second, plan) for record in plan.as_pulled)
    plan = put_all(plan, "channels", after)
    plan = put_all(plan, "as_pulled", pulled)
    for collection in ("securing_points", "pass_throughs"):
        moved = [
            replaced(record, channel=second, at_mm=max(record.at_mm - at_mm, 0.0))
            for record in getattr(plan, collection)
            if record.channel == channel_id and record.at_mm > at_mm
        ]
        plan = put(plan, collection, *moved)
    return plan, node_id, second


def _rerouted(record: AsPulled, channel: Channel, second: str, plan: Plan) -> AsPulled:
    """The route of a pulled wire over both halves, in the direction it took the whole."""
    if channel.id not in record.channels:
        return record
    ends = {each.id: (each.start, each.end) for each in plan.channels}
    route: list[str] = []
    for index, here in enumerate(record.channels):
        if here != channel.id:
            route.append(here)
            continue
        before = ends.get(record.channels[index - 1], ()) if index else ()
        after = ends.get(record.channels[index + 1], ()) if index + 1 < len(record.channels) else ()
        backward = channel.end in before or (not before and channel.start in after)
        route += [second, channel.id] if backward else [channel.id, second]
    return replaced(record, channels=tuple(route))


def dissolve_node(plan: Plan, node_id: str) -> Plan:
    """Dissolve node: the two like channels of one surface that meet there become one; the first keeps its id.

    The other way round from splitting. Refused where anything else uses the node.
    """
    node: Node = get(plan, "nodes", node_id)
    what = title("nodes", node)
    ends: list[Channel] = [channel for channel in plan.channels if node_id in (channel.start, channel.end)]
    if len(ends) != 2 or ends[0].surface is None or ends[0].surface != ends[1].surface:
        refuse(f"The {what} does not join two channels of one surface; it cannot be dissolved.")
    users = [device.name for device in plan.devices if device.node == node_id]
    users += [circuit.name for circuit in plan.circuits for stop in circuit.stops if node_id in stop.waypoints]
    users += [point.name or point.id for point in plan.earth_points if point.node == node_id]
    if users:
        refuse(f"The {what} is used by {listed(users)}; it cannot be dissolved.")
    a, b = ends
    own = {"id": "", "name": "", "start": a.start, "end": a.end, "via_mm": (), "measured_mm": None, "covered_mm": 0.0}
    if replaced(a, **own) != replaced(b, **own):
        refuse(f"The {title('channels', a)} and {title('channels', b)} are not alike; they cannot become one.")
    return _rejoined(plan, node, a, b)


def _rejoined(plan: Plan, node: Node, a: Channel, b: Channel) -> Plan:
    joints = join(plan.surfaces, plan.seams)
    sizes = {each.id: channel_length_mm(plan, joints, each) for each in (a, b)}
    a_first = a.end == node.id
    backward = b.end == node.id if a_first else b.start == node.id
    b_via = b.via_mm[::-1] if backward else b.via_mm
    far = b.start if b.end == node.id else b.end
    assert a.surface is not None
    point = node_on(plan, joints, node, a.surface, a.via_mm[-1 if a_first else 0] if a.via_mm else None)
    middle = () if point is None else (point,)
    measured = a.measured_mm is not None or b.measured_mm is not None
    whole = replaced(
        a,
        start=a.start if a_first else far,
        end=far if a_first else a.end,
        via_mm=(*a.via_mm, *middle, *b_via) if a_first else (*b_via, *middle, *a.via_mm),
        measured_mm=sizes[a.id] + sizes[b.id] if measured else None,
        covered_mm=a.covered_mm + b.covered_mm,
    )
    straight = channel_line(plan, joints, replaced(whole, via_mm=tuple(p for p in whole.via_mm if p not in middle)))
    if straight is not None and not measured and abs(length_mm(straight) - sizes[a.id] - sizes[b.id]) < SAME_MM:
        whole = replaced(whole, via_mm=straight[1:-1])
    for collection in ("securing_points", "pass_throughs"):
        moved = []
        for record in getattr(plan, collection):
            if record.channel == b.id:
                at_mm = sizes[b.id] - record.at_mm if backward else record.at_mm
                moved.append(replaced(record, channel=a.id, at_mm=at_mm + sizes[a.id] if a_first else at_mm))
            elif record.channel == a.id and not a_first:
                moved.append(replaced(record, at_mm=record.at_mm + sizes[b.id]))
        plan = put(plan, collection, *moved)
    pulled = []
    for entry in plan.as_pulled:
        if b.id in entry.channels:
            route = [a.id if each == b.id else each for each in entry.channels]
            route = [each for each, before in zip(route, (None, *route), strict=False) if each != before]
            pulled.append(replaced(entry, channels=tuple(route)))
    plan = put(put(plan, "as_pulled", *pulled), "channels", whole)
    return take_out(take_out(plan, "channels", {b.id}), "nodes", {node.id})


def nearest_channel(
    plan: Plan,
    joints: Joints,
    surface_id: str,
    point: Point,
    within_mm: float,
    allowed: Callable[[Channel], bool] = lambda _: True,
) -> Near | None:
    """The allowed channel on a surface nearest to a point within reach."""
    nodes = {node.id: node for node in plan.nodes}
    best: tuple[float, Channel, Polyline, Nearest] | None = None
    for channel in plan.channels:
        if channel.surface != surface_id or not allowed(channel):
            continue
        reach_mm = within_mm if best is None else best[0]
        if _out_of_reach(joints, channel, nodes, point, reach_mm):
            continue
        line = channel_line(plan, joints, channel, nodes)
        if line is None:
            continue
        found = nearest_on(line, point)
        if found.distance_mm <= within_mm and (best is None or found.distance_mm < best[0]):
            best = (found.distance_mm, channel, line, found)
    if best is None:
        return None
    distance, channel, line, found = best
    return Near(channel, line, found.point, tape_mm(channel, line, found.along_mm), distance)


def _out_of_reach(joints: Joints, channel: Channel, nodes: Mapping[str, Node], point: Point, reach_mm: float) -> bool:
    """Whether a look at the box around a channel shows that it is too far away; unknown counts as near.

    While somebody draws, thousands of channels are asked at every step of the mouse.
    """
    points = [*channel.via_mm]
    for end in (channel.start, channel.end):
        own = _own_spot(joints, nodes[end].place)
        if own is None or own[0] != channel.surface:
            return False
        points.append(own[1])
    x, y = point
    return (
        all(p[0] < x - reach_mm for p in points)
        or all(p[0] > x + reach_mm for p in points)
        or all(p[1] < y - reach_mm for p in points)
        or all(p[1] > y + reach_mm for p in points)
    )


def _own_spot(joints: Joints, place: Place) -> tuple[str, Point] | None:
    """The surface and point a place itself names; None for a penetration or an edge that is not there."""
    if isinstance(place, OnSurface):
        return place.surface, place.at_mm
    if isinstance(place, OnLine) and place.surface in joints.surfaces:
        point = point_on_edge(joints.surface(place.surface), place.edge, place.at_mm)
        return None if point is None else (place.surface, point)
    return None


def nearest_node(plan: Plan, joints: Joints, surface_id: str, point: Point, within_mm: float) -> str | None:
    """The node on a surface nearest to a point within reach."""
    around: dict[str, list[Point]] = {surface_id: [point]}
    # A node named by another surface lies on this one only at a joint.
    for joint in joints.of(surface_id):
        near = nearest_on(joint.a_line, point)
        if near.distance_mm <= within_mm:
            for spot in meeting_places(joints, surface_id, near.point):
                around.setdefault(spot.surface, []).append(spot.point)
    reach_mm = 2 * within_mm + SAME_PLACE_MM
    best: tuple[float, str] | None = None
    for node in plan.nodes:
        place = node.place
        if not isinstance(place, InPenetration):
            points = around.get(place.surface)
            if points is None or (own := _own_spot(joints, place)) is None:
                continue
            if not any(distance_mm(spot, own[1]) <= reach_mm for spot in points):
                continue
        at = node_on(plan, joints, node, surface_id, point)
        if at is not None and (away := distance_mm(at, point)) <= within_mm and (best is None or away < best[0]):
            best = (away, node.id)
    return None if best is None else best[1]
