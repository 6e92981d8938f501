"""Nothing is collected while a job runs beside the window: a widget in a cycle dies on the thread of the widgets."""

import gc
import threading
import weakref

import pytest
from PySide6.QtCore import QObject
from pytestqt.qtbot import QtBot

from app import collecting
from app.jobs import NewestWins


class _Thing(QObject):
    """In a cycle with itself, so only the collector frees it."""

    def __init__(self) -> None:
        super().__init__()
        self.me = self


def _freed_on() -> tuple[weakref.ref[_Thing], list[threading.Thread]]:
    threads: list[threading.Thread] = []
    thing = _Thing()
    return weakref.ref(thing, lambda _: threads.append(threading.current_thread())), threads


def test_a_job_that_allocates_much_frees_no_widget_of_others(qtbot: QtBot) -> None:
    gc.collect()
    jobs = NewestWins()
    started, go = threading.Event(), threading.Event()

    def job() -> int:
        started.set()
        assert go.wait(5)
        return len([[number] for number in range(200_000)])

    with qtbot.waitSignal(jobs.idle):
        jobs.run(job)
        assert started.wait(5)
        thing, threads = _freed_on()
        assert not gc.isenabled()
        go.set()
    assert gc.isenabled()
    gc.collect()
    assert thing() is None
    assert threads == [threading.main_thread()]
    jobs.close()
    assert gc.isenabled()


def test_closing_and_dropping_lets_the_collector_go(qtbot: QtBot) -> None:
    jobs = NewestWins()
    jobs.run(lambda: 1)
    jobs.close()
    assert gc.isenabled()
    dropped = NewestWins()
    dropped.run(lambda: 1)
    dropped.wait()
    del dropped
    assert gc.isenabled()
    with pytest.raises(RuntimeError, match="not held"):
        collecting.release()


def test_several_hold_until_the_last_lets_go() -> None:
    collecting.hold()
    collecting.hold()
    collecting.release()
    assert not gc.isenabled()
    collecting.release()
    assert gc.isenabled()
