"""What one synthetic vehicle costs, as JSON on standard output: `python3 -m tests.bench.measure van [--at-hand]`.

A process of its own for each vehicle, so that the memory is that vehicle's. Times are processor seconds of this
process (a busy machine does not change them), the best of some rounds where a round is short.
"""

import importlib
import json
import resource
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median
from typing import Any, TypeVar, get_args

import networkx as nx

from core.analysis.analysis import Analysis
from core.analysis.engine import Analyser
from core.edits.channels import move_node_to
from core.files.codec import encode, read_plan
from core.files.library import load_library
from core.files.safe_write import write_bytes
from core.model import OnSurface, Plan
from tests.bench.vehicles import Size, vehicle

R = TypeVar("R")
FRAMES = 24
#: Refined packing is for check, tables and papers; beyond a van only the quick one is measured here.
REFINED = ("van",)


def seconds(work: Callable[[], R]) -> tuple[R, float]:
    start = time.process_time()
    result = work()
    return result, time.process_time() - start


def best_s(work: Callable[[], object], rounds: int = 3) -> float:
    return min(seconds(work)[1] for _ in range(rounds))


class Clocked(Analyser):
    """An analyser that keeps the seconds of every stage it worked out."""

    def __init__(self) -> None:
        super().__init__(load_library())
        self.stages: dict[str, float] = {}

    def _stage(self, name: str, work: Callable[..., R], *inputs: Any) -> R:
        result, spent = seconds(lambda: super(Clocked, self)._stage(name, work, *inputs))
        self.stages[name] = self.stages.get(name, 0.0) + spent
        return result


def networkx_per_wire(analysis: Analysis) -> int:
    """The routes alone, as one would write them without the engine: Dijkstra in networkx for every wire."""
    vertices = {number: vertex for vertex, number in analysis.network.vertices.items()}
    found = 0
    for wire in analysis.wires.values():
        ends = [
            analysis.network.vertex(end.node, analysis.devices[end.device].surface)
            for end in (wire.from_, wire.to)
            if end.node is not None
        ]
        numbers = [number for number in ends if number is not None]
        if len(numbers) == 2:
            nx.dijkstra_path(analysis.graph, vertices[numbers[0]], vertices[numbers[1]], "length_mm")
            found += 1
    return found


def dragged(plan: Plan, frame: int) -> Plan:
    """A node in the middle of the vehicle, `frame` millimetres from where it was."""
    node = plan.nodes[len(plan.nodes) // 2]
    assert isinstance(node.place, OnSurface)
    x, y = node.place.at_mm
    return move_node_to(plan, node.id, node.place.surface, (x + frame, y))


def at_hand(size: Size) -> dict[str, Any]:
    """The first full analysis as the window has it: its warm-up has loaded libraries and compiled packing."""
    from app.main import WANTED_SOON
    from core.geometry.packing_speed import prepare

    for name in WANTED_SOON:
        importlib.import_module(name)
    compiled = prepare()
    plan = vehicle(size)
    Analyser(load_library()).analyse(vehicle("van", seed=2), "quick")
    analyser = Clocked()
    _, spent = seconds(lambda: analyser.analyse(plan, "quick"))
    stages = {name: round(stage_s, 5) for name, stage_s in analyser.stages.items()}
    return {"window_s": spent, "compiled": compiled, "stages_s": stages | _rest(spent, analyser)}


def _rest(whole_s: float, analyser: Clocked) -> dict[str, float]:
    return {"checks": round(whole_s - sum(analyser.stages.values()), 5)}


def measured(size: Size) -> dict[str, Any]:
    plan = vehicle(size)
    result: dict[str, Any] = {"nodes": len(plan.nodes), "channels": len(plan.channels), "circuits": len(plan.circuits)}
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "bench.loomplan"
        data, result["encode_s"] = seconds(lambda: encode(plan))
        result["save_s"] = best_s(lambda: write_bytes(file, data))
        result["bytes"] = len(data)
        _, result["open_s"] = seconds(lambda: read_plan(file))

    # Whatever is imported late is imported by the small one, and no layout of it helps the vehicle measured.
    Analyser(load_library()).analyse(vehicle("van", seed=2), "quick")
    analyser = Clocked()
    analysis, result["analysis_s"] = seconds(lambda: analyser.analyse(plan, "quick"))
    result["stages_s"] = {name: round(spent, 5) for name, spent in analyser.stages.items()}
    result["stages_s"] |= _rest(result["analysis_s"], analyser)
    # Warmed up: everything done anew by another analyser, but for layouts of bundles, which the process remembers.
    if size == "van":
        result["warm_s"] = min(seconds(lambda: Analyser(load_library()).analyse(plan, "quick"))[1] for _ in range(3))
    found, result["networkx_s"] = seconds(lambda: networkx_per_wire(analysis))
    routes_s = analyser.stages["network"] + analyser.stages["routes"]
    result |= {"wires": len(analysis.wires), "bundles": len(analysis.bundles), "findings": len(analysis.findings)}
    result["routed_by_networkx"] = found
    result["routes_ratio"] = result["networkx_s"] / routes_s

    frames = []
    for frame in range(1, FRAMES + 1):
        moved = dragged(plan, frame)
        frames.append(seconds(lambda moved=moved: analyser.estimate(moved, analysis))[1])  # type: ignore[misc]
    result["drag_frame_s"], result["drag_worst_s"] = median(frames), max(frames)
    # What the window does in a drag where estimates take longer than its patience (app.session).
    result["follow_s"] = best_s(lambda: analyser.follow(moved, analysis))
    _, result["drag_edit_s"] = seconds(lambda: dragged(plan, 50))
    _, result["release_s"] = seconds(lambda: analyser.analyse(moved, "quick"))
    _, result["undo_s"] = seconds(lambda: analyser.analyse(plan, "quick"))

    if size in REFINED:
        _, result["refined_s"] = seconds(lambda: Analyser(load_library()).analyse(plan))
    if size != "stress":
        result |= papers(analysis)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    result["memory_mb"] = peak / (1024 * 1024 if sys.platform == "darwin" else 1024)
    return result


def papers(analysis: Analysis) -> dict[str, float]:
    """Everything up to the PDF writer, which `bench_cut_list` measures."""
    from core.pages.imprint import imprint
    from core.pages.papers import FOLD_OUT, PAPERS
    from core.tables.all import TABLES

    about = imprint(analysis.plan, "1 Jan 2026")
    _, tables_s = seconds(lambda: [build(analysis) for build in TABLES.values()])
    _, sheet_s = seconds(lambda: PAPERS[FOLD_OUT](analysis, about))
    _, pages_s = seconds(lambda: [PAPERS[name](analysis, about) for name in PAPERS if name != FOLD_OUT])
    return {"tables_s": tables_s, "fold_out_s": sheet_s, "table_pages_s": pages_s}


if __name__ == "__main__":
    wanted = next((word for word in sys.argv[1:] if not word.startswith("-")), "van")
    if wanted not in get_args(Size):
        sys.exit(f"a vehicle is one of {', '.join(get_args(Size))}")
    print(json.dumps((at_hand if "--at-hand" in sys.argv else measured)(wanted)))
