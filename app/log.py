"""The program's log in the state folder: what ended badly, and where in the program. Never what a plan holds.

An error is written with its kind and the places it went through; its message is not, for it may quote a plan. Set
LOOMWRIGHT_LOG_ALL to anything to have messages too.
"""

import logging
import os
import platform
import traceback
from logging.handlers import RotatingFileHandler
from pathlib import Path
from types import TracebackType
from typing import Final

from app.settings import state_folder
from core import __version__

LOG: Final = logging.getLogger("loomwright")
NAME, LARGEST_BYTES, OLDER = "loomwright.log", 256 * 1024, 3
#: Set to anything to have the messages of errors in the log.
ALL: Final = "LOOMWRIGHT_LOG_ALL"


class _Quiet(RotatingFileHandler):
    """A log that cannot be written is no reason to stop, nor to write about it elsewhere."""

    def handleError(self, record: logging.LogRecord) -> None:
        del record


def start(folder: Path | None = None) -> logging.Handler:
    """Opens the log; `stop` takes what this returns."""
    folder = state_folder() if folder is None else folder
    handler: logging.Handler
    try:
        folder.mkdir(parents=True, exist_ok=True)
        handler = _Quiet(folder / NAME, maxBytes=LARGEST_BYTES, backupCount=OLDER, encoding="utf-8", delay=True)
    except OSError:
        handler = logging.NullHandler()
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(message)s"))
    LOG.addHandler(handler)
    LOG.setLevel(logging.INFO)
    LOG.propagate = False
    LOG.info("Loomwright %s starts, Python %s, %s", __version__, platform.python_version(), platform.system())
    return handler


def stop(handler: logging.Handler) -> None:
    LOG.removeHandler(handler)
    handler.close()


def log_error(kind: type[BaseException], error: BaseException | None, trace: TracebackType | None) -> None:
    """An error that nobody expected."""
    told = f": {error}" if os.environ.get(ALL) else ""
    LOG.error("%s%s\n%s", kind.__name__, told, "".join(traceback.format_tb(trace)).rstrip())
