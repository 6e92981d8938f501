"""What the pointer may snap to: the named edges and lines of a plan on the sheet, and what a new thing may be in line
with."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from core.edits.network import channel_lines
from core.geometry.edges import outline_of
from core.geometry.entry import entry_point
from core.geometry.foldout import Layout, lay_out
from core.geometry.joints import Joints, join
from core.geometry.nearby import Nearby
from core.geometry.plane import Placement, Point, Segment, length_mm
from core.model import Plan, records

#: What an outline without a name is called, by its collection.
UNNAMED = {"boxes": "box", "openings": "opening", "zones": "keep-out zone", "panels": "panel", "moving_parts": "part"}
#: More points than this on one surface are a crowd: nothing is in line with anything on purpose.
MOST_ALIGNED = 200


@dataclass(frozen=True)
class Named:
    """A stretch on the sheet and what it belongs to, in words: "Floor edge", "rib 3", "Side door"."""

    line: Segment
    thing: str
    surface: str
    #: The record it is a line of.
    record: str


@dataclass(frozen=True)
class Ground:
    """Of one plan: its sheet, and the lines and points a pointer may snap to, in mm of the sheet."""

    plan: Plan
    layout: Layout
    joints: Joints

    @cached_property
    def kinds(self) -> dict[str, str]:
        """The collection of each record, by its id."""
        return {record.id: collection for collection, record in records(self.plan)}

    @cached_property
    def segments(self) -> dict[str, Named]:
        return {str(number): each for number, each in enumerate(_segments(self.plan, self.layout, self.joints))}

    @cached_property
    def lines(self) -> Nearby:
        return Nearby({each: named.line for each, named in self.segments.items()})

    @cached_property
    def aligned(self) -> dict[str, tuple[tuple[Point, str, str], ...]]:
        """By surface: middles of devices and corners of outlines, with names and ids of what they belong to."""
        found: dict[str, list[tuple[Point, str, str]]] = {}
        for surface, point, name, record in _alignments(self.plan):
            if surface in self.layout.laid:
                found.setdefault(surface, []).append((self.layout.place(surface).to_sheet(point), name, record))
        return {surface: tuple(points[:MOST_ALIGNED]) for surface, points in found.items()}

    def near(self, at: Point, within_mm: float, most: int = 40) -> tuple[Named, ...]:
        """The stretches within reach of a point, the nearest first."""
        return tuple(self.segments[one.id] for one in self.lines.within(at, within_mm)[:most])

    def edge_near(self, at: Point, within_mm: float) -> Named | None:
        """The nearest stretch with a length."""
        return next((each for each in self.near(at, within_mm) if length_mm(each.line) > 1.0), None)


def ground_of(plan: Plan) -> Ground:
    return Ground(plan, lay_out(plan.surfaces), join(plan.surfaces, plan.seams))


def rib_names(plan: Plan) -> dict[str, str]:
    """The names of ribs; those without one are counted along their surface: "rib 3"."""
    names: dict[str, str] = {}
    for surface in plan.surfaces:
        on_it = [rib for rib in plan.ribs if rib.surface == surface.id]
        on_it.sort(key=lambda rib: (min(x for x, _ in rib.line_mm), min(y for _, y in rib.line_mm)))
        for number, rib in enumerate(on_it, start=1):
            names[rib.id] = rib.name or f"rib {number}"
    return names


def _segments(plan: Plan, layout: Layout, joints: Joints) -> Iterator[Named]:
    def laid(record: str, surface: str, points: tuple[Point, ...], thing: str, closed: bool = False) -> Iterator[Named]:
        if surface in layout.laid:
            place: Placement = layout.place(surface)
            on_sheet = [place.to_sheet(point) for point in (*points, *(points[:1] if closed else ()))]
            for a, b in zip(on_sheet, on_sheet[1:], strict=False):
                yield Named((a, b), thing, surface, record)

    for surface in plan.surfaces:
        yield from laid(surface.id, surface.id, outline_of(surface), f"{surface.name} edge", closed=True)
        for hole in surface.holes:
            yield from laid(surface.id, surface.id, hole, f"hole in {surface.name}", closed=True)
    for collection in ("boxes", "openings", "zones", "panels"):
        for thing in getattr(plan, collection):
            yield from laid(thing.id, thing.surface, thing.outline, thing.name or UNNAMED[collection], closed=True)
    ribs = rib_names(plan)
    for rib in plan.ribs:
        yield from laid(rib.id, rib.surface, rib.line_mm, ribs.get(rib.id, "rib"))
    for edge in plan.metal_edges:
        yield from laid(edge.id, edge.surface, edge.line_mm, edge.name or "metal edge")
    channels = {channel.id: channel for channel in plan.channels}
    for channel_id, line in channel_lines(plan, joints).items():
        channel = channels[channel_id]
        if channel.surface is not None:
            yield from laid(channel_id, channel.surface, tuple(line), channel.name or "channel")
    for device in plan.devices:
        entry = entry_point(device)
        yield from laid(device.id, device.surface, (entry, entry), device.name)


def _alignments(plan: Plan) -> Iterator[tuple[str, Point, str, str]]:
    for device in plan.devices:
        yield device.surface, device.at_mm, device.name, device.id
    for point in plan.earth_points:
        yield point.surface, point.at_mm, point.name or "earth point", point.id
    for collection in ("boxes", "openings", "panels"):
        for thing in getattr(plan, collection):
            for corner in thing.outline:
                yield thing.surface, corner, thing.name, thing.id
