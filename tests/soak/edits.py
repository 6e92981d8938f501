"""Random work with the real edits: what a person could do next, chosen by a random number generator."""

import random
from collections.abc import Callable
from typing import Any

from core.edits import body, channels, circuits, devices, records
from core.edits.body import draw_floor
from core.edits.deleting import delete
from core.errors import EditRefused
from core.files.library import load_library
from core.geometry.foldout import lay_out
from core.model import Plan, Point, Surface
from core.model import records as all_records

LIBRARY = load_library()
ROLES = ("hole", "edge", "gland")
WAYS_TO_LEAN = (80.0, 90.0, 95.0)
Edit = Callable[[Plan, random.Random], Plan]


class NothingToDo(Exception):
    """The plan has nothing this edit could work on."""


def one(rng: random.Random, rows: Any) -> Any:
    if not rows:
        raise NothingToDo
    return rng.choice(rows)


def inside(rng: random.Random, surface: Surface) -> Point:
    """A point of the bounding box, mostly on the surface."""
    xs, ys = [c.at_mm[0] for c in surface.corners], [c.at_mm[1] for c in surface.corners]
    return round(rng.uniform(min(xs), max(xs)), 1), round(rng.uniform(min(ys), max(ys)), 1)


def rectangle(rng: random.Random, surface: Surface) -> tuple[Point, ...]:
    (x, y), wide, high = inside(rng, surface), rng.uniform(50, 800), rng.uniform(50, 800)
    return (x, y), (x + wide, y), (x + wide, y + high), (x, y + high)


def on_sheet(plan: Plan, rng: random.Random) -> Point:
    surface = one(rng, plan.surfaces)
    return lay_out(plan.surfaces).place(surface.id).to_sheet(inside(rng, surface))


def floor(plan: Plan, rng: random.Random) -> Plan:
    if plan.surfaces:
        raise NothingToDo
    long, wide = rng.uniform(1_500, 5_000), rng.uniform(1_000, 2_200)
    return draw_floor(plan, ((0, 0), (long, 0), (long, wide), (0, wide)))[0]


def wall(plan: Plan, rng: random.Random) -> Plan:
    if len(plan.surfaces) > 12:
        raise NothingToDo
    surface = one(rng, plan.surfaces)
    return body.raise_wall(
        plan, surface.id, one(rng, surface.corners).id, rng.uniform(300, 2_000), lean_deg=rng.choice(WAYS_TO_LEAN)
    )[0]


def corner(plan: Plan, rng: random.Random) -> Plan:
    surface = one(rng, plan.surfaces)
    at = one(rng, surface.corners)
    match rng.randrange(4):
        case 0:
            return body.insert_corner(plan, surface.id, at.id, rng.uniform(10, 500))[0]
        case 1:
            return body.delete_corner(plan, surface.id, at.id)
        case 2:
            return body.set_edge_length(plan, surface.id, at.id, rng.uniform(100, 4_000))
    x, y = at.at_mm
    return body.move_corner(plan, surface.id, at.id, (x + rng.uniform(-200, 200), y + rng.uniform(-200, 200)))


def fold(plan: Plan, rng: random.Random) -> Plan:
    surface = one(rng, plan.surfaces)
    match rng.randrange(4):
        case 0:
            return body.set_fold_deg(plan, surface.id, rng.uniform(-120, 120))
        case 1:
            return body.place_apart(plan, surface.id, (rng.uniform(-5_000, 5_000), 4_000.0), rng.choice((0.0, 90.0)))
        case 2:
            return body.refold(plan, surface.id, one(rng, plan.seams).id)
    return body.propose_seams(plan)


def drawn(plan: Plan, rng: random.Random) -> Plan:
    surface = one(rng, plan.surfaces)
    outline = rectangle(rng, surface)
    match rng.randrange(7):
        case 0:
            return body.draw_box(plan, surface.id, outline, rng.uniform(50, 900))[0]
        case 1:
            return body.draw_opening(plan, surface.id, outline)[0]
        case 2:
            return body.draw_zone(plan, surface.id, outline, rng.choice(("hot", "wet", "moving", "airbag")))[0]
        case 3:
            return body.draw_panel(plan, surface.id, outline)[0]
        case 4:
            return body.draw_rib(plan, surface.id, (inside(rng, surface), inside(rng, surface)), rng.uniform(20, 90))[0]
        case 5:
            return body.draw_metal_edge(plan, surface.id, (inside(rng, surface), inside(rng, surface)))[0]
    return body.add_dimension(plan, surface.id, inside(rng, surface), inside(rng, surface))[0]


def faces(plan: Plan, rng: random.Random) -> Plan:
    if len(plan.surfaces) > 12:
        raise NothingToDo
    return body.raise_faces(plan, one(rng, plan.boxes).id)[0]


def stroke(plan: Plan, rng: random.Random) -> Plan:
    points = [on_sheet(plan, rng) for _ in range(rng.randint(2, 4))]
    return channels.draw_channel(plan, points)[0]


def measured(plan: Plan, rng: random.Random) -> Plan:
    a, b = one(rng, plan.nodes), one(rng, plan.nodes)
    return channels.add_measured_channel(plan, a.id, b.id, rng.uniform(100, 4_000))[0]


