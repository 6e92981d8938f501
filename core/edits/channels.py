"""Draw, split, join channels; move their nodes and via points; securing points, pass-throughs, state of wires."""

from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

from core.edits.change import add, get, made, new_id, new_ids, put, refuse, replaced, title
from core.edits.network import (
    add_node,
    channel_length_mm,
    channel_line,
    channel_lines,
    dissolve_node,
    nearest_channel,
    nearest_node,
    place_at,
    split_channel,
    spots_of,
    tape_mm,
)
from core.edits.surfaces import check_within
from core.geometry.foldout import lay_out
from core.geometry.joints import Joints, join
from core.geometry.plane import Point, Polyline, crossings, distance_mm, length_mm
from core.geometry.stroke import Piece, StrokePieces, cut_stroke
from core.model import (
    Channel,
    Node,
    OnLine,
    PassThrough,
    Place,
    Plan,
    SecuringPoint,
    SeparationGroup,
    Surface,
)
from core.model.channels import WireState

__all__ = [
    "add_measured_channel",
    "add_node",
    "add_pass_through",
    "add_securing_point",
    "check_along",
    "cut",
    "delete_via",
    "dissolve_node",
    "draw_channel",
    "end_node",
    "insert_via",
    "join_crossing",
    "merge_nodes",
    "move_node",
    "move_node_to",
    "move_securing_point",
    "move_via",
    "set_groups",
    "set_wires_state",
    "split",
    "unjoined_crossings",
]

#: An end drawn this near to a node or a channel joins it.
JOIN_MM = 10.0
#: A channel shorter than this is a slip of the hand.
SHORTEST_MM = 1.0


def cut(plan: Plan, points_on_sheet: Sequence[Point], start_surface: str | None = None) -> StrokePieces:
    """What a stroke on the sheet would become: its pieces, and in words where it stops. Changes nothing."""
    return cut_stroke(join(plan.surfaces, plan.seams), lay_out(plan.surfaces), tuple(points_on_sheet), start_surface)


def draw_channel(
    plan: Plan,
    points_on_sheet: Sequence[Point],
    start_surface: str | None = None,
    join_mm: float = JOIN_MM,
    **fields: Any,
) -> tuple[Plan, tuple[str, ...]]:
    """Draw channel: a stroke in mm of the sheet, cut at folds into one channel per surface, with nodes between.

    Ends within `join_mm` of a node join it; within `join_mm` of a channel they split it (a junction). `fields` are
    those of a channel (kind, groups, bore ...) and hold for every piece. Where the stroke leaves every surface it
    stops; `cut` says why. Gives the new channels in the order drawn.
    """
    pieces = cut(plan, points_on_sheet, start_surface)
    long = [piece for piece in pieces.pieces if length_mm(piece.points) >= SHORTEST_MM]
    if not long:
        refuse(pieces.message or "A channel needs two points that lie apart.")
    joints = join(plan.surfaces, plan.seams)
    old = frozenset(channel.id for channel in plan.channels)
    plan, start = _end_node(plan, joints, long[0].surface, long[0].points[0], join_mm)
    ends = []
    for piece, following in zip(long, (*long[1:], None), strict=True):
        if following is None:
            new = frozenset(channel.id for channel in plan.channels) - old
            plan, end = _end_node(plan, joints, piece.surface, piece.points[-1], join_mm, but=new)
        else:
            plan, end = _node_between(plan, joints, piece, following)
        ends.append((start, piece, end))
        start = end
    kept = [(a, piece, b) for a, piece, b in ends if a != b or len(piece.points) > 3]
    if not kept:
        refuse("The channel would start and end at the same node.")
    fresh = new_ids(plan, "channels", len(kept))
    channels = [
        made(Channel, id=channel_id, start=a, end=b, surface=piece.surface, via_mm=piece.points[1:-1], **fields)
        for channel_id, (a, piece, b) in zip(fresh, kept, strict=True)
    ]
    return add(plan, "channels", *channels), fresh


def _end_node(
    plan: Plan, joints: Joints, surface_id: str, point: Point, join_mm: float, but: frozenset[str] = frozenset()
) -> tuple[Plan, str]:
    """The node at an end of a stroke: one near by, or one that splits a channel near by, or a new one."""
    near = nearest_node(plan, joints, surface_id, point, join_mm)
    if near is not None:
        return plan, near
    found = nearest_channel(plan, joints, surface_id, point, join_mm, lambda channel: channel.id not in but)
    if found is not None:
        plan, node_id, _ = split_channel(plan, found.channel.id, found.at_mm, joints)
        return plan, node_id
    return add_node(plan, place_at(joints.surface(surface_id), point))


