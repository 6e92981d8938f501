"""Move, turn, mirror, copy and array whatever is drawn. Places are those of the sheet, so that a selection on several
surfaces moves as it is seen; each thing stays on its own surface.
"""

from collections.abc import Iterable, Sequence
from math import isfinite
from typing import Any

from core.edits.change import add, find_any, free_name, get, new_ids, put, refuse, replaced, title
from core.edits.dimensions import attached
from core.edits.faces import faces_follow
from core.edits.network import node_on, place_at
from core.edits.surfaces import check_within, place_apart
from core.errors import EditRefused
from core.geometry.foldout import Layout, lay_out
from core.geometry.joints import join
from core.geometry.motion import Motion, mirror, shift, turn
from core.geometry.plane import Placement, Point, Segment
from core.geometry.polygon import centre
from core.model import Channel, Plan

OUTLINED = frozenset({"boxes", "openings", "zones", "panels", "moving_parts"})
LINED = frozenset({"ribs", "metal_edges"})
POINTED = frozenset({"devices", "earth_points", "pictures"})
#: What can be copied: records that stand for themselves.
COPIED = (OUTLINED - {"moving_parts"}) | LINED | POINTED | {"dimensions"}
MOST_COPIES = 1_000
NO_COPY = {"node": None, "faces": ()}


def move(plan: Plan, record_ids: Iterable[str], by_sheet_mm: Point) -> Plan:
    """Move drawn things by a distance on the sheet: the same edit for a drag, a typed distance and a nudge."""
    return _moved(plan, record_ids, shift(_finite(by_sheet_mm)))


def turn_about(plan: Plan, record_ids: Iterable[str], about_sheet_mm: Point, turn_deg: float) -> Plan:
    """Turn drawn things about a point of the sheet, counter-clockwise."""
    return _moved(plan, record_ids, turn(_finite(about_sheet_mm), turn_deg))


def mirror_at(plan: Plan, record_ids: Iterable[str], line_sheet_mm: Segment) -> Plan:
    """Mirror drawn things at a line of the sheet."""
    return _moved(plan, record_ids, _mirror(line_sheet_mm))


def copy_by(plan: Plan, record_ids: Iterable[str], by_sheet_mm: Point) -> tuple[Plan, tuple[str, ...]]:
    """Copy drawn things; the copies lie `by_sheet_mm` away, with fresh names, connected to nothing."""
    return copies(plan, record_ids, (shift(_finite(by_sheet_mm)),))


def mirror_copy(plan: Plan, record_ids: Iterable[str], line_sheet_mm: Segment) -> tuple[Plan, tuple[str, ...]]:
    """Copy drawn things mirrored at a line of the sheet."""
    return copies(plan, record_ids, (_mirror(line_sheet_mm),))


def array_along(
    plan: Plan, record_ids: Iterable[str], step_sheet_mm: Point, count: int
) -> tuple[Plan, tuple[str, ...]]:
    """Array: `count` of each in all, each a step from the one before. Gives the new ones."""
    _check_count(count)
    x, y = _finite(step_sheet_mm)
    return copies(plan, record_ids, tuple(shift((x * k, y * k)) for k in range(1, count)))


def array_grid(
    plan: Plan, record_ids: Iterable[str], across: tuple[Point, int], up: tuple[Point, int]
) -> tuple[Plan, tuple[str, ...]]:
    """Array in two directions, each a step and a count."""
    ((ax, ay), a_count), ((bx, by), b_count) = across, up
    if a_count < 1 or b_count < 1 or a_count * b_count < 2:
        refuse("An array needs two at least.")
    _check_count(a_count * b_count)
    steps = [(ax * i + bx * j, ay * i + by * j) for j in range(b_count) for i in range(a_count) if i or j]
    return copies(plan, record_ids, tuple(shift(_finite(step)) for step in steps))


def array_round(
    plan: Plan, record_ids: Iterable[str], about_sheet_mm: Point, count: int, step_deg: float
) -> tuple[Plan, tuple[str, ...]]:
    """Array about a point: `count` of each in all, turned by `step_deg` from one to the next."""
    _check_count(count)
    return copies(plan, record_ids, tuple(turn(_finite(about_sheet_mm), step_deg * k) for k in range(1, count)))


