"""Remedies for the sheet: overlaps, seams, folds, what does not lie on its surface, another version of the profile."""

from collections.abc import Iterable

from core.edits.change import get, made, put, refuse, replaced
from core.edits.devices import move_device
from core.edits.records import delete, set_field
from core.edits.surfaces import place_apart, propose_seams
from core.geometry.edges import outline_of
from core.geometry.foldout import lay_out
from core.geometry.plane import Point, between, nearest_on
from core.geometry.polygon import centre, point_in, ring
from core.model import Apart, Plan
from core.studies.remedies.remedy import Case, Remedy, Work, edit

#: Room left around a surface that is laid apart, and between a device's footprint and the edge of its surface (mm).
GAP_MM = 200.0


def profile_version(case: Case) -> Iterable[Remedy]:
    analysis = case.analysis
    known = analysis.profile

    def accept(plan: Plan) -> Plan:
        return replaced(plan, profile=replaced(plan.profile, version=known.version))

    own = len(analysis.plan.profile.changes)
    kept = f"; your {own} own limits stay" if own else ""
    yield Remedy(
        f"Accept {known.name} version {known.version}", accept, f"the limits of this version hold from now on{kept}"
    )


def overlap(case: Case) -> Iterable[Remedy]:
    finding, analysis = case.finding, case.analysis
    for surface_id in reversed(finding.subjects):
        surface = analysis.surfaces[surface_id]
        if surface.role == "floor" or surface is analysis.plan.surfaces[0]:
            continue

        def apart(plan: Plan, surface_id: str = surface_id) -> Plan:
            at_mm = free_place(plan, surface_id)
            record = get(plan, "surfaces", surface_id)
            if record.fold is None:  # not folded to anything yet, so it has no fold to leave
                return put(plan, "surfaces", replaced(record, apart=made(Apart, at_mm=at_mm)))
            return place_apart(plan, surface_id, at_mm)

        yield Remedy(
            f"Lay {surface.name} apart",
            apart,
            "its fold becomes a lettered seam on the sheet; lengths and the folded-up vehicle stay as they are",
        )


def free_place(plan: Plan, surface_id: str) -> Point:
    """Where a surface and what hangs on it lie free, below all others: the place of its own origin on the sheet."""
    layout = lay_out(plan.surfaces)
    own = [p.at_mm for p in get(plan, "surfaces", surface_id).corners]
    below = [
        layout.place(surface.id).to_sheet(corner.at_mm)
        for surface in plan.surfaces
        if surface.id in layout.laid and surface.id != surface_id
        for corner in surface.corners
    ]
    left = min((x for x, _ in below), default=0.0)
    low = min((y for _, y in below), default=0.0)
    reach = max(y for _, y in own)
    # Surfaces folded to it come along: leave as much room as all of them could need.
    hanging = sum(
        max(y for _, y in outline_of(s)) - min(y for _, y in outline_of(s))
        for s in plan.surfaces
        if s.fold is not None and s.fold.parent == surface_id and s.apart is None
    )
    return left - min(x for x, _ in own), low - GAP_MM - reach - hanging


def seam(case: Case) -> Iterable[Remedy]:
    finding, analysis = case.finding, case.analysis
    seam_id = finding.subjects[0]
    letter = analysis.sheet.seam_letters.get(seam_id, seam_id)
    yield Remedy(
        f"Match seam {letter} again",
        lambda plan: propose_seams(delete(plan, (seam_id,))[0]),
        "the edges are joined where they really meet in the folded-up vehicle",
    )
    yield Remedy(
        f"Take seam {letter} out",
        lambda plan: delete(plan, (seam_id,))[0],
        "nothing is said to meet there any more, and no bundle passes",
    )


def no_floor(case: Case) -> Iterable[Remedy]:
    analysis = case.analysis
    first = next((s for s in analysis.plan.surfaces if s.fold is None), None)
    if first is not None:
        yield Remedy(
            f"Make {first.name} the floor",
            lambda plan: set_field(plan, first.id, role="floor"),
            "it lies in the middle of the sheet already",
        )


