"""Wiring that somebody adjusts before it is done: circuits from one distribution point as rows that can be changed.

`planned` gives the rows of a proposal, the functions here change them, `wire_as` makes a plan of them.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from core.analysis.analysis import Analysis
from core.analysis.engine import Analyser
from core.edits.change import free_name, get, refuse
from core.edits.circuits import connect, free_ways
from core.edits.forms import star
from core.files.library import Library
from core.model import Device, Plan
from core.studies.difference import difference
from core.studies.proposals import Group, Proposal, chain_and_star, unwired
from core.studies.remedies.routing import joined
from core.studies.ways import rough_a


@dataclass(frozen=True)
class Planned:
    """A circuit to be made: its loads, the way it leaves by, "chain" or "star", and why it was proposed so."""

    name: str
    devices: tuple[str, ...]
    way: str | None
    form: str = "chain"
    why: str = ""


Rows = tuple[Planned, ...]


def planned(proposal: Proposal) -> Rows:
    """The circuits of a proposal, to be adjusted."""
    return tuple(Planned(g.name, g.devices, g.way, g.form, g.why) for g in proposal.groups)


def moved_load(rows: Rows, device: str, to: int | None) -> Rows:
    """A load moved into another row, or out of all (None). A row that lost its last load goes."""
    found = []
    for number, row in enumerate(rows):
        rest = tuple(each for each in row.devices if each != device)
        if number == to:
            rest = (*rest, device)
        if rest:
            found.append(row if rest == row.devices else replace(row, devices=rest, why="by hand"))
    return tuple(found)


def parted_load(plan: Plan, source_id: str, rows: Rows, device: str) -> Rows:
    """A load taken into a circuit of its own, on the first way that no row uses. Refuses where there is none."""
    used = {row.way for row in rows}
    way = next((w.id for w in free_ways(plan, source_id) if w.id not in used), None)
    if way is None:
        refuse(f"“{get(plan, 'devices', source_id).name}” has no free way left for a circuit more.")
    name: str = get(plan, "devices", device).name
    others = moved_load(rows, device, None)
    return (*others, Planned(free_name(name, (row.name for row in others)), (device,), way, why="by hand"))


def on_way(rows: Rows, number: int, way: str) -> Rows:
    """A row on another way; the row that had it changes places."""
    old = rows[number].way
    return tuple(
        replace(row, way=way) if index == number else replace(row, way=old) if row.way == way else row
        for index, row in enumerate(rows)
    )


def wire_as(analysis: Analysis, source_id: str, rows: Sequence[Planned], library: Library) -> Proposal:
    """Wire these circuits to a distribution point. Changes nothing itself; the loads in no row are told as left out.

    Devices whose wires join no channel yet join the nearest. Refuses (EditRefused) a way used twice and what
    `connect` refuses.
    """
    source: Device = get(analysis.plan, "devices", source_id)
    taken = [row.way for row in rows if row.way is not None]
    twice = next((way for way in taken if taken.count(way) > 1), None)
    if twice is not None:
        refuse(f"Way {twice} of “{source.name}” is given to two circuits.")
    mine = [device for row in rows for device in row.devices]
    plan = analysis.plan
    for each in (source.id, *mine):
        plan = joined(plan, each)
    analyser = Analyser(library)
    ready = analyser.analyse(plan, "quick")
    groups = []
    for row in rows:
        loads = [ready.devices[device] for device in row.devices]
        order, chain_mm, star_mm = chain_and_star(ready, ready.devices[source_id], loads)
        plan, circuit = connect(plan, source_id, row.way, order, row.name, library=library)
        if row.form == "star" and len(order) > 1:
            plan = star(plan, circuit)
        current = sum(rough_a(load) for load in loads)
        groups.append(Group(row.name, order, row.way, current, chain_mm, star_mm, row.form, row.why))
    left_out = tuple(
        (device.id, "left out") for device in unwired(analysis.plan, source.electrical.system) if device.id not in mine
    )
    return Proposal(plan, tuple(groups), left_out, difference(analysis, analyser.analyse(plan, "quick")))
