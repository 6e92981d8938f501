"""Which of two equal ways packing goes: plain numpy, or compiled by numba once that is at hand.

The answers have the same bits either way; compiled they come about seven times as soon. Numba is not everywhere (there
is none for Intel Macs, and none for a new Python in its first months) and takes half a second to load, ten to compile,
so nothing waits for it unasked: `engine` is plain until `load` or `prepare` has ended.
"""

import importlib
import logging
import os
import subprocess
import sys
import tempfile
import threading
from pathlib import Path

from core.geometry import packing_plain
from core.geometry.packing_search import Effort, Engine

COMPILE_TIMEOUT_S = 120.0
LOAD_S, COMPILE_S = 0.7, 12.0  # about what it takes

_log = logging.getLogger(__name__)
_lock = threading.Lock()
_compiled: Engine | None = None
_failed = False


def cache_folder() -> Path:
    """Where compiled code is kept for this user, by version of Python. Raises RuntimeError for one without a home."""
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Caches"
    else:
        given = Path(os.environ.get("XDG_CACHE_HOME", ""))
        base = given if given.is_absolute() else Path.home() / ".cache"
    return base / "loomwright" / "compiled" / str(sys.implementation.cache_tag)


def engine() -> Engine:
    """The compiled way if it is ready, else the plain one; never waits."""
    return _compiled or packing_plain


def is_compiled() -> bool:
    return _compiled is not None


def load() -> bool:
    """Make the compiled way ready in this thread: under a second where it was compiled before, some seconds the first
    time. False where numba is not installed or does not work here; then nothing is lost but time."""
    global _compiled, _failed
    with _lock:
        if _compiled is None and not _failed:
            try:
                _compiled = _imported()
            except Exception as problem:  # noqa: BLE001 (whatever is wrong with an optional package must not stop the work)
                _failed = True
                _log.info("packing stays uncompiled: %s", problem)
        return _compiled is not None


def load_if_worth(plain_s: float) -> None:
    """`load`, if the work at hand would take longer uncompiled than to load or to compile."""
    if _compiled is None and not _failed and plain_s > (LOAD_S if _compiled_before() else COMPILE_S):
        load()


def prepare() -> bool:
    """`load` for a thread beside a window: what has to be compiled first is compiled by a process of its own, so that
    the window keeps the interpreter to itself."""
    if _compiled is None and not _failed and not _compiled_before():
        paths = [str(Path(__file__).parents[2]), os.environ.get("PYTHONPATH", "")]
        environment = os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, paths))}
        try:
            subprocess.run(
                [sys.executable, "-m", __name__], env=environment, stdin=subprocess.DEVNULL, capture_output=True,
                timeout=COMPILE_TIMEOUT_S, check=False,
            )  # fmt: skip
        except (OSError, subprocess.TimeoutExpired) as problem:
            _log.info("packing was not compiled beside the window: %s", problem)
    return load()


def _imported() -> Engine:
    """The compiled module, each function of it compiled or read from the cache by a first small call."""
    import numpy as np

    if "numba" not in sys.modules and "NUMBA_CACHE_DIR" not in os.environ:
        os.environ["NUMBA_CACHE_DIR"] = str(_writable_folder())
    kernel: Engine = importlib.import_module("core.geometry.packing_kernel")
    at, r = np.array([[0.0, 1.0, 2.0], [0.0, 1.0, 0.0]]), np.array([1.0, 0.9, 0.8])
    first, sizes, radius = np.array([0]), np.array([3]), np.array([2.0])
    kernel.relax(at, r, first, sizes, radius, radius, 1, 0)
    kernel.rounds(at, r, first, sizes, radius, radius.copy(), radius, Effort(1, 1, 1, 1, 1, 1, 1, 1, 1, 1))
    return kernel


def _compiled_before() -> bool:
    try:
        return any(cache_folder().glob("**/*.nbi"))
    except (OSError, RuntimeError):
        return True  # what a process of its own compiles would not be found again


def _writable_folder() -> Path:
    try:
        folder = cache_folder()
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            return folder
    except (OSError, RuntimeError):
        return Path(tempfile.gettempdir()) / f"loomwright-compiled-{os.getpid()}"


if __name__ == "__main__":
    if hasattr(os, "nice"):
        os.nice(10)  # beside a window
    sys.exit(not load())
