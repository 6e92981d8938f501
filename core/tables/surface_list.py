"""What lies on one surface: the lists that go with its drawing."""

from core.analysis.analysis import Analysis
from core.geometry.upright import Upright
from core.model import Surface
from core.tables.contract import standing_findings
from core.tables.names import Names, words
from core.tables.spots import Spot
from core.tables.table import Cell, Column, Table
from core.tables.workshop import SEVERITY_WORDS

#: Names of wires in one row of the list: a longer row would be cut short on paper.
WIRES_IN_A_ROW = 15
HEADINGS = (
    ("fixing", "Securing points"),
    ("node", "Breakouts, ends and folds"),
    ("hole", "Holes"),
    ("edge", "Edges and rubbing places"),
    ("photo", "Photos"),
)
FROM_THE_DATUMS = "Measure from A and from B each time, not from one point to the next: so errors do not add up."


def surface_lists(analysis: Analysis, surface: Surface, view: Upright, spots: tuple[Spot, ...]) -> tuple[Table, ...]:
    """Spots with their distances from both datums, bundles with all their wires, and what is wrong; empty ones not."""
    tables = (spot_list(view, spots), _bundles(analysis, surface), _warnings(analysis, surface))
    return tuple(table for table in tables if table.rows)


def spot_list(view: Upright, spots: tuple[Spot, ...]) -> Table:
    """Every spot with its distances from both datums."""
    rows: list[tuple[Cell, ...]] = []
    headings: list[tuple[int, str]] = []
    for kind, title in HEADINGS:
        here = [spot for spot in spots if spot.kind == kind]
        if here:
            headings.append((len(rows), title))
        rows += [
            (False, spot.number, spot.what, *view.measured(spot.at_mm), spot.hole_mm, spot.channel or None,
             spot.along_mm, spot.detail)
            for spot in here
        ]  # fmt: skip
    return Table(
        name="spots",
        title="Where to fix and to drill",
        columns=(
            Column(key="done", title="done", kind="tick", weight=0.4),
            Column(key="number", title="no.", weight=0.6, important=True),
            Column(key="what", title="what", weight=2.6),
            Column(key="a_mm", title="from A", kind="mm", weight=0.8, important=True),
            Column(key="b_mm", title="from B", kind="mm", weight=0.8, important=True),
            Column(key="hole_mm", title="drill", kind="diameter", weight=0.6, important=True),
            Column(key="channel", title="channel", weight=0.6),
            Column(key="along_mm", title="from its start", kind="mm", weight=0.8),
            Column(key="detail", title="details", weight=2.6),
        ),
        rows=tuple(rows),
        headings=tuple(headings),
        notes=(datum_words(view), FROM_THE_DATUMS),
    )


def _bundles(analysis: Analysis, surface: Surface) -> Table:
    """The bundles on the surface with the name of every wire."""
    names = Names(analysis.plan)
    styles = {style.id: style.name for style in analysis.plan.wrap_styles}
    wraps = {row.channel: styles.get(row.style, words(row.style)) for row in analysis.wrap}
    rows: list[tuple[Cell, ...]] = []
    for bundle in analysis.bundles.values():
        if analysis.paths[bundle.channel].surface != surface.id:
            continue
        channel, wires = analysis.channels[bundle.channel], bundle.wires
        for start in range(0, len(wires), WIRES_IN_A_ROW):
            inside = " · ".join(wires[start : start + WIRES_IN_A_ROW])
            if start:
                rows.append((None, "", "", "", "", "", "", inside))
                continue
            rows.append(
                (False, bundle.channel, channel.name or names.where(bundle.channel), len(wires),
                 bundle.diameter_laid_mm, bundle.length_mm, wraps.get(bundle.channel), inside)
            )  # fmt: skip
    return Table(
        name="surface-bundles",
        title="Bundles and what is in them",
        columns=(
            Column(key="done", title="done", kind="tick", weight=0.4),
            Column(key="channel", title="channel", weight=0.7, important=True),
            Column(key="name", title="name", weight=1.5),
            Column(key="wires", title="wires", kind="count", weight=0.5, important=True),
            Column(key="diameter_laid_mm", title="Ø laid", kind="diameter", weight=0.6),
            Column(key="length_mm", title="one-way", kind="mm", weight=0.7),
            Column(key="wrap", title="wrap", weight=1.6),
            Column(key="contents", title="wires in it", weight=4.2),
        ),
        rows=tuple(rows),
    )


def _warnings(analysis: Analysis, surface: Surface) -> Table:
    """Standing findings about anything on the surface."""
    subjects = _subjects(analysis, surface)
    return Table(
        name="surface-warnings",
        title="Warnings",
        columns=(
            Column(key="done", title="done", kind="tick", weight=0.4),
            Column(key="severity", title="severity", weight=0.8, important=True),
            Column(key="message", title="what is wrong", weight=4.0),
            Column(key="remedy", title="what to do", weight=3.0),
        ),
        rows=tuple(
            (False, SEVERITY_WORDS[row.severity], row.message, row.remedy)
            for row in standing_findings(analysis.findings)
            if subjects & set(row.subjects)
        ),
    )


def datum_words(view: Upright) -> str:
    """Which two faces are measured from."""
    told = [
        f"{datum.letter} is the {datum.name}{'' if datum.straight else ' (its outermost corner)'}"
        for datum in (view.a, view.b)
    ]
    return f"{told[0]}, {told[1]}, as seen from the room."


def _subjects(analysis: Analysis, surface: Surface) -> set[str]:
    """Ids of everything on the surface that a finding could name."""
    plan = analysis.plan
    found = {surface.id}
    for group in (plan.boxes, plan.ribs, plan.openings, plan.metal_edges, plan.zones, plan.panels, plan.devices,
                  plan.earth_points, plan.moving_parts):  # fmt: skip
        found |= {record.id for record in group if record.surface == surface.id}
    return found | {channel for channel, path in analysis.paths.items() if path.surface == surface.id}
