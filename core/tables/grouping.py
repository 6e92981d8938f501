"""Findings in groups: by the surface they lie on, or by the subject of their rule."""

from collections.abc import Callable, Mapping
from functools import partial
from typing import Any, Literal

from core.analysis.analysis import Analysis
from core.analysis.results import Finding
from core.model import Circuit, InPenetration, OnLine, OnSurface, Penetration, Surface, records
from core.tables.names import SEVERITY_ORDER

By = Literal["weight", "place", "rule"]
#: What the first part of a finding's code is about.
SUBJECTS: dict[str, str] = {
    "size": "Wire sizes",
    "drop": "Voltage drop",
    "ampacity": "Ampacity",
    "grouping": "Ampacity",
    "covered": "Ampacity",
    "ambient": "Ampacity",
    "terminal": "Ampacity",
    "fuse": "Fuses",
    "battery": "Batteries",
    "mesh": "Feeders",
    "feeder": "Feeders",
    "point": "Feeders",
    "load": "Loads",
    "voltage": "Voltages",
    "live": "What stays live",
    "mains": "Mains",
    "caution": "Mains",
    "chassis": "Chassis and bonds",
    "bond": "Chassis and bonds",
    "return": "Returns",
    "maker": "Makers' tables",
    "kind": "Wire kinds",
    "wire": "Wires",
    "cable": "Wires",
    "circuit": "Circuits",
    "device": "Devices",
    "route": "Routes",
    "channel": "Routes",
    "bundle": "Bundles",
    "bore": "Bores and holes",
    "fill": "Bores and holes",
    "hole": "Bores and holes",
    "duct": "Bores and holes",
    "rub": "Rub points",
    "edge": "Rub points",
    "zone": "Keep-out zones",
    "clearance": "Keep-out zones",
    "moving": "Moving parts",
    "bend": "Bends",
    "securing": "Securing points",
    "tie": "Securing points",
    "screw": "Screws through panels",
    "separation": "Separation",
    "wrap": "Wrap",
    "pull": "Pulling",
    "cutting": "Cutting",
    "reach": "Reach",
    "panel": "Panels",
    "seam": "The sheet",
    "sheet": "The sheet",
    "surface": "The sheet",
    "profile": "Standards profile",
    "waiver": "Waivers",
}
EVERYWHERE = "The whole plan"
NOWHERE = "Nowhere on the sheet"


def grouped(analysis: Analysis, by: By) -> tuple[tuple[str, tuple[Finding, ...]], ...]:
    """(heading, findings), each group with the worst first and the waived last; one group without heading by weight.

    Groups stand in the order of the surfaces of the plan, or of `SUBJECTS`.
    """
    rows = sorted(analysis.findings, key=lambda row: (bool(row.waived), SEVERITY_ORDER[row.severity]))
    if by == "weight":
        return (("", tuple(rows)),) if rows else ()
    if by == "place":
        surfaces = {surface.id: surface.name or surface.id for surface in analysis.plan.surfaces}
        heading: Callable[[Finding], str]
        heading, order = partial(_place, _Lying(analysis), surfaces), [*surfaces.values(), NOWHERE, EVERYWHERE]
    else:
        heading, order = _subject, list(dict.fromkeys(SUBJECTS.values()))
    groups: dict[str, list[Finding]] = {}
    for row in rows:
        groups.setdefault(heading(row), []).append(row)
    known = [each for each in dict.fromkeys(order) if each in groups]
    rest = [each for each in groups if each not in known]
    return tuple((each, tuple(groups[each])) for each in (*known, *rest))


def _subject(finding: Finding) -> str:
    first = finding.code.partition(".")[0]
    return SUBJECTS.get(first, first.capitalize())


def _place(lying: "_Lying", surfaces: Mapping[str, str], finding: Finding) -> str:
    found = next((on for subject in finding.subjects if (on := lying.on(subject)) in surfaces), None)
    if found is not None:
        return surfaces[found]
    return NOWHERE if finding.subjects else EVERYWHERE


class _Lying:
    """On which surface a record or a wire lies: what belongs to a channel where the channel does, a wire where it
    starts, a circuit where it is fed from."""

    def __init__(self, analysis: Analysis) -> None:
        self._known: dict[str, Any] = {record.id: record for _, record in records(analysis.plan)}
        self._wires = analysis.wires

    def on(self, record_id: str) -> str | None:
        match self._known.get(record_id):
            case None:
                wire = self._wires.get(record_id)
                return None if wire is None else self.on(wire.from_.device)
            case Surface():
                return record_id
            case Circuit(stops=stops):
                return self.on(stops[0].device)
            case Penetration(a=a):
                return a
            case record:
                return self._of_fields(record)

    def _of_fields(self, record: Any) -> str | None:
        if on := getattr(record, "surface", None):
            return str(on)
        match getattr(record, "place", None):
            case OnSurface(surface=on) | OnLine(surface=on):
                return on
            case InPenetration(penetration=penetration):
                return self.on(penetration)
        owner = getattr(record, "channel", None) or getattr(record, "device", None)
        return self.on(owner) if owner else None
