"""One job at a time, the newest wins, nothing is left behind."""

import threading
import time

import shiboken6
from PySide6.QtCore import QThread
from pytestqt.qtbot import QtBot

from app.jobs import NewestWins


def test_results_come_on_the_gui_thread(qtbot: QtBot) -> None:
    jobs = NewestWins()
    told: list[tuple[object, bool]] = []
    home = QThread.currentThread()
    jobs.done.connect(lambda _, result: told.append((result, QThread.currentThread() is home)))
    with qtbot.waitSignal(jobs.idle, timeout=3000):
        jobs.run(lambda: threading.current_thread().name)
        assert jobs.busy
    assert told == [("loomwright-job", True)]
    assert not jobs.busy


def test_of_those_that_wait_only_the_newest_runs(qtbot: QtBot) -> None:
    jobs = NewestWins()
    may_end = threading.Event()
    ran: list[int] = []
    told: list[int] = []
    jobs.done.connect(lambda number, _: told.append(number))
    first = jobs.run(lambda: ran.append(0) or may_end.wait(3))
    qtbot.waitUntil(lambda: ran == [0])
    numbers = [jobs.run(lambda n=n: ran.append(n)) for n in range(1, 20)]
    with qtbot.waitSignal(jobs.idle, timeout=3000):
        may_end.set()
    assert ran == [0, 19]
    assert told == [first, numbers[-1]]


def test_a_fault_is_reported_and_the_next_job_runs(qtbot: QtBot) -> None:
    jobs = NewestWins()
    fault = ZeroDivisionError("no")

    def broken() -> None:
        raise fault

    with qtbot.waitSignal(jobs.failed, timeout=3000) as caught:
        jobs.run(broken)
    assert caught.args[1] is fault
    with qtbot.waitSignal(jobs.done, timeout=3000) as caught:
        jobs.run(lambda: 7)
    assert caught.args[1] == 7


def test_after_closing_nothing_runs_and_nothing_is_told(qtbot: QtBot) -> None:
    jobs = NewestWins()
    told: list[object] = []
    jobs.done.connect(lambda *_: told.append(1))
    started = threading.Event()
    jobs.run(lambda: started.set() or time.sleep(0.05))
    assert started.wait(3)
    jobs.run(lambda: told.append("waited"))
    jobs.close()
    jobs.run(lambda: told.append("late"))
    qtbot.wait(80)
    assert told == []


def test_an_object_deleted_while_its_job_runs_harms_nobody(qtbot: QtBot) -> None:
    jobs = NewestWins()
    may_end = threading.Event()
    jobs.run(lambda: may_end.wait(3))
    shiboken6.delete(jobs)
    may_end.set()
    jobs.wait()
