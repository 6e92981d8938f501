"""What every part of the sheet drawing looks at: the analysis, the sizes on paper, and how much is shown."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import atan2, degrees
from typing import Any, Literal, TypeVar

from core.analysis.analysis import Analysis
from core.analysis.results import Bundle, ChannelPath, Crossing, NodeSpot, SecuringRow
from core.geometry.foldout import Layout
from core.geometry.plane import Placement
from core.model import Plan, Point, Surface
from core.text import mm

Detail = Literal["full", "medium", "low"]
T = TypeVar("T")

#: Sizes on paper in mm; times the scale they are millimetres of the sheet.
CAPTION_MM = 4.3
NAME_MM = 3.1
SMALL_MM = 2.8
LABEL_MM = 3.0
#: No bundle is drawn thinner, so that it can be seen on paper and on the screen.
THINNEST_BUNDLE_MM = 0.5


@dataclass(frozen=True)
class World:
    """One state to be drawn. `k` is the scale: millimetres of the sheet to one on paper.

    The results that are drawn are the very objects of the state before where they are equal, so that whatever was
    made from them can be told by identity.
    """

    analysis: Analysis
    detail: Detail
    k: float
    surfaces: Mapping[str, Surface]
    paths: Mapping[str, ChannelPath]
    node_spots: Mapping[str, NodeSpot]
    bundles: Mapping[str, Bundle]
    securing: tuple[SecuringRow, ...]
    crossings: tuple[Crossing, ...]

    @staticmethod
    def of(analysis: Analysis, detail: Detail, scale: float, before: "World | None" = None) -> "World":
        """The state of an analysis, `before` the one drawn last."""
        return World(
            analysis,
            detail,
            scale,
            analysis.surfaces,
            _kept(before.paths if before else None, analysis.paths),
            _kept(before.node_spots if before else None, analysis.node_spots),
            _kept(before.bundles if before else None, analysis.bundles),
            _kept(before.securing if before else None, analysis.securing),
            _kept(before.crossings if before else None, analysis.crossings),
        )

    @property
    def plan(self) -> Plan:
        return self.analysis.plan

    @property
    def layout(self) -> Layout:
        return self.analysis.sheet.layout

    @property
    def is_full(self) -> bool:
        return self.detail == "full"

    @property
    def is_low(self) -> bool:
        return self.detail == "low"

    def place(self, surface: str) -> Placement | None:
        laid = self.layout.laid.get(surface)
        return None if laid is None else laid.place


def _kept(before: T | None, now: T) -> T:
    return before if before is not None and (before is now or before == now) else now


def upright_deg(start: Point, end: Point) -> float:
    """The turn of a text that runs along a line and is read from below or from the right: over -90 to 90."""
    turn = degrees(atan2(end[1] - start[1], end[0] - start[0]))
    if turn > 90.0 + 1e-6:
        return turn - 180.0
    return turn + 180.0 if turn <= -90.0 + 1e-6 else turn


def size_words(*sizes_mm: float) -> str:
    """`1 900 × 370 × 320`."""
    return " × ".join(mm(round(size)) for size in sizes_mm)


def ids_of(records: tuple[Any, ...]) -> dict[str, Any]:
    return {record.id: record for record in records}
