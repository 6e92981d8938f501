"""What a tool looks at: the committed plan, where it lies on the sheet, what the pointer may snap to, and units."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import cast

from app.session import Session
from app.settings import Settings
from app.tools.events import PointerEvent
from core.edits.network import channel_lines
from core.files.library import Library
from core.geometry.edges import outline_of
from core.geometry.entry import entry_point
from core.geometry.foldout import Layout, lay_out
from core.geometry.joints import Joints, join
from core.geometry.nearby import Nearby
from core.geometry.plane import Placement, Segment
from core.geometry.snap import Snap, Targets, snap
from core.geometry.stroke import surfaces_at
from core.model import Device, Plan, Point, Surface
from core.units import LengthUnit, read_length_mm, show_length

#: How far from the pointer a thing is still meant.
SNAP_PX = 10.0


@dataclass(frozen=True)
class _Ground:
    """Of one plan: its sheet, and the lines and points a pointer may snap to, in mm of the sheet."""

    surfaces: tuple[Surface, ...]
    plan: Plan
    layout: Layout
    joints: Joints
    lines: Nearby
    segments: dict[str, Segment]


class Desk:
    """Read access for tools. Everything is derived from the committed plan and kept as long as that plan lasts."""

    def __init__(self, session: Session, settings: Callable[[], Settings]) -> None:
        self.session = session
        self._settings = settings
        self._ground: _Ground | None = None

    @property
    def plan(self) -> Plan:
        return self.session.plan

    @property
    def library(self) -> Library:
        return self.session.library

    @property
    def layout(self) -> Layout:
        return self._here().layout

    @property
    def joints(self) -> Joints:
        return self._here().joints

    # --- lengths in the person's unit --------------------------------------------------------------------------------

    @property
    def unit(self) -> LengthUnit:
        return cast(LengthUnit, self._settings().length_unit)

    def read_mm(self, text: str) -> float:
        """Raises UnitProblem."""
        return read_length_mm(text, self.unit)

    def show_mm(self, length_mm: float) -> str:
        if self.unit == "in":
            return show_length(length_mm, "ft_in")
        if self.unit == "cm":
            return f"{length_mm / 10:.1f}".removesuffix(".0") + " cm"
        return show_length(round(length_mm, 1), "mm")

    # --- places ------------------------------------------------------------------------------------------------------

    def surface(self, surface_id: str) -> Surface:
        return next(surface for surface in self.plan.surfaces if surface.id == surface_id)

    def place(self, surface_id: str) -> Placement:
        return self.layout.place(surface_id)

    def spot(self, sheet_mm: Point) -> tuple[str, Point] | None:
        """Surface and point on it under a point of the sheet; None beside all surfaces."""
        return next(iter(self.spots(sheet_mm)), None)

    def spots(self, sheet_mm: Point) -> tuple[tuple[str, Point], ...]:
        """All surfaces under a point of the sheet; at a fold there are two."""
        return tuple(
            (surface, self.place(surface).to_local(sheet_mm))
            for surface in surfaces_at(self.joints, self.layout, sheet_mm)
        )

    def to_sheet(self, surface_id: str, point: Point) -> Point:
        return self.place(surface_id).to_sheet(point)

    def outline_on_sheet(self, surface_id: str) -> tuple[Point, ...]:
        place = self.place(surface_id)
        return tuple(place.to_sheet(point) for point in outline_of(self.surface(surface_id)))

    def entry_on_sheet(self, device: Device) -> Point:
        return self.to_sheet(device.surface, entry_point(device))

    def stepped(self, size_mm: float) -> float:
        """A distance rounded to the grid, where snapping is on."""
        settings = self._settings()
        return round(size_mm / settings.grid_mm) * settings.grid_mm if settings.snap else size_mm

    # --- snapping ----------------------------------------------------------------------------------------------------

    def snapped(
        self, event: PointerEvent, from_point: Point | None = None, aligned_to: tuple[Point, ...] = ()
    ) -> tuple[Point, str]:
        """The point meant by the pointer and the word for it; Alt suspends."""
        settings = self._settings()
        if not settings.snap or "alt" in event.modifiers:
            return event.sheet_mm, ""
        radius = SNAP_PX * event.mm_per_pixel
        ground = self._here()
        near = tuple(ground.segments[one.id] for one in ground.lines.within(event.sheet_mm, radius)[:40])
        targets = Targets(
            segments=near, grid_mm=settings.grid_mm, from_point=from_point, aligned_to=aligned_to, points=aligned_to
        )
        found: Snap | None = snap(event.sheet_mm, targets, radius)
        if found is None:
            # The grid holds even where its pitch is wider than the reach of the pointer.
            pitch = settings.grid_mm
            x, y = event.sheet_mm
            return (round(x / pitch) * pitch, round(y / pitch) * pitch), ""
        return found.point, "" if found.word == "grid" else found.word

    def _here(self) -> _Ground:
        plan = self.plan
        if self._ground is None or self._ground.plan is not plan:
            self._ground = _ground(plan)
        return self._ground


def _ground(plan: Plan) -> _Ground:
    layout, joints = lay_out(plan.surfaces), join(plan.surfaces, plan.seams)
    segments = {str(number): segment for number, segment in enumerate(_segments(plan, layout, joints))}
    return _Ground(plan.surfaces, plan, layout, joints, Nearby(segments), segments)


def _segments(plan: Plan, layout: Layout, joints: Joints) -> Iterator[Segment]:
    for surface in plan.surfaces:
        if surface.id in layout.laid:
            yield from _closed(layout.place(surface.id), outline_of(surface))
    for collection in (plan.boxes, plan.openings, plan.zones, plan.panels):
        for thing in collection:
            if thing.surface in layout.laid:
                yield from _closed(layout.place(thing.surface), thing.outline)
    for surface_id, points in (
        *((rib.surface, rib.line_mm) for rib in plan.ribs),
        *((edge.surface, edge.line_mm) for edge in plan.metal_edges),
    ):
        if surface_id in layout.laid:
            yield from _open(layout.place(surface_id), points)
    surfaces = {channel.id: channel.surface for channel in plan.channels}
    for channel, line in channel_lines(plan, joints).items():
        on = surfaces[channel]
        if on is not None and on in layout.laid:
            yield from _open(layout.place(on), line)
    for device in plan.devices:
        if device.surface in layout.laid:
            place, entry = layout.place(device.surface), entry_point(device)
            yield place.to_sheet(entry), place.to_sheet(entry)


def _open(place: Placement, points: tuple[Point, ...]) -> Iterator[Segment]:
    on_sheet = [place.to_sheet(point) for point in points]
    yield from zip(on_sheet, on_sheet[1:], strict=False)


def _closed(place: Placement, points: tuple[Point, ...]) -> Iterator[Segment]:
    yield from _open(place, (*points, points[0]))
