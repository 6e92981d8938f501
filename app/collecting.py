"""Holds the garbage collector while another thread runs.

Python collects on whichever thread allocates. A cycle that holds a widget may be freed on the thread of the widgets
only: on another one Qt crashes. So nothing is collected while work is done beside the window.
"""

import gc
import threading

_lock = threading.Lock()
_holders = 0


def hold() -> None:
    """Collect nothing until each `hold` has had its `release`."""
    global _holders
    with _lock:
        _holders += 1
        gc.disable()


def release() -> None:
    """Raises RuntimeError where nobody holds it."""
    global _holders
    with _lock:
        if not _holders:
            raise RuntimeError("the collector is not held")
        _holders -= 1
        if not _holders:
            gc.enable()
