"""What the plan would be if nothing were pulled yet, and what finished jobs teach about allowances.

The analysis takes pulled sizes and ways as given. To see how the work departs from the plan both are needed.
"""

from collections.abc import Mapping, Sequence
from math import ceil

import msgspec

from core.analysis.analysis import Analysis
from core.analysis.results import CutPiece, Route
from core.analysis.routes import find_routes
from core.analysis.sizing_sheet import SizingDesk
from core.electrical.sizing import size
from core.model import Assumptions

#: Fewer measured wires than this teach nothing (common practice, no source).
LEAST_WIRES = 10
#: The share of measured wires that the proposed allowances would have been enough for (common practice, no source).
ENOUGH_FOR = 0.95
MOST_PERCENT = 20.0
#: Lengths nearer to each other than this are one (noise of adding).
SAME_MM = 1e-3
STEP_PERCENT = 0.5
STEP_MM = 10.0


class PlannedWire(msgspec.Struct, frozen=True, kw_only=True):
    """A wire as planned: None and () where it has no way or no piece. `base_mm` is the cut without its tolerance and
    rounding."""

    section_mm2: float
    channels: tuple[str, ...] = ()
    route_mm: float | None = None
    base_mm: float | None = None
    cut_mm: float | None = None


def as_planned(analysis: Analysis) -> Mapping[str, PlannedWire]:
    """Every wire of the analysis as it would be without as-pulled entries; spare wires are left out."""
    a, plan = analysis, analysis.plan
    work = SizingDesk(a, pulled=False).work
    sections = dict(zip(work.wires, (c.section_mm2 for c in size(work.problem).conductors), strict=True))
    routes = find_routes(a.network, a.wires, plan.devices, a.falls, (), plan.channels)
    piece_of = {wire: piece for piece in a.pieces for wire in piece.wires}
    return {
        wire: _planned(section, routes[wire], piece_of.get(wire), plan.assumptions)
        for wire, section in sections.items()
    }


def _planned(section_mm2: float, route: Route, piece: CutPiece | None, given: Assumptions) -> PlannedWire:
    """The ends and loops are those of the piece; the tolerance follows the planned route, which may be another."""
    channels = tuple(step.channel for step in route.steps)
    if piece is None or route.route_mm is None:
        return PlannedWire(section_mm2=section_mm2, channels=channels, route_mm=route.route_mm)
    slack = sum(row.length_mm for row in piece.allowances if row.name in ("tolerance", "rounding"))
    base_mm = piece.cut_mm - slack
    if abs(piece.route_mm - route.route_mm) > SAME_MM:
        base_mm += route.route_mm - piece.route_mm
        slack = max(route.route_mm * given.tolerance_percent / 100, given.tolerance_least_mm)
    return PlannedWire(section_mm2=section_mm2, channels=channels, route_mm=route.route_mm, base_mm=base_mm,
                       cut_mm=base_mm + slack)  # fmt: skip


class Lesson(msgspec.Struct, frozen=True, kw_only=True):
    """Allowances that finished jobs propose. `wires` were measured; `short` of them were longer than their cut.

    `tolerance_percent` and `tolerance_least_mm` would have been enough for `enough` of them; `why_not` says why there
    is no proposal ("" where there is one).
    """

    wires: int
    short: int = 0
    longest_over_mm: float = 0.0
    spared_mm: float = 0.0
    tolerance_percent: float = 0.0
    tolerance_least_mm: float = 0.0
    enough: int = 0
    why_not: str = ""

    def differs_from(self, now: Assumptions) -> bool:
        return not self.why_not and (self.tolerance_percent, self.tolerance_least_mm) != (
            now.tolerance_percent, now.tolerance_least_mm,
        )  # fmt: skip


def learned(jobs: Sequence[Analysis]) -> Lesson:
    """The tolerance that the measured lengths of finished jobs ask for, as a percentage and a least length.

    What a wire needed beyond its route, ends and loops is what its tolerance has to cover. Of all pairs of a percentage
    (in steps of 0.5 %) and a least length (in steps of 10 mm) that hold for `ENOUGH_FOR` of the wires, the one that
    takes least wire is proposed. Cables count once, by their longest measured core.
    """
    rows: dict[tuple[int, str], tuple[float, float, float]] = {}  # route, needed beyond base, cut
    for job, analysis in enumerate(jobs):
        planned = as_planned(analysis)
        for entry in analysis.plan.as_pulled:
            wire = analysis.wires.get(entry.wire)
            plan = planned.get(entry.wire)
            if wire is None or plan is None or entry.length_mm is None or entry.spare:
                continue
            if plan.base_mm is None or plan.cut_mm is None or plan.route_mm is None:
                continue
            if set(entry.channels) - set(plan.channels):
                continue  # another way says nothing about how well lengths were guessed
            key = (job, wire.cable or wire.id)
            row = (plan.route_mm, entry.length_mm - plan.base_mm, plan.cut_mm - plan.base_mm)
            rows[key] = max(rows.get(key, row), row, key=lambda each: each[1])
    if len(rows) < LEAST_WIRES:
        why_not = f"Only {len(rows)} wires have a measured length; at least {LEAST_WIRES} are needed to learn from."
        return Lesson(wires=len(rows), why_not=why_not)
    percent, least = _cheapest([(route, needed) for route, needed, _ in rows.values()])
    given = [max(route * percent / 100, least) for route, _, _ in rows.values()]
    return Lesson(
        wires=len(rows),
        short=sum(needed > had + 1e-6 for _, needed, had in rows.values()),
        longest_over_mm=max(needed - had for _, needed, had in rows.values()),
        spared_mm=sum(had - new for (_, _, had), new in zip(rows.values(), given, strict=True)),
        tolerance_percent=percent,
        tolerance_least_mm=least,
        enough=sum(needed <= new + 1e-6 for (_, needed, _), new in zip(rows.values(), given, strict=True)),
    )


def _cheapest(wires: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Percentage and least length for (route, needed) of every wire, in mm."""
    best: tuple[float, float, float] | None = None
    for step in range(round(MOST_PERCENT / STEP_PERCENT) + 1):
        percent = step * STEP_PERCENT
        beyond = [needed if needed > route * percent / 100 else 0.0 for route, needed in wires]
        least = ceil(_enough(beyond) / STEP_MM - 1e-9) * STEP_MM
        total = sum(max(route * percent / 100, least) for route, _ in wires)
        if best is None or total < best[0] - SAME_MM:
            best = total, percent, least
    assert best is not None
    return best[1], best[2]


def _enough(values: Sequence[float]) -> float:
    """The smallest of the values that is no less than `ENOUGH_FOR` of them; none is taken for less than 0."""
    ordered = sorted(max(value, 0.0) for value in values)
    return ordered[ceil(len(ordered) * ENOUGH_FOR - 1e-9) - 1]
