"""The drill and fix list: every hole and every fixing with its place from two faces, and boxes for the after-work."""

from core.analysis.analysis import Analysis
from core.tables.names import Names
from core.tables.spots import Spot, spots_by_surface, view_of
from core.tables.surface_list import FROM_THE_DATUMS, datum_words
from core.tables.table import Cell, Column, Table
from core.tables.workshop import DRILLING


def drilling_list(analysis: Analysis) -> Table:
    """By surface: holes first, then fixings; a row that needs no drill says so by its dash."""
    spots = spots_by_surface(analysis)
    names = Names(analysis.plan)
    rows: list[tuple[Cell, ...]] = []
    headings: list[tuple[int, str]] = []
    for surface in analysis.plan.surfaces:
        view = view_of(analysis, surface)
        here = [spot for spot in spots.get(surface.id, ()) if spot.kind in ("hole", "fixing", "edge")]
        if view is None or not here:
            continue
        headings.append((len(rows), f"{surface.name}: {datum_words(view)}"))
        for spot in sorted(here, key=lambda spot: ("hole", "edge", "fixing").index(spot.kind)):
            drilled = spot.hole_mm is not None
            rows.append(
                (False, spot.number, spot.what, *view.measured(spot.at_mm), spot.hole_mm,
                 names.where(spot.channel) if spot.channel else spot.detail, spot.detail if spot.channel else "",
                 False if drilled else None, False if drilled else None)
            )  # fmt: skip
    return Table(
        name="drilling",
        title="Drill and fix list",
        columns=(
            Column(key="done", title="done", kind="tick", weight=0.4),
            Column(key="number", title="no.", weight=0.6, important=True),
            Column(key="what", title="what goes in", weight=2.6),
            Column(key="a_mm", title="from A", kind="mm", weight=0.8, important=True),
            Column(key="b_mm", title="from B", kind="mm", weight=0.8, important=True),
            Column(key="hole_mm", title="drill Ø", kind="diameter", weight=0.6, important=True),
            Column(key="where", title="channel", weight=1.8),
            Column(key="detail", title="details", weight=2.0),
            Column(key="deburred", title="deburr", kind="tick", weight=0.4),
            Column(key="painted", title="paint", kind="tick", weight=0.4),
        ),
        rows=tuple(rows),
        headings=tuple(headings),
        notes=(DRILLING, FROM_THE_DATUMS, *_counts(spots)),
    )


def _counts(spots: dict[str, tuple[Spot, ...]]) -> tuple[str, ...]:
    """How many holes of each size, so that the drills are at hand."""
    sizes: dict[float, int] = {}
    counted: set[str] = set()
    for here in spots.values():
        for spot in here:
            # A penetration is listed on both its surfaces and drilled once.
            if spot.hole_mm is None or (spot.kind == "hole" and spot.subject in counted):
                continue
            if spot.kind == "hole":
                counted.add(spot.subject)
            sizes[spot.hole_mm] = sizes.get(spot.hole_mm, 0) + 1
    if not sizes:
        return ("Nothing is drilled.",)
    told = ", ".join(f"{count} × Ø {size:g}" for size, count in sorted(sizes.items()))
    return (f"Drills: {told} mm.",)