def end_node(plan: Plan, surface_id: str, point: Point, join_mm: float = JOIN_MM) -> tuple[Plan, str]:
    """The node for an end at a point of a surface: one near by, one that splits a channel near by, else a new one."""
    check_within(get(plan, "surfaces", surface_id), (point,), "The end")
    return _end_node(plan, join(plan.surfaces, plan.seams), surface_id, point, join_mm)


def _node_between(plan: Plan, joints: Joints, piece: Piece, following: Piece) -> tuple[Plan, str]:
    """The node where a stroke passes a fold: on the edge of either surface, so that it follows the fold."""
    here, there = piece.points[-1], following.points[0]
    near = nearest_node(plan, joints, piece.surface, here, SHORTEST_MM)
    if near is not None and any(
        spot.surface == following.surface for spot in spots_of(plan, joints, get(plan, "nodes", near).place)
    ):
        return plan, near
    place = place_at(joints.surface(piece.surface), here)
    if not isinstance(place, OnLine):
        other = place_at(joints.surface(following.surface), there)
        place = other if isinstance(other, OnLine) else place
    return add_node(plan, place)


def add_measured_channel(
    plan: Plan, start: str, end: str, length_mm: float, name: str = "", kind: str = "void", **fields: Any
) -> tuple[Plan, str]:
    """Add measured channel between two nodes: its length is typed from the tape, its way is not drawn."""
    get(plan, "nodes", start)
    get(plan, "nodes", end)
    if start == end:
        refuse("A channel needs two different nodes.")
    if not length_mm > 0:
        refuse(f"A channel must be longer than 0 mm; {length_mm:g} mm is not.")
    fresh = new_id(plan, "channels")
    channel = made(
        Channel, id=fresh, name=name, start=start, end=end, measured_mm=float(length_mm), kind=kind, **fields
    )
    return add(plan, "channels", channel), fresh


def split(plan: Plan, channel_id: str, at_mm: float) -> tuple[Plan, str]:
    """Split channel with a node `at_mm` from its start; the half at the start keeps the id. Gives the node."""
    plan, node_id, _ = split_channel(plan, channel_id, at_mm)
    return plan, node_id


def move_node(plan: Plan, node_id: str, place: Place) -> Plan:
    """Move node. Every channel that ends there must still have it on its surface."""
    node: Node = get(plan, "nodes", node_id)
    moved = replaced(node, place=place)
    if moved is node:
        return plan
    joints = join(plan.surfaces, plan.seams)
    spots = spots_of(plan, joints, place)
    if not spots:
        refuse(f"The {title('nodes', node)} cannot lie there: the plan has no such surface or edge.")
    for spot in spots[:1]:
        surface = joints.surface(spot.surface)
        check_within(surface, (spot.point,), f"The {title('nodes', node)}")
    on = {spot.surface for spot in spots}
    for channel in plan.channels:
        if node_id in (channel.start, channel.end) and channel.surface is not None and channel.surface not in on:
            surface = joints.surface(channel.surface)
            refuse(f"The {title('channels', channel)} runs on {surface.name}; its end cannot lie off it.")
        if node_id in (channel.start, channel.end) and channel.wires != "planned":
            refuse(f"The wires in {title('channels', channel)} are {channel.wires}; its ends do not move.")
    return put(plan, "nodes", moved)


def move_node_to(plan: Plan, node_id: str, surface_id: str, at_mm: Point) -> Plan:
    """Move node to a point of a surface; near an edge it comes to lie on the edge, and so on the surface beyond."""
    surface: Surface = get(plan, "surfaces", surface_id)
    return move_node(plan, node_id, place_at(surface, at_mm))


def move_via(plan: Plan, channel_id: str, index: int, to_mm: Point) -> Plan:
    """Move via point of a channel, counted from 0 at its start."""
    channel = _drawn_channel(plan, channel_id)
    _check_via(channel, index)
    return _with_via(plan, channel, (*channel.via_mm[:index], to_mm, *channel.via_mm[index + 1 :]))


