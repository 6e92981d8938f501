"""The harness laid flat on a board: a straight trunk, branches in lanes beside it, every length true.

Every branch leaves its parent at its breakout, goes aside to a lane of its own and runs on along the trunk, so that a
board of some lanes holds a whole vehicle. The bend to the lane counts as length: what is laid along the line has
exactly the length of its channels.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from core.analysis.analysis import Analysis
from core.geometry.plane import Polyline, distance_mm, point_at
from core.model import Point
from core.tables.names import Names
from core.tables.table import Cell, Column, Table

#: Distance of two lanes: room for a board's pegs and the fingers between them.
LANE_MM = 40.0
#: How far along the trunk a branch goes while it goes aside.
SLANT_MM = 20.0
#: Room between two branches in one lane, for the words at the end of the first.
GAP_MM = 500.0
#: Room between the boards of two separate harnesses.
BOARD_GAP_MM = 120.0

FROM_THE_START = (
    "Distances are along the line from the start of each run, its datum; the slant to a lane counts. "
    "Measure from the datum, so that errors do not add up."
)


@dataclass(frozen=True)
class Run:
    """A line of channels on the board, from `nodes[0]` on; `at_mm` are the distances of the nodes along `line_mm`."""

    channels: tuple[str, ...]
    nodes: tuple[str, ...]
    at_mm: tuple[float, ...]
    line_mm: Polyline
    level: int

    def place(self, index: int) -> Point:
        """Where the node of that index lies."""
        return point_at(self.line_mm, self.at_mm[index])


@dataclass(frozen=True)
class Board:
    """One harness: the trunk is the first run. `loops` are channels that close a loop and are laid by themselves."""

    runs: tuple[Run, ...]
    loops: tuple[str, ...]


@dataclass
class _Builder:
    """Tree of one harness: neighbours of each node as (channel, node)."""

    lengths: Mapping[str, float]
    tree: Mapping[str, list[tuple[str, str]]]
    lanes: dict[int, list[tuple[float, float]]] = field(default_factory=dict)
    runs: list[Run] = field(default_factory=list)


def boards(analysis: Analysis) -> tuple[Board, ...]:
    """A board for every harness that hangs together, the longest first, each below the one before."""
    import networkx as nx

    graph: nx.MultiGraph[str] = nx.MultiGraph()
    for channel in analysis.plan.channels:
        bundle = analysis.bundles.get(channel.id)
        if bundle is not None and bundle.length_mm > 0:
            graph.add_edge(channel.start, channel.end, key=channel.id, weight=float(len(bundle.wires)))
    lengths = {channel: bundle.length_mm for channel, bundle in analysis.bundles.items()}
    found: list[Board] = []
    parts = [sorted(part) for part in nx.connected_components(graph)]
    parts.sort(key=lambda part: -sum(lengths[key] for _, _, key in graph.subgraph(part).edges(keys=True)))
    base = 0.0
    for part in parts:
        piece = graph.subgraph(part)
        kept = {key for _, _, key in nx.maximum_spanning_edges(piece, keys=True, data=False)}
        tree: dict[str, list[tuple[str, str]]] = {node: [] for node in part}
        for a, b, key in sorted(piece.edges(keys=True), key=lambda edge: edge[2]):
            if key in kept:
                tree[a].append((key, b))
                tree[b].append((key, a))
        runs, low, high = _laid(lengths, tree, analysis)
        shift = base - high if found else 0.0
        runs = [_shifted(run, shift) for run in runs]
        base = low + shift - BOARD_GAP_MM
        loops = tuple(sorted({key for _, _, key in piece.edges(keys=True)} - kept))
        found.append(Board(tuple(runs), loops))
    return tuple(found)


def _laid(
    lengths: Mapping[str, float], tree: Mapping[str, list[tuple[str, str]]], analysis: Analysis
) -> tuple[list[Run], float, float]:
    """The runs of one tree, and the lowest and highest lane."""
    builder = _Builder(lengths, tree)
    any_node = next(iter(tree))
    end, _ = _farthest(builder, any_node, None)
    other, path = _farthest(builder, end, None)
    # The thicker end of the trunk is the datum: there the fuse blocks are.
    first, last = path[0][0], path[-1][0]
    if len(analysis.bundles[last].wires) > len(analysis.bundles[first].wires):
        end, (_, path) = other, _farthest(builder, other, None, goal=end)
    _lay(builder, end, path, (0.0, 0.0), 0, side=1, level=0)
    ys = [y for run in builder.runs for _, y in run.line_mm]
    return builder.runs, min(ys), max(ys)


def _farthest(
    builder: _Builder, start: str, barred: str | None, goal: str | None = None
) -> tuple[str, list[tuple[str, str]]]:
    """The node farthest from `start` without using channel `barred` (or `goal`), and the way: (channel, node) ..."""
    best: tuple[float, str, list[tuple[str, str]]] = (-1.0, start, [])
    todo: list[tuple[str, str | None, float, list[tuple[str, str]]]] = [(start, barred, 0.0, [])]
    while todo:
        node, by, far, way = todo.pop()
        if (node == goal) if goal is not None else (far > best[0] and way):
            best = (far, node, way)
        todo += [
            (after, channel, far + builder.lengths[channel], [*way, (channel, after)])
            for channel, after in builder.tree[node]
            if channel != by
        ]
    return best[1], best[2]


def _lay(
    builder: _Builder, start: str, way: list[tuple[str, str]], at: Point, lane: int, side: int, level: int
) -> None:
    """Lay a run from a point into a lane, then the branches of its nodes, the last breakout first."""
    marks = [0.0]
    for channel, _ in way:
        marks.append(marks[-1] + builder.lengths[channel])
    nodes = (start, *(node for _, node in way))
    line = _line(at, lane * LANE_MM, marks[-1])
    run = Run(tuple(channel for channel, _ in way), nodes, tuple(marks), line, level)
    builder.runs.append(run)
    for index in range(len(nodes) - 1, -1, -1):
        used = {way[index - 1][0] if index else "", way[index][0] if index < len(way) else ""}
        branches = [(channel, node) for channel, node in builder.tree[nodes[index]] if channel not in used]
        if level and index == 0:
            continue  # the parent's other branches at this node are the parent's business
        for number, (channel, node) in enumerate(branches):
            _, further = _farthest(builder, node, channel)
            length = builder.lengths[channel] + sum(builder.lengths[key] for key, _ in further)
            here = run.place(index)
            on = side if level else (1 if (index + number) % 2 == 0 else -1)
            free = _free_lane(builder, lane, on, here[0], here[0] + length)
            _lay(builder, nodes[index], [(channel, node), *further], here, free, on, level + 1)


def _line(at: Point, y_mm: float, length: float) -> Polyline:
    """From a point aside to the level `y_mm` and on along the trunk, `length` in all; shorter where it ends before."""
    aside = (at[0] + SLANT_MM, y_mm)
    if y_mm == at[1]:
        return (at, (at[0] + length, at[1]))
    slant = distance_mm(at, aside)
    if length <= slant:
        return (at, point_at((at, aside), length))
    return (at, aside, (aside[0] + length - slant, y_mm))


def _free_lane(builder: _Builder, lane: int, side: int, start: float, end: float) -> int:
    """The nearest lane beyond `lane` on that side in which nothing lies between two distances; it is taken."""
    while True:
        lane += side
        taken = builder.lanes.setdefault(lane, [])
        if all(end + GAP_MM <= low or start - GAP_MM >= high for low, high in taken):
            taken.append((start, end))
            return lane


def _shifted(run: Run, dy: float) -> Run:
    return Run(run.channels, run.nodes, run.at_mm, tuple((x, y + dy) for x, y in run.line_mm), run.level)


def end_words(analysis: Analysis, node: str) -> list[str]:
    """What ends at a node: each device with the free length of its wires past the node."""
    told = []
    names = Names(analysis.plan)
    for device in analysis.plan.devices:
        if device.node != node:
            continue
        fall = analysis.falls[device.id].length_mm if device.id in analysis.falls else None
        allowance = device.end_allowance_mm
        if allowance is None:
            allowance = analysis.plan.assumptions.end_allowance_mm
        free = "length unknown" if fall is None else f"{fall + allowance:.0f} free"
        told.append(f"{names(device.id)}: {free}")
    return told


def stations(analysis: Analysis) -> Table:
    """Every node of every run with its distance from the datum and from the start of its run."""
    names = Names(analysis.plan)
    a = analysis.plan.assumptions
    rows: list[tuple[Cell, ...]] = []
    headings: list[tuple[int, str]] = []
    for number, board in enumerate(boards(analysis), start=1):
        for index, run in enumerate(board.runs):
            name = "trunk" if index == 0 else f"branch at {run.nodes[0]}"
            where = " → ".join(dict.fromkeys(analysis.channels[channel].name or channel for channel in run.channels))
            headings.append((len(rows), f"Harness {number}, {name}: {where}"))
            for place, (node, at) in enumerate(zip(run.nodes, run.at_mm, strict=True)):
                after = run.channels[place] if place < len(run.channels) else None
                bundle = analysis.bundles[after] if after is not None else None
                leaving = len(bundle.wires) if bundle else 0
                tolerance = at * a.tolerance_percent / 100
                ends = "; ".join(end_words(analysis, node))
                rows.append(
                    (False, node, at, tolerance, after, leaving or None,
                     bundle.diameter_laid_mm if bundle else None, ends or ("" if after else "end"))
                )  # fmt: skip
        if board.loops:
            headings.append((len(rows), f"Harness {number}, laid by themselves because they close a loop"))
            rows += [
                (False, names(loop), analysis.bundles[loop].length_mm, None, loop, len(analysis.bundles[loop].wires),
                 analysis.bundles[loop].diameter_laid_mm, "")
                for loop in board.loops
            ]  # fmt: skip
    return Table(
        name="stations",
        title="Formboard: stations",
        columns=(
            Column(key="done", title="peg", kind="tick", weight=0.4),
            Column(key="node", title="node", weight=0.8, important=True),
            Column(key="at_mm", title="from the start", kind="mm", weight=0.9, important=True),
            Column(key="tolerance_mm", title="± at most", kind="mm", weight=0.7),
            Column(key="after", title="then channel", weight=0.8),
            Column(key="wires", title="wires", kind="count", weight=0.5),
            Column(key="diameter_mm", title="Ø laid", kind="diameter", weight=0.6),
            Column(key="ends", title="what ends here, free length past the node", weight=4.0),
        ),
        rows=tuple(rows),
        headings=tuple(headings),
        notes=(FROM_THE_START,),
    )