def outline(case: Case) -> Iterable[Remedy]:
    """One corner that makes an outline cross itself can be found by leaving it out."""
    finding, analysis = case.finding, case.analysis
    surface = analysis.surfaces[finding.subjects[0]]
    for corner in surface.corners if len(surface.corners) > 3 else ():

        def without(plan: Plan, corner_id: str = corner.id) -> Plan:
            from core.edits.corners import delete_corner

            return delete_corner(plan, surface.id, corner_id)

        yield Remedy(f"Delete corner {corner.id} of {surface.name}", without, "the outline goes round once without it")


def channel_place(case: Case) -> Iterable[Remedy]:
    finding, analysis = case.finding, case.analysis
    channel = analysis.channels[finding.subjects[0]]
    word = analysis.word(channel.id)
    spots = [analysis.node_spots.get(node) for node in (channel.start, channel.end)]
    both = [{s for s, _ in spot.spots} if spot is not None else set() for spot in spots]
    for surface_id in sorted(both[0] & both[1]):

        def onto(plan: Plan, surface_id: str = surface_id) -> Plan:
            return put(plan, "channels", replaced(get(plan, "channels", channel.id), surface=surface_id, via_mm=()))

        yield Remedy(
            f"Run {word} on {analysis.word(surface_id)}", onto, "straight between its nodes, which both lie there"
        )
    yield Remedy(f"Delete {word}", lambda plan: delete(plan, (channel.id,))[0], "wires look for another way")


def device_outside(case: Case) -> Iterable[Remedy]:
    finding, analysis = case.finding, case.analysis
    device = analysis.devices[finding.subjects[0]]
    surface = analysis.surfaces[device.surface]
    edge = outline_of(surface)
    near = nearest_on(ring(edge), device.at_mm).point
    middle = centre(edge)

    def inside(plan: Plan) -> Plan:
        room = min(max(device.width_mm, device.height_mm) / 2, GAP_MM)
        away = max(1.0, ((middle[0] - near[0]) ** 2 + (middle[1] - near[1]) ** 2) ** 0.5)
        at = between(near, middle, min(1.0, room / away))
        if not point_in(edge, at):
            refuse(f"There is no place for {device.name} near the edge of {surface.name}.")
        return move_device(plan, device.id, surface.id, at)

    yield Remedy(f"Move {device.name} onto {surface.name}", inside, "just inside the edge that is nearest to it")


def device_opening(case: Case) -> Iterable[Remedy]:
    """Beside the opening, on the nearest side that has room."""
    analysis = case.analysis
    device = analysis.devices[case.finding.subjects[0]]
    surface = analysis.surfaces[device.surface]
    opening = next(each for each in analysis.plan.openings if each.id == case.finding.subjects[1])
    xs, ys = zip(*opening.outline, strict=True)
    x, y = device.at_mm
    away = max(device.width_mm, device.height_mm) / 2 + GAP_MM
    sides = ((min(xs) - away, y), (max(xs) + away, y), (x, min(ys) - away), (x, max(ys) + away))
    others = [each.outline for each in analysis.plan.openings if each.surface == surface.id]
    free = [p for p in sides if point_in(outline_of(surface), p) and not any(point_in(o, p) for o in others)]
    for at in sorted(free, key=lambda p: abs(p[0] - x) + abs(p[1] - y))[:1]:
        yield Remedy(
            f"Move {device.name} beside {opening.name}",
            edit(move_device, device.id, surface.id, at),
            "to the nearest side that has room for it",
        )


REMEDIES: dict[str, Work] = {
    "profile.version": profile_version,
    "sheet.overlap": overlap,
    "seam.open": seam,
    "surface.no_floor": no_floor,
    "surface.outline": outline,
    "channel.place": channel_place,
    "device.opening": device_opening,
    "device.outside": device_outside,
}