def insert_via(plan: Plan, channel_id: str, index: int, at_mm: Point) -> Plan:
    """Insert via point so that it becomes number `index`."""
    channel = _drawn_channel(plan, channel_id)
    if not 0 <= index <= len(channel.via_mm):
        refuse(f"The {title('channels', channel)} has {len(channel.via_mm)} via points; there is no place {index}.")
    return _with_via(plan, channel, (*channel.via_mm[:index], at_mm, *channel.via_mm[index:]))


def delete_via(plan: Plan, channel_id: str, index: int) -> Plan:
    """Delete via point: the channel runs straight on."""
    channel = _drawn_channel(plan, channel_id)
    _check_via(channel, index)
    return _with_via(plan, channel, (*channel.via_mm[:index], *channel.via_mm[index + 1 :]))


def _drawn_channel(plan: Plan, channel_id: str) -> Channel:
    channel: Channel = get(plan, "channels", channel_id)
    if channel.surface is None:
        refuse(f"The {title('channels', channel)} was measured, not drawn; it has no via points.")
    if channel.wires != "planned":
        refuse(f"The wires in {title('channels', channel)} are {channel.wires}; its way does not change.")
    return channel


def _check_via(channel: Channel, index: int) -> None:
    if not 0 <= index < len(channel.via_mm):
        refuse(f"The {title('channels', channel)} has no via point {index}.")


def _with_via(plan: Plan, channel: Channel, via_mm: Iterable[Point]) -> Plan:
    points = tuple((float(x), float(y)) for x, y in via_mm)
    assert channel.surface is not None
    check_within(get(plan, "surfaces", channel.surface), points, f"A point of {title('channels', channel)}")
    return put(plan, "channels", replaced(channel, via_mm=points))


def add_securing_point(plan: Plan, channel_id: str, at_mm: float, kind: str = "tie_mount") -> tuple[Plan, str]:
    """Add securing point on a channel, `at_mm` from its start."""
    channel: Channel = get(plan, "channels", channel_id)
    check_along(plan, channel, at_mm, "A securing point")
    fresh = new_id(plan, "securing_points")
    point = made(SecuringPoint, id=fresh, channel=channel_id, at_mm=float(at_mm), kind=kind)
    return add(plan, "securing_points", point), fresh


def move_securing_point(plan: Plan, point_id: str, at_mm: float) -> Plan:
    """Move securing point along its channel."""
    point: SecuringPoint = get(plan, "securing_points", point_id)
    check_along(plan, get(plan, "channels", point.channel), at_mm, "A securing point")
    return put(plan, "securing_points", replaced(point, at_mm=float(at_mm)))


def add_pass_through(
    plan: Plan,
    channel_id: str,
    at_mm: float,
    kind: str = "hole",
    hole_mm: float | None = None,
    protection: str = "none",
) -> tuple[Plan, str]:
    """Add pass-through: a hole, edge or gland that a channel passes, `at_mm` from its start."""
    channel: Channel = get(plan, "channels", channel_id)
    check_along(plan, channel, at_mm, "A pass-through")
    if hole_mm is not None and not hole_mm >= 0:
        refuse(f"A hole cannot be {hole_mm:g} mm wide.")
    fresh = new_id(plan, "pass_throughs")
    new = made(
        PassThrough, id=fresh, channel=channel_id, at_mm=float(at_mm), kind=kind, hole_mm=hole_mm, protection=protection
    )
    return add(plan, "pass_throughs", new), fresh


def check_along(plan: Plan, channel: Channel, at_mm: float, what: str) -> None:
    size_mm = channel_length_mm(plan, join(plan.surfaces, plan.seams), channel)
    if not 0 <= at_mm <= size_mm + 1e-6:
        refuse(f"{what} must lie on {title('channels', channel)}, 0 to {size_mm:.0f} mm; {at_mm:.0f} mm does not.")


def set_wires_state(plan: Plan, channel_ids: Iterable[str], state: WireState) -> Plan:
    """Set state of the wires in channels: planned, pulled or locked."""
    if state not in ("planned", "pulled", "locked"):
        refuse(f"Wires are planned, pulled or locked, not {state}.")
    return put(plan, "channels", *(replaced(get(plan, "channels", each), wires=state) for each in channel_ids))