def copies(plan: Plan, record_ids: Iterable[str], motions: Sequence[Motion]) -> tuple[Plan, tuple[str, ...]]:
    """Copies of records, one for each motion of the sheet. All or nothing."""
    layout = lay_out(plan.surfaces)
    found = [find_any(plan, record_id) for record_id in dict.fromkeys(record_ids)]
    for collection, record in found:
        if collection not in COPIED:
            refuse(f"The {title(collection, record)} cannot be copied.")
    new_ones: list[str] = []
    for collection, record in found:
        fresh = new_ids(plan, collection, len(motions))
        names = {each.name for each in getattr(plan, collection)} if hasattr(record, "name") else set()
        made = []
        for motion, fresh_id in zip(motions, fresh, strict=True):
            changes: dict[str, Any] = {"id": fresh_id}
            if getattr(record, "name", ""):
                changes["name"] = free_name(record.name, names)
                names.add(changes["name"])
            changes |= {field: value for field, value in NO_COPY.items() if hasattr(record, field)}
            made.append(replaced(_of_record(plan, layout, collection, record, motion), **changes))
        plan = add(plan, collection, *made)
        new_ones += fresh
    return plan, tuple(new_ones)


def _finite(p: Point) -> Point:
    if not all(isfinite(value) for value in p):
        refuse("A distance must be a number.")
    return p


def _check_count(count: int) -> None:
    if count < 2:
        refuse("An array needs two at least.")
    if count > MOST_COPIES:
        refuse(f"An array of {count} is more than one vehicle can hold.")


def _mirror(line: Segment) -> Motion:
    try:
        return mirror(line)
    except ValueError as error:
        raise EditRefused(f"The line cannot be used: {error}.") from None


def _moved(plan: Plan, record_ids: Iterable[str], motion: Motion) -> Plan:
    layout = lay_out(plan.surfaces)
    ids = tuple(dict.fromkeys(record_ids))
    found = [find_any(plan, record_id) for record_id in ids]
    # Nodes first: a channel whose ends move along takes its vias with it once.
    nodes = {record.id for collection, record in found if collection == "nodes"}
    for collection, record in found:
        if collection == "channels":
            nodes |= _own_nodes(plan, record, ids)
    for collection, record in found:
        if collection == "surfaces":
            plan = _moved_surface(plan, layout, record.id, motion)
        elif collection == "channels":
            plan = _moved_vias(plan, layout, record, motion)
        elif collection != "nodes":
            new = _of_record(plan, layout, collection, record, motion)
            plan = put(plan, collection, new)
            if collection == "boxes" and record.faces:
                plan = faces_follow(plan, record, _on(layout, record.surface, motion))
    return _moved_nodes(plan, layout, nodes, motion)


def _on(layout: Layout, surface: str, motion: Motion) -> Motion:
    if surface not in layout.laid:
        refuse("What lies on a surface without a place on the sheet cannot be moved there.")
    return motion.on(layout.place(surface))


def _of_record(plan: Plan, layout: Layout, collection: str, record: Any, motion: Motion) -> Any:
    """The record moved on its surface. Refuses one that would leave it, and what does not move by itself."""
    what = f"The {title(collection, record)}"
    if collection not in OUTLINED | LINED | POINTED | {"dimensions"}:
        refuse(f"{what} does not move by itself; move what it lies on.")
    surface = get(plan, "surfaces", record.surface)
    here = _on(layout, surface.id, motion)
    if collection == "dimensions":
        # Moved by hand it measures what it measured no more: it lets go.
        now = attached(plan, record)
        changes: dict[str, Any] = {"from_mm": here.at(now.from_mm), "to_mm": here.at(now.to_mm)}
        changes |= {"from_on": None, "to_on": None}
        if here.flip:
            changes["offset_mm"] = -record.offset_mm
        return replaced(record, **changes)
    if collection in OUTLINED:
        changes = {"outline": _tidy(here.area(record.outline))}
        check_within(surface, changes["outline"], what)
        if collection == "moving_parts" and record.axis_mm is not None:
            changes["axis_mm"] = _tidy(here.line(record.axis_mm))
        return replaced(record, **changes)
    if collection in LINED:
        changes = {"line_mm": _tidy(here.line(record.line_mm))}
        check_within(surface, changes["line_mm"], what)
        return replaced(record, **changes)
    return _of_point(surface, record, collection, here, what)