def bent(plan: Plan, rng: random.Random) -> Plan:
    channel = one(rng, plan.channels)
    surface = next((s for s in plan.surfaces if s.id == channel.surface), None)
    at = inside(rng, surface) if surface is not None else (0.0, 0.0)
    last = len(channel.via_mm)
    match rng.randrange(4):
        case 0:
            return channels.insert_via(plan, channel.id, rng.randint(0, last), at)
        case 1:
            return channels.move_via(plan, channel.id, rng.randint(0, last), at)
        case 2:
            return channels.delete_via(plan, channel.id, rng.randint(0, last))
    return channels.split(plan, channel.id, rng.uniform(0, 2_000))[0]


def node(plan: Plan, rng: random.Random) -> Plan:
    moved, surface = one(rng, plan.nodes), one(rng, plan.surfaces)
    if rng.random() < 0.2:
        return channels.merge_nodes(plan, moved.id, one(rng, plan.nodes).id)
    return channels.move_node_to(plan, moved.id, surface.id, inside(rng, surface))


def along(plan: Plan, rng: random.Random) -> Plan:
    channel = one(rng, plan.channels)
    match rng.randrange(5):
        case 0:
            return channels.add_securing_point(plan, channel.id, rng.uniform(0, 1_500))[0]
        case 1:
            return channels.add_pass_through(plan, channel.id, rng.uniform(0, 1_500), rng.choice(ROLES))[0]
        case 2:
            return channels.set_wires_state(plan, [channel.id], rng.choice(("planned", "pulled", "locked")))
        case 3:
            return channels.set_groups(plan, [channel.id], rng.sample(("dc_power", "mains", "signal", "antenna"), 2))
    return channels.join_crossing(plan, channel.id, one(rng, plan.channels).id)[0]


def device(plan: Plan, rng: random.Random) -> Plan:
    surface = one(rng, plan.surfaces)
    return devices.place_device(plan, one(rng, LIBRARY.devices), surface.id, inside(rng, surface))[0]


def moved(plan: Plan, rng: random.Random) -> Plan:
    it, surface = one(rng, plan.devices), one(rng, plan.surfaces)
    match rng.randrange(5):
        case 0:
            return devices.turn_device(plan, it.id, rng.uniform(-360, 360))
        case 1:
            return devices.duplicate(plan, it.id, (rng.uniform(-300, 300), rng.uniform(-300, 300)))[0]
        case 2:
            return devices.array(plan, it.id, inside(rng, surface), rng.randint(2, 4))[0]
    return devices.move_device(plan, it.id, surface.id, inside(rng, surface))


def joined(plan: Plan, rng: random.Random) -> Plan:
    return devices.connect_to_nearest(plan, one(rng, plan.devices).id)[0]


def circuit(plan: Plan, rng: random.Random) -> Plan:
    source = one(rng, plan.devices)
    loads = [one(rng, plan.devices).id for _ in range(rng.randint(1, 2))]
    way = rng.choice([None, *(w.id for w in source.ways)])
    return circuits.connect(plan, source.id, way, loads, library=LIBRARY)[0]


def changed_circuit(plan: Plan, rng: random.Random) -> Plan:
    it, load = one(rng, plan.circuits), one(rng, plan.devices)
    match rng.randrange(5):
        case 0:
            return circuits.add_load(plan, it.id, load.id)[0]
        case 1:
            return circuits.add_switch(plan, it.id, load.id)[0]
        case 2:
            return circuits.remove_stop(plan, it.id, one(rng, it.stops).id)
        case 3:
            return circuits.set_section(plan, it.id, rng.choice((None, 1.5, 2.5, 6.0)))
    return circuits.set_protective(plan, it.id, rating_a=rng.choice((None, 5.0, 10.0, 30.0)))


def named(plan: Plan, rng: random.Random) -> Plan:
    _, record = one(rng, list(all_records(plan)))
    return records.rename(plan, record.id, rng.choice(("", "Küche", "x" * 150, "=1+1", "line\nbreak")))


def assumed(plan: Plan, rng: random.Random) -> Plan:
    if rng.random() < 0.3:
        return records.set_plan(plan, name=rng.choice(("Van", "Bus", "日本語")))
    return records.set_assumptions(plan, ambient_c=rng.uniform(10, 60), lay_factor=rng.uniform(1, 1.3))


def waived(plan: Plan, rng: random.Random) -> Plan:
    if plan.waivers and rng.random() < 0.4:
        return records.unwaive(plan, one(rng, plan.waivers).id)
    return records.waive(plan, "route.none", [one(rng, plan.circuits).id], "seen")[0]


def deleted(plan: Plan, rng: random.Random) -> Plan:
    rows = [record.id for _, record in all_records(plan)]
    return delete(plan, {one(rng, rows) for _ in range(rng.randint(1, 2))})[0]


#: Every kind of work with its weight: what is drawn often comes often.
EDITS: tuple[tuple[Edit, int], ...] = (
    (floor, 30), (wall, 12), (corner, 4), (fold, 3), (drawn, 8), (faces, 4), (stroke, 14), (measured, 2), (bent, 6),
    (node, 6), (along, 6), (device, 14), (moved, 8), (joined, 12), (circuit, 14), (changed_circuit, 8), (named, 3),
    (assumed, 2), (waived, 1), (deleted, 5),
)  # fmt: skip


def next_plan(plan: Plan, rng: random.Random, tries: int = 20) -> tuple[str, Plan]:
    """(name of the edit, plan after it). Edits that are refused are tried again with others; the same plan at last."""
    edits, weights = zip(*EDITS, strict=True)
    for _ in range(tries):
        (edit,) = rng.choices(edits, weights)
        try:
            return edit.__name__, edit(plan, rng)
        except (EditRefused, NothingToDo):
            continue
    return "nothing", plan
