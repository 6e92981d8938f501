"""Work off the GUI thread: one job at a time, the newest wins.

There is a thread only while there is work, so a closed window leaves none behind. Results come back as signals on the
thread this object lives on. Python cannot stop a running job: one that was overtaken still ends and still reports,
and the receiver says whether its result is of use.
"""

import sys
import threading
import weakref
from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QObject, Qt, Signal

from app import collecting

#: With the interpreter's own 5 ms a busy worker makes the window stutter.
SWITCH_INTERVAL_S = 0.0005


class NewestWins(QObject):
    """Runs functions one after another on a thread of its own; of those that wait only the newest is kept.

    `done` and `failed` carry the job's number and its result, or the exception it raised. `idle` follows the last one.
    """

    done = Signal(int, object)
    failed = Signal(int, object)
    idle = Signal()

    _reported = Signal(int, object, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._lock = threading.Lock()
        self._waiting: tuple[int, Callable[[], Any]] | None = None
        self._thread: threading.Thread | None = None
        self._number = 0
        self._unreported = 0
        self._closed = False
        #: Lets the garbage collector go, which is held while the thread may run; also when this object dies.
        self._let_go: weakref.finalize[[], NewestWins] | None = None
        self._reported.connect(self._report, Qt.ConnectionType.QueuedConnection)

    @property
    def busy(self) -> bool:
        """Whether a job runs or waits, or its result is not delivered yet."""
        return self._unreported > 0

    def run(self, job: Callable[[], Any]) -> int:
        """Have `job` run as soon as the present one has ended; its number. Nothing happens after `close`."""
        with self._lock:
            self._number += 1
            if self._closed:
                return self._number
            if self._waiting is None:
                self._unreported += 1
            self._waiting = (self._number, job)
            if self._thread is None:
                self._hold()
                sys.setswitchinterval(SWITCH_INTERVAL_S)
                self._thread = threading.Thread(target=self._work, name="loomwright-job", daemon=True)
                self._thread.start()
            return self._number

    def wait(self) -> None:
        """Block until no job runs. What waited has run too; the signals are still delivered by the event loop."""
        while (thread := self._thread) is not None:
            thread.join()

    def close(self) -> None:
        """Drop what waits, wait for what runs, and report nothing more."""
        with self._lock:
            self._closed = True
            if self._waiting is not None:
                self._waiting = None
                self._unreported -= 1
        self.wait()
        self._release()

    def _hold(self) -> None:
        if self._let_go is None or not self._let_go.alive:
            collecting.hold()
            self._let_go = weakref.finalize(self, collecting.release)

    def _release(self) -> None:
        if self._let_go is not None:
            self._let_go()

    def _work(self) -> None:
        while True:
            with self._lock:
                if self._waiting is None:
                    self._thread = None
                    return
                number, job = self._waiting
                self._waiting = None
            result, error = None, None
            try:
                result = job()
            except Exception as raised:  # noqa: BLE001 - whatever it is, the GUI thread has to hear of it
                error = raised
            del job
            try:
                self._reported.emit(number, result, error)
            except RuntimeError:  # the object was deleted while the job ran: nobody is left to hear
                with self._lock:
                    self._waiting = self._thread = None
                self._release()
                return

    def _report(self, number: int, result: object, error: object) -> None:
        self._unreported -= 1
        if not self._unreported:
            self.wait()  # it has nothing left to do, and is gone in a moment
            self._release()
        if self._closed:
            return
        if error is not None:
            self.failed.emit(number, error)
        else:
            self.done.emit(number, result)
        if not self._unreported:
            self.idle.emit()
