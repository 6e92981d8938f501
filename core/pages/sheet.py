"""The fold-out sheet as marks: what the canvas, the fold-out page, SVG and DXF draw.

`sheet_marks` gives the marks of every record in the order of drawing. `SheetDrawing` does the same and remembers: a
record whose inputs are the same objects (or equal ones) gets the very same tuple of marks again, so that whoever
shows them can see by identity what changed.

Keys are ids of records; a record that is drawn in two layers has keys with a prefix: ``outline:``, ``fold:``,
``caption:``, ``name:``, ``fall:``, ``pill:``, ``crossings:``, ``finding:`` (number), ``route:`` (wire).
`record_of` gives the id.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

from core.analysis.analysis import Analysis
from core.analysis.results import Bundle, Finding
from core.geometry.foldout import Layout
from core.geometry.plane import Segment
from core.model import Channel
from core.pages import sheet_bundles as wiring
from core.pages import sheet_surfaces as ground
from core.pages.marks import AnyMark
from core.pages.sheet_base import Detail, World
from core.pages.sheet_callouts import Callout, callout_marks, place_callouts, wanted_callouts
from core.pages.sheet_drag import Pressed, dragged_parts, dragged_world
from core.pages.sheet_hold import hold_labels
from core.pages.sheet_labels import Labels, place_labels
from core.pages.sheet_parts import (
    Index,
    Parts,
    device_parts,
    ground_parts,
    record_of,
    route_lines,
    text_parts,
    thing_parts,
    things_of,
    wiring_parts,
)
from core.pages.sheet_trunks import Trunks, find_trunks

__all__ = ["LAYERS", "Drawn", "SheetDrawing", "Trunks", "find_trunks", "record_of", "sheet_marks"]

#: From the lowest to the highest.
LAYERS: tuple[str, ...] = (
    "ground",
    "pictures",
    "ribs",
    "openings",
    "boxes",
    "zones",
    "panels",
    "metal_edges",
    "outlines",
    "folds",
    "names",
    "dimensions",
    "channels",
    "falls",
    "bundles",
    "nodes",
    "route",
    "crossings",
    "pills",
    "devices",
    "device_names",
    "captions",
    "findings",
)


@dataclass(frozen=True)
class Drawn:
    """Marks of one key and the layer they lie in."""

    layer: str
    marks: tuple[AnyMark, ...]


def sheet_marks(
    analysis: Analysis, detail: Detail = "full", scale: float = 20.0, highlight: str | None = None
) -> dict[str, tuple[AnyMark, ...]]:
    """Marks by key in drawing order, in millimetres of the sheet.

    `scale` is the paper's: 20 for 1:20. Sizes of text and symbols are made for it, so that they come out in the sizes
    of `sheet_base` on paper. `highlight` is the id of a wire whose whole way is lit.
    """
    drawn = SheetDrawing().draw(analysis, detail, scale, highlight)
    return {key: one.marks for key, one in drawn.items()}


@dataclass(frozen=True)
class _Group:
    """What a group of records was drawn from, record by record, and what is to be seen of it."""

    inputs: tuple[Any, ...]
    memo: dict[str, tuple[tuple[Any, ...], Drawn]]
    drawn: dict[str, dict[str, Drawn]]


class Redrawn(NamedTuple):
    """A drawing against the one before it: all of it, or only the keys that are drawn otherwise (None: no more)."""

    whole: dict[str, Drawn] | None
    changed: Mapping[str, Drawn | None]


class SheetDrawing:
    """Draws sheets and remembers the last one, record by record. Not shared between threads."""

    def __init__(self) -> None:
        self._world: World | None = None
        self._groups: dict[int, _Group] = {}
        self._labels: tuple[World, Labels] | None = None
        self._callouts: _Placed | None = None
        self._trunks: tuple[tuple[Channel, ...], Mapping[str, Bundle], Trunks] | None = None
        self._index = Index()
        #: What `draw` gave last, of what, and what a drag has changed of it since.
        self._pressed: tuple[Pressed, tuple[Detail, float, str | None], dict[str, Drawn]] | None = None
        self._dragged: dict[str, Drawn | None] = {}
        #: Whether an estimate of everything was drawn in between, so that the answer before was another drawing.
        self._strayed = False

    def redraw(
        self, analysis: Analysis, detail: Detail = "full", scale: float = 20.0, highlight: str | None = None
    ) -> Redrawn:
        """As `draw`; of a drag in a large plan only what is drawn otherwise than in the answer before."""
        look = (detail, scale, highlight)
        world = None if self._pressed is None else dragged_world(self._pressed[0], analysis)
        if self._pressed is not None and world is not None and self._pressed[1] != look:
            # Another zoom or highlight in the middle of a drag: what it began at is drawn that way first.
            self.draw(self._pressed[0].world.analysis, *look)
            self._strayed = True
            world = dragged_world(self._pressed[0], analysis)
        if self._pressed is None or world is None:
            return Redrawn(self.draw(analysis, *look), {})
        pressed, _, drawn = self._pressed
        before, strayed = self._dragged, self._strayed
        now: dict[str, Drawn | None] = {}
        for layer, key, given, make in (*dragged_parts(pressed, world), *_route_parts(world, highlight)):
            marks = make(*given)
            now[key] = Drawn(layer, marks) if marks else None
        self._dragged, self._strayed = now, False
        if strayed:
            both = {**drawn, **now}
            return Redrawn({key: one for key, one in both.items() if one is not None}, {})
        # What the drag touched before and does not touch now is as it was.
        return Redrawn(None, {**{key: drawn.get(key) for key in before if key not in now}, **now})

    def draw(
        self, analysis: Analysis, detail: Detail = "full", scale: float = 20.0, highlight: str | None = None
    ) -> dict[str, Drawn]:
        """Everything of one state, in the order of `LAYERS`. Keys that draw nothing are left out."""
        world = self._world = World.of(analysis, detail, scale, self._world)
        trunks = self._trunks_of(world.plan.channels, world.bundles)
        folds = ground.fold_lines(world)
        labels = self._labels_of(world, trunks, tuple(folds.values()))
        plan, look = world.plan, (detail, scale)
        wires = (plan.channels, plan.nodes, world.paths, world.bundles, world.node_spots)
        groups: tuple[tuple[tuple[Any, ...], Callable[[], Parts]], ...] = (
            ((world.layout, plan.surfaces, plan.seams), lambda: ground_parts(world, folds)),
            (things_of(world), lambda: thing_parts(world)),
            (
                (*wires, trunks, labels.pills, world.securing, world.crossings),
                lambda: wiring_parts(world, trunks, labels, self._index),
            ),
            (
                (
                    *wires,
                    trunks,
                    plan.devices,
                    plan.earth_points,
                    plan.splices,
                    plan.connectors,
                    plan.photos,
                    world.layout,
                ),
                lambda: device_parts(world, trunks, self._index),
            ),
            ((labels.texts,), lambda: text_parts(world, labels)),
            ((object(),), lambda: self._overlay_parts(world, labels, highlight)),
        )
        layers = [self._group(number, (*look, *inputs), parts) for number, (inputs, parts) in enumerate(groups)]
        result: dict[str, Drawn] = {}
        for layer in LAYERS:
            for group in layers:
                result.update(group.get(layer, {}))
        if analysis.provisional and self._pressed is not None:
            self._strayed = True
        else:
            self._pressed = (Pressed(world, trunks, labels, self._index), (detail, scale, highlight), result)
            self._dragged, self._strayed = {}, False
        return result

    def _group(self, number: int, inputs: tuple[Any, ...], parts: Callable[[], Parts]) -> dict[str, dict[str, Drawn]]:
        """What one group of records draws, by layer and key; looked at again only where an input is another object."""
        before = self._groups.get(number)
        if before is not None and all(a is b for a, b in zip(before.inputs, inputs, strict=True)):
            return before.drawn
        old = before.memo if before is not None else {}
        memo: dict[str, tuple[tuple[Any, ...], Drawn]] = {}
        for layer, key, given, make in parts():
            known = old.get(key)
            # Equal inputs give equal marks; records are the same object nearly always, so this is quick.
            if known is not None and known[1].layer == layer and known[0] == given:
                memo[key] = known
            else:
                memo[key] = (given, Drawn(layer, make(*given)))
        drawn: dict[str, dict[str, Drawn]] = {}
        for key, (_, one) in memo.items():
            if one.marks:
                drawn.setdefault(one.layer, {})[key] = one
        self._groups[number] = _Group(inputs, memo, drawn)
        return drawn

    def trunks(self, analysis: Analysis) -> Trunks:
        """Names and colours of the bundles, remembered while channels and bundles stay."""
        return self._trunks_of(analysis.plan.channels, analysis.bundles)

    def _trunks_of(self, channels: tuple[Channel, ...], bundles: Mapping[str, Bundle]) -> Trunks:
        if self._trunks is None or self._trunks[0] is not channels or self._trunks[1] is not bundles:
            self._trunks = (channels, bundles, find_trunks(channels, bundles))
        return self._trunks[2]

    def _overlay_parts(self, world: World, labels: Labels, highlight: str | None) -> Parts:
        yield from _route_parts(world, highlight)
        if world.is_full:
            for callout in self._callouts_of(world, labels):
                yield "findings", f"finding:{callout.number}", (callout, world.k), callout_marks

    def _labels_of(self, world: World, trunks: Trunks, folds: tuple[Segment, ...]) -> Labels:
        """Labels placed anew; while something is dragged they stay as they are and go along with what moves."""
        last = self._labels
        if last is not None:
            before, labels = last
            if (before.detail, before.k) == (world.detail, world.k) and _same_things(before, world):
                return labels
            if world.analysis.provisional and before.plan.surfaces is world.plan.surfaces and before.k == world.k:
                return hold_labels(before, labels, world, trunks)
        labels = place_labels(world, trunks, folds)
        self._labels = (world, labels)
        return labels

    def _callouts_of(self, world: World, labels: Labels) -> tuple[Callout, ...]:
        known = self._callouts
        if known is not None and known.k == world.k and (world.analysis.provisional or known.fits(world, labels)):
            return known.callouts
        texts = [mark for marks in labels.texts.values() for mark in marks]
        wanted = wanted_callouts(world, texts)
        if known is not None and (known.wanted, known.k) == (wanted, world.k):
            callouts = known.callouts
        else:
            callouts = place_callouts(*wanted, world.k)
        self._callouts = _Placed(world.analysis.findings, labels, world.layout, world.k, wanted, callouts)
        return callouts


def _route_parts(world: World, highlight: str | None) -> Parts:
    if highlight is not None:
        inputs = (highlight, *route_lines(world, highlight), world.k)
        yield "route", f"route:{highlight}", inputs, wiring.route_marks


@dataclass(frozen=True)
class _Placed:
    """Callouts, and what they were placed for."""

    findings: tuple[Finding, ...]
    labels: Labels
    layout: Layout
    k: float
    wanted: tuple[Any, ...]
    callouts: tuple[Callout, ...]

    def fits(self, world: World, labels: Labels) -> bool:
        return self.findings is world.analysis.findings and self.labels is labels and self.layout is world.layout


def _same_things(a: World, b: World) -> bool:
    """True where nothing has changed that labels stand on or beside."""
    p, q = a.plan, b.plan
    return (
        p.devices is q.devices
        and p.channels is q.channels
        and p.boxes is q.boxes
        and p.openings is q.openings
        and p.zones is q.zones
        and p.panels is q.panels
        and p.dimensions is q.dimensions
        and a.analysis.sheet is b.analysis.sheet
        and a.paths is b.paths
        and a.bundles is b.bundles
        and a.crossings is b.crossings
    )
