"""Everything that has to be quick, in one command: `python3 -m tests.bench [van] [coach] [stress] [--json FILE]`.

Prints a table with the aims of the design beside it and ratios against what one would otherwise write. Without names
van and coach are measured; the stress vehicle takes minutes.
"""

import argparse
import json
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any, get_args

from tests.bench import bench_canvas, bench_cut_list, methods, start
from tests.bench.vehicles import Size

ROOT = Path(__file__).resolve().parents[2]
#: (row, unit factor, unit, aims by vehicle)
ROWS: tuple[tuple[str, str, float, str, dict[str, float]], ...] = (
    ("open_s", "open a file", 1e3, "ms", {}),
    ("encode_s", "write as text", 1e3, "ms", {}),
    ("save_s", "save to disk", 1e3, "ms", {}),
    ("window_s", "first full analysis", 1e3, "ms", {"van": 50.0, "coach": 1_500.0}),
    ("analysis_s", "the same, nothing loaded", 1e3, "ms", {}),
    ("warm_s", "after warm-up", 1e3, "ms", {"van": 50.0}),
    ("refined_s", "with refined packing", 1e3, "ms", {}),
    ("networkx_s", "networkx per wire", 1e3, "ms", {}),
    ("routes_ratio", "routes: networkx / ours", 1.0, "x", {}),
    ("follow_s", "drag frame, followed", 1e3, "ms", {"van": 16.0, "coach": 16.0}),
    ("drag_frame_s", "drag frame, estimated", 1e3, "ms", {"coach": 16.0}),
    ("drag_worst_s", "worst of these", 1e3, "ms", {}),
    ("release_s", "after the drag", 1e3, "ms", {}),
    ("undo_s", "after undo", 1e3, "ms", {}),
    ("tables_s", "all tables", 1e3, "ms", {}),
    ("fold_out_s", "fold-out page", 1e3, "ms", {}),
    ("table_pages_s", "other papers", 1e3, "ms", {}),
    ("memory_mb", "memory", 1.0, "MB", {}),
)


def asked(*module: str) -> dict[str, Any]:
    """What a module says as JSON, in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-m", *module], cwd=ROOT, capture_output=True, text=True, check=True, timeout=1_800
    )
    result: dict[str, Any] = json.loads(done.stdout)
    return result


def vehicle(size: str) -> dict[str, Any]:
    """As the command line has it, and over that what the window has: with libraries and compiled packing at hand."""
    return asked("tests.bench.measure", size) | asked("tests.bench.measure", size, "--at-hand")


def table(results: dict[str, Any]) -> str:
    sizes = results["vehicles"]
    lines = [f"{'':24s}" + "".join(f"{size:>14s}{'':12s}" for size in sizes).rstrip()]
    for key, words, factor, unit, aims in ROWS:
        cells = []
        for size, found in sizes.items():
            text = f"{found[key] * factor:,.1f} {unit}" if key in found else "–"
            aim = f"(aim {aims[size]:,.0f})" if size in aims else ""
            cells.append(f"{text:>14s}{aim:>12s}")
        lines.append(f"{words:24s}" + "".join(cells).rstrip())
    stages = sorted({stage for found in sizes.values() for stage in found["stages_s"]})
    lines += ["", "stages of the first full analysis, ms"]
    for stage in stages:
        spent = [found["stages_s"].get(stage, 0.0) * 1e3 for found in sizes.values()]
        if max(spent) >= 1.0:
            lines.append(f"{stage:24s}" + "".join(f"{ms:14,.1f}{'':12s}" for ms in spent).rstrip())
    return "\n".join(lines)


def main() -> None:
    words = argparse.ArgumentParser(prog="python3 -m tests.bench", description="Measures what has to be quick.")
    words.add_argument("sizes", nargs="*", metavar="VEHICLE", help=f"of {', '.join(get_args(Size))}")
    words.add_argument("--json", type=Path, metavar="FILE", help="keep the numbers as JSON too")
    options = words.parse_args()
    sizes = options.sizes or ["van", "coach"]
    if unknown := set(sizes) - set(get_args(Size)):
        words.error(f"there is no vehicle {', '.join(sorted(unknown))}")
    with tempfile.TemporaryDirectory() as home:
        started = start.measured(Path(home))
    results = {
        "when": time.strftime("%Y-%m-%d"),
        "start": started,
        "vehicles": {size: vehicle(size) for size in sizes},
        "canvas": asked("tests.bench.bench_canvas", "coach", "--json"),
        "cut_list": asked("tests.bench.bench_cut_list", "--json"),
        "methods": methods.measured(),
    }
    told = (
        start.table(results["start"]),
        table(results),
        f"frames on the sheet of the coach: {bench_canvas.table(results['canvas'])}",
        bench_cut_list.table(results["cut_list"]),
        methods.table(results["methods"]),
    )
    print("\n\n".join(told))
    if options.json is not None:
        options.json.write_text(json.dumps(results, indent=2) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
