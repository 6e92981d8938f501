"""A monkey at the real window, briefly; its plans are made again by the same seed. Longer: tests/soak/monkey.py."""

import threading

from pytestqt.qtbot import QtBot

from core.files.codec import encode
from tests.soak.monkey import Watch, one_window

STEPS = 80


def test_whatever_is_done_at_the_window_the_plan_holds(qtbot: QtBot) -> None:
    threads = set(threading.enumerate())
    watch = Watch()
    with watch.listening():
        monkey = one_window(STEPS, 4, watch)
    assert {key: (fault.where, fault.what) for key, fault in watch.faults.items()} == {}
    # one that only bangs its head against greyed-out buttons would find nothing
    assert len(monkey.made) > 5
    assert {"click", "drag", "key", "tool", "fact"} <= set(monkey.counts)
    assert set(threading.enumerate()) <= threads


def test_the_same_seed_makes_the_same_plans(qtbot: QtBot) -> None:
    watch = Watch()
    with watch.listening():
        made = [[encode(plan) for plan in one_window(STEPS, 9, watch).made] for _ in range(2)]
    assert len(made[0]) > 5
    assert made[0] == made[1]


def test_what_the_monkey_must_hear_it_hears(qtbot: QtBot) -> None:
    """A slot that fails, a warning of Python and one of Qt."""
    from warnings import warn

    from PySide6.QtCore import QObject, QTimer

    def fail() -> None:
        raise ZeroDivisionError("on purpose")

    watch = Watch()
    with watch.listening():
        sender = QObject()
        QTimer.singleShot(0, sender, fail)
        warn("on purpose", stacklevel=1)
        sender.startTimer(-1)
        qtbot.waitUntil(lambda: len(watch.faults) >= 3, timeout=2000)
    assert sorted(key.split()[0] for key in watch.faults) == ["Qt", "ZeroDivisionError", "warning"]
