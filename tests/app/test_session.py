"""One value, one place that changes it; analyses come at once for small plans and from the worker for big ones."""

import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import msgspec
import pytest
from pytestqt.qtbot import QtBot

from app.session import Session
from core.edits.devices import move_device
from core.files.library import Library, load_library
from core.model import Device, Plan, ProfileUse, find
from tests.helpers.vans import by_name
from tests.helpers.wired import wired


@dataclass
class Said:
    """What the fake analyser gives: which plan, how it came about, on which thread."""

    plan: Plan
    quality: str
    provisional: bool = False
    held: Any = None
    thread: str = ""


class Slowly:
    """An analyser that takes as long as it is told and remembers whether two threads ever used it at once."""

    def __init__(self, takes_s: float = 0.0, estimate_s: float = 0.0) -> None:
        self.takes_s = takes_s
        self.estimate_s = estimate_s
        self.analysed: list[Plan] = []
        self.shared = False
        self._inside = threading.Lock()

    def analyse(self, plan: Plan, quality: str = "refined") -> Said:
        free = self._inside.acquire(blocking=False)
        self.shared = self.shared or not free
        try:
            time.sleep(self.takes_s)
            self.analysed.append(plan)
            return Said(plan, quality, thread=threading.current_thread().name)
        finally:
            if free:
                self._inside.release()

    def follow(self, plan: Plan, held: Said) -> Said | None:  # noqa: ARG002
        return None

    def estimate(self, plan: Plan, held: Said) -> Said:
        free = self._inside.acquire(blocking=False)
        self.shared = self.shared or not free
        try:
            time.sleep(self.estimate_s)
            return Said(plan, "quick", provisional=True, held=held, thread=threading.current_thread().name)
        finally:
            if free:
                self._inside.release()


def _plan(name: str, *devices: Device) -> Plan:
    return Plan(format=1, id="plan", name=name, profile=ProfileUse(id="p", version="1"), devices=devices)


def _device(name: str) -> Device:
    return Device(id=name, name=name, surface="s1", at_mm=(0.0, 0.0))


A, B, C = _plan("a"), _plan("b"), _plan("c")

Make = Callable[..., Session]


@pytest.fixture(autouse=True)
def _believe_the_first_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """The fake loads no libraries."""
    monkeypatch.setattr("app.session.LOADING_MS", 0.0)


@pytest.fixture
def make(qtbot: QtBot) -> Iterator[Make]:
    made: list[Session] = []

    def session(plan: Plan = A, takes_s: float = 0.0, estimate_s: float = 0.0) -> Session:
        analyser: Any = Slowly(takes_s, estimate_s)
        made.append(Session(Library(), plan, analyser=analyser))
        return made[-1]

    yield session
    for each in made:
        each.close()


def _recorded(session: Session) -> list[str]:
    told: list[str] = []
    session.plan_changed.connect(lambda old, new: told.append(f"plan {old.name}>{new.name}"))
    session.analysis_changed.connect(
        lambda a: told.append(f"analysis {a.plan.name}{' provisional' if a.provisional else ''}")
    )
    session.history_changed.connect(lambda: told.append("history"))
    session.selection_changed.connect(lambda: told.append("selection"))
    session.path_changed.connect(lambda: told.append("path"))
    return told


def test_commit_undo_redo_give_the_very_same_plans(make: Make) -> None:
    session = make(A)
    session.commit("draw floor", B)
    assert session.plan is B
    assert session.can_undo
    assert not session.can_redo
    assert session.undo_label == "draw floor"
    assert not session.clean
    session.undo()
    assert session.plan is A
    assert session.clean
    assert session.redo_label == "draw floor"
    session.redo()
    assert session.plan is B


def test_signals_come_in_order_and_once(make: Make) -> None:
    session = make(A)
    assert session.analysis.plan is A
    told = _recorded(session)
    session.commit("edit", B)
    assert told == ["plan a>b", "analysis b", "history"]
    told.clear()
    session.commit("edit", B)
    session.redo()
    session.preview(B)
    session.preview(None)
    assert told == []
    session.undo()
    assert told == ["plan b>a", "analysis a", "history"]


def test_a_preview_is_shown_and_never_committed(make: Make) -> None:
    session = make(A)
    assert session.analysis.plan is A
    told = _recorded(session)
    session.preview(B)
    assert session.shown is B
    assert session.plan is A
    assert session.analysis.provisional
    assert session.analysis.plan is B
    assert session.analysis.held.plan is A
    session.preview(C)
    session.preview(None)
    assert session.shown is A
    assert session.analysis.plan is A
    assert not session.analysis.provisional
    assert not session.can_undo
    assert "history" not in told
    assert session.clean


