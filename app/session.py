"""The one value of the program and the one place that changes it.

A session holds the plan that was committed, perhaps a preview of it while something is dragged, the selection and the
analysis. Panels and canvas are views on it and keep no copy. Everything here happens on the GUI thread; the analysis
of a big plan is computed by `app.jobs` and may be a little behind (`analysis.plan is not shown`) until it arrives.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable
from pathlib import Path
from time import perf_counter
from typing import TYPE_CHECKING, Protocol

from PySide6.QtCore import QObject, QTimer, Signal

from app.jobs import NewestWins
from core import history
from core.diff import changed_records
from core.files.library import Library
from core.model import Plan

if TYPE_CHECKING:
    # It imports networkx, which the first window does not wait for.
    from core.analysis.analysis import Analysis, Quality

#: Analyses that took longer go to the worker.
ON_GUI_THREAD_MS = 30.0
#: The first analysis of a session also loads libraries; up to this it says nothing about the plan.
LOADING_MS = 400.0
#: Estimates that took longer are left until the event loop has nothing better to do; where the drag can be followed
#: without, until the pointer rests for so long.
IN_DRAG_MS = 8.0
REST_MS = 90


class AnalyserLike(Protocol):
    """What a session needs of `core.analysis.engine.Analyser`."""

    def analyse(self, plan: Plan, quality: Quality = ...) -> Analysis: ...

    def estimate(self, plan: Plan, held: Analysis) -> Analysis: ...

    def follow(self, plan: Plan, held: Analysis) -> Analysis | None: ...


class _Stopwatch:
    """The longest of the last few durations: one quick analysis in between does not make a big plan a small one."""

    def __init__(self) -> None:
        self._last_ms: deque[float] = deque(maxlen=8)
        self._first = True

    def timed(self, started_s: float) -> None:
        took_ms = (perf_counter() - started_s) * 1000
        if not self._first or took_ms > LOADING_MS:
            self._last_ms.append(took_ms)
        self._first = False

    @property
    def longest_ms(self) -> float:
        return max(self._last_ms, default=0.0)


class Session(QObject):
    """A plan being worked on.

    `plan_changed(old, new)`: the shown plan is another one. `analysis_changed(analysis)` follows it, at once for a
    small plan. `history_changed()`: undo, redo or `clean` may have changed. `analysis_failed(error)`: a fault of the
    program in the worker; on the GUI thread such a fault is raised where it happens.
    """

    plan_changed = Signal(object, object)
    analysis_changed = Signal(object)
    analysis_failed = Signal(object)
    selection_changed = Signal()
    history_changed = Signal()
    path_changed = Signal()

    def __init__(
        self,
        library: Library,
        plan: Plan,
        path: Path | None = None,
        parent: QObject | None = None,
        *,
        analyser: AnalyserLike | None = None,
    ) -> None:
        super().__init__(parent)
        self.library = library
        self._analyser = analyser if analyser is not None else _own_analyser(library)
        self._history = history.started(plan)
        self._saved: Plan | None = plan
        self._path = path
        self._preview: Plan | None = None
        self._selection: tuple[str, ...] = ()
        self._full: Analysis | None = None
        self._estimate: Analysis | None = None
        self._refined: Analysis | None = None
        #: Preview and held analysis of the newest estimate; plan whose analysis the worker was asked for.
        self._estimated: tuple[Plan, Analysis] | None = None
        self._asked: Plan | None = None
        #: Counts the files this session had: results for an earlier one are not believed.
        self._file = 0
        self._analysis_time = _Stopwatch()
        self._estimate_time = _Stopwatch()
        self._jobs = NewestWins(self)
        self._jobs.done.connect(self._job_done)
        self._jobs.failed.connect(self._job_failed)
        self._later = QTimer(self)
        self._later.setSingleShot(True)
        self._later.timeout.connect(self._estimate_late)

    # --- the plan ----------------------------------------------------------------------------------------------------

    @property
    def plan(self) -> Plan:
        """The committed plan."""
        return self._history.state

    @property
    def shown(self) -> Plan:
        """The preview while there is one, else the committed plan."""
        return self.plan if self._preview is None else self._preview

    @property
    def previewing(self) -> bool:
        return self._preview is not None

    @property
    def path(self) -> Path | None:
        return self._path

    @property
    def clean(self) -> bool:
        """Whether the committed plan is the very one that was opened or saved last."""
        return self.plan is self._saved

    def commit(self, label: str, plan: Plan, key: str | None = None) -> None:
        """Make `plan` the plan; `label` is the edit's name in undo. The very same plan again does nothing.

        Commits with an equal `key` that follow each other are one step of undo (nudging with the arrow keys).
        A preview ends.
        """
        self._go(history.committed(self._history, label, plan, key))

    def preview(self, plan: Plan | None) -> None:
        """Show `plan` without committing it; None goes back to the committed plan (Esc)."""
        old = self.shown
        self._preview = None if plan is self.plan else plan
        self._show(old)

    def undo(self) -> None:
        """Back to the plan before, the very same object; while there is a preview only that is dropped."""
        self._go(self._history if self.previewing else history.undone(self._history))

    def redo(self) -> None:
        """Forward again to the plan that was undone; while there is a preview only that is dropped."""
        self._go(self._history if self.previewing else history.redone(self._history))

    def go_to(self, position: int) -> None:
        """To any step of the history, a number of `steps`; a preview is dropped. ValueError for no such step."""
        self._go(history.moved_to(self._history, position))

    @property
    def steps(self) -> tuple[str, ...]:
        """The names of all steps, oldest first; those behind `position` were undone."""
        return tuple(step.label or "As it was opened" for step in self._history.steps)

    @property
    def position(self) -> int:
        return self._history.position

    @property
    def can_undo(self) -> bool:
        return self._history.undo_label is not None

    @property
    def can_redo(self) -> bool:
        return self._history.redo_label is not None

    @property
    def undo_label(self) -> str:
        return self._history.undo_label or ""

    @property
    def redo_label(self) -> str:
        return self._history.redo_label or ""

    def mark_saved(self, path: Path, plan: Plan | None = None) -> None:
        """`plan` (the committed one where nothing is said) now lies in the file `path`."""
        self._saved = self.plan if plan is None else plan
        if path != self._path:
            self._path = path
            self.path_changed.emit()
        self.history_changed.emit()

    def mark_unsaved(self) -> None:
        """The plan lies in no file, though nobody edited it: it was recovered."""
        self._saved = None
        self.history_changed.emit()

    def replace(self, plan: Plan, path: Path | None) -> None:
        """Another plan from another file: nothing of the one before can be undone."""
        old, watched = self.shown, self._full is not None
        self._history = history.started(plan)
        self._saved = plan
        self._preview = None
        self._full = self._estimate = self._refined = self._estimated = self._asked = None
        self._file += 1
        self._analysis_time, self._estimate_time = _Stopwatch(), _Stopwatch()
        if watched:
            self._analyse_here()
        self.select(())
        if path != self._path:
            self._path = path
            self.path_changed.emit()
        self.plan_changed.emit(old, plan)
        if watched:
            self.analysis_changed.emit(self._full)
        self.history_changed.emit()

    def _go(self, to: history.History[Plan]) -> None:
        old, committed = self.shown, self.plan
        moved = to is not self._history
        self._history = to
        self._preview = None
        self._forget_gone(committed)
        self._show(old)
        if moved:
            self.history_changed.emit()

    def _show(self, old: Plan) -> None:
        was = self._newest
        if self._preview is None:
            self._estimated = None
            # A committed preview keeps its estimate until the full analysis is there.
            if self._estimate is not None and self._estimate.plan is not self.plan:
                self._estimate = None
        self._analyse_shown()
        if self.shown is not old:
            self.plan_changed.emit(old, self.shown)
        if self._newest is not was:
            self.analysis_changed.emit(self._newest)

    # --- the analysis ------------------------------------------------------------------------------------------------

    @property
    def analysis(self) -> Analysis:
        """The newest analysis there is: of the shown plan where it could be had at once, else of an earlier one.

        A provisional one (`.provisional`) belongs to a preview. Asked for the first time it is computed here and now.
        """
        newest = self._newest
        if newest is None:
            self._analyse_here()
            newest = self._newest
            assert newest is not None
        return newest

    @property
    def _newest(self) -> Analysis | None:
        return self._full if self._estimate is None else self._estimate

    @property
    def settled(self) -> Analysis | None:
        """The newest full analysis of a committed plan: what a drag is compared with. None before the first."""
        return self._full

    @property
    def analysing(self) -> bool:
        """Whether a newer analysis is on its way."""
        return self._jobs.busy

    def analysis_now(self) -> Analysis:
        """The full, refined analysis of the committed plan, waited for: for papers, tables and tests."""
        if self._refined is None or self._refined.plan is not self.plan:
            self._jobs.wait()
            self._refined = self._analyser.analyse(self.plan, "refined")
        return self._refined

    @property
    def can_refine(self) -> bool:
        """Whether the committed plan is shown, quickly analysed, and nothing else is going on."""
        full = self._full
        idle = self._preview is None and not self._jobs.busy
        return idle and full is not None and full.plan is self.plan and full.quality == "quick"

    def refine(self) -> None:
        """Show the refined analysis in place of the quick one; it arrives a little later where it takes long."""
        if not self.can_refine:
            return
        plan, analyser = self.plan, self._analyser
        if self._refined is not None and self._refined.plan is plan:
            self._take(self._refined)
        elif self._analysis_time.longest_ms > ON_GUI_THREAD_MS:
            self._run(lambda: analyser.analyse(plan, "refined"), self._analysis_time)
        else:
            self._take(analyser.analyse(plan, "refined"))

    def close(self) -> None:
        """Wait for the worker and hear nothing more of it. Call when the window closes."""
        self._later.stop()
        self._jobs.close()

    def _analyse_shown(self) -> None:
        """Bring the analysis up to date if that is quick, else see that it comes."""
        if self._full is None:
            return  # nobody has asked for one yet
        if self._preview is not None:
            if self._estimated is not None and self._estimated[0] is self._preview and self._estimated[1] is self._full:
                return
            longest_ms = self._estimate_time.longest_ms
            if longest_ms > IN_DRAG_MS and self._followed(self._preview, self._full):
                self._later.start(REST_MS)
                return
            if self._jobs.busy:
                return  # the end of the job asks again
            if longest_ms > ON_GUI_THREAD_MS:
                self._estimate_in_worker(self._preview, self._full)
            elif longest_ms > IN_DRAG_MS:
                self._later.start(0)
            else:
                self._estimate_here(self._preview, self._full)
        elif self._full.plan is self.plan:
            self._estimate = None
        elif self._jobs.busy or self._analysis_time.longest_ms > ON_GUI_THREAD_MS:
            self._analyse_in_worker()
        else:
            self._analyse_here()

    def _analyse_here(self) -> None:
        self._jobs.wait()  # the analyser is one thread's at a time
        started_s = perf_counter()
        self._full = self._analyser.analyse(self.plan, "quick")
        self._analysis_time.timed(started_s)
        self._estimate = None
        if self._preview is not None:
            self._estimate_here(self._preview, self._full)

    def _estimate_here(self, plan: Plan, held: Analysis) -> None:
        started_s = perf_counter()
        self._estimate = self._analyser.estimate(plan, held)
        self._estimated = (plan, held)
        self._estimate_time.timed(started_s)

    def _followed(self, plan: Plan, held: Analysis) -> bool:
        """Whether what is dragged could be followed at once, without the sizes and diameters that take longer."""
        if self._estimate is not None and self._estimate.plan is plan:
            return True
        found = self._analyser.follow(plan, held)
        self._estimate = found if found is not None else self._estimate
        return found is not None

    def _estimate_late(self) -> None:
        if self._preview is None or self._full is None or self._jobs.busy:
            return
        if self._estimate_time.longest_ms > ON_GUI_THREAD_MS:
            self._estimate_in_worker(self._preview, self._full)
        else:
            self._estimate_here(self._preview, self._full)
            self.analysis_changed.emit(self._estimate)

    def _analyse_in_worker(self) -> None:
        plan, analyser = self.plan, self._analyser
        if self._asked is not plan:
            self._asked = plan
            self._run(lambda: analyser.analyse(plan, "quick"), self._analysis_time)

    def _estimate_in_worker(self, plan: Plan, held: Analysis) -> None:
        analyser = self._analyser
        self._estimated = (plan, held)
        self._run(lambda: analyser.estimate(plan, held), self._estimate_time)

    def _run(self, work: Callable[[], Analysis], stopwatch: _Stopwatch) -> None:
        file = self._file

        def job() -> tuple[int, Analysis]:
            started_s = perf_counter()
            result = work()
            stopwatch.timed(started_s)
            return file, result

        self._jobs.run(job)

    def _job_done(self, _number: int, result: tuple[int, Analysis]) -> None:
        file, analysis = result
        self._asked = None
        if file == self._file:
            self._take(analysis)
        # The plan may have changed while the worker was busy with an earlier one.
        if not self._jobs.busy:
            self._show(self.shown)

    def _take(self, analysis: Analysis) -> None:
        """A result of the worker. One of a plan that is no longer shown is better than a still earlier one."""
        was = self._newest
        if analysis.provisional:
            newer = self._estimate is not None and self._estimate.plan is self._preview
            if (
                analysis.plan is self._preview
                or analysis.plan is self.plan
                or (self._preview is not None and not newer)
            ):
                self._estimate = analysis
        elif analysis.quality == "refined" and analysis.plan is self.plan:
            self._full = self._refined = analysis
        elif self._full is None or self._full.plan is not self.plan:
            self._full = analysis
            if self._preview is None and analysis.plan is self.plan:
                self._estimate = None
        if self._newest is not was:
            self.analysis_changed.emit(self._newest)

    def _job_failed(self, _number: int, error: object) -> None:
        self._asked = None
        self.analysis_failed.emit(error)

    # --- the selection -----------------------------------------------------------------------------------------------

    @property
    def selection(self) -> tuple[str, ...]:
        """Ids of what is selected, in the order it was; records of the plan and derived things (wires) alike."""
        return self._selection

    def select(self, ids: Iterable[str]) -> None:
        chosen = tuple(dict.fromkeys(ids))
        if chosen != self._selection:
            self._selection = chosen
            self.selection_changed.emit()

    def _forget_gone(self, old: Plan) -> None:
        if not self._selection:
            return
        gone = {key for change in changed_records(old, self.plan).values() for key in change.removed}
        if gone:
            self.select(key for key in self._selection if key not in gone)


def _own_analyser(library: Library) -> AnalyserLike:
    from core.analysis.engine import Analyser

    analyser: AnalyserLike = Analyser(library)
    return analyser