def set_groups(plan: Plan, channel_ids: Iterable[str], groups: Iterable[SeparationGroup]) -> Plan:
    """Set separation groups that may use channels."""
    chosen = tuple(dict.fromkeys(groups))
    if not chosen:
        refuse("A channel must be open to one separation group at least.")
    return put(plan, "channels", *(replaced(get(plan, "channels", each), groups=chosen) for each in channel_ids))


def join_crossing(plan: Plan, a: str, b: str, near: Point | None = None) -> tuple[Plan, str]:
    """Join crossing: two channels that cross get a node there, both split. Gives the node.

    Of several crossings the one nearest to `near` (mm of their surface), else the first along a.
    """
    first: Channel = get(plan, "channels", a)
    second: Channel = get(plan, "channels", b)
    what = f"{title('channels', first)} and {title('channels', second)}"
    if a == b:
        refuse(f"The {title('channels', first)} cannot be joined with itself.")
    joints = join(plan.surfaces, plan.seams)
    a_line, b_line = channel_line(plan, joints, first), channel_line(plan, joints, second)
    if first.surface != second.surface or a_line is None or b_line is None:
        refuse(f"The {what} do not lie on one surface.")
    found = crossings(a_line, b_line)
    if not found:
        refuse(f"The {what} do not cross.")
    spot = found[0] if near is None else min(found, key=lambda crossing: distance_mm(crossing.point, near))
    node_id = None
    for channel, line, drawn_mm in ((first, a_line, spot.a_mm), (second, b_line, spot.b_mm)):
        at_mm = tape_mm(channel, line, drawn_mm)
        size_mm = channel.measured_mm if channel.measured_mm is not None else length_mm(line)
        end = channel.start if at_mm < SHORTEST_MM else channel.end if at_mm > size_mm - SHORTEST_MM else None
        if end is None:
            plan, node_id, _ = split_channel(plan, channel.id, at_mm, joints, node_id)
        elif node_id is None:
            node_id = end
        elif node_id != end:
            plan = merge_nodes(plan, node_id, end)
    assert node_id is not None
    return plan, node_id


class CrossedChannels(NamedTuple):
    """Two channels that cross and do not connect, and where, in mm of their surface."""

    a: str
    b: str
    surface: str
    point: Point


def unjoined_crossings(plan: Plan, channel_ids: Iterable[str]) -> tuple[CrossedChannels, ...]:
    """Where these channels cross others without a node: what drawing proposes to join."""
    joints = join(plan.surfaces, plan.seams)
    lines: dict[str, dict[str, Polyline]] = {}
    ends = {channel.id: {channel.start, channel.end} for channel in plan.channels}
    found = []
    done: set[str] = set()
    for channel_id in channel_ids:
        channel: Channel = get(plan, "channels", channel_id)
        done.add(channel_id)
        if channel.surface is None:
            continue
        if channel.surface not in lines:
            lines[channel.surface] = channel_lines(plan, joints, channel.surface)
        on_surface = lines[channel.surface]
        if channel_id not in on_surface:
            continue
        for other, line in on_surface.items():
            if other in done or ends[other] & ends[channel_id]:
                continue
            found += [
                CrossedChannels(channel_id, other, channel.surface, crossing.point)
                for crossing in crossings(on_surface[channel_id], line)
            ]
    return tuple(found)


def merge_nodes(plan: Plan, kept: str, gone: str) -> Plan:
    """Merge nodes: all that ends at one ends at the other. Used where both lie at one place."""
    get(plan, "nodes", kept)
    get(plan, "nodes", gone)
    if kept == gone:
        return plan
    swap = {gone: kept}
    changed = [
        replaced(channel, start=swap.get(channel.start, channel.start), end=swap.get(channel.end, channel.end))
        for channel in plan.channels
    ]
    plan = put(plan, "channels", *changed)
    for collection in ("devices", "earth_points"):
        records = getattr(plan, collection)
        plan = put(plan, collection, *(replaced(r, node=kept) for r in records if r.node == gone))
    circuits = []
    for circuit in plan.circuits:
        stops = tuple(
            replaced(stop, waypoints=tuple(swap.get(node, node) for node in stop.waypoints)) for stop in circuit.stops
        )
        circuits.append(circuit if stops == circuit.stops else replaced(circuit, stops=stops))
    plan = put(plan, "circuits", *circuits)
    return replaced(plan, nodes=tuple(node for node in plan.nodes if node.id != gone))