def test_committing_what_was_previewed_analyses_it_in_full(make: Make) -> None:
    session = make(A)
    assert session.analysis.plan is A
    session.preview(B)
    told = _recorded(session)
    session.commit("move device", B)
    assert told == ["analysis b", "history"]  # the plan was shown already
    assert session.analysis.plan is B
    assert not session.analysis.provisional


def test_undo_while_something_is_dragged_drops_the_preview_only(make: Make) -> None:
    session = make(A)
    session.commit("edit", B)
    session.preview(C)
    session.undo()
    assert session.shown is B
    assert session.can_undo


def test_repeated_commits_with_a_key_are_one_undo(make: Make) -> None:
    session = make(A)
    session.commit("nudge", B, key="nudge d1")
    session.commit("nudge", C, key="nudge d1")
    assert session.plan is C
    session.undo()
    assert session.plan is A


def test_saving_makes_clean_and_undo_past_it_does_not(make: Make, tmp_path: Path) -> None:
    session = make(A)
    told = _recorded(session)
    session.commit("edit", B)
    session.mark_saved(tmp_path / "van.loomplan")
    assert session.clean
    assert session.path == tmp_path / "van.loomplan"
    assert told[-2:] == ["path", "history"]
    session.undo()
    assert not session.clean
    session.redo()
    assert session.clean


def test_another_file_starts_a_new_history(make: Make, tmp_path: Path) -> None:
    session = make(A)
    assert session.analysis.plan is A
    session.commit("edit", B)
    session.select(("x",))
    told = _recorded(session)
    session.replace(C, tmp_path / "other.loomplan")
    assert told == ["selection", "path", "plan b>c", "analysis c", "history"]
    assert session.plan is C
    assert session.analysis.plan is C
    assert not session.can_undo
    assert session.clean
    assert session.selection == ()


def test_what_is_deleted_is_no_longer_selected(make: Make) -> None:
    both = _plan("both", _device("d1"), _device("d2"))
    session = make(both)
    session.select(("d2", "d1", "d2", "W1-1F"))
    assert session.selection == ("d2", "d1", "W1-1F")
    without = msgspec.structs.replace(both, devices=both.devices[:1])
    session.preview(without)
    assert session.selection == ("d2", "d1", "W1-1F")  # Esc may bring it back
    session.commit("delete", without)
    assert session.selection == ("d1", "W1-1F")


def test_a_big_plan_is_analysed_by_the_worker(make: Make, qtbot: QtBot) -> None:
    session = make(A, takes_s=0.06)
    assert session.analysis.plan is A  # the first one is waited for
    with qtbot.waitSignal(session.analysis_changed, timeout=3000) as caught:
        session.commit("edit", B)
        assert session.analysing
        assert session.analysis.plan is A
    assert caught.args[0].plan is B
    assert session.analysis.plan is B
    assert session.analysis.thread == "loomwright-job"
    assert not session.analysing


def test_of_many_edits_in_a_row_the_newest_is_analysed_and_not_all(make: Make, qtbot: QtBot) -> None:
    session = make(A, takes_s=0.06)
    assert session.analysis.plan is A
    plans = [_plan(f"edit {i}") for i in range(12)]
    for plan in plans:
        session.commit("edit", plan)
    qtbot.waitUntil(lambda: session.analysis.plan is plans[-1] and not session.analysing, timeout=3000)
    analyser = session._analyser
    assert isinstance(analyser, Slowly)
    assert len(analyser.analysed) <= 3
    assert not analyser.shared


def test_undo_to_an_analysed_plan_while_the_worker_is_busy(make: Make, qtbot: QtBot) -> None:
    session = make(A, takes_s=0.06)
    assert session.analysis.plan is A
    session.commit("edit", B)
    session.undo()
    qtbot.waitUntil(lambda: not session.analysing and session.analysis.plan is A, timeout=3000)
    assert session.plan is A


def test_a_drag_that_starts_while_the_worker_is_busy_gets_its_estimate_after_it(make: Make, qtbot: QtBot) -> None:
    session = make(A, takes_s=0.06)
    assert session.analysis.plan is A
    session.commit("edit", B)
    session.preview(C)
    qtbot.waitUntil(lambda: session.analysis.plan is C, timeout=3000)
    assert session.analysis.provisional
    assert session.analysis.held.plan is B


