"""Where things are and what has to be moved to get at them, for those who look for them years later."""

from collections.abc import Iterator

from core.analysis.analysis import Analysis
from core.geometry.joints import node_places
from core.geometry.polygon import inside
from core.model import InPenetration, Place, Point
from core.tables.names import Names, device_words
from core.tables.spots import view_of
from core.tables.table import Cell, Column, Table
from core.text import mm

#: Devices somebody has to find again.
TO_FIND = frozenset({"battery", "fuse", "fuse_block", "panelboard", "bus_bar", "rcd", "shunt", "switch", "shore_inlet",
                     "inverter", "charger", "converter"})  # fmt: skip
OPEN = "open to the hand"


def reach_words(analysis: Analysis, surface: str, at_mm: Point) -> str:
    """What is in the way of a hand, from the room inwards: boards over the place, boxes round it."""
    plan = analysis.plan
    told = [f"unscrew {panel.name}" for panel in plan.panels
            if panel.surface == surface and len(panel.outline) > 2 and inside(panel.outline, (), at_mm)]  # fmt: skip
    for box in plan.boxes:
        on_it = box.surface == surface and len(box.outline) > 2 and inside(box.outline, (), at_mm)
        if not on_it and surface not in box.faces:
            continue
        hatches = ", ".join(f"{hatch.side} {hatch.width_mm:.0f} × {hatch.height_mm:.0f}" for hatch in box.hatches)
        if hatches:
            told.append(f"{box.name}: hatch {hatches}")
        elif not box.fixed:
            told.append(f"take out {box.name}")
        else:
            told.append(f"{box.name} is FIXED and has no hatch")
    return "; ".join(told) or OPEN


def place_words(analysis: Analysis, surface: str, at_mm: Point) -> str:
    """A place by its surface and its distances from two edges."""
    row = analysis.surfaces.get(surface)
    view = view_of(analysis, row) if row is not None else None
    if row is None or view is None:
        return surface
    a_mm, b_mm = view.measured(at_mm)
    return f"{row.name}: {mm(a_mm)} from the {view.a.name}, {mm(b_mm)} from the {view.b.name}"


def _small_parts(analysis: Analysis) -> Iterator[tuple[str, str, str, Point, str]]:
    """(kind, name, surface, place, access in the owner's words) of splices, connectors and earth points."""
    groups: tuple[tuple[str, tuple[tuple[str, Place, str], ...]], ...] = (
        ("splice", tuple((row.name or row.id, row.place, row.access) for row in analysis.plan.splices)),
        ("connector", tuple((row.name or row.id, row.place, row.access) for row in analysis.plan.connectors)),
    )
    holes = {row.id: row for row in analysis.plan.penetrations}
    for kind, rows in groups:
        for name, place, access in rows:
            if isinstance(place, InPenetration):
                hole = holes.get(place.penetration)
                if hole is not None:
                    yield kind, name, hole.a, hole.a_mm, access
                continue
            spot = next(iter(node_places(analysis.sheet.joints, place)), None)
            if spot is not None:
                yield kind, name, spot.surface, spot.point, access
    for point in analysis.plan.earth_points:
        yield "chassis bond", point.name or point.id, point.surface, point.at_mm, point.access


def where_to_find(analysis: Analysis) -> Table:
    """Fuses, batteries, switches and chargers, then splices, connectors and bonds: where, and what is in the way."""
    rows: list[tuple[Cell, ...]] = [
        (device_words(device.kind), device.name, place_words(analysis, device.surface, device.at_mm),
         reach_words(analysis, device.surface, device.at_mm))
        for device in analysis.plan.devices
        if device.kind in TO_FIND
    ]  # fmt: skip
    for kind, name, surface, at_mm, access in _small_parts(analysis):
        told = reach_words(analysis, surface, at_mm)
        rows.append((kind, name, place_words(analysis, surface, at_mm),
                     f"{access}; {told}" if access and told != OPEN else access or told))  # fmt: skip
    return Table(
        name="where-to-find",
        title="Where it is and how to reach it",
        columns=(
            Column(key="kind", title="kind", weight=0.9),
            Column(key="name", title="what", weight=2.0, important=True),
            Column(key="place", title="where", weight=3.2),
            Column(key="reach", title="how to reach it", weight=3.0),
        ),
        rows=tuple(rows),
    )


def spare_ducts(analysis: Analysis) -> Table:
    """Ducts left for later, with their ends."""
    names = Names(analysis.plan)

    def end(node: str) -> str:
        spots = analysis.node_spots[node].spots
        return place_words(analysis, *spots[0]) if spots else names(node)

    rows: list[tuple[Cell, ...]] = []
    for channel in analysis.plan.channels:
        if not channel.spare_duct:
            continue
        bore = channel.bore
        size = None if bore is None else f"{bore.width_mm:g}" + (f" × {bore.height_mm:g}" if bore.height_mm else "")
        length = analysis.paths[channel.id].length_mm
        name = channel.name or channel.id
        rows.append((name, size, length, channel.draw_string, end(channel.start), end(channel.end)))
    return Table(
        name="spare-ducts",
        title="Spare ducts",
        columns=(
            Column(key="name", title="duct", weight=1.4, important=True),
            Column(key="bore", title="bore, mm", weight=0.7),
            Column(key="length_mm", title="length", kind="mm", weight=0.7),
            Column(key="string", title="string in it", kind="tick", weight=0.6),
            Column(key="start", title="from", weight=3.0),
            Column(key="end", title="to", weight=3.0),
        ),
        rows=tuple(rows),
    )
