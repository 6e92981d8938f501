"""The list that goes with a panel map: every strip and bay with its reach from the panel's edges."""

from collections.abc import Iterable

from core.analysis.no_screw import Band
from core.geometry.upright import Upright
from core.model import Panel
from core.tables.table import Cell, Column, Table
from core.text import mm

WHY_BANDS = (
    "A band is as wide as the bundle, 10 mm to either side for its place, and what it can hang out between its "
    "securing points. Screws up to the length in the last column do not reach it. "
    "In a bay marked WAY UNKNOWN no screw at all until somebody has looked."
)


def band_list(panel: Panel, view: Upright, bands: tuple[Band, ...], skin_screw_mm: float | None) -> Table:
    """Distances from A and B as "from – to", of the whole band or bay on this panel."""
    rows: list[tuple[Cell, ...]] = []
    for band in bands:
        for outline in band.outlines_mm:
            reach = [view.measured(p) for p in outline]
            rows.append(
                (band.channel, band.name, "WAY UNKNOWN: whole bay" if band.kind == "bay" else "band",
                 span_words(a for a, _ in reach), span_words(b for _, b in reach),
                 2 * band.half_mm if band.kind == "band" else None,
                 band.screw_mm if band.kind == "band" else None)
            )  # fmt: skip
    return Table(
        name="panel-bands",
        title=f"{panel.name}: where nothing may be screwed",
        columns=(
            Column(key="channel", title="channel", weight=0.7, important=True),
            Column(key="name", title="what lies there", weight=2.4),
            Column(key="kind", title="kind", weight=1.3),
            Column(key="a", title="from A, mm", weight=1.0, important=True),
            Column(key="b", title="from B, mm", weight=1.0, important=True),
            Column(key="width_mm", title="width", kind="mm", weight=0.7),
            Column(key="screw_mm", title="screws up to", kind="mm", weight=0.7),
        ),
        rows=tuple(rows),
        notes=(WHY_BANDS, skin_words(skin_screw_mm)),
    )


def span_words(values: Iterable[float]) -> str:
    """The reach of an area along one datum."""
    found = list(values)
    return f"{mm(min(found))} – {mm(max(found))}"


def skin_words(screw_mm: float | None) -> str:
    """The longest screw beside the bands."""
    if screw_mm is None:
        return "Beside the bands: depth behind the panel not known. No screw that comes out behind the panel."
    return f"Beside the bands: screws up to {mm(screw_mm)} mm under the panel's face, measured there first."