def test_slow_estimates_of_a_drag_come_from_the_worker_and_do_not_hold_it_up(make: Make, qtbot: QtBot) -> None:
    session = make(A, estimate_s=0.06)
    assert session.analysis.plan is A
    session.preview(B)  # nobody knows yet that it is slow
    frames = [_plan(f"frame {i}") for i in range(10)]
    for frame in frames:
        session.preview(frame)
    assert session.analysis.plan is B, "a frame was worked out before the next one could come"
    qtbot.waitUntil(lambda: session.analysis.plan is frames[-1], timeout=3000)
    assert session.analysis.thread == "loomwright-job"
    assert session.analysis.held.plan is A
    session.preview(None)
    assert session.analysis.plan is A
    session.preview(frames[3])
    session.preview(None)
    qtbot.waitUntil(lambda: not session.analysing, timeout=3000)
    assert session.analysis.plan is A  # what came too late is not shown


def test_an_estimate_a_little_slow_waits_for_the_event_loop(make: Make, qtbot: QtBot) -> None:
    session = make(A, estimate_s=0.012)
    assert session.analysis.plan is A
    session.preview(B)
    with qtbot.waitSignal(session.analysis_changed, timeout=3000):
        session.preview(C)
        assert session.shown is C
        assert session.analysis.plan is B
    assert session.analysis.plan is C


def test_a_worker_busy_with_another_file_is_not_believed(make: Make, qtbot: QtBot) -> None:
    session = make(A, takes_s=0.06)
    assert session.analysis.plan is A
    session.commit("edit", B)
    session.replace(C, None)
    assert session.analysis.plan is C
    qtbot.waitUntil(lambda: not session.analysing, timeout=3000)
    assert session.analysis.plan is C
    analyser = session._analyser
    assert isinstance(analyser, Slowly)
    assert not analyser.shared


def test_analysis_now_is_refined_and_of_the_committed_plan(make: Make) -> None:
    session = make(A, takes_s=0.04)
    session.commit("edit", B)
    session.preview(C)
    now = session.analysis_now()
    assert now.plan is B
    assert now.quality == "refined"
    assert session.analysis_now() is now


def test_a_fault_in_the_worker_is_told(make: Make, qtbot: QtBot) -> None:
    session = make(A, takes_s=0.06)
    assert session.analysis.plan is A
    fault = RuntimeError("broken stage")

    def broken(plan: Plan, quality: str = "") -> Said:
        raise fault

    session._analyser.analyse = broken  # type: ignore[method-assign]
    with qtbot.waitSignal(session.analysis_failed, timeout=3000) as caught:
        session.commit("edit", B)
    assert caught.args[0] is fault
    assert session.analysis.plan is A


def test_a_session_on_a_real_plan(qtbot: QtBot) -> None:
    """Moving a device changes its wires' lengths, live and when committed; undo brings the very same plan back."""
    plan = wired()
    session = Session(load_library(), plan)
    pump = find(plan, "devices", by_name(plan, "devices", "Pump"))
    circuit = find(plan, "circuits", by_name(plan, "circuits", "Pump"))

    def lengths() -> list[float]:
        analysis = session.analysis
        assert analysis.plan is session.shown
        return [r.route_mm or 0.0 for w, r in analysis.routes.items() if analysis.wires[w].circuit == circuit.id]

    def settled() -> bool:
        return session.analysis.plan is session.shown

    at_first = lengths()
    assert len(at_first) == 2
    x, y = pump.at_mm
    moved = move_device(plan, pump.id, pump.surface, (x, y - 120.0))
    session.preview(moved)
    qtbot.waitUntil(settled)
    live = lengths()
    assert all(now > was for now, was in zip(live, at_first, strict=True))
    session.commit("Move device", moved)
    qtbot.waitUntil(lambda: settled() and not session.analysis.provisional)
    assert lengths() == pytest.approx(live)
    session.undo()
    assert session.plan is plan
    qtbot.waitUntil(settled)
    assert lengths() == at_first
    assert session.analysis_now().quality == "refined"
    session.close()


def test_closing_waits_for_the_worker(make: Make) -> None:
    session = make(A, takes_s=0.06)
    assert session.analysis.plan is A
    session.commit("edit", B)
    session.close()
    assert not any(thread.name == "loomwright-job" for thread in threading.enumerate())
