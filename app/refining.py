"""Refines what is shown once nothing happens: bundles are packed anew with more effort, a few at a time.

A quick packing is some per cent wider than a refined one, as the papers have it. Packing all bundles of a van at once
would hold up the next edit, so each turn of the event loop packs only as many as it has time for; packings are
remembered by content, and the refined analysis at the end finds them all there.
"""

from collections.abc import Iterator
from time import perf_counter

from PySide6.QtCore import QObject, QTimer

from app.session import Session

#: Nothing has happened for so long.
IDLE_MS = 1200
#: Longest a turn goes on packing after its first bundle.
TURN_S = 0.008


class Refiner(QObject):
    """Works for one session, only while packing is compiled: uncompiled, a bundle takes too long for one turn."""

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._session = session
        self._sets: Iterator[list[float]] | None = None
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.timeout.connect(self._go_on)
        session.analysis_changed.connect(self._wait)
        session.plan_changed.connect(self._wait)

    def stop(self) -> None:
        self._timer.stop()
        self._sets = None

    def _wait(self, *_: object) -> None:
        """Something happened: begin again when it is quiet."""
        self.stop()
        if self._session.can_refine:
            self._timer.start(IDLE_MS)

    def _go_on(self) -> None:
        # Imported when it is needed, which is long after the window is there.
        from core.geometry.packing import pack
        from core.geometry.packing_speed import is_compiled

        session = self._session
        if not session.can_refine or not is_compiled():
            return
        if self._sets is None:
            bundles = session.analysis.bundles.values()
            self._sets = iter([[item.od_mm for item in bundle.items] for bundle in bundles])
        started_s = perf_counter()
        for diameters_mm in self._sets:
            pack(diameters_mm, "refined")
            if perf_counter() - started_s > TURN_S:
                self._timer.start(0)
                return
        self._sets = None
        session.refine()