def _of_point(surface: Any, record: Any, collection: str, here: Motion, what: str) -> Any:
    if collection == "pictures" and here.flip:
        refuse(f"{what} cannot be mirrored; its text would be.")
    at = _tidy((here.at(record.at_mm),))[0]
    if collection != "pictures":
        check_within(surface, (at,), what)
    changes: dict[str, Any] = {"at_mm": at}
    if hasattr(record, "turn_deg"):
        # A mirrored device is not mirrored itself: it stands where its image would, turned as its image.
        old = -record.turn_deg if here.flip else record.turn_deg
        changes["turn_deg"] = round((old + here.turn_deg) % 360.0, 6)
    return replaced(record, **changes)


def _tidy(points: Sequence[Point]) -> tuple[Point, ...]:
    """Without the noise of a turn."""
    return tuple((round(x, 6) + 0.0, round(y, 6) + 0.0) for x, y in points)


def _moved_surface(plan: Plan, layout: Layout, surface_id: str, motion: Motion) -> Plan:
    """A surface that lies apart gets another place on the sheet; nothing in the vehicle moves."""
    surface = get(plan, "surfaces", surface_id)
    if surface.apart is None:
        refuse(f"{surface.name} lies beside what it is folded to. Lay it apart to give it a place of its own.")
    if motion.flip:
        refuse(f"{surface.name} cannot be mirrored: it would be seen from the wrong side.")
    place: Placement = layout.place(surface_id)
    x, y = motion.at((place.x_mm, place.y_mm))
    return place_apart(plan, surface_id, (round(x, 6), round(y, 6)), round(place.turn_deg + motion.turn_deg, 6))


def _own_nodes(plan: Plan, channel: Channel, ids: Sequence[str]) -> set[str]:
    """Ends of a channel that move with it: those that no channel outside the selection uses."""
    others = [each for each in plan.channels if each.id not in ids and each.id != channel.id]
    used = {node for each in others for node in (each.start, each.end)}
    used |= {device.node for device in plan.devices if device.node is not None and device.id not in ids}
    return {node for node in (channel.start, channel.end) if node not in used}


def _moved_vias(plan: Plan, layout: Layout, channel: Channel, motion: Motion) -> Plan:
    if channel.surface is None:
        refuse(f"The {title('channels', channel)} was measured, not drawn; it has no place to move from.")
    if channel.wires != "planned":
        refuse(f"The wires in {title('channels', channel)} are {channel.wires}; its way does not change.")
    points = _tidy(_on(layout, channel.surface, motion).line(channel.via_mm))
    check_within(get(plan, "surfaces", channel.surface), points, f"A point of {title('channels', channel)}")
    return put(plan, "channels", replaced(channel, via_mm=points))


def _moved_nodes(plan: Plan, layout: Layout, nodes: Iterable[str], motion: Motion) -> Plan:
    from core.edits.channels import move_node

    joints = join(plan.surfaces, plan.seams)
    for node_id in sorted(nodes):
        node = get(plan, "nodes", node_id)
        used = sorted(
            {c.surface for c in plan.channels if node_id in (c.start, c.end) and c.surface is not None}
        )  # fmt: skip
        for surface_id in (*used, *(surface.id for surface in plan.surfaces)):
            at = node_on(plan, joints, node, surface_id)
            if at is not None:
                surface = get(plan, "surfaces", surface_id)
                there = _tidy((_on(layout, surface_id, motion).at(at),))[0]
                check_within(surface, (there,), f"The {title('nodes', node)}")
                plan = move_node(plan, node_id, place_at(surface, there))
                break
        else:
            refuse(f"The {title('nodes', node)} lies on no surface; it cannot be moved on the sheet.")
    return plan


def middle_of(plan: Plan, record_ids: Iterable[str]) -> Point:
    """The middle of records on the sheet: the point to turn about where nobody says another one."""
    layout = lay_out(plan.surfaces)
    points: list[Point] = []
    for record_id in record_ids:
        collection, record = find_any(plan, record_id)
        surface = record.id if collection == "surfaces" else getattr(record, "surface", None)
        if surface is None or surface not in layout.laid:
            continue
        place = layout.place(surface)
        if collection == "surfaces":
            points.append(place.to_sheet(centre(tuple(corner.at_mm for corner in record.corners))))
        for field in ("outline", "line_mm"):
            points += [place.to_sheet(p) for p in getattr(record, field, ())]
        if hasattr(record, "at_mm"):
            points.append(place.to_sheet(record.at_mm))
    if not points:
        refuse("None of this has a place on the sheet.")
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
