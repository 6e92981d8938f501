"""A tenfold slip of speed is seen: ratios inside one process, which a slow or busy machine does not change.

The numbers themselves, with their aims, come from `python3 -m tests.bench`; here each ratio may be ten times what it
was there. Yardsticks: writing and reading the plan's file, and the routes alone by networkx, Dijkstra for every wire.
"""

from pathlib import Path
from typing import Any

import pytest

from core.files.codec import decode, encode
from core.geometry import packing
from tests.bench import start
from tests.bench.measure import Clocked, best_s, dragged, networkx_per_wire, seconds
from tests.bench.vehicles import Size, vehicle

SLIP = 10.0


def measured(size: Size, monkeypatch: pytest.MonkeyPatch) -> dict[str, float]:
    """Seconds by what was done; no layout of a bundle is remembered from another test."""
    plan = vehicle(size)
    Clocked().analyse(vehicle("van", seed=2), "quick")
    monkeypatch.setattr(packing, "_cache", type(packing._cache)())
    monkeypatch.setattr(packing, "_cached_circles", 0)
    analyser = Clocked()
    analysis, full_s = seconds(lambda: analyser.analyse(plan, "quick"))
    moved = dragged(plan, 40)
    found: dict[str, Any] = {
        "full": full_s,
        "routes": analyser.stages["network"] + analyser.stages["routes"],
        "open": best_s(lambda: decode(encode(plan)), 1),
        "drag": best_s(lambda: analyser.estimate(moved, analysis)),
        "release": seconds(lambda: analyser.analyse(moved, "quick"))[1],
    }
    if size == "van":
        found["networkx"] = best_s(lambda: networkx_per_wire(analysis))
    return found


def test_van(monkeypatch: pytest.MonkeyPatch) -> None:
    found = measured("van", monkeypatch)
    # measured: 82 ms full, 4.6 ms routes, 25 ms networkx, 24 ms open, 26 ms drag, 28 ms release
    assert found["routes"] < 0.2 * found["networkx"] * SLIP
    assert found["full"] < 3.4 * found["open"] * SLIP
    assert found["drag"] < 1.1 * found["open"] * SLIP
    assert found["release"] < 1.2 * found["open"] * SLIP


def test_coach(monkeypatch: pytest.MonkeyPatch) -> None:
    found = measured("coach", monkeypatch)
    # measured: 3.2 s full, 340 ms open, 1.9 ms drag, 1.3 s release
    assert found["full"] < 9.4 * found["open"] * SLIP
    assert found["release"] < 3.8 * found["open"] * SLIP
    assert found["drag"] < 0.006 * found["open"] * SLIP


#: Libraries that take long to load. Of the program, what analyses and papers alone want.
LARGE = {"numpy", "numba", "scipy", "networkx", "shapely", "pint", "ezdxf", "xlsxwriter", "segno", "pypdfium2"}


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the programs that are started keep their settings and what Python compiled."""
    return tmp_path_factory.mktemp("home")


def test_the_first_sign_needs_qt_and_little_else(home: Path) -> None:
    loaded = set(start.run("import sys; from app.main import first_sign; print(*sys.modules)", home).split())
    assert "PySide6.QtWidgets" in loaded
    assert not loaded & (LARGE | {"core.analysis.engine", "core.files.library", "app.window"})


def test_the_first_frame_of_the_window_waits_for_no_large_library(home: Path) -> None:
    """All of the window is there, its panes say what an empty plan comes to, and none of the libraries was loaded.
    Nor did PySide read the source of each module to look for its own name; `inspect` keeps what it has read."""
    program = start.READY + "import linecache, sys\nprint(*sys.modules, *linecache.cache)" + start.END
    loaded = set(start.run(program, home).split())
    assert {"app.window", "core.analysis.engine"} <= loaded
    assert not loaded & LARGE
    assert not [name for name in loaded if name.endswith(("window.py", "engine.py"))]


def test_the_start(home: Path) -> None:
    found = start.measured(home, 1)
    # measured: 130 ms a bare Qt window, 180 ms the first sign, 590 ms the window
    assert found["first_s"] < 1.5 * found["bare_s"] * SLIP / 3
    assert found["ready_s"] < 4.5 * found["bare_s"] * SLIP / 3
