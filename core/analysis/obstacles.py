"""What a channel passes on its surface: the lines that can rub a bundle, as local polylines with their facts."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from core.analysis.results import ChannelPath
from core.geometry.plane import length_mm
from core.model import (
    METALS,
    Box,
    KeepOutZone,
    MetalEdge,
    MovingPart,
    Opening,
    Outline,
    Panel,
    Point,
    Rib,
    Surface,
)


@dataclass(frozen=True)
class Obstacle:
    """One thing a bundle can rub on, fix to, or has to keep away from.

    `kind` is a word of `core.harness.crossing` (or "batten", which rubs nothing); `line_mm` is the local line that is
    crossed, `half_mm` how far to either side of it the thing reaches, `metal` whether its edge cuts.
    """

    id: str
    name: str
    kind: str
    line_mm: Outline
    half_mm: float
    metal: bool
    sheet_mm: float
    moving: bool = False
    clearance_mm: float = 0.0
    protected: bool = False
    zone: bool = False
    #: Sheets that a hole right through it passes.
    walls: int = 1
    #: Where a moving part turns: what passes there twists with it and is the business of its moving joint.
    axis_mm: Outline = ()

    @cached_property
    def box(self) -> tuple[float, float, float, float]:
        """Left, low, right, high of its line (mm)."""
        xs, ys = [p[0] for p in self.line_mm], [p[1] for p in self.line_mm]
        return min(xs), min(ys), max(xs), max(ys)


def _closed(outline: Outline) -> tuple[Point, ...]:
    return (*outline, outline[0]) if outline else ()


def taped(path: ChannelPath) -> float:
    """Length by the tape for each mm that is drawn: what is measured along the drawing is spread over the real one."""
    drawn = length_mm(path.local_mm)
    return path.length_mm / drawn if drawn > 0 else 1.0


def near(obstacles: tuple[Obstacle, ...], line_mm: Sequence[Point]) -> tuple[Obstacle, ...]:
    """Those whose bounding box touches that of a local line: most of a surface is far away from any one channel."""
    if not line_mm:
        return ()
    left, right = min(x for x, _ in line_mm), max(x for x, _ in line_mm)
    low, high = min(y for _, y in line_mm), max(y for _, y in line_mm)
    return tuple(
        o for o in obstacles if o.box[0] <= right and o.box[2] >= left and o.box[1] <= high and o.box[3] >= low
    )


def by_surface(
    surfaces: tuple[Surface, ...],
    ribs: tuple[Rib, ...],
    edges: tuple[MetalEdge, ...],
    openings: tuple[Opening, ...],
    boxes: tuple[Box, ...],
    panels: tuple[Panel, ...],
    zones: tuple[KeepOutZone, ...],
    parts: tuple[MovingPart, ...],
) -> Mapping[str, tuple[Obstacle, ...]]:
    """Obstacles by surface id. Wheel arches and cabinets stand on a surface: their outline is a wall to be passed."""
    sheet = {s.id: s.thickness_mm for s in surfaces}
    metal = {s.id: s.material in METALS for s in surfaces}
    found: dict[str, list[Obstacle]] = {s.id: [] for s in surfaces}

    def add(surface: str, obstacle: Obstacle) -> None:
        if surface in found and len(obstacle.line_mm) > 1:
            found[surface].append(obstacle)

    for rib in ribs:
        kind = "rib" if rib.material in METALS else "batten"
        hard = rib.material in METALS
        # A rib that stands out from the skin is a hollow of pressed sheet: in by one wall, out by the other.
        walls = 2 if hard and rib.depth_mm > 0 else 1
        add(
            rib.surface,
            Obstacle(rib.id, rib.name or "rib", kind, rib.line_mm, rib.width_mm / 2, hard, 1.0, walls=walls),
        )
    for edge in edges:
        add(
            edge.surface,
            Obstacle(
                edge.id,
                edge.name or "metal edge",
                "metal_edge",
                edge.line_mm,
                0.0,
                True,
                sheet[edge.surface],
                protected=edge.protected,
            ),
        )
    for opening in openings:
        kind = "opening" if opening.cut_edge and metal[opening.surface] else "panel_edge"
        add(
            opening.surface,
            Obstacle(
                opening.id,
                opening.name,
                kind,
                _closed(opening.outline),
                0.0,
                opening.cut_edge and metal[opening.surface],
                sheet[opening.surface],
            ),
        )
    for box in boxes:
        kind = "box_wall" if box.kind != "wheel_arch" else "wheel_arch"
        if box.base_mm <= 0:
            add(
                box.surface,
                Obstacle(
                    box.id, box.name, kind, _closed(box.outline), box.wall_mm / 2, box.material in METALS, box.wall_mm
                ),
            )
    for panel in panels:
        add(
            panel.surface,
            Obstacle(
                panel.id,
                panel.name,
                "panel_edge",
                _closed(panel.outline),
                0.0,
                panel.material in METALS,
                panel.thickness_mm,
            ),
        )
    for zone in zones:
        name, moves = zone.name or f"{zone.kind} zone", zone.kind == "moving"
        outline = _closed(zone.outline)
        add(
            zone.surface,
            Obstacle(zone.id, name, zone.kind, outline, 0.0, False, 0.0, moves, zone.clearance_mm, zone=True),
        )
    for part in parts:
        add(
            part.surface,
            Obstacle(
                part.id,
                part.name,
                "moving_part",
                _closed(part.outline),
                0.0,
                False,
                0.0,
                True,
                axis_mm=part.axis_mm or (),
            ),
        )
    return {surface: tuple(rows) for surface, rows in found.items()}
