"""What a tool looks at: the committed plan, where it lies on the sheet, what the pointer may snap to, and units."""

from collections.abc import Callable, Collection
from math import hypot
from typing import cast

from app.session import Session
from app.settings import Settings
from app.tools.events import PointerEvent
from app.tools.ground import Ground, Named, ground_of
from core.files.library import Library
from core.geometry.edges import outline_of
from core.geometry.entry import entry_point
from core.geometry.foldout import Layout
from core.geometry.joints import Joints
from core.geometry.plane import Placement, crossings, distance_mm
from core.geometry.snap import Snap, Targets, snap
from core.geometry.stroke import surfaces_at
from core.model import Device, Plan, Point, Surface
from core.units import LengthUnit, read_length_mm, show_length

#: How far from the pointer a thing is still meant.
SNAP_PX = 10.0
#: Being in line with something else is meant only when the pointer is this near.
ALIGN_PX = 5.0
#: An edge that is pointed at to be measured from may lie this far from the pointer.
EDGE_PX = 40.0
#: Lines the pointer rested on last, which a new one may run along.
REMEMBERED = 3
#: Longer than any vehicle.
FAR_MM = 100_000.0


class Desk:
    """Read access for tools. Everything is derived from the committed plan and kept as long as that plan lasts."""

    def __init__(self, session: Session, settings: Callable[[], Settings]) -> None:
        self.session = session
        self._settings = settings
        self._ground: Ground | None = None
        #: Lines the pointer rested on, the newest first.
        self._rested: tuple[Named, ...] = ()
        #: Lines drawn are held to whole multiples of this; 0 leaves them free.
        self.angle_step_deg = 0.0

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

    def kind_of(self, record_id: str) -> str | None:
        """The collection of the committed plan that holds a record; None for what is no record (a wire)."""
        return self._here().kinds.get(record_id)

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
        self,
        event: PointerEvent,
        from_point: Point | None = None,
        aligned_to: tuple[Point, ...] = (),
        but: Collection[str] = (),
        reach_px: float = SNAP_PX,
    ) -> tuple[Point, str]:
        """The point meant by the pointer and the words for it; Alt or Ctrl suspends. `aligned_to` are points of what
        is being drawn, `but` are records that are being moved: their own lines mean nothing."""
        settings = self._settings()
        if not self.snaps(event):
            return event.sheet_mm, ""
        radius = reach_px * event.mm_per_pixel
        ground = self._here()
        near = tuple(each for each in ground.near(event.sheet_mm, radius) if each.record not in but)
        others = [each[:2] for each in self._in_line(event.sheet_mm) if each[2] not in but]
        targets = Targets(
            segments=tuple(each.line for each in near),
            things=tuple(each.thing for each in near),
            grid_mm=settings.grid_mm,
            from_point=from_point,
            points=aligned_to,
            aligned_to=(*aligned_to, *(point for point, _ in others)),
            aligned_things=(*("" for _ in aligned_to), *(name for _, name in others)),
            align_mm=ALIGN_PX * event.mm_per_pixel,
            guides=tuple(each.line for each in self._rested),
            guide_things=tuple(each.thing for each in self._rested),
        )
        found: Snap | None = snap(event.sheet_mm, targets, radius)
        self._remember(near[0] if near else None)
        if found is None or found.word == "grid":
            # The grid holds even where its pitch is wider than the reach of the pointer.
            pitch = settings.grid_mm
            x, y = event.sheet_mm
            return (round(x / pitch) * pitch, round(y / pitch) * pitch), ""
        return found.point, found.words

    def snaps(self, event: PointerEvent) -> bool:
        return self._settings().snap and not {"alt", "ctrl"} & event.modifiers

    def met_along(self, event: PointerEvent, start: Point, turn: Point) -> tuple[Point, str] | None:
        """Where a ray from `start` (`turn` is its direction) meets a line near the pointer, and that line's name."""
        if not self.snaps(event):
            return None
        reach = SNAP_PX * event.mm_per_pixel
        far = (start[0] + turn[0] * FAR_MM, start[1] + turn[1] * FAR_MM)
        met = [
            (distance_mm(crossing.point, event.sheet_mm), crossing.point, each.thing)
            for each in self._here().near(event.sheet_mm, reach)
            for crossing in crossings((start, far), each.line)
            if crossing.a_mm > 1.0
        ]
        _, point, thing = min(met, default=(0.0, None, ""), key=lambda each: each[0])
        return None if point is None else (point, thing)

    def edge_near(self, event: PointerEvent) -> Named | None:
        """The named edge or line nearest to the pointer, for distances measured from it."""
        return self._here().edge_near(event.sheet_mm, EDGE_PX * event.mm_per_pixel)

    def _in_line(self, at: Point) -> tuple[tuple[Point, str, str], ...]:
        """What lies on the surface under a point, to be in line with."""
        spot = self.spot(at)
        return () if spot is None else self._here().aligned.get(spot[0], ())

    def _remember(self, named: Named | None) -> None:
        if named is None or hypot(named.line[1][0] - named.line[0][0], named.line[1][1] - named.line[0][1]) < 1.0:
            return
        if not self._rested or self._rested[0] != named:
            self._rested = (named, *(each for each in self._rested if each != named))[:REMEMBERED]

    def _here(self) -> Ground:
        plan = self.plan
        if self._ground is None or self._ground.plan is not plan:
            self._ground = ground_of(plan)
            self._rested = ()
        return self._ground
